#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::practice {

/// `rule` (a rule with its reason), `skin_cut` (does the first cut go under the skin), `exit_edge` (does the edge break
/// out), `rust_clock` (how long parts stay bare), `change_voids` (what a change voids).
std::vector<finding::Reckoner> reckoners();

}  // namespace fettle::practice
