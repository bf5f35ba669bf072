#include "maths/statistics.h"

#include <gtest/gtest.h>

#include <cmath>

#include "maths/random.h"
#include "published.h"

namespace fettle::maths {
namespace {

using test::How;
using test::published;

TEST(Normal, QuantileInvertsCdf) {
  for (double z = -7; z <= 7; z += 0.125) {
    const double p = normal_cdf(z);
    if (p < 0.5) {
      EXPECT_NEAR(normal_quantile(p), z, 1e-13 * (1 + std::fabs(z)));
    }
    EXPECT_NEAR(normal_cdf(normal_quantile(p)), p, 1e-15);
  }
  published("statistics", "normal quantile at 0.975", "Abramowitz and Stegun, table 26.1", How::from_memory,
            1.959963984540054, normal_quantile(0.975), 1e-14);
  published("statistics", "normal quantile at 0.95", "metrology: ISO 14253-1 exact quantile", How::read, 1.644854,
            normal_quantile(0.95), 5e-7);
  EXPECT_TRUE(std::isnan(normal_quantile(-0.1)));
  EXPECT_TRUE(std::isnan(normal_quantile(1.1)));
  EXPECT_TRUE(std::isnan(normal_quantile(std::nan(""))));
}

TEST(Student, KnownQuantiles) {
  published("statistics", "Student t, 0.975, 10 degrees of freedom", "common table of Student's t", How::from_memory,
            2.228139, student_t_quantile(0.975, 10), 5e-7);
  published("statistics", "Student t, 0.995, 16 degrees of freedom (k99 of GUM H.1 is 2.92)", "JCGM 100:2008 Annex H.1",
            How::read, 2.92, student_t_quantile(0.995, 16), 5e-3);
  EXPECT_NEAR(student_t_cdf(1.0, 1.0), 0.75, 1e-15);
  EXPECT_TRUE(std::isnan(student_t_quantile(0.5, 0)));
  EXPECT_TRUE(std::isnan(student_t_cdf(0.5, -1)));
}

TEST(ToleranceFactor, PublishedTable) {
  const auto check = [](int n, double share, double confidence, double expected, double allowed) {
    published("statistics",
              "one-sided tolerance factor, n " + std::to_string(n) + ", share " + std::to_string(share) +
                  ", confidence " + std::to_string(confidence),
              "one-sided normal tolerance factors (Lieberman 1958; Natrella, NBS Handbook 91, table A-7)",
              How::from_memory, expected, tolerance_factor(n, share, confidence), allowed);
  };
  check(3, 0.95, 0.95, 7.656, 6e-4);
  check(5, 0.95, 0.95, 4.203, 6e-4);
  check(10, 0.90, 0.95, 2.355, 6e-4);
  check(10, 0.95, 0.95, 2.911, 6e-4);
  check(10, 0.99, 0.95, 3.981, 6e-4);
  check(20, 0.95, 0.95, 2.396, 6e-4);
  // The handbook gives 1.8740 by the non-central t and 1.8752 by its approximation; both are computed here.
  published("statistics", "one-sided tolerance factor, n 43, share 0.90, confidence 0.99",
            "NIST/SEMATECH e-Handbook 7.2.6.3 (by the non-central t)", How::from_memory, 1.8740,
            tolerance_factor(43, 0.90, 0.99), 1e-4);
  const double zp = normal_quantile(0.90), zc = normal_quantile(0.99);
  const double a = 1 - zc * zc / (2 * 42), b = zp * zp - zc * zc / 43;
  EXPECT_NEAR((zp + std::sqrt(zp * zp - a * b)) / a, 1.8752, 1e-4);
  EXPECT_TRUE(std::isnan(tolerance_factor(1, 0.9, 0.9)));
  EXPECT_TRUE(std::isnan(tolerance_factor(10, 1.0, 0.9)));
  EXPECT_TRUE(std::isnan(tolerance_factor(10, 0.9, 0.0)));
}

TEST(ToleranceFactor, GuaranteedShareInvertsIt) {
  for (int n : {3, 13, 50})
    for (double share : {0.5, 0.9, 0.99}) {
      EXPECT_NEAR(guaranteed_share(n, tolerance_factor(n, share, 0.95), 0.95), share, 1e-9);
    }
  EXPECT_TRUE(std::isnan(guaranteed_share(1, 2, 0.95)));
}

TEST(ToleranceFactor, CoversAsOftenAsItSays) {
  // 4000 samples of 7: the share above mean - k s must reach 90 % in 95 % of them (3.5 s of a share of 4000: 1.2 %).
  const double k = tolerance_factor(7, 0.90, 0.95);
  int good = 0;
  for (std::uint64_t i = 0; i < 4000; ++i) {
    std::vector<double> x(7);
    normals(1, i, 0, 7, x.data());
    const Moments m = moments(x);
    if (normal_cdf(-(m.mean - k * m.s)) >= 0.90) ++good;
  }
  EXPECT_NEAR(good / 4000.0, 0.95, 0.012);
}

TEST(Intervals, ExactEnds) {
  const Interval none = clopper_pearson(0, 20, 0.95);
  EXPECT_EQ(none.low, 0);
  published("statistics", "Clopper-Pearson upper end, 0 of 20, 95 %", "1 - 0.025^(1/20)", How::exact,
            1 - std::pow(0.025, 1.0 / 20), none.high, 1e-12);
  const Interval some = clopper_pearson(4, 10, 0.95);
  published("statistics", "Clopper-Pearson lower end, 4 of 10, 95 %", "Clopper and Pearson 1934 (common example)",
            How::from_memory, 0.1216, some.low, 6e-5);
  published("statistics", "Clopper-Pearson upper end, 4 of 10, 95 %", "Clopper and Pearson 1934 (common example)",
            How::from_memory, 0.7376, some.high, 6e-5);
  // The ends are where the binomial tail is 2.5 %: the sum itself is the oracle.
  double tail = 0;
  const double choose[] = {1, 10, 45, 120, 210};
  for (int k = 0; k <= 4; ++k) tail += choose[k] * std::pow(some.high, k) * std::pow(1 - some.high, 10 - k);
  EXPECT_NEAR(tail, 0.025, 1e-12);
  EXPECT_TRUE(std::isnan(clopper_pearson(5, 4, 0.95).low));
  EXPECT_TRUE(std::isnan(clopper_pearson(-1, 4, 0.95).low));
  EXPECT_TRUE(std::isnan(clopper_pearson(1, 4, 1.0).low));
}

TEST(Intervals, Wilson) {
  const Interval w = wilson(4, 10, 0.95);
  published("statistics", "Wilson lower end, 4 of 10, 95 %", "Wilson 1927 (common example)", How::from_memory, 0.1682,
            w.low, 6e-5);
  published("statistics", "Wilson upper end, 4 of 10, 95 %", "Wilson 1927 (common example)", How::from_memory, 0.6873,
            w.high, 6e-5);
  EXPECT_EQ(wilson(0, 10, 0.95).low, 0);
  EXPECT_EQ(wilson(10, 10, 0.95).high, 1);
  EXPECT_TRUE(std::isnan(wilson(1, 0, 0.95).low));
}

TEST(Moments, NistSets) {
  const std::string nist = "NIST StRD univariate, certified value";
  const auto check = [&](const std::string& set, const std::vector<double>& x, double mean, double s, double lag) {
    const Moments m = moments(x);
    published("statistics", set + " mean", nist, How::read, mean, m.mean, 1e-12 * mean);
    published("statistics", set + " standard deviation", nist, How::read, s, m.s, 1e-9 * s);
    published("statistics", set + " lag-1 autocorrelation", nist, How::read, lag, lag1(x), 1e-9);
  };
  check("NumAcc1", {10000001, 10000003, 10000002}, 10000002, 1, -0.5);
  std::vector<double> second = {1.2};
  for (int i = 0; i < 500; ++i) second.insert(second.end(), {1.1, 1.3});
  check("NumAcc2", second, 1.2, 0.1, -0.999);
  std::vector<double> michelson;
  for (int h : {85, 74, 90, 107, 93, 85, 95, 98, 98, 88, 100, 98, 93, 65, 76, 81, 100, 100, 96, 96, 96, 94, 96, 94, 88,
                80, 85, 88, 90,  84, 83, 79, 81, 88, 88, 83,  80, 79, 76, 80, 88, 88,  88,  86, 72, 72, 62, 86, 97, 95,
                88, 91, 85, 87,  84, 84, 85, 84, 84, 84, 89,  81, 81, 82, 80, 77, 76,  74,  75, 76, 91, 92, 89, 86, 88,
                72, 84, 85, 85,  78, 89, 84, 78, 81, 76, 81,  79, 81, 82, 85, 87, 87,  81,  74, 81, 94, 95, 80, 81, 87})
    michelson.push_back(299 + h / 100.0);
  ASSERT_EQ(michelson.size(), 100U);
  check("Michelso", michelson, 299.8524, 0.0790105478190518, 0.535199668621283);
  EXPECT_TRUE(std::isnan(moments({}).mean));
  EXPECT_TRUE(std::isnan(moments({1}).s));
}

TEST(Covariance, FactorGivesItBack) {
  // Second column is twice the first: rank two of three.
  const std::vector<double> rows = {1, 2, 5, 2, 4, 1, 4, 8, 3, 7, 14, 2};
  const Covariance c = covariance(rows, 3);
  EXPECT_EQ(c.n, 4U);
  EXPECT_DOUBLE_EQ(c.mean[0], 3.5);
  EXPECT_DOUBLE_EQ(c.matrix[1], 2 * c.matrix[0]);
  std::size_t rank = 0;
  const auto f = semidefinite_factor(c.matrix, 3, &rank);
  EXPECT_EQ(rank, 2U);
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j) {
      double sum = 0;
      for (std::size_t k = 0; k < 3; ++k) sum += f[i * 3 + k] * f[j * 3 + k];
      EXPECT_NEAR(sum, c.matrix[i * 3 + j], 1e-12);
    }
}

TEST(Quantile, BetweenOrderStatistics) {
  EXPECT_DOUBLE_EQ(quantile_of_sorted({1, 2, 3, 4, 5}, 0.5), 3);
  EXPECT_DOUBLE_EQ(quantile_of_sorted({1, 2}, 0.25), 1.25);
  EXPECT_TRUE(std::isnan(quantile_of_sorted({}, 0.5)));
  EXPECT_TRUE(std::isnan(quantile_of_sorted({1}, 1.5)));
}

TEST(Random, PhiloxKnownAnswers) {
  using A4 = std::array<std::uint32_t, 4>;
  // Known answers of the authors' library for Philox4x32-10, from memory (a wrong memory could not agree by chance).
  EXPECT_EQ(philox4x32({0, 0, 0, 0}, {0, 0}), (A4{0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8}));
  EXPECT_EQ(philox4x32({0xffffffff, 0xffffffff, 0xffffffff, 0xffffffff}, {0xffffffff, 0xffffffff}),
            (A4{0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd}));
  EXPECT_EQ(philox4x32({0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344}, {0xa4093822, 0x299f31d0}),
            (A4{0xd16cfe09, 0x94fdcceb, 0x5001e420, 0x24126ea1}));
}

TEST(Random, SameNumberHoweverDrawn) {
  std::vector<double> row(9);
  normals(7, 123456789012ULL, 3, 9, row.data());
  for (std::uint32_t k = 0; k < 9; ++k) EXPECT_EQ(row[k], normal(7, 123456789012ULL, 3 + k));
  EXPECT_NE(normal(7, 1, 0), normal(8, 1, 0));
  EXPECT_NE(normal(7, 1, 0), normal(7, 2, 0));
}

TEST(Random, MomentsAndTails) {
  std::vector<double> x(200000);
  double corr = 0;
  int beyond = 0;
  for (std::uint64_t i = 0; i < 200000; ++i) {
    x[i] = normal(42, i, 5);
    corr += x[i] * normal(42, i, 6);
    if (std::fabs(x[i]) > 3) ++beyond;
  }
  const Moments m = moments(x);
  EXPECT_NEAR(m.mean, 0, 4 / std::sqrt(2e5));
  EXPECT_NEAR(m.s, 1, 4 / std::sqrt(4e5));
  EXPECT_NEAR(corr / 2e5, 0, 4 / std::sqrt(2e5));
  EXPECT_NEAR(beyond / 2e5, 0.0026998, 4 * std::sqrt(0.0027 / 2e5));
  for (std::uint64_t i = 0; i < 1000; ++i) {
    const double u = uniform(1, i, 0);
    EXPECT_GT(u, 0);
    EXPECT_LT(u, 1);
  }
}

}  // namespace
}  // namespace fettle::maths
