#include "maths/polygon.h"

#include <gtest/gtest.h>

#include <cmath>

namespace fettle::maths {
namespace {

const Polygon square = {{0, 0}, {2, 0}, {2, 2}, {0, 2}};

TEST(PolygonTest, Clip) {
  EXPECT_NEAR(area(clip(square, {1, 0, 0.5})), 1.0, 1e-15);
  EXPECT_NEAR(area(clip(square, {1, 1, 2})), 2.0, 1e-15);
  EXPECT_NEAR(area(clip(square, {3, 3, 6})), 2.0, 1e-15);  // length of the normal does not matter
  EXPECT_TRUE(clip(square, {1, 0, -0.1}).empty());
  EXPECT_EQ(clip(square, {1, 0, 5}), square);
  EXPECT_TRUE(clip(square, {0, 0, -1}).empty());
  EXPECT_TRUE(clip(square, {1, 0, std::nan("")}).empty());
}

TEST(PolygonTest, HalfPlanesAndIntersection) {
  const Polygon triangle = from_half_planes({{-1, 0, 0}, {0, -1, 0}, {1, 1, 1}}, 10);
  EXPECT_NEAR(area(triangle), 0.5, 1e-14);
  EXPECT_TRUE(from_half_planes({{1, 0, -1}, {-1, 0, -1}}, 10).empty());  // x <= -1 and x >= 1
  const Polygon moved = {{1, 1}, {3, 1}, {3, 3}, {1, 3}};
  EXPECT_NEAR(area(intersection(square, moved)), 1.0, 1e-15);
  EXPECT_TRUE(intersection(square, {{5, 5}, {6, 5}, {6, 6}}).empty());
  EXPECT_TRUE(intersection(square, {}).empty());
}

TEST(PolygonTest, HullAreaCentroid) {
  const Polygon hull = convex_hull({{0, 0}, {1, 1}, {2, 0}, {2, 2}, {0, 2}, {1, 0}, {2, 2}});
  EXPECT_EQ(hull, square);
  EXPECT_NEAR(centroid(square).x, 1, 1e-15);
  EXPECT_NEAR(centroid({{0, 0}, {3, 0}, {0, 3}}).y, 1, 1e-15);
  EXPECT_EQ(convex_hull({{1, 1}, {1, 1}}).size(), 1u);
  EXPECT_LT(convex_hull({{0, 0}, {1, 1}, {2, 2}}).size(), 3u);
}

TEST(PolygonTest, ContainsFarthestSupport) {
  EXPECT_TRUE(contains(square, {1, 1}));
  EXPECT_TRUE(contains(square, {2, 2}));
  EXPECT_FALSE(contains(square, {2.001, 1}));
  EXPECT_TRUE(contains(square, {2.001, 1}, 0.01));
  EXPECT_FALSE(contains(square, {std::nan(""), 1}));
  const auto far = farthest_vertex(square, {0.5, 0.5});
  ASSERT_TRUE(far.has_value());
  EXPECT_EQ(far->vertex, 2u);
  EXPECT_NEAR(far->distance, std::sqrt(4.5), 1e-15);
  EXPECT_FALSE(farthest_vertex({}, {}).has_value());
  EXPECT_NEAR(support(square, 1, -1), 2, 1e-15);
  EXPECT_TRUE(std::isinf(support({}, 1, 0)));
}

}  // namespace
}  // namespace fettle::maths
