// Several parts side by side under one carrier jaw: offered, taken with its loads, the way back, and why it cannot be.
#include "begin/propose/carrier.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "begin/features.h"
#include "begin/propose/demo_for_tests.h"
#include "begin/propose/facts.h"
#include "begin/propose/kinds_for_tests.h"
#include "begin/propose/mend.h"
#include "begin/propose/questions.h"
#include "begin/propose/route.h"
#include "begin/propose/written.h"

namespace fettle::begin {
namespace {

/// The demo's shop with one text exchanged.
std::string shop_with(const std::string& from = "", const std::string& to = "") {
  std::string text = demo::shop();
  if (from.empty()) return text;
  const std::size_t at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return text.replace(at, from.size(), to);
}
Scene scene_with(const Answers& more, const std::string& shop = demo::shop()) {
  Scene s = demo::scene_of(shop);
  for (const auto& [id, value] : more) s.answers[id] = value;
  return s;
}
std::vector<Draft> routes_of(const Scene& s) {
  Draft d;
  d.plan = demo::read();
  d.plan.shop = s.shop;
  give(d.plan.header.shop, s.shop_path);
  apply_answers(s.answers, d.plan);
  order_casting(s, d);
  return routes(s, d, 3);
}
const plan::Operation* row_in(const Draft& d) {
  for (const plan::Operation& o : d.plan.operations)
    if (o.kind.value == "jaw carrier") return &o;
  return nullptr;
}
const Alternative* runner_up(const Draft& d, const std::string& words) {
  for (const Choice& c : d.choices)
    for (const Alternative& a : c.others)
      if (a.take == words || a.words.find(words) != std::string::npos) return &a;
  return nullptr;
}
const Answers carried{{"take.route.clamps", "carrier"}};

TEST(Carrier, IsARunnerUpThatAnAnswerTakes) {
  const auto all = routes_of(scene_with({}));
  ASSERT_FALSE(all.empty());
  EXPECT_EQ(row_in(all.front()), nullptr) << "one part a vise weighs less";
  const Alternative* a = runner_up(all.front(), "take.route.clamps=carrier");
  ASSERT_NE(a, nullptr);
  EXPECT_NE(a->words.find("under a carrier jaw -z up"), std::string::npos) << a->words;
  EXPECT_TRUE(takes("take.route.clamps", "carrier"));
  EXPECT_TRUE(takes("take.route.jaw", "pads"));
}

TEST(Carrier, LiesBetweenEdgesThatAGangHasSquaredAndSaysTheWayBack) {
  const auto all = routes_of(scene_with(carried));
  ASSERT_FALSE(all.empty());
  ASSERT_TRUE(all.front().clashes.empty()) << all.front().clashes.front().words;
  for (const Draft& d : all) EXPECT_NE(row_in(d), nullptr) << d.name;
  const Draft& d = all.front();
  const plan::Operation& o = *row_in(d);
  EXPECT_EQ(o.machine.value, "A") << "where the vises stand";
  const auto edge = [&](const std::string& id) {
    const plan::Feature* f = plan::find_feature(d.plan, id);
    return f != nullptr && f->name.value.find("prepared edge") == 0;
  };
  ASSERT_EQ(o.clamps.size(), 1U);
  EXPECT_TRUE(edge(o.clamps[0].on.value)) << o.clamps[0].on.value;
  int squared = 0;
  for (const plan::Operation& p : d.plan.operations) {
    if (&p == &o) break;
    squared += p.kind.value == "vise gang" ? 1 : 0;
  }
  EXPECT_EQ(squared, 2);
  // Three castings of 137 to 138 mm with room for a finger between them under 470 mm; a fourth would stand out.
  EXPECT_EQ(o.parts.value, 3);
  EXPECT_GT(o.pitch.si, 0.150);
  EXPECT_LE(2 * o.pitch.si + 0.132, 0.470);
  EXPECT_GT(3 * o.pitch.si + 0.132, 0.470);
  ASSERT_EQ(o.carrier.pushed_at.value.size(), 2U);
  EXPECT_GE(o.carrier.pushed_at.value[1].x + 0.5 * o.carrier.pushed_width.si, o.pitch.si)
      << "the outer parts' middles lie before the vises";
  ASSERT_EQ(d.plan.spreads.size(), 1U);
  EXPECT_TRUE(edge(d.plan.spreads[0].moves.value.at(0)));
  EXPECT_NE(runner_up(d, "take.route.clamps=as reckoned"), nullptr);
  const auto back = routes_of(scene_with({{"take.route.clamps", "as reckoned"}}));
  EXPECT_EQ(back.front().name, routes_of(scene_with({})).front().name);
}

TEST(Carrier, HardJawOrPadsIsAChoice) {
  const auto face = [](const Draft& d) { return row_in(d)->clamps[0].thing.value; };
  const Draft hard = routes_of(scene_with({{"take.route.clamps", "carrier"}, {"take.route.jaw", "hard"}})).front(),
              pads = routes_of(scene_with({{"take.route.clamps", "carrier"}, {"take.route.jaw", "pads"}})).front();
  EXPECT_EQ(face(hard), "hard jaw");
  EXPECT_EQ(face(pads), "pads");
  EXPECT_NE(runner_up(hard, "take.route.jaw=pads"), nullptr);
  EXPECT_NE(runner_up(pads, "take.route.jaw=hard"), nullptr);
  EXPECT_NE(runner_up(pads, "take.route.jaw=as reckoned"), nullptr);
  // Without an answer the loads decide: the harder one only where it keeps every part often enough.
  const Scene s = scene_with(carried);
  const CarrierSet set = carrier_set(s.shop);
  ASSERT_TRUE(set.why_not.empty()) << set.why_not;
  const CarrierPart part{0.132, 0.138, 0.093, 0.036};
  const CarrierRow row = carrier_row(set, s.shop, part, false);
  CarrierAsked asked{25e3, 3e3, 30e-6, 110e9, 1e-3, 1};  // edges of two set-ups
  const auto loads = carrier_loads(set, part, row, s.shop, asked, "");
  ASSERT_EQ(loads.size(), 4U);
  EXPECT_LE(loads.front().share, asked.limit);
  for (const CarrierLoad& l : loads)
    if (l.parts == 3 && l.face.word == "hard") {
      EXPECT_GT(l.share, asked.limit);
      EXPECT_EQ(loads.front().face.word, "pads");
    }
  asked.spread = 12e-6;  // the plan written by hand pushes at 120 mm, where 1.8 % of loads leave a part loose
  const CarrierLoad near = carrier_loads(set, part, row, s.shop, asked, "").front();
  EXPECT_EQ(near.face.word, "hard");
  EXPECT_GT(std::fabs(near.pushed_at - 0.120), 5e-3);
  EXPECT_LE(near.share, asked.limit);
}

TEST(Carrier, TheStiffestJawOfTheShopIsTheHardOne) {
  plan::Shop shop = demo::scene_of().shop;
  std::erase_if(shop.things, [](const plan::Thing& t) { return t.kind.value == "jaw"; });
  for (const auto& [id, stiff] : {std::pair{"soft jaws", "60 N/µm"}, {"hardened", "400 N/µm"}, {"brass", "200 N/µm"}}) {
    plan::Thing t;
    give(t.id, id), give(t.kind, "jaw"), give(t.stiffness, unit::Kind::stiffness, stiff);
    shop.things.push_back(t);
  }
  const auto faces = carrier_faces(shop);
  ASSERT_FALSE(faces.empty());
  EXPECT_EQ(faces.front().word, "hard");
  EXPECT_EQ(faces.front().thing, "hardened");
  EXPECT_NEAR(faces.front().stiffness, 400e6, 1);
}

TEST(Carrier, IsStudiedWholeWithItsLoads) {
  const Scene s = scene_with(carried);
  Draft d = pallets(s, seats(s, routes_of(s).front(), 1).front(), 1).front();
  ASSERT_TRUE(d.clashes.empty()) << d.clashes.front().words;
  cuts(s, d);
  study::Memo memo;
  const auto l = look(s, d, {}, quick_look(), memo);
  ASSERT_TRUE(l.ok()) << say(l.problem());
  const finding::Finding* f = nullptr;
  int holds = 0;
  for (const finding::Finding& x : l->study.findings) {
    if (x.question == "loose_part") f = &x;
    if (x.question == "holds" && x.operation == row_in(d)->id.value) holds += x.state != finding::State::open ? 1 : 0;
  }
  ASSERT_NE(f, nullptr);
  EXPECT_EQ(f->state, finding::State::inside) << f->sentence;
  EXPECT_GT(holds, 3) << "tool by tool";
}

TEST(Carrier, CastingsCleanUpOnTheEdgesThatAreSquared) {
  const Scene s = scene_with(carried);
  Draft d = pallets(s, seats(s, routes_of(s).front(), 1).front(), 1).front();
  const auto width = [&] {
    for (const plan::CastSize& z : d.plan.casting.sizes)
      if (z.kind.value == "outside" && z.between.value.size() == 2 && z.between.value[0].find("y") != std::string::npos)
        return z.raw.si;
    return 0.0;
  };
  const double before = width();
  ASSERT_GT(before, 0.092);
  study::Memo memo;
  const auto raised = raise_raw_sizes(s, d, {}, memo, 2);
  ASSERT_TRUE(raised.ok()) << say(raised.problem());
  EXPECT_TRUE(*raised);
  EXPECT_GT(width(), before + 0.5e-3) << "the raw edge that a gang sits on first moves the other one";
}

TEST(Carrier, IsRefusedWithOneReason) {
  const auto why = [](const Scene& s) -> std::string {
    const auto all = routes_of(s);
    EXPECT_EQ(all.size(), 1U);
    EXPECT_EQ(all.front().clashes.size(), 1U);
    return all.front().clashes.empty() ? "" : all.front().clashes.front().words;
  };
  // One vise only: refused, and no runner-up to take either.
  const std::string one = shop_with("count = 2\n", "count = 1\n");
  EXPECT_NE(why(scene_with(carried, one)).find("of vises 160 machine A has one only"), std::string::npos)
      << why(scene_with(carried, one));
  const auto usual = routes_of(scene_with({}, one));
  const Alternative* a = runner_up(usual.front(), "under a carrier jaw");
  ASSERT_NE(a, nullptr);
  EXPECT_TRUE(a->take.empty());
  EXPECT_NE(a->why_not.find("has one only"), std::string::npos) << a->why_not;
  // No jaw at all: nothing is offered, and who asks is told how to say it.
  const std::string bare = shop_with("kind = \"carrier jaw\"", "kind = \"rest\"");
  EXPECT_EQ(runner_up(routes_of(scene_with({}, bare)).front(), "carrier jaw"), nullptr);
  EXPECT_NE(why(scene_with(carried, bare)).find("names no carrier jaw"), std::string::npos);
  // Too short for two parts, and vises that open too little.
  EXPECT_NE(why(scene_with(carried, shop_with("\"160 x 50 x 180 mm\"", "\"160 x 50 x 120 mm\""))).find("open"),
            std::string::npos);
  EXPECT_NE(why(scene_with(carried, shop_with("\"470 x 50 x 40 mm\"", "\"250 x 50 x 40 mm\""))).find("shorter"),
            std::string::npos);
}

TEST(Carrier, IsRefusedWhereNoEdgesArePrepared) {
  Kind k;
  const auto step = solid::sample_solid("flange");  // round outside: nothing that a gang squares
  ASSERT_TRUE(step.ok());
  ASSERT_TRUE(kind_from(*step, "flange", k, true).ok());
  const auto usual = routes(k.scene, ordered(k), 1);
  ASSERT_TRUE(usual.front().clashes.empty());
  const Alternative* a = runner_up(usual.front(), "under a carrier jaw");
  ASSERT_NE(a, nullptr);
  EXPECT_TRUE(a->take.empty());
  EXPECT_NE(a->why_not.find("cuts two flat sides"), std::string::npos) << a->why_not;
  k.scene.answers["take.route.clamps"] = "carrier";
  const auto all = routes(k.scene, ordered(k), 1);
  ASSERT_EQ(all.size(), 1U);
  ASSERT_EQ(all.front().clashes.size(), 1U);
  EXPECT_NE(all.front().clashes[0].words.find("cuts two flat sides"), std::string::npos);
}

}  // namespace
}  // namespace fettle::begin
