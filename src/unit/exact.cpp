#include "unit/exact.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <string>

namespace fettle::unit::exact {

Big::Big(std::uint64_t x) {
  limb_ = {static_cast<std::uint32_t>(x), static_cast<std::uint32_t>(x >> 32U)};
  trim();
}

void Big::trim() {
  while (!limb_.empty() && limb_.back() == 0) limb_.pop_back();
}

namespace {
constexpr int most_digits = 19;  ///< of any whole number that 64 bits hold
std::uint64_t small_power_of_ten(int n) {
  std::uint64_t out = 1;
  for (int i = 0; i < n; ++i) out *= 10;
  return out;
}
}  // namespace

Big Big::from_digits(std::string_view digits) {
  Big out;
  for (std::size_t from = 0; from < digits.size(); from += most_digits) {
    const std::string_view some = digits.substr(from, most_digits);
    std::uint64_t x = 0;
    for (const char c : some) x = 10 * x + static_cast<std::uint64_t>(c - '0');
    out = from == 0 ? Big(x) : out * power_of_ten(static_cast<int>(some.size())) + Big(x);
  }
  return out;
}

Big Big::power_of_ten(int n) {
  if (n >= 0 && n <= most_digits) return Big(small_power_of_ten(n));
  Big out(1), base(10);
  for (; n > 0; n /= 2) {
    if (n % 2 == 1) out = out * base;
    base = base * base;
  }
  return out;
}

int Big::bits() const {
  return limb_.empty() ? 0 : static_cast<int>(limb_.size()) * 32 - std::countl_zero(limb_.back());
}

std::uint64_t Big::low() const {
  std::uint64_t x = 0;
  for (std::size_t i = std::min<std::size_t>(limb_.size(), 2); i-- > 0;) x = (x << 32U) | limb_[i];
  return x;
}

Big& Big::shift_left(int n) {
  if (limb_.empty()) return *this;
  limb_.insert(limb_.begin(), static_cast<std::size_t>(n / 32), 0U);
  const auto rest = static_cast<unsigned>(n % 32);
  std::uint32_t carry = 0;
  for (std::uint32_t& l : limb_) {
    const std::uint64_t wide = (std::uint64_t{l} << rest) | carry;
    l = static_cast<std::uint32_t>(wide);
    carry = static_cast<std::uint32_t>(wide >> 32U);
  }
  if (carry != 0) limb_.push_back(carry);
  return *this;
}

int compare(const Big& a, const Big& b) {
  if (a.limb_.size() != b.limb_.size()) return a.limb_.size() < b.limb_.size() ? -1 : 1;
  for (std::size_t i = a.limb_.size(); i-- > 0;)
    if (a.limb_[i] != b.limb_[i]) return a.limb_[i] < b.limb_[i] ? -1 : 1;
  return 0;
}

Big operator+(const Big& a, const Big& b) {
  Big out;
  std::uint64_t carry = 0;
  for (std::size_t i = 0; i < std::max(a.limb_.size(), b.limb_.size()) || carry != 0; ++i) {
    carry += i < a.limb_.size() ? a.limb_[i] : 0U;
    carry += i < b.limb_.size() ? b.limb_[i] : 0U;
    out.limb_.push_back(static_cast<std::uint32_t>(carry));
    carry >>= 32U;
  }
  out.trim();
  return out;
}

Big operator-(const Big& a, const Big& b) {
  Big out = a;
  std::int64_t borrow = 0;
  for (std::size_t i = 0; i < out.limb_.size(); ++i) {
    std::int64_t d = std::int64_t{out.limb_[i]} - borrow - (i < b.limb_.size() ? std::int64_t{b.limb_[i]} : 0);
    borrow = d < 0 ? 1 : 0;
    if (d < 0) d += std::int64_t{1} << 32U;
    out.limb_[i] = static_cast<std::uint32_t>(d);
  }
  out.trim();
  return out;
}

Big operator*(const Big& a, const Big& b) {
  Big out;
  out.limb_.assign(a.limb_.size() + b.limb_.size(), 0U);
  for (std::size_t i = 0; i < a.limb_.size(); ++i) {
    std::uint64_t carry = 0;
    for (std::size_t j = 0; j < b.limb_.size(); ++j) {
      carry += std::uint64_t{a.limb_[i]} * b.limb_[j] + out.limb_[i + j];
      out.limb_[i + j] = static_cast<std::uint32_t>(carry);
      carry >>= 32U;
    }
    out.limb_[i + b.limb_.size()] = static_cast<std::uint32_t>(carry);
  }
  out.trim();
  return out;
}

Fraction operator-(Fraction a) {
  a.negative = !a.negative && !a.top.zero();
  return a;
}

Fraction operator+(const Fraction& a, const Fraction& b) {
  const Big x = a.top * b.bottom, y = b.top * a.bottom;
  Fraction out;
  out.bottom = a.bottom * b.bottom;
  if (a.negative == b.negative) {
    out.top = x + y;
    out.negative = a.negative;
  } else {
    const bool x_larger = compare(x, y) >= 0;
    out.top = x_larger ? x - y : y - x;
    out.negative = x_larger ? a.negative : b.negative;
  }
  if (out.top.zero()) out.negative = false;
  return out;
}

Fraction operator*(const Fraction& a, const Fraction& b) {
  return {a.negative != b.negative && !a.top.zero() && !b.top.zero(), a.top * b.top, a.bottom * b.bottom};
}

Fraction inverse(const Fraction& a) { return {a.negative, a.bottom, a.top}; }

int compare(const Fraction& a, const Fraction& b) {
  const Fraction d = a + (-b);
  if (d.top.zero()) return 0;
  return d.negative ? -1 : 1;
}

Fraction from_decimal(std::string_view text) {
  Fraction out;
  if (!text.empty() && (text.front() == '-' || text.front() == '+')) {
    out.negative = text.front() == '-';
    text.remove_prefix(1);
  }
  int exponent = 0;
  const std::size_t e = text.find_first_of("eE");
  if (e != std::string_view::npos) {
    std::string_view tail = text.substr(e + 1);
    const bool down = !tail.empty() && tail.front() == '-';
    if (!tail.empty() && (tail.front() == '-' || tail.front() == '+')) tail.remove_prefix(1);
    for (char c : tail) exponent = std::min(exponent * 10 + (c - '0'), 100000);
    if (down) exponent = -exponent;
    text = text.substr(0, e);
  }
  std::string digits;
  bool after_point = false;
  for (char c : text) {
    if (c == '.') {
      after_point = true;
      continue;
    }
    digits += c;
    if (after_point) --exponent;
  }
  out.top = Big::from_digits(digits);
  if (out.top.zero()) out.negative = false;
  // Beyond +-800 decimal places the value is infinite or zero in a double whatever the digits are.
  exponent = std::clamp(exponent, -800, 800);
  if (exponent > 0) out.top = out.top * Big::power_of_ten(exponent);
  if (exponent < 0) out.bottom = Big::power_of_ten(-exponent);
  return out;
}

namespace {
/// top/bottom = mantissa * 2^exponent with a mantissa of 65 or 66 bits in two words; `sticky` when digits were left
/// over.
struct Quotient {
  unsigned __int128 mantissa = 0;
  int exponent = 0;
  bool sticky = false;
};
Quotient divide(const Fraction& a) {
  Quotient q;
  Big top = a.top, bottom = a.bottom;
  const int shift = 65 - (top.bits() - bottom.bits());
  if (top.bits() <= 64 && bottom.bits() <= 62 && shift >= 0) {  // top << shift then has at most 127 bits
    const unsigned __int128 wide = static_cast<unsigned __int128>(top.low()) << static_cast<unsigned>(shift);
    q.mantissa = wide / bottom.low();
    q.exponent = -shift;
    q.sticky = wide % bottom.low() != 0;
    return q;
  }
  if (shift > 0) top.shift_left(shift);
  else bottom.shift_left(-shift);
  q.exponent = -shift;
  // Long division bit by bit: the quotient has at most 66 bits.
  for (int bit = 66; bit >= 0; --bit) {
    Big step = bottom;
    step.shift_left(bit);
    if (compare(top, step) >= 0) {
      top = top - step;
      q.mantissa |= static_cast<unsigned __int128>(1) << static_cast<unsigned>(bit);
    }
  }
  q.sticky = !top.zero();
  return q;
}

/// Rounds to `keep` bits (fewer for results below `smallest_exponent`), ties to even.
unsigned __int128 round_bits(Quotient& q, int keep, int smallest_exponent) {
  int width = 0;
  for (unsigned __int128 m = q.mantissa; m != 0; m >>= 1U) ++width;
  int drop = width - keep;
  if (q.exponent + drop < smallest_exponent) drop = smallest_exponent - q.exponent;
  if (drop > 120) return 0;
  if (drop <= 0) return q.mantissa;
  const unsigned __int128 one = 1;
  const unsigned __int128 rest = q.mantissa & ((one << static_cast<unsigned>(drop)) - 1);
  const unsigned __int128 half = one << static_cast<unsigned>(drop - 1);
  unsigned __int128 kept = q.mantissa >> static_cast<unsigned>(drop);
  if (rest > half || (rest == half && (q.sticky || (kept & 1U) != 0))) ++kept;
  q.exponent += drop;
  return kept;
}
}  // namespace

double to_double(const Fraction& a) {
  if (a.top.zero()) return 0;
  // Two whole numbers that a double holds exactly: one division, rounded once.
  if (a.top.bits() <= 53 && a.bottom.bits() <= 53) {
    const double x = static_cast<double>(a.top.low()) / static_cast<double>(a.bottom.low());
    return a.negative ? -x : x;
  }
  Quotient q = divide(a);
  const unsigned __int128 m = round_bits(q, 53, -1074);
  const double x = std::ldexp(static_cast<double>(m), q.exponent);
  return a.negative ? -x : x;
}

long double to_long_double(const Fraction& a) {
  if (a.top.zero()) return 0;
  if (a.top.bits() <= 64 && a.bottom.bits() <= 64) {
    const long double x = static_cast<long double>(a.top.low()) / static_cast<long double>(a.bottom.low());
    return a.negative ? -x : x;
  }
  Quotient q = divide(a);
  const unsigned __int128 m = round_bits(q, 64, -16000);
  const long double x = std::ldexp(static_cast<long double>(m), q.exponent);
  return a.negative ? -x : x;
}

}  // namespace fettle::unit::exact
