#pragma once
// Every reckoner of every science, in the order in which they are listed.
#include <vector>

#include "finding/reckoner.h"

namespace fettle::cli {

/// Built once; the order is the sciences' and stays the same between calls.
const std::vector<finding::Reckoner>& all_reckoners();

}  // namespace fettle::cli
