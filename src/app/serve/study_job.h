#pragma once
// The whole study as a job: with virtual castings, which a quick answer leaves out.
#include "app/serve/routes.h"

namespace fettle::serve {

/// Of a text that was studied quickly; texts are printed in `units`. `of_trial`: nobody kept that text. Null when too
/// many wait.
std::shared_ptr<Job> whole_study(Desk& desk, const std::shared_ptr<Open>& open,
                                 const std::shared_ptr<const Studied>& quick, const std::string& units, bool of_trial);

}  // namespace fettle::serve
