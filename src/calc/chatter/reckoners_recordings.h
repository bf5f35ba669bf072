#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::chatter {

/// The reckoners of taps and squeals; part of reckoners().
std::vector<finding::Reckoner> recording_reckoners();

}  // namespace fettle::chatter
