#pragma once
// Reckoners that go from tooth to tooth without averaging the forces.
#include <vector>

#include "finding/reckoner.h"

namespace fettle::chatter {

std::vector<finding::Reckoner> floquet_reckoners();

}  // namespace fettle::chatter
