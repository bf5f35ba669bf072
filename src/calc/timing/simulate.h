#pragma once
// A small shop cell over weeks: machines with pallet sets, people who load, gauge, hone and change edges, baskets that
// wash by themselves, nights in which nobody is there. Discrete events, seeded, the same bytes at any thread count.
#include <array>
#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"

namespace fettle::timing {

/// How a time scatters. Lognormal is what stopwatches show for hand work: never negative, a long right tail; and one
/// normal number makes one time, so the same draw with another scatter stays comparable. Exponential (the cv is then 1
/// whatever stands there) is for stops that come at random and for comparison with queueing tables.
enum class TimeScatter { lognormal, exponential };

/// A time that is taken again and again: mean in s, cv = standard deviation over mean (0: always the mean).
struct TaskTime {
  double mean = 0;  ///< s
  double cv = 0;
  TimeScatter scatter = TimeScatter::lognormal;
};

/// How often the time of a task is taken, each with its own draw: for every part, every pallet, or once a load.
enum class TaskPer { part, pallet, load };

/// Work that ties one person. `name` is what a person's list of skills names and what the picture shows. Of two tasks
/// that wait, the one with the lower priority number goes first, then the older one. Work on several parts or pallets
/// may be left between two of them for a better task; within one it is left only when the shift ends, and whoever is
/// there next takes it up. Names of the work that needs no HandTask: "swap", "change edge", "change over", "stop".
struct HandTask {
  std::string name;
  TaskTime time;
  TaskPer per = TaskPer::part;
  int priority = 50;
};

/// An edge that lasts `parts` whole parts. It is changed between two loads, by a person, with the machine standing,
/// before a load that it would not last through; the parts it had left are thrown away with it. An edge that lasts less
/// than a load is changed within it, at whole parts; that time too is counted before the load.
struct CellEdge {
  std::string name;
  int parts = 1;
  TaskTime change;
};

/// What a machine does at one stage of the route.
struct CellJob {
  int stage = 0;    ///< place in SimulationInputs::stages
  int pallets = 1;  ///< pallets (or vises) on the table in one load
  int per_pallet = 1;
  int sets = 1;   ///< 1: loaded on the machine, which stands meanwhile; 2 and more: the others stand outside
  TaskTime run;   ///< s, cutting, the whole load
  TaskTime swap;  ///< s, spindle to spindle, one load out and the next in
  bool swap_by_person = false;  ///< ties a person, else the machine does it alone
  double swap_rest = 0;         ///< s, what the machine still does alone after that
  int swap_priority = 10;
  TaskTime probe;                  ///< s, after the swap, nobody needed
  std::vector<HandTask> take_off;  ///< in this order: finished parts off; then they stand before the next stage
  std::vector<HandTask> put_on;    ///< in this order, as soon as a load of parts is there
  int batch = 0;                   ///< parts before another job of this machine may take over; 0: only when it starves
  std::vector<CellEdge> edges;
  int edge_priority = 15;
};

/// A machine with one spindle. Several machines may work at the same stage.
struct CellMachine {
  std::string name;
  std::vector<CellJob> jobs;  ///< the first is set up at the start
  TaskTime change_over;       ///< s, to another job, ties a person
  int change_over_priority = 20;
  bool runs_alone = true;  ///< false: it stands while nobody is there
  double stop_every = 0;   ///< s of cutting between stops that come at random; 0: none
  TaskTime stop;           ///< s, a stop
  bool stop_needs_person = true;
  int stop_priority = 5;
};

/// A bench, hone or washer of which there are `count`.
struct CellBench {
  std::string name;
  int count = 1;
};

/// One step of the route. Machines that name it do it; when none does, people do it, lot by lot.
struct CellStage {
  std::string name;
  double share = 1;  ///< of the parts that come here need it; the others go on at once
  double loss = 0;   ///< share of the parts done here that are found bad here and leave
  int hold = 0;      ///< no load for this stage is begun while so many stand before the next one; 0: no limit
  int lot = 1;       ///< parts in one go, by hand (a basket)
  HandTask task;     ///< by hand; TaskPer::pallet counts as once a lot
  double soak = 0;   ///< s, after the task, unattended; the bench stays taken
  int bench = -1;    ///< place in SimulationInputs::benches, or -1
};

/// A stretch of the week, s from Monday 0:00, from < to.
struct PresentSpan {
  double from = 0, to = 0;
};

/// Somebody. `does` lists task names in the order this person prefers; empty: everything, by priority.
struct CellPerson {
  std::string name;
  std::vector<std::string> does;
  std::vector<PresentSpan> present;  ///< every week the same; empty: always
  double pace = 1;                   ///< factor on the hand times (1.3: a beginner)
};

/// A stretch of the first replication to be kept as a picture.
struct TraceWindow {
  bool there = false;
  double after = 0;   ///< s after the warm-up
  double length = 0;  ///< s; used when cycles is 0
  int machine = 0;    ///< whole cycles of this machine, from one start of cutting to another
  int cycles = 0;
};

/// The cell. Nothing is assumed: a cell without people needs machines without tasks.
struct SimulationInputs {
  std::vector<CellMachine> machines;
  std::vector<CellStage> stages;  ///< the route, in order; parts go from each to the next
  std::vector<CellBench> benches;
  std::vector<CellPerson> people;
  int supply_lot = 0;       ///< parts that come in every supply_every; 0: there is always enough before the first stage
  double supply_every = 0;  ///< s
  double warm_up = 0;       ///< s, before anything is counted
  double horizon = 0;       ///< s, counted
  int replications = 10;
  double confidence = 0.95;
  double shifts_per_week = 5;
  double weeks_per_year = 48;
  unsigned long long seed = 1;
  TraceWindow trace;
};

/// Mean over the replications, its confidence interval (Student's t), and the standard deviation between replications.
struct CellEstimate {
  double mean = 0, low = 0, high = 0, s = 0;
};

/// What a spindle is doing at any moment; exactly one of these.
enum class SpindleState {
  cuts,
  probes,
  swaps,
  handled,       ///< stands while somebody loads it, or loads the set it waits for
  waits_person,  ///< somebody who can do it is there, but busy
  waits_parts,   ///< the stage before has not made enough
  waits_room,    ///< too many parts stand before the next stage
  changes_edge,
  changes_over,
  stopped,
  nobody  ///< stands because nobody is there
};
constexpr std::size_t spindle_states = 11;
/// "cuts", "waits for a person", ...
std::string_view word(SpindleState state);

/// One machine over all replications.
struct CellMachineResult {
  std::string name;
  std::array<CellEstimate, spindle_states> share;           ///< of all time, by SpindleState; they sum to 1
  std::array<CellEstimate, spindle_states> share_attended;  ///< of the time in which somebody is there; sum to 1
  CellEstimate use;                                         ///< cutting, of all time
  CellEstimate use_attended;                                ///< cutting, of the time in which somebody is there
  CellEstimate cycle;                 ///< s, between two starts of cutting, less what it stands with nobody there
  CellEstimate parts_per_week;        ///< cut here
  CellEstimate parts_alone_per_week;  ///< cut while nobody was there
  double longest_alone = 0;           ///< s, longest stretch that it ran on between two touches by people
  int parts_in_longest = 0;           ///< whole loads finished in that stretch, in parts
  std::vector<CellEstimate> edges_per_week;  ///< over the edges of all jobs, in their order
};

/// One person over all replications.
struct CellPersonResult {
  std::string name;
  CellEstimate use;                   ///< working, of the time present
  CellEstimate hours_per_week;        ///< present, in h
  std::vector<CellEstimate> by_task;  ///< working, of the time present, in the order of SimulationResult::tasks
};

/// All tasks of one kind at one place. A lot by hand asks when it, and a bench for it, is there and the lot before it
/// has been begun; how long parts stand is in CellQueueResult.
struct CellTaskResult {
  std::string name, where, stage;  ///< "load", "B", "OP30"; no stage: change-overs and stops
  CellEstimate per_week;           ///< how often it is begun
  CellEstimate waited;             ///< share of them for which nobody was free at once
  CellEstimate wait;               ///< s, from asking to beginning, mean over all
};

/// Parts that stand before a stage.
struct CellQueueResult {
  std::string stage;  ///< parts that stand before it
  CellEstimate mean;  ///< parts
  int longest = 0;
  CellEstimate wait;  ///< s, mean
  CellEstimate lost_per_week;
};

/// One cause for which a spindle does not cut. All causes of a machine and its cutting sum to 1, over all time and over
/// the time in which somebody is there.
struct WaitCause {
  std::string machine;
  SpindleState state{};
  std::string waits_for;  ///< the work, or "parts", "room", "probing", "swap", "repair"
  std::string because;  ///< what those who could do it do instead; the stage before or after; empty: it takes that long
  CellEstimate share;   ///< of all time
  CellEstimate share_attended;  ///< of the time in which somebody is there: the list goes by it
};

/// A stretch of the picture. Bars of one `who` follow one another without gap or overlap.
struct TraceBar {
  std::string who, what;
  double from = 0, to = 0;  ///< s from the start of the window
  bool waiting = false;     ///< waits, is free, or is away
  std::string where;        ///< the machine at which a person works, or empty
};

/// What came out.
struct SimulationResult {
  CellEstimate good_per_hour;           ///< of all time
  CellEstimate good_per_attended_hour;  ///< all good parts over the hours in which somebody is there
  CellEstimate good_per_shift, good_per_week, good_per_year;  ///< never surer than half the last stage's lot
  CellEstimate lost_per_week;
  CellEstimate in_process;  ///< parts taken up and not yet finished, mean
  CellEstimate through;     ///< s, from taking up to leaving, mean, by Little's law (in process over what leaves)
  std::vector<CellMachineResult> machines;
  std::vector<CellPersonResult> people;
  std::vector<CellTaskResult> tasks;
  std::vector<CellQueueResult> queues;  ///< by stage
  std::vector<WaitCause> waits;         ///< largest first
  std::vector<TraceBar> trace;
  double trace_length = 0;  ///< s
  /// Of all replications together, from the very start: taken up = good + lost + still in process.
  long long taken_up = 0, good = 0, lost = 0, left_in_process = 0;
  long long events = 0;
  std::vector<std::string> notes;
};

/// Runs the cell. Problems: times that are negative or not finite, cv outside 0..3, shares outside 0..1, jobs that name
/// no stage, tasks that nobody is allowed to do, holds below the batch that they must fill, and more, all at once.
/// Replications may be spread over threads; the result does not depend on it.
Outcome<SimulationResult> simulate(const SimulationInputs& in, int threads = 1);

/// One shift a day for `days` days a week that gives `hours` a week, beginning at `start` (s after midnight), with a
/// break of `pause` in the middle of each (not counted as hours). All in s.
std::vector<PresentSpan> one_shift(double hours, int days, double start, double pause);

}  // namespace fettle::timing
