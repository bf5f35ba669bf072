// Flat drawings of a plan's part and casting, as they lie in an operation.
#include <algorithm>
#include <utility>

#include "app/serve/flat.h"
#include "app/serve/plan_models.h"
#include "app/serve/routes.h"
#include "app/serve/scene_mesh.h"
#include "base/text.h"

namespace fettle::serve {

using frame::Vec3;
using nlohmann::json;

namespace {

constexpr std::size_t most_kept = 32;

/// `notes`: what kept a model from being drawn.
std::string flat_text(const Folder& folder, Open& o, const plan::Plan& plan, const std::string& up, bool raw,
                      std::vector<std::string>& notes) {
  const ModelPtr part = model_of(folder, o, plan.part.model, notes);
  const Matched drawn = part != nullptr ? matched(plan, *part) : Matched{};
  json out = flat_json(flat_of(plan, drawn, lying(up)), plan, up);
  if (raw) {
    const ModelPtr cast = model_of(folder, o, plan.casting.model, notes);
    out["raw"] =
        cast != nullptr && part != nullptr ? rings_json(outlines_of(*cast, drawn.by, lying(up))) : json::array();
  }
  out["notes"] = notes;
  return dump(out);
}

}  // namespace

Reply flat(const Call& c) {
  const auto o = c.desk.open(c.asked["path"]);
  if (!o.ok()) return refused(o.problems(), c.root());
  const std::string text = Desk::now(**o).first, up = c.asked["up"];
  const bool raw = c.asked["raw"] == "1";
  const auto plan = read_within(c.desk.folder(), (*o)->full, text);
  if (!plan.ok()) return refused(plan.problems(), c.root());
  const auto& ways = flat_ways();
  if (std::find(ways.begin(), ways.end(), up) == ways.end())
    return refused({bad("no direction of the part", up, base::join(ways, ", "), "")}, "", 400);
  const std::lock_guard<std::mutex> one((*o)->scene_lock);
  const std::string key = "flat " + plan->hash + " " + up + (raw ? " raw" : "") + "\n" + key_of_data(*plan, (*o)->full);
  auto& kept = (*o)->flats;
  if (const auto it = kept.find(key); it != kept.end()) return {200, "application/json; charset=utf-8", it->second};
  if (kept.size() >= most_kept) kept.clear();
  std::vector<std::string> notes;
  std::string drawn = flat_text(c.desk.folder(), **o, *plan, up, raw, notes);
  // A model may have been too slow to read just now, or its file comes later.
  if (notes.empty()) kept[key] = drawn;
  return {200, "application/json; charset=utf-8", std::move(drawn)};
}

}  // namespace fettle::serve
