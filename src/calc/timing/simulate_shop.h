#pragma once
// The state of one replication and what moves it, for the simulate_*.cpp files alone. Time goes on in
// simulate_engine.cpp; what people do is in simulate_people.cpp, what machines do in simulate_machines.cpp.
#include <cmath>
#include <cstdint>
#include <deque>
#include <limits>
#include <vector>

#include "calc/timing/simulate_engine.h"
#include "maths/random.h"

namespace fettle::timing::shop {

constexpr double never = std::numeric_limits<double>::infinity();
constexpr double week = 7 * 24 * 3600.0;
constexpr long long most_events = 200'000'000, most_at_once = 1'000'000;
using What = WorkKind::What;

/// A time ready to be drawn: its own stream, its logarithmic mean and scatter.
struct Drawn {
  double mean = 0, mu = 0, sigma = 0;
  bool exponential = false;
  std::uint64_t stream = 0;
  std::uint32_t next = 0;
};
/// What one kind of work takes.
struct WorkTime {
  std::vector<Drawn> each;  ///< one, but for edges one per edge
  int times = 1;            ///< parts, pallets or 1
};

struct Work {
  int kind = -1, set = -1;  ///< set of the job, for loading
  double asked = 0;
  double left = -1;  ///< s at pace 1 of the part in hand; < 0: not yet begun
  int rest = -1;     ///< parts after that one; < 0: nothing begun yet
};
struct Set {
  enum class Phase { empty, putting_on, ready, cutting, done, taking_off } phase = Phase::empty;
  int task = 0;         ///< place in take_off or put_on
  bool active = false;  ///< somebody works on it now
};
struct JobState {
  std::vector<Set> sets;
  std::vector<int> left;  ///< whole parts left in each edge
  std::vector<int> due;   ///< changes before the load that is about to be cut
  int load = 0, edge_base = 0;
  int swap_kind = -1, edge_kind = -1, take_off_kind = -1, put_on_kind = -1;
  Drawn run, swap, probe;
};
struct Mill {
  enum class Phase { idle, changing_over, swapping, changing_edge, probing, cutting, stopped } phase = Phase::idle;
  int job = 0, to_job = -1;  ///< to_job: while changing over
  int in_job = -1, in_set = -1, next_set = -1;
  int made = 0;  ///< parts since the last change-over
  double until = never, frozen = -1;
  double cut_left = 0, stop_left = never, segment = 0;
  bool resting = false;                       ///< the machine's own part of the swap
  bool by_person = false, worked_on = false;  ///< the phase needs a person, who is at it
  std::vector<JobState> jobs;
  int over_kind = -1, stop_kind = -1;
  Drawn stop_gap, stop_time;
  double last_start = -1, nobody = 0, nobody_at_start = 0;
  int touches = 0, parts_alone = 0;
  double alone_since = 0, ran_until = 0;
  SpindleState shows = SpindleState::waits_parts;
  int shows_kind = -1;
};
struct Hand {
  int waiting = 0;
  double askable_since = never;
  std::deque<double> soaking;  ///< when each lot is ready; all of a stage take the same time
  Drawn lost, skipped;
};
struct Who {
  bool here = true;
  bool busy = false;
  Work work;
  double until = never, turn = never;
  int span = 0;
  double week_start = 0;
};
/// One row of the picture.
struct Row {
  int code = 0;
  double since = 0;
};

/// One replication.
class Shop {
 public:
  Shop(const SimulationInputs& inputs, int replication);
  Tally run();

 private:
  const SimulationInputs& in;
  std::uint64_t rep;
  std::vector<WorkKind> kinds;
  std::vector<bool> by_hand;
  std::vector<WorkTime> kind_time;
  std::vector<Mill> mills;
  std::vector<Hand> hands;
  std::vector<Who> people;
  std::vector<std::vector<int>> prefers;  ///< by person and kind; never_does: cannot
  std::vector<Work> pending;
  std::vector<int> bench_free;
  Tally tally;
  double now = 0, supply_next = never;
  int here = 0;
  long long in_process = 0;
  std::uint64_t streams = 0;
  std::size_t first_hand_kind = 0;
  bool traces = false, tracing = false, traced = false;
  double trace_from = never;
  int trace_starts = 0;
  std::vector<Row> rows;
  static constexpr int never_does = std::numeric_limits<int>::max();

  // random numbers: one stream for every use of a time, so that a change here does not shift the draws elsewhere
  Drawn drawn(const TaskTime& t);
  double random(Drawn& d) { return maths::uniform(in.seed, (rep << 24) | d.stream, d.next++); }
  double draw(Drawn& d) {
    if (d.exponential) return -d.mean * std::log(random(d));
    if (!(d.sigma > 0)) return d.mean;
    return d.mean * std::exp(d.mu + d.sigma * maths::normal(in.seed, (rep << 24) | d.stream, d.next++));
  }
  bool happens(Drawn& d) { return d.mean > 0 && random(d) < d.mean; }

  // building
  void build_streams();
  void build_kind(int k);
  void build_people();

  // time goes on
  double next_event() const;
  /// Everything that is counted is counted here: each moment once, by what each shows.
  void advance(double to);
  void count_machine(std::size_t m, double dt, double to);
  void blame(std::size_t m, int waits_for, int because, double dt);
  /// Shared among those who are there and could do it.
  void blame_people(std::size_t m, double dt);
  bool can(std::size_t p, int kind) const {
    return people[p].here && prefers[p][static_cast<std::size_t>(kind)] != never_does;
  }
  bool anyone_can(int kind) const;
  void start_counting();

  // what happens at `now`
  void happen();
  void machine_done(std::size_t m);
  void come_or_go(std::size_t p);

  // parts
  int ready_before(int stage) const {
    if (stage == 0 && in.supply_lot == 0) return std::numeric_limits<int>::max();
    return hands[static_cast<std::size_t>(stage)].waiting;
  }
  bool room_after(int stage) const { return room_for(stage, 1); }
  /// Whether n more may stand before the next stage.
  bool room_for(int stage, int n) const {
    const CellStage& s = in.stages[static_cast<std::size_t>(stage)];
    return s.hold == 0 || stage + 1 == static_cast<int>(in.stages.size()) ||
           hands[static_cast<std::size_t>(stage) + 1].waiting + n <= s.hold;
  }
  void take_up(int stage, int n);
  void stage_done(int stage, int n);
  void arrive(int stage);
  /// Parts between the first taking up and the last stage, counted one by one where they are.
  long long census() const;

  // people
  void ask(int kind, int set = -1);
  /// One part's time, where the work goes part by part; else all of it.
  double time_of(int kind);
  int pieces_of(int kind) const;
  bool askable(int stage) const;
  /// Free people take the best work they can do. True when somebody took some.
  bool assign();
  bool take_work(std::size_t p);
  void begin_lot(std::size_t p, int kind);
  void begin(std::size_t p, Work w);
  void put_down(std::size_t p);
  /// Somebody comes to the machine or leaves it.
  void touch(const Work& w, bool comes);
  void close_stretch(std::size_t m);
  void person_done(std::size_t p);
  void finish_lot(int stage);

  // sets
  void begin_task(std::size_t m, std::size_t j, int set, Set::Phase phase, int task);
  void set_task_done(std::size_t m, const WorkKind& k, int set);
  /// An empty set that may be loaded gets its parts.
  bool fill(std::size_t m, std::size_t j);

  // machines
  bool step_machine(std::size_t m);
  /// Another job takes over when this one has made its batch or can make nothing, and the other has its batch waiting,
  /// and room for it, (loaded on the machine) or a set loaded or being loaded (outside).
  bool change_job(std::size_t m, bool able);
  void person_phase(std::size_t m, Mill::Phase phase, int kind);
  void timed_phase(std::size_t m, Mill::Phase phase, double length);
  void start_load(std::size_t m, int set);
  /// The phase is over: on to the next one.
  void phase_over(std::size_t m);
  JobState& here_job(std::size_t m) { return mills[m].jobs[static_cast<std::size_t>(mills[m].job)]; }
  /// Begins what the machine does alone of a swap; false when there is none or it is over.
  bool rest_of_swap(std::size_t m);
  void exchange(std::size_t m);
  bool edges_due(std::size_t m);
  void probe_or_cut(std::size_t m);
  void cut(std::size_t m);
  void cut_on(std::size_t m);
  void stop(std::size_t m);
  void stop_over(std::size_t m);
  void load_done(std::size_t m);
  /// A machine that does not run alone stands while nobody is there. True while it stands so.
  bool freeze(std::size_t m);

  // after everything that happens
  void settle();
  void show(std::size_t m);
  void show_person(Mill& mill, SpindleState doing, int kind);
  void show_idle(std::size_t m);

  // the picture
  void trace_start_of(std::size_t m);
  void start_trace();
  int code(std::size_t row) const;
  /// The stage that has the bench, where there is but one; -1: free.
  int bench_code(int bench) const;
  void trace_rows();
  void close_trace();
  void add_bar(std::size_t row, double to);
};

}  // namespace fettle::timing::shop
