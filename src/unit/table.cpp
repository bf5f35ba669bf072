// The unit table. Factors are exact decimal fractions: 1 in = 25.4 mm, 1 lb = 0.45359237 kg, 1 lbf = lb x 9.80665 m/s2,
// 1 gal (US) = 231 in3, 1 hp = 550 lbf·ft/s.
#include <cmath>
#include <initializer_list>
#include <numbers>
#include <unordered_map>

#include "base/text.h"
#include "unit/scan.h"

namespace fettle::unit {
namespace scan {
namespace {

using exact::Fraction;
using exact::from_decimal;

Row row(std::string_view symbol, Kind kind, std::initializer_list<std::string_view> spellings, std::string_view top,
        std::string_view bottom = "1") {
  Row r;
  r.unit.symbol = symbol;
  r.unit.spellings = {symbol};
  r.unit.spellings.insert(r.unit.spellings.end(), spellings);
  r.unit.kind = kind;
  r.factor = from_decimal(top) * inverse(from_decimal(bottom));
  r.before = from_decimal("0");
  return r;
}
Row times_pi(Row r) {
  r.times_pi = true;
  return r;
}
Row shifted(Row r, std::string_view before) {
  r.before = from_decimal(before);
  return r;
}

constexpr std::string_view kInch = "0.0254", kFoot = "0.3048", kLbf = "4.4482216152605", kLb = "0.45359237";
constexpr std::string_view kLbfInch = "0.1129848290276167", kLbfFoot = "1.3558179483314004", kSquareInch = "0.00064516";
constexpr std::string_view kCubicInch = "0.000016387064", kCubicFoot = "0.028316846592", kGallon = "0.003785411784";

std::vector<Row> make_rows() {
  using K = Kind;
  std::vector<Row> t = {
      row("mm", K::length, {"millimetre", "millimetres", "millimeter", "millimeters"}, "0.001"),
      row("in", K::length, {"inch", "inches", "\"", "''"}, kInch),
      row("µm", K::length, {"u", "micron", "microns", "micrometre", "micrometres"}, "0.000001"),
      row("thou", K::length, {"thousandth", "thousandths"}, "0.0000254"),
      row("µin", K::length, {"microinch", "microinches"}, "0.0000000254"),
      row("cm", K::length, {}, "0.01"),
      row("dm", K::length, {}, "0.1"),
      row("m", K::length, {"metre", "metres", "meter", "meters"}, "1"),
      row("ft", K::length, {"foot", "feet"}, kFoot),
      row("nm", K::length, {}, "0.000000001"),

      row("mm²", K::area, {"sq mm"}, "0.000001"),
      row("cm²", K::area, {"sq cm"}, "0.0001"),
      row("m²", K::area, {"sq m"}, "1"),
      row("in²", K::area, {"sq in"}, kSquareInch),
      row("ft²", K::area, {"sq ft"}, "0.09290304"),

      row("cm³", K::volume, {"ccm", "mL", "ml"}, "0.000001"),
      row("mm³", K::volume, {}, "0.000000001"),
      row("L", K::volume, {"l", "litre", "litres", "liter", "liters", "dm³"}, "0.001"),
      row("m³", K::volume, {}, "1"),
      row("in³", K::volume, {"cu in"}, kCubicInch),
      row("ft³", K::volume, {"cu ft"}, kCubicFoot),
      row("gal", K::volume, {"gallon", "gallons"}, kGallon),

      times_pi(row("°", K::angle, {"deg", "degree", "degrees"}, "1", "180")),
      row("rad", K::angle, {}, "1"),
      row("mrad", K::angle, {}, "0.001"),
      row("µrad", K::angle, {}, "0.000001"),
      times_pi(row("arcmin", K::angle, {"'"}, "1", "10800")),
      times_pi(row("arcsec", K::angle, {"\"", "''"}, "1", "648000")),
      times_pi(row("turn", K::angle, {"turns", "rev"}, "2")),

      row("s", K::time, {"sec", "second", "seconds"}, "1"),
      row("min", K::time, {"minute", "minutes"}, "60"),
      row("h", K::time, {"hr", "hrs", "hour", "hours"}, "3600"),
      row("ms", K::time, {}, "0.001"),
      row("day", K::time, {"days"}, "86400"),
      row("week", K::time, {"weeks"}, "604800"),

      row("m/min", K::speed, {}, "1", "60"),
      row("mm/min", K::speed, {"mmpm"}, "0.001", "60"),
      row("m/s", K::speed, {}, "1"),
      row("mm/s", K::speed, {}, "0.001"),
      row("ft/min", K::speed, {"sfm", "fpm"}, kFoot, "60"),
      row("in/min", K::speed, {"ipm", "\"/min", "inch/min"}, kInch, "60"),
      row("in/s", K::speed, {"ips"}, kInch),
      row("ft/s", K::speed, {"fps"}, kFoot),
      row("km/h", K::speed, {}, "1", "3.6"),

      times_pi(row("rpm", K::rotation, {"rev/min", "r/min", "1/min", "min-1", "turns/min"}, "1", "30")),
      row("rad/s", K::rotation, {}, "1"),
      times_pi(row("rev/s", K::rotation, {"rps", "r/s"}, "2")),
      times_pi(row("°/s", K::rotation, {"deg/s"}, "1", "180")),

      row("mm/rev", K::feed_per_rev, {"mmpr", "mm/r", "mm/turn"}, "0.001"),
      row("in/rev", K::feed_per_rev, {"ipr", "in/r", "in/turn"}, kInch),
      row("µm/rev", K::feed_per_rev, {}, "0.000001"),

      row("mm/tooth", K::feed_per_tooth, {"mm/edge", "mm/z"}, "0.001"),
      row("in/tooth", K::feed_per_tooth, {"ipt", "in/edge", "in/z"}, kInch),
      row("µm/tooth", K::feed_per_tooth, {}, "0.000001"),

      row("kg", K::mass, {"kilogram", "kilograms"}, "1"),
      row("g", K::mass, {"gram", "grams"}, "0.001"),
      row("mg", K::mass, {}, "0.000001"),
      row("t", K::mass, {"tonne", "tonnes"}, "1000"),
      row("lb", K::mass, {"lbs", "lbm", "pound", "pounds"}, kLb),
      row("oz", K::mass, {"ounce", "ounces"}, kLb, "16"),

      row("m/s²", K::acceleration, {"m/s/s"}, "1"),
      row("mm/s²", K::acceleration, {"mm/s/s"}, "0.001"),
      row("g", K::acceleration, {"gn"}, "9.80665"),
      row("ft/s²", K::acceleration, {}, kFoot),
      row("in/s²", K::acceleration, {}, kInch),

      row("m/s³", K::jerk, {"m/s/s/s"}, "1"),
      row("mm/s³", K::jerk, {}, "0.001"),
      row("ft/s³", K::jerk, {}, kFoot),
      row("in/s³", K::jerk, {}, kInch),

      row("kg/dm³", K::density, {"kg/L", "kg/l"}, "1000"),
      row("g/cm³", K::density, {"g/ccm", "g/mL"}, "1000"),
      row("kg/m³", K::density, {}, "1"),
      row("lb/in³", K::density, {"lb/cu in"}, kLb, kCubicInch),
      row("lb/ft³", K::density, {"lb/cu ft"}, kLb, kCubicFoot),

      row("kg·m²", K::inertia, {"kgm²"}, "1"),
      row("kg·cm²", K::inertia, {"kgcm²"}, "0.0001"),
      row("kg·mm²", K::inertia, {"kgmm²"}, "0.000001"),
      row("g·mm²", K::inertia, {}, "0.000000001"),
      row("lb·in²", K::inertia, {}, "0.0002926396534292"),

      row("N", K::force, {"newton", "newtons"}, "1"),
      row("kN", K::force, {}, "1000"),
      row("daN", K::force, {}, "10"),
      row("MN", K::force, {}, "1000000"),
      row("lbf", K::force, {"pound-force"}, kLbf),
      row("ozf", K::force, {}, kLbf, "16"),
      row("kgf", K::force, {}, "9.80665"),
      row("kip", K::force, {"kips"}, "4448.2216152605"),

      row("N·m", K::torque, {"Nm", "m·N"}, "1"),
      row("kN·m", K::torque, {"kNm"}, "1000"),
      row("N·cm", K::torque, {"Ncm"}, "0.01"),
      row("N·mm", K::torque, {"Nmm"}, "0.001"),
      row("lbf·ft", K::torque, {"ft·lbf", "ft·lb", "lb·ft", "ft·lbs", "ftlb", "ftlbs"}, kLbfFoot),
      row("lbf·in", K::torque, {"in·lbf", "in·lb", "lb·in", "in·lbs", "inlb", "inlbs"}, kLbfInch),
      row("ozf·in", K::torque, {"in·ozf", "in·oz", "oz·in"}, kLbfInch, "16"),

      row("MPa", K::pressure, {"N/mm²", "MN/m²"}, "1000000"),
      row("Pa", K::pressure, {"N/m²"}, "1"),
      row("hPa", K::pressure, {"mbar"}, "100"),
      row("kPa", K::pressure, {"kN/m²"}, "1000"),
      row("GPa", K::pressure, {"kN/mm²"}, "1000000000"),
      row("bar", K::pressure, {}, "100000"),
      row("psi", K::pressure, {"lbf/in²", "lb/in²"}, kLbf, kSquareInch),
      row("ksi", K::pressure, {}, "4448.2216152605", kSquareInch),
      row("Mpsi", K::pressure, {}, "4448221.6152605", kSquareInch),

      row("kW", K::power, {}, "1000"),
      row("W", K::power, {"watt", "watts"}, "1"),
      row("hp", K::power, {}, "745.69987158227022"),

      row("L/min", K::flow, {"l/min", "lpm"}, "0.001", "60"),
      row("L/s", K::flow, {"l/s"}, "0.001"),
      row("mL/min", K::flow, {"ml/min", "cm³/min"}, "0.000001", "60"),
      row("m³/h", K::flow, {}, "1", "3600"),
      row("m³/s", K::flow, {}, "1"),
      row("gal/min", K::flow, {"gpm"}, kGallon, "60"),

      row("N/µm", K::stiffness, {"N/u"}, "1000000"),
      row("kN/mm", K::stiffness, {}, "1000000"),
      row("N/mm", K::stiffness, {}, "1000"),
      row("N/m", K::stiffness, {}, "1"),
      row("kN/µm", K::stiffness, {"kN/u"}, "1000000000"),
      row("kN/m", K::stiffness, {}, "1000"),
      row("MN/m", K::stiffness, {}, "1000000"),
      row("lbf/in", K::stiffness, {"lb/in"}, kLbf, kInch),
      row("lbf/thou", K::stiffness, {}, "4448.2216152605", kInch),

      row("Hz", K::frequency, {"1/s", "s-1"}, "1"),
      row("kHz", K::frequency, {}, "1000"),
      row("1/min", K::frequency, {"min-1"}, "1", "60"),
      row("1/h", K::frequency, {"1/hr", "1/hour", "h-1"}, "1", "3600"),
      row("1/day", K::frequency, {}, "1", "86400"),
      row("1/week", K::frequency, {}, "1", "604800"),

      shifted(row("°C", K::temperature, {"C", "degC", "deg C"}, "1"), "273.15"),
      row("K", K::temperature, {"kelvin"}, "1"),
      shifted(row("°F", K::temperature, {"F", "degF", "deg F"}, "5", "9"), "459.67"),

      row("K", K::temperature_difference, {"kelvin"}, "1"),
      row("°C", K::temperature_difference, {"C", "degC", "deg C"}, "1"),
      row("°F", K::temperature_difference, {"F", "degF", "deg F"}, "5", "9"),

      row("µm/(m·K)", K::expansion, {"ppm/K", "ppm/°C", "µm/mK", "µm/m/K", "µm/m/°C", "µm/(m·°C)"}, "0.000001"),
      row("1/K", K::expansion, {"1/°C", "1/degC", "K-1", "m/(m·K)"}, "1"),
      row("mm/(m·K)", K::expansion, {"mm/m/K"}, "0.001"),
      row("µin/(in·°F)", K::expansion, {"ppm/°F", "µin/in/°F", "ppm/degF"}, "0.0000018"),
      row("1/°F", K::expansion, {"1/degF", "1/F", "in/(in·°F)", "in/in/°F"}, "1.8"),

      row("W/(m·K)", K::conductivity, {"W/mK", "W/m/K", "W/m°C", "W/(m·°C)"}, "1"),

      row("%", K::fraction, {"percent", "per cent", "pct"}, "0.01"),
      row("‰", K::fraction, {"permille"}, "0.001"),
      row("ppm", K::fraction, {}, "0.000001"),
  };
  for (Row& r : t) {
    const long double f = exact::to_long_double(r.factor);
    r.unit.factor = r.times_pi ? static_cast<double>(f * std::numbers::pi_v<long double>) : exact::to_double(r.factor);
    r.unit.offset = exact::to_double(r.before * r.factor);
  }
  return t;
}

using Lookup = std::unordered_map<std::string, std::vector<const Row*>>;
std::string canonical_spelling(std::string_view s) { return canonical_unit(Text(s).plain()); }

const Lookup& exact_spellings() {
  static const Lookup table = [] {
    Lookup t;
    for (const Row& r : rows())
      for (std::string_view s : r.unit.spellings) {
        auto& list = t[canonical_spelling(s)];
        if (list.empty() || list.back() != &r) list.push_back(&r);
      }
    return t;
  }();
  return table;
}
const Lookup& loose_spellings() {
  static const Lookup table = [] {
    Lookup t;
    for (const auto& [s, list] : exact_spellings())
      for (const Row* r : list) t[base::lower(s)].push_back(r);
    return t;
  }();
  return table;
}

const Row* pick(const Lookup& table, const std::string& key, Kind kind) {
  const auto it = table.find(key);
  if (it == table.end()) return nullptr;
  const Row* found = nullptr;
  for (const Row* r : it->second)
    if (r->unit.kind == kind) {
      if (found != nullptr && found != r) return nullptr;
      found = r;
    }
  return found;
}

/// "MM" for mm and "PSI" for psi pass; "mpa" for MPa and "M" for m do not: there the case carries meaning.
bool case_is_safe(const std::string& typed, const Row& row) {
  if (typed.size() == 1) return typed != "M" && typed != "T" && typed != "G";
  bool upper = true;
  for (char c : typed) upper = upper && !(c >= 'a' && c <= 'z');
  const char head = row.unit.symbol.front();
  return head != 'M' && (upper || typed.front() != 'M');
}

Problem unknown(const Text& text, std::size_t from, std::size_t to, Kind expected) {
  const std::string found = text.typed(from, to), key = canonical_unit(text.plain().substr(from, to - from));
  if (key == "tenths" || key == "tenth")
    return text.problem(from, "tenths can mean 0.0001 in or 0.1 mm", found, "a length with a plain unit", "0.0001 in");
  if (key == "mil" || key == "mils")
    return text.problem(from, "mil can mean 0.001 in or, spoken, a millimetre", found, "thou or mm", "thou");
  if (key == "grad" || key == "gon") return text.problem(from, "this unit is not read", found, such_as(expected), "°");
  if (!key.empty() && digit(key.front()))
    return text.problem(from, "two numbers where one is meant", found, such_as(expected));
  std::string nearest;
  if (key.size() > 1) {
    std::vector<std::string> spelled;
    std::vector<std::string_view> symbol;
    for (const Row& r : rows())
      if (r.unit.kind == expected)
        for (std::string_view s : r.unit.spellings) {
          if (canonical_spelling(s).size() < 2) continue;
          spelled.push_back(canonical_spelling(s));
          symbol.push_back(r.unit.symbol);
        }
    const std::string near = base::nearest(key, spelled);
    for (std::size_t i = 0; i < spelled.size() && nearest.empty(); ++i)
      if (!near.empty() && spelled[i] == near) nearest = symbol[i];
  }
  return text.problem(from, "unknown unit", found, such_as(expected), nearest);
}

}  // namespace

const std::vector<Row>& rows() {
  static const std::vector<Row> table = make_rows();
  return table;
}

const Row* row_of(std::string_view symbol, Kind kind) {
  for (const Row& r : rows())
    if (r.unit.kind == kind && r.unit.symbol == symbol) return &r;
  return pick(exact_spellings(), canonical_spelling(symbol), kind);
}

double to_si(const exact::Fraction& x, const Row& row, bool difference) {
  const exact::Fraction v = (difference || row.before.top.zero() ? x : x + row.before) * row.factor;
  if (row.times_pi) return static_cast<double>(exact::to_long_double(v) * std::numbers::pi_v<long double>);
  return exact::to_double(v);
}

Outcome<const Row*> find_unit(const Text& text, std::size_t from, std::size_t to, Kind expected) {
  const std::string key = canonical_unit(text.plain().substr(from, to - from));
  if (const Row* r = pick(exact_spellings(), key, expected)) return r;
  const auto wrong = [&](const Row& other) -> Problem {
    const std::string what = a_word(other.unit.kind) + " where " + a_word(expected) + " is meant";
    std::string nearest;
    if (expected == Kind::force && other.unit.kind == Kind::mass)
      nearest = other.unit.symbol == "lb" ? "lbf" : other.unit.symbol == "kg" ? "kgf" : "N";
    if (expected == Kind::torque && key == "nm") nearest = "N·m";
    return text.problem(from, what, text.typed(from, to), such_as(expected), nearest);
  };
  if (const auto it = exact_spellings().find(key); it != exact_spellings().end()) return wrong(*it->second.front());
  const std::string low = base::lower(key);
  if (const Row* r = pick(loose_spellings(), low, expected); r != nullptr && case_is_safe(key, *r)) return r;
  if (const auto it = loose_spellings().find(low); it != loose_spellings().end() && key.size() > 2) {
    bool ours = false;
    for (const Row* r : it->second) ours = ours || r->unit.kind == expected;
    if (!ours) return wrong(*it->second.front());
  }
  return unknown(text, from, to, expected);
}

}  // namespace scan

std::span<const Unit> units() {
  static const std::vector<Unit> table = [] {
    std::vector<Unit> t;
    for (const scan::Row& r : scan::rows()) t.push_back(r.unit);
    return t;
  }();
  return table;
}

namespace {
struct KindWords {
  std::string_view word, example;
};
KindWords words(Kind kind) {
  switch (kind) {
    case Kind::number:
      return {"number", "0.15"};
    case Kind::fraction:
      return {"share", "2.5 %"};
    case Kind::length:
      return {"length", "25.4 mm"};
    case Kind::area:
      return {"area", "36.6 mm²"};
    case Kind::volume:
      return {"volume", "360 cm³"};
    case Kind::angle:
      return {"angle", "30°"};
    case Kind::time:
      return {"time", "66 s"};
    case Kind::speed:
      return {"speed", "180 m/min"};
    case Kind::acceleration:
      return {"acceleration", "2.5 m/s²"};
    case Kind::jerk:
      return {"jerk", "20 m/s³"};
    case Kind::rotation:
      return {"rotational speed", "2000 rpm"};
    case Kind::feed_per_rev:
      return {"feed per turn", "0.2 mm/rev"};
    case Kind::feed_per_tooth:
      return {"feed per tooth", "0.08 mm/tooth"};
    case Kind::mass:
      return {"mass", "2.6 kg"};
    case Kind::density:
      return {"density", "7.2 kg/dm³"};
    case Kind::inertia:
      return {"moment of inertia", "0.012 kg·m²"};
    case Kind::force:
      return {"force", "20 kN"};
    case Kind::torque:
      return {"torque", "28 N·m"};
    case Kind::pressure:
      return {"pressure", "640 MPa"};
    case Kind::power:
      return {"power", "11 kW"};
    case Kind::flow:
      return {"flow", "60 L/min"};
    case Kind::stiffness:
      return {"stiffness", "150 N/µm"};
    case Kind::frequency:
      return {"frequency", "120 Hz"};
    case Kind::temperature:
      return {"temperature", "20 °C"};
    case Kind::temperature_difference:
      return {"temperature difference", "6 K"};
    case Kind::expansion:
      return {"thermal expansion", "10.5 µm/(m·K)"};
    case Kind::money:
      return {"sum of money", "9.80 EUR"};
    case Kind::money_per_hour:
      return {"rate of money", "65 EUR/h"};
    case Kind::conductivity:
      return {"thermal conductivity", "46 W/(m·K)"};
  }
  return {"quantity", "25.4 mm"};
}
}  // namespace

std::string_view word(Kind kind) { return words(kind).word; }
std::string_view example(Kind kind) { return words(kind).example; }

}  // namespace fettle::unit
