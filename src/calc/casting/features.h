#pragma once
// Sample points and errors of a box-like casting with cores, from plain features. All lengths m, angles rad, part
// frame.
#include <vector>

#include "calc/casting/model.h"

namespace fettle::casting {

/// A flat face: a grid of count_u x count_v points from edge to edge.
struct PlaneSpec {
  Vec3 centre;  ///< middle of the finished face
  Vec3 normal;  ///< outward, unit
  Vec3 u;       ///< one edge direction in the face, unit; the other is normal x u
  double half_u = 0, half_v = 0;
  int count_u = 5, count_v = 5;
  double raw_stock = 0;  ///< raw surface above the finished face at the parting height
  double draft = 0;      ///< the raw wall leans inward by this angle away from the parting height
  double parting_height = 0;
};
std::vector<FacePoint> plane_points(const PlaneSpec& spec);

/// A round face: `high` rings of `round` points. A bore's outward normal (out of the metal) points to its axis.
struct RoundSpec {
  Vec3 axis_point;
  Vec3 axis{0, 0, 1};        ///< unit
  double low = 0, high = 0;  ///< from axis_point along the axis
  double finished_radius = 0, raw_radius = 0;
  double draft = 0;       ///< raw radius grows by tan(draft) per length along the axis ...
  double draft_from = 0;  ///< ... from here, where it is raw_radius
  bool outside = false;   ///< a boss or a rounded corner instead of a bore
  double from_angle = 0, to_angle = 6.283185307179586;  ///< about the axis from `zero`; a full turn repeats no point
  Vec3 zero{1, 0, 0};                                   ///< direction of angle 0, unit, square to the axis
  int round = 24, rings = 3;
};
std::vector<FacePoint> round_points(const RoundSpec& spec);

/// Moves raw points so that the raw surface stands `offset` further out (a nominal that differs from the drawing).
void offset_raw(std::vector<FacePoint>& points, double offset);

// The usual errors. `s` is a standard deviation; a grade's is DCT/6 (tolerance taken as six standard deviations).

/// Standard deviation that a tolerance grade stands for at a raw size (m): DCT/6. ISO 8062-3 and common practice.
Outcome<double> s_of_grade(int dctg, double raw_size);

Mode isotropic_scale(Vec3 centre, double s);  ///< shrinkage differs: parts per one
Mode size_along(const std::string& name, Vec3 axis, Vec3 centre, double size, double s);  ///< drag and cope; cores stay
Mode closure(Vec3 up, double s);                                      ///< cope stands higher: thickness grows
Mode mould_shift(const std::string& name, Vec3 direction, double s);  ///< cope against drag
Mode mould_turn(Vec3 up, Vec3 centre, double s_angle);                ///< cope against drag, rad
Mode core_shift(const std::string& name, int core_number, Vec3 direction, double s);
Mode core_turn(const std::string& name, int core_number, Vec3 axis, Vec3 centre, double s_angle);
/// Diameter of a core: its round walls (`surfaces`) stand out by half of it into the metal.
Mode core_diameter(const std::string& name, int core_number, const std::vector<std::string>& surfaces, double s);
Mode surface_offset(const std::string& surface, double s);  ///< one surface further out
Mode surface_tilt(const std::string& surface, Vec3 axis, Vec3 centre, double s_angle);
Mode warp_bend(const std::string& name, Vec3 up, Vec3 along, Vec3 centre, double length, double s);
Mode warp_twist(const std::string& name, Vec3 up, Vec3 along, Vec3 centre, double length, double across, double s);
/// What is left of a gate or flash: 0 to `highest`, uniform, within `radius` of a place on one surface.
Mode stub(const std::string& name, const std::string& surface, Vec3 place, double radius, double highest);

/// Contacts.
Contact rest(const std::string& id, const std::string& surface, Vec3 p, Vec3 outward, double s = 0);
/// Self-centring vise or probe across two opposite surfaces: the middle between them is held.
Contact centred(const std::string& id, const std::string& surface_a, Vec3 p_a, Vec3 outward_a,
                const std::string& surface_b, Vec3 p_b, Vec3 outward_b, double s = 0);

}  // namespace fettle::casting
