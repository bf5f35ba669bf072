#include "unit/scan.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstdint>

#include "base/text.h"

namespace fettle::unit::scan {

namespace {
struct Stand {
  char32_t code;
  char plain;
};
constexpr std::array<Stand, 46> kStands = {{{U'\u00B0', kDegree},
                                            {U'\u00BA', kDegree},
                                            {U'\u00B1', kPlusMinus},
                                            {U'\u00D8', kDiameter},
                                            {U'\u00F8', kDiameter},
                                            {U'\u2300', kDiameter},
                                            {U'\u2205', kDiameter},
                                            {U'\u2264', kAtMost},
                                            {U'\u2A7D', kAtMost},
                                            {U'\u2265', kAtLeast},
                                            {U'\u2A7E', kAtLeast},
                                            {U'\u2026', kDots},
                                            {U'\u2030', kPerMille},
                                            {U'\u00BD', kHalf},
                                            {U'\u00BC', static_cast<char>(kHalf + 1)},
                                            {U'\u00BE', static_cast<char>(kHalf + 2)},
                                            {U'\u215B', static_cast<char>(kHalf + 3)},
                                            {U'\u215C', static_cast<char>(kHalf + 4)},
                                            {U'\u215D', static_cast<char>(kHalf + 5)},
                                            {U'\u215E', static_cast<char>(kHalf + 6)},
                                            {U'\u00B5', 'u'},
                                            {U'\u03BC', 'u'},
                                            {U'\u03C3', 's'},
                                            {U'\u00B7', '*'},
                                            {U'\u22C5', '*'},
                                            {U'\u2219', '*'},
                                            {U'\u2022', '*'},
                                            {U'\u00D7', '*'},
                                            {U'\u2212', '-'},
                                            {U'\u2010', '-'},
                                            {U'\u2011', '-'},
                                            {U'\u2013', '-'},
                                            {U'\u207B', '-'},
                                            {U'\u00A0', ' '},
                                            {U'\u202F', ' '},
                                            {U'\u2009', ' '},
                                            {U'\u2007', ' '},
                                            {U'\u00B9', '1'},
                                            {U'\u00B2', '2'},
                                            {U'\u00B3', '3'},
                                            {U'\u2033', '"'},
                                            {U'\u201D', '"'},
                                            {U'\u2032', '\''},
                                            {U'\u2019', '\''},
                                            {U'\u2044', '/'},
                                            {U'\u2215', '/'}}};
/// Top and bottom of the vulgar fractions, in the order of their stand-ins.
constexpr std::array<std::array<unsigned, 2>, 7> kVulgar = {{{1, 2}, {1, 4}, {3, 4}, {1, 8}, {3, 8}, {5, 8}, {7, 8}}};

char plain_of(char32_t code) {
  if (code == U'\t') return ' ';
  if (code >= 0x20 && code < 0x7F) return static_cast<char>(code);
  for (const Stand& s : kStands)
    if (s.code == code) return s.plain;
  return kOther;
}
}  // namespace

bool digit(char c) { return c >= '0' && c <= '9'; }
bool letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }

Text::Text(std::string_view typed) : original_(typed), valid_(base::valid_utf8(typed)) {
  if (original_.size() > kLongest) valid_ = false;
  if (!valid_) return;
  for (std::size_t i = 0; i < typed.size();) {
    const auto c = static_cast<unsigned char>(typed[i]);
    const int more = c < 0x80 ? 0 : c < 0xE0 ? 1 : c < 0xF0 ? 2 : 3;
    char32_t code = more == 0 ? c : c & (0x3FU >> static_cast<unsigned>(more));
    for (int k = 1; k <= more; ++k)
      code = (code << 6U) | (static_cast<unsigned char>(typed[i + static_cast<std::size_t>(k)]) & 0x3FU);
    plain_ += plain_of(code);
    i += static_cast<std::size_t>(more) + 1;
  }
}

std::string Text::typed(std::size_t from, std::size_t to) const {
  while (from < to && at(from) == ' ') ++from;
  while (to > from && at(to - 1) == ' ') --to;
  const std::size_t a = base::byte_of_code_point(original_, from), b = base::byte_of_code_point(original_, to);
  return original_.substr(a, b - a);
}

Problem Text::problem(std::size_t i, std::string what, std::string found, std::string expected,
                      std::string nearest) const {
  Problem p = bad(std::move(what), std::move(found), std::move(expected), std::move(nearest));
  p.where.column = static_cast<int>(std::min(i, size())) + 1;
  return p;
}

std::size_t skip_blanks(const Text& text, std::size_t i) {
  while (text.at(i) == ' ') ++i;
  return i;
}

bool word_at(const Text& text, std::size_t i, std::string_view word) {
  for (std::size_t k = 0; k < word.size(); ++k) {
    const char c = text.at(i + k);
    if ((c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c) != word[k]) return false;
  }
  const char next = text.at(i + word.size());
  return !letter(next) && !digit(next);
}

std::string canonical_unit(std::string_view plain) {
  std::string s(base::trim(plain));
  while (!s.empty() && s.back() == '.') s.pop_back();
  for (std::size_t p = s.find(" per "); p != std::string::npos; p = s.find(" per ")) s.replace(p, 5, "/");
  if (base::starts_with(s, "per ")) s.replace(0, 4, "/");
  std::string out;
  const auto joins = [](char c) { return c == '*' || c == '/' || c == '('; };
  for (char c : s) {
    if (c == '^' || c == ')') continue;
    if (c == '(') {
      if (!out.empty() && out.back() == '*' && out.size() > 1 && out[out.size() - 2] == '/') out.pop_back();
      continue;
    }
    if (c == ' ' || c == '-') c = '*';
    if (c == '*' && (out.empty() || joins(out.back()))) continue;
    if (c == '/' && !out.empty() && out.back() == '*') out.pop_back();
    out += c;
  }
  while (!out.empty() && out.back() == '*') out.pop_back();
  if (base::starts_with(out, "1/")) out.erase(0, 1);
  return out;
}

std::size_t unit_end(const Text& text, std::size_t i) {
  std::size_t end = i;
  int open = 0;
  for (std::size_t k = i; k < text.size(); ++k) {
    const char c = text.at(k), before = k > i ? text.at(k - 1) : ' ', next = text.at(k + 1);
    if (c == ' ' || c == '*') continue;
    if (c == '(') {
      if (before != '/' && before != '*') return end;
      ++open;
    } else if (c == ')') {
      if (open == 0) return end;
      --open;
    } else if (c == '-') {
      const char after = text.at(k + 2);
      const bool power =
          next >= '1' && next <= '3' && letter(before) && !digit(after) && after != '.' && after != ',' && after != '/';
      if (!letter(next) && !power) return end;
      continue;
    } else if (c == '/') {
      const char far = text.at(skip_blanks(text, k + 1));
      if (!letter(far) && far != kDegree && far != '(' && far != kOther) return end;
    } else if (digit(c)) {
      const bool power = letter(before) || before == '^' || (before == '-' && k > i + 1);
      const bool one_over =
          c == '1' && (text.at(k + 1) == '/' || (text.at(k + 1) == ' ' && text.at(k + 2) == '/')) && end == i;
      if (!power && !one_over) return end;
    } else if (c == '.') {
      if (!letter(before) || next == '.' || digit(next)) return end;
    } else if (!(letter(c) || c == '"' || c == '\'' || c == '%' || c == '^' || c == kDegree || c == kPerMille ||
                 c == kOther || c == '#' || c == '$' || c == '&' || c == '_' || c == '!' || c == '?' || c == '@')) {
      return end;
    }
    end = k + 1;
  }
  return end;
}

namespace {
std::size_t digits_end(const Text& text, std::size_t i) {
  while (digit(text.at(i))) ++i;
  return i;
}

/// Top / bottom after a slash at `slash`, whole digits on both sides.
Outcome<exact::Fraction> vulgar(const Text& text, std::size_t from, std::size_t slash, std::size_t to) {
  const std::string_view s = text.plain();
  exact::Fraction f;
  f.top = exact::Big::from_digits(s.substr(from, slash - from));
  f.bottom = exact::Big::from_digits(s.substr(slash + 1, to - slash - 1));
  if (f.bottom.zero())
    return text.problem(slash + 1, "a fraction over zero", text.typed(from, to), "a fraction such as 1/4");
  return f;
}

Problem comma_problem(const Text& text, std::size_t from, std::size_t to, std::string why) {
  const std::string_view s = text.plain().substr(from, to - from);
  std::string without, with_point;
  for (char c : s) {
    if (c != ',') without += c;
    with_point += c == ',' ? '.' : c;
  }
  const auto points = std::count(with_point.begin(), with_point.end(), '.');
  const bool comma_last = s.find_last_of(',') > s.find('.');
  std::string nearest = points == 1 ? fmt::format("{} or {}", with_point, without) : without;
  if (comma_last && s.find('.') != std::string_view::npos) nearest.clear();
  return text.problem(from, std::move(why), text.typed(from, to),
                      "a number with a decimal point and no thousands separator", nearest);
}
}  // namespace

Outcome<Number> number(const Text& text, std::size_t i, bool comma_splits) {
  const std::string_view s = text.plain();
  Number out;
  i = skip_blanks(text, i);
  out.from = i;
  bool negative = false;
  if (text.at(i) == '+' || text.at(i) == '-') {
    negative = text.at(i) == '-';
    out.sign = true;
    i = skip_blanks(text, i + 1);
  }
  const auto finish = [&](exact::Fraction f, std::size_t to) {
    out.value = negative ? -std::move(f) : std::move(f);
    out.to = to;
    return out;
  };
  const auto unicode_fraction = [&](std::size_t k) -> std::optional<exact::Fraction> {
    const int n = text.at(k) - kHalf;
    if (text.at(k) == '\0' || n < 0 || n >= static_cast<int>(kVulgar.size())) return {};
    const auto& v = kVulgar[static_cast<std::size_t>(n)];
    return exact::Fraction{false, exact::Big(v[0]), exact::Big(v[1])};
  };
  if (const auto f = unicode_fraction(i)) return finish(*f, i + 1);
  const std::size_t whole = digits_end(text, i);
  const bool starts =
      digit(text.at(i)) || ((text.at(i) == '.' || (text.at(i) == ',' && !comma_splits)) && digit(text.at(i + 1)));
  if (!starts) {
    std::size_t to = out.from;
    while (to < text.size() && text.at(to) != ' ') ++to;
    const std::string found = text.typed(out.from, to);
    return text.problem(out.from, found.empty() ? "no number" : "no number where one is meant", found, "a number");
  }
  if (whole > i) {
    // "1/2", "2-1/4", "2 1/4", "2¼"; the hyphen or blank only when a whole fraction follows.
    const auto fraction_at = [&](std::size_t k) -> std::size_t {
      const std::size_t top = digits_end(text, k);
      if (top == k || text.at(top) != '/' || !digit(text.at(top + 1))) return 0;
      const std::size_t end = digits_end(text, top + 1);
      const bool more = (text.at(end) == '.' && digit(text.at(end + 1))) || (text.at(end) == ',' && !comma_splits);
      return more ? 0 : top;
    };
    if (const std::size_t slash = fraction_at(i); slash != 0) {
      const std::size_t to = digits_end(text, slash + 1);
      auto f = vulgar(text, i, slash, to);
      if (!f) return f.problems();
      return finish(*f, to);
    }
    const char c = text.at(whole);
    if (c == '-' || c == ' ') {
      const std::size_t k = c == '-' ? whole + 1 : skip_blanks(text, whole);
      if (const std::size_t slash = fraction_at(k); slash != 0) {
        const std::size_t to = digits_end(text, slash + 1);
        auto f = vulgar(text, k, slash, to);
        if (!f) return f.problems();
        if (compare(f->top, f->bottom) >= 0)
          return text.problem(k, "the fraction after a whole number must be below one", text.typed(i, to),
                              "a number such as 2-1/4");
        return finish(exact::Fraction{false, exact::Big::from_digits(s.substr(i, whole - i)), exact::Big(1)} + *f, to);
      }
    }
    if (const auto f = unicode_fraction(whole))
      return finish(exact::Fraction{false, exact::Big::from_digits(s.substr(i, whole - i)), exact::Big(1)} + *f,
                    whole + 1);
  }
  // Digits with at most one decimal sign, then an exponent.
  std::size_t to = i, commas = 0, points = 0, comma_at = 0;
  while (to < text.size()) {
    const char c = text.at(to);
    if (digit(c)) {
      ++to;
    } else if (c == '.' && text.at(to + 1) != '.' && (digit(text.at(to + 1)) || to == whole)) {
      ++points;
      ++to;
    } else if (c == ',' && !comma_splits && digit(text.at(to + 1))) {
      ++commas;
      comma_at = to++;
    } else {
      break;
    }
  }
  if (points > 1)
    return text.problem(i, "more than one decimal point in a number", text.typed(i, to), "a number such as 1234.5");
  if (commas > 0 && points > 0)
    return comma_problem(text, i, to, "a comma and a point in one number: which is the decimal sign cannot be told");
  if (commas > 1)
    return comma_problem(text, i, to, "more than one comma in a number: thousands separators are not read");
  if (commas == 1 && to - comma_at == 4 && comma_at - i >= 1 && comma_at - i <= 3 && text.at(i) != '0')
    return comma_problem(text, i, to, "a comma before three digits can be a decimal sign or a thousands separator");
  std::string digits(s.substr(i, to - i));
  std::replace(digits.begin(), digits.end(), ',', '.');
  if (digits.size() > 60)
    return text.problem(i, "a number of more than 60 characters", text.typed(i, i + 12) + "...", "fewer digits");
  if ((text.at(to) == 'e' || text.at(to) == 'E')) {
    std::size_t k = to + 1;
    if (text.at(k) == '+' || text.at(k) == '-') ++k;
    if (digit(text.at(k))) {
      const std::size_t end = digits_end(text, k);
      digits += s.substr(to, end - to);
      to = end;
    }
  }
  return finish(exact::from_decimal(digits), to);
}

std::string a_word(Kind kind) {
  const std::string w(word(kind));
  const bool vowel = std::string_view("aeiou").find(w.front()) != std::string_view::npos;
  return (vowel ? "an " : "a ") + w;
}

std::string such_as(Kind kind) { return fmt::format("{} such as {}", a_word(kind), example(kind)); }

Problem not_utf8(const Text& text) { return text.problem(0, "the text is not valid UTF-8", "", "text saved as UTF-8"); }

Problem bare(const Text& text, const Number& n, Kind expected) {
  return text.problem(n.from, "a number without a unit", text.typed(n.from, n.to), such_as(expected));
}

Problem left_over(const Text& text, std::size_t i, std::string expected) {
  i = skip_blanks(text, i);
  if (digit(text.at(i)) || (text.at(i) == '-' && digit(text.at(skip_blanks(text, i + 1)))))
    return text.problem(i, "two numbers where one is meant", text.typed(i, text.size()), std::move(expected));
  const std::string found = text.typed(i, text.size());
  return text.problem(i, found.empty() ? "the text ends too early" : "something is left over", found,
                      std::move(expected));
}

Outcome<Amount> amount(const Text& text, std::size_t i, Kind expected, bool comma_splits) {
  auto n = number(text, i, comma_splits);
  if (!n) {
    Problems p = n.problems();
    if (p.front().expected == "a number") p.front().expected = such_as(expected);
    return p;
  }
  Amount out;
  out.number = *n;
  out.unit_from = skip_blanks(text, n->to);
  out.to = unit_end(text, out.unit_from);
  if (out.to == out.unit_from) {
    out.to = n->to;
    return out;
  }
  auto row = find_unit(text, out.unit_from, out.to, expected);
  if (!row) return row.problems();
  out.row = *row;
  return out;
}

}  // namespace fettle::unit::scan
