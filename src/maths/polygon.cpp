#include "maths/polygon.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace fettle::maths {

namespace {
double turn(Point2 a, Point2 b, Point2 c) { return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x); }
}  // namespace

Polygon clip(const Polygon& polygon, const HalfPlane& half, double tolerance) {
  Polygon out;
  const double length = std::hypot(half.a, half.b);
  if (!(length > 0)) return half.c >= 0 ? polygon : out;
  // Signed distance outside.
  const auto outside = [&](Point2 p) { return (half.a * p.x + half.b * p.y - half.c) / length; };
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Point2 p = polygon[i], q = polygon[(i + 1) % polygon.size()];
    const double dp = outside(p), dq = outside(q);
    const bool p_in = dp <= tolerance, q_in = dq <= tolerance;
    if (p_in) out.push_back(p);
    if (p_in == q_in) continue;
    const double s = dp / (dp - dq);
    if (s > 0 && s < 1) out.push_back({p.x + s * (q.x - p.x), p.y + s * (q.y - p.y)});
  }
  if (out.size() < 3) out.clear();
  return out;
}

Polygon intersection(const Polygon& p, const Polygon& q) {
  Polygon out = p;
  for (std::size_t i = 0; i < q.size() && !out.empty(); ++i) {
    const Point2 a = q[i], b = q[(i + 1) % q.size()];
    const double nx = b.y - a.y, ny = a.x - b.x;  // outward for an anticlockwise polygon
    out = clip(out, {nx, ny, nx * a.x + ny * a.y});
  }
  return q.size() < 3 ? Polygon{} : out;
}

Polygon from_half_planes(const std::vector<HalfPlane>& halves, double reach) {
  Polygon out = {{-reach, -reach}, {reach, -reach}, {reach, reach}, {-reach, reach}};
  for (const HalfPlane& h : halves) out = clip(out, h);
  return out;
}

Polygon convex_hull(std::vector<Point2> points) {
  std::sort(points.begin(), points.end(), [](Point2 a, Point2 b) { return a.x != b.x ? a.x < b.x : a.y < b.y; });
  points.erase(std::unique(points.begin(), points.end()), points.end());
  if (points.size() < 3) return points;
  Polygon hull;
  for (int pass = 0; pass < 2; ++pass) {
    const std::size_t start = hull.size();
    for (const Point2 p : points) {
      while (hull.size() >= start + 2 && turn(hull[hull.size() - 2], hull.back(), p) <= 0) hull.pop_back();
      hull.push_back(p);
    }
    hull.pop_back();  // the other half starts with it
    std::reverse(points.begin(), points.end());
  }
  return hull;
}

double area(const Polygon& polygon) {
  double twice = 0;
  for (std::size_t i = 2; i < polygon.size(); ++i) twice += turn(polygon[0], polygon[i - 1], polygon[i]);
  return twice / 2;
}

Point2 centroid(const Polygon& polygon) {
  if (polygon.empty()) return {};
  double sum = 0, x = 0, y = 0;
  const Point2 o = polygon[0];
  for (std::size_t i = 2; i < polygon.size(); ++i) {
    const Point2 a = polygon[i - 1], b = polygon[i];
    const double weight = turn(o, a, b);
    sum += weight;
    x += weight * ((a.x - o.x) + (b.x - o.x)) / 3;
    y += weight * ((a.y - o.y) + (b.y - o.y)) / 3;
  }
  if (sum != 0) return {o.x + x / sum, o.y + y / sum};
  for (const Point2 p : polygon) {
    x += p.x;
    y += p.y;
  }
  const double n = static_cast<double>(polygon.size());
  return {x / n, y / n};
}

bool contains(const Polygon& polygon, Point2 p, double tolerance) {
  if (polygon.size() < 3) return false;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Point2 a = polygon[i], b = polygon[(i + 1) % polygon.size()];
    const double length = std::hypot(b.x - a.x, b.y - a.y);
    if (!(turn(a, b, p) >= -tolerance * length)) return false;
  }
  return true;
}

std::optional<Farthest> farthest_vertex(const Polygon& polygon, Point2 p) {
  std::optional<Farthest> best;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const double d = std::hypot(polygon[i].x - p.x, polygon[i].y - p.y);
    if (!best || d > best->distance) best = Farthest{i, d};
  }
  return best;
}

double support(const Polygon& polygon, double a, double b) {
  double most = -std::numeric_limits<double>::infinity();
  for (const Point2 p : polygon) most = std::max(most, a * p.x + b * p.y);
  return most;
}

}  // namespace fettle::maths
