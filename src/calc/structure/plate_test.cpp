#include "calc/structure/plate.h"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "published.h"

namespace fettle::structure {
namespace {

using test::How;
using test::published;

constexpr double pi = 3.14159265358979323846;

Inputs plate(double length, double width, double thickness, Metal metal, int columns, int rows, Edge edge) {
  Inputs in;
  in.plate.length = length, in.plate.width = width, in.plate.thickness = thickness;
  in.plate.metal = metal;
  in.columns = columns, in.rows = rows;
  in.edges = {edge, edge, edge, edge};
  in.in_plane = false;
  in.modes = 12;
  in.want_error = false;
  in.want_shapes = false;
  return in;
}
Inputs square(double thickness, int n, Edge edge) {
  return plate(1, 1, thickness, {200e9, 0.3, 8000, 12e-6}, n, n, edge);
}
double bending_stiffness(const Plate& p) {
  return p.metal.modulus * std::pow(p.thickness, 3) / 12 / (1 - p.metal.poisson * p.metal.poisson);
}
/// omega a^2 sqrt(rho h / D)
double parameter(const Inputs& in, double hertz) {
  return 2 * pi * hertz * in.plate.length * in.plate.length *
         std::sqrt(in.plate.metal.density * in.plate.thickness / bending_stiffness(in.plate));
}
void modes(const std::string& name, const std::string& source, How how, const Inputs& in, std::size_t skip,
           const std::vector<double>& expected, double share) {
  const Result r = solve(in);
  ASSERT_TRUE(r.ok) << r.why;
  EXPECT_LE(r.residual, 1e-3);
  for (std::size_t i = 0; i < skip; ++i) EXPECT_LT(parameter(in, r.frequencies[i]), 0.2) << "rigid motion " << i;
  for (std::size_t i = 0; i < expected.size(); ++i)
    published("structure", name + ", mode " + std::to_string(i + 1), source, how, expected[i],
              parameter(in, r.frequencies[skip + i]), share * expected[i]);
}

TEST(PlateModes, FreeSquareThin) {
  Inputs in = square(0.01, 48, Edge::free);
  in.shear_flexible = false;
  modes("free square, omega a2 sqrt(rho h/D)",
        "Leissa 1973, J. Sound Vib. 31, FFFF, nu 0.3, as recomputed by a converged Ritz series", How::computed, in, 3,
        {13.4682, 19.5961, 24.2702, 34.8009, 34.8009, 61.0932}, 0.005);
}

// Sizes and stiffness only scale a free plate: rounding must not decide whether it is held.
TEST(PlateModes, FreePlatesScale) {
  for (double share : {0.005, 0.02, 0.06})
    for (double poisson : {0.0005, 0.3}) {
      double first = 0;
      for (double side : {0.1, 1.0, 10.0}) {
        Inputs in = plate(side, side, share * side, {200e9, poisson, 8000, 0}, 40, 40, Edge::free);
        in.modes = 8;
        const Result r = solve(in);
        ASSERT_TRUE(r.ok) << r.why << " " << side << " " << share << " " << poisson;
        EXPECT_LT(r.residual, 0.01);
        for (std::size_t i = 0; i < 3; ++i) EXPECT_LT(r.frequencies[i], 0.01 * r.frequencies[3]);
        if (first == 0) first = r.frequencies[3] * side;
        EXPECT_NEAR(r.frequencies[3] * side, first, 1e-6 * first);
      }
    }
}

TEST(PlateModes, ClampedSquareThin) {
  Inputs in = square(0.001, 48, Edge::clamped);
  in.shear_flexible = false;
  modes("clamped square, omega a2 sqrt(rho h/D)", "Leissa 1973, CCCC, as recomputed; first value 35.99 read",
        How::computed, in, 0, {35.9852, 73.3938, 73.3938, 108.217}, 0.005);
}

TEST(PlateModes, ClampedRectanglesThin) {
  for (const auto& [ratio, first] : std::vector<std::pair<double, double>>{{1.5, 60.77}, {2.5, 147.80}}) {
    Inputs in = plate(1, 1 / ratio, 0.0005, {200e9, 0.3, 8000, 12e-6}, 48, 32, Edge::clamped);
    in.shear_flexible = false;
    modes("clamped rectangle, first mode, sides as " + std::to_string(ratio),
          "Blevins' handbook values, as quoted in a public text", How::read, in, 0, {first}, 0.005);
  }
}

TEST(PlateModes, SupportedSquareThinIsExact) {
  Inputs in = square(0.001, 48, Edge::supported);
  in.shear_flexible = false;
  modes("supported square, omega a2 sqrt(rho h/D)", "Navier: pi2 (m2 + n2)", How::exact, in, 0,
        {2 * pi * pi, 5 * pi * pi, 5 * pi * pi, 8 * pi * pi}, 0.005);
}

TEST(PlateModes, SupportedSquareThick) {
  for (const auto& [h, list] : std::vector<std::pair<double, std::vector<double>>>{
           {0.1, {1.93169, 4.60836, 4.60836, 7.07165}}, {0.2, {1.76791, 3.86562, 3.86562, 5.58787}}}) {
    const Inputs in = square(h, 48, Edge::supported);
    std::vector<double> expected;
    for (double x : list) expected.push_back(x * pi * pi);
    modes("supported thick square h/b " + std::to_string(h), "Mindlin 1951, exact quadratic in omega2, kappa 5/6",
          How::exact, in, 0, expected, 0.003);
  }
}

TEST(PlateModes, ClampedSquareThick) {
  for (const auto& [h, list] : std::vector<std::pair<double, std::vector<double>>>{
           {0.1, {3.2954, 6.2858, 6.2858, 8.8098}}, {0.2, {2.6875, 4.6907, 4.6907, 6.2985}}}) {
    std::vector<double> expected;
    for (double x : list) expected.push_back(x * pi * pi);
    modes("clamped thick square h/b " + std::to_string(h),
          "Liew, Xiang and Kitipornchai 1993, kappa 5/6, from memory and recomputed", How::computed,
          square(h, 48, Edge::clamped), 0, expected, 0.003);
  }
}

TEST(PlateModes, FreeSquareBenchmarkInHertz) {
  Inputs in = plate(10, 10, 0.05, {200e9, 0.3, 8000, 12e-6}, 48, 48, Edge::free);
  const Result r = solve(in);
  ASSERT_TRUE(r.ok) << r.why;
  const double expected[] = {1.6217, 2.3595, 2.9223, 4.1902, 4.1902, 7.3560, 7.3560, 7.6682};
  for (std::size_t i = 0; i < 8; ++i)
    published("structure", "FV12 free square, Hz, mode " + std::to_string(i + 1),
              "NAFEMS, The Standard NAFEMS Benchmarks, test FV12, as read in an open library's example", How::read,
              expected[i], r.frequencies[3 + i], 0.005 * expected[i]);
}

TEST(PlateModes, ThickSquareBenchmarkInHertz) {
  const Inputs in = plate(10, 10, 1, {200e9, 0.3, 8000, 12e-6}, 48, 48, Edge::supported);
  const Result r = solve(in);
  ASSERT_TRUE(r.ok) << r.why;
  const double expected[] = {45.897, 109.44, 109.44, 167.89};
  for (std::size_t i = 0; i < 4; ++i)
    published("structure", "FV52 supported thick square, Hz, mode " + std::to_string(i + 1),
              "NAFEMS FV52, three-dimensional reference, as read", How::read, expected[i], r.frequencies[i],
              0.003 * expected[i]);
}

TEST(PlateModes, FreePlatesOfPalletSize) {
  const struct {
    const char* name;
    Metal metal;
    std::vector<double> hertz;
  } cases[] = {{"aluminium", {68.9e9, 0.33, 2700, 23e-6}, {513.23, 569.23, 1167.6, 1310.1, 1469.7, 1721.5}},
               {"grey iron", {100e9, 0.26, 7200, 10e-6}, {388.19, 419.74, 876.0, 951.0, 1097.8, 1246.4}}};
  for (const auto& c : cases) {
    const Inputs in = plate(0.6, 0.4, 0.04, c.metal, 48, 32, Edge::free);
    const Result r = solve(in);
    ASSERT_TRUE(r.ok) << r.why;
    for (std::size_t i = 0; i < c.hertz.size(); ++i)
      published("structure",
                std::string("free plate 600 x 400 x 40 of ") + c.name + ", Hz, mode " + std::to_string(i + 1),
                "Ritz series with shear, kappa 5/6, computed independently", How::computed, c.hertz[i],
                r.frequencies[3 + i], 0.005 * c.hertz[i]);
    published("structure", std::string("mass of that plate of ") + c.name + ", kg",
              "length x width x thickness x density", How::exact, 0.6 * 0.4 * 0.04 * c.metal.density, r.plate_mass,
              1e-9);
  }
}

Inputs pallet() {
  Inputs in;
  in.plate.length = 0.33, in.plate.width = 0.25, in.plate.thickness = 0.025;
  in.plate.metal = {71e9, 0.33, 2660, 23.8e-6};
  for (double x : {-0.105, 0.105})
    for (double y : {-0.075, 0.075}) in.anchors.push_back({x, y, 0.04, 150e6, 100e6});
  for (double x : {-0.078, 0.078})
    for (double y : {-0.057, 0.057}) {
      Part p;
      p.x = x, p.y = y, p.size_x = 0.132, p.size_y = 0.092, p.mass = 2.9, p.height = 0.018;
      p.inertia = {2.9 * (0.092 * 0.092 + 0.036 * 0.036) / 12, 2.9 * (0.132 * 0.132 + 0.036 * 0.036) / 12,
                   2.9 * (0.132 * 0.132 + 0.092 * 0.092) / 12};
      in.parts.push_back(p);
      in.points.push_back({{x, y, 0.027}, static_cast<int>(in.parts.size()) - 1});
    }
  return in;
}

// A pallet so stiff that only its anchors give: rigid body on springs, closed form.
TEST(Pallet, AStiffPlateOnAnchorsIsARigidBodyOnSprings) {
  Inputs in = pallet();
  in.plate.metal.modulus *= 1e4;
  in.parts.clear();
  in.points = {{{0, 0, 0}, -1}};
  const Result r = solve(in);
  ASSERT_TRUE(r.ok) << r.why;
  published("structure", "rigid plate on four anchors, upright compliance, m/N", "1 / (4 k)", How::exact, 1 / 600e6,
            maths::static_compliance(r.points[0])[8], 0.003 / 600e6);
}

TEST(Pallet, FourAlikeNestsGiveAlikeAndTheSameBytesTwice) {
  const Result a = solve(pallet()), b = solve(pallet());
  ASSERT_TRUE(a.ok) << a.why;
  const auto first = maths::static_compliance(a.points[0]);
  for (const auto& p : a.points)
    for (std::size_t i : {0u, 4u, 8u}) EXPECT_NEAR(maths::static_compliance(p)[i], first[i], 1e-6 * first[i]);
  EXPECT_EQ(a.frequencies, b.frequencies);
  for (std::size_t i = 0; i < a.points.size(); ++i) EXPECT_EQ(a.points[i].residual, b.points[i].residual);
}

// Modes and residual together are the static compliance, however many modes carry it.
TEST(Pallet, WhatModesLeaveOutStandsInTheResidual) {
  Inputs few = pallet(), many = pallet();
  few.modes = 6, many.modes = 24;
  const Result a = solve(few), b = solve(many);
  ASSERT_TRUE(a.ok && b.ok);
  const auto x = maths::static_compliance(a.points[0]), y = maths::static_compliance(b.points[0]);
  for (std::size_t i = 0; i < 9; ++i) EXPECT_NEAR(x[i], y[i], 1e-7 * y[8]);
}

TEST(Pallet, TheMeshIsSureToWhatItSays) {
  Inputs in = pallet();
  in.want_error = true;
  const Result coarse = solve(in);
  in.columns = 56, in.rows = 48;
  in.want_error = false;
  const Result fine = solve(in);
  ASSERT_TRUE(coarse.ok && fine.ok);
  EXPECT_LT(std::fabs(coarse.frequencies[0] / fine.frequencies[0] - 1), 2 * coarse.error + 1e-4);
  EXPECT_LT(coarse.error, 0.01);
}

// ... and for what the points feel: those modes that carry a twentieth of it, and the give itself.
TEST(Pallet, TheMeshIsSureToWhatItSaysAtThePoints) {
  Inputs in = pallet();
  in.columns = 20, in.rows = 16;
  in.modes = 8;
  in.want_error = false;
  const Result coarse = solve(in);
  ASSERT_TRUE(coarse.ok);
  const MeshError e = mesh_error(in, coarse);
  in.columns = 60, in.rows = 48;
  const Result fine = solve(in);
  ASSERT_TRUE(fine.ok);
  EXPECT_TRUE(e.first > 0 && e.modes > 0 && e.give > 0);
  EXPECT_LT(e.give, 0.03);
  for (std::size_t p = 0; p < fine.points.size(); ++p) {
    const auto x = maths::static_compliance(coarse.points[p]), y = maths::static_compliance(fine.points[p]);
    EXPECT_LT(std::fabs((x[0] + x[4] + x[8]) / (y[0] + y[4] + y[8]) - 1), 2 * e.give + 1e-4) << p;
  }
  EXPECT_LT(std::fabs(coarse.frequencies[0] / fine.frequencies[0] - 1), 2 * e.first + 1e-4);
  in.modes = 0;
  EXPECT_TRUE(std::isnan(mesh_error(in, Result{}).first)) << "no modes, no estimate";
}

// Common practice: a plate two thirds as thick keeps 0.30 of its bending stiffness and two thirds of its bare
// frequency.
TEST(Pallet, TwoThirdsAsThick) {
  Inputs thick = square(0.024, 24, Edge::free), thin = square(0.016, 24, Edge::free);
  published("structure", "bending stiffness kept by a plate two thirds as thick", "common practice", How::exact, 0.30,
            bending_stiffness(thin.plate) / bending_stiffness(thick.plate), 0.005);
  published("structure", "bare frequency kept by a plate two thirds as thick", "common practice", How::exact, 2.0 / 3,
            solve(thin).frequencies[3] / solve(thick).frequencies[3], 0.01);
}

TEST(Pallet, BadInputsAreRefused) {
  int number = 0;
  const auto refused = [&](auto change) {
    SCOPED_TRACE(++number);
    Inputs in = pallet();
    change(in);
    const Result r = solve(in);
    EXPECT_FALSE(r.ok);
    EXPECT_FALSE(r.why.empty());
  };
  refused([](Inputs& in) { in.plate.thickness = 0; });
  refused([](Inputs& in) { in.plate.length = std::nan(""); });
  refused([](Inputs& in) { in.plate.metal.modulus = -1; });
  refused([](Inputs& in) { in.plate.metal.poisson = 0.5; });
  refused([](Inputs& in) { in.plate.metal.density = 0; });
  refused([](Inputs& in) { in.modes = -1; });
  refused([](Inputs& in) { in.columns = 0; });
  refused([](Inputs& in) { in.anchors[0].up = -1; });
  refused([](Inputs& in) { in.parts[0].mass = -1; });
  refused([](Inputs& in) { in.points[0].part = 9; });
}

}  // namespace
}  // namespace fettle::structure
