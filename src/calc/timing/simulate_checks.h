#pragma once
// What may be wrong with the description of a cell, for simulate.cpp alone.
#include "calc/timing/simulate.h"

namespace fettle::timing {

/// Every problem at once; empty when the cell can be run.
Problems cell_problems(const SimulationInputs& in);

}  // namespace fettle::timing
