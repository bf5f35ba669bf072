#pragma once
// Holes of the model as features: one per diameter, equal holes as one pattern.
#include <map>
#include <string>

#include "begin/features.h"

namespace fettle::begin {

void holes(const solid::Model& m, const std::map<int, std::string>& threads, Features& out, bool inch);

plan::Feature named_feature(const std::string& id, const std::string& kind, const std::string& name);
/// The coordinate along an axis direction, whichever its sign.
double along(frame::Vec3 axis, frame::Vec3 p);
/// That coordinate made 0: what runs along an axis stands in `from` and `to`.
void drop_axis(frame::Vec3& p, frame::Vec3 axis);

}  // namespace fettle::begin
