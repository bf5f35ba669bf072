#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::motion {

/// `move_time` (one straight move, speed to speed), `corner_speed` (feed kept through a corner), `arc_feed` (feed kept
/// around an arc).
std::vector<finding::Reckoner> reckoners();

}  // namespace fettle::motion
