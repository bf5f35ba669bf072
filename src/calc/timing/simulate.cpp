#include "calc/timing/simulate.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <thread>

#include "calc/timing/simulate_checks.h"
#include "calc/timing/simulate_engine.h"
#include "maths/statistics.h"

namespace fettle::timing {

namespace {

constexpr double hour = 3600, week = 7 * 24 * hour;

std::vector<Tally> run_all(const SimulationInputs& in, int threads) {
  std::vector<Tally> out(static_cast<std::size_t>(in.replications));
  std::atomic<int> next{0};
  const auto work = [&] {
    for (int r = next++; r < in.replications; r = next++) out[static_cast<std::size_t>(r)] = run_once(in, r);
  };
  std::vector<std::thread> helpers;
  for (int t = 1; t < std::min(threads, in.replications); ++t) helpers.emplace_back(work);
  work();
  for (std::thread& t : helpers) t.join();
  return out;
}

/// All replications, in their order, and what turns their counts into estimates.
struct Reducer {
  const SimulationInputs& in;
  const std::vector<Tally>& runs;
  double factor;  ///< Student's t over the root of the number of replications

  Reducer(const SimulationInputs& i, const std::vector<Tally>& r) : in(i), runs(r) {
    const double n = static_cast<double>(runs.size());
    factor = maths::student_t_quantile((1 + in.confidence) / 2, n - 1) / std::sqrt(n);
  }
  template <class F>
  CellEstimate over(F value) const {
    std::vector<double> x;
    for (const Tally& t : runs) x.push_back(value(t));
    return of(x);
  }
  CellEstimate of(const std::vector<double>& x) const {
    const maths::Moments m = maths::moments(x);
    return {m.mean, m.mean - factor * m.s, m.mean + factor * m.s, m.s};
  }
  template <class F>
  CellEstimate a_week(F count) const {
    return over([&](const Tally& t) { return static_cast<double>(count(t)) * (week / in.horizon); });
  }
};
CellEstimate scaled(const CellEstimate& e, double by) { return {e.mean * by, e.low * by, e.high * by, e.s * by}; }
double ratio(double a, double b) { return b > 0 ? a / b : 0; }

CellMachineResult machine_result(const Reducer& r, std::size_t m) {
  CellMachineResult out;
  out.name = r.in.machines[m].name;
  for (std::size_t s = 0; s < spindle_states; ++s) {
    out.share[s] = r.over([&](const Tally& t) { return t.machines[m].time[s] / r.in.horizon; });
    out.share_attended[s] = r.over([&](const Tally& t) { return ratio(t.machines[m].attended[s], t.attended); });
  }
  out.use = out.share[static_cast<std::size_t>(SpindleState::cuts)];
  out.use_attended = out.share_attended[static_cast<std::size_t>(SpindleState::cuts)];
  out.cycle =
      r.over([&](const Tally& t) { return ratio(t.machines[m].cycle_sum, static_cast<double>(t.machines[m].cycles)); });
  out.parts_per_week = r.a_week([&](const Tally& t) { return t.machines[m].parts; });
  out.parts_alone_per_week = r.a_week([&](const Tally& t) { return t.machines[m].parts_alone; });
  for (const Tally& t : r.runs)
    if (t.machines[m].longest_alone > out.longest_alone) {
      out.longest_alone = t.machines[m].longest_alone;
      out.parts_in_longest = t.machines[m].parts_in_longest;
    }
  for (std::size_t e = 0; e < r.runs[0].machines[m].edges.size(); ++e)
    out.edges_per_week.push_back(r.a_week([&](const Tally& t) { return t.machines[m].edges[e]; }));
  return out;
}

CellPersonResult person_result(const Reducer& r, std::size_t p, std::size_t kinds) {
  CellPersonResult out;
  out.name = r.in.people[p].name;
  out.use = r.over([&](const Tally& t) {
    double sum = 0;
    for (double x : t.work[p]) sum += x;
    return ratio(sum, t.present[p]);
  });
  out.hours_per_week = r.a_week([&](const Tally& t) { return t.present[p] / hour; });
  for (std::size_t k = 0; k < kinds; ++k)
    out.by_task.push_back(r.over([&](const Tally& t) { return ratio(t.work[p][k], t.present[p]); }));
  return out;
}

CellTaskResult task_result(const Reducer& r, const WorkKind& kind, std::size_t k) {
  CellTaskResult out;
  out.name = kind.name;
  out.where = kind.machine >= 0 ? r.in.machines[static_cast<std::size_t>(kind.machine)].name
                                : r.in.stages[static_cast<std::size_t>(kind.stage)].name;
  const int stage =
      kind.job >= 0
          ? r.in.machines[static_cast<std::size_t>(kind.machine)].jobs[static_cast<std::size_t>(kind.job)].stage
          : kind.stage;
  if (stage >= 0) out.stage = r.in.stages[static_cast<std::size_t>(stage)].name;
  out.per_week = r.a_week([&](const Tally& t) { return t.kinds[k].begun; });
  out.waited = r.over([&](const Tally& t) {
    return ratio(static_cast<double>(t.kinds[k].waited), static_cast<double>(t.kinds[k].begun));
  });
  out.wait = r.over([&](const Tally& t) { return ratio(t.kinds[k].wait, static_cast<double>(t.kinds[k].begun)); });
  return out;
}

CellQueueResult queue_result(const Reducer& r, std::size_t s) {
  CellQueueResult out;
  out.stage = r.in.stages[s].name;
  out.mean = r.over([&](const Tally& t) { return t.queues[s].area / r.in.horizon; });
  out.wait = r.over([&](const Tally& t) { return ratio(t.queues[s].area, static_cast<double>(t.queues[s].arrived)); });
  out.lost_per_week = r.a_week([&](const Tally& t) { return t.queues[s].lost; });
  for (const Tally& t : r.runs) out.longest = std::max(out.longest, t.queues[s].longest);
  return out;
}

/// In words what a spindle waits for, and why.
WaitCause cause(const SimulationInputs& in, const std::vector<WorkKind>& kinds, std::size_t m, const StandTally& s) {
  WaitCause out;
  out.machine = in.machines[m].name;
  out.state = s.state;
  if (s.waits_for >= 0) out.waits_for = kinds[static_cast<std::size_t>(s.waits_for)].name;
  const bool stage = s.state == SpindleState::waits_parts || s.state == SpindleState::waits_room;
  if (stage) out.because = s.because < 0 ? "delivery" : in.stages[static_cast<std::size_t>(s.because)].name;
  else if (s.because >= 0) out.because = kinds[static_cast<std::size_t>(s.because)].name;
  switch (s.state) {
    case SpindleState::probes:
      out.waits_for = "probing";
      break;
    case SpindleState::swaps:
      out.waits_for = "swap";
      break;
    case SpindleState::stopped:
      if (s.waits_for < 0) out.waits_for = "repair";
      break;
    case SpindleState::waits_parts:
      out.waits_for = "parts";
      break;
    case SpindleState::waits_room:
      out.waits_for = "room";
      break;
    case SpindleState::nobody:
      out.because = "nobody is there";
      break;
    default:
      break;
  }
  return out;
}

bool same_words(const WaitCause& a, const WaitCause& b) {
  return a.machine == b.machine && a.state == b.state && a.waits_for == b.waits_for && a.because == b.because;
}

/// Causes that read alike are one: loading of two jobs on one machine, say.
std::vector<WaitCause> wait_causes(const Reducer& r, const std::vector<WorkKind>& kinds) {
  std::vector<WaitCause> out;
  std::vector<std::vector<double>> time, attended;  // by cause and replication
  for (std::size_t run = 0; run < r.runs.size(); ++run)
    for (std::size_t m = 0; m < r.in.machines.size(); ++m)
      for (const StandTally& s : r.runs[run].machines[m].stands) {
        const WaitCause w = cause(r.in, kinds, m, s);
        const auto found = std::find_if(out.begin(), out.end(), [&](const WaitCause& x) { return same_words(x, w); });
        const std::size_t at = static_cast<std::size_t>(found - out.begin());
        if (found == out.end()) {
          out.push_back(w);
          time.emplace_back(r.runs.size(), 0.0);
          attended.emplace_back(r.runs.size(), 0.0);
        }
        time[at][run] += s.time / r.in.horizon;
        attended[at][run] += ratio(s.attended, r.runs[run].attended);
      }
  for (std::size_t c = 0; c < out.size(); ++c) {
    out[c].share = r.of(time[c]);
    out[c].share_attended = r.of(attended[c]);
  }
  std::stable_sort(out.begin(), out.end(), [](const WaitCause& a, const WaitCause& b) {
    if (a.share_attended.mean != b.share_attended.mean) return a.share_attended.mean > b.share_attended.mean;
    return a.share.mean > b.share.mean;
  });
  return out;
}

/// Parts come out in lots: a count over the time looked at is never surer than half of the last one.
CellEstimate no_surer_than_a_lot(const SimulationInputs& in, CellEstimate good_per_week) {
  int lot = in.stages.back().lot;
  for (const CellMachine& m : in.machines)
    for (const CellJob& j : m.jobs)
      if (j.stage + 1 == static_cast<int>(in.stages.size())) lot = std::max(lot, j.pallets * j.per_pallet);
  const double half = 0.5 * lot * week / in.horizon;
  good_per_week.low = std::min(good_per_week.low, good_per_week.mean - half);
  good_per_week.high = std::max(good_per_week.high, good_per_week.mean + half);
  return good_per_week;
}

SimulationResult reduce(const SimulationInputs& in, std::vector<Tally>& runs) {
  const Reducer r(in, runs);
  const std::vector<WorkKind> kinds = work_kinds(in);
  SimulationResult out;
  out.good_per_week = no_surer_than_a_lot(in, r.a_week([](const Tally& t) { return t.good; }));
  out.good_per_hour = scaled(out.good_per_week, hour / week);
  out.good_per_attended_hour =
      r.over([](const Tally& t) { return ratio(static_cast<double>(t.good) * hour, t.attended); });
  out.good_per_shift = scaled(out.good_per_week, 1 / in.shifts_per_week);
  out.good_per_year = scaled(out.good_per_week, in.weeks_per_year);
  out.lost_per_week = r.a_week([](const Tally& t) { return t.lost; });
  out.in_process = r.over([&](const Tally& t) { return t.in_process_area / in.horizon; });
  out.through = r.over([](const Tally& t) { return ratio(t.in_process_area, static_cast<double>(t.good + t.lost)); });
  for (std::size_t m = 0; m < in.machines.size(); ++m) out.machines.push_back(machine_result(r, m));
  for (std::size_t p = 0; p < in.people.size(); ++p) out.people.push_back(person_result(r, p, kinds.size()));
  for (std::size_t k = 0; k < kinds.size(); ++k) out.tasks.push_back(task_result(r, kinds[k], k));
  for (std::size_t s = 0; s < in.stages.size(); ++s) out.queues.push_back(queue_result(r, s));
  out.waits = wait_causes(r, kinds);
  out.trace = std::move(runs[0].trace);
  out.trace_length = runs[0].trace_length;
  for (const Tally& t : runs) {
    out.taken_up += t.total_taken;
    out.good += t.total_good;
    out.lost += t.total_lost;
    out.left_in_process += t.total_left;
    out.events += t.events;
  }
  if (out.good_per_week.mean == 0) out.notes.push_back("no good part came out in the time looked at");
  if (in.trace.there && out.trace.empty()) out.notes.push_back("the cycle to be pictured did not come");
  return out;
}

}  // namespace

std::string_view word(SpindleState state) {
  static constexpr std::array<std::string_view, spindle_states> words{
      "cuts",           "probes",       "swaps",        "is loaded", "waits for a person",     "waits for parts",
      "waits for room", "changes edge", "changes over", "stopped",   "stands, nobody is there"};
  return words[static_cast<std::size_t>(state)];
}

std::vector<PresentSpan> one_shift(double hours, int days, double start, double pause) {
  std::vector<PresentSpan> out;
  const double half = hours / days / 2;
  for (int d = 0; d < days; ++d) {
    const double from = d * 24 * hour + start;
    if (pause > 0) {
      out.push_back({from, from + half});
      out.push_back({from + half + pause, from + 2 * half + pause});
    } else {
      out.push_back({from, from + 2 * half});
    }
  }
  return out;
}

Outcome<SimulationResult> simulate(const SimulationInputs& in, int threads) {
  Problems problems = cell_problems(in);
  if (!problems.empty()) return problems;
  std::vector<Tally> runs = run_all(in, threads);
  for (const Tally& t : runs) {
    if (t.stuck) return bad("the cell does not get on: work without time begins again and again");
    if (t.too_long) return bad("too much happens in the time to look at", {}, "a shorter time or longer cycles");
  }
  return reduce(in, runs);
}

}  // namespace fettle::timing
