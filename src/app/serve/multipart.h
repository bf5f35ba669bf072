#pragma once
// The parts of a dropped form.
#include <map>
#include <string>

#include "base/outcome.h"

namespace fettle::serve {

/// field -> file name (empty for a text field), bytes.
using Parts = std::map<std::string, std::pair<std::string, std::string>>;
/// Takes a multipart/form-data body apart: at most 20 parts, their heads at most 2 kB.
Outcome<Parts> parts_of(const std::string& type, const std::string& body);

}  // namespace fettle::serve
