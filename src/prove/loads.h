#pragma once
// The worst moves as cuts of the plan: forces, holding and chatter of the study with the engagement that the program
// has.
#include "prove/prove.h"

namespace fettle::prove {

/// Adds the study's findings on forces, holding and chatter of this operation's milling tools, with the width and depth
/// of each tool's worst move instead of the plan's, and that move's line.
void load_findings(const plan::Plan& plan, const plan::Operation& o, Proof& proof);

}  // namespace fettle::prove
