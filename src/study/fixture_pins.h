#pragma once
// A round and a relieved pin among the locators of a fixture, an angle plate or a vise: holes, and what each stops.
#include "study/internal.h"

namespace fettle::study {

/// Pins that an operation's locators name. Axes of holes may lie along any of the part's axes.
struct FixturePins {
  const plan::Locator *round = nullptr, *relieved = nullptr;  ///< the first of each kind; null: none
  Surface round_hole, relieved_hole;
  frame::Vec3 along, across;  ///< unit, square to the holes: the line of pins, and what the relieved pin stops
  bool pair = false;          ///< both stand in holes apart from each other: `along` and `across` are the pair's
};
FixturePins pins_among(const plan::Plan& plan, const plan::Operation& o);

/// What a pin of this operation stops: both ways for a round pin, across the line of pins for a relieved one. Without a
/// round pin beside it a relieved one is taken to stop one way, along the second of the plan's axes across its hole.
std::vector<frame::Vec3> stopped_by(const plan::Plan& plan, const plan::Operation& o, const plan::Locator& pin);

}  // namespace fettle::study
