#pragma once
// A draft as the file that a person will read, and that file read again: what is studied is what is written.
#include <string>

#include "begin/propose/propose.h"

namespace fettle::begin {

/// The plan file with its reasons, runners-up, assumptions and doubts as comments at its head.
std::string text_of(const Draft& draft);
/// The plan as that file says it. A proposal that does not read is our fault, and says so.
Outcome<plan::Plan> read_back(const Scene& scene, const std::string& text);

/// A draft as written, read and studied.
struct Look {
  std::string text;
  plan::Plan plan;
  study::Study study;
};
/// Writes, reads and studies a draft. Problems: those of reading and of the study.
Outcome<Look> look(const Scene& scene, const Draft& draft, const study::Data& data, const study::Options& options,
                   study::Memo& memo);
/// A study without virtual castings and without bands, on one thread.
study::Options quick_look();

}  // namespace fettle::begin
