#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::chatter {

/// The reckoners of this science.
std::vector<finding::Reckoner> reckoners();

}  // namespace fettle::chatter
