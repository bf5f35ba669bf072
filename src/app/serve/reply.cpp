#include "app/serve/reply.h"

#include <fmt/format.h>

#include <cmath>

#include "base/text.h"

namespace fettle::serve {

using nlohmann::json;

json number(double x) { return std::isfinite(x) ? json(x) : json(nullptr); }

std::string dump(const json& j) { return j.dump(-1, ' ', false, json::error_handler_t::replace); }

Reply json_reply(const json& j, int status) { return {status, "application/json; charset=utf-8", dump(j)}; }

json problems_json(const Problems& problems, const std::string& root) {
  json list = json::array();
  for (Problem p : problems) {
    if (!root.empty() && base::starts_with(p.where.file, root + "/")) p.where.file.erase(0, root.size() + 1);
    if (!root.empty() && base::starts_with(p.found, root + "/")) p.found.erase(0, root.size() + 1);
    std::string where = p.where.file;
    if (p.where.line > 0) where += fmt::format(":{}:{}", p.where.line, p.where.column);
    list.push_back({{"what", p.what},
                    {"where", where},
                    {"found", p.found},
                    {"expected", p.expected},
                    {"near", p.nearest},
                    {"message", say(p)}});
  }
  return {{"problems", list}};
}

Reply refused(const Problems& problems, const std::string& root, int status) {
  if (status == 0) status = !problems.empty() && problems.front().fault != Fault::bad_input ? 500 : 400;
  return json_reply(problems_json(problems, root), status);
}

Reply refused(const std::string& what, int status) { return refused({bad(what)}, "", status); }

}  // namespace fettle::serve
