#include "maths/simplex.h"

#include <gtest/gtest.h>

#include <cmath>

#include "maths/random.h"
#include "published.h"

namespace fettle::maths {
namespace {

using test::How;
using test::published;
using Sense = LinearRow::Sense;
using Status = LinearAnswer::Status;
constexpr double inf = LinearProgram::infinity;

TEST(Simplex, SmallTextbookProgram) {
  // max 3x + 5y, x <= 4, 2y <= 12, 3x + 2y <= 18: 36 at (2, 6), prices 0, 3/2, 1.
  const LinearProgram p{
      true, {3, 5}, {}, {}, {{{1, 0}, Sense::at_most, 4}, {{0, 2}, Sense::at_most, 12}, {{3, 2}, Sense::at_most, 18}}};
  const LinearAnswer a = solve(p);
  ASSERT_EQ(a.status, Status::optimal) << a.why;
  const std::string source = "two-product program (Dantzig's classic form; common in textbooks)";
  published("linear program", "objective", source, How::from_memory, 36, a.objective, 1e-12);
  published("linear program", "price of the second row", source, How::from_memory, 1.5, a.row_price[1], 1e-12);
  published("linear program", "price of the third row", source, How::from_memory, 1, a.row_price[2], 1e-12);
  EXPECT_NEAR(a.x[0], 2, 1e-12);
  EXPECT_NEAR(a.x[1], 6, 1e-12);
}

TEST(Simplex, EqualityFreeAndBoundedColumns) {
  // min x - y + 2z, x free, 0 <= y <= 3, -1 <= z <= 1, x + y + z = 2, x >= -4 as a row.
  const LinearProgram p{
      false, {1, -1, 2}, {-inf, 0, -1}, {inf, 3, 1}, {{{1, 1, 1}, Sense::equal, 2}, {{1, 0, 0}, Sense::at_least, -4}}};
  const LinearAnswer a = solve(p);
  ASSERT_EQ(a.status, Status::optimal) << a.why;
  // x = 2 - y - z gives 2 - 2y + z: y = 3, z = -1, x = 0, cost -5.
  EXPECT_NEAR(a.objective, -5, 1e-12);
  EXPECT_NEAR(a.x[0], 0, 1e-12);
}

TEST(Simplex, CyclesOnlyWithoutCare) {
  // Beale's degenerate example, on which the plain largest-coefficient rule goes round for ever: -1/20.
  const LinearProgram p{false,
                        {-0.75, 150, -0.02, 6},
                        {},
                        {},
                        {{{0.25, -60, -1.0 / 25, 9}, Sense::at_most, 0},
                         {{0.5, -90, -1.0 / 50, 3}, Sense::at_most, 0},
                         {{0, 0, 1, 0}, Sense::at_most, 1}}};
  const LinearAnswer a = solve(p);
  ASSERT_EQ(a.status, Status::optimal) << a.why;
  published("linear program", "degenerate example, objective",
            "E. M. L. Beale, Cycling in the dual simplex algorithm, 1955", How::from_memory, -0.05, a.objective, 1e-12);
}

TEST(Simplex, ProvesThereIsNoSolution) {
  // x + y >= 3 with x <= 1, y <= 1.
  const LinearProgram p{false, {1, 1}, {0, 0}, {1, 1}, {{{1, 1}, Sense::at_least, 3}, {{1, -1}, Sense::at_most, 5}}};
  const LinearAnswer a = solve(p);
  ASSERT_EQ(a.status, Status::infeasible) << a.why;
  EXPECT_GT(a.gap, 0);
  EXPECT_LT(a.row_price[0], 0);
  EXPECT_EQ(a.row_price[1], 0);
}

TEST(Simplex, ProvesThereIsNoEnd) {
  const LinearProgram p{true, {1, 1}, {}, {}, {{{1, -1}, Sense::at_most, 1}}};
  const LinearAnswer a = solve(p);
  ASSERT_EQ(a.status, Status::unbounded) << a.why;
  EXPECT_GT(a.ray[0] + a.ray[1], 0);
}

TEST(Simplex, RefusesBadInput) {
  LinearProgram good{false, {1}, {0}, {1}, {{{1}, Sense::at_most, 1}}};
  EXPECT_TRUE(solve(good).ok());
  LinearProgram bad = good;
  bad.rows[0].a = {1, 2};
  EXPECT_EQ(solve(bad).status, Status::refused);
  bad = good;
  bad.rows[0].b = std::nan("");
  EXPECT_EQ(solve(bad).status, Status::refused);
  bad = good;
  bad.rows[0].a[0] = inf;
  EXPECT_EQ(solve(bad).status, Status::refused);
  bad = good;
  bad.cost[0] = std::nan("");
  EXPECT_EQ(solve(bad).status, Status::refused);
  bad = good;
  bad.lower[0] = 2;
  EXPECT_EQ(solve(bad).status, Status::refused);
  bad = good;
  bad.upper = {1, 2};
  EXPECT_EQ(solve(bad).status, Status::refused);
  bad = good;
  bad.lower[0] = std::nan("");
  EXPECT_EQ(solve(bad).status, Status::refused);
}

TEST(Simplex, TinyNoiseInTheMatrixDoesNotMislead) {
  // Coefficients of 3e-17 where a zero is meant (cosine of a right angle).
  const double noise = std::cos(std::acos(-1.0) / 2);
  const LinearProgram p{true, {1, 1}, {}, {}, {{{1, noise}, Sense::at_most, 2}, {{noise, 1}, Sense::at_most, 3}}};
  const LinearAnswer a = solve(p);
  ASSERT_TRUE(a.ok()) << a.why;
  EXPECT_NEAR(a.objective, 5, 1e-12);
}

TEST(Simplex, WeakDualityHoldsOnManyRandomPrograms) {
  // Every program has a known feasible point, so it must end optimal or unbounded, and no sampled feasible point may be
  // better. Boxes make it bounded.
  int optimal = 0;
  for (std::uint64_t k = 0; k < 300; ++k) {
    LinearProgram p;
    const std::size_t n = 2 + k % 6, m = 3 + k % 23;
    std::vector<double> inside(n);
    std::uint32_t dim = 0;
    const auto next = [&] { return uniform(11, k, dim++) * 2 - 1; };
    p.maximise = k % 2 == 0;
    for (std::size_t j = 0; j < n; ++j) {
      inside[j] = next();
      p.cost.push_back(next());
      p.lower.push_back(-1);
      p.upper.push_back(1);
    }
    for (std::size_t i = 0; i < m; ++i) {
      LinearRow r;
      double at = 0;
      for (std::size_t j = 0; j < n; ++j) {
        r.a.push_back(k % 3 == 0 ? std::round(2 * next()) : next());
        at += r.a[j] * inside[j];
      }
      r.sense = i == 0 ? Sense::equal : (i % 2 == 0 ? Sense::at_most : Sense::at_least);
      const double room = k % 5 == 0 ? 0 : std::fabs(next());
      r.b = r.sense == Sense::equal ? at : (r.sense == Sense::at_most ? at + room : at - room);
      p.rows.push_back(r);
    }
    const LinearAnswer a = solve(p);
    ASSERT_EQ(a.status, Status::optimal) << k << ": " << a.why;
    ++optimal;
    double known = 0;
    for (std::size_t j = 0; j < n; ++j) known += p.cost[j] * inside[j];
    EXPECT_LE((p.maximise ? 1 : -1) * (known - a.objective), 1e-9);
    EXPECT_LE(a.gap, 1e-9);
  }
  EXPECT_EQ(optimal, 300);
}

TEST(Simplex, ProofsHoldOnManyImpossiblePrograms) {
  for (std::uint64_t k = 0; k < 200; ++k) {
    LinearProgram p;
    std::uint32_t dim = 0;
    const auto next = [&] { return uniform(12, k, dim++) * 2 - 1; };
    const std::size_t n = 2 + k % 5;
    for (std::size_t j = 0; j < n; ++j) {
      p.cost.push_back(next());
      p.lower.push_back(k % 2 == 0 ? -inf : -1);
      p.upper.push_back(k % 2 == 0 ? inf : 1);
    }
    LinearRow first, second;
    for (std::size_t j = 0; j < n; ++j) first.a.push_back(next());
    second.a = first.a;
    first.sense = Sense::at_most;
    second.sense = Sense::at_least;
    first.b = next();
    second.b = first.b + 0.01;
    for (int i = 0; i < 6; ++i) {
      LinearRow r;
      for (std::size_t j = 0; j < n; ++j) r.a.push_back(next());
      r.sense = Sense::at_most;
      r.b = 3;
      p.rows.push_back(r);
    }
    p.rows.push_back(first);
    p.rows.push_back(second);
    const LinearAnswer a = solve(p);
    ASSERT_EQ(a.status, Status::infeasible) << k << ": " << a.why;
    EXPECT_GT(a.gap, 0);
  }
}

}  // namespace
}  // namespace fettle::maths
