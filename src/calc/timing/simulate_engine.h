#pragma once
// One replication of the cell, for simulate.cpp alone: what it counts, and the run itself.
#include <vector>

#include "calc/timing/simulate.h"

namespace fettle::timing {

/// Name and place of one kind of work that ties a person.
struct WorkKind {
  enum class What { take_off, put_on, swap, edge, change_over, stop, hand } what = What::hand;
  std::string name;
  int machine = -1, job = -1, index = -1;  ///< index in take_off or put_on
  int stage = -1;                          ///< by hand
  int priority = 50;
};
/// All kinds of work in a fixed order: machine by machine, job by job, then the stages done by hand.
std::vector<WorkKind> work_kinds(const SimulationInputs& in);
/// Stages that no machine does.
std::vector<bool> done_by_hand(const SimulationInputs& in);

/// Why a spindle does not cut: state, the work it waits for or that is done on it (-1: none), and what those who could
/// do it do instead (-1: nothing else). While it waits for parts or room: the stage before (-1: delivery) or after.
struct StandTally {
  SpindleState state{};
  int waits_for = -1, because = -1;
  double time = 0, attended = 0;  ///< in all; while somebody is there
};
struct MachineTally {
  std::array<double, spindle_states> time{}, attended{};
  double cycle_sum = 0;
  long long cycles = 0, parts = 0, parts_alone = 0;
  double longest_alone = 0;
  int parts_in_longest = 0;
  std::vector<StandTally> stands;
  std::vector<long long> edges;
};
struct KindTally {
  long long begun = 0, waited = 0;
  double wait = 0;
};
struct QueueTally {
  double area = 0;
  int longest = 0;
  long long arrived = 0, lost = 0;
};
/// What one replication counts after its warm-up (totals: from the start). Times in s.
struct Tally {
  std::vector<MachineTally> machines;
  std::vector<double> present;            ///< by person
  std::vector<std::vector<double>> work;  ///< by person and kind
  std::vector<KindTally> kinds;
  std::vector<QueueTally> queues;
  double attended = 0, in_process_area = 0;
  long long good = 0, lost = 0;
  long long total_taken = 0, total_good = 0, total_lost = 0, total_left = 0, events = 0;
  std::vector<TraceBar> trace;
  double trace_length = 0;
  bool stuck = false, too_long = false;
};
/// Inputs must have been checked.
Tally run_once(const SimulationInputs& in, int replication);

}  // namespace fettle::timing
