#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::removal {

/// `engaged_arc`: how much of the cutter's rim stands in metal beside a straight, hollow or bulging wall.
std::vector<finding::Reckoner> reckoners();

}  // namespace fettle::removal
