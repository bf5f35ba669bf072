#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::timing {

std::vector<finding::Reckoner> reckoners();

}  // namespace fettle::timing
