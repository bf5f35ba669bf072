// Growth, stretch, turns of the zero, form, and rounds of nests that do not fill a block.
#include <gtest/gtest.h>

#include <cmath>

#include "calc/tolerance/routes_for_tests.h"

namespace {

using namespace fettle;
using namespace fettle::tolerance;
using namespace fettle::tolerance::test;
using Kind = Requirement::Kind;

/// One clamping without error that makes two holes, a leaning face and a top.
struct Plate {
  Route r;
  int one = 0, two = 0, face = 0, top = 0, leaning_hole = 0;
};
Plate plate() {
  Plate p;
  const double c = std::sqrt(.5);
  p.one = axis(p.r, "one", {10 * mm, 20 * mm, 5 * mm}, {0, 0, 1}, 5 * mm);
  p.two = axis(p.r, "two", {110 * mm, 20 * mm, 5 * mm}, {0, 0, 1}, 5 * mm);
  p.face = plane(p.r, "face", {50 * mm, 0, 30 * mm}, {c, 0, c}, 10 * mm, 10 * mm);
  p.top = plane(p.r, "top", {50 * mm, 0, 40 * mm}, {0, 0, 1}, 50 * mm, 10 * mm);
  p.leaning_hole = axis(p.r, "leaning", {50 * mm, 0, 30 * mm}, {c, 0, c}, 10 * mm);
  Operation op = six(p.r, "OP10", -1, 0);
  op.makes = {p.one, p.two, p.face, p.top, p.leaning_hole};
  p.r.operations.push_back(op);
  return p;
}
PartHistory::State state(const Plate& p, const Effect& effect, double amount, int element) {
  Route r = p.r;
  Contributor c;
  c.name = "field";
  c.mean = amount;
  c.effects = {effect};
  r.contributors = {c};
  const auto ledger = build(r);
  EXPECT_TRUE(ledger);
  return one_part(*ledger, {}, 0).surfaces[static_cast<std::size_t>(element)];
}

TEST(LedgerFields, GrowthOfASpindleAndOfAPlate) {
  const Plate p = plate();
  Effect e = zero("", 0, {0, 0, 1}).effects[0];
  EXPECT_NEAR(state(p, e, 10 * um, p.top).t.z, 10 * um, 1e-15);
  e.field = Effect::Field::grow;
  e.c = {10 * mm, 0, 0};
  const PartHistory::State grown = state(p, e, 1e-4, p.two);
  EXPECT_NEAR(grown.t.x, 1e-4 * 100 * mm, 1e-15);
  EXPECT_NEAR(grown.t.y, 1e-4 * 20 * mm, 1e-15);
  EXPECT_NEAR(frame::norm(grown.w), 0, 1e-15);
  e.field = Effect::Field::stretch;
  e.a = {1, 0, 0};
  const PartHistory::State stretched = state(p, e, 1e-4, p.two);
  EXPECT_NEAR(stretched.t.x, 1e-4 * 100 * mm, 1e-15);
  EXPECT_NEAR(stretched.t.y, 0, 1e-15);
  EXPECT_NEAR(frame::norm(stretched.w), 0, 1e-15);
}

TEST(LedgerFields, AStretchLeansWhatStandsOblique) {
  // Stretched by k along X, a direction at 45 degrees leans towards X by k/2; the plane's normal away from it.
  const Plate p = plate();
  Effect e = zero("", 0, {1, 0, 0}).effects[0];
  e.field = Effect::Field::stretch;
  const double k = 1e-4, c = std::sqrt(.5);
  const Vec3 axis_turn = state(p, e, k, p.leaning_hole).w, plane_turn = state(p, e, k, p.face).w;
  const Vec3 axis_after = Vec3{c, 0, c} + frame::cross(axis_turn, {c, 0, c});
  const Vec3 plane_after = Vec3{c, 0, c} + frame::cross(plane_turn, {c, 0, c});
  EXPECT_NEAR(std::atan2(axis_after.z, axis_after.x), std::atan2(1, 1 + k), 1e-8);
  EXPECT_NEAR(std::atan2(plane_after.z, plane_after.x), std::atan2(1, 1 / (1 + k)), 1e-8);
}

TEST(LedgerFields, ATurnedZero) {
  const Plate p = plate();
  Effect e = zero("", 0, {0, 0, 1}).effects[0];
  e.field = Effect::Field::turn;
  e.c = {10 * mm, 20 * mm, 0};
  const PartHistory::State s = state(p, e, 2e-4, p.two);
  EXPECT_NEAR(s.t.y, 2e-4 * 100 * mm, 1e-15);
  EXPECT_NEAR(s.t.x, 0, 1e-15);
  EXPECT_NEAR(s.w.z, 2e-4, 1e-18);
}

TEST(LedgerFields, FormIsHeldAgainstItsLimitAlone) {
  Plate p = plate();
  Contributor c = zero("flatness", 0, {}, 5 * um);
  c.family = Contributor::Family::half_normal;
  c.effects[0].on = Effect::On::form;
  c.effects[0].index = p.top;
  p.r.contributors = {c, zero("height", 0, {0, 0, 1}, 50 * um)};
  p.r.requirements = {zone(Kind::form, "top.flat", {p.top}, 10 * um)};
  const auto ledger = build(p.r);
  ASSERT_TRUE(ledger);
  SampleInputs in;
  in.parts = 100000;
  const Share s = share_outside(*ledger, 0, in);
  const double truth = std::erfc(2 / std::sqrt(2.0));  // |N| beyond 2 s
  EXPECT_NEAR(s.share, truth, 4 * std::sqrt(truth / in.parts));
  EXPECT_NEAR(linear_of(*ledger, 0).share_outside, truth, 1e-4);
}

TEST(LedgerFields, AnyNumberOfNests) {
  for (const int nests : {1, 3, 5, 6, 7, 100, 255, 256}) {
    Plate p = plate();
    p.r.nests = nests;
    Contributor known = zero("nest", 0, {});
    known.mean = 1;
    for (int n = 0; n < nests; ++n) known.effects[0].by_nest.push_back({0, 0, n * um});
    Contributor set_up = zero("setting", 0, {0, 0, 1}, 3 * um);
    set_up.drawn = Drawn::set_up;
    Contributor own = zero("own", 0, {0, 0, 1}, 2 * um);
    own.drawn = Drawn::nest;
    p.r.contributors = {known, set_up, own, zero("machine", 0, {0, 0, 1}, 4 * um)};
    const int bottom = plane(p.r, "bottom", {}, {0, 0, -1});
    p.r.requirements = {distance("height", p.top, bottom, {0, 0, 1}, 40 * mm, 39.99 * mm, 40.01 * mm)};
    const auto ledger = build(p.r);
    ASSERT_TRUE(ledger) << say(ledger.problem());
    SampleInputs in;
    in.parts = 700;
    in.parts_per_set_up = 50;
    in.parts_per_build = 300;
    long long outside = 0;
    double last = 0;
    for (int n = 0; n < in.parts; ++n) {
      const PartHistory h = one_part(*ledger, in, n);
      EXPECT_EQ(h.nest, n % nests);
      const double sum = (n % nests) * um + h.errors[1].value + h.errors[2].value + h.errors[3].value;
      EXPECT_NEAR(h.requirements[0].value, 40 * mm + sum, 1e-15);
      outside += !h.requirements[0].inside;
      if (n % 50 != 0) {
        EXPECT_EQ(h.errors[1].value, last);
      }
      last = h.errors[1].value;
    }
    EXPECT_EQ(share_outside(*ledger, 0, in).hits, outside) << nests;
  }
}

}  // namespace
