#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::chatter {

/// The reckoners of depth over speed and of the rubbing flank; part of reckoners().
std::vector<finding::Reckoner> lobe_reckoners();

}  // namespace fettle::chatter
