#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::reach {

/// `keyseat` (does this cutter reach that groove, and its path, feed and passes), `reach` (do cutter, shank and holder
/// clear a wall or a screw head beside the path).
std::vector<finding::Reckoner> reckoners();

}  // namespace fettle::reach
