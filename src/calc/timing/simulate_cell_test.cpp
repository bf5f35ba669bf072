#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/bytes.h"
#include "calc/timing/simulate.h"
#include "maths/random.h"

// What a cell with shifts, batches, baskets, losses and edges does: exact by hand where nothing scatters, and what must
// hold whatever scatters.

namespace {

using namespace fettle::timing;
constexpr double minute = 60, hour = 3600, week = 7 * 24 * hour;

std::size_t at(SpindleState s) { return static_cast<std::size_t>(s); }
TaskTime constant(double s) { return {s, 0, TimeScatter::lognormal}; }
HandTask task(const std::string& name, double s, TaskPer per, int priority = 30) {
  return {name, constant(s), per, priority};
}
CellStage stage_with(const std::string& name) {
  CellStage s;
  s.name = name;
  return s;
}
CellStage by_hand(const std::string& name, double s, int priority = 60) {
  CellStage out = stage_with(name);
  out.task = task(name, s, TaskPer::part, priority);
  return out;
}
CellPerson person(const std::string& name) {
  CellPerson p;
  p.name = name;
  return p;
}
CellJob job(double run, double load, int sets, int parts) {
  CellJob j;
  j.per_pallet = parts;
  j.sets = sets;
  j.run = constant(run);
  if (load > 0) j.put_on = {task("load", load, TaskPer::load)};
  return j;
}
CellMachine machine(const std::string& name, std::vector<CellJob> jobs) {
  CellMachine m;
  m.name = name;
  m.jobs = std::move(jobs);
  return m;
}
SimulationInputs one_machine(double run, double load, int sets, int parts) {
  SimulationInputs in;
  in.machines = {machine("B", {job(run, load, sets, parts)})};
  in.stages = {stage_with("mill")};
  in.people = {person("operator")};
  in.replications = 2;
  return in;
}
SimulationResult run(const SimulationInputs& in, int threads = 1) {
  fettle::Outcome<SimulationResult> r = simulate(in, threads);
  if (!r.ok()) {
    for (const fettle::Problem& p : r.problems()) ADD_FAILURE() << fettle::say(p);
    return {};
  }
  return std::move(r).value();
}

/// A small shop: edges and bores in batches on A, all around on B with two sets, then gauging, honing a share,
/// deburring and washing in baskets; one person, one shift.
SimulationInputs shop() {
  SimulationInputs in;
  CellJob edges = job(5 * 1.285 * minute, 0, 1, 5);
  edges.stage = 0;
  edges.batch = 60;
  edges.put_on = {{"load", {0.8 * minute, 0.15, TimeScatter::lognormal}, TaskPer::part, 40}};
  CellJob bores = job(3 * 2.4 * minute, 0, 1, 3);
  bores.stage = 1;
  bores.batch = 60;
  bores.put_on = {{"load", {0.8 * minute, 0.15, TimeScatter::lognormal}, TaskPer::part, 40}};
  CellMachine a = machine("A", {edges, bores});
  a.change_over = constant(25 * minute);
  CellJob around = job(8 * 6.9 * minute, 0, 2, 4);
  around.stage = 2;
  around.pallets = 2;
  around.swap = constant(110);
  around.swap_by_person = true;
  around.probe = constant(30);
  around.take_off = {{"unload", {0.9 * minute, 0.15, TimeScatter::lognormal}, TaskPer::part, 30}};
  around.put_on = {{"clean", {0.5 * minute, 0.15, TimeScatter::lognormal}, TaskPer::part, 30},
                   {"load", {1.1 * minute, 0.15, TimeScatter::lognormal}, TaskPer::part, 30}};
  around.edges = {{"T11", 33, {2 * minute, 0.2, TimeScatter::lognormal}},
                  {"T15", 26, {2 * minute, 0.2, TimeScatter::lognormal}}};
  CellMachine b = machine("B", {around});
  b.stop_every = 20 * hour;
  b.stop = {10 * minute, 0.5, TimeScatter::lognormal};
  in.machines = {a, b};
  in.benches = {{"hone", 1}, {"washer", 1}};
  CellStage gauge = by_hand("gauge", 0.5 * minute), hone = by_hand("hone", 1.5 * minute),
            deburr = by_hand("deburr", 0.9 * minute), wash = by_hand("wash", minute);
  gauge.loss = 0.025;
  hone.share = 0.4;
  hone.bench = 0;
  hone.task.time.cv = 0.2;
  wash.lot = 24;
  wash.task.per = TaskPer::load;
  wash.soak = 15 * minute;
  wash.bench = 1;
  in.stages = {stage_with("OP10"), stage_with("OP20"), stage_with("OP30"), gauge, hone, deburr, wash};
  in.stages[0].hold = 120;
  in.stages[1].hold = 80;
  in.people = {person("operator")};
  in.people[0].present = one_shift(37.5 * hour, 5, 7 * hour, 0.5 * hour);
  in.warm_up = 2 * week;
  in.horizon = 4 * week;
  in.replications = 4;
  in.seed = 7;
  return in;
}

void expect_sums(const SimulationInputs& in, const SimulationResult& r) {
  for (const CellMachineResult& m : r.machines) {
    double shares = 0, causes = m.use.mean, attended = 0, causes_attended = m.use_attended.mean;
    for (const CellEstimate& e : m.share) {
      EXPECT_GE(e.mean, 0);
      shares += e.mean;
    }
    for (const CellEstimate& e : m.share_attended) attended += e.mean;
    for (const WaitCause& w : r.waits) {
      if (w.machine != m.name) continue;
      causes += w.share.mean;
      causes_attended += w.share_attended.mean;
    }
    EXPECT_NEAR(attended, 1, 1e-9) << m.name;
    EXPECT_NEAR(causes_attended, 1, 1e-9) << m.name;
    EXPECT_NEAR(shares, 1, 1e-9) << m.name << ": no time counted twice or lost";
    EXPECT_NEAR(causes, 1, 1e-9) << m.name << ": every cause named once";
  }
  for (const CellPersonResult& p : r.people) {
    double sum = 0;
    for (const CellEstimate& e : p.by_task) sum += e.mean;
    EXPECT_NEAR(sum, p.use.mean, 1e-9) << p.name;
    EXPECT_LE(p.use.mean, 1 + 1e-9) << p.name;
  }
  EXPECT_EQ(r.taken_up, r.good + r.lost + r.left_in_process) << "parts in = parts out + parts inside";
  EXPECT_GT(r.good, 0);
  for (std::size_t i = 1; i < r.waits.size(); ++i)
    EXPECT_GE(r.waits[i - 1].share_attended.mean, r.waits[i].share_attended.mean);
  EXPECT_GT(in.replications, 1);
}

TEST(SimulateCell, NothingIsLostOrCountedTwice) {
  const SimulationInputs in = shop();
  const SimulationResult r = run(in);
  expect_sums(in, r);
  EXPECT_NEAR(r.people[0].hours_per_week.mean, 37.5, 1e-9);
  EXPECT_NEAR(r.good_per_year.mean, 48 * r.good_per_week.mean, 1e-6);
  EXPECT_NEAR(r.good_per_shift.mean * 5, r.good_per_week.mean, 1e-9);
  EXPECT_NEAR(r.good_per_attended_hour.mean * 37.5, r.good_per_week.mean, 1e-6);
  EXPECT_GT(r.lost_per_week.mean, 0);
  EXPECT_EQ(r.good % 24, 0) << "the last stage gives whole baskets";
  EXPECT_GE(r.good_per_week.high - r.good_per_week.low, 24 / 4.0 - 1e-9) << "4 weeks, a basket more or less";
  EXPECT_GT(r.machines[1].parts_alone_per_week.mean, 0) << "what is loaded goes on after the shift";
}

TEST(SimulateCell, SameBytesAtAnyThreadCount) {
  SimulationInputs in = shop();
  in.trace = {true, 0, 0, 1, 1};
  const auto bytes = [](const SimulationResult& r) {
    std::string out;
    fettle::base::append_bytes(out, r);
    return out;
  };
  const std::string one = bytes(run(in, 1));
  EXPECT_GT(one.size(), 1000u);
  EXPECT_EQ(one, bytes(run(in, 1)));
  EXPECT_EQ(one, bytes(run(in, 2)));
  EXPECT_EQ(one, bytes(run(in, 4)));
  in.seed = 8;
  EXPECT_NE(one, bytes(run(in, 1)));
}

TEST(SimulateCell, SharesAndLossesComeOutAsGiven) {
  SimulationInputs in = one_machine(60, 0, 1, 10);
  in.stages[0].loss = 0.02;
  CellStage hone = by_hand("hone", 0.1);
  hone.share = 0.4;
  hone.loss = 0.05;
  in.stages.push_back(hone);
  in.horizon = 600000;
  in.replications = 20;
  const SimulationResult r = run(in);
  expect_sums(in, r);
  const double made = in.horizon / 60 * 10 * in.replications;
  const double good = 0.98 * (0.6 + 0.4 * 0.95);
  EXPECT_NEAR(static_cast<double>(r.good) / made, good, 3 * std::sqrt(good * (1 - good) / made));
  const double honed = r.tasks[0].per_week.mean * in.horizon / week / (made / in.replications);
  EXPECT_NEAR(honed, 0.98 * 0.4, 3 * std::sqrt(0.24 / made) + 1e-4);
}

TEST(SimulateCell, WhatTheNightMakes) {
  // Cut 3 h, load 1 h, two sets, a person from 8 to 16. From 8: load to 9, cut 9-12-15-18-21; the last set is ready
  // at 16.
  SimulationInputs in = one_machine(3 * hour, 1 * hour, 2, 4);
  in.people[0].present.clear();
  for (int d = 0; d < 7; ++d) in.people[0].present.push_back({(24 * d + 8) * hour, (24 * d + 16) * hour});
  in.warm_up = week + 1000;
  in.horizon = week;
  const SimulationResult r = run(in);
  expect_sums(in, r);
  EXPECT_NEAR(r.machines[0].parts_per_week.mean, 7 * 4 * 4, 1e-9);
  EXPECT_NEAR(r.machines[0].parts_alone_per_week.mean, 7 * 2 * 4, 1e-9);
  EXPECT_NEAR(r.machines[0].longest_alone, 5 * hour, 1e-6);
  EXPECT_EQ(r.machines[0].parts_in_longest, 8);
  EXPECT_NEAR(r.machines[0].use.mean, 0.5, 1e-9);
  EXPECT_NEAR(r.machines[0].use_attended.mean, 7.0 / 8, 1e-9) << "an hour each morning is loading";
  EXPECT_NEAR(r.machines[0].share[at(SpindleState::nobody)].mean, 11.0 / 24, 1e-9) << "from 21 to 8";
  EXPECT_NEAR(r.people[0].use.mean, 4.0 / 8, 1e-9);
}

TEST(SimulateCell, AMachineThatMayNotRunAloneStands) {
  // The same, standing from 16 to 8: at 16 the third cut has done 1 h and goes on at 8.
  SimulationInputs in = one_machine(3 * hour, 1 * hour, 2, 4);
  in.machines[0].runs_alone = false;
  for (int d = 0; d < 7; ++d) in.people[0].present.push_back({(24 * d + 8) * hour, (24 * d + 16) * hour});
  in.warm_up = 3 * week + 1000;
  in.horizon = 3 * week;
  const SimulationResult r = run(in);
  expect_sums(in, r);
  EXPECT_EQ(r.machines[0].parts_alone_per_week.mean, 0);
  EXPECT_NEAR(r.machines[0].share[at(SpindleState::nobody)].mean, 16.0 / 24, 1e-9);
  EXPECT_NEAR(r.machines[0].use.mean, 8.0 / 24, 1e-9) << "two sets keep it cutting all day";
  EXPECT_NEAR(r.machines[0].cycle.mean, 3 * hour, 1e-6) << "nights are no part of a cycle";
}

TEST(SimulateCell, WorkLeftAtTheEndOfTheShiftGoesOn) {
  // A load of 5 h in shifts of 4 h, cut 1 h while nobody needs to be there: every load takes the hours it takes.
  SimulationInputs in = one_machine(1 * hour, 5 * hour, 1, 1);
  for (int d = 0; d < 7; ++d) in.people[0].present.push_back({(24 * d) * hour, (24 * d + 4) * hour});
  in.horizon = 5 * week;
  const SimulationResult r = run(in);
  expect_sums(in, r);
  // Day 1: 4 h of loading; day 2: 1 h, cut 1 h, 2 h of loading; day 3: 3 h, cut 1 h to the end of the shift. Then
  // again.
  EXPECT_NEAR(r.machines[0].parts_per_week.mean, 7 * 2 / 3.0, 0.1);
  EXPECT_NEAR(r.people[0].use.mean, 10.0 / 12, 0.01);
}

TEST(SimulateCell, EdgesAreChangedBeforeALoadTheyWouldNotLast) {
  // 10 parts an edge, 4 a load: two loads an edge.
  SimulationInputs in = one_machine(100, 20, 1, 4);
  in.machines[0].jobs[0].edges = {{"end mill", 10, constant(30)}};
  in.warm_up = 100 * 270 + 50;
  in.horizon = 1000 * 270;
  SimulationResult r = run(in);
  EXPECT_NEAR(r.machines[0].cycle.mean, 135, 30.0 / 2000) << "loads with and without a change, one more of one kind";
  EXPECT_NEAR(r.machines[0].edges_per_week[0].mean, week / 270, 1e-6);
  EXPECT_NEAR(r.machines[0].share[at(SpindleState::changes_edge)].mean, 15 / 135.0, 1e-9);
  // 3 parts an edge, 8 a load: 8 edges for 3 loads in the long run.
  in = one_machine(100, 20, 1, 8);
  in.machines[0].jobs[0].edges = {{"drill", 3, constant(30)}};
  in.warm_up = 100 * 600;
  in.horizon = 1000 * 600;
  r = run(in);
  EXPECT_NEAR(r.machines[0].cycle.mean, 120 + 30 * 8 / 3.0, 0.05);
}

TEST(SimulateCell, BatchesAndChangeOvers) {
  // 60 through the first job, a change-over, 60 through the second, a change-over.
  SimulationInputs in;
  CellJob first = job(200, 50, 1, 10), second = job(90, 30, 1, 6);
  first.batch = second.batch = 60;
  second.stage = 1;
  in.machines = {machine("A", {first, second})};
  in.machines[0].change_over = constant(1500);
  in.stages = {stage_with("edges"), stage_with("bores")};
  in.stages[0].hold = 120;
  in.people = {person("operator")};
  in.replications = 2;
  const double cycle = 6 * 250 + 10 * 120 + 2 * 1500;
  in.warm_up = 10 * cycle + 100;
  in.horizon = 100 * cycle;
  const SimulationResult r = run(in);
  expect_sums(in, r);
  EXPECT_NEAR(r.good_per_hour.mean, 60 / cycle * hour, 1e-9);
  EXPECT_NEAR(r.machines[0].share[at(SpindleState::changes_over)].mean, 3000 / cycle, 1e-9);
  EXPECT_EQ(r.queues[1].longest, 60);
}

TEST(SimulateCell, AMachineDoesNotChangeBackAndForthForAFewParts) {
  // The machine is quick, what comes after is slow: a batch is begun only when all of it has room.
  SimulationInputs in;
  CellJob first = job(20, 5, 1, 10), second = job(20, 5, 1, 6);
  first.batch = second.batch = 60;
  second.stage = 1;
  in.machines = {machine("A", {first, second})};
  in.machines[0].change_over = constant(1500);
  in.stages = {stage_with("edges"), stage_with("bores"), by_hand("deburr", 100)};
  in.stages[0].hold = in.stages[1].hold = 120;
  in.people = {person("operator"), person("second")};
  in.people[0].does = {"load", "change over"};
  in.people[1].does = {"deburr"};
  in.warm_up = 1e5;
  in.horizon = 1e6;
  const SimulationResult r = run(in);
  EXPECT_NEAR(r.good_per_hour.mean, 36, 0.01) << "the deburring is the limit";
  for (const CellTaskResult& t : r.tasks)
    if (t.name == "change over") {
      EXPECT_LT(t.per_week.mean, 1.1 * 2 * r.good_per_week.mean / 60) << "two for a batch";
    }
}

TEST(SimulateCell, ASlowStageHoldsUpTheOneBefore) {
  SimulationInputs in = one_machine(100, 0, 1, 1);
  in.stages[0].hold = 3;
  in.stages.push_back(by_hand("deburr", 400));
  in.warm_up = 100000 + 33;
  in.horizon = 400 * 1000;
  const SimulationResult r = run(in);
  expect_sums(in, r);
  EXPECT_NEAR(r.good_per_hour.mean, 9, 1e-9);
  EXPECT_EQ(r.queues[1].longest, 3);
  EXPECT_NEAR(r.machines[0].use.mean, 0.25, 1e-9);
  EXPECT_GT(r.machines[0].share[at(SpindleState::waits_room)].mean, 0.5);
  EXPECT_EQ(r.waits[0].waits_for + " " + r.waits[0].because, "room deburr");
  // 3 wait, or 2 wait and 1 is milled; 1 is deburred: 4 inside, each for 4 times 400 s.
  EXPECT_NEAR(r.in_process.mean, 4, 1e-9);
  EXPECT_NEAR(r.through.mean, 1600, 1e-6);
}

TEST(SimulateCell, BasketsWaitUntilTheyAreFull) {
  SimulationInputs in = one_machine(60, 0, 1, 1);
  CellStage wash = by_hand("wash", 30);
  wash.lot = 24;
  wash.task.per = TaskPer::load;
  wash.soak = 900;
  wash.bench = 0;
  in.benches = {{"washer", 1}};
  in.stages.push_back(wash);
  in.warm_up = 24 * 60 * 10 + 5;
  in.horizon = 24 * 60 * 100;
  const SimulationResult r = run(in);
  expect_sums(in, r);
  EXPECT_EQ(r.good % 24, 0);
  EXPECT_NEAR(r.good_per_hour.mean, 60, 1e-9);
  EXPECT_NEAR(r.queues[1].mean.mean, 11.5, 1e-9) << "0 to 23 wait, evenly";
  EXPECT_NEAR(r.people[0].use.mean, 30 / 1440.0, 1e-9);
}

TEST(SimulateCell, DeliveriesLimitTheMachine) {
  SimulationInputs in = one_machine(60, 0, 1, 8);
  in.supply_lot = 240;
  in.supply_every = week;
  in.warm_up = week - 10;
  in.horizon = 10 * week;
  const SimulationResult r = run(in);
  expect_sums(in, r);
  EXPECT_NEAR(r.good_per_week.mean, 240, 1e-9);
  EXPECT_NEAR(r.machines[0].use.mean, 30 * 60 / week, 1e-9);
  EXPECT_NEAR(r.machines[0].share[at(SpindleState::waits_parts)].mean, 1 - 30 * 60 / week, 1e-9);
  EXPECT_EQ(r.waits[0].waits_for, "parts");
  EXPECT_EQ(r.waits[0].because, "delivery");
}

TEST(SimulateCell, TheUrgentGoesFirstAndTheBlameIsNamed) {
  // Honing of a share of the parts. With a low number it holds up the loading, with a high one it fills what is left.
  SimulationInputs in = one_machine(300, 60, 2, 1);
  CellStage hone = by_hand("hone", 500, 90);
  hone.share = 0.4;
  in.stages.push_back(hone);
  in.warm_up = 1e5;
  in.horizon = 1e6;
  const double patient = run(in).machines[0].use.mean;
  in.stages[1].task.priority = 10;
  const SimulationResult r = run(in);
  EXPECT_LT(r.machines[0].use.mean, patient);
  const auto blamed = std::find_if(r.waits.begin(), r.waits.end(), [](const WaitCause& w) {
    return w.state == SpindleState::waits_person && w.waits_for == "load" && w.because == "hone";
  });
  ASSERT_NE(blamed, r.waits.end());
  EXPECT_GT(blamed->share.mean, 0.1);
  // A second person who only hones frees the first one; one who only loads does as well.
  in.people.push_back(person("second"));
  in.people[0].does = {"load"};
  in.people[1].does = {"hone"};
  const SimulationResult two = run(in);
  EXPECT_NEAR(two.people[1].by_task[0].mean, 0, 1e-12);
  EXPECT_NEAR(two.people[1].use.mean, 0.4 * 500 / 300, 0.02);
  EXPECT_NEAR(two.machines[0].use.mean, 1, 1e-9);
  EXPECT_NEAR(two.machines[0].share[at(SpindleState::waits_person)].mean, 0, 1e-12);
}

TEST(SimulateCell, BetterWorkWaitsForOnePartNotForTheLot) {
  // A basket of 24 takes 240 s by hand, part by part; a machine that stands waits 10 s for its load at most.
  SimulationInputs in = one_machine(100, 20, 1, 1);
  CellStage wash = by_hand("wash", 10, 60);
  wash.lot = 24;
  in.stages.push_back(wash);
  in.warm_up = 1e4;
  in.horizon = 1e5;
  const SimulationResult r = run(in);
  expect_sums(in, r);
  EXPECT_LE(r.tasks[0].wait.mean, 10);
  EXPECT_LT(r.machines[0].cycle.mean, 120 + 24 * 10 / 24.0 + 1);
  in.stages[1].task.per = TaskPer::load;  // in one piece
  in.stages[1].task.time = constant(240);
  EXPECT_GT(run(in).machines[0].share[at(SpindleState::waits_person)].mean,
            2 * r.machines[0].share[at(SpindleState::waits_person)].mean);
}

TEST(SimulateCell, PreferencesOfAPersonBeatPriorities) {
  SimulationInputs in = one_machine(300, 60, 2, 1);
  in.stages.push_back(by_hand("hone", 500, 90));
  in.stages[1].share = 0.4;
  in.warm_up = 1e5;
  in.horizon = 1e6;
  const double patient = run(in).machines[0].use.mean;
  in.people[0].does = {"hone", "load"};
  EXPECT_LT(run(in).machines[0].use.mean, patient);
}

TEST(SimulateCell, ABeginnerTakesLonger) {
  SimulationInputs in = one_machine(100, 100, 1, 1);
  in.people[0].pace = 1.5;
  in.warm_up = 250 * 10 + 20;
  in.horizon = 250 * 100;
  EXPECT_NEAR(run(in).machines[0].cycle.mean, 250, 1e-9);
}

TEST(SimulatePicture, OneCycleWithoutGapOrOverlap) {
  SimulationInputs in = one_machine(12 * minute, 7 * minute, 2, 4);
  in.machines[0].jobs[0].swap = constant(30);
  in.warm_up = 10 * 12.5 * minute + 100;
  in.horizon = 100 * 12.5 * minute;
  in.trace = {true, 0, 0, 0, 1};
  SimulationResult r = run(in);
  EXPECT_NEAR(r.trace_length, 12.5 * minute, 1e-6);
  ASSERT_EQ(r.trace.size(), 4u);
  const TraceBar expected[] = {{"operator", "load", 0, 420, false, "B"},
                               {"B", "cuts", 0, 720, false},
                               {"operator", "free", 420, 750, true},
                               {"B", "swaps", 720, 750, false}};
  for (const TraceBar& e : expected) {
    const auto found = std::find_if(r.trace.begin(), r.trace.end(), [&](const TraceBar& b) {
      return b.who == e.who && b.what == e.what && std::fabs(b.from - e.from) < 1e-6 && std::fabs(b.to - e.to) < 1e-6 &&
             b.waiting == e.waiting && b.where == e.where;
    });
    EXPECT_NE(found, r.trace.end()) << e.who << " " << e.what;
  }
  in = shop();
  in.trace = {true, 2 * 24 * hour, 3 * 24 * hour, 0, 0};
  r = run(in);
  EXPECT_NEAR(r.trace_length, 3 * 24 * hour, 1e-6);
  std::map<std::string, double> end;
  for (const TraceBar& b : r.trace) {
    EXPECT_NEAR(b.from, end[b.who], 1e-6) << b.who << " " << b.what;
    EXPECT_GT(b.to, b.from);
    end[b.who] = b.to;
  }
  EXPECT_EQ(end.size(), 5u) << "operator, two machines, hone, washer";
  for (const auto& [who, to] : end) EXPECT_NEAR(to, r.trace_length, 1e-6) << who;
}

/// A cell drawn at random: machines with one job or two, sets, edges, stops, stages by hand, benches, shifts.
SimulationInputs random_cell(std::uint64_t n) {
  std::uint32_t next = 0;
  const auto u = [&] { return fettle::maths::uniform(99, n, next++); };
  const auto whole = [&](int low, int high) { return low + static_cast<int>(u() * (high - low + 1)); };
  const auto time = [&](double most) {
    return TaskTime{u() < 0.2 ? 0 : u() * most, u() < 0.5 ? 0 : u(),
                    u() < 0.1 ? TimeScatter::exponential : TimeScatter::lognormal};
  };
  const auto tasks = [&](const char* name) {
    std::vector<HandTask> out;
    for (int i = whole(0, 2); i > 0; --i)
      out.push_back({name, time(200), static_cast<TaskPer>(whole(0, 2)), whole(1, 60)});
    return out;
  };
  SimulationInputs in;
  for (int b = whole(0, 2); b > 0; --b) in.benches.push_back({"bench " + std::to_string(b), whole(1, 2)});
  const int stages = whole(1, 5);
  for (int i = 0; i < stages; ++i) {
    CellStage s = stage_with("S" + std::to_string(i));
    s.share = i == 0 || u() < 0.5 ? 1 : u();
    s.loss = u() < 0.5 ? 0 : 0.3 * u();
    s.lot = whole(1, 5);
    s.hold = u() < 0.5 ? 0 : whole(80, 120);
    s.task = {"", time(300), static_cast<TaskPer>(whole(0, 2)), whole(1, 60)};
    s.task.time.mean += 20;
    s.soak = u() < 0.6 ? 0 : u() * 500;
    s.bench = whole(-1, static_cast<int>(in.benches.size()) - 1);
    in.stages.push_back(s);
  }
  for (int i = whole(0, 3); i > 0; --i) {
    CellMachine m;
    m.name = "M" + std::to_string(i);
    for (int j = whole(1, 2); j > 0; --j) {
      CellJob job;
      job.stage = whole(0, stages - 1);
      job.pallets = whole(1, 2);
      job.per_pallet = whole(1, 4);
      job.sets = whole(1, 3);
      job.run = time(2000);
      job.run.mean += 10;
      job.swap = time(60);
      job.swap_by_person = u() < 0.4;
      job.swap_rest = u() < 0.8 ? 0 : 40 * u();
      job.probe = time(30);
      job.take_off = tasks("off");
      job.put_on = tasks("on");
      job.batch = u() < 0.5 ? 0 : whole(1, 40);
      for (int e = whole(0, 2); e > 0; --e) job.edges.push_back({"edge", whole(1, 40), time(200)});
      m.jobs.push_back(job);
    }
    m.change_over = time(1000);
    m.runs_alone = u() < 0.7;
    m.stop_every = u() < 0.5 ? 0 : 500 + u() * 50000;
    m.stop = time(1000);
    m.stop_needs_person = u() < 0.7;
    in.machines.push_back(m);
  }
  for (int i = whole(1, 3); i > 0; --i) {
    CellPerson p = person("P" + std::to_string(i));
    if (u() < 0.6) p.present = one_shift((20 + 30 * u()) * hour, whole(5, 7), whole(0, 8) * hour, u() < 0.5 ? 0 : hour);
    p.pace = 0.8 + u();
    in.people.push_back(p);
  }
  if (u() < 0.3) {
    in.supply_lot = whole(10, 200);
    in.supply_every = 24 * hour * (0.5 + u());
  }
  in.warm_up = u() < 0.5 ? 0 : week * u();
  in.horizon = week * (0.5 + u());
  in.replications = 2;
  in.seed = n;
  in.trace = {true, in.horizon * 0.3 * u(), in.horizon * 0.5 * u() + 1, 0, 0};
  return in;
}

TEST(SimulateCell, RandomCellsKeepTheirParts) {
  int useful = 0, with_machines = 0;
  for (std::uint64_t n = 0; n < 300; ++n) {
    const SimulationInputs in = random_cell(n);
    SCOPED_TRACE("cell " + std::to_string(n));
    const SimulationResult r = run(in);
    EXPECT_EQ(r.taken_up, r.good + r.lost + r.left_in_process);
    useful += r.good > 0 ? 1 : 0;
    with_machines += in.machines.empty() ? 0 : 1;
    for (const CellMachineResult& m : r.machines) {
      double all = 0, causes = m.use.mean;
      for (const CellEstimate& e : m.share) all += e.mean;
      for (const WaitCause& w : r.waits)
        if (w.machine == m.name) causes += w.share.mean;
      EXPECT_NEAR(all, 1, 1e-9);
      EXPECT_NEAR(causes, 1, 1e-9);
    }
    for (const CellPersonResult& p : r.people) EXPECT_LE(p.use.mean, 1 + 1e-9);
    for (const CellQueueResult& q : r.queues) EXPECT_GE(q.mean.mean, 0);
    std::map<std::string, double> end;
    for (const TraceBar& b : r.trace) {
      EXPECT_NEAR(b.from, end[b.who], 1e-6) << b.who;
      end[b.who] = b.to;
    }
    for (const auto& [who, to] : end) EXPECT_NEAR(to, r.trace_length, 1e-6) << who;
  }
  EXPECT_GT(useful, 250);
  EXPECT_GT(with_machines, 150);
}

// ---- refusals

std::string refused(const SimulationInputs& in) {
  const fettle::Outcome<SimulationResult> r = simulate(in);
  std::string out;
  if (!r.ok())
    for (const fettle::Problem& p : r.problems()) out += fettle::say(p) + "\n";
  return out;
}
/// The shop with one thing changed.
template <class F>
std::string refused(F change) {
  SimulationInputs in = shop();
  in.warm_up = 0;
  in.horizon = week;
  EXPECT_EQ(refused(in), "");
  change(in);
  return refused(in);
}

TEST(SimulateRefuses, OneBadValuePerBound) {
  const double nan = std::nan(""), inf = HUGE_VAL;
  using In = SimulationInputs;
  const auto expect = [](const std::string& got, const std::string& word) {
    EXPECT_NE(got.find(word), std::string::npos) << "<" << got << "> should speak of " << word;
  };
  for (double bad : {0.0, -1.0, nan, inf})
    expect(refused([&](In& i) { i.machines[1].jobs[0].run.mean = bad; }), "cutting");
  for (double bad : {-1.0, nan, inf}) {
    expect(refused([&](In& i) { i.machines[1].jobs[0].swap.mean = bad; }), "swap");
    expect(refused([&](In& i) { i.machines[1].jobs[0].probe.mean = bad; }), "probing");
    expect(refused([&](In& i) { i.machines[1].jobs[0].swap_rest = bad; }), "rest of the swap");
    expect(refused([&](In& i) { i.machines[1].jobs[0].take_off[0].time.mean = bad; }), "unload");
    expect(refused([&](In& i) { i.machines[1].jobs[0].put_on[0].time.mean = bad; }), "clean");
    expect(refused([&](In& i) { i.machines[1].jobs[0].edges[0].change.mean = bad; }), "T11");
    expect(refused([&](In& i) { i.machines[0].change_over.mean = bad; }), "change-over");
    expect(refused([&](In& i) { i.machines[0].stop_every = bad; }), "between stops");
    expect(refused([&](In& i) { i.machines[1].stop.mean = bad; }), "stop");
    expect(refused([&](In& i) { i.stages[4].task.time.mean = bad; }), "hone");
    expect(refused([&](In& i) { i.stages[6].soak = bad; }), "unattended wait");
    expect(refused([&](In& i) { i.warm_up = bad; }), "warm-up");
  }
  for (double bad : {-0.1, 3.1, nan}) expect(refused([&](In& i) { i.stages[4].task.time.cv = bad; }), "scatters");
  for (double bad : {-0.1, 1.1, nan}) {
    expect(refused([&](In& i) { i.stages[4].share = bad; }), "share");
    expect(refused([&](In& i) { i.stages[4].loss = bad; }), "loss");
  }
  expect(refused([&](In& i) { i.stages[0].share = 0.9; }), "first stage");
  for (double bad : {0.0, -1.0, nan, inf}) expect(refused([&](In& i) { i.horizon = bad; }), "time to look at");
  for (int bad : {-1, 7}) expect(refused([&](In& i) { i.machines[1].jobs[0].stage = bad; }), "stage that is not there");
  for (int bad : {0, 1001}) {
    expect(refused([&](In& i) { i.machines[1].jobs[0].pallets = bad; }), "pallets");
    expect(refused([&](In& i) { i.machines[1].jobs[0].per_pallet = bad; }), "parts on a pallet");
    expect(refused([&](In& i) { i.benches[0].count = bad; }), "how many");
  }
  for (int bad : {0, 21}) expect(refused([&](In& i) { i.machines[1].jobs[0].sets = bad; }), "sets");
  expect(refused([&](In& i) { i.machines[1].jobs[0].batch = -1; }), "batch");
  expect(refused([&](In& i) { i.machines[1].jobs[0].edges[0].parts = 0; }), "T11");
  for (int bad : {-2, 2}) expect(refused([&](In& i) { i.stages[4].bench = bad; }), "bench");
  expect(refused([&](In& i) { i.stages[6].lot = 0; }), "lot");
  expect(refused([&](In& i) { i.stages[0].hold = -1; }), "hold");
  expect(refused([&](In& i) { i.stages[0].hold = 118; }), "fewer may stand");
  expect(refused([&](In& i) { i.machines[0].jobs.clear(); }), "nothing to do");
  expect(refused([&](In& i) { i.machines[0].name.clear(); }), "name");
  expect(refused([&](In& i) { i.stages[3].name.clear(); }), "name");
  expect(refused([&](In& i) { i.people[0].name.clear(); }), "name");
  expect(refused([&](In& i) { i.machines[0].name = "B"; }), "same name");
  expect(refused([&](In& i) { i.people[0].name = "washer"; }), "same name");
  expect(refused([&](In& i) { i.people.clear(); }), "nobody may do");
  expect(refused([&](In& i) { i.people[0].does = {"load", "honn"}; }), "did you mean \"hone\"");
  for (double bad : {0.0, 0.09, 10.1, nan}) expect(refused([&](In& i) { i.people[0].pace = bad; }), "pace");
  expect(refused([&](In& i) { i.people[0].present = {{5, 4}}; }), "hours of the week");
  expect(refused([&](In& i) { i.people[0].present = {{0, 10}, {5, 20}}; }), "hours of the week");
  expect(refused([&](In& i) { i.people[0].present = {{0, week + 1}}; }), "hours of the week");
  expect(refused([&](In& i) { i.people[0].present = {{nan, 10}}; }), "hours of the week");
  expect(refused([&](In& i) { i.supply_lot = -1; }), "delivery");
  expect(refused([&](In& i) { i.supply_lot = 10; }), "between deliveries");
  for (int bad : {1, 10001}) expect(refused([&](In& i) { i.replications = bad; }), "replications");
  for (double bad : {0.0, 1.0, nan}) expect(refused([&](In& i) { i.confidence = bad; }), "confidence");
  for (double bad : {0.0, 28.5, nan}) expect(refused([&](In& i) { i.shifts_per_week = bad; }), "shifts");
  for (double bad : {0.0, 53.5, nan}) expect(refused([&](In& i) { i.weeks_per_year = bad; }), "weeks");
  expect(refused([&](In& i) { i.trace = {true, -1, 10, 0, 0}; }), "start of the picture");
  expect(refused([&](In& i) { i.trace = {true, 0, 0, 0, 0}; }), "length of the picture");
  expect(refused([&](In& i) { i.trace = {true, 0, 0, 2, 1}; }), "machine of the picture");
  expect(refused([&](In& i) { i.stages.clear(); }), "stages");
}

TEST(SimulateRefuses, SaysEverythingAtOnce) {
  const std::string all = refused([](SimulationInputs& i) {
    i.machines[0].jobs[0].run.mean = -1;
    i.stages[4].loss = 2;
    i.horizon = 0;
  });
  EXPECT_EQ(std::count(all.begin(), all.end(), '\n'), 3);
}

TEST(SimulateRefuses, FirstStageByHandWithoutTimeWouldNeverEnd) {
  SimulationInputs in;
  in.stages = {by_hand("look", 0)};
  in.people = {person("operator")};
  in.horizon = 100;
  EXPECT_NE(refused(in).find("never end"), std::string::npos);
}

TEST(SimulateCell, AStartWithNothingGoodIsSaid) {
  SimulationInputs in = one_machine(1000, 0, 1, 1);
  in.horizon = 100;
  const SimulationResult r = run(in);
  EXPECT_EQ(r.good_per_week.mean, 0);
  ASSERT_EQ(r.notes.size(), 1u);
}

TEST(SimulateShift, HoursAddUp) {
  const std::vector<PresentSpan> s = one_shift(37.5 * hour, 5, 7 * hour, 0.5 * hour);
  ASSERT_EQ(s.size(), 10u);
  double sum = 0;
  for (const PresentSpan& p : s) sum += p.to - p.from;
  EXPECT_NEAR(sum, 37.5 * hour, 1e-6);
  EXPECT_NEAR(s[1].from - s[0].to, 0.5 * hour, 1e-9);
  EXPECT_NEAR(s[2].from, (24 + 7) * hour, 1e-9);
  EXPECT_EQ(one_shift(40 * hour, 5, 0, 0).size(), 5u);
}

}  // namespace
