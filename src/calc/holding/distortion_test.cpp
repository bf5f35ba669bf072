#include "calc/holding/distortion.h"

#include <gtest/gtest.h>

#include <cmath>

#include "calc/holding/chuck.h"
#include "calc/holding/vise.h"
#include "published.h"

namespace fettle::holding {
namespace {

using test::How;
using test::published;
constexpr double mm = 1e-3, um = 1e-6;

TEST(Distortion, StripBetweenPads) {
  published("holding", "strip with held ends, µm", "F s^3/(192 E I), exact", How::exact,
            1e4 * 1e-3 / (192 * 1e11 * 1e-6 / 12) * 1e6, strip_sink(1e4, 0.1, 1e11, 1, 0.01) / um, 1e-6);
  EXPECT_NEAR(strip_sink_free(1e4, 0.1, 1e11, 1, 0.01), 4 * strip_sink(1e4, 0.1, 1e11, 1, 0.01), 1e-18);
}

TEST(Distortion, SqueezedBoreAndRing) {
  const BoreSqueeze b = squeezed_bore(10e6, 22 * mm, 110e9);
  published("holding", "bore in a squeezed body closes by, µm", "Kirsch: 3 p d/E, exact", How::exact, -6.0,
            b.along / um, 1e-9);
  published("holding", "and opens across by, µm", "Kirsch: p d/E, exact", How::exact, 2.0, b.across / um, 1e-9);
  EXPECT_NEAR(b.out_of_round, 4 * um, 1e-15);
  const BoreSqueeze r = squeezed_ring(1, 1, 1, 12, 1);  // E I = 1
  published("holding", "ring under two forces, shorter by",
            "Timoshenko, Strength of Materials: 0.149 F R^3/(E I), from memory", How::from_memory, -0.149, r.along,
            5e-4);
  published("holding", "ring under two forces, wider by",
            "Timoshenko, Strength of Materials: 0.137 F R^3/(E I), from memory", How::from_memory, 0.137, r.across,
            5e-4);
}

TEST(Chuck, PullAgainstWarp) {
  ChuckInputs in{0.3 * mm, 0.1, 10 * mm, 110e9, 0.26, 0.8e6};
  const auto r = on_chuck(in);
  ASSERT_TRUE(r.ok());
  published("holding", "square plate on four edges under even load, w D/(p a^4)",
            "Timoshenko, Plates and Shells, table 8: 0.00406, from memory", How::from_memory, 0.00406,
            r->can_pull * r->stiffness / (in.pull * std::pow(in.span, 4)), 1e-9);
  EXPECT_NEAR(r->pulled_out + r->stands_off, in.warp, 1e-15);
  in.pull = 2 * r->flat_needs;
  const auto flat = on_chuck(in);
  EXPECT_NEAR(flat->pulled_out, in.warp, 1e-15);
  EXPECT_EQ(flat->stands_off, 0);
  in.thickness *= 2;
  EXPECT_NEAR(on_chuck(in)->flat_needs, 8 * r->flat_needs, 1e-3);
  const auto refused = [](auto change) {
    ChuckInputs x{0.3 * mm, 0.1, 10 * mm, 110e9, 0.26, 0.8e6};
    change(x);
    return !on_chuck(x).ok();
  };
  EXPECT_TRUE(refused([](ChuckInputs& x) { x.warp = -1; }));
  EXPECT_TRUE(refused([](ChuckInputs& x) { x.span = 0; }));
  EXPECT_TRUE(refused([](ChuckInputs& x) { x.thickness = 0; }));
  EXPECT_TRUE(refused([](ChuckInputs& x) { x.modulus = 0; }));
  EXPECT_TRUE(refused([](ChuckInputs& x) { x.poisson = 0.5; }));
  EXPECT_TRUE(refused([](ChuckInputs& x) { x.pull = 0; }));
}

ViseInputs five() {
  ViseInputs in;
  in.parts = 5, in.force = 20e3, in.friction = 0.15, in.width = 132 * mm, in.held = 38 * mm, in.arm = 76 * mm;
  in.along_row = 1000, in.along_jaw = 800, in.up = 200, in.face_angle = 1e-4, in.depth = 5 * 36 * mm;
  return in;
}

TEST(Vise, SeriesByHand) {
  const auto r = vise_series(five());
  ASSERT_TRUE(r.ok());
  EXPECT_EQ(r->each, 20e3);
  published("holding", "stack tips: F h/2 over H z", "worked by hand", How::exact, 20e3 * 0.019 / (1000 * 0.076),
            r->tilt_factor, 1e-9);
  EXPECT_NEAR(r->curl, 5e-4, 1e-15);
  EXPECT_NEAR(r->rises, 5e-4 * 0.09, 1e-15);
  ViseInputs plain = five();
  plain.along_row = 0, plain.arm = 0, plain.up = 0;
  published("holding", "slip factor of one part", "2 mu F over the pull, exact", How::exact, 2 * 0.15 * 20e3 / 800,
            vise_series(plain)->slip_factor, 1e-9);
  EXPECT_LT(r->slip_factor, vise_series(plain)->slip_factor);
}

TEST(Vise, ARestTakesTheTurn) {
  ViseInputs in = five();
  in.on_rest = true;
  EXPECT_NEAR(vise_series(in)->slip_factor, 2 * 0.15 * 20e3 / (std::hypot(800, 200) + 0.15 * 1000), 1e-9);
  EXPECT_GT(vise_series(in)->slip_factor, vise_series(five())->slip_factor);
}

TEST(Vise, FrictionArmByQuadrature) {
  const double a = 132 * mm, b = 38 * mm;
  double sum = 0;
  constexpr int n = 400;
  for (int i = 0; i < n; ++i)
    for (int j = 0; j < n; ++j) sum += std::hypot(((i + 0.5) / n - 0.5) * a, ((j + 0.5) / n - 0.5) * b);
  published("holding", "mean distance from a rectangle's middle, mm", "quadrature, computed", How::computed,
            sum / n / n / mm, friction_arm(a, b) / mm, 1e-3);
}

TEST(Vise, EachBoundIsRefused) {
  const auto refused = [](auto change) {
    ViseInputs in = five();
    change(in);
    return !vise_series(in).ok();
  };
  EXPECT_FALSE(refused([](ViseInputs&) {}));
  EXPECT_TRUE(refused([](ViseInputs& i) { i.parts = 0; }));
  EXPECT_TRUE(refused([](ViseInputs& i) { i.force = 0; }));
  EXPECT_TRUE(refused([](ViseInputs& i) { i.friction = 0; }));
  EXPECT_TRUE(refused([](ViseInputs& i) { i.width = 0; }));
  EXPECT_TRUE(refused([](ViseInputs& i) { i.arm = -1; }));
  EXPECT_TRUE(refused([](ViseInputs& i) { i.up = -1; }));
  EXPECT_TRUE(refused([](ViseInputs& i) { i.face_angle = 0.1; }));
  EXPECT_TRUE(refused([](ViseInputs& i) { i.depth = -1; }));
}

}  // namespace
}  // namespace fettle::holding
