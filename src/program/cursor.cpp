#include "program/cursor.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "base/text.h"

namespace fettle::program {
namespace {

constexpr std::array<double, 19> tens = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8, 1e9,
                                         1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18};
struct Name {
  const char* word;
  Op op;
};
constexpr Name functions[] = {{"abs", Op::abs}, {"acos", Op::acos},   {"asin", Op::asin}, {"atan", Op::atan},
                              {"cos", Op::cos}, {"exp", Op::exp},     {"fix", Op::fix},   {"fup", Op::fup},
                              {"ln", Op::ln},   {"round", Op::round}, {"sin", Op::sin},   {"sqrt", Op::sqrt},
                              {"tan", Op::tan}};
struct Sign {
  const char* word;
  Op op;
  int rank;
};
constexpr Sign signs[] = {{"**", Op::power, 4},    {"*", Op::times, 3},  {"/", Op::over, 3},     {"mod", Op::mod, 3},
                          {"+", Op::plus, 2},      {"-", Op::minus, 2},  {"and", Op::both, 2},   {"or", Op::either, 2},
                          {"xor", Op::one_of, 2},  {"eq", Op::equal, 1}, {"ne", Op::unequal, 1}, {"gt", Op::greater, 1},
                          {"ge", Op::at_least, 1}, {"lt", Op::less, 1},  {"le", Op::at_most, 1}};

std::string words_of_functions() { return "abs, acos, asin, atan, cos, exp, fix, fup, ln, round, sin, sqrt or tan"; }

}  // namespace

void Cursor::error(std::size_t byte, std::string what, std::string found, std::string expected, std::string nearest) {
  if (failed) return;
  failed = true;
  text_.problems.push_back(
      text_.at(line_, byte, std::move(what), std::move(found), std::move(expected), std::move(nearest)));
}

std::string Cursor::here() const {
  const char* q = p_;
  while (q < end_ && is_blank(*q)) ++q;
  if (q >= end_) return "end of line";
  const char* e = q + 1;
  if (is_letter(*q) || is_digit(*q))
    while (e < end_ && (is_letter(*e) || is_digit(*e) || *e == '.') && e - q < 20) ++e;
  else if (static_cast<unsigned char>(*q) >= 0x80)
    while (e < end_ && (static_cast<unsigned char>(*e) & 0xC0) == 0x80) ++e;
  return std::string(q, e);
}

bool Cursor::take(std::string_view word) {
  const char* was = p_;
  for (const char c : word) {
    blanks();
    if (p_ >= end_ || small(*p_) != c) {
      p_ = was;
      return false;
    }
    ++p_;
  }
  before_word_ = was;
  return true;
}

bool Cursor::plain_number(double& value) {
  blanks();
  // Up to 15 digits are exact as a whole number, and a quotient by a power of ten is rounded once.
  std::uint64_t whole = 0;
  int count = 0, behind = 0;
  bool point = false;
  const char* q = p_;
  for (; q < end_; ++q) {
    if (is_digit(*q)) {
      whole = whole * 10 + static_cast<std::uint64_t>(*q - '0');
      ++count;
      behind += point;
    } else if (*q == '.' && !point) {
      point = true;
    } else {
      break;
    }
  }
  // Blanks within a number do not matter: look whether it goes on behind them.
  const char* r = q;
  while (r < end_ && is_blank(*r)) ++r;
  const bool goes_on = r > q && r < end_ && (is_digit(*r) || (*r == '.' && !point));
  if (!goes_on && count <= 15) {
    if (count == 0) return false;
    value =
        behind == 0 ? static_cast<double>(whole) : static_cast<double>(whole) / tens[static_cast<std::size_t>(behind)];
    p_ = q;
    return true;
  }
  std::string all;
  point = false;
  for (q = r = p_; r < end_; ++r) {
    if (is_digit(*r) || (*r == '.' && !point)) {
      point = point || *r == '.';
      all += *r;
      q = r + 1;
    } else if (!is_blank(*r)) {
      break;
    }
  }
  if (all == "." || all.empty()) return false;
  std::from_chars(all.data(), all.data() + all.size(), value, std::chars_format::fixed);
  p_ = q;
  return true;
}

std::int64_t Cursor::digits(int& count) {
  blanks();
  std::int64_t n = 0;
  count = 0;
  for (const char* q = p_; q < end_; ++q) {
    if (is_digit(*q)) {
      if (++count < 16) n = n * 10 + (*q - '0');
      p_ = q + 1;
    } else if (!is_blank(*q)) {
      break;
    }
  }
  return count == 0 || count > 15 ? -1 : n;
}

void Cursor::emit(Op op, std::size_t byte, double value) {
  text_.steps.push_back({value, op, static_cast<std::uint16_t>(byte)});
}

Word Cursor::closed_off(std::size_t first, std::uint16_t at) {
  Word w;
  w.at = at;
  const std::size_t count = text_.steps.size() - first;
  if (count == 1 && text_.steps.back().op == Op::number) {
    w.value = text_.steps.back().value;
    text_.steps.pop_back();
    return w;
  }
  w.formula = static_cast<std::int32_t>(text_.formulas.size());
  text_.formulas.push_back({static_cast<std::uint32_t>(first), static_cast<std::uint32_t>(count)});
  return w;
}

Word Cursor::value(std::string_view after) {
  blanks();
  Word w;
  w.at = at();
  // The plain number, which is nearly every value, without the detour over steps.
  const char c = p_ < end_ ? *p_ : '\0';
  const bool sign = c == '-' || c == '+';
  const char* was = p_;
  if (sign) ++p_;
  const char d = sign ? peek() : c;
  if ((is_digit(d) || d == '.') && plain_number(w.value)) {
    if (c == '-') w.value = -w.value;
    return w;
  }
  p_ = was;
  const std::size_t first = text_.steps.size();
  any_value(after);
  return closed_off(first, w.at);
}

Word Cursor::bracket(std::string_view after) {
  blanks();
  const std::uint16_t where = at();
  const std::size_t first = text_.steps.size();
  any_bracket(after);
  return closed_off(first, where);
}

void Cursor::any_value(std::string_view after) {
  if (failed) return;
  const char c = peek();
  const std::size_t where = at();
  if (c == '-' || c == '+') {
    ++p_;
    const char d = peek();
    if (d == '-' || d == '+') return error(at(), "two signs in a row", here(), "a number");
    any_value(after);
    if (c == '+' || failed) return;
    if (text_.steps.back().op == Op::number) text_.steps.back().value = -text_.steps.back().value;
    else emit(Op::negative, where);
  } else if (c == '[') {
    any_bracket(after);
  } else if (c == '#') {
    ++p_;
    any_parameter();
  } else if (is_digit(c) || c == '.') {
    double v = 0;
    if (!plain_number(v)) return error(where, "a number without digits", here(), "a number");
    emit(Op::number, where, v);
  } else if (is_letter(c)) {
    function();
  } else {
    error(where, fmt::format("a number is missing after {}", after), here(),
          "a number, #parameter, [expression] or function");
  }
}

void Cursor::any_bracket(std::string_view after) {
  if (failed) return;
  const std::size_t where = at();
  if (peek() != '[') return error(at(), fmt::format("a bracket is missing after {}", after), here(), "[");
  ++p_;
  binary(1, "[");
  if (failed) return;
  if (peek() != ']') {
    if (p_ >= end_) return error(where, "a bracket is not closed", "end of line", "]");
    return error(at(), "an operator or the closing bracket is missing", here(), "an operator or ]");
  }
  ++p_;
}

bool Cursor::operation(Op& op, int& rank) {
  for (const Sign& s : signs)
    if (take(s.word)) {
      op = s.op;
      rank = s.rank;
      return true;
    }
  return false;
}

/// A value and the operators behind it that bind at least so strongly; equals from left to right.
void Cursor::binary(int least, std::string_view after) {
  any_value(after);
  while (!failed) {
    const char* was = p_;
    blanks();
    const std::size_t where = at();
    Op op;
    int rank;
    if (!operation(op, rank)) return;
    if (rank < least) {
      p_ = was;
      return;
    }
    binary(rank + 1, "an operator");
    emit(op, where);
  }
}

std::string Cursor::name() {
  const std::size_t where = at();
  if (peek() != '<') return error(at(), "a name is missing", here(), "<name>"), std::string();
  ++p_;
  std::string n;
  for (; p_ < end_ && *p_ != '>'; ++p_)
    if (!is_blank(*p_)) n += small(*p_);
  if (p_ >= end_) return error(where, "a name is not closed", "end of line", ">"), std::string();
  ++p_;
  if (n.empty()) error(where, "a name without letters", "<>", "<name>");
  return n;
}

void Cursor::any_parameter() {
  const std::size_t where = at() - 1U;
  if (peek() == '<') {
    const std::string n = name();
    if (!failed) emit(Op::named, where, names_.number(n));
    return;
  }
  const std::size_t first = text_.steps.size();
  any_value("#");
  if (failed) return;
  if (text_.steps.size() - first != 1 || text_.steps.back().op != Op::number) return emit(Op::indexed, where);
  const double n = text_.steps.back().value;
  if (!(n >= 0.9999 && n <= 5399.0001))
    return error(where, "there is no such parameter", "#" + base::shortest(n), "#1 to #5399");
  if (std::fabs(n - std::round(n)) > 1e-4)
    return error(where, "the number of a parameter is whole", "#" + base::shortest(n), "#1 to #5399");
  text_.steps.back() = {std::round(n), Op::numbered, static_cast<std::uint16_t>(where)};
}

Word Cursor::parameter() {
  const std::size_t first = text_.steps.size();
  const std::uint16_t where = static_cast<std::uint16_t>(at() - 1U);
  any_parameter();
  Word w;
  w.at = where;
  w.letter = '#';
  if (failed) return w;
  const Step last = text_.steps.back();
  text_.steps.pop_back();  // not its value is wanted, but its number
  if (last.op == Op::named) w.letter = '<';
  if (last.op != Op::indexed) {
    w.value = last.value;
    return w;
  }
  Word inner = closed_off(first, where);
  inner.letter = '#';
  return inner;
}

void Cursor::function() {
  const std::size_t where = at();
  for (const Name& f : functions) {
    const char* was = p_;
    if (!take(f.word)) continue;
    if (p_ < end_ && is_letter(*p_)) {  // "sinn"
      p_ = was;
      break;
    }
    any_bracket(f.word);
    if (f.op == Op::atan && !failed) {
      if (peek() != '/') return error(at(), "atan needs a second bracket", here(), "/[...]");
      ++p_;
      any_bracket("atan[..]/");
    }
    if (!failed) emit(f.op, where);
    return;
  }
  std::string word;
  for (const char* q = p_; q < end_ && is_letter(*q); ++q) word += small(*q);
  const std::vector<std::string> all = {"abs", "acos", "asin",  "atan", "cos",  "exp", "fix",
                                        "fup", "ln",   "round", "sin",  "sqrt", "tan"};
  error(where, "no number and no function", word, "a number, #parameter, [expression], or " + words_of_functions(),
        base::nearest(word, all));
}

bool Cursor::more() {
  while (!failed) {
    blanks();
    if (p_ >= end_) return false;
    if (*p_ == ';') {
      text_.remarks.push_back(
          {line_ + 1, std::string(base::trim(std::string_view(p_ + 1, static_cast<std::size_t>(end_ - p_ - 1))))});
      p_ = end_;
      return false;
    }
    if (*p_ == ')') return error(at(), "a comment is closed that was not opened", ")", "("), false;
    if (*p_ != '(') return true;
    const char* q = p_ + 1;
    while (q < end_ && *q != ')' && *q != '(') ++q;
    if (q >= end_) return error(at(), "a comment is not closed on its line", "end of line", ")"), false;
    if (*q == '(') return error(static_cast<std::size_t>(q - begin_), "a comment inside a comment", "(", ")"), false;
    text_.remarks.push_back({line_ + 1, std::string(p_ + 1, q)});
    p_ = q + 1;
  }
  return false;
}

}  // namespace fettle::program
