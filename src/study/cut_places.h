#pragma once
// Where along a cut the tool stands: places for holding, stiffness and chatter.
#include "study/cut_model.h"

namespace fettle::study {

/// Places of one cut on the features it names; empty when none of them has a place in the plan.
std::vector<CutPlace> cut_places(const plan::Plan& plan, const CutModel& cut);

/// Fills in gate_places, gate_stock and gate_words, and gaps and gap_words: what the casting puts in the cut's way.
void cut_interruptions(Context& c, CutModel& cut);

}  // namespace fettle::study
