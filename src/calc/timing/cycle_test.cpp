#include "calc/timing/cycle.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "maths/random.h"
#include "published.h"

namespace fettle::timing {
namespace {

using test::How;
using test::published;
constexpr double nan = std::numeric_limits<double>::quiet_NaN();

CycleInputs two_sets(double machine_min, double load_min, double swap_min, int parts) {
  CycleInputs in;
  in.parts = parts;
  in.machine = in.cutting = machine_min * 60;
  in.load = load_min * 60;
  in.swap = swap_min * 60;
  return in;
}

TEST(Cycle, SpindleBound) {
  const CycleResult r = *cycle(two_sets(12, 7, 0.5, 4));
  const std::string source = "two pallet sets, C = max(machine, load) + swap, by hand";
  published("timing", "two sets, spindle 12 min, load 7, change 0.5: cycle, min", source, How::exact, 12.5,
            r.cycle / 60, 1e-12);
  published("timing", "the same, spindle use", source, How::exact, 0.96, r.spindle_use, 1e-12);
  published("timing", "the same, person's use", source, How::exact, 0.56, r.person_use, 1e-12);
  published("timing", "the same, parts an hour", source, How::exact, 19.2, r.parts_per_hour, 1e-12);
  EXPECT_EQ(r.waits, Waits::person);
  EXPECT_EQ(r.spindle_waits, 0);
}

TEST(Cycle, LoadBound) {
  const CycleResult r = *cycle(two_sets(6, 7, 0.5, 4));
  const std::string source = "two pallet sets, C = max(machine, load) + swap, by hand";
  published("timing", "two sets, spindle 6 min, load 7, change 0.5: cycle, min", source, How::exact, 7.5, r.cycle / 60,
            1e-12);
  published("timing", "the same, spindle use, load-bound", source, How::exact, 0.8, r.spindle_use, 1e-12);
  published("timing", "the same, person's use, load-bound", source, How::exact, 7 / 7.5, r.person_use, 1e-12);
  published("timing", "the same, parts an hour, load-bound", source, How::exact, 32, r.parts_per_hour, 1e-12);
  EXPECT_EQ(r.waits, Waits::spindle);
}

TEST(Cycle, ShortCycleIsBoundByLoading) {
  // Eight parts of 1.9 min and a few minutes of changes stay below 20 min of loading; 110 s to swap.
  CycleInputs in = two_sets(8 * 1.9 + 2.4, 20, 110 / 60.0, 8);
  published("timing", "short cycle, eight parts, min", "20 + 1.83 by hand", How::exact, 20 + 110 / 60.0,
            cycle(in)->cycle / 60, 1e-12);
  EXPECT_EQ(cycle(in)->waits, Waits::spindle);
  EXPECT_NEAR(machine_time_that_balances(in) / 60, 20, 1e-12);
}

TEST(Cycle, AQuickExchangeIsTheIdleShare) {  // common practice
  const CycleInputs in = two_sets(55, 20, 20 / 60.0, 8);
  published("timing", "idle share with a 20 s exchange and two sets", "common practice: the exchange over the cycle",
            How::exact, 20 / (55 * 60 + 20.0), cycle(in)->idle_share, 1e-12);
}

TEST(Cycle, OneSetStandsWhileItIsLoaded) {
  CycleInputs in = two_sets(12, 7, 0.5, 4);
  in.sets = 1;
  EXPECT_NEAR(cycle(in)->cycle / 60, 19.5, 1e-12);
  EXPECT_EQ(cycle(in)->waits, Waits::spindle);
}

TEST(Cycle, OtherWorkAndTheSwapTieThePerson) {
  CycleInputs in = two_sets(12, 7, 0.5, 4);
  in.other_work = 6 * 60;
  in.swap_by_hand = 20;
  EXPECT_NEAR(cycle(in)->cycle / 60, 13.5, 1e-12);
  EXPECT_NEAR(cycle(in)->person_use, (13 * 60 + 20) / (13.5 * 60), 1e-12);
}

TEST(Cycle, ScatterCostsMoreThanItBrings) {
  CycleInputs in = two_sets(7, 7, 0.5, 4);
  in.load_scatter = 60;
  // Equal means: the excess is s / sqrt(2 pi).
  published("timing", "spindle waits a cycle, equal means, s 60 s",
            "mean of the positive half of a normal: s/sqrt(2 pi)", How::exact,
            60 / std::sqrt(2 * 3.14159265358979323846), cycle(in)->spindle_waits, 1e-9);
  in = two_sets(8, 7, 0.5, 4);
  in.load_scatter = 60;
  double sum = 0;
  const int n = 200000;
  for (int i = 0; i < n; ++i) sum += std::max(0.0, 420 + 60 * maths::normal(3, static_cast<unsigned>(i), 0) - 480);
  published("timing", "spindle waits a cycle, load 7 +- 1 min under 8 min, s", "200 000 drawn cycles", How::computed,
            sum / n, cycle(in)->spindle_waits, 0.2);
  EXPECT_GT(cycle(in)->cycle_scattered, cycle(in)->cycle);
}

TEST(Cycle, RefusesOneBadValuePerBound) {
  const auto refused = [](auto change) {
    CycleInputs in = two_sets(12, 7, 0.5, 4);
    change(in);
    EXPECT_FALSE(cycle(in).ok());
  };
  refused([](CycleInputs& in) { in.parts = 0; });
  refused([](CycleInputs& in) { in.sets = 0; });
  refused([](CycleInputs& in) { in.machine = 0; });
  refused([](CycleInputs& in) { in.machine = nan; });
  refused([](CycleInputs& in) { in.cutting = -1; });
  refused([](CycleInputs& in) { in.cutting = 12 * 60 + 1; });
  refused([](CycleInputs& in) { in.load = -1; });
  refused([](CycleInputs& in) { in.load_scatter = nan; });
  refused([](CycleInputs& in) { in.swap = -1; });
  refused([](CycleInputs& in) { in.swap_by_hand = -1; });
  refused([](CycleInputs& in) { in.other_work = -1; });
}

}  // namespace
}  // namespace fettle::timing
