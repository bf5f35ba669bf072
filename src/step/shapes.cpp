#include "step/shapes.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.h"

namespace fettle::step {
namespace {

using frame::cross;
using frame::dot;
using frame::norm;
using frame::Vec3;

constexpr double same_length = 1e-6;  // m: one micrometre, the rounding of exporters
constexpr double same_angle = 1e-6;   // rad

class ShapeReader : public Entities {
 public:
  ShapeReader(const File& file, double length) : Entities(file), length_(length) {}

  Shapes run() {
    for (const char* key : {"ADVANCED_FACE", "FACE_SURFACE"})
      for (auto i : f_.all(key)) {
        const Instance& e = f_.instances()[i];
        FaceShape shape = face(target(attribute(e, "FACE_SURFACE", 0, 2)));
        const Value* sense = attribute(e, "FACE_SURFACE", 1, 3);
        shape.inward = sense && sense->kind == Kind::enumeration && f_.raw(*sense) == "F";
        shapes_.faces.emplace(e.id, shape);
      }
    for (auto i : f_.all("EDGE_CURVE")) {
      const Instance& e = f_.instances()[i];
      shapes_.edges.emplace(e.id, edge(e));
    }
    for (const char* key : {"MANIFOLD_SOLID_BREP", "BREP_WITH_VOIDS", "FACETED_BREP"})
      for (auto i : f_.all(key)) solid(f_.instances()[i]);
    return std::move(shapes_);
  }

 private:
  std::optional<double> radius(const Instance& e, std::string_view key, std::size_t own, std::size_t flat) const {
    const auto r = plain(attribute(e, key, own, flat));
    if (!r || !(*r >= 0)) return std::nullopt;
    return length_ * *r;
  }
  FaceShape face(const Instance* s) const {
    FaceShape out;
    if (!s) return out;
    const Instance* where = target(attribute(*s, "ELEMENTARY_SURFACE", 0, 1));
    const auto at = where ? placement(*where, length_) : std::nullopt;
    if (!at) return out;
    struct Round {
      Surface surface;
      std::string_view key;
      std::size_t radius;  // parameter of the (small) radius in the simple form
    };
    constexpr std::array<Round, 5> rounds = {{{Surface::plane, "PLANE", 0},
                                              {Surface::cylinder, "CYLINDRICAL_SURFACE", 2},
                                              {Surface::cone, "CONICAL_SURFACE", 2},
                                              {Surface::sphere, "SPHERICAL_SURFACE", 2},
                                              {Surface::torus, "TOROIDAL_SURFACE", 3}}};
    for (const Round& k : rounds) {
      if (!is(*s, k.key)) continue;
      out.point_P = at->point;
      out.axis_P = at->axis;
      if (k.radius > 0) {
        const auto r = radius(*s, k.key, k.radius - 2, k.radius);
        if (!r) return out;
        out.radius = *r;
      }
      if (k.surface == Surface::torus) out.ring_radius = radius(*s, k.key, 0, 2).value_or(0);
      out.surface = k.surface;
    }
    return out;
  }
  EdgeShape edge(const Instance& e) const {
    EdgeShape out;
    for (std::size_t i : {1, 2}) {
      const Instance* vertex = target(attribute(e, "EDGE", i - 1, i));
      const auto p =
          vertex ? triple(target(attribute(*vertex, "VERTEX_POINT", 0, 1)), "CARTESIAN_POINT") : std::nullopt;
      if (p) out.ends_P.push_back(length_ * *p);
    }
    const Instance* curve = target(attribute(e, "EDGE_CURVE", 0, 3));
    if (curve && (is(*curve, "SURFACE_CURVE") || is(*curve, "SEAM_CURVE")))
      curve = target(attribute(*curve, "SURFACE_CURVE", 0, 1));
    if (!curve || !is(*curve, "CIRCLE")) return out;
    const Instance* where = target(attribute(*curve, "CONIC", 0, 1));
    if (const auto at = where ? placement(*where, length_) : std::nullopt) {
      out.centre_P = at->point;
      out.axis_P = at->axis;
    }
    return out;
  }
  void solid(const Instance& e) {
    ++shapes_.solids;
    shell(target(attribute(e, "MANIFOLD_SOLID_BREP", 0, 1)));
    if (const Value* voids = attribute(e, "BREP_WITH_VOIDS", 0, 2))
      for (const Value& v : f_.items(*voids)) shell(target(&v));
  }
  void shell(const Instance* e) {
    if (e && is(*e, "ORIENTED_CLOSED_SHELL")) e = target(attribute(*e, "ORIENTED_CLOSED_SHELL", 0, 2));
    const Value* faces = e ? attribute(*e, "CONNECTED_FACE_SET", 0, 1) : nullptr;
    if (!faces) return;
    steps_ += f_.items(*faces).size();
    if (exhausted()) return;  // many solids that share long shells
    for (const Value& v : f_.items(*faces))
      if (const Instance* face = target(&v))
        if (const auto it = shapes_.faces.find(face->id); it != shapes_.faces.end()) it->second.in_solid = true;
  }

  double length_;
  Shapes shapes_;
};

// One end of a distance, reduced to the simplest thing that fixes it.
struct Thing {
  enum class Sort { plane, axis, points, none } sort = Sort::none;
  Vec3 point, along;         // plane: normal; axis: direction
  std::vector<Vec3> points;  // points: circle centres, else vertices
};

bool parallel(Vec3 a, Vec3 b) { return norm(cross(a, b)) <= same_angle; }
double off_plane(Vec3 p, const Thing& plane) { return std::fabs(dot(p - plane.point, plane.along)); }
double off_axis(Vec3 p, const Thing& axis) { return norm(cross(p - axis.point, axis.along)); }

Thing of_faces(const Binding& b, const Shapes& shapes) {
  Thing t;
  for (auto id : b.faces) {
    const auto it = shapes.faces.find(id);
    if (it == shapes.faces.end()) return {};
    const FaceShape& f = it->second;
    const bool plane = f.surface == Surface::plane, axis = f.surface == Surface::cylinder || f.surface == Surface::cone;
    const auto sort = plane ? Thing::Sort::plane : axis ? Thing::Sort::axis : Thing::Sort::none;
    if (sort == Thing::Sort::none) return {};
    if (t.sort == Thing::Sort::none) {
      t = {sort, f.point_P, f.axis_P, {}};
    } else {
      const double off = plane ? off_plane(f.point_P, t) : off_axis(f.point_P, t);
      if (sort != t.sort || !parallel(f.axis_P, t.along) || !(off <= same_length)) return {};
    }
  }
  return t;
}
Thing of_edges(const Binding& b, const Shapes& shapes) {
  Thing t;
  for (auto id : b.edges) {
    const auto it = shapes.edges.find(id);
    if (it == shapes.edges.end()) continue;
    if (it->second.centre_P) t.points.push_back(*it->second.centre_P);
  }
  if (t.points.empty())
    for (auto id : b.edges)
      if (const auto it = shapes.edges.find(id); it != shapes.edges.end())
        t.points.insert(t.points.end(), it->second.ends_P.begin(), it->second.ends_P.end());
  if (!t.points.empty()) t.sort = Thing::Sort::points;
  return t;
}
Thing reduce(const Binding& b, const Shapes& shapes) {
  return b.faces.empty() ? of_edges(b, shapes) : of_faces(b, shapes);
}

// All values must agree; the first is the answer.
Measured agreed(const std::vector<double>& values, const char* what) {
  if (values.empty()) return {{}, "nothing in the model to compare it with"};
  for (double v : values)
    if (!(std::fabs(v - values.front()) <= same_length)) return {{}, what};
  return {values.front(), {}};
}

Measured between(const Thing& a, const Thing& b) {
  using S = Thing::Sort;
  const char* differ = "its places are at different distances";
  const char* none = "its two ends are no planes, axes or circles that fix a distance";
  if (a.sort == S::none || b.sort == S::none) return {{}, none};
  if (a.sort == S::plane && b.sort == S::plane)
    return parallel(a.along, b.along) ? Measured{off_plane(b.point, a), {}}
                                      : Measured{{}, "its two planes are not parallel"};
  if (a.sort == S::axis && b.sort == S::axis)
    return parallel(a.along, b.along) ? Measured{off_axis(b.point, a), {}}
                                      : Measured{{}, "its two axes are not parallel"};
  const Thing& fixed = a.sort == S::points ? b : a;
  const Thing& other = a.sort == S::points ? a : b;
  if (other.sort == S::points) {
    std::vector<double> values;
    for (Vec3 p : other.points) {
      if (fixed.sort == S::plane) values.push_back(off_plane(p, fixed));
      else if (fixed.sort == S::axis) values.push_back(off_axis(p, fixed));
      else
        for (Vec3 q : fixed.points) values.push_back(norm(p - q));
    }
    return agreed(values, differ);
  }
  const Thing& plane = a.sort == S::plane ? a : b;
  const Thing& axis = a.sort == S::plane ? b : a;
  if (!(std::fabs(dot(plane.along, axis.along)) <= same_angle)) return {{}, "its axis is not parallel to its plane"};
  return {off_plane(axis.point, plane), {}};
}

Measured round(const Dimension& d, const Shapes& shapes, double times) {
  const bool ball = d.kind == DimensionKind::spherical_diameter || d.kind == DimensionKind::spherical_radius;
  const bool fillet = d.kind == DimensionKind::radius;
  std::vector<double> values;
  if (d.ends.empty()) return {{}, "it is bound to nothing"};
  for (auto id : d.ends[0].faces) {
    const auto it = shapes.faces.find(id);
    if (it == shapes.faces.end()) continue;
    const Surface s = it->second.surface;
    const bool fits =
        ball ? s == Surface::sphere : s == Surface::cylinder || s == Surface::sphere || (fillet && s == Surface::torus);
    if (fits) values.push_back(times * it->second.radius);
  }
  if (values.empty()) return {{}, "no face with a radius to compare it with"};
  return agreed(values, "its faces have different radii");
}

// One set of parallel planes at exactly two places.
Measured thick(const Dimension& d, const Shapes& shapes) {
  if (d.ends.empty()) return {{}, "it is bound to nothing"};
  std::vector<double> places;
  std::optional<Vec3> normal;
  for (auto id : d.ends[0].faces) {
    const auto it = shapes.faces.find(id);
    if (it == shapes.faces.end() || it->second.surface != Surface::plane) return {{}, "not all its faces are planes"};
    if (!normal) normal = it->second.axis_P;
    if (!parallel(*normal, it->second.axis_P)) return {{}, "its planes are not parallel"};
    const double at = dot(*normal, it->second.point_P);
    if (std::none_of(places.begin(), places.end(), [&](double p) { return std::fabs(p - at) <= same_length; }))
      places.push_back(at);
  }
  if (places.size() != 2) return {{}, "its faces are not two parallel planes"};
  return {std::fabs(places[1] - places[0]), {}};
}

Measured angle(const Dimension& d, const Shapes& shapes) {
  if (d.ends.size() != 2) return {{}, "an angle of one face has no measure yet"};
  const Thing a = reduce(d.ends[0], shapes), b = reduce(d.ends[1], shapes);
  if (a.sort != Thing::Sort::plane || b.sort != Thing::Sort::plane) return {{}, "its two ends are no planes"};
  const double between_normals = std::atan2(norm(cross(a.along, b.along)), dot(a.along, b.along));
  const double other = std::acos(-1.0) - between_normals;
  if (!d.nominal) return {between_normals, {}};
  // Normals do not tell an angle from its supplement; the drawing says which is meant.
  return {std::fabs(*d.nominal - other) < std::fabs(*d.nominal - between_normals) ? other : between_normals, {}};
}

}  // namespace

Shapes read_shapes(const File& file, double length) { return ShapeReader(file, length).run(); }

std::vector<std::uint64_t> threaded_faces(const SetCircle& circle, const Shapes& shapes) {
  std::vector<std::uint64_t> out;
  const bool named = base::lower(circle.set_name).find("thread") != std::string::npos;
  if (circle.annotation || (circle.bound_by.empty() && !named)) return out;
  for (const auto& [id, f] : shapes.faces) {
    if (f.surface != Surface::cylinder || !f.in_solid || !f.inward) continue;
    if (!(f.radius < 0.985 * circle.radius && f.radius > circle.radius * 2 / 3)) continue;
    if (!(norm(cross(f.axis_P, circle.axis_P)) <= 1e-5)) continue;
    if (!(norm(cross(f.point_P - circle.centre_P, circle.axis_P)) <= 2e-6)) continue;
    out.push_back(id);
  }
  std::sort(out.begin(), out.end());
  return out;
}

Measured measure(const Dimension& d, const Shapes& shapes) {
  switch (d.kind) {
    case DimensionKind::diameter:
    case DimensionKind::spherical_diameter:
      return round(d, shapes, 2);
    case DimensionKind::radius:
    case DimensionKind::spherical_radius:
      return round(d, shapes, 1);
    case DimensionKind::thickness:
    case DimensionKind::length:
      return thick(d, shapes);
    case DimensionKind::distance:
      if (d.ends.size() != 2) return {{}, "a distance needs two ends"};
      return between(reduce(d.ends[0], shapes), reduce(d.ends[1], shapes));
    case DimensionKind::angle:
      return angle(d, shapes);
    case DimensionKind::curve_length:
    case DimensionKind::other:
      break;
  }
  return {{}, "no measure for this kind yet"};
}

}  // namespace fettle::step
