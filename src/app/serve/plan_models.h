#pragma once
// The solids that a plan names, kept as long as their files are the same.
#include <memory>
#include <string>
#include <vector>

#include "app/serve/desk.h"

namespace fettle::serve {

using ModelPtr = std::shared_ptr<const solid::Model>;

/// The model a plan names, meshed for the screen; null with a note when it cannot be had. Under the plan's scene_lock.
ModelPtr model_of(const Folder& folder, Open& o, const plan::Text& named, std::vector<std::string>& notes);

}  // namespace fettle::serve
