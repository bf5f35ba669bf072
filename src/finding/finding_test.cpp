#include "finding/finding.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace fettle::finding {
namespace {

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();

Finding with(Limit limit, std::vector<Assumption> assumptions) {
  Finding f;
  f.limit = limit;
  f.assumptions = std::move(assumptions);
  return f;
}
Assumption assumed(std::string name, double value, double low, double high) {
  Assumption a;
  a.name = std::move(name);
  a.value = value;
  a.low = low;
  a.high = high;
  return a;
}

TEST(Margin, IsOneScaleForEveryKindOfLimit) {
  EXPECT_DOUBLE_EQ(margin(0, upper(4)), 1);
  EXPECT_DOUBLE_EQ(margin(4, upper(4)), 0);
  EXPECT_DOUBLE_EQ(margin(6, upper(4)), -0.5);
  EXPECT_DOUBLE_EQ(margin(6, lower(4)), 0.5);
  EXPECT_DOUBLE_EQ(margin(2, lower(4)), -0.5);
  EXPECT_DOUBLE_EQ(margin(-5, lower(-4)), -0.25);  // a negative limit keeps its direction
  EXPECT_DOUBLE_EQ(margin(3, between(1, 5)), 1);
  EXPECT_DOUBLE_EQ(margin(5, between(1, 5)), 0);
  EXPECT_DOUBLE_EQ(margin(7, between(1, 5)), -1);
  EXPECT_DOUBLE_EQ(margin(0.2, lower(0, 0.8)), 0.25);
  EXPECT_DOUBLE_EQ(margin(0.001, share(0.001)), 0);
  EXPECT_DOUBLE_EQ(margin(1e-6, share(0.001)), 1);
  EXPECT_NEAR(margin(1, share(0.001)), -1, 1e-12);
  EXPECT_DOUBLE_EQ(margin(0, share(0.001)), 1);
}

TEST(Margin, ANumberThatIsNoneIsNeverInside) {
  for (const Limit& limit : {upper(1), lower(1), between(0, 1), share(0.1), Limit{}}) {
    EXPECT_FALSE(within(kNaN, limit));
    EXPECT_TRUE(std::isnan(margin(kNaN, limit)));
  }
  EXPECT_FALSE(within(0, Limit{})) << "no limit: nothing is inside it";
}

TEST(Margin, LimitsThemselvesAreInside) {
  EXPECT_TRUE(within(4, upper(4)));
  EXPECT_FALSE(within(std::nextafter(4.0, 5.0), upper(4)));
  EXPECT_TRUE(within(4, lower(4)));
  EXPECT_FALSE(within(std::nextafter(4.0, 0.0), lower(4)));
  EXPECT_TRUE(within(1, between(1, 5)));
  EXPECT_FALSE(within(5.001, between(1, 5)));
}

TEST(Judge, InsideEvenAtTheBadEnds) {
  Finding f = with(upper(10), {assumed("a", 1, 0, 2), assumed("b", 1, 0, 2)});
  judge(f, [](const std::vector<double>& v) { return v[0] + v[1]; });
  EXPECT_EQ(f.state, State::inside);
  EXPECT_EQ(f.worst, "");
  EXPECT_DOUBLE_EQ(f.value, 2);
}

TEST(Judge, OneAssumptionFlipsItAndIsNamed) {
  Finding f = with(upper(10), {assumed("harmless", 1, 0, 2), assumed("friction", 1, 0, 20)});
  judge(f, [](const std::vector<double>& v) { return v[0] + v[1]; });
  EXPECT_EQ(f.state, State::tight);
  EXPECT_EQ(f.worst, "friction");
  EXPECT_FALSE(f.assumptions[0].flips);
  EXPECT_TRUE(f.assumptions[1].flips);
  EXPECT_DOUBLE_EQ(f.assumptions[1].margin_at_high, -1.1);
}

TEST(Judge, OnlyAllTogetherPutItOutside) {
  Finding f = with(upper(10), {assumed("a", 3, 0, 6), assumed("b", 3, 0, 6)});
  judge(f, [](const std::vector<double>& v) { return v[0] + v[1]; });
  EXPECT_EQ(f.state, State::tight);
  EXPECT_FALSE(f.assumptions[0].flips || f.assumptions[1].flips);
}

TEST(Judge, TheBadEndMayBeTheLowOne) {
  Finding f = with(lower(1), {assumed("preload", 2, 0.5, 4)});
  judge(f, [](const std::vector<double>& v) { return v[0]; });
  EXPECT_EQ(f.state, State::tight);
  EXPECT_EQ(f.worst, "preload");
}

TEST(Judge, OutsideAtTheStatedValues) {
  Finding f = with(upper(1), {assumed("a", 2, 0, 3)});
  judge(f, [](const std::vector<double>& v) { return v[0]; });
  EXPECT_EQ(f.state, State::outside);
}

TEST(Judge, NoNumberIsBeyondAtTheStatedValuesAndNeverInsideInTheBand) {
  Finding f = with(upper(1), {});
  judge(f, [](const std::vector<double>&) { return kNaN; });
  EXPECT_EQ(f.state, State::beyond);
  Finding g = with(upper(1), {assumed("a", 0, -1, 1)});
  judge(g, [](const std::vector<double>& v) { return v[0] > 0.5 ? kNaN : 0.0; });
  EXPECT_EQ(g.state, State::tight);
}

TEST(Ids, KeepTheirPlaces) {
  EXPECT_EQ(make_id("op30", "F1", "clean_up"), "op30.F1.clean_up");
  EXPECT_EQ(make_id("op30", "", "clean_up"), "op30.-.clean_up");
  EXPECT_EQ(make_id("op30", "F1", "load", "T11"), "op30.F1.load.T11");
  EXPECT_EQ(make_id("op30", "F1", "load", "", "n2"), "op30.F1.load.-.n2");
}

TEST(Sorting, WhatNeedsAHandComesFirst) {
  std::vector<Finding> list(5);
  list[0].id = "a", list[0].state = State::inside, list[0].margin = 0.1;
  list[1].id = "b", list[1].state = State::outside, list[1].margin = -0.1;
  list[2].id = "c", list[2].state = State::outside, list[2].margin = -0.9;
  list[3].id = "d", list[3].state = State::open, list[3].margin = kNaN;
  list[4].id = "e", list[4].state = State::tight, list[4].margin = 0.2;
  sort_by_need(list);
  std::string order;
  for (const Finding& f : list) order += f.id;
  EXPECT_EQ(order, "cbeda");
}

TEST(States, HaveTheirWords) {
  EXPECT_EQ(word(State::inside), "inside");
  EXPECT_EQ(word(State::tight), "tight");
  EXPECT_EQ(word(State::outside), "outside");
  EXPECT_EQ(word(State::open), "open");
  EXPECT_EQ(word(State::beyond), "beyond");
}

}  // namespace
}  // namespace fettle::finding
