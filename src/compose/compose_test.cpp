#include "compose/compose.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <set>

#include "compose/breaks.h"
#include "compose/demo_for_tests.h"
#include "compose/on_paper.h"

namespace fettle::compose {
namespace {

constexpr double mm = 1e-3;

Composition composed(const plan::Plan& plan, const std::string& operation, const Options& options = {}) {
  Outcome<Composition> c = compose(plan, operation, options);
  EXPECT_TRUE(c.ok()) << (c.ok() ? "" : say(c.problem()));
  return c.ok() ? std::move(c.value()) : Composition{};
}
std::vector<int> tools_of(const std::vector<paper::Place>& places) {
  std::vector<int> out;
  for (const paper::Place& p : places)
    if (p.kind != "rapid" && (out.empty() || out.back() != p.tool)) out.push_back(p.tool);
  return out;
}

TEST(Compose, EachToolVisitsEveryNestOnceInAlternatingDirection) {
  const plan::Plan plan = demo::plan_of("plan-0.toml");
  const Composition c = composed(plan, "OP30");
  ASSERT_EQ(c.visits.size(), 9U);
  EXPECT_EQ(c.zeros, 8);
  EXPECT_TRUE(c.missing.empty());
  for (std::size_t i = 0; i < c.visits.size(); ++i) {
    std::vector<int> all = c.visits[i].order;
    std::sort(all.begin(), all.end());
    EXPECT_EQ(all, (std::vector<int>{0, 1, 2, 3, 4, 5, 6, 7}));
    if (i == 0) continue;
    // The next tool begins where the last one ended.
    EXPECT_EQ(c.visits[i].order.front(), c.visits[i - 1].order.back());
  }
  paper::Machine m(c, paper::typed_in(c), {}, 0.15);
  EXPECT_EQ(tools_of(m.run()), (std::vector<int>{11, 12, 13, 14, 15, 16, 17, 18, 19}));
  EXPECT_EQ(m.stops(), 0);
}

TEST(Compose, ToolsThatBelongTogetherGoPartByPart) {
  const plan::Plan plan = demo::plan_of("plan-0.toml");
  Options options;
  options.together = {{"T13", "T14"}};
  const Composition c = composed(plan, "OP30", options), plain = composed(plan, "OP30");
  paper::Machine m(c, paper::typed_in(c), {}, 0.15), p(plain, paper::typed_in(plain), {}, 0.15);
  const auto places = m.run(), before = p.run();
  EXPECT_EQ(m.stops(), 0);
  const std::vector<int> tools = tools_of(places);
  ASSERT_EQ(tools.size(), 2U + 16U + 5U);
  for (std::size_t i = 2; i < 18; ++i) EXPECT_EQ(tools[i], i % 2 == 0 ? 13 : 14);
  // The same cuts in all, each nest once with each tool, and a restart for each.
  const auto cuts = [](const std::vector<paper::Place>& all) {
    return std::count_if(all.begin(), all.end(), [](const paper::Place& q) { return q.kind != "rapid"; });
  };
  EXPECT_EQ(cuts(places), cuts(before));
  EXPECT_EQ(c.restarts.size(), 72U);
  std::set<int> blocks;
  for (const RestartRow& r : c.restarts) EXPECT_TRUE(blocks.insert(r.block).second);
  // Tools that do not follow one another are not grouped.
  options.together = {{"T11", "T14"}};
  const Composition apart = composed(plan, "OP30", options);
  paper::Machine a(apart, paper::typed_in(apart), {}, 0.15);
  EXPECT_EQ(tools_of(a.run()).size(), 9U);
}

TEST(Compose, StockThatNobodySaidIsNamedInTheProgram) {
  const auto unsaid = [](const plan::Plan& plan) {
    const Composition c = composed(plan, "OP30");
    return std::count_if(c.notes.begin(), c.notes.end(),
                         [](const std::string& n) { return n.rfind("stock on ", 0) == 0; });
  };
  plan::Plan plan = demo::plan_of("plan-0.toml");
  EXPECT_EQ(unsaid(plan), 0);
  plan.casting.sizes.clear();
  EXPECT_GT(unsaid(plan), 0);
}

TEST(Compose, NothingMovesBeforeThePlacesAreTypedIn) {
  const Composition c = composed(demo::plan_of("plan-0.toml"), "OP30");
  auto values = paper::typed_in(c);
  values["known"] = 1;
  paper::Machine m(c, values, {}, 0.15);
  for (const paper::Place& p : m.run()) EXPECT_EQ(p.machine.z, 0);  // up, and nothing else
  EXPECT_EQ(m.stops(), 1);
  // The number belongs to one program: that of another operation is not taken.
  EXPECT_NE(c.key, composed(demo::plan_of("plan-0.toml"), "OP20").key);
}

TEST(Compose, SwitchesLeaveOutANestAndFirstPieceCutsOne) {
  const Composition c = composed(demo::plan_of("plan-0.toml"), "OP30");
  const auto cut_at = [&](const std::map<std::string, double>& set) {
    auto values = paper::typed_in(c);
    for (const auto& [k, v] : set) values[k] = v;
    paper::Machine m(c, values, {}, 0.15);
    const auto places = m.run();
    std::set<int> nests;
    for (const paper::Place& p : places) {
      if (p.kind == "rapid") continue;
      for (int n = 1; n <= 8; ++n)
        if (std::fabs(p.machine.x - m.zero(n).x) < 60 * mm && std::fabs(p.machine.y - m.zero(n).y) < 40 * mm)
          nests.insert(n);
    }
    return std::pair<std::set<int>, int>{nests, m.stops()};
  };
  EXPECT_EQ(cut_at({}).first.size(), 8U);
  EXPECT_EQ(cut_at({{"skip_3", 1}}).first, (std::set<int>{1, 2, 4, 5, 6, 7, 8}));
  const auto first = cut_at({{"first", 1}});
  EXPECT_EQ(first.first, (std::set<int>{1}));
  EXPECT_EQ(first.second, 9);  // one stop a tool
}

TEST(Compose, ARestartDoesExactlyWhatIsLeft) {
  const Composition c = composed(demo::plan_of("plan-0.toml"), "OP30");
  ASSERT_EQ(c.restarts.size(), 72U);
  paper::Machine whole(c, paper::typed_in(c), {}, 0.15);
  const auto all = whole.run();
  std::vector<frame::Vec3> cuts;
  for (const paper::Place& p : all)
    if (p.kind != "rapid") cuts.push_back(p.machine);
  std::size_t last = cuts.size() + 1;
  for (std::size_t i = 0; i < c.restarts.size(); i += 7) {
    auto values = whole.values();  // the zeros stay in the control; here they are written again by hand
    values["restart"] = c.restarts[i].block;
    values["written"] = values["set"];
    for (auto& [name, v] : values)
      if (name.compare(0, 5, "used_") == 0) v = 0;
    // A control keeps its zeros; the paper one is told them by a first run over the same values.
    paper::Machine m(c, values, {}, 0.15);
    for (int n = 1; n <= 8; ++n) m.keep_zero(n, whole.zero(n));
    std::vector<frame::Vec3> rest;
    for (const paper::Place& p : m.run())
      if (p.kind != "rapid") rest.push_back(p.machine);
    EXPECT_EQ(m.stops(), 0);
    ASSERT_LT(rest.size(), last);
    last = rest.size();
    ASSERT_LE(rest.size(), cuts.size());
    for (std::size_t k = 0; k < rest.size(); ++k)
      ASSERT_LT(frame::norm(rest[rest.size() - 1 - k] - cuts[cuts.size() - 1 - k]), 1e-9) << c.restarts[i].block;
    EXPECT_EQ(rest.size() == cuts.size(), i == 0);
  }
}

TEST(Compose, ARestartWithTheZerosOfAnotherSetStops) {
  const Composition c = composed(demo::plan_of("plan-0.toml"), "OP30");
  auto values = paper::typed_in(c);
  values["restart"] = 203;
  values["written"] = 2;
  paper::Machine m(c, values, {}, 0.15);
  for (const paper::Place& p : m.run()) EXPECT_EQ(p.machine.z, 0);
  EXPECT_EQ(m.stops(), 1);
}

TEST(Compose, EdgesAreChangedBetweenSetsOfParts) {
  const Composition c = composed(demo::plan_of("plan-0.toml"), "OP30");
  auto values = paper::typed_in(c);
  values["used_11"] = 25;  // 33 parts an edge: 25 and 8 go, 26 and 8 do not
  paper::Machine goes(c, values, {}, 0.15);
  goes.run();
  EXPECT_EQ(goes.stops(), 0);
  EXPECT_EQ(goes.values()["used_11"], 33);
  values["used_11"] = 26;
  paper::Machine stands(c, values, {}, 0.15);
  EXPECT_TRUE(tools_of(stands.run()).empty());
  EXPECT_EQ(stands.stops(), 1);
}

TEST(Compose, SafeHeightIsOverTheScrewHeads) {
  const Composition c = composed(demo::plan_of("plan-0.toml"), "OP30");
  // M8 through 36: head 8 and a washer of 1.8 above it.
  EXPECT_NEAR(c.set_up.heads, (36 + 9.8) * mm, 1e-9);
  EXPECT_NEAR(c.set_up.safe, (36 + 9.8 + 5) * mm, 1e-9);
  paper::Machine m(c, paper::typed_in(c), {}, 0.15);
  frame::Vec3 at;
  for (const paper::Place& p : m.run()) {
    const bool far = p.kind == "rapid" && std::hypot(p.machine.x - at.x, p.machine.y - at.y) > 30 * mm;
    EXPECT_TRUE(!far || std::min(p.machine.z, at.z) >= -0.4 + c.set_up.safe - 1e-9);
    at = p.machine;
  }
}

TEST(Compose, PartsAreTurnedOverAfterAStop) {
  const Composition c = composed(demo::plan_of("plan-0.toml"), "OP10a");
  EXPECT_EQ(c.next, "OP10b");
  ASSERT_EQ(c.visits.size(), 2U);
  paper::Machine m(c, paper::typed_in(c), {}, 0.15);
  const auto places = m.run();
  EXPECT_EQ(m.stops(), 1);
  // Rest plane at Z0: the raw edge stands at -48.5, E1 at 46.5: 95 high; turned over, E2 at 93.
  std::set<double> levels;
  double z = 0;
  for (const paper::Place& p : places)
    if (p.kind == "feed") {
      z = p.machine.z + 0.4;
      levels.insert(std::round(z / mm * 100) / 100);
    }
  EXPECT_EQ(*levels.begin(), 93.0);
  EXPECT_EQ(levels.count(95.0), 1U);
}

// ---- probing --------------------------------------------------------------------------------------------------------

TEST(Compose, ACastingIsShiftedAsFarAsThePlanAllowsAndNoFarther) {
  const plan::Plan plan = demo::plan_of("plan-0.toml");
  const Composition c = composed(plan, "OP20");
  const auto shifted = [&](double core_x, double core_y, double low, double high, double* left_out = nullptr) {
    auto values = paper::typed_in(c);
    values["core_1_x"] = core_x;
    values["core_1_y"] = core_y;
    const double ball = 3 * mm;
    std::deque<frame::Vec3> touches;
    touches.push_back({low - ball, 0, 18 * mm});
    touches.push_back({high + ball, 0, 18 * mm});
    for (int k = 0; k < 2; ++k) {
      touches.push_back({-68 * mm - ball, 0, 18 * mm});
      touches.push_back({68 * mm + ball, 0, 18 * mm});
    }
    paper::Machine m(c, values, touches, 0.15);
    m.run();
    if (left_out != nullptr) *left_out = m.values()["out_1"];
    const frame::Vec3 base{values["base_1_1_x"] - 158 * mm, values["base_1_1_y"], values["base_1_1_z"]};
    return m.zero(1) - base;
  };
  // Middle of the raw ends 0.2 to +X, core 0.4 and 0.15 off: followed. Bottom up, the part's +Y is the program's -Y.
  frame::Vec3 s = shifted(0.4 * mm, 0.15 * mm, -67.8 * mm, 68.2 * mm);
  EXPECT_NEAR(s.x, 0.6 * mm, 1e-9);
  EXPECT_NEAR(s.y, -0.15 * mm, 1e-9);
  EXPECT_NEAR(s.z, 0, 1e-12);
  // At most 1.1 in X and 0.2 in Y.
  double left_out = 0;
  s = shifted(1.3 * mm, -0.9 * mm, -68 * mm, 68 * mm, &left_out);
  EXPECT_NEAR(s.x, 1.1 * mm, 1e-9);
  EXPECT_NEAR(s.y, 0.2 * mm, 1e-9);
  // 46 cored, 50.02 finished, skin 0.8: the core may stand off by 1.21 more. 0.2 and 0.7 are 0.73.
  EXPECT_EQ(left_out, 0);
  // Casting 13 of the sample: 2.6 and 0.4; 1.5 beyond the shift: left out.
  shifted(2.6 * mm, 0.4 * mm, -68.25 * mm, 68.25 * mm, &left_out);
  EXPECT_EQ(left_out, 1);
  // Short casting: 133 long leaves 0.5 an end, less than the skin.
  shifted(0, 0, -66.5 * mm, 66.5 * mm, &left_out);
  EXPECT_EQ(left_out, 1);
}

TEST(Compose, ACoreThatOpensTowardsTheSpindleIsProbed) {
  // The same clamping the other way up: then the counterbore's core can be touched.
  const plan::Plan plan = demo::plan_of("plan-0.toml", {{"up = \"-z\"\nzero = \"middle of the outside\"",
                                                         "up = \"+z\"\nzero = \"middle of the outside\""}});
  const Composition c = composed(plan, "OP20");
  const auto values = paper::typed_in(c);
  EXPECT_EQ(values.count("core_1_x"), 0U);  // nobody types it in
  const auto shifted = [&](double core_x, double core_y, double diameter, double* left_out) {
    std::deque<frame::Vec3> touches;
    const double ball = 3 * mm;
    for (int k = 0; k < 3; ++k) {
      const double x = k == 0 ? core_x : 0, y = k == 0 ? core_y : 0, r = 0.5 * diameter - ball;
      touches.push_back({-68.125 * mm - ball, 0, 18 * mm});
      touches.push_back({68.125 * mm + ball, 0, 18 * mm});
      touches.push_back({x - r, 0, 30 * mm});
      touches.push_back({x + r, 0, 30 * mm});
      touches.push_back({0, y - r, 30 * mm});
      touches.push_back({0, y + r, 30 * mm});
    }
    paper::Machine m(c, values, touches, 0.15);
    m.run();
    EXPECT_EQ(m.touched().size(), 18U);
    *left_out = m.values()["out_1"];
    return m.zero(1) -
           frame::Vec3{values.at("base_1_1_x") - 158 * mm, values.at("base_1_1_y"), values.at("base_1_1_z")};
  };
  double left_out = 1;
  frame::Vec3 s = shifted(0.5 * mm, 0.1 * mm, 46 * mm, &left_out);
  EXPECT_NEAR(s.x, 0.5 * mm, 1e-9);
  EXPECT_NEAR(s.y, 0.1 * mm, 1e-9);
  EXPECT_EQ(left_out, 0);
  // A core of 48.6 leaves 0.71 a side, less than the skin, wherever it stands.
  shifted(0, 0, 48.6 * mm, &left_out);
  EXPECT_EQ(left_out, 1);
}

TEST(Compose, AProbeThatTouchesNothingStopsTheProgram) {
  const Composition c = composed(demo::plan_of("plan-0.toml"), "OP20");
  paper::Machine m(c, paper::typed_in(c), {}, 0.15);
  m.touches_nothing = true;
  EXPECT_TRUE(tools_of(m.run()).size() == 1U);  // the probe, and then nothing
  EXPECT_EQ(m.stops(), 1);
}

TEST(Compose, TwoPinsGiveShiftTurnAndGrowthOfAPallet) {
  const Composition c = composed(demo::plan_of("plan-1.toml"), "OP30");
  auto values = paper::typed_in(c);
  const frame::Vec3 pin[2] = {{-150 * mm, 20 * mm, 0}, {150 * mm, -30 * mm, 0}};
  values["pin_1_x"] = pin[0].x;
  values["pin_1_y"] = pin[0].y;
  values["pin_2_x"] = pin[1].x;
  values["pin_2_y"] = pin[1].y;
  values["pin_d"] = 10 * mm;
  values["pin_top"] = 20 * mm;
  const frame::Vec3 off{0.05 * mm, -0.03 * mm, 0};
  const double turn = 3e-4, grow = 23.8e-6 * 8;
  const auto real = [&](frame::Vec3 p) {
    return off + frame::Vec3{(1 + grow) * p.x - turn * p.y, turn * p.x + (1 + grow) * p.y, 0};
  };
  std::deque<frame::Vec3> touches;
  for (int pallet = 0; pallet < 2; ++pallet)
    for (const frame::Vec3& p : pin) {
      const frame::Vec3 m = pallet == 0 ? real(p) : p;
      const double r = 8 * mm;  // pin and ball
      touches.push_back({m.x - r, m.y, 16 * mm});
      touches.push_back({m.x + r, m.y, 16 * mm});
      touches.push_back({m.x, m.y - r, 16 * mm});
      touches.push_back({m.x, m.y + r, 16 * mm});
    }
  paper::Machine m(c, values, touches, 0.15);
  m.run();
  EXPECT_EQ(m.stops(), 0);
  for (int n = 1; n <= 8; ++n) {
    const auto& nest = c.set_up.nests[static_cast<std::size_t>(n - 1)];
    const frame::Vec3 base{values[n <= 4 ? "base_1_1_x" : "base_1_2_x"], values["base_1_1_y"], values["base_1_1_z"]};
    const frame::Vec3 expected = base + (n <= 4 ? real(nest.at) : nest.at);
    EXPECT_NEAR(frame::norm(m.zero(n) - expected), 0, 1e-9) << n;
  }
}

// ---- order
// ------------------------------------------------------------------------------------------------------------

TEST(Compose, RandomPlansKeepWhatMustComeBefore) {
  const plan::Plan plan = demo::plan_of("plan-0.toml");
  plan::Plan drawn = plan;
  plan::Operation& o = *std::find_if(drawn.operations.begin(), drawn.operations.end(),
                                     [](const plan::Operation& x) { return x.id.value == "OP30"; });
  const std::vector<plan::Cut> stock = o.cuts;
  std::mt19937 random(7);
  int saved = 0;
  for (int round = 0; round < 60; ++round) {
    o.cuts.clear();
    const std::size_t n = 3 + random() % 8;
    for (std::size_t i = 0; i < n; ++i) {
      plan::Cut cut = stock[random() % stock.size()];
      if (random() % 3 == 0) cut.kind.value = random() % 2 == 0 ? "rough" : "finish";
      o.cuts.push_back(cut);
    }
    Options fewest;
    fewest.fewest_changes = true;
    const Outcome<Composition> a = compose(drawn, "OP30"), b = compose(drawn, "OP30", fewest);
    ASSERT_TRUE(a.ok() && b.ok());
    const auto before = needs(o);
    for (const Outcome<Composition>* c : {&a, &b}) {
      std::vector<std::size_t> at(n, n);
      std::size_t k = 0;
      for (const Visit& v : c->value().visits)
        for (const int cut : v.cuts) {
          ASSERT_EQ(at[static_cast<std::size_t>(cut)], n) << "a cut twice";
          at[static_cast<std::size_t>(cut)] = k++;
        }
      ASSERT_EQ(k, n);
      for (std::size_t i = 0; i < n; ++i)
        for (const int j : before[i]) ASSERT_LT(at[static_cast<std::size_t>(j)], at[i]) << round;
    }
    ASSERT_LE(b->visits.size(), a->visits.size());
    saved += b->visits.size() < a->visits.size() ? 1 : 0;
  }
  EXPECT_GT(saved, 5);
}

TEST(Compose, UnknownOperationsAreNamed) {
  const plan::Plan plan = demo::plan_of("plan-0.toml");
  const Outcome<Composition> none = compose(plan, "OP33"), hone = compose(plan, "OP40");
  ASSERT_FALSE(none.ok());
  EXPECT_EQ(none.problem().nearest, "OP30");
  EXPECT_FALSE(hone.ok());
  EXPECT_EQ(programmable(plan), (std::vector<std::string>{"OP10a", "OP10b", "OP20", "OP30"}));
}

// ---- broken tools
// -----------------------------------------------------------------------------------------------------

TEST(Breaks, ExpectedLossByHand) {
  // 8 parts, one break in 1000 parts, 10 a part, 6 s at 60 an hour (0.10 a look).
  const auto r = break_costs({0.001, 8, 10, 6, 60});
  ASSERT_TRUE(r.ok());
  EXPECT_NEAR(r->no_check, 0.008 * (4.5 + 8) * 10, 1e-12);
  EXPECT_NEAR(r->check_after, 0.008 * 4.5 * 10 + 0.10, 1e-12);
  EXPECT_NEAR(r->check_each, 0.008 * 10 + 0.80, 1e-12);
}

TEST(Breaks, RefusesWhatCannotBe) {
  EXPECT_FALSE(break_costs({-0.1, 8, 10, 6, 60}).ok());
  EXPECT_FALSE(break_costs({1.1, 8, 10, 6, 60}).ok());
  EXPECT_FALSE(break_costs({std::nan(""), 8, 10, 6, 60}).ok());
  EXPECT_FALSE(break_costs({0.1, 0, 10, 6, 60}).ok());
  EXPECT_FALSE(break_costs({0.1, 8, -1, 6, 60}).ok());
  EXPECT_FALSE(break_costs({0.1, 8, 10, -6, 60}).ok());
  EXPECT_FALSE(break_costs({0.1, 8, 10, 6, std::nan("")}).ok());
}

}  // namespace
}  // namespace fettle::compose
