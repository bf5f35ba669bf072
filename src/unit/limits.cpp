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

std::string wanted(Kind kind) {
  if (kind == Kind::length) return "limits such as 132.00 ± 0.10 mm, 8.000..8.015 mm, <= 0.4 µm or Ø12 H7";
  return fmt::format("limits such as <= {0}, >= {0} or lo..hi", example(kind));
}

/// A fit code between `from` and the end: one or two letters and a grade, nothing else attached to it.
struct Code {
  Fit fit;
  std::size_t from = 0, to = 0;
};
std::optional<Code> code_at(const Text& text, std::size_t k) {
  std::size_t letters = k;
  while (scan::letter(text.at(letters))) ++letters;
  std::size_t digits = letters;
  while (scan::digit(text.at(digits))) ++digits;
  if (letters == k || letters - k > 2 || digits == letters || digits - letters > 2) return {};
  if (digits < text.size() && text.at(digits) != ' ' && text.at(digits) != '/') return {};
  Code c;
  c.fit.letter = std::string(text.plain().substr(k, letters - k));
  for (std::size_t i = letters; i < digits; ++i) c.fit.grade = c.fit.grade * 10 + (text.at(i) - '0');
  c.from = k;
  c.to = digits;
  return c;
}
bool unit_like(const std::string& letters) {
  return letters == "mm" || letters == "cm" || letters == "in" || letters == "um";
}

std::optional<Code> find_code(const Text& text, std::size_t from) {
  for (std::size_t k = from + 1; k < text.size(); ++k) {
    const char before = text.at(k - 1);
    if (!scan::letter(text.at(k)) || !(before == ' ' || scan::digit(before))) continue;
    if (auto c = code_at(text, k); c && !unit_like(c->fit.letter)) return c;
  }
  return {};
}

std::optional<Problem> refuse_code(const Text& text, const Code& c) {
  const std::string found = text.typed(c.from, c.to);
  const std::string l = c.fit.letter;
  const bool capital = l[0] >= 'A' && l[0] <= 'Z';
  if (l.size() == 2 && (l[1] >= 'A' && l[1] <= 'Z') != capital)
    return text.problem(c.from, "a fit letter is capital for a hole and small for a shaft", found, "H7, js6 or JS9",
                        base::lower(found));
  static constexpr std::array<std::string_view, 28> kLetters = {"a", "b",  "c", "cd", "d", "e",  "ef", "f", "fg", "g",
                                                                "h", "js", "j", "k",  "m", "n",  "p",  "r", "s",  "t",
                                                                "u", "v",  "x", "y",  "z", "za", "zb", "zc"};
  bool known = false;
  for (std::string_view k : kLetters) known = known || base::lower(l) == k;
  if (!known) return text.problem(c.from, "this is no fit letter", found, "a fit such as H7 or g6");
  if (c.fit.grade < 1 || c.fit.grade > 16)
    return text.problem(c.from + l.size(), "a grade outside IT1 to IT16", found, "a fit such as H7 or g6");
  return {};
}

struct Reading {
  const Text& text;
  Kind kind;
  Limits out;

  bool bare_ok() const { return kind == Kind::number || kind == Kind::fraction; }
  double si(const Amount& a, const Row* row, bool difference = false) const {
    return row != nullptr ? scan::to_si(a.number.value, *row, difference) : exact::to_double(a.number.value);
  }
  /// The size plus a deviation, added before anything is rounded.
  double sum(const Amount& size, const Row* size_row, const Amount& deviation, const Row* row,
             bool minus = false) const {
    const exact::Fraction d = minus ? -deviation.number.value : deviation.number.value;
    if (row == nullptr || size_row == nullptr) return exact::to_double(size.number.value + d);
    const bool same = row->times_pi == size_row->times_pi;
    if (!same) return si(size, size_row) + (minus ? -1 : 1) * si(deviation, row, true);
    return scan::to_si(size.number.value + d * row->factor * inverse(size_row->factor), *size_row);
  }
  Kind deviation_kind() const { return kind == Kind::temperature ? Kind::temperature_difference : kind; }
  /// The row of a temperature when only the deviation named the unit ("20 ± 2 °C").
  const Row* of_size(const Row* deviation_row) const {
    return deviation_row == nullptr || kind != Kind::temperature ? deviation_row
                                                                 : scan::row_of(deviation_row->unit.symbol, kind);
  }
  const Row* of_deviation(const Row* size_row) const {
    return size_row == nullptr || kind != Kind::temperature ? size_row
                                                            : scan::row_of(size_row->unit.symbol, deviation_kind());
  }
  void keep_unit(const Row* row) {
    if (row != nullptr) out.unit = std::string(row->unit.symbol);
  }
  Outcome<Limits> done() {
    for (const auto& x : {out.nominal, out.lower, out.upper})
      if (x && kind == Kind::temperature && *x < 0)
        return text.problem(0, "a temperature below absolute zero", text.typed(), "at least -273.15 °C");
    for (const auto& x : {out.nominal, out.lower, out.upper})
      if (x && !std::isfinite(*x)) return text.problem(0, "a number too large to use", text.typed(), wanted(kind));
    return out;
  }
};

bool plus_or_minus(char c) { return c == '+' || c == '-'; }

/// "± 0.10 mm" after a size.
Outcome<Limits> symmetric(Reading& r, const Amount& size, std::size_t after) {
  // "28 N·m ± 6 %" is a share of the value unless the value itself is a share.
  auto share = scan::amount(r.text, after, Kind::fraction);
  const bool relative =
      share && share->row != nullptr && size.row != nullptr && r.kind != Kind::fraction && r.kind != Kind::temperature;
  auto t = relative ? std::move(share) : scan::amount(r.text, after, r.deviation_kind());
  if (!t) return t.problems();
  if (relative) {
    t->number.value = size.number.value * t->number.value * t->row->factor;
    t->number.value.negative = false;
    t->row = nullptr;
  }
  if (t->number.value.negative || t->number.sign)
    return r.text.problem(t->number.from, "a signed number after ±", r.text.typed(t->number.from, t->number.to),
                          wanted(r.kind));
  if (scan::skip_blanks(r.text, t->to) < r.text.size()) return scan::left_over(r.text, t->to, wanted(r.kind));
  // "5.000 ± 1 thou" means inches and thousandths; taken by the letter it would be five thousandths.
  if (size.row == nullptr && t->row != nullptr && t->row->unit.symbol == "thou")
    return r.text.problem(
        size.number.from, "a size without a unit before a deviation in thou", r.text.typed(size.number.from, t->to),
        "the unit of the size too",
        r.text.typed(size.number.from, size.number.to) + " in ± " + r.text.typed(t->number.from, t->to));
  const Row* size_row = size.row != nullptr ? size.row : r.of_size(t->row);
  const Row* row = t->row != nullptr ? t->row : r.of_deviation(size.row);
  if (row == nullptr && !r.bare_ok()) return scan::bare(r.text, t->number, r.kind);
  r.keep_unit(size_row);
  r.out.nominal = r.si(size, size_row);
  r.out.lower = r.sum(size, size_row, *t, row, true);
  r.out.upper = r.sum(size, size_row, *t, row);
  return r.done();
}

/// "+0.0004/-0" after a size; the upper deviation stands first.
Outcome<Limits> deviations(Reading& r, const Amount& size, std::size_t i) {
  // Each number may be followed by the unit; a slash or a blank separates them.
  std::size_t split = std::string_view::npos;
  for (std::size_t k = i + 1; k < r.text.size(); ++k) {
    const char far = r.text.at(scan::skip_blanks(r.text, k + 1));
    if (r.text.at(k) == '/' && (plus_or_minus(far) || scan::digit(far) || far == '.' || far == ',')) {
      split = k;
      break;
    }
  }
  const bool slash = split != std::string_view::npos;
  if (!slash)
    for (std::size_t k = i + 1; k < r.text.size() && split == std::string_view::npos; ++k)
      if (r.text.at(k - 1) == ' ' && plus_or_minus(r.text.at(k)) && scan::digit(r.text.at(i + 1))) split = k;
  if (split == std::string_view::npos)
    return r.text.problem(i, "one deviation where two are meant", r.text.typed(i, r.text.size()),
                          "both deviations, such as +0.0004/-0, or a range as lo..hi");
  const Text head = r.text.cut(split);
  auto a = scan::amount(head, i, r.deviation_kind());
  if (!a) return a.problems();
  if (scan::skip_blanks(head, a->to) < head.size()) return scan::left_over(head, a->to, wanted(r.kind));
  auto b = scan::amount(r.text, slash ? split + 1 : split, r.deviation_kind());
  if (!b) return b.problems();
  if (scan::skip_blanks(r.text, b->to) < r.text.size()) return scan::left_over(r.text, b->to, wanted(r.kind));
  for (const auto* d : {&*a, &*b})
    if (!d->number.sign && !d->number.value.top.zero())
      return r.text.problem(d->number.from, "a deviation without its sign", r.text.typed(d->number.from, d->number.to),
                            "a deviation such as +0.0004 or -0.1; only 0 may stand without sign");
  const Row* row_b = b->row != nullptr ? b->row : a->row != nullptr ? a->row : r.of_deviation(size.row);
  const Row* row_a = a->row != nullptr ? a->row : row_b;
  const Row* size_row = size.row != nullptr ? size.row : r.of_size(row_b);
  if (size.row != nullptr && b->row == nullptr && a->row == nullptr) row_a = row_b = r.of_deviation(size.row);
  if (row_b == nullptr && !r.bare_ok()) return scan::bare(r.text, b->number, r.kind);
  r.keep_unit(size_row);
  r.out.nominal = r.si(size, size_row);
  r.out.upper = r.sum(size, size_row, *a, row_a);
  r.out.lower = r.sum(size, size_row, *b, row_b);
  if (!(*r.out.lower <= *r.out.upper))
    return r.text.problem(
        a->number.from, "the upper deviation is below the lower one", r.text.typed(i, r.text.size()),
        "the upper deviation first",
        r.text.typed(b->number.from, b->number.to) + "/" + r.text.typed(a->number.from, a->number.to));
  return r.done();
}

/// "8.000..8.015 mm".
Outcome<Limits> range(Reading& r, std::size_t from, std::size_t dots, std::size_t dots_end) {
  const Text head = r.text.cut(dots);
  auto a = scan::amount(head, from, r.kind);
  if (!a) return a.problems();
  if (scan::skip_blanks(head, a->to) < head.size()) return scan::left_over(head, a->to, wanted(r.kind));
  if (auto p = scan::doubtful_dots(r.text, from, dots, dots_end)) return *p;
  auto b = scan::amount(r.text, dots_end, r.kind);
  if (!b) return b.problems();
  if (scan::skip_blanks(r.text, b->to) < r.text.size()) return scan::left_over(r.text, b->to, wanted(r.kind));
  const Row* row_b = b->row != nullptr ? b->row : a->row;
  const Row* row_a = a->row != nullptr ? a->row : row_b;
  if (row_b == nullptr && !r.bare_ok()) return scan::bare(r.text, b->number, r.kind);
  r.keep_unit(row_b);
  r.out.lower = r.si(*a, row_a);
  r.out.upper = r.si(*b, row_b);
  if (!(*r.out.lower <= *r.out.upper))
    return r.text.problem(
        from, "the upper limit is below the lower one", r.text.typed(from, r.text.size()), "the lower limit first",
        r.text.typed(b->number.from, b->number.to) + ".." + r.text.typed(a->number.from, a->number.to));
  return r.done();
}

/// "22 H5", "12 H7 mm", "12 mm H7", "Ø22H5"; without unit the size is in mm, as the fit standard has it.
Outcome<Limits> fit(Reading& r, std::size_t from, const Code& code) {
  if (auto p = refuse_code(r.text, code)) return *p;
  const Text head = r.text.cut(code.from);
  auto size = scan::amount(head, from, r.kind);
  if (!size) return size.problems();
  if (scan::skip_blanks(head, size->to) < head.size()) return scan::left_over(head, size->to, wanted(r.kind));
  const Row* row = size->row;
  const std::size_t rest = scan::skip_blanks(r.text, code.to);
  if (rest < r.text.size()) {
    if (r.text.at(rest) == '/')
      return r.text.problem(rest, "a hole and a shaft in one text", r.text.typed(code.from, r.text.size()),
                            "one fit, such as H7 or g6");
    const std::size_t end = scan::unit_end(r.text, rest);
    if (row != nullptr || end == rest || scan::skip_blanks(r.text, end) < r.text.size())
      return scan::left_over(r.text, rest, wanted(r.kind));
    auto unit = scan::find_unit(r.text, rest, end, r.kind);
    if (!unit) return unit.problems();
    row = *unit;
  }
  if (row == nullptr) row = scan::row_of("mm", Kind::length);
  r.keep_unit(row);
  r.out.nominal = r.si(*size, row);
  r.out.fit = code.fit;
  if (!(*r.out.nominal > 0))
    return r.text.problem(size->number.from, "a fit needs a size above zero",
                          r.text.typed(size->number.from, size->number.to), wanted(r.kind));
  return r.done();
}

Outcome<Limits> one_sided(Reading& r, std::size_t i, bool upper, std::size_t stop) {
  const Text body = r.text.cut(stop);
  auto a = scan::amount(body, i, r.kind);
  if (!a) return a.problems();
  if (scan::skip_blanks(body, a->to) < body.size()) return scan::left_over(body, a->to, wanted(r.kind));
  if (a->row == nullptr && !r.bare_ok()) return scan::bare(r.text, a->number, r.kind);
  r.keep_unit(a->row);
  (upper ? r.out.upper : r.out.lower) = r.si(*a, a->row);
  return r.done();
}

}  // namespace

Outcome<Limits> parse_limits(std::string_view typed, Kind expected) {
  const Text text(typed);
  if (!text.valid()) return scan::not_utf8(text);
  if (expected == Kind::money || expected == Kind::money_per_hour)
    return text.problem(0, "money takes no limits", text.typed(), scan::such_as(expected));
  Reading r{text, expected, {}};
  r.out.kind = expected;
  r.out.typed = text.typed();
  std::size_t i = scan::skip_blanks(text, 0);
  const auto diameter = [&] {
    const std::size_t before = i;
    if (text.at(i) == scan::kDiameter) ++i;
    else if (scan::word_at(text, i, "diameter")) i += 8;
    else if (scan::word_at(text, i, "dia")) i += text.at(i + 3) == '.' ? 4 : 3;
    if (i == before) return;
    if (expected == Kind::length) r.out.diameter = true;
    else i = before;
    i = scan::skip_blanks(text, i);
  };
  diameter();
  // One-sided, the word or sign in front.
  const auto sided = [&](std::size_t width, bool upper) -> Outcome<Limits> {
    i = scan::skip_blanks(text, i + width);
    diameter();
    return one_sided(r, i, upper, text.size());
  };
  const char c = text.at(i);
  if (c == scan::kAtMost) return sided(1, true);
  if (c == scan::kAtLeast) return sided(1, false);
  if (c == '<' || c == '>') return sided(text.at(i + 1) == '=' ? 2 : 1, c == '<');
  if (scan::word_at(text, i, "max")) return sided(text.at(i + 3) == '.' ? 4 : 3, true);
  if (scan::word_at(text, i, "min")) return sided(text.at(i + 3) == '.' ? 4 : 3, false);
  if (scan::word_at(text, i, "at most")) return sided(7, true);
  if (scan::word_at(text, i, "at least")) return sided(8, false);
  std::size_t dots = 0, dots_end = 0;
  if (scan::dots_between(text, i, dots, dots_end)) return range(r, i, dots, dots_end);
  if (expected == Kind::length)
    if (const auto code = find_code(text, i)) return fit(r, i, *code);
  // One-sided, the word behind ("0.03 mm max"); "5 min" of time stays a plain value.
  for (const std::string_view w : {"max", "min"}) {
    std::size_t end = text.size();
    while (end > i && (text.at(end - 1) == ' ' || text.at(end - 1) == '.')) --end;
    if (end < i + 4 || text.at(end - 4) != ' ' || !scan::word_at(text, end - 3, w)) continue;
    const Text body = text.cut(end - 3);
    auto a = scan::amount(body, i, expected);
    if (a && a->row == nullptr && !r.bare_ok() && scan::row_of(w, expected) == nullptr)
      return scan::bare(text, a->number, expected);
    if (a && (a->row != nullptr || r.bare_ok())) return one_sided(r, i, w == "max", end - 3);
  }
  auto size = scan::amount(text, i, expected);
  if (!size) {
    Problems p = size.problems();
    if (p.front().expected == scan::such_as(expected)) p.front().expected = wanted(expected);
    return p;
  }
  std::size_t after = 0;
  const std::size_t next = scan::plus_minus_at(text, size->to, after);
  if (after > next) return symmetric(r, *size, after);
  if (plus_or_minus(text.at(next)) || (text.at(next) == '0' && next > size->to)) return deviations(r, *size, next);
  if (next < text.size()) return scan::left_over(text, next, wanted(expected));
  if (size->row == nullptr && !r.bare_ok()) return scan::bare(text, size->number, expected);
  return text.problem(size->number.from, "a value without limits", text.typed(), wanted(expected));
}

}  // namespace fettle::unit
