#pragma once
// Two faults of the surface that a move leaves: a cutter that runs in the cast skin instead of under it, and one that
// leaves over a sharp edge, which breaks out in grey iron. Looked at before the move cuts.
#include "prove/table.h"

namespace fettle::prove {

/// What a move is about to do.
struct Surfaced {
  double rub = 0;       ///< m of the way along which a wall or a floor is left in the skin
  double depth = 1e9;   ///< m under the raw surface, least; of a floor or a wall
  bool floor = false;   ///< of the least: a floor
  double broken = 0;    ///< m, height or width of the metal that is still there at an edge it leaves over; 0: none
  frame::Vec3 at, out;  ///< where it is least; where it leaves: frame of the table
};
/// What is the same for every move.
struct Skins {
  double skin = 0;       ///< m, least depth of a first cut; 0: nobody knows it
  bool brittle = false;  ///< grey iron
};

/// Depth of a place under the nearest wall that is still as cast, across, m; `low` and `high`: the part of the wall
/// that is cut. Large where no wall is. `x`, `y` in the frame of the nest's zero, turn 0.
double under_wall(const Shape& raw, double x, double y, double low, double high);

/// `here`: the move in the frame of the table; `metal` before it cuts. `nest`: its part.
Surfaced surface(const Scene& scene, int nest, const Skins& skins, const ToolShape& tool, const program::Move& here,
                 const removal::Field& metal);

}  // namespace fettle::prove
