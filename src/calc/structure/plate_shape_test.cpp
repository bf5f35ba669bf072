// Plates that are no plain rectangles on edges: point supports, outlines, pockets, patches.
#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "calc/structure/pallet_for_tests.h"
#include "calc/structure/plate.h"
#include "published.h"

namespace fettle::structure {
namespace {

using fettle::test::How;
using fettle::test::published;

constexpr double pi = 3.14159265358979323846;

Inputs square(double thickness, int n) {
  Inputs in;
  in.plate.length = in.plate.width = 1;
  in.plate.thickness = thickness;
  in.plate.metal = {200e9, 0.3, 8000, 12e-6};
  in.columns = in.rows = n;
  in.in_plane = false;
  in.modes = 10;
  in.want_error = in.want_shapes = false;
  return in;
}
/// omega a^2 sqrt(rho h / D), a = 1 m.
double parameter(const Inputs& in, double hertz) {
  const double d =
      in.plate.metal.modulus * std::pow(in.plate.thickness, 3) / 12 / (1 - std::pow(in.plate.metal.poisson, 2));
  return 2 * pi * hertz * std::sqrt(in.plate.metal.density * in.plate.thickness / d);
}
void at_corners(Inputs& in, double patch, double up) {
  const double e = 0.5 - patch / 2;
  for (double x : {-e, e})
    for (double y : {-e, e}) in.anchors.push_back({x, y, patch, up, 0});
}

TEST(PlateShapes, ThinSquareOnFourCorners) {
  const std::array<double, 7> expected = {7.1109, 15.7702, 15.7702, 19.5961, 38.4315, 44.3696, 50.3766};
  Inputs in = square(0.01, 64);
  in.shear_flexible = false;
  at_corners(in, 0, 1e11);
  const Result r = solve(in);
  ASSERT_TRUE(r.ok) << r.why;
  for (std::size_t k = 0; k < expected.size(); ++k)
    published("structure", "thin square on its corners, omega a2 sqrt(rho h/D), mode " + std::to_string(k + 1),
              "Leissa 1969 and Kim & Dickinson 1987, point-supported plates, as recomputed by a converged Ritz series",
              How::computed, expected[k], parameter(in, r.frequencies[k]), 0.002 * expected[k]);
  published("structure", "thin square on its corners, first, printed", "Leissa, NASA SP-160, 1969, from memory",
            How::from_memory, 7.117, parameter(in, r.frequencies[0]), 0.002 * 7.117);
}

// A shear-flexible plate has no answer on points: it goes on falling with the mesh. On patches it settles.
TEST(PlateShapes, PointsDoNotHoldAShearFlexiblePlateButPatchesDo) {
  std::array<double, 3> point{}, patch{};
  for (std::size_t k = 0; k < 3; ++k) {
    const int n = 24 << k;
    Inputs a = square(0.1, n), b = square(0.1, n);
    at_corners(a, 0, 1e14);
    at_corners(b, 0.2, 1e10);
    a.modes = b.modes = 2;
    const Result p = solve(a), q = solve(b);
    ASSERT_TRUE(p.ok && q.ok) << p.why << q.why;
    point[k] = parameter(a, p.frequencies[0]), patch[k] = parameter(b, q.frequencies[0]);
  }
  EXPECT_GT(point[1] - point[2], 0.6 * (point[0] - point[1])) << "halving the mesh takes nearly as much again";
  EXPECT_GT(point[1] - point[2], 0.005 * point[1]);
  EXPECT_LT(std::fabs(patch[1] - patch[2]), 0.4 * std::fabs(patch[0] - patch[1]));
  EXPECT_LT(std::fabs(patch[1] - patch[2]), 0.002 * patch[1]);
}

/// Free thin round plate, radius 1, n nodal diameters: the least root of the frequency equation near `guess`, squared.
double round_plate(int n, double low, double high) {
  constexpr double nu = 0.3;
  const auto equation = [&](double x) {
    const auto edge = [&](double w, double slope, double sign) {  // bending and shear at the rim of J (1) or I (-1)
      const double w1 = x * slope, w2 = x * x * (-slope / x + (n * n / (x * x) - sign) * w), dlap = -sign * x * x * w1;
      return std::array<double, 2>{w2 + nu * (w1 - n * n * w), dlap - (1 - nu) * n * n * (w1 - w)};
    };
    const double j = std::cyl_bessel_j(n, x), i = std::cyl_bessel_i(n, x);
    const double dj =
        n == 0 ? -std::cyl_bessel_j(1, x) : (std::cyl_bessel_j(n - 1, x) - std::cyl_bessel_j(n + 1, x)) / 2;
    const double di =
        n == 0 ? std::cyl_bessel_i(1, x) : (std::cyl_bessel_i(n - 1, x) + std::cyl_bessel_i(n + 1, x)) / 2;
    const auto a = edge(j, dj, 1), b = edge(i, di, -1);
    return a[0] * b[1] - a[1] * b[0];
  };
  const bool rises = equation(high) > 0;
  for (int k = 0; k < 60; ++k) {
    const double middle = (low + high) / 2;
    ((equation(middle) > 0) == rises ? high : low) = middle;
  }
  return low * low;
}

TEST(PlateShapes, ARoundPlateOnASquareGrid) {
  Inputs in = square(0.02, 56);
  in.shear_flexible = false;
  constexpr int corners = 180;
  for (int k = 0; k < corners; ++k)
    in.plate.outline.push_back({std::cos(2 * pi * k / corners), std::sin(2 * pi * k / corners)});
  const Result r = solve(in);
  ASSERT_TRUE(r.ok) << r.why;
  published("structure", "mass of a round plate, kg", "pi r2 h rho: closed form", How::exact, pi * 0.02 * 8000,
            r.plate_mass, 0.005 * pi * 0.02 * 8000);
  const char* source = "thin free round plate, root of its frequency equation in Bessel functions (closed form)";
  const std::array<double, 3> expected = {round_plate(2, 2, 2.6), round_plate(0, 2.7, 3.3), round_plate(3, 3.2, 3.9)};
  const std::array<std::size_t, 3> mode = {3, 5, 6};
  for (std::size_t k = 0; k < 3; ++k)
    published("structure",
              "free round plate cut from a square grid, omega r2 sqrt(rho h/D), mode " + std::to_string(k + 1), source,
              How::exact, expected[k], parameter(in, r.frequencies[mode[k]]), 0.005 * expected[k]);
}

TEST(PlateShapes, APocketAllOverIsAThinnerPlate) {
  Inputs pocket = square(0.05, 16), thin = square(0.04, 16);
  pocket.in_plane = thin.in_plane = true;
  Relief all;
  all.size_x = all.size_y = 3, all.depth = 0.01;
  pocket.plate.reliefs = {all};
  const Result a = solve(pocket), b = solve(thin);
  ASSERT_TRUE(a.ok && b.ok) << a.why << b.why;
  EXPECT_NEAR(a.plate_mass, b.plate_mass, 1e-9 * b.plate_mass);
  for (std::size_t k = 6; k < 10; ++k) EXPECT_NEAR(a.frequencies[k], b.frequencies[k], 1e-6 * b.frequencies[k]) << k;
}

TEST(PlateShapes, ARibStiffensByMoreThanItsOwnBending) {
  Inputs plain = square(0.02, 24), ribbed = plain;
  plain.in_plane = ribbed.in_plane = true;
  plain.modes = ribbed.modes = 8;
  Relief rib;
  rib.size_x = 1, rib.size_y = 1.0 / 12, rib.depth = -0.04;
  ribbed.plate.reliefs = {rib};
  const Result a = solve(plain), b = solve(ribbed);
  ASSERT_TRUE(a.ok && b.ok) << a.why << b.why;
  // a beam of the plate's width with the rib below it, about its own middle, against the plain plate
  const double ap = 0.02, ar = 0.04 / 12, zr = -0.03, c = ar * zr / (ap + ar);
  const double i = 0.02 * 0.02 * 0.02 / 12 + ap * c * c + std::pow(0.04, 3) / 12 / 12 + ar * (zr - c) * (zr - c);
  EXPECT_GT(i, 2 * (0.02 * 0.02 * 0.02 / 12 + std::pow(0.04, 3) / 12 / 12)) << "the offset is most of it";
  // along the rib the plate cannot take part in full over its whole width, so the rise lies between
  double highest = 0;
  for (std::size_t k = 6; k < 8; ++k) highest = std::max(highest, b.frequencies[k] / a.frequencies[k]);
  EXPECT_GT(highest, 1.0);
  EXPECT_NEAR(b.plate_mass - a.plate_mass, 0.04 / 12 * 8000, 1e-6 * a.plate_mass);
}

TEST(PlateShapes, AMeshIsChosenForTheShareAskedFor) {
  Inputs in = test::pallet();
  const MeshChoice coarse = mesh_for(in, 0.01), fine = mesh_for(in, 0.001);
  ASSERT_TRUE(coarse.ok && fine.ok) << coarse.why << fine.why;
  EXPECT_LE(coarse.error, 0.01);
  EXPECT_LE(fine.error, 0.001);
  EXPECT_GT(fine.in.columns, coarse.in.columns);
  const MeshChoice none = mesh_for(in, 1e-9, 24);
  EXPECT_FALSE(none.ok);
  EXPECT_FALSE(none.why.empty());
}

TEST(PlateShapes, TurnedAndMirroredPalletsAnswerAlike) {
  Inputs in = test::pallet(), turned = test::pallet();
  in.parts.resize(1), turned.parts.resize(1);
  in.points = {{{0.03, 0.02, 0.05}, -1}};
  turned.points = {{{-0.02, 0.03, 0.05}, -1}};  // a quarter turn
  std::swap(turned.plate.length, turned.plate.width);
  std::swap(turned.columns, turned.rows);
  for (Anchor& a : turned.anchors) {
    const double x = a.x;
    a.x = -a.y, a.y = x;
  }
  for (Part& p : turned.parts) {
    const double x = p.x;
    p.x = -p.y, p.y = x, p.turn = pi / 2;
  }
  const Result a = solve(in), b = solve(turned);
  ASSERT_TRUE(a.ok && b.ok) << a.why << b.why;
  for (std::size_t k = 0; k < a.frequencies.size(); ++k)
    EXPECT_NEAR(a.frequencies[k], b.frequencies[k], 1e-7 * a.frequencies[k]);
  const auto x = maths::static_compliance(a.points[0]), y = maths::static_compliance(b.points[0]);
  EXPECT_NEAR(x[0], y[4], 1e-7 * x[0]);
  EXPECT_NEAR(x[4], y[0], 1e-7 * x[4]);
  EXPECT_NEAR(x[8], y[8], 1e-7 * x[8]);
  EXPECT_NEAR(x[2], y[5], 1e-7 * x[8]);
}

// Maxwell: what a patch of parts gives is symmetric, and no direction gives less than nothing.
TEST(PlateShapes, ComplianceIsSymmetricAndPositive) {
  Inputs in = test::pallet();
  test::add_points_on_parts(in, 8);
  test::add_points_on_plate(in, 8);
  const Result r = solve(in);
  ASSERT_TRUE(r.ok) << r.why;
  for (const auto& p : r.points) {
    const auto c = maths::static_compliance(p);
    EXPECT_DOUBLE_EQ(c[1], c[3]);
    for (double t = 0; t < 3; t += 0.3) {
      const frame::Vec3 d = {std::cos(t), std::sin(t) * std::cos(2 * t), std::sin(t) * std::sin(2 * t)};
      EXPECT_GT(maths::compliance_along(p, d), 0);
      const double left = p.residual[0] * d.x * d.x + p.residual[4] * d.y * d.y + p.residual[8] * d.z * d.z +
                          2 * (p.residual[1] * d.x * d.y + p.residual[2] * d.x * d.z + p.residual[5] * d.y * d.z);
      EXPECT_GT(left, -1e-14) << "what the modes left out cannot be negative";
    }
  }
}

// One point alone on a part and many on it take different ways to the same answer.
TEST(PlateShapes, SharedAndSingleSolutionsAgree) {
  Inputs one = test::pallet(), many = test::pallet();
  test::add_points_on_parts(many, 12);
  one.points = {many.points[5]};
  const Result a = solve(one), b = solve(many);
  ASSERT_TRUE(a.ok && b.ok);
  const auto x = maths::static_compliance(a.points[0]), y = maths::static_compliance(b.points[5]);
  for (std::size_t i = 0; i < 9; ++i) EXPECT_NEAR(x[i], y[i], 1e-9 * x[8]);
}

}  // namespace
}  // namespace fettle::structure
