#pragma once
// What a study leaves in a folder: findings.json, study.pdf and the drawings as SVG.
#include <string>
#include <vector>

#include "base/outcome.h"
#include "plan/plan.h"
#include "study/study.h"

namespace fettle::cli {

/// Writes all files, each whole or not at all, and returns their paths. A file that is there already is overwritten
/// only when an earlier run made it (the folder's list `made-by-fettle.txt` names it); otherwise: a problem, and
/// nothing is written.
Outcome<std::vector<std::string>> write_results(const study::Study& study, const plan::Plan& plan,
                                                const study::Data& data, const std::string& folder);

}  // namespace fettle::cli
