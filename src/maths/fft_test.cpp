#include "maths/fft.h"

#include <gtest/gtest.h>

#include <cmath>

#include "published.h"

namespace {

using Signal = std::vector<std::complex<double>>;

Signal some(std::size_t n) {
  Signal x(n);
  for (std::size_t i = 0; i < n; ++i) {
    const auto t = static_cast<double>(i);
    x[i] = {std::sin(1.7 * t * t + 0.3) + 0.2 * std::cos(0.1 * t), std::cos(2.9 * t * t)};
  }
  return x;
}

TEST(Fft, EqualsTheSumWrittenOut) {
  for (std::size_t n : {1U, 2U, 4U, 8U, 64U, 512U}) {
    const Signal x = some(n);
    Signal y = x;
    ASSERT_TRUE(fettle::maths::fft(y));
    double worst = 0;
    for (std::size_t k = 0; k < n; ++k) {
      std::complex<long double> sum = 0;
      for (std::size_t i = 0; i < n; ++i) {
        const long double a = -2 * 3.14159265358979323846264338327950288L * static_cast<long double>((k * i) % n) / n;
        sum +=
            std::complex<long double>(x[i].real(), x[i].imag()) * std::complex<long double>(std::cos(a), std::sin(a));
      }
      worst = std::max(worst, std::abs(y[k] - std::complex<double>(static_cast<double>(sum.real()),
                                                                   static_cast<double>(sum.imag()))));
    }
    fettle::test::published("maths", "FFT of " + std::to_string(n) + " against the sum written out",
                            "definition of the transform", fettle::test::How::exact, 0, worst,
                            1e-12 * std::sqrt(n) * 4);
  }
}

TEST(Fft, KeepsTheEnergyAndComesBack) {
  const Signal x = some(4096);
  Signal y = x;
  ASSERT_TRUE(fettle::maths::fft(y));
  double before = 0, after = 0;
  for (const auto& v : x) before += std::norm(v);
  for (const auto& v : y) after += std::norm(v) / 4096;
  fettle::test::published("maths", "energy after the FFT over energy before", "Parseval's theorem",
                          fettle::test::How::exact, 1, after / before, 1e-13);
  ASSERT_TRUE(fettle::maths::inverse_fft(y));
  for (std::size_t i = 0; i < x.size(); ++i) EXPECT_LT(std::abs(x[i] - y[i]), 1e-13);
}

TEST(Fft, RefusesOtherSizes) {
  for (std::size_t n : {0U, 3U, 6U, 1000U}) {
    const Signal x = some(n);
    Signal y = x;
    EXPECT_FALSE(fettle::maths::fft(y));
    EXPECT_EQ(x, y);
    EXPECT_FALSE(fettle::maths::inverse_fft(y));
    EXPECT_EQ(x, y);
  }
  EXPECT_EQ(fettle::maths::power_of_two_from(0), 1U);
  EXPECT_EQ(fettle::maths::power_of_two_from(5), 8U);
  EXPECT_EQ(fettle::maths::power_of_two_from(8), 8U);
}

}  // namespace
