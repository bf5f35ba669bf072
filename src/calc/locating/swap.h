#pragma once
// How far a pallet lands from where it stood when it is swapped: scatter of its anchors as scatter of every point on
// it.
#include <string>
#include <vector>

#include "base/outcome.h"
#include "frame/frame.h"
#include "maths/linear.h"

namespace fettle::locating {

using frame::Vec3;

/// One anchor. It repeats within s along the directions it locates; stiffer anchors weigh more where several disagree.
struct Anchor {
  std::string name;
  double x = 0, y = 0;  ///< m, pallet frame
  bool locates_x = true, locates_y = true, locates_z = true;
  double s = 0;    ///< m, standard deviation sideways (a maker's +-value is three of it: value / 3)
  double s_z = 0;  ///< m, upright
  double stiffness = 1, stiffness_z = 1;  ///< sideways and upright, any one unit for all anchors
};
struct SwapInputs {
  std::vector<Anchor> anchors;
  std::vector<Vec3> points;  ///< m, nests or features, pallet frame
};
struct SwapPoint {
  double s_x = 0, s_y = 0, s_z = 0;  ///< m
  double s_most = 0;                 ///< m, along the worst direction in the plane
};
struct SwapResult {
  double s_x = 0, s_y = 0, s_turn = 0;         ///< m, m, rad: pallet at the frame's origin
  double s_z = 0, s_tilt_x = 0, s_tilt_y = 0;  ///< m, rad (about X, about Y)
  maths::Matrix plane;                         ///< 3 x 3 covariance of (x, y, turn)
  maths::Matrix upright;                       ///< 3 x 3 covariance of (z, turn about X, turn about Y)
  std::vector<SwapPoint> points;
};
/// Rigid pallet on elastic anchors that each sit off by their own scatter. Problems: anchors that leave a freedom, a
/// negative spread, stiffness not above zero, a number that is not finite.
Outcome<SwapResult> swap_repeatability(const SwapInputs& inputs);

}  // namespace fettle::locating
