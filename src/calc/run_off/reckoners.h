#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::run_off {

/// `trough` (does it hold its flow and carry the grains), `grain` (what moves a grain: shear, speed, slope, jet),
/// `swarf` (mass, loose volume, bin and filter), `puddle` (what stays standing on a level face).
std::vector<finding::Reckoner> reckoners();

}  // namespace fettle::run_off
