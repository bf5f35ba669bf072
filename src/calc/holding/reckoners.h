#pragma once
#include <vector>

#include "finding/reckoner.h"

namespace fettle::holding {

/// The reckoners of this science.
std::vector<finding::Reckoner> reckoners();
/// Of screws, anchors, jaws, vises, what springs back, and chucks.
std::vector<finding::Reckoner> screw_reckoners();
/// Of what friction carries.
std::vector<finding::Reckoner> proof_reckoners();

}  // namespace fettle::holding
