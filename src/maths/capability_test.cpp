#include "maths/capability.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "maths/random.h"
#include "published.h"

namespace fettle::maths {
namespace {

using test::How;
using test::published;

constexpr double inf = std::numeric_limits<double>::infinity();
const char* const handbook = "NIST/SEMATECH e-Handbook 6.1.6";

TEST(Capability, Handbook) {
  const Capability c = capability({8, 20, 16, 2});
  published("statistics", "Cp of mean 16, s 2 in 8..20", handbook, How::from_memory, 1.0, c.cp, 1e-12);
  published("statistics", "k of mean 16, s 2 in 8..20", handbook, How::from_memory, 0.3333, c.k, 5e-5);
  published("statistics", "Cpk of mean 16, s 2 in 8..20", handbook, How::from_memory, 0.6667, c.cpk, 5e-5);
  EXPECT_NEAR(c.cpk, c.cp * (1 - c.k), 1e-15);
  EXPECT_NEAR(c.cpl, 4.0 / 3, 1e-15);
}

TEST(Capability, PartsPerMillion) {
  const double cp[] = {.5, .67, 1, 1.1, 1.2, 1.33, 1.5, 1.67, 2};
  const double ppm[] = {133614, 44431, 2699.80, 966.85, 318.22, 66.07, 6.795, .5443, .001973};
  for (std::size_t i = 0; i < std::size(cp); ++i)
    published("statistics", "centred, both sides, ppm at Cp " + std::to_string(cp[i]).substr(0, 4),
              "normal distribution; NIST/SEMATECH e-Handbook 6.1.6 agrees to its digits", How::computed, ppm[i],
              1e6 * share_outside({-3 * cp[i], 3 * cp[i], 0, 1}).total(), 1e-3 * ppm[i]);
  published("statistics", "ppm at Cp 2 with the mean 1.5 s off the middle", "normal distribution", How::computed,
            3.3977, 1e6 * share_outside({-6, 6, 1.5, 1}).total(), 5e-5);
  const ShareOutside s = share_outside({-1, inf, 0, 1});
  EXPECT_EQ(s.above, 0);
  EXPECT_NEAR(s.below, normal_cdf(-1), 0);
  EXPECT_EQ(share_outside({0, 1, 1, 0}).total(), 0);
  EXPECT_EQ(share_outside({0, 1, 1.0001, 0}).above, 1);
}

TEST(Capability, IntervalOfCp) {
  // A textbook's example (Montgomery, Introduction to Statistical Quality Control, capability ratio from a sample):
  // limits 38..62, n 20, s 1.75: Cp 2.29, between 1.57 and 3.01.
  const char* const book = "Montgomery, Introduction to Statistical Quality Control, interval of Cp";
  const double cp = capability({38, 62, 50, 1.75}).cp;
  published("statistics", "Cp of s 1.75 in 38..62", book, How::from_memory, 2.29, cp, 5e-3);
  const Interval i = cp_interval(cp, 20, .95);
  published("statistics", "Cp, 20 items, 95 %, low", book, How::from_memory, 1.57, i.low, 6e-3);
  published("statistics", "Cp, 20 items, 95 %, high", book, How::from_memory, 3.01, i.high, 6e-3);
  published("statistics", "chi-square, 0.975, 19 degrees of freedom", "common table of chi-square", How::from_memory,
            32.852, chi_square_quantile(.975, 19), 5e-4);
}

TEST(Capability, IntervalOfCpk) {
  // 1.33 (1 -+ 1.96 sqrt(1/(9 20 1.33^2) + 1/38)): the width must be multiplied by Cpk as well, an easy slip by hand.
  const Interval i = cpk_interval(1.33, 20, .95);
  published("statistics", "Cpk 1.33 of 20 items, 95 %, low", "Bissell 1990, by hand", How::computed, .882600, i.low,
            1e-4);
  published("statistics", "Cpk 1.33 of 20 items, 95 %, high", "Bissell 1990, by hand", How::computed, 1.777400, i.high,
            1e-4);
}

TEST(Capability, IntervalsCoverWhatTheySay) {
  int cpk_in = 0, cp_in = 0, side_above = 0;
  const int runs = 4000, n = 40;
  std::vector<double> x(n);
  for (int r = 0; r < runs; ++r) {
    normals(11, static_cast<std::uint64_t>(r), 0, n, x.data());
    const Moments m = moments(x);
    const Capability c = capability({-3.5, 4.5, m.mean, m.s});  // true Cp 4/3, Cpk 3.5/3
    const Interval k = cpk_interval(c.cpk, n, .9), p = cp_interval(c.cp, n, .9);
    cpk_in += k.low <= 3.5 / 3 && 3.5 / 3 <= k.high;
    cp_in += p.low <= 4.0 / 3 && 4.0 / 3 <= p.high;
    side_above += r < 500 && one_sided_index_at_least(c.cpl, n, .9) > 3.5 / 3;
  }
  EXPECT_NEAR(cp_in / double(runs), .9, 4 * std::sqrt(.09 / runs));  // exact
  EXPECT_NEAR(cpk_in / double(runs), .9, .02);                       // approximation
  EXPECT_NEAR(side_above / 500.0, .1, 4 * std::sqrt(.09 / 500));     // exact
}

TEST(Capability, OneSidedBoundIsTheToleranceFactorTurnedRound) {
  // A sample whose limit lies k s away guarantees the share p: then the index is at least z_p / 3.
  const double k = tolerance_factor(20, .99, .95);
  published("statistics", "one-sided index at least, 20 items", "one-sided normal tolerance factor, inverted",
            How::exact, normal_quantile(.99) / 3, one_sided_index_at_least(k / 3, 20, .95), 1e-9);
}

TEST(Capability, OneSidedBoundJoinsItsApproximations) {
  // Where the ways meet they agree on how far the bound lies below the index.
  for (const double index : {-2.0, -.3, .5, 1.33, 3.0}) {
    const double exact = index - one_sided_index_at_least(index, 999, .95),
                 normal = index - one_sided_index_at_least(index, 1000, .95);
    EXPECT_NEAR(normal / exact, 1, .01 + .03 * std::fabs(index) / std::sqrt(999.0)) << index;
  }
  const double below = 999.9 / (3 * std::sqrt(40.0)), above = 1000.1 / (3 * std::sqrt(40.0));
  EXPECT_NEAR((above - one_sided_index_at_least(above, 40, .95)) / (below - one_sided_index_at_least(below, 40, .95)),
              1, .01);
  EXPECT_NEAR(one_sided_index_at_least(-above, 40, .95) / one_sided_index_at_least(-below, 40, .95), 1, .01);
  EXPECT_TRUE(std::isfinite(one_sided_index_at_least(1e22, 475, .5)));
  EXPECT_TRUE(std::isfinite(one_sided_index_at_least(-1e12, 20, .95)));
}

TEST(Capability, RefusesWhatIsNoProcess) {
  EXPECT_TRUE(std::isnan(share_outside({1, 1, 0, 1}).total()));
  EXPECT_TRUE(std::isnan(share_outside({0, 1, 0, -1}).total()));
  EXPECT_TRUE(std::isnan(share_outside({-inf, inf, 0, 1}).total()));
  EXPECT_TRUE(std::isnan(share_outside({0, 1, std::nan(""), 1}).total()));
  EXPECT_TRUE(std::isnan(capability({0, 1, .5, 0}).cpk));
  EXPECT_TRUE(std::isnan(capability({0, inf, .5, 1}).cp));
  EXPECT_TRUE(std::isnan(capability({0, inf, .5, 1}).k));
  EXPECT_FALSE(std::isnan(capability({0, inf, .5, 1}).cpk));
  EXPECT_TRUE(std::isnan(cp_interval(1, 1, .9).low));
  EXPECT_TRUE(std::isnan(cp_interval(-1, 9, .9).low));
  EXPECT_TRUE(std::isnan(cp_interval(1, 9, 1).low));
  EXPECT_TRUE(std::isnan(cpk_interval(1, 1, .9).low));
  EXPECT_TRUE(std::isnan(cpk_interval(1, 9, 0).low));
  EXPECT_TRUE(std::isnan(cpk_interval(inf, 9, .9).low));
  EXPECT_TRUE(std::isnan(one_sided_index_at_least(1, 1, .9)));
  EXPECT_TRUE(std::isnan(one_sided_index_at_least(inf, 5, .9)));
  EXPECT_TRUE(std::isnan(one_sided_index_at_least(1, 5, 1)));
  EXPECT_TRUE(std::isnan(chi_square_quantile(.5, 0)));
  EXPECT_TRUE(std::isnan(chi_square_quantile(1, 3)));
}

}  // namespace
}  // namespace fettle::maths
