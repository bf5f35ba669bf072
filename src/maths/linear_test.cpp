#include "maths/linear.h"

#include <gtest/gtest.h>

#include <cmath>

namespace fettle::maths {
namespace {

Matrix of(std::size_t r, std::size_t c, std::vector<double> a) {
  Matrix m(r, c);
  m.a = std::move(a);
  return m;
}

TEST(Linear, RankAndNullSpace) {
  const Matrix A = of(3, 3, {1, 2, 3, 4, 5, 6, 7, 8, 9});  // row 1 + row 3 = 2 row 2
  const Svd s = svd(A);
  EXPECT_EQ(s.rank, 2u);
  // Singular values of this matrix: sqrt of the eigenvalues of A'A = 283.858636, 1.141364, 0 (trace 285, sum of minors
  // 324).
  EXPECT_NEAR(s.s[0] * s.s[0] + s.s[1] * s.s[1], 285, 1e-10);
  EXPECT_NEAR(s.s[0] * s.s[0] * s.s[1] * s.s[1], 324, 1e-8);
  const Matrix N = null_space(A);
  ASSERT_EQ(N.cols, 1u);
  EXPECT_NEAR(std::fabs(N(0, 0)), 1 / std::sqrt(6.0), 1e-12);
  for (const double x : product(A, N).a) EXPECT_NEAR(x, 0, 1e-12);
}

TEST(Linear, WideAndTall) {
  EXPECT_EQ(null_space(of(1, 3, {1, 0, 0})).cols, 2u);
  EXPECT_EQ(null_space(of(3, 1, {1, 0, 0})).cols, 0u);
  EXPECT_EQ(null_space(of(2, 2, {0, 0, 0, 0})).cols, 2u);
  EXPECT_EQ(svd(Matrix{}).rank, 0u);
}

TEST(Linear, RefusesNumbersThatAreNone) {
  EXPECT_EQ(svd(of(1, 1, {std::nan("")})).rank, 0u);
  EXPECT_TRUE(svd(of(1, 1, {std::nan("")})).s.empty());
  EXPECT_FALSE(solve(of(1, 1, {std::nan("")}), {1}).has_value());
  EXPECT_FALSE(solve(of(1, 1, {1}), {INFINITY}).has_value());
  EXPECT_TRUE(least_squares(of(1, 1, {1}), {std::nan("")}).empty());
  EXPECT_FALSE(inverse(of(1, 1, {INFINITY})).has_value());
  EXPECT_TRUE(eigen_symmetric(of(1, 1, {std::nan("")})).value.empty());
}

TEST(Linear, Solve) {
  const auto x = solve(of(2, 2, {2, 1, 1, 3}), {3, 5});
  ASSERT_TRUE(x.has_value());
  EXPECT_NEAR((*x)[0], 0.8, 1e-14);
  EXPECT_NEAR((*x)[1], 1.4, 1e-14);
  EXPECT_FALSE(solve(of(2, 2, {1, 2, 2, 4}), {1, 1}).has_value());  // singular
  EXPECT_FALSE(solve(of(2, 3, {1, 2, 2, 4, 1, 1}), {1, 1}).has_value());
  const auto inv = inverse(of(2, 2, {2, 1, 1, 3}));
  ASSERT_TRUE(inv.has_value());
  EXPECT_NEAR((*inv)(0, 0), 0.6, 1e-14);
  EXPECT_FALSE(inverse(of(2, 2, {1, 2, 2, 4})).has_value());
}

TEST(Linear, LeastSquaresAndLeastNorm) {
  // Line through (0,1),(1,3),(2,4): slope 1.5, start 7/6.
  const auto line = least_squares(of(3, 2, {1, 0, 1, 1, 1, 2}), {1, 3, 4});
  EXPECT_NEAR(line[0], 7.0 / 6, 1e-13);
  EXPECT_NEAR(line[1], 1.5, 1e-13);
  const auto least = least_squares(of(1, 2, {1, 1}), {2});
  EXPECT_NEAR(least[0], 1, 1e-13);
  EXPECT_NEAR(least[1], 1, 1e-13);
  EXPECT_TRUE(least_squares(of(1, 2, {1, 1}), {2, 3}).empty());
}

TEST(Linear, SymmetricEigen) {
  const EigenPairs e = eigen_symmetric(of(2, 2, {2, 1, 1, 2}));
  EXPECT_NEAR(e.value[0], 1, 1e-14);
  EXPECT_NEAR(e.value[1], 3, 1e-14);
}

}  // namespace
}  // namespace fettle::maths
