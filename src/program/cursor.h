#pragma once
// Reads the characters of one line: blanks and case do not matter, every error has its byte. Used by the scanner only.
#include <string>
#include <string_view>
#include <vector>

#include "program/scan.h"

namespace fettle::program {

inline bool is_blank(char c) { return c == ' ' || c == '\t'; }
inline bool is_digit(char c) { return static_cast<unsigned char>(c - '0') < 10; }
inline char small(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; }
inline bool is_letter(char c) { return static_cast<unsigned char>(small(c) - 'a') < 26; }

/// One line on its way through the scanner. After an error `failed` is set and nothing more is read.
class Cursor {
 public:
  Cursor(Text& text, Names& names, std::int32_t line, const char* begin, const char* end)
      : text_(text), names_(names), line_(line), begin_(begin), p_(begin), end_(end) {}

  void blanks() {
    while (p_ < end_ && is_blank(*p_)) ++p_;
  }
  bool done() const { return p_ >= end_ || failed; }
  /// The next character, small, blanks skipped; 0 at the end.
  char peek() {
    blanks();
    return p_ < end_ ? small(*p_) : '\0';
  }
  void step() { ++p_; }
  std::uint16_t at() const { return static_cast<std::uint16_t>(p_ - begin_); }
  /// The byte of the next character that is no blank.
  std::uint16_t at_next() {
    blanks();
    return at();
  }
  /// A letter follows at once: the word just taken is a part of another, and is given back.
  bool in_word() {
    if (p_ >= end_ || !is_letter(*p_)) return false;
    p_ = before_word_;
    return true;
  }
  /// Takes the word when it stands here (blanks between its letters do not matter).
  bool take(std::string_view word);
  /// A number without sign; false when none stands here. Leaves the cursor behind it.
  bool plain_number(double& value);
  /// Digits only; -1 when none, or too many for a whole number.
  std::int64_t digits(int& count);

  /// A real value: number, parameter, [expression] or function, with or without sign. `after` names what it belongs to.
  Word value(std::string_view after);
  /// An expression in brackets.
  Word bracket(std::string_view after);
  /// The parameter behind a '#': the word's letter is '#' or '<'.
  Word parameter();
  /// "<name>", small and without blanks; empty after an error.
  std::string name();

  /// Comments and blanks; false at the end of the line.
  bool more();
  void error(std::size_t byte, std::string what, std::string found = {}, std::string expected = {},
             std::string nearest = {});
  /// What stands here, for a message.
  std::string here() const;

  bool failed = false;

 private:
  void emit(Op op, std::size_t byte, double value = 0);
  void any_value(std::string_view after);
  void any_bracket(std::string_view after);
  void any_parameter();
  void function();
  void binary(int least, std::string_view after);
  bool operation(Op& op, int& rank);
  Word closed_off(std::size_t first, std::uint16_t at);

  Text& text_;
  Names& names_;
  std::int32_t line_;
  const char* begin_;
  const char* p_;
  const char* before_word_ = nullptr;
  const char* end_;
};

}  // namespace fettle::program
