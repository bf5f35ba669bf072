#pragma once
// Friction cones and pins as directions in which they can push.
#include <vector>

#include "calc/holding/proof.h"

namespace fettle::holding {

/// Two unit vectors square to n and to each other, along the axes as far as they can be.
struct Across {
  Vec3 u, v;
};
Across across(Vec3 n);

/// What an inner cone with so many sides keeps of the friction in its worst direction: cos(pi / facets).
double kept_by_facets(int facets);

/// The directions of contact number `index`. A rest: the edges of its friction cone and, with a patch, turning on the
/// spot by 2/3 mu R either way (uniform pressure on a disc; the hull of both lies inside the true limit). A clamp held
/// sideways: the same without its push, bounded by mu times its force. Pins: `facets` directions round the axis, or two
/// for a relieved one.
void append_generators(const Contact& c, std::size_t index, Vec3 about, int facets, std::vector<Generator>& generators,
                       std::vector<Bound>& bounds);

}  // namespace fettle::holding
