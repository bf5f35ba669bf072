// Edges, learning, hours of the shop, money.
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "calc/timing/cost.h"
#include "calc/timing/edges.h"
#include "calc/timing/hours.h"
#include "calc/timing/learning.h"
#include "published.h"

namespace fettle::timing {
namespace {

using test::How;
using test::published;
constexpr double nan = std::numeric_limits<double>::quiet_NaN();

EdgeInputs edge(double life_min, double cut_min) {
  EdgeInputs in;
  in.life = life_min * 60;
  in.cut_per_part = cut_min * 60;
  in.change = 15;
  return in;
}

TEST(Edges, WholePartsOnly) {
  const EdgeResult r = *edges(edge(20, 1.6));
  const char* const source = "whole parts: floor(life/cut), by hand";
  published("timing", "life 20 min, cut 1.6 min: whole parts of an edge", source, How::exact, 12, r.whole_parts, 0);
  published("timing", "the same, change .25 min: change time a part, min", source, How::exact, .25 / 12,
            r.change_per_part / 60, 1e-12);
  EXPECT_GT(std::fabs(r.change_per_part / 60 - .25 * 1.6 / 20), 8e-4);  // a fractional edge would say .020
  EXPECT_EQ(edges(edge(4.8, 1.6))->whole_parts, 3);                     // exactly three, not two
}

TEST(Edges, ChangedBetweenSetsOnly) {
  EdgeInputs in = edge(40, 1.502);
  in.price = 112;
  in.parts_per_set = 8;
  in.parts_per_shift = 48;
  const EdgeResult r = *edges(in);
  EXPECT_EQ(r.whole_parts, 26);
  EXPECT_EQ(r.between_changes, 24);
  EXPECT_NEAR(r.unused, 2 / 26.0, 1e-12);
  EXPECT_NEAR(*r.cost_per_part, 112 / 24.0, 1e-12);
  EXPECT_NEAR(r.changes_per_shift, 2, 1e-12);
  EXPECT_NEAR(r.tied_per_shift, 30, 1e-12);
  in.whole_parts = 5;  // stated wins
  EXPECT_TRUE(edges(in)->in_mid_set);
  EXPECT_EQ(edges(in)->between_changes, 5);
  EXPECT_EQ(*edges(in)->by_life, 26);
}

TEST(Edges, Refuses) {
  EXPECT_FALSE(edges({}).ok());
  EXPECT_FALSE(edges(edge(0, 1)).ok());
  EXPECT_FALSE(edges(edge(20, 0)).ok());
  EXPECT_FALSE(edges(edge(nan, 1)).ok());
  EXPECT_FALSE(edges(edge(1, 2)).ok());  // not one part
  const auto refused = [](auto change) {
    EdgeInputs in = edge(20, 1.6);
    change(in);
    EXPECT_FALSE(edges(in).ok());
  };
  refused([](EdgeInputs& in) { in.whole_parts = 0; });
  refused([](EdgeInputs& in) { in.change = -1; });
  refused([](EdgeInputs& in) { in.price = -1; });
  refused([](EdgeInputs& in) { in.parts_per_set = 0; });
  refused([](EdgeInputs& in) { in.parts_per_shift = nan; });
}

TEST(Learning, EightyPerCent) {
  const char* const source = "learning curve 80 %, n^log2(.8); Heizer and Render's table agrees from memory";
  published("timing", "80 % curve, exponent", source, How::computed, -.321928, std::log2(.8), 1e-6);
  const std::pair<int, double> units[] = {{2, .8}, {5, .5956}, {10, .4765}, {20, .3812}, {50, .2838}, {100, .2271}};
  for (const auto& [n, t] : units)
    published("timing", "80 % curve, part " + std::to_string(n), source, How::computed, t, *learning_factor(n, .8),
              5e-5);
  const std::pair<int, double> sums[] = {{5, 3.7377}, {10, 6.3154}, {20, 10.4849}, {25, 12.3086}, {100, 32.6508}};
  for (const auto& [n, t] : sums)
    published("timing", "80 % curve, first " + std::to_string(n) + " parts", source, How::computed, t,
              *learning_total(n, .8), 5e-5);
}

TEST(Learning, LongSumsAgreeWithAddingUp) {
  for (double rate : {.5, .7, .85, .99, 1.0}) {
    double sum = 0;
    for (int n = 1; n <= 20000; ++n) sum += *learning_factor(n, rate);
    EXPECT_NEAR(*learning_total(20000, rate) / sum, 1, 1e-11) << rate;
  }
}

TEST(Learning, NewOperator) {
  // First part three times the standard, 85 %: 3^(1/.23447) = 108.4 parts.
  const NewOperator o = *new_operator(3, .85, 60, 7.5 * 3600);
  published("timing", "first part three times standard, 85 %: parts to standard", "3^(-1/log2 .85) by hand",
            How::computed, 108.4, o.parts, 0.1);
  EXPECT_NEAR(o.days, o.time / (7.5 * 3600), 1e-12);
  EXPECT_NEAR(o.time, 60 * 3 * *learning_total(108, .85), 1e-6);
  EXPECT_EQ(new_operator(1, .85, 60, 1)->parts, 0);
  EXPECT_FALSE(new_operator(3, 1, 60, 1).ok());
  EXPECT_FALSE(new_operator(.9, .85, 60, 1).ok());
  EXPECT_FALSE(new_operator(101, .85, 60, 1).ok());
  EXPECT_FALSE(new_operator(3, .49, 60, 1).ok());
  EXPECT_FALSE(new_operator(3, .85, 0, 1).ok());
  EXPECT_FALSE(new_operator(3, .85, 60, 0).ok());
  EXPECT_FALSE(learning_factor(.5, .8).ok());
  EXPECT_FALSE(learning_factor(2, 1.01).ok());
  EXPECT_FALSE(learning_total(0, .8).ok());
  EXPECT_FALSE(learning_total(10000001, .8).ok());
}

TEST(Hours, SummedOverPlans) {
  const PlanLoad one{"one",
                     {{"OP10", "A", "one vises", 120, 60, 100, 50},
                      {"OP20", "A", "one carrier", 180, 30, 100, 50},
                      {"OP50", "", "", 0, 90, 100, 0}}},
      two{"two", {{"OP10", "A", "two vises", 60, 0, 40, 20}}};
  const std::vector<MachineThere> there = {{"A", 8 * 3600.0, 1500.0}, {"B", 3600, {}}};
  const auto hours = machine_load({one, two}, there).value();
  ASSERT_EQ(hours.size(), 2u);
  const MachineHours& a = hours[0];
  // By hand: 100 x 300 + 40 x 60 s, and 2 + 2 + 2 change-overs of 25 min.
  published("timing", "hours of two plans on one machine, s a week", "added up by hand", How::exact,
            30000 + 2400 + 6 * 1500, a.hours, 1e-9);
  EXPECT_NEAR(a.changes, 6, 1e-12);
  EXPECT_EQ(a.set_ups, 3);
  ASSERT_EQ(a.plans.size(), 2u);
  EXPECT_NEAR(a.plans[0].total(), 30000 + 4 * 1500, 1e-9);
  EXPECT_NEAR(a.use(), 41400 / 28800.0, 1e-12);
  EXPECT_EQ(hours[1].hours, 0);
  const PeopleHours p = people_load({one, two}, hours);
  EXPECT_NEAR(p.by_hand, 100 * 180, 1e-9);
  EXPECT_NEAR(p.changing, 9000, 1e-9);
}

TEST(Hours, OneSetUpIsNeverChanged) {
  const PlanLoad one{"one", {{"OP30", "B", "pallets", 400, 150, 100, 0}}};
  const auto hours = machine_load({one}, {{"B", 3600, {}}}).value();
  EXPECT_EQ(hours[0].changes, 0);
  EXPECT_TRUE(hours[0].missing.empty());
  EXPECT_GT(hours[0].use(), 1);
}

TEST(Hours, WhatIsNotKnownOfAChangeIsSaid) {
  const PlanLoad one{"one", {{"OP10", "A", "vises", 60, 0, 100, 0}, {"OP20", "A", "carrier", 60, 0, 100, 50}}};
  const auto hours = machine_load({one}, {{"A", 36000, {}}}).value();
  EXPECT_EQ(hours[0].missing.size(), 2u);
}

TEST(Hours, Refuses) {
  const PlanLoad good{"one", {{"OP10", "A", "vises", 60, 0, 100, 50}}};
  EXPECT_FALSE(machine_load({good}, {}).ok());
  EXPECT_FALSE(machine_load({good}, {{"A", -1, {}}}).ok());
  EXPECT_FALSE(machine_load({good}, {{"A", 1, -1.0}}).ok());
  const auto refused = [&](auto change) {
    PlanLoad p = good;
    change(p.operations[0]);
    EXPECT_FALSE(machine_load({p}, {{"A", 1, {}}}).ok());
  };
  refused([](OperationLoad& o) { o.machine_per_part = -1; });
  refused([](OperationLoad& o) { o.person_per_part = nan; });
  refused([](OperationLoad& o) { o.parts_per_week = -1; });
  refused([](OperationLoad& o) { o.lot = -1; });
}

TEST(Cost, LostPartsAreValuedWhereTheyAreFound) {
  // 10 for the casting, 5, then 20 after which a tenth is lost, then 1: by hand for 100 castings.
  const CostResult r = *cost_per_good_part({10, {{"a", 5, 0}, {"b", 20, .1}, {"c", 1, 0}}});
  published("timing", "cost of a good part, a tenth lost after the second of three", "100 castings by hand", How::exact,
            (1000 + 500 + 2000 + 90) / 90.0, r.per_good, 1e-12);
  EXPECT_NEAR(r.castings_per_good, 1 / .9, 1e-12);
  EXPECT_NEAR(r.put_in, 36, 1e-12);
  EXPECT_NEAR(r.lost_value, 10 * 35 / 90.0, 1e-12);
  EXPECT_NEAR(r.per_good, r.put_in + r.lost_value, 1e-12);
  EXPECT_LT(r.lost_at_casting_price, r.lost_value);
  EXPECT_NEAR(r.at[1].money_in, 35, 1e-12);
  EXPECT_NEAR(r.at[2].come, .9, 1e-12);
}

TEST(Cost, Refuses) {
  EXPECT_FALSE(cost_per_good_part({-1, {}}).ok());
  EXPECT_FALSE(cost_per_good_part({1, {{"a", -1, 0}}}).ok());
  EXPECT_FALSE(cost_per_good_part({1, {{"a", nan, 0}}}).ok());
  EXPECT_FALSE(cost_per_good_part({1, {{"a", 1, -.01}}}).ok());
  EXPECT_FALSE(cost_per_good_part({1, {{"a", 1, 1.01}}}).ok());
  EXPECT_FALSE(cost_per_good_part({1, {{"a", 1, 1}}}).ok());  // nothing left
}

TEST(Payback, FixtureEconomics) {
  const char* const sharma = "Sharma, Example 5.20, p. 270";
  PaybackInputs in{3000, .08, .04, .5, .05, 50, 1.5, .55};
  published("timing", "fixture of 3000, pieces to pay it back, one set-up", sharma, How::read, 886, *payback_parts(in),
            0.5);
  in.setting_up = 250;
  published("timing", "the same, five set-ups", sharma, How::read, 972, *payback_parts(in), 0.5);
  in.saved_per_part = 0;
  EXPECT_FALSE(payback_parts(in).ok());
  const auto refused = [](auto change) {
    PaybackInputs p{3000, .08, .04, .5, .05, 50, 1.5, .55};
    change(p);
    EXPECT_FALSE(payback_parts(p).ok());
  };
  refused([](PaybackInputs& p) { p.cost = -1; });
  refused([](PaybackInputs& p) { p.interest = -.01; });
  refused([](PaybackInputs& p) { p.taxes = nan; });
  refused([](PaybackInputs& p) { p.depreciation = 11; });
  refused([](PaybackInputs& p) { p.upkeep = -1; });
  refused([](PaybackInputs& p) { p.setting_up = -1; });
  refused([](PaybackInputs& p) { p.overhead = -1; });
}

TEST(Promise, DaysAndDates) {
  EXPECT_EQ(*day_after("2026-11-02", 56), "2026-12-28");  // eight weeks
  EXPECT_EQ(*day_after("2028-02-28", 1), "2028-02-29");
  EXPECT_EQ(*day_after("2027-02-28", 1), "2027-03-01");
  EXPECT_EQ(*day_after("2026-11-02", 0.5), "2026-11-03");  // a part of a day is a day
  for (const char* wrong : {"", "2026-13-01", "2026-02-29", "2026/11/02", "26-11-02", "2026-11-2x"})
    EXPECT_FALSE(day_after(wrong, 1).ok()) << wrong;
  EXPECT_FALSE(day_after("2026-11-02", -1).ok());
  EXPECT_FALSE(day_after("2026-11-02", nan).ok());
  EXPECT_NEAR(*promise({240, 8 * 7 * 86400.0, 240, 86400}), (8 + 1) * 7 * 86400.0 + 86400, 1e-6);
  EXPECT_FALSE(promise({0, 0, 1, 0}).ok());
  EXPECT_FALSE(promise({1, -1, 1, 0}).ok());
  EXPECT_FALSE(promise({1, 0, 0, 0}).ok());
  EXPECT_FALSE(promise({1, 0, 1, nan}).ok());
}

}  // namespace
}  // namespace fettle::timing
