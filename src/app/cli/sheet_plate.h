#pragma once
// The plate of a study as drawings for the papers: how far it gives everywhere, how it swings.
#include <optional>
#include <vector>

#include "output/papers/study_sheet.h"
#include "study/study.h"

namespace fettle::cli {

/// What the study has of them; `pallet` is drawn below them and gives the style.
std::vector<papers::NamedDrawing> bend_of(const study::Study& study, const drawings::PalletView& pallet);

/// What each nest allows each tool; nothing when the study has no such limits.
std::optional<drawings::LimitsView> limits_of(const study::Study& study, const drawings::PalletView& pallet);

}  // namespace fettle::cli
