#pragma once
// How long a machine's swarf bin and coolant filter last.
#include "study/internal.h"

namespace fettle::study {

/// For each machine that cuts: does its bin take a shift's swarf, its filter a week's fines?
void swarf_findings(Context& c);

}  // namespace fettle::study
