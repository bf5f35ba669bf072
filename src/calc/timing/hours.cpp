#include "calc/timing/hours.h"

#include <algorithm>
#include <map>

#include "calc/timing/check.h"

namespace fettle::timing {

namespace {

void check_load(const std::vector<PlanLoad>& plans, const std::vector<MachineThere>& there, Check& check) {
  for (const MachineThere& m : there) {
    check.at_least("hours there of machine " + m.machine, m.hours, 0);
    if (m.change_over) check.at_least("change-over of machine " + m.machine, *m.change_over, 0);
  }
  for (const PlanLoad& p : plans)
    for (const OperationLoad& o : p.operations) {
      check.at_least(o.operation + ": machine time", o.machine_per_part, 0);
      check.at_least(o.operation + ": time by hand", o.person_per_part, 0);
      check.at_least(o.operation + ": parts a week", o.parts_per_week, 0);
      check.at_least(o.operation + ": lot", o.lot, 0);
      const bool known = std::any_of(there.begin(), there.end(), [&](const auto& m) { return m.machine == o.machine; });
      if (!o.machine.empty() && !known)
        check.problems.push_back(bad("a machine that is not there", o.machine, "a machine of the shop"));
    }
}

/// Parts a week and lot of each set-up of one machine. A set-up of several operations is set up once a lot: the largest
/// number of parts and the smallest lot count.
struct SetUp {
  double parts = 0, lot = 0;
  std::string plan, operation;
};
std::map<std::string, SetUp> set_ups_of(const std::vector<PlanLoad>& plans, const std::string& machine) {
  std::map<std::string, SetUp> out;
  for (const PlanLoad& p : plans)
    for (const OperationLoad& o : p.operations) {
      if (o.machine != machine || o.parts_per_week <= 0) continue;
      SetUp& s = out[o.set_up];
      s.parts = std::max(s.parts, o.parts_per_week);
      if (o.lot > 0) s.lot = s.lot > 0 ? std::min(s.lot, o.lot) : o.lot;
      s.plan = p.plan;
      s.operation = o.operation;
    }
  return out;
}

PlanHours& row(std::vector<PlanHours>& rows, const std::string& plan) {
  for (PlanHours& r : rows)
    if (r.plan == plan) return r;
  rows.push_back({plan, 0, 0});
  return rows.back();
}

}  // namespace

Outcome<std::vector<MachineHours>> machine_load(const std::vector<PlanLoad>& plans,
                                                const std::vector<MachineThere>& there) {
  Check check;
  check_load(plans, there, check);
  if (!check.problems.empty()) return check.problems;
  std::vector<MachineHours> out;
  for (const MachineThere& m : there) {
    MachineHours h;
    h.machine = m.machine;
    h.there = m.hours;
    for (const PlanLoad& p : plans)
      for (const OperationLoad& o : p.operations)
        if (o.machine == m.machine) row(h.plans, p.plan).running += o.machine_per_part * o.parts_per_week;
    const auto set_ups = set_ups_of(plans, m.machine);
    h.set_ups = static_cast<int>(set_ups.size());
    if (h.set_ups > 1) {
      if (!m.change_over)
        h.missing.push_back("change_over of machine " + m.machine + ": time to change between set-ups");
      for (const auto& [name, s] : set_ups) {
        if (s.lot <= 0) {
          h.missing.push_back("lot of " + s.operation + ": parts between change-overs");
          continue;
        }
        h.changes += s.parts / s.lot;
        if (m.change_over) row(h.plans, s.plan).changing += s.parts / s.lot * *m.change_over;
      }
    }
    for (const PlanHours& p : h.plans) {
      h.changing += p.changing;
      h.hours += p.total();
    }
    out.push_back(h);
  }
  return out;
}

PeopleHours people_load(const std::vector<PlanLoad>& plans, const std::vector<MachineHours>& machines) {
  PeopleHours r;
  for (const PlanLoad& p : plans) {
    PlanHours& mine = row(r.plans, p.plan);
    for (const OperationLoad& o : p.operations) mine.running += o.person_per_part * o.parts_per_week;
    for (const MachineHours& m : machines)
      for (const PlanHours& h : m.plans)
        if (h.plan == p.plan) mine.changing += h.changing;
    r.by_hand += mine.running;
    r.changing += mine.changing;
  }
  return r;
}

}  // namespace fettle::timing
