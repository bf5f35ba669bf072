#pragma once
// The drawings of "does it hold".
#include "output/drawings/drawings.h"
#include "output/drawings/views_mechanics.h"

namespace fettle::drawings {

/// The part from above to scale: contacts with a bar of the friction they use, the tool's push, how the part would go.
/// What the picture cannot name beside its contact stands in the list at its right.
Drawing slip(const SlipView& view, const Room& room);

/// A bar of clamp force for each part with its spread and the line of what it needs; below it the same with the cure.
Drawing jaw(const JawView& view, const Room& room);

}  // namespace fettle::drawings
