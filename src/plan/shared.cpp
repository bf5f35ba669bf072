#include <fmt/format.h>

#include "base/text.h"
#include "plan/read.h"
#include "plan/schema.h"
#include "plan/toml_text.h"

namespace fettle::plan {

namespace {

std::string text_of(const toml::node& n) {
  if (const auto* s = n.as_string()) return s->get();
  if (const auto* i = n.as_integer()) return fmt::format("{}", i->get());
  if (const auto* f = n.as_floating_point()) return base::shortest(f->get());
  if (const auto* b = n.as_boolean()) return b->get() ? "true" : "false";
  return "?";
}

void flatten(const toml::table& t, const std::string& path, const std::string& key, std::vector<Leaf>& out) {
  for (const auto& [name, node] : t) {
    const std::string n(name.str());
    const std::string p = path.empty() ? n : path + " / " + n, k = key.empty() ? n : key + "." + n;
    if (const auto* table = node.as_table()) {
      flatten(*table, p, k, out);
    } else if (const auto* array = node.as_array()) {
      std::string list;
      int number = 0;
      for (const toml::node& element : *array) {
        ++number;
        if (const auto* item = element.as_table()) {
          const auto* id = item->get("id");
          const std::string which =
              id != nullptr && id->is_string() ? id->as_string()->get() : fmt::format("{}", number);
          flatten(*item, p + " " + which, k + "." + which, out);
        } else {
          list += (list.empty() ? "" : ", ") + text_of(element);
        }
      }
      if (!list.empty()) out.push_back({p, k, list, {}, false, 0, unit::Kind::number});
    } else {
      out.push_back({p, k, text_of(node), {}, false, 0, unit::Kind::number});
    }
  }
}

}  // namespace

Outcome<std::vector<Leaf>> shared_leaves(const std::string& path) {
  const Outcome<std::string> text = base::read_file(path, std::size_t{16} << 20U);
  if (!text.ok()) return text.problems();
  Problems problems;
  const Parsed p = parse_toml(
      *text, [](std::string_view) { return false; }, problems);
  for (Problem& q : problems) q.where.file = path;
  if (!problems.empty()) return problems;
  std::vector<Leaf> out;
  if (p.table.contains("plan")) return out;
  flatten(p.table, "", "", out);
  return out;
}

}  // namespace fettle::plan
