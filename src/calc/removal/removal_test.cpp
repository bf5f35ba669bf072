#include "calc/removal/removal.h"

#include <gtest/gtest.h>

#include <cmath>

#include "maths/random.h"
#include "published.h"

namespace fettle::removal {
namespace {

using frame::Vec3;
using test::How;
using test::published;

constexpr double pi = 3.14159265358979323846, mm = 1e-3, degree = pi / 180;

Field block(double x, double y, double height, double cell = 0.25 * mm) {
  const Outcome<Field> f = make_field(-0.5 * x, -0.5 * y, 0.5 * x, 0.5 * y, cell, height);
  EXPECT_TRUE(f.ok());
  return *f;
}
Cutter flat(double d) { return {d, 0, 0, 0, 0}; }

TEST(Removal, SlotAlongTheGrid) {
  Field f = block(300 * mm, 60 * mm, 10 * mm);
  const double before = metal(f, 0);
  double area = 0, volume = 0;
  for (int i = 0; i < 400; ++i) {
    const Bite b = cut(f, flat(16 * mm), {(-100 + 0.5 * i) * mm, 0, 6 * mm}, {(-100 + 0.5 * (i + 1)) * mm, 0, 6 * mm});
    area += b.area;
    volume += b.volume;
  }
  // 200 mm of slot and one disc; feasibility measured 3200.00 for the slot alone.
  const double exact = 200.0 * 16 + pi * 64;
  published("removal", "slot along the grid, area, mm2", "length x diameter + circle", How::exact, exact, area * 1e6,
            3);
  published("removal", "slot along the grid, volume over area, mm", "depth of the slot", How::exact, 4,
            volume / area * 1e3, 1e-9);
  published("removal", "metal before less metal after, mm3", "what the moves say they took", How::exact, volume * 1e9,
            (before - metal(f, 0)) * 1e9, 1e-6);
}

TEST(Removal, PlungedDisc) {
  Field f = block(60 * mm, 60 * mm, 10 * mm);
  const Bite b = cut(f, flat(16 * mm), {0.06 * mm, 0.11 * mm, 20 * mm}, {0.06 * mm, 0.11 * mm, 5 * mm});
  published("removal", "plunged disc, area, mm2", "circle of 16 mm; half a per cent for cells of 0.25 mm", How::exact,
            pi * 64, b.area * 1e6, 0.005 * pi * 64);
  EXPECT_NEAR(b.deepest, 5 * mm, 1e-12);
  EXPECT_NEAR(b.arc, 2 * pi, 1e-12);
}

TEST(Removal, ObliqueSlotIsAsWideAsTheCutter) {
  Field f = block(200 * mm, 200 * mm, 10 * mm);
  const double turn = 0.5;
  const Vec3 u{std::cos(turn), std::sin(turn), 0};
  double area = 0, narrow = 1, wide = 0;
  Vec3 at = -80 * mm * u + Vec3{0, 0, 8 * mm};
  cut(f, flat(16 * mm), at, at);
  for (int i = 0; i < 80; ++i) {
    const Vec3 next = at + 2 * mm * u;
    const Bite b = cut(f, flat(16 * mm), at, next);
    area += b.area;
    narrow = std::min(narrow, b.area / (2 * mm));
    wide = std::max(wide, b.area / (2 * mm));
    EXPECT_NEAR(b.arc, pi, 2.5 * degree);
    at = next;
  }
  published("removal", "oblique slot, mean width, mm", "the cutter's diameter", How::exact, 16, area / 0.16 * 1e3,
            0.05);
  EXPECT_GT(narrow, 15.5 * mm);
  EXPECT_LT(wide, 16.5 * mm);
}

TEST(Removal, ObliqueStepOver) {
  Field f = block(200 * mm, 200 * mm, 10 * mm);
  const double turn = 0.7;
  const Vec3 u{std::cos(turn), std::sin(turn), 0}, left{-u.y, u.x, 0};
  const Vec3 base = -60 * mm * u + Vec3{0, 0, 5 * mm};
  cut(f, flat(16 * mm), base - 20 * mm * u, base + 130 * mm * u);
  double area = 0, arc = 0, entry = 0, exit = 0;
  Vec3 at = base - 4 * mm * left;  // the metal is on the right: down milling
  cut(f, flat(16 * mm), at, at);
  for (int i = 0; i < 100; ++i) {
    const Vec3 next = at + 1 * mm * u;
    const Bite b = cut(f, flat(16 * mm), at, next);
    at = next;
    if (i < 20) continue;
    area += b.area;
    arc += b.arc / 80;
    entry += b.entry / 80;
    exit += b.exit / 80;
  }
  published("removal", "step-over of 4 mm at an angle, mean width, mm", "the step", How::exact, 4, area / 0.080 * 1e3,
            0.1);
  published("removal", "engaged arc at a quarter of the diameter, deg", "acos(1 - 2 x 4/16)", How::exact, 60,
            arc / degree, 2.5);
  EXPECT_NEAR(straight_arc(16 * mm, 4 * mm), 60 * degree, 1e-12);
  EXPECT_NEAR(entry, 120 * degree, 4 * degree);
  EXPECT_NEAR(exit, pi, 1e-9);
}

TEST(Removal, ShortMovesSeeTheSameArcAsLongOnes) {
  for (const double step : {0.5, 2.0, 8.0}) {
    Field f = block(120 * mm, 80 * mm, 10 * mm);
    cut(f, flat(16 * mm), {-70 * mm, 0, 5 * mm}, {70 * mm, 0, 5 * mm});
    double arc = 0;
    int n = 0;
    for (double x = -70; x + step < 30; x += step) {
      const Bite b = cut(f, flat(16 * mm), {x * mm, 6.15 * mm, 5 * mm}, {(x + step) * mm, 6.15 * mm, 5 * mm});
      if (x > -40) arc += b.arc, ++n;
    }
    EXPECT_NEAR(arc / n, straight_arc(16 * mm, 6.15 * mm), 2.5 * degree) << step;
  }
}

/// The slow way: every cell, the way in very many places.
double by_hand(const std::vector<std::int32_t>& before, std::vector<std::int32_t>& after, const Field& f,
               const Cutter& c, Vec3 a, Vec3 b, int n) {
  std::int64_t sum = 0;
  for (int row = 0; row < f.rows; ++row)
    for (int column = 0; column < f.columns; ++column) {
      double low = 1;
      for (int k = 0; k <= n; ++k) {
        const Vec3 p = a + (static_cast<double>(k) / n) * (b - a);
        const double dx = f.x(column) - p.x, dy = f.y(row) - p.y, r = std::sqrt(dx * dx + dy * dy);
        if (r <= 0.5 * c.diameter) low = std::min(low, p.z + rise(c, r));
      }
      const std::size_t i = f.index(column, row);
      const std::int32_t z = grains(low);
      if (z >= before[i]) continue;
      sum += before[i] - z;
      after[i] = z;
    }
  return static_cast<double>(sum) * grain * f.cell * f.cell;
}

TEST(Removal, RandomMovesAgainstEveryCellByHand) {
  std::uint32_t drawn = 0;
  const auto uniform = [&drawn] { return maths::uniform(7, 0, drawn++); };
  for (int k = 0; k < 30; ++k) {
    Field f = block(12 * mm, 12 * mm, 5 * mm);
    std::vector<std::int32_t> slow = f.top;
    for (int m = 0; m < 3; ++m) {
      Cutter c = flat((1 + 5 * uniform()) * mm);
      if (k % 3 == 1) c.corner = 0.5 * c.diameter * uniform();
      if (k % 3 == 2) c.angle = 90 * degree, c.flat = 0.3 * c.diameter;
      const auto place = [&] {
        return Vec3{(uniform() - 0.5) * 14 * mm, (uniform() - 0.5) * 14 * mm, uniform() * 6 * mm};
      };
      const Vec3 a = place();
      Vec3 b = place();
      if (m == 0) b.z = a.z;
      const std::vector<std::int32_t> before = slow;
      const double hand = by_hand(before, slow, f, c, a, b, 600);
      const Bite fast = cut(f, c, a, b);
      EXPECT_NEAR(fast.volume, hand, 0.004 * hand + 2e-12) << k;
    }
    int off = 0;
    for (std::size_t i = 0; i < slow.size(); ++i)
      off += std::abs(slow[i] - f.top[i]) > 200;  // 20 µm: the slow way's steps
    EXPECT_LT(off, 12) << k;
  }
}

TEST(Removal, BallAndPoint) {
  Field f = block(30 * mm, 30 * mm, 10 * mm, 0.1 * mm);
  const Bite ball = cut(f, {10 * mm, 5 * mm, 0, 0, 0}, {0, 0, 20 * mm}, {0, 0, 7 * mm});
  published("removal", "cap left by a ball of 10 mm, 3 mm deep, mm3", "pi h2 (R - h/3)", How::exact, pi * 9 * (5 - 1),
            ball.volume * 1e9, 0.3);
  Field g = block(30 * mm, 30 * mm, 10 * mm, 0.1 * mm);
  Cutter drill = flat(10 * mm);
  drill.angle = 118 * degree;
  const Bite hole = cut(g, drill, {0, 0, 20 * mm}, {0, 0, 0});
  const double tip = 5 / std::tan(59 * degree);
  published("removal", "hole of a drill of 10 mm with a point of 118 deg, mm3", "cylinder less two thirds of the tip",
            How::exact, pi * 25 * (10 - tip + tip / 3), hole.volume * 1e9, 3);
}

TEST(Removal, RampTakesTheWedge) {
  Field f = block(80 * mm, 40 * mm, 10 * mm);
  cut(f, flat(10 * mm), {-20 * mm, 0, 10 * mm}, {20 * mm, 0, 6 * mm});
  // On the axis the trailing edge of the disc passes last, so a place is as deep as the tip gets while over it.
  const std::size_t middle = f.index(160, 80);
  EXPECT_NEAR(f.top[middle] * grain, 10 * mm - (20.125 + 5) * mm * 0.1, 0.02 * mm);
}

TEST(Removal, ArcTakesTheRing) {
  Field f = block(100 * mm, 100 * mm, 10 * mm);
  program::Move m;
  m.kind = program::Motion::counter;
  m.start = m.end = {30 * mm, 0, 4 * mm};
  ASSERT_NEAR(program::sweep(m), 2 * pi, 1e-9);
  const Bite b = cut(f, flat(10 * mm), m);
  published("removal", "full ring of a 10 mm cutter on a circle of 60 mm, mm2", "pi (35^2 - 25^2)", How::exact,
            pi * (35 * 35 - 25 * 25), b.area * 1e6, 4);
  EXPECT_NEAR(b.arc, pi, 3 * degree);
}

TEST(Removal, GrooveUnderTheEdge) {
  // The demo's groove: a cutter 35 x 2.5 twice on a circle, in a bore of 50, to 54 wide and 3.7 high.
  Field f = block(80 * mm, 80 * mm, 36 * mm, 0.2 * mm);
  cut(f, flat(50 * mm), {0, 0, 40 * mm}, {0, 0, 18 * mm});
  const Cutter disc{35 * mm, 0, 0, 0, 2.5 * mm};
  double volume = 0;
  for (const double z : {27.15, 28.35}) {
    program::Move m;
    m.kind = program::Motion::counter;
    m.start = m.end = {9.5 * mm, 0, z * mm};
    const Bite b = cut(f, disc, m);
    EXPECT_FALSE(b.beyond);
    volume += b.volume;
  }
  published("removal", "ring groove 50 to 54 mm, 3.70 mm high, mm3", "pi/4 (54^2 - 50^2) 3.7", How::exact,
            pi / 4 * (54 * 54 - 50 * 50) * 3.7, volume * 1e9, 12);
  // What hangs over the groove stays, and the cutter, pulled up from the wall, would tear it off.
  const Touch up = touch(f, disc, {9.5 * mm, 0, 28 * mm}, {9.5 * mm, 0, 40 * mm}, 0.05 * mm);
  EXPECT_GT(up.deepest, 2 * mm);
  EXPECT_EQ(touch(f, disc, {0, 0, 28 * mm}, {0, 0, 40 * mm}, 0.05 * mm).cells, 0);
  // A second groove above the first is more than a column can say.
  EXPECT_TRUE(cut(f, disc, {9.5 * mm, 0, 33 * mm}, {9.5 * mm, 0.1 * mm, 33 * mm}).beyond);
  // A flat cutter opens the groove from above and takes no air.
  Field g = f;
  const double before = metal(g, 0);
  const Bite open = cut(g, flat(20 * mm), {20 * mm, 0, 26 * mm}, {20 * mm, 0, 26 * mm});
  EXPECT_NEAR(before - metal(g, 0), open.volume, 1e-13);
}

TEST(Removal, TouchSaysHowDeepAndWhere) {
  Field f = block(40 * mm, 40 * mm, 10 * mm);
  cut(f, flat(20 * mm), {0, 0, 2 * mm}, {0, 0, 2 * mm});
  EXPECT_EQ(touch(f, flat(19 * mm), {0, 0, 20 * mm}, {0, 0, 2 * mm}).cells, 0);
  const Touch t = touch(f, flat(19 * mm), {0, 0, 4 * mm}, {3 * mm, 0, 4 * mm});
  EXPECT_NEAR(t.deepest, 6 * mm, 1e-9);
  EXPECT_GT(std::hypot(t.at.x, t.at.y), 9.8 * mm);
  EXPECT_NEAR(t.at.z, 10 * mm, 1e-9);
  EXPECT_EQ(touch(f, flat(30 * mm), {0, 0, 9.99 * mm}, {3 * mm, 0, 9.99 * mm}, 0.02 * mm).cells, 0);
}

TEST(Removal, MovesOutsideTheFieldTakeNothing) {
  Field f = block(20 * mm, 20 * mm, 10 * mm);
  for (const Vec3 at : {Vec3{1, 0, 0}, Vec3{-1, 0, 0}, Vec3{0, 1, 0}, Vec3{0, -1, 0}, Vec3{0, 0, 0.5}})
    EXPECT_EQ(cut(f, flat(10 * mm), at, at + Vec3{0, 1 * mm, 0}).volume, 0);
  EXPECT_EQ(cut(f, flat(0), {0, 0, 0}, {1 * mm, 0, 0}).volume, 0);
  EXPECT_EQ(cut(f, flat(NAN), {0, 0, 0}, {1 * mm, 0, 0}).volume, 0);
  EXPECT_EQ(cut(f, flat(10 * mm), {NAN, 0, 0}, {1 * mm, 0, 0}).volume, 0);
}

TEST(Removal, WallArcs) {
  published("removal", "arc inside a wall of 50 mm, cutter 20, stock 2, cos", "triangle 15, 10, 23", How::exact, 0.68,
            std::cos(wall_arc(20 * mm, 2 * mm, {25 * mm, true})->arc), 1e-12);
  published("removal", "arc round a corner of 12 mm, cutter 16, stock 0.5, cos", "triangle 20, 8, 12.5", How::exact,
            307.75 / 320, std::cos(wall_arc(16 * mm, 0.5 * mm, {12 * mm, false})->arc), 1e-12);
  EXPECT_NEAR(wall_arc(16 * mm, 4 * mm, {})->arc, 60 * degree, 1e-12);
  EXPECT_NEAR(wall_arc(16 * mm, 4 * mm, {1e3, true})->arc, 60 * degree, 1e-4);
  EXPECT_NEAR(wall_arc(16 * mm, 4 * mm, {1e3, false})->arc, 60 * degree, 1e-4);
  EXPECT_FALSE(wall_arc(0, 0, {}).ok());
  EXPECT_FALSE(wall_arc(16 * mm, -1 * mm, {}).ok());
  EXPECT_FALSE(wall_arc(16 * mm, 16.1 * mm, {}).ok());
  EXPECT_FALSE(wall_arc(16 * mm, 1 * mm, {-1 * mm, true}).ok());
  EXPECT_FALSE(wall_arc(16 * mm, 1 * mm, {8 * mm, true}).ok());
  EXPECT_TRUE(wall_arc(16 * mm, 1 * mm, {8 * mm, false}).ok());
}

TEST(Removal, FieldAgreesWithTheWallArc) {
  // Inside a bore of 46 mm opened to 50 by a cutter of 20, in short straight moves.
  Field f = block(60 * mm, 60 * mm, 10 * mm, 0.1 * mm);
  cut(f, flat(46 * mm), {0, 0, 0}, {0, 0, 0});
  double arc = 0;
  int n = 0;
  const auto on = [](double phi) { return Vec3{15 * mm * std::cos(phi), 15 * mm * std::sin(phi), 0}; };
  for (double phi = 0; phi < 3; phi += 0.02) {
    const Bite b = cut(f, flat(20 * mm), on(phi), on(phi + 0.02));
    if (phi > 1.2) arc += b.arc, ++n;
  }
  EXPECT_NEAR(arc / n, wall_arc(20 * mm, 2 * mm, {25 * mm, true})->arc, 2 * degree);
}

TEST(Removal, RefusesFieldsThatAreNone) {
  EXPECT_TRUE(make_field(0, 0, 1, 1, 0.001, 0).ok());
  EXPECT_FALSE(make_field(0, 0, 1, 1, 0, 0).ok());
  EXPECT_FALSE(make_field(0, 0, 1, 1, NAN, 0).ok());
  EXPECT_FALSE(make_field(0, 0, 0, 1, 0.001, 0).ok());
  EXPECT_FALSE(make_field(0, 0, 1, -1, 0.001, 0).ok());
  EXPECT_FALSE(make_field(0, 0, 1, 1, 0.00005, 0).ok());
  EXPECT_FALSE(make_field(0, 0, 1, 1, 0.001, 101).ok());
}

}  // namespace
}  // namespace fettle::removal
