#pragma once
// What this science answers at the bench: see finding/reckoner.h.
#include <vector>

#include "finding/reckoner.h"

namespace fettle::bore {

std::vector<finding::Reckoner> reckoners();

/// Where to aim and what to accept; readings and gauges. reckoners() is both.
std::vector<finding::Reckoner> aim_reckoners();
std::vector<finding::Reckoner> reading_reckoners();
/// How flat a surface plate is.
finding::Reckoner plate_reckoner();

}  // namespace fettle::bore
