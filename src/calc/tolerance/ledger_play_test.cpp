// Clampings, datums as they were made, and the play of pins.
#include <gtest/gtest.h>

#include <cmath>

#include "calc/tolerance/routes_for_tests.h"
#include "maths/statistics.h"
#include "published.h"

namespace {

using namespace fettle;
using namespace fettle::tolerance;
using namespace fettle::tolerance::test;
using fettle::test::How;
using fettle::test::published;
using Kind = Requirement::Kind;

double coefficient(const Row& row, int column) {
  for (std::size_t i = 0; i < row.column.size(); ++i)
    if (row.column[i] == column) return row.coefficient[i];
  return 0;
}
Contributor stands_off(const std::string& name, int operation, int contact, double s) {
  Contributor c = zero(name, operation, {}, s);
  c.effects[0].on = Effect::On::contact;
  c.effects[0].index = contact;
  return c;
}

TEST(LedgerRoute, OneClampingSharesItsPose) {
  Route r;
  const int one = axis(r, "one", {40 * mm, 30 * mm, 9 * mm}, {0, 0, 1}, 9 * mm);
  const int two = axis(r, "two", {40 * mm, 30 * mm, 40 * mm}, {0, 0, 1}, 9 * mm);
  Operation op = six(r, "OP10", -1, 0);
  op.makes = {one, two};
  r.operations.push_back(op);
  for (int i = 0; i < 6; ++i) r.contributors.push_back(stands_off("locator " + std::to_string(i), 0, i, 100 * um));
  r.contributors.push_back(zero("zero", 0, {1, 1, 1}, 100 * um));
  r.contributors.push_back(made("tool", 0, two, {1, 0, 0}, 3 * um));
  Requirement q = zone(Kind::coaxiality, "coaxial", {two}, .05 * mm);
  q.to = one;
  r.requirements.push_back(q);
  auto ledger = build(r);
  ASSERT_TRUE(ledger) << say(ledger.problem());
  for (const Row& row : ledger->shapes[0].pair)
    for (int c = 0; c < 7; ++c) EXPECT_EQ(coefficient(row, c), 0) << "locating counts between features of one clamping";
  EXPECT_NEAR(linear_of(*ledger, 0).s, 3 * um, 1e-12);
  // In another clamping, on the same locators, every locator counts.
  r.operations[0].makes = {one};
  op.id = "OP20";
  op.makes = {two};
  r.operations.push_back(op);
  r.contributors.back() = made("tool", 1, two, {1, 0, 0}, 3 * um);
  ledger = build(r);
  ASSERT_TRUE(ledger);
  EXPECT_GT(linear_of(*ledger, 0).s, 50 * um);
}

TEST(LedgerRoute, DatumsAsTheyWereMade) {
  // OP10 cuts A against the raw top; OP20 stands on A and cuts the top; OP30 lies on the top and bores a floor. What
  // the floor's distance from A takes: cut 30, the seat on the top, cut 20, the seat on A. Not cut 10.
  Route r;
  const int raw = plane(r, "raw top", {100 * mm, 50 * mm, 34 * mm}, {0, 0, 1});
  const int a = plane(r, "A", {100 * mm, 50 * mm, 0}, {0, 0, -1});
  const int top = plane(r, "top", {100 * mm, 50 * mm, 30 * mm}, {0, 0, 1});
  const int floor = plane(r, "floor", {100 * mm, 50 * mm, 12 * mm}, {0, 0, 1});
  const auto upside = [&](const char* id, int on, double z) {
    Operation op = six(r, id, on, z);
    for (int i = 0; i < 3; ++i) op.contacts[static_cast<std::size_t>(i)].n = {0, 0, 1};
    return op;
  };
  Operation op10 = upside("OP10", raw, 34 * mm), op20 = six(r, "OP20", a, 0), op30 = upside("OP30", top, 30 * mm);
  op10.makes = {a};
  op20.makes = {top};
  op30.makes = {floor};
  r.operations = {op10, op20, op30};
  r.contributors = {zero("cut 10", 0, {0, 0, 1}, 5 * um), zero("cut 20", 1, {0, 0, 1}, 6 * um),
                    zero("cut 30", 2, {0, 0, 1}, 7 * um)};
  Contributor seat = stands_off("seat 20", 1, 0, 2 * um), dirt = stands_off("seat 30", 2, 0, 3 * um);
  for (int i = 1; i < 3; ++i) {
    seat.effects.push_back(stands_off("", 1, i, 0).effects[0]);
    dirt.effects.push_back(stands_off("", 2, i, 0).effects[0]);
  }
  r.contributors.push_back(seat);
  r.contributors.push_back(dirt);
  r.requirements = {distance("floor", floor, a, {0, 0, 1}, 12 * mm, 11.96 * mm, 12.04 * mm),
                    distance("thick", top, a, {0, 0, 1}, 30 * mm, 29.94 * mm, 30.06 * mm)};
  auto ledger = build(r);
  ASSERT_TRUE(ledger) << say(ledger.problem());
  const Row &row = ledger->shapes[0].scalar[0], &thick = ledger->shapes[1].scalar[0];
  const double want[] = {0, 1, 1, -1, 1}, want_thick[] = {0, 1, 0, -1, 0};
  for (int c = 0; c < 5; ++c) {
    EXPECT_NEAR(coefficient(row, c), want[c], 1e-12) << r.contributors[static_cast<std::size_t>(c)].name;
    EXPECT_NEAR(coefficient(thick, c), want_thick[c], 1e-12);
  }
  EXPECT_NEAR(linear_of(*ledger, 0).s, std::sqrt(36. + 49 + 4 + 9) * um, 1e-12);
  // Boring the floor in OP20 with the top takes the top out of the chain.
  r.operations[1].makes = {top, floor};
  r.operations[2].makes = {};
  ledger = build(r);
  ASSERT_TRUE(ledger);
  EXPECT_NEAR(linear_of(*ledger, 0).s, std::sqrt(36. + 4) * um, 1e-12);
  // Cut again later, a surface takes the later state.
  r.operations[2].makes = {a};
  ledger = build(r);
  ASSERT_TRUE(ledger);
  EXPECT_NEAR(coefficient(ledger->shapes[1].scalar[0], 2), -1, 1e-12);
  EXPECT_NEAR(coefficient(ledger->shapes[1].scalar[0], 1), 0, 1e-12);
}

/// Metrology D2: holes 12 H7 at 80, pin g6, land 4 wide; a point 200 from the round pin on the line of pins.
Route pins_of_d2() {
  Route r;
  const int b = axis(r, "B", {}, {0, 0, 1}, 0, 12 * mm), c = axis(r, "C", {80 * mm, 0, 0}, {0, 0, 1}, 0, 12 * mm);
  Operation op;
  op.id = "OP30";
  for (const Vec3 p : {Vec3{0, 30, 0}, Vec3{80, 30, 0}, Vec3{40, -30, 0}})
    op.contacts.push_back({"pad", -1, mm * p, {0, 0, -1}});
  op.pins.there = true;
  op.pins.round_hole = b;
  op.pins.relieved_hole = c;
  op.pins.pair = {12.018 * mm, 11.983 * mm, 12.018 * mm, 11.938 * mm, 4 * mm, 80 * mm, 80 * mm, 0, 0};
  const int end = plane(r, "side", {200 * mm, 0, 0}, {0, 1, 0});
  op.makes = {end};
  r.operations.push_back(op);
  const int other = plane(r, "B's line", {}, {0, -1, 0});
  r.requirements.push_back(distance("sideways", end, other, {0, 1, 0}, 0, -.1 * mm, .1 * mm));
  return r;
}

TEST(LedgerPlay, RotationAndSideError) {  // metrology D2
  Route r = pins_of_d2();
  auto ledger = build(r);
  ASSERT_TRUE(ledger) << say(ledger.problem());
  published("tolerance", "two holes 12 H7 at 80: worst sideways error 200 from the round pin, mm",
            "rotation (c1 + c2) / 2L of two pins, fixture texts", How::computed, 0.12625,
            linear_of(*ledger, 0).worst_high / mm, 1e-5);
  // The same reached from mean sizes and their worst.
  r.operations[0].pins.pair = {12.009 * mm, 11.9885 * mm, 12.009 * mm, 11.9435 * mm, 4 * mm, 80 * mm, 80 * mm, 0, 0};
  const auto size = [&](Effect::On on, int element, double worst) {
    Contributor c = zero("size", 0, {});
    c.name += std::to_string(r.contributors.size());
    c.worst = worst;
    c.s = worst / 3;
    c.effects[0].on = on;
    c.effects[0].index = element;
    r.contributors.push_back(c);
  };
  size(Effect::On::size, 0, .009 * mm);
  size(Effect::On::size, 1, .009 * mm);
  size(Effect::On::round_pin, -1, .0055 * mm);
  size(Effect::On::land, -1, .0055 * mm);
  ledger = build(r);
  ASSERT_TRUE(ledger);
  EXPECT_NEAR(linear_of(*ledger, 0).worst_high / mm, 0.12625, 1e-5);
  EXPECT_NEAR(linear_of(*ledger, 0).worst_low / mm, -0.12625, 1e-5);
  // No sampled part goes beyond.
  SampleInputs in;
  in.parts = 100000;
  in.mending = false;
  const auto s = sample(*ledger, in);
  ASSERT_TRUE(s);
  EXPECT_LT(s->requirements[0].most / mm, 0.12625);
  EXPECT_GT(s->requirements[0].most / mm, 0.08);
  EXPECT_EQ(s->not_on, 0);
}

TEST(LedgerPlay, TheoryOfPlayAloneAgainstManyParts) {
  Route r = pins_of_d2();
  r.requirements[0].lower = -.06 * mm;
  r.requirements[0].upper = .07 * mm;
  r.contributors.push_back(zero("machine", 0, {0, 1, 0}, 8 * um));
  const auto ledger = build(r);
  ASSERT_TRUE(ledger);
  const Linear l = linear_of(*ledger, 0);
  SampleInputs in;
  in.parts = 400000;
  in.mending = false;
  const auto s = sample(*ledger, in);
  ASSERT_TRUE(s);
  const Outcomes& o = s->requirements[0];
  const double p = l.share_outside, normal = maths::normal_cdf(-60 * um / l.s) + maths::normal_cdf(-70 * um / l.s);
  EXPECT_NEAR(o.outside.share, p, 4 * std::sqrt(p / in.parts));
  EXPECT_NEAR(o.s / l.s, 1, 4 / std::sqrt(2.0 * in.parts));
  // The same spread taken for normal says something else.
  EXPECT_GT(std::fabs(normal - o.outside.share), 10 * std::sqrt(p / in.parts));
  // Its variance is that of maths::play_s at the point.
  const double play = maths::play_s(r.operations[0].pins.pair, {.2, 0}, {0, 1});
  EXPECT_NEAR(l.s / std::sqrt(play * play + 64e-12), 1, 1e-4);
  ASSERT_EQ(l.contributors.size(), 2u);
  EXPECT_EQ(l.contributors[0].name, "play of the pins");
  EXPECT_EQ(l.contributors[0].column, 1);
}

TEST(LedgerPlay, AMeanMovedInABuiltLedgerMovesThePlay) {
  Route r = pins_of_d2();
  Contributor land = zero("land", 0, {}, 1 * um);
  land.effects[0].on = Effect::On::land;
  r.contributors = {land};
  auto ledger = build(r);
  ASSERT_TRUE(ledger);
  const Linear before = linear_of(*ledger, 0);
  ledger->route.contributors[0].mean = -20 * um;  // a thinner land than the pair was built with
  const Linear after = linear_of(*ledger, 0);
  SampleInputs in;
  in.parts = 100000;
  in.mending = false;
  EXPECT_GT(after.s, 1.1 * before.s);
  EXPECT_NEAR(sample(*ledger, in)->requirements[0].s / after.s, 1, .01);
}

TEST(LedgerPlay, PushedAlwaysOneWay) {
  Route r = pins_of_d2();
  r.operations[0].pins.seat = Pins::Seat::pushed;
  r.operations[0].pins.push_at = {40 * mm, 0, 0};
  r.operations[0].pins.push_along = {0, 1, 0};
  Contributor pin = zero("round pin", 0, {}, 2 * um);
  pin.effects[0].on = Effect::On::round_pin;
  r.contributors = {pin};
  const auto ledger = build(r);
  ASSERT_TRUE(ledger);
  // Both holes up by half their clearance, 0.0175 and 0.040: at 200 up by 0.0175 + 0.0225 x 2.5; cut in the part the
  // other way.
  const Linear l = linear_of(*ledger, 0);
  EXPECT_NEAR(l.mean / mm, -.0175 - .0225 * 2.5, 1e-5);
  EXPECT_NEAR(l.s / um, 2 * .5 * 1.5, 1e-3);  // half the pin's change at the round hole, levered past the other
  SampleInputs in;
  const auto s = sample(*ledger, in);
  ASSERT_TRUE(s);
  EXPECT_NEAR(s->requirements[0].mean / mm, l.mean / mm, 1e-4);
  EXPECT_NEAR(s->requirements[0].s / l.s, 1, .03);
}

TEST(LedgerPlay, APartThatDoesNotGoOnIsCounted) {
  Route r = pins_of_d2();
  Contributor hole = zero("hole", 0, {}, 35 * um);
  hole.effects[0].on = Effect::On::size;
  hole.effects[0].index = 0;
  r.contributors = {hole};
  const auto ledger = build(r);
  ASSERT_TRUE(ledger);
  SampleInputs in;
  in.parts = 50000;
  in.mending = false;
  const auto s = sample(*ledger, in);
  ASSERT_TRUE(s);
  const double p = maths::normal_cdf(-1);  // clearance 0.035, s 0.035
  EXPECT_NEAR(static_cast<double>(s->not_on) / in.parts, p, 4 * std::sqrt(p / in.parts));
}

TEST(LedgerPlay, ZoneWithPlayAgainstManyParts) {
  TwoClampings t = two_clampings(0.05);
  for (Contributor& c : t.route.contributors) c.drawn = Drawn::part;  // so that the sampled share is sure to a percent
  Contributor growth = zero("growth", 1, {.6, .8, 0});
  growth.family = Contributor::Family::uniform;
  growth.half_width = 9 * um;
  t.route.contributors.push_back(growth);
  Contributor chip = zero("chip", 1, {.8, -.6, 0}, 4 * um);
  chip.family = Contributor::Family::half_normal;
  t.route.contributors.push_back(chip);
  for (const double limit : {.03, .04, .05}) {
    t.route.requirements[0].upper = limit * mm;
    const auto ledger = build(t.route);
    ASSERT_TRUE(ledger) << say(ledger.problem());
    const Linear l = linear_of(*ledger, 0);
    SampleInputs in;
    in.parts = 400000;
    in.mending = false;
    const Share s = share_outside(*ledger, 0, in);
    // Theory leaves out what the spans do to the play, which takes a little away: it says too much by some percent.
    EXPECT_GT(l.share_outside / s.share, .97) << limit << " " << s.share;
    EXPECT_LT(l.share_outside / s.share, 1.10) << limit << " " << s.share;
    EXPECT_LE(l.share_outside, l.share_at_most);
  }
}

}  // namespace
