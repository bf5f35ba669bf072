#include "calc/structure/reduced.h"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "calc/structure/pallet_for_tests.h"
#include "calc/structure/plate.h"
#include "calc/structure/random_plates_for_tests.h"
#include "published.h"

namespace fettle::structure {
namespace {

using fettle::test::How;
using fettle::test::published;

constexpr double pi = 3.14159265358979323846;

void modes(const std::string& name, const std::string& source, How how, double thickness, Edge edge, double allowed,
           const std::vector<double>& expected) {
  BasisInputs b;
  b.plate.length = b.plate.width = 1;
  b.plate.thickness = thickness;
  b.plate.metal = {200e9, 0.3, 8000, 0};
  b.columns = b.rows = 200;
  b.order = 14;
  b.edge = edge;
  const Basis r = make_basis(b);
  ASSERT_TRUE(r.ok) << r.why;
  const double d = 200e9 * std::pow(thickness, 3) / 12 / (1 - 0.09);
  for (std::size_t i = 0; i < expected.size(); ++i)
    published("structure", name + ", mode " + std::to_string(i + 1), source, how, expected[i],
              2 * pi * r.free[i] * std::sqrt(8000 * thickness / d), allowed * expected[i]);
}

TEST(Reduced, FreeSquareByPolynomials) {
  modes("free square by polynomials, omega a2 sqrt(rho h/D)",
        "Leissa 1973, FFFF, as recomputed by a converged Ritz series", How::computed, 0.001, Edge::free, 0.001,
        {13.4682, 19.5961, 24.2702, 34.8009, 34.8009, 61.0932});
}
TEST(Reduced, ThickSquaresByPolynomials) {
  const double p2 = pi * pi;
  modes("supported thick square by polynomials, h/b 0.1", "Mindlin 1951, exact, kappa 5/6", How::exact, 0.1,
        Edge::supported, 0.001, {1.93169 * p2, 4.60836 * p2, 4.60836 * p2, 7.07165 * p2});
  modes("clamped thick square by polynomials, h/b 0.1",
        "Liew, Xiang and Kitipornchai 1993, kappa 5/6, from memory and recomputed", How::computed, 0.1, Edge::clamped,
        0.001, {3.2954 * p2, 6.2858 * p2, 6.2858 * p2});
}

// The full model of the same mesh is the other method: another set of unknowns, another solver. Twelve of the 200
// plates of bench/reduced_bench.cpp.
TEST(Reduced, AgreesWithTheFullModelOverPlatesByChance) {
  for (std::uint64_t k = 0; k < 12; ++k) {
    const Inputs in = test::random_plate(k);
    const Result full = solve(in), few = solve_reduced(in);
    ASSERT_TRUE(full.ok) << k << ": " << full.why;
    ASSERT_TRUE(few.ok) << k << ": " << few.why;
    const test::Apart a = test::apart(full, few);
    EXPECT_LT(a.modes, 0.01) << k;
    EXPECT_LT(a.give, 0.01) << k;
    EXPECT_NEAR(few.plate_mass, full.plate_mass, 1e-9 * full.plate_mass);
    EXPECT_LT(few.residual, 1e-9);
  }
}

// On the bare plate a small patch far below the point turns as the mesh under it lets it: the same, since what lies
// above the kept modes is the mesh's own answer. Some patches hang over the rim, some lie on an anchor.
TEST(Reduced, PointsHighAboveTheBarePlateAreAsSure) {
  for (std::uint64_t k = 400; k < 408; ++k) {
    const Inputs in = test::random_plate(k, false);
    const test::Apart a = test::apart(solve(in), solve_reduced(in));
    EXPECT_LT(a.modes, 0.01) << k;
    EXPECT_LT(a.give, 0.01) << k;
  }
}

// With anchors that take no turning and no bending (small patches) nothing is left out of the answer at rest.
TEST(Reduced, AtRestTheMeshesOwnAnswerComesOut) {
  Inputs in = test::random_plate(3);
  for (Anchor& a : in.anchors) a.patch = 1e-4;
  in.columns = 20, in.rows = 16;
  const Result full = solve(in), few = solve_reduced(in);
  ASSERT_TRUE(full.ok && few.ok);
  for (std::size_t p = 0; p < full.points.size(); ++p) {
    const auto x = maths::static_compliance(full.points[p]), y = maths::static_compliance(few.points[p]);
    for (std::size_t k = 0; k < 9; ++k) EXPECT_NEAR(y[k], x[k], 1e-5 * (x[0] + x[4] + x[8])) << p;
  }
}

// Response at all frequencies, not at rest alone: what the modes left out leave behind is in the residual. The peaks
// are as high; beside them a mode that lies a share d off moves the response by d / damping of the peak at most.
TEST(Reduced, RespondsAsTheFullModelDoes) {
  const Inputs in = test::random_plate(5);
  const Result full = solve(in), few = solve_reduced(in);
  ASSERT_TRUE(full.ok && few.ok);
  double aside = 0;
  for (std::size_t i = 0; i < full.frequencies.size() && full.frequencies[i] < 2020; ++i)
    aside = std::max(aside, std::fabs(few.frequencies[i] / full.frequencies[i] - 1));
  EXPECT_LT(aside, 0.01);
  aside /= in.damping;
  for (const std::size_t d : {0U, 4U, 8U}) {
    double peak = 0, peak_few = 0, off = 0;
    for (int k = 0; k < 4000; ++k) {
      const double omega = 2 * pi * (20 + 0.5 * k);
      const auto a = maths::response(full.points.front(), omega)[d], b = maths::response(few.points.front(), omega)[d];
      peak = std::max(peak, std::abs(a));
      peak_few = std::max(peak_few, std::abs(b));
      off = std::max(off, std::abs(a - b));
    }
    EXPECT_NEAR(peak_few, peak, 0.01 * peak) << d;
    EXPECT_LT(off, (aside + 0.01) * peak) << d;
  }
}

// A kept basis and one made for the occasion give the same answer to the last bit.
TEST(Reduced, AKeptBasisGivesTheSame) {
  Inputs in = test::random_plate(3);
  const Basis basis = make_basis(basis_inputs(in));
  const Result a = solve_reduced(basis, in), b = solve_reduced(in);
  EXPECT_EQ(a.frequencies, b.frequencies);
  in.anchors[0].up *= 2;
  EXPECT_GT(solve_reduced(basis, in).frequencies[0], a.frequencies[0]);
}

TEST(Reduced, WhatItCannotDoIsRefused) {
  Inputs in = test::pallet();
  in.shear_flexible = false;
  EXPECT_FALSE(solve_reduced(in).ok);
  BasisInputs b = basis_inputs(test::pallet());
  b.plate.outline = {{0, 0}, {0.1, 0}, {0, 0.1}};
  EXPECT_FALSE(make_basis(b).ok);
  b = basis_inputs(test::pallet());
  b.plate.thickness = -1;
  EXPECT_FALSE(make_basis(b).ok);
  b = basis_inputs(test::pallet());
  b.plate.reliefs.push_back({});
  EXPECT_FALSE(make_basis(b).ok) << "a pocket";
  b = basis_inputs(test::pallet());
  b.kept = 11;
  EXPECT_FALSE(make_basis(b).ok) << "fewer modes than anyone can use";
  b = basis_inputs(test::pallet());
  b.order = 25;
  EXPECT_FALSE(make_basis(b).ok);
  b.order = 3;
  EXPECT_FALSE(make_basis(b).ok);
  b = basis_inputs(test::pallet());
  b.columns = 7;
  EXPECT_FALSE(make_basis(b).ok);
  const Basis good = make_basis(basis_inputs(test::pallet()));
  in = test::pallet();
  in.plate.thickness *= 1.01;
  EXPECT_FALSE(solve_reduced(good, in).ok) << "another plate than the basis";
  in = test::pallet();
  in.bonded = true;
  EXPECT_FALSE(solve_reduced(good, in).ok) << "bonded parts";
  in = test::pallet();
  in.anchors.clear();
  EXPECT_FALSE(solve_reduced(good, in).ok) << "nothing holds it";
  in = test::pallet();
  in.anchors[0].x = 1;
  EXPECT_FALSE(solve_reduced(good, in).ok) << "an anchor off the plate";
  in = test::pallet();
  in.anchors[0].patch = 0;
  EXPECT_FALSE(solve_reduced(good, in).ok) << "an anchor without a patch";
  in = test::pallet();
  in.parts[0].mass = std::nan("");
  EXPECT_FALSE(solve_reduced(good, in).ok) << "a mass that is no number";
  EXPECT_FALSE(solve_reduced(Basis{}, test::pallet()).ok);
}

}  // namespace
}  // namespace fettle::structure
