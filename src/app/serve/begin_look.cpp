// What dropped lists and a shop file say, each by itself, before a part is read: nothing is kept.
#include <fmt/format.h>

#include <algorithm>

#include "app/cli/propose.h"
#include "app/serve/drops.h"
#include "app/serve/routes.h"
#include "base/text.h"
#include "begin/lists/apply.h"
#include "begin/lists/lists.h"
#include "calc/casting/tape.h"

namespace fettle::serve {

using nlohmann::json;

namespace {

constexpr std::size_t named = 12;  // ids said before "and more"

std::string counted(std::size_t n, const char* one, const char* many, const std::vector<std::string>& ids = {}) {
  std::string out = fmt::format("{} {}", n, n == 1 ? one : many);
  if (ids.empty()) return out;
  const std::vector<std::string> first(ids.begin(), ids.begin() + static_cast<long>(std::min(ids.size(), named)));
  return out + ": " + base::join(first, ", ") + (ids.size() > named ? " ..." : "");
}

template <class List>
std::vector<std::string> ids_of(const List& list) {
  std::vector<std::string> out;
  out.reserve(list.size());
  for (const auto& x : list) out.push_back(x.id.value);
  return out;
}

std::vector<std::string> said_of(const plan::Shop& shop) {
  return {counted(shop.machines.size(), "machine", "machines", ids_of(shop.machines)),
          counted(shop.tools.size(), "tool", "tools", ids_of(shop.tools)),
          counted(shop.gauges.size(), "gauge", "gauges"), counted(shop.plates.size(), "stock plate", "stock plates")};
}

/// One file as it was read: its words, or what stood in the way.
struct Told {
  std::vector<std::string> words;
  Problems problems;
};

json told_json(const Told& t, const std::string& name, const std::string& root) {
  json out = {{"name", name}, {"words", t.words}};
  out.update(problems_json(t.problems, root));
  return out;
}

Told look_at_table(const DroppedFile& f) {
  casting::TapeOptions options;
  options.file = f.name;
  const auto table = casting::read_tape(f.bytes, options);
  if (!table.ok()) return {{}, table.problems()};
  Told t;
  t.words = {counted(table->rows.size(), "casting", "castings"),
             counted(table->columns.size(), "column", "columns", table->columns)};
  return t;
}

struct Lists {
  std::optional<begin::ToolList> tools;
  std::optional<begin::HolderList> holders;
  std::optional<begin::TimeList> times;
};

/// A list: how many rows it has and what they are of, then what its reader noted. `rows`: where they stand in it.
template <class List, class Row, class Of>
Told look_at(const DroppedFile& f, Outcome<List> (*read)(std::string_view, const std::string&),
             std::vector<Row> List::*rows, const char* one, const char* many, const Of& of, std::optional<List>& into) {
  auto list = read(f.bytes, f.name);
  if (!list.ok()) return {{}, list.problems()};
  Told t;
  std::vector<std::string> ids;
  for (const Row& x : list.value().*rows) ids.push_back(of(x));
  t.words = {counted(ids.size(), one, many, ids)};
  t.words.insert(t.words.end(), list->notes.begin(), list->notes.end());
  into = std::move(list.value());
  return t;
}

Told look_at_tools(const DroppedFile& f, Lists& into) {
  return look_at(
      f, begin::read_tool_list, &begin::ToolList::tools, "tool", "tools",
      [](const begin::ListedTool& x) { return x.tool.id.value; }, into.tools);
}
Told look_at_holders(const DroppedFile& f, Lists& into) {
  return look_at(
      f, begin::read_holder_list, &begin::HolderList::holders, "holder", "holders",
      [](const begin::ListedHolder& x) { return x.name.empty() ? x.tool : x.name; }, into.holders);
}
Told look_at_times(const DroppedFile& f, Lists& into) {
  return look_at(
      f, begin::read_time_list, &begin::TimeList::times, "time", "times",
      [](const begin::ListedTime& x) { return x.tool.empty() ? x.operation : x.operation + " " + x.tool; }, into.times);
}

/// What the lists do to the shop: a clash of both shows before a part is read, beside the list whose line it is.
void look_at_both(const plan::Shop& shop, const DroppedFile& file, const Lists& lists, const std::string& holders,
                  Told& of_tools, Told& of_holders) {
  if (!lists.tools && !lists.holders) return;
  Told& first = lists.tools ? of_tools : of_holders;
  const auto filled = begin::fill_shop(shop, file.bytes, file.name, lists.tools, lists.holders);
  if (!filled.ok()) {
    for (const Problem& p : filled.problems()) (p.where.file == holders ? of_holders : first).problems.push_back(p);
    return;
  }
  for (const begin::Choice& c : filled->choices) first.words.push_back(c.about + ": " + c.taken);
  first.words.insert(first.words.end(), filled->notes.begin(), filled->notes.end());
}

}  // namespace

Reply begin_look(const Call& c) {
  json files = json::object();
  Lists lists;
  const auto file = [&](const char* field, const char* name) { return file_of(c.asked, field, name); };
  const DroppedFile table = file("table", "castings.csv"), tools = file("tools", "tools.csv"),
                    holders = file("holders", "holders.csv"), times = file("times", "times.csv");
  if (!table.bytes.empty()) files["table"] = told_json(look_at_table(table), table.name, "");
  if (!times.bytes.empty()) files["times"] = told_json(look_at_times(times, lists), times.name, "");
  Told of_tools, of_holders;
  if (!tools.bytes.empty()) of_tools = look_at_tools(tools, lists);
  if (!holders.bytes.empty()) of_holders = look_at_holders(holders, lists);
  if (c.asked.files.count("shop") != 0) {
    const auto shop = shop_file(c, ".");
    Told t;
    if (!shop.ok()) {
      t.problems = shop.problems();
    } else if (const auto read = cli::shop_of(shop->name, shop->bytes); read.ok()) {
      t.words = said_of(*read);
      const bool clean = of_tools.problems.empty() && of_holders.problems.empty();
      if (clean) look_at_both(*read, *shop, lists, holders.name, of_tools, of_holders);
    } else {
      t.problems = read.problems();
    }
    files["shop"] = told_json(t, shop.ok() ? shop->name : "", c.root());
  }
  if (!tools.bytes.empty()) files["tools"] = told_json(of_tools, tools.name, "");
  if (!holders.bytes.empty()) files["holders"] = told_json(of_holders, holders.name, "");
  return json_reply({{"files", std::move(files)}});
}

}  // namespace fettle::serve
