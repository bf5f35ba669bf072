#pragma once
// What must hold in a plan as a whole, once every file is read: references, orders, contradictions.
#include <functional>
#include <map>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "plan/plan.h"
#include "plan/schema.h"

namespace fettle::plan {

using Report = std::function<void(Problem, const Place&)>;

/// A value that names something: "F1.+x" of the key `makes`.
struct Mention {
  const Key* key = nullptr;
  std::string text;
  Place place;
};
/// Ids by kind of thing ("feature", "tool", ...) and where each stands.
using Ids = std::map<std::string, std::map<std::string, Place>>;

/// Every mention must name a thing that is there, with a side or number it has.
void check_mentions(const Plan& plan, const std::vector<Mention>& mentions, const Ids& ids, const Report& report);

/// Contradictions between values that are each fine alone.
void check_whole(const Plan& plan, const Report& report);

}  // namespace fettle::plan
