// The floor: what to do next at the machine, what to measure, and the entries that come back.
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <set>

#include "app/cli/study_text.h"
#include "app/serve/floor.h"
#include "app/serve/floor_words.h"
#include "base/text.h"
#include "calc/holding/screws.h"
#include "plan/read.h"

namespace fettle::serve {

using nlohmann::json;

namespace {

const char* const heading = "id,at,who,operation,nest,what,value\n";
constexpr std::size_t most_entries = std::size_t{8} << 20U;

bool on_pallet(const plan::Operation& o) { return o.kind.value == "pallet"; }

/// Places that are served one after the other: nests of a pallet. What stands in a vise is loaded and let go together.
json nests_of(const plan::Plan& p, const plan::Operation& o) {
  json out = json::array();
  if (!on_pallet(o)) return out;
  for (const plan::Nest& n : p.pallet.nests)
    for (const frame::Vec3& x : n.at.value)
      out.push_back({{"id", std::to_string(out.size() + 1)}, {"at", {number(x.x), number(x.y), number(x.z)}}});
  return out;
}

const char* const wrench =
    "A screw that is not at its torque can let the part go in the cut: check the wrench's setting.";

void torque_rows(const plan::Plan& p, const plan::Operation& o, json& out) {
  if (on_pallet(o)) {
    for (std::size_t k = 0; k < p.pallet.screws.size(); ++k) {
      const plan::NestScrew& x = p.pallet.screws[k];
      const std::string through = x.through.known() ? " through " + x.through.value : "";
      out.push_back(row(
          "torque", "tighten " + x.thread.typed + through + (x.lubrication.known() ? ", " + x.lubrication.value : ""),
          x.torque.known() ? x.torque.typed : "open: nobody said it",
          "pallet.screw." + std::to_string(k + 1) + ".torque", wrench));
    }
  }
  clamp_rows(p, o, out);
}

void zero_rows(const plan::Operation& o, json& out) {
  const std::string key = "operation." + o.id.value;
  const char* const check =
      "A wrong zero drives the tool into the part or the pallet: read it back before the cycle starts.";
  if (o.zero.known()) out.push_back(row("zeros", "zero: where it is taken", o.zero.value, key + ".zero", check));
  if (o.shift.known()) out.push_back(row("zeros", "zero shifted by", o.shift.typed, key + ".shift", check));
  if (o.shift_z.known())
    out.push_back(row("zeros", "zero shifted in height by", o.shift_z.typed, key + ".shift_z", check));
}

/// The operation after which a requirement can be measured: the one it names, else the last that makes its feature.
std::string made_in(const plan::Plan& p, const plan::Requirement& r) {
  if (r.operation.known()) return r.operation.value;
  std::string out;
  const std::string a = plan::parse_reference(r.feature.value).id, b = plan::parse_reference(r.to.value).id;
  for (const plan::Operation& o : p.operations)
    for (const std::string& m : o.makes.value) {
      const std::string id = plan::parse_reference(m).id;
      if (id == a || id == b) out = o.id.value;
    }
  return out;
}

std::string limit_text(const unit::Limits& l, const unit::Style& style) {
  if (l.lower && l.upper && *l.lower != 0)
    return unit::print(*l.lower, l.kind, style) + " to " + unit::print(*l.upper, l.kind, style);
  if (l.upper) return "at most " + unit::print(*l.upper, l.kind, style);
  return l.lower ? "at least " + unit::print(*l.lower, l.kind, style) : l.typed;
}

json measure_of(const plan::Plan& p, const plan::Operation& o) {
  json out = json::array();
  for (const plan::Requirement& r : p.requirements) {
    if (!r.limits.known() || made_in(p, r) != o.id.value) continue;
    const unit::Limits& l = r.limits.value;
    out.push_back({{"id", r.id.value},
                   {"what", r.feature.value + (r.to.known() ? " to " + r.to.value : "") + ", " + r.kind.value},
                   {"limit", limit_text(l, cli::style_of(p))},
                   {"lower", l.lower ? number(*l.lower) : json(nullptr)},
                   {"upper", l.upper ? number(*l.upper) : json(nullptr)},
                   {"kind", r.kind.value}});
  }
  return out;
}

/// Torques of the rounds, all in the unit that the whole torque is printed in: half of it must not come in another.
json rounds_of(double torque, const std::vector<double>& shares, const unit::Style& style) {
  const std::string whole = unit::print(torque, unit::Kind::torque, style);
  const auto space = whole.find(' '), point = whole.find('.');
  const std::string symbol = whole.substr(space + 1);
  const int places = point == std::string::npos ? 0 : static_cast<int>(space - point) - 1;
  json out = json::array();
  for (const double share : shares) {
    const double x = unit::in_unit(share * torque, symbol, unit::Kind::torque);
    // half of 25 is said as 12.5
    const bool even = std::fabs(x - std::round(x * std::pow(10, places)) / std::pow(10, places)) < 1e-9 * std::fabs(x);
    out.push_back(base::fixed(x, even || places > 0 ? places : 1) + " " + symbol);
  }
  return out;
}

/// Screws in the order in which they are tightened; their numbers are those of the drawings.
json tighten_of(const plan::Plan& p, const plan::Operation& o) {
  json out = json::array();
  if (!on_pallet(o)) return out;
  int before = 0;
  for (std::size_t k = 0; k < p.pallet.screws.size(); ++k) {
    const plan::NestScrew& x = p.pallet.screws[k];
    const plan::Feature* f = plan::find_feature(p, x.through.value);
    const auto& at = f != nullptr ? f->at.value : x.at.value;
    json places = json::array(), order = json::array(), rounds = json::array();
    for (const frame::Vec3& v : at)
      places.push_back({{"n", before + static_cast<int>(places.size()) + 1}, {"at", {number(v.x), number(v.y)}}});
    const holding::TighteningOrder turn = holding::tightening_order(at);
    for (const int i : turn.order) order.push_back(before + i + 1);
    if (x.torque.known()) rounds = rounds_of(x.torque.si, turn.rounds, cli::style_of(p));
    before += static_cast<int>(at.size());
    out.push_back({{"key", "pallet.screw." + std::to_string(k + 1) + ".torque"},
                   {"thread", x.thread.typed},
                   {"through", x.through.value},
                   {"lubrication", x.lubrication.value},
                   {"places", places},
                   {"order", order},
                   {"rounds", rounds},
                   {"caution", wrench}});
  }
  return out;
}

/// What the file's own text says behind a value: "# hard iron slips at 22".
std::string note_at(const std::string& text, int line) {
  const auto lines = base::split(text, '\n');
  if (line < 1 || static_cast<std::size_t>(line) > lines.size()) return "";
  const std::string& s = lines[static_cast<std::size_t>(line) - 1];
  bool quoted = false;
  for (std::size_t i = 0; i < s.size(); ++i) {
    if (s[i] == '"' && (i == 0 || s[i - 1] != '\\')) quoted = !quoted;
    if (s[i] == '#' && !quoted) return std::string(base::trim(s.substr(i + 1)));
  }
  return "";
}

/// What differs from the text that was read last, as far as this server saw it.
json changed_of(const Call& c, Open& o, const plan::Plan& now, const std::string& text) {
  const std::string before = text_before(c, o);
  const auto old = before.empty() ? Outcome<plan::Plan>(Problems{}) : read_within(c.desk.folder(), o.full, before);
  json out = json::array();
  if (before.empty() || !old.ok()) return out;
  std::map<std::string, std::string> was;
  for (const plan::Leaf& l : plan::leaves(*old)) was[l.key] = l.typed;
  for (const plan::Leaf& l : plan::leaves(now)) {
    const auto it = was.find(l.key);
    const std::string from = it == was.end() ? "" : it->second;
    if (from != l.typed)
      out.push_back({{"key", l.key},
                     {"name", l.path},
                     {"from", from},
                     {"to", l.typed},
                     {"why", l.place.file == 0 ? note_at(text, l.place.line) : ""}});
    if (it != was.end()) was.erase(it);
  }
  for (const auto& [key, typed] : was)
    out.push_back({{"key", key}, {"name", key}, {"from", typed}, {"to", ""}, {"why", ""}});
  return out;
}

std::string entries_name(const std::string& path) {
  const std::filesystem::path p(path);
  return (p.parent_path() / (p.stem().string() + ".entries.csv")).generic_string();
}

/// The file of entries, empty when there is none yet.
Outcome<std::string> entries_text(const Folder& folder, const std::string& path, std::string& full) {
  const auto file = folder.file(entries_name(path), false);
  if (!file.ok()) return file.problems();
  full = *file;
  std::error_code error;
  if (!std::filesystem::exists(full, error)) return std::string();
  return base::read_file(full, most_entries);
}

/// One line of the file; every cell stands in quotes, so only quotes are doubled.
std::vector<std::string> cells_of(const std::string& line) {
  std::vector<std::string> out;
  std::string cell;
  for (std::size_t i = 0; i < line.size(); ++i) {
    if (line[i] != '"') continue;
    for (++i; i < line.size(); ++i) {
      if (line[i] == '"' && (i + 1 == line.size() || line[i + 1] != '"')) break;
      if (line[i] == '"') ++i;
      cell += line[i];
    }
    out.push_back(std::move(cell));
    cell.clear();
  }
  return out;
}
std::string line_of(const std::vector<std::string>& cells) {
  std::string out;
  for (const std::string& cell : cells) {
    out += out.empty() ? "\"" : ",\"";
    for (const char c : cell) out += c == '"' ? std::string("\"\"") : std::string(1, c);
    out += '"';
  }
  return out + "\n";
}

/// What is wrong with one cell; a table program must not take it for a formula.
std::string wrong_cell(const std::string& text, bool needed) {
  if (text.empty()) return needed ? "it is missing" : "";
  if (text.size() > 120) return "it is longer than 120 letters";
  for (const char c : text)
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) return "it holds a control character";
  const bool sign = (text[0] == '+' || text[0] == '-') && text.size() > 1 && text[1] >= '0' && text[1] <= '9';
  if (text[0] == '=' || text[0] == '@' || ((text[0] == '+' || text[0] == '-') && !sign))
    return "it begins like a formula";
  return base::valid_utf8(text) ? "" : "it is no UTF-8";
}

}  // namespace

std::string text_before(const Call& c, Open& o) {
  const std::string since = c.asked["since"];
  std::string known = since.empty() ? since : Desk::text_of(o, since);
  if (!known.empty()) return known;
  const std::lock_guard<std::mutex> hold(o.lock);
  return o.undo.empty() ? std::string() : o.undo.back();
}

Reply floor_of(const Call& c) {
  const auto o = c.desk.open(c.asked["path"]);
  if (!o.ok()) return refused(o.problems(), c.root(), 404);
  const auto [text, hash] = Desk::now(**o);
  auto read = read_within(c.desk.folder(), (*o)->full, text);
  if (!read.ok()) return refused(read.problems(), c.root());
  plan::Plan& p = *read;
  const json changed = changed_of(c, **o, p, text);
  if (c.asked["units"] == "metric" || c.asked["units"] == "inch") p.header.units.value = c.asked["units"];
  json operations = json::array(), entries = json::array();
  for (const plan::Operation& op : p.operations) {
    json todo = json::array();
    load_rows(p, op, todo), torque_rows(p, op, todo), zero_rows(op, todo), after_rows(op, todo);
    operations.push_back({{"id", op.id.value},
                          {"name", op.name.value},
                          {"machine", op.machine.value},
                          {"kind", op.kind.value},
                          {"up", op.up.value},
                          {"parts", op.parts.known() ? op.parts.value : 1},
                          {"nests", nests_of(p, op)},
                          {"do", std::move(todo)},
                          {"tighten", tighten_of(p, op)},
                          {"on_table", on_pallet(op) && p.pallet.on_table.known() ? p.pallet.on_table.value : 1},
                          {"sets", on_pallet(op) && p.pallet.sets.known() ? p.pallet.sets.value : 1},
                          {"measure", measure_of(p, op)}});
  }
  std::string full;
  const auto kept = entries_text(c.desk.folder(), (*o)->path, full);
  if (!kept.ok()) return refused(kept.problems(), c.root());
  const auto lines = base::split(*kept, '\n');
  for (std::size_t i = lines.size() > 101 ? lines.size() - 101 : 1; i < lines.size(); ++i) {
    const auto cells = cells_of(lines[i]);
    if (cells.size() == 7)
      entries.push_back({{"id", cells[0]},
                         {"at", cells[1]},
                         {"who", cells[2]},
                         {"operation", cells[3]},
                         {"nest", cells[4]},
                         {"what", cells[5]},
                         {"value", cells[6]}});
  }
  const bool inch = cli::style_of(p).system == unit::Style::System::inch;
  return json_reply({{"plan", p.header.name.value},
                     {"hash", hash},
                     {"plan_hash", p.hash},
                     {"units", inch ? "inch" : "metric"},
                     {"operations", std::move(operations)},
                     {"changed", changed},
                     {"compared", !text_before(c, **o).empty()},
                     {"entries", std::move(entries)}});
}

Reply entry(const Call& c) {
  const auto o = c.desk.open(text_in(c.body, "path"));
  if (!o.ok()) return refused(o.problems(), c.root(), 404);
  std::vector<std::string> cells;
  Problems problems;
  for (const std::string key : {"id", "at", "who", "operation", "nest", "what", "value"}) {
    cells.push_back(text_in(c.body, key));
    const std::string wrong = wrong_cell(cells.back(), key == "id" || key == "what" || key == "value");
    std::string said = key;
    said.append(": ").append(wrong);
    if (!wrong.empty()) problems.push_back(bad(said, cells.back().substr(0, 60), "a short text"));
  }
  if (!problems.empty()) return refused(problems, c.root());
  const std::lock_guard<std::mutex> hold((*o)->lock);
  std::string full;
  const auto kept = entries_text(c.desk.folder(), (*o)->path, full);
  if (!kept.ok()) return refused(kept.problems(), c.root());
  for (const std::string& line : base::split(*kept, '\n')) {
    const auto old = cells_of(line);
    if (!old.empty() && old[0] == cells[0]) return json_reply({{"kept", true}, {"twice", true}});
  }
  if (kept->size() > most_entries - 2048) return refused("the file of entries is full: put it aside", 413);
  const auto done = base::write_file(full, (kept->empty() ? heading : *kept) + line_of(cells));
  if (!done.ok()) return refused(done.problems(), c.root());
  return json_reply({{"kept", true}, {"twice", false}});
}

}  // namespace fettle::serve
