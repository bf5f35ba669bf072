#pragma once
// Canonical cuts from a plan: the way of one tool over one part, in the frame of the nest's zero.
#include <string>
#include <vector>

#include "base/outcome.h"
#include "compose/set_up.h"
#include "compose/steps.h"

namespace fettle::compose {

enum class Way { side, face, drill, ream, tap, thread_mill, bore, keyseat, chamfer, probe };
/// By the tool's kind and the cut's, as the study sees it.
Way way_of(const plan::Plan& plan, const plan::Cut& cut);

/// What a program does to one part with one tool. Begins and ends high above the first and last place (`set_up.safe`),
/// spindle and length already on.
struct CutSteps {
  Steps steps;
  std::vector<std::string> features;  // cut here
  std::vector<std::string> notes;     // what was taken, and what a person must know; in words
  std::vector<std::string> missing;   // why nothing (or not all) was made; then the steps lack those features
  double speed = 0, feed = 0;         // rad/s; m/s at the edge
  double centre_feed = 0;             // m/s of the tool's centre, where it runs on the inside of a bore; 0: as `feed`
  double ring = 0;                    // m, the full circle of the tool's centre in the last bore or groove; 0: none
  double lowest = 0;                  // m, deepest place of the tip
};

/// Cut `index` of the operation. Never fails: what cannot be made stands in `missing`.
CutSteps cut_steps(const plan::Plan& plan, const plan::Operation& operation, std::size_t index, const SetUp& set_up);

}  // namespace fettle::compose
