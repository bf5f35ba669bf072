#include "calc/run_off/run_off.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <limits>

#include "published.h"

namespace fettle::run_off {
namespace {

using test::How;
using test::published;

constexpr double mm = 1e-3, litre_a_minute = 1e-3 / 60, deg = 3.14159265358979323846 / 180;
const Coolant water;

/// One trough 24 x 10 mm, level, 3 L/min, falling free.
Inputs trough() {
  Inputs in;
  in.reaches = {{"trough", 24 * mm, 10 * mm, 57 * mm, 0, 3 * litre_a_minute}};
  in.grain.size = 0.5 * mm;
  return in;
}

TEST(RunOff, CriticalDepthIsWhereEnergyIsLeast) {
  published("run_off", "critical depth of 3 L/min in 24 mm, mm", "(q^2/g)^(1/3), by hand", How::computed, 7.62,
            critical_depth(3 * litre_a_minute, 24 * mm) / mm, 0.005);
  // Another way: the depth at which depth + speed^2/2g is least, found by trying.
  const double flow = 0.85, width = 1.7, y = critical_depth(flow, width);
  const auto energy = [&](double d) { return d + std::pow(flow / (width * d), 2) / (2 * gravity); };
  for (const double d : {0.9 * y, 0.999 * y, 1.001 * y, 1.1 * y}) EXPECT_GT(energy(d), energy(y));
  published("run_off", "energy at critical depth over that depth", "open channel, upright sides", How::exact, 1.5,
            energy(y) / y, 1e-12);
}

TEST(RunOff, ClosedEndStandsSqrtThree) {
  const double y = critical_depth(3 * litre_a_minute, 24 * mm);
  published("run_off", "depth at the closed end over critical depth at a free fall",
            "momentum of a level trough without friction", How::exact, std::sqrt(3.0),
            behind_feed(3 * litre_a_minute, 24 * mm, y) / y, 1e-12);
  // Momentum is kept from the still water behind the feed to the water below it.
  const double flow = 2e-4, width = 30 * mm, below = 20 * mm, q = flow / width;
  const double behind = behind_feed(flow, width, below);
  EXPECT_NEAR(gravity * behind * behind / 2, gravity * below * below / 2 + q * q / below, 1e-12);
}

TEST(RunOff, NormalDepthByManning) {
  // Forwards for a chosen depth, then back: 1.2 m in 3 m at n 0.013, slope 0.001.
  const double a = 3 * 1.2, r = a / (3 + 2.4);
  const double flow = a * std::pow(r, 2.0 / 3) * std::sqrt(0.001) / 0.013;
  published("run_off", "normal depth, 3 m wide, n 0.013, slope 0.001, m", "Manning's formula forwards", How::exact, 1.2,
            normal_depth(flow, 3, 0.001, 0.013), 1e-9);
  EXPECT_TRUE(std::isinf(normal_depth(flow, 3, 0, 0.013)));
  // A wide channel by Darcy: y = (f q^2 / (8 g S))^(1/3).
  const double wide = normal_depth_darcy(2000, 1000, 0.004, 0.02);
  published("run_off", "normal depth of a wide channel by Darcy, m", "(f q^2/(8 g S))^(1/3)", How::exact,
            std::cbrt(0.02 * 4 / (8 * gravity * 0.004)), wide, 1e-3);
}

TEST(RunOff, WaterLineUpALevelChannel) {
  // Level and wide: y^4/4 - yc^3 y = -3/4 yc^4 + f yc^3 x / 8.
  const double width = 1000, flow = 1000, f = 0.03, length = 200, c = critical_depth(flow, width);
  const double y = upstream(flow, width, 0, f, length, 0);
  const double left = std::pow(y, 4) / 4 - c * c * c * y + 0.75 * std::pow(c, 4), right = f * c * c * c * length / 8;
  published("run_off", "distance up a level wide channel from its free fall, m", "integral of the water line",
            How::exact, length, left / right * length, 0.005 * length);
  // On a slope it tends to the normal depth, from above and from below.
  const double n = normal_depth_darcy(flow, width, 0.0005, f);
  ASSERT_GT(n, c);
  EXPECT_NEAR(upstream(flow, width, 0.0005, f, 50000, c), n, 1e-3 * n);
  EXPECT_NEAR(upstream(flow, width, 0.0005, f, 50000, 2 * n), n, 1e-3 * n);
  // A steep one is critical at its top; still water behind a dam stays level.
  EXPECT_NEAR(upstream(flow, width, 0.05, f, 100, c), c, 1e-9);
  EXPECT_NEAR(upstream(1e-9, 1, 0.001, f, 100, 5), 5 - 0.1, 1e-6);
  EXPECT_EQ(upstream(flow, width, 0, f, 0, c), c);
}

TEST(RunOff, ThresholdsOfIronInWater) {
  const std::string source = "Soulsby 1997, threshold of motion, iron 7.2 in water, by hand";
  published("run_off", "iron 0.2 mm begins to move, Pa", source, How::computed, 0.45,
            threshold_shear(0.2 * mm, 7200, water), 0.005);
  published("run_off", "iron 0.5 mm begins to move, Pa", source, How::computed, 0.91,
            threshold_shear(0.5 * mm, 7200, water), 0.005);
  published("run_off", "iron 1 mm begins to move, Pa", source, How::computed, 2.2, threshold_shear(1 * mm, 7200, water),
            0.05);
  // Coarse grains end on a Shields number of 0.055.
  published("run_off", "Shields number of a coarse grain", "Soulsby 1997, limit", How::exact, 0.055,
            threshold_shear(0.05, 2650, water) / (1650 * gravity * 0.05), 3e-4);
  // Sand of 0.2 mm in sea water, printed by many after the book.
  const Coolant sea{1027, 1.36e-6, 0.03};
  published("run_off", "quartz sand 0.2 mm in sea water, Pa", "Soulsby 1997, example", How::from_memory, 0.176,
            threshold_shear(0.2 * mm, 2650, sea), 0.005);
}

TEST(RunOff, DemoTrough) {
  const Result r = solve(trough()).value();
  const std::string source = "trough 24 x 10 mm, 3 L/min, by hand";
  published("run_off", "speed at the free fall, m/s", source, How::computed, 0.27, r.reaches[0].speed, 0.005);
  published("run_off", "shear at the free fall, Pa", source, How::computed, 0.28, r.reaches[0].shear_end, 0.005);
  EXPECT_GE(r.reaches[0].closed_end, std::sqrt(3.0) * r.reaches[0].critical * 0.999);
  EXPECT_LT(r.reaches[0].room, 0) << "13 mm of water in a trough 10 deep";
  // D27: moves 0.1 mm only.
  EXPECT_LT(r.carried, 0.12 * mm);
  EXPECT_LE(r.reaches[0].shear_feed, r.reaches[0].shear_end);
  published("run_off", "slope that moves iron of 0.5 mm at 5 mm depth in 24 mm, %", "shear / (rho g R)", How::computed,
            2.6, 100 * slope_for_shear(threshold_shear(0.5 * mm, 7200, water), 24 * mm, 5 * mm, water), 0.05);
  published("run_off", "slope that moves iron of 1 mm at 5 mm depth in 24 mm, %", "shear / (rho g R)", How::computed,
            6.4, 100 * slope_for_shear(threshold_shear(1 * mm, 7200, water), 24 * mm, 5 * mm, water), 0.05);
}

TEST(RunOff, ASteeperTroughCarriesMore) {
  const double threshold = threshold_shear(0.5 * mm, 7200, water);
  const auto slope = slope_to_carry(threshold, 3 * litre_a_minute, 24 * mm, water);
  ASSERT_TRUE(slope.has_value());
  // At that slope the even flow gives exactly the shear, by the other formula.
  const double y = normal_depth_darcy(3 * litre_a_minute, 24 * mm, *slope, water.friction);
  EXPECT_NEAR(slope_for_shear(threshold, 24 * mm, y, water), *slope, 1e-9);
  Inputs in = trough();
  in.reaches[0].slope = 1.01 * *slope;
  EXPECT_GE(solve(in)->carried, 0.5 * mm);
  in.reaches[0].slope = 0.99 * *slope;
  EXPECT_LT(solve(in)->carried, 0.5 * mm);
  EXPECT_FALSE(slope_to_carry(1e4, 3 * litre_a_minute, 24 * mm, water).has_value());
  // What a grain's threshold asks is what moves it.
  EXPECT_NEAR(largest_carried(threshold, 7200, water), 0.5 * mm, 1e-9);
  EXPECT_NEAR(bed_shear(speed_for_shear(threshold, water), water), threshold, 1e-12);
  EXPECT_EQ(largest_carried(1e-6, 7200, water), 0);
  EXPECT_EQ(largest_carried(1e6, 7200, water), 20 * mm);
}

TEST(RunOff, TroughsInARowBackUp) {
  Inputs in = trough();
  in.reaches.insert(in.reaches.begin(), {"cross", 24 * mm, 10 * mm, 78 * mm, 0, 6 * litre_a_minute});
  const Result r = solve(in).value();
  EXPECT_NEAR(r.reaches[0].critical / r.reaches[1].critical, std::cbrt(4.0), 1e-12);
  EXPECT_EQ(r.reaches[1].at_end, r.reaches[0].closed_end) << "it ends in the water that stands in the cross trough";
  EXPECT_GT(r.reaches[1].closed_end, solve(trough())->reaches[0].closed_end);
  // A hole too small for the flow stands everything higher.
  in.hole = 24 * mm;
  in.hole_flow = 12 * litre_a_minute;
  const Result h = solve(in).value();
  EXPECT_GT(h.hole_head, 0);
  EXPECT_GE(h.reaches[0].at_end, h.hole_head);
}

TEST(RunOff, HoleAsWeirAndAsOrifice) {
  // Little flow goes over the rim: Q = 2/3 0.6 sqrt(2g) pi D H^1.5.
  const double flow = 1e-5, d = 50 * mm, h = head_over_hole(flow, d);
  published("run_off", "flow over the rim of a hole from its head, m3/s", "weir, 0.60, forwards", How::exact, flow,
            2.0 / 3 * 0.6 * std::sqrt(2 * gravity) * 3.14159265358979323846 * d * std::pow(h, 1.5), 1e-15);
  // Much flow fills it: Q = 0.61 A sqrt(2 g H).
  const double much = 2e-3, head = head_over_hole(much, d);
  published("run_off", "flow through a full hole from its head, m3/s", "orifice, 0.61, forwards", How::exact, much,
            0.61 * 3.14159265358979323846 / 4 * d * d * std::sqrt(2 * gravity * head), 1e-14);
  EXPECT_EQ(head_over_hole(flow, 0), 0);
}

TEST(RunOff, PuddlesAndJets) {
  published("run_off", "puddle of mercury on glass, mm", "2 a sin(theta/2), 0.487 N/m, 140 deg; textbooks print 3.6",
            How::from_memory, 3.6, standing_film(0.487, 13600, 140 * deg) / mm, 0.05);
  published("run_off", "puddle of water on paraffin, mm", "0.0728 N/m, 107 deg; textbooks print 4.4", How::from_memory,
            4.4, standing_film(0.0728, 1000, 107 * deg) / mm, 0.05);
  EXPECT_EQ(standing_film(0.04, 1000, 0), 0);
  // Within its core the jet keeps its speed; at twice that distance it must leave twice as fast.
  EXPECT_NEAR(jet_flow(4 * mm, 10 * mm, 1), 3.14159265358979323846 / 4 * 16e-6, 1e-15);
  EXPECT_NEAR(jet_flow(4 * mm, 2 * 6.2 * 4 * mm, 1), 2 * jet_flow(4 * mm, 10 * mm, 1), 1e-15);
}

TEST(RunOff, CakedSwarfIsBeyond) {
  Inputs in = trough();
  in.grain.caked = true;
  EXPECT_FALSE(solve(in)->beyond.empty());
  EXPECT_EQ(solve(in)->carried, 0);
  in.grain.threshold = 8.0;  // measured: then it is known
  EXPECT_TRUE(solve(in)->beyond.empty());
  EXPECT_EQ(solve(in)->threshold, 8.0);
}

TEST(RunOff, SwarfOfTheDemo) {
  Swarf s;
  s.per_part = 2.90 - 2.595;
  s.per_set = 8;
  s.per_week = 240;
  s.bin = 0.2;
  s.filter = 3;
  const SwarfResult r = swarf(s).value();
  const std::string source = "masses of the demo by hand; loose fines 125 lb/ft3";
  published("run_off", "swarf of a set, kg", source, How::computed, 2.44, r.set_mass, 1e-9);
  published("run_off", "swarf of a week, kg", source, How::computed, 73.2, r.week_mass, 1e-9);
  published("run_off", "loose swarf of a week, L", source, How::computed, 36.6, r.week_volume * 1e3, 1e-9);
  EXPECT_NEAR(*r.bin_days, 0.2 / 0.0366 * 5, 1e-9);
  EXPECT_NEAR(*r.filter_days, 3 / (73.2 * 0.02) * 5, 1e-9);
  s.bin.reset();
  EXPECT_FALSE(swarf(s)->bin_days.has_value());
}

TEST(RunOff, RefusesImpossibleInputs) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const auto problems = [](const std::function<void(Inputs&)>& spoil) {
    Inputs in = trough();
    spoil(in);
    const auto r = solve(in);
    return r.ok() ? 0u : static_cast<unsigned>(r.problems().size());
  };
  EXPECT_EQ(problems([](Inputs&) {}), 0u);
  EXPECT_EQ(problems([](Inputs& i) { i.reaches.clear(); }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.reaches[0].width = 0; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.reaches[0].width = 2.1; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.reaches[0].depth = 0; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.reaches[0].depth = 1.1; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.reaches[0].length = -1; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.reaches[0].length = 101; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.reaches[0].slope = -0.01; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.reaches[0].slope = 1.1; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.reaches[0].flow = 0; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.reaches[0].flow = 1.1; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.hole = -1; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.hole = 2.1; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.hole_flow = -1; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.hole_flow = 1.1; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.coolant.density = 400; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.coolant.density = 2100; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.coolant.viscosity = 0; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.coolant.viscosity = 1; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.coolant.friction = 0; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.coolant.friction = 1; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.grain.size = 0; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.grain.size = 1; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.grain.density = 1000; }), 1u);  // floats
  EXPECT_EQ(problems([](Inputs& i) { i.grain.density = 30000; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.grain.threshold = -1; }), 1u);
  EXPECT_EQ(problems([&](Inputs& i) { i.grain.threshold = nan; }), 1u);
  EXPECT_EQ(problems([&](Inputs& i) { i.reaches[0].width = nan, i.reaches[0].flow = nan, i.grain.size = nan; }), 3u);
}

TEST(RunOff, RefusesImpossibleSwarf) {
  const auto refused = [](const std::function<void(Swarf&)>& spoil) {
    Swarf s;
    s.per_part = 0.3, s.per_set = 8, s.per_week = 240;
    spoil(s);
    return !swarf(s).ok();
  };
  EXPECT_FALSE(refused([](Swarf&) {}));
  EXPECT_TRUE(refused([](Swarf& s) { s.per_part = -1; }));
  EXPECT_TRUE(refused([](Swarf& s) { s.per_part = std::nan(""); }));
  EXPECT_TRUE(refused([](Swarf& s) { s.per_set = -1; }));
  EXPECT_TRUE(refused([](Swarf& s) { s.per_week = -1; }));
  EXPECT_TRUE(refused([](Swarf& s) { s.loose_low = 0; }));
  EXPECT_TRUE(refused([](Swarf& s) { s.loose_high = 1000; }));  // below the lower one
  EXPECT_TRUE(refused([](Swarf& s) { s.loose_high = 9000; }));
  EXPECT_TRUE(refused([](Swarf& s) { s.days = 0; }));
  EXPECT_TRUE(refused([](Swarf& s) { s.days = 8; }));
  EXPECT_TRUE(refused([](Swarf& s) { s.fines = 1.1; }));
  EXPECT_TRUE(refused([](Swarf& s) { s.bin = 0; }));
  EXPECT_TRUE(refused([](Swarf& s) { s.filter = 0; }));
}

}  // namespace
}  // namespace fettle::run_off
