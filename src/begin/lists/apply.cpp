#include "begin/lists/apply.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "base/text.h"
#include "begin/features.h"

namespace fettle::begin {

namespace {

/// A tool of the shop as it grows: what is added, and where each value came from.
struct Growing {
  plan::Tool tool;
  bool fresh = false;
  std::vector<std::pair<std::string, Where>> from;  ///< key -> list
  std::vector<std::string> lines, said;
};

std::string place_words(const Where& w) { return fmt::format("{}, line {}", w.file, w.line); }

std::string quoted(const std::string& s) {
  std::string out = "\"";
  for (const char c : s) {
    if (c == '"' || c == '\\') out += '\\';
    out += static_cast<unsigned char>(c) < 0x20 ? ' ' : c;
  }
  return out + "\"";
}

class Filler {
 public:
  Filler(const plan::Shop& shop, std::string path) : shop_(shop), path_(std::move(path)) {
    for (const plan::Tool& t : shop.tools) all_.push_back({t, false, {}, {}, {}});
  }
  Growing* find(const std::string& id) {
    const auto it = std::find_if(all_.begin(), all_.end(), [&](const Growing& g) { return g.tool.id.value == id; });
    return it == all_.end() ? nullptr : &*it;
  }
  std::string nearest_tool(const std::string& id) const {
    std::vector<std::string> ids;
    for (const Growing& g : all_) ids.push_back(g.tool.id.value);
    return base::nearest(id, ids);
  }

  void tools(const ToolList& list) {
    for (const ListedTool& l : list.tools) {
      Growing* g = find(l.tool.id.value);
      if (g == nullptr) {
        Growing fresh;
        fresh.fresh = true, fresh.tool.id = l.tool.id;
        needs(l, l.tool.kind.known(), "kind", "end mill, drill, ... in a column kind or Art");
        needs(l, l.tool.diameter.known(), "diameter", "16 mm in a column diameter or Durchmesser");
        fresh.lines.push_back(fmt::format("id = {}  # {}", quoted(l.tool.id.value), place_words(l.where)));
        g = &all_.emplace_back(std::move(fresh));
      }
      one(*g, l);
    }
  }

  void holders(const HolderList& list, const std::optional<ToolList>& tools) {
    for (const ListedHolder& h : list.holders) {
      if (h.tool.empty()) continue;
      if (Growing* g = find(h.tool)) holder(*g, h);
      else
        problems.push_back({Fault::bad_input, h.where, "a holder of a tool that nobody knows", h.tool,
                            "a tool of the shop file or of the tool list", nearest_tool(h.tool)});
    }
    if (!tools) return;
    std::vector<std::string> names;
    for (const ListedHolder& h : list.holders) names.push_back(h.name);
    for (const ListedTool& t : tools->tools) {
      if (t.holder.empty()) continue;
      const auto it = std::find_if(list.holders.begin(), list.holders.end(),
                                   [&](const ListedHolder& h) { return h.name == t.holder && h.tool.empty(); });
      if (it != list.holders.end()) holder(*find(t.tool.id.value), *it);
      else if (std::find(names.begin(), names.end(), t.holder) == names.end())
        problems.push_back({Fault::bad_input, t.holder_at, "this holder is not in the holder list", t.holder,
                            "one of " + list.file, base::nearest(t.holder, names)});
    }
  }

  std::string text(const std::string& shop_text) const {
    std::vector<std::string> lines = base::split(shop_text, '\n');
    std::vector<const Growing*> old;
    for (const Growing& g : all_)
      if (!g.fresh && !g.lines.empty()) old.push_back(&g);
    std::sort(old.begin(), old.end(),
              [](const Growing* a, const Growing* b) { return a->tool.id.place.line > b->tool.id.place.line; });
    for (const Growing* g : old)  // from the end, so that the places before stay right
      lines.insert(lines.begin() + g->tool.id.place.end_line, g->lines.begin(), g->lines.end());
    std::string out = base::join(lines, "\n");
    if (out.empty() || out.back() != '\n') out += '\n';
    for (const Growing& g : all_)
      if (g.fresh) out += "\n[[tool]]\n" + base::join(g.lines, "\n") + "\n";
    return out;
  }

  std::vector<Choice> choices() const {
    std::vector<Choice> out;
    for (const Growing& g : all_) {
      if (g.said.empty()) continue;
      std::vector<std::string> where;
      for (const auto& [key, w] : g.from)
        if (std::find(where.begin(), where.end(), place_words(w)) == where.end()) where.push_back(place_words(w));
      out.push_back({"cuts",
                     "tool." + g.tool.id.value,
                     base::join(g.said, ", "),
                     fmt::format("{} by {}",
                                 g.fresh ? "a tool that the shop file does not have, given"
                                         : "the shop file does not say it, given",
                                 base::join(where, "; ")),
                     "list",
                     {}});
    }
    return out;
  }

  Problems problems;
  std::vector<std::string> notes;

 private:
  void needs(const ListedTool& l, bool there, const std::string& what, const std::string& expected) {
    if (there) return;
    problems.push_back({Fault::bad_input, l.where, "a tool that the shop file does not have needs its " + what,
                        l.tool.id.value, expected, nearest_tool(l.tool.id.value)});
  }

  static Where cell(const ListedTool& l, const std::string& key) {
    const auto it = l.cells.find(key);
    return it == l.cells.end() ? l.where : it->second;
  }

  void one(Growing& g, const ListedTool& l) {
    if (l.tool.name.known() && !g.tool.name.known()) text(g, "name", g.tool.name, l.tool.name, cell(l, "name"));
    text(g, "kind", g.tool.kind, l.tool.kind, cell(l, "kind"));
    number(g, "diameter", g.tool.diameter, l.tool.diameter, cell(l, "diameter"));
    if (l.tool.teeth.known()) teeth(g, l);
    number(g, "stick_out", g.tool.stick_out, l.tool.stick_out, cell(l, "stick_out"));
    number(g, "holder", g.tool.holder, l.tool.holder, cell(l, "holder"));
    number(g, "corner_radius", g.tool.corner_radius, l.tool.corner_radius, cell(l, "corner_radius"));
    number(g, "neck", g.tool.neck, l.tool.neck, cell(l, "neck"));
    number(g, "neck_length", g.tool.neck_length, l.tool.neck_length, cell(l, "neck_length"));
    number(g, "flute_length", g.tool.flute_length, l.tool.flute_length, cell(l, "flute_length"));
    number(g, "price", g.tool.price, l.tool.price, cell(l, "price"));
    text(g, "material", g.tool.material, l.tool.material, cell(l, "material"));
    if (!l.holder.empty())
      notes.push_back(say({Fault::bad_input, l.holder_at, "a holder by its name", l.holder,
                           "its diameter and stick-out come from the list of --holders", ""}));
  }

  void holder(Growing& g, const ListedHolder& h) {
    number(g, "holder", g.tool.holder, h.diameter, h.where);
    number(g, "stick_out", g.tool.stick_out, h.stick_out, h.where);
  }

  void number(Growing& g, const std::string& key, plan::Number& have, const plan::Number& say, const Where& where) {
    if (!say.known()) return;
    if (have.given()) {
      // What is typed in another unit may differ in the last place.
      const bool currency = have.kind == unit::Kind::money && unit_of(have.typed) != unit_of(say.typed);
      if (!currency && std::fabs(have.si - say.si) <= 1e-9 * std::max(std::fabs(have.si), std::fabs(say.si))) return;
      return contradicts(g, key, have, have.typed, say.typed, where);
    }
    have = say;
    line(g, key, quoted(say.typed), say.typed, where);
  }
  void text(Growing& g, const std::string& key, plan::Text& have, const plan::Text& say, const Where& where) {
    if (!say.known()) return;
    if (have.given()) {
      if (have.value != say.value) contradicts(g, key, have, have.value, say.value, where);
      return;
    }
    have = say;
    line(g, key, quoted(say.value), say.value, where);
  }
  void teeth(Growing& g, const ListedTool& l) {
    plan::Integer& have = g.tool.teeth;
    if (have.given()) {
      if (have.value != l.tool.teeth.value)
        contradicts(g, "teeth", have, std::to_string(have.value), l.tool.teeth.typed, cell(l, "teeth"));
      return;
    }
    have = l.tool.teeth;
    line(g, "teeth", have.typed, have.typed, cell(l, "teeth"));
  }

  static std::string unit_of(const std::string& typed) {
    const auto q = unit::parse_banded(typed, unit::Kind::money);
    return q.ok() ? q->value.unit : typed;
  }

  void contradicts(const Growing& g, const std::string& key, const plan::Value& have, const std::string& had,
                   const std::string& says, const Where& where) {
    const auto it = std::find_if(g.from.begin(), g.from.end(), [&](const auto& f) { return f.first == key; });
    const std::string other =
        it != g.from.end() ? place_words(it->second) : fmt::format("{}, line {}", path_, have.place.line);
    problems.push_back({Fault::bad_input, where,
                        fmt::format("{} of {} is said otherwise elsewhere", key, g.tool.id.value), says,
                        fmt::format("{}, as in {}, or one of the two put right", had, other), ""});
  }

  void line(Growing& g, const std::string& key, const std::string& toml, const std::string& words, const Where& where) {
    g.from.emplace_back(key, where);
    g.lines.push_back(fmt::format("{} = {}  # {}", key, toml, place_words(where)));
    g.said.push_back(fmt::format("{} {}", key, words));
  }

  const plan::Shop& shop_;
  std::string path_;
  std::vector<Growing> all_;
};

std::string lines_words(const std::vector<int>& lines) {
  std::vector<std::string> out;
  for (const int l : lines) out.push_back(std::to_string(l));
  return (lines.size() == 1 ? "line " : "lines ") + base::join(out, ", ");
}

/// Mean of the readings, with their range when there are several.
std::string time_text(const std::vector<double>& s) {
  const auto n = [](double x) { return base::shortest(std::round(x * 1000) / 1000); };
  const auto [low, high] = std::minmax_element(s.begin(), s.end());
  const double mean = std::accumulate(s.begin(), s.end(), 0.0) / static_cast<double>(s.size());
  if (s.size() == 1 || !(*low < *high)) return n(mean) + " s";
  return fmt::format("{} s ({}..{} s)", n(mean), n(*low), n(*high));
}

}  // namespace

Outcome<FilledShop> fill_shop(const plan::Shop& shop, const std::string& text, const std::string& path,
                              const std::optional<ToolList>& tools, const std::optional<HolderList>& holders) {
  Filler f(shop, path);
  if (tools) f.tools(*tools);
  if (holders) f.holders(*holders, tools);
  if (!f.problems.empty()) return f.problems;
  FilledShop out{f.text(text), f.choices(), {}};
  if (tools) out.notes = tools->notes;
  if (holders) out.notes.insert(out.notes.end(), holders->notes.begin(), holders->notes.end());
  if (!holders) out.notes.insert(out.notes.end(), f.notes.begin(), f.notes.end());
  return out;
}

void put_times(const TimeList& times, Draft& d) {
  for (const ListedTime& t : times.times) {
    const std::string text = time_text(t.seconds), where = fmt::format("{}, {}", times.file, lines_words(t.lines));
    const auto unused = [&](const std::string& why) {
      d.disagree.push_back(fmt::format("the stopwatch's {} for {}{} is not used: {} ({})", text, t.operation,
                                       t.tool.empty() ? "" : " " + t.tool, why, where));
    };
    const auto said = [&](const std::string& about) {
      d.choices.push_back({"cuts", about, text, where, "stopwatch", {}});
    };
    const auto op = std::find_if(d.plan.operations.begin(), d.plan.operations.end(),
                                 [&](const plan::Operation& o) { return o.id.value == t.operation; });
    if (op == d.plan.operations.end()) {
      unused("this proposal has no such operation");
    } else if (t.tool.empty()) {
      if (!op->cuts.empty()) {
        unused("the operation's time counts only where it has no cuts; times by tool are used");
        continue;
      }
      give(op->time, unit::Kind::time, text);
      said(fmt::format("operation.{}.time", t.operation));
    } else {
      const auto is = [&](const plan::Cut& c) { return c.tool.value == t.tool; };
      const auto n = std::count_if(op->cuts.begin(), op->cuts.end(), is);
      if (n != 1) {
        unused(n == 0 ? "the operation has no cut with this tool"
                      : "the operation has several cuts with this tool, and the table does not say which");
        continue;
      }
      give(std::find_if(op->cuts.begin(), op->cuts.end(), is)->time, unit::Kind::time, text);
      said(fmt::format("operation.{}.cut.{}.time", t.operation, t.tool));
    }
  }
}

}  // namespace fettle::begin
