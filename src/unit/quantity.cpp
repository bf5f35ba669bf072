#include "unit/quantity.h"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/text.h"
#include "unit/scan.h"

namespace fettle::unit {

using scan::Amount;
using scan::Number;
using scan::Row;
using scan::Text;

namespace {

bool is_money(Kind kind) { return kind == Kind::money || kind == Kind::money_per_hour; }

/// Currency words: letters or one sign, as typed. `from`..`to` is where it stands.
Outcome<Quantity> parse_money(const Text& text, Kind expected) {
  const std::string_view plain = text.plain();
  std::size_t i = scan::skip_blanks(text, 0);
  std::string before;
  const std::size_t word_from = i;
  const auto currency_sign = [&](char c) { return scan::letter(c) || c == '$' || c == scan::kOther; };
  std::size_t k = i;
  while (currency_sign(text.at(k))) ++k;
  if (k > i) before = text.typed(i, k);
  auto n = scan::number(text, k);
  if (!n) {
    Problem p = n.problem();
    if (p.expected == "a number") p.expected = scan::such_as(expected);
    return p;
  }
  std::size_t to = text.size();
  while (to > n->to && plain[to - 1] == ' ') --to;
  bool per_hour = false;
  std::size_t rest = scan::skip_blanks(text, n->to), end = rest;
  while (currency_sign(text.at(end))) ++end;
  const std::string after = text.typed(rest, end);
  std::size_t slash = scan::skip_blanks(text, end);
  if (text.at(slash) == '/' || scan::word_at(text, slash, "per")) {
    const std::size_t hour = scan::skip_blanks(text, slash + (text.at(slash) == '/' ? 1 : 3));
    std::size_t hour_end = hour;
    while (scan::letter(text.at(hour_end))) ++hour_end;
    const std::string h = text.typed(hour, hour_end);
    if (h != "h" && h != "hr" && h != "hour")
      return text.problem(hour, "money per what is not known", h, "65 EUR/h", "h");
    per_hour = true;
    slash = scan::skip_blanks(text, hour_end);
  }
  if (slash < text.size()) return scan::left_over(text, slash, scan::such_as(expected));
  if (!before.empty() && !after.empty())
    return text.problem(rest, "two currencies", text.typed(word_from, end), scan::such_as(expected));
  const std::string currency = before.empty() ? after : before;
  if (currency.empty())
    return text.problem(n->from, "a number without a currency", text.typed(n->from, n->to), scan::such_as(expected));
  const std::size_t at = before.empty() ? rest : word_from;
  const std::string key = scan::canonical_unit(Text(currency).plain());
  for (const Row& r : scan::rows())
    for (std::string_view s : r.unit.spellings)
      if (s == currency || (r.unit.symbol == currency))
        return text.problem(at, fmt::format("{} where {} is meant", scan::a_word(r.unit.kind), scan::a_word(expected)),
                            currency, scan::such_as(expected));
  if (base::code_points(currency) > 16)
    return text.problem(at, "a currency of more than 16 letters", currency, scan::such_as(expected));
  if (per_hour != (expected == Kind::money_per_hour))
    return text.problem(at, per_hour ? "money per hour where a sum is meant" : "a sum where money per hour is meant",
                        text.typed(), scan::such_as(expected));
  Quantity q;
  q.si = exact::to_double(n->value);
  q.kind = expected;
  q.typed = text.typed();
  q.unit = per_hour ? currency + "/h" : currency;
  if (!std::isfinite(q.si))
    return text.problem(n->from, "a number too large to use", text.typed(n->from, n->to), scan::such_as(expected));
  return q;
}

Outcome<Quantity> finish(const Text& text, const Amount& a, Kind expected) {
  Quantity q;
  q.kind = expected;
  q.typed = text.typed();
  if (a.row == nullptr) {
    if (expected != Kind::number && expected != Kind::fraction) return scan::bare(text, a.number, expected);
    q.si = exact::to_double(a.number.value);
  } else {
    q.si = scan::to_si(a.number.value, *a.row);
    q.unit = std::string(a.row->unit.symbol);
  }
  if (!std::isfinite(q.si))
    return text.problem(a.number.from, "a number too large to use", text.typed(a.number.from, a.number.to),
                        scan::such_as(expected));
  if (expected == Kind::temperature && q.si < 0)
    return text.problem(a.number.from, "a temperature below absolute zero", text.typed(), "at least -273.15 °C");
  return q;
}

}  // namespace

Outcome<Quantity> parse(std::string_view typed, Kind expected) {
  const Text text(typed);
  if (!text.valid()) return scan::not_utf8(text);
  if (is_money(expected)) return parse_money(text, expected);
  auto a = scan::amount(text, 0, expected);
  if (!a) return a.problems();
  const std::size_t rest = scan::skip_blanks(text, a->to);
  if (rest < text.size()) {
    if (text.at(rest) == '-' && scan::digit(text.at(scan::skip_blanks(text, rest + 1))))
      return text.problem(rest, "two numbers where one is meant", text.typed(rest, text.size()),
                          "one number, or a range as lo..hi");
    return scan::left_over(text, rest, scan::such_as(expected));
  }
  return finish(text, *a, expected);
}

namespace {

/// Rounded once in long double, then once to double.
long double value_in(double si, const Row& row) {
  long double x = static_cast<long double>(si);
  if (row.times_pi) x /= std::numbers::pi_v<long double>;
  return x / exact::to_long_double(row.factor) - exact::to_long_double(row.before);
}

/// `x` with so many significant digits; a unit with a shifted zero counts decimals instead, since near its zero the
/// digits that matter are those of the shifted number.
std::string rounded(long double x, const Row& row, int digits) {
  char buffer[512];
  char* end = buffer;
  if (row.before.top.zero()) {
    end = std::to_chars(buffer, buffer + sizeof buffer, x, std::chars_format::scientific, digits - 1).ptr;
  } else {
    if (std::fabs(x) > 1e15L) return fmt::format("{:.17e}", static_cast<double>(x));
    end = std::to_chars(buffer, buffer + sizeof buffer, x, std::chars_format::fixed, digits - 1).ptr;
  }
  return {buffer, end};
}

/// Shortest decimal text that to_si takes back to exactly `si`; empty when none is found.
std::string shortest_in(double si, const Row& row) {
  const long double x = value_in(si, row);
  if (!std::isfinite(x)) return {};
  const auto reads_back = [&](const std::string& text) { return scan::to_si(exact::from_decimal(text), row) == si; };
  // Where 15 digits do not do, fewer do not either; most texts are short, most computed doubles are not.
  const int middle = row.before.top.zero() ? 15 : 12;
  const bool below = reads_back(rounded(x, row, middle));
  for (int digits = below ? 1 : middle + 1; digits <= 21; ++digits) {
    std::string text = rounded(x, row, digits);
    if (reads_back(text)) return text;
  }
  return {};
}

/// "2.54e+01" as people write it: "25.4"; keeps the exponent for very large and very small numbers.
std::string plain_decimal(std::string_view scientific) {
  const bool negative = scientific.front() == '-';
  if (negative) scientific.remove_prefix(1);
  const std::size_t e = scientific.find('e');
  if (e == std::string_view::npos) {
    const bool zero = scientific.find_first_of("123456789") == std::string_view::npos;
    return (negative && !zero ? "-" : "") + (zero ? std::string("0") : std::string(scientific));
  }
  std::string digits;
  for (char c : scientific.substr(0, e))
    if (c != '.') digits += c;
  while (digits.size() > 1 && digits.back() == '0') digits.pop_back();
  int exponent = 0;
  std::string_view tail = scientific.substr(e + 1);
  const bool down = tail.front() == '-';
  tail.remove_prefix(1);
  std::from_chars(tail.data(), tail.data() + tail.size(), exponent);
  if (down) exponent = -exponent;
  const auto count = static_cast<int>(digits.size());
  std::string out;
  if (digits == "0") {
    out = "0";
  } else if (exponent > 15 || exponent < -7) {
    out = digits.substr(0, 1) + (count > 1 ? "." + digits.substr(1) : "") + fmt::format("e{}", exponent);
  } else if (exponent < 0) {
    out = "0." + std::string(static_cast<std::size_t>(-exponent - 1), '0') + digits;
  } else if (exponent >= count - 1) {
    out = digits + std::string(static_cast<std::size_t>(exponent - count + 1), '0');
  } else {
    out = digits.substr(0, static_cast<std::size_t>(exponent) + 1) + "." +
          digits.substr(static_cast<std::size_t>(exponent) + 1);
  }
  return (negative && digits != "0" ? "-" : "") + out;
}

const Row* row_for(Kind kind, std::string_view symbol) {
  if (!symbol.empty()) return scan::row_of(symbol, kind);
  for (const Row& r : scan::rows())
    if (r.unit.kind == kind) return &r;
  return nullptr;
}

double value_of(double si, const Row& row) {
  const long double x = value_in(si, row);
  if (!std::isfinite(x)) return static_cast<double>(x);
  // The short decimal that was meant, when there is one: 0.0254 m is 25.4 mm, not 25.399999999999999.
  const std::string text = rounded(x, row, row.before.top.zero() ? 15 : 12);
  const exact::Fraction f = exact::from_decimal(text);
  return scan::to_si(f, row) == si ? exact::to_double(f) : static_cast<double>(x);
}

}  // namespace

std::string write(double si, Kind kind, std::string_view symbol) {
  if (kind == Kind::number || is_money(kind)) {
    const std::string n = std::isfinite(si) ? base::shortest(si) : fmt::format("{}", si);
    return symbol.empty() ? n : fmt::format("{} {}", n, symbol);
  }
  const Row* row = row_for(kind, symbol);
  if (row == nullptr) return fmt::format("{} in the unknown unit {}", si, symbol);
  const std::string text = shortest_in(si, *row);
  // Next to absolute zero a shifted scale runs out of digits.
  if (text.empty() && std::isfinite(si) && !row->before.top.zero()) return write(si, kind, "K");
  if (text.empty()) return fmt::format("{} {}", si, row->unit.symbol);
  const std::string n = plain_decimal(text);
  const std::string_view s = row->unit.symbol;
  if (s == "°" || base::starts_with(s, "1/")) return n + std::string(s == "°" ? s : s.substr(1));
  return fmt::format("{} {}", n, s);
}

double in_unit(double si, std::string_view symbol) {
  for (const Row& r : scan::rows())
    if (r.unit.symbol == symbol) return value_of(si, r);
  for (const Row& r : scan::rows())
    if (const Row* same = scan::row_of(symbol, r.unit.kind)) return value_of(si, *same);
  return std::numeric_limits<double>::quiet_NaN();
}

double in_unit(double si, std::string_view symbol, Kind kind) {
  const Row* row = scan::row_of(symbol, kind);
  return row == nullptr ? std::numeric_limits<double>::quiet_NaN() : value_of(si, *row);
}

namespace {
/// Reads "lo..hi" between from and to; a missing unit is taken from the other end or from `fallback`.
struct Pair {
  double low = 0, high = 0, middle = 0;
};
Outcome<Pair> parse_pair(const Text& text, std::size_t from, std::size_t dots, std::size_t dots_end, Kind expected,
                         const Row* fallback, std::size_t& end) {
  const Text left = text.cut(dots);
  auto a = scan::amount(left, from, expected);
  if (!a) return a.problems();
  if (scan::skip_blanks(left, a->to) < left.size()) return scan::left_over(left, a->to, "a range as lo..hi");
  if (auto p = scan::doubtful_dots(text, from, dots, dots_end)) return *p;
  auto b = scan::amount(text, dots_end, expected);
  if (!b) return b.problems();
  end = b->to;
  const Row* row_b = b->row != nullptr ? b->row : a->row != nullptr ? a->row : fallback;
  const Row* row_a = a->row != nullptr ? a->row : row_b;
  const bool may_be_bare = expected == Kind::number || expected == Kind::fraction;
  if (row_a == nullptr && !may_be_bare) return scan::bare(text, b->number, expected);
  Pair p;
  p.low = row_a != nullptr ? scan::to_si(a->number.value, *row_a) : exact::to_double(a->number.value);
  p.high = row_b != nullptr ? scan::to_si(b->number.value, *row_b) : exact::to_double(b->number.value);
  if (!std::isfinite(p.low) || !std::isfinite(p.high))
    return text.problem(from, "a number too large to use", text.typed(from, end), scan::such_as(expected));
  const exact::Fraction half = exact::from_decimal("0.5");
  if (row_a != row_b) p.middle = p.low + (p.high - p.low) / 2;
  else if (row_a == nullptr) p.middle = exact::to_double((a->number.value + b->number.value) * half);
  else p.middle = scan::to_si((a->number.value + b->number.value) * half, *row_a);
  if (!(p.low <= p.high))
    return text.problem(from, "the upper end is below the lower end", text.typed(from, end), "the lower end first",
                        text.typed(b->number.from, b->number.to) + ".." + text.typed(a->number.from, a->number.to));
  return p;
}
}  // namespace

namespace scan {
bool dots_between(const Text& text, std::size_t from, std::size_t& at, std::size_t& after) {
  for (std::size_t i = from; i < text.size(); ++i) {
    if (text.at(i) == kDots) {
      at = i;
      after = i + 1;
      return true;
    }
    if (text.at(i) == '.' && text.at(i + 1) == '.') {
      at = i;
      after = i + (text.at(i + 2) == '.' ? 3 : 2);
      return true;
    }
    if (i > from && text.at(i - 1) == ' ' && word_at(text, i, "to")) {
      at = i;
      after = i + 2;
      return true;
    }
  }
  return false;
}

std::optional<Problem> doubtful_dots(const Text& text, std::size_t from, std::size_t at, std::size_t after) {
  if (after != at + 3 || !digit(text.at(after))) return {};
  std::size_t end = after;
  while (digit(text.at(end))) ++end;
  if (text.at(end) == '.' || text.at(end) == ',' || text.at(end) == '/' || text.at(end) == '-') return {};
  const std::string low = text.typed(from, at), high = text.typed(after, end);
  return text.problem(at, "three dots can be two dots and a decimal point", text.typed(from, end),
                      "two dots, with a digit before every decimal point",
                      low + "..0." + high + " or " + low + ".." + high);
}

std::size_t plus_minus_at(const Text& text, std::size_t i, std::size_t& after) {
  i = skip_blanks(text, i);
  const std::string_view s = text.plain().substr(std::min(i, text.size()));
  after = i;
  if (text.at(i) == kPlusMinus) after = i + 1;
  else if (base::starts_with(s, "+/-")) after = i + 3;
  else if (base::starts_with(s, "+-")) after = i + 2;
  return i;
}
}  // namespace scan

Outcome<Banded> parse_banded(std::string_view typed, Kind expected) {
  const Text text(typed);
  if (!text.valid()) return scan::not_utf8(text);
  std::size_t open = 0;
  while (open < text.size() && !(text.at(open) == '(' && text.at(open > 0 ? open - 1 : 0) != '/' &&
                                 text.plain().substr(0, open).find_first_of("0123456789") != std::string_view::npos))
    ++open;
  Banded out;
  if (open == text.size()) {
    auto q = parse(typed, expected);
    if (!q) return q.problems();
    out.value = *q;
    out.low = out.high = q->si;
    return out;
  }
  const std::string wanted = "a value and its band, such as 0.12 (0.08..0.20)";
  if (is_money(expected))
    return text.problem(open, "money takes no band", text.typed(open, text.size()), scan::such_as(expected));
  const Text head = text.cut(open);
  std::size_t end = 0;
  auto a = scan::amount(head, 0, expected);
  if (!a) return a.problems();
  if (scan::skip_blanks(head, a->to) < head.size()) return scan::left_over(head, a->to, scan::such_as(expected));
  auto q = finish(head, *a, expected);
  if (!q) return q.problems();
  q->typed = text.typed();
  out.value = *q;
  out.has_band = true;
  std::size_t close = text.size();
  while (close > open && text.at(close - 1) == ' ') --close;
  if (close <= open + 1 || text.at(close - 1) != ')')
    return text.problem(close, "the bracket of the band is not closed", text.typed(open, text.size()), wanted);
  --close;
  const Text inner = text.cut(close);
  std::size_t after = 0, at = scan::plus_minus_at(inner, open + 1, after);
  if (after > at) {
    // "(± 28 %)" is a share of the value unless the value itself is a share typed in %.
    auto share = scan::amount(inner, after, Kind::fraction);
    const bool relative = share && share->row != nullptr && expected != Kind::fraction;
    auto half = relative ? std::move(share) : scan::amount(inner, after, expected);
    if (!half) return half.problems();
    if (scan::skip_blanks(inner, half->to) < inner.size()) return scan::left_over(inner, half->to, wanted);
    const Row* row = half->row != nullptr ? half->row : a->row;
    double w = row != nullptr ? scan::to_si(half->number.value, *row, true) : exact::to_double(half->number.value);
    if (relative) w *= std::fabs(q->si);
    if (!(w >= 0) || !std::isfinite(w))
      return inner.problem(half->number.from, "a band below zero", inner.typed(after, close), wanted);
    out.low = q->si - w;
    out.high = q->si + w;
    return out;
  }
  std::size_t dots = 0, dots_end = 0;
  if (!scan::dots_between(inner, open + 1, dots, dots_end))
    return inner.problem(open + 1, "the band is not a range", inner.typed(open + 1, close), wanted);
  auto pair = parse_pair(inner, open + 1, dots, dots_end, expected, a->row, end);
  if (!pair) return pair.problems();
  if (scan::skip_blanks(inner, end) < inner.size()) return scan::left_over(inner, end, wanted);
  out.low = pair->low;
  out.high = pair->high;
  if (!(out.low <= q->si && q->si <= out.high))
    return text.problem(open, "the value lies outside its own band", text.typed(), wanted);
  return out;
}

Outcome<Spread> parse_spread(std::string_view typed, Kind expected) {
  const Text text(typed);
  if (!text.valid()) return scan::not_utf8(text);
  const std::string wanted = fmt::format("a spread such as ± {0}, s {0} or lo..hi", example(expected));
  Spread out;
  out.typed = text.typed();
  std::size_t i = scan::skip_blanks(text, 0);
  bool named = false;
  if (scan::word_at(text, i, "normal")) {
    named = true;
    i += 6;
  } else if (scan::word_at(text, i, "uniform")) {
    out.family = Spread::Family::uniform;
    named = true;
    i += 7;
  }
  i = scan::skip_blanks(text, i);
  const bool bare_ok = expected == Kind::number || expected == Kind::fraction;
  const auto value = [&](const Amount& a, const Row* row, bool difference) {
    return row != nullptr ? scan::to_si(a.number.value, *row, difference) : exact::to_double(a.number.value);
  };
  std::size_t dots = 0, dots_end = 0, end = 0;
  if (scan::dots_between(text, i, dots, dots_end)) {
    if (named && out.family == Spread::Family::normal)
      return text.problem(i, "a normal spread has no ends", text.typed(i, text.size()),
                          "normal s 0.01 mm, or ± 0.03 mm");
    auto pair = parse_pair(text, i, dots, dots_end, expected, nullptr, end);
    if (!pair) return pair.problems();
    if (scan::skip_blanks(text, end) < text.size()) return scan::left_over(text, end, wanted);
    out.family = Spread::Family::uniform;
    out.mean = pair->middle;
    out.half_width = (pair->high - pair->low) / 2;
    out.s = out.half_width / std::numbers::sqrt3;
    return out;
  }
  // A centre may stand in front; its unit may be left to the width's.
  const auto sign_at = [&](std::size_t k, std::size_t& after, bool& sigma) {
    scan::plus_minus_at(text, k, after);
    k = scan::skip_blanks(text, k);
    sigma = scan::word_at(text, k, "s") && after <= k;
    if (sigma) after = k + 1;
    return after > k;
  };
  std::size_t after = 0;
  bool sigma = false;
  std::optional<Amount> centre;
  if (!sign_at(i, after, sigma)) {
    // The s of "5 mm s 0.1 mm" must not be read as part of the unit.
    std::size_t stop = text.size();
    for (std::size_t k = i + 1; k + 1 < text.size(); ++k)
      if (text.at(k - 1) == ' ' && scan::word_at(text, k, "s") && text.at(k + 1) == ' ') {
        const char next = text.at(scan::skip_blanks(text, k + 1));
        if (scan::digit(next) || next == '.') {
          stop = k;
          break;
        }
      }
    const Text head = text.cut(stop);
    auto a = scan::amount(head, i, expected);
    if (!a) return a.problems();
    centre = *a;
    if (!sign_at(a->to, after, sigma)) {
      if (scan::skip_blanks(text, a->to) < text.size()) return scan::left_over(text, a->to, wanted);
      return text.problem(a->number.from, "a value without its spread", text.typed(), wanted);
    }
  }
  if (sigma && out.family == Spread::Family::uniform)
    return text.problem(after - 1, "a uniform spread has no standard deviation here", text.typed(),
                        "uniform ± 2 K, or lo..hi");
  const Kind width_kind = expected == Kind::temperature ? Kind::temperature_difference : expected;
  // "28 N·m ± 6 %" is a share of the centre unless the centre itself is a share.
  auto share = scan::amount(text, after, Kind::fraction);
  const bool relative =
      centre && share && share->row != nullptr && expected != Kind::fraction && expected != Kind::temperature;
  auto width = relative ? std::move(share) : scan::amount(text, after, width_kind);
  if (!width) return width.problems();
  if (scan::skip_blanks(text, width->to) < text.size()) return scan::left_over(text, width->to, wanted);
  const Row* row = width->row != nullptr && !relative ? width->row : centre ? centre->row : nullptr;
  if (row == nullptr && !bare_ok) return scan::bare(text, width->number, expected);
  const double w =
      relative ? value(*width, width->row, true) * std::fabs(value(*centre, row, false)) : value(*width, row, true);
  if (!(w >= 0) || !std::isfinite(w))
    return text.problem(width->number.from, "a spread below zero", text.typed(width->number.from, width->to), wanted);
  if (centre) {
    const Row* centre_row = centre->row != nullptr ? centre->row : row;
    if (expected == Kind::temperature && centre->row == nullptr) centre_row = scan::row_of(row->unit.symbol, expected);
    out.mean = value(*centre, centre_row, false);
  }
  if (sigma) {
    out.s = w;
  } else if (out.family == Spread::Family::normal) {
    out.s = w / 3;
  } else {
    out.half_width = w;
    out.s = w / std::numbers::sqrt3;
  }
  return out;
}

}  // namespace fettle::unit
