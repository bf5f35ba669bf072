// Runners-up that are taken by an answer: straps for vises, another tool for a cut; and that every one says its answer.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <set>
#include <string>

#include "begin/propose/demo_for_tests.h"
#include "begin/propose/facts.h"
#include "begin/propose/kinds_for_tests.h"
#include "begin/propose/questions.h"
#include "begin/propose/route.h"

namespace fettle::begin {
namespace {

const Kind& flange() { return sample_kind("flange"); }
Scene scene_with(const Kind& k, const Answers& more) {
  Scene s = k.scene;
  for (const auto& [id, value] : more) s.answers[id] = value;
  return s;
}
std::size_t clamped_by(const Draft& d, const std::string& kind) {
  std::size_t n = 0;
  for (const plan::Operation& o : d.plan.operations)
    n += static_cast<std::size_t>(
        std::count_if(o.clamps.begin(), o.clamps.end(), [&](const plan::Clamp& c) { return c.kind.value == kind; }));
  return n;
}
/// An answers file with this one line gives this answer back.
testing::AssertionResult is_read(const std::string& id, const std::string& value, const plan::Plan& read) {
  const auto a = read_answers(fmt::format("[take]\n\"{}\" = \"{}\"\n", id.substr(5), value), "a",
                              questions(read, read.shop), read);
  if (!a.ok()) return testing::AssertionFailure() << id << " = " << value << ": " << say(a.problem());
  const auto it = a->find(id);
  if (it == a->end() || it->second != value) return testing::AssertionFailure() << id << " = " << value << " got lost";
  return testing::AssertionSuccess();
}
plan::Plan read_with_shop() {
  plan::Plan out = demo::read();
  out.shop = demo::scene_of().shop;
  return out;
}
bool offers(const Draft& d, const std::string& take) {
  return std::any_of(d.choices.begin(), d.choices.end(), [&](const Choice& c) {
    return std::any_of(c.others.begin(), c.others.end(), [&](const Alternative& a) { return a.take == take; });
  });
}

/// Every vise that is left says why nothing else holds there.
std::size_t vises_that_say_why(const Draft& d) {
  std::size_t said = 0;
  for (const plan::Operation& o : d.plan.operations) {
    if (o.kind.value != "vise") continue;
    EXPECT_TRUE(std::any_of(d.choices.begin(), d.choices.end(), [&](const Choice& c) {
      return c.about == "operation." + o.id.value && c.why.find("; straps were asked for") != std::string::npos;
    })) << o.id.value;
    ++said;
  }
  return said;
}

TEST(TakeStraps, StandWhereAViseWouldAndSayTheWayBack) {
  const Draft d = ordered(flange());
  const auto vises = routes(flange().scene, d, 1);
  ASSERT_EQ(vises.size(), 1U);
  ASSERT_TRUE(vises.front().clashes.empty());
  EXPECT_GT(clamped_by(vises.front(), "vise"), 0U);
  EXPECT_TRUE(offers(vises.front(), "take.route.clamps=straps"));
  const auto straps = routes(scene_with(flange(), {{"take.route.clamps", "straps"}}), d, 1);
  ASSERT_EQ(straps.size(), 1U);
  ASSERT_TRUE(straps.front().clashes.empty()) << straps.front().clashes.front().words;
  EXPECT_GT(clamped_by(straps.front(), "strap"), 0U);
  EXPECT_GT(vises_that_say_why(straps.front()), 0U);
  for (const Choice& c : vises.front().choices) EXPECT_EQ(c.why.find("; straps were asked for"), std::string::npos);
  EXPECT_TRUE(offers(straps.front(), "take.route.clamps=as reckoned"));
}

TEST(TakeStraps, TakeThePlaceOfVisesWhereThereIsRoom) {
  // The box has flats beside what is cut; the bar's and the flange's are cut whole, so that their vises stay.
  for (const auto& [which, room] : {std::pair{"box", true}, {"bar", false}, {"flange", false}}) {
    const Kind& k = sample_kind(which);
    const Draft d = ordered(k);
    const auto vises = routes(k.scene, d, 1), straps = routes(scene_with(k, {{"take.route.clamps", "straps"}}), d, 1);
    const std::size_t before = clamped_by(vises.front(), "vise"), after = clamped_by(straps.front(), "vise");
    const std::string names = vises.front().name + " / " + straps.front().name;
    if (room) {
      EXPECT_LT(after, before) << which << ": " << names;
    } else {
      EXPECT_EQ(after, before) << which << ": " << names;
    }
    EXPECT_EQ(vises_that_say_why(straps.front()), after) << which;
  }
}

TEST(TakeStraps, AViseStaysWhereNothingElseHolds) {
  Kind k = flange();
  k.scene.part = &k.model, k.scene.sight = nullptr;  // nobody looked what is reached from where: no strap has a place
  const auto all = routes(scene_with(k, {{"take.route.clamps", "straps"}}), ordered(k), 1);
  ASSERT_EQ(all.size(), 1U);
  ASSERT_TRUE(all.front().clashes.empty());
  EXPECT_GT(clamped_by(all.front(), "vise"), 0U);
  EXPECT_EQ(clamped_by(all.front(), "strap"), 0U);
}

// ---- another tool for a cut
// ------------------------------------------------------------------------------------------

/// The demo's first draft down to its cuts.
Draft demo_draft(const Answers& more, const std::string& tools = "") {
  Scene s = demo::scene_of(demo::shop() + tools);
  for (const auto& [id, value] : more) s.answers[id] = value;
  Draft d;
  d.plan = demo::read();
  d.plan.shop = s.shop;
  plan::Text& shop = d.plan.header.shop;
  shop.value = shop.typed = s.shop_path, shop.origin = plan::Origin::given;
  apply_answers(s.answers, d.plan);
  order_casting(s, d);
  Draft out = pallets(s, seats(s, routes(s, d, 1).front(), 1).front(), 1).front();
  cuts(s, out);
  return out;
}
/// Every answer that a runner-up of this draft names and that asks for a tool: its id and value.
std::vector<std::pair<std::string, std::string>> tools_offered(const Draft& d) {
  std::vector<std::pair<std::string, std::string>> out;
  for (const Choice& c : d.choices)
    for (const Alternative& a : c.others)
      if (a.take.rfind(cut_takes, 0) == 0)
        out.emplace_back(a.take.substr(0, a.take.find('=')), a.take.substr(a.take.find('=') + 1));
  return out;
}
/// The tool that makes this cut; empty: nobody makes it.
std::string tool_of(const Draft& d, const std::string& id) {
  for (const plan::Operation& o : d.plan.operations)
    for (const plan::Cut& c : o.cuts)
      if (!c.features.value.empty() && cut_take(c.features.value.front(), cut_word(c.kind.value)) == id)
        return c.tool.value;
  return "";
}

TEST(TakeTools, EachRunnerUpOfTheDemoIsTakenAndSaysTheWayBack) {
  const Draft before = demo_draft({});
  ASSERT_TRUE(before.clashes.empty());
  const auto offered = tools_offered(before);
  ASSERT_GE(offered.size(), 4U);
  for (const auto& [id, value] : offered) {
    EXPECT_TRUE(is_read(id, value, read_with_shop()));
    EXPECT_NE(tool_of(before, id), value) << id;
    const Draft now = demo_draft({{id, value}});
    ASSERT_TRUE(now.clashes.empty()) << id << ": " << now.clashes.front().words;
    EXPECT_EQ(tool_of(now, id), value) << id;
    EXPECT_TRUE(offers(now, id + "=as reckoned")) << id;
    const Draft back = demo_draft({{id, "as reckoned"}});
    EXPECT_EQ(tool_of(back, id), tool_of(before, id)) << id;
  }
}

TEST(TakeTools, AToolThatCannotIsSaidWithThoseThatCan) {
  const std::string id = cut_take("H4", "drill");
  const auto drill = tool_of(demo_draft({}), id);
  ASSERT_FALSE(drill.empty());
  const Draft other = demo_draft({{id, "T13"}});  // an end mill
  ASSERT_EQ(other.clashes.size(), 1U);
  EXPECT_NE(other.clashes[0].words.find("T13 (end mill 20) is no drill"), std::string::npos) << other.clashes[0].words;
  EXPECT_NE(other.clashes[0].words.find(drill), std::string::npos) << other.clashes[0].words;
  const Draft wide = demo_draft({{id, "T2"}});  // a drill of 20.5 mm
  ASSERT_EQ(wide.clashes.size(), 1U);
  EXPECT_NE(wide.clashes[0].words.find("does not fit H4"), std::string::npos) << wide.clashes[0].words;
  const Draft none = demo_draft({{cut_take("H4", "groove"), "T15"}});
  ASSERT_EQ(none.clashes.size(), 1U);
  EXPECT_NE(none.clashes[0].words.find("cut.H4.drill"), std::string::npos) << none.clashes[0].words;
}

TEST(TakeTools, AThreadIsMilledWhereThatIsAskedForAndItsTimeIsThatOfAMill) {
  const std::string mill =
      "\n[[tool]]\nid = \"T70\"\nname = \"thread mill M8\"\nkind = \"thread mill\"\ndiameter = \"6 mm\"\nteeth = 3\n"
      "material = \"carbide\"\nstick_out = \"60 mm\"\nholder = \"30 mm\"\nprice = \"70 EUR\"\n";
  const Draft tapped = demo_draft({{"threads", "H4 M8-6H 16 mm"}}, mill);
  std::string id;
  for (const auto& [take, value] : tools_offered(tapped))
    if (value == "T70") id = take;
  ASSERT_FALSE(id.empty());
  const Draft now = demo_draft({{"threads", "H4 M8-6H 16 mm"}, {id, "T70"}}, mill);
  ASSERT_TRUE(now.clashes.empty()) << now.clashes.front().words;
  for (const plan::Operation& o : now.plan.operations)
    for (const plan::Cut& c : o.cuts)
      if (c.tool.value == "T70") {
        const plan::Tool& t = *plan::find_tool(now.plan, "T70");
        // What a tooth takes at the wall, and the way of the cutter's middle, which is slower by the circles.
        const double tooth = c.feed.si / (c.speed.si / (2 * 3.14159265358979323846) * t.teeth.value);
        EXPECT_GT(tooth, 0.01e-3);
        EXPECT_LT(tooth, 0.1e-3);
        EXPECT_GT(c.time.si, c.length.si / c.feed.si * 2);
      }
}

TEST(TakeTools, BadWordsAreSaidWithTheirPlaceAndTheNearest) {
  plan::Plan read = demo::read();
  read.shop = demo::scene_of().shop;
  const auto asked = questions(read, read.shop);
  const auto a =
      read_answers("[take]\ncut.H44.drill = \"T4\"\ncut.H4.dril = \"T4\"\n\"cut.H4.tap\" = \"T77\"\ncut.H4 = \"T4\"\n",
                   "a.toml", asked, read);
  ASSERT_FALSE(a.ok());  // the last line gives a table a text: the reader's own problem or ours, with its line
  const auto b = read_answers(
      "[take]\ncut.H44.drill = \"T4\"\ncut.H4.dril = \"T4\"\n\"cut.H4.tap\" = \"T77\"\n\"cut.H4\" = \"T4\"\n", "a.toml",
      asked, read);
  ASSERT_FALSE(b.ok());
  ASSERT_EQ(b.problems().size(), 4U);
  const std::vector<std::string> nearest = {"H4", "drill", "T7", ""};
  for (std::size_t i = 0; i < 4; ++i) {
    EXPECT_EQ(b.problems()[i].where.line, static_cast<int>(i) + 2) << say(b.problems()[i]);
    if (!nearest[i].empty()) {
      EXPECT_EQ(b.problems()[i].nearest, nearest[i]) << say(b.problems()[i]);
    }
  }
  const auto good = read_answers("[take]\ncut.H4.drill = \"T6\"\n\"cut.H4.tap\" = \"as reckoned\"\n", "a", asked, read);
  ASSERT_TRUE(good.ok()) << say(good.problem());
  EXPECT_EQ(good.value(), (Answers{{"take.cut.H4.drill", "T6"}, {"take.cut.H4.tap", "as reckoned"}}));
}

// ---- edges
// ------------------------------------------------------------------------------------------------------------

TEST(Edges, EveryHoleIsCountersunkBeforeItsThreadAndNoChamferMakesASize) {
  const Draft d = demo_draft({{"threads", "H4 M8-6H 16 mm, H5 M6-6H 12 mm"}});
  int taps = 0;
  for (const plan::Operation& o : d.plan.operations) {
    std::set<std::string> sunk;
    for (const plan::Cut& c : o.cuts) {
      if (c.kind.value == "chamfer") sunk.insert(c.features.value.begin(), c.features.value.end());
      if (c.kind.value != "tap") continue;
      ++taps;
      EXPECT_TRUE(sunk.contains(c.features.value.front())) << c.features.value.front() << " in " << o.id.value;
    }
    for (const std::string& m : o.makes.value)
      if (const plan::Feature* f = plan::find_feature(d.plan, m); f != nullptr && hole_like(*f) && !o.cuts.empty()) {
        EXPECT_TRUE(sunk.contains(m)) << m << " keeps a sharp edge in " << o.id.value;
      }
  }
  EXPECT_EQ(taps, 2);
}

// ---- every runner-up
// -------------------------------------------------------------------------------------------------

TEST(Takes, EveryRunnerUpNamesItsAnswerOrWhyThereIsNone) {
  std::vector<Draft> all{demo_draft({}),
                         demo_draft({{"take.casting.cores", "solid"}, {"take.casting.grade", "finer"}})};
  const std::size_t demos = all.size();
  plan::Plan round = flange().plan;
  round.shop = flange().scene.shop;
  const Draft d = ordered(flange());
  for (const Draft& r : routes(flange().scene, d, 3))
    for (const Draft& s : seats(flange().scene, r, 1))
      for (Draft& p : pallets(flange().scene, s, 1)) {
        cuts(flange().scene, p);
        all.push_back(std::move(p));
      }
  for (std::size_t i = 0; i < all.size(); ++i)
    for (const Choice& c : all[i].choices)
      for (const Alternative& a : c.others) {
        EXPECT_NE(a.take.empty(), a.no_answer.empty()) << c.about << ": " << a.words;
        if (a.take.empty()) continue;
        const std::size_t is = a.take.find('=');
        EXPECT_TRUE(is_read(a.take.substr(0, is), a.take.substr(is + 1), i < demos ? read_with_shop() : round));
      }
  EXPECT_FALSE(is_read("take.cut.H4.drill", "T999", read_with_shop()));
  EXPECT_FALSE(is_read("take.gauge.H1b", "no such gauge", read_with_shop()));
}

TEST(Takes, CastingsAreOrderedAsAsked) {
  const Draft usual = demo_draft({}), solid = demo_draft({{"take.casting.cores", "solid"}}),
              finer = demo_draft({{"take.casting.grade", "finer"}}), bare = demo_draft({{"take.route.hone", "none"}});
  const auto cored = [](const Draft& d) {
    return std::count_if(d.plan.features.begin(), d.plan.features.end(),
                         [](const plan::Feature& f) { return f.cast.value == "cored"; });
  };
  const auto hones = [](const Draft& d) {
    return std::count_if(d.plan.operations.begin(), d.plan.operations.end(),
                         [](const plan::Operation& o) { return o.kind.value == "hone"; });
  };
  EXPECT_GT(cored(usual), 0);
  EXPECT_EQ(cored(solid), 0);
  EXPECT_TRUE(offers(usual, "take.casting.cores=solid") && offers(solid, "take.casting.cores=as reckoned"));
  EXPECT_EQ(finer.plan.casting.tolerance_grade.value, usual.plan.casting.tolerance_grade.value - 1);
  EXPECT_TRUE(offers(usual, "take.casting.grade=finer") && offers(finer, "take.casting.grade=as reckoned"));
  EXPECT_EQ(hones(usual), 1);
  EXPECT_EQ(hones(bare), 0);
  EXPECT_TRUE(offers(usual, "take.route.hone=none") && offers(bare, "take.route.hone=as reckoned"));
}

}  // namespace
}  // namespace fettle::begin
