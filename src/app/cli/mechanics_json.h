#pragma once
// Forces, lobes, slips and jaws of a study as JSON; keys in docs/findings.md.
#include <nlohmann/json_fwd.hpp>

#include "study/study.h"

namespace fettle::cli {

/// Sets `forces`, `slips`, `jaws` and `lobes`, each a list that may be empty. A number that is none becomes null.
void add_mechanics(const study::Study& study, nlohmann::json& to);

}  // namespace fettle::cli
