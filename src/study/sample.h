#pragma once
// One sampled part again: everything that happened to it on its way, and what the drawing says of it.
#include "calc/tolerance/ledger.h"
#include "study/study.h"

namespace fettle::study {

struct SampledPart {
  int number = 0;
  int parts = 0;  ///< drawn by a study of this plan
  tolerance::PartHistory history;
  std::vector<std::string> not_judged;  ///< requirements that no science looks at, or that lack something
};
/// The same part that `study` counted, for the plan's seed. Problems: no requirement that can be judged (says what is
/// missing), a number outside 0 .. castings - 1.
Outcome<SampledPart> sample_part(const plan::Plan& plan, const Data& data, int number);

}  // namespace fettle::study
