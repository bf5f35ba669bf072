#pragma once
// The drawings of a control program and of what coolant stays: where the tools go, what they take, what does not drain.
#include <vector>

#include "output/drawings/drawings.h"
#include "output/drawings/views_program.h"

namespace fettle::drawings {

/// One small plan for each tool, two abreast, as many rows in a drawing as the room is high for: the way at feed by the
/// tool's own line, quick moves thin and dashed, what stands there thin; the legend below the last. Title and sentence
/// stand over the first.
std::vector<Drawing> paths(const PathsView& view, const Room& room);

/// Quantities of the cut over the time of the program, a panel each, with the tools as a band above, the worst place
/// named, and a row for each tool below.
Drawing engagement(const EngagementView& view, const Room& room);

/// Plans with strokes where coolant stands, denser where it is deeper; arrows where it runs; pools named beside.
Drawing pools(const PoolsView& view, const Room& room);

}  // namespace fettle::drawings
