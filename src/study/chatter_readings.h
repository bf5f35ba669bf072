#pragma once
// What was tapped and recorded, for the chatter step.
#include <optional>
#include <string>

#include "calc/chatter/recording.h"
#include "calc/chatter/tool.h"
#include "study/internal.h"

namespace fettle::study {

/// A tap test of the tool (table of frequency, real, imaginary; or magnitude and phase), fitted to modes.
struct ToolTapped {
  bool there = false;         ///< the plan names one
  std::string file, problem;  ///< problem: why it says nothing
  chatter::FitResult fit;
};
ToolTapped tool_tapped(Context& c, const std::string& tool);

/// A tap recording: of the tool with this id, or (empty) of the pallet.
struct Rang {
  bool there = false;
  std::string file, problem;
  chatter::TapResult tap;
};
Rang rang(Context& c, const std::string& tool);

/// A recording of a tool that squeals (or does not), held against its speed and teeth.
struct Heard {
  bool there = false;
  std::string file, problem;
  chatter::SquealResult squeal;
};
Heard heard(Context& c, const std::string& tool, const std::string& operation, double turns, int teeth,
            double top_turns);

/// Reads the table of a tap test. Columns: frequency; real and imaginary, or magnitude and phase; displacement per
/// force in m/N, mm/N, µm/N or nm/N by the header's unit. Problems with file, line and column.
Outcome<chatter::TapTest> read_tap_test(const std::string& text, const std::string& file);

}  // namespace fettle::study
