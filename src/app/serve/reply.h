#pragma once
// What is asked and what is answered, apart from any network.
#include <map>
#include <nlohmann/json.hpp>
#include <string>

#include "base/outcome.h"

namespace fettle::serve {

struct Asked {
  std::string method, path;  ///< "GET", "/api/plans"
  std::map<std::string, std::string> query;
  std::string body;
  std::map<std::string, std::pair<std::string, std::string>> files;  ///< dropped: field -> name, bytes
  bool may_write = true;
  std::string operator[](const std::string& key) const {
    const auto it = query.find(key);
    return it == query.end() ? std::string() : it->second;
  }
};
struct Reply {
  int status = 200;
  std::string type = "application/json; charset=utf-8";
  std::string body;
};

/// A number, or null where it is none.
nlohmann::json number(double x);
std::string dump(const nlohmann::json& j);
Reply json_reply(const nlohmann::json& j, int status = 200);
nlohmann::json problems_json(const Problems& problems, const std::string& root);
/// 400, or 500 when the fault is ours or the machine's. `root` is taken off the front of paths.
Reply refused(const Problems& problems, const std::string& root, int status = 0);
Reply refused(const std::string& what, int status);

}  // namespace fettle::serve
