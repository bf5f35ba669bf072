#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::structure {

/// The reckoners of this science.
std::vector<finding::Reckoner> reckoners();
/// Those of a bare plate: frequencies, sag, bow, what another thickness keeps.
std::vector<finding::Reckoner> plate_reckoners();

}  // namespace fettle::structure
