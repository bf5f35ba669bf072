#include "compose/track.h"

#include <algorithm>
#include <cmath>

namespace fettle::compose {

using frame::Vec3;

namespace {
constexpr double pi = 3.14159265358979323846;
constexpr double nothing = 1e-9;  // m: shorter moves are not made

/// Sides in the order of a clockwise round: direction of travel and outward normal.
struct Side {
  Vec3 along, out;
};
const Side sides[4] = {
    {{1, 0, 0}, {0, 1, 0}}, {{0, -1, 0}, {1, 0, 0}}, {{-1, 0, 0}, {0, -1, 0}}, {{0, 1, 0}, {-1, 0, 0}}};

double half_along(const RoundedBox& b, int side) { return (side % 2 == 0 ? b.half_x : b.half_y) - b.radius; }
double reach(const RoundedBox& b, int side) { return side % 2 == 0 ? b.half_y : b.half_x; }
}  // namespace

RoundedBox grown(RoundedBox b, double d) {
  b.half_x += d;
  b.half_y += d;
  b.radius = std::max(0.0, b.radius + d);
  b.half_x = std::max(0.0, b.half_x);
  b.half_y = std::max(0.0, b.half_y);
  b.radius = std::min({b.radius, b.half_x, b.half_y});
  return b;
}

RollIn roll_in(double e, double free_radius) {
  RollIn r;
  const double start = std::clamp(free_radius, 0.0, e);
  // Ninety degrees do when the start may lie at e/sqrt(2) or farther out; else the arc of radius e/2 sweeps more.
  if (start * start * 2 >= e * e) {
    r.offset = 0.5 * (e - std::sqrt(std::max(0.0, 2 * start * start - e * e)));
    r.sweep = pi / 2;
  } else {
    r.offset = 0.5 * e;
    r.sweep = std::acos(std::clamp(2 * (start / e) * (start / e) - 1, -1.0, 1.0));
  }
  r.radius = e - r.offset;
  r.start = start;
  return r;
}

void Track::add(Step s) {
  if (s.x) at_.x = *s.x;
  if (s.y) at_.y = *s.y;
  if (s.z && s.what != Do::cycle) at_.z = *s.z;
  steps_.push_back(std::move(s));
}

void Track::rapid(double x, double y) {
  Step s;
  s.what = Do::rapid;
  s.x = x;
  s.y = y;
  add(s);
}

void Track::rapid_z(double z) {
  Step s;
  s.what = Do::rapid;
  s.z = z;
  add(s);
}

void Track::line(Vec3 to) {
  if (frame::norm(to - at_) < nothing) return;
  Step s;
  s.what = Do::line;
  if (std::fabs(to.x - at_.x) > nothing) s.x = to.x;
  if (std::fabs(to.y - at_.y) > nothing) s.y = to.y;
  if (std::fabs(to.z - at_.z) > nothing) s.z = to.z;
  s.feed = feed_;
  add(s);
}

void Track::arc(Vec3 to, Vec3 centre, bool clockwise) {
  const double r = std::hypot(at_.x - centre.x, at_.y - centre.y);
  if (!(r > nothing)) return line(to);
  const double a = std::atan2(at_.y - centre.y, at_.x - centre.x), b = std::atan2(to.y - centre.y, to.x - centre.x);
  double sweep = clockwise ? a - b : b - a;
  while (sweep < 1e-9) sweep += 2 * pi;
  const int pieces = sweep > pi * (1 + 1e-9) ? 2 : 1;
  const Vec3 from = at_;
  for (int k = 1; k <= pieces; ++k) {
    const double share = static_cast<double>(k) / pieces, angle = a + (clockwise ? -1 : 1) * share * sweep;
    Step s;
    s.what = Do::arc;
    s.x = k == pieces ? to.x : centre.x + r * std::cos(angle);
    s.y = k == pieces ? to.y : centre.y + r * std::sin(angle);
    if (std::fabs(to.z - from.z) > nothing) s.z = from.z + share * (to.z - from.z);
    s.centre = {centre.x, centre.y, 0};
    s.clockwise = clockwise;
    s.feed = feed_;
    add(s);
  }
}

void Track::ring(Vec3 centre, bool clockwise, double z) {
  const Vec3 from = at_;
  const Vec3 across{2 * centre.x - from.x, 2 * centre.y - from.y, 0.5 * (from.z + z)};
  arc(across, centre, clockwise);
  arc({from.x, from.y, z}, centre, clockwise);
}

Vec3 side_start(const RoundedBox& b, bool clockwise, int side) {
  const Side& s = sides[side];
  return b.middle + reach(b, side) * s.out + ((clockwise ? -1 : 1) * half_along(b, side)) * s.along;
}
Vec3 side_end(const RoundedBox& b, bool clockwise, int side) {
  const Side& s = sides[side];
  return b.middle + reach(b, side) * s.out + ((clockwise ? 1 : -1) * half_along(b, side)) * s.along;
}

void Track::round(const RoundedBox& b, bool clockwise, int side) {
  const double z = at_.z;
  for (int k = 0; k < 4; ++k) {
    const int now = (side + (clockwise ? k : 4 - k)) % 4, next = (now + (clockwise ? 1 : 3)) % 4;
    Vec3 end = side_end(b, clockwise, now), begin = side_start(b, clockwise, next);
    end.z = begin.z = z;
    line(end);
    if (!(b.radius > nothing)) continue;
    const Vec3 centre = end - b.radius * sides[now].out;
    arc(begin, centre, clockwise);
  }
}

Steps turned(Steps steps, double angle) {
  if (angle == 0) return steps;
  const double c = std::cos(angle), s = std::sin(angle);
  double x = 0, y = 0;  // of the place before, where a step says only one of the two
  for (Step& t : steps) {
    const bool plane = t.x.has_value() || t.y.has_value();
    if (t.x) x = *t.x;
    if (t.y) y = *t.y;
    if (plane) {
      t.x = c * x - s * y;
      t.y = s * x + c * y;
    }
    t.centre = {c * t.centre.x - s * t.centre.y, s * t.centre.x + c * t.centre.y, 0};
  }
  return steps;
}

}  // namespace fettle::compose
