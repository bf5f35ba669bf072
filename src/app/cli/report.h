#pragma once
// Problems on standard error, one line each.
#include "base/outcome.h"

namespace fettle::cli {

/// Prints them; the exit code they amount to: 2 for a person's input, 3 for a fault of ours or of the machine.
int report(const Problems& problems);

}  // namespace fettle::cli
