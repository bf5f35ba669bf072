#include "maths/root.h"

#include <gtest/gtest.h>

#include <cmath>

namespace fettle::maths {
namespace {

template <class Function>
double root(const Function& f, double a, double b, int& looks, double within = 0) {
  looks = 0;
  const auto counted = [&](double x) {
    ++looks;
    return f(x);
  };
  return root_between(counted, a, f(a), b, f(b), within);
}

TEST(Root, SmoothOnesInADozenLooks) {
  int looks = 0;
  EXPECT_NEAR(root([](double x) { return std::cos(x) - x; }, 0, 2, looks), 0.73908513321516064, 1e-15);
  EXPECT_LE(looks, 12);
  EXPECT_NEAR(root([](double x) { return x * x * x - 2; }, 5, 0, looks), std::cbrt(2.0), 1e-15);
  EXPECT_LE(looks, 14);
  EXPECT_NEAR(root([](double x) { return 1 - std::exp(-x) - 0.25; }, 0, 40, looks), -std::log(0.75), 1e-15);
  EXPECT_LE(looks, 18);
  root([](double x) { return std::cos(x) - x; }, 0, 2, looks, 1e-3);
  EXPECT_LE(looks, 6);
}
TEST(Root, JumpsAndFlatsAreHalved) {
  int looks = 0;
  EXPECT_NEAR(root([](double x) { return x < 0.3 ? -1.0 : 2.0; }, 0, 1, looks), 0.3, 1e-15);
  EXPECT_LE(looks, 70);
  EXPECT_NEAR(root([](double x) { return std::pow(x - 0.3, 9); }, 0, 1, looks), 0.3, 0.02);
  EXPECT_LE(looks, 150);
  EXPECT_NEAR(root([](double x) { return x > 1e-7 ? 1.0 : x - 1e-9; }, 0, 1, looks), 1e-9, 1e-22);
}
TEST(Root, NoNumberOnTheWayIsNoRoot) {
  int looks = 0;
  EXPECT_TRUE(std::isnan(root([](double x) { return x > 0.4 && x < 0.6 ? NAN : x - 0.7; }, 0, 1, looks)));
}

}  // namespace
}  // namespace fettle::maths
