#pragma once
// `fettle program prove`: every move of a control program held against the plan.
#include <string>
#include <vector>

#include "plan/plan.h"
#include "program/moves.h"
#include "prove/prove.h"

namespace fettle::cli {

struct ProgramProveArguments {
  std::string plan, program, operation;
  std::vector<std::string> sets;  ///< "503=1"
  bool json = false, all = false, quick = false;
  int castings = 0;       ///< number of the first casting; 0: nominal ones
  bool measured = false;  ///< of the plan's measured ones
};
/// Reads the program and proves it. Exit code: 0 nothing outside, 1 something outside, 2 bad input (also a program that
/// cannot be read), 3 our fault, 4 nothing outside but something open or beyond.
int program_prove_command(const ProgramProveArguments& arguments);

/// The program as the proof reads it: every H has a length of its own, which `options` is given too. `sets`: "503=1".
Outcome<program::Run> run_for_proof(const plan::Plan& plan, const std::string& text, const std::string& file,
                                    prove::Options& options, const std::vector<std::string>& sets = {});

/// The same from texts; `cell` in metres. Problems: the program cannot be read, no operation.
Outcome<prove::Proof> prove_text(const plan::Plan& plan, const std::string& operation, const std::string& text,
                                 const std::string& file, prove::Options options,
                                 const std::vector<std::string>& sets = {});

/// The operation that a program belongs to: the one that names the file, else the one whose id stands first in the
/// program's remarks, else the only one with cuts on a machine; empty: none or several.
std::string operation_of(const plan::Plan& plan, const std::string& text, const std::string& file);

/// What the command prints.
std::string proof_text(const prove::Proof& proof, const std::string& file, bool all);
std::string proof_json(const prove::Proof& proof, const std::string& file);

}  // namespace fettle::cli
