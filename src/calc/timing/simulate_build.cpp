// What a replication starts with: streams of random numbers, kinds of work, people.
#include <cmath>
#include <utility>

#include "calc/timing/simulate_shop.h"

namespace fettle::timing {

namespace shop {

Drawn Shop::drawn(const TaskTime& t) {
  Drawn d;
  d.mean = t.mean;
  d.exponential = t.scatter == TimeScatter::exponential;
  const double v = std::log1p(t.cv * t.cv);
  d.sigma = std::sqrt(v);
  d.mu = -v / 2;
  d.stream = streams++;
  return d;
}

void Shop::build_streams() {
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

void Shop::build_kind(int k) {
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

void Shop::build_people() {
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

}  // namespace shop

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
      if (job.swap_by_person) out.push_back({WorkKind::What::swap, "swap", mi, ji, 0, -1, job.swap_priority});
      if (!job.edges.empty()) out.push_back({WorkKind::What::edge, "change edge", mi, ji, 0, -1, job.edge_priority});
      for (std::size_t i = 0; i < job.take_off.size(); ++i)
        out.push_back({WorkKind::What::take_off, job.take_off[i].name, mi, ji, static_cast<int>(i), -1,
                       job.take_off[i].priority});
      for (std::size_t i = 0; i < job.put_on.size(); ++i)
        out.push_back(
            {WorkKind::What::put_on, job.put_on[i].name, mi, ji, static_cast<int>(i), -1, job.put_on[i].priority});
    }
    if (machine.jobs.size() > 1)
      out.push_back({WorkKind::What::change_over, "change over", mi, -1, 0, -1, machine.change_over_priority});
    if (machine.stop_every > 0 && machine.stop_needs_person)
      out.push_back({WorkKind::What::stop, "stop", mi, -1, 0, -1, machine.stop_priority});
  }
  const std::vector<bool> hand = done_by_hand(in);
  for (std::size_t s = 0; s < in.stages.size(); ++s)
    if (hand[s]) {
      const HandTask& t = in.stages[s].task;
      out.push_back({WorkKind::What::hand, t.name.empty() ? in.stages[s].name : t.name, -1, -1, 0, static_cast<int>(s),
                     t.priority});
    }
  return out;
}

}  // namespace fettle::timing
