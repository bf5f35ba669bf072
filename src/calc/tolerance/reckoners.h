#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::tolerance {

std::vector<finding::Reckoner> reckoners();

}  // namespace fettle::tolerance
