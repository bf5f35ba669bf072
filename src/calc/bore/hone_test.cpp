#include "calc/bore/hone.h"

#include <gtest/gtest.h>

#include <cmath>

namespace fettle::bore {
namespace {

constexpr double um = 1e-6;

HoneInputs spool(std::vector<double> um_above_22) {
  HoneInputs in;
  for (double x : um_above_22) in.readings.push_back(22e-3 + x * um);
  in.lower = 22.000e-3;
  in.upper = 22.009e-3;
  in.guard = 1 * um;
  in.step = 0.5 * um;
  return in;
}

TEST(HoneList, EveryBoreGetsItsWord) {
  const auto l = hone_list(spool({-2, 0.9, 1.1, 4, 7.9, 8.4, 9.6, 10.1}));
  ASSERT_TRUE(l.ok());
  const Verdict expected[] = {Verdict::hone, Verdict::hone,        Verdict::pass,        Verdict::pass,
                              Verdict::pass, Verdict::gauge_again, Verdict::gauge_again, Verdict::too_large};
  for (std::size_t i = 0; i < 8; ++i) {
    EXPECT_EQ(l->parts[i].verdict, expected[i]) << i;
    EXPECT_EQ(l->parts[i].name, std::to_string(i + 1));
  }
  EXPECT_EQ(l->pass, 3);
  EXPECT_EQ(l->hone, 2);
  EXPECT_EQ(l->again, 2);
  EXPECT_EQ(l->too_large, 1);
  EXPECT_NEAR(l->hone_aim, 22.0045e-3, 1e-12);
  EXPECT_NEAR(l->parts[0].take, 6.5 * um, 1e-12);
  EXPECT_NEAR(l->parts[1].take, 3.5 * um, 1e-12);  // 3.6 in steps of half a micrometre
  EXPECT_EQ(l->parts[2].take, 0);
}

TEST(HoneList, AWarmBoreIsSmallerThanItReads) {
  HoneInputs in = spool({1.5, 1.5});
  in.part_temperatures = {293.15, 299.15};  // the second is 6 K warmer than the ring
  in.part_expansion = 10.5e-6;
  in.gauge_expansion = 11.5e-6;
  const auto l = hone_list(in);
  ASSERT_TRUE(l.ok());
  EXPECT_EQ(l->parts[0].verdict, Verdict::pass);
  EXPECT_EQ(l->parts[1].verdict, Verdict::hone);
  EXPECT_NEAR(l->parts[1].size, 22.0015e-3 - 1.386 * um, 1e-9);
}

TEST(HoneList, AllOfThemWhenTheFinishAsks) {
  HoneInputs in = spool({1.5, 4, 6});
  in.hone_all = true;
  const auto l = hone_list(in);
  EXPECT_EQ(l->hone, 2);
  EXPECT_EQ(l->parts[2].verdict, Verdict::pass);  // larger than the hone's aim already: said, not hidden
}

TEST(HoneList, RefusesOneBadValuePerBound) {
  const auto refused = [](auto&& change) {
    HoneInputs in = spool({1, 2});
    change(in);
    return !hone_list(in).ok();
  };
  EXPECT_FALSE(refused([](HoneInputs&) {}));
  EXPECT_TRUE(refused([](HoneInputs& i) { i.readings.clear(); }));
  EXPECT_TRUE(refused([](HoneInputs& i) { i.names = {"a"}; }));
  EXPECT_TRUE(refused([](HoneInputs& i) { i.part_temperatures = {293.15}; }));
  EXPECT_TRUE(refused([](HoneInputs& i) { i.part_temperatures = {293.15, 26}; }));
  EXPECT_TRUE(refused([](HoneInputs& i) { i.upper = i.lower; }));
  EXPECT_TRUE(refused([](HoneInputs& i) { i.guard = -um; }));
  EXPECT_TRUE(refused([](HoneInputs& i) { i.guard = 4.5 * um; }));
  EXPECT_TRUE(refused([](HoneInputs& i) { i.hone_aim = 22.0085e-3; }));
  EXPECT_TRUE(refused([](HoneInputs& i) { i.step = -um; }));
  EXPECT_TRUE(refused([](HoneInputs& i) { i.readings[0] = std::nan(""); }));
}

}  // namespace
}  // namespace fettle::bore
