#include "calc/chatter/recording.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "calc/chatter/wav.h"
#include "published.h"

namespace {

using namespace fettle::chatter;
using fettle::test::How;
using fettle::test::published;

constexpr double pi = 3.14159265358979323846;

/// Noise that is the same every time.
struct Noise {
  std::uint64_t s = 88172645463325252ULL;
  double operator()() {
    s ^= s << 13, s ^= s >> 7, s ^= s << 17;
    return static_cast<double>(s >> 11) / 4503599627370496.0 - 1;
  }
};

struct Truth {
  double f, damping, size;
};
std::vector<double> taps(const std::vector<Truth>& modes, int count, double noise, double rate = 48000) {
  std::vector<double> x(static_cast<std::size_t>(rate * (0.3 + 0.5 * count)));
  Noise n;
  for (auto& v : x) v = noise * n();
  for (int k = 0; k < count; ++k) {
    const auto from = static_cast<std::size_t>(rate * (0.2 + 0.5 * k));
    for (std::size_t i = from; i < x.size(); ++i) {
      const double t = static_cast<double>(i - from) / rate;
      for (const Truth& m : modes) {
        const double w = 2 * pi * m.f / std::sqrt(1 - m.damping * m.damping);
        x[i] += m.size * std::exp(-m.damping * w * t) * std::sin(2 * pi * m.f * t);
      }
    }
  }
  return x;
}

TEST(Tap, OneRingIsFoundExactly) {
  const TapResult r = tap({48000, taps({{212.5, 0.018, 0.5}}, 1, 0)});
  ASSERT_TRUE(r.ok) << r.why;
  ASSERT_EQ(r.rings.size(), 1U);
  published("chatter", "frequency of a made ring-down, Hz", "constructed: the sine that was written", How::exact, 212.5,
            r.rings[0].frequency, 1e-4);
  published("chatter", "damping of a made ring-down", "constructed: the decay that was written", How::exact, 0.018,
            r.rings[0].damping, 1e-6);
}

TEST(Tap, ThreeTapsOfThreeRingsInNoise) {
  const std::vector<Truth> truth{{187, 0.021, 0.4}, {262, 0.012, 0.3}, {930, 0.008, 0.3}};
  const TapResult r = tap({44100, taps(truth, 3, 0.01, 44100)});
  ASSERT_TRUE(r.ok) << r.why;
  EXPECT_EQ(r.taps, 3);
  for (const Truth& t : truth) {
    const auto it =
        std::find_if(r.rings.begin(), r.rings.end(), [&](const Ring& x) { return std::fabs(x.frequency - t.f) < 5; });
    ASSERT_NE(it, r.rings.end()) << t.f;
    EXPECT_NEAR(it->frequency, t.f, 0.3);
    EXPECT_NEAR(it->damping, t.damping, 0.0006);
    EXPECT_EQ(it->taps, 3);
    EXPECT_LT(it->frequency_spread, 1);
    EXPECT_GT(it->frequency_spread, 0);
    EXPECT_LT(it->damping_spread, 0.002);
  }
}

TEST(Tap, SpreadCoversTheTruth) {
  int within = 0;
  for (int k = 0; k < 20; ++k) {
    std::vector<double> x = taps({{340, 0.015, 0.3}}, 2, 0);
    Noise n;
    n.s += 7919ULL * static_cast<unsigned>(k + 1);
    for (auto& v : x) v += 0.03 * n();
    const TapResult r = tap({48000, x});
    ASSERT_TRUE(r.ok);
    within += std::fabs(r.rings[0].damping - 0.015) < 3 * r.rings[0].damping_spread ? 1 : 0;
  }
  EXPECT_GE(within, 17);
}

TEST(Tap, SaysWhenThereIsNothing) {
  EXPECT_FALSE(tap({48000, {}}).ok);
  EXPECT_FALSE(tap({48000, std::vector<double>(48000, 0.0)}).ok);
  std::vector<double> x(48000);
  Noise n;
  for (auto& v : x) v = 0.1 * n();
  const TapResult noise = tap({48000, x});
  EXPECT_FALSE(noise.ok) << noise.rings.size();
  EXPECT_FALSE(noise.why.empty());
  for (std::size_t i = 0; i < x.size(); ++i) x[i] = 0.3 * std::sin(2 * pi * 100 * static_cast<double>(i) / 48000);
  EXPECT_FALSE(tap({48000, x}).ok) << "a hum is no ring";
  EXPECT_FALSE(tap({0, x}).ok);
}

std::vector<double> cut(double turns, int teeth, double chatter, double size, double noise) {
  std::vector<double> x(96000);
  Noise n;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double t = static_cast<double>(i) / 48000;
    for (int j = 1; j <= 6; ++j) x[i] += 0.2 / j * std::sin(2 * pi * j * teeth * turns * t + j);
    x[i] += 0.02 * std::sin(2 * pi * turns * t) + size * std::sin(2 * pi * chatter * t) + noise * n();
  }
  return x;
}

TEST(Squeal, FindsTheToneThatNoToothBeats) {
  SquealInputs in;
  in.rate = 48000, in.turns = 36.5, in.teeth = 5, in.top_turns = 200;
  in.samples = cut(36.5, 5, 634.2, 0.3, 0.02);
  const SquealResult r = squeal(in);
  ASSERT_TRUE(r.ok) << r.why;
  EXPECT_TRUE(r.chatter);
  published("chatter", "chatter frequency in a made squeal, Hz", "constructed: the tone that was written", How::exact,
            634.2, r.frequency, 0.5);
  ASSERT_FALSE(r.tries.empty());
  for (double n : r.tries) {
    EXPECT_LE(n, 200);
    EXPECT_GE(n, in.turns / 3);
    const double j = r.frequency / (n * 5);
    EXPECT_NEAR(j, std::round(j), 1e-9);
  }
  // Nearest first: 634.2/(5*3) = 42.28 is 1.158 times, 634.2/(5*4) = 31.71 is 1/1.151.
  EXPECT_NEAR(r.tries[0], r.frequency / 20, 1e-9);
}

TEST(Squeal, TeethAloneAreNoChatter) {
  SquealInputs in;
  in.rate = 48000, in.turns = 36.5, in.teeth = 5;
  in.samples = cut(36.5, 5, 634.2, 0, 0.02);
  const SquealResult r = squeal(in);
  ASSERT_TRUE(r.ok) << r.why;
  EXPECT_FALSE(r.chatter);
  EXPECT_TRUE(r.tries.empty());
  for (const Tone& t : r.tones) EXPECT_TRUE(t.turning) << t.frequency;
  EXPECT_TRUE(r.tones[0].teeth);
}

TEST(Squeal, NeedsSpeedAndTeethAndSound) {
  SquealInputs in;
  in.rate = 48000, in.samples = cut(36.5, 5, 634.2, 0.3, 0);
  EXPECT_FALSE(squeal(in).ok);
  in.turns = 36.5;
  EXPECT_FALSE(squeal(in).ok);
  in.teeth = 5;
  EXPECT_TRUE(squeal(in).ok);
  in.samples.resize(1000);
  EXPECT_FALSE(squeal(in).ok);
  in.samples.assign(96000, 0.0);
  EXPECT_FALSE(squeal(in).ok);
}

}  // namespace
