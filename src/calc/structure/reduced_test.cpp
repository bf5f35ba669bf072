#include "calc/structure/reduced.h"

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

// The full model is the other method. Frequencies of the loaded pallet agree within 1 %; what a part's top gives,
// within 5 %: there the patches' own shear counts, which few polynomials miss.
TEST(Reduced, AgreesWithTheFullModel) {
  Inputs in = test::pallet();
  test::add_points_on_parts(in, 8);
  in.want_error = in.want_shapes = false;
  const Result full = solve(in), few = solve_reduced(in);
  ASSERT_TRUE(full.ok) << full.why;
  ASSERT_TRUE(few.ok) << few.why;
  for (std::size_t i = 0; i < 7; ++i)
    EXPECT_NEAR(few.frequencies[i], full.frequencies[i], 0.01 * full.frequencies[i]) << i;
  for (std::size_t p = 0; p < in.points.size(); ++p) {
    const auto a = maths::static_compliance(full.points[p]), b = maths::static_compliance(few.points[p]);
    for (std::size_t k : {0u, 4u, 8u}) EXPECT_NEAR(b[k], a[k], 0.05 * a[k]) << p << " " << k;
  }
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
}

}  // namespace
}  // namespace fettle::structure
