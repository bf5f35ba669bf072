// What the spindle waits for, whether the hours are there, what a good part costs.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <map>
#include <optional>
#include <utility>

#include "base/text.h"
#include "calc/timing/cost.h"
#include "calc/timing/cycle.h"
#include "calc/timing/learning.h"
#include "maths/statistics.h"
#include "study/cost.h"
#include "study/internal.h"
#include "study/plan_times.h"
#include "study/program_times.h"
#include "study/simulated_week.h"
#include "study/timing.h"

namespace fettle::study {

using finding::Finding;
using unit::Kind;

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double shifts = 5;  ///< a week

struct Week {
  std::vector<timing::MachineHours> machines;
  double people = 0, people_changing = 0, people_there = 0, there = 0;
};
struct Knob {
  plan::Number* number;
  std::string name, key;
};
/// What follows from one setting of the numbers.
struct Setting {
  PlanTimes times;
  Week week;
  PlanCost cost;
};

/// A copy of the plan whose numbers can be moved, and the share honed, which no plan says.
struct Model {
  plan::Plan plan;
  plan::Number hone_share;
  double inside = 1;                   ///< share of the parts inside every requirement, where the ledger has drawn it
  bool drawn = false;                  ///< it has
  std::vector<ProgramTiming> timings;  ///< of the programs that the plan names
  std::vector<OperationProgram> programs;    ///< what is counted of them and of the caller's times
  std::vector<plan::Number> program_factor;  ///< real over computed time, one for each of `programs`
  std::vector<Knob> knobs;
  mutable std::map<std::vector<double>, Setting> kept;  ///< by the knobs' numbers: several questions move the same ones
  Model(const Model&) = delete;
  explicit Model(const Context& c) : plan(c.plan) {
    hone_share.origin = plan::Origin::assumed;
    hone_share.kind = Kind::fraction;
    hone_share.si = usual_hone_share;
    hone_share.low = 0;
    hone_share.high = 1;
    hone_share.source = "common practice: the small ones; anything from none to all";
    hone_share.replaced_by = "count the parts honed in a week";
    for (const Finding& f : c.study.findings)
      if (f.question == "rolled_yield" && f.value >= 0 && f.value < 1) inside = 1 - f.value, drawn = true;
    // The science of bores may have said it already, from the aim and the last readings.
    bool read = false;
    for (const Finding& f : c.study.findings)
      for (const finding::Input& i : f.inputs)
        if (i.name == "share to hone now" && i.si >= 0 && i.si <= 1) {
          know_share(i.si);
          read = true;
        }
    // Else the ledger: what it draws below the lower limit is honed, where the plan says what the boring aims at.
    if (const auto drawn_small = read ? std::nullopt : too_small(c)) know_share(*drawn_small);
    timings = time_programs(plan, c.data);
    programs = operation_programs(timings, c.options);
    for (const OperationProgram& p : programs) program_factor.push_back(factor_of(p));
  }
  /// Motion against a stopwatch: what the machine's own bands do, and that controls filter and look ahead less than
  /// this.
  plan::Number factor_of(const OperationProgram& p) const {
    plan::Number n;
    n.origin = plan::Origin::assumed;
    n.kind = Kind::number;
    n.si = n.low = n.high = 1;
    for (const ProgramTiming& t : timings)
      if (p.whole && t.operation == p.operation) {
        n.low = 0.97 * t.low;
        n.high = 1.10 * t.high;
      }
    n.source = "the bands of the machine's numbers, and from memory 3 % quicker to 10 % slower by the stopwatch";
    n.replaced_by = "time the program once, and fit the machine's numbers to the timed test program";
    return n;
  }
  std::vector<OperationProgram> counted() const {
    std::vector<OperationProgram> out = programs;
    for (std::size_t i = 0; i < out.size(); ++i) out[i].factor = program_factor[i].si;
    return out;
  }
  void know_share(double share) {
    hone_share.si = share;
    hone_share.low = 0.5 * share;
    hone_share.high = std::min(1.0, 2 * share + 0.05);
    hone_share.source = "from the aim and scatter of the bore; half to twice of it, from memory";
  }
  /// Share of the parts with a bore below the lower limit that a hone keeps, over all such bores whose cut has an aim.
  static std::optional<double> too_small(const Context& c) {
    double none = 1;
    bool any = false;
    for (const plan::Requirement& r : c.plan.requirements) {
      if (r.kind.value != "size" || !r.limits.value.lower || !aimed(c.plan, r.feature.value)) continue;
      for (const RequirementRow& row : c.study.requirements)
        if (row.id == r.id.value && !row.lower && row.upper && row.s > 0) {
          none *= 1 - maths::normal_cdf((*r.limits.value.lower - row.mean) / row.s);
          any = true;
        }
    }
    return any ? std::optional(1 - none) : std::nullopt;
  }
  static bool aimed(const plan::Plan& plan, const std::string& feature) {
    for (const plan::Operation& o : plan.operations)
      for (const plan::Cut& cut : o.cuts) {
        const auto& names = cut.features.value;
        if (cut.aim.known() && std::find(names.begin(), names.end(), feature) != names.end()) return true;
      }
    return false;
  }
  const Setting& now() const;
  double edge_time() const { return plan.shop.people.edge_time.known() ? plan.shop.people.edge_time.si : 0; }
  double good_share() const { return inside * share_without_losses(plan); }
};

/// Every number that times or money stand on.
std::vector<Knob> knobs_of(Model& m) {
  std::vector<Knob> out;
  plan::Plan& p = m.plan;
  plan::People& h = p.shop.people;
  const auto add = [&](plan::Number& n, std::string name, std::string key) {
    if (n.known() && n.banded()) out.push_back({&n, std::move(name), std::move(key)});
  };
  add(h.edge_time, "changing one edge", "people.edge_time");
  add(h.load_time, "loading a part", "people.load_time");
  add(h.unload_time, "unloading a part", "people.unload_time");
  add(h.clean_time, "cleaning a nest", "people.clean_time");
  add(h.deburr_time, "deburring", "people.deburr_time");
  add(h.pack_time, "packing", "people.pack_time");
  add(h.gauge_time, "gauging", "people.gauge_time");
  add(h.hone_time, "honing", "people.hone_time");
  add(h.rate, "what an hour of a person costs", "people.rate");
  add(p.pallet.swap_time, "swap", "pallet.swap_time");
  add(p.pallet.probe_time, "probing", "pallet.probe_time");
  add(p.pallet.move_time, "moving pallets by hand", "pallet.move_time");
  add(p.pallet.nest_move, "from nest to nest", "pallet.nest_move");
  add(p.demand.available, "share of the week that is there", "demand.available");
  add(p.demand.shift, "hours a week", "demand.shift");
  add(p.demand.per_week, "good parts a week", "demand.per_week");
  add(h.hours, "hours a week", "people.hours");
  for (plan::Loss& l : p.losses) add(l.share, "parts lost: " + l.id.value, "loss.share");
  for (plan::Machine& x : p.shop.machines) {
    add(x.tool_change, "tool change of " + x.id.value, "machine.tool_change");
    add(x.change_over, "change-over of " + x.id.value, "machine.change_over");
    add(x.rapid, "rapid of " + x.id.value, "machine.rapid");
    add(x.acceleration, "acceleration of " + x.id.value, "machine.acceleration");
  }
  for (std::vector<plan::Tool>* tools : {&p.tools, &p.shop.tools})
    for (plan::Tool& t : *tools) add(t.life, "life of an edge of " + t.id.value, "tool.life");
  for (plan::Gauge& g : p.shop.gauges) add(g.time, "gauging with " + g.id.value, "gauge.time");
  for (plan::Operation& o : p.operations) {
    add(o.load_time, "loading in " + o.id.value, "operation.load_time");
    add(o.time, "time of " + o.id.value, "operation.time");
    for (plan::Cut& c : o.cuts) {
      add(c.time, "time of " + c.tool.value + " in " + o.id.value, "operation.cut.time");
      add(c.length, "path of " + c.tool.value + " in " + o.id.value, "operation.cut.length");
      add(c.feed, "feed of " + c.tool.value + " in " + o.id.value, "operation.cut.feed");
    }
  }
  for (std::size_t i = 0; i < m.programs.size(); ++i)
    add(m.program_factor[i], "stopwatch over computed time of the program of " + m.programs[i].operation,
        "operation.program");
  for (const plan::Operation& o : p.operations)
    if (o.kind.value == "hone") {
      out.push_back({&m.hone_share, "share of the parts that are honed", "reading"});
      break;
    }
  return out;
}

Week week_of(const Model& m, const PlanTimes& times) {
  Week w;
  const timing::PlanLoad load = plan_load(m.plan, times, m.good_share(), m.edge_time());
  const auto hours = timing::machine_load({load}, machines_there(m.plan));
  if (!hours.ok()) return w;
  w.machines = *hours;
  const timing::PeopleHours p = timing::people_load({load}, w.machines);
  w.people = p.by_hand + p.changing;
  w.people_changing = p.changing;
  w.there = week_there(m.plan).value_or(nan);
  const plan::Integer& n = m.plan.demand.operators.known() ? m.plan.demand.operators : m.plan.shop.people.operators;
  w.people_there = n.known() ? w.there * n.value : nan;
  return w;
}
const Setting& Model::now() const {
  std::vector<double> key;
  for (const Knob& k : knobs) key.push_back(k.number->si);
  const auto it = kept.find(key);
  if (it != kept.end()) return it->second;
  Setting s;
  TimesOptions o;
  o.hone_share = hone_share.si;
  o.programs = counted();
  s.times = plan_times(plan, o);
  s.week = week_of(*this, s.times);
  s.cost = plan_cost(plan, s.times, good_share(), hone_share.si, edge_time());
  return kept.emplace(std::move(key), std::move(s)).first->second;
}

/// Settles a finding whose value the model gives; only what moves the value becomes an assumption of it.
void settle_model(Context& c, Finding f, Model& m, const std::function<double(const Model&)>& value) {
  const double stated = value(m);
  std::vector<Knob> kept;
  for (const Knob& k : m.knobs) {
    const double at = k.number->si;
    bool moves = false;
    for (double end : {k.number->low, k.number->high}) {
      k.number->si = end;
      const double x = value(m);
      moves = moves || !(std::fabs(x - stated) <= 1e-9 * std::max(1.0, std::fabs(stated)));
    }
    k.number->si = at;
    if (moves && assume(f, *k.number, k.name, k.key) >= 0) kept.push_back(k);
  }
  settle(c, std::move(f), [&](const std::vector<double>& v) {
    std::vector<double> before;
    for (std::size_t i = 0; i < kept.size(); ++i) {
      before.push_back(kept[i].number->si);
      kept[i].number->si = v[i];
    }
    const double x = value(m);
    for (std::size_t i = 0; i < kept.size(); ++i) kept[i].number->si = before[i];
    return x;
  });
}

std::string time_words(double s) { return unit::print(s, Kind::time); }
std::string hours_words(double s) { return base::fixed(s / 3600, 1) + " h"; }
std::string share_of(double x) { return unit::print(x, Kind::fraction); }
std::string minutes(double s) { return base::fixed(s / 60, 2) + " min"; }

/// What a plan says of its stopwatch times: mean and scatter of loading one part.
std::optional<LoadTimes> stopwatch(const Context& c) {
  for (const plan::Reading& r : c.plan.readings) {
    if (r.kind.value != "load times") continue;
    const auto it = c.data.files.find(r.file.value);
    if (it == c.data.files.end()) continue;
    return read_load_times(it->second, r.unit.value);
  }
  return {};
}

timing::CycleInputs cycle_inputs(const OperationTime& t, double scatter) {
  timing::CycleInputs in;
  in.parts = t.parts;
  in.sets = t.sets;
  in.machine = t.set.total;
  in.cutting = t.set.cutting;
  in.load = t.load;
  in.load_scatter = t.load * scatter / std::sqrt(static_cast<double>(t.parts));
  in.swap = t.swap;
  in.swap_by_hand = t.swap_by_hand;
  return in;
}

/// Cuts whose stated time lies more than a quarter off path over feed, with or without the rapid moves: said, never
/// judged.
std::vector<std::string> disagreements(const OperationTime& t) {
  std::vector<std::string> out;
  for (const CutRow& r : t.cuts)
    if (r.time.stated && r.time.by_path &&
        !(*r.time.stated >= 0.75 * r.time.feeding && *r.time.stated <= 1.25 * *r.time.by_path))
      out.push_back(
          fmt::format("{} {} stated, {} by path and feed", r.tool, minutes(*r.time.stated), minutes(*r.time.by_path)));
  return out;
}

// ---- one pallet operation: who waits for whom
// ------------------------------------------------------------------------
void cycle_inputs_of_finding(Context& c, Finding& f, const OperationTime& t, const timing::CycleResult& r,
                             const std::optional<LoadTimes>& watch, double scatter) {
  const auto add = [&](const char* name, double si, Kind kind, std::string text = {}) {
    f.inputs.push_back({name, si, kind, std::move(text)});
  };
  add("parts on a set", t.parts, Kind::number);
  add("machine time of a set", t.set.total, Kind::time);
  add("of it cutting", t.set.cutting, Kind::time);
  if (!t.program.empty()) add("times from", 0, Kind::number, t.program);
  add("of it tool changes", t.set.changing, Kind::time,
      !t.program.empty()
          ? time_words(t.set.changing) + ", spindle starts with them"
          : fmt::format("{}: {} changes tool by tool, {} part by part, {} at the least", time_words(t.set.changing),
                        t.order.tool_by_tool, t.order.part_by_part, t.order.least));
  add("of it from nest to nest", t.set.moving, Kind::time,
      t.move_worked_out ? time_words(t.set.moving) + ", from the machine's rapid and acceleration" : std::string());
  add("of it probing", t.set.probing, Kind::time);
  add("by hand, one set", t.load, Kind::time);
  add("swap", t.swap, Kind::time);
  add("cycle", r.cycle_scattered, Kind::time);
  add("spindle idle", r.idle_share, Kind::fraction);
  add("cutting, of the cycle", r.cutting_share, Kind::fraction);
  add("person at this machine, of the cycle", r.person_use, Kind::fraction);
  add("parts an hour while all goes well", r.parts_per_hour, Kind::number);
  if (t.sets > 1) add("runs on with nobody there", t.set.total, Kind::time);
  const plan::Machine* machine = find_machine(c.plan, t.machine);
  const double sets_cost = (t.sets - 1) * c.plan.pallet.on_table.value * c.plan.pallet.cost.si;
  if (t.sets > 1 && sets_cost > 0 && machine != nullptr && machine->rate.known()) {
    // One set would be loaded with the machine standing.
    const double saved = (t.set.total + t.load + t.swap - r.cycle) / t.parts / 3600 * machine->rate.si;
    const auto parts = timing::payback_parts({sets_cost, 0, 0, 1, 0, 0, saved, 0});
    if (parts.ok())
      add("the other set has paid for itself after", *parts, Kind::number,
          fmt::format("{} parts", base::fixed(std::ceil(*parts), 0)));
  }
  if (watch)
    add("loading by the stopwatch", watch->mean, Kind::time,
        fmt::format("{} a part, s {}, {} readings; the plan says {}", time_words(watch->mean), time_words(watch->s),
                    watch->n, time_words(c.plan.shop.people.load_time.si)));
  add("scatter of the hand's times", scatter, Kind::fraction);
  add("spindle waits a cycle because hands scatter", r.spindle_waits < 0.5e-3 ? 0 : r.spindle_waits, Kind::time);
  const auto off = disagreements(t);
  if (!off.empty()) add("times that do not agree", 0, Kind::number, base::join(off, "; "));
}

void cycle_finding(Context& c, Model& m, const plan::Operation& o, const OperationTime& t) {
  Finding f = start(o.id.value, "", "hands_keep_up", "hands keep up with the spindle", Kind::fraction);
  f.limit = finding::upper(1);
  f.formula = "work by hand on one set / machine time of the other set; cycle = max(machine, hands) + swap";
  f.source = "two sets in turn, closed form; checked against the simulation";
  if (!t.missing.empty()) {
    leave_open(c, std::move(f), t.missing);
    return;
  }
  if (t.sets < 2) return;  // loaded on the machine: its hours say what that costs
  const std::optional<LoadTimes> watch = stopwatch(c);
  const plan::Number& cv = c.plan.shop.people.time_scatter;
  const double scatter = watch && watch->mean > 0 ? watch->s / watch->mean : cv.known() ? cv.si : 0;
  const Outcome<timing::CycleResult> r = timing::cycle(cycle_inputs(t, scatter));
  if (!r.ok()) {
    leave_open(c, std::move(f), {"operation.cut.time of " + t.id + ": " + say(r.problem())});
    return;
  }
  cycle_inputs_of_finding(c, f, t, *r, watch, scatter);
  const double balance = (t.load - (t.set.total - t.set.cutting)) / t.parts;
  if (t.load <= t.set.total && balance > 0)
    f.levers.push_back(
        {"cutting time a part", "operation.cut.time", t.cutting, balance, Kind::time,
         fmt::format("cutting time a part {} → {} before the spindle waits", minutes(t.cutting), minutes(balance))});
  if (t.load > t.set.total)
    f.levers.push_back({"work by hand a part", "people.load_time", t.load / t.parts, t.set.total / t.parts, Kind::time,
                        fmt::format("work by hand a part {} → {} and the spindle no longer waits",
                                    minutes(t.load / t.parts), minutes(t.set.total / t.parts))});
  f.sentence = fmt::format(
      "{} by hand for a set of {} while the other is cut for {}: {}. The spindle stands {} of a cycle of {}; {} parts "
      "an "
      "hour while all goes well.",
      minutes(t.load), t.parts, minutes(t.set.total), word(r->waits), share_of(r->idle_share),
      minutes(r->cycle_scattered), base::fixed(r->parts_per_hour, 1));
  if (watch && c.plan.shop.people.load_time.si > 0) {
    const double said = c.plan.shop.people.load_time.si;
    // Beyond three standard errors and a tenth: the plan's time is wrong, not unlucky.
    if (std::fabs(watch->mean - said) > std::max(3 * watch->s / std::sqrt(static_cast<double>(watch->n)), 0.1 * said))
      f.sentence += fmt::format(" This counts the plan's {} to load a part; the stopwatch says {}.", minutes(said),
                                minutes(watch->mean));
  }
  const std::string id = t.id;
  settle_model(c, std::move(f), m, [&id](const Model& x) {
    const PlanTimes& times = x.now().times;
    const OperationTime* now = times.find(id);
    return now != nullptr && now->set.total > 0 ? now->load / now->set.total : nan;
  });
}

/// The edge that is gone first, against one set of parts.
void edges_finding(Context& c, Model& m, const plan::Operation& o, const OperationTime& t) {
  Finding f = start(o.id.value, "", "edges_last", "an edge lasts through a set", Kind::number);
  f.limit = finding::lower(1);
  f.formula = "whole parts of the edge that goes first / parts in one set";
  f.source = "whole parts: floor(life/cutting time); common practice: change between sets";
  std::vector<std::string> missing = t.edges_missing;
  for (const CutRow& r : t.cuts)
    if (!r.edge && !r.time.used) missing.insert(missing.end(), t.missing.begin(), t.missing.end());
  if (!missing.empty()) {
    std::sort(missing.begin(), missing.end());
    missing.erase(std::unique(missing.begin(), missing.end()), missing.end());
    leave_open(c, std::move(f), missing);
    return;
  }
  const CutRow* first = nullptr;
  for (const CutRow& r : t.cuts)
    if (r.edge && (first == nullptr || r.edge->whole_parts < first->edge->whole_parts)) first = &r;
  if (first == nullptr) return;
  const double per_week = c.plan.demand.per_week.known() ? c.plan.demand.per_week.si / m.good_share() : 0;
  f.inputs.push_back({"edge that goes first", 0, Kind::number, fmt::format("{} {}", first->tool, first->name)});
  f.inputs.push_back({"its whole parts", static_cast<double>(first->edge->whole_parts), Kind::number, {}});
  f.inputs.push_back({"parts in a set", static_cast<double>(t.parts), Kind::number, {}});
  f.inputs.push_back({"edge changes per part", t.edge_changes_per_part, Kind::number, {}});
  if (per_week > 0) {
    const double changes = t.edge_changes_per_part * per_week;
    f.inputs.push_back({"edge changes a week", changes, Kind::number, {}});
    f.inputs.push_back(
        {"machine stands and a person is tied for them, a week", changes * m.edge_time(), Kind::time, {}});
  }
  for (const CutRow& r : t.cuts)
    if (r.edge)
      f.inputs.push_back(
          {"edge of " + r.tool, 0, Kind::number,
           fmt::format("{} whole parts{}, changed after {}{}", r.edge->whole_parts,
                       r.edge->by_life && *r.edge->by_life != r.edge->whole_parts
                           ? fmt::format(" as stated, {} by life", *r.edge->by_life)
                           : std::string(),
                       r.edge->between_changes,
                       r.edge->cost_per_part
                           ? fmt::format(", {} {} a part", base::fixed(*r.edge->cost_per_part, 2), currency_of(c.plan))
                           : std::string())});
  const timing::EdgeResult& e = *first->edge;
  f.sentence =
      e.in_mid_set
          ? fmt::format("{} {} lasts {} parts, less than a set of {}: it must be changed in the middle of a set.",
                        first->tool, first->name, e.whole_parts, t.parts)
          : fmt::format("The edge that goes first is {} {}: {} whole parts, so it is changed after {} ({} sets).",
                        first->tool, first->name, e.whole_parts, e.between_changes, e.between_changes / t.parts);
  const std::string id = t.id;
  settle_model(c, std::move(f), m, [&id](const Model& x) {
    const PlanTimes& times = x.now().times;
    const OperationTime* now = times.find(id);
    double least = nan;
    if (now != nullptr)
      for (const CutRow& r : now->cuts)
        if (r.edge && !(least <= r.edge->whole_parts)) least = r.edge->whole_parts;
    return now != nullptr ? least / now->parts : nan;
  });
}

// ---- programs ----------------------------------------------------------------------------------------------------
/// What the plan says that the tools of a program take, and what the program takes for the same, s per part.
struct Against {
  double said = 0, by_program = 0;
};
double typed_of(const plan::Operation& o, int tool) {
  double s = 0;
  for (const plan::Cut& k : o.cuts)
    if (tool_number(k.tool.value) == tool && k.time.known()) s += k.time.si;
  return s;
}
/// In the feed, in rapid, dwelling and probing: what the plan's time of a cut stands for.
double working(const motion::Times& t) { return t.cutting + t.rapid + t.dwell + t.probing; }
Against against(const plan::Operation& o, const ProgramTiming& t) {
  Against a;
  for (const motion::Row& r : t.tools)
    if (const double said = typed_of(o, r.tool); said > 0) {
      a.said += said;
      a.by_program += working(r.times) / t.parts;
    }
  return a;
}

void program_inputs(Finding& f, const plan::Operation& o, const ProgramTiming& t) {
  const motion::Times& sum = t.motion.sum;
  const auto add = [&](std::string name, double si, Kind kind, std::string text = {}) {
    f.inputs.push_back({std::move(name), si, kind, std::move(text)});
  };
  add("parts of one run", t.parts, Kind::number, t.parts_said ? "as the plan says" : "zeros with cuts");
  add("one run", sum.total(), Kind::time);
  add("of it in the feed", sum.cutting, Kind::time);
  add("of it in rapid", sum.rapid, Kind::time);
  add("of it tool changes", sum.change, Kind::time,
      fmt::format("{} changes, {}", t.motion.changes, time_words(sum.change)));
  add("of it starting and stopping the spindle", sum.spindle, Kind::time);
  for (const motion::Row& r : t.tools) {
    if (!(working(r.times) > 0)) continue;
    const double a_part = working(r.times) / t.parts, said = typed_of(o, r.tool);
    add(r.tool > 0 ? fmt::format("T{}", r.tool) : std::string("before the first tool"), a_part, Kind::time,
        fmt::format("{} a part{}; {} at the feed, {} lost to speeding up and corners, {} in rapid", time_words(a_part),
                    said > 0 ? fmt::format(", the plan says {}", time_words(said)) : std::string(),
                    time_words(r.times.by_feed / t.parts), time_words((r.times.cutting - r.times.by_feed) / t.parts),
                    time_words(r.times.rapid / t.parts)));
  }
  if (t.motion.stops > 0) add("stops for the operator, not in the time", t.motion.stops, Kind::number);
  if (!t.not_here.empty())
    add("tools that the plan's operation has no cut for", 0, Kind::number, base::join(t.not_here, ", "));
  if (!t.not_there.empty())
    add("tools of the plan that it never loads", 0, Kind::number,
        base::join(t.not_there, ", ") + ": the plan's own time stands for them");
}

/// The tools whose motion costs most beside the feed itself, and what shorter ways and smoother corners would bring.
void program_levers(Finding& f, const ProgramTiming& t) {
  std::vector<const motion::Row*> rows;
  const auto beside = [](const motion::Row& r) { return r.times.cutting - r.times.by_feed + r.times.rapid; };
  for (const motion::Row& r : t.tools)
    if (r.tool > 0 && beside(r) > 0.1 * t.parts) rows.push_back(&r);
  std::stable_sort(rows.begin(), rows.end(), [&](const auto* a, const auto* b) { return beside(*a) > beside(*b); });
  for (std::size_t i = 0; i < rows.size() && i < 3; ++i) {
    const motion::Row& r = *rows[i];
    const double now = working(r.times) / t.parts, least = now - beside(r) / t.parts;
    f.levers.push_back({fmt::format("motion of T{}", r.tool), "operation.program", now, least, Kind::time,
                        fmt::format("motion of T{}: {} a part, {} at the feed alone; {} in rapid over {}, {} in ramps "
                                    "and corners",
                                    r.tool, time_words(now), time_words(least), time_words(r.times.rapid / t.parts),
                                    unit::print(r.length_rapid / t.parts, Kind::length),
                                    time_words((r.times.cutting - r.times.by_feed) / t.parts))});
  }
}

void program_finding(Context& c, Model& m, const plan::Operation& o, const ProgramTiming& t) {
  Finding f = start(o.id.value, "", "program_time", "the program keeps the plan's times", Kind::number);
  f.limit = finding::upper(1);
  f.formula = "time of the program's tools / time that the plan says for them, where it says one";
  f.source = "double-S moves between corners, corner speed by the path tolerance; Biagiotti and Melchiorri 2008";
  if (!t.ok()) {
    leave_open(c, std::move(f), t.missing);
    return;
  }
  program_inputs(f, o, t);
  program_levers(f, t);
  const Against a = against(o, t);
  if (!(a.said > 0)) {
    f.sentence = fmt::format("{} runs {} for {} parts; the plan says no times of its own.", t.program,
                             minutes(t.motion.sum.total()), base::fixed(t.parts, 0));
    leave_open(c, std::move(f), {fmt::format("operation.cut.time of {}: a time to hold the program to", o.id.value)});
    return;
  }
  f.sentence = fmt::format(
      "{} runs {} for {} parts: {} a part in feed and rapid of the tools that the plan times, against {} there.",
      t.program, minutes(t.motion.sum.total()), base::fixed(t.parts, 0), minutes(a.by_program), minutes(a.said));
  std::size_t k = 0;
  while (k < m.programs.size() && m.programs[k].operation != o.id.value) ++k;
  const double stated = a.by_program / a.said;
  settle_model(c, std::move(f), m, [k, stated](const Model& x) {
    return k < x.program_factor.size() ? stated * x.program_factor[k].si : stated;
  });
}

// ---- the week ----------------------------------------------------------------------------------------------------
const timing::MachineHours* machine_in(const Week& w, const std::string& id) {
  for (const timing::MachineHours& h : w.machines)
    if (h.machine == id) return &h;
  return nullptr;
}

/// What the week needs of the plan whatever is asked of it.
std::vector<std::string> week_missing(const plan::Plan& p) {
  std::vector<std::string> out;
  if (!p.demand.per_week.known()) out.emplace_back("demand.per_week: good parts a week");
  if (!p.demand.shift.known() && !p.shop.people.hours.known()) out.emplace_back("demand.shift: hours a week");
  if (!p.demand.available.known()) out.emplace_back("demand.available: share of the shift a machine really has");
  return out;
}
void unique_in_order(std::vector<std::string>& v) {
  std::vector<std::string> out;
  for (std::string& s : v)
    if (std::find(out.begin(), out.end(), s) == out.end()) out.push_back(std::move(s));
  v = std::move(out);
}

constexpr const char* added_up = "added up: parts lost later are made first; each set-up once a lot";

void machine_finding(Context& c, Model& m, const PlanTimes& times, const std::string& machine) {
  Finding f = start("shop", machine, "hours", "hours a week of machine " + machine, Kind::time);
  f.formula = "castings that come there x machine time per part + edge changes + change-overs";
  f.source = added_up;
  const std::optional<double> there = week_there(c.plan);
  f.limit = finding::upper(there.value_or(0));
  f.limit.asked = 3600;
  std::vector<std::string> missing = week_missing(c.plan);
  for (const OperationTime& t : times.operations)
    if (t.machine == machine) missing.insert(missing.end(), t.missing.begin(), t.missing.end());
  const Week& w = m.now().week;
  const timing::MachineHours* h = machine_in(w, machine);
  if (h != nullptr) missing.insert(missing.end(), h->missing.begin(), h->missing.end());
  else missing.push_back("machine of the shop file with id " + machine);
  unique_in_order(missing);
  if (!missing.empty()) {
    leave_open(c, std::move(f), missing);
    return;
  }
  const std::vector<double> per_good = parts_per_good(c.plan, m.good_share());
  std::vector<std::string> off;
  for (std::size_t i = 0; i < times.operations.size(); ++i) {
    const OperationTime& t = times.operations[i];
    if (t.machine != machine) continue;
    f.inputs.push_back({"of a part in " + t.id, t.machine_per_part, Kind::time, {}});
    f.inputs.push_back({"parts a week in " + t.id, c.plan.demand.per_week.si * per_good[i], Kind::number, {}});
    for (const std::string& s : disagreements(t)) off.push_back(t.id + ": " + s);
  }
  f.inputs.push_back({"change-overs a week", h->changes, Kind::number, {}});
  f.inputs.push_back({"hours for them", h->changing, Kind::time, {}});
  f.inputs.push_back({"there a week", h->there, Kind::time, {}});
  f.inputs.push_back({"use of what is there", h->use(), Kind::fraction, {}});
  if (!off.empty()) f.inputs.push_back({"times that do not agree", 0, Kind::number, base::join(off, "; ")});
  const double possible = c.plan.demand.per_week.si / h->use();
  f.levers.push_back({"good parts a week", "demand.per_week", c.plan.demand.per_week.si, possible, Kind::number,
                      fmt::format("good parts a week {} → {} {}", base::fixed(c.plan.demand.per_week.si, 0),
                                  base::fixed(possible, 0), h->use() > 1 ? "is what fits" : "before it is full")});
  f.sentence = fmt::format("Machine {} needs {} of {} a week for {} good parts{}{}.", machine, hours_words(h->hours),
                           hours_words(h->there), base::fixed(c.plan.demand.per_week.si, 0),
                           h->changing > 0 ? fmt::format(", {} of it change-overs", hours_words(h->changing)) : "",
                           off.empty() ? "" : "; some stated times are far from path and feed");
  settle_model(c, std::move(f), m, [&machine, h_there = h->there](const Model& x) {
    const timing::MachineHours* y = machine_in(x.now().week, machine);
    // In hours as they are stated to be there: that number may have a band as well.
    return y != nullptr && y->there > 0 ? y->hours * h_there / y->there : nan;
  });
}

void people_finding(Context& c, Model& m, const PlanTimes& times) {
  Finding f = start("shop", "people", "hours", "hours a week of the people", Kind::time);
  f.formula = "time by hand of every operation x parts that come there + edge changes + change-overs";
  f.source = added_up;
  std::vector<std::string> missing = week_missing(c.plan);
  const plan::Integer& n = c.plan.demand.operators.known() ? c.plan.demand.operators : c.plan.shop.people.operators;
  if (!n.known()) missing.emplace_back("demand.operators: how many people");
  for (const OperationTime& t : times.operations)
    if (!t.bought) missing.insert(missing.end(), t.missing.begin(), t.missing.end());
  const Week& w = m.now().week;
  for (const timing::MachineHours& h : w.machines) missing.insert(missing.end(), h.missing.begin(), h.missing.end());
  unique_in_order(missing);
  f.limit = finding::upper(std::isfinite(w.people_there) ? w.people_there : 0);
  f.limit.asked = 3600;
  if (!missing.empty()) {
    leave_open(c, std::move(f), missing);
    return;
  }
  double standard = 0;
  for (const OperationTime& t : times.operations) {
    if (t.person_per_part > 0) f.inputs.push_back({"by hand a part in " + t.id, t.person_per_part, Kind::time, {}});
    if (t.gauging_per_part > 0)
      f.inputs.push_back({"gauging a part after " + t.id, t.gauging_per_part, Kind::time, {}});
    standard += t.person_per_part + t.gauging_per_part;
  }
  f.inputs.push_back({"change-overs", w.people_changing, Kind::time, {}});
  f.inputs.push_back({"there a week", w.people_there, Kind::time, {}});
  const plan::People& h = c.plan.shop.people;
  const double day = w.there / shifts;
  if (h.learning.known() && h.first_part.known() && standard > 0 && day > 0) {
    const auto days = [&](double first, double rate) {
      const auto o = timing::new_operator(first, rate, standard, day);
      return o.ok() ? o->days : std::numeric_limits<double>::infinity();
    };
    const double stated = days(h.first_part.si, h.learning.si), quick = days(h.first_part.low, h.learning.low),
                 slow = days(h.first_part.high, h.learning.high);
    // 60 working days are a quarter of a year: who is not there by then learns otherwise.
    if (stated <= 60)
      f.inputs.push_back(
          {"a new operator reaches standard time", 0, Kind::number,
           fmt::format("after {} working days at this part; {} when quick, {} when slow", base::fixed(stated, 1),
                       base::fixed(quick, 1), slow <= 60 ? base::fixed(slow, 1) : "more than 60")});
  }
  f.sentence = fmt::format("{} of {} a week by hand for {} good parts, {} of it change-overs.", hours_words(w.people),
                           hours_words(w.people_there), base::fixed(c.plan.demand.per_week.si, 0),
                           hours_words(w.people_changing));
  settle_model(c, std::move(f), m, [there = w.people_there](const Model& x) {
    const Week& now = x.now().week;
    return now.people_there > 0 ? now.people * there / now.people_there : nan;
  });
}

/// Good parts a week that each resource allows; the least of them counts.
struct Capacity {
  double good = nan;
  std::string who;
};
Capacity capacity_of(const Model& m) {
  const Week& w = m.now().week;
  Capacity best;
  const double demand = m.plan.demand.per_week.si;
  const auto take = [&](double needed, double there, const std::string& who) {
    if (!(needed > 0) || !(there > 0)) return;
    const double good = demand * there / needed;
    if (!(best.good <= good)) best = {good, who};
  };
  for (const timing::MachineHours& h : w.machines) take(h.hours, h.there, "machine " + h.machine);
  take(w.people, w.people_there, "the people");
  return best;
}

/// Cost of a good part with every assumption at its dear end, and at its cheap one: each moved alone, the effects
/// added.
std::pair<double, double> cost_band(Model& m, double stated) {
  double low = stated, high = stated;
  for (const Knob& k : m.knobs) {
    const double at = k.number->si;
    double least = stated, most = stated;
    for (double end : {k.number->low, k.number->high}) {
      k.number->si = end;
      const PlanCost& now = m.now().cost;
      if (now.there) least = std::min(least, now.per_good), most = std::max(most, now.per_good);
    }
    k.number->si = at;
    low += least - stated;
    high += most - stated;
  }
  return {low, high};
}

void money_inputs(Context& c, Finding& f, Model& m, const Capacity& capacity) {
  const PlanCost cost = m.now().cost;
  f.inputs.push_back(
      {"castings a week", std::ceil(c.plan.demand.per_week.si / m.good_share() - 1e-9), Kind::number, {}});
  const std::string& cur = cost.currency;
  const auto money = [&](double x) { return base::fixed(x, 2) + (cur.empty() ? "" : " " + cur); };
  if (cost.there) {
    f.inputs.push_back({"cost of a good part", cost.per_good, Kind::money, money(cost.per_good)});
    const auto [low, high] = cost_band(m, cost.per_good);
    f.inputs.push_back({"over what is assumed", 0, Kind::number, fmt::format("{} to {}", money(low), money(high))});
    f.inputs.push_back(
        {"of it lost parts, where they are found", cost.lost_value, Kind::money,
         fmt::format("{} ({} at the price of a casting)", money(cost.lost_value), money(cost.lost_at_casting_price))});
    if (cost.once > 0)
      f.inputs.push_back({"paid once: pallets and pattern", cost.once, Kind::money,
                          cost.once_per_part > 0
                              ? fmt::format("{}, {} a part over one year", money(cost.once), money(cost.once_per_part))
                              : money(cost.once)});
  } else {
    f.inputs.push_back({"cost of a good part", 0, Kind::money, "not known: " + cost.missing.front()});
  }
  const plan::Casting& k = c.plan.casting;
  if (k.min_lot.known())
    f.inputs.push_back({"least order of castings lasts", k.min_lot.value / (c.plan.demand.per_week.si / m.good_share()),
                        Kind::number,
                        fmt::format("{} castings, {} weeks", k.min_lot.value,
                                    base::fixed(k.min_lot.value * m.good_share() / c.plan.demand.per_week.si, 1))});
  if (k.lead_time.known() && c.plan.header.date.known()) {
    const auto there = timing::day_after(c.plan.header.date.value, k.lead_time.si / 86400);
    const auto first = timing::promise({c.plan.demand.per_week.si, k.lead_time.si, capacity.good, 0});
    const auto done = first.ok() ? timing::day_after(c.plan.header.date.value, *first / 86400) : bad("no date");
    if (there.ok() && done.ok())
      f.inputs.push_back({"if castings are ordered on the plan's date", 0, Kind::number,
                          fmt::format("castings on {}, the first {} good parts on {}", *there,
                                      base::fixed(c.plan.demand.per_week.si, 0), *done)});
  }
}

void capacity_finding(Context& c, Model& m, const std::vector<std::string>& missing) {
  Finding f = start("shop", "", "good_parts", "good parts a week", Kind::number);
  f.limit = finding::lower(c.plan.demand.per_week.known() ? c.plan.demand.per_week.si : 0, 1);
  f.formula = "the least, over machines and people, of demand x hours there / hours needed";
  f.source = added_up;
  if (!missing.empty()) {
    leave_open(c, std::move(f), missing);
    return;
  }
  const Capacity best = capacity_of(m);
  f.inputs.push_back({"what limits", 0, Kind::number, best.who});
  const plan::Number& week = c.plan.demand.shift.known() ? c.plan.demand.shift : c.plan.shop.people.hours;
  f.inputs.push_back(
      {"good parts a shift", best.good / shifts, Kind::number,
       fmt::format("{} in each of five shifts of {}; {} are asked for", base::fixed(best.good / shifts, 1),
                   hours_words(week.si / shifts), base::fixed(c.plan.demand.per_week.si / shifts, 1))});
  f.inputs.push_back({"good parts of castings", m.good_share(), Kind::fraction,
                      fmt::format("{}: the losses that the plan states{}", share_of(m.good_share()),
                                  m.drawn ? " and the parts outside a requirement" : " alone")});
  money_inputs(c, f, m, best);
  f.sentence = fmt::format("{} good parts a week fit, {} are asked for; what limits is {}.", base::fixed(best.good, 0),
                           base::fixed(c.plan.demand.per_week.si, 0), best.who);
  settle_model(c, std::move(f), m, [demand = c.plan.demand.per_week.si](const Model& x) {
    return capacity_of(x).good * demand / x.plan.demand.per_week.si;  // of what is stated to be asked for
  });
}

/// The same week with everybody waiting for everybody: only where drawing is asked for.
void simulated_finding(Context& c, Model& m) {
  if (!c.options.monte_carlo) return;
  if (!cell_of_plan(c.plan, m.now().times, m.hone_share.si, m.edge_time()))
    return;  // the closed form says what is missing
  Finding f = start("shop", "", "simulated_week", "good parts a week, simulated", Kind::number);
  f.limit = finding::lower(c.plan.demand.per_week.si, 1);
  f.formula = "discrete events: parts, machines, pallet sets, people in one shift a day, lots, edges, stops at random";
  f.source = "simulation of this plan, seeded; at fixed times it comes out at the closed forms";
  add_simulated_week(c, f, m.now().times, m.hone_share.si, m.edge_time());
  if (f.low) *f.low *= m.inside;
  if (f.high) *f.high *= m.inside;
  if (m.drawn) f.inputs.push_back({"of them inside every requirement", m.inside, Kind::fraction, {}});
  const auto good = [&c](const Model& x) {
    const auto cell = cell_of_plan(x.plan, x.now().times, x.hone_share.si, x.edge_time());
    if (!cell) return nan;
    const auto r = c.memo.call(
        "simulated week", [](const timing::SimulationInputs& in) { return timing::simulate(in); }, *cell);
    return r->ok() ? r->value().good_per_week.mean * x.inside : nan;
  };
  f.sentence = fmt::format(
      "{} good parts a week come out when everybody waits for everybody and what is loaded runs on after the shift; {} "
      "are asked for, and by added-up hours of the shift {} fit.",
      base::fixed(good(m), 0), base::fixed(c.plan.demand.per_week.si, 0), base::fixed(capacity_of(m).good, 0));
  settle_model(c, std::move(f), m, good);
}

void cost_finding(Context& c, Model& m) {
  if (!c.plan.demand.price.known()) return;
  Finding f = start("shop", "", "cost", "cost of a good part", Kind::money);
  f.limit = finding::upper(c.plan.demand.price.si);
  f.formula =
      "all money spent / good parts: castings, bought work, machines, people, edges; lost parts at what is in them";
  f.source = "added up for one casting bought";
  const PlanCost cost = m.now().cost;
  if (!cost.there) {
    leave_open(c, std::move(f), cost.missing);
    return;
  }
  f.inputs.push_back({"casting", cost.casting, Kind::money, {}});
  for (const PartValue& v : cost.parts) f.inputs.push_back({"put in by " + v.operation, v.added(), Kind::money, {}});
  f.inputs.push_back({"lost parts, where they are found", cost.lost_value, Kind::money, {}});
  f.sentence = fmt::format("A good part costs {} {}; the customer pays {}. Pallets and pattern are not in it.",
                           base::fixed(cost.per_good, 2), cost.currency, base::fixed(c.plan.demand.price.si, 2));
  settle_model(c, std::move(f), m, [](const Model& x) {
    const PlanCost& now = x.now().cost;
    return now.there ? now.per_good : nan;
  });
}

bool asks_for_time(const plan::Plan& p) {
  return std::any_of(p.operations.begin(), p.operations.end(), [](const plan::Operation& o) {
    return o.machine.known() && (o.kind.value == "pallet" || !o.cuts.empty());
  });
}

CountedWeek counted_week(const Model& m) {
  const PlanTimes& times = m.now().times;
  CountedWeek w;
  w.load = plan_load(m.plan, times, m.good_share(), m.edge_time());
  w.good_share = m.good_share();
  for (const OperationTime& t : times.operations) {
    if (!t.bought) w.missing.insert(w.missing.end(), t.missing.begin(), t.missing.end());
    if (t.kind == "hone") w.hone_share = m.hone_share.si, w.hone_source = m.hone_share.source;
  }
  return w;
}

}  // namespace

void timing_findings(Context& c) {
  Model m(c);
  m.knobs = knobs_of(m);
  c.study.counted_week = counted_week(m);
  if (!asks_for_time(c.plan)) return;
  const PlanTimes times = m.now().times;
  std::vector<std::string> machines, missing = week_missing(c.plan);
  for (std::size_t i = 0; i < times.operations.size(); ++i) {
    const OperationTime& t = times.operations[i];
    for (const ProgramTiming& p : m.timings)
      if (p.operation == t.id) program_finding(c, m, c.plan.operations[i], p);
    if (t.pallet) cycle_finding(c, m, c.plan.operations[i], t);
    if (!t.cuts.empty()) edges_finding(c, m, c.plan.operations[i], t);
    if (!t.machine.empty() && std::find(machines.begin(), machines.end(), t.machine) == machines.end())
      machines.push_back(t.machine);
    if (!t.bought) missing.insert(missing.end(), t.missing.begin(), t.missing.end());
  }
  for (const std::string& id : machines) machine_finding(c, m, times, id);
  people_finding(c, m, times);
  const plan::Integer& n = c.plan.demand.operators.known() ? c.plan.demand.operators : c.plan.shop.people.operators;
  if (!n.known()) missing.emplace_back("demand.operators: how many people");
  for (const timing::MachineHours& h : m.now().week.machines)
    missing.insert(missing.end(), h.missing.begin(), h.missing.end());
  unique_in_order(missing);
  capacity_finding(c, m, missing);
  if (missing.empty()) simulated_finding(c, m);
  cost_finding(c, m);
  timing_pictures(c, times, m.good_share(), m.hone_share.si, m.counted());
}

}  // namespace fettle::study
