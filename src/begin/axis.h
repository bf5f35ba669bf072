#pragma once
// One coordinate of a point by the number of its axis: 0 x, 1 y, 2 z.
#include "frame/frame.h"

namespace fettle::begin {

inline double coordinate(const frame::Vec3& v, int axis) { return axis == 0 ? v.x : axis == 1 ? v.y : v.z; }
inline double& coordinate(frame::Vec3& v, int axis) { return axis == 0 ? v.x : axis == 1 ? v.y : v.z; }

}  // namespace fettle::begin
