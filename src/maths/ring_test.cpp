#include "maths/ring.h"

#include <gtest/gtest.h>

#include <cmath>

namespace fettle::maths {
namespace {

bool in(const Polygon& ring, Point2 p) {
  return in_ring(
      ring.size(), [&](std::size_t i) { return ring[i]; }, p);
}
Polygon turned_round(Polygon ring) { return {ring.rbegin(), ring.rend()}; }

TEST(Ring, inside_and_outside_of_a_ring_that_is_not_convex) {
  // a U: 3 wide, 3 high, its gap from x = 1 to 2 above y = 1
  const Polygon u = {{0, 0}, {3, 0}, {3, 3}, {2, 3}, {2, 1}, {1, 1}, {1, 3}, {0, 3}};
  for (const Polygon& ring : {u, turned_round(u)}) {
    EXPECT_TRUE(in(ring, {0.5, 2}));
    EXPECT_TRUE(in(ring, {2.5, 2}));
    EXPECT_TRUE(in(ring, {1.5, 0.5}));
    EXPECT_FALSE(in(ring, {1.5, 2}));   // in the gap
    EXPECT_FALSE(in(ring, {-0.5, 2}));  // four edges to the right
    EXPECT_FALSE(in(ring, {3.5, 1}));
    EXPECT_FALSE(in(ring, {1.5, 3.5}));
  }
}

TEST(Ring, of_the_rim_left_and_lower_edges_are_in) {
  const Polygon square = {{0, 0}, {2, 0}, {2, 2}, {0, 2}};
  for (const Polygon& ring : {square, turned_round(square)}) {
    EXPECT_TRUE(in(ring, {0, 1}));
    EXPECT_TRUE(in(ring, {1, 0}));
    EXPECT_FALSE(in(ring, {2, 1}));
    EXPECT_FALSE(in(ring, {1, 2}));
    EXPECT_TRUE(in(ring, {0, 0}));
    EXPECT_FALSE(in(ring, {2, 0}));
    EXPECT_FALSE(in(ring, {0, 2}));
    EXPECT_FALSE(in(ring, {2, 2}));
  }
}

TEST(Ring, tiles_hold_every_point_once) {
  // four triangles about (1, 1): points on the lines between them, its corners and its middle lie in one each
  const Point2 m{1, 1}, a{0, 0}, b{2, 0}, c{2, 2}, d{0, 2};
  const Polygon tiles[] = {{a, b, m}, {b, c, m}, {c, d, m}, {d, a, m}};
  for (int i = 0; i < 16; ++i)
    for (int k = 0; k < 16; ++k) {
      const Point2 p{i / 8.0, k / 8.0};
      int times = 0;
      for (const Polygon& t : tiles) times += in(t, p) ? 1 : 0;
      EXPECT_EQ(times, 1) << p.x << ", " << p.y;
    }
}

TEST(Ring, no_ring_and_no_number_hold_nothing) {
  EXPECT_FALSE(in({}, {0, 0}));
  EXPECT_FALSE(in({{0, 0}, {1, 0}}, {0.5, 0}));
  EXPECT_FALSE(in({{0, 0}, {2, 0}, {2, 2}, {0, 2}}, {std::nan(""), 1}));
  EXPECT_FALSE(in({{0, 0}, {2, 0}, {2, 2}, {0, 2}}, {1, std::nan("")}));
}

}  // namespace
}  // namespace fettle::maths
