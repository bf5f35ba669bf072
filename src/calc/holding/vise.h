#pragma once
// Parts in series in one vise, squeezed through each other: every part sees the whole force.
#include <string>
#include <vector>

#include "base/outcome.h"

namespace fettle::holding {

struct ViseInputs {
  int parts = 1;
  double force = 0;       ///< N
  double friction = 0;    ///< at jaws and between parts
  double width = 0;       ///< m, of the squeezed face along the jaw
  double held = 0;        ///< m, height of the squeezed face
  double arm = 0;         ///< m, the cut above the middle of the squeezed face
  double along_row = 0;   ///< N, cutting force along the row of parts, either way
  double along_jaw = 0;   ///< N, along the jaw
  double up = 0;          ///< N, pull out of the vise (0 when the cut pushes down)
  bool on_rest = false;   ///< the part stands on a parallel, which keeps it from turning in the plane of its faces
  double face_angle = 0;  ///< rad, largest angle between the two squeezed faces of one part
  double depth = 0;       ///< m, of the row: all parts together
};
struct ViseResult {
  double each = 0;         ///< N, that every part sees
  double holds = 0;        ///< N, friction of one part's two faces, as the cut along the row unloads one of them
  double pulls = 0;        ///< N, what slides it: along the jaw and up
  double slip_factor = 0;  ///< times the cut may grow before a part slides or turns between its neighbours
  double tilt_factor = 0;  ///< times it may grow before the stack tips about the upper edge of the squeezed face
  double curl = 0;         ///< rad, angles of the faces adding up, worst
  double rises = 0;        ///< m, that the far end of the row may stand off its seat by that
};
/// Slip: 2 mu F against the pull in the plane of the faces, together with the turning of that pull about the middle of
/// the face (both shares squared; a part turns when mu times the pressure times the arm is used up, pressure even).
/// Tilt: F h/2 against H z.
Outcome<ViseResult> vise_series(const ViseInputs& in);
/// Mean distance of a rectangle's points from its middle, m: the arm of friction against turning.
double friction_arm(double width, double height);

}  // namespace fettle::holding
