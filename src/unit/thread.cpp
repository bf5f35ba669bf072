#include <fmt/format.h>

#include <array>
#include <cmath>

#include "base/text.h"
#include "unit/quantity.h"
#include "unit/scan.h"

namespace fettle::unit {

using scan::Text;

namespace {
constexpr std::string_view kThread = "a thread such as M8, M8x1.25-6H, 3/8-16 UNC or #10-32 UNF-2B";

/// "6H", "6g", "5g6g" of a metric thread; "1A".."3B" of a unified one.
std::optional<std::string> tolerance_class(const Text& text, std::size_t from, bool metric) {
  const std::string s = text.typed(from, text.size());
  if (metric) {
    const auto part = [](std::string_view p) {
      return p.size() == 2 && p[0] >= '3' && p[0] <= '9' &&
             std::string_view("eEfFgGhH").find(p[1]) != std::string_view::npos;
    };
    if (part(s) || (s.size() == 4 && part(std::string_view(s).substr(0, 2)) && part(std::string_view(s).substr(2))))
      return s;
    return {};
  }
  if (s.size() == 2 && s[0] >= '1' && s[0] <= '3' && (s[1] == 'A' || s[1] == 'B')) return s;
  return {};
}

Outcome<Thread> finish(const Text& text, Thread t, std::size_t i, bool metric) {
  i = scan::skip_blanks(text, i);
  if (i < text.size()) {
    const std::size_t from = scan::skip_blanks(text, text.at(i) == '-' ? i + 1 : i);
    const auto c = tolerance_class(text, from, metric);
    if (!c) {
      const std::string found = text.typed(i, text.size());
      const bool left = base::lower(found).find("lh") != std::string::npos;
      return text.problem(i, left ? "left-hand threads are not read" : "no tolerance class of a thread", found,
                          metric ? "a class such as 6H or 6g" : "a class such as 2A or 2B");
    }
    t.tolerance_class = *c;
  }
  return t;
}

Outcome<Thread> metric(const Text& text, std::size_t i) {
  Thread t;
  t.typed = text.typed();
  auto d = scan::number(text, i);
  if (!d || d->sign || d->from != i)
    return text.problem(i, "no diameter after M", text.typed(i, text.size()), std::string(kThread));
  t.major = scan::to_si(d->value, *scan::row_of("mm", Kind::length));
  i = scan::skip_blanks(text, d->to);
  const char c = text.at(i);
  if (c == 'x' || c == 'X' || c == '*') {
    auto p = scan::number(text, i + 1);
    if (!p) return p.problems();
    t.pitch = scan::to_si(p->value, *scan::row_of("mm", Kind::length));
    if (!(t.pitch > 0 && t.pitch < t.major))
      return text.problem(p->from, "a pitch that no thread of this size can have", text.typed(p->from, p->to),
                          std::string(kThread));
    i = p->to;
  }
  if (!(t.major > 0) || !std::isfinite(t.major))
    return text.problem(d->from, "a thread of no size", text.typed(d->from, d->to), std::string(kThread));
  return finish(text, t, i, true);
}

Outcome<Thread> unified(const Text& text, std::size_t i) {
  Thread t;
  t.system = Thread::System::unified;
  t.typed = text.typed();
  const exact::Fraction inch = scan::row_of("in", Kind::length)->factor;
  bool numbered = text.at(i) == '#';
  if (numbered) ++i;
  for (const std::string_view w : {"no.", "no"})
    if (!numbered && base::lower(text.typed(i, i + w.size())) == w) {
      numbered = true;
      i += w.size();
    }
  i = scan::skip_blanks(text, i);
  const std::size_t from = i;
  // The last hyphen before the pitch is not the hyphen of "1-1/4": a size ends where a hyphen and whole digits follow
  // that no slash makes a fraction.
  std::size_t stop = i;
  const auto ends_here = [&](std::size_t k) {
    if (text.at(k) != '-') return text.at(k) == 0 || scan::letter(text.at(k));
    std::size_t e = scan::skip_blanks(text, k + 1);
    while (scan::digit(text.at(e))) ++e;
    return text.at(e) != '/';
  };
  while (stop < text.size() && !ends_here(stop)) ++stop;
  const Text head = text.cut(stop);
  auto size = scan::number(head, i);
  if (!size || size->sign)
    return text.problem(from, "no size of a thread", text.typed(from, text.size()), std::string(kThread));
  i = size->to;
  if (text.at(i) == '"') ++i;
  if (scan::skip_blanks(head, i) < head.size()) return scan::left_over(text, i, std::string(kThread));
  exact::Fraction major = size->value;
  if (numbered) {
    const double n = exact::to_double(size->value);
    if (!(n >= 0 && n <= 12) || n != std::floor(n))
      return text.problem(from, "a number size outside #0 to #12", text.typed(from, size->to), std::string(kThread));
    major = size->value * exact::from_decimal("0.013") + exact::from_decimal("0.060");
  }
  t.major = exact::to_double(major * inch);
  if (!(t.major > 0) || !std::isfinite(t.major))
    return text.problem(from, "a thread of no size", text.typed(from, size->to), std::string(kThread));
  i = scan::skip_blanks(text, stop);
  if (text.at(i) == '-') {
    auto n = scan::number(text, i + 1);
    if (!n || n->sign)
      return text.problem(i + 1, "no threads per inch", text.typed(i + 1, text.size()), std::string(kThread));
    if (n->value.top.zero() || exact::to_double(n->value) > 120)
      return text.problem(n->from, "threads per inch outside 1 to 120", text.typed(n->from, n->to),
                          std::string(kThread));
    t.pitch = exact::to_double(inch * inverse(n->value));
    i = scan::skip_blanks(text, n->to);
  }
  static constexpr std::array<std::string_view, 3> kSeries = {"UNC", "UNF", "UNEF"};
  std::size_t end = i;
  while (scan::letter(text.at(end))) ++end;
  if (end > i) {
    const std::string word = text.typed(i, end);
    for (std::string_view s : kSeries)
      if (base::lower(word) == base::lower(s)) t.series = s;
    if (t.series.empty()) {
      const std::vector<std::string> names(kSeries.begin(), kSeries.end());
      return text.problem(i, "an unknown series of threads", word, "UNC, UNF or UNEF", base::nearest(word, names));
    }
    i = end;
  }
  if (t.pitch == 0 && t.series.empty())
    return text.problem(from, "a thread without its pitch or series", text.typed(), std::string(kThread));
  return finish(text, t, i, false);
}
}  // namespace

Outcome<Thread> parse_thread(std::string_view typed) {
  const Text text(typed);
  if (!text.valid()) return scan::not_utf8(text);
  const std::size_t i = scan::skip_blanks(text, 0);
  if (i >= text.size()) return text.problem(0, "no thread", "", std::string(kThread));
  if ((text.at(i) == 'M' || text.at(i) == 'm') && (scan::digit(text.at(i + 1)) || text.at(i + 1) == ' '))
    return metric(text, i + 1);
  return unified(text, i);
}

}  // namespace fettle::unit
