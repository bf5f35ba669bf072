#pragma once
// One rectangular element of four corners: a shear-flexible plate (assumed transverse shear tied at the middles of its
// edges) with in-plane motion. Corners anticlockwise from (-x, -y). At each corner w, bx, by, u, v; a point at height z
// above the mid-plane moves by u + z bx, v + z by, w.
#include <array>

#include "calc/structure/plate_section.h"

namespace fettle::structure {

inline constexpr int per_node = 5, corners = 4, per_element = 20;
using ElementMatrix = std::array<double, static_cast<std::size_t>(per_element) * per_element>;

/// The parts of an element that its size alone decides.
struct ElementShapes {
  double dx = 0, dy = 0;
  std::array<double, 64> q11{}, q12{}, q66{}, q66_middle{};  ///< of in-plane motion, (corner, direction) twice
  std::array<double, 144> shear_x{}, shear_y{};              ///< of (w, bx, by) at the corners
  std::array<double, 16> mass{};                             ///< of one motion
};
ElementShapes element_shapes(double dx, double dy);

/// `thin`: shear gives nothing and rotation weighs nothing.
void element_matrices(const ElementShapes& shapes, const Section& section, bool thin, ElementMatrix& K,
                      ElementMatrix& M);

}  // namespace fettle::structure
