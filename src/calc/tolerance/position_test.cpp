#include "calc/tolerance/position.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "maths/random.h"
#include "maths/statistics.h"
#include "published.h"

namespace fettle::tolerance {
namespace {

using test::How;
using test::published;

constexpr double mm = 1e-3;
constexpr double nan = std::numeric_limits<double>::quiet_NaN();
const char* const rule = "ASME Y14.5, bonus and virtual condition, by hand";

PositionInputs hole() {
  return {true, Material::maximum, 10.5 * mm, 10.7 * mm, 10.62 * mm, .3 * mm, .12 * mm, -.15 * mm};
}

TEST(Position, BonusAtMaximumMaterial) {
  const PositionResult r = position(hole()).value();
  published("tolerance", "position from x and y, mm", rule, How::computed, .384187, r.found / mm, 1e-6);
  published("tolerance", "bonus, mm", rule, How::computed, .12, r.bonus / mm, 1e-6);
  published("tolerance", "allowed, mm", rule, How::computed, .42, r.allowed / mm, 1e-6);
  published("tolerance", "margin, mm", rule, How::computed, .035813, r.margin / mm, 1e-6);
  published("tolerance", "virtual condition, mm", rule, How::computed, 10.2, r.virtual_size / mm, 1e-6);
  EXPECT_TRUE(r.inside);
  PositionInputs in = hole();
  in.material = Material::regardless;
  EXPECT_FALSE(position(in)->inside);
  EXPECT_EQ(position(in)->bonus, 0);
}

TEST(Position, AllFourWays) {
  PositionInputs in = hole();
  in.material = Material::least;
  EXPECT_NEAR(position(in)->bonus, .08 * mm, 1e-15);
  EXPECT_NEAR(position(in)->virtual_size, 11.0 * mm, 1e-15);
  in.hole = false;  // pin 10.5..10.7
  EXPECT_NEAR(position(in)->bonus, .12 * mm, 1e-15);
  EXPECT_NEAR(position(in)->virtual_size, 10.2 * mm, 1e-15);
  in.material = Material::maximum;
  EXPECT_NEAR(position(in)->bonus, .08 * mm, 1e-15);
  EXPECT_NEAR(position(in)->virtual_size, 11.0 * mm, 1e-15);
  // A hole too large is a bad hole; its bonus stops at the limit.
  in = hole();
  in.actual_size = 10.75 * mm;
  EXPECT_NEAR(position(in)->bonus, .2 * mm, 1e-15);
  EXPECT_FALSE(position(in)->size_inside);
  EXPECT_FALSE(position(in)->inside);
  in.actual_size = 10.45 * mm;
  EXPECT_EQ(position(in)->bonus, 0);
  // A virtual pin of that size enters exactly when the position holds: gauge and formula agree on random holes.
  for (std::uint64_t i = 0; i < 2000; ++i) {
    in.actual_size = (10.5 + .2 * maths::uniform(2, i, 0)) * mm;
    in.dx = .2 * mm * maths::normal(2, i, 1);
    in.dy = .2 * mm * maths::normal(2, i, 2);
    const PositionResult r = position(in).value();
    const double room = in.actual_size / 2 - r.virtual_size / 2 - std::hypot(in.dx, in.dy);
    if (std::fabs(room) > 1e-12) {
      EXPECT_EQ(r.margin >= 0, room >= 0);
    }
  }
}

TEST(Position, SquareToRound) {
  published("tolerance", "round zone around ±0.1, mm", "diagonal of the square", How::exact, .2 * std::sqrt(2.0),
            round_zone_around_square(.1), 1e-15);
  published("tolerance", "round zone around ±0.1, mm, as printed", "diagonal of the square", How::computed, .282843,
            round_zone_around_square(.1), 1e-6);
  published("tolerance", "area of the round zone over the square", "pi / 2", How::exact, 1.570796, round_over_square(),
            1e-6);
  EXPECT_NEAR(square_in_round_zone(round_zone_around_square(.1)), .1, 1e-16);
}

TEST(RoundZone, Rayleigh) {
  const ZoneShare z = round_zone({.1, .015, .015, 0, 0, 0}).value();
  published("tolerance", "share inside a zone of 0.1 with s 0.015", "Rayleigh: 1 - exp(-T^2 / 8 s^2)", How::exact,
            .996134, z.inside, 5e-7);
  // The quadrature, kept from its short cut by a hair, says the same, small shares included.
  for (const double s : {.002, .01, .015, .05, 2.0}) {
    const ZoneShare a = round_zone({.1, s, s, 0, 0, 0}).value(), b = round_zone({.1, s, s, 1e-14, 0, 0}).value();
    EXPECT_NEAR(a.inside, b.inside, 1e-12) << s;
    EXPECT_NEAR(a.outside, b.outside, 1e-12 + 1e-9 * a.outside) << s;
    EXPECT_NEAR(b.inside + b.outside, 1, 1e-12);
  }
}

TEST(RoundZone, AnisotropicAndOffAgreesWithSampling) {
  const RoundZone in{.07, .012, .004, .006, -.003, .4};
  const ZoneShare z = round_zone(in).value();
  long long outside = 0;
  const long long n = 400000;
  for (std::uint64_t i = 0; i < static_cast<std::uint64_t>(n); ++i) {
    const double a = maths::normal(4, i, 0), b = maths::normal(4, i, 1);
    const double x = in.bias_x + in.s_x * a;
    const double y = in.bias_y + in.s_y * (in.correlation * a + std::sqrt(1 - in.correlation * in.correlation) * b);
    outside += 2 * std::hypot(x, y) > in.zone;
  }
  const maths::Interval i = maths::clopper_pearson(outside, n, .9999);
  EXPECT_LE(i.low, z.outside);
  EXPECT_GE(i.high, z.outside);
  // On a line, both ways of writing it.
  const double line = round_zone({2, 1, 0, 0, 0, 0})->inside;
  EXPECT_NEAR(line, 2 * maths::normal_cdf(1) - 1, 1e-14);
  EXPECT_NEAR(round_zone({2, 0, 1, .6, 0, 0})->inside, 2 * maths::normal_cdf(.8) - 1, 1e-14);
  EXPECT_NEAR(round_zone({2, std::sqrt(.5), std::sqrt(.5), 0, 0, 1})->inside, line, 1e-12);
  EXPECT_EQ(round_zone({2, 0, 0, .6, .7, 0})->inside, 1);
  EXPECT_EQ(round_zone({2, 0, 0, .8, .7, 0})->inside, 0);
}

TEST(Pattern, ShiftSavesAndTurnSavesMore) {
  // Four holes all moved alike: a shift takes it out exactly.
  PatternInputs in;
  for (const double x : {-50.0, 50.0})
    for (const double y : {-30.0, 30.0}) in.holes.push_back({"h", x * mm, y * mm, .1 * mm, -.05 * mm, .1 * mm});
  EXPECT_FALSE(pattern(in)->inside);
  in.shift = .1 * mm;  // half of it each way
  const PatternResult r = pattern(in).value();
  published("tolerance", "pattern moved by 0.1, -0.05, shift within Ø0.1: margin, mm",
            "2 (hypot(0.1, 0.05) - 0.05) against 0.1, by hand", How::exact, .1 - 2 * (std::hypot(.1, .05) - .05),
            r.margin / mm, 1e-8);
  in.shift = .3 * mm;
  EXPECT_NEAR(pattern(in)->margin, .1 * mm, 1e-11);
  // Turned about the middle: only a turn helps.
  for (PatternHole& h : in.holes) {
    h.dx = -.002 * h.y;
    h.dy = .002 * h.x;
  }
  EXPECT_NEAR(pattern(in)->margin, .1 * mm - 2 * .002 * std::hypot(50, 30) * mm, 1e-10);
  in.turn = .001;
  EXPECT_NEAR(pattern(in)->margin, .1 * mm - 2 * .001 * std::hypot(50, 30) * mm, 1e-10);
  in.turn = .004;
  const PatternResult t = pattern(in).value();
  EXPECT_NEAR(t.margin, .1 * mm, 1e-10);
  EXPECT_NEAR(t.turn, .002, 1e-7);
}

TEST(Pattern, BestOfRandomPatternsIsNotBeaten) {
  for (std::uint64_t item = 0; item < 30; ++item) {
    PatternInputs in;
    in.shift = .08 * mm;
    in.turn = item % 2 ? .0005 : 0;
    in.datum_x = -44 * mm;
    for (std::uint32_t i = 0; i < 5; ++i)
      in.holes.push_back({std::to_string(i), 50 * mm * maths::normal(6, item, i),
                          50 * mm * maths::normal(6, item, 10 + i), .05 * mm * maths::normal(6, item, 20 + i),
                          .05 * mm * maths::normal(6, item, 30 + i), (.1 + .1 * maths::uniform(6, item, 40 + i)) * mm});
    const PatternResult r = pattern(in).value();
    EXPECT_LE(std::hypot(r.x, r.y), in.shift / 2 * (1 + 1e-12));
    EXPECT_LE(std::fabs(r.turn), in.turn * (1 + 1e-9));
    EXPECT_GE(r.margin, r.margin_unmoved);
    double best = -1;
    for (std::uint64_t k = 0; k < 4000; ++k) {
      const double radius = in.shift / 2 * std::sqrt(maths::uniform(8, k, 0)),
                   angle = 6.283185 * maths::uniform(8, k, 1);
      const double turn = in.turn * (2 * maths::uniform(8, k, 2) - 1);
      double margin = 1;
      for (const PatternHole& h : in.holes) {
        const double x = h.dx - radius * std::cos(angle) + turn * (h.y - in.datum_y);
        const double y = h.dy - radius * std::sin(angle) - turn * (h.x - in.datum_x);
        margin = std::min(margin, h.allowed - 2 * std::hypot(x, y));
      }
      best = std::max(best, margin);
    }
    EXPECT_LE(best, r.margin + r.gap);
    EXPECT_GE(best, r.margin - .02 * mm);  // and the search comes near it
  }
}

TEST(Position, Refuses) {
  const auto refused = [](auto change) {
    PositionInputs in = hole();
    change(in);
    return !position(in).ok();
  };
  EXPECT_FALSE(refused([](PositionInputs&) {}));
  EXPECT_TRUE(refused([](PositionInputs& in) { in.least_size = 0; }));
  EXPECT_TRUE(refused([](PositionInputs& in) { in.most_size = in.least_size - 1e-9; }));
  EXPECT_TRUE(refused([](PositionInputs& in) { in.actual_size = 0; }));
  EXPECT_TRUE(refused([](PositionInputs& in) { in.zone = -1e-9; }));
  EXPECT_TRUE(refused([](PositionInputs& in) { in.dx = nan; }));
  EXPECT_TRUE(refused([](PositionInputs& in) { in.dy = nan; }));
  EXPECT_FALSE(pattern({}).ok());
  const auto no_pattern = [](auto change) {
    PatternInputs in;
    in.holes = {{"h", 0, 0, 0, 0, .1}};
    change(in);
    return !pattern(in).ok();
  };
  EXPECT_FALSE(no_pattern([](PatternInputs&) {}));
  EXPECT_TRUE(no_pattern([](PatternInputs& in) { in.shift = -1; }));
  EXPECT_TRUE(no_pattern([](PatternInputs& in) { in.turn = -1e-9; }));
  EXPECT_TRUE(no_pattern([](PatternInputs& in) { in.turn = .1; }));
  EXPECT_TRUE(no_pattern([](PatternInputs& in) { in.datum_y = nan; }));
  EXPECT_TRUE(no_pattern([](PatternInputs& in) { in.holes[0].x = nan; }));
  EXPECT_TRUE(no_pattern([](PatternInputs& in) { in.holes[0].dy = nan; }));
  EXPECT_TRUE(no_pattern([](PatternInputs& in) { in.holes[0].allowed = -1e-9; }));
  EXPECT_FALSE(round_zone({0, 1, 1, 0, 0, 0}).ok());
  EXPECT_FALSE(round_zone({1, -1, 1, 0, 0, 0}).ok());
  EXPECT_FALSE(round_zone({1, 1, nan, 0, 0, 0}).ok());
  EXPECT_FALSE(round_zone({1, 1, 1, nan, 0, 0}).ok());
  EXPECT_FALSE(round_zone({1, 1, 1, 0, nan, 0}).ok());
  EXPECT_FALSE(round_zone({1, 1, 1, 0, 0, 1.01}).ok());
  EXPECT_FALSE(round_zone({1, 1, 1, 0, 0, -1.01}).ok());
}

}  // namespace
}  // namespace fettle::tolerance
