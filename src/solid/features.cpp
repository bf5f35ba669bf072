// From faces and holes to what a machinist names: planes, pockets, slots, grooves, bosses, rounds; with ids that rest
// on geometry alone, so that a re-export with other entity numbers gives the same ids.
#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "solid/graph.h"
#include "solid/holes.h"

namespace fettle::solid {
namespace {

constexpr double pi = 3.14159265358979323846;
constexpr double near = 2e-6;  // m

using Key = std::vector<long long>;

const Face& face(const Graph& g, int i) { return g.faces[static_cast<std::size_t>(i)]; }
const Edge& edge(const Graph& g, int i) { return g.edges[static_cast<std::size_t>(i)]; }
const std::vector<int>& edges_of(const Graph& g, int f) { return g.face_edges[static_cast<std::size_t>(f)]; }
int other(const Edge& e, int f) { return e.face[0] == f ? e.face[1] : e.face[0]; }

/// Micrometre steps, shifted so that round numbers in mm or inch do not lie on a border between two steps.
void add(Key& k, double metres) { k.push_back(static_cast<long long>(std::floor(metres * 1e6 + 0.3137))); }
void add(Key& k, Vec3 p) { add(k, p.x), add(k, p.y), add(k, p.z); }

/// Sorts by key and numbers: "hole1", "hole2", ... Equal keys keep their order.
template <class T, class F>
void number(std::vector<T>& list, const std::string& kind, F key) {
  std::vector<std::pair<Key, std::size_t>> order;
  for (std::size_t i = 0; i < list.size(); ++i) order.emplace_back(key(list[i]), i);
  std::sort(order.begin(), order.end());
  std::vector<T> sorted;
  for (const auto& [k, i] : order) {
    sorted.push_back(std::move(list[i]));
    sorted.back().id = kind + std::to_string(sorted.size());
  }
  list = std::move(sorted);
}

std::vector<int> ids_of(const Graph& g, const std::vector<int>& faces) {
  std::vector<int> out;
  out.reserve(faces.size());
  for (const int f : faces) out.push_back(face(g, f).id);
  std::sort(out.begin(), out.end());
  return out;
}

Vec3 settled(Vec3 a) {
  for (const double c : {a.z, a.y, a.x})
    if (std::fabs(c) > 1e-6) return c > 0 ? a : -a;
  return a;
}

/// Ends of a ring along its settled axis.
void ends(const Ring& r, Vec3& p0, Vec3& p1, Vec3& dir) {
  dir = settled(r.axis.dir);
  p0 = r.axis.point + r.lo * r.axis.dir;
  p1 = r.axis.point + r.hi * r.axis.dir;
  if (dot(dir, r.axis.dir) < 0) std::swap(p0, p1);
}

void grow(Box& b, const Box& o) {
  b.lo = {std::min(b.lo.x, o.lo.x), std::min(b.lo.y, o.lo.y), std::min(b.lo.z, o.lo.z)};
  b.hi = {std::max(b.hi.x, o.hi.x), std::max(b.hi.y, o.hi.y), std::max(b.hi.z, o.hi.z)};
}

std::vector<PlaneFeature> planes_of(const Graph& g) {
  std::vector<PlaneFeature> out;
  for (const Face& f : g.faces) {
    if (f.kind != Kind::plane) continue;
    const auto at = std::find_if(out.begin(), out.end(), [&](const PlaneFeature& p) {
      return norm(cross(p.normal, f.axis)) <= 1e-5 && dot(p.normal, f.axis) > 0 &&
             std::fabs(dot(p.normal, f.centroid) - p.offset) <= near;
    });
    if (at == out.end()) {
      out.push_back({{}, f.axis, dot(f.axis, f.centroid), f.area, f.centroid, f.box, false, {f.id}});
      continue;
    }
    at->centroid = 1 / (at->area + f.area) * (at->area * at->centroid + f.area * f.centroid);
    at->area += f.area;
    grow(at->box, f.box);
    at->faces.push_back(f.id);
  }
  return out;
}

/// Whether a face stands on a floor with this upward normal: within 30 degrees of the normal all over.
bool stands(const Face& f, Vec3 up) {
  constexpr double lean = 0.5;
  switch (f.kind) {
    case Kind::plane:
      return std::fabs(dot(f.axis, up)) < lean;
    case Kind::cylinder:
      return parallel(f.axis, up);
    case Kind::cone:
      return parallel(f.axis, up) && std::sin(f.semi_angle) < lean;
    default:
      return !f.samples.empty() && std::all_of(f.samples.begin(), f.samples.end(),
                                               [&](const Sample& s) { return std::fabs(dot(s.normal, up)) < lean; });
  }
}

/// What is found walking round a floor's outer edge.
struct Rim {
  std::set<int> walls, fillets;
  double fillet = 0;
  std::vector<int> open;  ///< edges without a wall
};

/// Plane faces that go on into one another without a bend: exporters split floors too.
std::set<int> level_with(const Graph& g, int first) {
  std::set<int> floor = {first};
  std::vector<int> queue = {first};
  while (!queue.empty()) {
    const int f = queue.back();
    queue.pop_back();
    for (const int i : edges_of(g, f)) {
      const int to = other(edge(g, i), f);
      if (edge(g, i).turn != Turn::smooth || face(g, to).kind != Kind::plane) continue;
      if (!(dot(face(g, to).axis, face(g, first).axis) > 1 - 1e-9) || !floor.insert(to).second) continue;
      queue.push_back(to);
    }
  }
  return floor;
}

/// The outer edges of a floor (one face or several level ones) and what stands beyond them.
Rim rim_of(const Graph& g, const std::set<int>& floors) {
  Rim rim;
  const Vec3 up = face(g, *floors.begin()).axis;
  std::vector<std::pair<int, int>> edges;
  for (const int floor : floors)
    for (const int i : edges_of(g, floor)) {
      const Edge& e = edge(g, i);
      if ((e.face[0] == floor ? e.outer[0] : e.outer[1]) && !floors.count(other(e, floor)))
        edges.emplace_back(i, floor);
    }
  for (const auto& [i, floor] : edges) {
    const Edge& e = edge(g, i);
    const int to = other(e, floor);
    const Face& f = face(g, to);
    if (e.turn == Turn::concave && stands(f, up)) {
      rim.walls.insert(to);
      continue;
    }
    bool wall = false;
    if (e.turn == Turn::smooth && f.concave && f.kind != Kind::plane) {  // a fillet: the wall stands beyond it
      for (const int k : edges_of(g, to)) {
        const int beyond = other(edge(g, k), to);
        if (beyond == floor || beyond == to || edge(g, k).turn != Turn::smooth) continue;
        if (!stands(face(g, beyond), up) || face(g, beyond).kind == Kind::torus) continue;
        rim.walls.insert(beyond);
        wall = true;
      }
      if (f.kind == Kind::sphere || f.kind == Kind::torus) wall = true;  // a corner between fillets
      if (wall) {
        rim.fillets.insert(to);
        const double r = f.kind == Kind::torus ? f.minor_radius : f.radius;
        if (f.kind != Kind::spline) rim.fillet = rim.fillet > 0 ? std::min(rim.fillet, r) : r;
      }
    }
    if (!wall) rim.open.push_back(i);
  }
  return rim;
}

/// Edges that meet end to end count as one open side.
int runs(const Graph& g, const std::vector<int>& edges) {
  std::vector<int> group(edges.size());
  for (std::size_t i = 0; i < group.size(); ++i) group[i] = static_cast<int>(i);
  const auto meet = [&](int a, int b) {
    for (const Vec3 p : {edge(g, a).points.front(), edge(g, a).points.back()})
      for (const Vec3 q : {edge(g, b).points.front(), edge(g, b).points.back()})
        if (norm(p - q) <= near) return true;
    return false;
  };
  int count = static_cast<int>(edges.size());
  for (std::size_t i = 0; i < edges.size(); ++i)
    for (std::size_t k = i + 1; k < edges.size(); ++k) {
      if (group[i] == group[k] || !meet(edges[i], edges[k])) continue;
      --count;
      const int from = group[k], to = group[i];
      std::replace(group.begin(), group.end(), from, to);
    }
  return count;
}

double extent(const std::vector<Vec3>& points, Vec3 t) {
  double lo = 1e300, hi = -1e300;
  for (const Vec3& q : points) lo = std::min(lo, dot(q, t)), hi = std::max(hi, dot(q, t));
  return hi - lo;
}

/// Two plane walls that look at each other, at most twice their own length apart; the distance between the nearest such
/// pair, 0 when there is none.
double facing(const Graph& g, const std::set<int>& walls, Vec3 up) {
  double best = 0;
  for (const int a : walls)
    for (const int b : walls) {
      const Face &p = face(g, a), &q = face(g, b);
      if (a >= b || p.kind != Kind::plane || q.kind != Kind::plane) continue;
      if (!(dot(p.axis, q.axis) < -0.99)) continue;
      const double gap = dot(q.centroid - p.centroid, p.axis);
      const Vec3 t = frame::unit(cross(up, p.axis));
      if (gap > 2 * std::min(extent(p.outline, t), extent(q.outline, t))) continue;
      if (gap > 0 && (best == 0 || gap < best)) best = gap;
    }
  return best;
}

/// The rectangle round the points in the floor's plane, one side along the longest wall.
void measure(const Graph& g, const Rim& rim, const std::vector<Vec3>& points, Vec3 fallback, Pocket& p) {
  Vec3 along = fallback;
  double longest = 0;
  for (const int w : rim.walls) {
    const Face& f = face(g, w);
    if (f.kind != Kind::plane) continue;
    const Vec3 t = frame::unit(cross(p.up, f.axis));
    const double size = extent(f.outline, t);
    if (size > longest + near) longest = size, along = t;
  }
  Vec3 across = cross(p.up, along);
  const auto span = [&](Vec3 t, double& middle) {
    double lo = 1e300, hi = -1e300;
    for (const Vec3& q : points) lo = std::min(lo, dot(q, t)), hi = std::max(hi, dot(q, t));
    middle = (lo + hi) / 2;
    return hi - lo;
  };
  double a = 0, b = 0;
  p.length = span(along, a);
  p.width = span(across, b);
  const double h = dot(points.front(), p.up);
  p.centre = a * along + b * across + h * p.up;
  if (p.width > p.length + near) {
    std::swap(p.width, p.length);
    along = across;
  }
  p.along = settled(along);
}

double corner_radius(const Graph& g, const std::set<int>& walls, Vec3 up) {
  double r = 0;
  for (const int w : walls) {
    const Face& f = face(g, w);
    if (f.kind == Kind::cylinder && f.concave && parallel(f.axis, up)) r = r > 0 ? std::min(r, f.radius) : f.radius;
  }
  return r;
}

std::vector<Pocket> pockets_of(const Graph& g, const std::set<int>& in_holes) {
  std::vector<std::pair<double, Pocket>> found;
  std::set<int> seen;
  for (int i = 0; i < static_cast<int>(g.faces.size()); ++i) {
    const Face& f = face(g, i);
    if (f.kind != Kind::plane || in_holes.count(i) || seen.count(i)) continue;
    const std::set<int> floor = level_with(g, i);
    seen.insert(floor.begin(), floor.end());
    const Rim rim = rim_of(g, floor);
    if (rim.walls.empty()) continue;
    const double gap = facing(g, rim.walls, f.axis);
    const int open = runs(g, rim.open);
    if (open > 3 || (open > 0 && gap == 0)) continue;  // a shoulder
    Pocket p;
    p.up = f.axis;
    std::vector<Vec3> points;
    double area = 0;
    for (const int k : floor) {
      points.insert(points.end(), face(g, k).outline.begin(), face(g, k).outline.end());
      area += face(g, k).area;
    }
    if (points.size() < 3) continue;
    for (const int k : rim.fillets)
      for (const Vec3& q : face(g, k).outline) points.push_back(q + dot(points.front() - q, p.up) * p.up);
    const Vec3 side = std::fabs(p.up.x) < 0.9 ? Vec3{1, 0, 0} : Vec3{0, 1, 0};
    measure(g, rim, points, frame::unit(side - dot(side, p.up) * p.up), p);
    double depth = 1e300;
    for (const int w : rim.walls) {
      double top = 0;
      for (const Vec3& q : face(g, w).outline) top = std::max(top, dot(q - f.centroid, p.up));
      depth = std::min(depth, top);
    }
    p.depth = depth;
    p.corner_radius = corner_radius(g, rim.walls, p.up);
    p.floor_radius = rim.fillet;
    p.open_sides = open;
    const bool round_ends =
        p.corner_radius > 0 && std::fabs(2 * p.corner_radius - p.width) <= 2 * near && p.length > p.width + near;
    p.slot = gap > 0 && (round_ends || ((open == 1 || open == 2) && gap < p.length + near));
    p.floor = ids_of(g, {floor.begin(), floor.end()});
    p.walls = ids_of(g, {rim.walls.begin(), rim.walls.end()});
    found.emplace_back(area, std::move(p));
  }
  // The wall of a pocket can itself pass for the floor of one that opens sideways: closed ones and large floors go
  // first.
  std::stable_sort(found.begin(), found.end(), [](const auto& a, const auto& b) {
    if (a.second.open_sides != b.second.open_sides) return a.second.open_sides < b.second.open_sides;
    return a.first > b.first;
  });
  std::vector<Pocket> out;
  std::set<int> walls;
  for (auto& [area, p] : found) {
    if (walls.count(p.floor.front())) continue;
    walls.insert(p.walls.begin(), p.walls.end());
    out.push_back(std::move(p));
  }
  return out;
}

/// Slots that go through: two half rings of one radius, joined by two plane walls.
void through_slots(const Graph& g, const std::vector<Ring>& rings, std::vector<Pocket>& out) {
  const auto plane_neighbours = [&](const Ring& r) {
    std::set<int> planes;
    for (const int f : r.faces)
      for (const int i : edges_of(g, f)) {
        const int to = other(edge(g, i), f);
        if (face(g, to).kind == Kind::plane && edge(g, i).turn == Turn::smooth &&
            std::fabs(dot(face(g, to).axis, r.axis.dir)) < 1e-5)
          planes.insert(to);
      }
    return planes;
  };
  const auto taken = [&](int id) {
    return std::any_of(out.begin(), out.end(),
                       [&](const Pocket& p) { return std::binary_search(p.walls.begin(), p.walls.end(), id); });
  };
  for (std::size_t a = 0; a < rings.size(); ++a)
    for (std::size_t b = a + 1; b < rings.size(); ++b) {
      const Ring &r = rings[a], &s = rings[b];
      if (std::fabs(r.radius - s.radius) > near || !parallel(r.axis.dir, s.axis.dir)) continue;
      if (std::fabs(r.turn - pi) > 0.2 || std::fabs(s.turn - pi) > 0.2) continue;
      const auto p = plane_neighbours(r), q = plane_neighbours(s);
      std::vector<int> both;
      std::set_intersection(p.begin(), p.end(), q.begin(), q.end(), std::back_inserter(both));
      if (both.size() < 2 || taken(face(g, r.faces.front()).id)) continue;
      Pocket slot;
      slot.up = settled(r.axis.dir);
      Vec3 r0, r1, s0, s1, dir;
      ends(r, r0, r1, dir);
      ends(s, s0, s1, dir);
      const Vec3 shift = s1 - r1 - dot(s1 - r1, dir) * dir;
      slot.centre = r1 + 0.5 * (s1 - r1);
      slot.along = settled(frame::unit(shift));
      slot.width = 2 * r.radius;
      slot.length = norm(shift) + slot.width;
      slot.depth = std::max(norm(r1 - r0), norm(s1 - s0));
      slot.corner_radius = r.radius;
      slot.slot = slot.through = true;
      std::vector<int> walls = both;
      walls.insert(walls.end(), r.faces.begin(), r.faces.end());
      walls.insert(walls.end(), s.faces.begin(), s.faces.end());
      slot.walls = ids_of(g, walls);
      out.push_back(std::move(slot));
    }
}

/// Grooves in the profile of a hole: a wider cylinder between two side walls. Wider than half its diameter it is a
/// chamber, not a ring groove.
void grooves_in(const Hole& h, std::vector<Groove>& out) {
  double at = 0;
  for (std::size_t i = 0; i < h.profile.size(); at += h.profile[i].length, ++i) {
    const Segment& s = h.profile[i];
    if (i == 0 || i + 1 == h.profile.size() || s.kind != Step::cylinder) continue;
    const Segment &before = h.profile[i - 1], &after = h.profile[i + 1];
    if (before.kind != Step::annulus || after.kind != Step::annulus) continue;
    if (!(before.d0 < s.d0 - near) || !(after.d1 < s.d0 - near) || after.d1 == 0 || before.d0 == 0) continue;
    if (!(s.length <= 0.5 * s.d0)) continue;
    Groove v;
    v.hole = h.id;
    v.p0 = h.p0 + at * h.dir;
    v.p1 = v.p0 + s.length * h.dir;
    v.dir = h.dir;
    v.diameter = s.d0;
    v.bore = std::max(before.d0, after.d1);
    v.width = s.length;
    for (const Segment* each : {&before, &s, &after})
      v.faces.insert(v.faces.end(), each->faces.begin(), each->faces.end());
    std::sort(v.faces.begin(), v.faces.end());
    out.push_back(std::move(v));
  }
}

void grooves_on(const Graph& g, const Ring& r, std::vector<Groove>& out) {
  if (!(r.hi - r.lo <= r.radius)) return;
  std::set<int> low, high;
  double outer_low = 0, outer_high = 0;
  for (const int f : r.faces)
    for (const int i : edges_of(g, f)) {
      const Edge& e = edge(g, i);
      const int to = other(e, f);
      if (!coaxial(r.axis, e) || e.turn != Turn::concave || face(g, to).kind != Kind::plane) continue;
      const double h = dot(e.centre - r.axis.point, r.axis.dir);
      double outer = 0;
      for (const int k : edges_of(g, to))
        if (coaxial(r.axis, edge(g, k))) outer = std::max(outer, edge(g, k).radius);
      const bool lower = std::fabs(h - r.lo) <= near;
      (lower ? low : high).insert(to);
      (lower ? outer_low : outer_high) = outer;
    }
  if (low.empty() || high.empty() || !(std::min(outer_low, outer_high) > r.radius + near)) return;
  Groove v;
  ends(r, v.p0, v.p1, v.dir);
  v.diameter = 2 * r.radius;
  v.bore = 2 * std::min(outer_low, outer_high);
  v.width = r.hi - r.lo;
  v.inside = false;
  std::vector<int> faces = r.faces;
  faces.insert(faces.end(), low.begin(), low.end());
  faces.insert(faces.end(), high.begin(), high.end());
  v.faces = ids_of(g, faces);
  out.push_back(std::move(v));
}

Key hole_key(const Hole& h) {
  Key k;
  add(k, -h.diameter), add(k, 0.5 * (h.p0 + h.p1)), add(k, h.p0), add(k, h.p1);
  return k;
}

}  // namespace

void find_features(const Graph& g, Model& model) {
  const auto concave = rings_of(g, true), convex = rings_of(g, false);
  std::set<int> in_holes;
  for (auto& found : holes_of(g, concave, tapers_of(g))) {
    in_holes.insert(found.faces.begin(), found.faces.end());
    model.holes.push_back(std::move(found.hole));
  }
  number(model.holes, "hole", hole_key);

  for (const auto* rings : {&concave, &convex})
    for (const Ring& r : *rings) {
      if (in_holes.count(r.faces.front())) continue;
      const bool closed = r.turn > 2 * pi - 1e-9;
      if (rings == &convex && closed) {
        Boss b;
        ends(r, b.p0, b.p1, b.dir);
        b.diameter = 2 * r.radius;
        b.faces = ids_of(g, r.faces);
        model.bosses.push_back(std::move(b));
        grooves_on(g, r, model.grooves);
      } else {
        Round c;
        ends(r, c.p0, c.p1, c.dir);
        c.radius = r.radius;
        c.turn = r.turn;
        c.concave = rings == &concave;
        c.faces = ids_of(g, r.faces);
        model.rounds.push_back(std::move(c));
      }
    }
  const auto round_key = [](const auto& c) {
    Key k;
    add(k, 0.5 * (c.p0 + c.p1)), add(k, c.p0), add(k, c.p1);
    return k;
  };
  number(model.bosses, "boss", [&](const Boss& b) {
    Key k = round_key(b);
    Key size;
    add(size, -b.diameter);
    k.insert(k.begin(), size.begin(), size.end());
    return k;
  });
  number(model.rounds, "round", [&](const Round& c) {
    Key k;
    add(k, c.concave ? 0 : 1), add(k, -c.radius);
    const Key place = round_key(c);
    k.insert(k.end(), place.begin(), place.end());
    return k;
  });

  model.pockets = pockets_of(g, in_holes);
  through_slots(g, concave, model.pockets);
  number(model.pockets, "pocket", [](const Pocket& p) {
    Key k;
    add(k, -p.length), add(k, -p.width), add(k, p.centre), add(k, p.up);
    return k;
  });

  for (const Hole& h : model.holes) grooves_in(h, model.grooves);
  number(model.grooves, "groove", [&](const Groove& v) {
    Key k;
    add(k, -v.diameter), add(k, 0.5 * (v.p0 + v.p1)), add(k, v.width);
    return k;
  });

  model.planes = planes_of(g);
  std::set<int> floors;
  for (const Pocket& p : model.pockets) floors.insert(p.floor.begin(), p.floor.end());
  for (const Hole& h : model.holes)
    for (const Segment& s : h.profile)
      if (s.kind == Step::annulus) floors.insert(s.faces.begin(), s.faces.end());
  for (PlaneFeature& p : model.planes)
    p.floor = std::all_of(p.faces.begin(), p.faces.end(), [&](int f) { return floors.count(f) > 0; });
  number(model.planes, "plane", [](const PlaneFeature& p) {
    Key k;
    add(k, -1e3 * p.area), add(k, p.normal), add(k, p.offset), add(k, p.centroid);
    return k;
  });
}

}  // namespace fettle::solid
