#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::structure {

/// The reckoners of this science.
std::vector<finding::Reckoner> reckoners();

}  // namespace fettle::structure
