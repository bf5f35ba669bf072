#pragma once
// A milling cutter at work: where its teeth stand, where they cut, and which way forces and chips point.
#include <array>
#include <string>
#include <vector>

#include "frame/frame.h"

namespace fettle::chatter {

/// Axes of the cut: x along the feed, y = spindle x feed, z towards the spindle. The angle of a tooth counts from y in
/// the sense of turning (clockwise, seen from the spindle).
struct Cutter {
  std::vector<double> tooth_angles;  ///< rad, where each tooth stands, in the sense of turning
  double entry = 0, exit = 0;        ///< rad, engaged arc
  double lead = 0;                   ///< rad, that the edge leans back; 0: motion along the spindle makes no chip
  double kt = 0, kr = 0, ka = 0;     ///< N/m2 per axial depth, tangential; radial and axial force as ratios to it
  double diameter = 0;               ///< m; for the cutting speed
};

/// Where n even teeth stand, rad.
std::vector<double> even_teeth(int n);

/// Engaged arc of a side cut: `width` (m) of the diameter, 0 < width <= diameter; down milling leaves at pi, up milling
/// enters at 0. A width out of range gives an arc of length 0.
struct Arc {
  double entry = 0, exit = 0;
};
Arc side_arc(double width, double diameter, bool down);

/// What a unit displacement of the tool adds to the chip's thickness, tooth at `angle`.
frame::Vec3 chip_direction(const Cutter& c, double angle);
/// Force on the tool per chip thickness and axial depth, as a share of kt.
frame::Vec3 force_direction(const Cutter& c, double angle);
/// Force on the tool per speed at which the edge moves into the metal, per N of flank force: against the motion, with
/// `friction` along the way of the edge.
frame::Vec3 flank_direction(const Cutter& c, double angle, double friction);

using Real9 = std::array<double, 9>;  ///< 3 x 3, row by row
/// Integrals over the engaged arc of force_direction chip_direction^T and of flank_direction chip_direction^T, in
/// closed form (in the plane: Altintas and Budak 1995; with lead: Altintas 2001).
struct Directions {
  Real9 chip{}, flank{};
};
Directions directions(const Cutter& c, double friction);

/// Times from each tooth to the one before it at the same place, s, at `turns` per second; in the order in which teeth
/// enter, first the one that stands farthest on.
std::vector<double> tooth_delays(const Cutter& c, double turns);
/// True when all gaps are alike within 1e-9 rad.
bool even(const Cutter& c);

/// What cannot be, in words; empty when all is well.
std::string wrong(const Cutter& c);

}  // namespace fettle::chatter
