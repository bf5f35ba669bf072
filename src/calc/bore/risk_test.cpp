#include "calc/bore/risk.h"

#include <gtest/gtest.h>

#include <cmath>

#include "calc/bore/quadrature.h"
#include "maths/random.h"
#include "maths/statistics.h"
#include "published.h"

namespace fettle::bore {
namespace {

using test::How;
using test::published;

TEST(Accept, GuardBandOfTheStandard) {
  AcceptInputs in;
  in.lower = 0;
  in.upper = 0.019;
  in.u = 0.0015;
  const auto a = accept_limits(in);
  ASSERT_TRUE(a.ok());
  const char* source = "ISO 14253-1:2017, g = 1.65 u for 95 % one-sided (from memory), multiplied out";
  published("bore", "guard band, T 0.019, U 0.003 (k 2), mm", source, How::from_memory, 0.002475, a->guard, 1e-12);
  published("bore", "acceptance zone, T 0.019, U 0.003, mm", source, How::from_memory, 0.014050, a->width, 1e-12);
  published("bore", "exact quantile behind 1.65", "normal distribution, closed form", How::exact, 1.644854,
            maths::normal_quantile(0.95), 5e-7);
  // The older rule g = U is 97.7 % one-sided.
  in.confidence = maths::normal_cdf(2);
  published("bore", "acceptance zone by the older rule g = U, mm",
            "ISO 14253-1:1998 rule (from memory), multiplied out", How::from_memory, 0.013, accept_limits(in)->width,
            1e-9);
  EXPECT_NEAR(a->eaten, 2 * 0.002475 / 0.019, 1e-12);
}

TEST(Accept, ProvingAPartBadMovesTheLimitOutwards) {
  AcceptInputs in;
  in.upper = 100;
  in.confidence = 0.999;
  in.prove_bad = true;
  // The uncertainty is 2 % of the reading: the threshold solves x - z 0.02 x = 100; here u at the threshold.
  in.u = 0.02 * 106.588;
  const auto a = accept_limits(in);
  ASSERT_TRUE(a.ok());
  const char* source = "JCGM 106:2012, guarded rejection of a speed (from memory; printed 107 and 7)";
  published("bore", "guarded rejection threshold, km/h", source, How::from_memory, 106.588, *a->upper, 1e-3);
  published("bore", "guard band of the rejection, km/h", source, How::from_memory, 6.59, a->guard, 5e-3);
}

TEST(Accept, RefusesWhatMakesNoSense) {
  AcceptInputs in;
  EXPECT_FALSE(accept_limits(in).ok());
  in.lower = 1;
  in.upper = 1;
  EXPECT_FALSE(accept_limits(in).ok());
  in.upper = 2;
  EXPECT_TRUE(accept_limits(in).ok());
  for (double u : {-1e-9, std::nan("")}) {
    in.u = u;
    EXPECT_FALSE(accept_limits(in).ok()) << u;
  }
  in.u = 0.1;
  for (double c : {0.49, 1.0, std::nan("")}) {
    in.confidence = c;
    EXPECT_FALSE(accept_limits(in).ok()) << c;
  }
  in.confidence = 0.95;
  in.u = 0.4;
  EXPECT_TRUE(accept_limits(in)->nothing);
}

TEST(Conformance, PublishedExamples) {
  published("bore", "burst pressure 509.7 kPa, u 8.6, at least 490: probability of conformance",
            "JCGM 106:2012 clause 7 (from memory; printed 0.99)", How::from_memory, 0.98901,
            conformance(509.7, 8.6, 490, std::nullopt), 5e-6);
  published("bore", "viscosity 13.6, u 1.8, 12.5 to 16.3: probability of conformance",
            "JCGM 106:2012 clause 7 (from memory; printed 0.66)", How::from_memory, 0.66263,
            conformance(13.6, 1.8, 12.5, 16.3), 5e-6);
  EXPECT_TRUE(std::isnan(conformance(1, 0, 0, 2)));
}

RiskInputs resistor(double guard) { return {1500, 0.12, 0.04, 1499.8, 1500.2, 1499.8 + guard, 1500.2 - guard}; }

TEST(Risks, ProcessAndGaugeTogether) {
  const auto r = risks(resistor(0));
  ASSERT_TRUE(r.ok());
  const char* source = "JCGM 106:2012 clause 9 integrals, computed independently by quadrature";
  published("bore", "global risks, no guard: share within limits", source, How::computed, .904419, r->inside, 1e-6);
  published("bore", "global risks, no guard: share accepted", source, How::computed, .886154, r->accepted, 1e-6);
  published("bore", "global risks, no guard: customer's", source, How::computed, .018942, r->passed_bad, 1e-6);
  published("bore", "global risks, no guard: maker's", source, How::computed, .037208, r->refused_good, 1e-6);
  const auto g = risks(resistor(0.02));
  published("bore", "global risks, guard .02: customer's", source, How::computed, .009878, g->passed_bad, 1e-6);
  published("bore", "global risks, guard .02: maker's", source, How::computed, .069027, g->refused_good, 1e-6);
  for (double guard : {-0.03, 0.0, 0.02, 0.1}) {
    const auto x = risks(resistor(guard));
    EXPECT_NEAR(x->accepted, x->inside - x->refused_good + x->passed_bad, 1e-12) << guard;
  }
}

TEST(Risks, SmallRisksAndExtremesAgreeWithWhatMustBe) {
  // A perfect gauge passes nothing bad and refuses nothing good.
  RiskInputs in = resistor(0);
  in.u = 0;
  EXPECT_EQ(risks(in)->passed_bad, 0);
  EXPECT_NEAR(risks(in)->refused_good, 0, 1e-15);
  // A gauge much coarser than the process decides by itself.
  in.u = 12;
  EXPECT_NEAR(risks(in)->passed_bad / (1 - risks(in)->inside), risks(in)->accepted, 1e-4);
  // The identity holds for risks of a few in a thousand million, where a difference of two shares would be noise.
  in = {1500, 0.04, 0.01, 1499.8, 1500.2, 1499.8, 1500.2};
  const auto r = risks(in);
  EXPECT_GT(r->passed_bad, 0);
  EXPECT_LT(r->passed_bad, 3e-7);
  EXPECT_NEAR(r->accepted, r->inside - r->refused_good + r->passed_bad, 1e-14);
}

TEST(Risks, SamplingAgrees) {
  const RiskInputs in = resistor(0.02);
  const auto r = risks(in);
  const int n = 400000;
  int passed_bad = 0, refused_good = 0;
  for (int i = 0; i < n; ++i) {
    const auto item = static_cast<std::uint64_t>(i);
    const double x = in.mean + in.s * maths::normal(5, item, 0), y = x + in.u * maths::normal(5, item, 1);
    const bool inside = x >= in.lower && x <= in.upper, passed = y >= in.accept_low && y <= in.accept_high;
    passed_bad += passed && !inside;
    refused_good += !passed && inside;
  }
  const auto three = [&](double p) { return 3 * std::sqrt(p * (1 - p) / n); };
  EXPECT_NEAR(passed_bad / static_cast<double>(n), r->passed_bad, three(r->passed_bad));
  EXPECT_NEAR(refused_good / static_cast<double>(n), r->refused_good, three(r->refused_good));
}

TEST(Risks, RefusesOneBadValuePerBound) {
  const RiskInputs good = resistor(0);
  const auto refused = [&](auto&& change) {
    RiskInputs in = good;
    change(in);
    return !risks(in).ok();
  };
  EXPECT_TRUE(risks(good).ok());
  EXPECT_TRUE(refused([](RiskInputs& i) { i.s = 0; }));
  EXPECT_TRUE(refused([](RiskInputs& i) { i.s = std::nan(""); }));
  EXPECT_TRUE(refused([](RiskInputs& i) { i.mean = std::nan(""); }));
  EXPECT_TRUE(refused([](RiskInputs& i) { i.u = -0.1; }));
  EXPECT_TRUE(refused([](RiskInputs& i) { i.upper = i.lower; }));
  EXPECT_TRUE(refused([](RiskInputs& i) { i.accept_high = i.accept_low; }));
}

TEST(Quadrature, SixteenPointsIntegratePolynomialsExactly) {
  const auto power = [](int n) { return integral([&](double x) { return std::pow(x, n); }, 0.0, 1.0, 1); };
  for (int n : {0, 1, 5, 20, 31}) EXPECT_NEAR(power(n), 1.0 / (n + 1), 1e-14) << n;
  EXPECT_EQ(integral([](double) { return 1.0; }, 1.0, 0.0, 3), 0);
}

}  // namespace
}  // namespace fettle::bore
