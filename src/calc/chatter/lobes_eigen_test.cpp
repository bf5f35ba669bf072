#include "calc/chatter/lobes_eigen.h"

#include <gtest/gtest.h>

#include <Eigen/Eigenvalues>
#include <random>

namespace {

using namespace fettle::chatter;
using fettle::maths::Response3;
using Complex = std::complex<double>;

Response3 random_matrix(std::mt19937_64& draw, double last_column) {
  std::normal_distribution<double> n;
  Response3 m;
  for (std::size_t i = 0; i < 9; ++i) m[i] = Complex(n(draw), n(draw)) * (i % 3 == 2 ? last_column : 1.0);
  return m;
}

TEST(LobesEigen, AgainstALibrary) {
  std::mt19937_64 draw(7);
  for (int round = 0; round < 300; ++round) {
    const bool flat = round % 3 == 0;
    const Response3 m = random_matrix(draw, flat ? 0 : round % 3 == 1 ? 1 : 1e-4);
    Eigen::Matrix3cd e;
    for (Eigen::Index i = 0; i < 9; ++i) e(i / 3, i % 3) = m[static_cast<std::size_t>(i)];
    const Eigen::Vector3cd want = Eigen::ComplexEigenSolver<Eigen::Matrix3cd>(e, false).eigenvalues();
    const Three got = eigenvalues(m, flat);
    double worst = 0;
    for (Eigen::Index i = 0; i < 3; ++i) {
      double gap = HUGE_VAL;
      for (const Complex& g : got) gap = std::min(gap, std::abs(g - want(i)));
      worst = std::max(worst, gap);
    }
    EXPECT_LT(worst, 1e-9) << round;
  }
}

TEST(LobesEigen, PartsOfAnEigenvalue) {
  std::mt19937_64 draw(11);
  for (int round = 0; round < 50; ++round) {
    const Response3 a = random_matrix(draw, 1), b = random_matrix(draw, 1);
    Response3 whole;
    for (std::size_t i = 0; i < 9; ++i) whole[i] = a[i] + b[i];
    const Three v = eigenvalues(whole, false);
    for (const Complex& l : v) {
      EXPECT_LT(std::abs(added_by(a, whole, l) + added_by(b, whole, l) - l), 1e-8);
      // It is what the eigenvalue gains when the part grows a little.
      Response3 more = whole;
      constexpr double step = 1e-6;
      for (std::size_t i = 0; i < 9; ++i) more[i] += step * a[i];
      double gap = HUGE_VAL;
      Complex moved = l;
      for (const Complex& c : eigenvalues(more, false))
        if (std::abs(c - l) < gap) gap = std::abs(c - l), moved = c;
      EXPECT_LT(std::abs((moved - l) / step - added_by(a, whole, l)), 1e-3) << round;
    }
  }
}

TEST(LobesEigen, FollowsByNearness) {
  const Three before{Complex(1, 0), Complex(0, 1), Complex(-1, 0)};
  Three now{Complex(0, 1.1), Complex(-1, 0.1), Complex(0.9, 0)};
  follow(before, now, 3);
  EXPECT_EQ(now[0], Complex(0.9, 0));
  EXPECT_EQ(now[1], Complex(0, 1.1));
  EXPECT_EQ(now[2], Complex(-1, 0.1));
}

}  // namespace
