#pragma once
// A plan as the rules of the trade see it.
#include <string>
#include <string_view>
#include <vector>

#include "calc/practice/change.h"
#include "calc/practice/practice.h"
#include "plan/plan.h"
#include "plan/read.h"

namespace fettle::study {

struct Context;

/// The plan flattened into facts. Pure; what the plan does not say stays unsaid. Assumed defaults of the plan (skin,
/// bow, room) count as said: they carry a band.
practice::Facts practice_facts(const plan::Plan& plan);

/// What to write into the plan for a fact that nobody said: "operation.OP30.does: whether seats are cleaned ...".
std::string practice_asks(const practice::Missing& missing);

/// Writes the steps that the rules ask for into every operation that has no list of them, and says which rule asked.
/// What a list already says stays. For proposals: it is an instruction, not a measurement.
std::vector<practice::StepAsked> say_steps(plan::Plan& plan);

/// One finding for all rules kept, one for each rule broken, one for all that is open.
void practice_findings(Context& c);

/// Which kinds of thing differ between two plans, in the order of practice::all_changes().
std::vector<practice::Changed> changes_between(const plan::Plan& before, const plan::Plan& after);
/// The same of any two lists of values, as of two shop or pallet files.
std::vector<practice::Changed> changes_between(const std::vector<plan::Leaf>& before,
                                               const std::vector<plan::Leaf>& after);

/// A file of measurements that both plans name alike, taken before a change that voids it.
struct OldFile {
  std::string thing;      ///< "reading first article", "casting.measured"
  std::string file;       ///< as the plan names it
  std::string_view what;  ///< what is void: "first article"
  std::vector<practice::Changed> because;
};
std::vector<OldFile> files_from_before(const plan::Plan& before, const plan::Plan& after);

}  // namespace fettle::study
