#include "fuzz/step_mutants.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <vector>

namespace fettle::fuzz {
namespace {

// Counter-based: a bijective mix of (number, step), so that a mutant does not depend on those before it.
class Stream {
 public:
  explicit Stream(std::uint64_t number) : state_(number * 0x9E3779B97F4A7C15u + 0xD1B54A32D192ED03u) {}
  std::uint64_t next() {
    std::uint64_t z = (state_ += 0x9E3779B97F4A7C15u);
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return z ^ (z >> 31);
  }
  std::size_t below(std::size_t n) { return n == 0 ? 0 : static_cast<std::size_t>(next() % n); }
  template <class List>
  auto pick(const List& list) {
    return list[below(list.size())];
  }

 private:
  std::uint64_t state_;
};

struct Token {
  std::size_t at = 0, size = 0;
};

bool digit(char c) { return c >= '0' && c <= '9'; }
bool upper(char c) { return c >= 'A' && c <= 'Z'; }

// Entities only: the header is spoilt by the byte kinds often enough.
std::size_t body(std::string_view s) {
  const auto at = s.find("DATA;");
  return at == std::string_view::npos ? 0 : at;
}

// The first token of a sort at or after a random place; size 0 when there is none.
template <class Begins, class Goes>
Token find_token(const std::string& s, Stream& r, Begins begins, Goes goes) {
  const std::size_t from = body(s), n = s.size() - from;
  if (n == 0) return {};
  const std::size_t start = r.below(n);
  for (std::size_t k = 0; k < n; ++k) {
    const std::size_t i = from + (start + k) % n;
    if (!begins(s, i)) continue;
    std::size_t e = i + 1;
    while (e < s.size() && goes(s[e])) ++e;
    return {i, e - i};
  }
  return {};
}
Token reference(const std::string& s, Stream& r) {
  return find_token(
      s, r,
      [](const std::string& t, std::size_t i) {
        return t[i] == '#' && i + 1 < t.size() && digit(t[i + 1]) && i > 0 && (t[i - 1] == ',' || t[i - 1] == '(');
      },
      digit);
}
Token number(const std::string& s, Stream& r) {
  return find_token(
      s, r,
      [](const std::string& t, std::size_t i) {
        return i > 0 && (t[i - 1] == ',' || t[i - 1] == '(') && (digit(t[i]) || t[i] == '-');
      },
      [](char c) { return digit(c) || c == '.' || c == 'E' || c == '-' || c == '+'; });
}
Token keyword(const std::string& s, Stream& r) {
  return find_token(
      s, r,
      [](const std::string& t, std::size_t i) {
        return upper(t[i]) && i > 0 && (t[i - 1] == '=' || t[i - 1] == '(' || t[i - 1] == ' ' || t[i - 1] == '\n');
      },
      [](char c) { return upper(c) || digit(c) || c == '_'; });
}
Token parameter(const std::string& s, Stream& r) {
  return find_token(
      s, r,
      [](const std::string& t, std::size_t i) {
        return i > 0 && (t[i - 1] == ',' || t[i - 1] == '(') && t[i] != '(' && t[i] != ')';
      },
      [](char c) { return c != ',' && c != ')' && c != '(' && c != '\n'; });
}
Token line(const std::string& s, Stream& r) {
  const std::size_t from = body(s);
  if (from + 1 >= s.size()) return {};
  const std::size_t i = from + r.below(s.size() - from);
  std::size_t b = s.rfind('\n', i), e = s.find('\n', i);
  b = b == std::string::npos ? 0 : b + 1;
  e = e == std::string::npos ? s.size() : e + 1;
  return {std::min(b, e), e - std::min(b, e)};
}
std::string own_number(const std::string& s, std::size_t at) {
  std::size_t b = s.rfind('\n', at);
  b = b == std::string::npos ? 0 : b + 1;
  if (b >= s.size() || s[b] != '#') return "#1";
  std::size_t e = b + 1;
  while (e < s.size() && digit(s[e])) ++e;
  return s.substr(b, e - b);
}
void put(std::string& s, Token t, std::string_view with) {
  if (t.size > 0) s.replace(t.at, t.size, with);
}
std::string repeat(std::string_view piece, std::size_t n) {
  std::string out;
  out.reserve(piece.size() * n);
  for (std::size_t i = 0; i < n; ++i) out += piece;
  return out;
}

void bytes_changed(std::string& s, Stream& r) {
  for (std::size_t n = 1 + r.below(8); n > 0 && !s.empty(); --n) s[r.below(s.size())] = static_cast<char>(r.below(256));
}
void bytes_inserted(std::string& s, Stream& r) {
  constexpr std::string_view odd = "();,'#$*.\"/\\=E-+\0\xFF";
  for (std::size_t n = 1 + r.below(6); n > 0; --n) s.insert(r.below(s.size() + 1), 1, odd[r.below(odd.size())]);
}
void bytes_deleted(std::string& s, Stream& r) {
  for (std::size_t n = 1 + r.below(4); n > 0 && !s.empty(); --n) s.erase(r.below(s.size()), 1 + r.below(40));
}
void other_reference(std::string& s, Stream& r) {
  for (std::size_t n = 1 + r.below(5); n > 0; --n) {
    const Token from = reference(s, r);
    const std::string taken = s.substr(from.at, from.size);
    put(s, reference(s, r), taken);
  }
}
void own_reference(std::string& s, Stream& r) {
  for (std::size_t n = 1 + r.below(5); n > 0; --n) {
    const Token t = reference(s, r);
    put(s, t, own_number(s, t.at));
  }
}
void missing_reference(std::string& s, Stream& r) {
  constexpr std::array<std::string_view, 4> odd = {"#999999999", "#0", "#99999999999999999999", "$"};
  for (std::size_t n = 1 + r.below(3); n > 0; --n) put(s, reference(s, r), r.pick(odd));
}
void odd_number(std::string& s, Stream& r) {
  constexpr std::array<std::string_view, 14> odd = {
      "NAN",   "-NAN", "INF", "1.#QNAN", "1.E300", "1.E400", "-1.", "0.", "1.E-320", "-0.", "99999999999999999999",
      "1.5.2", "1e5",  ".5"};
  for (std::size_t n = 1 + r.below(3); n > 0; --n) put(s, number(s, r), r.pick(odd));
}
void other_number(std::string& s, Stream& r) {
  for (std::size_t n = 1 + r.below(5); n > 0; --n) {
    const Token from = number(s, r);
    const std::string taken = s.substr(from.at, from.size);
    put(s, number(s, r), taken);
  }
}
void other_keyword(std::string& s, Stream& r) {
  for (std::size_t n = 1 + r.below(3); n > 0; --n) {
    const Token from = keyword(s, r);
    const std::string taken = s.substr(from.at, from.size);
    put(s, keyword(s, r), taken);
  }
}
void other_value(std::string& s, Stream& r) {
  constexpr std::array<std::string_view, 9> odd = {"$", "*",         ".T.", "''", "()", "\"0F\"", "LENGTH_MEASURE(1.)",
                                                   "3", "'\\X2\\00'"};
  for (std::size_t n = 1 + r.below(4); n > 0; --n) put(s, parameter(s, r), r.pick(odd));
}
void value_dropped(std::string& s, Stream& r) {
  for (std::size_t n = 1 + r.below(3); n > 0; --n) {
    Token t = parameter(s, r);
    if (t.size > 0 && t.at + t.size < s.size() && s[t.at + t.size] == ',') ++t.size;
    put(s, t, "");
  }
}
void value_doubled(std::string& s, Stream& r) {
  const Token t = parameter(s, r);
  if (t.size > 0) s.insert(t.at, s.substr(t.at, t.size) + ",");
}
void lines_deleted(std::string& s, Stream& r) {
  for (std::size_t n = 1 + r.below(6); n > 0; --n) put(s, line(s, r), "");
}
void line_doubled(std::string& s, Stream& r) {
  const Token t = line(s, r);
  const std::string taken = s.substr(t.at, t.size);
  s.insert(t.at, taken);
}
void lines_swapped(std::string& s, Stream& r) {
  const Token a = line(s, r);
  const std::string taken = s.substr(a.at, a.size);
  put(s, a, "");
  const Token b = line(s, r);
  s.insert(b.at, taken);
}
void cut_short(std::string& s, Stream& r) { s.resize(r.below(s.size() + 1)); }
void nesting(std::string& s, Stream& r) {
  constexpr std::array<std::size_t, 5> depths = {5, 40, 1000, 20'000, 200'000};
  const std::size_t n = r.pick(depths);
  const bool typed = r.below(2) == 1 && n <= 1000;
  put(s, parameter(s, r), repeat(typed ? "LENGTH_MEASURE(" : "(", n) + "1." + repeat(")", n));
}
void long_list(std::string& s, Stream& r) {
  constexpr std::array<std::size_t, 4> lengths = {100, 10'000, 60'000, 400'000};
  const Token t = parameter(s, r);
  if (t.size == 0) return;
  const std::string piece = s.substr(t.at, std::min<std::size_t>(t.size, 12));
  put(s, t, "(" + piece + repeat("," + piece, r.pick(lengths)) + ")");
}
void long_text(std::string& s, Stream& r) {
  constexpr std::array<std::size_t, 3> lengths = {1'000, 15'900, 40'000};
  put(s, parameter(s, r), "'" + repeat("ab''", r.pick(lengths) / 4) + "'");
}
void marks_removed(std::string& s, Stream& r) {
  constexpr std::string_view marks = "();'=,";
  const char mark = marks[r.below(marks.size())];
  const auto at = s.find(mark, r.below(s.size() + 1));
  if (at != std::string::npos) s.erase(at, 1);
}
void encoding(std::string& s, Stream& r) {
  switch (r.below(5)) {
    case 0:
      s.insert(0, "\xEF\xBB\xBF");
      break;
    case 1: {
      std::string wide = "\xFF\xFE";
      for (char c : s.substr(0, 4000)) wide += {c, '\0'};
      s = wide;
      break;
    }
    case 2:
      put(s, parameter(s, r), "'\\X2\\D83D\\X0\\ \\X\\ZZ \\S\\ \xC3\x28 \\X4\\0011'");
      break;
    case 3:
      for (char& c : s)
        if (upper(c)) c = static_cast<char>(c - 'A' + 'a');
      break;
    default: {
      const auto at = s.find('\n', r.below(s.size() + 1));
      if (at != std::string::npos) s.insert(at, "/* no end");
    }
  }
}
void chaos(std::string& s, Stream& r) {
  for (std::size_t n = 2 + r.below(20); n > 0 && !s.empty(); --n) {
    switch (r.below(5)) {
      case 0:
        bytes_changed(s, r);
        break;
      case 1:
        other_reference(s, r);
        break;
      case 2:
        other_keyword(s, r);
        break;
      case 3:
        lines_deleted(s, r);
        break;
      default:
        other_value(s, r);
    }
  }
}

struct Damage {
  std::string_view name;
  void (*apply)(std::string&, Stream&);
};
constexpr std::array<Damage, 23> damages = {{{"bytes changed", bytes_changed},
                                             {"other reference", other_reference},
                                             {"odd number", odd_number},
                                             {"lines deleted", lines_deleted},
                                             {"other keyword", other_keyword},
                                             {"own reference", own_reference},
                                             {"other value", other_value},
                                             {"bytes inserted", bytes_inserted},
                                             {"cut short", cut_short},
                                             {"other number", other_number},
                                             {"value dropped", value_dropped},
                                             {"missing reference", missing_reference},
                                             {"nesting", nesting},
                                             {"bytes deleted", bytes_deleted},
                                             {"other reference", other_reference},
                                             {"long list", long_list},
                                             {"line doubled", line_doubled},
                                             {"value doubled", value_doubled},
                                             {"long text", long_text},
                                             {"lines swapped", lines_swapped},
                                             {"marks removed", marks_removed},
                                             {"encoding", encoding},
                                             {"several at once", chaos}}};

}  // namespace

std::string mutate(std::string_view seed_text, std::uint64_t number) {
  std::string s(seed_text);
  Stream r(number);
  damages[number % damages.size()].apply(s, r);
  return s;
}

std::string_view kind_of_mutant(std::uint64_t number) { return damages[number % damages.size()].name; }

}  // namespace fettle::fuzz
