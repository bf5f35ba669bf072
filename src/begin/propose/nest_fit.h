#pragma once
// How near parts may stand to each other: no-fit polygons of outlines in convex pieces, and the rows they allow.
#include <vector>

#include "maths/polygon.h"
#include "solid/solid.h"

namespace fettle::begin {

/// Convex outline of the part seen along Z; its box when the model says no more. Flattened arcs lie inside the true
/// ones by the chord of its reader.
maths::Polygon outline_from_above(const solid::Model& part);
/// Convex polygons, anticlockwise, that cover a region together: one where it is convex.
using Pieces = std::vector<maths::Polygon>;
/// The part seen along Z in few convex pieces, none of it left out: its mesh in strips along X, strips joined where
/// that adds next to nothing. Where that fills its hull but for a thirtieth, or the model has no mesh, the hull alone.
Pieces pieces_from_above(const solid::Model& part);
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

/// Of regions in pieces: each of the above for every piece, or pair of pieces, together.
Pieces turned(const Pieces& p, double angle);
Pieces grown(const Pieces& p, double by);
Pieces no_fit(const Pieces& a, const Pieces& b);
Pieces moved(const Pieces& p, maths::Point2 by);
bool inside(const Pieces& p, maths::Point2 at, double slack);
/// True when a disc of that radius lies on the region, by its middle and its rim.
bool carries(const Pieces& p, maths::Point2 at, double radius);

/// Rows of parts: `along` in a row, `across` from row to row, every other row moved by `shift`.
struct Rows {
  double along = 0, across = 0, shift = 0;
};
/// The least pitch at which no part's way meets its neighbours, either way round. `keep_out`: no-fit polygon of a way
/// and a neighbour. `step`: pitches are whole multiples of it. `staggered`: every other row moved by half a pitch.
Rows closest_rows(const maths::Polygon& keep_out, double step, bool staggered);
/// The same of an outline in pieces: parts of one row may reach into each other's hollows.
Rows closest_rows(const Pieces& keep_out, double step, bool staggered);

/// A part, and another one turned half round that reaches into its hollow: where the second one's origin stands from
/// the first one's, those with the smallest box round both first. `way`: what may not be entered round a part; `raw`: a
/// neighbour before it is cut. Places are whole multiples of `step` across, to the next one along.
std::vector<maths::Point2> interlocked(const Pieces& way, const Pieces& raw, double step, std::size_t most);
/// Where the origin of a second pair may not stand when that of a first one stands at zero.
Pieces no_fit_of_pairs(const Pieces& way, const Pieces& raw, maths::Point2 second);

}  // namespace fettle::begin
