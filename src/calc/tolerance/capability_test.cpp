#include "calc/tolerance/capability.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "published.h"

namespace fettle::tolerance {
namespace {

using test::How;
using test::published;

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
const char* const handbook = "NIST/SEMATECH e-Handbook 6.1.6";

TEST(ProcessCapability, Handbook) {
  const CapabilityResult r = capability_of({8., 20., 16, 2, 0, .95}).value();
  published("tolerance", "Cp, mean 16, s 2, limits 8..20", handbook, How::from_memory, 1, r.cp, 1e-12);
  published("tolerance", "Cpk, mean 16, s 2, limits 8..20", handbook, How::from_memory, .6667, r.cpk, 5e-5);
  published("tolerance", "k, mean 16, s 2, limits 8..20", handbook, How::from_memory, .3333, r.k, 5e-5);
  published("tolerance", "ppm outside if it stood in the middle (Cp 1)", handbook, How::computed, 2699.8,
            1e6 * r.share_centred, .05);
  EXPECT_EQ(r.centre_by, -2);
  EXPECT_FALSE(r.cp_between || r.cpk_between || r.cpk_at_least);
}

TEST(ProcessCapability, ShiftOfTheMean) {
  const CapabilityResult r = capability_of({-6., 6., 1.5, 1, 0, .95}).value();
  published("tolerance", "Cp 2 with a shift of 1.5 s, ppm", "normal distribution; agrees with the handbook's table",
            How::computed, 3.3977, 1e6 * r.share, 5e-5);
  EXPECT_GT(r.above, r.below);
}

TEST(ProcessCapability, OneSided) {
  const CapabilityResult r = capability_of({{}, .03, .01, .005, 30, .95}).value();
  EXPECT_TRUE(std::isnan(r.cp));
  EXPECT_TRUE(std::isnan(r.cpl));
  EXPECT_NEAR(r.cpk, 4 / 3., 1e-12);
  EXPECT_EQ(r.below, 0);
  EXPECT_FALSE(r.cp_between);
  ASSERT_TRUE(r.cpk_at_least);
  EXPECT_LT(*r.cpk_at_least, r.cpk);
  EXPECT_GT(*r.share_at_most, r.share);
}

TEST(ProcessCapability, PistonRings) {
  // The published capability uses the range's estimate of s; only the mean of all values is compared here.
  const std::vector<double> v = {74.030, 74.002, 74.019, 73.992, 74.008};
  const CapabilityResult r = capability_of_values(v, 73.95, 74.05).value();
  EXPECT_NEAR(r.cpl * r.k, r.cpl - r.cpl * (1 - r.k), 1e-12);
  published("tolerance", "Cp of sigma .009785 in 73.95..74.05",
            "Montgomery, Introduction to Statistical Quality Control, piston rings", How::read, 1.703,
            capability_of({73.95, 74.05, 74.001176, .009785, 0, .95})->cp, 1e-3);
  published("tolerance", "Cpk of mean 74.001176, sigma .009785",
            "Montgomery, Introduction to Statistical Quality Control, piston rings", How::read, 1.663,
            capability_of({73.95, 74.05, 74.001176, .009785, 0, .95})->cpk, 1e-3);
}

TEST(ProcessCapability, LargestSpread) {
  const double s = largest_s(-3, 3, 0, .0027);
  EXPECT_NEAR(s, 1.0000, 2e-5);
  EXPECT_NEAR(capability_of({-3., 3., .5, largest_s(-3, 3, .5, .001), 0, .95})->share, .001, 1e-12);
  const double inf = std::numeric_limits<double>::infinity();
  EXPECT_NEAR(maths::share_outside({-inf, 1, 0, largest_s(-inf, 1, 0, .05)}).total(), .05, 1e-12);
  EXPECT_TRUE(std::isnan(largest_s(-inf, 1, 0, .6)));
  EXPECT_TRUE(std::isnan(largest_s(1, 0, .5, .1)));
  EXPECT_TRUE(std::isnan(largest_s(0, 1, 1, .1)));
  EXPECT_TRUE(std::isnan(largest_s(0, 1, .5, 0)));
  EXPECT_TRUE(std::isnan(largest_s(0, 1, .5, 1)));
}

TEST(ProcessCapability, Refuses) {
  const auto refused = [](auto change) {
    CapabilityInputs in{0., 1., .5, .1, 10, .95};
    change(in);
    return !capability_of(in).ok();
  };
  EXPECT_FALSE(refused([](CapabilityInputs&) {}));
  EXPECT_TRUE(refused([](CapabilityInputs& in) { in.lower = in.upper = {}; }));
  EXPECT_TRUE(refused([](CapabilityInputs& in) { in.upper = 0; }));
  EXPECT_TRUE(refused([](CapabilityInputs& in) { in.lower = nan; }));
  EXPECT_TRUE(refused([](CapabilityInputs& in) { in.upper = nan; }));
  EXPECT_TRUE(refused([](CapabilityInputs& in) { in.mean = nan; }));
  EXPECT_TRUE(refused([](CapabilityInputs& in) { in.s = 0; }));
  EXPECT_TRUE(refused([](CapabilityInputs& in) { in.items = 1; }));
  EXPECT_TRUE(refused([](CapabilityInputs& in) { in.items = -1; }));
  EXPECT_TRUE(refused([](CapabilityInputs& in) { in.confidence = 0; }));
  EXPECT_TRUE(refused([](CapabilityInputs& in) { in.confidence = 1; }));
  EXPECT_FALSE(capability_of_values({1}, 0, 2).ok());
  EXPECT_FALSE(capability_of_values({1, 1}, 0, 2).ok());  // no spread at all is no process
}

}  // namespace
}  // namespace fettle::tolerance
