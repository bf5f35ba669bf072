#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::bore {

std::vector<finding::Reckoner> reckoners();

}  // namespace fettle::bore
