#pragma once
// What a change voids, as `fettle diff` says it.
#include <string>
#include <vector>

#include "app/cli/study_text.h"
#include "study/practice.h"

namespace fettle::cli {

/// What the changes void, what to do again, which files of `name` were measured before them, and what stays.
std::string voids_text(const std::vector<practice::Changed>& changes, const std::vector<study::OldFile>& old_files,
                       const std::string& name, const Look& look);

}  // namespace fettle::cli
