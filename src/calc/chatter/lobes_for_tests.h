#pragma once
// The published cuts that the tests of the lobes and the multipliers share: what gives way, and the cutter.
#include <cmath>
#include <vector>

#include "calc/chatter/cutter.h"
#include "maths/modal.h"

namespace fettle::chatter {

inline maths::PointResponse mode_by_mass(double f, double m, double z, frame::Vec3 d) {
  const double w = 2 * M_PI * f, s = 1 / std::sqrt(m);
  maths::PointResponse r;
  r.modes.push_back({w, z, {s * d.x, s * d.y, s * d.z}});
  return r;
}
inline maths::PointResponse mode_by_stiffness(double f, double k, double z, frame::Vec3 d) {
  const double w = 2 * M_PI * f;
  return mode_by_mass(f, k / (w * w), z, d);
}

inline Cutter cutter(int teeth, Arc arc, double kt, double kn) {
  Cutter c;
  c.tooth_angles = even_teeth(teeth);
  c.entry = arc.entry, c.exit = arc.exit, c.kt = kt, c.kr = kn / kt, c.diameter = 0.02;
  return c;
}

struct KnownCut {
  std::vector<maths::PointResponse> responses;
  Cutter cutter;
};
/// One mode along the feed, two teeth: the benchmark of the semi-discretisation papers.
inline KnownCut one_mode_cut(Arc arc) {
  return {{mode_by_mass(922, 0.03993, 0.011, {1, 0, 0})}, cutter(2, arc, 6e8, 2e8)};
}
/// The same mode along both axes.
inline KnownCut two_mode_cut(Arc arc) {
  KnownCut k = one_mode_cut(arc);
  k.responses.push_back(mode_by_mass(922, 0.03993, 0.011, {0, 1, 0}));
  return k;
}
/// Two modes along each axis, two teeth, 31.75 mm.
inline KnownCut four_mode_cut(Arc arc) {
  return {
      {mode_by_mass(456.780, 0.963094, 0.111705, {1, 0, 0}), mode_by_mass(1448.889, 0.177274, 0.0170370, {1, 0, 0}),
       mode_by_mass(516.518, 0.890070, 0.0245796, {0, 1, 0}), mode_by_mass(1408.448, 0.158418, 0.0313576, {0, 1, 0})},
      cutter(2, arc, 1319.4e6, 788.8e6)};
}
inline constexpr Arc slot{0, M_PI};
inline const Arc half_down = side_arc(0.5, 1, true), half_up = side_arc(0.5, 1, false);

}  // namespace fettle::chatter
