#include "maths/least_squares.h"

#include <gtest/gtest.h>

#include <cmath>

namespace fettle::maths {
namespace {

TEST(LeastSquares, LineThroughFourPoints) {
  // y = 3.5 + 1.4 x for (1,6) (2,5) (3,7) (4,10): the usual hand example.
  const LeastSquares f = least_squares({1, 1, 1, 2, 1, 3, 1, 4}, 4, 2, {6, 5, 7, 10});
  EXPECT_EQ(f.rank, 2U);
  EXPECT_NEAR(f.x[0], 3.5, 1e-12);
  EXPECT_NEAR(f.x[1], 1.4, 1e-12);
  EXPECT_NEAR(f.residual, std::sqrt(4.2), 1e-12);
}

TEST(PseudoInverse, NamesTheFreeDirection) {
  // x + y and z are held, x - y is free.
  const PseudoInverse p = pseudo_inverse({1, 1, 0, 0, 0, 1}, 2, 3);
  EXPECT_EQ(p.rank, 2U);
  ASSERT_EQ(p.free_directions.size(), 1U);
  const auto& v = p.free_directions[0];
  EXPECT_NEAR(v[0] + v[1], 0, 1e-15);
  EXPECT_NEAR(std::fabs(v[0]), std::sqrt(0.5), 1e-12);
  EXPECT_NEAR(p.inverse[0], 0.5, 1e-12);
}

TEST(PseudoInverse, ZeroMatrixHoldsNothing) {
  const PseudoInverse p = pseudo_inverse({0, 0, 0, 0}, 2, 2);
  EXPECT_EQ(p.rank, 0U);
  EXPECT_EQ(p.free_directions.size(), 2U);
}

}  // namespace
}  // namespace fettle::maths
