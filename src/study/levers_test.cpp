#include "study/levers.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "study/demo_for_tests.h"

namespace {

using namespace fettle;
using study::LeverRow;

plan::Plan demo_plan() {
  auto p = study::demo::read(study::demo::text_of("plan-0.toml"));
  EXPECT_TRUE(p.ok());
  return std::move(p.value());
}
study::Levers run_levers(const plan::Plan& plan, const std::string& finding, int threads = 1,
                         const std::function<bool(const LeverRow&)>& only = {}) {
  const study::Data data = study::load_data(plan);
  study::Memo memo;
  study::LeverOptions o;
  o.finding = finding;
  o.threads = threads;
  o.wanted = only;
  auto l = study::levers(plan, data, o, memo);
  EXPECT_TRUE(l.ok()) << (l.ok() ? "" : say(l.problem()));
  return l.ok() ? std::move(l.value()) : study::Levers{};
}
const LeverRow* row(const study::Levers& l, const std::string& part) {
  for (const LeverRow& r : l.rows)
    if (r.name.find(part) != std::string::npos) return &r;
  return nullptr;
}

bool is_torque(const LeverRow& r) {
  return r.key.find("screw.torque") != std::string::npos || r.key.find("wrench_scatter") != std::string::npos;
}

TEST(Levers, LiftingIsMovedByReachAndSaysWhatElseMoves) {
  const study::Levers l = run_levers(demo_plan(), "op30.pallet.lift");
  EXPECT_EQ(l.finding, "op30.pallet.lift");
  EXPECT_GT(l.tried, 150);
  const LeverRow* reach = row(l, "reach, pallet, where it is set down");
  ASSERT_NE(reach, nullptr);
  EXPECT_GT(reach->gain, 0.3);
  ASSERT_FALSE(reach->moved.empty());
  EXPECT_EQ(reach->moved[0].id, "op30.pallet.lift");
  // One nest fewer lightens the pallet, and that is a change of the pallet, not of a number.
  const LeverRow* nests = row(l, "nests on a pallet");
  ASSERT_NE(nests, nullptr);
  EXPECT_TRUE(nests->structural);
  // A longer screw time does not lift a pallet.
  EXPECT_EQ(row(l, "rapid"), nullptr);
}

TEST(Levers, RankedAndTheSameAtAnyThreadCount) {
  const plan::Plan plan = demo_plan();
  const study::Levers a = run_levers(plan, "comes_off", 1);
  ASSERT_GT(a.rows.size(), 1U);
  for (int threads : {2, 4}) {
    const study::Levers b = run_levers(plan, "comes_off", threads);
    ASSERT_EQ(a.rows.size(), b.rows.size());
    for (std::size_t i = 0; i < a.rows.size(); ++i) {
      EXPECT_EQ(a.rows[i].name, b.rows[i].name);
      EXPECT_EQ(a.rows[i].gain, b.rows[i].gain);
      EXPECT_EQ(a.rows[i].moved.size(), b.rows[i].moved.size());
    }
  }
  for (std::size_t i = 0; i + 1 < a.rows.size(); ++i)
    if (a.rows[i].mends == a.rows[i + 1].mends && a.rows[i].breaks == a.rows[i + 1].breaks &&
        a.rows[i].effort == a.rows[i + 1].effort && !a.rows[i].cost_change && !a.rows[i + 1].cost_change) {
      EXPECT_GE(a.rows[i].gain, a.rows[i + 1].gain);
    }
}

TEST(Levers, StatesAreThoseOfTheStudy) {
  const plan::Plan plan = demo_plan();
  study::Options quick = study::demo::quick();
  study::Memo memo;
  const auto s = study::run(plan, study::load_data(plan), quick, memo);
  ASSERT_TRUE(s.ok());
  const finding::Finding* tight = nullptr;
  for (const finding::Finding& f : s->findings)
    if (f.state == finding::State::tight && f.question == "holds" && tight == nullptr) tight = &f;
  ASSERT_NE(tight, nullptr);
  const study::Levers l = run_levers(plan, tight->id);
  bool found = false;
  for (const finding::Finding& f : l.base.findings) {
    if (f.id != tight->id) continue;
    found = true;
    EXPECT_EQ(f.state, finding::State::tight);
  }
  EXPECT_TRUE(found);
  ASSERT_FALSE(l.rows.empty());
  for (const LeverRow& r : l.rows)
    for (const study::Moved& m : r.moved)
      if (m.id == tight->id) {
        EXPECT_EQ(m.before, finding::State::tight) << r.name;
      }
}

TEST(Levers, WhatLeavesTheRangeOfItsFormulaIsNoLever) {
  auto p = study::demo::read(
      study::demo::edited(study::demo::text_of("plan-0.toml"), {{"torque = \"22 N·m\"", "torque = \"28 N·m\""}}));
  ASSERT_TRUE(p.ok());
  const std::string wanted = "op30.-.holds.T12";
  const auto state = [&](const plan::Plan& plan) {
    study::Options o = study::demo::quick();
    o.bands = false;
    o.only = {"holding"};
    study::Memo memo;
    const auto s = study::run(plan, study::load_data(plan), o, memo);
    EXPECT_TRUE(s.ok());
    for (const finding::Finding& f : s->findings)
      if (f.id == wanted) return f.state;
    return finding::State::open;
  };
  EXPECT_EQ(state(*p), finding::State::inside);
  plan::Plan tighter = *p;  // a quarter more, as the levers try it: the screws are overtightened
  for (plan::NestScrew& x : tighter.pallet.screws) x.torque.si *= 1.25, x.torque.low *= 1.25, x.torque.high *= 1.25;
  EXPECT_EQ(state(tighter), finding::State::beyond);
  EXPECT_EQ(row(run_levers(*p, wanted, 1, is_torque), "torque of the nest's screws"), nullptr);
}

TEST(Levers, AnUnknownFindingIsRefusedWithTheNearest) {
  const plan::Plan plan = demo_plan();
  const study::Data data = study::load_data(plan);
  study::Memo memo;
  study::LeverOptions o;
  o.finding = "op30.pallet.lifd";
  const auto l = study::levers(plan, data, o, memo);
  ASSERT_FALSE(l.ok());
  EXPECT_NE(say(l.problem()).find("op30.pallet.lift"), std::string::npos);
}

}  // namespace
