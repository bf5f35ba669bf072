// The rules of the trade as findings of the study.
#include "study/practice.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "base/text.h"
#include "plan/read.h"
#include "study/internal.h"

namespace fettle::study {

using finding::Finding;
using finding::State;
using practice::Answer;
using practice::Changed;
using practice::Verdict;
using practice::Weight;
using unit::Kind;

namespace {

/// Where the plan says a fact: OP, FEATURE and TOOL stand for the place.
struct Key {
  const char* fact;
  const char* key;
};
constexpr Key keys[] = {
    {"iron", "part.material"},
    {"skin", "casting.skin"},
    {"start", "feature.FEATURE.cast"},
    {"least_stock", "casting.size over FEATURE: raw and tolerance, or casting.tolerance_grade"},
    {"leaves", "operation.OP.cut.TOOL.stock"},
    {"hardest", "casting.hardness, with what corners may reach"},
    {"edge_wall", "feature.FEATURE.at, and the outside faces with cast = \"skin\""},
    {"gates", "casting.gate"},
    {"parting", "casting.parting"},
    {"contact_at", "operation.OP.locator or clamp on FEATURE: at"},
    {"warp", "casting.warp"},
    {"magnetic", "operation.OP.clamp: a magnet, or what holds it"},
    {"shims", "operation.OP.does"},
    {"contacts", "operation.OP.locator, or pallet.pad and pallet.pin"},
    {"critical", "requirement.critical, of those it lives or dies by"},
    {"features", "operation.OP.cut.TOOL.features"},
    {"made_in", "operation.makes or operation.cut.features, with FEATURE"},
    {"forms", "tool.TOOL.forms"},
    {"pass", "operation.OP.cut of FEATURE: tool and kind"},
    {"drains", "feature.FEATURE: at, from and to, and operation.OP.up"},
    {"tolerance", "requirement of the size of FEATURE: limits"},
    {"pin_height", "pallet.pin in FEATURE: height"},
    {"pin_clearance", "pallet.pin in FEATURE: diameter or land, and feature.FEATURE.diameter"},
    {"pin_span", "pallet.pin: two pins in two holes"},
    {"grip", "feature.FEATURE.from and to"},
    {"thickness", "part.size, or from and to of the hole that the screws go through"},
    {"cleans_seats", "operation.OP.does"},
    {"deburrs", "operation.OP.does"},
    {"closed_end", "pallet.run_off.closed_end"},
    {"slope", "pallet.run_off.slope"},
    {"looks_for_pores", "operation.OP.does"},
    {"part_time", "operation.OP.time"},
    {"wet", "operation.OP.machine, and machine.coolant"},
    {"oils", "operation.OP.does"},
    {"lot_time", "operation.OP.lot, and its time"},
    {"demagnetises", "operation.OP.does"},
    {"gauges", "operation.OP.does"},
    {"warm", "room.part_off_machine"},
    {"gauge_at", "room.temperature_low"},
    {"expansion", "part.material"},
    {"soaks", "operation.OP.does"},
    {"single_block", "operation.OP.does"},
    {"at_once", "operation.OP.parts, or pallet.nest"},
    {"lifts_evenly", "operation.OP.does"},
};

void replace(std::string& text, const std::string& word, const std::string& by) {
  for (std::size_t at = text.find(word); at != std::string::npos; at = text.find(word, at + by.size()))
    text.replace(at, word.size(), by);
}

std::string words_of_fact(const std::string& fact) {
  for (const practice::FactWord& w : practice::facts_asked())
    if (w.fact == fact) return std::string(w.words);
  return fact;
}

std::string key_of(const practice::Missing& m) {
  for (const Key& k : keys) {
    if (m.fact != k.fact) continue;
    std::string out = k.key;
    if (m.where.tool.empty()) replace(out, ".cut.TOOL", ".cut");
    replace(out, "FEATURE", m.where.feature.empty() ? "the feature" : m.where.feature);
    replace(out, "TOOL", m.where.tool);
    replace(out, "OP", m.where.operation.empty() ? "any" : m.where.operation);
    return out;
  }
  return m.fact;
}

/// All gaps of the rules that stay open, each key once with all that is asked there.
std::vector<std::string> asked(const std::vector<const Answer*>& open) {
  std::vector<std::string> order;
  std::map<std::string, std::vector<std::string>> words;
  for (const Answer* a : open)
    for (const practice::Missing& m : a->missing) {
      const std::string key = key_of(m);
      if (words.count(key) == 0) order.push_back(key);
      auto& list = words[key];
      const std::string w = words_of_fact(m.fact);
      if (std::find(list.begin(), list.end(), w) == list.end()) list.push_back(w);
    }
  std::vector<std::string> out;
  for (const std::string& key : order) out.push_back(key + ": " + base::join(words[key], "; "));
  return out;
}

std::string titles(const std::vector<const Answer*>& list) {
  std::vector<std::string> out;
  for (const Answer* a : list) out.emplace_back(practice::find_rule(a->rule)->title);
  return base::join(out, "; ");
}

void kept(Context& c, const std::vector<const Answer*>& list, std::size_t judged, std::size_t spared) {
  if (list.empty()) return;
  Finding f = start("", "", "practice_kept", "rules of the trade kept", Kind::number);
  f.limit = finding::upper(0);
  f.yes_no = true;
  f.text = fmt::format("{} of {}", list.size(), judged);
  f.formula = "rules kept, of those that this plan can keep or break";
  f.source = "common practice";
  for (const Answer* a : list)
    f.inputs.push_back(
        {std::string(practice::find_rule(a->rule)->title), static_cast<double>(a->looked_at), Kind::number, {}});
  f.sentence = fmt::format("{} of {} rules of the trade are kept{}.", list.size(), judged,
                           spared > 0 ? fmt::format("; {} more have nothing to look at here", spared) : "");
  settle(c, std::move(f), [](const std::vector<double>&) { return 0.0; });
}

void broken(Context& c, const Answer& a) {
  const practice::Rule& r = *practice::find_rule(a.rule);
  const std::string question = "practice_" + a.rule;
  Finding f = start(a.where.operation, a.where.feature, question, std::string(r.title), Kind::number);
  f.tool = a.where.tool;
  f.id = finding::make_id(base::lower(a.where.operation), a.where.feature, question, a.where.tool);
  // A rule that people who know break now and then asks for a look at each place, not for a stop.
  const bool look = r.weight == Weight::should;
  const auto places = static_cast<double>(a.breaches.size());
  f.limit = finding::upper(look ? places : 0);
  f.yes_no = !look;
  f.text = fmt::format("{} place{}", a.breaches.size(), a.breaches.size() == 1 ? "" : "s");
  f.formula = look ? "places where the rule is broken, each to be looked at" : "places where the rule is broken";
  f.source = r.source;
  f.inputs.push_back({"why the rule", 0, Kind::number, std::string(r.reason)});
  for (std::size_t i = 1; i < a.breaches.size(); ++i)
    f.inputs.push_back({"also", 0, Kind::number, a.breaches[i].sentence});
  f.levers.push_back({"what to do", "operation." + a.where.operation, places, 0, Kind::number, a.mend});
  for (const std::string& m : asked({&a})) f.inputs.push_back({"not said elsewhere", 0, Kind::number, m});
  f.sentence = a.sentence + " " + capital(std::string(r.reason)) + ".";
  settle(c, std::move(f), [places](const std::vector<double>&) { return places; });
  if (look) c.study.findings.back().state = State::tight;
}

void open_ones(Context& c, const std::vector<const Answer*>& list) {
  if (list.empty()) return;
  Finding f = start("", "", "practice_open", "rules of the trade not judged", Kind::number);
  f.source = "common practice";
  f.formula = "rules that lack a fact";
  f.limit = finding::upper(0);
  for (const Answer* a : list)
    f.inputs.push_back({std::string(practice::find_rule(a->rule)->title), 0, Kind::number, a->sentence});
  f.sentence = fmt::format("{} rule{} of the trade cannot be judged: {}.", list.size(), list.size() == 1 ? "" : "s",
                           titles(list));
  leave_open(c, std::move(f), asked(list));
}

}  // namespace

std::string practice_asks(const practice::Missing& m) { return key_of(m) + ": " + words_of_fact(m.fact); }

std::vector<practice::StepAsked> say_steps(plan::Plan& plan) {
  std::vector<practice::StepAsked> said;
  const practice::Facts facts = practice_facts(plan);
  std::vector<practice::StepAsked> asked = practice::steps_asked(facts);
  // A list says all that is done: what only the time for cleaning said until now goes on it.
  const std::vector<practice::StepAsked> first = asked;
  for (const practice::Operation& o : facts.operations) {
    const bool listed = std::any_of(first.begin(), first.end(), [&](const auto& a) { return a.operation == o.id; });
    if (listed && o.steps.cleans_seats.value_or(false)) asked.push_back({o.id, "blow off", "clean_seats"});
  }
  for (practice::StepAsked& a : asked)
    for (plan::Operation& o : plan.operations) {
      if (o.id.value != a.operation || (o.does.given() && o.does.place.line > 0)) continue;
      o.does.origin = plan::Origin::given;
      o.does.value.push_back(a.step);
      said.push_back(std::move(a));
      break;
    }
  return said;
}

void practice_findings(Context& c) {
  if (c.plan.operations.empty()) return;
  const auto result = c.memo.call(
      "practice", [](const practice::Facts& f) { return practice::judge(f); }, practice_facts(c.plan));
  std::vector<const Answer*> good, open;
  std::size_t spared = 0, slips = 0;
  for (const Answer& a : result->answers) {
    if (a.verdict == Verdict::kept) good.push_back(&a);
    else if (a.verdict == Verdict::open) open.push_back(&a);
    else if (a.verdict == Verdict::not_applicable) ++spared;
    else {
      ++slips;
      broken(c, a);
    }
  }
  kept(c, good, good.size() + open.size() + slips, spared);
  open_ones(c, open);
}

// ---- what changed ---------------------------------------------------------------------------------------------------

namespace {

/// The kind of change that a key of the plan stands for; the longest head decides. Empty: nothing that voids anything.
struct Head {
  const char* head;
  const char* changed;
};
constexpr Head heads[] = {
    {"plan.", ""},
    {"part.", "size"},
    {"part.material", "grade"},
    {"part.density", "grade"},
    {"part.elasticity", "grade"},
    {"part.poisson", "grade"},
    {"part.expansion", "grade"},
    {"part.cutting_force", "grade"},
    {"part.chip_exponent", "grade"},
    {"feature.", "size"},
    {"requirement.", "requirement"},
    {"casting.", "pattern"},
    {"casting.points", ""},
    {"casting.process", "foundry"},
    {"casting.grade", "grade"},
    {"casting.hardness", "foundry"},
    {"casting.skin", "foundry"},
    {"casting.warp", "foundry"},
    {"casting.texture", "foundry"},
    {"casting.mismatch", "foundry"},
    {"casting.scale", "foundry"},
    {"casting.measured", "foundry"},
    {"casting.price", "demand"},
    {"casting.min_lot", "demand"},
    {"casting.lead_time", "demand"},
    {"pallet.", "pallet"},
    {"pallet.screw", "clamping"},
    {"pallet.pin", "locating"},
    {"pallet.pad", "locating"},
    {"pallet.temperature", "room"},
    {"pallet.part_temperature", "room"},
    {"lift.", "people"},
    {"demand.", "demand"},
    {"machine.", "machine"},
    {"tool.", "tool"},
    {"gauge.", "gauge"},
    {"people.", "people"},
    {"room.", "room"},
    {"thing.", "clamping"},
    {"operation.", "route"},
};
/// The part of an operation's key that follows its id.
constexpr Head in_operation[] = {
    {"locator", "locating"}, {"shift", "locating"},   {"zero", "locating"}, {"clamp", "clamping"},
    {"carrier", "clamping"}, {"need", "clamping"},    {"jaw", "clamping"},  {"cut", "cutting data"},
    {"machine", "machine"},  {"load_time", "people"}, {"price", "demand"},  {"lot", "demand"},
};

bool ends_with(const std::string& text, std::string_view tail) {
  return text.size() >= tail.size() && text.compare(text.size() - tail.size(), tail.size(), tail) == 0;
}

std::string kind_of_change(const std::string& key) {
  if (ends_with(key, ".note") || ends_with(key, ".name")) return {};
  std::string out;
  std::size_t longest = 0;
  for (const Head& h : heads) {
    const std::string_view head = h.head;
    if (head.size() > longest && base::starts_with(key, head)) longest = head.size(), out = h.changed;
  }
  if (!base::starts_with(key, "operation.")) return out;
  if (ends_with(key, ".program")) return "program";
  // What is cut where is the route; how fast is cutting data.
  if (key.find(".cut.") != std::string::npos && (ends_with(key, ".features") || ends_with(key, ".kind")))
    return "route";
  if (ends_with(key, ".tool")) return "tool";
  const std::size_t at = key.find('.', std::string_view("operation.").size());
  if (at == std::string::npos) return out;
  for (const Head& h : in_operation)
    if (key.compare(at + 1, std::string_view(h.head).size(), h.head) == 0) return h.changed;
  return out;
}

using Leaves = std::map<std::string, const plan::Leaf*>;
Leaves by_key(const std::vector<plan::Leaf>& list) {
  Leaves out;
  for (const plan::Leaf& l : list) out.emplace(l.key, &l);
  return out;
}

/// 1 in and 25.4 mm are the same; the same middle with another band is not.
bool alike(const plan::Leaf& a, const plan::Leaf& b) {
  if (a.typed == b.typed) return true;
  const auto one_number = [](const plan::Leaf& l) {
    return l.number && l.typed.find('(') == std::string::npos && l.typed.find("±") == std::string::npos &&
           l.typed.find("..") == std::string::npos;
  };
  return one_number(a) && one_number(b) && a.si == b.si;
}

/// What a file of readings proves, in the words of practice::voided().
std::string_view proves(const std::string& kind) {
  if (kind == "run") return "capability run";
  if (kind == "load times") return "load times";
  if (kind == "tap test" || kind == "tap recording" || kind == "squeal") return "recordings of tools and pallet";
  return kind == "gauge study" ? "gauge study" : "first article";
}

}  // namespace

std::vector<Changed> changes_between(const std::vector<plan::Leaf>& before, const std::vector<plan::Leaf>& after) {
  const Leaves a = by_key(before), b = by_key(after);
  std::set<std::string> kinds;
  const auto differs = [&](const Leaves& from, const Leaves& to) {
    for (const auto& [key, leaf] : from) {
      const auto it = to.find(key);
      if (it == to.end() || !alike(*it->second, *leaf)) kinds.insert(kind_of_change(key));
    }
  };
  differs(a, b);
  differs(b, a);
  std::vector<Changed> out;
  for (Changed c : practice::all_changes())
    if (kinds.count(std::string(practice::word(c))) > 0) out.push_back(c);
  return out;
}

std::vector<Changed> changes_between(const plan::Plan& before, const plan::Plan& after) {
  return changes_between(plan::leaves(before), plan::leaves(after));
}

std::vector<OldFile> files_from_before(const plan::Plan& before, const plan::Plan& after) {
  const practice::Voided all = practice::voided(changes_between(before, after));
  std::vector<OldFile> out;
  const auto look = [&](const std::string& thing, const plan::Text& was, const plan::Text& is, std::string_view what) {
    if (!is.given() || !was.given() || was.value != is.value) return;  // a new file is taken after the change
    for (const practice::Void& v : all.voided)
      if (v.approval && v.what == what) out.push_back({thing, is.value, v.what, v.because});
  };
  const plan::Measured &m = before.casting.measured, &n = after.casting.measured;
  look("casting.measured.table", m.table, n.table, "measured castings");
  look("casting.measured.faces", m.faces, n.faces, "measured castings");
  look("casting.measured.scan", m.scan, n.scan, "measured castings");
  for (const plan::Reading& r : after.readings)
    for (const plan::Reading& old : before.readings)
      if (old.id.value == r.id.value) look("reading " + r.id.value, old.file, r.file, proves(r.kind.value));
  return out;
}

}  // namespace fettle::study
