#include "calc/casting/virtual_castings.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <functional>

#include "calc/casting/features.h"
#include "maths/random.h"
#include "maths/statistics.h"
#include "published.h"

namespace fettle::casting {
namespace {

constexpr double mm = 1e-3;

/// One face whose stock is 2 + N(0, 0.5) by the closure of the mould; another by the sum of two errors that go
/// together.
Model plate(double texture_s = 0) {
  Casting c;
  c.surfaces = {{"raw bottom", drag, false}, {"raw top", cope, false}, {"side", drag, false}, {"end", drag, false}};
  c.modes = {closure({0, 0, 1}, 0.5 * mm), surface_offset("side", 0.3 * mm), surface_offset("end", 0.4 * mm)};
  c.joints = {{{1, 2}, {0.09e-6, 0.06e-6, 0.06e-6, 0.16e-6}}};
  c.texture_s = texture_s;
  Route r;
  Operation op{"op10", {}, {}, {}};
  const auto p = [](double x, double y, double z) { return Vec3{x * mm, y * mm, z * mm}; };
  op.contacts = {rest("a", "raw bottom", p(0, 0, 0), {0, 0, -1}),   rest("b", "raw bottom", p(100, 0, 0), {0, 0, -1}),
                 rest("c", "raw bottom", p(0, 100, 0), {0, 0, -1}), rest("d", "side", p(0, 20, 15), {-1, 0, 0}),
                 rest("e", "side", p(0, 80, 15), {-1, 0, 0}),       rest("f", "raw bottom", p(50, 0, 15), {0, -1, 0})};
  op.shift_low = {-0.5 * mm, 0, 0, 0, 0, 0};
  op.shift_high = {0.5 * mm, 0, 0, 0, 0, 0};
  r.operations = {op};
  r.faces = {{"top", "raw top", 0, {{p(50, 50, 30), {0, 0, 1}, p(50, 50, 32)}}, 0.8 * mm, 1, 0},
             {"end cut", "end", 0, {{p(100, 50, 15), {1, 0, 0}, p(101.5, 50, 15)}}, 0.8 * mm, 1, 0}};
  return build(c, r).value();
}

TEST(VirtualCastings, ShareOfANormalFace) {
  VirtualInputs in;
  in.castings = 200000;
  in.confidence = 0.9999;
  const auto out = virtual_castings(plate(), in).value();
  // Top: P(2 + 0.5 z < 0.8) = Phi(-2.4). End: 1.5 + side + end, s^2 = 0.09 + 0.16 + 2 x 0.06.
  const double top = maths::normal_cdf(-2.4), end = maths::normal_cdf(-0.7 / std::sqrt(0.37));
  EXPECT_LT(out.faces[0].fails.low, top);
  EXPECT_GT(out.faces[0].fails.high, top);
  EXPECT_LT(out.faces[1].fails.low, end);
  EXPECT_GT(out.faces[1].fails.high, end);
  EXPECT_NEAR(out.any_fails.share, 1 - (1 - top) * (1 - end), 0.004);
  test::published("casting", "median stock of a normal face over 200000 virtual castings, mm",
                  "mean of the normal distribution", test::How::exact, 2.0, out.faces[0].least[3] / mm,
                  5 * 0.5 * 1.2533 / std::sqrt(2e5));
  EXPECT_NEAR(out.faces[0].least[1] / mm, 2 - 0.5 * 2.3263, 0.02);
}

TEST(VirtualCastings, RoughnessIsDrawnPerPointAndUnderTouches) {
  VirtualInputs in;
  in.castings = 50000;
  in.quantiles = {0.5, maths::normal_cdf(1)};
  const auto out = virtual_castings(plate(0.2 * mm), in).value();
  // Top: closure 0.5, its own point 0.2 and the weighted three rests under (50, 50): weights 0, 1/2, 1/2.
  EXPECT_NEAR((out.faces[0].least[1] - out.faces[0].least[0]) / mm, std::sqrt(0.25 + 0.04 + 0.5 * 0.04), 0.012);
}

TEST(VirtualCastings, StopsBetweenBlocks) {
  VirtualInputs in;
  in.castings = 2000000;
  in.threads = 2;
  std::atomic<int> asked{0};
  base::Halt halt([&] { return ++asked > 20; });
  EXPECT_FALSE(virtual_castings(plate(0.1 * mm), in, nullptr, &halt).ok());
  EXPECT_TRUE(halt.over());
  EXPECT_LE(asked, 23) << "once for each block that was begun, and no more once it stopped";
  EXPECT_EQ(draw_noise(plate(0.1 * mm), in, &halt).castings, 0);
  base::Halt goes_on([] { return false; });
  in.castings = 1000;
  EXPECT_TRUE(virtual_castings(plate(0.1 * mm), in, nullptr, &goes_on).ok());
}
TEST(VirtualCastings, SameBytesAtAnyNumberOfThreads) {
  VirtualInputs in;
  in.castings = 5003;
  in.with_shift = true;
  const auto one = virtual_castings(plate(0.1 * mm), in).value();
  for (int threads : {2, 3, 8}) {
    in.threads = threads;
    const auto many = virtual_castings(plate(0.1 * mm), in).value();
    EXPECT_EQ(one.any_fails.hits, many.any_fails.hits);
    EXPECT_EQ(one.any_fails_with_shift.hits, many.any_fails_with_shift.hits);
    EXPECT_EQ(one.worst_casting, many.worst_casting);
    EXPECT_EQ(one.worst_reserve, many.worst_reserve);
    for (std::size_t f = 0; f < one.faces.size(); ++f) {
      EXPECT_EQ(one.faces[f].least, many.faces[f].least);
      EXPECT_EQ(one.faces[f].most, many.faces[f].most);
    }
  }
}

TEST(VirtualCastings, QuantilesAreThoseOfAllCastingsInOrder) {
  VirtualInputs in;
  in.castings = 777;
  in.quantiles = {0, 0.001, 0.01, 0.5, 0.5, 0.99, 1};
  const Model m = plate(0.1 * mm);
  const auto out = virtual_castings(m, in).value();
  for (std::size_t f = 0; f < m.faces.size(); ++f) {
    std::vector<double> least;
    for (int i = 0; i < in.castings; ++i) least.push_back(one_casting(m, in.seed, i).faces[f].least);
    std::sort(least.begin(), least.end());
    EXPECT_EQ(out.faces[f].least_of_all, least.front());
    for (std::size_t q = 0; q < in.quantiles.size(); ++q)
      EXPECT_EQ(out.faces[f].least[q], maths::quantile_of_sorted(least, in.quantiles[q])) << in.quantiles[q];
  }
}

TEST(VirtualCastings, OnlySkinIsRoughAndEveryPointHasItsOwnNumber) {
  Model m = plate(0.1 * mm);
  m.raw_point[0] = 0;  // as if an earlier cut had been there
  const std::size_t k = m.parameters.size();
  for (const int number : {0, 17}) {
    const OneCasting c = one_casting(m, 5, number);
    for (std::size_t i = 0; i < m.nominal.size(); ++i) {
      double sum = m.nominal[i];
      for (std::size_t j = 0; j < k; ++j)
        if (m.by_parameter[i * k + j] != 0) sum += m.by_parameter[i * k + j] * c.parameters[j];
      const double rough = m.raw_point[i] == 0 ? 0
                                               : m.texture_s * maths::normal(5, static_cast<std::uint64_t>(number),
                                                                             static_cast<std::uint32_t>(k + i));
      EXPECT_EQ(c.stock[i], sum + rough) << i;
    }
  }
}

TEST(VirtualCastings, NumbersDrawnOnceGiveTheSameBytes) {
  VirtualInputs in;
  in.castings = 1003;
  in.seed = 3;
  const Noise noise = draw_noise(plate(0.1 * mm), in);
  EXPECT_TRUE(noise.of(plate(0.3 * mm), in));  // another roughness asks for the same numbers
  const auto same = [&](const Model& m) {
    const auto a = virtual_castings(m, in).value(), b = virtual_castings(m, in, &noise).value();
    EXPECT_EQ(a.any_fails.hits, b.any_fails.hits);
    EXPECT_EQ(a.worst_casting, b.worst_casting);
    EXPECT_EQ(a.worst_reserve, b.worst_reserve);
    for (std::size_t f = 0; f < a.faces.size(); ++f) {
      EXPECT_EQ(a.faces[f].least, b.faces[f].least);
      EXPECT_EQ(a.faces[f].most, b.faces[f].most);
    }
  };
  same(plate(0.1 * mm)), same(plate(0.3 * mm)), same(plate());
  // Another seed, more castings, another skin: other numbers, so these are not used.
  Model other = plate(0.1 * mm);
  other.raw_point[0] = 0;
  EXPECT_FALSE(noise.of(other, in));
  same(other);
  in.seed = 4;
  EXPECT_FALSE(noise.of(plate(0.1 * mm), in));
  same(plate(0.1 * mm));
  in.seed = 3, in.castings = 2000;
  same(plate(0.1 * mm));
  in.castings = 100000000;  // too many to keep
  EXPECT_EQ(draw_noise(plate(0.1 * mm), in).castings, 0);
}

TEST(VirtualCastings, TheWorstOneComesBackByItsNumber) {
  VirtualInputs in;
  in.castings = 3000;
  in.seed = 99;
  const Model m = plate(0.1 * mm);
  const auto out = virtual_castings(m, in).value();
  const OneCasting again = one_casting(m, 99, out.worst_casting);
  EXPECT_EQ(again.faces[static_cast<std::size_t>(out.worst_face)].reserve, out.worst_reserve);
  for (std::size_t f = 0; f < out.faces.size(); ++f)
    EXPECT_EQ(one_casting(m, 99, out.faces[f].worst_casting).faces[f].least, out.faces[f].least_of_all);
  in.seed = 100;
  EXPECT_NE(virtual_castings(m, in).value().worst_reserve, out.worst_reserve);
}

TEST(VirtualCastings, TheShiftSavesSome) {
  VirtualInputs in;
  in.castings = 4000;
  in.with_shift = true;
  const auto out = virtual_castings(plate(), in).value();
  // The end may be cut up to 0.5 further out, the top not: what is left is top (2.4 s) or end short by more than 0.5.
  const double top = maths::normal_cdf(-2.4), end = maths::normal_cdf(-1.2 / std::sqrt(0.37));
  EXPECT_LT(out.any_fails_with_shift.hits, out.any_fails.hits);
  EXPECT_NEAR(out.any_fails_with_shift.share, top + end, 0.012);
}

TEST(VirtualCastings, OneSidedErrorsStayOneSided) {
  Casting c;
  c.surfaces = {{"raw top", cope, false}, {"other", drag, false}};
  c.modes = {stub("gate stub", "raw top", {0, 0, 0}, 1, 0.5 * mm), surface_offset("other", 0)};
  Mode half = surface_offset("raw top", 0.3 * mm);
  half.family = Mode::Family::half_normal;
  c.modes.push_back(half);
  Operation op{"op", {}, {}, {}};
  op.contacts = {rest("a", "other", {0, 0, 0}, {0, 0, -1}),    rest("b", "other", {0.1, 0, 0}, {0, 0, -1}),
                 rest("c", "other", {0, 0.1, 0}, {0, 0, -1}),  rest("d", "other", {0, 0.02, 0}, {-1, 0, 0}),
                 rest("e", "other", {0, 0.08, 0}, {-1, 0, 0}), rest("f", "other", {0.05, 0, 0}, {0, -1, 0})};
  Route r{{op}, {{"top", "raw top", 0, {{{0, 0, 0}, {0, 0, 1}, {0, 0, 1 * mm}}}, 0, 1, 0}}};
  VirtualInputs in;
  in.castings = 20000;
  in.quantiles = {0.5};
  const auto out = virtual_castings(build(c, r).value(), in).value();
  EXPECT_EQ(out.any_fails.hits, 0);
  EXPECT_GE(out.faces[0].least_of_all, 1 * mm);
  EXPECT_GT(out.faces[0].most_of_all, 1.8 * mm);
}

TEST(VirtualCastings, RefusesOneBadValuePerBound) {
  const Model m = plate();
  const auto refused = [&](const std::function<void(VirtualInputs&)>& spoil) {
    VirtualInputs in;
    in.castings = 10;
    spoil(in);
    return !virtual_castings(m, in).ok();
  };
  EXPECT_FALSE(refused([](VirtualInputs&) {}));
  EXPECT_TRUE(refused([](VirtualInputs& in) { in.castings = 0; }));
  EXPECT_TRUE(refused([](VirtualInputs& in) { in.castings = 100000001; }));
  EXPECT_TRUE(refused([](VirtualInputs& in) { in.confidence = 0; }));
  EXPECT_TRUE(refused([](VirtualInputs& in) { in.confidence = 1; }));
  EXPECT_TRUE(refused([](VirtualInputs& in) { in.threads = 0; }));
  EXPECT_TRUE(refused([](VirtualInputs& in) { in.threads = 1025; }));
  EXPECT_TRUE(refused([](VirtualInputs& in) { in.quantiles = {1.5}; }));
  EXPECT_TRUE(refused([](VirtualInputs& in) { in.quantiles = {-0.5}; }));
}

}  // namespace
}  // namespace fettle::casting
