#pragma once
// `fettle program make`: control programs from a plan.
#include <string>
#include <vector>

namespace fettle::cli {

struct ProgramMakeArguments {
  std::string plan, operation, dialect = "classic", out, from;
  std::vector<std::string> together;  ///< each a list of tools with commas
  bool inches = false, fewest_changes = false;
  bool json = false;  ///< what was made as JSON on standard output; without a folder with the texts themselves
};
/// Writes, for one operation or all that have cuts: the program, the sheet of offsets and switches, the restart table.
/// Without a folder the program goes to standard output. Exit code: 0 all made, 2 bad input, 3 our fault, 4 made, but
/// something of the plan is left out and named.
int program_make_command(const ProgramMakeArguments& arguments);

}  // namespace fettle::cli
