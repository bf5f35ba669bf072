#pragma once
// `fettle program draw`: pictures of a control program and of what coolant stays, as SVG and as one PDF.
#include <string>
#include <vector>

namespace fettle::cli {

struct ProgramDrawArguments {
  std::string plan, operation, program, out;
  std::vector<std::string> sets;
  bool inches = false, metric = false, quick = false;
};
/// Exit code: 0 drawn, whatever the proof says; 2 bad input, 3 our fault.
int program_draw_command(const ProgramDrawArguments& arguments);

}  // namespace fettle::cli
