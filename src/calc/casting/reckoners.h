#pragma once
// Questions of the casting science that can be asked alone.
#include <vector>

#include "finding/reckoner.h"

namespace fettle::casting {

/// raw_size, allowance_left, draft, core_shift, run_casting, tolerance_factor, sample_share, count_share.
std::vector<finding::Reckoner> reckoners();

}  // namespace fettle::casting
