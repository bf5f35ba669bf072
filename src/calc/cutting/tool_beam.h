#pragma once
// How far a tool gives way: a stepped cantilever with shear, on a springy spindle.
#include <vector>

namespace fettle::cutting {

/// One stretch of the tool, from the tip upwards.
struct Stretch {
  double length = 0, diameter = 0;  ///< m; diameter that counts for stiffness (flutes: see fluted_share())
  double modulus = 0, poisson = 0;  ///< Pa, -
};
struct ToolBeam {
  std::vector<Stretch> stretches;  ///< tip first; ends at the holder's face
  double spindle = 0;              ///< N/m sideways at the holder's face; 0: rigid
  double tilt = 0;                 ///< N·m/rad at the holder's face; 0: rigid
};
/// Sideways motion at height `b` over the tip from a unit force at height `a`, m/N. Timoshenko: shear with the form
/// factor of a circle 6 (1 + nu)/(7 + 6 nu).
double compliance(const ToolBeam& beam, double a, double b);
/// Length of the beam, m.
double beam_length(const ToolBeam& beam);
/// Diameter that fluted stretches count with, over the cutting diameter: 0.8, from memory.
inline constexpr double fluted_share = 0.8;

}  // namespace fettle::cutting
