#pragma once
// `fettle program time`: how long a control program runs on a machine of the shop, and the machine's limits from a
// stopwatch.
#include <string>

namespace fettle::cli {

struct ProgramTimeArguments {
  std::string program, plan, operation, machine;
  bool test_program = false;
  std::string fit;       ///< CSV file with the measured seconds of each group
  double scatter = 0.2;  ///< s, of the stopwatch
  bool json = false;     ///< the same as JSON on standard output
};
/// With a program and a plan: times per tool and nest, against the plan's own. Without a program: of every operation
/// that names one. With test_program: prints the program to time. With fit: limits from measured times. Exit code: 0
/// timed, 2 bad input, 3 our fault, 4 something is missing, or the data do not fix a number.
int program_time_command(const ProgramTimeArguments& arguments);

}  // namespace fettle::cli
