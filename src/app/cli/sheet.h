#pragma once
// The study as the papers want it.
#include "output/papers/study_sheet.h"
#include "plan/plan.h"
#include "study/study.h"

namespace fettle::cli {

papers::StudySheet sheet_of(const study::Study& study, const plan::Plan& plan);

}  // namespace fettle::cli
