// Round holes: concave coaxial faces chained through shared edges; and the concave cylinders that are not holes.
#include "solid/holes.h"

#include <algorithm>
#include <cmath>
#include <set>

namespace fettle::solid {
namespace {

constexpr double axis_angle = 1e-5;  // rad
constexpr double axis_shift = 2e-6;  // m
constexpr double pi = 3.14159265358979323846;

const Face& face(const Graph& g, int i) { return g.faces[static_cast<std::size_t>(i)]; }
const Edge& edge(const Graph& g, int i) { return g.edges[static_cast<std::size_t>(i)]; }
const std::vector<int>& edges_of(const Graph& g, int f) { return g.face_edges[static_cast<std::size_t>(f)]; }

int other(const Edge& e, int f) { return e.face[0] == f ? e.face[1] : e.face[0]; }
bool outer_of(const Edge& e, int f) { return e.face[0] == f ? e.outer[0] : e.outer[1]; }

}  // namespace

bool parallel(Vec3 a, Vec3 b) { return norm(cross(a, b)) <= axis_angle; }

bool on_axis(const Line& axis, Vec3 p) {
  const Vec3 d = p - axis.point;
  return norm(d - dot(d, axis.dir) * axis.dir) <= axis_shift;
}

bool coaxial(const Line& axis, const Edge& e) {
  return e.circle && parallel(axis.dir, e.axis) && on_axis(axis, e.centre);
}

bool coaxial(const Line& axis, const Face& f) {
  switch (f.kind) {
    case Kind::plane:
      return parallel(axis.dir, f.axis);
    case Kind::sphere:
      return on_axis(axis, f.point);
    case Kind::spline:
      return false;
    default:
      return parallel(axis.dir, f.axis) && on_axis(axis, f.point);
  }
}

double largest_turn(const Graph& g, const Ring& ring) {
  constexpr int turns = 72, heights = 15;
  const Vec3 x =
      frame::unit(std::fabs(ring.axis.dir.x) < 0.6 ? cross(ring.axis.dir, {1, 0, 0}) : cross(ring.axis.dir, {0, 1, 0}));
  const Vec3 y = cross(ring.axis.dir, x);
  int best = 0;
  for (int h = 0; h < heights && best < turns; ++h) {
    // middle first, then outward to both sides
    const int steps = (h + 1) / 2, most = heights / 2;
    const double share = 0.5 + (h % 2 ? 0.47 : -0.47) * steps / most;
    const double at = ring.lo + share * (ring.hi - ring.lo);
    int covered = 0;
    for (int t = 0; t < turns; ++t) {
      const double a = (t + 0.37) * 2 * pi / turns;
      const Vec3 p =
          ring.axis.point + at * ring.axis.dir + (ring.radius + at * ring.taper) * (std::cos(a) * x + std::sin(a) * y);
      for (const int f : ring.faces)
        if (g.covers(f, p)) {
          ++covered;
          break;
        }
    }
    best = std::max(best, covered);
  }
  return best * 2 * pi / turns;
}

std::vector<Ring> rings_of(const Graph& g, bool concave) {
  struct Span {
    int face;
    double lo, hi;
  };
  std::vector<Ring> lines;  // one per axis and radius, split along the axis below
  std::vector<std::vector<Span>> spans;
  for (int i = 0; i < static_cast<int>(g.faces.size()); ++i) {
    const Face& f = face(g, i);
    if (f.kind != Kind::cylinder || f.concave != concave) continue;
    std::size_t k = 0;
    while (k < lines.size() && !(std::fabs(lines[k].radius - f.radius) <= axis_shift && coaxial(lines[k].axis, f))) ++k;
    if (k == lines.size()) {
      lines.push_back({{f.point, f.axis}, f.radius, 0, 0, 0, {}, 0});
      spans.emplace_back();
    }
    const double at = dot(f.point - lines[k].axis.point, lines[k].axis.dir);
    const double sign = dot(f.axis, lines[k].axis.dir) > 0 ? 1 : -1;
    spans[k].push_back({i, std::min(at + sign * f.along_lo, at + sign * f.along_hi),
                        std::max(at + sign * f.along_lo, at + sign * f.along_hi)});
  }
  std::vector<Ring> rings;
  for (std::size_t k = 0; k < lines.size(); ++k) {
    auto& s = spans[k];
    std::stable_sort(s.begin(), s.end(), [](const Span& a, const Span& b) { return a.lo < b.lo; });
    for (std::size_t i = 0; i < s.size(); ++i) {
      if (i == 0 || s[i].lo > rings.back().hi + axis_shift)
        rings.push_back({lines[k].axis, lines[k].radius, 0, s[i].lo, s[i].hi, {}, 0});
      rings.back().hi = std::max(rings.back().hi, s[i].hi);
      rings.back().faces.push_back(s[i].face);
    }
  }
  for (Ring& r : rings) r.turn = largest_turn(g, r);
  return rings;
}

std::vector<Ring> tapers_of(const Graph& g) {
  std::vector<Ring> rings;
  for (int i = 0; i < static_cast<int>(g.faces.size()); ++i) {
    const Face& f = face(g, i);
    if (f.kind != Kind::cone || !f.concave || !(f.semi_angle <= 10 * pi / 180)) continue;
    // the wider end shows in the edges
    double low = 0, high = 0;
    for (const int k : edges_of(g, i))
      for (const Vec3& q : edge(g, k).points) {
        const double h = dot(q - f.point, f.axis);
        const double r = norm(q - f.point - h * f.axis);
        if (std::fabs(h - f.along_lo) < 1e-6) low = r;
        if (std::fabs(h - f.along_hi) < 1e-6) high = r;
      }
    const Ring r{
        {f.point, f.axis}, f.radius, (high > low ? 1 : -1) * std::tan(f.semi_angle), f.along_lo, f.along_hi, {i}, 0};
    const auto at = std::find_if(rings.begin(), rings.end(), [&](const Ring& o) {
      const double h = dot(f.point - o.axis.point, o.axis.dir), sign = dot(f.axis, o.axis.dir);
      return coaxial(o.axis, f) && std::fabs(o.radius + h * o.taper - f.radius) <= axis_shift &&
             std::fabs(o.taper - sign * r.taper) <= 1e-5;
    });
    if (at == rings.end()) {
      rings.push_back(r);
      continue;
    }
    const double h = dot(f.point - at->axis.point, at->axis.dir), half = (r.hi - r.lo) / 2;
    at->lo = std::min(at->lo, h - half);
    at->hi = std::max(at->hi, h + half);
    at->faces.push_back(i);
  }
  for (Ring& r : rings) r.turn = largest_turn(g, r);
  rings.erase(std::remove_if(rings.begin(), rings.end(), [](const Ring& r) { return !(r.turn > 2 * pi - 1e-9); }),
              rings.end());
  return rings;
}

namespace {

/// Whether a face can be part of a hole's wall on this axis.
bool wall(const Line& axis, const Face& f) {
  return f.concave && f.kind != Kind::plane && f.kind != Kind::spline && coaxial(axis, f);
}

/// A plane is a step or floor of the hole only if its whole outer edge is coaxial circles, and the faces across them
/// are wall: otherwise the top of a boss would be taken for a step.
bool step_plane(const Graph& g, const Line& axis, int f) {
  if (face(g, f).kind != Kind::plane || !parallel(axis.dir, face(g, f).axis)) return false;
  bool any = false;
  for (const int i : edges_of(g, f)) {
    const Edge& e = edge(g, i);
    if (!outer_of(e, f)) continue;
    if (!coaxial(axis, e) || !wall(axis, face(g, other(e, f)))) return false;
    any = true;
  }
  return any;
}

std::vector<int> chain_from(const Graph& g, const Ring& seed) {
  std::set<int> in(seed.faces.begin(), seed.faces.end());
  std::vector<int> queue = seed.faces;
  while (!queue.empty()) {
    const int f = queue.back();
    queue.pop_back();
    for (const int i : edges_of(g, f)) {
      const Edge& e = edge(g, i);
      const int to = other(e, f);
      if (in.count(to)) continue;
      const bool across = coaxial(seed.axis, e) && (wall(seed.axis, face(g, to)) || step_plane(g, seed.axis, to));
      // the other half of a split cone or cylinder lies across a straight seam
      const bool half = face(g, to).kind == face(g, f).kind && face(g, f).kind != Kind::plane &&
                        wall(seed.axis, face(g, to)) && e.turn == Turn::smooth;
      if (!across && !half) continue;
      in.insert(to);
      queue.push_back(to);
    }
  }
  return {in.begin(), in.end()};
}

struct Piece {
  Step kind;
  double lo, hi;      // along the axis
  double r_lo, r_hi;  // radii at lo and hi; annulus: inner and outer
  double semi_angle = 0;
  bool full = true;
  std::vector<int> faces;
};

Step step_of(Kind k) {
  switch (k) {
    case Kind::cylinder:
      return Step::cylinder;
    case Kind::cone:
      return Step::cone;
    case Kind::torus:
      return Step::torus;
    case Kind::sphere:
      return Step::sphere;
    default:
      return Step::annulus;
  }
}

/// Radius of the face's edges at its lowest and highest point along the axis (0 where it has no edge: a tip or pole).
Piece piece_of(const Graph& g, const Line& axis, int f) {
  const Face& x = face(g, f);
  Piece p{step_of(x.kind), 1e300, -1e300, 0, 0, x.semi_angle, true, {f}};
  const auto height = [&](Vec3 q) { return dot(q - axis.point, axis.dir); };
  const auto radius = [&](Vec3 q) { return norm(q - axis.point - height(q) * axis.dir); };
  double inner = 1e300, outer = 0;
  for (const int i : edges_of(g, f)) {
    const Edge& e = edge(g, i);
    for (const Vec3& q : e.points) {
      const double h = height(q), r = radius(q);
      if (h < p.lo - 1e-9) p.lo = h, p.r_lo = r;
      if (h > p.hi + 1e-9) p.hi = h, p.r_hi = r;
    }
    if (coaxial(axis, e)) {
      if (outer_of(e, f)) outer = std::max(outer, e.radius);
      else inner = std::min(inner, e.radius);
    }
  }
  if (x.kind == Kind::plane) p.r_lo = inner < 1e300 ? inner : 0, p.r_hi = outer;
  if (x.kind == Kind::cylinder) p.r_lo = p.r_hi = x.radius;
  if (x.kind == Kind::cone) {
    const double apex = height(x.point) - (dot(x.axis, axis.dir) > 0 ? 1 : -1) * 0.0;
    const double slope = std::tan(x.semi_angle);
    // x.point is the middle with radius x.radius; which way it widens shows in the edges
    const double sign = p.r_hi >= p.r_lo ? 1 : -1;
    p.r_lo = std::max(0.0, x.radius + sign * slope * (p.lo - apex));
    p.r_hi = std::max(0.0, x.radius + sign * slope * (p.hi - apex));
    if (p.r_lo < 1e-6) p.r_lo = 0;
    if (p.r_hi < 1e-6) p.r_hi = 0;
  }
  if (x.kind == Kind::sphere) {  // a cap reaches its pole
    const double c = height(x.point);
    const Vec3 up = x.point + x.radius * axis.dir, down = x.point - x.radius * axis.dir;
    if (g.covers(f, up)) p.hi = c + x.radius, p.r_hi = 0;
    if (g.covers(f, down)) p.lo = c - x.radius, p.r_lo = 0;
  }
  return p;
}

bool same_wall(const Piece& a, const Piece& b) {
  constexpr double t = 2e-6;
  if (a.kind != b.kind || std::fabs(a.semi_angle - b.semi_angle) > 1e-5) return false;
  if (a.kind == Step::cylinder) return std::fabs(a.r_lo - b.r_lo) <= t && a.lo <= b.hi + t && b.lo <= a.hi + t;
  if (a.kind == Step::annulus) return std::fabs(a.lo - b.lo) <= t;
  return a.lo < b.hi - t && b.lo < a.hi - t;  // halves of one cone, torus or sphere overlap along the axis
}

std::vector<Piece> profile_of(const Graph& g, const Line& axis, const std::vector<int>& faces,
                              const std::vector<Ring>& rings) {
  std::vector<Piece> pieces;
  for (const int f : faces) {
    const Piece p = piece_of(g, axis, f);
    const auto at = std::find_if(pieces.begin(), pieces.end(), [&](const Piece& q) { return same_wall(q, p); });
    if (at == pieces.end()) {
      pieces.push_back(p);
      continue;
    }
    if (p.lo < at->lo) at->lo = p.lo, at->r_lo = p.r_lo;
    if (p.hi > at->hi) at->hi = p.hi, at->r_hi = p.r_hi;
    if (p.kind == Step::annulus) at->r_lo = std::min(at->r_lo, p.r_lo), at->r_hi = std::max(at->r_hi, p.r_hi);
    at->faces.push_back(f);
  }
  for (Piece& p : pieces)
    for (const Ring& r : rings)
      if (p.kind == Step::cylinder && std::find(r.faces.begin(), r.faces.end(), p.faces.front()) != r.faces.end())
        p.full = r.turn > 2 * pi - 1e-9;
  std::stable_sort(pieces.begin(), pieces.end(),
                   [](const Piece& a, const Piece& b) { return a.lo + a.hi < b.lo + b.hi; });
  return pieces;
}

End end_of(const Piece& p, bool low) {
  if (p.kind == Step::annulus) return p.r_lo == 0 ? End::flat : End::open;
  if ((low ? p.r_lo : p.r_hi) > 0) return End::open;
  return p.kind == Step::cone ? End::cone : p.kind == Step::sphere ? End::sphere : End::open;
}

Segment segment_of(const Graph& g, const Piece& p, double before) {
  Segment s;
  s.kind = p.kind;
  s.d0 = 2 * p.r_lo;
  s.d1 = 2 * p.r_hi;
  if (p.kind == Step::annulus && std::fabs(before - s.d0) > std::fabs(before - s.d1)) std::swap(s.d0, s.d1);
  s.length = p.hi - p.lo;
  if (p.kind == Step::annulus) s.length = 0;
  s.semi_angle = p.semi_angle;
  s.full_circle = p.full;
  for (const int f : p.faces) s.faces.push_back(face(g, f).id);
  std::sort(s.faces.begin(), s.faces.end());
  return s;
}

void turn_round(Hole& h) {
  std::swap(h.p0, h.p1);
  std::swap(h.end0, h.end1);
  h.dir = -h.dir;
  std::reverse(h.profile.begin(), h.profile.end());
  for (Segment& s : h.profile) std::swap(s.d0, s.d1);
}

/// Which end is the start: the open one; of two open ends the wider; of two alike the one that points down the positive
/// side (so that the choice rests on geometry alone).
bool backward(const Hole& h) {
  const bool open0 = h.end0 == End::open, open1 = h.end1 == End::open;
  if (open0 != open1) return open1;
  const double d0 = h.profile.front().d0, d1 = h.profile.back().d1;
  if (std::fabs(d0 - d1) > 1e-6) return d1 > d0;
  for (const double c : {h.dir.z, h.dir.y, h.dir.x})
    if (std::fabs(c) > 1e-6) return c > 0;
  return false;
}

/// From an open end inward: a cylinder (grooves passed over) whose flat floor opens into a narrower cylinder.
bool counterbore(const std::vector<Segment>& p) {
  if (p.empty() || p.front().kind != Step::cylinder) return false;
  const double d = p.front().d0;
  for (std::size_t i = 1; i + 1 < p.size(); ++i)
    if (p[i].kind == Step::annulus && std::fabs(p[i].d0 - d) < 2e-6 && p[i].d1 < d && p[i].d1 > 0 &&
        p[i + 1].kind == Step::cylinder)
      return true;
  return false;
}

void name_shape(Hole& h) {
  double longest = 0, cone_tip = 0;
  std::vector<double> diameters;
  for (const Segment& s : h.profile)
    if (s.kind == Step::cylinder) {
      if (s.length > longest + 1e-6 || (s.length > longest - 1e-6 && s.d0 < h.diameter))
        longest = s.length, h.diameter = s.d0;
      if (std::none_of(diameters.begin(), diameters.end(), [&](double d) { return std::fabs(d - s.d0) < 2e-6; }))
        diameters.push_back(s.d0);
    }
  for (const Segment& s : h.profile)  // no cylinder: a tapered hole, named by its middle
    if (diameters.empty() && s.kind == Step::cone && s.length > longest)
      longest = s.length, h.diameter = (s.d0 + s.d1) / 2;
  h.through = h.end0 == End::open && h.end1 == End::open;
  h.stepped = diameters.size() > 1;
  const Segment& last = h.profile.back();
  if (h.end1 == End::cone) {
    h.tip_angle = 2 * last.semi_angle;
    cone_tip = last.length;
  }
  h.depth = norm(h.p1 - h.p0) - cone_tip;
  std::vector<Segment> back(h.profile.rbegin(), h.profile.rend());
  for (Segment& s : back) std::swap(s.d0, s.d1);
  for (const auto* from : {&h.profile, &back}) {
    if ((from == &back ? h.end1 : h.end0) != End::open) continue;
    if (from->front().kind == Step::cone && from->front().semi_angle > 15 * pi / 180 &&
        from->front().d0 > from->front().d1)
      h.countersunk = true;
    if (counterbore(*from)) h.counterbored = true;
  }
}

}  // namespace

std::vector<FoundHole> holes_of(const Graph& g, const std::vector<Ring>& rings, const std::vector<Ring>& tapers) {
  std::vector<FoundHole> out;
  std::set<int> used;
  std::vector<Ring> seeds = rings;
  seeds.insert(seeds.end(), tapers.begin(), tapers.end());
  for (const Ring& seed : seeds) {
    if (!(seed.turn > 2 * pi - 1e-9) || used.count(seed.faces.front())) continue;
    FoundHole found;
    found.axis = seed.axis;
    found.faces = chain_from(g, seed);
    used.insert(found.faces.begin(), found.faces.end());
    const std::vector<Piece> pieces = profile_of(g, seed.axis, found.faces, rings);
    double lo = 1e300, hi = -1e300;
    for (const Piece& p : pieces) lo = std::min(lo, p.lo), hi = std::max(hi, p.hi);
    Hole& h = found.hole;
    h.dir = seed.axis.dir;
    h.p0 = seed.axis.point + lo * seed.axis.dir;
    h.p1 = seed.axis.point + hi * seed.axis.dir;
    h.end0 = end_of(pieces.front(), true);
    h.end1 = end_of(pieces.back(), false);
    for (const Piece& p : pieces) h.profile.push_back(segment_of(g, p, h.profile.empty() ? 0 : h.profile.back().d1));
    const std::set<int> in(found.faces.begin(), found.faces.end());
    for (const int f : found.faces)
      for (const int i : edges_of(g, f)) {
        const Edge& e = edge(g, i);
        if (in.count(other(e, f))) continue;
        if (!coaxial(seed.axis, e)) ++h.side_openings;
        else if (e.spline) ++h.spline_rims;
      }
    if (backward(h)) turn_round(h);
    name_shape(h);
    out.push_back(std::move(found));
  }
  return out;
}

}  // namespace fettle::solid
