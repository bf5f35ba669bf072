#pragma once
// Forces, stiffness and chatter of a study as curves for the papers.
#include <optional>
#include <vector>

#include "output/drawings/panels.h"
#include "study/study.h"

namespace fettle::cli {

std::vector<drawings::PanelsView> forces_of(const study::Study& study, const unit::Style& style);
std::optional<drawings::PanelsView> thickness_of(const study::Study& study, const unit::Style& style);
std::vector<drawings::PanelsView> lobes_of(const study::Study& study, const unit::Style& style);

}  // namespace fettle::cli
