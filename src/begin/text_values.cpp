// Plan values as a person would type them: no noise digits, and the number is what the text says.
#include <fmt/format.h>

#include <cmath>

#include "base/text.h"
#include "begin/features.h"
#include "ref/fits.h"

namespace fettle::begin {

using frame::Vec3;

namespace {
constexpr double noise = 50e-9;  // m: 18.999995 mm is what a model's arithmetic leaves of 19 mm

double tidy(double x) { return std::round(x * 1e6) / 1e6 + 0.0; }
std::string in_unit(double si, bool inch) {
  if (inch) return base::shortest(tidy(si / 0.0254));
  const double whole = std::round(si * 1e6);
  return base::shortest(std::fabs(si - whole * 1e-6) < noise ? whole / 1e3 + 0.0 : tidy(si / 1e-3));
}
}  // namespace

std::string length_text(double si, bool inch) { return in_unit(si, inch) + (inch ? " in" : " mm"); }

std::string point_text(Vec3 p, bool inch) {
  return fmt::format("{}, {}, {} {}", in_unit(p.x, inch), in_unit(p.y, inch), in_unit(p.z, inch), inch ? "in" : "mm");
}

std::string angle_text(double rad) {
  return base::shortest(std::round(rad * 180 / 3.14159265358979323846 * 1e4) / 1e4 + 0.0) + " deg";
}

void give(plan::Text& v, const std::string& text) {
  v.value = v.typed = text;
  v.origin = plan::Origin::given;
}

void give(plan::Texts& v, const std::string& text) {
  v.value.push_back(text);
  v.origin = plan::Origin::given;
}

void give(plan::Number& v, unit::Kind kind, const std::string& text) {
  const auto parsed = unit::parse_banded(text, kind);
  v.si = parsed.ok() ? parsed->value.si : std::nan("");
  v.low = parsed.ok() ? parsed->low : v.si, v.high = parsed.ok() ? parsed->high : v.si;
  v.kind = kind;
  v.typed = text;
  v.origin = plan::Origin::given;
}

void give(plan::Limits& v, const std::string& text, unit::Kind kind) {
  auto parsed = unit::parse_limits(text, kind);
  if (parsed.ok()) parsed = ref::limits_of(*parsed);
  if (parsed.ok()) {
    v.value = *parsed;
  } else if (const std::size_t sign = text.find("Ø"); true) {  // a bare size: a nominal without limits
    const auto bare = unit::parse(sign == std::string::npos ? text : text.substr(sign + std::string("Ø").size()), kind);
    if (bare.ok()) v.value.nominal = bare->si, v.value.diameter = sign != std::string::npos, v.value.kind = kind;
  }
  v.typed = text;
  v.origin = plan::Origin::given;
}

void give(plan::Points& v, const std::vector<Vec3>& points, bool inch) {
  v.origin = plan::Origin::given;
  for (const Vec3& p : points) {
    const std::string text = point_text(p, inch);
    const auto parsed = unit::parse_points(text);
    if (!parsed.ok()) continue;
    v.value.push_back(parsed->front());
    v.texts.push_back(text);
  }
}

void give(plan::Sizes& v, const std::vector<double>& sizes, bool inch) {
  v.origin = plan::Origin::given;
  v.typed.clear();
  for (double s : sizes) v.typed += (v.typed.empty() ? "" : " x ") + in_unit(s, inch);
  v.typed += inch ? " in" : " mm";
  const auto parsed = unit::parse_sizes(v.typed);
  if (parsed.ok()) v.value = *parsed;
}

void give_length(plan::Number& v, double si, bool inch) { give(v, unit::Kind::length, length_text(si, inch)); }

std::string axis_word(Vec3 n) {
  const double a[3] = {n.x, n.y, n.z};
  for (int i = 0; i < 3; ++i)
    if (std::fabs(a[i]) > 1 - 1e-9) return std::string(a[i] > 0 ? "+" : "-") + static_cast<char>('x' + i);
  return {};
}

std::string direction_text(Vec3 n) {
  std::string word = axis_word(n);
  if (!word.empty()) return word;
  return fmt::format("{}, {}, {}", base::shortest(tidy(n.x)), base::shortest(tidy(n.y)), base::shortest(tidy(n.z)));
}

long long place_key(double si) { return static_cast<long long>(std::floor(si * 1e7 + 0.317)); }

}  // namespace fettle::begin
