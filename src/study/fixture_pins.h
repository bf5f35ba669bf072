#pragma once
// A round and a relieved pin among the locators of a fixture, an angle plate or a vise: holes, and what each stops.
#include "study/internal.h"

namespace fettle::study {

/// Pins that an operation's locators name. Axes of holes may lie along any of the part's axes.
struct FixturePins {
  const plan::Locator *round = nullptr, *relieved = nullptr;  ///< the first of each kind; null: none
  std::vector<const plan::Locator*> more;                     ///< the others
  Surface round_hole, relieved_hole;
  frame::Vec3 along, across;  ///< unit, square to the holes: the line of pins, and what the relieved pin stops
  bool pair = false;  ///< both stand in holes of one direction, apart from each other: `along` and `across` are theirs
};
FixturePins pins_among(const plan::Plan& plan, const plan::Operation& o);

bool is_pin(const plan::Locator& l);
/// What the plan says of its size: the diameter, of a relieved one that over its lands where that is said.
const plan::Limits& size_of_pin(const plan::Locator& pin);

/// What a pin of this operation stops: both ways for a round pin, across the line of pins for a relieved one. Without a
/// round pin beside it a relieved one is taken to stop one way, along the second of the plan's axes across its hole.
std::vector<frame::Vec3> stopped_by(const plan::Plan& plan, const plan::Operation& o, const plan::Locator& pin);

}  // namespace fettle::study
