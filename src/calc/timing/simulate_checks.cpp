#include "calc/timing/simulate_checks.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "calc/timing/simulate_engine.h"

namespace fettle::timing {

namespace {

constexpr double longest = 1e9, week = 7 * 24 * 3600.0;

/// Collects problems with the place in words.
struct Asker {
  Problems problems;

  void must(bool good, const std::string& what, const std::string& found, const std::string& expected) {
    if (!good) problems.push_back(bad(what, found, expected));
  }
  void number(const std::string& what, double x, double low, double high, const std::string& expected) {
    must(x >= low && x <= high, what, base::shortest(x), expected);
  }
  void count(const std::string& what, int x, int low, int high) {
    must(x >= low && x <= high, what, std::to_string(x), fmt::format("{} to {}", low, high));
  }
  void time(const std::string& what, const TaskTime& t, bool above_zero = false) {
    const bool good = t.mean >= 0 && t.mean <= longest && (!above_zero || t.mean > 0);
    must(good, what + " is no time", base::shortest(t.mean), above_zero ? "above 0 s" : "0 s or more");
    number(what + " scatters too much or is not a number", t.cv, 0, 3, "cv 0 to 3");
  }
  void tasks(const std::string& where, const std::vector<HandTask>& list) {
    for (const HandTask& t : list) {
      must(!t.name.empty(), where + ": a task without a name", "", "a name");
      time(where + ": " + t.name, t.time);
    }
  }
};

void check_job(Asker& a, const SimulationInputs& in, const std::string& machine, const CellJob& j) {
  const int stages = static_cast<int>(in.stages.size());
  a.must(j.stage >= 0 && j.stage < stages, machine + " works at a stage that is not there", std::to_string(j.stage),
         stages == 0 ? "a stage" : fmt::format("0 to {}", stages - 1));
  a.count(machine + ": pallets on the table", j.pallets, 1, 1000);
  a.count(machine + ": parts on a pallet", j.per_pallet, 1, 1000);
  a.count(machine + ": sets", j.sets, 1, 20);
  a.count(machine + ": batch", j.batch, 0, 1000000);
  a.time(machine + ": cutting", j.run, true);
  a.time(machine + ": swap", j.swap);
  a.number(machine + ": rest of the swap", j.swap_rest, 0, longest, "0 s or more");
  a.time(machine + ": probing", j.probe);
  a.tasks(machine, j.take_off);
  a.tasks(machine, j.put_on);
  for (const CellEdge& e : j.edges) {
    a.count(machine + ": parts an edge lasts, " + e.name, e.parts, 1, 100000000);
    a.time(machine + ": change of " + e.name, e.change);
  }
}

void check_machines(Asker& a, const SimulationInputs& in) {
  a.count("machines", static_cast<int>(in.machines.size()), 0, 200);
  for (const CellMachine& m : in.machines) {
    const std::string name = m.name.empty() ? "a machine without a name" : m.name;
    a.must(!m.name.empty(), "a machine has no name", "", "a name");
    a.must(!m.jobs.empty(), name + " has nothing to do", "no job", "one job or more");
    for (const CellJob& j : m.jobs) check_job(a, in, name, j);
    a.time(name + ": change-over", m.change_over);
    a.must(m.stop_every == 0 || (m.stop_every > 0 && m.stop_every <= longest), name + ": time between stops",
           base::shortest(m.stop_every), "0 (none) or above 0 s");
    a.time(name + ": stop", m.stop);
  }
}

/// The parts that must stand together before this stage before it can begin.
int needed_before(const SimulationInputs& in, int stage, bool by_hand) {
  if (by_hand) return in.stages[static_cast<std::size_t>(stage)].lot;
  int need = 1;
  for (const CellMachine& m : in.machines)
    for (const CellJob& j : m.jobs)
      if (j.stage == stage) need = std::max(need, std::max(j.batch, j.pallets * j.per_pallet));
  return need;
}

/// A job that shares its machine begins a batch only with room for all of it, beside what may be left over there.
int batch_before_hold(const SimulationInputs& in, int stage) {
  int batch = 0;
  for (const CellMachine& m : in.machines)
    for (const CellJob& j : m.jobs)
      if (j.stage == stage && m.jobs.size() > 1) batch = std::max(batch, std::max(j.batch, j.pallets * j.per_pallet));
  return batch;
}

void check_stages(Asker& a, const SimulationInputs& in) {
  a.count("stages", static_cast<int>(in.stages.size()), 1, 100);
  const std::vector<bool> hand = done_by_hand(in);
  for (std::size_t i = 0; i < in.stages.size(); ++i) {
    const CellStage& s = in.stages[i];
    a.must(!s.name.empty(), "a stage has no name", "", "a name");
    a.number(s.name + ": share of parts", s.share, 0, 1, "0 to 1");
    a.must(i > 0 || s.share == 1, s.name + ": the first stage takes every part", base::shortest(s.share), "1");
    a.number(s.name + ": loss", s.loss, 0, 1, "0 to 1");
    a.number(s.name + ": unattended wait", s.soak, 0, longest, "0 s or more");
    a.count(s.name + ": lot", s.lot, 1, 100000);
    a.count(s.name + ": hold", s.hold, 0, 1000000);
    a.time(s.name, s.task.time);
    a.must(s.bench >= -1 && s.bench < static_cast<int>(in.benches.size()), s.name + " needs a bench that is not there",
           std::to_string(s.bench), "-1 or a place in the list of benches");
    a.must(!hand[i] || i > 0 || in.supply_lot > 0 || s.task.time.mean > 0,
           s.name + ": the first stage takes no time and parts never end", "0 s", "above 0 s");
    if (s.hold == 0 || i + 1 == in.stages.size()) continue;
    const int begins = needed_before(in, static_cast<int>(i) + 1, hand[i + 1]);
    const int need = std::max(begins, batch_before_hold(in, static_cast<int>(i)) + begins - 1);
    a.must(s.hold >= need, s.name + ": fewer may stand after it than a batch and what the next stage begins with",
           std::to_string(s.hold), fmt::format("{} or more", need));
  }
  for (const CellBench& b : in.benches) a.must(!b.name.empty(), "a bench has no name", "", "a name");
  for (const CellBench& b : in.benches) a.count(b.name + ": how many", b.count, 1, 1000);
}

void check_person(Asker& a, const CellPerson& p, const std::vector<std::string>& known) {
  a.must(!p.name.empty(), "a person has no name", "", "a name");
  a.must(p.pace >= 0.1 && p.pace <= 10, p.name + ": pace", base::shortest(p.pace), "0.1 to 10");
  for (const std::string& d : p.does)
    if (std::find(known.begin(), known.end(), d) == known.end())
      a.problems.push_back(
          bad(p.name + " does what nobody asks for", d, base::join(known, ", "), base::nearest(d, known)));
  double last = 0;
  for (const PresentSpan& s : p.present) {
    const bool good = s.from >= last && s.to > s.from && s.to <= week;
    a.must(good, p.name + ": hours of the week overlap or run backwards",
           base::shortest(s.from) + " to " + base::shortest(s.to), "in order, within one week");
    if (good) last = s.to;
  }
}

void check_people(Asker& a, const SimulationInputs& in) {
  a.count("people", static_cast<int>(in.people.size()), 0, 200);
  std::vector<std::string> known;
  for (const WorkKind& k : work_kinds(in))
    if (std::find(known.begin(), known.end(), k.name) == known.end()) known.push_back(k.name);
  for (const CellPerson& p : in.people) check_person(a, p, known);
  for (const std::string& k : known) {
    const bool somebody = std::any_of(in.people.begin(), in.people.end(), [&](const CellPerson& p) {
      return p.does.empty() || std::find(p.does.begin(), p.does.end(), k) != p.does.end();
    });
    a.must(somebody, "nobody may do this work", k, "a person who does it");
  }
}

/// The picture and the causes tell machines, people and benches apart by their names.
void check_names(Asker& a, const SimulationInputs& in) {
  std::vector<std::string> names;
  for (const CellMachine& m : in.machines) names.push_back(m.name);
  for (const CellPerson& p : in.people) names.push_back(p.name);
  for (const CellBench& b : in.benches) names.push_back(b.name);
  std::sort(names.begin(), names.end());
  for (std::size_t i = 1; i < names.size(); ++i)
    if (!names[i].empty() && names[i] == names[i - 1])
      a.problems.push_back(bad("two machines, people or benches have the same name", names[i], "a name of its own"));
}

void check_run(Asker& a, const SimulationInputs& in) {
  a.count("parts of a delivery", in.supply_lot, 0, 1000000);
  a.must(in.supply_lot == 0 || (in.supply_every > 0 && in.supply_every <= longest), "time between deliveries",
         base::shortest(in.supply_every), "above 0 s");
  a.number("warm-up", in.warm_up, 0, longest, "0 s or more");
  a.must(in.horizon > 0 && in.horizon <= longest, "time to look at", base::shortest(in.horizon), "above 0 s");
  a.count("replications", in.replications, 2, 10000);
  a.must(in.confidence > 0 && in.confidence < 1, "confidence", base::shortest(in.confidence), "between 0 and 1");
  a.must(in.shifts_per_week > 0 && in.shifts_per_week <= 28, "shifts a week", base::shortest(in.shifts_per_week),
         "above 0, at most 28");
  a.must(in.weeks_per_year > 0 && in.weeks_per_year <= 53, "weeks a year", base::shortest(in.weeks_per_year),
         "above 0, at most 53");
  if (!in.trace.there) return;
  a.number("start of the picture", in.trace.after, 0, in.horizon, "within the time looked at");
  a.count("cycles of the picture", in.trace.cycles, 0, 1000);
  if (in.trace.cycles == 0)
    a.must(in.trace.length > 0 && in.trace.length <= in.horizon, "length of the picture",
           base::shortest(in.trace.length), "above 0 s, within the time looked at");
  else a.count("machine of the picture", in.trace.machine, 0, static_cast<int>(in.machines.size()) - 1);
}

}  // namespace

Problems cell_problems(const SimulationInputs& in) {
  Asker a;
  check_machines(a, in);
  check_stages(a, in);
  check_people(a, in);
  check_names(a, in);
  check_run(a, in);
  return std::move(a.problems);
}

}  // namespace fettle::timing
