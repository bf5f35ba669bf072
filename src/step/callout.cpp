// Counts and threads in callout texts.
#include <charconv>
#include <string_view>

#include "step/pmi.h"

namespace fettle::step {
namespace {
bool digit(char c) { return c >= '0' && c <= '9'; }
bool letter(char c) { return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z'); }
}  // namespace

int count_in(const std::string& s) {
  for (std::size_t i = 0; i < s.size(); ++i) {
    if (!digit(s[i]) || (i > 0 && (digit(s[i - 1]) || s[i - 1] == '.' || s[i - 1] == ','))) continue;
    // a letter before belongs to a word; "\w" ahead of the count is a field mark of callout texts
    if (i > 0 && letter(s[i - 1]) && !(i > 1 && s[i - 2] == '\\')) continue;
    int n = 0;
    const auto r = std::from_chars(s.data() + i, s.data() + s.size(), n);
    if (r.ec != std::errc() || n < 2 || n > 9999) continue;
    auto at = static_cast<std::size_t>(r.ptr - s.data());
    while (at < s.size() && s[at] == ' ') ++at;
    const bool times = s.compare(at, 2, "\xC3\x97") == 0;
    if (!times && !(at < s.size() && (s[at] == 'X' || s[at] == 'x'))) continue;
    const std::size_t after = at + (times ? 2 : 1);
    // "2x45" is a chamfer, "4X Ø6" and "4XØ6" are counts
    if (after < s.size() && (digit(s[after]) || letter(s[after]) || s[after] == '.')) continue;
    return n;
  }
  return 0;
}

namespace {

// End of 12, 1.25, 1,25 at i; i when there is none.
std::size_t number_end(const std::string& s, std::size_t i) {
  const std::size_t b = i;
  while (i < s.size() && digit(s[i])) ++i;
  if (i > b && i + 1 < s.size() && (s[i] == '.' || s[i] == ',') && digit(s[i + 1])) {
    ++i;
    while (i < s.size() && digit(s[i])) ++i;
  }
  return i;
}
std::size_t blanks_end(const std::string& s, std::size_t i) {
  while (i < s.size() && s[i] == ' ') ++i;
  return i;
}
// End of a tolerance class after i: -6H, -2B, - 6g6g; i when there is none.
std::size_t class_end(const std::string& s, std::size_t i) {
  std::size_t j = blanks_end(s, i);
  if (j >= s.size() || s[j] != '-') return i;
  j = blanks_end(s, j + 1);
  const std::size_t b = j;
  while (j < s.size() && (digit(s[j]) || letter(s[j]))) ++j;
  return j > b && j - b <= 5 && digit(s[b]) ? j : i;
}

// M8, M8x1, M8 x 1.25 - 6H at i: its end, or i.
std::size_t metric_end(const std::string& s, std::size_t i) {
  if (s[i] != 'M' || i + 1 >= s.size() || !digit(s[i + 1])) return i;
  std::size_t end = number_end(s, i + 1);
  double d = 0;
  std::from_chars(s.data() + i + 1, s.data() + end, d);
  if (!(d >= 1 && d <= 600)) return i;
  const std::size_t j = blanks_end(s, end);
  const bool times = s.compare(j, 2, "\xC3\x97") == 0;
  if (times || (j < s.size() && (s[j] == 'x' || s[j] == 'X'))) {
    const std::size_t p = blanks_end(s, j + (times ? 2 : 1)), q = number_end(s, p);
    if (q > p) end = q;
  }
  return end < s.size() && letter(s[end]) ? i : class_end(s, end);
}

// 1/4-20 UNC, #10-32 UNF, .250-20 UNC at i: its end, or i.
std::size_t inch_end(const std::string& s, std::size_t i) {
  if (!digit(s[i]) && s[i] != '#' && s[i] != '.') return i;
  const std::size_t begin = digit(s[i]) ? i : i + 1;
  std::size_t end = number_end(s, begin);
  if (end == begin) return i;
  if (end < s.size() && s[end] == '/') {
    const std::size_t q = number_end(s, end + 1);
    if (q == end + 1) return i;
    end = q;
  }
  if (end >= s.size() || s[end] != '-') return i;
  const std::size_t per_inch = number_end(s, end + 1);
  if (per_inch == end + 1) return i;
  std::size_t at = blanks_end(s, per_inch);
  if (at < s.size() && s[at] == '-') at = blanks_end(s, at + 1);
  for (const std::string_view series : {"UNEF", "UNC", "UNF", "UNJ", "UNS", "UN", "NPTF", "NPT"}) {
    const std::size_t e = at + series.size();
    if (s.compare(at, series.size(), series) == 0 && !(e < s.size() && letter(s[e]))) return class_end(s, e);
  }
  return i;
}

}  // namespace

std::string thread_in(const std::string& s) {
  for (std::size_t i = 0; i < s.size(); ++i) {
    const char before = i > 0 ? s[i - 1] : ' ';
    // "\w" ahead of a text is a field mark, its letter no part of a word
    const bool mark = i > 1 && s[i - 2] == '\\' && letter(before);
    if (!mark && (letter(before) || digit(before) || before == '.' || before == '/')) continue;
    for (const std::size_t end : {metric_end(s, i), inch_end(s, i)})
      if (end > i) return s.substr(i, end - i);
  }
  return {};
}

}  // namespace fettle::step
