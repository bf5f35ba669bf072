#include "program/moves.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace fettle::program {
namespace {

bool is_arc(const Move& m) { return m.kind == Motion::clockwise || m.kind == Motion::counter; }

/// First and second axis of the plane, then the one across it.
struct Axes {
  double frame::Vec3::*u, frame::Vec3::*v, frame::Vec3::*w;
};
Axes axes(Plane plane) {
  using frame::Vec3;
  if (plane == Plane::xy) return {&Vec3::x, &Vec3::y, &Vec3::z};
  if (plane == Plane::zx) return {&Vec3::z, &Vec3::x, &Vec3::y};
  return {&Vec3::y, &Vec3::z, &Vec3::x};
}
double angle(const Move& m, frame::Vec3 p) {
  const Axes a = axes(m.plane);
  return std::atan2(p.*a.v - m.centre.*a.v, p.*a.u - m.centre.*a.u);
}
double radius(const Move& m) {
  const Axes a = axes(m.plane);
  return std::hypot(m.start.*a.u - m.centre.*a.u, m.start.*a.v - m.centre.*a.v);
}
double rise(const Move& m) { return m.end.*axes(m.plane).w - m.start.*axes(m.plane).w; }

frame::Vec3 tangent(const Move& m, frame::Vec3 at) {
  const Axes a = axes(m.plane);
  const double phi = angle(m, at), turn = m.kind == Motion::counter ? 1 : -1;
  const double around = radius(m) * sweep(m);
  frame::Vec3 t;
  t.*a.u = -turn * std::sin(phi) * around;
  t.*a.v = turn * std::cos(phi) * around;
  t.*a.w = rise(m);
  return frame::unit(t);
}
bool moves_tool(const Move& m) { return m.kind <= Motion::probe; }

}  // namespace

double sweep(const Move& m) {
  if (!is_arc(m)) return 0;
  constexpr double turn = 2 * std::numbers::pi;
  const Axes a = axes(m.plane);
  double by = angle(m, m.end) - angle(m, m.start);
  if (m.kind == Motion::clockwise) by = -by;
  const bool closed = m.start.*a.u == m.end.*a.u && m.start.*a.v == m.end.*a.v;
  if (closed) by = turn;
  while (by <= 0) by += turn;
  while (by > turn) by -= turn;
  return by + turn * m.turns;
}

double length(const Move& m) {
  if (is_arc(m)) return std::hypot(radius(m) * sweep(m), rise(m));
  return moves_tool(m) ? frame::norm(m.end - m.start) : 0;
}

frame::Vec3 heading_at_start(const Move& m) {
  if (is_arc(m)) return tangent(m, m.start);
  return moves_tool(m) ? frame::unit(m.end - m.start) : frame::Vec3{};
}

frame::Vec3 heading_at_end(const Move& m) {
  if (is_arc(m)) return tangent(m, m.end);
  return heading_at_start(m);
}

frame::Vec3 place(const Move& m, double s) {
  if (s <= 0 || !moves_tool(m)) return m.start;
  if (s >= 1) return m.end;
  if (!is_arc(m)) return m.start + s * (m.end - m.start);
  const Axes a = axes(m.plane);
  const double phi = angle(m, m.start) + (m.kind == Motion::counter ? s : -s) * sweep(m);
  frame::Vec3 p;
  p.*a.u = m.centre.*a.u + radius(m) * std::cos(phi);
  p.*a.v = m.centre.*a.v + radius(m) * std::sin(phi);
  p.*a.w = m.start.*a.w + s * rise(m);
  return p;
}

frame::Vec3 Run::origin_at(std::size_t move, int zero) const {
  frame::Vec3 origin = zeros[static_cast<std::size_t>(zero)];
  for (auto set = zero_sets.rbegin(); set != zero_sets.rend() && set->before > move; ++set)
    if (set->zero == zero) origin = set->was;
  return origin;
}

frame::Vec3 nose_at_end(const Run& run, std::size_t move) {
  const Move& m = run.moves[move];
  if (m.held.machine_frame) return m.end;
  return m.end + run.origin_at(move, m.zero) + frame::Vec3{0, 0, m.length_offset};
}

}  // namespace fettle::program
