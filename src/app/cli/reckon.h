#pragma once
// `fettle reckon`: the calculators for the bench.
#include <iosfwd>
#include <string>
#include <vector>

#include "finding/reckoner.h"

namespace fettle::cli {

/// The command, with the arguments that follow the word `reckon`:
///   (nothing)                lists the reckoners; with --json as an array of descriptions
///   NAME                     shows one: its inputs, what it gives, a worked example
///   NAME key=value...        answers; with --json as an object
///   NAME --json              reads an object, or an array of them (a batch), from `in`; writes the same shape to `out`
///   --inch, --metric         how lengths and the rest are printed (metric unless said)
/// Returns 0 answered, 2 something typed is wrong (all of it is said on `err`), 3 a fault of ours, 4 answered, but
/// beyond the range where the formula holds. In a batch each element answers or says its problems, and the worst code
/// counts.
int reckon_command(const std::vector<std::string>& args, std::istream& in, std::ostream& out, std::ostream& err);

/// The same with a given list, so that tests can bring their own.
int reckon_with(const std::vector<finding::Reckoner>& reckoners, const std::vector<std::string>& args, std::istream& in,
                std::ostream& out, std::ostream& err);

}  // namespace fettle::cli
