#pragma once
// Where the jaws of a vise are, and how far they open.
#include <vector>

#include "study/internal.h"

namespace fettle::study {

/// The vise that an operation is held in: the one its clamp names, else the one of its machine that opens widest, with
/// a size; null: the shop file knows none.
const plan::Thing* vise_of(const plan::Plan& plan, const plan::Operation& o);

/// Where a locator or clamp touches, as the plan says; of the jaws of a vise only what lies within the jaw's width.
/// A point beyond it stands at the jaw's end: nothing presses farther out. Points that one jaw covers say where the
/// vise stands; those that none covers leave it at the middle of the clamped face. Two vise clamps are two vises.
std::vector<frame::Vec3> touches(const plan::Plan& plan, const plan::Operation& o, const plan::Locator& l);
std::vector<frame::Vec3> touches(const plan::Plan& plan, const plan::Operation& o, const plan::Clamp& k);

/// Points of vises that stand beyond their jaws, and vises that do not open as far as they are asked to.
void vise_jaw_findings(Context& c);

}  // namespace fettle::study
