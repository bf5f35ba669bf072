#include "maths/height_field.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>

#include "published.h"

namespace fettle::maths {
namespace {

using test::How;
using test::published;

/// The levels by relaxation: every cell falls to the lowest that its sides allow, until nothing moves.
std::vector<double> by_relaxation(const HeightField& f, const std::vector<char>& outlet, bool open_edge) {
  std::vector<double> w(f.z.size(), std::numeric_limits<double>::infinity());
  const auto free = [&](int i, int j) {
    return (open_edge && (i == 0 || j == 0 || i + 1 == f.nx || j + 1 == f.ny)) ||
           (!outlet.empty() && outlet[f.at(i, j)] != 0);
  };
  for (bool moved = true; moved;) {
    moved = false;
    for (int j = 0; j < f.ny; ++j)
      for (int i = 0; i < f.nx; ++i) {
        double low = free(i, j) ? -std::numeric_limits<double>::infinity() : std::numeric_limits<double>::infinity();
        if (i > 0) low = std::min(low, w[f.at(i - 1, j)]);
        if (i + 1 < f.nx) low = std::min(low, w[f.at(i + 1, j)]);
        if (j > 0) low = std::min(low, w[f.at(i, j - 1)]);
        if (j + 1 < f.ny) low = std::min(low, w[f.at(i, j + 1)]);
        const double now = std::max(f.z[f.at(i, j)], low);
        if (now < w[f.at(i, j)]) w[f.at(i, j)] = now, moved = true;
      }
  }
  return w;
}

/// A plain counter-based number in 0..1.
double number(std::uint64_t seed, std::uint64_t k) {
  std::uint64_t x = seed * 0x9e3779b97f4a7c15ULL + k + 1;
  x ^= x >> 30, x *= 0xbf58476d1ce4e5b9ULL, x ^= x >> 27, x *= 0x94d049bb133111ebULL, x ^= x >> 31;
  return static_cast<double>(x >> 11) / 9007199254740992.0;
}

TEST(HeightField, FloodAgreesWithRelaxationOnRandomFields) {
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    const int nx = 1 + static_cast<int>(number(seed, 900001) * 24),
              ny = 1 + static_cast<int>(number(seed, 900002) * 24);
    HeightField f(nx, ny, 0, 0, 1e-3, 0);
    std::vector<char> outlet(f.z.size(), 0);
    for (std::size_t k = 0; k < f.z.size(); ++k) {
      // A third of the fields in steps, so that levels are equal in many places.
      f.z[k] = seed % 3 == 0 ? std::floor(4 * number(seed, k)) : number(seed, k);
      outlet[k] = number(seed, k + 500000) < 0.02 ? 1 : 0;
    }
    const bool open_edge = seed % 2 == 0;
    const std::vector<double> fast = flood(f, outlet, open_edge), slow = by_relaxation(f, outlet, open_edge);
    ASSERT_EQ(fast, slow) << "seed " << seed;
    double stays = 0;
    for (const Pool& p : pools(f, fast, 0)) stays += p.volume;
    double sum = 0;
    for (std::size_t k = 0; k < f.z.size(); ++k) sum += (slow[k] - f.z[k]) * 1e-6;
    if (std::isfinite(sum)) {
      EXPECT_NEAR(stays, sum, 1e-12) << "seed " << seed;
    }
  }
}

TEST(HeightField, APocketHoldsItsVolume) {
  HeightField f(40, 30, -0.02, -0.015, 1e-3, 0);
  for (int j = 10; j < 20; ++j)
    for (int i = 5; i < 25; ++i) f.z[f.at(i, j)] = -0.004;
  const auto stay = pools(f, flood(f, {}, true));
  ASSERT_EQ(stay.size(), 1u);
  published("maths", "water in a pocket 20 x 10 x 4 mm, mL", "length x width x depth", How::exact, 0.8,
            stay[0].volume * 1e6, 1e-9);
  EXPECT_NEAR(stay[0].depth, 0.004, 1e-15);
  EXPECT_EQ(stay[0].level, 0);
  // A hole in its floor empties it, a slot to the edge as well; a slot half as deep leaves half.
  std::vector<char> hole(f.z.size(), 0);
  hole[f.at(7, 12)] = 1;
  EXPECT_TRUE(pools(f, flood(f, hole, true)).empty());
  HeightField slot = f;
  for (int i = 25; i < 40; ++i) slot.z[slot.at(i, 15)] = -0.002;
  const auto half = pools(slot, flood(slot, {}, true));
  ASSERT_EQ(half.size(), 1u);
  EXPECT_NEAR(half[0].volume * 1e6, 0.4, 1e-9);
  EXPECT_NEAR(half[0].level, -0.002, 1e-15);
}

TEST(HeightField, ConeAndSlope) {
  // A cone of 20 mm depth and 30 mm radius under a rim: pi r^2 h / 3.
  HeightField f(400, 400, -0.05, -0.05, 0.25e-3, 0);
  for (int j = 0; j < f.ny; ++j)
    for (int i = 0; i < f.nx; ++i) {
      const Point2 p = f.middle(i, j);
      f.z[f.at(i, j)] = std::min(0.0, -0.02 * (1 - std::hypot(p.x, p.y) / 0.03));
    }
  const auto stay = pools(f, flood(f, {}, true));
  ASSERT_EQ(stay.size(), 1u);
  published("maths", "water in a cone of 20 mm depth, 60 mm across, mL", "pi r^2 h / 3", How::exact, 18.8496,
            stay[0].volume * 1e6, 0.01);
  // On a plane that falls to one side nothing stays.
  for (int j = 0; j < f.ny; ++j)
    for (int i = 0; i < f.nx; ++i) f.z[f.at(i, j)] = 0.03 * f.middle(i, j).x;
  EXPECT_TRUE(pools(f, flood(f, {}, true)).empty());
}

TEST(HeightField, NoWayOutIsInfinite) {
  const HeightField f(3, 3, 0, 0, 1, 0);
  for (const double w : flood(f, {}, false)) EXPECT_TRUE(std::isinf(w));
  EXPECT_TRUE(flood(HeightField(), {}, true).empty());
}

}  // namespace
}  // namespace fettle::maths
