#include "begin/propose/nest_fit.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>
#include <utility>

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

/// How far a region reaches from the origin, either way along X and Y.
struct Reach {
  double wide = 0, high = 0;
};
Reach reach_of(const Pieces& all) {
  Reach r;
  for (const Polygon& p : all)
    for (const Point2 q : p) r.wide = std::max(r.wide, std::fabs(q.x)), r.high = std::max(r.high, std::fabs(q.y));
  return r;
}

/// Nobody stands in anybody's way between two rows that far apart: all columns, both orders.
bool rows_fit(const Pieces& keep_out, const Rows& r) {
  const auto [wide, most] = reach_of(keep_out);
  const int columns = r.along > 0 ? static_cast<int>(std::ceil((wide + r.shift) / r.along)) + 1 : 0;
  for (int row = 1; row * r.across < most; ++row)
    for (int column = -columns; column <= columns; ++column)
      for (const double sign : {1.0, -1.0}) {
        const double x = column * r.along + (row % 2 == 1 ? sign * r.shift : 0);
        if (inside(keep_out, {x, row * r.across}, 1e-9) || inside(keep_out, {-x, -row * r.across}, 1e-9)) return false;
      }
  return true;
}

// ---- regions in pieces -----------------------------------------------------------------------------------------

/// Where a horizontal line passes through the inside of a convex polygon; nothing when it only touches.
std::optional<std::pair<double, double>> crossing(const Polygon& p, double y) {
  double lo = std::numeric_limits<double>::infinity(), hi = -lo;
  for (std::size_t i = 0; i < p.size(); ++i) {
    const Point2 a = p[i], b = p[(i + 1) % p.size()];
    if ((a.y > y) == (b.y > y)) continue;
    const double x = a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y);
    lo = std::min(lo, x), hi = std::max(hi, x);
  }
  if (!(hi - lo > tiny)) return std::nullopt;
  return std::pair{lo, hi};
}

/// The ends of what a horizontal line crosses, from left to right.
std::vector<double> free_ends(const Pieces& keep_out, double y) {
  std::vector<std::pair<double, double>> all;
  for (const Polygon& p : keep_out)
    if (const auto x = crossing(p, y)) all.push_back(*x);
  std::sort(all.begin(), all.end());
  std::vector<double> out;
  double end = -std::numeric_limits<double>::infinity();
  for (const auto& [lo, hi] : all) {
    if (lo > end - tiny) {
      if (!out.empty()) out.push_back(end);
      out.push_back(lo);
    }
    end = std::max(end, hi);
  }
  if (!out.empty()) out.push_back(end);
  return out;
}

Pieces joined(Pieces a, const Pieces& b) {
  a.insert(a.end(), b.begin(), b.end());
  return a;
}
Pieces mirrored(const Pieces& p) { return turned(p, std::numbers::pi); }

/// Two pieces become their hull where that adds no more than this share of the whole.
Pieces with_hulls(Pieces all, double whole, double share) {
  for (bool again = true; again;) {
    again = false;
    for (std::size_t i = 0; i < all.size() && !again; ++i)
      for (std::size_t j = i + 1; j < all.size() && !again; ++j) {
        std::vector<Point2> both = all[i];
        both.insert(both.end(), all[j].begin(), all[j].end());
        Polygon hull = maths::convex_hull(std::move(both));
        if (maths::area(hull) > maths::area(all[i]) + maths::area(all[j]) + share * whole) continue;
        all[i] = std::move(hull);
        all.erase(all.begin() + static_cast<std::ptrdiff_t>(j));
        again = true;
      }
  }
  return all;
}

/// What of a triangle lies between two heights, as points.
void clip_to_strip(const std::array<Point2, 3>& t, double lo, double hi, std::vector<Point2>& out) {
  for (std::size_t i = 0; i < 3; ++i) {
    const Point2 a = t[i], b = t[(i + 1) % 3];
    if (a.y >= lo && a.y <= hi) out.push_back(a);
    for (const double y : {lo, hi})
      if ((a.y < y) != (b.y < y)) out.push_back({a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y), y});
  }
}

/// Heights at which the outline may change: its walls along X, and even steps between.
std::vector<double> strip_edges(const solid::Model& part) {
  constexpr int steps = 24;
  const double lo = part.box.lo.y, hi = part.box.hi.y;
  std::vector<double> out;
  for (int k = 0; k <= steps; ++k) out.push_back(lo + (hi - lo) * k / steps);
  for (const solid::Face& f : part.faces)
    if (f.kind == solid::Kind::plane && std::fabs(f.axis.y) > 1 - 1e-9) out.push_back(f.point.y);
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end(), [](double a, double b) { return b - a < 1e-6; }), out.end());
  return out;
}

/// What hangs together in one strip: its points and how far they reach along X.
struct Group {
  double lo = 0, hi = 0;
  std::vector<Point2> points;
};
using Strip = std::vector<Group>;
Strip groups_of_strip(const std::vector<std::array<Point2, 3>>& triangles, double lo, double hi) {
  Strip all;
  for (const auto& t : triangles) {
    const auto [low, high] = std::minmax({t[0].y, t[1].y, t[2].y});
    if (high <= lo + tiny || low >= hi - tiny) continue;
    Group g;
    clip_to_strip(t, lo, hi, g.points);
    if (g.points.empty()) continue;
    g.lo = g.hi = g.points.front().x;
    for (const Point2 q : g.points) g.lo = std::min(g.lo, q.x), g.hi = std::max(g.hi, q.x);
    all.push_back(std::move(g));
  }
  std::stable_sort(all.begin(), all.end(), [](const Group& a, const Group& b) { return a.lo < b.lo; });
  Strip out;
  for (Group& g : all) {
    if (out.empty() || g.lo > out.back().hi + tiny) {
      out.push_back(std::move(g));
      continue;
    }
    out.back().hi = std::max(out.back().hi, g.hi);
    out.back().points.insert(out.back().points.end(), g.points.begin(), g.points.end());
  }
  return out;
}

/// Gaps of strips that hang together with the outside, by strip and gap: a bore is none, nobody stands in it.
std::vector<std::vector<char>> open_gaps(const std::vector<Strip>& strips) {
  constexpr double far = std::numeric_limits<double>::infinity();
  const auto gap = [&](std::size_t i, std::size_t k) {  // k counts the left outside, gaps, the right outside
    const Strip& s = strips[i];
    return std::pair{k == 0 ? -far : s[k - 1].hi, k == s.size() ? far : s[k].lo};
  };
  std::vector<std::vector<char>> open;
  for (const Strip& s : strips) {
    open.emplace_back(s.size() + 1, 0);
    open.back().front() = open.back().back() = 1;
  }
  const auto beside_open = [&](std::size_t i, std::size_t k) {
    if (i == 0 || i + 1 == strips.size()) return true;  // beyond it there is nothing
    const auto [lo, hi] = gap(i, k);
    for (const std::size_t n : {i - 1, i + 1})
      for (std::size_t m = 0; m < open[n].size(); ++m) {
        const auto [a, b] = gap(n, m);
        if (open[n][m] != 0 && std::min(hi, b) - std::max(lo, a) > tiny) return true;
      }
    return false;
  };
  for (bool again = true; again;) {
    again = false;
    for (std::size_t i = 0; i < strips.size(); ++i)
      for (std::size_t k = 0; k < open[i].size(); ++k)
        if (open[i][k] == 0 && beside_open(i, k)) open[i][k] = 1, again = true;
  }
  return open;
}

/// The hulls of what hangs together in each strip, bores filled.
Pieces hulls_of(const std::vector<Strip>& strips) {
  const auto open = open_gaps(strips);
  Pieces out;
  for (std::size_t i = 0; i < strips.size(); ++i) {
    std::vector<Point2> now;
    for (std::size_t k = 0; k < strips[i].size(); ++k) {
      now.insert(now.end(), strips[i][k].points.begin(), strips[i][k].points.end());
      if (open[i][k + 1] == 0) continue;
      Polygon hull = maths::convex_hull(std::move(now));
      if (hull.size() >= 3) out.push_back(std::move(hull));
      now = {};
    }
  }
  return out;
}

}  // namespace

Pieces pieces_from_above(const solid::Model& part) {
  Polygon hull = outline_from_above(part);
  const solid::Mesh& mesh = part.mesh;
  if (mesh.triangles.empty()) return {std::move(hull)};
  std::vector<std::array<Point2, 3>> flat;
  for (const std::array<int, 3>& t : mesh.triangles) {
    std::array<Point2, 3> p;
    for (std::size_t i = 0; i < 3; ++i) {
      const frame::Vec3 q = mesh.points[static_cast<std::size_t>(t[i])];
      p[i] = {q.x, q.y};
    }
    flat.push_back(p);
  }
  const std::vector<double> edges = strip_edges(part);
  std::vector<Strip> strips;
  for (std::size_t i = 0; i + 1 < edges.size(); ++i) strips.push_back(groups_of_strip(flat, edges[i], edges[i + 1]));
  Pieces out = hulls_of(strips);
  double filled = 0;
  for (const Polygon& p : out) filled += maths::area(p);
  const double whole = maths::area(hull);
  if (!(filled < (1 - 1.0 / 30) * whole)) return {std::move(hull)};
  constexpr std::size_t most = 8;  // pieces: no-fit regions grow with their square
  for (double share = 2e-3;; share *= 2) {
    out = with_hulls(std::move(out), whole, share);
    if (out.size() <= most) return out;
  }
}

Pieces turned(const Pieces& p, double angle) {
  Pieces out;
  for (const Polygon& q : p) out.push_back(turned(q, angle));
  return out;
}
Pieces grown(const Pieces& p, double by) {
  Pieces out;
  for (const Polygon& q : p) out.push_back(grown(q, by));
  return out;
}
Pieces no_fit(const Pieces& a, const Pieces& b) {
  Pieces out;
  for (const Polygon& p : a)
    for (const Polygon& q : b) out.push_back(no_fit(p, q));
  return out;
}
Pieces moved(const Pieces& p, Point2 by) {
  Pieces out = p;
  for (Polygon& q : out)
    for (Point2& x : q) x = {x.x + by.x, x.y + by.y};
  return out;
}
bool inside(const Pieces& p, Point2 at, double slack) {
  return std::any_of(p.begin(), p.end(), [&](const Polygon& q) { return inside(q, at, slack); });
}
bool carries(const Pieces& p, Point2 at, double radius) {
  if (p.size() == 1) return inside(p.front(), at, radius);
  constexpr int round = 24;
  const auto on = [&](Point2 q) {
    return std::any_of(p.begin(), p.end(), [&](const Polygon& x) { return maths::contains(x, q, tiny); });
  };
  for (int k = 0; k < round; ++k) {
    const double t = 2 * std::numbers::pi * k / round;
    for (const double r : {0.5 * radius, radius})
      if (!on({at.x + r * std::cos(t), at.y + r * std::sin(t)})) return false;
  }
  return on(at);
}

std::vector<Point2> interlocked(const Pieces& way, const Pieces& raw, double step, std::size_t most) {
  // The second one may not stand in the first one's way, nor the first one in the second one's.
  const Pieces keep_out = joined(no_fit(way, mirrored(raw)), no_fit(raw, mirrored(way)));
  const Pieces second = mirrored(raw);
  Point2 lo{std::numeric_limits<double>::infinity(), std::numeric_limits<double>::infinity()},
      hi{-std::numeric_limits<double>::infinity(), -std::numeric_limits<double>::infinity()};
  for (const Polygon& p : raw)
    for (const Point2 q : p)
      lo = {std::min(lo.x, q.x), std::min(lo.y, q.y)}, hi = {std::max(hi.x, q.x), std::max(hi.y, q.y)};
  const double high = reach_of(keep_out).high;
  std::vector<std::pair<double, Point2>> all;
  for (double y = -step * std::ceil(high / step); y <= high + step; y += step)
    for (const double end : free_ends(keep_out, y))
      for (const double x : {step * std::floor(end / step), step * std::ceil(end / step)}) {
        const Point2 d{x, y};
        if (inside(keep_out, d, 1e-9)) continue;
        // The second one's box is the first one's turned half round.
        const double w = std::max(hi.x, d.x - lo.x) - std::min(lo.x, d.x - hi.x),
                     h = std::max(hi.y, d.y - lo.y) - std::min(lo.y, d.y - hi.y);
        all.emplace_back(w * h, d);
      }
  std::stable_sort(all.begin(), all.end(), [](const auto& a, const auto& b) { return a.first < b.first - 1e-12; });
  std::vector<Point2> out;
  for (const auto& found : all) {
    const Point2 d = found.second;
    const bool near =
        std::any_of(out.begin(), out.end(), [&](Point2 o) { return std::hypot(o.x - d.x, o.y - d.y) < 5 * step; });
    if (!near) out.push_back(d);
    if (out.size() == most) break;
  }
  return out;
}

Pieces no_fit_of_pairs(const Pieces& way, const Pieces& raw, Point2 second) {
  const Pieces way2 = moved(mirrored(way), second), raw2 = moved(mirrored(raw), second);
  return joined(joined(no_fit(way, raw), no_fit(way, raw2)), joined(no_fit(way2, raw), no_fit(way2, raw2)));
}

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
  return closest_rows(Pieces{keep_out}, step, staggered);
}

Rows closest_rows(const Pieces& keep_out, double step, bool staggered) {
  Rows r;
  double end = 0;
  for (const Polygon& p : keep_out) {
    Polygon back;
    for (const Point2 q : p) back.push_back({-q.x, -q.y});
    end = std::max({end, reach_at(p, 0), reach_at(back, 0)});
  }
  r.along = whole(end, step);
  const auto clear = [&](double along) {
    for (double x = along; x < end + tiny; x += along)
      if (inside(keep_out, {x, 0}, 1e-9) || inside(keep_out, {-x, 0}, 1e-9)) return false;
    return true;
  };
  if (keep_out.size() > 1)
    for (double along = step; along < r.along - tiny; along += step)
      if (clear(along)) r.along = along;
  r.shift = staggered ? 0.5 * r.along : 0;
  const double most = reach_of(keep_out).high;
  for (r.across = step; r.across < most && !rows_fit(keep_out, r);) r.across += step;
  return r;
}

}  // namespace fettle::begin
