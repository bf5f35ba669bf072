#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::ref {

/// `fit` (limits of a fit code), `mate` (hole and shaft together), `thread` (drill, area, clearance), `screw` (what a
/// screw of a class carries), `convert` (a quantity in another unit).
std::vector<finding::Reckoner> reckoners();

}  // namespace fettle::ref
