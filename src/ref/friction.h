#pragma once
// Friction between held surfaces and in screws: stated values with bands that a plan may start from.
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"

namespace fettle::ref {

/// Static friction of a pair for holding. The low end is the one that decides.
struct FrictionPair {
  std::string name;  ///< "iron on aluminium, wet"
  std::vector<std::string> aliases;
  double value = 0, low = 0, high = 0;
  std::string source, note;
  std::string replaced_by;  ///< the cheap measurement
};
std::span<const FrictionPair> friction_table();
/// By name ("iron on aluminium, wet") whatever the case, order of signs and blanks; refuses unknown pairs with the
/// nearest.
Outcome<FrictionPair> friction(std::string_view name);

/// Nut factor K of T = K d F, by condition of the screw.
struct NutFactor {
  std::string name;  ///< "oiled", "dry"
  std::vector<std::string> aliases;
  double value = 0, low = 0, high = 0;
  std::string source, note;
  std::string replaced_by;
};
std::span<const NutFactor> nut_factors();
Outcome<NutFactor> nut_factor(std::string_view name);

}  // namespace fettle::ref
