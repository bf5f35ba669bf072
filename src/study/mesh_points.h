#pragma once
// Sample points of a surface from the models themselves: finished points from the part, raw points where a line along
// the normal meets the casting. Sees what plain features do not: rounded corners, gates, the true outline.
#include <vector>

#include "calc/casting/model.h"
#include "solid/solid.h"
#include "study/internal.h"

namespace fettle::study {

/// Points of surface `s` (finished, or an earlier cut lying `out` above it). Empty when the part has no such face or no
/// line meets the casting within 20 mm: then the plain feature is used.
std::vector<casting::FacePoint> mesh_points(const solid::Model& part, const solid::Model& cast, const Surface& finished,
                                            double out);

}  // namespace fettle::study
