#include "calc/chatter/lobes.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "calc/chatter/lobes_for_tests.h"
#include "calc/chatter/nyquist_for_tests.h"
#include "published.h"

namespace {

using namespace fettle::chatter;
using fettle::test::How;
using fettle::test::published;

/// The depth at one speed, rpm, mm.
double depth_at(LobesInputs in, double rpm) {
  in.slowest = rpm / 60, in.fastest = 1.01 * in.slowest, in.speeds = 2;
  const LobesResult r = lobes(in);
  EXPECT_TRUE(r.ok) << r.why;
  return r.ok ? r.limit.front() * 1e3 : 0;
}
LobesInputs inputs(const KnownCut& k) {
  LobesInputs in;
  in.responses = k.responses, in.cutter = k.cutter;
  in.slowest = 20, in.fastest = 400;
  return in;
}
/// One edge that stays in the cut, its chip along y: a sliver of arc at the normal that counts like a whole turn.
LobesInputs one_edge() {
  LobesInputs in;
  in.responses = {mode_by_stiffness(250, 2.26e8, 0.012, {0, 1, 0})};
  in.cutter.tooth_angles = {0};
  in.cutter.entry = -5e-5, in.cutter.exit = 5e-5;
  in.cutter.kt = 1, in.cutter.kr = 1e9 * 2 * M_PI / 1e-4;
  in.slowest = 30, in.fastest = 200;
  return in;
}

const char* tlusty = "2 k z (1 + z)/Ks at fn sqrt(1 + 2 z): Tlusty and Polacek 1963; Tobias 1965 (closed form)";
const char* zero_order = "zero-order method, computed by an independent script (Altintas and Budak 1995)";

TEST(Lobes, AbsoluteLimitOfOneMode) {
  const LobesResult r = lobes(one_edge());
  ASSERT_TRUE(r.ok) << r.why;
  published("chatter", "absolute limit of one mode by the lobes, mm", tlusty, How::exact, 5.4891, r.least * 1e3,
            0.0055);
  published("chatter", "its frequency, Hz", tlusty, How::exact, 252.982, r.least_frequency, 0.025);
  ASSERT_EQ(r.share.size(), 1U);
  EXPECT_NEAR(r.share[0], 1, 1e-9);
}

TEST(Lobes, LobePointsOfOneMode) {
  struct Row {
    double rpm, mm, hz;
  };
  for (const Row& row :
       {Row{8669.6, 5.4892, 253}, Row{4047.0, 5.4892, 253}, Row{9143.0, 6.2414, 255}, Row{4165.1, 6.2414, 255},
        Row{9783.7, 10.0835, 260}, Row{4340.0, 10.0835, 260}, Row{10457.1, 19.259, 270}, Row{4564.4, 19.259, 270}}) {
    LobesInputs in = one_edge();
    in.slowest = row.rpm / 60, in.fastest = 1.01 * in.slowest, in.speeds = 2;
    const LobesResult r = lobes(in);
    ASSERT_TRUE(r.ok) << r.why;
    // The speed is printed to 0.1 rpm: on the steep flank that alone moves the depth by 0.02 %.
    published("chatter", "depth of the lobe at " + std::to_string(row.rpm) + " rpm, mm",
              "n = 60 fc/(j + eps/2pi), b = -1/(2 Ks Re G): Tlusty and Polacek 1963, computed", How::computed, row.mm,
              r.limit[0] * 1e3, 0.001 * row.mm);
    EXPECT_NEAR(r.frequency[0], row.hz, 0.001 * row.hz) << row.rpm;
  }
}

TEST(Lobes, SpeedsOfTheMinima) {
  const double want[] = {8664.3, 5515.8, 4045.7};
  for (int j = 0; j < 3; ++j) {
    LobesInputs in = one_edge();
    in.slowest = 0.985 * want[j] / 60, in.fastest = 1.015 * want[j] / 60, in.speeds = 3001;
    const LobesResult r = lobes(in);
    ASSERT_TRUE(r.ok) << r.why;
    std::size_t at = 0;
    for (std::size_t i = 0; i < r.limit.size(); ++i)
      if (r.limit[i] < r.limit[at]) at = i;
    published("chatter", "speed of the least depth of lobe " + std::to_string(j + 1) + ", rpm",
              "n = 60 fc/(j + eps/2pi), computed", How::computed, want[j], r.turns[at] * 60, 0.001 * want[j]);
  }
}

TEST(Lobes, TwoAlikeModesAgainstTheTable) {
  const struct {
    Arc arc;
    double speed[3], mm[3], least;
    const char* name;
  } rows[] = {{slot, {5000, 10000, 15000}, {0.0480, 0.0736, 0.1171}, 0.04793, "slot"},
              {half_down, {5000, 10000, 15000}, {0.1273, 0.1853, 0.2879}, 0.12674, "half down"},
              {half_up, {5000, 10000, 15000}, {0.1273, 0.1853, 0.2879}, 0.12674, "half up"}};
  for (const auto& row : rows) {
    const LobesInputs in = inputs(two_mode_cut(row.arc));
    for (int i = 0; i < 3; ++i)  // four digits printed: half a unit of the last, and 0.1 %
      published("chatter",
                std::string("two alike modes, ") + row.name + ", " + std::to_string(row.speed[i]) + " rpm, mm",
                zero_order, How::computed, row.mm[i], depth_at(in, row.speed[i]), 0.00005 + 0.001 * row.mm[i]);
    const LobesResult r = lobes(in);
    published("chatter", std::string("two alike modes, ") + row.name + ", least depth, mm", zero_order, How::computed,
              row.least, r.least * 1e3, 0.001 * row.least);
  }
}

TEST(Lobes, AlikeModesDoNotKnowUpFromDown) {
  const LobesResult down = lobes(inputs(two_mode_cut(half_down))), up = lobes(inputs(two_mode_cut(half_up)));
  ASSERT_TRUE(down.ok && up.ok);
  for (std::size_t i = 0; i < down.limit.size(); ++i) EXPECT_NEAR(down.limit[i] / up.limit[i], 1, 1e-9) << i;
}

TEST(Lobes, TwoModesAlongEachAxis) {
  const LobesInputs in = inputs(four_mode_cut(half_down));
  const double speed[] = {4000, 6000, 9000, 12000, 14000}, mm[] = {1.0858, 1.6154, 1.2028, 0.9583, 4.6197};
  for (int i = 0; i < 5; ++i)
    published("chatter", "two modes along each axis, half down, " + std::to_string(speed[i]) + " rpm, mm", zero_order,
              How::computed, mm[i], depth_at(in, speed[i]), 0.001 * mm[i]);
  const LobesResult r = lobes(in);
  published("chatter", "two modes along each axis, half down, least depth, mm", zero_order, How::computed, 0.9571,
            r.least * 1e3, 0.001 * 0.9571);
}

TEST(Lobes, KnownLimitsOfSlotAndLightCut) {
  LobesInputs in;
  in.responses = {mode_by_stiffness(600, 8e6, 0.03, {1, 0, 0}), mode_by_stiffness(600, 8e6, 0.03, {0, 1, 0})};
  in.cutter = cutter(4, slot, 600e6, 0.07 * 600e6);
  in.slowest = 10, in.fastest = 200;
  const LobesResult r = lobes(in);
  ASSERT_TRUE(r.ok);
  published("chatter", "slot, 600 Hz, 8e6 N/m, four teeth, least depth, mm", zero_order, How::computed, 0.400,
            r.least * 1e3, 0.0005);
  // Frequencies there are the best of a grid: quarters of a hertz here, whole hertz below.
  published("chatter", "its frequency, Hz", zero_order, How::computed, 600.25, r.least_frequency, 0.125);
}

TEST(Lobes, KnownLimitsOfLightCuts) {
  LobesInputs in;
  in.responses = {mode_by_stiffness(600, 25e6, 0.03, {1, 0, 0}), mode_by_stiffness(800, 40e6, 0.03, {0, 1, 0})};
  in.slowest = 10, in.fastest = 200;
  const auto at = [&](double ratio) {
    in.cutter = cutter(5, side_arc(ratio, 1, true), 2100e6, 0.4 * 2100e6);
    return lobes(in);
  };
  const struct { double ratio, last_digit, mm; } rows[] = {{0.0469, 0.0001, 6.357}, {0.184, 0.001, 2.929}};
  for (const auto& row : rows) {
    const LobesResult r = at(row.ratio);
    // The width is known to its last digit only; what that moves is allowed, and half a unit of the depth's last.
    const double more = at(row.ratio + row.last_digit / 2).least, less = at(row.ratio - row.last_digit / 2).least;
    published("chatter", "down milling at " + std::to_string(row.ratio) + " of the diameter, least depth, mm",
              zero_order, How::computed, row.mm, r.least * 1e3, (less - more) / 2 * 1e3 + 0.0005);
    EXPECT_LT((less - more) / r.least, 0.004);
    EXPECT_NEAR(r.share[0] + r.share[1], 1, 1e-9);
    EXPECT_GT(r.share[1], r.share[0]);  // the mode across the feed decides
  }
  published("chatter", "its frequency at 0.0469 of the diameter, Hz", zero_order, How::computed, 824,
            at(0.0469).least_frequency, 0.5);
}

/// Cuts of every kind, for the count of turns round zero.
std::vector<std::pair<std::string, LobesInputs>> mixed_cuts() {
  LobesInputs lead = inputs(four_mode_cut(side_arc(0.7, 1, true)));
  lead.responses.push_back(mode_by_stiffness(310, 9e6, 0.04, {0.2, 0.1, 0.97}));
  lead.responses[0].residual = {2e-8, 0, 0, 0, 1e-8, 0, 0, 0, 5e-9};
  lead.cutter.lead = M_PI / 4, lead.cutter.ka = 0.3;
  LobesInputs askew = inputs(four_mode_cut(half_up));
  askew.responses.push_back(mode_by_stiffness(820, 2e7, 0.02, {0.7, 0.7, 0.1}));
  askew.cutter.tooth_angles = even_teeth(5);
  return {{"slot", inputs(one_mode_cut(slot))},
          {"up", inputs(one_mode_cut(half_up))},
          {"four modes", inputs(four_mode_cut(half_down))},
          {"askew", askew},
          {"lead", lead}};
}

TEST(Lobes, EveryDepthIsWhereTheDeterminantGoesRoundZero) {
  for (const auto& [name, in] : mixed_cuts())
    for (double rpm : {1500.0, 4000.0, 7300.0, 11000.0, 16000.0}) {
      const double mm = depth_at(in, rpm);
      ASSERT_TRUE(std::isfinite(mm)) << name << " " << rpm;
      test::CountedCut cut;
      cut.responses = in.responses, cut.cutter = in.cutter, cut.turns = rpm / 60;
      EXPECT_TRUE(test::is_limit(cut, mm / 1e3, 0.001)) << name << " at " << rpm << " rpm: " << mm << " mm";
      EXPECT_FALSE(test::is_limit(cut, 1.01 * mm / 1e3, 0.001)) << "the count must be able to say no";
    }
}

TEST(Lobes, MoreFrequenciesDoNotMoveTheDepth) {
  for (auto [name, in] : mixed_cuts()) {
    in.slowest = 25, in.fastest = 300, in.speeds = 500;
    in.frequencies = 4000;
    const LobesResult usual = lobes(in);
    in.frequencies = 64000;
    const LobesResult fine = lobes(in);
    double worst = 0;
    for (std::size_t i = 0; i < usual.limit.size(); ++i)
      if (fine.limit[i] < 20 * fine.least) worst = std::max(worst, std::fabs(usual.limit[i] / fine.limit[i] - 1));
    EXPECT_LT(worst, 1e-3) << name;
    EXPECT_NEAR(usual.least / fine.least, 1, 1e-7) << name;
    for (double b : usual.limit) EXPECT_GE(b, usual.least * (1 - 1e-9)) << name;
  }
}

TEST(Lobes, LimitScalesWithStiffnessForceAndTeeth) {
  LobesInputs in = inputs(four_mode_cut(half_down));
  const LobesResult a = lobes(in);
  in.cutter.kt *= 2;
  const LobesResult b = lobes(in);
  for (std::size_t i = 0; i < a.limit.size(); ++i) EXPECT_NEAR(a.limit[i] / b.limit[i], 2, 1e-9);
  in.cutter.kt /= 2;
  in.cutter.tooth_angles = even_teeth(4), in.slowest /= 2, in.fastest /= 2;  // same time from tooth to tooth
  const LobesResult c = lobes(in);
  for (std::size_t i = 0; i < a.limit.size(); ++i) EXPECT_NEAR(a.limit[i] / c.limit[i], 2, 1e-9);
}

TEST(Lobes, TableOfTheSameResponseSaysTheSame) {
  LobesInputs in = inputs(four_mode_cut(half_down));
  const LobesResult modal = lobes(in);
  for (double f = 100; f < 4400; f += 0.5) {
    fettle::maths::Response3 sum{};
    for (const auto& p : in.responses) {
      const fettle::maths::Response3 g = fettle::maths::response(p, 2 * M_PI * f);
      for (std::size_t i = 0; i < 9; ++i) sum[i] += g[i];
    }
    in.table.frequency.push_back(f), in.table.response.push_back(sum);
  }
  in.responses.clear();
  const LobesResult table = lobes(in);
  ASSERT_TRUE(table.ok) << table.why;
  EXPECT_NEAR(table.least / modal.least, 1, 1e-4);
  EXPECT_TRUE(table.share.empty());
  for (std::size_t i = 0; i < modal.limit.size(); ++i)
    if (modal.limit[i] < 10 * modal.least) {
      EXPECT_NEAR(table.limit[i] / modal.limit[i], 1, 2e-3) << i;
    }
}

TEST(Lobes, AxialMotionMakesNoChipOnASquareShoulder) {
  LobesInputs in;
  in.responses = {mode_by_stiffness(200, 1e7, 0.02, {0, 0, 1})};
  in.cutter = cutter(4, slot, 1e9, 3e8);
  in.cutter.ka = 0.2;
  in.slowest = 5, in.fastest = 100;
  const LobesResult square = lobes(in);
  ASSERT_TRUE(square.ok);
  EXPECT_TRUE(std::isinf(square.least));
  EXPECT_TRUE(square.share.empty());
  for (double b : square.limit) EXPECT_TRUE(std::isinf(b));
  // Leaning edge, one direction: Kn' = ka sin(lead) x arc/2pi x teeth. The force along z is against the motion's chip.
  in.cutter.lead = M_PI / 4;
  const LobesResult lean = lobes(in);
  const double ks = 1e9 * 0.2 * std::sin(M_PI / 4) * 4 * 0.5;
  published("chatter", "plate that swings along the spindle under a leaning edge, least depth, mm",
            "one direction: 2 k z (1 + z)/Ks with Ks = Kt Ka sin(lead) N arc/2pi (closed form)", How::exact,
            2 * 1e7 * 0.02 * 1.02 / ks * 1e3, lean.least * 1e3, 1e-5);
}

TEST(Lobes, FewLobesSayWhereTheyReach) {
  LobesInputs in = inputs(four_mode_cut(half_down));
  in.slowest = 10;
  const LobesResult all = lobes(in);
  EXPECT_EQ(all.covered_from, 0);
  in.lobes = 20;
  const LobesResult few = lobes(in);
  ASSERT_GT(few.covered_from, in.slowest);
  ASSERT_LT(few.covered_from, in.fastest);
  bool differs = false;
  for (std::size_t i = 0; i < all.limit.size(); ++i)
    if (few.turns[i] >= few.covered_from) {
      EXPECT_EQ(few.limit[i], all.limit[i]) << i;
    } else {
      differs |= few.limit[i] != all.limit[i];
    }
  EXPECT_TRUE(differs);
}

TEST(Lobes, SpeedsFromASqueal) {
  const std::vector<double> n = lobe_speeds(600, 4, 3);
  ASSERT_EQ(n.size(), 3U);
  EXPECT_NEAR(n[0], 150, 1e-12);
  EXPECT_NEAR(n[2], 50, 1e-12);
}

TEST(Lobes, RefusesWhatCannotBe) {
  const auto no = [](auto change) {
    LobesInputs in = inputs(four_mode_cut(half_down));
    in.table.frequency = {100, 200}, in.table.response.resize(2);
    in.table.response[0][0] = in.table.response[1][0] = {1e-6, -1e-6};
    EXPECT_TRUE(lobes(in).ok);
    change(in);
    const LobesResult r = lobes(in);
    EXPECT_FALSE(r.ok);
    EXPECT_FALSE(r.why.empty());
    EXPECT_TRUE(r.limit.empty());
  };
  no([](LobesInputs& in) { in.cutter.kt = -1; });
  no([](LobesInputs& in) { in.cutter.tooth_angles = {0, 2}; });
  no([](LobesInputs& in) { in.slowest = 0; });
  no([](LobesInputs& in) { in.slowest = NAN; });
  no([](LobesInputs& in) { in.fastest = in.slowest; });
  no([](LobesInputs& in) { in.fastest = INFINITY; });
  no([](LobesInputs& in) { in.speeds = 1; });
  no([](LobesInputs& in) { in.speeds = 100001; });
  no([](LobesInputs& in) { in.frequencies = 15; });
  no([](LobesInputs& in) { in.frequencies = 1000001; });
  no([](LobesInputs& in) { in.lobes = -1; });
  no([](LobesInputs& in) { in.lobes = 2001; });
  no([](LobesInputs& in) { in.table.frequency = {200, 100}; });
  no([](LobesInputs& in) { in.table.frequency = {0, 100}; });
  no([](LobesInputs& in) { in.table.frequency.pop_back(); });
  no([](LobesInputs& in) { in.table.frequency.pop_back(), in.table.response.pop_back(); });
  no([](LobesInputs& in) { in.table.response[1][4] = NAN; });
  no([](LobesInputs& in) { in.table = {}, in.responses.clear(); });
  no([](LobesInputs& in) { in.responses[0].modes[0].omega = 0; });
  no([](LobesInputs& in) { in.responses[0].modes[0].damping = 0; });
  no([](LobesInputs& in) { in.responses[0].modes[0].damping = 1; });
  no([](LobesInputs& in) { in.responses[0].modes[0].shape.y = NAN; });
  no([](LobesInputs& in) { in.responses[0].residual[3] = INFINITY; });
}

}  // namespace
