#include "calc/casting/features.h"

#include <cmath>

#include "ref/casting_grades.h"

namespace fettle::casting {
namespace {

/// -1 .. 1 in `count` even steps; the middle for one.
double place(int i, int count) { return count < 2 ? 0.0 : -1 + 2.0 * i / (count - 1); }

Mode mode(const std::string& name, Shape shape, std::vector<int> bodies, Vec3 direction, Vec3 centre, double s) {
  Mode m;
  m.name = name;
  m.shape = shape;
  m.bodies = std::move(bodies);
  m.direction = direction;
  m.centre = centre;
  m.s = s;
  return m;
}

}  // namespace

std::vector<FacePoint> plane_points(const PlaneSpec& s) {
  std::vector<FacePoint> out;
  const Vec3 v = frame::cross(s.normal, s.u);
  for (int i = 0; i < s.count_u; ++i)
    for (int j = 0; j < s.count_v; ++j) {
      const Vec3 q = s.centre + (place(i, s.count_u) * s.half_u) * s.u + (place(j, s.count_v) * s.half_v) * v;
      const double raw = s.raw_stock - std::fabs(q.z - s.parting_height) * (s.draft == 0 ? 0 : std::tan(s.draft));
      out.push_back({q, s.normal, q + raw * s.normal});
    }
  return out;
}

std::vector<FacePoint> round_points(const RoundSpec& s) {
  std::vector<FacePoint> out;
  const Vec3 across = frame::cross(s.axis, s.zero);
  const bool whole = s.to_angle - s.from_angle > 6.28318;
  for (int k = 0; k < s.rings; ++k) {
    const double h = 0.5 * (s.low + s.high) + 0.5 * (s.high - s.low) * place(k, s.rings);
    const double raw = s.raw_radius + (s.draft == 0 ? 0 : (h - s.draft_from) * std::tan(s.draft));
    for (int i = 0; i < s.round; ++i) {
      const double a = s.from_angle + (s.to_angle - s.from_angle) * i / (whole || s.round < 2 ? s.round : s.round - 1);
      const Vec3 radial = std::cos(a) * s.zero + std::sin(a) * across;
      const Vec3 base = s.axis_point + h * s.axis;
      out.push_back({base + s.finished_radius * radial, s.outside ? radial : -radial, base + raw * radial});
    }
  }
  return out;
}

void offset_raw(std::vector<FacePoint>& points, double offset) {
  for (FacePoint& p : points) p.p = p.p + offset * p.n;
}

Outcome<double> s_of_grade(int dctg, double raw_size) {
  const auto dct = ref::dct(dctg, raw_size);
  if (!dct) return dct.problems();
  return *dct / 6;
}

Mode isotropic_scale(Vec3 centre, double s) { return mode("shrinkage", Shape::scale, {}, {1, 0, 0}, centre, s); }

Mode size_along(const std::string& name, Vec3 axis, Vec3 centre, double size, double s) {
  Mode m = mode(name, Shape::stretch, {drag, cope}, axis, centre, s);
  m.length = size;
  return m;
}

Mode closure(Vec3 up, double s) { return mode("closure of the mould", Shape::shift, {cope}, up, {}, s); }

Mode mould_shift(const std::string& name, Vec3 direction, double s) {
  return mode(name, Shape::shift, {cope}, direction, {}, s);
}

Mode mould_turn(Vec3 up, Vec3 centre, double s) { return mode("mould turn", Shape::turn, {cope}, up, centre, s); }

Mode core_shift(const std::string& name, int k, Vec3 direction, double s) {
  return mode(name, Shape::shift, {core(k)}, direction, {}, s);
}

Mode core_turn(const std::string& name, int k, Vec3 axis, Vec3 centre, double s) {
  return mode(name, Shape::turn, {core(k)}, axis, centre, s);
}

Mode core_diameter(const std::string& name, int k, const std::vector<std::string>& surfaces, double s) {
  // The bore's outward normal points to the axis: a thicker core takes metal away, half its growth on each side.
  Mode m = mode(name, Shape::swell, {core(k)}, {1, 0, 0}, {}, s);
  m.surfaces = surfaces;
  m.scale = -0.5;
  return m;
}

Mode surface_offset(const std::string& surface, double s) {
  Mode m = mode("offset of " + surface, Shape::swell, {}, {1, 0, 0}, {}, s);
  m.surfaces = {surface};
  return m;
}

Mode surface_tilt(const std::string& surface, Vec3 axis, Vec3 centre, double s) {
  Mode m = mode("tilt of " + surface, Shape::turn, {}, axis, centre, s);
  m.surfaces = {surface};
  return m;
}

Mode warp_bend(const std::string& name, Vec3 up, Vec3 along, Vec3 centre, double length, double s) {
  Mode m = mode(name, Shape::bend, {}, up, centre, s);
  m.along = along;
  m.length = length;
  return m;
}

Mode warp_twist(const std::string& name, Vec3 up, Vec3 along, Vec3 centre, double length, double across, double s) {
  Mode m = mode(name, Shape::twist, {}, up, centre, s);
  m.along = along;
  m.length = length;
  m.across = across;
  return m;
}

Mode stub(const std::string& name, const std::string& surface, Vec3 place, double radius, double highest) {
  Mode m = mode(name, Shape::bump, {}, {1, 0, 0}, place, 0);
  m.surfaces = {surface};
  m.radius = radius;
  m.family = Mode::Family::uniform;
  m.low = 0;
  m.high = highest;
  return m;
}

Contact rest(const std::string& id, const std::string& surface, Vec3 p, Vec3 outward, double s) {
  return {id, {{surface, p, outward, 1}}, 0, s};
}

Contact centred(const std::string& id, const std::string& a, Vec3 p_a, Vec3 n_a, const std::string& b, Vec3 p_b,
                Vec3 n_b, double s) {
  return {id, {{a, p_a, n_a, 0.5}, {b, p_b, n_b, -0.5}}, 0, s};
}

}  // namespace fettle::casting
