#include "study/shop_load.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "base/text.h"
#include "study/plan_times.h"

namespace fettle::study {

namespace {

/// Above it little is left for waiting: common practice.
constexpr double nearly_full = 0.9;

/// Machines with one id must be one machine.
void check_machines(const std::vector<const plan::Plan*>& plans, Problems& problems) {
  for (std::size_t i = 1; i < plans.size(); ++i)
    for (const plan::Machine& m : plans[i]->shop.machines) {
      const plan::Machine* first = find_machine(*plans[0], m.id.value);
      if (first == nullptr || (first->name.value == m.name.value && first->rapid.si == m.rapid.si &&
                               first->change_over.si == m.change_over.si && first->rate.si == m.rate.si))
        continue;
      problems.push_back(bad(fmt::format("machine {} of plan {} is another one than in plan {}", m.id.value,
                                         plans[i]->header.name.value, plans[0]->header.name.value),
                             m.name.value, "plans that stand on one shop"));
    }
}

void check_week(const std::vector<const plan::Plan*>& plans, Problems& problems) {
  std::optional<double> week;
  std::string who;
  for (const plan::Plan* p : plans)
    if (const auto w = week_there(*p)) {
      if (week && std::fabs(*week - *w) > 1)
        problems.push_back(bad(
            fmt::format("plans {} and {} say different hours a week (shift and available)", who, p->header.name.value),
            fmt::format("{} h and {} h", base::fixed(*week / 3600, 1), base::fixed(*w / 3600, 1)),
            "the same week for one shop"));
      if (!week) week = w, who = p->header.name.value;
    }
}

ShopPlan row_of(const plan::Plan& p, const CountedWeek& w) {
  ShopPlan row{p.header.name.value, p.demand.per_week.si, w.good_share, w.hone_share, w.hone_source, {}};
  if (!p.demand.per_week.known()) row.missing.emplace_back("demand.per_week: good parts a week");
  row.missing.insert(row.missing.end(), w.missing.begin(), w.missing.end());
  return row;
}

std::string hours(double s) { return base::fixed(s / 3600, 1) + " h"; }

void say_it(ShopLoad& s) {
  std::vector<std::string> over;
  for (const timing::MachineHours& m : s.machines)
    if (m.there > 0 && m.hours > m.there)
      over.push_back(fmt::format("machine {} needs {} of {}", m.machine, hours(m.hours), hours(m.there)));
  const double people = s.people.by_hand + s.people.changing;
  if (s.people_there > 0 && people > s.people_there)
    over.push_back(fmt::format("the people need {} of {}", hours(people), hours(s.people_there)));
  s.over = !over.empty();
  if (s.over) s.sentence = fmt::format("It cannot all be made: {}.", base::join(over, "; "));
  else if (s.open) s.sentence = "Something is missing, so nobody can say yet whether it fits.";
  else {
    const auto fullest = std::max_element(s.machines.begin(), s.machines.end(),
                                          [](const auto& a, const auto& b) { return a.use() < b.use(); });
    s.sentence = fullest == s.machines.end()
                     ? "No machine is used."
                     : fmt::format("{}; the fullest is machine {}, {} of {} a week{}.",
                                   fullest->use() > nearly_full ? "It fits by added-up hours" : "It fits",
                                   fullest->machine, hours(fullest->hours), hours(fullest->there),
                                   fullest->use() > nearly_full ? "; waiting for one another is not in that" : "");
  }
}

}  // namespace

Outcome<CountedWeek> count_week(const plan::Plan& plan, const Data& data, const Options& options, Memo& memo) {
  Options only = options;
  only.only = {"tolerances", "bores", "time and cost"};
  only.bands = only.pictures = false;
  const Outcome<Study> s = run(plan, data, only, memo);
  if (!s.ok()) return s.problems();
  return s->counted_week.value_or(CountedWeek{});
}

Outcome<ShopLoad> shop_load(const std::vector<const plan::Plan*>& plans, const std::vector<CountedWeek>& weeks) {
  if (plans.empty()) return bad("no plan to add up", "", "plan files that name one shop");
  Problems problems;
  check_machines(plans, problems);
  check_week(plans, problems);
  std::set<std::string> names;
  for (const plan::Plan* p : plans)
    if (!names.insert(p->header.name.value).second)
      problems.push_back(bad("two plans have the same name", p->header.name.value, "a name of its own for each"));
  if (!problems.empty()) return problems;
  ShopLoad s;
  s.shop = plans[0]->shop.name.value;
  std::vector<timing::PlanLoad> loads;
  std::vector<timing::MachineThere> there;
  for (std::size_t i = 0; i < plans.size(); ++i) {
    const plan::Plan* p = plans[i];
    s.plans.push_back(row_of(*p, weeks[i]));
    loads.push_back(weeks[i].load);
    for (const timing::MachineThere& m : machines_there(*p)) {
      const auto known =
          std::find_if(there.begin(), there.end(), [&](const auto& t) { return t.machine == m.machine; });
      if (known == there.end()) there.push_back(m);
      else known->hours = std::max(known->hours, m.hours);
    }
    if (const auto w = week_there(*p)) {
      const plan::Integer& n = p->demand.operators.known() ? p->demand.operators : p->shop.people.operators;
      if (n.known()) s.people_there = std::max(s.people_there, *w * n.value);
    }
  }
  const auto machines = timing::machine_load(loads, there);
  if (!machines.ok()) return machines.problems();
  s.machines = *machines;
  s.people = timing::people_load(loads, s.machines);
  const bool week = std::any_of(s.machines.begin(), s.machines.end(), [](const auto& m) { return m.there > 0; });
  if (!week) s.missing.emplace_back("demand.shift and demand.available: hours a week that are there");
  if (s.people_there <= 0) s.missing.emplace_back("demand.operators: how many people");
  s.open = !s.missing.empty();
  for (const ShopPlan& p : s.plans) s.open = s.open || !p.missing.empty();
  for (const timing::MachineHours& m : s.machines) s.open = s.open || !m.missing.empty();
  say_it(s);
  return s;
}

}  // namespace fettle::study
