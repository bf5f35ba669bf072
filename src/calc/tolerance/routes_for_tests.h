#pragma once
// Small routes that tests and the benchmark share.
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

}  // namespace fettle::tolerance::test
