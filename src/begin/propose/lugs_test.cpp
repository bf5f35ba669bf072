// Lugs cast on for the pallet's screws: taken by an answer, by themselves, or refused with the reason.
#include "begin/propose/lugs.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "begin/features.h"
#include "begin/propose/facts.h"
#include "begin/propose/kinds_for_tests.h"
#include "begin/propose/nest_fit.h"
#include "begin/propose/raw_mass.h"
#include "begin/propose/route.h"
#include "ref/materials.h"

namespace fettle::begin {
namespace {

/// A flange whose rim stays as cast while its hub is cut round on the pallet: Ø120, 18 mm high, hub Ø64 above that.
const Kind& flange() {
  static const Kind k = [] {
    Kind out = sample_kind("flange");  // its scene looks at the sample's own model
    out.scene.answers["cast_faces"] = "top, bottom, P1, B2";
    return out;
  }();
  return k;
}
const Kind& bar() { return sample_kind("bar"); }
Kind with(const Kind& k, const Answers& more) {
  Kind out = k;
  out.scene.part = &k.model;
  for (const auto& [id, value] : more) out.scene.answers[id] = value;
  return out;
}
const Answers lugs_wanted{{"take.seat.screws", "lugs"}};

/// The first route, as far as its pallet.
Draft on_pallet(const Kind& k) {
  Draft route = routes(k.scene, ordered(k), 3).front();
  if (!route.clashes.empty()) return route;
  Draft seat = seats(k.scene, route, 1).front();
  if (!seat.clashes.empty()) return seat;
  return pallets(k.scene, seat, 1).front();
}
bool offers(const Draft& d, const std::string& take) {
  return std::any_of(d.choices.begin(), d.choices.end(), [&](const Choice& c) {
    return std::any_of(c.others.begin(), c.others.end(), [&](const Alternative& a) { return a.take == take; });
  });
}
const Choice* choice(const Draft& d, const std::string& about) {
  for (const Choice& c : d.choices)
    if (c.about == about) return &c;
  return nullptr;
}
std::size_t operation_at(const plan::Plan& p, const std::string& id) {
  const auto it =
      std::find_if(p.operations.begin(), p.operations.end(), [&](const auto& o) { return o.id.value == id; });
  return static_cast<std::size_t>(it - p.operations.begin());
}
std::size_t made_in(const plan::Plan& p, const std::string& feature) {
  for (std::size_t i = 0; i < p.operations.size(); ++i) {
    const auto& m = p.operations[i].makes.value;
    if (std::find(m.begin(), m.end(), feature) != m.end()) return i;
  }
  return p.operations.size();
}
/// What a lug adds to the flange seen from above, m2, by squares of a tenth of a millimetre: in its outline and beyond
/// the rim.
double counted(const Lug& l, double rim) {
  constexpr double step = 1e-4;
  const maths::Polygon p = outline_of(l);
  double area = 0;
  for (double x = l.at.x - 0.05; x < l.at.x + 0.05; x += step)
    for (double y = l.at.y - 0.05; y < l.at.y + 0.05; y += step)
      if (std::hypot(x, y) > rim && inside(p, {x, y}, 0)) area += step * step;
  return area;
}

TEST(Lugs, AreOfferedWhereTheOutsideStaysAsCastAndTakenByTheirAnswer) {
  const Draft own = on_pallet(flange());
  ASSERT_TRUE(own.clashes.empty()) << own.clashes.front().words;
  EXPECT_TRUE(own.lugs.empty());
  EXPECT_TRUE(offers(own, "take.seat.screws=lugs"));
  const Kind k = with(flange(), lugs_wanted);
  Draft d = on_pallet(k);
  ASSERT_TRUE(d.clashes.empty()) << d.clashes.front().words;
  ASSERT_EQ(d.lugs.size(), 2U);
  ASSERT_EQ(d.plan.pallet.screws.size(), 1U);
  EXPECT_EQ(d.plan.pallet.screws[0].through.value, lug_holes);
  EXPECT_TRUE(offers(d, "take.seat.screws=as reckoned"));
  const Choice* c = choice(d, std::string("feature.") + lug_holes);
  ASSERT_NE(c, nullptr);
  EXPECT_EQ(c->asked_by, "answer");
  EXPECT_GE(c->others.size(), 2U);
  // The way back says what it was before.
  const Draft back = on_pallet(with(flange(), {{"take.seat.screws", "as reckoned"}}));
  EXPECT_TRUE(back.lugs.empty());
  EXPECT_EQ(plan::write_plan(back.plan), plan::write_plan(own.plan));
  // Every cut of the lugs finds a tool, and the plan's own reader takes it.
  cuts(k.scene, d);
  ASSERT_TRUE(d.clashes.empty()) << d.clashes.front().words;
  const auto again = plan::read_plan(plan::write_plan(d.plan), "again",
                                     [&](const std::string&) -> Outcome<std::string> { return k.scene.shop_text; });
  ASSERT_TRUE(again.ok()) << say(again.problem());
  for (const char* id : {"L1", "L2", lug_holes}) {
    const plan::Operation& o = d.plan.operations[made_in(d.plan, id)];
    EXPECT_TRUE(std::any_of(o.cuts.begin(), o.cuts.end(), [&](const plan::Cut& x) {
      return std::find(x.features.value.begin(), x.features.value.end(), id) != x.features.value.end();
    })) << id;
  }
}

TEST(Lugs, StandOppositeEachOtherClearOfJawsAndStopsAndGoWhenThePalletLetsGo) {
  const Draft d = on_pallet(with(flange(), lugs_wanted));
  ASSERT_EQ(d.lugs.size(), 2U);
  const Lug &a = d.lugs[0], &b = d.lugs[1];
  EXPECT_NEAR(std::hypot(a.at.x + b.at.x, a.at.y + b.at.y), 0, 1e-9);  // the flange's middle is the origin
  EXPECT_LT(a.high, 18e-3);                                            // below the rim's finished top
  for (const plan::Operation& o : d.plan.operations) {
    if (o.id.value == d.pallet_operation) break;
    const auto clear = [&](const std::vector<frame::Vec3>& at) {
      for (const frame::Vec3& p : at)
        for (const Lug& l : d.lugs) EXPECT_FALSE(inside(grown(outline_of(l), 5e-3), {p.x, p.y}, 0)) << o.id.value;
    };
    for (const plan::Locator& x : o.locators)
      if (x.kind.value != "rest") clear(x.at.value);
    for (const plan::Clamp& x : o.clamps) clear(x.at.value);
  }
  const std::size_t pallet = operation_at(d.plan, d.pallet_operation);
  EXPECT_LT(made_in(d.plan, lug_holes), pallet);
  EXPECT_LT(made_in(d.plan, "L1"), pallet);
  EXPECT_EQ(made_in(d.plan, "L1"), made_in(d.plan, "bottom"));
  ASSERT_LT(pallet + 1, d.plan.operations.size());
  EXPECT_NE(d.plan.operations[pallet + 1].name.value.find("saw the lugs off"), std::string::npos);
  EXPECT_TRUE(d.plan.operations[pallet + 1].time.known());
  EXPECT_NE(d.plan.casting.note.value.find("two lugs cast on"), std::string::npos);
  EXPECT_TRUE(std::any_of(d.disagree.begin(), d.disagree.end(), [](const std::string& s) {
    return s.find("open, and no finding judges it") != std::string::npos;
  }));
  // Two pads under each lug, beside its hole and on its metal.
  for (const Lug& l : d.lugs) {
    int under = 0;
    for (const plan::Pad& p : d.plan.pallet.pads)
      for (const frame::Vec3& at : p.at.value) {
        const double far = std::hypot(at.x - l.at.x, at.y - l.at.y);
        if (!inside(outline_of(l), {at.x, at.y}, 0.5 * p.diameter.si)) continue;
        ++under;
        EXPECT_GT(far, 5.5e-3 + 0.5 * p.diameter.si);  // M10 goes through 11 mm (ISO 273, medium)
      }
    EXPECT_EQ(under, 2);
  }
}

TEST(Lugs, TheCastingGrowsByTheirMetal) {
  const Kind k = with(flange(), lugs_wanted);
  const Draft d = on_pallet(k);
  ASSERT_EQ(d.lugs.size(), 2U);
  double lugs = 0;
  for (const Lug& l : d.lugs) lugs += counted(l, 60e-3) * (l.high + l.stock);
  EXPECT_NEAR(volume_of(d.lugs[0]) + volume_of(d.lugs[1]), lugs, 0.01 * lugs);
  EXPECT_GT(d.lugs[0].stock, 1e-3);
  const auto iron = ref::material("EN-GJL-250");
  ASSERT_TRUE(iron.ok());
  // The mass as it is written, to ten grams, less what the sizes say without the lugs.
  const double without = iron->density.value * raw_metal(k.scene, d.plan).volume;
  EXPECT_NEAR(d.plan.casting.mass.si - without, iron->density.value * lugs, 0.006 + 0.01 * iron->density.value * lugs);
  // Seats of lugs are cut: the plan says how much metal stands there.
  int sizes = 0;
  for (const plan::CastSize& s : d.plan.casting.sizes) {
    if (s.feature.value != "L1" && s.feature.value != "L2") continue;
    ++sizes;
    EXPECT_NEAR(s.raw.si, d.lugs[0].high + d.lugs[0].stock, 1e-6);
  }
  EXPECT_EQ(sizes, 2);
}

TEST(Lugs, NeighboursKeepClearOfThem) {
  const Draft d = on_pallet(with(flange(), lugs_wanted));
  ASSERT_TRUE(d.clashes.empty());
  ASSERT_EQ(d.lugs.size(), 2U);
  std::vector<Pieces> stand;
  for (const plan::Nest& n : d.plan.pallet.nests)
    for (const frame::Vec3& at : n.at.value) {
      Pieces one = pieces_from_above(flange().model);
      for (const Lug& l : d.lugs) one.push_back(outline_of(l));
      stand.push_back(moved(turned(one, n.turn.known() ? n.turn.si : 0), {at.x, at.y}));
    }
  ASSERT_GT(stand.size(), 1U);
  for (std::size_t i = 0; i < stand.size(); ++i)
    for (std::size_t j = 0; j < i; ++j)
      for (const maths::Polygon& p : stand[i])
        for (const maths::Polygon& q : stand[j])
          for (const maths::Point2 c : p) EXPECT_FALSE(inside(grown(q, 2.9e-3), c, 0)) << i << " " << j;
}

TEST(Lugs, ComeByThemselvesWhereNoHoleCarriesAScrew) {
  // The pins are named, in the only holes that would carry screws, and holes made are not wanted then.
  const Kind k = with(flange(), {{"pin_holes", "H2@1, H2@6"}});
  const auto all = routes(k.scene, ordered(k), 1);
  ASSERT_FALSE(all.empty());
  const Draft& d = all.front();
  ASSERT_TRUE(d.clashes.empty()) << d.clashes.front().words;
  EXPECT_EQ(d.lugs.size(), 2U);
  const Choice* c = choice(d, std::string("feature.") + lug_holes);
  ASSERT_NE(c, nullptr);
  EXPECT_EQ(c->asked_by, "common practice");
  EXPECT_FALSE(offers(d, "take.seat.screws=as reckoned"));  // there is nothing to go back to
}

TEST(Lugs, AreRefusedWithOneReasonWhereTheOutsideIsCutOnThePallet) {
  const Draft own = on_pallet(bar());
  ASSERT_TRUE(own.clashes.empty()) << own.clashes.front().words;
  EXPECT_FALSE(offers(own, "take.seat.screws=lugs"));
  int named = 0;
  for (const Choice& c : own.choices)
    for (const Alternative& a : c.others)
      if (a.lugs) {
        ++named;
        EXPECT_EQ(a.words, lug_words);
        EXPECT_NE(a.no_answer.find("outside is cut all round in"), std::string::npos) << a.no_answer;
      }
  EXPECT_GT(named, 0);
  const Kind k = with(bar(), lugs_wanted);
  const auto all = routes(k.scene, ordered(k), 3);
  ASSERT_EQ(all.size(), 1U);
  ASSERT_EQ(all.front().clashes.size(), 1U);
  EXPECT_NE(all.front().clashes[0].words.find("no lugs: outside is cut all round in"), std::string::npos)
      << all.front().clashes[0].words;
  EXPECT_TRUE(all.front().lugs.empty());
}

TEST(Lugs, AreRefusedWhereNobodyLookedHowHighTheSidesStand) {
  Kind k;
  const auto step = solid::sample_solid("bar");
  ASSERT_TRUE(step.ok());
  ASSERT_TRUE(kind_from(*step, "bar", k).ok());  // without a mesh: the box's height is no wall
  Draft d = routes(k.scene, ordered(k), 1).front();
  ASSERT_TRUE(d.clashes.empty()) << d.clashes.front().words;
  for (plan::Feature& f : d.plan.features)
    if (f.id.value == "outside") f.cast = {};
  const LugPlaces p = lug_places(k.scene, d);
  EXPECT_TRUE(p.lugs.empty());
  EXPECT_NE(p.no.find("the model has no mesh"), std::string::npos) << p.no;
}

TEST(Lugs, StrapsOverTheRimAreInTheWayOnlyWhereTheOutsideIsCut) {
  const auto named = [](const Draft& d) {
    return std::any_of(d.choices.begin(), d.choices.end(), [](const Choice& c) {
      return std::any_of(c.others.begin(), c.others.end(),
                         [](const Alternative& a) { return a.words == "straps over the rim"; });
    });
  };
  const Draft cut = on_pallet(bar()), cast = on_pallet(flange());
  ASSERT_TRUE(cut.clashes.empty() && cast.clashes.empty());
  ASSERT_NE(choice(cast, "pallet.screw"), nullptr);
  EXPECT_TRUE(named(cut));
  EXPECT_FALSE(named(cast));
}

TEST(Lugs, AreRefusedWhereAStopOrAJawTakesEverySide) {
  Draft d = routes(flange().scene, ordered(flange()), 1).front();
  ASSERT_TRUE(lug_places(flange().scene, d).no.empty()) << lug_places(flange().scene, d).no;
  for (plan::Operation& o : d.plan.operations) {
    if (o.id.value == d.pallet_operation) break;
    plan::Locator stop;
    give(stop.kind, "stop");
    give(stop.on, "B1");
    std::vector<frame::Vec3> round;
    for (int t = 0; t < 360; t += 15)
      round.push_back({60e-3 * std::cos(t * M_PI / 180), 60e-3 * std::sin(t * M_PI / 180), 9e-3});
    give(stop.at, round, false);
    o.locators.push_back(std::move(stop));
  }
  const LugPlaces p = lug_places(flange().scene, d);
  EXPECT_TRUE(p.lugs.empty());
  EXPECT_NE(p.no.find("where one would stand"), std::string::npos) << p.no;
}

}  // namespace
}  // namespace fettle::begin
