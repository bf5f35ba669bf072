#pragma once
// Small routes that tests and the benchmark share.
#include <cmath>
#include <string>

#include "calc/tolerance/ledger.h"

namespace fettle::tolerance::test {

constexpr double mm = 1e-3, um = 1e-6;

inline Vec3 any_across(Vec3 n) { return std::fabs(n.x) < 0.5 ? Vec3{1, 0, 0} : Vec3{0, 1, 0}; }

inline int plane(Route& r, const std::string& id, Vec3 p, Vec3 n, double half_u = 0, double half_v = 0) {
  Element e;
  e.id = id;
  e.p = p;
  e.n = n;
  e.u = frame::unit(any_across(n) - frame::dot(any_across(n), n) * n);
  e.half_u = half_u;
  e.half_v = half_v;
  r.elements.push_back(e);
  return static_cast<int>(r.elements.size()) - 1;
}
inline int axis(Route& r, const std::string& id, Vec3 p, Vec3 n, double half_length = 0, double size = 10 * mm) {
  Element e;
  e.id = id;
  e.shape = Element::Shape::axis;
  e.p = p;
  e.n = n;
  e.half_u = half_length;
  e.size = size;
  r.elements.push_back(e);
  return static_cast<int>(r.elements.size()) - 1;
}

/// Six locators round a box of 200 x 100: three below at height z on element `bottom`, two on -y, one on -x, those
/// without error.
inline Operation six(const Route&, const std::string& id, int bottom, double z) {
  Operation op;
  op.id = id;
  op.contacts = {{"z1", bottom, {0, 0, z}, {0, 0, -1}},
                 {"z2", bottom, {200 * mm, 0, z}, {0, 0, -1}},
                 {"z3", bottom, {100 * mm, 100 * mm, z}, {0, 0, -1}},
                 {"y1", -1, {20 * mm, 0, z}, {0, -1, 0}},
                 {"y2", -1, {180 * mm, 0, z}, {0, -1, 0}},
                 {"x1", -1, {0, 50 * mm, z}, {-1, 0, 0}}};
  return op;
}

inline Contributor zero(const std::string& name, int operation, Vec3 a, double s = 0) {
  Contributor c;
  c.name = name;
  c.s = s;
  Effect e;
  e.on = Effect::On::zero;
  e.operation = operation;
  e.a = a;
  c.effects = {e};
  return c;
}
inline Contributor made(const std::string& name, int operation, int element, Vec3 a, double s) {
  Contributor c = zero(name, operation, a, s);
  c.effects[0].on = Effect::On::made;
  c.effects[0].index = element;
  return c;
}
inline Requirement distance(const std::string& id, int element, int to, Vec3 along, double nominal, double lower,
                            double upper) {
  Requirement q;
  q.id = id;
  q.kind = Requirement::Kind::distance;
  q.elements = {element};
  q.to = to;
  q.along = along;
  q.nominal = nominal;
  q.lower = lower;
  q.upper = upper;
  return q;
}
inline Requirement zone(Requirement::Kind kind, const std::string& id, std::vector<int> elements, double upper) {
  Requirement q;
  q.id = id;
  q.kind = kind;
  q.elements = std::move(elements);
  q.upper = upper;
  return q;
}

/// A hole bored against A (bottom), B and C (sides without error), s 0.015 in x and in y; zone 0.1.
inline Route bored_plate() {
  Route r;
  const int a = plane(r, "A", {100 * mm, 50 * mm, 0}, {0, 0, -1}, 100 * mm, 50 * mm);
  const int b = plane(r, "B", {100 * mm, 0, 10 * mm}, {0, -1, 0}, 100 * mm, 10 * mm);
  const int c = plane(r, "C", {0, 50 * mm, 10 * mm}, {-1, 0, 0}, 50 * mm, 10 * mm);
  const int hole = axis(r, "hole", {60 * mm, 40 * mm, 10 * mm}, {0, 0, 1}, 0, 10 * mm);
  Operation op = six(r, "OP10", a, 0);
  op.makes = {hole};
  r.operations.push_back(op);
  r.contributors.push_back(zero("machine in x", 0, {1, 0, 0}, 15 * um));
  r.contributors.push_back(zero("machine in y", 0, {0, 1, 0}, 15 * um));
  Requirement q = zone(Requirement::Kind::position, "hole.position", {hole}, 0.1 * mm);
  q.datums = {a, b, c};
  r.requirements.push_back(q);
  return r;
}

/// Two clampings: OP20 makes A, a bore and two datum holes; OP30 stands on A and on pins in the holes and makes a
/// second bore on the first one's axis.
struct TwoClampings {
  Route route;
  int a = 0, bore = 0, b = 0, c = 0, second = 0;
};
inline TwoClampings two_clampings(double zone_mm = 0.07) {
  TwoClampings t;
  Route& r = t.route;
  t.a = plane(r, "A", {0, 0, 0}, {0, 0, -1}, 66 * mm, 46 * mm);
  t.bore = axis(r, "F4", {0, 0, 9 * mm}, {0, 0, 1}, 9 * mm, 22 * mm);
  t.b = axis(r, "B", {-44 * mm, -34 * mm, 7.5 * mm}, {0, 0, 1}, 7.5 * mm, 8.0075 * mm);
  t.c = axis(r, "C", {44 * mm, 34 * mm, 7.5 * mm}, {0, 0, 1}, 7.5 * mm, 8.0075 * mm);
  t.second = axis(r, "F2", {0, 0, 27 * mm}, {0, 0, 1}, 9 * mm, 50.02 * mm);
  Operation first = six(r, "OP20", -1, 0);
  first.makes = {t.a, t.bore, t.b, t.c};
  r.operations.push_back(first);
  Operation op;
  op.id = "OP30";
  for (const Vec3 p : {Vec3{56, 20, 0}, Vec3{-56, 20, 0}, Vec3{-33, -38, 0}, Vec3{33, -38, 0}})
    op.contacts.push_back({"pad", t.a, mm * p, {0, 0, -1}});
  Pins& pins = op.pins;
  pins.there = true;
  pins.round_hole = t.b;
  pins.relieved_hole = t.c;
  pins.key = "pallet.pins";
  pins.pair.round_hole = pins.pair.relieved_hole = 8.0075 * mm;
  pins.pair.round_pin = 7.9905 * mm;
  pins.pair.land = 7.974 * mm;
  pins.pair.land_width = 1.6 * mm;
  pins.pair.part_span = pins.pair.pallet_span = std::hypot(88, 68) * mm;
  op.makes = {t.second};
  r.operations.push_back(op);

  const auto size = [&](const std::string& name, Effect::On on, int operation, int element, double s) {
    Contributor c;
    c.name = name;
    c.s = s;
    Effect e;
    e.on = on;
    e.operation = operation;
    e.index = element;
    c.effects = {e};
    r.contributors.push_back(c);
  };
  for (const int hole : {t.b, t.c})
    for (const Vec3 d : {Vec3{1, 0, 0}, Vec3{0, 1, 0}})
      r.contributors.push_back(
          made(r.elements[static_cast<std::size_t>(hole)].id + (d.x > 0 ? " in x" : " in y"), 0, hole, d, 2.7 * um));
  size("size of B", Effect::On::size, -1, t.b, 2.5 * um);
  size("size of C", Effect::On::size, -1, t.c, 2.5 * um);
  size("round pin", Effect::On::round_pin, 1, -1, 1.5 * um);
  size("land", Effect::On::land, 1, -1, 1.3 * um);
  for (const Vec3 d : {Vec3{1, 0, 0}, Vec3{0, 1, 0}}) {
    const std::string axis_name = d.x > 0 ? " in x" : " in y";
    Contributor pallet = zero("pallet pins" + axis_name, 1, d, 3.3 * um);
    pallet.drawn = Drawn::nest;
    r.contributors.push_back(pallet);
    r.contributors.push_back(zero("machine" + axis_name, 1, d, 2.7 * um));
  }
  Requirement q = zone(Requirement::Kind::coaxiality, "F2.coaxial", {t.second}, zone_mm * mm);
  q.to = t.bore;
  r.requirements.push_back(q);
  return t;
}

/// Growth of the pallet: the nests stand where the four of demo's pallet stand.
inline Contributor pallet_growth(int operation, double kelvin) {
  Contributor c;
  c.name = "growth of the pallet";
  c.family = Contributor::Family::uniform;
  c.mean = kelvin / 2;
  c.half_width = kelvin / 2;
  Effect e;
  e.on = Effect::On::zero;
  e.operation = operation;
  for (const double y : {-57.0, 57.0})
    for (const double x : {-78.0, 78.0}) e.by_nest.push_back(-23.8e-6 * mm * Vec3{x, y, 0});
  c.effects = {e};
  return c;
}

}  // namespace fettle::tolerance::test
