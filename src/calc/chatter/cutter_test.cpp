#include "calc/chatter/cutter.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "calc/chatter/lobes_for_tests.h"
#include "calc/chatter/lobes_structure.h"

namespace {

using namespace fettle::chatter;
using fettle::frame::Vec3;

/// Midpoint sums over the arc, the slow way.
Real9 summed(const Cutter& c, Vec3 (*from)(const Cutter&, double)) {
  constexpr int n = 200000;
  Real9 out{};
  const double step = (c.exit - c.entry) / n;
  for (int i = 0; i < n; ++i) {
    const double p = c.entry + (i + 0.5) * step;
    const Vec3 f = from(c, p), h = chip_direction(c, p);
    const double a[3] = {f.x, f.y, f.z}, b[3] = {h.x, h.y, h.z};
    for (std::size_t r = 0; r < 3; ++r)
      for (std::size_t k = 0; k < 3; ++k) out[3 * r + k] += a[r] * b[k] * step;
  }
  return out;
}

TEST(Cutter, ArcsOfSideCuts) {
  EXPECT_NEAR(side_arc(10, 10, true).entry, 0, 1e-12);
  EXPECT_NEAR(side_arc(10, 10, false).exit, M_PI, 1e-12);
  EXPECT_NEAR(side_arc(5, 10, true).entry, M_PI / 2, 1e-12);
  EXPECT_NEAR(side_arc(2.5, 10, false).exit, M_PI / 3, 1e-12);
  for (const double w : {0.0, -1.0, 11.0, std::numeric_limits<double>::quiet_NaN()})
    EXPECT_EQ(side_arc(w, 10, true).exit, side_arc(w, 10, true).entry);
}

TEST(Cutter, DirectionsByClosedFormAndBySum) {
  Cutter c = cutter(4, {0.4, 2.3}, 6e8, 2.4e8);
  c.ka = 0.25;
  for (const double lead : {0.0, 0.3, M_PI / 4}) {
    c.lead = lead;
    const Directions d = directions(c, 0.3);
    const Real9 chip = summed(c, force_direction),
                flank = summed(c, [](const Cutter&k, double p) { return flank_direction(k, p, 0.3); });
    for (std::size_t i = 0; i < 9; ++i) {
      EXPECT_NEAR(d.chip[i], chip[i], 1e-9) << i << " lead " << lead;
      EXPECT_NEAR(d.flank[i], flank[i], 1e-9) << i << " lead " << lead;
    }
  }
}

TEST(Cutter, PlaneDirectionsAreThoseOfThePaper) {
  // Altintas and Budak 1995: twice the coefficients, between entry and exit.
  const double kr = 0.35, a = 0.2, b = 1.9;
  Cutter c = cutter(4, {a, b}, 1, kr);
  const auto part = [&](double p, int which) {
    const double s = std::sin(2 * p), k = std::cos(2 * p);
    switch (which) {
      case 0:
        return (k - 2 * kr * p + kr * s) / 2;
      case 1:
        return (-s - 2 * p + kr * k) / 2;
      case 2:
        return (-s + 2 * p + kr * k) / 2;
      default:
        return (-k - 2 * kr * p - kr * s) / 2;
    }
  };
  const Real9 d = directions(c, 0).chip;
  constexpr std::size_t place[4] = {0, 1, 3, 4};
  for (int i = 0; i < 4; ++i) EXPECT_NEAR(2 * d[place[i]], part(b, i) - part(a, i), 1e-12) << i;
}

TEST(Cutter, DelaysAddUpToATurnAndKnowUnevenTeeth) {
  Cutter c = cutter(3, slot, 1e9, 3e8);
  EXPECT_TRUE(even(c));
  for (double d : tooth_delays(c, 10)) EXPECT_NEAR(d, 1.0 / 30, 1e-12);
  c.tooth_angles = {0, 2, 4.5};
  EXPECT_FALSE(even(c));
  const std::vector<double> d = tooth_delays(c, 1 / (2 * M_PI));
  ASSERT_EQ(d.size(), 3U);
  // The tooth at 4.5 comes first; before it passed the one at 0, a turn further on.
  EXPECT_NEAR(d[0], 2 * M_PI - 4.5, 1e-12);
  EXPECT_NEAR(d[1], 2.5, 1e-12);
  EXPECT_NEAR(d[2], 2, 1e-12);
}

TEST(Cutter, RefusesWhatCannotBe) {
  const auto no = [](auto change) {
    Cutter c = cutter(4, slot, 1e9, 3e8);
    EXPECT_EQ(wrong(c), "");
    change(c);
    EXPECT_NE(wrong(c), "");
  };
  no([](Cutter& c) { c.kt = 0; });
  no([](Cutter& c) { c.kt = NAN; });
  no([](Cutter& c) { c.kr = INFINITY; });
  no([](Cutter& c) { c.ka = NAN; });
  no([](Cutter& c) { c.tooth_angles.clear(); });
  no([](Cutter& c) { c.tooth_angles = {0, 0}; });
  no([](Cutter& c) { c.tooth_angles = {0, 7}; });
  no([](Cutter& c) { c.tooth_angles = {0, NAN}; });
  no([](Cutter& c) { c.exit = c.entry; });
  no([](Cutter& c) { c.exit = 7; });
  no([](Cutter& c) { c.exit = NAN; });
  no([](Cutter& c) { c.lead = -0.01; });
  no([](Cutter& c) { c.lead = 1.5; });
}

TEST(Structure, AddsUpOwnersAndTurnsAxes) {
  // Two owners with modes askew and a residual, seen along turned axes: the sum of the modal module's responses.
  std::vector<fettle::maths::PointResponse> r = {mode_by_mass(300, 2, 0.03, {0.6, 0, 0.8}),
                                                 mode_by_mass(700, 1, 0.02, {0, 1, 0})};
  r[0].residual = {1e-9, 2e-10, 0, 2e-10, 3e-9, 0, 0, 0, 5e-9};
  const double s = std::sqrt(0.5);
  const std::array<Vec3, 3> axes{{{s, s, 0}, {-s, s, 0}, {0, 0, 1}}};
  const Structure whole(r, axes);
  const double w = 2 * M_PI * 350;
  const double turn[3][3] = {{s, s, 0}, {-s, s, 0}, {0, 0, 1}};
  for (int owner = -1; owner < 2; ++owner) {
    fettle::maths::Response3 sum{};
    for (std::size_t o = 0; o < 2; ++o) {
      if (owner >= 0 && o != static_cast<std::size_t>(owner)) continue;
      const fettle::maths::Response3 g = fettle::maths::response(r[o], w);
      for (std::size_t i = 0; i < 9; ++i) sum[i] += g[i];
    }
    const fettle::maths::Response3 got = whole.at(w, owner);
    for (std::size_t i = 0; i < 3; ++i)
      for (std::size_t j = 0; j < 3; ++j) {
        std::complex<double> want = 0;
        for (std::size_t k = 0; k < 3; ++k)
          for (std::size_t l = 0; l < 3; ++l) want += turn[i][k] * sum[3 * k + l] * turn[j][l];
        EXPECT_NEAR(std::abs(got[3 * i + j] - want), 0, 1e-15) << owner << " " << i << " " << j;
      }
  }
  EXPECT_NEAR(whole.lowest(), 2 * M_PI * 300, 1e-9);
  EXPECT_NEAR(whole.highest(), 2 * M_PI * 700, 1e-9);
  EXPECT_TRUE(std::isinf(Structure().lowest()));
}

}  // namespace
