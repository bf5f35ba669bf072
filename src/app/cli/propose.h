#pragma once
// Whole plans proposed from a model and a shop file.
#include <string>
#include <vector>

#include "app/cli/commands.h"
#include "begin/begin.h"
#include "begin/propose/propose.h"
#include "solid/solid.h"

namespace fettle::cli {

/// What stands in the files that a proposal is made from, beside the models read from them.
struct BegunFrom {
  const std::string& step;        ///< text of the part's STEP file
  const begin::Drawing& drawing;  ///< of it
  const std::string& table;       ///< of measured castings; empty: none
};
/// Asks what the model cannot say (from a file, or in the terminal), proposes, studies and writes up to three plans.
/// Exit code 0: written; 1: none is possible, and which wishes clash was said; 2, 3 as everywhere.
int propose_plans(const BeginArguments& a, const begin::Begun& begun, const solid::Model& part,
                  const solid::Model* cast, const BegunFrom& from, const begin::Options& options,
                  const std::string& shop_in_plan);

/// A shop file read by itself; `path` is its name in problems.
Outcome<plan::Shop> shop_of(const std::string& path, const std::string& text);

/// What `fettle begin --json` prints, the same for the same proposals: {not_asked, looked_at, clashes, proposals}.
/// `files`: where each was written, in the order of the proposals; empty: nowhere.
std::string proposals_json(const begin::Proposals& found, const std::vector<std::string>& files = {});

}  // namespace fettle::cli
