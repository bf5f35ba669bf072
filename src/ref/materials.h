#pragma once
// Materials of castings, plates, pins and tools. Every number has a band; nothing is a default material.
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"

namespace fettle::ref {

/// A stated value with its band, SI.
struct Property {
  double value = 0, low = 0, high = 0;
};

struct Material {
  std::string name;                  ///< "EN-GJL-250"
  std::vector<std::string> aliases;  ///< other ways to write it; compared without case, blanks and signs
  std::string group;                 ///< "grey iron", "ductile iron", "malleable iron", "aluminium", "steel", "carbide"
  Property density;                  ///< kg/m3
  Property modulus;                  ///< Pa
  Property poisson;                  ///< -
  Property expansion;                ///< 1/K, 20 to 100 °C
  Property conductivity;             ///< W/(m·K) near room temperature
  double hardness_low = 0, hardness_high = 0;  ///< Brinell; 0, 0: not given in Brinell (see note)
  double tensile = 0;                          ///< Rm, Pa, least value of the grade
  double yield = 0;                            ///< Rp0.2, Pa; 0: none is defined (grey iron)
  std::string source, note;
};

std::span<const Material> materials();
/// By name or alias ("GJL 250", "A48 class 35", "6061-T6"); refuses unknown ones with the nearest.
Outcome<Material> material(std::string_view name);

/// Tensile strength to expect in a grey iron casting of a wall, Pa (EN 1561, up to and including the wall in m).
/// Refuses grades and walls outside the table: it is printed for EN-GJL-150 to 300 and walls to 80 mm.
Outcome<double> strength_in_wall(std::string_view grade, double wall);

/// Letters and digits in lower case, for comparing names however they are spaced.
std::string plain_name(std::string_view name);

}  // namespace fettle::ref
