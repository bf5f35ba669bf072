#pragma once
// Exact fractions of whole numbers of any length, so that a conversion is rounded once, at the very end.
#include <cstdint>
#include <string_view>
#include <vector>

namespace fettle::unit::exact {

/// An unsigned whole number, 32 bits a limb, least first, no leading zero limbs.
class Big {
 public:
  Big() = default;
  explicit Big(std::uint64_t x);
  /// From decimal digits only.
  static Big from_digits(std::string_view digits);
  static Big power_of_ten(int n);
  bool zero() const { return limb_.empty(); }
  int bits() const;
  /// The value, for numbers of at most 64 bits.
  std::uint64_t low() const;
  Big& shift_left(int n);
  friend int compare(const Big& a, const Big& b);
  friend Big operator+(const Big& a, const Big& b);
  friend Big operator-(const Big& a, const Big& b);  ///< needs a >= b
  friend Big operator*(const Big& a, const Big& b);

 private:
  void trim();
  std::vector<std::uint32_t> limb_;
};

/// A signed fraction; the denominator is never zero.
struct Fraction {
  bool negative = false;
  Big top, bottom{1};
};
Fraction operator+(const Fraction& a, const Fraction& b);
Fraction operator*(const Fraction& a, const Fraction& b);
Fraction operator-(Fraction a);
Fraction inverse(const Fraction& a);
/// -1, 0 or 1 as a is below, equal to or above b.
int compare(const Fraction& a, const Fraction& b);

/// From a plain decimal text such as "-4.4482216152605" or "1.05e-5" (checked by the caller; at most 60 digits).
Fraction from_decimal(std::string_view text);

/// The nearest double (ties to even); infinity when too large, zero or a subnormal when small.
double to_double(const Fraction& a);
/// The nearest 64-bit-mantissa value, used before a multiplication by pi.
long double to_long_double(const Fraction& a);

}  // namespace fettle::unit::exact
