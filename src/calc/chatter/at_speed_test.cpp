#include "calc/chatter/at_speed.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "published.h"

namespace {

using namespace fettle::chatter;
using fettle::maths::PointResponse;
using fettle::test::How;
using fettle::test::published;

constexpr double pi = 3.14159265358979323846;

PointResponse mode(double f, double k, double z, fettle::frame::Vec3 d) {
  const double w = 2 * pi * f, s = w / std::sqrt(k);
  PointResponse r;
  r.modes.push_back({w, z, {s * d.x, s * d.y, s * d.z}});
  return r;
}
std::vector<double> even(int n) {
  std::vector<double> a;
  for (int i = 0; i < n; ++i) a.push_back(2 * pi * i / n);
  return a;
}

/// One edge that stays in the cut, its chip along y: a sliver of arc at the normal that counts like a whole turn.
AtSpeedInputs one_edge(double ks) {
  AtSpeedInputs in;
  in.responses = {mode(250, 2.26e8, 0.012, {0, 1, 0})};
  in.entry = -5e-5, in.exit = 5e-5;
  in.kt = 1, in.kr = ks * 2 * pi / 1e-4;
  in.tooth_angles = {0};
  return in;
}

TEST(AtSpeed, LobePointsOfOneMode) {
  AtSpeedInputs in = one_edge(1e9);
  struct Row {
    double rpm, depth;
  };
  for (const Row& r :
       {Row{8669.6, 5.4892}, Row{4047.0, 5.4892}, Row{9143.0, 6.2414}, Row{4165.1, 6.2414}, Row{9783.7, 10.0835}}) {
    in.turns = r.rpm / 60;
    const AtSpeedResult a = depth_at_speed(in);
    ASSERT_TRUE(a.ok) << a.why;
    published("chatter", "depth at " + std::to_string(r.rpm) + " rpm of one mode, mm",
              "Tlusty and Polacek 1963; Tobias 1965; formula n = 60 fc/(j + eps/2pi) computed", How::computed, r.depth,
              a.depth * 1e3, 0.006 * r.depth);
  }
}

TEST(AtSpeed, LeastDepthOverSpeedsIsTheAbsoluteLimit) {
  AtSpeedInputs in = one_edge(1e9);
  double least = 1;
  for (double rpm = 3600; rpm < 4400; rpm += 5) {
    in.turns = rpm / 60;
    least = std::min(least, depth_at_speed(in).depth);
  }
  published("chatter", "absolute limit of one mode, mm", "2 k z (1 + z)/Ks: Tlusty and Polacek 1963", How::exact,
            5.4891, least * 1e3, 0.01);
}

TEST(AtSpeed, SlotInTwoDirections) {
  AtSpeedInputs in;
  in.responses = {mode(600, 8e6, 0.03, {1, 0, 0}), mode(600, 8e6, 0.03, {0, 1, 0})};
  in.entry = 0, in.exit = pi, in.kt = 600e6, in.kr = 0.07, in.tooth_angles = even(4);
  double least = 1;
  for (double rpm = 1500; rpm < 2600; rpm += 4) {
    in.turns = rpm / 60;
    least = std::min(least, depth_at_speed(in).depth);
  }
  published("chatter", "least depth of a full slot, two alike modes, mm",
            "closed zero-order solution (Altintas and Budak 1995), computed", How::computed, 0.400, least * 1e3, 0.004);
}

TEST(AtSpeed, RubbingAndUnevenTeethHelp) {
  AtSpeedInputs in;
  in.responses = {mode(600, 8e6, 0.03, {1, 0, 0}), mode(600, 8e6, 0.03, {0, 1, 0})};
  in.entry = 0, in.exit = pi, in.kt = 600e6, in.kr = 0.3, in.tooth_angles = even(4), in.diameter = 0.016;
  in.turns = 8;
  const double bare = depth_at_speed(in).depth;
  in.indentation = 2e13, in.land = 60e-6;
  const double rubbed = depth_at_speed(in).depth;
  EXPECT_GT(rubbed, 1.2 * bare);
  in.land = 90e-6;
  EXPECT_GT(depth_at_speed(in).depth, rubbed);
  in.indentation = 0;
  in.turns = 33;
  double worst_even = 1, worst_uneven = 1;
  for (double n = 30; n < 40; n += 0.25) {
    in.turns = n;
    in.tooth_angles = even(4);
    worst_even = std::min(worst_even, depth_at_speed(in).depth);
    // 5 degrees are a quarter of a wave at this frequency and speed; twice as much or four times would not help.
    in.tooth_angles = {0, 85 * pi / 180, 180 * pi / 180, 265 * pi / 180};
    worst_uneven = std::min(worst_uneven, depth_at_speed(in).depth);
  }
  EXPECT_GT(worst_uneven, 1.5 * worst_even);
}

TEST(AtSpeed, SquareShoulderDoesNotFeelTheAxis) {
  AtSpeedInputs in;
  in.responses = {mode(200, 1e7, 0.02, {0, 0, 1})};
  in.entry = 0, in.exit = pi, in.kt = 1e9, in.kr = 0.3, in.ka = 0.2, in.tooth_angles = even(4), in.turns = 30;
  EXPECT_TRUE(std::isinf(depth_at_speed(in).depth));
  in.lead = pi / 4;
  EXPECT_LT(depth_at_speed(in).depth, 0.02);
}

TEST(AtSpeed, TurnedAxesSayTheSame) {
  AtSpeedInputs in;
  in.responses = {mode(600, 8e6, 0.03, {1, 0, 0}), mode(800, 12e6, 0.02, {0, 1, 0})};
  in.entry = 2, in.exit = pi, in.kt = 600e6, in.kr = 0.3, in.tooth_angles = even(4), in.turns = 33;
  const double straight = depth_at_speed(in).depth;
  in.axes = {{{0, 1, 0}, {-1, 0, 0}, {0, 0, 1}}};
  in.responses = {mode(600, 8e6, 0.03, {0, 1, 0}), mode(800, 12e6, 0.02, {-1, 0, 0})};
  EXPECT_NEAR(depth_at_speed(in).depth / straight, 1, 1e-9);
}

TEST(AtSpeed, RefusesWhatCannotBe) {
  const auto no = [](auto change) {
    AtSpeedInputs in;
    in.responses = {mode(600, 8e6, 0.03, {1, 0, 0})};
    in.exit = pi, in.kt = 600e6, in.tooth_angles = even(4), in.turns = 33, in.diameter = 0.016;
    EXPECT_TRUE(depth_at_speed(in).ok);
    change(in);
    const AtSpeedResult r = depth_at_speed(in);
    EXPECT_FALSE(r.ok);
    EXPECT_FALSE(r.why.empty());
  };
  no([](AtSpeedInputs& in) { in.responses.clear(); });
  no([](AtSpeedInputs& in) { in.responses[0].modes.clear(); });
  no([](AtSpeedInputs& in) { in.kt = 0; });
  no([](AtSpeedInputs& in) { in.kr = NAN; });
  no([](AtSpeedInputs& in) { in.turns = 0; });
  no([](AtSpeedInputs& in) { in.tooth_angles.clear(); });
  no([](AtSpeedInputs& in) { in.exit = in.entry; });
  no([](AtSpeedInputs& in) { in.exit = 8; });
  no([](AtSpeedInputs& in) { in.lead = -0.1; });
  no([](AtSpeedInputs& in) { in.lead = 1.5; });
  no([](AtSpeedInputs& in) { in.indentation = -1; });
  no([](AtSpeedInputs& in) { in.land = NAN; });
  no([](AtSpeedInputs& in) { in.indentation = 1, in.diameter = 0; });
}

}  // namespace
