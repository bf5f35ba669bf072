#pragma once
// The drawings of "does it bend".
#include "output/drawings/drawings.h"
#include "output/drawings/views_plate.h"

namespace fettle::drawings {

/// The pallet from above by how far a force presses it down: strokes that grow denser, lines of one value with their
/// figure, what stands on the plate, remarks beside it.
Drawing give(const GiveView& view, const Room& room);

/// The loaded pallet swinging in its first modes, each small and seen from above at a slant, moved plate and parts over
/// the plate at rest; its frequency, band and words below it.
Drawing modes(const ModesView& view, const Room& room);

}  // namespace fettle::drawings
