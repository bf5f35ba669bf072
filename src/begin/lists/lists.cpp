#include "begin/lists/lists.h"

#include <algorithm>
#include <cctype>
#include <cmath>

#include "base/text.h"
#include "begin/lists/cells.h"

namespace fettle::begin {

namespace {

using unit::Kind;
using Words = std::vector<std::pair<std::string_view, std::string_view>>;

const std::vector<ListColumn>& tool_columns() {
  static const std::vector<ListColumn> columns = {
      {"id", {"tool", "id", "t", "toolid", "toolno", "werkzeug", "werkzeugnr", "werkzeugnummer", "wkz", "nr", "no"}},
      {"name", {"name", "description", "bezeichnung", "benennung", "words"}},
      {"kind", {"kind", "type", "art", "typ", "werkzeugart"}},
      {"diameter", {"diameter", "durchmesser", "dia", "d", "schneidendurchmesser", "cuttingdiameter"}, Kind::length},
      {"teeth", {"teeth", "zaehne", "z", "flutes", "schneiden", "zaehnezahl"}},
      {"stick_out",
       {"stickout", "ausspannlaenge", "auskraglaenge", "auskragung", "ausspannung", "overhang"},
       Kind::length},
      {"holder", {"holder", "halter", "aufnahme", "holderdia", "holderdiameter", "halterdurchmesser"}, Kind::length},
      {"material", {"material", "edgematerial", "schneidstoff", "werkstoff"}},
      {"corner_radius", {"cornerradius", "eckenradius", "radius", "r"}, Kind::length},
      {"neck", {"neck", "hals", "neckdiameter", "neckdia", "halsdurchmesser"}, Kind::length},
      {"neck_length", {"reach", "necklength", "halslaenge", "reichweite", "nutzlaenge"}, Kind::length},
      {"flute_length", {"flutelength", "schneidenlaenge", "cuttinglength"}, Kind::length},
      {"price", {"price", "preis", "cost", "kosten"}, Kind::money},
  };
  return columns;
}

const std::vector<ListColumn>& holder_columns() {
  static const std::vector<ListColumn> columns = {
      {"name", {"holder", "halter", "aufnahme", "name", "bezeichnung", "id"}},
      {"tool", {"tool", "werkzeug", "wkz", "t", "toolid", "werkzeugnr"}},
      {"diameter",
       {"diameter", "durchmesser", "dia", "d", "holderdiameter", "holderdia", "halterdurchmesser", "nosediameter"},
       Kind::length},
      {"stick_out",
       {"stickout", "ausspannlaenge", "auskraglaenge", "auskragung", "ausspannung", "overhang"},
       Kind::length},
  };
  return columns;
}

const std::vector<ListColumn>& time_columns() {
  static const std::vector<ListColumn> columns = {
      {"operation", {"operation", "op", "arbeitsgang", "ag", "spannung", "clamping"}},
      {"tool", {"tool", "werkzeug", "wkz", "t", "toolid", "werkzeugnr"}},
      {"time", {"time", "zeit", "minutes", "minuten", "seconds", "sekunden", "stopwatch", "stoppuhr"}, Kind::time},
  };
  return columns;
}

const Words& kinds() {
  static const Words words = {{"endmill", "end mill"},
                              {"schaftfraeser", "end mill"},
                              {"facemill", "face mill"},
                              {"planfraeser", "face mill"},
                              {"messerkopf", "face mill"},
                              {"drill", "drill"},
                              {"bohrer", "drill"},
                              {"spiralbohrer", "drill"},
                              {"reamer", "reamer"},
                              {"reibahle", "reamer"},
                              {"tap", "tap"},
                              {"gewindebohrer", "tap"},
                              {"threadmill", "thread mill"},
                              {"gewindefraeser", "thread mill"},
                              {"boringtool", "boring tool"},
                              {"boringbar", "boring tool"},
                              {"bohrstange", "boring tool"},
                              {"ausdrehwerkzeug", "boring tool"},
                              {"keyseatcutter", "keyseat cutter"},
                              {"tnutenfraeser", "keyseat cutter"},
                              {"chamfer", "chamfer"},
                              {"chamfermill", "chamfer"},
                              {"fasfraeser", "chamfer"},
                              {"fasenfraeser", "chamfer"},
                              {"probe", "probe"},
                              {"taster", "probe"},
                              {"messtaster", "probe"}};
  return words;
}

const Words& materials() {
  static const Words words = {{"carbide", "carbide"},
                              {"solidcarbide", "carbide"},
                              {"hartmetall", "carbide"},
                              {"vhm", "carbide"},
                              {"hm", "carbide"},
                              {"highspeedsteel", "high-speed steel"},
                              {"hss", "high-speed steel"},
                              {"hsse", "high-speed steel"},
                              {"schnellarbeitsstahl", "high-speed steel"},
                              {"boronnitride", "boron nitride"},
                              {"bornitrid", "boron nitride"},
                              {"cbn", "boron nitride"},
                              {"ceramic", "ceramic"},
                              {"keramik", "ceramic"}};
  return words;
}

void set(plan::Text& to, const std::string& value) {
  to.value = value, to.typed = value, to.origin = plan::Origin::given;
}

/// The plan's word for the cell's; an unknown one is a problem with the nearest.
void word(ListTable& t, const study::ReadingRow& row, const std::string& key, const Words& words, plan::Text& to) {
  const std::string typed = t.text(row, key);
  if (typed.empty()) return;
  const std::string name = folded(typed);
  for (const auto& [from, meant] : words)
    if (name == from) return set(to, std::string(meant));
  std::vector<std::string> all;
  std::vector<std::string> meant;
  for (const auto& [from, to_word] : words) {
    all.emplace_back(from);
    if (std::find(meant.begin(), meant.end(), to_word) == meant.end()) meant.emplace_back(to_word);
  }
  std::string near = base::nearest(name, all);
  for (const auto& [from, to_word] : words)
    if (!near.empty() && near == from) near = std::string(to_word);
  t.problem(t.where(row, key), bad("no such word in column \"" + t.column(key)->header + "\"", typed,
                                   "one of: " + base::join(meant, ", "), near));
}

void length(ListTable& t, const study::ReadingRow& row, const std::string& key, plan::Number& to, bool zero = false) {
  if (const auto n = t.number(row, key, zero)) to = *n;
}

/// A holder's cell: a diameter, or the name of one of the holder list.
void holder(ListTable& t, const study::ReadingRow& row, ListedTool& out) {
  const std::string typed = t.text(row, "holder");
  if (typed.empty()) return;
  out.holder_at = t.where(row, "holder");
  const bool number = std::isdigit(static_cast<unsigned char>(typed.front())) != 0 || folded(typed).starts_with("dia");
  if (number) length(t, row, "holder", out.tool.holder);
  else out.holder = typed;
}

ListedTool tool_of(ListTable& t, const study::ReadingRow& row) {
  ListedTool out;
  out.where = t.where(row, "id");
  for (const ListColumn& c : tool_columns())
    if (t.has(c.key)) out.cells[c.key] = t.where(row, c.key);
  set(out.tool.id, t.text(row, "id"));
  if (const std::string name = t.text(row, "name"); !name.empty()) set(out.tool.name, name);
  word(t, row, "kind", kinds(), out.tool.kind);
  word(t, row, "material", materials(), out.tool.material);
  length(t, row, "diameter", out.tool.diameter);
  length(t, row, "stick_out", out.tool.stick_out);
  length(t, row, "corner_radius", out.tool.corner_radius, true);
  length(t, row, "neck", out.tool.neck);
  length(t, row, "neck_length", out.tool.neck_length);
  length(t, row, "flute_length", out.tool.flute_length);
  length(t, row, "price", out.tool.price, true);
  holder(t, row, out);
  if (const auto z = t.whole(row, "teeth", 1, 200)) {
    out.tool.teeth.value = *z, out.tool.teeth.typed = std::to_string(*z);
    out.tool.teeth.origin = plan::Origin::given;
  }
  return out;
}

/// True when the table has the column; else a problem that says how it may be headed.
bool wants(ListTable& t, const std::string& file, const std::string& key, const std::string& heads) {
  if (t.has(key)) return true;
  t.problem({file, 1, 1}, bad("the list has no column for the " + key, {}, "a column headed " + heads));
  return false;
}

}  // namespace

Outcome<ToolList> read_tool_list(std::string_view text, const std::string& file) {
  ListTable t(text, file, tool_columns());
  ToolList out{file, {}, {}};
  if (t.readable() && wants(t, file, "id", "tool or Werkzeug")) {
    for (const study::ReadingRow& row : t.rows()) {
      ListedTool one = tool_of(t, row);
      if (one.tool.id.value.empty()) t.problem(one.where, bad("a tool without its id", {}, "such as T11"));
      for (const ListedTool& before : out.tools)
        if (before.tool.id.value == one.tool.id.value && !one.tool.id.value.empty())
          t.problem(one.where, bad("this tool stands twice", one.tool.id.value,
                                   "one row for a tool; first on line " + std::to_string(before.where.line)));
      out.tools.push_back(std::move(one));
    }
  }
  if (!t.problems.empty()) return by_place(std::move(t.problems));
  out.notes = std::move(t.notes);
  return out;
}

Outcome<HolderList> read_holder_list(std::string_view text, const std::string& file) {
  ListTable t(text, file, holder_columns());
  HolderList out{file, {}, {}};
  if (t.readable() && (t.has("tool") || wants(t, file, "name", "holder or Halter (or tool or Werkzeug)"))) {
    for (const study::ReadingRow& row : t.rows()) {
      ListedHolder one;
      one.name = t.text(row, "name"), one.tool = t.text(row, "tool");
      one.where = t.where(row, t.has("name") ? "name" : "tool");
      const std::size_t before = t.problems.size();
      length(t, row, "diameter", one.diameter);
      length(t, row, "stick_out", one.stick_out);
      if (one.name.empty() && one.tool.empty())
        t.problem(one.where, bad("a holder without its name and without a tool", {}, "one of them"));
      if (!one.diameter.known() && !one.stick_out.known() && t.problems.size() == before)
        t.problem(one.where, bad("this holder says nothing", one.name, "its diameter, or how far the tool stands out"));
      for (const ListedHolder& h : out.holders)
        if (h.name == one.name && h.tool == one.tool)
          t.problem(one.where, bad("this holder stands twice", one.name.empty() ? one.tool : one.name,
                                   "one row; first on line " + std::to_string(h.where.line)));
      out.holders.push_back(std::move(one));
    }
  }
  if (!t.problems.empty()) return by_place(std::move(t.problems));
  out.notes = std::move(t.notes);
  return out;
}

namespace {

/// A time as a number, or as a stopwatch shows it in a column of minutes: 1:05 is 65 s.
std::optional<double> seconds_of(ListTable& t, const study::ReadingRow& row, const std::string& unit) {
  const std::string cell = t.text(row, "time");
  const std::size_t colon = cell.find(':');
  if (colon == std::string::npos) {
    const auto n = t.number(row, "time", false, unit);
    return n ? std::optional<double>(n->si) : std::nullopt;
  }
  const study::ReadingColumn& c = *t.column("time");
  const auto minutes = base::to_double(cell.substr(0, colon));
  std::string behind = cell.substr(colon + 1);
  std::replace(behind.begin(), behind.end(), ',', '.');
  const auto digit = [&](std::size_t i) { return behind[i] >= '0' && behind[i] <= '9'; };
  const bool two =
      behind.size() >= 2 && digit(0) && digit(1) && behind.back() != '.' && (behind.size() == 2 || behind[2] == '.');
  const auto seconds = base::to_double(behind);
  const bool clock = minutes && seconds && *minutes >= 0 && std::floor(*minutes) == *minutes && *seconds >= 0 &&
                     *seconds < 60 && two && 60 * *minutes + *seconds > 0;
  if (clock && (c.unit.empty() ? unit : c.unit) == "min") return 60 * *minutes + *seconds;
  t.problem(t.where(row, "time"), bad("a time with a colon is minutes and seconds, in a column of minutes", cell,
                                      "1:05 below \"time [min]\""));
  return std::nullopt;
}

}  // namespace

Outcome<TimeList> read_time_list(std::string_view text, const std::string& file) {
  ListTable t(text, file, time_columns());
  TimeList out{file, {}, {}};
  const bool operation = t.readable() && wants(t, file, "operation", "operation or Arbeitsgang");
  const bool time = t.readable() && wants(t, file, "time", "time, minutes, Zeit or Minuten");
  if (operation && time) {
    const std::string head = folded(t.column("time")->name);
    const std::string unit = head.starts_with("minut") ? "min" : head.starts_with("se") ? "s" : "";
    for (const study::ReadingRow& row : t.rows()) {
      const std::string op = t.text(row, "operation"), tool = t.text(row, "tool");
      if (op.empty()) t.problem(t.where(row, "operation"), bad("a time without its operation", {}, "such as OP30"));
      if (t.text(row, "time").empty()) t.problem(t.where(row, "time"), bad("empty cell", {}, "a time"));
      const auto seconds = seconds_of(t, row, unit);
      if (!seconds) continue;
      auto it = std::find_if(out.times.begin(), out.times.end(),
                             [&](const ListedTime& x) { return x.operation == op && x.tool == tool; });
      if (it == out.times.end()) it = out.times.insert(out.times.end(), {op, tool, {}, {}});
      it->seconds.push_back(*seconds);
      it->lines.push_back(row.line);
    }
  }
  if (!t.problems.empty()) return by_place(std::move(t.problems));
  out.notes = std::move(t.notes);
  return out;
}

}  // namespace fettle::begin
