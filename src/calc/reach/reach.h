#pragma once
// Does the tool reach the cut, and does nothing of it touch what stands around: cutter, neck, shank and holder against
// walls, floors, screw heads and neighbours; and the same with its own sums for a groove cut by a keyseat cutter. See
// README.md.
//
// SI inside: m, N, Pa. Heights count from the tool's tip upwards, distances from its axis.
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"

namespace fettle::reach {

/// A tool from its tip upwards.
struct Tool {
  double diameter = 0;         ///< of what cuts
  double cutting = 0;          ///< length of what cuts: flutes, or a keyseat cutter's width
  std::optional<double> neck;  ///< diameter behind it; without one the shank is as thick as the cutter
  std::optional<double>
      neck_length;       ///< to the holder when not said; then a thicker shank is taken as thick as the holder
  double stick_out = 0;  ///< tip to holder
  double holder = 0;     ///< diameter of the holder
};
/// A stretch of the tool of one thickness.
struct Stretch {
  std::string name;  ///< "cutter", "neck", "shank", "holder"
  double from = 0, to = 0, radius = 0;
};
std::vector<Stretch> stretches(const Tool& tool);

/// Something beside the tool's path, upright, from `low` to `high` above the tip and not nearer than `distance` to the
/// tool's axis; what lies under the whole path has distance 0.
struct Obstacle {
  std::string name;
  double low = 0, high = 0, distance = 0;
  bool cut = false;  ///< it is the wall that is being cut: what is no thicker than the cutter may touch it
};
struct Inputs {
  Tool tool;
  std::vector<Obstacle> around;
};
/// A stretch of the tool against one obstacle.
struct Room {
  std::string stretch, obstacle;
  double sideways = 0;     ///< distance - radius
  double above = 0;        ///< how far the stretch begins above the obstacle's top, or the obstacle above its end
  double room = 0;         ///< the larger of the two: below 0 they touch
  bool by_height = false;  ///< the height keeps them apart, not the distance
};
struct Result {
  std::vector<Room> rooms;  ///< tightest first
  double least = 0;         ///< room of the tightest; infinite when nothing stands around
};
/// Problems: every impossible number at once (a neck thicker than its cutter, a stick-out shorter than what cuts, ...).
Outcome<Result> solve(const Inputs& inputs);

/// Least stick-out with which every stretch keeps `clearance`; nothing when no stick-out does.
std::optional<double> stick_out_needed(const Inputs& inputs, double clearance);
/// Largest holder diameter that keeps `clearance` at this stick-out; nothing when not even a holder as thick as the
/// cutter does.
std::optional<double> holder_allowed(const Inputs& inputs, double clearance);

/// A ring groove in a bore, cut on a circle by a cutter with a neck.
struct Groove {
  double bore = 0, groove = 0;  ///< diameters; the groove at its largest, the bore at its smallest
  double width = 0;             ///< of the groove, at its smallest
  double depth = 0;             ///< from where the bore opens down to the groove's far side
  double floor = 0;             ///< from the groove's far side down to the bore's floor; 0: unsaid, see `open_below`
  bool open_below = false;      ///< the bore goes through: no floor
  double below = 0;             ///< what stands out under the cutter: a screw's head
  double edge_feed = 0;         ///< m/s at the cutting edge; 0: not asked
  double force = 0;             ///< N on the cutter, away from the wall; 0: not asked
  double modulus = 590e9;       ///< Pa, of the neck
};
struct GrooveResult {
  double enters = 0;       ///< m all round as it goes down in the middle of the bore
  double neck_room = 0;    ///< m between neck and bore's edge at full depth
  double under = 0;        ///< m under the cutter; infinite when the bore goes through
  double neck_spare = 0;   ///< m by which the neck is longer than the bore is deep there
  double holder_room = 0;  ///< m between holder and the face the bore opens in; as it enters the bore: sideways
  double width_room = 0;   ///< m by which the groove is wider than the cutter
  double least = 0;        ///< the smallest of these
  std::string tightest;    ///< its words
  int passes = 0;          ///< along the axis, to make the width
  double path_radius = 0;  ///< m, of the tool's middle
  double middle_feed = 0;  ///< m/s for the control, which drives the tool's middle
  double engaged = 0;      ///< rad, arc of the cutter in metal at full depth
  double bend = 0;         ///< m, by which the neck gives way under the force
};
/// Problems: every impossible input at once; a tool without a neck.
Outcome<GrooveResult> solve_groove(const Groove& groove, const Tool& tool);

}  // namespace fettle::reach
