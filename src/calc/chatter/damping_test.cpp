#include "calc/chatter/damping.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "published.h"

namespace {

using namespace fettle::chatter;
using fettle::test::How;
using fettle::test::published;

RubbingInputs known() { return {600, 8e6, 0.03, 6e8, 2e4, 1.5}; }

TEST(Damping, KnownLimitWithoutFlankAndAtGreatSpeed) {
  RubbingInputs in = known();
  in.coefficient = 0;
  const char* source = "b = 2 k z (1 + z)/K with z = (c + C b/v)/(2 sqrt(k m)), exact";
  published("chatter", "limit of 600 Hz, 8e6 N/m, z 0.03, K 6e8 N/m2 without flank, mm", source, How::exact, 0.824,
            rubbing_limit(in).depth * 1e3, 1e-9);
  in.coefficient = 2e4, in.speed = 1e9;
  published("chatter", "the same with flank at boundless speed, mm", source, How::exact, 0.824,
            rubbing_limit(in).depth * 1e3, 1e-6);
  EXPECT_NEAR(rubbing_limit(in).damping, 0.03, 1e-8);
}

TEST(Damping, LimitSolvesTheImplicitEquation) {
  // The equation by creeping up from no depth at all, with mass and damper spelled out.
  for (double speed : {0.6, 1.0, 1.5, 3.0, 10.0}) {
    RubbingInputs in = known();
    in.speed = speed;
    const double w = 2 * M_PI * in.frequency, m = in.stiffness / (w * w),
                 c = 2 * in.damping * std::sqrt(in.stiffness * m);
    double b = 0;
    for (int i = 0; i < 200000; ++i) {
      const double z = (c + in.coefficient * b / speed) / (2 * std::sqrt(in.stiffness * m));
      b = 2 * in.stiffness * z * (1 + z) / in.ks;
      if (b > 1) break;
    }
    const RubbingResult r = rubbing_limit(in);
    ASSERT_TRUE(r.ok) << r.why;
    if (b > 1) {
      EXPECT_TRUE(std::isinf(r.depth)) << speed;
      EXPECT_LT(speed, r.slow_enough);
    } else {
      published("chatter", "limit with the flank at " + std::to_string(speed) + " m/s, mm",
                "the implicit equation, iterated (computed)", How::computed, b * 1e3, r.depth * 1e3, 1e-6 * b * 1e3);
      EXPECT_GT(speed, r.slow_enough);
      EXPECT_GT(r.depth, r.depth_without);
      EXPECT_NEAR(2 * in.stiffness * r.damping * (1 + r.damping) / in.ks / r.depth, 1, 1e-9);
    }
  }
}

TEST(Damping, SlowEnoughIsTheEdge) {
  RubbingInputs in = known();
  const double edge = rubbing_limit(in).slow_enough;
  ASSERT_GT(edge, 0);
  in.speed = edge * (1 - 1e-6);
  EXPECT_TRUE(std::isinf(rubbing_limit(in).depth));
  in.speed = edge * (1 + 1e-6);
  EXPECT_TRUE(std::isfinite(rubbing_limit(in).depth));
  in.coefficient *= 2, in.speed = 1.5 * edge;  // twice the land's force: quiet up to twice the speed
  EXPECT_TRUE(std::isinf(rubbing_limit(in).depth));
}

/// Work of the flank over one wave by the plainest sums: the force at every moment from the metal under the land.
double work_by_sums(double frequency, double land, double speed) {
  constexpr int times = 400, places = 1000;
  const double w = 2 * M_PI * frequency;
  double work = 0;
  for (int i = 0; i < times; ++i) {
    const double t = (i + 0.5) / times / frequency;
    double area = 0;  // edge motion sin(wt), 1 m high; metal between the land and the wave it left
    for (int k = 0; k < places; ++k) {
      const double s = (k + 0.5) * land / places;
      area += (std::sin(w * t) - std::sin(w * (t - s / speed))) * land / places;
    }
    work += area * w * std::cos(w * t) / times / frequency;
  }
  return work;
}

TEST(Damping, ShortWavesByDirectSums) {
  const double land = 80e-6, speed = 1.2;
  for (double waves : {0.01, 0.1, 0.3, 0.5, 0.8, 1.0, 1.3, 2.2}) {  // that fit under the land
    const double f = waves * speed / land;
    // A damper of C/v with unit indentation takes pi w C/v of the same motion.
    const double damper = M_PI * 2 * M_PI * f * flank_coefficient(1, land) / speed;
    EXPECT_NEAR(work_by_sums(f, land, speed) / damper, wave_factor(f, land, speed), 2e-6) << waves;
  }
  EXPECT_NEAR(wave_factor(speed / land, land, speed), 0, 1e-12);
  EXPECT_NEAR(wave_factor(1e-9, land, speed), 1, 1e-12);
  // Both branches agree where they meet.
  const double meet = 1e-3 / (2 * M_PI) * speed / land;
  EXPECT_NEAR(wave_factor(meet * 0.999999, land, speed), wave_factor(meet * 1.000001, land, speed), 1e-12);
  EXPECT_EQ(wave_factor(600, 0, speed), 1);
  EXPECT_EQ(wave_factor(600, land, 0), 1);
  EXPECT_EQ(wave_factor(600, land, std::numeric_limits<double>::quiet_NaN()), 1);
}

TEST(Damping, CoefficientOfALand) {
  EXPECT_NEAR(flank_coefficient(1.5e13, 60e-6), 2.7e4, 1e-6);
  const FlankBand band = iron_indentation();
  EXPECT_LT(band.low, band.stated);
  EXPECT_LT(band.stated, band.high);
  EXPECT_NE(band.source.find("from memory"), std::string::npos);
  // The one value read lies within the band for a land of 60 um.
  EXPECT_GT(2e4, flank_coefficient(band.low, 60e-6));
  EXPECT_LT(2e4, flank_coefficient(band.high, 60e-6));
}

TEST(Damping, RefusesWhatCannotBe) {
  const auto no = [](auto change) {
    RubbingInputs in = known();
    EXPECT_TRUE(rubbing_limit(in).ok);
    change(in);
    const RubbingResult r = rubbing_limit(in);
    EXPECT_FALSE(r.ok);
    EXPECT_FALSE(r.why.empty());
    EXPECT_EQ(r.depth, 0);  // nothing that could be read as quiet
  };
  no([](RubbingInputs& in) { in.frequency = 0; });
  no([](RubbingInputs& in) { in.frequency = INFINITY; });
  no([](RubbingInputs& in) { in.stiffness = NAN; });
  no([](RubbingInputs& in) { in.stiffness = INFINITY; });
  no([](RubbingInputs& in) { in.damping = 0; });
  no([](RubbingInputs& in) { in.damping = 1; });
  no([](RubbingInputs& in) { in.ks = 0; });
  no([](RubbingInputs& in) { in.ks = INFINITY; });
  no([](RubbingInputs& in) { in.coefficient = -1; });
  no([](RubbingInputs& in) { in.coefficient = INFINITY; });
  no([](RubbingInputs& in) { in.speed = 0; });
  no([](RubbingInputs& in) { in.speed = NAN; });
}

}  // namespace
