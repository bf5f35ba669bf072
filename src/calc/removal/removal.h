#pragma once
// Metal that a cutter takes away, move by move, on a field of heights. See README.md for the sketch and the limits.
//
// Lengths in metres, angles in radians, Z towards the spindle. A cell of the field is a column of metal: everything
// below its top is there, but for one gap (an undercut). Heights are whole numbers of 0.1 µm, so that sums are exact
// in any order and come out alike from every compiler.
#include <cstdint>
#include <vector>

#include "base/outcome.h"
#include "frame/frame.h"
#include "program/moves.h"

namespace fettle::removal {

inline constexpr double grain = 1e-7;    ///< m, one step of height
inline constexpr double nothing = -1.0;  ///< m, height of a cell without metal

/// Columns of metal over a rectangle. Cell (c, r) has its middle at left + (c + 1/2) cell, bottom + (r + 1/2) cell.
struct Field {
  int columns = 0, rows = 0;
  double left = 0, bottom = 0, cell = 0;        ///< m
  std::vector<std::int32_t> top;                ///< grains, row by row
  std::vector<std::int32_t> gap_low, gap_high;  ///< grains, the gap of each cell; empty: no cell has one
  double x(int column) const { return left + (column + 0.5) * cell; }
  double y(int row) const { return bottom + (row + 0.5) * cell; }
  std::size_t index(int column, int row) const {
    return static_cast<std::size_t>(row) * static_cast<std::size_t>(columns) + static_cast<std::size_t>(column);
  }
};
/// A field from (left, bottom) to (right, upper), all cells at `height`. Problems: no size, a cell that is not
/// positive, more than 100 million cells, heights beyond 100 m.
Outcome<Field> make_field(double left, double bottom, double right, double upper, double cell, double height);
std::int32_t grains(double height);
/// Metal of a field above the height `floor`, m3.
double metal(const Field& field, double floor);

/// The shape that a turning tool cuts, tip at the origin.
struct Cutter {
  double diameter = 0;   ///< m
  double corner = 0;     ///< m, radius at the rim; half the diameter: a ball
  double flat = 0;       ///< m, diameter of the flat at the tip, of a cone or point
  double angle = 0;      ///< rad, included angle of a cone or drill point; 0: none
  double thickness = 0;  ///< m, of a disc on a neck (keyseat cutter), which cuts nothing above itself; 0: cuts all the
                         ///< way up
};
/// Height of the cutter's underside over its tip at `radius` from its axis, m. Never falls with the radius.
double rise(const Cutter& cutter, double radius);

/// What one move took.
struct Bite {
  double volume = 0;   ///< m3
  double deepest = 0;  ///< m, tallest column taken: the axial depth of the cut
  double area = 0;     ///< m2, seen from the spindle, of all columns that lost metal
  double arc = 0;      ///< rad, of the front half of the rim that stands in metal where the move ends; widest of an
                       ///< arc's pieces; a whole turn for a plunge
  /// Angles of the first and last tooth place in metal, from the left of the feed over the front (0 to pi). A
  /// clockwise cutter enters at the first; down milling leaves at pi.
  double entry = 0, exit = 0;
  bool beyond = false;  ///< a second gap in one column: the field cannot say it, and nothing was taken there
};
/// Takes what the cutter meets on a straight way of its tip. Flat cutters exactly on every cell's middle, ramps too;
/// others to a tenth of a micron. `field` is the metal before and after. Problems are the caller's: a cutter without a
/// diameter takes nothing.
Bite cut(Field& field, const Cutter& cutter, frame::Vec3 start, frame::Vec3 end);
/// The same for a move of a program; arcs in chords that stay within `chord` of the arc.
Bite cut(Field& field, const Cutter& cutter, const program::Move& move, double chord = 10e-6);

/// How far a shape on a straight way would stand in the metal, which stays. For holders, rapid moves, finished parts.
struct Touch {
  double deepest = 0;  ///< m, 0: it clears
  int cells = 0;       ///< of those deeper than the tolerance
  frame::Vec3 at;      ///< where it is deepest; z: top of the metal there
};
Touch touch(const Field& field, const Cutter& cutter, frame::Vec3 start, frame::Vec3 end, double tolerance = 0);
Touch touch(const Field& field, const Cutter& cutter, const program::Move& move, double tolerance = 0,
            double chord = 10e-6);

/// Places along a move such that straight ways between them stay within `chord` of it; first and last are its ends.
std::vector<frame::Vec3> chords(const program::Move& move, double chord);

/// Exact: angle of the rim in metal when a cutter takes `width` beside a straight wall. cos = 1 - 2 width / diameter.
double straight_arc(double diameter, double width);
/// The wall that a cutter leaves.
struct Wall {
  double radius = 0;   ///< m, finished; 0: straight
  bool hollow = true;  ///< the cutter runs inside it; else round it
};
struct WallArc {
  double arc = 0;          ///< rad, of the rim in metal, 0 to pi
  double equal_width = 0;  ///< m, width beside a straight wall with the same arc
};
/// Exact: triangle of the path's radius e, the cutter's radius r and the wall before b. Hollow: e = a - r, b = a -
/// width; bulging: e = a + r, b = a + width. Problems: no diameter, a width that is negative or above the diameter, a
/// hollow wall that is narrower than the cutter. Source: geometry of two circles.
Outcome<WallArc> wall_arc(double diameter, double width, const Wall& wall);

}  // namespace fettle::removal
