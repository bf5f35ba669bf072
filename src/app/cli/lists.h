#pragma once
// The lists of a shop at `fettle begin`: tools, holders, stopwatch times.
#include "app/cli/commands.h"
#include "begin/propose/propose.h"

namespace fettle::cli {

/// Reads the lists that the arguments name, all with their problems at once. `scene` then holds the shop as they fill
/// it, the text of a shop file with it, and the name it is written under beside the plan; nothing changes without
/// lists. Notes go to `said`.
Outcome<bool> take_lists(const BeginArguments& a, begin::Scene& scene, std::vector<std::string>& said);
/// Writes the filled shop file, where there is one.
Outcome<bool> write_filled_shop(const BeginArguments& a, const begin::Scene& scene);

}  // namespace fettle::cli
