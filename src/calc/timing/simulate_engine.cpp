// Time goes on: events, and everything that is counted.
#include <algorithm>
#include <utility>

#include "calc/timing/simulate_shop.h"

namespace fettle::timing {

namespace shop {

Shop::Shop(const SimulationInputs& inputs, int replication) : in(inputs), rep(static_cast<std::uint64_t>(replication)) {
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

Tally Shop::run() {
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

double Shop::next_event() const {
  double t = supply_next;
  for (const Mill& m : mills) t = std::min(t, m.until);
  for (const Who& p : people) t = std::min(t, std::min(p.until, p.turn));
  for (const Hand& h : hands)
    if (!h.soaking.empty()) t = std::min(t, h.soaking.front());
  if (!tracing && !traced) t = std::min(t, trace_from);
  return std::max(t, now);
}

void Shop::advance(double to) {
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

void Shop::count_machine(std::size_t m, double dt, double to) {
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

void Shop::blame(std::size_t m, int waits_for, int because, double dt) {
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

void Shop::blame_people(std::size_t m, double dt) {
  const int kind = mills[m].shows_kind;
  int able = 0;
  for (std::size_t p = 0; p < people.size(); ++p) able += can(p, kind) && people[p].busy ? 1 : 0;
  if (able == 0) return blame(m, kind, -1, dt);
  for (std::size_t p = 0; p < people.size(); ++p)
    if (can(p, kind) && people[p].busy) blame(m, kind, people[p].work.kind, dt / able);
}

bool Shop::anyone_can(int kind) const {
  for (std::size_t p = 0; p < people.size(); ++p)
    if (can(p, kind)) return true;
  return false;
}

void Shop::start_counting() {
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

void Shop::happen() {
  if (supply_next <= now) {
    hands[0].waiting += in.supply_lot;
    tally.queues[0].arrived += in.supply_lot;
    tally.queues[0].longest = std::max(tally.queues[0].longest, hands[0].waiting);
    supply_next += in.supply_every;
  }
  for (std::size_t m = 0; m < mills.size(); ++m)
    if (mills[m].until <= now) machine_done(m);
  for (std::size_t i = 0; i < hands.size(); ++i)
    while (!hands[i].soaking.empty() && hands[i].soaking.front() <= now) {
      hands[i].soaking.pop_front();
      finish_lot(static_cast<int>(i));
    }
  for (std::size_t p = 0; p < people.size(); ++p)
    if (people[p].until <= now) person_done(p);
  for (std::size_t p = 0; p < people.size(); ++p)
    if (people[p].turn <= now) come_or_go(p);
  if (!tracing && !traced && trace_from <= now) start_trace();
}

void Shop::machine_done(std::size_t m) {
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

void Shop::come_or_go(std::size_t p) {
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

}  // namespace shop

Tally run_once(const SimulationInputs& in, int replication) { return shop::Shop(in, replication).run(); }

}  // namespace fettle::timing
