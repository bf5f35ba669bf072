#pragma once
// A quantity over a plane on a grid: its value between the nodes, lines of one value, and strokes that grow denser with
// it. Geometry alone; nothing is drawn here.
#include <vector>

#include "output/drawings/kit.h"
#include "output/drawings/views_plate.h"

namespace fettle::drawings {

/// True when the grid has the numbers it says, at least 2 by 2 nodes.
bool whole(const Field& field);
/// Smallest and largest finite value; `there` false when there is none.
struct Range {
  bool there = false;
  double low = 0, high = 0;
};
Range range_of(const Field& field);

/// Between the nodes, along both sides straight; NaN outside the grid or beside a node that has no number.
double value_at(const Field& field, Point p);

/// The same, but beside a node that has no number, and outside the grid, that of the nearest node that has one.
double value_near(const Field& field, Point p);

/// With numbers at nodes without one that lie beside others (`rings` times over): the mean of those. For what is cut
/// off by an outline between the nodes.
Field filled(const Field& field, int rings);

/// `times` as fine, rounded through the nodes (cubic) where all neighbours are there, straight elsewhere.
Field refined(const Field& field, int times);

/// Lines along which the field has the value `level`, in the field's plane. A closed line ends where it starts.
std::vector<std::vector<Point>> contours(const Field& field, double level);

/// Stretches of parallel lines `gap` mm apart on paper that lie where the field is `level` or more, on paper. Only
/// every `every`th line is taken, but for those that every `but`th one would take (0: none left out), so that sets with
/// more and more lines lie inside one another. `falling`: the other way. No number: no line.
struct Strokes {
  double gap = 1;
  int every = 1, but = 0;
  bool falling = false;
};
Path strokes_above(const Field& field, double level, const Scale& scale, const Strokes& strokes);

}  // namespace fettle::drawings
