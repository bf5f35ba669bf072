// Which turns and mirrors carry the part into itself, and what breaks them.
#include <algorithm>
#include <cmath>
#include <functional>
#include <map>
#include <set>

#include "solid/graph.h"

namespace fettle::solid {
namespace {

constexpr double near = 5e-6;  // m

/// One way to look at a feature: plain sizes, places, and directions. Two features are alike when their sizes agree and
/// a view of the one, turned, is a view of the other.
struct View {
  std::vector<double> sizes;
  std::vector<Vec3> points;
  std::vector<Vec3> directions;
};
struct Item {
  std::string id;
  int kind = 0;
  std::vector<View> views;
  std::vector<int> faces;
};

using Map = std::function<Vec3(Vec3)>;  // linear part of the turn or mirror

bool alike(const View& a, const View& b, const Map& turn, Vec3 centre) {
  if (a.sizes.size() != b.sizes.size() || a.points.size() != b.points.size()) return false;
  for (std::size_t i = 0; i < a.sizes.size(); ++i)
    if (!(std::fabs(a.sizes[i] - b.sizes[i]) <= near)) return false;
  for (std::size_t i = 0; i < a.points.size(); ++i)
    if (!(norm(turn(a.points[i] - centre) + centre - b.points[i]) <= near)) return false;
  for (std::size_t i = 0; i < a.directions.size(); ++i)
    if (!(norm(turn(a.directions[i]) - b.directions[i]) <= 1e-4)) return false;
  return true;
}

bool alike(const Item& a, const Item& b, const Map& turn, Vec3 centre) {
  if (a.kind != b.kind) return false;
  for (const View& v : a.views)
    if (alike(v, b.views.front(), turn, centre)) return true;
  return false;
}

View hole_view(const Hole& h, bool back) {
  View v;
  std::vector<Segment> profile = h.profile;
  if (back) {
    std::reverse(profile.begin(), profile.end());
    for (Segment& s : profile) std::swap(s.d0, s.d1);
  }
  for (const Segment& s : profile) {
    v.sizes.insert(v.sizes.end(), {s.d0, s.d1, s.length, static_cast<double>(s.kind)});
  }
  v.sizes.push_back(static_cast<double>(back ? h.end1 : h.end0));
  v.sizes.push_back(static_cast<double>(back ? h.end0 : h.end1));
  v.points = back ? std::vector<Vec3>{h.p1, h.p0} : std::vector<Vec3>{h.p0, h.p1};
  return v;
}

/// Area and its centroid over some faces: the same whether a round face was split in halves or not.
void bulk(const Model& m, const std::vector<int>& faces, double& area, Vec3& centroid) {
  area = 0;
  Vec3 sum;
  for (const int id : faces)
    if (const Face* f = m.face(id)) area += f->area, sum = sum + f->area * f->centroid;
  centroid = area > 0 ? 1 / area * sum : sum;
}

/// Faces of one surface (halves of a torus, a cone) that belong to no named feature.
bool same_surface(const Face& a, const Face& b) {
  if (a.kind != b.kind || a.kind == Kind::spline) return false;
  const auto apex = [](const Face& f) { return f.kind == Kind::cone ? f.radius / std::tan(f.semi_angle) : 0; };
  return std::fabs(a.radius - b.radius) <= near && std::fabs(a.minor_radius - b.minor_radius) <= near &&
         std::fabs(a.semi_angle - b.semi_angle) <= 1e-5 && std::fabs(apex(a) - apex(b)) <= 1e-4 &&
         norm(a.point - b.point) <= near && a.concave == b.concave;
}

std::vector<Item> items_of(const Model& m) {
  std::vector<Item> out;
  std::set<int> named;
  const auto keep = [&](Item item) {
    named.insert(item.faces.begin(), item.faces.end());
    out.push_back(std::move(item));
  };
  for (const Hole& h : m.holes) {
    Item i{h.id, 0, {hole_view(h, false), hole_view(h, true)}, {}};
    for (const Segment& s : h.profile) i.faces.insert(i.faces.end(), s.faces.begin(), s.faces.end());
    keep(std::move(i));
  }
  for (const Pocket& p : m.pockets) {
    Item i{p.id, 1, {}, p.floor};
    i.faces.insert(i.faces.end(), p.walls.begin(), p.walls.end());
    const bool square = std::fabs(p.length - p.width) <= near;
    for (const double s : {1.0, -1.0}) {
      View v{{p.length, p.width, p.depth, p.corner_radius, p.floor_radius, p.slot ? 1.0 : 0.0, p.through ? 1.0 : 0.0},
             {p.centre},
             {p.up}};
      if (!square) v.directions.push_back(s * p.along);
      if (p.through) v.points = {p.centre - 0.5 * p.depth * p.up}, v.directions.erase(v.directions.begin());
      i.views.push_back(std::move(v));
    }
    keep(std::move(i));
  }
  for (const Groove& v : m.grooves)
    if (!v.inside)
      keep({v.id,
            2,
            {{{v.diameter, v.width, v.bore}, {v.p0, v.p1}, {}}, {{v.diameter, v.width, v.bore}, {v.p1, v.p0}, {}}},
            v.faces});
  for (const Boss& b : m.bosses)
    keep({b.id, 3, {{{b.diameter}, {b.p0, b.p1}, {}}, {{b.diameter}, {b.p1, b.p0}, {}}}, b.faces});
  for (const Round& r : m.rounds) {
    Item i{r.id, 4, {}, r.faces};
    double area = 0;
    Vec3 c;
    bulk(m, r.faces, area, c);
    for (const bool back : {false, true})
      i.views.push_back(
          {{r.radius, std::sqrt(area), r.concave ? 1.0 : 0.0}, {c, back ? r.p1 : r.p0, back ? r.p0 : r.p1}, {}});
    keep(std::move(i));
  }
  // A plane is told by where it lies and how far it reaches; what is cut into it speaks for itself.
  for (const PlaneFeature& p : m.planes) {
    const Vec3 middle = 0.5 * (p.box.lo + p.box.hi), size = p.box.hi - p.box.lo;
    keep({p.id, 5, {{{norm(size)}, {middle}, {p.normal}}}, p.faces});
  }
  std::vector<std::vector<int>> loose;
  for (const Face& f : m.faces) {
    if (named.count(f.id)) continue;
    const auto at =
        std::find_if(loose.begin(), loose.end(), [&](const auto& l) { return same_surface(*m.face(l.front()), f); });
    if (at == loose.end()) loose.push_back({f.id});
    else at->push_back(f.id);
  }
  for (const auto& l : loose) {
    const Face& f = *m.face(l.front());
    double area = 0;
    Vec3 c;
    bulk(m, l, area, c);
    out.push_back({"face #" + std::to_string(f.id),
                   10 + static_cast<int>(f.kind),
                   {{{std::sqrt(area), f.radius, f.minor_radius, f.concave ? 1.0 : 0.0}, {c}, {}}},
                   l});
  }
  return out;
}

Way try_way(const std::string& name, const Map& turn, const Model& m, const std::vector<Item>& items, Vec3 centre) {
  const Vec3 half = 0.5 * (m.box.hi - m.box.lo);
  Way way;
  way.name = name;
  const Vec3 turned = turn(half);
  way.box_fits = std::fabs(std::fabs(turned.x) - half.x) <= near && std::fabs(std::fabs(turned.y) - half.y) <= near &&
                 std::fabs(std::fabs(turned.z) - half.z) <= near;
  std::set<int> told;  // faces of breakers named so far: a wall of a pocket that breaks the symmetry is not named again
  for (const Item& i : items) {
    const bool found =
        std::any_of(items.begin(), items.end(), [&](const Item& o) { return alike(i, o, turn, centre); });
    if (found) continue;
    if (i.kind >= 4 && std::all_of(i.faces.begin(), i.faces.end(), [&](int f) { return told.count(f) > 0; })) continue;
    way.breakers.push_back(i.id);
    told.insert(i.faces.begin(), i.faces.end());
  }
  way.same = way.box_fits && way.breakers.empty() && norm(turn(m.centroid - centre) + centre - m.centroid) <= near;
  return way;
}

}  // namespace

void find_ways(const Graph&, Model& m) {
  const std::vector<Item> items = items_of(m);
  const std::pair<const char*, Map> maps[] = {
      {"half turn about X",
       [](Vec3 v) {
         return Vec3{v.x, -v.y, -v.z};
       }},
      {"half turn about Y",
       [](Vec3 v) {
         return Vec3{-v.x, v.y, -v.z};
       }},
      {"half turn about Z",
       [](Vec3 v) {
         return Vec3{-v.x, -v.y, v.z};
       }},
      {"quarter turn about X",
       [](Vec3 v) {
         return Vec3{v.x, -v.z, v.y};
       }},
      {"quarter turn about Y",
       [](Vec3 v) {
         return Vec3{v.z, v.y, -v.x};
       }},
      {"quarter turn about Z",
       [](Vec3 v) {
         return Vec3{-v.y, v.x, v.z};
       }},
      {"mirror in X",
       [](Vec3 v) {
         return Vec3{-v.x, v.y, v.z};
       }},
      {"mirror in Y",
       [](Vec3 v) {
         return Vec3{v.x, -v.y, v.z};
       }},
      {"mirror in Z",
       [](Vec3 v) {
         return Vec3{v.x, v.y, -v.z};
       }},
  };
  for (const auto& [name, map] : maps) {
    // About the middle of the box; a stub on one side shifts that, so the centroid and the origin are tried as well.
    Way best;
    for (const Vec3 centre : {0.5 * (m.box.lo + m.box.hi), m.centroid, Vec3{}}) {
      Way way = try_way(name, map, m, items, centre);
      if (best.name.empty() || way.breakers.size() < best.breakers.size()) best = std::move(way);
      if (best.breakers.empty()) break;
    }
    m.ways.push_back(std::move(best));
  }
}

}  // namespace fettle::solid
