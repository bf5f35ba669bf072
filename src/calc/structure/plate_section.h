#pragma once
// What the plate is made of at each element: stiffness and mass through the thickness, from outline, pockets, ribs,
// holes and bonded parts. Heights z run from the mid-plane of the full plate, up.
#include <array>
#include <string>
#include <vector>

#include "calc/structure/structure.h"

namespace fettle::structure {

/// A grid of equal rectangles over the plate; nodes row by row from -y, x fastest.
struct Grid {
  int columns = 0, rows = 0;
  double left = 0, bottom = 0, dx = 0, dy = 0;
  int nodes() const { return (columns + 1) * (rows + 1); }
  int node(int i, int j) const { return j * (columns + 1) + i; }
};
/// Over the plate, or over the box around its outline.
Grid grid_of(const Plate& plate, int columns, int rows);

/// Stiffness and mass of one element per area, means over its samples; nothing where there is no plate.
struct Section {
  double fill = 0;                          ///< share of the element that is plate
  std::array<double, 3> stretch{};          ///< integral of Q11, Q12, Q66 over z, N/m
  std::array<double, 3> coupling{};         ///< ... times z, N
  std::array<double, 3> bending{};          ///< ... times z^2, N m
  double shear = 0;                         ///< shear factor x G x thickness, N/m
  double mass = 0, moment = 0, rotary = 0;  ///< integral of density, x z, x z^2: kg/m2, kg/m, kg
  double warmth = 0, warmth_z = 0;          ///< integral of Q (1 + nu) x expansion, x z: N/(m K), N/K
  double warp = 0, warp_z = 0;              ///< of the plate alone, x z, x z^2: N/K, N m/K
  bool operator==(const Section&) const = default;
};

/// One section per element, row by row. An element that a rim crosses is sampled at 8 x 8 places and takes their mean.
std::vector<Section> sections(const Inputs& in, const Grid& grid);

/// Inside the outline (or the rectangle), on no account of reliefs.
bool on_plate(const Plate& plate, double x, double y);
bool on_relief(const Relief& relief, double x, double y);
/// In the footprint of the part.
bool on_part(const Part& part, double x, double y);

}  // namespace fettle::structure
