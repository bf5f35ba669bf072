#pragma once
// `fettle program read`: what a control program does, move by move.
#include <string>
#include <vector>

namespace fettle::cli {

struct ProgramReadArguments {
  std::string program;
  std::string with;               ///< JSON file: zeros, lengths, parameters, touches, in millimetres
  std::vector<std::string> sets;  ///< "503=5413"
  bool inches = false, skip = false, json = false;
};
/// Reads a program to its end and says what it does. What a program of ours has on paper (program/on_paper.h) counts
/// where nothing else is given. Exit code: 0 read, 2 not a program (each error with line and
/// column), 4 read, and something was noted that was not followed.
int program_read_command(const ProgramReadArguments& arguments);

}  // namespace fettle::cli
