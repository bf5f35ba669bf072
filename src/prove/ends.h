#pragma once
// Does every axis stay between its two ends, where the plan says where those and the operation's zero stand?
#include <set>

#include "prove/prove.h"
#include "prove/table.h"

namespace fettle::prove {

/// Places that a move reaches farthest along each axis: its end, and where an arc turns back.
std::vector<frame::Vec3> farthest(const program::Move& move);

/// Adds `ends`: outside with line, tool, nest and which way to move the pallet; tight where a length that nobody said
/// decides; inside; or open with what to give. True when it was judged.
bool ends_findings(const plan::Plan& plan, const plan::Operation& o, const Scene& scene, const program::Run& run,
                   const std::set<int>& zeros, Proof& out);

}  // namespace fettle::prove
