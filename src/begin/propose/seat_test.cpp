// Pins and screws: which holes, which one is relieved, what a person may take instead.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "begin/propose/facts.h"
#include "begin/propose/kinds_for_tests.h"
#include "begin/propose/route.h"

namespace fettle::begin {
namespace {

const Kind& demo() {
  static Kind k;
  static const bool there = [] {
    const auto step = solid::demo_part();
    return step.ok() && kind_from(*step, "wvb3", k).ok();
  }();
  EXPECT_TRUE(there);
  return k;
}
Scene scene(const Answers& more = {}) {
  Scene s = demo().scene;
  s.answers["grinding"] = "yes";
  for (const auto& [id, value] : more) s.answers[id] = value;
  return s;
}
Draft seated(const Scene& s) {
  Draft d;
  d.plan = demo().plan;
  d.plan.shop = s.shop;
  apply_answers(s.answers, d.plan);
  order_casting(s, d);
  const auto r = routes(s, d, 3);
  if (r.empty() || !r.front().clashes.empty()) return r.empty() ? Draft{} : r.front();
  return seats(s, r.front(), 1).front();
}
const Choice* choice(const Draft& d, const std::string& about) {
  for (const Choice& c : d.choices)
    if (c.about == about) return &c;
  return nullptr;
}
const Alternative* with_take(const Choice* c, const std::string& take) {
  if (c != nullptr)
    for (const Alternative& a : c->others)
      if (a.take == take) return &a;
  return nullptr;
}
std::string kind_in(const Draft& d, const std::string& kind) {
  for (const plan::Pin& p : d.plan.pallet.pins)
    if (p.kind.value == kind) return p.in.value;
  return "";
}

TEST(PinHoles, ThreadsAndThinWallsCarryNone) {
  const Scene s = scene();
  const Draft d = [&] {
    Draft o;
    o.plan = demo().plan;
    order_casting(s, o);
    return o;
  }();
  std::map<std::string, PinHole> by;
  for (PinHole& h : pin_holes(s, d.plan, 5)) by[h.reference] = std::move(h);
  // Drawing of the demo: H3 Ø8 at (-44, -34) and (44, 34) mm; nearest is the rim, 46 - 34 - 4 = 8 mm away.
  ASSERT_TRUE(by.contains("H3@1") && by.contains("H3@2"));
  EXPECT_EQ(by["H3@1"].no, "");
  EXPECT_TRUE(by["H3@1"].stock);
  EXPECT_NEAR(by["H3@1"].wall, 8e-3, 5e-6);  // the middle of H7 is 7.5 µm wider
  EXPECT_EQ(by["H3@1"].beside, "the outside");
  // H4, tapping drills Ø6.8 at y = 38: 46 - 38 - 3.4 = 4.6 mm of wall.
  ASSERT_TRUE(by.contains("H4@1"));
  EXPECT_NEAR(by["H4@1"].wall, 4.6e-3, 1e-6);
  EXPECT_FALSE(by["H4@1"].stock);
  // The same hole 3 mm from the rim's edge carries none, and says what is beside it.
  plan::Plan near = d.plan;
  for (plan::Feature& f : near.features)
    if (f.id.value == "H3") f.at.value[0].y = -0.039, f.diameter.value = {}, f.diameter.value.nominal = 0.008;
  for (const PinHole& h : pin_holes(s, near, 5)) {
    if (h.reference == "H3@1") {
      EXPECT_NE(h.no.find("3 mm of metal between it and the outside"), std::string::npos) << h.no;
    }
  }
  plan::Plan thread = d.plan;
  for (plan::Feature& f : thread.features)
    if (f.id.value == "H3") f.kind.value = "thread";
  for (const PinHole& h : pin_holes(s, thread, 5)) {
    if (h.reference == "H3@1") {
      EXPECT_EQ(h.no, "a thread never locates");
    }
  }
}

TEST(Seat, TheOtherWayRoundIsTakenByItsAnswer) {
  const Draft d = seated(scene());
  ASSERT_TRUE(d.clashes.empty()) << d.clashes.front().words;
  const Choice* c = choice(d, "pallet.pin");
  ASSERT_NE(c, nullptr);
  EXPECT_NE(c->why.find("relieved along the line from"), std::string::npos);
  EXPECT_NE(c->why.find("111.21 mm"), std::string::npos) << c->why;  // 2 sqrt(44² + 34²) by the demo's drawing
  ASSERT_NE(with_take(c, "take.seat.pins=swapped"), nullptr);
  const Draft e = seated(scene({{"take.seat.pins", "swapped"}}));
  EXPECT_EQ(kind_in(e, "round"), kind_in(d, "relieved"));
  EXPECT_EQ(kind_in(e, "relieved"), kind_in(d, "round"));
  EXPECT_NE(with_take(choice(e, "pallet.pin"), "take.seat.pins=as reckoned"), nullptr);
}

TEST(Seat, ASmallerScrewIsTakenByItsAnswer) {
  const Draft d = seated(scene());
  ASSERT_NE(with_take(choice(d, "pallet.screw"), "take.seat.screws=smaller"), nullptr);
  const Draft e = seated(scene({{"take.seat.screws", "smaller"}}));
  ASSERT_EQ(d.plan.pallet.screws.size(), 1U);
  ASSERT_EQ(e.plan.pallet.screws.size(), 1U);
  EXPECT_LT(e.plan.pallet.screws[0].thread.value.major, d.plan.pallet.screws[0].thread.value.major);
  EXPECT_LT(e.plan.pallet.screws[0].torque.si, d.plan.pallet.screws[0].torque.si);
}

TEST(Seat, EveryRunnerUpThatSaysHowItIsTakenIsKnown) {
  for (const Draft& d : {seated(scene()), seated(scene({{"take.seat.pins", "swapped"}}))})
    for (const Choice& c : d.choices)
      for (const Alternative& a : c.others) {
        if (a.take.empty() || (c.stage != "seat" && c.stage != "route")) continue;
        const std::size_t at = a.take.find('=');
        ASSERT_NE(at, std::string::npos) << a.take;
        EXPECT_TRUE(takes(a.take.substr(0, at), a.take.substr(at + 1))) << a.take;
      }
  EXPECT_FALSE(takes("take.seat.pins", "turned"));
  EXPECT_FALSE(takes("take.seat.pin", "swapped"));
  EXPECT_FALSE(takes("take.route", "0"));
  EXPECT_FALSE(takes("take.seat.holes", "H3@1"));
}

TEST(Route, ARunnerUpIsTakenByItsNumber) {
  const Scene s = scene();
  Draft d;
  d.plan = demo().plan;
  d.plan.shop = s.shop;
  apply_answers(s.answers, d.plan);
  order_casting(s, d);
  const auto all = routes(s, d, 3);
  ASSERT_GE(all.size(), 2U);
  const auto second = routes(scene({{"take.route", "2"}}), d, 3);
  ASSERT_EQ(second.size(), 1U);
  EXPECT_EQ(second.front().name, all[1].name);
  const auto none = routes(scene({{"take.route", "9"}}), d, 3);
  ASSERT_EQ(none.size(), 1U);
  ASSERT_EQ(none.front().clashes.size(), 1U);
  EXPECT_NE(none.front().clashes[0].words.find("routes differ"), std::string::npos);
}

TEST(Route, WhereNoHoleSuitsTwoAreMadeAndTheCustomerIsAsked) {
  // The demo without its reamed holes and without its through holes.
  const Scene s = scene();
  Draft d;
  d.plan = demo().plan;
  d.plan.shop = s.shop;
  apply_answers(s.answers, d.plan);
  auto& f = d.plan.features;
  f.erase(std::remove_if(f.begin(), f.end(),
                         [](const plan::Feature& x) {
                           return x.id.value == "H2" || x.id.value == "H3" || x.id.value == "H4" || x.id.value == "H5";
                         }),
          f.end());
  d.plan.requirements.clear();
  order_casting(s, d);
  const auto all = routes(s, d, 3);
  ASSERT_FALSE(all.empty());
  ASSERT_TRUE(all.front().clashes.empty()) << all.front().clashes.front().words;
  EXPECT_EQ(all.front().pins, (std::vector<std::string>{"N1@1", "N1@2"}));
  EXPECT_EQ(all.front().screws, (std::vector<std::string>{"N2"}));
  EXPECT_TRUE(std::any_of(all.front().disagree.begin(), all.front().disagree.end(),
                          [](const std::string& w) { return w.find("ask the customer") != std::string::npos; }));
  // Nothing is drilled into what is there already: each new hole is clear of every other by its own radius.
  const plan::Plan& p = all.front().plan;
  for (const char* id : {"N1", "N2"})
    for (const auto& a : plan::find_feature(p, id)->at.value)
      for (const plan::Feature& o : p.features)
        if (hole_like(o) && o.id.value != id) {
          for (const auto& b : o.at.value)
            EXPECT_GT(std::hypot(a.x - b.x, a.y - b.y),
                      0.5 * (diameter_of(o) + diameter_of(*plan::find_feature(p, id))) + 2e-3)
                << id << " and " << o.id.value;
        }
}

}  // namespace
}  // namespace fettle::begin
