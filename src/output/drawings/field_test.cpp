#include "output/drawings/field.h"

#include <gtest/gtest.h>

#include <cmath>

namespace fettle::drawings {
namespace {

/// Values of a formula on a grid over [-1, 1] by [-1, 1].
template <class F>
Field field(int n, const F& f) {
  Field out{n, n, -1, -1, 2.0 / (n - 1), 2.0 / (n - 1), {}};
  for (int j = 0; j < n; ++j)
    for (int i = 0; i < n; ++i) out.value.push_back(f(-1 + out.step_x * i, -1 + out.step_y * j));
  return out;
}

TEST(Field, ValuesBetweenTheNodes) {
  const Field f = field(5, [](double x, double y) { return 3 + 2 * x - y; });
  EXPECT_NEAR(value_at(f, {0.3, -0.7}), 3 + 0.6 + 0.7, 1e-12);
  EXPECT_NEAR(value_at(f, {1, 1}), 4, 1e-12);
  EXPECT_TRUE(std::isnan(value_at(f, {1.1, 0})));
  EXPECT_TRUE(std::isnan(value_at(f, {NAN, 0})));
}

TEST(Field, ContourOfAPlaneIsStraightAndOfABumpIsRound) {
  const Field plane = field(9, [](double x, double) { return x; });
  const auto straight = contours(plane, 0.1);
  ASSERT_EQ(straight.size(), 1U);
  for (const Point& p : straight[0]) EXPECT_NEAR(p.x, 0.1, 1e-12);
  EXPECT_NEAR(std::fabs(straight[0].front().y - straight[0].back().y), 2, 1e-12);
  const Field bump = refined(field(21, [](double x, double y) { return std::hypot(x, y); }), 4);
  const auto round = contours(bump, 0.5);
  ASSERT_EQ(round.size(), 1U);
  EXPECT_NEAR(round[0].front().x, round[0].back().x, 1e-12) << "closed";
  EXPECT_NEAR(round[0].front().y, round[0].back().y, 1e-12);
  for (const Point& p : round[0]) EXPECT_NEAR(std::hypot(p.x, p.y), 0.5, 3e-3);
}

TEST(Field, ASaddleHangsTogetherAsItsMiddleSays) {
  // x y on a cell of four nodes: high at two opposite corners; the middle is 0.
  const Field f{2, 2, 0, 0, 1, 1, {1, -1, -1, 1}};
  // Below the middle the two high corners hang together: each line turns about a low corner.
  for (const auto& line : contours(f, -0.5)) {
    const Point mid{0.5 * (line.front().x + line.back().x), 0.5 * (line.front().y + line.back().y)};
    EXPECT_LT(std::min(std::hypot(mid.x - 1, mid.y), std::hypot(mid.x, mid.y - 1)), 0.25);
  }
  for (const auto& line : contours(f, 0.5)) {
    const Point mid{0.5 * (line.front().x + line.back().x), 0.5 * (line.front().y + line.back().y)};
    EXPECT_LT(std::min(std::hypot(mid.x, mid.y), std::hypot(mid.x - 1, mid.y - 1)), 0.25);
  }
  EXPECT_EQ(contours(f, 0.5).size(), 2U);
}

TEST(Field, FinerKeepsTheNodesAndAPlane) {
  const Field f = field(6, [](double x, double y) { return x * x * x - y; });
  const Field fine = refined(f, 3);
  EXPECT_EQ(fine.columns, 16);
  for (int j = 0; j < 6; ++j)
    for (int i = 0; i < 6; ++i)
      EXPECT_NEAR(fine.value[static_cast<std::size_t>(3 * j * 16 + 3 * i)],
                  f.value[static_cast<std::size_t>(6 * j + i)], 1e-12);
  const Field plane = refined(field(4, [](double x, double y) { return x + 2 * y; }), 5);
  for (double x : {-0.9, 0.0, 0.77}) EXPECT_NEAR(value_at(plane, {x, 0.31}), x + 0.62, 1e-12);
}

TEST(Field, WhereThereIsNoNumberNothingIsDrawn) {
  Field f = field(9, [](double x, double y) { return x > 0.3 && y > 0.3 ? NAN : x; });
  for (const auto& line : contours(f, 0.6))
    for (const Point& p : line) EXPECT_LT(p.y, 0.3);
  const Range r = range_of(f);
  EXPECT_TRUE(r.there);
  EXPECT_NEAR(r.low, -1, 1e-12);
  for (double& v : f.value) v = NAN;
  EXPECT_FALSE(range_of(f).there);
  EXPECT_TRUE(contours(f, 0).empty());
  EXPECT_TRUE(strokes_above(f, 0, {10, {0, 0}}, {1, 1, 0, false}).steps().empty());
  EXPECT_FALSE(whole({}));
  EXPECT_FALSE(whole({2, 2, 0, 0, 1, 1, {1, 2, 3}}));
  EXPECT_FALSE(whole({2, 2, 0, 0, 0, 1, {1, 2, 3, 4}}));
}

TEST(Field, BesideAnOutlineTheNearestNodesSpeak) {
  Field f = field(5, [](double x, double y) { return x > 0.6 && y > 0.6 ? NAN : 2 * x; });
  EXPECT_TRUE(std::isnan(value_at(f, {0.9, 0.9})));
  EXPECT_NEAR(value_near(f, {0.9, 0.6}), 2, 1e-12);
  EXPECT_NEAR(value_near(f, {0.2, 0.2}), 0.4, 1e-12);
  EXPECT_TRUE(std::isnan(value_near(f, {NAN, 0})));
  const Field all = filled(f, 1);
  EXPECT_NEAR(all.value.back(), (1 + 2 + 1) / 3.0, 1e-12);
  EXPECT_EQ(all.value.front(), f.value.front());
  EXPECT_TRUE(std::isnan(filled(f, 0).value.back()));
}

double length_of(const Path& path) {
  double sum = 0;
  Point from;
  for (const Path::Step& s : path.steps()) {
    if (s.kind == Path::Step::Kind::line) sum += std::hypot(s.p.x - from.x, s.p.y - from.y);
    from = s.p;
  }
  return sum;
}

TEST(Field, StrokesLieWhereItIsMoreAndEachSetDoublesTheOneBefore) {
  const Field f = field(3, [](double x, double) { return x; });
  const Scale scale{20, {0, 0}};
  const Path above = strokes_above(f, 0.25, scale, {0.8, 1, 0, false});
  for (const Path::Step& s : above.steps()) EXPECT_GE(s.p.x, 5 - 0.01);
  // Length of strokes on an area is area over gap.
  const double all = length_of(strokes_above(f, -2, scale, {0.8, 1, 0, false}));
  EXPECT_NEAR(all, 40 * 40 / 0.8, 0.02 * 40 * 40 / 0.8);
  const double half = length_of(strokes_above(f, 0, scale, {0.8, 1, 0, false}));
  EXPECT_NEAR(half, 0.5 * all, 0.02 * all);
  const double every_second = length_of(strokes_above(f, -2, scale, {0.8, 2, 0, false})),
               between = length_of(strokes_above(f, -2, scale, {0.8, 1, 2, false}));
  EXPECT_NEAR(every_second + between, all, 1e-6 * all);
  EXPECT_NEAR(length_of(strokes_above(f, -2, scale, {0.8, 1, 0, true})), all, 0.02 * all);
}

}  // namespace
}  // namespace fettle::drawings
