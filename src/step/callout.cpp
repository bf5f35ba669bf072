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

std::string thread_in(const std::string& s) {
  auto number = [&](std::size_t i) {  // end of 12, 1.25, 1,25; i when there is none
    const std::size_t b = i;
    while (i < s.size() && digit(s[i])) ++i;
    if (i > b && i + 1 < s.size() && (s[i] == '.' || s[i] == ',') && digit(s[i + 1])) {
      ++i;
      while (i < s.size() && digit(s[i])) ++i;
    }
    return i;
  };
  auto blanks = [&](std::size_t i) {
    while (i < s.size() && s[i] == ' ') ++i;
    return i;
  };
  auto tail = [&](std::size_t i) {  // tolerance class: -6H, -2B, - 6g6g
    std::size_t j = blanks(i);
    if (j >= s.size() || s[j] != '-') return i;
    j = blanks(j + 1);
    const std::size_t b = j;
    while (j < s.size() && (digit(s[j]) || letter(s[j]))) ++j;
    return j > b && j - b <= 5 && digit(s[b]) ? j : i;
  };
  for (std::size_t i = 0; i < s.size(); ++i) {
    const bool begins = i == 0 || (!letter(s[i - 1]) && !digit(s[i - 1]) && s[i - 1] != '.' && s[i - 1] != '/') ||
                        (i > 1 && s[i - 2] == '\\' && letter(s[i - 1]));
    if (!begins) continue;
    if (s[i] == 'M' && i + 1 < s.size() && digit(s[i + 1])) {  // M8, M8x1, M8 x 1.25 - 6H
      std::size_t end = number(i + 1);
      double d = 0;
      std::from_chars(s.data() + i + 1, s.data() + end, d);
      if (!(d >= 1 && d <= 600)) continue;
      std::size_t j = blanks(end);
      const bool times = s.compare(j, 2, "\xC3\x97") == 0;
      if (j < s.size() && (s[j] == 'x' || s[j] == 'X' || times)) {
        const std::size_t p = blanks(j + (times ? 2 : 1)), q = number(p);
        if (q > p) end = q;
      }
      if (end < s.size() && letter(s[end])) continue;
      return s.substr(i, tail(end) - i);
    }
    if (digit(s[i]) || s[i] == '#') {  // 1/4-20 UNC, #10-32 UNF, .250-20 UNC
      std::size_t j = s[i] == '#' ? i + 1 : i;
      std::size_t end = number(j);
      if (end == j) continue;
      if (end < s.size() && s[end] == '/') {
        const std::size_t q = number(end + 1);
        if (q == end + 1) continue;
        end = q;
      }
      if (end >= s.size() || s[end] != '-') continue;
      const std::size_t per = number(end + 1);
      if (per == end + 1) continue;
      std::size_t k = blanks(per);
      if (k < s.size() && s[k] == '-') k = blanks(k + 1);
      for (const char* series : {"UNEF", "UNC", "UNF", "UNJ", "UNS", "UN", "NPTF", "NPT"}) {
        const std::string_view name = series;
        if (s.compare(k, name.size(), name) != 0) continue;
        const std::size_t e = k + name.size();
        if (e < s.size() && letter(s[e])) continue;
        return s.substr(i, tail(e) - i);
      }
    }
  }
  return {};
}

}  // namespace fettle::step
