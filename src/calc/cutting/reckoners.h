#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::cutting {

/// The reckoners of this science.
std::vector<finding::Reckoner> reckoners();

}  // namespace fettle::cutting
