#pragma once
// What the describers of this science's reckoners share beyond finding/reckoner_kit.h.
#include <string>
#include <utility>
#include <vector>

#include "base/text.h"
#include "finding/reckoner_kit.h"

namespace fettle::bore::kit {

/// Both limits of a size that a gauge can read.
inline finding::ReckonerInput size_limits(std::string name, std::string help) {
  return finding::kit::limits(std::move(name), std::move(help), 1e-6, 10);
}
/// "22.0031 mm": to a tenth of a micrometre.
inline std::string size(double si) {
  unit::Style s;
  s.gauge = true;
  return unit::print(si, unit::Kind::length, s);
}
/// "3.4 µm".
inline std::string little(double si) { return base::fixed(si * 1e6, 2) + " µm"; }
inline std::string percent(double share) { return unit::print(share, unit::Kind::fraction); }

/// Both limits in m, fits resolved; a problem when one is absent.
Outcome<std::pair<double, double>> both_limits(const finding::ReckonerValues& values, const std::string& name);
/// "5.4 2.1 4.9 µm": numbers parted by blanks, commas refused; the unit last, once. SI.
Outcome<std::vector<double>> list_of(const std::string& text, unit::Kind kind, const std::string& name);

}  // namespace fettle::bore::kit
