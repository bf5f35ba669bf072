#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::timing {

std::vector<finding::Reckoner> reckoners();
/// Moves, cuts, cycles, tool order, edges, hours.
std::vector<finding::Reckoner> clock_reckoners();
/// Several machines for few people, learning, cost of a part, payback.
std::vector<finding::Reckoner> money_reckoners();
/// `cell` (two sets and an operator, simulated) and `unattended` (how much may run with nobody there).
std::vector<finding::Reckoner> simulation_reckoners();

}  // namespace fettle::timing
