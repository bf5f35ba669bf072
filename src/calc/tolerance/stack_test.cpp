#include "calc/tolerance/stack.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "maths/random.h"
#include "published.h"

namespace fettle::tolerance {
namespace {

using test::How;
using test::published;
using Spread = StackTerm::Spread;

const char* const shigley = "Shigley's Mechanical Engineering Design, 9th ed., example 1-7";
const char* const chase = "Chase and Greenwood 1988, shaft and bearings; Chase, ADCATS 99-6";
constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double inf = std::numeric_limits<double>::infinity();

StackTerm term(const char* name, double sign, double nominal, double tolerance) {
  StackTerm t;
  t.name = name;
  t.sign = sign;
  t.nominal = nominal;
  t.tolerance = tolerance;
  return t;
}
StackTerm flat(double half, double sign = 1) {
  StackTerm t = term("u", sign, 0, half);
  t.spread = Spread::uniform;
  return t;
}
std::vector<StackTerm> shaft() {
  std::vector<StackTerm> t = {term("A", -1, .0505, .0015), term("B", 1, 8, .008),      term("C", -1, .5093, .0025),
                              term("D", 1, .4, .002),      term("E", -1, 7.711, .006), term("F", 1, .4, .002),
                              term("G", -1, .5093, .0025)};
  t[0].fixed = t[2].fixed = t[6].fixed = true;  // bearings and retaining ring are bought in
  return t;
}

TEST(Stack, ShoulderedScrew) {
  const StackResult r =
      stack({{term("a", 1, 1.75, .003), term("b", -1, .75, .001), term("c", -1, .12, .005), term("d", -1, .875, .001)},
             {},
             {},
             0,
             1,
             .95})
          .value();
  published("tolerance", "shouldered screw, gap, in", shigley, How::from_memory, .005, r.mean, 1e-15);
  published("tolerance", "shouldered screw, worst case, ± in", shigley, How::from_memory, .010, r.worst, 1e-15);
  published("tolerance", "shouldered screw, least gap, in", shigley, How::from_memory, -.005, r.worst_low, 1e-15);
  published("tolerance", "shouldered screw, largest gap, in", shigley, How::from_memory, .015, r.worst_high, 1e-15);
  published("tolerance", "shouldered screw, root sum square, ± in", shigley, How::from_memory, .006, r.rss, 1e-15);
}

TEST(Stack, ShaftAndBearings) {
  const StackResult r = stack({shaft(), {}, {}, 0, 1, .95}).value();
  published("tolerance", "shaft and bearings, mean gap, in", chase, How::from_memory, .0199, r.mean, 1e-12);
  published("tolerance", "shaft and bearings, worst case, ± in", chase, How::from_memory, .0245, r.worst, 1e-15);
  published("tolerance", "shaft and bearings, root sum square, ± in", chase, How::from_memory, .011079, r.rss, 5e-7);
  double sum = 0;
  for (const StackShare& s : r.shares) sum += s.variance;
  EXPECT_NEAR(sum, 1, 1e-14);
  EXPECT_NEAR(r.shares[1].variance, .008 * .008 / (r.rss * r.rss), 1e-14);
  EXPECT_NEAR(r.s, r.rss / 3, 1e-15);
}

TEST(Stack, ShaftAndBearingsInProportion) {
  const ScaledStack w = allocate_in_proportion(shaft(), .015, Adding::worst_case).value();
  published("tolerance", "shaft and bearings to ±0.015, worst case, factor", chase, How::from_memory, .47222, w.factor,
            5e-6);
  const ScaledStack s = allocate_in_proportion(shaft(), .015, Adding::root_sum_square).value();
  published("tolerance", "shaft and bearings to ±0.015, root sum square, factor", chase, How::from_memory, 1.39526,
            s.factor, 5e-6);
  const char* const names = "BDEF";
  const std::size_t at[] = {1, 3, 4, 5};
  const double worst[] = {.00378, .00094, .00283, .00094}, rss[] = {.01116, .00279, .00837, .00279};
  for (std::size_t i = 0; i < 4; ++i) {
    const std::string n(1, names[i]);
    published("tolerance", "shaft and bearings, worst case, " + n + ", in", chase, How::from_memory, worst[i],
              w.tolerances[at[i]], 5e-6);
    published("tolerance", "shaft and bearings, root sum square, " + n + ", in", chase, How::from_memory, rss[i],
              s.tolerances[at[i]], 5e-6);
  }
  EXPECT_EQ(w.tolerances[0], .0015);
  auto terms = shaft();
  for (std::size_t i = 0; i < 7; ++i) terms[i].tolerance = w.tolerances[i];
  EXPECT_NEAR(stack({terms, {}, {}, 0, 1, .95})->worst, .015, 1e-16);
}

TEST(Stack, FourUniforms) {
  const std::vector<StackTerm> four(4, flat(.1));
  StackInputs in{four, -.2, .2, 200000, 7, .99};
  const StackResult r = stack(in).value();
  const double inside = 1 - r.below.share - r.above.share;
  published("tolerance", "four uniforms ±0.1, share within ±0.2", "Irwin and Hall: 11/12", How::exact, 11.0 / 12,
            inside, 1e-13);
  // A sample of n lies within three of its own standard deviations.
  published("tolerance", "four uniforms ±0.1, share within ±0.2, 200000 samples", "Irwin and Hall: 11/12", How::exact,
            11.0 / 12, 1 - r.sampled_outside / 2e5, 3 * std::sqrt(11.0 / 12 / 12 / 2e5));
  EXPECT_LE(r.sampled.low, 1.0 / 12);
  EXPECT_GE(r.sampled.high, 1.0 / 12);
  in.lower = -.3;
  in.upper = .3;
  const StackResult w = stack(in).value();
  published("tolerance", "four uniforms ±0.1, share within ±0.3", "Irwin and Hall: 191/192", How::exact, 191.0 / 192,
            1 - w.below.share - w.above.share, 1e-13);
  published("tolerance", "four uniforms ±0.1 taken for normal (wrong), within ±0.3", "normal distribution",
            How::computed, .99063, 1 - w.normal_below - w.normal_above, 1e-5);
  EXPECT_GT(std::fabs(w.sampled_outside / 2e5 - w.normal_below - w.normal_above),
            5 * std::sqrt(w.normal_below / 2e5));  // the normal formula must not pass for the truth
}

TEST(Stack, TwoWaysAgreeOnAnySum) {
  // Sums of uniforms and normals drawn at random: the finite formula and the inversion must agree within their bounds.
  double worst = 0;
  for (std::uint64_t item = 0; item < 60; ++item) {
    std::vector<StackTerm> terms;
    const auto n = static_cast<std::size_t>(1 + maths::uniform(3, item, 0) * 7);
    double reach = 0;
    for (std::size_t i = 0; i < n; ++i) {
      const auto d = static_cast<std::uint32_t>(10 + 3 * i);
      StackTerm t = term("t", maths::uniform(3, item, d) < .5 ? -1 : 1.5, maths::normal(3, item, d + 1),
                         .01 + maths::uniform(3, item, d + 2));
      t.spread = i % 3 == 2 || n < 3 ? Spread::normal : Spread::uniform;
      if (n < 3 && i == 1) t.spread = Spread::uniform;
      terms.push_back(t);
      reach += std::fabs(t.sign) * t.tolerance;
    }
    const double mean = stack({terms, {}, {}, 0, 1, .95})->mean;
    for (double at = -1.1; at <= 1.1; at += .2) {
      const ExactShare a = share_below_by_formula(terms, mean + at * reach),
                       b = share_below_by_inversion(terms, mean + at * reach);
      EXPECT_LE(std::fabs(a.share - b.share), a.error + b.error) << item << " " << at;
      EXPECT_LT(share_below(terms, mean + at * reach).error, 1e-9);
      worst = std::max(worst, std::fabs(a.share - b.share) - a.error);
    }
  }
  EXPECT_LT(worst, 1e-9);
}

TEST(Stack, UnlikeWidthsLoseNoDigits) {
  // One wide and several tiny uniforms: the finite formula loses its digits, the inversion is taken.
  std::vector<StackTerm> t = {flat(1), flat(1e-6), flat(1e-6), flat(1e-6), flat(1e-6), flat(1e-6)};
  EXPECT_GT(share_below_by_formula(t, .25).error, 1e-3);
  const ExactShare s = share_below(t, .25);
  EXPECT_LT(s.error, 1e-6);
  EXPECT_NEAR(s.share, .625, 1e-6);
  // Twenty uniforms: too many corners.
  const std::vector<StackTerm> many(20, flat(.1));
  EXPECT_TRUE(std::isinf(share_below_by_formula(many, 0).error));
  EXPECT_NEAR(share_below(many, 0).share, .5, 1e-12);
}

TEST(Stack, NormalAloneIsNormal) {
  std::vector<StackTerm> t = {term("a", 1, 1, .3), term("b", -1, 2, .4)};
  for (double z : {-4.0, -1.0, 0.0, 2.5})
    EXPECT_NEAR(share_below(t, -1 + z * .5 / 3).share, maths::normal_cdf(z), 1e-15);
  // A shift of the mean moves the sum by its sign, and not its spread.
  t[1].shift = .1;
  EXPECT_NEAR(share_below(t, -1.1).share, .5, 1e-15);
  const StackResult r = stack({t, {}, {}, 0, 1, .95}).value();
  EXPECT_NEAR(r.mean, -1.1, 1e-15);
  EXPECT_NEAR(r.nominal, -1, 1e-15);
}

TEST(Stack, WanderRunsFromRootSumSquareToWorstCase) {
  std::vector<StackTerm> t = shaft();
  EXPECT_NEAR(stack({t, {}, {}, 0, 1, .95})->wandering, stack({t, {}, {}, 0, 1, .95})->rss, 1e-17);
  for (StackTerm& x : t) x.wander = 1;
  EXPECT_NEAR(stack({t, {}, {}, 0, 1, .95})->wandering, .0245, 1e-15);
  for (StackTerm& x : t) x.wander = .25;
  EXPECT_NEAR(stack({t, {}, {}, 0, 1, .95})->wandering, .25 * .0245 + .75 * .011079, 1e-6);
}

TEST(Stack, CheapestMeetsItsConditionsAndBeatsNeighbours) {
  std::vector<StackTerm> t = shaft();
  std::vector<ToleranceCost> c(7);
  const double scale[] = {0, .16, 0, .072, .126, .072, 0}, power[] = {1, .44, 1, .47, .465, .47, 1};
  for (std::size_t i = 0; i < 7; ++i) c[i] = {1, scale[i], power[i], 0, 0};
  for (const Adding adding : {Adding::worst_case, Adding::root_sum_square}) {
    const CheapestStack best = allocate_cheapest(t, c, .015, adding).value();
    EXPECT_LT(best.residual, 1e-9);
    auto at = t;
    for (std::size_t i = 0; i < 7; ++i) at[i].tolerance = best.tolerances[i];
    const StackResult r = stack({at, {}, {}, 0, 1, .95}).value();
    EXPECT_NEAR(adding == Adding::worst_case ? r.worst : r.rss, .015, 1e-11);
    const auto cost = [&](const std::vector<double>& x) {
      double sum = 0;
      for (std::size_t i : {1u, 3u, 4u, 5u}) sum += 1 + scale[i] / std::pow(x[i], power[i]);
      return sum;
    };
    EXPECT_NEAR(cost(best.tolerances), best.cost, 1e-12);
    // No other allocation that holds the target is cheaper.
    for (std::uint64_t item = 0; item < 500; ++item) {
      auto moved = t;
      for (std::size_t i : {1u, 3u, 4u, 5u})
        moved[i].tolerance = best.tolerances[i] * std::exp(.3 * maths::normal(5, item, static_cast<std::uint32_t>(i)));
      const ScaledStack other = allocate_in_proportion(moved, .015, adding).value();
      EXPECT_GE(cost(other.tolerances), best.cost - 1e-12);
    }
    // What one more unit of target saves.
    const double more = adding == Adding::worst_case ? .0150001 : std::sqrt(.015 * .015 + 1e-9);
    const double change = adding == Adding::worst_case ? 1e-7 : 1e-9;
    EXPECT_NEAR((best.cost - allocate_cheapest(t, c, more, adding)->cost) / change, best.price, 1e-3 * best.price);
  }
}

TEST(Stack, CheapestOfTwoByHand) {
  // Worst case, cost 1/t and 4/t, target 3: t2 = 2 t1, so 1 and 2; cost 1 + 2 = 3; price 1.
  const std::vector<StackTerm> t = {term("a", 1, 0, .1), term("b", -1, 0, .1)};
  const CheapestStack r = allocate_cheapest(t, {{0, 1, 1, 0, 0}, {0, 4, 1, 0, 0}}, 3, Adding::worst_case).value();
  published("tolerance", "cheapest of two, first tolerance", "1/t + 4/t at t1 + t2 = 3, by hand", How::exact, 1,
            r.tolerances[0], 1e-12);
  published("tolerance", "cheapest of two, second tolerance", "1/t + 4/t at t1 + t2 = 3, by hand", How::exact, 2,
            r.tolerances[1], 1e-12);
  EXPECT_NEAR(r.price, 1, 1e-11);
  // Bounds hold and the rest goes to the others.
  const CheapestStack b = allocate_cheapest(t, {{0, 1, 1, 0, 0}, {0, 4, 1, 0, 1.5}}, 3, Adding::worst_case).value();
  EXPECT_NEAR(b.tolerances[0], 1.5, 1e-12);
  EXPECT_NEAR(b.tolerances[1], 1.5, 1e-12);
  // With room for everything each takes its largest.
  const CheapestStack all = allocate_cheapest(t, {{0, 1, 1, 0, 1}, {0, 4, 1, 0, 1}}, 3, Adding::worst_case).value();
  EXPECT_EQ(all.tolerances[0], 1);
  EXPECT_EQ(all.price, 0);
  EXPECT_FALSE(allocate_cheapest(t, {{0, 1, 1, 2, 0}, {0, 4, 1, 1.1, 0}}, 3, Adding::worst_case).ok());
}

TEST(Stack, Refuses) {
  const auto refused = [](auto change) {
    StackInputs in{shaft(), 0.0, .04, 0, 1, .95};
    change(in);
    return !stack(in).ok();
  };
  EXPECT_FALSE(refused([](StackInputs&) {}));
  EXPECT_TRUE(refused([](StackInputs& in) { in.terms.clear(); }));
  EXPECT_TRUE(refused([](StackInputs& in) { in.terms[0].sign = 0; }));
  EXPECT_TRUE(refused([](StackInputs& in) { in.terms[0].sign = inf; }));
  EXPECT_TRUE(refused([](StackInputs& in) { in.terms[0].nominal = nan; }));
  EXPECT_TRUE(refused([](StackInputs& in) { in.terms[0].tolerance = -1e-9; }));
  EXPECT_TRUE(refused([](StackInputs& in) { in.terms[0].tolerance = nan; }));
  EXPECT_TRUE(refused([](StackInputs& in) { in.terms[0].sigmas = 0; }));
  EXPECT_TRUE(refused([](StackInputs& in) { in.terms[0].shift = inf; }));
  EXPECT_TRUE(refused([](StackInputs& in) { in.terms[0].wander = -.01; }));
  EXPECT_TRUE(refused([](StackInputs& in) { in.terms[0].wander = 1.01; }));
  EXPECT_TRUE(refused([](StackInputs& in) { in.lower = .04; }));
  EXPECT_TRUE(refused([](StackInputs& in) { in.upper = nan; }));
  EXPECT_TRUE(refused([](StackInputs& in) { in.samples = -1; }));
  EXPECT_TRUE(refused([](StackInputs& in) { in.samples = 100'000'001; }));
  EXPECT_TRUE(refused([](StackInputs& in) { in.confidence = 1; }));
  EXPECT_TRUE(refused([](StackInputs& in) { in.confidence = 0; }));
  StackInputs two{shaft(), {}, {}, 0, 1, .95};
  two.terms[0].sign = 0;
  two.terms[1].tolerance = nan;
  EXPECT_EQ(stack(two).problems().size(), 2u);

  EXPECT_FALSE(allocate_in_proportion(shaft(), 0, Adding::worst_case).ok());
  EXPECT_FALSE(allocate_in_proportion(shaft(), inf, Adding::worst_case).ok());
  EXPECT_FALSE(allocate_in_proportion(shaft(), .0065, Adding::worst_case).ok());  // the bought parts alone
  EXPECT_TRUE(allocate_in_proportion(shaft(), .0066, Adding::worst_case).ok());
  auto fixed = shaft();
  for (StackTerm& t : fixed) t.fixed = true;
  EXPECT_FALSE(allocate_in_proportion(fixed, .1, Adding::worst_case).ok());
  const std::vector<ToleranceCost> good(7, {0, 1, 1, 0, 0});
  EXPECT_FALSE(allocate_cheapest(fixed, good, .1, Adding::worst_case).ok());
  EXPECT_FALSE(allocate_cheapest(shaft(), {}, .1, Adding::worst_case).ok());
  EXPECT_FALSE(allocate_cheapest(shaft(), good, .0065, Adding::worst_case).ok());
  EXPECT_FALSE(allocate_cheapest(shaft(), good, nan, Adding::worst_case).ok());
  for (const ToleranceCost& c :
       {ToleranceCost{nan, 1, 1, 0, 0}, ToleranceCost{0, 0, 1, 0, 0}, ToleranceCost{0, 1, 0, 0, 0},
        ToleranceCost{0, 1, 1, -1, 0}, ToleranceCost{0, 1, 1, 1, 1}}) {
    auto costs = good;
    costs[1] = c;
    EXPECT_FALSE(allocate_cheapest(shaft(), costs, .1, Adding::worst_case).ok());
  }
}

}  // namespace
}  // namespace fettle::tolerance
