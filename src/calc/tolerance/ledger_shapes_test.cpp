// What requirements ask: shapes by hand, and that none of them sees a rigid motion of the part's frame.
#include <gtest/gtest.h>

#include <cmath>

#include "calc/tolerance/judge.h"
#include "calc/tolerance/routes_for_tests.h"
#include "maths/random.h"
#include "maths/statistics.h"
#include "published.h"

namespace {

using namespace fettle;
using namespace fettle::tolerance;
using namespace fettle::tolerance::test;
using fettle::test::How;
using fettle::test::published;
using Kind = Requirement::Kind;

Contributor moves(const std::string& name, int element, Vec3 a, Effect::Field field, double mean) {
  Contributor c;
  c.name = name;
  c.mean = mean;
  Effect e;
  e.on = Effect::On::surface;
  e.index = element;
  e.a = a;
  e.field = field;
  c.effects = {e};
  return c;
}
/// Turns the surface about its own point.
Contributor leans(const std::string& name, const Route& r, int element, Vec3 a, double mean) {
  Contributor c = moves(name, element, a, Effect::Field::turn, mean);
  c.effects[0].c = r.elements[static_cast<std::size_t>(element)].p;
  return c;
}
Contributor grows(const std::string& name, int element, double mean) {
  Contributor c = moves(name, element, {}, Effect::Field::shift, mean);
  c.effects[0].on = Effect::On::size;
  return c;
}
PartHistory::Verdict only(const Route& r) {
  const auto ledger = build(r);
  EXPECT_TRUE(ledger) << (ledger ? "" : say(ledger.problem()));
  return ledger ? one_part(*ledger, {}, 0).requirements.back() : PartHistory::Verdict{};
}

TEST(LedgerShapes, PositionWithMaterialBonus) {  // metrology C4
  Route r = bored_plate();
  const int hole = r.requirements[0].elements[0];
  r.elements[static_cast<std::size_t>(hole)].size = 10.5 * mm;
  r.contributors = {moves("x", hole, {1, 0, 0}, Effect::Field::shift, .12 * mm),
                    moves("y", hole, {0, 1, 0}, Effect::Field::shift, -.15 * mm), grows("size", hole, .12 * mm)};
  r.operations.clear();
  Requirement& q = r.requirements[0];
  q.upper = .3 * mm;
  q.modifier = Requirement::Modifier::maximum;
  q.modifier_size = 10.5 * mm;
  const PartHistory::Verdict v = only(r);
  const char* source = "ASME Y14.5: position value 2 sqrt(dx^2 + dy^2), bonus = size - maximum material size";
  published("tolerance", "position of a hole off by 0.12 and -0.15, mm", source, How::computed, 0.384187, v.value / mm,
            1e-6);
  published("tolerance", "position allowed at 10.62 when 0.3 at 10.5, mm", source, How::computed, 0.42, v.high / mm,
            1e-9);
  EXPECT_TRUE(v.inside);
  q.modifier = Requirement::Modifier::none;
  EXPECT_FALSE(only(r).inside);
  // Least material: the bonus grows the other way.
  q.modifier = Requirement::Modifier::least;
  q.modifier_size = 10.7 * mm;
  EXPECT_NEAR(only(r).high, .38 * mm, 1e-12);
  EXPECT_FALSE(only(r).inside);
  // A pin's bonus is that it is thinner.
  q.modifier = Requirement::Modifier::maximum;
  q.inside = false;
  EXPECT_NEAR(only(r).high, .38 * mm, 1e-12);
  q.modifier_size = 10.5 * mm;  // thicker than at maximum material: no bonus, but nothing is taken away either
  EXPECT_NEAR(only(r).high, .30 * mm, 1e-12);
}

TEST(LedgerShapes, SquareInRound) {  // metrology C5
  Route r = bored_plate();
  for (Contributor& c : r.contributors) {
    c.family = Contributor::Family::uniform;
    c.half_width = .1 * mm;
  }
  const auto ledger = build(r);
  ASSERT_TRUE(ledger);
  published("tolerance", "zone that holds +-0.1 in x and y, mm", "geometry of ASME Y14.5 zones", How::exact, 0.282843,
            linear_of(*ledger, 0).worst_high / mm, 5e-7);
}

TEST(LedgerShapes, CornersOfAPlane) {
  Route r;
  const int bottom = plane(r, "bottom", {}, {0, 0, -1});
  const int top = plane(r, "top", {0, 0, 30 * mm}, {0, 0, 1}, 50 * mm, 20 * mm);
  r.requirements.push_back(distance("height", top, bottom, {0, 0, 1}, 30 * mm, 29.9 * mm, 30.1 * mm));
  r.contributors = {moves("up", top, {0, 0, 1}, Effect::Field::shift, .05 * mm),
                    leans("lean", r, top, {0, 1, 0}, .0015)};
  // Half of 100 mm leaning by 1.5 mrad is 0.075: one edge at +0.125, the other at -0.025.
  EXPECT_NEAR(only(r).value, 30.125 * mm, 1e-12);
  EXPECT_FALSE(only(r).inside);
  r.contributors[1].mean = -.0005;
  EXPECT_NEAR(only(r).value, 30.075 * mm, 1e-12);
  EXPECT_TRUE(only(r).inside);
  // The sense of the normals does not matter; a bottom that lies lower makes the part higher.
  r.contributors = {moves("down", bottom, {0, 0, 1}, Effect::Field::shift, -.02 * mm)};
  EXPECT_NEAR(only(r).value, 30.02 * mm, 1e-12);
}

TEST(LedgerShapes, PerpendicularAndParallelByHand) {
  Route r;
  const int a = plane(r, "A", {}, {0, 0, -1}, 50 * mm, 50 * mm);
  const int bore = axis(r, "bore", {0, 0, 9 * mm}, {0, 0, 1}, 9 * mm);
  const int side = plane(r, "side", {50 * mm, 0, 10 * mm}, {1, 0, 0}, 30 * mm, 10 * mm);
  const int top = plane(r, "top", {0, 0, 30 * mm}, {0, 0, 1}, 50 * mm, 20 * mm);
  const int cross_bore = axis(r, "cross", {0, 0, 15 * mm}, {1, 0, 0}, 40 * mm);
  Requirement q = zone(Kind::perpendicularity, "square", {bore}, .01 * mm);
  q.to = a;
  r.requirements = {q};
  r.contributors = {leans("x", r, bore, {1, 0, 0}, 3e-4), leans("y", r, bore, {0, 1, 0}, 4e-4),
                    leans("A", r, a, {1, 0, 0}, 0)};
  EXPECT_NEAR(only(r).value, 18 * mm * 5e-4, 1e-15);  // length x angle
  r.contributors[2].mean = 3e-4;                      // the plane leans along
  EXPECT_NEAR(only(r).value, 18 * mm * 4e-4, 1e-15);

  r.requirements[0].elements = {side};
  r.contributors = {leans("y", r, side, {0, 1, 0}, -2e-4), leans("z", r, side, {0, 0, 1}, 7e-4)};
  EXPECT_NEAR(only(r).value, 20 * mm * 2e-4, 1e-15);  // height of the side; turning about Z does not count

  r.requirements[0].kind = Kind::parallelism;
  r.requirements[0].elements = {top};
  r.contributors = {leans("x", r, top, {1, 0, 0}, 1e-4), leans("y", r, top, {0, 1, 0}, -2e-4)};
  EXPECT_NEAR(only(r).value, 40 * mm * 1e-4 + 100 * mm * 2e-4, 1e-15);

  r.requirements[0].elements = {cross_bore};
  r.contributors = {leans("y", r, cross_bore, {0, 1, 0}, -1e-4), leans("z", r, cross_bore, {0, 0, 1}, 9e-4)};
  EXPECT_NEAR(only(r).value, 80 * mm * 1e-4, 1e-15);

  const int other = axis(r, "other", {0, 20 * mm, 15 * mm}, {1, 0, 0}, 40 * mm);
  r.requirements[0].to = other;
  EXPECT_NEAR(only(r).value, 80 * mm * std::hypot(1e-4, 9e-4), 1e-15);

  // Coaxial at both ends of the longer feature.
  const int shaft = axis(r, "shaft", {200 * mm, 0, 15 * mm}, {1, 0, 0}, 20 * mm);
  r.requirements[0] = zone(Kind::coaxiality, "coaxial", {shaft}, .1 * mm);
  r.requirements[0].to = cross_bore;
  EXPECT_NEAR(only(r).value, 2 * 220 * mm * std::hypot(1e-4, 9e-4), 1e-14);

  Requirement size = zone(Kind::size, "size", {bore, shaft}, 10.02 * mm);
  size.lower = 9.98 * mm;
  r.requirements = {size};
  r.contributors = {grows("b", bore, .01 * mm), grows("s", shaft, -.015 * mm)};
  EXPECT_NEAR(only(r).value, 9.985 * mm, 1e-12);
}

/// Every kind of requirement on one part, all surfaces raw.
Route every_kind() {
  Route r;
  const int a = plane(r, "A", {3 * mm, 2 * mm, 0}, {0, 0, -1}, 60 * mm, 40 * mm);
  const int top = plane(r, "top", {0, 5 * mm, 36 * mm}, {0, 0, 1}, 50 * mm, 20 * mm);
  const int side = plane(r, "side", {66 * mm, 1 * mm, 18 * mm}, {1, 0, 0}, 30 * mm, 15 * mm);
  const int edge = plane(r, "edge", {2 * mm, -46 * mm, 18 * mm}, {0, -1, 0}, 60 * mm, 15 * mm);
  const int b = axis(r, "B", {-44 * mm, -34 * mm, 7 * mm}, {0, 0, 1}, 7 * mm, 8 * mm);
  const int c = axis(r, "C", {44 * mm, 34 * mm, 7 * mm}, {0, 0, 1}, 7 * mm, 8 * mm);
  const int bore = axis(r, "bore", {0, 0, 9 * mm}, {0, 0, 1}, 9 * mm, 22 * mm);
  const int over = axis(r, "over", {0, 0, 27 * mm}, {0, 0, 1}, 9 * mm, 50 * mm);
  const int cross_bore = axis(r, "cross", {10 * mm, 0, 15 * mm}, {1, 0, 0}, 40 * mm, 6 * mm);
  std::vector<int> pattern;
  for (const double x : {-54.0, 0.0, 54.0})
    pattern.push_back(axis(r, "hole", {x * mm, x * .3 * mm, 18 * mm}, {0, 0, 1}, 18 * mm));
  const auto add = [&](Requirement q) { r.requirements.push_back(std::move(q)); };
  const auto to = [&](Kind k, const char* id, int e, int base) {
    Requirement q = zone(k, id, {e}, .1 * mm);
    q.to = base;
    add(q);
  };
  add(distance("height", top, a, {0, 0, 1}, 36 * mm, 0, 1));
  add(distance("bore to side", bore, side, {1, 0, 0}, -66 * mm, -1, 1));
  add(distance("side to bore", side, bore, {1, 0, 0}, 66 * mm, -1, 1));
  Requirement span = distance("span", b, c, frame::unit({88, 68, 0}), 111.2 * mm, 0, 1);
  span.kind = Kind::span;
  span.elements = {b, c};
  add(span);
  to(Kind::coaxiality, "coaxial", over, bore);
  to(Kind::perpendicularity, "axis square", bore, a);
  to(Kind::perpendicularity, "side square", side, a);
  to(Kind::parallelism, "top parallel", top, a);
  to(Kind::parallelism, "cross to A", cross_bore, a);
  to(Kind::parallelism, "axes", over, b);
  for (const std::vector<int>& datums : std::vector<std::vector<int>>{
           {a, b, c}, {a, side, edge}, {a, edge, side}, {b, c}, {b, a, side}, {a, b}, {a}, {}}) {
    Requirement q = zone(Kind::position, "position", pattern, .1 * mm);
    q.datums = datums;
    add(q);
  }
  return r;
}

TEST(LedgerShapes, NoRequirementSeesARigidMotion) {
  Route r = every_kind();
  Contributor shift, turn;
  shift.name = "shift";
  turn.name = "turn";
  for (std::size_t e = 0; e < r.elements.size(); ++e) {
    shift.effects.push_back(moves("", static_cast<int>(e), {.3, -.5, .8}, Effect::Field::shift, 1).effects[0]);
    turn.effects.push_back(moves("", static_cast<int>(e), {.4, .7, -.6}, Effect::Field::turn, 1).effects[0]);
    turn.effects.back().c = {.01, -.02, .03};
  }
  r.contributors = {shift, turn};
  const auto ledger = build(r);
  ASSERT_TRUE(ledger) << say(ledger.problem());
  for (std::size_t i = 0; i < r.requirements.size(); ++i) {
    const Shape& s = ledger->shapes[i];
    EXPECT_FALSE(s.scalar.empty() && s.pair.empty());
    for (const std::vector<Row>* rows : {&s.scalar, &s.pair})
      for (const Row& row : *rows)
        for (std::size_t c = 0; c < row.column.size(); ++c)
          EXPECT_LT(std::fabs(row.coefficient[c]), 1e-12) << r.requirements[i].id << " " << i;
  }
}

TEST(LedgerShapes, PatternFollowsWhatNoDatumHolds) {
  Route r = every_kind();
  const std::vector<int> pattern = r.requirements.back().elements;
  const int a = 0, b = 4;
  const auto value = [&](std::vector<int> datums, std::vector<Contributor> errors) {
    Requirement q = zone(Kind::position, "position", pattern, .1 * mm);
    q.datums = std::move(datums);
    r.requirements = {q};
    r.contributors = std::move(errors);
    return only(r).value;
  };
  std::vector<Contributor> together;
  for (const int e : pattern)
    together.push_back(moves("all " + std::to_string(e), e, {.6, .8, 0}, Effect::Field::shift, .03 * mm));
  EXPECT_NEAR(value({a}, together), 0, 1e-15);               // A holds no place in the plane
  EXPECT_NEAR(value({a, b, 5}, together), .06 * mm, 1e-15);  // B and C do
  // One of two holes off by d, no datum in the plane: half of it is left at each, along the line nothing turns.
  r.elements[static_cast<std::size_t>(pattern[0])].p.y = r.elements[static_cast<std::size_t>(pattern[2])].p.y = 0;
  const std::vector<int> two = {pattern[0], pattern[2]};
  Requirement q = zone(Kind::position, "position", two, .1 * mm);
  q.datums = {a};
  r.requirements = {q};
  r.contributors = {moves("one", two[0], {1, 0, 0}, Effect::Field::shift, .02 * mm)};
  EXPECT_NEAR(only(r).value, .02 * mm, 1e-15);
  // Across the line the pattern can turn with it: nothing is left.
  r.contributors = {moves("one", two[0], {0, 1, 0}, Effect::Field::shift, .02 * mm)};
  EXPECT_NEAR(only(r).value, 0, 1e-15);
}

/// Best over a fine grid of turns and shifts; slow and plain.
bool found_by_grid(const inner::ShiftQuestion& q, double reach, double turn_reach, double slack) {
  constexpr int n = 40;
  for (int k = -n; k <= n; ++k)
    for (int i = -n; i <= n; ++i)
      for (int j = -n; j <= n; ++j) {
        const double sx = reach * i / n, sy = reach * j / n, turn = turn_reach * k / n;
        bool good = true;
        for (const auto& c : q.conditions) {
          const double ex = sx - turn * c.y - c.dx, ey = sy + turn * c.x - c.dy;
          good = good && std::hypot(ex, ey) <= c.radius + slack;
        }
        if (good) return true;
      }
  return false;
}

TEST(LedgerShapes, DatumShiftAgainstAGrid) {
  int yes = 0, no = 0;
  for (std::uint64_t t = 0; t < 60; ++t) {
    std::uint32_t d = 0;
    const auto u = [&] { return maths::uniform(77, t, d++); };
    inner::ShiftQuestion q;
    const double b = .02 * u(), c = .02 * u();
    q.conditions.push_back({0, 0, 0, 0, b});
    q.conditions.push_back({100, 20, 0, 0, c});
    for (int i = 0; i < 4; ++i) q.conditions.push_back({100 * u(), 60 * u(), .05 * (u() - .5), .05 * (u() - .5), .02});
    const bool got = inner::shift_exists(q);
    const double step = .02 / 40;
    (got ? yes : no)++;
    if (got) EXPECT_TRUE(found_by_grid(q, .02, 5e-4, 3 * step)) << t;
    else EXPECT_FALSE(found_by_grid(q, .02, 5e-4, -1e-9)) << t;
  }
  EXPECT_GT(yes, 5);
  EXPECT_GT(no, 5);
}

TEST(LedgerShapes, DatumsMayShiftByTheirBonus) {
  Route r;
  const int a = plane(r, "A", {}, {0, 0, -1}, 60 * mm, 40 * mm);
  const int b = axis(r, "B", {-50 * mm, 0, 5 * mm}, {0, 0, 1}, 0, 8.010 * mm);
  const int c = axis(r, "C", {50 * mm, 0, 5 * mm}, {0, 0, 1}, 0, 8.010 * mm);
  const int hole = axis(r, "hole", {0, 20 * mm, 5 * mm}, {0, 0, 1}, 0, 10 * mm);
  Requirement q = zone(Kind::position, "position", {hole}, .1 * mm);
  q.datums = {a, b, c};
  r.contributors = {moves("x", hole, {1, 0, 0}, Effect::Field::shift, .0549 * mm)};
  r.requirements = {q};
  EXPECT_FALSE(only(r).inside);
  r.requirements[0].datum_maximum = true;
  r.requirements[0].datum_size = {0, 8.000 * mm, 8.000 * mm};
  // Both may shift by half of 0.010; shift and turn together reach 0.005 sqrt(1 + (20 / 50)^2) in x at the hole.
  r.contributors[0].mean = .05538 * mm;
  EXPECT_TRUE(only(r).inside);
  r.contributors[0].mean = .05539 * mm;
  EXPECT_FALSE(only(r).inside);
  // B alone gives way; C without bonus holds the turn only, so along the line of the datums B decides.
  r.contributors[0].mean = .0549 * mm;
  r.requirements[0].datum_size = {0, 8.000 * mm, 0};
  EXPECT_TRUE(only(r).inside);
  // C alone: B holds the place; the turn about B is all, 0.005 at 100: 0.001 at the hole's 20 in x.
  r.requirements[0].datum_size = {0, 0, 8.000 * mm};
  EXPECT_FALSE(only(r).inside);
  r.contributors[0].mean = .0507 * mm;
  EXPECT_TRUE(only(r).inside);
  r.contributors[0].mean = .0513 * mm;
  EXPECT_FALSE(only(r).inside);
}

}  // namespace
