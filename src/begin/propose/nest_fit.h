#pragma once
// How near parts may stand to each other: no-fit polygons of convex outlines, and the rows they allow.
#include <vector>

#include "maths/polygon.h"
#include "solid/solid.h"

namespace fettle::begin {

/// Convex outline of the part seen along Z; its box when the model says no more. Flattened arcs lie inside the true
/// ones by the chord of its reader.
maths::Polygon outline_from_above(const solid::Model& part);
/// Turned about the origin, rad.
maths::Polygon turned(const maths::Polygon& p, double angle);
/// Everything within `by` of a convex polygon, from outside: edges moved out, round corners met by flats of 15 degrees
/// at most. Never less than the true one.
maths::Polygon grown(const maths::Polygon& p, double by);
/// Where the origin of `b` may not stand when that of `a` stands at zero: the Minkowski sum of `a` and `b` mirrored.
/// Both convex, anticlockwise.
maths::Polygon no_fit(const maths::Polygon& a, const maths::Polygon& b);
/// True when `p` lies inside by more than `slack`.
bool inside(const maths::Polygon& p, maths::Point2 at, double slack);

/// Rows of parts: `along` in a row, `across` from row to row, every other row moved by `shift`.
struct Rows {
  double along = 0, across = 0, shift = 0;
};
/// The least pitch at which no part's way meets its neighbours, either way round. `keep_out`: no-fit polygon of a way
/// and a neighbour. `step`: pitches are whole multiples of it. `staggered`: every other row moved by half a pitch.
Rows closest_rows(const maths::Polygon& keep_out, double step, bool staggered);

}  // namespace fettle::begin
