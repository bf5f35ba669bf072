// Boring bars: closed forms of the one-mode cut, and the edge by adding it up.
#include "calc/chatter/bar.h"

#include <gtest/gtest.h>

#include <cmath>

#include "published.h"

namespace fettle::chatter {
namespace {

constexpr double two_pi = 6.283185307179586;

/// One mode across, in one direction only.
BarInputs one_mode(double hertz, double stiffness, double damping, double ks) {
  BarInputs in;
  const double omega = two_pi * hertz;
  in.responses.resize(1);
  in.responses[0].modes = {{omega, damping, {omega / std::sqrt(stiffness), 0, 0}}};
  in.kt = ks, in.kr = 1, in.speed = 2;
  in.edge = {two_pi / 8, 0, 0};
  return in;
}

TEST(BoringBar, OneModeOrthogonalCut) {
  const BarResult r = bar_limit(one_mode(250, 2.26e8, 0.012, 1e9));
  ASSERT_TRUE(r.ok) << r.why;
  test::published("chatter", "absolute limit of a turning-like cut, mm",
                  "Tlusty and Polacek 1963, Tobias 1965; 250 Hz, 2.26e8 N/m, 0.012, 1000 N/mm2", test::How::computed,
                  5.4891, 1e3 * r.edge, 1e-4);
  test::published("chatter", "frequency there, Hz", "Tlusty and Polacek 1963: f sqrt(1 + 2 z)", test::How::computed,
                  252.982, r.frequency, 0.01);
}

TEST(BoringBar, RubbingFlankAgainstTheImplicitClosedForm) {
  BarInputs in = one_mode(600, 8e6, 0.03, 6e8);
  test::published("chatter", "turning-like cut without flank, mm", "2 k z (1 + z)/Ks: 600 Hz, 8e6 N/m, 0.03, 600 N/mm2",
                  test::How::exact, 0.824, 1e3 * bar_limit(in).edge, 1e-6);
  in.indentation = 2e13, in.land = 0.1e-3;  // C = 1e5 N/m
  const double c = 1e5, root_km = 8e6 / (two_pi * 600);
  for (double v : {20.0, 5.0, 2.0}) {
    in.speed = v;
    double b = 0;
    for (int i = 0; i < 2000; ++i) {
      const double z = 0.03 + c * b / v / (2 * root_km);
      b = 2 * 8e6 * z * (1 + z) / 6e8;
    }
    const BarResult r = bar_limit(in);
    ASSERT_TRUE(r.ok);
    if (b < 1)
      test::published("chatter", "turning-like cut with flank at " + std::to_string(v) + " m/s, mm",
                      "b = 2 k z (1 + z)/Ks, z = zeta + C b/(2 v sqrt(k m)): Tyler and Schmitz 2013 (from memory)",
                      test::How::exact, 1e3 * b, 1e3 * r.edge, 2e-3 * b);
    else EXPECT_FALSE(std::isfinite(r.edge)) << v;
  }
  in.speed = 0.2;
  EXPECT_FALSE(std::isfinite(bar_limit(in).depth)) << "slow enough: the flank damps more than any depth excites";
}

TEST(BoringBar, EdgeByAddingItUp) {
  const BarEdge edges[] = {{two_pi / 4, 0.4e-3, 0.1e-3}, {two_pi / 6, 0.8e-3, 0.2e-3}, {two_pi / 8, 0, 0.1e-3}};
  for (const BarEdge& e : edges)
    for (double depth : {0.05e-3, 0.2e-3, 0.4e-3, 2e-3}) {
      // In steps of height over the lowest point: ds = dh/sin, radial part cos.
      double sum = 0;
      constexpr int n = 400000;
      const double corner = e.corner_radius * (1 - std::cos(e.approach));
      for (int i = 0; i < n; ++i) {
        const double h = depth * (i + 0.5) / n;
        const double cosine = h < corner ? 1 - h / e.corner_radius : std::cos(e.approach);
        sum += cosine * cosine / std::sqrt(1 - cosine * cosine) * depth / n;
      }
      // Behind the lowest point in steps of the feed: ds = dx/cos, radial part cos.
      const double r = e.corner_radius, round = std::min(depth, corner);
      const double half = r > 0 ? std::min(0.5 * e.feed, std::sqrt(std::max(0.0, 2 * r * round - round * round))) : 0;
      for (int i = 0; i < 1000 && r > 0; ++i) {
        const double x = half * (i + 0.5) / 1000;
        sum += std::sqrt(1 - x * x / r / r) * half / 1000;
      }
      EXPECT_NEAR(swayed_edge(e, depth), sum, 2e-3 * sum) << e.approach << " " << depth;
    }
  // A square edge without corner makes no chip from swaying.
  EXPECT_LT(swayed_edge({two_pi / 4, 0, 0.1e-3}, 1e-3), 1e-9);
}

TEST(BoringBar, DepthIsWhereTheSwayedEdgeReachesTheLimit) {
  BarInputs in = one_mode(600, 8e6, 0.03, 2e9);
  in.edge = {two_pi / 6, 0.4e-3, 0.1e-3};
  const BarResult r = bar_limit(in);
  ASSERT_TRUE(r.ok && std::isfinite(r.depth));
  EXPECT_NEAR(swayed_edge(in.edge, r.depth), r.edge, 1e-9);
  in.edge.approach = two_pi / 4, in.edge.corner_radius = 0.1e-3;
  EXPECT_FALSE(std::isfinite(bar_limit(in).depth)) << "a small corner on a square edge never sways enough";
  in.edge = {two_pi / 8, 0, 0};
  const double one = bar_limit(in).depth;
  in.edges = 2;
  EXPECT_NEAR(bar_limit(in).depth, one / 2, 1e-9);
}

TEST(BoringBar, TheSofterDirectionAndTheSumOfToolAndPart) {
  BarInputs in = one_mode(250, 2.26e8, 0.012, 1e9);
  const double x = bar_limit(in).edge;
  const double omega = two_pi * 250;
  in.responses[0].modes.push_back({omega, 0.012, {0, omega / std::sqrt(1.13e8), 0}});
  EXPECT_NEAR(bar_limit(in).edge, x / 2, 1e-6 * x);
  BarInputs two = one_mode(250, 2.26e8, 0.012, 1e9);
  two.responses.push_back(two.responses[0]);
  EXPECT_NEAR(bar_limit(two).edge, x / 2, 1e-6 * x);
}

TEST(BoringBar, RefusesWhatCannotBe) {
  const BarInputs good = one_mode(250, 2.26e8, 0.012, 1e9);
  const auto refused = [&](auto change) {
    BarInputs in = good;
    change(in);
    const BarResult r = bar_limit(in);
    return !r.ok && !r.why.empty();
  };
  EXPECT_TRUE(refused([](BarInputs& in) { in.responses.clear(); }));
  EXPECT_TRUE(refused([](BarInputs& in) { in.responses[0].modes.clear(); }));
  EXPECT_TRUE(refused([](BarInputs& in) { in.kt = 0; }));
  EXPECT_TRUE(refused([](BarInputs& in) { in.kr = std::nan(""); }));
  EXPECT_TRUE(refused([](BarInputs& in) { in.edges = 0; }));
  EXPECT_TRUE(refused([](BarInputs& in) { in.speed = 0; }));
  EXPECT_TRUE(refused([](BarInputs& in) { in.indentation = -1; }));
  EXPECT_TRUE(refused([](BarInputs& in) { in.land = std::nan(""); }));
  EXPECT_TRUE(refused([](BarInputs& in) { in.edge.approach = 0.01; }));
  EXPECT_TRUE(refused([](BarInputs& in) { in.edge.approach = 1.7; }));
  EXPECT_TRUE(refused([](BarInputs& in) { in.edge.corner_radius = -1; }));
  EXPECT_TRUE(refused([](BarInputs& in) { in.edge.feed = -1; }));
}

}  // namespace
}  // namespace fettle::chatter
