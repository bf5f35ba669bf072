#pragma once
// Rings in the plane that need not be convex.
#include <cstddef>

#include "maths/polygon.h"

namespace fettle::maths {

/// Whether p lies inside a ring of n corners, `at(i)` each: an odd number of its edges stands to the right of p. The
/// ring may be convex or not and run either way round; the last corner is joined to the first. Of points on the rim
/// those on left and lower edges are in, those on right and upper ones are out, corners likewise: of two rings that
/// share an edge each point of it lies in exactly one. Where the ring goes round p twice, p is out. A NaN is never in.
template <class At>
bool in_ring(std::size_t n, const At& at, Point2 p) {
  bool in = false;
  for (std::size_t i = 0, k = n - 1; i < n; k = i++) {
    const Point2 a = at(i), b = at(k);
    if ((a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x) in = !in;
  }
  return in;
}

}  // namespace fettle::maths
