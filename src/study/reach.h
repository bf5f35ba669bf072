#pragma once
// What the study's question of reach says of one cut, for those that choose a tool by it.
#include <optional>
#include <string>

#include "plan/plan.h"

namespace fettle::study {

/// Room of one tool at one feature.
struct CutRoom {
  double least = 0;   ///< m, of the tightest stretch with everything assumed at its bad end; below 0 it touches
  double stated = 0;  ///< m, the same as stated
  double asked = 0;   ///< m, what a study asks
  std::string words;  ///< "holder against a screw head"
  /// m, least stick-out that leaves what is asked, all else at its bad end; none: no stick-out does
  std::optional<double> stick_out;
};
/// The cut as the operation makes it, with this tool, whether or not the plan names it. The cut's own stick-out counts
/// before the tool's. Nothing where the study does not ask, or cannot since the tool says too little.
std::optional<CutRoom> room_of_cut(const plan::Plan& plan, const plan::Operation& operation, const plan::Cut& cut,
                                   const plan::Tool& tool, const std::string& feature);

}  // namespace fettle::study
