#include "unit/exact.h"

#include <gtest/gtest.h>

#include <charconv>
#include <cmath>
#include <random>
#include <string>

#include "base/text.h"

using namespace fettle::unit::exact;

TEST(Exact, DecimalsRoundAsTheStandardLibraryRounds) {
  std::mt19937_64 random(5);
  for (int i = 0; i < 20000; ++i) {
    std::string text = std::to_string(random() % 10);
    text += '.';
    for (auto n = random() % 20 + 1; n > 0; --n) text += static_cast<char>('0' + random() % 10);
    text += "e" + std::to_string(static_cast<int>(random() % 640) - 330);
    double expected = 0;
    const auto r = std::from_chars(text.data(), text.data() + text.size(), expected);
    if (r.ec == std::errc::result_out_of_range) continue;  // both ends are tested below
    ASSERT_EQ(to_double(from_decimal(text)), expected) << text;
  }
}

TEST(Exact, FractionsAgreeWithWideArithmetic) {
  std::mt19937_64 random(6);
  for (int i = 0; i < 20000; ++i) {
    const std::uint64_t a = random() >> (random() % 60), b = (random() >> (random() % 60)) | 1U;
    const Fraction f{false, Big(a), Big(b)};
    EXPECT_EQ(to_long_double(f), static_cast<long double>(a) / static_cast<long double>(b));
    // The long way must agree with the short one: widen both by a factor that does not change the value.
    const Fraction wide{false, Big(a) * Big::power_of_ten(30), Big(b) * Big::power_of_ten(30)};
    EXPECT_EQ(to_double(f), to_double(wide));
    EXPECT_EQ(to_long_double(f), to_long_double(wide));
  }
}

TEST(Exact, SumsProductsAndOrder) {
  EXPECT_EQ(to_double(from_decimal("0.1") + from_decimal("0.2")), 0.3);
  EXPECT_EQ(to_double(from_decimal("0.3") + -from_decimal("0.3")), 0);
  EXPECT_FALSE((from_decimal("0.3") + -from_decimal("0.3")).negative);
  EXPECT_EQ(to_double(from_decimal("-2.5") * from_decimal("4")), -10);
  EXPECT_EQ(to_double(inverse(from_decimal("-8"))), -0.125);
  EXPECT_EQ(compare(from_decimal("1.1"), from_decimal("1.10")), 0);
  EXPECT_EQ(compare(from_decimal("-1"), from_decimal("1")), -1);
  EXPECT_EQ(compare(from_decimal("1e300"), from_decimal("1e-300")), 1);
}

TEST(Exact, EndsOfTheRange) {
  EXPECT_EQ(to_double(from_decimal("1e400")), INFINITY);
  EXPECT_EQ(to_double(from_decimal("-1e400")), -INFINITY);
  EXPECT_EQ(to_double(from_decimal("1e-400")), 0);
  EXPECT_EQ(to_double(from_decimal("4.9e-324")), 4.9e-324);
  EXPECT_EQ(to_double(from_decimal("2.4e-324")), 0);
  EXPECT_EQ(to_double(from_decimal("1.7976931348623157e308")), 1.7976931348623157e308);
  EXPECT_EQ(to_double(from_decimal("1.7976931348623159e308")), INFINITY);
  EXPECT_EQ(to_double(from_decimal("9007199254740993")), 9007199254740992);  // a tie goes to even
  EXPECT_EQ(to_double(from_decimal("9007199254740995")), 9007199254740996);
}
