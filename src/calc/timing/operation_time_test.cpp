#include "calc/timing/operation_time.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "published.h"

namespace fettle::timing {
namespace {

using test::How;
using test::published;
constexpr double nan = std::numeric_limits<double>::quiet_NaN(), inf = std::numeric_limits<double>::infinity();
constexpr double mm = 1e-3, per_min = 1 / 60.0;

/// Rest to rest by small steps: jerk up, hold, down and the same to stop, the way halved by bisection on the peak
/// speed.
double by_steps(double distance, const Motion& m) {
  const auto way = [&](double v) {  // distance and time from rest to v, with the acceleration in small steps
    double a = 0, speed = 0, d = 0, t = 0;
    const double dt = 2e-6;
    while (speed < v) {
      // Acceleration falls again so that it is nothing when v is reached.
      const double to_go = v - speed, falls = m.jerk > 0 ? 0.5 * a * a / m.jerk : 0;
      a = m.jerk > 0 ? (to_go > falls ? std::min(m.acceleration, a + m.jerk * dt) : std::max(1e-4, a - m.jerk * dt))
                     : m.acceleration;
      speed += a * dt;
      d += speed * dt;
      t += dt;
    }
    return std::pair{d, t};
  };
  const auto [d, t] = way(m.speed);
  if (2 * d <= distance) return 2 * t + (distance - 2 * d) / m.speed;
  double low = 0, high = m.speed;
  for (int i = 0; i < 30; ++i) {
    const double v = 0.5 * (low + high);
    (2 * way(v).first < distance ? low : high) = v;
  }
  return 2 * way(low).second;
}

TEST(MoveTime, TrapezoidAndTriangle) {
  const Motion m{0.5, 2.5, 0};  // 30 m/min, 2.5 m/s2: 0.1 m to reach speed and stop
  published("timing", "move 200 mm at 30 m/min and 2.5 m/s2, s", "kinematics: distance/speed + speed/acceleration",
            How::exact, 0.6, *move_time(0.2, m), 1e-12);
  published("timing", "move 50 mm, speed never reached, s", "kinematics: 2 sqrt(distance/acceleration)", How::exact,
            2 * std::sqrt(0.05 / 2.5), *move_time(0.05, m), 1e-12);
  EXPECT_NEAR(*move_time(0.1, m), 0.4, 1e-12);  // both forms meet
  EXPECT_EQ(*move_time(0, m), 0);
  EXPECT_NEAR(*move_time(1.5, {0.5, 0, 0}), 3, 1e-12);  // speed at once
}

TEST(MoveTime, JerkAgainstSmallSteps) {
  const Motion m{0.5, 2.5, 20};  // full acceleration at 0.3125 m/s
  for (double d : {0.4, 0.17, 0.1, 0.03, 0.005})
    published("timing", "move " + std::to_string(static_cast<int>(d * 1000)) + " mm with jerk 20 m/s3, s",
              "integration in steps of 2 microseconds", How::computed, by_steps(d, m), *move_time(d, m), 1e-3);
  EXPECT_NEAR(*move_time(0.2, {0.5, 2.5, 1e9}), *move_time(0.2, {0.5, 2.5, 0}), 1e-6);  // much jerk is a trapezoid
}

TEST(MoveTime, NeverFallsWithDistance) {
  double before = 0;
  for (double d = 0; d < 0.5; d += 0.001) {
    const double t = *move_time(d, {0.5, 2.5, 20});
    EXPECT_GE(t, before);
    before = t;
  }
}

TEST(MoveTime, RefusesWhatIsNoMove) {
  const Motion m{0.5, 2.5, 20};
  for (double d : {-1e-9, nan, inf}) EXPECT_FALSE(move_time(d, m).ok()) << d;
  for (double v : {0.0, -1.0, nan, inf}) EXPECT_FALSE(move_time(0.1, {v, 2.5, 20}).ok()) << v;
  for (double a : {-1e-9, nan, inf}) EXPECT_FALSE(move_time(0.1, {0.5, a, 20}).ok()) << a;
  for (double j : {-1e-9, nan, inf}) EXPECT_FALSE(move_time(0.1, {0.5, 2.5, j}).ok()) << j;
  EXPECT_EQ(move_time(-1, {0, -1, -1}).problems().size(), 4u);  // all at once
}

CutPath path(double length_mm, double feed_mm_per_min, int passes) {
  CutPath p;
  p.length = length_mm * mm;
  p.feed = feed_mm_per_min * mm * per_min;
  p.passes = passes;
  return p;
}

TEST(CutTimes, PathOverFeed) {
  // Two levels of 517.7 mm at 770 mm/min are 1.345 min on the demo's tool list.
  published("timing", "profile rough, two levels, min", "path over feed by hand", How::computed, 2 * 517.7 / 770,
            *cut_time(path(517.7, 770, 2))->by_path / 60, 1e-12);
  CutPath p = path(100, 600, 1);  // 10 mm/s
  p.motion = {0.5, 2.5, 0};
  EXPECT_NEAR(*cut_time(p)->by_path, 10 + 0.01 / 2.5, 1e-12);
  p.passes = 4;
  p.between = 0.05;
  p.clearance = 0.02;
  const CutTime t = *cut_time(p);
  EXPECT_NEAR(t.moving, 3 * 2 * std::sqrt(0.05 / 2.5) + 8 * 2 * std::sqrt(0.02 / 2.5), 1e-12);
  EXPECT_NEAR(*t.by_path, t.feeding + t.moving, 1e-12);
}

TEST(CutTimes, TheStatedTimeWinsAndBothAreShown) {
  CutPath p = path(517.7, 770, 2);
  p.stated = 100;
  const CutTime t = *cut_time(p);
  EXPECT_EQ(*t.used, 100);
  EXPECT_NEAR(*t.by_path, 80.68, 0.01);
  EXPECT_NEAR(t.off, -0.1932, 1e-4);
  p.length.reset();
  EXPECT_FALSE(cut_time(p)->by_path.has_value());
  EXPECT_EQ(cut_time(p)->off, 0);
  p.stated.reset();
  EXPECT_FALSE(cut_time(p)->used.has_value());  // not known is not nothing
}

TEST(CutTimes, RefusesOneBadValuePerBound) {
  const auto refused = [](auto change) {
    CutPath p = path(100, 600, 1);
    p.stated = 1;
    change(p);
    EXPECT_FALSE(cut_time(p).ok());
  };
  refused([](CutPath& p) { p.length = -1e-9; });
  refused([](CutPath& p) { p.feed = 0; });
  refused([](CutPath& p) { p.feed = nan; });
  refused([](CutPath& p) { p.stated = -1e-9; });
  refused([](CutPath& p) { p.passes = 0; });
  refused([](CutPath& p) { p.between = -1e-9; });
  refused([](CutPath& p) { p.clearance = nan; });
  refused([](CutPath& p) { p.motion.speed = -1; });
  refused([](CutPath& p) { p.motion.acceleration = -1; });
  refused([](CutPath& p) { p.motion.jerk = -1; });
}

TEST(CutTimes, InsideARoundWallTheCentreIsSlower) {
  // Groove diameter 54 with a cutter of 35: the edge at 246 mm/min, the centre at 86.6.
  EXPECT_NEAR(centre_feed(246, 54, 35), 246 * 19 / 54.0, 1e-12);
  EXPECT_EQ(centre_feed(246, 35, 35), 246);
}

TEST(SetTimes, AddUp) {
  // Eight parts of 6.895 min, nine tools of 4.5 s, 72 visits of 1 s, 30 s of probing.
  const SetTime t = *set_time({8, 6.895 * 60, 9, 4.5, 72, 1.0, 30});
  EXPECT_NEAR(t.cutting, 3309.6, 1e-9);
  EXPECT_NEAR(t.total, 3309.6 + 40.5 + 72 + 30, 1e-9);
  EXPECT_NEAR(t.not_cutting_per_part, 142.5 / 8, 1e-9);
  for (const SetTimeInputs& bad : std::vector<SetTimeInputs>{{0, 1, 1, 1, 1, 1, 1},
                                                             {1, -1, 1, 1, 1, 1, 1},
                                                             {1, 1, -1, 1, 1, 1, 1},
                                                             {1, 1, 1, -1, 1, 1, 1},
                                                             {1, 1, 1, 1, -1, 1, 1},
                                                             {1, 1, 1, 1, 1, -1, 1},
                                                             {1, 1, 1, 1, 1, 1, nan}})
    EXPECT_FALSE(set_time(bad).ok());
}

TEST(SetTimes, ToolChangesAPartFallWithPartsOnThePallet) {  // common practice
  double before = 1e9;
  for (int n = 1; n <= 16; ++n) {
    const double now = set_time({n, 400, 9, 4.5, 0, 0, 0})->changing / n;
    EXPECT_LT(now, before);
    before = now;
  }
  published("timing", "tool changes a part, eight parts against one",
            "common practice: changes are shared by the parts", How::exact, 1 / 8.0,
            set_time({8, 400, 9, 4.5, 0, 0, 0})->changing / 8 / (9 * 4.5), 1e-12);
}

}  // namespace
}  // namespace fettle::timing
