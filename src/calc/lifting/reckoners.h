#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::lifting {

/// `lift` (one lift), `lift_job` (several kinds in one job), `lift_mass` (what the pallet weighs as it is lifted).
std::vector<finding::Reckoner> reckoners();

}  // namespace fettle::lifting
