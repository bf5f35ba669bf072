#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::seal {

/// `seal` (does this ring seal in this groove), `seal_ring` (which ring of the table fits it).
std::vector<finding::Reckoner> reckoners();

}  // namespace fettle::seal
