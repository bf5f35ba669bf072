#pragma once
// Reading texts of quantities: one plain character per code point, so that a column is an index plus one.
#include <algorithm>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"
#include "unit/exact.h"
#include "unit/quantity.h"

namespace fettle::unit::scan {

// Characters that have no place in ASCII get a stand-in; the same ASCII character typed by a person becomes `kOther`.
inline constexpr char kDegree = '\x01', kPlusMinus = '\x02', kDiameter = '\x03', kAtMost = '\x04', kAtLeast = '\x05';
inline constexpr char kDots = '\x06', kOther = '\x07', kPerMille = '\x08', kHalf = '\x0e';  // kHalf..: vulgar fractions

/// The text as typed and its plain form, code point by code point.
class Text {
 public:
  explicit Text(std::string_view typed);
  std::string_view plain() const { return plain_; }
  std::size_t size() const { return plain_.size(); }
  char at(std::size_t i) const { return i < plain_.size() ? plain_[i] : '\0'; }
  /// False when the text is not UTF-8, or longer than any quantity can be.
  bool valid() const { return valid_; }
  bool too_long() const { return original_.size() > kLongest; }
  /// The same text that ends at code point `to`; columns stay.
  Text cut(std::size_t to) const {
    Text t = *this;
    t.plain_.resize(std::min(to, size()));
    return t;
  }
  /// What stood at code points from..to, as typed, without blanks at its ends.
  std::string typed(std::size_t from, std::size_t to) const;
  std::string typed() const { return typed(0, size()); }
  /// A problem at code point `i`.
  Problem problem(std::size_t i, std::string what, std::string found, std::string expected,
                  std::string nearest = {}) const;

 private:
  static constexpr std::size_t kLongest = 1000;
  std::string original_, plain_;
  bool valid_ = true;
};

/// The plain form of a unit's spelling: signs of multiplication as *, no blanks, no brackets.
std::string canonical_unit(std::string_view plain);

/// A number as typed: an exact fraction and where it stood.
struct Number {
  exact::Fraction value;
  bool sign = false;  ///< a + or - stood in front
  std::size_t from = 0, to = 0;
};

std::size_t skip_blanks(const Text& text, std::size_t i);
bool digit(char c);
bool letter(char c);

/// Reads a number at i (blanks in front allowed): decimal point, decimal comma where it can mean nothing else, "2-1/4",
/// "1/2", "2¼", "1.2e-5". `comma_splits`: commas separate numbers here and never are decimal commas.
Outcome<Number> number(const Text& text, std::size_t i, bool comma_splits = false);

/// End of the unit that starts at i (i itself when there is none). Stops before numbers, signs of tolerance, brackets
/// that the unit did not open, commas and semicolons.
std::size_t unit_end(const Text& text, std::size_t i);

/// True when the word stands at i and no letter or digit follows.
bool word_at(const Text& text, std::size_t i, std::string_view lower_word);

/// One row of the unit table with its exact factor: si = (x + before) * factor, times pi where `times_pi`.
struct Row {
  Unit unit;
  exact::Fraction factor, before;
  bool times_pi = false;
};
const std::vector<Row>& rows();
/// Row with this symbol or exact spelling and kind; nullptr when there is none.
const Row* row_of(std::string_view symbol, Kind kind);
/// Exact or rounded-once value. `difference`: without the zero shift of °C and °F.
double to_si(const exact::Fraction& x, const Row& row, bool difference = false);

/// Finds the unit typed at from..to for the kind meant, or says what is wrong with it.
Outcome<const Row*> find_unit(const Text& text, std::size_t from, std::size_t to, Kind expected);

/// A number with or without a unit behind it.
struct Amount {
  Number number;
  const Row* row = nullptr;           ///< nullptr: bare
  std::size_t unit_from = 0, to = 0;  ///< code points
};
Outcome<Amount> amount(const Text& text, std::size_t i, Kind expected, bool comma_splits = false);

/// Finds ".." (or "…", or "to" between blanks) at or after `from`.
bool dots_between(const Text& text, std::size_t from, std::size_t& at, std::size_t& after);
/// Three dots before a number without a point of its own: ".4985...4990" may end at .4990 or at 4990.
std::optional<Problem> doubtful_dots(const Text& text, std::size_t from, std::size_t at, std::size_t after);
/// Skips blanks; `after` lies behind ±, +- or +/- when one stands there, else equals the place returned.
std::size_t plus_minus_at(const Text& text, std::size_t i, std::size_t& after);

/// Why a text that is not valid cannot be read.
Problem not_utf8(const Text& text);
/// "a length"
std::string a_word(Kind kind);
/// "a length such as 25.4 mm"
std::string such_as(Kind kind);
Problem bare(const Text& text, const Number& n, Kind expected);
Problem left_over(const Text& text, std::size_t i, std::string expected);

}  // namespace fettle::unit::scan
