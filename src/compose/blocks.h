#pragma once
// Somebody's program for one part, as blocks per tool.
#include <string>
#include <vector>

#include "base/outcome.h"
#include "compose/steps.h"
#include "program/moves.h"

namespace fettle::compose {

/// What one tool does between two tool changes.
struct ToolBlock {
  int tool = 0;
  int first_line = 0, last_line = 0;  // of the given text
  double speed = 0;                   // rad/s, at its first cut
  Steps steps;                        // in the frame of the program's zero; begins with a place in the plane, ends high
  double lowest = 0, highest = 0;     // m, of the tip, machine-frame moves left out
  double feed = 0;                    // m/s, the fastest
};
struct Blocks {
  std::vector<ToolBlock> blocks;  // in the order of the program
  std::vector<std::string> notes;
};

/// Splits a program that was read. Cycles become cycles again, moves in machine coordinates become a move up to `safe`.
/// Problems, each with its line: cuts under more than one zero, radius compensation (what was read is the part's
/// outline and not the tool's way), arcs in another plane than XY, a spindle that turns the other way, cutting without
/// a tool, no length offset, inverse-time feed.
Outcome<Blocks> blocks(const program::Run& run, const std::string& file, double safe);

}  // namespace fettle::compose
