#pragma once
// Taking the part off its pins: level or one end first; does a pull beside the pin jam.
#include <string>
#include <vector>

#include "base/outcome.h"

namespace fettle::locating {

struct LiftOffInputs {
  double span = 0;             ///< m, between the pins
  double hole = 0;             ///< m, diameter over the pin that stays on (least)
  double clearance = 0;        ///< m, hole minus pin there, least
  double land_height = 0;      ///< m, straight height of the pin inside the hole when seated
  double friction = 0;         ///< pin on hole
  double pull_off_centre = 0;  ///< m, how far beside the pin the part is pulled straight up
};
struct LiftOffResult {
  bool free_one_ended = false;   ///< one end may be lifted clear while the other stays on
  double tallest_one_ended = 0;  ///< m, land height up to which that is so: sqrt(span x clearance)
  double binding_turn = 0;       ///< rad, tilt at which the land binds
  double lead_of_one_end = 0;    ///< m, how far one end may go ahead of the other
  bool jams = false;             ///< a straight pull off centre locks itself by friction
  double jam_arm = 0;            ///< m, arm above which it jams: h / (2 mu); infinite without friction
  std::string words;
  std::vector<std::string> cautions;
};
/// Tilt z/L of a part whose one end is lifted by z; a cylinder land of height h binds when h t + D t^2/2 > c (the safe
/// of the two second-order terms); one end comes off free when h <= sqrt(L c). A straight pull at arm a jams when h < 2
/// mu a (drawer jam). Problems: sizes not above zero, clearance below zero, a number that is not finite.
Outcome<LiftOffResult> lift_off(const LiftOffInputs& inputs);

}  // namespace fettle::locating
