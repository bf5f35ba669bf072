#include "calc/tolerance/yield.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "maths/random.h"
#include "published.h"

namespace fettle::tolerance {
namespace {

using test::How;
using test::published;

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

YieldInputs route() {
  return {
      {{"casting", 9.8}, {"grind", 2.4}, {"OP20", 4}, {"OP30", 9}, {"inspect", 1}},
      {{"porosity", .025, .01, .04, 0, 3}, {"position", .001, .0005, .01, 2, 4}, {"threads", .002, .002, .002, 3, 4}}};
}

TEST(RolledYield, ProductAndBounds) {
  const YieldResult r = rolled_yield(route()).value();
  published("tolerance", "rolled yield of losses 2.5 %, 0.1 %, 0.2 %", "product, by hand", How::exact,
            .975 * .999 * .998, r.rolled, 1e-15);
  published("tolerance", "least yield whatever the losses have to do with each other", "Boole's inequality", How::exact,
            .972, r.whatever.low, 1e-15);
  published("tolerance", "largest yield whatever the losses have to do with each other", "Frechet's bound", How::exact,
            .975, r.whatever.high, 1e-15);
  EXPECT_NEAR(r.band.low, .96 * .99 * .998, 1e-15);
  EXPECT_NEAR(r.band.high, .99 * .9995 * .998, 1e-15);
  EXPECT_LT(r.whatever.low, r.rolled);
  EXPECT_GT(r.whatever.high, r.rolled);
}

TEST(RolledYield, ScrapIsWorthWhatIsInItWhenFound) {
  const YieldResult r = rolled_yield(route()).value();
  EXPECT_NEAR(r.value_good, 26.2, 1e-12);
  EXPECT_NEAR(r.losses[0].value_when_found, 25.2, 1e-12);  // not 9.8: it is found after OP30
  EXPECT_NEAR(r.losses[1].value_when_found, 26.2, 1e-12);
  // Nothing spent is lost from the books: good parts and scrap carry all of it.
  double scrap = 0;
  for (const LossRow& l : r.losses) scrap += l.cost_per_good;
  published("tolerance", "scrap carried by a good part", "all money spent = good parts + scrap, by hand", How::exact,
            r.cost_per_good - 26.2, scrap, 1e-12);
  const double spent = 9.8 + 2.4 + 4 + 9 + .975 * 1;
  EXPECT_NEAR(r.cost_per_good, spent / r.rolled, 1e-12);
  // Porosity found at the casting would save everything after it.
  EXPECT_NEAR(r.losses[0].would_save, r.cost_per_good - (9.8 + .975 * 16.4) / r.rolled, 1e-12);
  EXPECT_NEAR(r.losses[2].would_save, r.losses[2].lost_per_casting * 1 / r.rolled, 1e-3);
  EXPECT_NEAR(r.losses[0].yield_without, .999 * .998, 1e-15);
}

TEST(CastingsToOrder, AgreesWithSumming) {
  for (const double yield : {.5, .9, .972}) {
    for (const long long good : {1LL, 7LL, 240LL}) {
      const OrderResult r = castings_to_order({good, yield, 0, .95, 1, 0}).value();
      // P(at least `good` good) summed term by term.
      const auto chance = [&](long long n) {
        double sum = 0;
        for (long long k = good; k <= n; ++k)
          sum += std::exp(std::lgamma(double(n) + 1) - std::lgamma(double(k) + 1) - std::lgamma(double(n - k) + 1) +
                          double(k) * std::log(yield) + double(n - k) * std::log1p(-yield));
        return sum;
      };
      EXPECT_GE(chance(r.needed), .95) << yield << " " << good;
      if (r.needed > good) {
        EXPECT_LT(chance(r.needed - 1), .95) << yield << " " << good;
      }
      EXPECT_NEAR(r.chance, chance(r.order), 1e-9);
      EXPECT_NEAR(r.chance_on_average, chance(r.on_average), 1e-9);
    }
  }
}

TEST(CastingsToOrder, ByHand) {
  // Two good of n at one half: n = 8 gives 1 - 9/256 = 0.9648, n = 7 gives 1 - 8/128 = 0.9375.
  const OrderResult r = castings_to_order({2, .5, 0, .95, 1, 0}).value();
  published("tolerance", "castings for two good ones at a yield of one half, 95 %", "binomial, by hand: 1 - 9/256",
            How::exact, 8, static_cast<double>(r.needed), 0);
  published("tolerance", "their chance", "binomial, by hand: 1 - 9/256", How::exact, 1 - 9 / 256.0, r.chance, 1e-12);
  EXPECT_EQ(castings_to_order({240, 1, 0, .95, 1, 0})->order, 240);
  EXPECT_EQ(castings_to_order({240, .972, 0, .95, 60, 300})->order, 300);
  EXPECT_EQ(castings_to_order({240, .972, 0, .95, 100, 0})->order, 300);
  EXPECT_GT(castings_to_order({240, .972, .95, .95, 1, 0})->needed_at_low,
            castings_to_order({240, .972, 0, .95, 1, 0})->needed);
  EXPECT_EQ(chance_of_enough(3, 0, .1), 1);
  EXPECT_EQ(chance_of_enough(3, 4, .9), 0);
  EXPECT_TRUE(std::isnan(chance_of_enough(3, 2, 1.1)));
}

TEST(Yield, Refuses) {
  const auto refused = [](auto change) {
    YieldInputs in = route();
    change(in);
    return !rolled_yield(in).ok();
  };
  EXPECT_FALSE(refused([](YieldInputs&) {}));
  EXPECT_TRUE(refused([](YieldInputs& in) { in.steps.clear(); }));
  EXPECT_TRUE(refused([](YieldInputs& in) { in.steps[0].adds = -1; }));
  EXPECT_TRUE(refused([](YieldInputs& in) { in.steps[0].adds = nan; }));
  EXPECT_TRUE(refused([](YieldInputs& in) { in.losses[0].share = 1.01; }));
  EXPECT_TRUE(refused([](YieldInputs& in) { in.losses[0].share = nan; }));
  EXPECT_TRUE(refused([](YieldInputs& in) { in.losses[0].low = .026; }));
  EXPECT_TRUE(refused([](YieldInputs& in) { in.losses[0].low = -.01; }));
  EXPECT_TRUE(refused([](YieldInputs& in) { in.losses[0].high = .024; }));
  EXPECT_TRUE(refused([](YieldInputs& in) { in.losses[0].high = 1.01; }));
  EXPECT_TRUE(refused([](YieldInputs& in) { in.losses[0].caused = -1; }));
  EXPECT_TRUE(refused([](YieldInputs& in) { in.losses[1].found = 1; }));
  EXPECT_TRUE(refused([](YieldInputs& in) { in.losses[1].found = 5; }));
  EXPECT_TRUE(refused([](YieldInputs& in) { in.losses[0].share = in.losses[0].high = 1; }));
  const auto no_order = [](auto change) {
    OrderInputs in{240, .97, 0, .95, 1, 0};
    change(in);
    return !castings_to_order(in).ok();
  };
  EXPECT_FALSE(no_order([](OrderInputs&) {}));
  EXPECT_TRUE(no_order([](OrderInputs& in) { in.good = 0; }));
  EXPECT_TRUE(no_order([](OrderInputs& in) { in.good = 1'000'000'001; }));
  EXPECT_TRUE(no_order([](OrderInputs& in) { in.yield = 0; }));
  EXPECT_TRUE(no_order([](OrderInputs& in) { in.yield = 1.01; }));
  EXPECT_TRUE(no_order([](OrderInputs& in) { in.yield_low = .98; }));
  EXPECT_TRUE(no_order([](OrderInputs& in) { in.yield_low = -.1; }));
  EXPECT_TRUE(no_order([](OrderInputs& in) { in.confidence = 0; }));
  EXPECT_TRUE(no_order([](OrderInputs& in) { in.confidence = 1; }));
  EXPECT_TRUE(no_order([](OrderInputs& in) { in.lot = 0; }));
  EXPECT_TRUE(no_order([](OrderInputs& in) { in.least = -1; }));
  EXPECT_TRUE(no_order([](OrderInputs& in) {
    in.good = 1'000'000'000;
    in.yield = 1e-6;
  }));
}

}  // namespace
}  // namespace fettle::tolerance
