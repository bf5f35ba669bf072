#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::tolerance {

std::vector<finding::Reckoner> reckoners();

/// `stack`, `allocate`, `working_dimensions`, `position`, `round_zone`, `capability`, `process_scatter`,
/// `rolled_yield`, `castings_to_order`.
std::vector<finding::Reckoner> chain_reckoners();

/// `coaxial_across_clampings`.
std::vector<finding::Reckoner> ledger_reckoners();

}  // namespace fettle::tolerance
