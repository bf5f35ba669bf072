#pragma once
// What was tapped and recorded, for the chatter step.
#include <array>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "calc/chatter/recording.h"
#include "calc/chatter/tool.h"
#include "study/internal.h"

namespace fettle::study {

/// Readings that a finding used, or in which the finding said why not.
using Told = std::set<const plan::Reading*>;

/// Taps of the tool's tip along one axis of the machine, fitted to modes.
struct TappedAlong {
  std::string file;
  chatter::FitResult fit;
};
/// Tap tests of a tool (tables of frequency, real, imaginary; or magnitude and phase) by the machine's axes x, y, z: a
/// reading that names a direction speaks for it, one that names none for both sideways where no other does.
struct ToolTapped {
  std::array<std::optional<TappedAlong>, 3> along;
  std::string problem;                ///< why a table says nothing; empty: none, or all are read
  std::vector<finding::Input> notes;  ///< what of the readings is not used, and why
};
ToolTapped tool_tapped(Context& c, Told& told, const std::string& tool, const std::string& operation);

/// A tap recording of a tool.
struct Rang {
  bool there = false;
  std::string file, problem;  ///< problem: why it says nothing
  std::string words;          ///< "along x" or nothing
  chatter::TapResult tap;
  std::vector<finding::Input> notes;
};
Rang rang(Context& c, Told& told, const std::string& tool, const std::string& operation);

/// One tapping of the pallet: a recording, or a tap test that names no tool. What it rang with, beside what is
/// computed there.
struct PalletTap {
  std::string file, problem;
  std::string words;               ///< "in nest 2, along x"
  int nest = -1;                   ///< -1: not said
  double frequency = 0;            ///< Hz, of the strongest ring
  double damping = 0, spread = 0;  ///< ratio and one standard deviation
  bool spread_assumed = false;     ///< a tap test does not tell it
  double computed = 0;             ///< Hz: mode that is loudest there; nearest mode where no place is said
  bool loudest = false;            ///< which of the two
  std::vector<finding::Input> notes;
};
/// In the plan's order. `frequencies`: Hz of the computed modes.
std::vector<PalletTap> pallet_taps(Context& c, Told& told, const std::string& operation,
                                   const std::vector<double>& frequencies);

/// A recording of a tool that squeals (or does not), held against its speed and teeth.
struct Heard {
  std::string file, problem;
  int nest = -1;  ///< -1: not said
  chatter::SquealResult squeal;
  std::vector<finding::Input> notes;
};
std::vector<Heard> heard(Context& c, Told& told, const std::string& tool, const std::string& operation, double turns,
                         int teeth, double top_turns);

/// One line for every tap and squeal that nothing used, with the reason.
void say_unused(Context& c, const Told& told);

/// Reads the table of a tap test. Columns: frequency; real and imaginary, or magnitude and phase; displacement per
/// force in m/N, mm/N, µm/N or nm/N by the header's unit. Problems with file, line and column.
Outcome<chatter::TapTest> read_tap_test(const std::string& text, const std::string& file);

}  // namespace fettle::study
