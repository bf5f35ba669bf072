#include "app/serve/api.h"

#include <map>
#include <set>

#include "app/serve/routes.h"
#include "base/text.h"

namespace fettle::serve {

namespace {

const std::map<std::string, Route>& table() {
  static const std::map<std::string, Route> all = {{"GET /api/plans", plans},
                                                   {"GET /api/schema", schema},
                                                   {"GET /api/plan", plan_of},
                                                   {"GET /api/changes", changes_of},
                                                   {"POST /api/try", try_changes},
                                                   {"POST /api/accept", accept},
                                                   {"POST /api/undo", undo},
                                                   {"POST /api/redo", redo},
                                                   {"GET /api/study", study_of},
                                                   {"GET /api/study/next", study_next},
                                                   {"GET /api/explain", explain},
                                                   {"GET /api/levers", levers},
                                                   {"POST /api/stop", stop},
                                                   {"POST /api/leave", leave},
                                                   {"GET /api/drawings", drawings_of},
                                                   {"GET /api/drawing", drawing},
                                                   {"GET /api/sheet.pdf", sheet},
                                                   {"GET /api/diff", diff},
                                                   {"GET /api/scene", scene},
                                                   {"GET /api/flat", flat},
                                                   {"GET /api/program", program_of},
                                                   {"POST /api/program", program_tried},
                                                   {"GET /api/reckoners", reckoners},
                                                   {"POST /api/reckon", reckon},
                                                   {"POST /api/plot", plot},
                                                   {"GET /api/ask", ask},
                                                   {"GET /api/floor", floor_of},
                                                   {"GET /api/floor/advice", floor_advice},
                                                   {"POST /api/entry", entry},
                                                   {"POST /api/begin", begin_drop},
                                                   {"POST /api/begin/look", begin_look},
                                                   {"POST /api/begin/answers", begin_answers},
                                                   {"GET /api/begin/next", begin_next},
                                                   {"POST /api/begin/take", begin_take}};
  return all;
}

}  // namespace

std::string text_in(const nlohmann::json& object, const std::string& key) {
  const auto it = object.find(key);
  return it != object.end() && it->is_string() ? it->get<std::string>() : std::string();
}

bool writes(const Asked& asked) {
  static const std::set<std::string> reading = {"/api/try",  "/api/leave", "/api/program",   "/api/reckon",
                                                "/api/plot", "/api/entry", "/api/begin/look"};
  return asked.method != "GET" && reading.count(asked.path) == 0;
}

bool takes_files(const std::string& path) { return path == "/api/begin" || path == "/api/begin/look"; }

bool waits(const std::string& path) {
  return path == "/api/changes" || path == "/api/study/next" || path == "/api/levers" || path == "/api/begin/next" ||
         path == "/api/sheet.pdf";
}

Reply answer(Desk& desk, const Asked& asked, std::chrono::milliseconds longest) {
  const auto it = table().find(asked.method + " " + asked.path);
  if (it == table().end()) {
    std::vector<std::string> names;
    for (const auto& [name, route] : table()) names.push_back(name);
    return refused({bad("no such route", asked.method + " " + asked.path, "a route of docs/api.md",
                        base::nearest(asked.method + " " + asked.path, names))},
                   "", 404);
  }
  Call call{desk, asked, longest, {}};
  if (asked.method == "POST" && !takes_files(asked.path)) {
    call.body = nlohmann::json::parse(asked.body, nullptr, false);
    if (!call.body.is_object()) return refused("the request is no JSON object", 400);
  }
  return it->second(call);
}

}  // namespace fettle::serve
