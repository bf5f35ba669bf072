#pragma once
// The load sheet in words and signs: where a face is seen as the part lies under the spindle, not how the plan calls
// it.
#include <nlohmann/json.hpp>
#include <string>

#include "plan/plan.h"

namespace fettle::serve {

/// "the long side at the back, as cast", "a face 4 mm below the top, cut in OP10": where a surface of the part is seen
/// in that operation, its own +X to the right, +Y to the back, the spindle above. Of a pin's hole "hole B, Ø8 H7, at
/// the front left". Empty for what is no surface of the part.
std::string seen_at(const plan::Plan& p, const plan::Operation& o, const std::string& reference);

/// What is done to load the part, in the order of the plan: {tab, what, where, on, value, key, caution, mark}
/// (docs/api.md).
void load_rows(const plan::Plan& p, const plan::Operation& o, nlohmann::json& out);
/// What the operation's `does` says is done once the part is held (tab "start") and once it is cut ("after").
void after_rows(const plan::Operation& o, nlohmann::json& out);
/// The same of what holds it; clamps of one kind, on one surface and with one force are one row.
void clamp_rows(const plan::Plan& p, const plan::Operation& o, nlohmann::json& out);

/// A row of the sheet without words of place.
nlohmann::json row(const std::string& tab, const std::string& what, const std::string& value, const std::string& key,
                   const std::string& caution = "");

}  // namespace fettle::serve
