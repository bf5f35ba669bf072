// Parts on their way, and what people take up, put down and finish.
#include <algorithm>

#include "calc/timing/simulate_shop.h"

namespace fettle::timing {

namespace shop {

void Shop::take_up(int stage, int n) {
  if (stage == 0) {
    in_process += n;
    tally.total_taken += n;
    if (in.supply_lot == 0) tally.queues[0].arrived += n;
  }
  if (stage > 0 || in.supply_lot > 0) hands[static_cast<std::size_t>(stage)].waiting -= n;
}

void Shop::stage_done(int stage, int n) {
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

void Shop::arrive(int stage) {
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

long long Shop::census() const {
  long long n = 0;
  for (std::size_t s = 0; s < hands.size(); ++s)
    n += (s > 0 ? hands[s].waiting : 0) + static_cast<long long>(hands[s].soaking.size()) * in.stages[s].lot;
  for (const Mill& m : mills)
    for (const JobState& j : m.jobs)
      for (const Set& s : j.sets)
        if (s.phase != Set::Phase::empty) n += j.load;
  const auto lot_of = [&](const Work& w) {
    const WorkKind& k = kinds[static_cast<std::size_t>(w.kind)];
    return k.what == What::hand ? in.stages[static_cast<std::size_t>(k.stage)].lot : 0;
  };
  for (const Work& w : pending) n += lot_of(w);
  for (const Who& p : people)
    if (p.busy) n += lot_of(p.work);
  return n;
}

void Shop::ask(int kind, int set) { pending.push_back({kind, set, now, -1}); }

double Shop::time_of(int kind) {
  WorkTime& t = kind_time[static_cast<std::size_t>(kind)];
  const WorkKind& k = kinds[static_cast<std::size_t>(kind)];
  if (k.what != What::edge) return draw(t.each[0]);
  double sum = 0;
  const JobState& j = mills[static_cast<std::size_t>(k.machine)].jobs[static_cast<std::size_t>(k.job)];
  for (std::size_t e = 0; e < t.each.size(); ++e)
    for (int i = 0; i < j.due[e]; ++i) sum += draw(t.each[e]);
  return sum;
}

int Shop::pieces_of(int kind) const { return kind_time[static_cast<std::size_t>(kind)].times; }

bool Shop::askable(int stage) const {
  const CellStage& s = in.stages[static_cast<std::size_t>(stage)];
  return ready_before(stage) >= s.lot && room_after(stage) &&
         (s.bench < 0 || bench_free[static_cast<std::size_t>(s.bench)] > 0);
}

bool Shop::assign() {
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

bool Shop::take_work(std::size_t p) {
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

void Shop::begin_lot(std::size_t p, int kind) {
  const int stage = kinds[static_cast<std::size_t>(kind)].stage;
  const CellStage& s = in.stages[static_cast<std::size_t>(stage)];
  Hand& h = hands[static_cast<std::size_t>(stage)];
  take_up(stage, s.lot);
  if (s.bench >= 0) --bench_free[static_cast<std::size_t>(s.bench)];
  const double asked = h.askable_since;
  h.askable_since = askable(stage) ? now : never;
  begin(p, {kind, -1, asked, -1});
}

void Shop::begin(std::size_t p, Work w) {
  Who& who = people[p];
  KindTally& t = tally.kinds[static_cast<std::size_t>(w.kind)];
  if (w.rest < 0) {
    w.rest = pieces_of(w.kind) - 1;
    ++t.begun;
    t.wait += now - w.asked;
    if (now > w.asked) ++t.waited;
  }
  if (w.left < 0) w.left = time_of(w.kind);
  who.work = w;
  who.busy = true;
  who.until = now + w.left * in.people[p].pace;
  touch(w, true);
}

void Shop::put_down(std::size_t p) {
  Who& who = people[p];
  who.work.left = std::max(0.0, who.until - now) / in.people[p].pace;
  who.until = never;
  who.busy = false;
  touch(who.work, false);
  pending.push_back(who.work);
}

void Shop::touch(const Work& w, bool comes) {
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

void Shop::close_stretch(std::size_t m) {
  const Mill& mill = mills[m];
  MachineTally& t = tally.machines[m];
  const double stretch = mill.ran_until - mill.alone_since;
  if (stretch > t.longest_alone) {
    t.longest_alone = stretch;
    t.parts_in_longest = mill.parts_alone;
  }
}

void Shop::person_done(std::size_t p) {
  Who& who = people[p];
  Work w = who.work;
  const WorkKind& k = kinds[static_cast<std::size_t>(w.kind)];
  who.busy = false;
  who.until = never;
  touch(w, false);
  if (w.rest > 0) {  // the next part, unless something better waits
    --w.rest;
    w.left = -1;
    pending.push_back(w);
    return;
  }
  if (k.what == What::hand) {
    const double soak = in.stages[static_cast<std::size_t>(k.stage)].soak;
    if (soak > 0) hands[static_cast<std::size_t>(k.stage)].soaking.push_back(now + soak);
    else finish_lot(k.stage);
    return;
  }
  const std::size_t m = static_cast<std::size_t>(k.machine);
  if (k.what == What::take_off || k.what == What::put_on) set_task_done(m, k, w.set);
  else if (k.what == What::stop) stop_over(m);
  else phase_over(m);
}

void Shop::finish_lot(int stage) {
  const CellStage& s = in.stages[static_cast<std::size_t>(stage)];
  if (s.bench >= 0) ++bench_free[static_cast<std::size_t>(s.bench)];
  stage_done(stage, s.lot);
}

}  // namespace shop

}  // namespace fettle::timing
