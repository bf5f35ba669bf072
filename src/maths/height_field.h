#pragma once
// A field of heights on a grid, and the water that stays on it.
#include <cstddef>
#include <vector>

#include "maths/polygon.h"

namespace fettle::maths {

/// Heights at the middles of square cells, row by row in X. SI.
struct HeightField {
  int nx = 0, ny = 0;
  double x0 = 0, y0 = 0;  ///< lower left corner of the field
  double cell = 0;        ///< side of a cell
  std::vector<double> z;  ///< nx * ny

  HeightField() = default;
  HeightField(int columns, int rows, double left, double low, double side, double height)
      : nx(columns),
        ny(rows),
        x0(left),
        y0(low),
        cell(side),
        z(static_cast<std::size_t>(columns) * static_cast<std::size_t>(rows), height) {}
  std::size_t at(int i, int j) const {
    return static_cast<std::size_t>(j) * static_cast<std::size_t>(nx) + static_cast<std::size_t>(i);
  }
  Point2 middle(int i, int j) const { return {x0 + (i + 0.5) * cell, y0 + (j + 0.5) * cell}; }
};

/// Levels to which the field fills before it runs off: over its edge cells where `open_edge`, and into the cells of
/// `outlet` (same size as z, or empty). Water passes between cells that share a side. A cell from which no outlet can
/// be reached (no open edge, no outlet) fills to infinity. After Barnes, Lehman, Mulla, "Priority-flood", Computers &
/// Geosciences 62, 2014: cells leave a queue lowest first, so each is looked at once.
std::vector<double> flood(const HeightField& field, const std::vector<char>& outlet, bool open_edge);

/// Water that stays in one hollow.
struct Pool {
  double volume = 0, area = 0;  ///< m3, m2
  double depth = 0;             ///< m, at its deepest
  double level = 0;             ///< m, its surface
  Point2 deepest;
};
/// The hollows of a flooded field, largest volume first; cells that touch and stand under one level are one pool.
/// Depths below `least` are left out.
std::vector<Pool> pools(const HeightField& field, const std::vector<double>& level, double least = 1e-9);

}  // namespace fettle::maths
