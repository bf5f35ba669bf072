#pragma once
// Convex polygons in the plane: from half planes, clipping, hull, farthest vertex. Points run anticlockwise.
#include <cstddef>
#include <optional>
#include <vector>

namespace fettle::maths {

struct Point2 {
  double x = 0, y = 0;
  bool operator==(const Point2&) const = default;
};
/// a x + b y <= c
struct HalfPlane {
  double a = 0, b = 0, c = 0;
};
using Polygon = std::vector<Point2>;

/// Part of a convex polygon inside a half plane; empty when nothing (or only a point or line) is left. `tolerance` is
/// the distance by which a vertex may lie outside and still be kept.
Polygon clip(const Polygon& polygon, const HalfPlane& half, double tolerance = 0);
/// Both convex.
Polygon intersection(const Polygon& p, const Polygon& q);
/// Region of all half planes inside the box [-reach, reach] squared; empty when they contradict each other.
Polygon from_half_planes(const std::vector<HalfPlane>& halves, double reach);
/// Convex hull, anticlockwise, without points on its edges; fewer than three points when they lie on a line.
Polygon convex_hull(std::vector<Point2> points);
/// Area (positive when anticlockwise) and centroid (the vertices' mean when the area is zero).
double area(const Polygon& polygon);
Point2 centroid(const Polygon& polygon);
bool contains(const Polygon& polygon, Point2 p, double tolerance = 0);

/// The vertex farthest from `p`: over a convex region the largest distance is always at a vertex. Nothing when empty.
struct Farthest {
  std::size_t vertex = 0;
  double distance = 0;
};
std::optional<Farthest> farthest_vertex(const Polygon& polygon, Point2 p = {});
/// Largest a x + b y over the polygon; -infinity when empty.
double support(const Polygon& polygon, double a, double b);

}  // namespace fettle::maths
