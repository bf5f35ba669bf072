// What finishing cuts leave because tool and pallet give way, as the ledger takes it.
#include "study/push_off.h"

#include <cmath>

#include "study/cut_model.h"
#include "study/demo_for_tests.h"
#include "study/ledger_model.h"
#include "study/plate_model.h"

namespace fettle::study {
namespace {

using tolerance::Contributor;

struct Given {
  plan::Plan plan;
  Data data;
  Options options;
  Memo memo;
  Study study;
  Problems problems;
  Context context() { return {plan, data, options, memo, study, problems, {}}; }
  Push push(const std::string& operation, const std::string& surface) {
    Context c = context();
    const PushOf f = push_offs(c);
    for (const plan::Operation& o : plan.operations)
      if (o.id.value == operation) return f(o, surface);
    ADD_FAILURE() << operation;
    return {};
  }
};
std::unique_ptr<Given> given(const std::vector<demo::Edit>& edits = {}) {
  auto g = std::make_unique<Given>();
  auto p = demo::read(demo::edited(demo::text_of("plan-0.toml"), edits));
  EXPECT_TRUE(p.ok());
  g->plan = std::move(p.value());
  return g;
}
/// Contributors of the ledger whose name begins so.
std::vector<Contributor> pushes(const Given& g, const std::string& operation) {
  std::vector<Contributor> out;
  for (const Contributor& c : ledger_model(g.plan, g.data).route.contributors)
    if (c.operation == operation && c.name.rfind("push-off", 0) == 0) out.push_back(c);
  return out;
}

TEST(PushOff, TheWallOfTheProfileByHand) {
  auto g = given();
  const Push p = g->push("OP30", "F1.+x");
  EXPECT_EQ(p.tool, "T12");
  EXPECT_TRUE(p.missing.empty());
  // The tool's own bending from the cut's own two ends is 8 µm from least to most; half of its part by the iron and the
  // pallet's share (at most 3.6 µm on two walls) bound what the ledger draws.
  EXPECT_GT(p.iron, 1e-6);
  EXPECT_LT(p.iron, 6e-6);
  EXPECT_GT(p.stock, 0) << "T11 leaves more in hard iron than in soft, and T12 finds it as stock";
  ASSERT_EQ(p.by_nest.size(), 4U);
  double most = 0, sum = 0;
  for (double x : p.by_nest) most = std::max(most, x);
  for (double x : p.beside) sum += x;
  EXPECT_DOUBLE_EQ(most, 1);
  EXPECT_NEAR(sum, 0, 1e-15);
}

TEST(PushOff, ASofterToolAndAThinnerPlateMoveIt) {
  const double now = given()->push("OP30", "F1.+x").iron;
  auto thin = given({{"size = \"330 x 250 x 25 mm\"", "size = \"330 x 250 x 15 mm\""}});
  EXPECT_GT(thin->push("OP30", "F1.+x").iron, 1.02 * now);
  auto fast = given({{"feed = \"1004 mm/min\"", "feed = \"2008 mm/min\""}});
  const double more = fast->push("OP30", "F1.+x").iron;
  // Twice the feed, 2^(1-mc) the force.
  EXPECT_GT(more, 1.5 * now);
  EXPECT_LT(more, 1.9 * now);
}

TEST(PushOff, AFloorMovesWithThePalletAloneByItsUprightGive) {
  auto g = given();
  const Push p = g->push("OP30", "F3");
  EXPECT_EQ(p.tool, "T13");
  EXPECT_TRUE(p.missing.empty());
  Context c = g->context();
  const CutModel* cut = nullptr;
  const auto all = cut_models(c);
  for (const CutModel& m : all)
    if (m.cut->tool.value == "T13") cut = &m;
  ASSERT_NE(cut, nullptr);
  PlateKnobs k = stated_knobs(c);
  k.modes = 2;
  const auto r = plate_answer(c, k, {{0, on_pallet(g->plan, 0, {0, 0, 0.018})}});
  ASSERT_TRUE(r.ok());
  const auto s = maths::static_compliance(r->at[0]);
  CutKnobs soft = cut->stated, hard = cut->stated;
  soft.hardness = cut->soft.hardness, soft.wear_factor = 1;
  hard.hardness = cut->hard.hardness, hard.wear_factor = cut->hard.wear_factor;
  const double up = 0.5 * std::fabs(cut_forces(c, *cut, hard).mean.z - cut_forces(c, *cut, soft).mean.z) * s[8];
  EXPECT_GT(p.iron, 0.5 * up);
  EXPECT_LT(p.iron, 8 * up) << "the part leans as well, at the rim of the floor";
}

TEST(PushOff, EverySurfaceOfAPatternIsAsked) {
  auto g = given();
  for (const char* floor : {"F6@1", "F6@2"}) {
    const Push p = g->push("OP30", floor);
    EXPECT_EQ(p.tool, "T16");
    EXPECT_TRUE(p.missing.empty()) << floor;
    EXPECT_TRUE(p.known()) << floor;
    EXPECT_EQ(p.by_nest.size(), 4U);
  }
}

TEST(PushOff, WhatIsMissingIsSaidAndStaysAssumed) {
  auto g = given();
  const Push edge = g->push("OP10a", "E1");
  EXPECT_FALSE(edge.known());
  ASSERT_EQ(edge.missing.size(), 1U) << "a vise's give along the spindle is not known";
  for (const Contributor& c : pushes(*g, "OP10a")) EXPECT_DOUBLE_EQ(c.half_width, 2e-6);
  EXPECT_EQ(pushes(*g, "OP10a").size(), 1U);
  auto bare = given({{"material = \"EN AW-5083\"\n", ""}});
  const Push wall = bare->push("OP30", "F1.+x");
  EXPECT_TRUE(wall.known()) << "the tool is still worked out";
  EXPECT_FALSE(wall.missing.empty());
  int assumed = 0;
  for (const Contributor& c : pushes(*bare, "OP30")) assumed += c.half_width == 2e-6 ? 1 : 0;
  EXPECT_EQ(assumed, 4) << "and the pallet's share of each side stays assumed";
}

TEST(PushOff, OneToolMeetsTheSameIronAllRound) {
  auto g = given();
  std::size_t sides = 0, stock = 0;
  for (const Contributor& c : pushes(*g, "OP30")) {
    if (c.name == "push-off of T12, soft to hard iron") sides = c.effects.size();
    if (c.name.find(", stock") != std::string::npos) ++stock;
    for (const auto& e : c.effects) EXPECT_TRUE(e.by_nest.empty() || e.by_nest.size() == 16U);
  }
  EXPECT_EQ(sides, 4U);
  EXPECT_EQ(stock, 4U);
  // The plan's own spread along Z stands for the floors.
  for (const Contributor& c : pushes(*g, "OP30")) EXPECT_EQ(c.name.find("floor"), std::string::npos) << c.name;
}

TEST(PushOff, ABarThatGivesMoreThanItsGradeComesOnTop) {
  auto g = given();
  for (const Contributor& c : pushes(*g, "OP30")) EXPECT_EQ(c.name.find("beyond"), std::string::npos) << c.name;
  const auto size = [&](const demo::Run& r) {
    for (const auto& row : r.study.requirements)
      if (row.id == "F2.size") return row.s;
    return std::nan("");
  };
  Options o = demo::quick();
  o.only = {"tolerances"};
  const demo::Run now = demo::demo({}, o);
  // Ten times the feed on a bar of 50 that hangs out by the same 60 mm.
  const demo::Run rough = demo::demo({{"feed = \"95.5 mm/min\"", "feed = \"955 mm/min\""}}, o);
  EXPECT_GT(size(rough), size(now));
}

TEST(PushOff, ASampledPartMeetsTheSameLedger) {
  auto g = given();
  Context c = g->context();
  const auto a = ledger_model(g->plan, g->data, push_offs(c)), b = ledger_model(g->plan, g->data);
  ASSERT_EQ(a.route.contributors.size(), b.route.contributors.size());
  for (std::size_t i = 0; i < a.route.contributors.size(); ++i) {
    EXPECT_EQ(a.route.contributors[i].half_width, b.route.contributors[i].half_width);
    EXPECT_EQ(a.route.contributors[i].mean, b.route.contributors[i].mean);
  }
}

}  // namespace
}  // namespace fettle::study
