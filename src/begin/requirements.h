#pragma once
// Drawing items become requirements of the plan; the others are said with their reason.
#include "begin/begin.h"
#include "begin/features.h"

namespace fettle::begin {

/// Adds requirements and datum letters to the plan's features; makes "surface" features for faces that no other feature
/// stands for.
void requirements_of(plan::Plan& plan, Features& features, const solid::Model& part, const Drawing& drawing, bool inch,
                     Begun& out);

}  // namespace fettle::begin
