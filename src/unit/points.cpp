#include <fmt/format.h>

#include <array>
#include <cmath>

#include "base/text.h"
#include "unit/quantity.h"
#include "unit/scan.h"

namespace fettle::unit {

using scan::Amount;
using scan::Row;
using scan::Text;

namespace {
constexpr std::string_view kPoint = "a point such as -44, -34 mm or 0, 0, 18 mm";

struct Coordinate {
  Amount amount;
  bool both_signs = false;
};

/// Commas separate numbers; where a semicolon stands, it separates and a comma may be a decimal sign.
std::optional<Problem> comma_mixture(const Text& text) {
  bool close = false, spaced = false;
  std::size_t at = 0;
  for (std::size_t i = 1; i + 1 < text.size(); ++i)
    if (text.at(i) == ',') {
      const bool tight = scan::digit(text.at(i - 1)) && scan::digit(text.at(i + 1));
      if (tight && !close) at = i;
      close = close || tight;
      spaced = spaced || text.at(i + 1) == ' ';
    }
  if (!close || !spaced) return {};
  return text.problem(at, "a comma inside a number or between two numbers: which is meant cannot be told", text.typed(),
                      "decimal points and commas between numbers, or semicolons between numbers", "");
}
}  // namespace

Outcome<std::vector<frame::Vec3>> parse_points(std::string_view typed) {
  const Text text(typed);
  if (!text.valid()) return scan::not_utf8(text);
  const bool semicolons = text.plain().find(';') != std::string_view::npos;
  if (!semicolons)
    if (auto p = comma_mixture(text)) return *p;
  std::vector<Coordinate> c;
  std::size_t i = 0;
  for (;;) {
    Coordinate k;
    std::size_t after = 0;
    const std::size_t at = scan::plus_minus_at(text, i, after);
    k.both_signs = after > at;
    auto a = scan::amount(text, after, Kind::length, !semicolons);
    if (!a) {
      Problems p = a.problems();
      if (p.front().expected == scan::such_as(Kind::length)) p.front().expected = kPoint;
      return p;
    }
    if (k.both_signs && a->number.sign)
      return text.problem(a->number.from, "a signed number after ±", text.typed(a->number.from, a->number.to),
                          std::string(kPoint));
    k.amount = *a;
    c.push_back(k);
    i = scan::skip_blanks(text, a->to);
    if (i >= text.size()) break;
    if (text.at(i) != (semicolons ? ';' : ',')) return scan::left_over(text, i, std::string(kPoint));
    if (c.size() == 3)
      return text.problem(i, "more than three numbers in a point", text.typed(i, text.size()), std::string(kPoint));
    ++i;
  }
  if (c.size() < 2)
    return text.problem(c[0].amount.number.from, "one number where a point is meant", text.typed(),
                        std::string(kPoint));
  const Row* last = nullptr;
  std::array<double, 3> value = {0, 0, 0};
  for (std::size_t k = c.size(); k-- > 0;) {
    if (c[k].amount.row != nullptr) last = c[k].amount.row;
    if (last == nullptr) return scan::bare(text, c[k].amount.number, Kind::length);
    value[k] = scan::to_si(c[k].amount.number.value, *last);
    if (!std::isfinite(value[k]))
      return text.problem(c[k].amount.number.from, "a number too large to use",
                          text.typed(c[k].amount.number.from, c[k].amount.number.to), std::string(kPoint));
  }
  // First coordinate changes fastest, minus before plus; ± of zero is one place, not two.
  std::array<int, 3> signs = {1, 1, 1};
  for (std::size_t k = 0; k < c.size(); ++k) signs[k] = c[k].both_signs && value[k] != 0 ? 2 : 1;
  std::vector<frame::Vec3> out;
  const auto signed_value = [&](std::size_t k, int n) { return signs[k] == 2 && n == 0 ? -value[k] : value[k]; };
  for (int z = 0; z < signs[2]; ++z)
    for (int y = 0; y < signs[1]; ++y)
      for (int x = 0; x < signs[0]; ++x) out.push_back({signed_value(0, x), signed_value(1, y), signed_value(2, z)});
  return out;
}

Outcome<std::vector<double>> parse_sizes(std::string_view typed) {
  const Text text(typed);
  if (!text.valid()) return scan::not_utf8(text);
  const std::string wanted = "sizes such as 132 x 92 x 36 mm";
  std::vector<Amount> amounts;
  std::size_t i = 0;
  for (;;) {
    // A cross is one that a number follows; it must not be read as part of the unit.
    std::size_t cross = i;
    for (; cross < text.size(); ++cross) {
      const char c = text.at(cross), next = text.at(scan::skip_blanks(text, cross + 1));
      if ((c == 'x' || c == 'X' || c == '*') && (scan::digit(next) || next == '.' || next == '-' || next == '+')) break;
    }
    const Text part = text.cut(cross);
    auto a = scan::amount(part, i, Kind::length);
    if (!a) {
      Problems p = a.problems();
      if (p.front().expected == scan::such_as(Kind::length)) p.front().expected = wanted;
      return p;
    }
    if (scan::skip_blanks(part, a->to) < part.size()) return scan::left_over(part, a->to, wanted);
    if (a->number.value.negative || a->number.value.top.zero())
      return text.problem(a->number.from, "a size must be above zero", text.typed(a->number.from, a->number.to),
                          wanted);
    amounts.push_back(*a);
    if (cross >= text.size()) break;
    i = cross + 1;
  }
  std::vector<double> out(amounts.size());
  const Row* last = nullptr;
  for (std::size_t k = amounts.size(); k-- > 0;) {
    if (amounts[k].row != nullptr) last = amounts[k].row;
    if (last == nullptr) return scan::bare(text, amounts[k].number, Kind::length);
    out[k] = scan::to_si(amounts[k].number.value, *last);
    if (!std::isfinite(out[k]))
      return text.problem(amounts[k].number.from, "a number too large to use",
                          text.typed(amounts[k].number.from, amounts[k].number.to), wanted);
  }
  return out;
}

}  // namespace fettle::unit
