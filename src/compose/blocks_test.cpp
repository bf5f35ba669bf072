#include "compose/blocks.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "compose/compose.h"
#include "compose/demo_for_tests.h"
#include "compose/on_paper.h"
#include "program/read.h"

namespace fettle::compose {
namespace {

constexpr double mm = 1e-3;

// Written for these tests.
const char* const one_part = R"(%
O77 (one part)
G21 G90 G17 G40 G80 G94
G53 G0 Z0
T11 M6
S2000 M3
G54 G0 X-80 Y0
G43 H11 Z40
M8
G1 Z10 F1000
G1 X-60 F400
G2 X-60 Y0 I20 J0
G3 X-50 Y10 R10 Z8
G0 Z40
M9
G53 G0 Z0
T17 M6
S4000 M3
G0 X33 Y20
G43 H17 Z60
G98 G83 Z20 R38 Q5 F600
X-33 Y-20
G80
G53 G0 Z0
T18 M6
S500 M3
G0 X33 Y20
G43 H18 Z60
G98 G84 Z22 R40 F500
X-33 Y-20
G80
G53 G0 Z0
M30
%
)";

Outcome<Blocks> split(std::string text) {
  program::Setting s;
  s.zeros.fill(frame::Vec3{});
  for (int h = 1; h < 100; ++h) s.lengths[h] = 0.1;
  const Outcome<program::Run> run = program::read(text, "part.nc", s);
  EXPECT_TRUE(run.ok()) << (run.ok() ? "" : say(run.problem()));
  if (!run.ok()) return run.problems();
  return blocks(*run, "part.nc", 50.8 * mm);
}
std::string with(const std::string& from, const std::string& to) {
  std::string t = one_part;
  const std::size_t at = t.find(from);
  EXPECT_NE(at, std::string::npos);
  return t.replace(at, from.size(), to);
}

TEST(Blocks, OneBlockATool) {
  const Outcome<Blocks> b = split(one_part);
  ASSERT_TRUE(b.ok()) << say(b.problem());
  ASSERT_EQ(b->blocks.size(), 3U);
  EXPECT_EQ(b->blocks[0].tool, 11);
  EXPECT_EQ(b->blocks[0].first_line, 5);
  EXPECT_NEAR(b->blocks[0].speed, 2000 * 2 * 3.14159265358979323846 / 60, 1e-9);
  EXPECT_NEAR(b->blocks[0].lowest, 8 * mm, 1e-12);
  // The full circle comes in two halves.
  const Steps& s = b->blocks[0].steps;
  EXPECT_EQ(std::count_if(s.begin(), s.end(), [](const Step& x) { return x.what == Do::arc && x.clockwise; }), 2);
  // Cycles are cycles again.
  const auto cycles = [&](std::size_t k) {
    Steps out;
    for (const Step& x : b->blocks[k].steps)
      if (x.what == Do::cycle) out.push_back(x);
    return out;
  };
  ASSERT_EQ(cycles(1).size(), 2U);
  EXPECT_EQ(cycles(1)[0].cycle, Cycle::peck);
  EXPECT_NEAR(cycles(1)[0].peck, 5 * mm, 1e-9);
  EXPECT_NEAR(cycles(1)[0].clear, 38 * mm, 1e-9);
  EXPECT_NEAR(*cycles(1)[1].z, 20 * mm, 1e-9);
  EXPECT_NEAR(*cycles(1)[1].x, -33 * mm, 1e-9);
  ASSERT_EQ(cycles(2).size(), 2U);
  EXPECT_EQ(cycles(2)[0].cycle, Cycle::tap);
  EXPECT_NEAR(cycles(2)[0].peck, 1 * mm, 1e-9);  // the pitch
}

TEST(Blocks, ComposedOverAllNestsTheSameCutsAreMadeInEach) {
  const plan::Plan plan = demo::plan_of("plan-0.toml");
  const Outcome<Blocks> b = split(one_part);
  ASSERT_TRUE(b.ok());
  const Outcome<Composition> c = compose(plan, "OP30", *b);
  ASSERT_TRUE(c.ok()) << say(c.problem());
  ASSERT_EQ(c->visits.size(), 3U);
  paper::Machine m(*c, paper::typed_in(*c), {}, 0.15);
  const auto places = m.run();
  EXPECT_FALSE(m.wrong());
  // Each place of the given program at feed, in each of eight nests.
  int found = 0;
  for (int n = 1; n <= 8; ++n)
    for (const frame::Vec3 p : {frame::Vec3{-50 * mm, 10 * mm, 8 * mm}, frame::Vec3{33 * mm, 20 * mm, 20 * mm},
                                frame::Vec3{-33 * mm, -20 * mm, 22 * mm}})
      found += std::any_of(places.begin(), places.end(),
                           [&](const paper::Place& q) {
                             return q.kind != "rapid" && frame::norm(q.machine - m.zero(n) - p) < 1e-9;
                           })
                   ? 1
                   : 0;
  EXPECT_EQ(found, 24);
}

TEST(Blocks, WhatCannotBeMovedIsRefusedWithItsLine) {
  const auto refused = [](const std::string& from, const std::string& to, int line) {
    const Outcome<Blocks> b = split(with(from, to));
    ASSERT_FALSE(b.ok()) << to;
    EXPECT_EQ(b.problem().where.line, line) << say(b.problem());
    EXPECT_EQ(b.problem().where.file, "part.nc");
  };
  refused("G1 X-60 F400\n", "G41 D1 G1 X-60 F400\nG40 G1 X-61\nG1 X-60\n", 11);
  refused("S2000 M3", "S2000 M4", 6);
  refused("G43 H11 Z40", "Z40", 10);
  refused("G43 H11 Z40\nM8\nG1 Z10 F1000\nG1 X-60 F400\n", "G43 H11\nM8\nG1 X-60 F400\n", 10);
  refused("T17 M6\nS4000 M3", "T17 M6\nG55\nS4000 M3", 22);
  refused("G1 Z10 F1000", "G18 G2 X-70 Z30 I5 K-5 F1000\nG17", 10);
}

}  // namespace
}  // namespace fettle::compose
