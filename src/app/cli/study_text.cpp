#include "app/cli/study_text.h"

#include "app/cli/mechanics_json.h"
#include "app/cli/voids.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <future>
#include <map>
#include <nlohmann/json.hpp>

#include "base/text.h"
#include "output/drawings/chart.h"
#include "output/drawings/figures.h"
#include "plan/read.h"

namespace fettle::cli {

using finding::Finding;
using finding::State;

namespace {

std::string pad(std::string s, int width) {
  const int n = static_cast<int>(base::code_points(s));
  if (n < width) s.append(static_cast<std::size_t>(width - n), ' ');
  return s;
}
std::string left_pad(const std::string& s, int width) {
  const int n = static_cast<int>(base::code_points(s));
  return n < width ? std::string(static_cast<std::size_t>(width - n), ' ') + s : s;
}
const char* mark(State s) {
  switch (s) {
    case State::outside:
      return "▨";
    case State::tight:
      return "▤";
    case State::beyond:
      return "◇";
    case State::open:
      return "□";
    case State::inside:
      return "■";
  }
  return "□";
}

/// A margin on the common scale: half a limit over to the whole limit unused, the limit as the one strong line.
std::string bar(const Finding& f) {
  constexpr int before = 4, after = 8;
  if (f.state == State::open || !std::isfinite(f.margin))
    return std::string(before, ' ') + "┃" + (f.state == State::open ? "╌╌╌╌" : "");
  const char* fill = f.state == State::outside ? "▨" : f.state == State::tight ? "▤" : "━";
  std::string s;
  if (f.margin < 0) {
    const int n = std::clamp(static_cast<int>(std::lround(-f.margin * before / 0.5)), 1, before);
    s = std::string(static_cast<std::size_t>(before - n), ' ');
    for (int i = 0; i < n; ++i) s += fill;
    return s + "┃";
  }
  const int n = std::clamp(static_cast<int>(std::lround(f.margin * after)), f.margin > 0 ? 1 : 0, after);
  s = std::string(before, ' ') + "┃";
  for (int i = 0; i < n; ++i) s += fill;
  return s;
}

std::string warm(const std::string& s, bool colour) { return colour ? "\x1b[38;5;166m" + s + "\x1b[0m" : s; }
std::string bold(const std::string& s, bool colour) { return colour ? "\x1b[1m" + s + "\x1b[0m" : s; }
std::string grey(const std::string& s, bool colour) { return colour ? "\x1b[2m" + s + "\x1b[0m" : s; }

std::string value_text(const Finding& f, const unit::Style& style) {
  unit::Style s = style;
  s.gauge = f.gauge;
  if (!f.text.empty() && f.state != State::open) return f.text;
  return std::isfinite(f.value) && f.state != State::open ? unit::print(f.value, f.kind, s) : "—";
}

std::string lever_text(const Finding& f) {
  if (f.state == State::open) return f.missing.empty() ? "" : "give " + f.missing.front();
  return f.levers.empty() ? "" : f.levers.front().text;
}

std::string limit_text(const Finding& f, const unit::Style& style) {
  return drawings::say_limit(f.limit, f.kind, f.gauge, style);
}

/// Widths of the table's columns: operation, value and limit as wide as what stands in them, the title gets the rest.
struct Columns {
  int operation = 4, title = 20, value = 5, limit = 5;
  static constexpr int state = 10, bar = 13, indent = 2;
  int before_title() const { return indent + state + 1 + operation + 1; }
};
Columns columns_of(const std::vector<const Finding*>& rows, const unit::Style& style, int width) {
  Columns c;
  const auto widen = [](int& column, const std::string& text) {
    column = std::max(column, static_cast<int>(base::code_points(text)));
  };
  for (const Finding* f : rows) {
    widen(c.operation, f->operation);
    widen(c.value, value_text(*f, style));
    widen(c.limit, limit_text(*f, style));
  }
  c.operation = std::min(c.operation, 10);
  int longest = 0;
  for (const Finding* f : rows) widen(longest, f->title);
  // In a narrow window two limits stand one below the other, so that the title keeps its room.
  c.limit = std::min(c.limit, std::max(14, width - c.before_title() - 1 - 14 - 1 - c.value - 1 - Columns::bar));
  c.title = std::max(10, width - c.before_title() - 1 - c.value - 1 - c.limit - 1 - Columns::bar);
  c.title = std::min(c.title, std::max(longest, 20));
  return c;
}

std::string trimmed(std::string s) {
  while (!s.empty() && s.back() == ' ') s.pop_back();
  return s;
}

std::string heading(const Columns& c) {
  return trimmed(fmt::format("  {} {} {} {} {} {}", pad("state", Columns::state), pad("step", c.operation),
                             pad("question", c.title), left_pad("value", c.value), pad("limit", c.limit),
                             "over┃unused"));
}

void line(std::string& out, const Finding& f, const Columns& c, const unit::Style& style, const Look& look) {
  std::string state = fmt::format("{} {}", mark(f.state), pad(std::string(finding::word(f.state)), Columns::state - 2));
  if (f.state == State::outside) state = warm(state, look.colour);
  std::vector<std::string> title = base::split(wrap(f.title, c.title, 0), '\n');
  std::vector<std::string> limit = base::split(wrap(limit_text(f, style), c.limit, 0), '\n');
  while (!title.empty() && title.back().empty()) title.pop_back();
  title.resize(std::max({title.size(), limit.size(), std::size_t{1}}));
  limit.resize(title.size());
  out += trimmed(fmt::format("  {} {} {} {} {} {}", state, pad(f.operation.empty() ? "-" : f.operation, c.operation),
                             pad(title[0], c.title), left_pad(value_text(f, style), c.value), pad(limit[0], c.limit),
                             bar(f))) +
         "\n";
  const auto indent = static_cast<std::size_t>(c.before_title());
  for (std::size_t i = 1; i < title.size(); ++i)
    if (!title[i].empty() || !limit[i].empty())
      out += trimmed(std::string(indent, ' ') + pad(title[i], c.title + 1 + c.value + 1) + limit[i]) + "\n";
  const std::string lever = lever_text(f);
  const bool shifted = f.question == "measured" && !f.levers.empty();
  if (!lever.empty() && (f.state != State::inside || shifted))
    for (const std::string& row : base::split(wrap(lever, look.width, c.before_title()), '\n'))
      if (!row.empty()) out += grey(row, look.colour) + "\n";
}

/// A name and what is said of it, the second part hanging under itself.
std::string hanging(const std::string& name, const std::string& text, int width, int indent, int column) {
  const std::string rows = wrap(text, width, column);
  const std::string head = std::string(static_cast<std::size_t>(indent), ' ') + name;
  if (static_cast<int>(base::code_points(head)) + 1 > column) return head + "\n" + rows;
  const auto at = static_cast<std::size_t>(column);
  return pad(head, column) + (rows.size() > at ? rows.substr(at) : "\n");
}

State state_of(const study::Study& study, const study::RequirementRow& r) {
  for (const Finding& f : study.findings)
    if (f.id == r.finding) return f.state;
  return State::open;
}

/// A share outside; where none of the parts tried was, its upper end.
std::string outside_text(const study::RequirementRow& r) {
  if (r.share == 0 && r.share_high > 0 && std::isfinite(r.share_high)) return "< " + drawings::say_share(r.share_high);
  return drawings::say_share_against(r.share, r.goal);
}

/// What will come out: each requirement's share outside against its goal, and what to mend first. Those inside only in
/// the long list.
std::string outcome(const study::Study& study, const Look& look) {
  std::vector<const study::RequirementRow*> rows;
  for (const auto& r : study.requirements) rows.push_back(&r);
  std::stable_sort(rows.begin(), rows.end(), [&](const auto* a, const auto* b) {
    const State x = state_of(study, *a), y = state_of(study, *b);
    if (x != y) return x < y;
    return a->share * b->goal > b->share * a->goal;
  });
  const auto hidden = static_cast<std::size_t>(std::count_if(
      rows.begin(), rows.end(), [&](const auto* r) { return !look.all && state_of(study, *r) == State::inside; }));
  rows.resize(rows.size() - hidden);  // they stand last
  std::string out = "\nWhat will come out\n";
  constexpr int share = 16, goal = 9, cpk = 7, indent = 2 + 2 + share + goal + cpk + 2;
  if (!rows.empty())
    out += grey(fmt::format("    {}{}{}  requirement", left_pad("outside", share), left_pad("goal", goal),
                            left_pad("Cpk", cpk)),
                look.colour) +
           "\n";
  for (const auto* r : rows) {
    const State state = state_of(study, *r);
    const std::string c = r->s > 0 && std::isfinite(r->cpk) ? base::fixed(r->cpk, 2) : "—";
    const std::string words = wrap(r->title, look.width, indent);
    const std::string sign = state == State::outside ? warm(mark(state), look.colour) : mark(state);
    out += fmt::format("  {} {}{}{}  {}", sign, left_pad(outside_text(*r), share),
                       left_pad(drawings::say_share(r->goal), goal), left_pad(c, cpk),
                       words.size() > indent ? words.substr(indent) : "\n");
    if (state == State::inside || r->contributors.empty() || !(r->contributors.front().buys > 0)) continue;
    const study::ContributorRow& first = r->contributors.front();
    std::string mend = "mend first: " + first.name;
    if (!first.operation.empty()) mend += " in " + first.operation;
    mend += ", gains " + drawings::say_share(first.buys) + " of the parts";
    if (!first.mend.empty()) mend += ": " + first.mend;
    for (const std::string& line : base::split(wrap(mend, look.width, indent), '\n'))
      if (!line.empty()) out += grey(line, look.colour) + "\n";
  }
  if (hidden > 0)
    out += rows.empty() ? fmt::format("  all {} requirements are inside (--all lists them)\n", hidden)
                        : fmt::format("  … and {} more inside (--all lists them)\n", hidden);
  return out;
}

/// "0.800 mm": a unit stays with its number.
bool unit_word(std::string word) {
  while (!word.empty() && std::string_view(",.;:)").find(word.back()) != std::string_view::npos) word.pop_back();
  const auto& all = unit::units();
  return std::any_of(all.begin(), all.end(), [&](const unit::Unit& u) { return u.symbol == word; });
}

}  // namespace

unit::Style style_of(const plan::Plan& plan) {
  unit::Style s;
  s.system = plan.header.units.value == "inch" ? unit::Style::System::inch : unit::Style::System::metric;
  return s;
}

std::string wrap(const std::string& text, int width, int indent) {
  std::string out, row;
  const auto flush = [&] {
    if (!row.empty()) out += std::string(static_cast<std::size_t>(indent), ' ') + row + "\n";
    row.clear();
  };
  std::vector<std::string> words;
  for (const std::string& word : base::split(text, ' ')) {
    const bool after_number =
        !words.empty() && !words.back().empty() && words.back().back() >= '0' && words.back().back() <= '9';
    if (after_number && unit_word(word)) words.back() += " " + word;
    else words.push_back(word);
  }
  for (const std::string& word : words) {
    if (!row.empty() && static_cast<int>(base::code_points(row) + base::code_points(word)) + 1 > width - indent)
      flush();
    row += (row.empty() ? "" : " ") + word;
  }
  flush();
  return out;
}

namespace {

/// Each caution once; who decides is said once for all.
std::vector<std::string> cautions_of(const std::vector<Finding>& findings) {
  std::vector<std::string> all;
  for (const Finding& f : findings)
    for (std::string s : f.cautions) {
      for (const std::string_view end :
           {" Local rules and licensed practice decide.", "; local codes and licensed practice decide."})
        if (const std::size_t at = s.find(end); at != std::string::npos) {
          s.erase(at, end.size());
          if (!s.empty() && s.back() != '.') s += '.';
        }
      if (std::find(all.begin(), all.end(), s) == all.end()) all.push_back(s);
    }
  return all;
}

/// "41.19 EUR", or nothing where it is not known.
std::string cost_of_part(const study::Study& s) {
  for (const Finding& f : s.findings)
    for (const finding::Input& i : f.inputs)
      if (f.question == "good_parts" && i.name == "cost of a good part" && i.si > 0) return i.text;
  return {};
}

}  // namespace

std::string study_text(const study::Study& study, const plan::Plan& plan, const Look& look) {
  const unit::Style style = style_of(plan);
  std::string out;
  out += fmt::format("{}   {} · {} · plan {}\n\n", bold(study.plan_name, look.colour), plan.header.units.value,
                     plan.header.date.known() ? plan.header.date.value : "no date", study.plan_hash.substr(0, 8));
  const bool hand = study.counts.outside > 0;
  for (const std::string& s : base::split(wrap(study.verdict, look.width, 0), '\n'))
    if (!s.empty()) out += (hand ? warm(bold(s, look.colour), look.colour) : bold(s, look.colour)) + "\n";
  const study::Counts& c = study.counts;
  out += fmt::format("{} outside · {} tight · {} beyond · {} open · {} inside\n", c.outside, c.tight, c.beyond, c.open,
                     c.inside);
  if (const std::string cost = cost_of_part(study); !cost.empty()) {
    const auto& w = study.counted_week;
    out += wrap(fmt::format("A good part costs {}{}.", cost,
                            w && w->hone_share ? fmt::format(", {} of the parts honed",
                                                             unit::print(*w->hone_share, unit::Kind::fraction))
                                               : ""),
                look.width, 0);
  }
  if (!study.casting_sentence.empty()) out += "\n" + wrap(study.casting_sentence, look.width, 0);
  int hidden = 0;
  std::vector<const Finding*> shown;
  for (const Finding& f : study.findings) {
    const bool shifted = f.question == "measured" && !f.levers.empty();
    if (f.state == State::inside && !shifted && !look.all && study.counts.inside > 12 && ++hidden > 6) continue;
    shown.push_back(&f);
  }
  const Columns columns = columns_of(shown, style, look.width);
  if (!shown.empty()) out += "\n" + grey(heading(columns), look.colour) + "\n";
  for (const Finding* f : shown) line(out, *f, columns, style, look);
  if (hidden > 6) out += fmt::format("  … and {} more inside (--all lists them)\n", hidden - 6);
  if (!study.requirements.empty()) out += outcome(study, look);
  const auto rows = drawings::assumptions_by_effect(study.findings, style);
  if (!rows.empty()) {
    out += "\nAssumed, by effect; each has a cheap measurement that replaces it:\n";
    int n = 0;
    for (const auto& r : rows) {
      if (++n > 8 && !look.all) {
        out += fmt::format("  … and {} more (--all lists them)\n", rows.size() - 8);
        break;
      }
      out += wrap(fmt::format("{} {} ({}){}", r.name, r.value, r.band,
                              r.flips.empty() ? "" : " — alone decides: " + base::join(r.flips, ", ")),
                  look.width, 2);
      if (!r.replaced_by.empty()) out += wrap("measure: " + r.replaced_by, look.width, 6);
    }
  }
  for (const std::string& n : study.notices) out += "\n" + wrap(n, look.width, 0);
  if (!study.not_looked_at.empty()) {
    std::string s;
    for (const std::string& n : study.not_looked_at) s += (s.empty() ? "" : "; ") + n;
    out += "\n" + wrap("Not looked at by this version: " + s + ".", look.width, 0);
  }
  const std::vector<std::string> cautions = cautions_of(study.findings);
  if (!cautions.empty()) out += "\nCaution: local codes and licensed practice decide, in each of these.\n";
  for (const std::string& s : cautions) out += wrap(s, look.width, 2);
  out += grey(fmt::format("\nfettle {} · tables {} · seed {}\n", study.version, study.tables, study.seed), look.colour);
  return out;
}

std::string explain_text(const Finding& f, const unit::Style& style, const Look& look) {
  unit::Style s = style;
  s.gauge = f.gauge;
  const bool fits = base::code_points(f.id) + 2 + base::code_points(f.title) <= static_cast<std::size_t>(look.width);
  std::string out = bold(f.id, look.colour) + (fits ? "  " + f.title + "\n" : "\n" + wrap(f.title, look.width, 2));
  out += wrap(f.sentence, look.width, 0) + "\n";
  const auto row = [&](const std::string& name, const std::string& text) {
    if (text.empty()) return;
    const std::string w = wrap(text, look.width, 14);
    out += pad(name, 14) + (w.size() > 14 ? w.substr(14) : "\n");
  };
  row("state", fmt::format("{} {}", mark(f.state), finding::word(f.state)));
  if (f.state != State::open) row("value", value_text(f, s));
  if (f.low && f.high)
    row("",
        fmt::format("{} to {} ({})", unit::print(*f.low, f.kind, s), unit::print(*f.high, f.kind, s), f.confidence));
  row("limit", drawings::say_limit(f.limit, f.kind, f.gauge, style));
  if (std::isfinite(f.margin) && f.state != State::open)
    row("margin", drawings::say_margin(f.margin) + "   (0 at the limit, 1 the whole limit unused)");
  if (f.state == State::tight) row("turned by", f.worst.empty() ? "no band alone, all together" : f.worst);
  for (const std::string& m : f.missing) row("to give", m);
  row("range left", f.range);
  row("formula", f.formula);
  row("source", f.source);
  if (!f.inputs.empty()) out += "\nNumbers\n";
  for (const finding::Input& i : f.inputs)
    out += hanging(i.name, i.text.empty() ? unit::print(i.si, i.kind, s) : i.text, look.width, 2, 44);
  if (!f.assumptions.empty()) out += "\nAssumed\n";
  for (const finding::Assumption& a : f.assumptions) {
    out += hanging(
        a.name,
        fmt::format("{} ({} to {}), margin {} to {}{}", unit::print(a.value, a.kind, s), unit::print(a.low, a.kind, s),
                    unit::print(a.high, a.kind, s), drawings::say_margin(a.margin_at_low),
                    drawings::say_margin(a.margin_at_high), a.flips ? "; this alone turns it outside" : ""),
        look.width, 2, 44);
    if (!a.source.empty()) out += wrap("from: " + a.source, look.width, 6);
    if (!a.replaced_by.empty()) out += wrap("measure: " + a.replaced_by, look.width, 6);
  }
  if (!f.levers.empty()) out += "\nWhat would move it\n";
  for (const finding::Lever& l : f.levers) out += wrap(l.text, look.width, 2);
  if (!f.cautions.empty()) out += "\nCaution\n";
  for (const std::string& c : f.cautions) out += wrap(c, look.width, 2);
  return out;
}

namespace {
nlohmann::json number(double x) { return std::isfinite(x) ? nlohmann::json(x) : nlohmann::json(nullptr); }

const char* limit_word(finding::Limit::Type t) {
  switch (t) {
    case finding::Limit::Type::none:
      return "none";
    case finding::Limit::Type::upper:
      return "upper";
    case finding::Limit::Type::lower:
      return "lower";
    case finding::Limit::Type::between:
      return "between";
    case finding::Limit::Type::share:
      return "share";
  }
  return "none";
}

std::string unit_of(unit::Kind kind) {
  for (const unit::Unit& u : unit::units())
    if (u.kind == kind && u.factor == 1 && u.offset == 0) return std::string(u.symbol);
  return "1";
}

nlohmann::json requirement_json(const study::RequirementRow& r) {
  nlohmann::json j = {{"id", r.id},
                      {"title", r.title},
                      {"finding", r.finding},
                      {"kind", std::string(unit::word(r.kind))},
                      {"unit", unit_of(r.kind)},
                      {"mean", number(r.mean)},
                      {"s", number(r.s)},
                      {"worst_low", number(r.worst_low)},
                      {"worst_high", number(r.worst_high)},
                      {"share_outside", number(r.share)},
                      {"share_low", number(r.share_low)},
                      {"share_high", number(r.share_high)},
                      {"theory_share", number(r.theory_share)},
                      {"goal", number(r.goal)}};
  if (r.lower) j["lower"] = number(*r.lower);
  if (r.upper) j["upper"] = number(*r.upper);
  const bool spread = r.s > 0;
  if (r.lower && r.upper) j["cp"] = spread ? number(r.cp) : nlohmann::json(nullptr);
  j["cpk"] = spread ? number(r.cpk) : nlohmann::json(nullptr);
  if (!r.bins.empty()) {
    j["histogram"] = {{"first", number(r.first)}, {"step", number(r.step)}, {"shares", nlohmann::json::array()}};
    for (double b : r.bins) j["histogram"]["shares"].push_back(number(b));
  }
  j["contributors"] = nlohmann::json::array();
  for (const study::ContributorRow& c : r.contributors)
    j["contributors"].push_back({{"name", c.name},
                                 {"key", c.key},
                                 {"operation", c.operation},
                                 {"variance_share", number(c.variance_share)},
                                 {"share_outside_without", number(c.share_outside_without)},
                                 {"buys", number(c.buys)},
                                 {"mend", c.mend}});
  return j;
}

nlohmann::json cycle_json(const study::CyclePicture& c) {
  nlohmann::json j = {{"time", number(c.cycle)}, {"parts", c.parts}, {"who", c.who}, {"bars", nlohmann::json::array()}};
  for (const study::CycleBar& b : c.bars)
    j["bars"].push_back(
        {{"who", b.who}, {"what", b.what}, {"from", number(b.from)}, {"to", number(b.to)}, {"waiting", b.waiting}});
  return j;
}

nlohmann::json count_curve_json(const study::CountCurve& c) {
  nlohmann::json j = {{"now", c.now}, {"currency", c.currency}, {"points", nlohmann::json::array()}};
  for (const study::CountPoint& p : c.points)
    j["points"].push_back({{"parts", p.parts},
                           {"machine_time", number(p.minutes_machine * 60)},
                           {"person_time", number(p.minutes_person * 60)},
                           {"cost", p.cost > 0 ? number(p.cost) : nlohmann::json(nullptr)}});
  return j;
}

nlohmann::json finding_json(const Finding& f, const unit::Style& style) {
  unit::Style s = style;
  s.gauge = f.gauge;
  nlohmann::json j;
  j["id"] = f.id;
  j["operation"] = f.operation;
  j["feature"] = f.feature;
  j["question"] = f.question;
  if (!f.tool.empty()) j["tool"] = f.tool;
  if (!f.nest.empty()) j["nest"] = f.nest;
  j["title"] = f.title;
  j["sentence"] = f.sentence;
  j["state"] = std::string(finding::word(f.state));
  j["value"] = f.state == State::open ? nlohmann::json(nullptr) : number(f.value);
  j["value_text"] = value_text(f, style);
  j["kind"] = std::string(unit::word(f.kind));
  j["unit"] = unit_of(f.kind);
  j["limit"] = {{"type", limit_word(f.limit.type)}, {"text", drawings::say_limit(f.limit, f.kind, f.gauge, style)}};
  if (f.limit.type == finding::Limit::Type::lower || f.limit.type == finding::Limit::Type::between)
    j["limit"]["low"] = f.limit.low;
  if (f.limit.type != finding::Limit::Type::lower && f.limit.type != finding::Limit::Type::none)
    j["limit"]["high"] = f.limit.high;
  j["margin"] = f.state == State::open ? nlohmann::json(nullptr) : number(f.margin);
  if (f.low && f.high) j["interval"] = {{"low", *f.low}, {"high", *f.high}, {"meaning", f.confidence}};
  j["formula"] = f.formula;
  j["source"] = f.source;
  j["inputs"] = nlohmann::json::array();
  for (const auto& i : f.inputs) {
    nlohmann::json x = {{"name", i.name}, {"text", i.text.empty() ? unit::print(i.si, i.kind, s) : i.text}};
    if (i.text.empty()) {
      x["value"] = number(i.si);
      x["kind"] = std::string(unit::word(i.kind));
    }
    j["inputs"].push_back(x);
  }
  j["assumptions"] = nlohmann::json::array();
  for (const auto& a : f.assumptions)
    j["assumptions"].push_back({{"name", a.name},
                                {"key", a.key},
                                {"value", a.value},
                                {"low", a.low},
                                {"high", a.high},
                                {"kind", std::string(unit::word(a.kind))},
                                {"source", a.source},
                                {"replaced_by", a.replaced_by},
                                {"margin_at_low", number(a.margin_at_low)},
                                {"margin_at_high", number(a.margin_at_high)},
                                {"flips", a.flips}});
  j["levers"] = nlohmann::json::array();
  for (const auto& l : f.levers)
    j["levers"].push_back({{"name", l.name},
                           {"key", l.key},
                           {"now", number(l.now)},
                           {"flip", number(l.flip)},
                           {"kind", std::string(unit::word(l.kind))},
                           {"text", l.text}});
  j["missing"] = f.missing;
  if (!f.range.empty()) j["range"] = f.range;
  if (!f.worst.empty()) j["flipped_by"] = f.worst;
  if (f.yes_no) j["yes_no"] = true;
  j["cautions"] = f.cautions;
  return j;
}
}  // namespace

std::string findings_json(const study::Study& study, const plan::Plan& plan, int threads) {
  const unit::Style style = style_of(plan);
  const auto some = [&](std::size_t from, std::size_t to) {
    std::string out;
    for (std::size_t i = from; i < to; ++i) {
      if (i > 0) out += ',';
      out += finding_json(study.findings[i], style).dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
    }
    return out;
  };
  const std::size_t n = study.findings.size(), half = n / 2;
  auto later = std::async(threads > 1 ? std::launch::async : std::launch::deferred, some, half, n);
  const std::string first = some(0, half);
  return "[" + first + later.get() + "]";
}

std::string study_json(const study::Study& study, const plan::Plan& plan) {
  const unit::Style style = style_of(plan);
  nlohmann::json j;
  j["fettle_findings"] = 1;
  j["plan"] = {{"name", study.plan_name}, {"hash", study.plan_hash}, {"units", plan.header.units.value}};
  if (plan.header.date.known()) j["plan"]["date"] = plan.header.date.value;
  j["version"] = study.version;
  j["tables"] = study.tables;
  j["seed"] = study.seed;
  j["verdict"] = study.verdict;
  j["casting"] = study.casting_sentence;
  j["counts"] = {{"inside", study.counts.inside},
                 {"tight", study.counts.tight},
                 {"outside", study.counts.outside},
                 {"open", study.counts.open},
                 {"beyond", study.counts.beyond}};
  j["findings"] = nlohmann::json::array();
  for (const Finding& f : study.findings) j["findings"].push_back(finding_json(f, style));
  j["castings"] = nlohmann::json::array();
  for (const auto& r : study.castings) {
    nlohmann::json stock = nlohmann::json::object();
    for (const auto& [k, v] : r.stock) stock[k] = number(v);
    j["castings"].push_back({{"number", r.number},
                             {"spare", number(r.least)},
                             {"where", r.where},
                             {"left", r.left},
                             {"left_shifted", r.left_shifted},
                             {"shift_x", number(r.shift_x)},
                             {"shift_y", number(r.shift_y)},
                             {"shift_z", number(r.shift_z)},
                             {"spare_shifted", number(r.least_shifted)},
                             {"where_shifted", r.where_shifted},
                             {"cleans_up", r.cleans_up},
                             {"saved_by_shift", r.saved},
                             {"proof", r.proof},
                             {"stock", stock}});
  }
  j["requirements"] = nlohmann::json::array();
  for (const study::RequirementRow& r : study.requirements) j["requirements"].push_back(requirement_json(r));
  if (study.cycle.there) j["cycle"] = cycle_json(study.cycle);
  if (study.counts_curve.there) j["count_curve"] = count_curve_json(study.counts_curve);
  add_mechanics(study, j);
  j["not_looked_at"] = study.not_looked_at;
  j["notices"] = study.notices;
  return j.dump(1) + "\n";
}

namespace {
/// "operation OP20 / cut T20 / speed" -> "operation OP20 / cut T20".
std::string thing_of(const std::string& path) {
  const std::size_t at = path.rfind(" / ");
  return at == std::string::npos ? path : path.substr(0, at);
}
/// Typed values as one reads them: `["F4", "F7"]` is F4, F7.
std::string plain(const std::string& typed) {
  std::string s;
  for (char c : typed)
    if (c != '[' && c != ']' && c != '"') s += c;
  return s;
}
}  // namespace

std::string diff_text(const plan::Plan& a, const study::Study& study_a, const plan::Plan& b,
                      const study::Study& study_b, const Look& look) {
  std::map<std::string, plan::Leaf> in_a, in_b;
  std::vector<std::string> order;
  for (const plan::Leaf& l : plan::leaves(a))
    if (in_a.emplace(l.key, l).second) order.push_back(l.key);
  for (const plan::Leaf& l : plan::leaves(b)) {
    if (in_b.emplace(l.key, l).second && in_a.count(l.key) == 0) order.push_back(l.key);
  }
  std::string out = fmt::format("{} → {}\n\nWhat differs\n", study_a.plan_name, study_b.plan_name);
  // A thing that only one plan has is said once, with all it says; a changed value by itself.
  std::map<std::string, int> kept;
  for (const std::string& key : order)
    if (in_a.count(key) > 0 && in_b.count(key) > 0) ++kept[thing_of(in_a.at(key).path)];
  std::map<std::string, bool> said;
  int n = 0;
  for (const std::string& key : order) {
    const auto x = in_a.find(key), y = in_b.find(key);
    const bool both = x != in_a.end() && y != in_b.end();
    const plan::Leaf& leaf = x == in_a.end() ? y->second : x->second;
    const std::string thing = thing_of(leaf.path);
    std::string text;
    if (both) {
      const plan::Leaf &l = x->second, &m = y->second;
      if (l.typed == m.typed || (l.number && m.number && l.si == m.si)) continue;
      text = fmt::format("{}: {} → {}", l.path, plain(l.typed), plain(m.typed));
    } else if (kept[thing] > 0) {
      text = fmt::format("{}: {} {}", leaf.path, x == in_a.end() ? "new," : "gone, was", plain(leaf.typed));
    } else {
      if (said[thing]) continue;
      said[thing] = true;
      const auto& in = x == in_a.end() ? in_b : in_a;
      for (const std::string& other : order)
        if (const auto z = in.find(other);
            z != in.end() && thing_of(z->second.path) == thing && z->second.path != thing + " / id")
          text += fmt::format("{}{} {}", text.empty() ? "" : ", ", z->second.path.substr(thing.size() + 3),
                              plain(z->second.typed));
      text = fmt::format("{}: {}: {}", thing, x == in_a.end() ? "new" : "gone, was", text);
    }
    ++n;
    out += wrap(text, look.width, 2);
  }
  if (n == 0) out += "  nothing\n";
  out += "\nFindings that moved\n";
  const auto moved = study::moved(study_a, study_b);
  for (const auto& m : moved) {
    if (m.came)
      out +=
          wrap(fmt::format("{} {}: new, {} {}", m.id, m.title, mark(m.after), finding::word(m.after)), look.width, 2);
    else if (m.went)
      out += wrap(fmt::format("{} {}: gone, was {}", m.id, m.title, finding::word(m.before)), look.width, 2);
    else
      out += wrap(fmt::format("{} {}: {} {} → {} {}, margin {} → {}", m.id, m.title, mark(m.before),
                              finding::word(m.before), mark(m.after), finding::word(m.after),
                              drawings::say_margin(m.margin_before), drawings::say_margin(m.margin_after)),
                  look.width, 2);
  }
  if (moved.empty()) out += "  none\n";
  out += "\n" + voids_text(study::changes_between(a, b), study::files_from_before(a, b), study_b.plan_name, look);
  out += "\n" + wrap(fmt::format("{}: {}", study_a.plan_name, study_a.verdict), look.width, 0);
  out += wrap(fmt::format("{}: {}", study_b.plan_name, study_b.verdict), look.width, 0);
  const std::string cost_a = cost_of_part(study_a), cost_b = cost_of_part(study_b);
  if (!cost_a.empty() && !cost_b.empty()) out += fmt::format("A good part costs {} → {}.\n", cost_a, cost_b);
  return out;
}

}  // namespace fettle::cli
