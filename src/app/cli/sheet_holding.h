#pragma once
// What holds the parts of a study, as drawings for the papers.
#include <vector>

#include "output/drawings/mechanics.h"
#include "plan/plan.h"
#include "study/study.h"

namespace fettle::cli {

/// The worst case of each operation, the least factor first; seen along the axis that most contacts press along.
std::vector<drawings::SlipView> slips_of(const study::Study& study, const plan::Plan& plan, const unit::Style& style);
std::vector<drawings::JawView> jaws_of(const study::Study& study, const unit::Style& style);

}  // namespace fettle::cli
