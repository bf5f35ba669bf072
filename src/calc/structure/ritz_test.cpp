// A free shear-flexible plate by a Ritz series of its own, sharing no line with the science: products of Legendre
// polynomials, integrals by Gauss points.
#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <array>
#include <cmath>
#include <utility>
#include <vector>

#include "calc/structure/plate.h"
#include "calc/structure/reduced.h"
#include "published.h"

namespace fettle::structure {
namespace {

using Eigen::MatrixXd;
using fettle::test::How;
using fettle::test::published;

constexpr double pi = 3.14159265358979323846;

struct Line1 {
  MatrixXd ff, gf, gg;  ///< over -1..1: f f, f' f, f' f'
};
/// P0..Pn and their slopes at the zeros of P(n+2), with weights.
Line1 legendre(int n) {
  const auto value = [](int k, double x) {
    double a = 1, b = x;
    for (int j = 2; j <= k; ++j) a = std::exchange(b, ((2 * j - 1) * x * b - (j - 1) * a) / j);
    return k == 0 ? 1.0 : b;
  };
  const auto slope = [&](int k, double x) {
    return k == 0 ? 0 : k * (x * value(k, x) - value(k - 1, x)) / (x * x - 1);
  };
  const int points = n + 2;
  Line1 l;
  l.ff = l.gf = l.gg = MatrixXd::Zero(n + 1, n + 1);
  for (int i = 0; i < points; ++i) {
    double x = std::cos(pi * (i + 0.75) / (points + 0.5));
    for (int step = 0; step < 30; ++step) x -= value(points, x) / slope(points, x);
    const double weight = 2 / ((1 - x * x) * slope(points, x) * slope(points, x));
    for (int p = 0; p <= n; ++p)
      for (int q = 0; q <= n; ++q) {
        l.ff(p, q) += weight * value(p, x) * value(q, x);
        l.gf(p, q) += weight * slope(p, x) * value(q, x);
        l.gg(p, q) += weight * slope(p, x) * slope(q, x);
      }
  }
  return l;
}

/// First six elastic frequencies, Hz.
std::vector<double> ritz(double a, double b, double h, const Metal& m, int n) {
  const Line1 l = legendre(n);
  const int one = (n + 1) * (n + 1);
  const double d = m.modulus * h * h * h / 12 / (1 - m.poisson * m.poisson), nu = m.poisson,
               s = 5.0 / 6 * m.modulus / 2 / (1 + nu) * h, rho = m.density * h, rotary = rho * h * h / 12;
  const double sx = 2 / a, sy = 2 / b, area = a * b / 4;
  MatrixXd K = MatrixXd::Zero(3 * one, 3 * one), M = K;
  for (int i = 0; i <= n; ++i)
    for (int j = 0; j <= n; ++j)
      for (int k = 0; k <= n; ++k)
        for (int o = 0; o <= n; ++o) {
          const int p = i * (n + 1) + j, q = k * (n + 1) + o;
          const double xx = l.gg(i, k) * l.ff(j, o) * sx * sx * area, yy = l.ff(i, k) * l.gg(j, o) * sy * sy * area;
          const double m0 = l.ff(i, k) * l.ff(j, o) * area;
          const double x_of_p = l.gf(i, k) * l.ff(j, o) * sx * area, y_of_p = l.ff(i, k) * l.gf(j, o) * sy * area;
          const double xp_yq = l.gf(i, k) * l.gf(o, j) * sx * sy * area,
                       yp_xq = l.gf(k, i) * l.gf(j, o) * sx * sy * area;
          K(p, q) = s * (xx + yy);
          K(p, one + q) = s * x_of_p, K(one + q, p) = s * x_of_p;
          K(p, 2 * one + q) = s * y_of_p, K(2 * one + q, p) = s * y_of_p;
          K(one + p, one + q) = d * (xx + 0.5 * (1 - nu) * yy) + s * m0;
          K(2 * one + p, 2 * one + q) = d * (yy + 0.5 * (1 - nu) * xx) + s * m0;
          const double mixed = d * (nu * xp_yq + 0.5 * (1 - nu) * yp_xq);
          K(one + p, 2 * one + q) = mixed, K(2 * one + q, one + p) = mixed;
          M(p, q) = rho * m0, M(one + p, one + q) = M(2 * one + p, 2 * one + q) = rotary * m0;
        }
  const Eigen::GeneralizedSelfAdjointEigenSolver<MatrixXd> eigen(K, M, Eigen::EigenvaluesOnly);
  std::vector<double> hertz;
  for (int k = 3; k < 9; ++k) hertz.push_back(std::sqrt(eigen.eigenvalues()[k]) / (2 * pi));
  return hertz;
}

TEST(Ritz, FreePlatesOfPalletSizeByThreeMethods) {
  const struct {
    const char* name;
    Metal metal;
    std::array<double, 6> hertz;
  } cases[] = {{"aluminium", {68.9e9, 0.33, 2700, 23e-6}, {513.23, 569.23, 1167.6, 1310.1, 1469.7, 1721.5}},
               {"grey iron", {100e9, 0.26, 7200, 10e-6}, {388.19, 419.74, 876.0, 951.0, 1097.8, 1246.4}}};
  for (const auto& c : cases) {
    const std::vector<double> by_series = ritz(0.6, 0.4, 0.04, c.metal, 11);
    BasisInputs b;
    b.plate.length = 0.6, b.plate.width = 0.4, b.plate.thickness = 0.04, b.plate.metal = c.metal;
    b.columns = 120, b.rows = 80;
    b.order = 12;
    const Basis few = make_basis(b);
    ASSERT_TRUE(few.ok) << few.why;
    std::size_t k = 0;
    for (const double f : few.free) {  // the few unknowns stretch in the plane besides: those modes are passed over
      if (k == 6) break;
      if (std::fabs(f / by_series[k] - 1) > 0.01) continue;
      EXPECT_NEAR(f, by_series[k], 0.001 * by_series[k]) << c.name << " " << k;
      ++k;
    }
    EXPECT_EQ(k, 6U);
    for (std::size_t i = 0; i < 6; ++i)
      published("structure",
                std::string("Ritz series of the test, free 600 x 400 x 40 of ") + c.name + ", Hz, mode " +
                    std::to_string(i + 1),
                "Ritz series with shear, kappa 5/6, computed independently", How::computed, c.hertz[i], by_series[i],
                0.0005 * c.hertz[i]);
  }
}

}  // namespace
}  // namespace fettle::structure
