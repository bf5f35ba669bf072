#pragma once
// Things that a plan may name instead of a number that only measuring tells: "hard jaw", "seat dirt". Each gives a
// start value with its band; a plan that uses one lists it as assumed until the cheap measurement replaces it.
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"
#include "unit/quantity.h"

namespace fettle::ref {

struct Default {
  std::string thing;  ///< "hard jaw"
  std::vector<std::string> aliases;
  std::string what;  ///< what of it: "contact stiffness under one part"
  unit::Kind kind = unit::Kind::number;
  double value = 0, low = 0, high = 0;  ///< SI
  std::string source;
  std::string replaced_by;  ///< the cheap measurement
  /// "400 N/µm (100 N/µm..1500 N/µm)": reads back with unit::parse_banded.
  std::string text() const;
};

std::span<const Default> defaults();
/// By thing name; `kind` picks the row where a thing has several and is checked where it has one ("hard jaw" is a
/// stiffness, not a length). Unknown things are refused with the nearest one.
Outcome<Default> default_of(std::string_view thing, std::optional<unit::Kind> kind = {});

}  // namespace fettle::ref
