#pragma once
// Forces of a milling cutter through one turn, from the specific cutting force of every tooth slice. See README.md for
// the sketch, the signs and the limits.
//
// Axes of a cut: X the way the tool moves over the part, Z towards the spindle, Y = Z x X (left of the feed, seen from
// the spindle). The cutter turns clockwise seen from the spindle; a tooth at angle phi stands at (sin phi, cos phi) and
// cuts a chip of feed x sin phi. Down milling has the metal at -Y and leaves it at phi = pi; up milling has it at +Y
// and enters it at phi = 0. All forces are those of the tool ON THE PART.
#include <array>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "frame/frame.h"

namespace fettle::cutting {

/// What the metal asks of an edge: kc = kc11 (h / 1 mm)^-mc x wear; the force across the edge is `radial` times it.
struct Chip {
  double kc11 = 0;      ///< Pa, chip 1 mm thick and 1 mm wide
  double mc = 0;        ///< 0..1
  double wear = 1;      ///< of a used edge, 1: new
  double radial = 0.4;  ///< radial over tangential force
};
/// Specific cutting force at chip thickness h (m), Pa. Source: Kienzle 1952, from memory.
double specific_force(const Chip& chip, double h);
/// d(force)/d(chip thickness) per chip width at h, Pa: (1 - mc) kc.
double chip_stiffness(const Chip& chip, double h);

/// Axial over tangential force of an edge inclined by `inclination` (rad) when the chip flows along the inclination
/// (Stabler's rule) and the friction on the rake is what `radial` at rake angle `rake` implies. Positive: along +Z on
/// the part for a right-hand helix. From memory: oblique cutting, Altintas, Manufacturing Automation.
double axial_ratio(double radial, double rake, double inclination);

/// Where a tooth is in the metal, rad.
struct Arc {
  double entry = 0, exit = 0;
};
/// Beside a straight wall with radial width `width` of cut.
Arc side_arc(double diameter, double width, bool down);
/// Facing a strip of `width`, the cutter's axis `offset` beside the strip's middle (towards +Y); the strip may be wider
/// than the cutter.
Arc face_arc(double diameter, double width, double offset);
/// Round the inside of a bore: wall from radius `before` to radius `after`, the cutter orbiting with e = after -
/// diameter/2. The engaged angle p obeys cos p = (before^2 - r^2 - e^2)/(2 e r). Full turn when the cutter fills the
/// bore.
Arc inside_arc(double diameter, double before, double after, bool down);

struct Milling {
  Chip chip;
  double diameter = 0;                   ///< m
  std::vector<double> tooth_angles;      ///< rad, rising, 0..2 pi; one per tooth
  double helix = 0;                      ///< rad, positive: right hand
  double approach = 1.5707963267948966;  ///< kappa, rad: 90 deg less the lead angle
  double rake = 0;                       ///< rad
  double feed_per_tooth = 0;             ///< m, mean; uneven teeth take by the angle before them
  double depth = 0;                      ///< m, axial
  Arc arc;
  std::vector<std::array<double, 2>> gaps;  ///< rad, stretches of the arc without metal (gates, cored holes)
  double turns = 0;                         ///< 1/s
  int steps = 180;                          ///< samples through the turn; made a multiple of the teeth
};
struct MillingResult {
  std::vector<frame::Vec3> turn;    ///< N on the part along X, Y, Z; sample i at spindle angle 2 pi i / n
  std::vector<double> torque_turn;  ///< N·m
  /// N·m on the part about the point of the tool's axis at the height where the forces act: the torque (-Z, the tool
  /// drags the part with it) and what the axial pull at the rim tips.
  std::vector<frame::Vec3> moment_turn;
  frame::Vec3 mean, peak;                   ///< peak: where the resultant is largest
  frame::Vec3 peak_moment;                  ///< at the peak
  double mean_size = 0, peak_size = 0;      ///< N; mean of the resultant's size, largest size
  double torque_mean = 0, torque_peak = 0;  ///< N·m
  double power = 0;                         ///< W
  double up_pull = 0;                       ///< N, largest +Z force on the part through the turn; 0 when it only pushes
  double chip_most = 0, chip_mean = 0;      ///< m, over the arc; of the tooth that takes most, of the mean tooth
  double teeth_engaged = 0;                 ///< mean number of teeth in the metal at the tip
  double specific = 0;                      ///< Pa, kc at the mean chip
  double removal = 0;                       ///< m3/s
  double axial = 0;                         ///< axial over tangential force of the edge, signed
  bool shock = false;                       ///< teeth strike an edge of metal inside the arc (a gap ends there)
};
/// Equal teeth, angles 0, 2 pi / n, ...
std::vector<double> even_teeth(int n);
/// Teeth alternately early and late by `step`.
std::vector<double> uneven_teeth(int n, double step);

/// Forces through the turn. Problems: every impossible input at once.
Outcome<MillingResult> solve(const Milling& inputs);

/// Push-off: what a cutter on a springy tool leaves on the wall that its teeth generate, by height over the tip.
struct Wall {
  std::vector<double> height;  ///< m above the tip
  std::vector<double> error;   ///< m, metal left (positive) or taken (negative)
  double least = 0, most = 0;  ///< over the height
};
/// `compliance(a, b)`: m/N at height b over the tip from a force at height a, both m. The force at the instant when the
/// tooth at height b stands at the wall decides, at its own centre of height. Down: wall at -Y, else at +Y.
Wall wall_error(const Milling& inputs, bool down, const std::function<double(double, double)>& compliance,
                int heights = 9);

/// Feed per tooth at which the mean chip over the arc is `chip` (m).
double feed_for_chip(const Milling& inputs, double chip);

}  // namespace fettle::cutting
