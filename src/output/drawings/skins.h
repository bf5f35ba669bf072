#pragma once
// Raw outlines from finished ones and the stock on each face, for castings given by plain features.
#include <vector>

#include "output/drawings/views.h"

namespace fettle::drawings {

/// The skin of a straight-sided outline: edge i runs from point i to the next, `stock[i]` (m, negative: metal missing)
/// lies outside it, on the side away from the metal. Corners go where the moved edges meet; between two edges in one
/// line they move with the later one. `hole`: the outline bounds a hole in the metal. Empty when the two lists differ
/// in length or the outline has fewer than three points.
Skin edge_skin(const std::vector<Point>& finished, const std::vector<double>& stock, bool hole = false);

/// A box with rounded corners and its own stock on each side (m).
Skin box_skin(Point centre, double width, double height, double corner, double left, double right, double low,
              double high);

/// A round outline: finished and raw diameter, and where the raw one's middle lies (core shift).
Skin round_skin(Point centre, double finished_diameter, double raw_diameter, Point raw_centre);

}  // namespace fettle::drawings
