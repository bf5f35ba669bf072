#pragma once
// The study as the papers want it.
#include "output/papers/study_sheet.h"
#include "plan/plan.h"
#include "study/study.h"

namespace fettle::cli {

/// `data`: texts of the control programs that the plan names; without it those programs are not drawn.
papers::StudySheet sheet_of(const study::Study& study, const plan::Plan& plan, const study::Data* data = nullptr);

/// What stands on the pallet, without figures of a study.
drawings::PalletView pallet_view(const plan::Plan& plan);

}  // namespace fettle::cli
