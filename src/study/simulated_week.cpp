#include "study/simulated_week.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "base/text.h"

namespace fettle::study {

namespace {

using timing::CellJob;
using timing::CellMachine;
using timing::CellStage;
using timing::HandTask;
using timing::SimulationInputs;
using timing::TaskPer;
using timing::TaskTime;

constexpr double hour = 3600, week = 7 * 24 * hour;
constexpr double usual_stop = 20 * 60;  // s, from memory: a stop that nobody planned

struct Builder {
  const plan::Plan& plan;
  double edge_time;
  double scatter;  ///< cv of what is done by hand
  SimulationInputs in;

  TaskTime by_hand(double s) const { return {s, scatter, timing::TimeScatter::lognormal}; }
  static TaskTime fixed(double s) { return {s, 0, timing::TimeScatter::lognormal}; }

  CellMachine& machine(const std::string& id) {
    const std::string name = "machine " + id;
    for (CellMachine& m : in.machines)
      if (m.name == name) return m;
    CellMachine m;
    m.name = name;
    const plan::Machine* known = find_machine(plan, id);
    if (known != nullptr && known->change_over.known()) m.change_over = fixed(known->change_over.si);
    const plan::Number& there = plan.demand.available;
    if (there.known() && there.si > 0 && there.si < 1) {
      m.stop_every = usual_stop * there.si / (1 - there.si);
      m.stop = {usual_stop, 0.5, timing::TimeScatter::lognormal};
      m.stop_needs_person = false;
    }
    in.machines.push_back(m);
    return in.machines.back();
  }
  int bench(const std::string& id) {
    const std::string name = "bench " + id;
    for (std::size_t b = 0; b < in.benches.size(); ++b)
      if (in.benches[b].name == name) return static_cast<int>(b);
    in.benches.push_back({name, 1});
    return static_cast<int>(in.benches.size()) - 1;
  }

  void add_stage(const std::string& name) {
    CellStage s;
    s.name = name;
    in.stages.push_back(s);
  }
  void hand_stage(const std::string& name, double per_part) {
    add_stage(name);
    in.stages.back().task = {name, by_hand(per_part), TaskPer::part, 60};
  }

  void cut_stage(const plan::Operation& o, const OperationTime& t, bool turned_over) {
    if (turned_over) {  // the same parts in the same vise: more cutting for the load before
      in.stages.back().name += " " + t.id;
      machine(t.machine).jobs.back().run.mean += t.set.total;
      return;
    }
    add_stage(t.id);
    CellJob j;
    j.stage = static_cast<int>(in.stages.size()) - 1;
    j.per_pallet = t.parts;
    j.batch = static_cast<int>(t.lot);
    const plan::People& h = plan.shop.people;
    const double load = o.load_time.known() ? o.load_time.si : h.load_time.si;
    if (t.pallet) {
      j.pallets = std::max(1, plan.pallet.on_table.value);
      if (t.parts % j.pallets != 0) j.pallets = 1;
      j.per_pallet = t.parts / j.pallets;
      j.sets = t.sets;
      j.swap = fixed(t.swap);
      if (t.swap_by_hand > 0) {
        j.swap_by_person = true;
        j.swap = fixed(std::min(t.swap, t.swap_by_hand));
        j.swap_rest = std::max(0.0, t.swap - t.swap_by_hand);
      }
      j.probe = fixed(t.probe);
      j.take_off = {{"unload", by_hand(h.unload_time.si), TaskPer::part, 30}};
      j.put_on = {{"clean", by_hand(h.clean_time.si), TaskPer::part, 30}, {"load", by_hand(load), TaskPer::part, 30}};
    } else if (t.load > 0) {
      j.put_on = {{"load", by_hand(load), TaskPer::part, 25}};  // its spindle stands meanwhile
    }
    j.run = fixed(t.set.total - t.probe);
    if (edge_time > 0)
      for (const CutRow& r : t.cuts)
        if (r.edge && r.counted) j.edges.push_back({r.tool, r.edge->whole_parts, by_hand(edge_time)});
    machine(t.machine).jobs.push_back(std::move(j));
  }

  void bench_stage(const plan::Operation& o, const OperationTime& t, double hone_share) {
    hand_stage(t.id, t.cutting);
    CellStage& s = in.stages.back();
    if (t.kind == "hone") s.share = hone_share;
    if (!t.machine.empty()) s.bench = bench(t.machine);
    s.lot = t.parts;
    if (o.wait.known()) s.soak = o.wait.si;
  }

  void losses_after(const std::string& operation) {
    double good = 1;
    for (const plan::Loss& l : plan.losses)
      if (l.operation.value == operation) good *= 1 - l.share.si;
    in.stages.back().loss = 1 - (1 - in.stages.back().loss) * good;
  }

  /// Two batches or sets stand before a machine at most: nobody makes parts that nobody can take.
  void hold_parts() {
    for (std::size_t s = 0; s + 1 < in.stages.size(); ++s) {
      int need = 2 * in.stages[s + 1].lot;
      for (const CellMachine& m : in.machines)
        for (const CellJob& j : m.jobs)
          if (j.stage == static_cast<int>(s) + 1 || j.stage == static_cast<int>(s))
            need = std::max(need, 2 * std::max(j.batch, j.pallets * j.per_pallet));
      in.stages[s].hold = need;
    }
  }

  void people(int count, double hours) {
    const int days = hours / 5 <= 22 * hour ? 5 : 7;
    for (int p = 0; p < count; ++p) {
      timing::CellPerson person;
      person.name = count == 1 ? std::string("person") : fmt::format("person {}", p + 1);
      if (hours / days <= 22 * hour) person.present = timing::one_shift(hours, days, 0.5 * hour, 0.5 * hour);
      in.people.push_back(std::move(person));
    }
  }
};

bool turned_over(const PlanTimes& times, std::size_t i) {
  const OperationTime& t = times.operations[i];
  return i > 0 && !t.machine.empty() && !t.pallet && t.set_up == times.operations[i - 1].set_up &&
         t.machine == times.operations[i - 1].machine;
}

std::vector<std::string> missing_for_week(const plan::Plan& plan, const PlanTimes& times) {
  std::vector<std::string> out;
  for (const OperationTime& t : times.operations)
    if (!t.bought) out.insert(out.end(), t.missing.begin(), t.missing.end());
  if (!plan.demand.operators.known() && !plan.shop.people.operators.known())
    out.emplace_back("demand.operators: how many people");
  if (!plan.demand.shift.known() && !plan.shop.people.hours.known()) out.emplace_back("demand.shift: hours a week");
  return out;
}

}  // namespace

std::optional<SimulationInputs> cell_of_plan(const plan::Plan& plan, const PlanTimes& times, double hone_share,
                                             double edge_time, std::vector<std::string>* why) {
  const std::vector<std::string> missing = missing_for_week(plan, times);
  if (why != nullptr) *why = missing;
  if (!missing.empty()) return {};
  const plan::Number& cv = plan.shop.people.time_scatter;
  Builder b{plan, edge_time, cv.known() ? cv.si : 0, {}};
  for (std::size_t i = 0; i < times.operations.size(); ++i) {
    const OperationTime& t = times.operations[i];
    if (t.bought) continue;
    const bool machined = t.set.total > 0;
    if (machined) b.cut_stage(plan.operations[i], t, turned_over(times, i));
    else b.bench_stage(plan.operations[i], t, hone_share);
    if (t.gauging_per_part > 0) b.hand_stage("gauge after " + t.id, t.gauging_per_part);
    b.losses_after(t.id);
  }
  if (b.in.stages.empty()) return {};
  b.hold_parts();
  const plan::Integer& n = plan.demand.operators.known() ? plan.demand.operators : plan.shop.people.operators;
  const plan::Number& hours = plan.demand.shift.known() ? plan.demand.shift : plan.shop.people.hours;
  b.people(n.value, hours.si);
  SimulationInputs in = std::move(b.in);
  in.warm_up = 2 * week;
  in.horizon = 4 * week;
  in.replications = 6;
  in.seed = plan.header.seed.known() ? static_cast<unsigned long long>(std::max(0, plan.header.seed.value)) : 1;
  if (plan.demand.weeks.known()) in.weeks_per_year = plan.demand.weeks.value;
  return in;
}

std::string words_of(const timing::WaitCause& w) {
  using timing::SpindleState;
  switch (w.state) {
    case SpindleState::waits_parts:
      return fmt::format("{}: no parts from {}", w.machine, w.because);
    case SpindleState::waits_room:
      return fmt::format("{}: too many parts before {}", w.machine, w.because);
    case SpindleState::waits_person:
      return fmt::format("{}: {} waits while {}", w.machine, w.waits_for,
                         w.because.empty() ? "people are busy" : "somebody does: " + w.because);
    case SpindleState::handled:
      return fmt::format("{}: stands for {}", w.machine, w.waits_for);
    case SpindleState::stopped:
      return fmt::format("{}: unplanned stops", w.machine);
    default:
      return fmt::format("{}: {}", w.machine, w.waits_for);
  }
}

namespace {

std::string percent(double share) { return base::fixed(100 * share, 0) + " %"; }

std::string largest_causes(const timing::SimulationResult& r, std::size_t most) {
  std::vector<std::string> out;
  for (const timing::WaitCause& w : r.waits) {
    if (out.size() == most || !(w.share_attended.mean > 0.01)) break;
    out.push_back(fmt::format("{} {}", words_of(w), percent(w.share_attended.mean)));
  }
  return base::join(out, "; ");
}

}  // namespace

void add_simulated_week(Context& c, finding::Finding& f, const PlanTimes& times, double hone_share, double edge_time) {
  const std::optional<SimulationInputs> in = cell_of_plan(c.plan, times, hone_share, edge_time);
  if (!in) return;
  const auto result = c.memo.call(
      "simulated week", [](const SimulationInputs& x) { return timing::simulate(x); }, *in);
  if (!result->ok()) return;
  const timing::SimulationResult& r = **result;
  const auto add = [&](std::string name, double si, unit::Kind kind, std::string text = {}) {
    f.inputs.push_back({std::move(name), si, kind, std::move(text)});
  };
  const timing::CellEstimate& good = r.good_per_week;
  f.low = good.low;
  f.high = good.high;
  f.confidence = fmt::format("95 %, {} weeks {} times", base::fixed(in->horizon / week, 0), in->replications);
  add("good parts a week, simulated", good.mean, unit::Kind::number,
      fmt::format("{} ({} to {}), everybody waiting for everybody, {} weeks {} times", base::fixed(good.mean, 0),
                  base::fixed(good.low, 0), base::fixed(good.high, 0), base::fixed(in->horizon / week, 0),
                  in->replications));
  add("taken for it", 0, unit::Kind::number,
      "unplanned stops of 20 min and half an hour of break a shift (from memory), five days; two batches or sets wait "
      "between steps at most");
  const std::string causes = largest_causes(r, 3);
  if (!causes.empty()) add("spindles wait most for", 0, unit::Kind::number, causes);
  for (const timing::CellMachineResult& m : r.machines)
    add(m.name + " cuts, of the hours people are there", m.use_attended.mean, unit::Kind::fraction,
        percent(m.use_attended.mean));
  double use = 0;
  for (const timing::CellPersonResult& p : r.people) use += p.use.mean / static_cast<double>(r.people.size());
  add("people work, of the hours they are there", use, unit::Kind::fraction, percent(use));
  add("parts in process", r.in_process.mean, unit::Kind::number, base::fixed(r.in_process.mean, 0));
  add("a part is on its way, nights and weekends too", r.through.mean, unit::Kind::time,
      base::fixed(r.through.mean / hour, 0) + " h");
  const timing::CellMachineResult* longest = nullptr;
  for (const timing::CellMachineResult& m : r.machines)
    if (longest == nullptr || m.longest_alone > longest->longest_alone) longest = &m;
  if (longest != nullptr && longest->longest_alone > 0)
    add("longest run with no hand at it", longest->longest_alone, unit::Kind::time,
        fmt::format("{}: {}, {} parts", longest->name, base::fixed(longest->longest_alone / hour, 1) + " h",
                    longest->parts_in_longest));
}

}  // namespace fettle::study
