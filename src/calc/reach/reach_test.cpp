#include "calc/reach/reach.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <limits>

#include "published.h"

namespace fettle::reach {
namespace {

using test::How;
using test::published;

constexpr double mm = 1e-3, pi = 3.14159265358979323846;

/// The demo's keyseat cutter 35 x 2.5, neck 18 x 30, stick-out 45, holder 32.
Tool keyseat() { return {35 * mm, 2.5 * mm, 18 * mm, 30 * mm, 45 * mm, 32 * mm}; }
/// Groove Ø54 by 3.7 in a bore of 50, its far side 8.85 below the top, the floor 9.15 under it.
Groove groove() {
  Groove g;
  g.bore = 50 * mm, g.groove = 54 * mm, g.width = 3.7 * mm, g.depth = 8.85 * mm, g.floor = 9.15 * mm;
  return g;
}
/// An end mill 16, stick-out 52, holder 44, cutting 36.5 below a part's bottom beside screw heads.
Inputs profile() {
  Inputs in;
  in.tool = {16 * mm, 36.5 * mm, {}, {}, 52 * mm, 44 * mm};
  in.around = {{"part's side", 0, 36.5 * mm, 8 * mm, true},
               {"screw head", 36.5 * mm, 46.1 * mm, 12 * mm, false},
               {"neighbour", 0.5 * mm, 36.5 * mm, 13.9 * mm, false}};
  return in;
}

TEST(Reach, GrooveOfTheDemo) {
  Groove g = groove();
  g.edge_feed = 246 * mm / 60;
  const GrooveResult r = solve_groove(g, keyseat()).value();
  const std::string source = "circle geometry by hand";
  published("reach", "keyseat 35 in a bore of 50, all round, mm", source, How::computed, 7.5, r.enters / mm, 1e-9);
  published("reach", "neck 18 against the edge of a bore of 50, groove 54, mm",
            "circles by hand: (35 - 18)/2 - (54 - 50)/2", How::computed, 6.5, r.neck_room / mm, 1e-9);
  published("reach", "path of the tool's middle, mm", "circle by hand: pi (54 - 35)", How::computed, 59.69,
            2 * pi * r.path_radius / mm, 0.005);
  published("reach", "feed of the tool's middle for 246 mm/min at the edge, mm/min",
            "feed inside an arc, programming handbooks: 246 (54 - 35)/54", How::computed, 86.56,
            r.middle_feed / mm * 60, 0.005);
  EXPECT_EQ(r.passes, 2);
  EXPECT_NEAR(r.under / mm, 9.15, 1e-9);
  EXPECT_NEAR(r.neck_spare / mm, 2.5 + 30 - 8.85, 1e-9);
  EXPECT_NEAR(r.holder_room / mm, 45 - 8.85, 1e-9);
  EXPECT_NEAR(r.least / mm, 6.5, 1e-9);
  EXPECT_EQ(r.tightest, "neck against the bore's edge");
}

TEST(Reach, EngagedArcAgainstPointsOnTheCutter) {
  for (const double cutter : {20.0, 30.0, 35.0, 46.0}) {
    Tool t = keyseat();
    t.diameter = cutter * mm;
    t.neck = 10 * mm;
    const GrooveResult r = solve_groove(groove(), t).value();
    // Points on the cutter that lie outside the bore.
    int in_metal = 0;
    constexpr int all = 200000;
    for (int k = 0; k < all; ++k) {
      const double a = 2 * pi * (k + 0.5) / all;
      const double x = r.path_radius + 0.5 * cutter * mm * std::cos(a), y = 0.5 * cutter * mm * std::sin(a);
      in_metal += std::hypot(x, y) > 25 * mm ? 1 : 0;
    }
    published("reach", "engaged arc of a cutter of " + std::to_string(static_cast<int>(cutter)) + " in 50/54, rad",
              "200000 points on the cutter", How::computed, 2 * pi * in_metal / all, r.engaged, 1e-4);
  }
}

TEST(Reach, NeckBendsAsACantilever) {
  Groove g = groove();
  g.force = 300;
  const GrooveResult r = solve_groove(g, keyseat()).value();
  const double i = pi * std::pow(18.0, 4) / 64, length = 32.5 - 1.25;
  published("reach", "neck 18 under 300 N, 31.25 long, um", "F L^3/(3 E I), carbide 590 GPa", How::exact,
            300 * std::pow(length, 3) / (3 * 590e3 * i) * 1e3, r.bend * 1e6, 1e-9);
}

TEST(Reach, GrooveThatCannotBeCut) {
  Tool t = keyseat();
  t.neck = 32 * mm;
  EXPECT_LT(solve_groove(groove(), t)->neck_room, 0);
  t = keyseat();
  t.diameter = 51 * mm;
  EXPECT_LT(solve_groove(groove(), t)->enters, 0);
  Groove g = groove();
  g.below = 10 * mm;
  EXPECT_LT(solve_groove(g, keyseat())->under, 0);
  g.open_below = true;
  EXPECT_GT(solve_groove(g, keyseat())->least, 0);
  g = groove();
  g.depth = 40 * mm;
  EXPECT_LT(solve_groove(g, keyseat())->neck_spare, 0);
  // Narrower than the cutter: no pass makes it.
  g = groove();
  g.width = 2.4 * mm;
  EXPECT_EQ(solve_groove(g, keyseat())->passes, 0);
  EXPECT_LT(solve_groove(g, keyseat())->width_room, 0);
}

TEST(Reach, EachStretchAgainstEachObstacle) {
  const Result r = solve(profile()).value();
  // Holder 44 beside a head 12 away: only the height keeps them apart, 52 - 46.1; the cutter passes the neighbour at
  // 13.9 - 8 and the shank the head at 12 - 8.
  published("reach", "least room of an end mill 16 beside a screw head, mm", "12 - 16/2 by hand", How::computed, 4.0,
            r.least / mm, 1e-9);
  const Room* holder = nullptr;
  for (const Room& x : r.rooms)
    if (x.stretch == "holder" && x.obstacle == "screw head") holder = &x;
  ASSERT_NE(holder, nullptr);
  EXPECT_TRUE(holder->by_height);
  published("reach", "holder above the screw head, mm", "52 - 46.1 by hand", How::computed, 5.9, holder->room / mm,
            1e-9);
  for (const Room& x : r.rooms)
    EXPECT_FALSE(x.stretch == "cutter" && x.obstacle == "part's side") << "the wall it cuts";
  Inputs alone = profile();
  alone.around.clear();
  EXPECT_TRUE(std::isinf(solve(alone)->least));
}

TEST(Reach, RoomAgainstPointsInTheTool) {
  // Two upright bodies are apart when no point of one lies in the other: tried by sampling heights and radii.
  const Tool t{12 * mm, 10 * mm, 9 * mm, 20 * mm, 50 * mm, 30 * mm};
  for (int k = 0; k < 400; ++k) {
    const double low = ((k * 37) % 71) * mm, high = low + (k % 7) * mm + 0.25 * mm;
    const double distance = ((k * 13) % 190) * 0.1 * mm + 0.03 * mm;
    bool touch = false;
    for (double z = 0; z < 0.2; z += 0.05 * mm) {
      if (z < low || z > high) continue;
      const double thick = z < 10 * mm ? 6 * mm : z < 30 * mm ? 4.5 * mm : 15 * mm;
      touch = touch || thick > distance;
    }
    const Result r = solve({t, {{"wall", low, high, distance, false}}}).value();
    if (std::fabs(r.least) < 0.06 * mm) continue;  // the samples are that coarse
    EXPECT_EQ(r.least < 0, touch) << "wall from " << low / mm << " to " << high / mm << " at " << distance / mm;
  }
}

TEST(Reach, LeversKeepTheClearance) {
  const Inputs in = profile();
  const auto out = stick_out_needed(in, 1 * mm);
  ASSERT_TRUE(out.has_value());
  EXPECT_NEAR(*out / mm, 47.1, 1e-6);
  Inputs at = in;
  at.tool.stick_out = *out;
  EXPECT_NEAR(solve(at)->least / mm, 1, 1e-6);
  at.tool.stick_out = 40 * mm;
  const auto thick = holder_allowed(at, 1 * mm);
  ASSERT_TRUE(thick.has_value());
  EXPECT_NEAR(*thick / mm, 22, 1e-6);
  // A head in the way of the cutter: no stick-out helps.
  at.around[1].distance = 5 * mm;
  at.around[1].low = 0;
  EXPECT_FALSE(stick_out_needed(at, 1 * mm).has_value());
  EXPECT_FALSE(holder_allowed(at, 1 * mm).has_value());
}

TEST(Reach, WhatNobodySaysIsTakenThick) {
  const auto of = [](const Tool& t) { return stretches(t); };
  const auto with = of(keyseat());
  ASSERT_EQ(with.size(), 4u);
  EXPECT_EQ(with[2].name, "shank");
  EXPECT_EQ(with[2].radius, 16 * mm) << "behind the neck nobody says how thick: as the holder";
  Tool plain = keyseat();
  plain.neck.reset();
  const auto without = of(plain);
  ASSERT_EQ(without.size(), 3u);
  EXPECT_EQ(without[1].radius, 17.5 * mm);
}

TEST(Reach, RefusesImpossibleInputs) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const auto problems = [](const std::function<void(Inputs&)>& spoil) {
    Inputs in = profile();
    in.tool.neck = 12 * mm;
    in.tool.neck_length = 5 * mm;
    spoil(in);
    const auto r = solve(in);
    return r.ok() ? 0u : static_cast<unsigned>(r.problems().size());
  };
  EXPECT_EQ(problems([](Inputs&) {}), 0u);
  EXPECT_EQ(problems([](Inputs& i) { i.tool.diameter = 2.1, i.tool.neck.reset(); }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.tool.cutting = -1; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.tool.cutting = 53 * mm; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.tool.stick_out = 3; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.tool.holder = 0; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.tool.holder = 3; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.tool.neck = 17 * mm; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.tool.neck = 0; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.tool.neck_length = -1; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.around[0].distance = -1; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.around[0].distance = 11; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.around[0].high = -1; }), 1u);
  EXPECT_EQ(problems([](Inputs& i) { i.around[0].high = 11; }), 1u);
  EXPECT_EQ(problems([&](Inputs& i) { i.around[0].low = nan; }), 1u);
  EXPECT_EQ(problems([&](Inputs& i) { i.tool.holder = nan, i.around[0].distance = nan; }), 2u);
}

TEST(Reach, RefusesImpossibleGrooves) {
  const auto problems = [](const std::function<void(Groove&, Tool&)>& spoil) {
    Groove g = groove();
    Tool t = keyseat();
    spoil(g, t);
    const auto r = solve_groove(g, t);
    return r.ok() ? 0u : static_cast<unsigned>(r.problems().size());
  };
  EXPECT_EQ(problems([](Groove&, Tool&) {}), 0u);
  EXPECT_EQ(problems([](Groove&, Tool& t) { t.neck.reset(); }), 1u);
  EXPECT_EQ(problems([](Groove&, Tool& t) { t.cutting = 0; }), 1u);
  EXPECT_EQ(problems([](Groove& g, Tool&) { g.groove = 50 * mm; }), 1u);
  EXPECT_EQ(problems([](Groove& g, Tool&) { g.bore = 0; }), 1u);
  EXPECT_EQ(problems([](Groove& g, Tool&) { g.width = 0; }), 1u);
  EXPECT_EQ(problems([](Groove& g, Tool&) { g.depth = -1; }), 1u);
  EXPECT_EQ(problems([](Groove& g, Tool&) { g.floor = -1; }), 1u);
  EXPECT_EQ(problems([](Groove& g, Tool&) { g.below = -1; }), 1u);
  EXPECT_EQ(problems([](Groove& g, Tool&) { g.edge_feed = -1; }), 1u);
  EXPECT_EQ(problems([](Groove& g, Tool&) { g.force = std::nan(""); }), 1u);
  EXPECT_EQ(problems([](Groove& g, Tool&) { g.modulus = 0; }), 1u);
}

}  // namespace
}  // namespace fettle::reach
