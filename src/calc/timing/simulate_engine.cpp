#include "calc/timing/simulate_engine.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>

#include "maths/random.h"

namespace fettle::timing {

namespace {

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
  double left = -1;  ///< s at pace 1; < 0: not yet begun
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
  Drawn lost, skipped;
};
struct Soaking {
  int stage = 0;
  double until = 0;
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

class Shop {
 public:
  Shop(const SimulationInputs& inputs, int replication) : in(inputs), rep(static_cast<std::uint64_t>(replication)) {
    kinds = work_kinds(in);
    by_hand = done_by_hand(in);
    while (first_hand_kind < kinds.size() && kinds[first_hand_kind].what != What::hand) ++first_hand_kind;
    build_streams();
    build_people();
    tally.machines.resize(in.machines.size());
    tally.kinds.resize(kinds.size());
    tally.queues.resize(in.stages.size());
    tally.present.assign(in.people.size(), 0);
    tally.work.assign(in.people.size(), std::vector<double>(kinds.size(), 0));
    for (std::size_t m = 0; m < mills.size(); ++m) {
      std::size_t edges = 0;
      for (const CellJob& j : in.machines[m].jobs) edges += j.edges.size();
      tally.machines[m].edges.assign(edges, 0);
    }
    for (const CellBench& b : in.benches) bench_free.push_back(b.count);
    supply_next = in.supply_lot > 0 ? 0 : never;
    traces = rep == 0 && in.trace.there;
    if (traces && in.trace.cycles == 0) trace_from = in.warm_up + in.trace.after;
  }

  Tally run() {
    const double end = in.warm_up + in.horizon;
    bool counting = in.warm_up <= 0;
    long long at_once = 0;
    settle();
    while (true) {
      double to = next_event();
      if (!counting && to >= in.warm_up) {
        advance(in.warm_up);
        counting = true;
        start_counting();
        if (to <= in.warm_up) continue;
      }
      if (to >= end) {
        advance(end);
        break;
      }
      at_once = to > now ? 0 : at_once + 1;
      if (at_once > most_at_once) tally.stuck = true;
      if (++tally.events > most_events) tally.too_long = true;
      if (tally.stuck || tally.too_long) break;
      advance(to);
      happen();
      settle();
    }
    for (std::size_t m = 0; m < mills.size(); ++m)
      if (mills[m].touches == 0) close_stretch(m);
    if (tracing) close_trace();
    tally.total_left = census();
    return std::move(tally);
  }

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
  std::vector<Soaking> soaking;
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

  // ---- random numbers: one stream for every use of a time, so that a change here does not shift the draws elsewhere

  Drawn drawn(const TaskTime& t) {
    Drawn d;
    d.mean = t.mean;
    d.exponential = t.scatter == TimeScatter::exponential;
    const double v = std::log1p(t.cv * t.cv);
    d.sigma = std::sqrt(v);
    d.mu = -v / 2;
    d.stream = streams++;
    return d;
  }
  double random(Drawn& d) { return maths::uniform(in.seed, (rep << 24) | d.stream, d.next++); }
  double draw(Drawn& d) {
    if (d.exponential) return -d.mean * std::log(random(d));
    if (!(d.sigma > 0)) return d.mean;
    return d.mean * std::exp(d.mu + d.sigma * maths::normal(in.seed, (rep << 24) | d.stream, d.next++));
  }
  bool happens(Drawn& d) { return d.mean > 0 && random(d) < d.mean; }

  // ---- building

  void build_streams() {
    mills.resize(in.machines.size());
    for (std::size_t m = 0; m < mills.size(); ++m) {
      const CellMachine& machine = in.machines[m];
      Mill& mill = mills[m];
      int base = 0;
      for (const CellJob& job : machine.jobs) {
        JobState j;
        j.sets.resize(static_cast<std::size_t>(job.sets));
        j.load = job.pallets * job.per_pallet;
        j.edge_base = base;
        base += static_cast<int>(job.edges.size());
        for (const CellEdge& e : job.edges) j.left.push_back(e.parts);
        j.due.assign(job.edges.size(), 0);
        j.run = drawn(job.run);
        j.swap = drawn(job.swap);
        j.probe = drawn(job.probe);
        mill.jobs.push_back(std::move(j));
      }
      mill.stop_gap = drawn({machine.stop_every, 1, TimeScatter::exponential});
      mill.stop_time = drawn(machine.stop);
      if (machine.stop_every > 0) mill.stop_left = draw(mill.stop_gap);
    }
    for (std::size_t k = 0; k < kinds.size(); ++k) build_kind(static_cast<int>(k));
    for (const CellStage& s : in.stages) {
      Hand h;
      h.lost = drawn({s.loss, 0, TimeScatter::lognormal});
      h.skipped = drawn({1 - s.share, 0, TimeScatter::lognormal});
      hands.push_back(h);
    }
  }

  void build_kind(int k) {
    const WorkKind& kind = kinds[static_cast<std::size_t>(k)];
    WorkTime time;
    if (kind.what == What::hand) {
      const CellStage& s = in.stages[static_cast<std::size_t>(kind.stage)];
      time.each = {drawn(s.task.time)};
      time.times = s.task.per == TaskPer::part ? s.lot : 1;
    } else {
      const CellMachine& machine = in.machines[static_cast<std::size_t>(kind.machine)];
      Mill& mill = mills[static_cast<std::size_t>(kind.machine)];
      if (kind.what == What::change_over) {
        mill.over_kind = k;
        time.each = {drawn(machine.change_over)};
      } else if (kind.what == What::stop) {
        mill.stop_kind = k;
        time.each = {drawn(machine.stop)};
      } else {
        const CellJob& job = machine.jobs[static_cast<std::size_t>(kind.job)];
        JobState& j = mill.jobs[static_cast<std::size_t>(kind.job)];
        if (kind.what == What::swap) {
          j.swap_kind = k;
          time.each = {drawn(job.swap)};
        } else if (kind.what == What::edge) {
          j.edge_kind = k;
          for (const CellEdge& e : job.edges) time.each.push_back(drawn(e.change));
        } else {
          const bool off = kind.what == What::take_off;
          const HandTask& t = (off ? job.take_off : job.put_on)[static_cast<std::size_t>(kind.index)];
          if (kind.index == 0) (off ? j.take_off_kind : j.put_on_kind) = k;
          time.each = {drawn(t.time)};
          time.times = t.per == TaskPer::part ? j.load : t.per == TaskPer::pallet ? job.pallets : 1;
        }
      }
    }
    kind_time.push_back(std::move(time));
  }

  void build_people() {
    for (const CellPerson& p : in.people) {
      Who w;
      w.here = p.present.empty() || p.present.front().from <= 0;
      if (!p.present.empty()) w.turn = w.here ? p.present.front().to : p.present.front().from;
      here += w.here ? 1 : 0;
      people.push_back(w);
      std::vector<int> order;
      for (const WorkKind& k : kinds) {
        int at = p.does.empty() ? k.priority : never_does;
        for (std::size_t i = 0; i < p.does.size(); ++i)
          if (p.does[i] == k.name) at = static_cast<int>(i);
        order.push_back(at);
      }
      prefers.push_back(std::move(order));
    }
  }

  // ---- time goes on

  double next_event() const {
    double t = supply_next;
    for (const Mill& m : mills) t = std::min(t, m.until);
    for (const Who& p : people) t = std::min(t, std::min(p.until, p.turn));
    for (const Soaking& s : soaking) t = std::min(t, s.until);
    if (!tracing && !traced) t = std::min(t, trace_from);
    return std::max(t, now);
  }

  /// Everything that is counted is counted here: each moment once, by what each shows.
  void advance(double to) {
    const double dt = to - now;
    if (dt > 0) {
      for (std::size_t m = 0; m < mills.size(); ++m) count_machine(m, dt, to);
      for (std::size_t p = 0; p < people.size(); ++p) {
        if (!people[p].here) continue;
        tally.present[p] += dt;
        if (people[p].busy) tally.work[p][static_cast<std::size_t>(people[p].work.kind)] += dt;
      }
      if (here > 0) tally.attended += dt;
      for (std::size_t s = 0; s < hands.size(); ++s) tally.queues[s].area += dt * hands[s].waiting;
      tally.in_process_area += dt * static_cast<double>(in_process);
    }
    now = to;
  }

  void count_machine(std::size_t m, double dt, double to) {
    Mill& mill = mills[m];
    MachineTally& t = tally.machines[m];
    int because = -1;
    t.time[static_cast<std::size_t>(mill.shows)] += dt;
    if (here > 0) t.attended[static_cast<std::size_t>(mill.shows)] += dt;
    switch (mill.shows) {
      case SpindleState::cuts:
        mill.ran_until = to;
        return;
      case SpindleState::probes:
      case SpindleState::swaps:
        if (!mill.by_person) mill.ran_until = to;
        break;
      case SpindleState::waits_person:
        return blame_people(m, dt);
      case SpindleState::waits_parts:
      case SpindleState::waits_room:
        because = in.machines[m].jobs[static_cast<std::size_t>(mill.job)].stage +
                  (mill.shows == SpindleState::waits_parts ? -1 : 1);
        [[fallthrough]];
      default:
        if (here == 0 && !people.empty()) mill.nobody += dt;
        break;
    }
    blame(m, mill.shows_kind, because, dt);
  }

  void blame(std::size_t m, int waits_for, int because, double dt) {
    std::vector<StandTally>& stands = tally.machines[m].stands;
    const SpindleState state = mills[m].shows;
    for (StandTally& s : stands)
      if (s.state == state && s.waits_for == waits_for && s.because == because) {
        s.time += dt;
        s.attended += here > 0 ? dt : 0;
        return;
      }
    stands.push_back({state, waits_for, because, dt, here > 0 ? dt : 0});
  }
  /// Shared among those who are there and could do it.
  void blame_people(std::size_t m, double dt) {
    const int kind = mills[m].shows_kind;
    int able = 0;
    for (std::size_t p = 0; p < people.size(); ++p) able += can(p, kind) && people[p].busy ? 1 : 0;
    if (able == 0) return blame(m, kind, -1, dt);
    for (std::size_t p = 0; p < people.size(); ++p)
      if (can(p, kind) && people[p].busy) blame(m, kind, people[p].work.kind, dt / able);
  }
  bool can(std::size_t p, int kind) const {
    return people[p].here && prefers[p][static_cast<std::size_t>(kind)] != never_does;
  }
  bool anyone_can(int kind) const {
    for (std::size_t p = 0; p < people.size(); ++p)
      if (can(p, kind)) return true;
    return false;
  }

  void start_counting() {
    for (std::size_t m = 0; m < mills.size(); ++m) {
      std::vector<long long> edges(tally.machines[m].edges.size(), 0);
      tally.machines[m] = MachineTally{};
      tally.machines[m].edges = std::move(edges);
      mills[m].alone_since = mills[m].ran_until = now;
      mills[m].parts_alone = 0;
      mills[m].last_start = -1;
    }
    std::fill(tally.present.begin(), tally.present.end(), 0);
    for (auto& row : tally.work) std::fill(row.begin(), row.end(), 0);
    for (KindTally& k : tally.kinds) k = {};
    for (std::size_t s = 0; s < hands.size(); ++s) {
      tally.queues[s] = {};
      tally.queues[s].longest = hands[s].waiting;
    }
    tally.attended = tally.in_process_area = 0;
    tally.good = tally.lost = 0;
  }

  // ---- what happens at `now`

  void happen() {
    if (supply_next <= now) {
      hands[0].waiting += in.supply_lot;
      tally.queues[0].arrived += in.supply_lot;
      tally.queues[0].longest = std::max(tally.queues[0].longest, hands[0].waiting);
      supply_next += in.supply_every;
    }
    for (std::size_t m = 0; m < mills.size(); ++m)
      if (mills[m].until <= now) machine_done(m);
    for (std::size_t i = 0; i < soaking.size();) {
      if (!(soaking[i].until <= now)) {
        ++i;
        continue;
      }
      const int stage = soaking[i].stage;
      soaking.erase(soaking.begin() + static_cast<std::ptrdiff_t>(i));
      finish_lot(stage);
    }
    for (std::size_t p = 0; p < people.size(); ++p)
      if (people[p].until <= now) person_done(p);
    for (std::size_t p = 0; p < people.size(); ++p)
      if (people[p].turn <= now) come_or_go(p);
    if (!tracing && !traced && trace_from <= now) start_trace();
  }

  void machine_done(std::size_t m) {
    Mill& mill = mills[m];
    mill.until = never;
    switch (mill.phase) {
      case Mill::Phase::cutting: {
        const bool stops = mill.stop_left < mill.cut_left;
        mill.cut_left -= mill.segment;
        mill.stop_left -= mill.segment;
        return stops ? stop(m) : load_done(m);
      }
      case Mill::Phase::stopped:
        return stop_over(m);
      default:
        return phase_over(m);
    }
  }

  void come_or_go(std::size_t p) {
    Who& w = people[p];
    const std::vector<PresentSpan>& spans = in.people[p].present;
    if (w.here) {
      w.here = false;
      --here;
      if (w.busy) put_down(p);
      if (++w.span == static_cast<int>(spans.size())) {
        w.span = 0;
        w.week_start += week;
      }
      w.turn = w.week_start + spans[static_cast<std::size_t>(w.span)].from;
    } else {
      w.here = true;
      ++here;
      w.turn = w.week_start + spans[static_cast<std::size_t>(w.span)].to;
    }
  }

  // ---- parts

  int ready_before(int stage) const {
    if (stage == 0 && in.supply_lot == 0) return std::numeric_limits<int>::max();
    return hands[static_cast<std::size_t>(stage)].waiting;
  }
  bool room_after(int stage) const {
    const CellStage& s = in.stages[static_cast<std::size_t>(stage)];
    return s.hold == 0 || stage + 1 == static_cast<int>(in.stages.size()) ||
           hands[static_cast<std::size_t>(stage) + 1].waiting < s.hold;
  }
  void take_up(int stage, int n) {
    if (stage == 0) {
      in_process += n;
      tally.total_taken += n;
      if (in.supply_lot == 0) tally.queues[0].arrived += n;
    }
    if (stage > 0 || in.supply_lot > 0) hands[static_cast<std::size_t>(stage)].waiting -= n;
  }
  void stage_done(int stage, int n) {
    Hand& h = hands[static_cast<std::size_t>(stage)];
    for (int i = 0; i < n; ++i) {
      if (happens(h.lost)) {
        ++tally.lost;
        ++tally.total_lost;
        ++tally.queues[static_cast<std::size_t>(stage)].lost;
        --in_process;
      } else {
        arrive(stage + 1);
      }
    }
  }
  void arrive(int stage) {
    while (stage < static_cast<int>(hands.size()) && happens(hands[static_cast<std::size_t>(stage)].skipped)) ++stage;
    if (stage == static_cast<int>(hands.size())) {
      ++tally.good;
      ++tally.total_good;
      --in_process;
      return;
    }
    Hand& h = hands[static_cast<std::size_t>(stage)];
    QueueTally& q = tally.queues[static_cast<std::size_t>(stage)];
    ++h.waiting;
    ++q.arrived;
    q.longest = std::max(q.longest, h.waiting);
  }
  /// Parts between the first taking up and the last stage, counted one by one where they are.
  long long census() const {
    long long n = 0;
    for (std::size_t s = 1; s < hands.size(); ++s) n += hands[s].waiting;
    for (const Mill& m : mills)
      for (const JobState& j : m.jobs)
        for (const Set& s : j.sets)
          if (s.phase != Set::Phase::empty) n += j.load;
    for (const Soaking& s : soaking) n += in.stages[static_cast<std::size_t>(s.stage)].lot;
    const auto lot_of = [&](const Work& w) {
      const WorkKind& k = kinds[static_cast<std::size_t>(w.kind)];
      return k.what == What::hand ? in.stages[static_cast<std::size_t>(k.stage)].lot : 0;
    };
    for (const Work& w : pending) n += lot_of(w);
    for (const Who& p : people)
      if (p.busy) n += lot_of(p.work);
    return n;
  }

  // ---- people

  void ask(int kind, int set = -1) { pending.push_back({kind, set, now, -1}); }

  double time_of(int kind) {
    WorkTime& t = kind_time[static_cast<std::size_t>(kind)];
    const WorkKind& k = kinds[static_cast<std::size_t>(kind)];
    double sum = 0;
    if (k.what == What::edge) {
      const JobState& j = mills[static_cast<std::size_t>(k.machine)].jobs[static_cast<std::size_t>(k.job)];
      for (std::size_t e = 0; e < t.each.size(); ++e)
        for (int i = 0; i < j.due[e]; ++i) sum += draw(t.each[e]);
    } else if (t.each[0].exponential || t.each[0].sigma > 0) {
      for (int i = 0; i < t.times; ++i) sum += draw(t.each[0]);
    } else {
      sum = t.times * t.each[0].mean;
    }
    return sum;
  }

  bool askable(int stage) const {
    const CellStage& s = in.stages[static_cast<std::size_t>(stage)];
    return ready_before(stage) >= s.lot && room_after(stage) &&
           (s.bench < 0 || bench_free[static_cast<std::size_t>(s.bench)] > 0);
  }

  /// Free people take the best work they can do. True when somebody took some.
  bool assign() {
    for (std::size_t s = 0; s < hands.size(); ++s) {
      if (!by_hand[s]) continue;
      if (!askable(static_cast<int>(s))) hands[s].askable_since = never;
      else if (hands[s].askable_since == never) hands[s].askable_since = now;
    }
    bool any = false;
    for (std::size_t p = 0; p < people.size(); ++p)
      if (people[p].here && !people[p].busy && take_work(p)) any = true;
    return any;
  }
  bool take_work(std::size_t p) {
    const std::vector<int>& prefer = prefers[p];
    int best = never_does, from_pending = -1, from_hand = -1;
    double oldest = never;
    const auto better = [&](int kind, double asked) {
      const int at = prefer[static_cast<std::size_t>(kind)];
      if (at == never_does || at > best || (at == best && asked >= oldest)) return false;
      best = at;
      oldest = asked;
      return true;
    };
    for (std::size_t i = 0; i < pending.size(); ++i)
      if (better(pending[i].kind, pending[i].asked)) from_pending = static_cast<int>(i);
    for (std::size_t k = first_hand_kind; k < kinds.size(); ++k) {
      const int stage = kinds[k].stage;
      if (hands[static_cast<std::size_t>(stage)].askable_since != never && askable(stage) &&
          better(static_cast<int>(k), hands[static_cast<std::size_t>(stage)].askable_since))
        from_hand = static_cast<int>(k);
    }
    if (from_hand >= 0) return begin_lot(p, from_hand), true;
    if (from_pending < 0) return false;
    const Work w = pending[static_cast<std::size_t>(from_pending)];
    pending.erase(pending.begin() + from_pending);
    begin(p, w);
    return true;
  }
  void begin_lot(std::size_t p, int kind) {
    const int stage = kinds[static_cast<std::size_t>(kind)].stage;
    const CellStage& s = in.stages[static_cast<std::size_t>(stage)];
    Hand& h = hands[static_cast<std::size_t>(stage)];
    take_up(stage, s.lot);
    if (s.bench >= 0) --bench_free[static_cast<std::size_t>(s.bench)];
    const double asked = h.askable_since;
    h.askable_since = askable(stage) ? now : never;
    begin(p, {kind, -1, asked, -1});
  }
  void begin(std::size_t p, Work w) {
    Who& who = people[p];
    KindTally& t = tally.kinds[static_cast<std::size_t>(w.kind)];
    if (w.left < 0) {
      w.left = time_of(w.kind);
      ++t.begun;
      t.wait += now - w.asked;
      if (now > w.asked) ++t.waited;
    }
    who.work = w;
    who.busy = true;
    who.until = now + w.left * in.people[p].pace;
    touch(w, true);
  }
  void put_down(std::size_t p) {
    Who& who = people[p];
    who.work.left = std::max(0.0, who.until - now) / in.people[p].pace;
    who.until = never;
    who.busy = false;
    touch(who.work, false);
    pending.push_back(who.work);
  }
  /// Somebody comes to the machine or leaves it.
  void touch(const Work& w, bool comes) {
    const WorkKind& k = kinds[static_cast<std::size_t>(w.kind)];
    if (k.machine < 0) return;
    Mill& mill = mills[static_cast<std::size_t>(k.machine)];
    if (comes && mill.touches++ == 0) close_stretch(static_cast<std::size_t>(k.machine));
    if (!comes && --mill.touches == 0) {
      mill.alone_since = mill.ran_until = now;
      mill.parts_alone = 0;
    }
    if (k.what == What::take_off || k.what == What::put_on)
      mill.jobs[static_cast<std::size_t>(k.job)].sets[static_cast<std::size_t>(w.set)].active = comes;
    else mill.worked_on = comes;
  }
  void close_stretch(std::size_t m) {
    const Mill& mill = mills[m];
    MachineTally& t = tally.machines[m];
    const double stretch = mill.ran_until - mill.alone_since;
    if (stretch > t.longest_alone) {
      t.longest_alone = stretch;
      t.parts_in_longest = mill.parts_alone;
    }
  }

  void person_done(std::size_t p) {
    Who& who = people[p];
    const Work w = who.work;
    const WorkKind& k = kinds[static_cast<std::size_t>(w.kind)];
    who.busy = false;
    who.until = never;
    touch(w, false);
    if (k.what == What::hand) {
      if (in.stages[static_cast<std::size_t>(k.stage)].soak > 0)
        soaking.push_back({k.stage, now + in.stages[static_cast<std::size_t>(k.stage)].soak});
      else finish_lot(k.stage);
      return;
    }
    const std::size_t m = static_cast<std::size_t>(k.machine);
    if (k.what == What::take_off || k.what == What::put_on) set_task_done(m, k, w.set);
    else if (k.what == What::stop) stop_over(m);
    else phase_over(m);
  }
  void finish_lot(int stage) {
    const CellStage& s = in.stages[static_cast<std::size_t>(stage)];
    if (s.bench >= 0) ++bench_free[static_cast<std::size_t>(s.bench)];
    stage_done(stage, s.lot);
  }

  // ---- sets

  void begin_task(std::size_t m, std::size_t j, int set, Set::Phase phase, int task) {
    const CellJob& job = in.machines[m].jobs[j];
    JobState& state = mills[m].jobs[j];
    Set& s = state.sets[static_cast<std::size_t>(set)];
    const bool off = phase == Set::Phase::taking_off;
    const std::vector<HandTask>& tasks = off ? job.take_off : job.put_on;
    s.phase = phase;
    s.task = task;
    if (task < static_cast<int>(tasks.size())) return ask((off ? state.take_off_kind : state.put_on_kind) + task, set);
    if (off) {
      s.phase = Set::Phase::empty;
      stage_done(job.stage, state.load);
    } else {
      s.phase = Set::Phase::ready;
    }
  }
  void set_task_done(std::size_t m, const WorkKind& k, int set) {
    const std::size_t j = static_cast<std::size_t>(k.job);
    begin_task(m, j, set, mills[m].jobs[j].sets[static_cast<std::size_t>(set)].phase, k.index + 1);
  }
  /// An empty set that may be loaded gets its parts.
  bool fill(std::size_t m, std::size_t j) {
    const CellJob& job = in.machines[m].jobs[j];
    JobState& state = mills[m].jobs[j];
    bool any = false;
    for (std::size_t s = 0; s < state.sets.size(); ++s) {
      if (state.sets[s].phase != Set::Phase::empty || ready_before(job.stage) < state.load || !room_after(job.stage))
        continue;
      take_up(job.stage, state.load);
      begin_task(m, j, static_cast<int>(s), Set::Phase::putting_on, 0);
      any = true;
    }
    return any;
  }

  // ---- machines

  bool step_machine(std::size_t m) {
    Mill& mill = mills[m];
    bool any = false;
    for (std::size_t j = 0; j < mill.jobs.size(); ++j)
      if (mill.jobs[j].sets.size() > 1 && fill(m, j)) any = true;
    if (freeze(m)) return any;
    if (mill.phase != Mill::Phase::idle) return any;
    const std::size_t j = static_cast<std::size_t>(mill.job);
    JobState& job = mill.jobs[j];
    if (job.sets.size() == 1) {
      Set& s = job.sets[0];
      if (s.phase == Set::Phase::done) return begin_task(m, j, 0, Set::Phase::taking_off, 0), true;
      if (s.phase == Set::Phase::ready) return start_load(m, 0), true;
      if (s.phase != Set::Phase::empty) return any;
      const bool able =
          ready_before(in.machines[m].jobs[j].stage) >= job.load && room_after(in.machines[m].jobs[j].stage);
      if (change_job(m, able)) return true;
      return (able && fill(m, j)) || any;
    }
    int ready = -1;
    bool coming = false;
    for (std::size_t s = 0; s < job.sets.size(); ++s) {
      if (ready < 0 && job.sets[s].phase == Set::Phase::ready) ready = static_cast<int>(s);
      coming = coming || job.sets[s].phase == Set::Phase::putting_on;
    }
    if (change_job(m, ready >= 0 || coming)) return true;
    if (ready >= 0) return start_load(m, ready), true;
    return any;
  }

  /// Another job takes over when this one has made its batch or can make nothing, and the other has its batch waiting.
  bool change_job(std::size_t m, bool able) {
    Mill& mill = mills[m];
    const CellMachine& machine = in.machines[m];
    if (machine.jobs.size() < 2) return false;
    const int batch = machine.jobs[static_cast<std::size_t>(mill.job)].batch;
    if (able && (batch == 0 || mill.made < batch)) return false;
    int best = -1;
    for (std::size_t j = 0; j < machine.jobs.size(); ++j) {
      if (static_cast<int>(j) == mill.job) continue;
      const CellJob& job = machine.jobs[j];
      const JobState& state = mill.jobs[j];
      bool ready = ready_before(job.stage) >= std::max(job.batch, state.load) && room_after(job.stage);
      if (state.sets.size() > 1)
        for (const Set& s : state.sets) ready = ready || s.phase == Set::Phase::ready;
      if (ready && (best < 0 || job.stage > machine.jobs[static_cast<std::size_t>(best)].stage))
        best = static_cast<int>(j);
    }
    if (best < 0) return false;
    mill.to_job = best;
    person_phase(m, Mill::Phase::changing_over, mill.over_kind);
    return true;
  }

  void person_phase(std::size_t m, Mill::Phase phase, int kind) {
    Mill& mill = mills[m];
    mill.phase = phase;
    mill.by_person = true;
    mill.until = never;
    ask(kind);
  }
  void timed_phase(std::size_t m, Mill::Phase phase, double length) {
    Mill& mill = mills[m];
    mill.phase = phase;
    mill.by_person = false;
    mill.until = now + length;
  }

  void start_load(std::size_t m, int set) {
    Mill& mill = mills[m];
    JobState& job = mill.jobs[static_cast<std::size_t>(mill.job)];
    mill.next_set = set;
    if (job.swap_kind >= 0) return person_phase(m, Mill::Phase::swapping, job.swap_kind);
    timed_phase(m, Mill::Phase::swapping, draw(job.swap));
    if (!(job.swap.mean > 0)) phase_over(m);
  }

  /// The phase is over: on to the next one.
  void phase_over(std::size_t m) {
    Mill& mill = mills[m];
    switch (mill.phase) {
      case Mill::Phase::changing_over:
        mill.job = mill.to_job;
        mill.made = 0;
        mill.phase = Mill::Phase::idle;
        return;
      case Mill::Phase::swapping:
        exchange(m);
        if (edges_due(m)) return person_phase(m, Mill::Phase::changing_edge, here_job(m).edge_kind);
        return probe_or_cut(m);
      case Mill::Phase::changing_edge:
        return probe_or_cut(m);
      case Mill::Phase::probing:
        return cut(m);
      default:
        return;
    }
  }
  JobState& here_job(std::size_t m) { return mills[m].jobs[static_cast<std::size_t>(mills[m].job)]; }

  void exchange(std::size_t m) {
    Mill& mill = mills[m];
    const int out_job = mill.in_job, out_set = mill.in_set;
    if (out_job >= 0 && (out_job != mill.job || out_set != mill.next_set)) {
      Set& out = mill.jobs[static_cast<std::size_t>(out_job)].sets[static_cast<std::size_t>(out_set)];
      if (out.phase == Set::Phase::done)
        begin_task(m, static_cast<std::size_t>(out_job), out_set, Set::Phase::taking_off, 0);
    }
    mill.in_job = mill.job;
    mill.in_set = mill.next_set;
    here_job(m).sets[static_cast<std::size_t>(mill.in_set)].phase = Set::Phase::cutting;
  }
  bool edges_due(std::size_t m) {
    const CellJob& job = in.machines[m].jobs[static_cast<std::size_t>(mills[m].job)];
    JobState& j = here_job(m);
    bool any = false;
    for (std::size_t e = 0; e < j.left.size(); ++e) {
      const int life = job.edges[e].parts;
      int n = 0;
      if (j.left[e] < j.load) n = life >= j.load ? 1 : (j.load - j.left[e] + life - 1) / life;
      if (n > 0 && life >= j.load) j.left[e] = life;
      else j.left[e] += n * life;
      j.left[e] -= j.load;
      j.due[e] = n;
      tally.machines[m].edges[static_cast<std::size_t>(j.edge_base) + e] += n;
      any = any || n > 0;
    }
    return any;
  }
  void probe_or_cut(std::size_t m) {
    JobState& j = here_job(m);
    if (j.probe.mean > 0) return timed_phase(m, Mill::Phase::probing, draw(j.probe));
    cut(m);
  }
  void cut(std::size_t m) {
    Mill& mill = mills[m];
    mill.cut_left = draw(here_job(m).run);
    MachineTally& t = tally.machines[m];
    if (mill.last_start >= 0) {
      t.cycle_sum += (now - mill.last_start) - (mill.nobody - mill.nobody_at_start);
      ++t.cycles;
    }
    mill.last_start = now;
    mill.nobody_at_start = mill.nobody;
    cut_on(m);
    trace_start_of(m);
  }
  void cut_on(std::size_t m) {
    Mill& mill = mills[m];
    mill.segment = std::min(mill.cut_left, mill.stop_left);
    timed_phase(m, Mill::Phase::cutting, mill.segment);
  }
  void stop(std::size_t m) {
    Mill& mill = mills[m];
    if (mill.stop_kind >= 0) return person_phase(m, Mill::Phase::stopped, mill.stop_kind);
    timed_phase(m, Mill::Phase::stopped, draw(mill.stop_time));
  }
  void stop_over(std::size_t m) {
    mills[m].stop_left = draw(mills[m].stop_gap);
    cut_on(m);
  }
  void load_done(std::size_t m) {
    Mill& mill = mills[m];
    JobState& j = here_job(m);
    j.sets[static_cast<std::size_t>(mill.in_set)].phase = Set::Phase::done;
    mill.phase = Mill::Phase::idle;
    mill.made += j.load;
    MachineTally& t = tally.machines[m];
    t.parts += j.load;
    if (here == 0) t.parts_alone += j.load;
    if (mill.touches == 0) mill.parts_alone += j.load;
  }

  /// A machine that does not run alone stands while nobody is there. True while it stands so.
  bool freeze(std::size_t m) {
    Mill& mill = mills[m];
    if (in.machines[m].runs_alone || in.people.empty()) return false;
    if (here == 0) {
      if (mill.frozen < 0 && mill.until != never) {
        mill.frozen = mill.until - now;
        mill.until = never;
      }
      return true;
    }
    if (mill.frozen >= 0) {
      mill.until = now + mill.frozen;
      mill.frozen = -1;
    }
    return false;
  }

  // ---- after everything that happens

  void settle() {
    do {  // machines ask for everything first, so that people choose among all of it
      for (bool any = true; any;) {
        any = false;
        for (std::size_t m = 0; m < mills.size(); ++m) any = step_machine(m) || any;
      }
    } while (assign());
    for (std::size_t m = 0; m < mills.size(); ++m) show(m);
    if (tracing) trace_rows();
  }

  void show(std::size_t m) {
    Mill& mill = mills[m];
    mill.shows_kind = -1;
    if (!in.machines[m].runs_alone && here == 0 && !in.people.empty()) {
      mill.shows = SpindleState::nobody;
      return;
    }
    const JobState& j = mill.jobs[static_cast<std::size_t>(mill.job)];
    switch (mill.phase) {
      case Mill::Phase::cutting:
        mill.shows = SpindleState::cuts;
        return;
      case Mill::Phase::probing:
        mill.shows = SpindleState::probes;
        return;
      case Mill::Phase::swapping:
        return show_person(mill, SpindleState::swaps, j.swap_kind);
      case Mill::Phase::changing_edge:
        return show_person(mill, SpindleState::changes_edge, j.edge_kind);
      case Mill::Phase::changing_over:
        return show_person(mill, SpindleState::changes_over, mill.over_kind);
      case Mill::Phase::stopped:
        return show_person(mill, SpindleState::stopped, mill.stop_kind);
      case Mill::Phase::idle:
        return show_idle(m);
    }
  }
  void show_person(Mill& mill, SpindleState doing, int kind) {
    mill.shows_kind = kind;
    if (!mill.by_person || mill.worked_on) mill.shows = doing;
    else mill.shows = anyone_can(kind) ? SpindleState::waits_person : SpindleState::nobody;
  }
  void show_idle(std::size_t m) {
    Mill& mill = mills[m];
    const JobState& j = mill.jobs[static_cast<std::size_t>(mill.job)];
    const Set* best = nullptr;
    for (const Set& s : j.sets) {
      if (s.phase != Set::Phase::putting_on && s.phase != Set::Phase::taking_off) continue;
      const auto rank = [](const Set& x) {
        return (x.phase == Set::Phase::putting_on ? 1000 : 0) + x.task + (x.active ? 100'000 : 0);
      };
      if (!best || rank(s) > rank(*best)) best = &s;
    }
    if (!best) {
      const int stage = in.machines[m].jobs[static_cast<std::size_t>(mill.job)].stage;
      mill.shows = room_after(stage) ? SpindleState::waits_parts : SpindleState::waits_room;
      return;
    }
    mill.shows_kind = (best->phase == Set::Phase::putting_on ? j.put_on_kind : j.take_off_kind) + best->task;
    if (best->active) mill.shows = SpindleState::handled;
    else mill.shows = anyone_can(mill.shows_kind) ? SpindleState::waits_person : SpindleState::nobody;
  }

  // ---- the picture

  void trace_start_of(std::size_t m) {
    if (!traces || traced || in.trace.cycles == 0 || static_cast<int>(m) != in.trace.machine) return;
    if (now < in.warm_up + in.trace.after) return;
    if (trace_starts++ == 0) trace_from = now;
    else if (trace_starts > in.trace.cycles) close_trace();
  }
  void start_trace() {
    tracing = true;
    trace_from = now;
    rows.clear();
    for (std::size_t r = 0; r < people.size() + mills.size() + in.benches.size(); ++r) rows.push_back({code(r), now});
  }
  int code(std::size_t row) const {
    if (row < people.size()) {
      const Who& p = people[row];
      return !p.here ? -2 : p.busy ? p.work.kind : -1;
    }
    row -= people.size();
    if (row < mills.size())
      return static_cast<int>(mills[row].shows) + static_cast<int>(spindle_states) * (mills[row].shows_kind + 1);
    row -= mills.size();
    return bench_code(static_cast<int>(row));
  }
  /// The stage that has the bench, where there is but one; -1: free.
  int bench_code(int bench) const {
    if (in.benches[static_cast<std::size_t>(bench)].count != 1) return -1;
    for (const Soaking& s : soaking)
      if (in.stages[static_cast<std::size_t>(s.stage)].bench == bench) return s.stage;
    const auto at = [&](const Work& w) {
      const int stage = kinds[static_cast<std::size_t>(w.kind)].stage;
      return stage >= 0 && in.stages[static_cast<std::size_t>(stage)].bench == bench ? stage : -1;
    };
    for (const Who& p : people)
      if (p.busy && at(p.work) >= 0) return at(p.work);
    for (const Work& w : pending)
      if (at(w) >= 0) return at(w);
    return -1;
  }
  void trace_rows() {
    if (in.trace.cycles == 0 && now - trace_from >= in.trace.length) return close_trace();
    for (std::size_t r = 0; r < rows.size(); ++r) {
      const int c = code(r);
      if (c == rows[r].code) continue;
      add_bar(r, now);
      rows[r] = {c, now};
    }
  }
  void close_trace() {
    double end = now;
    if (in.trace.cycles == 0) end = std::min(now, trace_from + in.trace.length);
    for (std::size_t r = 0; r < rows.size(); ++r) add_bar(r, end);
    tally.trace_length = end - trace_from;
    tracing = false;
    traced = true;
  }
  void add_bar(std::size_t row, double to) {
    if (!(to > rows[row].since)) return;
    TraceBar bar;
    bar.from = rows[row].since - trace_from;
    bar.to = to - trace_from;
    const int c = rows[row].code;
    if (row < people.size()) {
      bar.who = in.people[row].name;
      bar.what = c == -2 ? "away" : c == -1 ? "free" : kinds[static_cast<std::size_t>(c)].name;
      bar.waiting = c < 0;
      const int machine = c < 0 ? -1 : kinds[static_cast<std::size_t>(c)].machine;
      if (machine >= 0) bar.where = in.machines[static_cast<std::size_t>(machine)].name;
    } else if (row < people.size() + mills.size()) {
      bar.who = in.machines[row - people.size()].name;
      const auto state = static_cast<SpindleState>(c % static_cast<int>(spindle_states));
      const int kind = c / static_cast<int>(spindle_states) - 1;
      bar.what = word(state);
      if (kind >= 0 && (state == SpindleState::handled || state == SpindleState::waits_person))
        bar.what += ": " + kinds[static_cast<std::size_t>(kind)].name;
      bar.waiting = state == SpindleState::waits_person || state == SpindleState::waits_parts ||
                    state == SpindleState::waits_room || state == SpindleState::nobody;
    } else {
      bar.who = in.benches[row - people.size() - mills.size()].name;
      if (in.benches[row - people.size() - mills.size()].count != 1) return;
      bar.what = c < 0 ? "free" : in.stages[static_cast<std::size_t>(c)].name;
      bar.waiting = c < 0;
    }
    tally.trace.push_back(std::move(bar));
  }
};

}  // namespace

std::vector<bool> done_by_hand(const SimulationInputs& in) {
  std::vector<bool> hand(in.stages.size(), true);
  for (const CellMachine& m : in.machines)
    for (const CellJob& j : m.jobs)
      if (j.stage >= 0 && j.stage < static_cast<int>(hand.size())) hand[static_cast<std::size_t>(j.stage)] = false;
  return hand;
}

std::vector<WorkKind> work_kinds(const SimulationInputs& in) {
  std::vector<WorkKind> out;
  for (std::size_t m = 0; m < in.machines.size(); ++m) {
    const CellMachine& machine = in.machines[m];
    const int mi = static_cast<int>(m);
    for (std::size_t j = 0; j < machine.jobs.size(); ++j) {
      const CellJob& job = machine.jobs[j];
      const int ji = static_cast<int>(j);
      if (job.swap_by_person) out.push_back({What::swap, "swap", mi, ji, 0, -1, job.swap_priority});
      if (!job.edges.empty()) out.push_back({What::edge, "change edge", mi, ji, 0, -1, job.edge_priority});
      for (std::size_t i = 0; i < job.take_off.size(); ++i)
        out.push_back(
            {What::take_off, job.take_off[i].name, mi, ji, static_cast<int>(i), -1, job.take_off[i].priority});
      for (std::size_t i = 0; i < job.put_on.size(); ++i)
        out.push_back({What::put_on, job.put_on[i].name, mi, ji, static_cast<int>(i), -1, job.put_on[i].priority});
    }
    if (machine.jobs.size() > 1)
      out.push_back({What::change_over, "change over", mi, -1, 0, -1, machine.change_over_priority});
    if (machine.stop_every > 0 && machine.stop_needs_person)
      out.push_back({What::stop, "stop", mi, -1, 0, -1, machine.stop_priority});
  }
  const std::vector<bool> hand = done_by_hand(in);
  for (std::size_t s = 0; s < in.stages.size(); ++s)
    if (hand[s]) {
      const HandTask& t = in.stages[s].task;
      out.push_back(
          {What::hand, t.name.empty() ? in.stages[s].name : t.name, -1, -1, 0, static_cast<int>(s), t.priority});
    }
  return out;
}

Tally run_once(const SimulationInputs& in, int replication) { return Shop(in, replication).run(); }

}  // namespace fettle::timing
