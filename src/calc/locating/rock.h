#pragma once
// A raw part on more rests than three: which three carry, how far it rocks.
#include <array>
#include <string>
#include <vector>

#include "base/outcome.h"

namespace fettle::locating {

struct RestPoint {
  std::string name;
  double x = 0, y = 0;  ///< m, where the rest stands
  double deviation =
      0;  ///< m, rest top minus its nominal height, minus the part's surface there: positive touches first
};
struct RockInputs {
  std::vector<RestPoint> rests;   ///< three or more, not all on one line
  double load_x = 0, load_y = 0;  ///< m, where weight and clamps press together
};
struct RockResult {
  bool tips = false;                   ///< the load lies outside every triangle of rests: it falls over
  std::array<std::size_t, 3> carry{};  ///< the three that carry
  std::vector<double> gap;             ///< m per rest, 0 at the three that carry
  double largest_gap = 0;              ///< m
  std::size_t widest = 0;              ///< rest with the largest gap
  double tilt_x = 0, tilt_y = 0;       ///< rad, dz/dx and dz/dy of the part as it stands
  double height = 0;                   ///< m, of the part at the load's place
  double rock_angle = 0;               ///< rad, most that it turns when pressed over another rest
  std::string words;
};
/// The part comes down on the rests as a rigid body. Problems: fewer than three rests, all on one line, not a number.
Outcome<RockResult> rock(const RockInputs& inputs);

/// Spread of the gap at the fourth of four rests when each deviates by s (rectangle: 2 s at the one left open).
Outcome<double> gap_spread(const std::vector<RestPoint>& four, double s);

}  // namespace fettle::locating
