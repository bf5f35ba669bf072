#include "calc/structure/felt.h"

#include <gtest/gtest.h>

#include <cmath>

#include "calc/structure/at_rest.h"
#include "calc/structure/bow.h"
#include "calc/structure/pallet_for_tests.h"
#include "calc/structure/plate.h"

namespace fettle::structure {
namespace {

Inputs slotted() {
  Inputs in = test::pallet();
  in.columns = 20, in.rows = 16;
  in.want_error = in.want_shapes = false;
  in.parts[1].turn = 0.4;
  in.plate.reliefs.push_back({false, false, 0, 0, 0.03, 0.2, 0, 0, 0.01});
  test::add_points_on_parts(in, 9);
  return in;
}

// The full model, asked point by point, is the other way to the same numbers.
TEST(Felt, SaysOfPointsWhatTheFullModelSays) {
  for (const bool bonded : {false, true}) {
    Inputs in = slotted();
    in.bonded = bonded;
    const Felt f = felt(in);
    ASSERT_TRUE(f.ok) << f.why;
    const Result full = solve(in), got = result_of(f, in);
    ASSERT_TRUE(full.ok && got.ok);
    EXPECT_NEAR(f.residual, full.residual, 1e-9) << "that of the modes, which is the larger";
    EXPECT_EQ(got.frequencies, full.frequencies);
    EXPECT_EQ(got.plate_mass, full.plate_mass);
    EXPECT_NEAR(got.total_mass, full.total_mass, 1e-12 * full.total_mass);
    ASSERT_EQ(got.points.size(), full.points.size());
    for (std::size_t p = 0; p < full.points.size(); ++p) {
      const auto want = maths::static_compliance(full.points[p]), have = maths::static_compliance(got.points[p]);
      const double size = want[0] + want[4] + want[8];
      for (std::size_t k = 0; k < 9; ++k) {
        EXPECT_NEAR(have[k], want[k], 1e-11 * size) << p << " " << k;
        EXPECT_NEAR(got.points[p].residual[k], full.points[p].residual[k], 1e-11 * size) << p << " " << k;
      }
      for (std::size_t m = 0; m < full.points[p].modes.size(); ++m) {
        const frame::Vec3 a = got.points[p].modes[m].shape, b = full.points[p].modes[m].shape;
        EXPECT_NEAR(frame::norm(a - b), 0, 1e-11 * (1 + frame::norm(b))) << p << " " << m;
        EXPECT_EQ(got.points[p].modes[m].damping, in.damping);
      }
    }
  }
}

TEST(Felt, FewerModesLeaveMoreInTheResidual) {
  const Inputs in = slotted();
  const Felt f = felt(in);
  ASSERT_TRUE(f.ok);
  const auto all = maths::static_compliance(response_at(f, in.points[3], 16, 0.02));
  for (const int modes : {0, 5, 40}) {
    const maths::PointResponse r = response_at(f, in.points[3], modes, 0.02);
    EXPECT_EQ(r.modes.size(), static_cast<std::size_t>(std::min(modes, 16)));
    const auto some = maths::static_compliance(r);
    for (std::size_t k = 0; k < 9; ++k) EXPECT_NEAR(some[k], all[k], 1e-11 * (all[0] + all[4] + all[8]));
  }
}

// What moves neither the plate nor what it carries: the points and the damping.
TEST(Felt, PointsAndDampingDoNotMatter) {
  Inputs in = slotted(), other = in;
  other.points.clear();
  other.damping = 0.1;
  const Felt a = felt(in), b = felt(other);
  EXPECT_EQ(a.lambda, b.lambda);
  ASSERT_EQ(a.parts.size(), b.parts.size());
  for (std::size_t p = 0; p < a.parts.size(); ++p) {
    EXPECT_EQ(a.parts[p].give, b.parts[p].give);
    EXPECT_EQ(a.parts[p].swing, b.parts[p].swing);
  }
}

TEST(Felt, AtRestTheFactoredPlateSaysTheSame) {
  AtRestInputs in;
  in.plate = slotted();
  in.parts = true;
  const Felt f = felt(in.plate);
  const AtRest r = at_rest(in);
  ASSERT_TRUE(r.ok) << r.why;
  const auto parts = parts_with(r, r.up, r.side);
  ASSERT_EQ(parts.size(), f.parts.size());
  EXPECT_TRUE(give_with(r, r.up, r.side).empty()) << "parts were asked, not points";
  for (std::size_t p = 0; p < parts.size(); ++p)
    for (std::size_t i = 0; i < 6; ++i)
      for (std::size_t j = 0; j < 6; ++j) {
        const double size = std::sqrt(f.parts[p].give[7 * i] * f.parts[p].give[7 * j]);
        EXPECT_NEAR(parts[p][6 * i + j], f.parts[p].give[6 * i + j], 1e-11 * size);
      }
  in.parts = false;
  const AtRest points = at_rest(in);
  EXPECT_TRUE(parts_with(points, points.up, points.side).empty());
  // Other anchors: by the parts' motions the points give as they do when they are asked themselves.
  std::vector<double> up = r.up, side = r.side;
  for (double& k : up) k *= 0.5;
  for (double& k : side) k *= 1.7;
  const auto asked = give_with(points, up, side);
  const auto moved = parts_with(r, up, side);
  for (std::size_t p = 0; p < asked.size(); ++p) {
    const Point& q = in.plate.points[p];
    const auto part = static_cast<std::size_t>(q.part);
    const auto got = give_at(moved[part], r.middle[part][0], r.middle[part][1], q.at);
    for (std::size_t k = 0; k < 9; ++k) EXPECT_NEAR(got[k], asked[p][k], 1e-11 * (asked[p][0] + asked[p][4]));
  }
}

TEST(Felt, WhatCannotBeIsRefused) {
  Inputs in = slotted();
  in.anchors.clear();
  EXPECT_FALSE(felt(in).ok) << "nothing holds it";
  EXPECT_FALSE(result_of(felt(in), in).ok);
  AtRestInputs rest;
  BowInputs bent;
  rest.plate = bent.plate = in;
  const Factored loose(in);  // all who share it say why in its words
  EXPECT_EQ(loose.why(), nothing_holds);
  EXPECT_EQ(felt(loose, 4).why, nothing_holds);
  EXPECT_EQ(at_rest(loose, rest).why, nothing_holds);
  EXPECT_EQ(bow(loose, bent).why, nothing_holds);
  in = slotted();
  in.plate.thickness = -1;
  EXPECT_FALSE(felt(in).ok);
  in = slotted();
  in.parts[0].x = 5;
  EXPECT_FALSE(felt(in).ok) << "a part off the plate";
  in = slotted();
  const Felt f = felt(in);
  in.points.push_back({{0, 0, 0}, -1});
  EXPECT_FALSE(result_of(f, in).ok) << "a point on no part";
}

}  // namespace
}  // namespace fettle::structure
