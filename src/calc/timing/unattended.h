#pragma once
// How much may run with nobody there: edges that wear out, edges that break, and what a break costs against what the
// night earns.
#include <string>
#include <vector>

#include "base/outcome.h"

namespace fettle::timing {

/// One tool of the program. Two ways to fail: it wears out (Weibull about its mean life, a used edge knows its age), or
/// it breaks without warning (the same chance for every part).
struct EdgeRisk {
  std::string name;
  double life = 0;          ///< parts that an edge lasts in the mean
  double scatter = 0.25;    ///< standard deviation of that over its mean, 0.02 to 1.5
  int planned = 1;          ///< whole parts after which it is changed
  int used = 0;             ///< parts this edge has made
  double break_chance = 0;  ///< chance that an edge breaks suddenly within its planned parts
  int spares = 0;           ///< sister tools in the magazine that take over at the planned change
};

struct UnattendedInputs {
  std::vector<EdgeRisk> tools;
  double most_risk = 0.02;  ///< chance of any failure that is accepted for the whole stretch
  int loaded = 0;           ///< parts that can run without a hand
  int per_pallet = 1;
  double part_time = 0;  ///< s per part
  int found_after = 0;   ///< parts made with a failed tool before the machine stops itself; 0: it does not notice
  double gain = 0;       ///< money per good part that this stretch makes and that would not be made otherwise
  double bad_part = 0;   ///< money lost with a part made by a failed tool
  double damage = 0;     ///< money lost with a failure besides: tool, pallet, spindle
};

/// What one tool does to the stretch, largest chance first.
struct EdgeShare {
  std::string name;
  double chance = 0;     ///< that it fails within the stretch
  int parts_left = 0;    ///< planned parts left, spares included
  int parts_if_new = 0;  ///< length of the stretch when this edge, and no other, is changed before leaving
};

struct UnattendedResult {
  int by_risk = 0;           ///< most parts within the accepted chance
  int by_edges = 0;          ///< most parts before a planned change that nobody is there to make
  int by_money = 0;          ///< parts with the best expected result; `loaded` when no money is given
  int loaded = 0;            ///< parts that can run without a hand
  int parts = 0;             ///< the least of these
  int pallets = 0;           ///< whole pallets in it
  std::string limit;         ///< what is the least: "risk", "edges", "money", "loaded"
  double time = 0;           ///< s
  double chance = 0;         ///< of any failure within `parts`
  double chance_loaded = 0;  ///< of any failure when all that is loaded runs (edges past their planned parts included)
  double good = 0, bad = 0;  ///< expected parts of the stretch
  double result = 0;         ///< expected money of the stretch
  std::vector<EdgeShare> tools;
};

/// Shape of the Weibull distribution with this standard deviation over mean (0.02 to 1.5): solves
/// G(1 + 2/b) / G(1 + 1/b)^2 - 1 = scatter^2 for b.
double weibull_shape(double scatter);

/// Chance that this tool lasts `parts` more parts, changed at its planned parts as long as there are spares (the last
/// edge runs on).
double lasts(const EdgeRisk& tool, int parts);

/// The stretch that may run unattended. Every failure ends it. Problems: lists and numbers outside their bounds.
Outcome<UnattendedResult> unattended(const UnattendedInputs& in);

/// What must be said beside any such number.
std::string unattended_caution();

}  // namespace fettle::timing
