#include "calc/chatter/at_speed.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <random>

#include "calc/chatter/damping.h"
#include "calc/chatter/lobes.h"
#include "calc/chatter/lobes_for_tests.h"
#include "calc/chatter/nyquist_for_tests.h"
#include "published.h"

namespace {

using namespace fettle::chatter;
using fettle::maths::PointResponse;
using fettle::test::How;
using fettle::test::published;

constexpr double pi = 3.14159265358979323846;

PointResponse mode(double f, double k, double z, fettle::frame::Vec3 d) { return mode_by_stiffness(f, k, z, d); }

AtSpeedInputs inputs(const KnownCut& k, double rpm) {
  AtSpeedInputs in;
  in.responses = k.responses;
  in.entry = k.cutter.entry, in.exit = k.cutter.exit, in.lead = k.cutter.lead;
  in.kt = k.cutter.kt, in.kr = k.cutter.kr, in.ka = k.cutter.ka;
  in.tooth_angles = k.cutter.tooth_angles, in.diameter = k.cutter.diameter, in.turns = rpm / 60;
  return in;
}
test::CountedCut counted(const AtSpeedInputs& in) {
  test::CountedCut c;
  c.responses = in.responses;
  c.cutter.tooth_angles = in.tooth_angles, c.cutter.entry = in.entry, c.cutter.exit = in.exit, c.cutter.lead = in.lead;
  c.cutter.kt = in.kt, c.cutter.kr = in.kr, c.cutter.ka = in.ka, c.cutter.diameter = in.diameter;
  c.turns = in.turns, c.indentation = in.indentation, c.land = in.land, c.friction = in.friction;
  return c;
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
              a.depth * 1e3, 0.001 * r.depth);
  }
}

TEST(AtSpeed, LeastDepthOverSpeedsIsTheAbsoluteLimit) {
  AtSpeedInputs in = one_edge(1e9);
  double least = 1;
  for (double rpm = 3600; rpm < 4400; rpm += 2) {
    in.turns = rpm / 60;
    least = std::min(least, depth_at_speed(in).depth);
  }
  published("chatter", "absolute limit of one mode, mm", "2 k z (1 + z)/Ks: Tlusty and Polacek 1963", How::exact,
            5.4891, least * 1e3, 0.0055);
}

TEST(AtSpeed, SlotInTwoDirections) {
  AtSpeedInputs in;
  in.responses = {mode(600, 8e6, 0.03, {1, 0, 0}), mode(600, 8e6, 0.03, {0, 1, 0})};
  in.entry = 0, in.exit = pi, in.kt = 600e6, in.kr = 0.07, in.tooth_angles = even_teeth(4);
  double least = 1;
  for (double rpm = 1500; rpm < 2600; rpm += 4) {
    in.turns = rpm / 60;
    least = std::min(least, depth_at_speed(in).depth);
  }
  published("chatter", "least depth of a full slot, two alike modes, mm",
            "closed zero-order solution (Altintas and Budak 1995), computed", How::computed, 0.400, least * 1e3,
            0.0006);
}

TEST(AtSpeed, TablesOfTheZeroOrderMethod) {
  const struct {
    KnownCut cut;
    double rpm, mm, printed;
    const char* name;
  } rows[] = {{two_mode_cut(slot), 5000, 0.0480, 1e-4, "two alike modes, slot"},
              {two_mode_cut(slot), 10000, 0.0736, 1e-4, "two alike modes, slot"},
              {two_mode_cut(slot), 15000, 0.1171, 1e-4, "two alike modes, slot"},
              {two_mode_cut(half_up), 5000, 0.1273, 1e-4, "two alike modes, half up"},
              {two_mode_cut(half_down), 10000, 0.1853, 1e-4, "two alike modes, half down"},
              {two_mode_cut(half_down), 15000, 0.2879, 1e-4, "two alike modes, half down"},
              {four_mode_cut(half_down), 4000, 1.0858, 1e-4, "two modes along each axis, half down"},
              {four_mode_cut(half_down), 6000, 1.6154, 1e-4, "two modes along each axis, half down"},
              {four_mode_cut(half_down), 9000, 1.2028, 1e-4, "two modes along each axis, half down"},
              {four_mode_cut(half_down), 12000, 0.9583, 1e-4, "two modes along each axis, half down"},
              {four_mode_cut(half_down), 14000, 4.6197, 1e-4, "two modes along each axis, half down"}};
  for (const auto& row : rows)
    published("chatter", std::string("at one speed: ") + row.name + ", " + std::to_string(row.rpm) + " rpm, mm",
              "zero-order method, computed by an independent script (Altintas and Budak 1995)", How::computed, row.mm,
              depth_at_speed(inputs(row.cut, row.rpm)).depth * 1e3, row.printed / 2 + 0.001 * row.mm);
}

TEST(AtSpeed, SaysWhatTheLobesSay) {
  KnownCut lead = four_mode_cut(side_arc(0.7, 1, true));
  lead.responses.push_back(mode(310, 9e6, 0.04, {0.2, 0.1, 0.97}));
  lead.responses[0].residual = {2e-8, 0, 0, 0, 1e-8, 0, 0, 0, 5e-9};
  lead.cutter.lead = pi / 4, lead.cutter.ka = 0.3, lead.cutter.tooth_angles = even_teeth(5);
  for (const KnownCut& k : {one_mode_cut(half_up), four_mode_cut(half_down), two_mode_cut(slot), lead}) {
    LobesInputs all;
    all.responses = k.responses, all.cutter = k.cutter;
    all.slowest = 5, all.fastest = 260, all.speeds = 341, all.frequencies = 16000;
    const LobesResult l = lobes(all);
    ASSERT_TRUE(l.ok) << l.why;
    double worst = 0;
    for (std::size_t i = 0; i < l.turns.size(); ++i) {
      const AtSpeedResult a = depth_at_speed(inputs(k, l.turns[i] * 60));
      ASSERT_TRUE(a.ok) << a.why;
      worst = std::max(worst, std::fabs(a.depth / l.limit[i] - 1));
      EXPECT_GE(a.depth, l.least * (1 - 1e-6));
    }
    EXPECT_LT(worst, 0.002);
  }
}

TEST(AtSpeed, OneModeWithFlankIsTheClosedForm) {
  AtSpeedInputs in = one_edge(1e9);
  in.friction = 0, in.land = 1e-6, in.diameter = 0.05;
  for (double coefficient : {5e4, 2e5, 6e5}) {  // C of the one edge, whose arc is a sliver of the turn
    in.indentation = coefficient * 2 / (in.land * in.land) * 2 * pi / 1e-4;
    double least = HUGE_VAL;
    for (double waves = 20; waves < 21; waves += 0.002) {
      in.turns = 252 / waves;
      const RubbingResult known = rubbing_limit({250, 2.26e8, 0.012, 1e9, coefficient, pi * in.diameter * in.turns});
      const AtSpeedResult a = depth_at_speed(in);
      ASSERT_TRUE(a.ok && known.ok);
      EXPECT_GT(a.depth / known.depth, 0.999);
      least = std::min(least, a.depth / known.depth);
      EXPECT_GT(known.depth, 1.02 * known.depth_without);
    }
    published("chatter", "worst lobe with a flank of " + std::to_string(coefficient) + " N/m against the closed form",
              "b = 2 k z (1 + z)/K with z = (c + C b/v)/(2 sqrt(k m)), exact", How::exact, 1, least, 0.001);
  }
}

TEST(AtSpeed, EveryDepthIsWhereTheDeterminantGoesRoundZero) {
  std::mt19937_64 draw(20);
  const auto uniform = [&](double a, double b) { return std::uniform_real_distribution<double>(a, b)(draw); };
  int looked_at = 0, endless = 0;
  for (int round = 0; round < 60; ++round) {
    AtSpeedInputs in;
    const int modes = 1 + round % 4;
    for (int m = 0; m < modes; ++m) {
      const fettle::frame::Vec3 d{uniform(-1, 1), uniform(-1, 1), uniform(-1, 1)};
      in.responses.push_back(
          mode(uniform(150, 1800), std::exp(uniform(std::log(2e6), std::log(4e7))), uniform(0.01, 0.06), d));
    }
    if (round % 3 == 0) in.responses[0].residual = {1e-8, 2e-9, 0, 2e-9, 2e-8, 1e-9, 0, 1e-9, 1e-8};
    in.entry = uniform(0, 2), in.exit = in.entry + uniform(0.5, pi);
    in.lead = round % 2 == 0 ? 0 : uniform(0.1, 1);
    in.kt = uniform(5e8, 2.5e9), in.kr = uniform(0.1, 0.6), in.ka = uniform(0, 0.4);
    in.diameter = 0.02, in.turns = uniform(8, 150);
    const int teeth = 1 + round % 5;
    in.tooth_angles = even_teeth(teeth);
    if (round % 4 > 1)
      for (double& a : in.tooth_angles) a += uniform(-0.15, 0.15);
    if (round % 5 > 1) in.indentation = uniform(0.4e13, 4e13), in.land = uniform(30e-6, 150e-6);
    const AtSpeedResult a = depth_at_speed(in);
    ASSERT_TRUE(a.ok) << a.why;
    const test::CountedCut cut = counted(in);
    // Asked whether it is deeper than some depth, it says the same or that it is not.
    for (const double share : {0.2, 0.999, 1.001, 5.0}) {
      const double than = share * std::min(a.depth, 0.1);
      const AtSpeedResult d = deeper_at_speed({in, than});
      ASSERT_TRUE(d.ok);
      if (a.depth > than) EXPECT_EQ(d.depth, a.depth) << round << " " << share;
      else EXPECT_LE(d.depth, than) << round << " " << share;
    }
    if (!std::isfinite(a.depth)) {
      ++endless;
      const test::Characteristic c(cut);
      for (double b : {1e-3, 1e-2, 0.1}) EXPECT_TRUE(test::quiet(c, b)) << round << " " << b;
      continue;
    }
    ++looked_at;
    EXPECT_TRUE(test::is_limit(cut, a.depth, 0.001)) << round << ": " << a.depth * 1e3 << " mm";
    double sum = 0;
    for (double s : a.share) sum += s;
    EXPECT_NEAR(sum, 1, 1e-6) << round;
  }
  EXPECT_GT(looked_at, 40);
  EXPECT_LT(endless, 20);
}

TEST(AtSpeed, SharesNameWhatIsSoft) {
  AtSpeedInputs in = inputs(one_mode_cut(slot), 400);       // many waves: close to the mode that sings
  in.responses[0] = mode(700, 3e6, 0.03, {1, 0, 0});        // a slender tool
  in.responses.push_back(mode(300, 8e7, 0.03, {1, 0, 0}));  // on a stiff plate
  AtSpeedResult a = depth_at_speed(in);
  ASSERT_EQ(a.share.size(), 2U);
  EXPECT_GT(a.share[0], 0.9);
  EXPECT_NEAR(a.frequency, 700, 60);
  in.responses[1] = mode(300, 1e6, 0.03, {1, 0, 0});
  a = depth_at_speed(in);
  EXPECT_GT(a.share[1], 0.7);
  EXPECT_NEAR(a.frequency, 300, 30);
}

TEST(AtSpeed, RubbingAndUnevenTeethHelp) {
  AtSpeedInputs in;
  in.responses = {mode(600, 8e6, 0.03, {1, 0, 0}), mode(600, 8e6, 0.03, {0, 1, 0})};
  in.entry = 0, in.exit = pi, in.kt = 600e6, in.kr = 0.3, in.tooth_angles = even_teeth(4), in.diameter = 0.016;
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
    in.tooth_angles = even_teeth(4);
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
  in.entry = 0, in.exit = pi, in.kt = 1e9, in.kr = 0.3, in.ka = 0.2, in.tooth_angles = even_teeth(4), in.turns = 30;
  EXPECT_TRUE(std::isinf(depth_at_speed(in).depth));
  in.lead = pi / 4;
  EXPECT_LT(depth_at_speed(in).depth, 0.02);
}

TEST(AtSpeed, TurnedAxesSayTheSame) {
  AtSpeedInputs in;
  in.responses = {mode(600, 8e6, 0.03, {1, 0, 0}), mode(800, 12e6, 0.02, {0, 1, 0})};
  in.entry = 2, in.exit = pi, in.kt = 600e6, in.kr = 0.3, in.tooth_angles = even_teeth(4), in.turns = 33;
  const double straight = depth_at_speed(in).depth;
  in.axes = {{{0, 1, 0}, {-1, 0, 0}, {0, 0, 1}}};
  in.responses = {mode(600, 8e6, 0.03, {0, 1, 0}), mode(800, 12e6, 0.02, {-1, 0, 0})};
  EXPECT_NEAR(depth_at_speed(in).depth / straight, 1, 1e-9);
}

TEST(AtSpeed, RefusesWhatCannotBe) {
  const auto no = [](auto change) {
    AtSpeedInputs in;
    in.responses = {mode(600, 8e6, 0.03, {1, 0, 0})};
    in.exit = pi, in.kt = 600e6, in.tooth_angles = even_teeth(4), in.turns = 33, in.diameter = 0.016;
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
  no([](AtSpeedInputs& in) { in.indentation = INFINITY; });
  no([](AtSpeedInputs& in) { in.friction = -0.1; });
  no([](AtSpeedInputs& in) { in.friction = NAN; });
  no([](AtSpeedInputs& in) { in.highest = NAN; });
  no([](AtSpeedInputs& in) { in.tooth_angles = {0, 0}; });
  no([](AtSpeedInputs& in) { in.responses[0].modes[0].omega = NAN; });
  no([](AtSpeedInputs& in) { in.responses[0].modes[0].damping = 0; });
  no([](AtSpeedInputs& in) { in.responses[0].residual[0] = NAN; });
}

}  // namespace
