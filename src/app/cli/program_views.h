#pragma once
// A followed program, and what coolant stays, as the drawings want them.
#include <optional>

#include "app/cli/program_follow.h"
#include "output/drawings/views_program.h"

namespace fettle::cli {

/// Where each tool goes on the first pallet (or in the row of parts without one).
drawings::PathsView paths_view(const plan::Plan& plan, const Followed& followed);
/// What the cut asks along the program. Wants the proof.
drawings::EngagementView engagement_view(const plan::Plan& plan, const Followed& followed);
/// Nothing: no pallet with a size, or a part that lies on its side.
std::optional<drawings::PoolsView> pools_view(const plan::Plan& plan);

}  // namespace fettle::cli
