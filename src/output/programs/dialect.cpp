#include "output/programs/dialect.h"

#include <fmt/format.h>

#include <toml++/toml.h>

#include <set>

#include "base/text.h"

namespace fettle::programs {

namespace {

/// What each pattern may fill in, and whether a dialect must have it.
struct Slot {
  std::set<std::string> names;
  enum class Need { always, jumps, blocks } need = Need::always;
};
const std::map<std::string, Slot>& slots() {
  using N = Slot::Need;
  static const std::map<std::string, Slot> all = {
      {"program_start", {{"number", "title"}}},
      {"program_end", {{}}},
      {"file_end", {{}}},
      {"remark", {{"words"}}},
      {"units_mm", {{}}},
      {"units_inch", {{}}},
      {"safe_start", {{}}},
      {"retract", {{}}},
      {"tool_change", {{"tool", "words"}}},
      {"spindle_on", {{"speed"}}},
      {"spindle_off", {{}}},
      {"coolant_on", {{}}},
      {"coolant_off", {{}}},
      {"stop", {{"words"}}},
      {"optional_stop", {{"words"}}},
      {"zero", {{"n", "zero", "words"}}},
      {"write_zero", {{"n", "x", "y", "z", "words"}}},
      {"length_on", {{"tool", "z"}}},
      {"rapid", {{"place"}}},
      {"line", {{"place", "feed"}}},
      {"arc_clockwise", {{"place", "centre", "feed"}}},
      {"arc_counter", {{"place", "centre", "feed"}}},
      {"probe", {{"place", "feed"}}},
      {"drill", {{"place", "z", "r", "feed"}}},
      {"peck", {{"place", "z", "r", "q", "feed"}}},
      {"tap", {{"place", "z", "r", "feed", "speed"}}},
      {"bore_out_at_feed", {{"place", "z", "r", "feed"}}},
      {"bore_stop_out", {{"place", "z", "r", "feed"}}},
      {"cycle_end", {{}}},
      {"dwell", {{"seconds"}}},
      {"set", {{"parameter", "value"}}},
      {"label", {{"label"}}},
      {"sub_start", {{"number", "words"}}},
      {"sub_end", {{"number"}}},
      {"call", {{"number"}}},
      {"jump_if", {{"condition", "label"}, N::jumps}},
      {"jump", {{"label"}, N::jumps}},
      {"when_begin", {{"condition", "label"}, N::blocks}},
      {"when_end", {{"label"}, N::blocks}},
      {"again_begin", {{"condition", "label"}, N::blocks}},
      {"again_end", {{"label"}, N::blocks}},
  };
  return all;
}

class Reader {
 public:
  explicit Reader(std::string file) : file_(std::move(file)) {}

  void problem(const toml::node& n, std::string what, std::string found = {}, std::string expected = {},
               std::string nearest = {}) {
    Problem p = bad(std::move(what), std::move(found), std::move(expected), std::move(nearest));
    p.where = {file_, static_cast<int>(n.source().begin.line), static_cast<int>(n.source().begin.column)};
    problems.push_back(std::move(p));
  }
  void text(const toml::node& n, std::string& into) {
    if (const auto v = n.value_exact<std::string>()) into = *v;
    else problem(n, "a text is wanted");
  }
  void flag(const toml::node& n, bool& into) {
    if (const auto v = n.value_exact<bool>()) into = *v;
    else problem(n, "true or false is wanted");
  }
  void whole(const toml::node& n, int& into, int low, int high) {
    const auto v = n.value_exact<std::int64_t>();
    if (v && *v >= low && *v <= high) into = static_cast<int>(*v);
    else problem(n, fmt::format("a whole number from {} to {} is wanted", low, high));
  }
  std::vector<std::string> texts(const toml::node& n) {
    std::vector<std::string> out;
    const toml::array* a = n.as_array();
    if (a == nullptr) return problem(n, "a list of texts is wanted"), out;
    for (const toml::node& e : *a) {
      std::string s;
      text(e, s);
      out.push_back(s);
    }
    return out;
  }
  /// Every name in braces must be one that is filled in.
  void pattern(const toml::node& n, const std::string& key, const std::string& line, const Slot& slot) {
    for (std::size_t i = 0; i < line.size(); ++i) {
      if (line[i] != '{') continue;
      const std::size_t end = line.find('}', i);
      const std::string name = end == std::string::npos ? line.substr(i) : line.substr(i + 1, end - i - 1);
      if (end == std::string::npos || slot.names.count(name) == 0) {
        const std::vector<std::string> names(slot.names.begin(), slot.names.end());
        problem(n, fmt::format("{}: nothing fills that in", key), name, base::join(names, ", "),
                base::nearest(name, names));
      }
      if (end == std::string::npos) break;
      i = end;
    }
  }

  Problems problems;

 private:
  std::string file_;
};

}  // namespace

Outcome<Dialect> read_dialect(std::string_view text, const std::string& file) {
  toml::table parsed;
  try {
    parsed = toml::parse(text, file);
  } catch (const toml::parse_error& e) {
    Problem p = bad(std::string(e.description()));
    p.where = {file, static_cast<int>(e.source().begin.line), static_cast<int>(e.source().begin.column)};
    return p;
  }
  Dialect d;
  Reader r(file);
  const std::vector<std::string> keys = {"name",          "words",         "file_end",   "jumps",        "subs_first",
                                         "decimals_mm",   "decimals_inch", "first_kept", "first_work",   "first_label",
                                         "probe_results", "zeros",         "most_zeros", "longest_line", "lines"};
  for (const auto& [key, node] : parsed) {
    const std::string k(key.str());
    if (k == "name") r.text(node, d.name);
    else if (k == "words") r.text(node, d.words);
    else if (k == "file_end") r.text(node, d.file_end);
    else if (k == "jumps") r.flag(node, d.jumps);
    else if (k == "subs_first") r.flag(node, d.subs_first);
    else if (k == "decimals_mm") r.whole(node, d.decimals_mm, 2, 6);
    else if (k == "decimals_inch") r.whole(node, d.decimals_inch, 3, 7);
    else if (k == "first_kept") r.whole(node, d.first_kept, 1, 5000);
    else if (k == "first_work") r.whole(node, d.first_work, 1, 5000);
    else if (k == "first_label") r.whole(node, d.first_label, 1, 99000);
    else if (k == "most_zeros") r.whole(node, d.most_zeros, 1, 1000);
    else if (k == "longest_line") r.whole(node, d.longest_line, 30, 250);
    else if (k == "zeros") d.zeros = r.texts(node);
    else if (k == "probe_results") {
      const toml::array* a = node.as_array();
      if (a == nullptr || a->size() != 3) r.problem(node, "three parameters are wanted, for X, Y and Z");
      else
        for (const toml::node& e : *a) {
          int n = 0;
          r.whole(e, n, 1, 9999);
          d.probe_results.push_back(n);
        }
    } else if (k == "lines") {
      const toml::table* t = node.as_table();
      if (t == nullptr) r.problem(node, "a table is wanted");
      else
        for (const auto& [name, value] : *t) {
          const std::string n(name.str());
          const auto slot = slots().find(n);
          if (slot == slots().end()) {
            std::vector<std::string> names;
            for (const auto& [s, x] : slots()) names.push_back(s);
            r.problem(value, "no such line", n, "", base::nearest(n, names));
            continue;
          }
          d.lines[n] = r.texts(value);
          for (const std::string& l : d.lines[n]) r.pattern(value, n, l, slot->second);
        }
    } else {
      r.problem(node, "no such key of a dialect", k, "", base::nearest(k, keys));
    }
  }
  for (const auto& [name, slot] : slots()) {
    const bool needed = slot.need == Slot::Need::always || (slot.need == Slot::Need::jumps) == d.jumps;
    if (needed && d.lines.count(name) == 0) {
      Problem p = bad(fmt::format("[lines] {} is missing", name));
      p.where.file = file;
      r.problems.push_back(p);
    }
  }
  if (d.name.empty()) r.problems.push_back(bad("name is missing"));
  if (d.probe_results.empty()) d.probe_results = {5061, 5062, 5063};
  if (d.most_zeros == 0) d.most_zeros = d.zeros.empty() ? 48 : static_cast<int>(d.zeros.size());
  if (!r.problems.empty()) return r.problems;
  return d;
}

}  // namespace fettle::programs
