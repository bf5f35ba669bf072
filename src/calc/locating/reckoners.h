#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::locating {

/// `pin_goes_on`, `relieved_pin`, `pin_turn`, `lift_off`, `rock`, `pallet_swap`, `floating_fastener`, `fixed_fastener`,
/// `position_mmc`.
std::vector<finding::Reckoner> reckoners();

}  // namespace fettle::locating
