// Nests: no-fit polygons against separating lines tried one by one, rows against every pair of parts, takes and plates.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <set>

#include "base/text.h"
#include "begin/begin.h"
#include "begin/features.h"
#include "begin/propose/facts.h"
#include "begin/propose/nest_fit.h"
#include "begin/propose/propose.h"
#include "begin/propose/questions.h"
#include "plan/read.h"
#include "solid/build.h"

namespace fettle::begin {
namespace {

using maths::Point2;
using maths::Polygon;

template <class T>
T must(const Outcome<T>& o) {
  if (o.ok()) return o.value();
  ADD_FAILURE() << say(o.problem());
  return T{};
}

/// How deep two convex polygons overlap, by every edge's direction of both: below zero they are apart.
double overlap(const Polygon& a, const Polygon& b, Point2 move) {
  double least = INFINITY;
  for (const Polygon* p : {&a, &b})
    for (std::size_t i = 0; i < p->size(); ++i) {
      const Point2 s = (*p)[i], e = (*p)[(i + 1) % p->size()];
      const double l = std::hypot(e.x - s.x, e.y - s.y), nx = (e.y - s.y) / l, ny = (s.x - e.x) / l;
      double a_hi = -INFINITY, a_lo = INFINITY, b_hi = -INFINITY, b_lo = INFINITY;
      for (const Point2 q : a) a_hi = std::max(a_hi, nx * q.x + ny * q.y), a_lo = std::min(a_lo, nx * q.x + ny * q.y);
      for (const Point2 q : b) {
        const double at = nx * (q.x + move.x) + ny * (q.y + move.y);
        b_hi = std::max(b_hi, at), b_lo = std::min(b_lo, at);
      }
      least = std::min({least, a_hi - b_lo, b_hi - a_lo});
    }
  return least;
}

Polygon blob(std::mt19937_64& draw, int corners) {
  std::vector<Point2> all;
  const auto one = [&] { return static_cast<double>(draw() >> 11) * 0x1p-53; };
  for (int i = 0; i < corners; ++i) all.push_back({0.1 * one() - 0.03, 0.06 * one() - 0.04});
  return maths::convex_hull(all);
}

TEST(NestFit, NoFitPolygonSaysWhatSeparatingLinesSay) {
  std::mt19937_64 draw(7);
  int in = 0, out = 0;
  for (int round = 0; round < 60; ++round) {
    const Polygon a = blob(draw, 9), b = blob(draw, 7);
    ASSERT_GE(a.size(), 3U);
    const Polygon no = no_fit(a, b);
    for (int i = 0; i < 200; ++i) {
      const Point2 at{0.3 * static_cast<double>(draw() >> 11) * 0x1p-53 - 0.15,
                      0.3 * static_cast<double>(draw() >> 11) * 0x1p-53 - 0.15};
      const double deep = overlap(a, b, at);
      if (std::fabs(deep) < 1e-9) continue;
      EXPECT_EQ(inside(no, at, 0), deep > 0) << round << ": " << at.x << " " << at.y;
      ++(deep > 0 ? in : out);
    }
  }
  EXPECT_GT(in, 1000);
  EXPECT_GT(out, 1000);
}

TEST(NestFit, TheSumOfTwoRectanglesIsARectangle) {
  const Polygon a{{-1, -2}, {1, -2}, {1, 2}, {-1, 2}}, b{{0, 0}, {3, 0}, {3, 1}, {0, 1}};
  EXPECT_NEAR(maths::area(no_fit(a, b)), 5.0 * 5.0, 1e-12);  // sides add: 2 + 3 by 4 + 1
}

TEST(NestFit, GrownHoldsEverythingWithinAndLittleMore) {
  const Polygon a{{0, 0}, {0.1, 0}, {0.04, 0.05}}, g = grown(a, 0.02);
  const double circumference = 0.1 + std::hypot(0.06, 0.05) + std::hypot(0.04, 0.05);
  const double exact = maths::area(a) + 0.02 * circumference + std::numbers::pi * 0.02 * 0.02;  // Steiner's formula
  EXPECT_GE(maths::area(g), exact);
  EXPECT_LE(maths::area(g), 1.01 * exact);
  for (const Point2 q : a)
    for (int k = 0; k < 720; ++k)
      EXPECT_TRUE(maths::contains(
          g, {q.x + 0.02 * std::cos(k * std::numbers::pi / 360), q.y + 0.02 * std::sin(k * std::numbers::pi / 360)},
          1e-12));
}

TEST(NestFit, RowsKeepEveryPairApartAndOneStepLessDoesNot) {
  std::mt19937_64 draw(11);
  for (int round = 0; round < 40; ++round)
    for (const bool staggered : {false, true}) {
      const Polygon way = grown(blob(draw, 8), 0.01), raw = blob(draw, 8);
      const Rows r = closest_rows(no_fit(way, raw), 1e-3, staggered);
      const auto worst = [&](double along, double across) {
        double deep = -INFINITY;
        const double shift = staggered ? 0.5 * along : 0;
        for (int j = -6; j <= 6; ++j)
          for (int i = -12; i <= 12; ++i) {
            if (i == 0 && j == 0) continue;
            for (const double s : {shift, -shift})
              deep = std::max(deep, overlap(way, raw, {i * along + (j % 2 != 0 ? s : 0), j * across}));
          }
        return deep;
      };
      EXPECT_LE(worst(r.along, r.across), 1e-8) << round;
      EXPECT_GT(worst(r.along, r.across - 1e-3), 0) << round;
    }
}

TEST(NestFit, RoundPartsStandCloserWhenStaggered) {
  Polygon disc;
  for (int k = 0; k < 360; ++k)
    disc.push_back({0.05 * std::cos(k * std::numbers::pi / 180), 0.05 * std::sin(k * std::numbers::pi / 180)});
  const Rows straight = closest_rows(no_fit(disc, disc), 1e-3, false), r = closest_rows(no_fit(disc, disc), 1e-3, true);
  EXPECT_NEAR(straight.across, 0.1, 1e-9);
  EXPECT_NEAR(r.across, 0.1 * std::sqrt(0.75), 1.01e-3);  // closest packing of circles, to a whole millimetre
}

// ---- on the demo part ---------------------------------------------------------------------------------------------

const solid::Model& part() {
  static const solid::Model m = must(solid::read_step_text(must(solid::demo_part()), "part"));
  return m;
}
Scene scene() {
  Scene s;
  s.part = &part();
  s.shop_path = "shop.toml";
  s.shop_text = must(base::read_file(std::string(FETTLE_SOURCE_DIR) + "/plans/demo/shop.toml"));
  s.shop = must(plan::read_plan("fettle = 1\n[plan]\nname = \"x\"\nshop = \"shop.toml\"\n", "x",
                                [&](const std::string&) -> Outcome<std::string> { return s.shop_text; }))
               .shop;
  s.answers = {{"material", "EN-GJL-250"}, {"per_week", "240"}, {"machine", "B"}, {"grinding", "yes"}};
  return s;
}
const Draft& seat() {
  static const Draft d = [] {
    Options o;
    o.name = "wvb3", o.model = "wvb3.step";
    const auto b = begin(part(), must(read_drawing(must(solid::demo_part()), "part", "")), nullptr, "", o);
    const Scene s = scene();
    Draft first;
    first.plan = must(plan::read_plan(plan::write_plan(must(b).plan), "first",
                                      [](const std::string& p) -> Outcome<std::string> { return bad("not here", p); }));
    first.plan.shop = s.shop;
    apply_answers(s.answers, first.plan);
    order_casting(s, first);
    return seats(s, routes(s, first, 1).front(), 1).front();
  }();
  return d;
}
const Choice& choice(const Draft& d, const std::string& about) {
  static const Choice none;
  for (const Choice& c : d.choices)
    if (c.about == about) return c;
  ADD_FAILURE() << "no choice " << about;
  return none;
}

TEST(Pallets, EveryPlanStandsInsidePlateAndTravelsAndIsTheSameAgain) {
  const Scene s = scene();
  const auto one = pallets(s, seat(), 6), two = pallets(s, seat(), 6);
  ASSERT_GE(one.size(), 3U);
  ASSERT_EQ(one.size(), two.size());
  double raw_x = 0, raw_y = 0;
  for (const plan::CastSize& c : seat().plan.casting.sizes) {
    if (c.id.value == "length") raw_x = c.raw.si;
    if (c.id.value == "width") raw_y = c.raw.si;
  }
  ASSERT_GT(raw_x, 0.132);
  for (std::size_t k = 0; k < one.size(); ++k) {
    const plan::Pallet& p = one[k].plan.pallet;
    EXPECT_EQ(plan::write_plan(one[k].plan), plan::write_plan(two[k].plan));
    const frame::Vec3 middle = 0.5 * (part().box.lo + part().box.hi);
    for (const plan::Nest& n : p.nests) {
      const bool quarter = n.turn.known() && std::fabs(n.turn.si - 0.5 * std::numbers::pi) < 1e-6;
      const frame::Vec3 at = n.at.value.front();
      const double x = at.x + (quarter ? -middle.y : middle.x), y = at.y + (quarter ? middle.x : middle.y);
      EXPECT_LE(std::fabs(x) + 0.5 * (quarter ? raw_y : raw_x) + 0.020, 0.5 * p.plate.size.value[0]);
      EXPECT_LE(std::fabs(y) + 0.5 * (quarter ? raw_x : raw_y) + 0.020, 0.5 * p.plate.size.value[1]);
    }
    for (const plan::Anchor& a : p.anchors)
      for (const frame::Vec3& at : a.at.value) {
        EXPECT_LE(std::fabs(at.x), 0.5 * p.plate.size.value[0] - 0.02);
        EXPECT_LE(std::fabs(at.y), 0.5 * p.plate.size.value[1] - 0.02);
      }
    // Not given, so that the study keeps them as assumptions with band and source; the proposal says so in words.
    plan::Plan named = one[k].plan;
    give(named.header.shop, s.shop_path);
    const plan::Plan back = must(plan::read_plan(
        plan::write_plan(named), "back", [&](const std::string&) -> Outcome<std::string> { return s.shop_text; }));
    ASSERT_FALSE(back.pallet.anchors.empty());
    for (const plan::Number* n : {&back.pallet.anchors[0].stiffness_up, &back.pallet.anchors[0].chip}) {
      EXPECT_FALSE(n->given());
      EXPECT_TRUE(n->banded());
      EXPECT_FALSE(n->source.empty() || n->replaced_by.empty());
    }
    EXPECT_TRUE(std::any_of(one[k].assumed.begin(), one[k].assumed.end(), [](const std::string& a) {
      return base::starts_with(a, "pallet.anchor") && a.find("50 to 300") != std::string::npos;
    }));
  }
}

TEST(Pallets, EveryRunnerUpThatCanBeTakenIsWhatItSays) {
  const Scene s = scene();
  const Draft d = pallets(s, seat(), 1).front();
  int taken = 0;
  for (const Choice& c : d.choices)
    for (const Alternative& a : c.others) {
      if (c.stage != "pallet" || a.take.empty()) continue;
      const std::size_t eq = a.take.find('=');
      ASSERT_NE(eq, std::string::npos) << a.take;
      EXPECT_TRUE(takes(a.take.substr(0, eq), a.take.substr(eq + 1))) << a.take;
      Scene other = s;
      other.answers[a.take.substr(0, eq)] = a.take.substr(eq + 1);
      const Draft got = pallets(other, seat(), 1).front();
      ASSERT_TRUE(got.clashes.empty()) << a.take << ": " << got.clashes.front().words;
      const std::string now = choice(got, c.about).taken;
      EXPECT_EQ(now, c.about == "pallet.plate" ? a.words + " thick" : a.words) << a.take;
      EXPECT_NE(plan::write_plan(got.plan), plan::write_plan(d.plan)) << a.take;
      ++taken;
    }
  EXPECT_GE(taken, 3);
}

TEST(Pallets, WhatCannotBeTakenClashes) {
  Scene s = scene();
  s.answers["take.pallet.nests"] = "36";
  Draft d = pallets(s, seat(), 1).front();
  ASSERT_FALSE(d.clashes.empty());
  EXPECT_NE(std::find(d.clashes[0].wishes.begin(), d.clashes[0].wishes.end(), "36 parts stand on a pallet"),
            d.clashes[0].wishes.end());
  s = scene();
  s.answers["take.pallet.thickness"] = "thicker";
  plan::StockPlate only;
  give(only.material, "EN AW-5083");
  give(only.thickness, unit::Kind::length, "25 mm");
  s.shop.plates = {only};
  d = pallets(s, seat(), 1).front();
  EXPECT_FALSE(d.clashes.empty());
}

}  // namespace
}  // namespace fettle::begin
