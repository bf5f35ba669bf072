#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>
#include <random>

#include "calc/motion/motion.h"

namespace fettle::motion {
namespace {

using frame::Vec3;
using program::Motion;
using program::Move;

constexpr double mm = 1e-3, pi = std::numbers::pi;

std::vector<Move> to_and_fro(double length, int times, bool rapid, double feed = 0) {
  std::vector<Move> out;
  for (int k = 0; k < times; ++k) {
    Move m;
    m.kind = rapid ? Motion::rapid : Motion::feed;
    m.feed = feed;
    m.start = {k % 2 == 0 ? 0 : length, 0, 0};
    m.end = {k % 2 == 0 ? length : 0, 0, 0};
    out.push_back(m);
  }
  return out;
}
std::vector<Move> squares(double side, int times, double feed) {
  const Vec3 at[] = {{0, 0, 0}, {side, 0, 0}, {side, side, 0}, {0, side, 0}};
  std::vector<Move> out;
  for (int k = 0; k < 4 * times; ++k) {
    Move m;
    m.kind = Motion::feed;
    m.feed = feed;
    m.start = at[k % 4];
    m.end = at[(k + 1) % 4];
    out.push_back(m);
  }
  return out;
}
std::vector<Move> dense(double step, int times, double feed) {
  std::vector<Move> out;
  for (int k = 0; k < times; ++k) {
    Move m;
    m.kind = Motion::feed;
    m.feed = feed;
    m.start = {step * k, 0, 0};
    m.end = {step * (k + 1), 0, 0};
    out.push_back(m);
  }
  return out;
}

struct Bench {
  std::vector<std::vector<Move>> groups = {to_and_fro(100 * mm, 40, true), to_and_fro(20 * mm, 80, true),
                                           to_and_fro(1 * mm, 150, true),  squares(20 * mm, 15, 0.1),
                                           squares(5 * mm, 40, 0.1),       dense(0.02 * mm, 3000, 0.1)};
  Limits truth;
  Bench() {
    truth.rapid = {0.5, 0.5, 0.5};
    truth.ramp = {3.2, 35};
    truth.path_tolerance = 0.02 * mm;
    truth.top_speed = 800;
    truth.block_time = 0.0025;
  }
  FitInputs inputs(double scatter, unsigned seed) const {
    std::mt19937 random(seed);
    FitInputs in;
    in.known = truth;
    in.known.ramp = {1, 100};
    in.known.path_tolerance = 0.1 * mm;
    in.known.block_time = 0.001;
    for (const auto& g : groups) {
      double noise = 0;
      for (int k = 0; k < 12; ++k) noise += std::generate_canonical<double, 53>(random);
      in.groups.push_back({g, solve({g, truth})->sum.total() + scatter * (noise - 6), std::max(scatter, 0.01)});
    }
    return in;
  }
};

TEST(MotionFit, FindsTheMachineThatTheTimesWereMadeWith) {
  const Bench b;
  const auto r = fit(b.inputs(0, 1));
  ASSERT_TRUE(r.ok());
  EXPECT_LT(r->misfit, 1e-4);
  EXPECT_NEAR(r->limits.ramp.acceleration, 3.2, 3.2e-2);
  EXPECT_NEAR(r->limits.ramp.jerk, 35, 0.35);
  EXPECT_NEAR(r->limits.path_tolerance, 0.02 * mm, 0.0004 * mm);
  EXPECT_NEAR(r->limits.block_time, 0.0025, 2.5e-5);
  for (const Fitted& f : r->numbers) EXPECT_TRUE(f.fixed) << word(f.which) << " " << f.low << " " << f.high;
}

TEST(MotionFit, TheBandHoldsTheTruthWithAStopwatch) {
  const Bench b;
  int inside = 0, all = 0, fits = 0;
  for (unsigned seed = 1; seed <= 6; ++seed) {
    const auto r = fit(b.inputs(0.2, seed));
    ASSERT_TRUE(r.ok());
    fits += r->fits;
    const double truth[] = {3.2, 35, 0.02 * mm, 0.0025};
    for (std::size_t k = 0; k < 4; ++k) {
      const Fitted& f = r->numbers[k];
      EXPECT_LE(f.low, f.value * (1 + 1e-12));
      EXPECT_GE(f.high, f.value * (1 - 1e-12));
      inside += f.low <= truth[k] && truth[k] <= f.high;
      ++all;
    }
  }
  EXPECT_GE(inside, all - 4);  // 95 % of 24 are 22.8; fewer than 20 have a chance of 0.6 %
  EXPECT_GE(fits, 5);
}

TEST(MotionFit, SaysWhatTheDataDoNotFix) {
  // Only long rapids: jerk and acceleration come as one sum, corners and lines never.
  const Bench b;
  FitInputs in = b.inputs(0.2, 1);
  const auto more = to_and_fro(300 * mm, 20, true);
  const auto most = to_and_fro(400 * mm, 20, true), some = to_and_fro(200 * mm, 20, true);
  in.groups = {in.groups[0]};
  for (const auto* g : {&more, &most, &some}) in.groups.push_back({*g, solve({*g, b.truth})->sum.total(), 0.2});
  const auto r = fit(in);
  ASSERT_TRUE(r.ok());
  EXPECT_FALSE(r->numbers[2].fixed);
  EXPECT_FALSE(r->numbers[3].fixed);
  EXPECT_NEAR(r->seconds[0], in.groups[0].seconds, 1);
}

TEST(MotionFit, SaysWhenNoMachineFits) {
  const Bench b;
  FitInputs in = b.inputs(0, 1);
  for (Timed& g : in.groups) g.scatter = 0.05;
  in.groups[0].seconds *= 3;  // somebody forgot the watch
  const auto r = fit(in);
  ASSERT_TRUE(r.ok());
  EXPECT_FALSE(r->fits);
}

TEST(MotionFit, GroupsLieBetweenStops) {
  std::vector<Move> moves(7);
  moves[1].kind = moves[3].kind = moves[4].kind = Motion::stop;
  moves[6].kind = Motion::end;
  const auto groups = groups_between_stops(moves);
  ASSERT_EQ(groups.size(), 2U);  // what comes before the first stop is none, nor is nothing between two
  EXPECT_EQ(groups[0].data(), &moves[2]);
  EXPECT_EQ(groups[0].size(), 1U);
  EXPECT_EQ(groups[1].data(), &moves[5]);
  EXPECT_TRUE(groups_between_stops({}).empty());
  EXPECT_NE(test_program().find("M0 (GROUP 6"), std::string::npos);
}

TEST(MotionFit, BadInputIsRefused) {
  const Bench b;
  const auto refuses = [&](auto&& spoil, const std::string& words) {
    FitInputs in = b.inputs(0, 1);
    spoil(in);
    const auto r = fit(in);
    ASSERT_FALSE(r.ok()) << words;
    EXPECT_NE(say(r.problem()).find(words), std::string::npos) << say(r.problem());
  };
  refuses([](FitInputs& in) { in.wanted.clear(); }, "nothing to fit");
  refuses([](FitInputs& in) { in.groups.resize(3); }, "3 timed groups for 4 numbers");
  refuses([](FitInputs& in) { in.groups[1].seconds = 0; }, "time of group 2");
  refuses([](FitInputs& in) { in.groups[1].seconds = std::numeric_limits<double>::quiet_NaN(); }, "time of group 2");
  refuses([](FitInputs& in) { in.groups[2].scatter = 0; }, "scatter of group 3");
  refuses([](FitInputs& in) { in.groups[2].moves = {}; }, "group 3 has no moves");
  refuses([](FitInputs& in) { in.known.rapid[0] = 0; }, "rapid of X");
}

}  // namespace
}  // namespace fettle::motion
