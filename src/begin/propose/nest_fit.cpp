#include "begin/propose/nest_fit.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace fettle::begin {

using maths::Point2;
using maths::Polygon;

namespace {

constexpr double tiny = 1e-9;

double cross(Point2 a, Point2 b) { return a.x * b.y - a.y * b.x; }

/// Largest extent to +x of the polygon at this height; none there: 0.
double reach_at(const Polygon& p, double y) {
  double out = 0;
  for (std::size_t i = 0; i < p.size(); ++i) {
    const Point2 a = p[i], b = p[(i + 1) % p.size()];
    if ((a.y > y && b.y > y) || (a.y < y && b.y < y)) continue;
    if (std::fabs(b.y - a.y) < tiny) out = std::max({out, a.x, b.x});
    else out = std::max(out, a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y));
  }
  return out;
}

double whole(double x, double step) { return step * std::ceil(x / step - 1e-6); }

/// Nobody stands in anybody's way between two rows that far apart: all columns, both orders.
bool rows_fit(const Polygon& keep_out, const Rows& r) {
  double wide = 0, most = 0;
  for (const Point2 q : keep_out) wide = std::max(wide, std::fabs(q.x)), most = std::max(most, std::fabs(q.y));
  const int columns = r.along > 0 ? static_cast<int>(std::ceil((wide + r.shift) / r.along)) + 1 : 0;
  for (int row = 1; row * r.across < most; ++row)
    for (int column = -columns; column <= columns; ++column)
      for (const double sign : {1.0, -1.0}) {
        const double x = column * r.along + (row % 2 == 1 ? sign * r.shift : 0);
        if (inside(keep_out, {x, row * r.across}, 1e-9) || inside(keep_out, {-x, -row * r.across}, 1e-9)) return false;
      }
  return true;
}

}  // namespace

Polygon turned(const Polygon& p, double angle) {
  const double c = std::cos(angle), s = std::sin(angle);
  Polygon out;
  out.reserve(p.size());
  for (const Point2 q : p) out.push_back({c * q.x - s * q.y, s * q.x + c * q.y});
  return out;
}

Polygon grown(const Polygon& p, double by) {
  if (!(by > 0) || p.size() < 3) return p;
  constexpr int sides = 24;
  const double radius = by / std::cos(std::numbers::pi / sides);  // its flats touch the circle
  std::vector<Point2> all;
  for (const Point2 q : p)
    for (int k = 0; k < sides; ++k) {
      const double t = 2 * std::numbers::pi * (k + 0.5) / sides;
      all.push_back({q.x + radius * std::cos(t), q.y + radius * std::sin(t)});
    }
  return maths::convex_hull(std::move(all));
}

Polygon no_fit(const Polygon& a, const Polygon& b) {
  Polygon mirrored;
  for (const Point2 q : b) mirrored.push_back({-q.x, -q.y});
  const auto lowest = [](const Polygon& p) {
    std::size_t k = 0;
    for (std::size_t i = 1; i < p.size(); ++i)
      if (p[i].y < p[k].y || (p[i].y == p[k].y && p[i].x < p[k].x)) k = i;
    return k;
  };
  // Edges of both in order of direction, from the lowest point on.
  const std::size_t n = a.size(), m = mirrored.size(), a0 = lowest(a), b0 = lowest(mirrored);
  Polygon sum;
  for (std::size_t i = 0, j = 0; i < n || j < m;) {
    const Point2 p = a[(a0 + i) % n], q = mirrored[(b0 + j) % m];
    sum.push_back({p.x + q.x, p.y + q.y});
    const Point2 p2 = a[(a0 + i + 1) % n], q2 = mirrored[(b0 + j + 1) % m];
    const double turn = cross({p2.x - p.x, p2.y - p.y}, {q2.x - q.x, q2.y - q.y});
    const bool take_a = j >= m || (i < n && turn >= 0), take_b = i >= n || (j < m && turn <= 0);
    if (take_a) ++i;
    if (take_b) ++j;
  }
  return sum;
}

bool inside(const Polygon& p, Point2 at, double slack) {
  if (p.size() < 3) return false;
  for (std::size_t i = 0; i < p.size(); ++i) {
    const Point2 a = p[i], b = p[(i + 1) % p.size()];
    const Point2 edge{b.x - a.x, b.y - a.y};
    const double length = std::hypot(edge.x, edge.y);
    if (length < tiny) continue;
    if (cross(edge, {at.x - a.x, at.y - a.y}) <= slack * length) return false;
  }
  return true;
}

Rows closest_rows(const Polygon& keep_out, double step, bool staggered) {
  Rows r;
  Polygon back;
  for (const Point2 q : keep_out) back.push_back({-q.x, -q.y});
  r.along = whole(std::max(reach_at(keep_out, 0), reach_at(back, 0)), step);
  r.shift = staggered ? 0.5 * r.along : 0;
  double most = 0;
  for (const Point2 q : keep_out) most = std::max(most, std::fabs(q.y));
  for (r.across = step; r.across < most && !rows_fit(keep_out, r);) r.across += step;
  return r;
}

}  // namespace fettle::begin
