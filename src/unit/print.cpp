#include <fmt/format.h>

#include <cmath>
#include <string>

#include "base/text.h"
#include "unit/quantity.h"
#include "unit/scan.h"

namespace fettle::unit {
namespace {

/// At most four significant digits without trailing zeros; whole digits are never rounded away.
std::string four_digits(double x) {
  const double size = std::fabs(x);
  if (size == 0) return "0";
  if (size >= 1e7 || size < 1e-4) {
    std::string s = fmt::format("{:.3e}", x);
    const std::size_t e = s.find('e');
    std::string head = s.substr(0, e), tail = s.substr(e + 1);
    while (head.back() == '0') head.pop_back();
    if (head.back() == '.') head.pop_back();
    const bool down = tail.front() == '-';
    tail.erase(0, 1);
    while (tail.size() > 1 && tail.front() == '0') tail.erase(0, 1);
    return head + "e" + (down ? "-" : "") + tail;
  }
  const int before = static_cast<int>(std::floor(std::log10(size))) + 1;
  std::string s = base::fixed(x, std::max(0, 4 - before));
  if (s.find('.') != std::string::npos) {
    while (s.back() == '0') s.pop_back();
    if (s.back() == '.') s.pop_back();
  }
  return s;
}

double two_digits(double x) { return base::to_double(fmt::format("{:.1e}", x)).value_or(x); }

std::string with_unit(const std::string& number, std::string_view symbol) {
  if (symbol.empty()) return number;
  if (symbol == "°") return number + std::string(symbol);
  if (base::starts_with(symbol, "1/")) return number + std::string(symbol.substr(1));
  return fmt::format("{} {}", number, symbol);
}

std::string in(double si, Kind kind, std::string_view symbol) {
  return with_unit(four_digits(in_unit(si, symbol, kind)), symbol);
}

/// Lengths keep the zeros of their resolution; below the resolution the smaller unit takes over (in gauge style already
/// below 10 µm and 200 µin), below 1 nm it is zero.
std::string print_length(double si, const Style& style) {
  const bool inch = style.system == Style::System::inch;
  const double size = std::fabs(si);
  const double step = inch ? (style.gauge ? 5e-6 : 1e-4) * 0.0254 : style.gauge ? 1e-7 : 1e-6;
  if (size > 1e-9 && size < step * (1 - 1e-9)) {
    const double x = two_digits(in_unit(si, inch ? "µin" : "µm", Kind::length));
    return fmt::format("{} {}", four_digits(x), inch ? "µin" : "µm");
  }
  // What gauges read and what a surface leaves: nobody counts zeros at arm's length.
  if (style.gauge && size > 1e-9 && size < (inch ? 200e-6 * 0.0254 : 10e-6) * (1 - 1e-9))
    return inch ? base::fixed(in_unit(si, "µin", Kind::length), 0) + " µin"
                : base::fixed(in_unit(si, "µm", Kind::length), 1) + " µm";
  if (size <= 1e-9) si = 0;
  if (size >= 1e9) return in(si, Kind::length, "m");
  if (!inch) {
    if (size >= 100) return base::fixed(si, 3) + " m";
    return base::fixed(in_unit(si, "mm", Kind::length), style.gauge ? 4 : 3) + " mm";
  }
  const double x = in_unit(si, "in", Kind::length);
  if (size >= 100) return base::fixed(in_unit(si, "ft", Kind::length), 3) + " ft";
  if (!style.gauge) return base::fixed(x, 4) + " in";
  return base::fixed(std::nearbyint(x * 2e5) / 2e5, 6) + " in";
}

std::string_view metric_unit(double si, Kind kind) {
  const double s = std::fabs(si);
  switch (kind) {
    case Kind::area:
      return s >= 1 ? "m²" : "mm²";
    case Kind::volume:
      return s >= 0.1 ? "m³" : s >= 1e-6 || s == 0 ? "cm³" : "mm³";
    case Kind::angle:
      return s >= 1.7e-3 || s == 0 ? "°" : s >= 1e-5 ? "mrad" : "µrad";
    case Kind::time:
      return s >= 14 * 86400. ? "week" : s >= 7200 ? "h" : s >= 120 ? "min" : s >= 0.1 || s == 0 ? "s" : "ms";
    case Kind::speed:
      return s * 60 >= 5 ? "m/min" : "mm/min";
    case Kind::acceleration:
      return "m/s²";
    case Kind::jerk:
      return "m/s³";
    case Kind::rotation:
      return "rpm";
    case Kind::feed_per_rev:
      return "mm/rev";
    case Kind::feed_per_tooth:
      return "mm/tooth";
    case Kind::mass:
      return s >= 0.1 || s == 0 ? "kg" : "g";
    case Kind::density:
      return "kg/dm³";
    case Kind::inertia:
      return s >= 0.01 || s == 0 ? "kg·m²" : "kg·mm²";
    case Kind::force:
      return s >= 1e4 ? "kN" : "N";
    case Kind::torque:
      return s >= 1e4 ? "kN·m" : "N·m";
    case Kind::pressure:
      return s >= 1e9 ? "GPa" : s >= 1e5 || s == 0 ? "MPa" : s >= 100 ? "kPa" : "Pa";
    case Kind::power:
      return s >= 1000 ? "kW" : "W";
    case Kind::flow:
      return "L/min";
    case Kind::stiffness:
      return s >= 1e6 || s == 0 ? "N/µm" : "N/mm";
    case Kind::frequency:
      return s >= 1 || s == 0 ? "Hz" : s * 60 >= 1 ? "1/min" : s * 3600 >= 5 ? "1/h" : "1/week";
    case Kind::temperature:
      return "°C";
    case Kind::temperature_difference:
      return "K";
    case Kind::expansion:
      return "µm/(m·K)";
    case Kind::conductivity:
      return "W/(m·K)";
    case Kind::fraction:
      return s >= 1e-4 || s == 0 ? "%" : "ppm";
    default:
      return "";
  }
}

std::string_view inch_unit(double si, Kind kind) {
  const double s = std::fabs(si);
  switch (kind) {
    case Kind::area:
      return s >= 1 ? "ft²" : "in²";
    case Kind::volume:
      return s >= 0.1 ? "ft³" : "in³";
    case Kind::speed:
      return s * 60 >= 5 ? "ft/min" : "in/min";
    case Kind::acceleration:
      return "ft/s²";
    case Kind::jerk:
      return "ft/s³";
    case Kind::feed_per_rev:
      return "in/rev";
    case Kind::feed_per_tooth:
      return "in/tooth";
    case Kind::mass:
      return s >= 0.045 || s == 0 ? "lb" : "oz";
    case Kind::density:
      return "lb/in³";
    case Kind::inertia:
      return "lb·in²";
    case Kind::force:
      return "lbf";
    case Kind::torque:
      return s >= 13.5 ? "lbf·ft" : "lbf·in";
    case Kind::pressure:
      return s >= 6.9e9 ? "Mpsi" : s >= 6.9e7 ? "ksi" : "psi";
    case Kind::power:
      return "hp";
    case Kind::flow:
      return "gal/min";
    case Kind::stiffness:
      return "lbf/in";
    case Kind::temperature:
      return "°F";
    case Kind::temperature_difference:
      return "°F";
    case Kind::expansion:
      return "µin/(in·°F)";
    default:
      return metric_unit(si, kind);
  }
}

}  // namespace

std::string print(double si, Kind kind, const Style& style) {
  if (std::isnan(si)) return "not known";
  if (std::isinf(si)) return si > 0 ? "no upper end" : "no lower end";
  if (kind == Kind::length) return print_length(si, style);
  if (kind == Kind::number) return four_digits(si);
  if (kind == Kind::money) return base::fixed(si, 2);
  if (kind == Kind::money_per_hour) return base::fixed(si, 2) + "/h";
  if (kind == Kind::temperature) {
    // Half a hundredth of a degree from zero is zero, not 1e-15.
    const std::string_view symbol = style.system == Style::System::inch ? "°F" : "°C";
    const double x = in_unit(si, symbol, kind);
    return with_unit(four_digits(std::fabs(x) < 0.005 ? 0 : x), symbol);
  }
  return in(si, kind, style.system == Style::System::inch ? inch_unit(si, kind) : metric_unit(si, kind));
}

}  // namespace fettle::unit
