#include "compose/cuts.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "compose/compose.h"
#include "compose/demo_for_tests.h"
#include "compose/track.h"

namespace fettle::compose {
namespace {

constexpr double pi = 3.14159265358979323846, mm = 1e-3;

struct Made {
  plan::Plan plan;
  SetUp up;
  CutSteps cut;
};
/// Cut with that tool (and features) of an operation.
Made made(const std::string& name, const std::string& operation, const std::string& tool,
          const std::vector<demo::Edit>& edits = {}) {
  Made m{demo::plan_of(name, edits), {}, {}};
  const plan::Operation* o = plan::find_operation(m.plan, operation);
  const Outcome<SetUp> s = set_up(m.plan, *o);
  EXPECT_TRUE(s.ok());
  m.up = s.value();
  for (std::size_t i = 0; i < o->cuts.size(); ++i)
    if (o->cuts[i].tool.value == tool) {
      m.cut = cut_steps(m.plan, *o, i, m.up);
      break;
    }
  return m;
}

std::vector<double> arc_radii(const Steps& steps, std::vector<double>* heights = nullptr) {
  std::vector<double> out;
  double z = 0;
  for (const Step& s : steps) {
    if (s.z && s.what != Do::cycle) z = *s.z;
    if (s.what != Do::arc) continue;
    out.push_back(std::hypot(*s.x - s.centre.x, *s.y - s.centre.y));
    if (heights != nullptr) heights->push_back(z);
  }
  return out;
}

TEST(RollIn, TouchesFromInsideAndSweepsAtLeastNinetyDegrees) {
  for (double e = 1 * mm; e < 30 * mm; e += 0.7 * mm)
    for (double share = 0; share < 1; share += 0.05) {
      const RollIn r = roll_in(e, share * e);
      EXPECT_GE(r.sweep, pi / 2 - 1e-12);
      EXPECT_NEAR(r.offset + r.radius, e, 1e-12);  // touches the circle from inside
      const double start =
          std::sqrt(r.offset * r.offset + r.radius * r.radius + 2 * r.offset * r.radius * std::cos(r.sweep));
      EXPECT_NEAR(start, r.start, 1e-9) << e << " " << share;
    }
}

TEST(Track, ARoundedBoxIsClosedAndAsLongAsItsSidesAndCorners) {
  for (const bool clockwise : {true, false})
    for (int side = 0; side < 4; ++side) {
      const RoundedBox box{{3 * mm, -2 * mm, 0}, 40 * mm, 25 * mm, 12 * mm};
      Track t(1);
      const frame::Vec3 start = side_start(box, clockwise, side);
      t.rapid(start.x, start.y);
      t.round(box, clockwise, side);
      EXPECT_NEAR(frame::norm(t.at() - start), 0, 1e-12);
      double way = 0;
      time_of(t.take(), nullptr, &way);
      EXPECT_NEAR(way, 4 * (28 * mm + 13 * mm) + 2 * pi * 12 * mm, 1e-9);
    }
}

TEST(Track, TurningKeepsLengthsAndTurnsPlaces) {
  Track t(0.5);
  t.rapid(10 * mm, 0);
  t.ring({0, 0, 0}, false, 0);
  t.line({3 * mm, 4 * mm, 0});
  const Steps a = t.take(), b = turned(a, pi / 2);
  double wa = 0, wb = 0;
  time_of(a, nullptr, &wa);
  time_of(b, nullptr, &wb);
  EXPECT_NEAR(wa, wb, 1e-12);
  EXPECT_NEAR(*b.back().x, -4 * mm, 1e-12);
  EXPECT_NEAR(*b.back().y, 3 * mm, 1e-12);
}

// demo.md: 246 mm/min at the edge, 86.4 of the centre, centre path 59.7 (nominal 54; here the middle of the
// limits, 54.04).
TEST(Cuts, GrooveRunsOnItsCentrePathAtTheCentresFeedInTwoHeights) {
  const Made m = made("plan-0.toml", "OP30", "T15");
  ASSERT_TRUE(m.cut.missing.empty());
  EXPECT_NEAR(m.cut.ring, pi * (54.04 - 35) * mm, 1e-9);
  EXPECT_NEAR(m.cut.ring, 59.7 * mm, 0.15 * mm);
  EXPECT_NEAR(m.cut.centre_feed * 60, 86.4 * mm, 0.4 * mm);
  std::vector<double> heights;
  const std::vector<double> radii = arc_radii(m.cut.steps, &heights);
  ASSERT_EQ(radii.size(), 8U);  // in, two halves, out, twice
  EXPECT_NEAR(radii[1], 9.52 * mm, 1e-9);
  EXPECT_NEAR(radii[2], 9.52 * mm, 1e-9);
  // Width 3.70 +0.10/0 at its middle, 3.75, about the middle of 27.15 to 30.85, with a cutter of 2.5.
  EXPECT_NEAR(heights.front(), 27.125 * mm, 1e-9);
  EXPECT_NEAR(heights.back() - heights.front() + 2.5 * mm, 3.75 * mm, 1e-9);
  // Before it rolls in the cutter stands clear of the finished bore of 50.
  for (const Step& s : m.cut.steps)
    if (s.what == Do::line && s.x && s.y) {
      EXPECT_LT(std::hypot(*s.x, *s.y) + 17.5 * mm, 25 * mm);
    }
}

TEST(Cuts, AnAimIsCutInsteadOfTheMiddle) {
  const Made m =
      made("plan-0.toml", "OP30", "T15", {{"note = \"the tool's centre runs at 86.4 mm/min\"", "aim = \"54.00 mm\""}});
  EXPECT_NEAR(m.cut.ring, 59.69 * mm, 0.01 * mm);
}

TEST(Cuts, OutsideProfileGoesClockwiseClearOfRawMetalAndOutOverWhatIsCut) {
  const Made m = made("plan-0.toml", "OP30", "T11");
  ASSERT_TRUE(m.cut.missing.empty());
  int clockwise = 0, other = 0;
  for (const Step& s : m.cut.steps)
    if (s.what == Do::arc) (s.clockwise ? clockwise : other)++;
  EXPECT_EQ(clockwise, 8);  // four corners, two levels
  EXPECT_EQ(other, 2);      // one way out each
  // Two levels of 18.5, the second below the edge as the plan's depth says.
  EXPECT_NEAR(m.cut.lowest, -1.0 * mm, 1e-9);
  // 479.2 round, leads and overlaps besides; demo.md counts 517.7 a level.
  double way = 0;
  const plan::Machine none;
  time_of(m.cut.steps, nullptr, &way);
  EXPECT_GT(way, 2 * 479.2 * mm);
  EXPECT_LT(way, 2 * 545 * mm);
  // It goes down outside the raw casting: 3.9 at most beyond 66, or 1 beyond 46, and a radius of 8.
  frame::Vec3 at;
  double z = 1;
  for (const Step& s : m.cut.steps) {
    if (s.x) at.x = *s.x;
    if (s.y) at.y = *s.y;
    if (s.z && *s.z < z && s.what == Do::line && !s.x) {
      const double dx = std::fabs(at.x) - 69.9 * mm, dy = std::fabs(at.y) - 47 * mm;
      EXPECT_GT(std::max(dx, dy), 8 * mm);
    }
    if (s.z) z = *s.z;
  }
}

TEST(Cuts, CounterboreInTwoLevelsAndItsFloorAtTheFinishedHeight) {
  const Made m = made("plan-0.toml", "OP30", "T13");
  ASSERT_TRUE(m.cut.missing.empty());
  std::vector<double> heights;
  const auto radii = arc_radii(m.cut.steps, &heights);
  EXPECT_NEAR(heights.back(), 18 * mm, 1e-9);
  // T14 finishes the wall: 0.25 a side left, 50 H8 at its middle.
  EXPECT_NEAR(*std::max_element(radii.begin(), radii.end()), 0.5 * (50.0195 - 20) * mm - 0.25 * mm, 1e-9);
  std::vector<double> levels = heights;
  levels.erase(std::unique(levels.begin(), levels.end()), levels.end());
  // Two levels down to just above the cored floor at 20.35, that floor, and the last 0.2 of it.
  ASSERT_EQ(levels.size(), 4U);
  EXPECT_NEAR(levels[0], (36 - 0.5 * 15.5) * mm, 1e-9);
  EXPECT_NEAR(levels[1], 20.5 * mm, 1e-9);
  EXPECT_NEAR(levels[2], 18.2 * mm, 1e-9);
  // 611 at the edge, 367 of the centre (demo.md).
  EXPECT_NEAR(m.cut.centre_feed * 60, 367 * mm, 0.5 * mm);
}

TEST(Cuts, HolesGoThroughOrStopWhereTheDrawingSays) {
  const auto deepest = [](const std::string& tool) {
    const Made m = made("plan-0.toml", "OP20", tool);
    EXPECT_TRUE(m.cut.missing.empty()) << tool;
    return std::pair<double, std::size_t>{
        m.cut.lowest, static_cast<std::size_t>(std::count_if(m.cut.steps.begin(), m.cut.steps.end(),
                                                             [](const Step& s) { return s.what == Do::cycle; }))};
  };
  const double tip = std::tan(20 * pi / 180);  // of a 140 degree point, a radius
  // Bottom up: A stands at 36. F4 ends in the cored floor, 2.35 more raw metal; F8 goes through; F7 is 15 deep.
  EXPECT_NEAR(deepest("T2").first, (36 - 18 - 2.35 - 1 - 10.25 * tip) * mm, 1e-6);
  EXPECT_NEAR(deepest("T8").first, (0 - 1 - 5.25 * tip) * mm, 1e-6);
  EXPECT_NEAR(deepest("T4").first, (36 - 15 - 3.9 * tip) * mm, 1e-6);
  EXPECT_NEAR(deepest("T5").first, 21 * mm, 1e-6);
  EXPECT_EQ(deepest("T6").second, 6U);
  // M8: thread 16 deep, three threads of lead beyond, in a hole 22 deep.
  EXPECT_NEAR(deepest("T7").first, (36 - 16 - 3 * 1.25) * mm, 1e-6);
}

TEST(Cuts, DeepHolesAreDrilledInStepsOfADiameter) {
  const Made shallow = made("plan-0.toml", "OP20", "T6"),
             deep = made("plan-0.toml", "OP20", "T6", {{"depth = \"22 mm\"", "depth = \"30 mm\""}});
  const auto first = [](const Made& m) {
    return *std::find_if(m.cut.steps.begin(), m.cut.steps.end(), [](const Step& s) { return s.what == Do::cycle; });
  };
  EXPECT_EQ(first(shallow).cycle, Cycle::drill);
  EXPECT_EQ(first(deep).cycle, Cycle::peck);
  EXPECT_NEAR(first(deep).peck, 6.8 * mm, 1e-12);
}

TEST(Cuts, ATapNeverMeetsTheBottomOfItsHole) {
  const Made m = made("plan-0.toml", "OP20", "T7", {{"thread_depth = \"16 mm\"", "thread_depth = \"21 mm\""}});
  EXPECT_GT(m.cut.lowest, (36 - 22) * mm);
  EXPECT_NE(std::find_if(m.cut.notes.begin(), m.cut.notes.end(),
                         [](const std::string& n) { return n.find("short of full thread") != std::string::npos; }),
            m.cut.notes.end());
}

TEST(Cuts, PocketsAreEnteredByAHelixAndEndOnTheWalls) {
  const Made m = made("plan-0.toml", "OP30", "T16");
  ASSERT_TRUE(m.cut.missing.empty());
  EXPECT_NEAR(m.cut.lowest, 24 * mm, 1e-9);
  double far_x = 0, far_y = 0;
  bool steep = false;
  frame::Vec3 at;
  for (const Step& s : m.cut.steps) {
    frame::Vec3 to{s.x.value_or(at.x), s.y.value_or(at.y), s.z.value_or(at.z)};
    if (s.what == Do::line || s.what == Do::arc) {
      const double cx = to.x > 0 ? 42 * mm : -42 * mm, cy = to.x > 0 ? -27 * mm : 27 * mm;
      far_x = std::max(far_x, std::fabs(to.x - cx));
      far_y = std::max(far_y, std::fabs(to.y - cy));
      // Straight down at the cutting feed would be a plunge into solid metal.
      if (s.what == Do::line && !s.x && !s.y && to.z < at.z && s.feed < 1000 * mm / 60) steep = true;
    }
    at = to;
  }
  EXPECT_NEAR(far_x, 10 * mm, 1e-9);
  EXPECT_NEAR(far_y, 6 * mm, 1e-9);
  EXPECT_FALSE(steep);
}

TEST(Cuts, ASideIsBrokenAtItsFarEndFirst) {
  const Made m = made(
      "plan-1.toml", "OP20", "T11",
      {{"kind = \"rough\"\ntime = \"0.55 min\"",
        "kind = \"rough\"\nspeed = \"2190 rpm\"\nfeed = \"770 mm/min\"\ndepth = \"18.5 mm\"\ntime = \"0.55 min\""}});
  ASSERT_TRUE(m.cut.missing.empty()) << m.cut.missing[0];
  // Two ends, two levels, two cuts each.
  EXPECT_EQ(
      std::count_if(m.cut.steps.begin(), m.cut.steps.end(), [](const Step& s) { return s.what == Do::rapid && s.x; }),
      8);
}

TEST(Cuts, AFaceIsCutInStripsRoughAndThenFinished) {
  const Made m = made("plan-0.toml", "OP10a", "T1");
  ASSERT_TRUE(m.cut.missing.empty());
  // Raw edge 97.05 above the rest, E1 at 95: one rough level, 0.25 left, three strips of 46 each (demo.md: 3 passes).
  std::vector<double> heights;
  int strips = 0;
  double z = 0;
  frame::Vec3 at;
  for (const Step& s : m.cut.steps) {
    if (s.z) z = *s.z;
    if (s.what == Do::line && s.y && std::fabs(*s.y - at.y) > 100 * mm) {
      ++strips;
      // Five parts of 36 in series: 180, a cutter of 63 and 2 clear on either side.
      EXPECT_NEAR(std::fabs(*s.y - at.y), (180 + 63 + 4) * mm, 1e-9);
      if (heights.empty() || heights.back() != z) heights.push_back(z);
    }
    if (s.x) at.x = *s.x;
    if (s.y) at.y = *s.y;
  }
  EXPECT_EQ(strips, 6);
  ASSERT_EQ(heights.size(), 2U);
  EXPECT_NEAR(heights[0], 95.25 * mm, 1e-9);
  EXPECT_NEAR(heights[1], 95 * mm, 1e-9);
}

TEST(Cuts, AMilledThreadClimbsOnePitchATurn) {
  const Made m = made(
      "plan-0.toml", "OP20", "T7m",
      {{"[[feature]]\nid = \"A\"",
        "[[tool]]\nid = \"T7m\"\nkind = \"thread mill\"\ndiameter = \"6 mm\"\nteeth = 3\n[[feature]]\nid = "
        "\"A\""},
       {"tool = \"T7\"\nfeatures = \"F9\"\nkind = \"tap\"", "tool = \"T7m\"\nfeatures = \"F9\"\nkind = \"finish\""}});
  ASSERT_TRUE(m.cut.missing.empty()) << m.cut.missing[0];
  // M8x1.25 with a cutter of 6: the centre runs on a radius of 1, at a quarter of the edge's feed.
  EXPECT_NEAR(m.cut.ring, 2 * pi * mm, 1e-12);
  EXPECT_NEAR(m.cut.centre_feed * 60, 150 * mm, 1e-9);
  EXPECT_NEAR(m.cut.lowest, (36 - 16) * mm, 1e-9);
  double turned = 0, risen = 0, z = 0;
  frame::Vec3 at;
  for (const Step& s : m.cut.steps) {
    const double r = std::hypot(s.x.value_or(at.x) - s.centre.x, s.y.value_or(at.y) - s.centre.y);
    if (s.what == Do::arc && std::fabs(r - 1 * mm) < 1e-9) {
      EXPECT_FALSE(s.clockwise);  // upwards and counter-clockwise: climbing, right-hand
      turned += 0.5;              // rings come in halves
      risen += *s.z - z;
    }
    if (s.x) at.x = *s.x;
    if (s.y) at.y = *s.y;
    if (s.z) z = *s.z;
  }
  EXPECT_NEAR(risen, turned * 1.25 * mm, 1e-9);
  EXPECT_GE(turned / 6, 16 / 1.25);  // six holes, sixteen deep, one row of teeth
}

TEST(Cuts, WhatThePlanDoesNotSayIsMissing) {
  const Made m = made("plan-0.toml", "OP20", "T19");
  EXPECT_TRUE(m.cut.steps.empty());
  EXPECT_EQ(m.cut.missing.size(), 3U);  // speed, feed, features
  const Made wide = made("plan-0.toml", "OP30", "T16", {{"radius = \"6 mm\"", "radius = \"4 mm\""}});
  ASSERT_EQ(wide.cut.missing.size(), 1U);
  EXPECT_NE(wide.cut.missing[0].find("smaller than"), std::string::npos);
}

}  // namespace
}  // namespace fettle::compose
