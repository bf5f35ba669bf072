// Sets and machines: loading, swapping, changing, cutting; and what a spindle shows.
#include <algorithm>

#include "calc/timing/simulate_shop.h"

namespace fettle::timing {

namespace shop {

void Shop::begin_task(std::size_t m, std::size_t j, int set, Set::Phase phase, int task) {
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

void Shop::set_task_done(std::size_t m, const WorkKind& k, int set) {
  const std::size_t j = static_cast<std::size_t>(k.job);
  begin_task(m, j, set, mills[m].jobs[j].sets[static_cast<std::size_t>(set)].phase, k.index + 1);
}

bool Shop::fill(std::size_t m, std::size_t j) {
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

bool Shop::step_machine(std::size_t m) {
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
  bool coming = false;  // a set is being loaded, or will be as soon as it is unloaded
  const bool parts = ready_before(in.machines[m].jobs[j].stage) >= job.load && room_after(in.machines[m].jobs[j].stage);
  for (std::size_t s = 0; s < job.sets.size(); ++s) {
    const Set::Phase phase = job.sets[s].phase;
    if (ready < 0 && phase == Set::Phase::ready) ready = static_cast<int>(s);
    coming = coming || phase == Set::Phase::putting_on || (parts && phase == Set::Phase::taking_off);
  }
  if (change_job(m, ready >= 0 || coming)) return true;
  if (ready >= 0) return start_load(m, ready), true;
  return any;
}

bool Shop::change_job(std::size_t m, bool able) {
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
    bool ready = false;
    for (const Set& s : state.sets) ready = ready || s.phase == Set::Phase::ready || s.phase == Set::Phase::putting_on;
    if (state.sets.size() == 1)
      ready = ready_before(job.stage) >= std::max(job.batch, state.load) &&
              room_for(job.stage, std::max(job.batch, state.load));
    if (ready && (best < 0 || job.stage > machine.jobs[static_cast<std::size_t>(best)].stage))
      best = static_cast<int>(j);
  }
  if (best < 0) return false;
  mill.to_job = best;
  person_phase(m, Mill::Phase::changing_over, mill.over_kind);
  return true;
}

void Shop::person_phase(std::size_t m, Mill::Phase phase, int kind) {
  Mill& mill = mills[m];
  mill.phase = phase;
  mill.by_person = true;
  mill.until = never;
  ask(kind);
}

void Shop::timed_phase(std::size_t m, Mill::Phase phase, double length) {
  Mill& mill = mills[m];
  mill.phase = phase;
  mill.by_person = false;
  mill.until = now + length;
}

void Shop::start_load(std::size_t m, int set) {
  Mill& mill = mills[m];
  JobState& job = mill.jobs[static_cast<std::size_t>(mill.job)];
  mill.next_set = set;
  if (job.swap_kind >= 0) return person_phase(m, Mill::Phase::swapping, job.swap_kind);
  timed_phase(m, Mill::Phase::swapping, draw(job.swap));
  if (!(job.swap.mean > 0)) phase_over(m);
}

bool Shop::rest_of_swap(std::size_t m) {
  const double rest = in.machines[m].jobs[static_cast<std::size_t>(mills[m].job)].swap_rest;
  mills[m].resting = !mills[m].resting && rest > 0;
  if (mills[m].resting) timed_phase(m, Mill::Phase::swapping, rest);
  return mills[m].resting;
}

void Shop::phase_over(std::size_t m) {
  Mill& mill = mills[m];
  switch (mill.phase) {
    case Mill::Phase::changing_over:
      mill.job = mill.to_job;
      mill.made = 0;
      mill.phase = Mill::Phase::idle;
      return;
    case Mill::Phase::swapping:
      if (rest_of_swap(m)) return;
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

void Shop::exchange(std::size_t m) {
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

bool Shop::edges_due(std::size_t m) {
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

void Shop::probe_or_cut(std::size_t m) {
  JobState& j = here_job(m);
  if (j.probe.mean > 0) return timed_phase(m, Mill::Phase::probing, draw(j.probe));
  cut(m);
}

void Shop::cut(std::size_t m) {
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

void Shop::cut_on(std::size_t m) {
  Mill& mill = mills[m];
  mill.segment = std::min(mill.cut_left, mill.stop_left);
  timed_phase(m, Mill::Phase::cutting, mill.segment);
}

void Shop::stop(std::size_t m) {
  Mill& mill = mills[m];
  if (mill.stop_kind >= 0) return person_phase(m, Mill::Phase::stopped, mill.stop_kind);
  timed_phase(m, Mill::Phase::stopped, draw(mill.stop_time));
}

void Shop::stop_over(std::size_t m) {
  mills[m].stop_left = draw(mills[m].stop_gap);
  cut_on(m);
}

void Shop::load_done(std::size_t m) {
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

bool Shop::freeze(std::size_t m) {
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

void Shop::settle() {
  do {  // machines ask for everything first, so that people choose among all of it
    for (bool any = true; any;) {
      any = false;
      for (std::size_t m = 0; m < mills.size(); ++m) any = step_machine(m) || any;
    }
  } while (assign());
  for (std::size_t m = 0; m < mills.size(); ++m) show(m);
  if (tracing) trace_rows();
}

void Shop::show(std::size_t m) {
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

void Shop::show_person(Mill& mill, SpindleState doing, int kind) {
  mill.shows_kind = kind;
  if (!mill.by_person || mill.worked_on) mill.shows = doing;
  else mill.shows = anyone_can(kind) ? SpindleState::waits_person : SpindleState::nobody;
}

void Shop::show_idle(std::size_t m) {
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

}  // namespace shop

}  // namespace fettle::timing
