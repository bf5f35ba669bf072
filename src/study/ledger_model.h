#pragma once
// The plan's route as the tolerance ledger sees it: surfaces, clampings, every error it knows of, what the drawing
// asks.
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "calc/tolerance/ledger.h"
#include "study/internal.h"
#include "study/push_off.h"

namespace fettle::study {

/// A scatter that nobody measured: its start value and band, and how another value changes the route.
struct AssumedScatter {
  plan::Number number;
  std::string name, key;
  std::vector<int> contributors;  ///< that it scales
  std::function<void(std::vector<tolerance::Contributor>&, double)> apply;
  int play_of = -1;        ///< route operation whose play of pins it widens
  int land_width_of = -1;  ///< route operation whose relieved pin has a land so wide; `apply` is empty then
};

/// One requirement of the plan in the ledger.
struct LedgerRequirement {
  int of_plan = 0;                   ///< index into plan.requirements
  int route = -1;                    ///< index into route.requirements; -1: not judged
  std::vector<std::string> missing;  ///< what to give; empty with route -1: a kind that no science looks at yet
  bool honed = false;                ///< what is too small is honed: the lower limit is the hone's
  std::string operation;             ///< the last one that makes it
};

struct LedgerModel {
  tolerance::Route route;
  std::map<std::string, int> element;  ///< by reference: "F2", "F7@1", "F1.+x"
  std::vector<LedgerRequirement> requirements;
  std::vector<AssumedScatter> assumed;
  std::vector<std::string> notices;  ///< spreads that move nothing
};

/// What the route could do otherwise, for comparing.
struct LedgerVariant {
  std::string zero_operation, zero;  ///< this operation with zero there ("part top"); empty: as planned
};
LedgerModel ledger_model(const plan::Plan& plan, const Data& data, const PushOf& push,
                         const LedgerVariant& variant = {});
/// The same with push-off worked out here, for one part alone.
LedgerModel ledger_model(const plan::Plan& plan, const Data& data);

/// Takes out the requirements that build() refuses by name, with its words as what is missing, so that one of them does
/// not leave all the others open. False: none was named.
bool drop_refused(LedgerModel& model, const Problems& problems);

/// Mean and standard deviation of a feature's size from the readings of a run, m; nothing without such readings.
struct MeasuredSize {
  double mean = 0, s = 0;
  int n = 0;
};
std::optional<MeasuredSize> measured_size(const plan::Plan& plan, const Data& data, const std::string& feature);

}  // namespace fettle::study
