#pragma once
// Control programs as text: RS-274 and ISO 6983 as NISTIR 6556 describes them, with the classic M98/M99/P form beside O
// words.
//
// What is unknown is an error with line and column, never a guess. Where the report and the classic controls differ,
// the reader follows the report or refuses; docs/programs.md lists these places.
#include <array>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "program/moves.h"

namespace fettle::program {

/// What the machine knows before the first line. Lengths in metres.
struct Setting {
  std::array<std::optional<frame::Vec3>, 80> zeros;  // machine coordinates of the origins; index 1 G54 … 10 G54.1 P1
  std::map<int, double> lengths;                     // H number -> tool length; a missing one is an error at its G43
  std::map<int, double> parameters;                  // #1 … #5399, as numbers of the program (mm or inch, not SI)
  double peck_clearance = 0.000254;                  // between the last depth and where a rapid back in the hole ends
  bool dwell_in_milliseconds = false;                // what P of G4 and of the cycles counts
  bool inches = false;                               // what holds before the first G20 or G21
  bool optional_stop = true;                         // M1 stops
  bool block_skip = false;                           // lines with / are left out
  frame::Vec3 home;                    // machine coordinates where the tool's tip (without length) stands at first
  std::size_t most_moves = 5'000'000;  // a loop without end becomes an error (so many moves, or lines run)
  std::map<std::string, std::string> subprograms;  // further files by name or number, for M98 P and O calls
  /// Where the probe touches on a probing move, in the move's own frame; nothing: it does not touch, which is an error
  /// under G38.2. Without this function each probe is taken to touch at the end of its move, and a note says so.
  std::function<std::optional<frame::Vec3>(const Move&)> probe_hits;
};

/// Runs a program text to its end. All errors of grammar are collected (with line and column); an error of meaning ends
/// the run. `file` names the text in errors. Source: NISTIR 6556 (grammar, modal groups, order within a line, cycles,
/// arcs).
/// A program that reaches the end of its text without M2, M30 or an enclosing % is an error too.
Outcome<Run> read(std::string_view text, const std::string& file, const Setting& setting);

}  // namespace fettle::program
