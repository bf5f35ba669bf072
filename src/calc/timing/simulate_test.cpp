#include "calc/timing/simulate.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "calc/timing/cycle.h"
#include "maths/random.h"
#include "maths/statistics.h"
#include "published.h"

// The simulation against closed forms. Where numbers are random, three standard errors of the simulated mean are
// allowed on top of the rounding of the source, and the standard error itself is bounded so that the check can fail.

namespace {

using namespace fettle::timing;
using fettle::test::How;
using fettle::test::published;
constexpr double minute = 60;

std::size_t at(SpindleState s) { return static_cast<std::size_t>(s); }

CellMachine machine_with(const std::string& name, double run, double load, int sets, double swap, int parts = 1) {
  CellJob j;
  j.per_pallet = parts;
  j.sets = sets;
  j.run = {run, 0, TimeScatter::lognormal};
  j.swap = {swap, 0, TimeScatter::lognormal};
  j.put_on = {{"load", {load, 0, TimeScatter::lognormal}, TaskPer::load, 30}};
  CellMachine m;
  m.name = name;
  m.jobs = {j};
  return m;
}
CellStage stage_with(const std::string& name) {
  CellStage s;
  s.name = name;
  return s;
}
CellPerson person(const std::string& name) {
  CellPerson p;
  p.name = name;
  return p;
}
SimulationInputs one_machine(double run, double load, int sets, double swap, int parts = 1) {
  SimulationInputs in;
  in.machines = {machine_with("B", run, load, sets, swap, parts)};
  in.stages = {stage_with("mill")};
  in.people = {person("operator")};
  in.replications = 2;
  return in;
}
/// Whole cycles, with both ends of the time looked at away from what happens in a cycle.
void look_at(SimulationInputs& in, double cycle, int cycles) {
  in.warm_up = (20 + 0.123) * cycle;
  in.horizon = cycles * cycle;
}
SimulationResult run(const SimulationInputs& in, int threads = 1) {
  fettle::Outcome<SimulationResult> r = simulate(in, threads);
  if (!r.ok()) {
    for (const fettle::Problem& p : r.problems()) ADD_FAILURE() << fettle::say(p);
    return {};
  }
  return std::move(r).value();
}
double standard_error(const CellEstimate& e, const SimulationInputs& in) { return e.s / std::sqrt(in.replications); }
/// N machines, one person or more; the service is the load, the run is random.
SimulationInputs interference(int machines, int servers, double run_mean, const TaskTime& service) {
  SimulationInputs in;
  for (int i = 0; i < machines; ++i) {
    CellMachine m = machine_with("M" + std::to_string(i + 1), run_mean, service.mean, 1, 0);
    m.jobs[0].run.scatter = TimeScatter::exponential;
    m.jobs[0].put_on[0].time = service;
    in.machines.push_back(m);
  }
  in.stages = {stage_with("run")};
  for (int i = 0; i < servers; ++i) in.people.push_back(person("P" + std::to_string(i + 1)));
  in.replications = 20;
  in.warm_up = 100 * run_mean;
  in.horizon = 40000 * run_mean / machines;
  in.seed = 11;
  return in;
}
CellEstimate sum_of(const SimulationResult& r, SpindleState s) {
  CellEstimate sum;
  for (const CellMachineResult& m : r.machines) sum.mean += m.share[at(s)].mean;
  return sum;
}

// ---- two sets

const char* const two_sets_source = "two sets that swap: cycle = max(spindle, load) + swap, worked by hand";

TEST(SimulateTwoSets, SpindleBound) {
  SimulationInputs in = one_machine(12 * minute, 7 * minute, 2, 0.5 * minute, 4);
  look_at(in, 12.5 * minute, 200);
  const SimulationResult r = run(in);
  published("timing", "two sets simulated, spindle bound: cycle, min", two_sets_source, How::computed, 12.5,
            r.machines[0].cycle.mean / minute, 1e-9);
  published("timing", "two sets simulated, spindle bound: spindle use", two_sets_source, How::computed, 0.96,
            r.machines[0].use.mean, 1e-9);
  published("timing", "two sets simulated, spindle bound: operator use", two_sets_source, How::computed, 0.56,
            r.people[0].use.mean, 1e-9);
  published("timing", "two sets simulated, spindle bound: parts an hour", two_sets_source, How::computed, 19.2,
            r.good_per_hour.mean, 1e-9);
  EXPECT_NEAR(r.machines[0].share[at(SpindleState::swaps)].mean, 0.04, 1e-9);
  EXPECT_EQ(r.good_per_hour.s, 0) << "nothing scatters";
}

TEST(SimulateTwoSets, LoadBound) {
  SimulationInputs in = one_machine(6 * minute, 7 * minute, 2, 0.5 * minute, 4);
  look_at(in, 7.5 * minute, 200);
  const SimulationResult r = run(in);
  published("timing", "two sets simulated, load bound: cycle, min", two_sets_source, How::computed, 7.5,
            r.machines[0].cycle.mean / minute, 1e-9);
  published("timing", "two sets simulated, load bound: spindle use", two_sets_source, How::computed, 0.8,
            r.machines[0].use.mean, 1e-9);
  published("timing", "two sets simulated, load bound: operator use", two_sets_source, How::computed, 0.9333,
            r.people[0].use.mean, 5e-5);
  published("timing", "two sets simulated, load bound: parts an hour", two_sets_source, How::computed, 32.0,
            r.good_per_hour.mean, 1e-9);
  EXPECT_NEAR(r.machines[0].share[at(SpindleState::handled)].mean, 1 / 7.5, 1e-9);
  ASSERT_GE(r.waits.size(), 1u);
  EXPECT_EQ(r.waits[0].waits_for, "load") << "the largest cause";
}

TEST(SimulateTwoSets, AgreesWithTheClosedFormOfTheCycle) {
  // Two ways written apart: events against max(machine, load) + swap, for one set and two.
  for (std::uint64_t n = 0; n < 40; ++n) {
    CycleInputs c;
    c.parts = 4;
    c.sets = n % 2 == 0 ? 1 : 2;
    c.machine = c.cutting = std::round(60 + 900 * fettle::maths::uniform(3, n, 0));
    c.load = std::round(1 + 900 * fettle::maths::uniform(3, n, 1));
    c.swap = std::round(60 * fettle::maths::uniform(3, n, 2));
    const auto closed = cycle(c);
    ASSERT_TRUE(closed.ok());
    SimulationInputs in = one_machine(c.machine, c.load, c.sets, c.swap, c.parts);
    look_at(in, closed->cycle, 50);
    const SimulationResult r = run(in);
    EXPECT_NEAR(r.machines[0].cycle.mean, closed->cycle, 1e-6) << n;
    EXPECT_NEAR(r.machines[0].use.mean, closed->cutting_share, 1e-9) << n;
    EXPECT_NEAR(r.people[0].use.mean, closed->person_use, 1e-9) << n;
    EXPECT_NEAR(r.good_per_hour.mean, closed->parts_per_hour, 1e-9) << n;
  }
}

TEST(SimulateTwoSets, LoadThatScattersCostsMoreThanItsMean) {
  // Where loading and cutting are equal in the mean, the later of the two decides each time.
  SimulationInputs in = one_machine(7 * minute, 7 * minute, 2, 0.5 * minute, 4);
  const double cv = 0.3, s2 = std::log1p(cv * cv), s = std::sqrt(s2), mu = std::log(7.0) - s2 / 2;
  in.machines[0].jobs[0].put_on[0].time.cv = cv;
  in.replications = 20;
  in.warm_up = 1000 * minute;
  in.horizon = 20000 * minute;
  const SimulationResult r = run(in);
  const double later = 7 * fettle::maths::normal_cdf((std::log(7.0) - mu) / s) +
                       7 * fettle::maths::normal_cdf((mu + s2 - std::log(7.0)) / s);
  const double error = standard_error(r.machines[0].cycle, in) / minute;
  EXPECT_LT(error, 0.01);
  published("timing", "two sets simulated, loading scatters: cycle, min",
            "mean of the later of a constant and a lognormal time, integral in closed form", How::exact, later + 0.5,
            r.machines[0].cycle.mean / minute, 3 * error);
  EXPECT_GT(r.machines[0].cycle.mean / minute, 7.5 + 0.5);
}

TEST(SimulateTwoSets, SwapThatNeedsTheOperator) {
  SimulationInputs in = one_machine(12 * minute, 7 * minute, 2, 0.5 * minute, 4);
  in.machines[0].jobs[0].swap_by_person = true;
  look_at(in, 12.5 * minute, 100);
  const SimulationResult r = run(in);
  EXPECT_NEAR(r.people[0].use.mean, 7.5 / 12.5, 1e-9);
  EXPECT_NEAR(r.machines[0].use.mean, 0.96, 1e-9);
  in.machines[0].jobs[0].swap.mean = 0.2 * minute;  // and the machine alone for the rest
  in.machines[0].jobs[0].swap_rest = 0.3 * minute;
  const SimulationResult part = run(in);
  EXPECT_NEAR(part.people[0].use.mean, 7.2 / 12.5, 1e-9);
  EXPECT_NEAR(part.machines[0].use.mean, 0.96, 1e-9);
  EXPECT_NEAR(part.machines[0].share[at(SpindleState::swaps)].mean, 0.04, 1e-9);
}

TEST(SimulateTwoSets, AThirdSetBuysNothingWhenTheSpindleIsTheLimit) {
  SimulationInputs in = one_machine(12 * minute, 7 * minute, 3, 0.5 * minute, 4);
  look_at(in, 12.5 * minute, 100);
  EXPECT_NEAR(run(in).good_per_hour.mean, 19.2, 1e-9);
}

// ---- one set, several machines, constant times

TEST(SimulateOneSet, CycleIsLoadAndRun) {
  SimulationInputs in = one_machine(12 * minute, 7 * minute, 1, 0.5 * minute, 4);
  in.machines[0].jobs[0].probe.mean = 0.25 * minute;
  in.machines[0].jobs[0].take_off = {{"unload", {minute, 0, TimeScatter::lognormal}, TaskPer::part, 30}};
  const double cycle = 12 + 7 + 0.5 + 0.25 + 4 * 1;
  look_at(in, cycle * minute, 100);
  const SimulationResult r = run(in);
  EXPECT_NEAR(r.machines[0].cycle.mean / minute, cycle, 1e-9);
  EXPECT_NEAR(r.machines[0].use.mean, 12 / cycle, 1e-9);
  EXPECT_NEAR(r.people[0].use.mean, 11 / cycle, 1e-9);
  EXPECT_NEAR(r.machines[0].share[at(SpindleState::handled)].mean, 11 / cycle, 1e-9);
}

TEST(SimulateSeveral, OneOperatorServesFourButNotFive) {
  // Loading 1.41 min, machine alone 4.34 min: (1.41 + 4.34) / 1.41 = 4.08.
  const char* const source = "synchronous servicing, N = (l + m)/l: Niebel, from memory";
  for (int machines : {4, 5}) {
    SimulationInputs in;
    for (int i = 0; i < machines; ++i)
      in.machines.push_back(machine_with("M" + std::to_string(i), 4.34 * minute, 1.41 * minute, 1, 0));
    in.stages = {stage_with("run")};
    in.people = {person("operator")};
    in.replications = 2;
    const double cycle = machines == 4 ? 5.75 : 5 * 1.41;
    look_at(in, cycle * minute, 100);
    const SimulationResult r = run(in);
    published("timing", "machines in turn, simulated: cycle of " + std::to_string(machines) + ", min", source,
              How::computed, cycle, r.machines[2].cycle.mean / minute, 1e-9);
    EXPECT_NEAR(sum_of(r, SpindleState::waits_person).mean, machines == 4 ? 0 : 5 * (7.05 - 5.75) / 7.05, 1e-9);
  }
}

// ---- random stops

TEST(SimulateInterference, AshcroftsNumbers) {
  const char* const source = "Ashcroft 1950, J. R. Statist. Soc. B 12: 145; formula from memory";
  const double expected[][2] = {{2, 1.8102}, {4, 3.5791}, {6, 5.2779}, {10, 8.2100}};
  for (const auto& e : expected) {
    const SimulationInputs in = interference(static_cast<int>(e[0]), 1, 10, {1, 0, TimeScatter::lognormal});
    const SimulationResult r = run(in, 2);
    // Each machine that runs brings p of work for the operator, so running = operator's share / p.
    const double error = standard_error(r.people[0].use, in) / 0.1;
    EXPECT_LT(error, 0.02);
    published("timing", "machines running of " + std::to_string(static_cast<int>(e[0])) + ", p 0.1, simulated", source,
              How::from_memory, e[1], r.people[0].use.mean / 0.1, 5e-5 + 3 * error);
    double most = 0;  // the standard error of a sum is at most the sum of the standard errors
    for (const CellMachineResult& m : r.machines) most += standard_error(m.use, in);
    EXPECT_LT(most, 0.1);
    EXPECT_NEAR(sum_of(r, SpindleState::cuts).mean, e[1], 3 * most);
  }
}

/// M/M/c//K by its birth and death chain: chance that a machine that stops must wait, and 1 - waiting/K.
struct Exact {
  double waits = 0, efficiency = 0;
};
Exact birth_death(int k, int c, double run_mean, double service) {
  std::vector<double> p{1};
  for (int n = 0; n < k; ++n) p.push_back(p.back() * ((k - n) / run_mean) / (std::min(n + 1, c) / service));
  double sum = 0, queue = 0, arrivals = 0, late = 0;
  for (int n = 0; n <= k; ++n) {
    const double w = p[static_cast<std::size_t>(n)];
    sum += w;
    queue += w * std::max(0, n - c);
    arrivals += w * (k - n);
    if (n >= c) late += w * (k - n);
  }
  return {late / arrivals, 1 - queue / sum / k};
}

TEST(SimulateInterference, PeckAndHazelwood) {
  const char* const source = "Peck & Hazelwood 1958, in Tompkins et al., Facilities Planning, 4th ed., table 10.37";
  struct Row {
    double x;
    int k, c;
    double d, f;
  };
  // D and F as printed; D negative: not read.
  const Row rows[] = {{0.05, 4, 1, 0.149, 0.992}, {0.05, 6, 1, 0.247, 0.985}, {0.05, 7, 2, 0.034, 0.999},
                      {0.10, 20, 1, -1, 0.500},   {0.10, 20, 2, -1, 0.878},   {0.10, 20, 3, -1, 0.975}};
  for (const Row& row : rows) {
    const double u = 10, t = u * row.x / (1 - row.x);
    SimulationInputs in = interference(row.k, row.c, u, {t, 1, TimeScatter::exponential});
    const SimulationResult r = run(in, 2);
    const std::string what = "K " + std::to_string(row.k) + ", " + std::to_string(row.c) + " servers, X " +
                             (row.x > 0.07 ? "0.10" : "0.05") + ", simulated: ";
    const double n = row.k;
    // the standard error of a mean is at most the mean of the standard errors
    double f = 1, f_error = 0, d = 0, d_error = 0;
    for (std::size_t m = 0; m < r.machines.size(); ++m) {
      f -= r.machines[m].share[at(SpindleState::waits_person)].mean / n;
      f_error += standard_error(r.machines[m].share[at(SpindleState::waits_person)], in) / n;
      d += r.tasks[m].waited.mean / n;
      d_error += standard_error(r.tasks[m].waited, in) / n;
    }
    const Exact e = birth_death(row.k, row.c, u, t);
    EXPECT_NEAR(e.efficiency, row.f, 6e-4) << what;
    EXPECT_LT(f_error, 0.002) << what;
    EXPECT_NEAR(f, e.efficiency, 3 * f_error) << what;
    published("timing", what + "F", source, How::read, row.f, f, 5e-4 + 3 * f_error);
    EXPECT_LT(d_error, 0.01) << what;
    EXPECT_NEAR(d, e.waits, 3 * d_error) << what;
    if (row.d > 0) published("timing", what + "D", source, How::read, row.d, d, 5e-4 + 3 * d_error);
  }
}

TEST(SimulateInterference, StopsWithoutAPersonTakeTheirShare) {
  SimulationInputs in = one_machine(100, 0, 2, 0);
  in.machines[0].stop_every = 880;
  in.machines[0].stop = {120, 0.5, TimeScatter::lognormal};
  in.machines[0].stop_needs_person = false;
  in.replications = 20;
  in.horizon = 2e6;
  const SimulationResult r = run(in);
  const double error = standard_error(r.machines[0].use, in);
  EXPECT_LT(error, 0.002);
  EXPECT_NEAR(r.machines[0].use.mean, 0.88, 3 * error);
  EXPECT_NEAR(r.machines[0].share[at(SpindleState::stopped)].mean, 0.12, 3 * error);
}

TEST(SimulateTimes, LognormalKeepsItsMean) {
  SimulationInputs in = one_machine(100, 40, 1, 0, 4);
  in.machines[0].jobs[0].put_on[0].time.cv = 1.0;
  in.machines[0].jobs[0].run.cv = 0.2;
  in.replications = 20;
  in.horizon = 5e5;
  const SimulationResult r = run(in);
  const double error = standard_error(r.machines[0].cycle, in);
  EXPECT_LT(error, 0.5);
  EXPECT_NEAR(r.machines[0].cycle.mean, 140, 3 * error);
}

}  // namespace
