#include "study/simulated_week.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>

#include "study/demo_for_tests.h"

namespace fettle::study {
namespace {

plan::Plan demo_plan(const std::vector<demo::Edit>& edits = {}, const std::string& name = "plan-0.toml") {
  const auto p = demo::read(demo::edited(demo::text_of(name), edits), name);
  EXPECT_TRUE(p.ok());
  return *p;
}
std::optional<timing::SimulationInputs> cell(const plan::Plan& p, double hone = 0.2) {
  TimesOptions o;
  o.hone_share = hone;
  const plan::People& h = p.shop.people;
  return cell_of_plan(p, plan_times(p, o), hone, h.edge_time.known() ? h.edge_time.si : 0);
}

TEST(SimulatedWeek, TheDemoPlanAsACell) {
  const plan::Plan p = demo_plan();
  const auto in = cell(p);
  ASSERT_TRUE(in.has_value());
  ASSERT_EQ(in->machines.size(), 2u);
  // Both edges are one load: five parts, turned over in the vise.
  ASSERT_EQ(in->machines[0].jobs.size(), 2u);
  EXPECT_EQ(in->machines[0].jobs[0].per_pallet, 5);
  EXPECT_EQ(in->machines[0].jobs[1].per_pallet, 3);
  const timing::CellJob& b = in->machines[1].jobs.at(0);
  EXPECT_EQ(b.pallets * b.per_pallet, 8);
  EXPECT_EQ(b.sets, 2);
  EXPECT_NEAR(b.swap.mean + b.swap_rest, p.pallet.swap_time.si, 1e-9) << "the whole swap, whoever does it";
  EXPECT_TRUE(b.swap_by_person);
  const auto lossy = std::count_if(in->stages.begin(), in->stages.end(), [](const auto& s) { return s.loss > 0; });
  EXPECT_EQ(lossy, 1) << "losses stand after the operation that shows them";
  double good = 1;
  for (const auto& s : in->stages) good *= 1 - s.loss;
  EXPECT_NEAR(good, share_without_losses(p), 1e-12);
  double hours = 0;
  for (const auto& s : in->people.at(0).present) hours += s.to - s.from;
  EXPECT_NEAR(hours, p.demand.shift.si, 1e-6);
}

TEST(SimulatedWeek, NoMoreComesOutThanTheHoursAllow) {
  // The closed form lets nobody wait for anybody: with unplanned stops on both sides it can only promise more.
  const plan::Plan p = demo_plan();
  auto in = cell(p);
  ASSERT_TRUE(in.has_value());
  const auto r = timing::simulate(*in);
  ASSERT_TRUE(r.ok()) << say(r.problem());
  EXPECT_EQ(r->taken_up, r->good + r->lost + r->left_in_process);
  EXPECT_GT(r->good_per_week.mean, 50);
  double per_part = 0;
  for (const OperationTime& t : plan_times(p).operations) per_part += t.person_per_part + t.gauging_per_part;
  const double by_machine = p.demand.shift.si / plan_times(p).find("OP30")->machine_per_part;
  EXPECT_LT(r->good_per_week.mean, 1.25 * by_machine) << "a loaded set still runs after the shift";
  EXPECT_LT(r->good_per_week.mean, p.demand.shift.si / per_part) << "one person's hours";
  EXPECT_LE(r->people[0].use.mean, 1);
}

TEST(SimulatedWeek, WhatIsMissingIsNamedAndNothingIsGuessed) {
  plan::Plan p = demo_plan();
  p.demand.operators = {};
  p.shop.people.operators = {};
  std::vector<std::string> why;
  EXPECT_FALSE(cell_of_plan(p, plan_times(p), 0.2, 0, &why).has_value());
  ASSERT_FALSE(why.empty());
  EXPECT_NE(why.back().find("operators"), std::string::npos);
}

TEST(SimulatedWeek, IsAFindingOfItsOwnWhereDrawingIsAskedFor) {
  EXPECT_EQ(demo::demo().find("shop.-.simulated_week"), nullptr);
  const finding::Finding f = demo::demo({}, Options{}).at("shop.-.simulated_week");
  ASSERT_TRUE(f.low && f.high);
  EXPECT_LE(*f.low, f.value);
  EXPECT_GE(*f.high, f.value);
  const auto has = [&](const std::string& name) {
    return std::any_of(f.inputs.begin(), f.inputs.end(), [&](const finding::Input& i) { return i.name == name; });
  };
  for (const char* name : {"good parts a week, simulated", "spindles wait most for", "parts in process",
                           "people work, of the hours they are there", "longest run with no hand at it"})
    EXPECT_TRUE(has(name)) << name;
}

}  // namespace
}  // namespace fettle::study
