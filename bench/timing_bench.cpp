// Claims of speed for the clock: one simulated year (48 weeks) of two sets under 1 s on one core, aim 20 ms.
#include <benchmark/benchmark.h>

#include <string>

#include "calc/timing/simulate.h"

namespace {

using namespace fettle::timing;
constexpr double minute = 60, hour = 3600, week = 7 * 24 * hour;

TaskTime time_of(double s, double cv) { return {s, cv, TimeScatter::lognormal}; }
HandTask hand(const char* name, double s, int priority) { return {name, time_of(s, 0.15), TaskPer::part, priority}; }

/// Two sets of eight parts and one operator who loads them, gauges, hones a share, deburrs and washes.
SimulationInputs two_sets() {
  SimulationInputs in;
  CellJob job;
  job.pallets = 2;
  job.per_pallet = 4;
  job.sets = 2;
  job.run = time_of(8 * 6.9 * minute, 0);
  job.swap = time_of(110, 0);
  job.swap_by_person = true;
  job.probe = time_of(30, 0);
  job.take_off = {hand("unload", 0.9 * minute, 30)};
  job.put_on = {hand("clean", 0.5 * minute, 30), hand("load", 1.1 * minute, 30)};
  job.edges = {{"rough", 33, time_of(2 * minute, 0.2)}, {"groove", 26, time_of(2 * minute, 0.2)}};
  CellMachine machine;
  machine.name = "B";
  machine.jobs = {job};
  machine.stop_every = 20 * hour;
  machine.stop = time_of(10 * minute, 0.5);
  in.machines = {machine};
  in.benches = {{"hone", 1}, {"washer", 1}};
  CellStage mill, gauge, hone, deburr, wash;
  mill.name = "mill";
  gauge.name = "gauge";
  gauge.task = hand("gauge", 0.5 * minute, 60);
  gauge.loss = 0.025;
  hone.name = "hone";
  hone.task = hand("hone", 1.5 * minute, 60);
  hone.share = 0.4;
  hone.bench = 0;
  deburr.name = "deburr";
  deburr.task = hand("deburr", 0.9 * minute, 60);
  wash.name = "wash";
  wash.task = hand("wash", minute, 60);
  wash.task.per = TaskPer::load;
  wash.lot = 24;
  wash.soak = 15 * minute;
  wash.bench = 1;
  in.stages = {mill, gauge, hone, deburr, wash};
  CellPerson operator_1;
  operator_1.name = "operator";
  operator_1.present = one_shift(37.5 * hour, 5, 7 * hour, 0.5 * hour);
  in.people = {operator_1};
  in.warm_up = week;
  in.horizon = 48 * week;
  in.replications = 2;
  return in;
}

/// One year, one replication's worth of time: two replications of half a year.
void year_of_two_sets_all_work(benchmark::State& state) {
  SimulationInputs in = two_sets();
  in.horizon = 24 * week;
  long long events = 0;
  for (auto _ : state) events = simulate(in).value().events;
  state.counters["events"] = static_cast<double>(events);
}
BENCHMARK(year_of_two_sets_all_work)->Unit(benchmark::kMillisecond);

/// The same round the clock, without the work after the machine.
void year_of_two_sets_round_the_clock(benchmark::State& state) {
  SimulationInputs in = two_sets();
  in.horizon = 24 * week;
  in.stages.resize(1);
  in.people[0].present.clear();
  long long events = 0;
  for (auto _ : state) events = simulate(in).value().events;
  state.counters["events"] = static_cast<double>(events);
}
BENCHMARK(year_of_two_sets_round_the_clock)->Unit(benchmark::kMillisecond);

/// Ten replications of a year over threads.
void ten_years(benchmark::State& state) {
  SimulationInputs in = two_sets();
  in.replications = 10;
  for (auto _ : state) benchmark::DoNotOptimize(simulate(in, static_cast<int>(state.range(0))).value().events);
}
BENCHMARK(ten_years)->Arg(1)->Arg(2)->Unit(benchmark::kMillisecond)->UseRealTime();

/// How the time grows with machines that share one operator (time per event).
void machines_for_one_operator(benchmark::State& state) {
  SimulationInputs in;
  for (int i = 0; i < state.range(0); ++i) {
    CellJob job;
    job.run = {100, 1, TimeScatter::exponential};
    job.put_on = {{"load", time_of(10, 0), TaskPer::load, 30}};
    CellMachine m;
    m.name = "M" + std::to_string(i);
    m.jobs = {job};
    in.machines.push_back(m);
  }
  CellStage run;
  run.name = "run";
  in.stages = {run};
  CellPerson p;
  p.name = "operator";
  in.people = {p};
  in.horizon = 1e6;
  in.replications = 2;
  long long events = 0;
  for (auto _ : state) events = simulate(in).value().events;
  state.counters["per_event"] = benchmark::Counter(
      static_cast<double>(events), benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}
BENCHMARK(machines_for_one_operator)->Arg(1)->Arg(2)->Arg(5)->Arg(10)->Arg(20)->Unit(benchmark::kMillisecond);

}  // namespace
BENCHMARK_MAIN();
