#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::timing {

std::vector<finding::Reckoner> reckoners();
/// `cell` (two sets and an operator, simulated) and `unattended` (how much may run with nobody there).
std::vector<finding::Reckoner> simulation_reckoners();

}  // namespace fettle::timing
