#pragma once
// The drawings of the plate: does it bend, does it sing.
#include <vector>

#include "output/drawings/drawings.h"
#include "output/drawings/views_plate.h"

namespace fettle::drawings {

/// The pallet from above by how far a force presses it down: strokes that grow denser, lines of one value with their
/// figure, what stands on the plate, remarks beside it.
Drawing give(const GiveView& view, const Room& room);

/// The loaded pallet swinging in its first modes, each small and seen from above at a slant, moved plate and parts over
/// the plate at rest; its frequency, band and words below it.
Drawing modes(const ModesView& view, const Room& room);

/// The pallet from above for each tool: every nest with the depth at which its cut starts to sing against the depth
/// that is asked, the state by word and filling, and what is soft. Rows of two; as many rows in a drawing as the room
/// is high for, one at least. Title and sentence stand over the first, the caption below the last.
std::vector<Drawing> limits(const LimitsView& view, const Room& room);

}  // namespace fettle::drawings
