#include "study/cost.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "calc/timing/cost.h"

namespace fettle::study {

namespace {

constexpr double hour = 3600;

void tools_of(const OperationTime& t, PartValue& v, std::vector<std::string>& missing) {
  for (const CutRow& row : t.cuts) {
    if (!row.edge || !row.counted) continue;
    if (row.edge->cost_per_part) v.tools += *row.edge->cost_per_part;
    else missing.push_back(fmt::format("tool.price of {}: price of one edge", row.tool));
  }
  missing.insert(missing.end(), t.edges_missing.begin(), t.edges_missing.end());
}

PartValue value_of(const plan::Plan& plan, const plan::Operation& o, const OperationTime& t, double hone_share,
                   double edge_time, std::vector<std::string>& missing) {
  PartValue v;
  v.operation = t.id;
  const auto pay = [&](double seconds, const plan::Number& rate, const std::string& key) {
    if (seconds <= 0) return 0.0;
    if (!rate.known()) missing.push_back(key);
    return seconds / hour * rate.si;
  };
  const std::string people = "people.rate: what an hour of a person costs";
  v.people += pay(t.gauging_per_part, plan.shop.people.rate, people);
  if (o.price.known()) {
    v.bought = o.price.si * (t.kind == "hone" ? hone_share : 1);
    return v;
  }
  if (t.bought) {
    missing.push_back(fmt::format("operation.price of {}: price per part of work bought in", t.id));
    return v;
  }
  missing.insert(missing.end(), t.missing.begin(), t.missing.end());
  if (t.bench_per_part > 0) {
    v.people += pay(t.bench_per_part, plan.shop.people.rate, people);
    return v;
  }
  const plan::Machine* m = find_machine(plan, t.machine);
  static const plan::Number unsaid;
  v.machine = pay(t.machine_per_part + t.edge_changes_per_part * edge_time, m != nullptr ? m->rate : unsaid,
                  fmt::format("machine.rate of {}: what an hour of it costs", t.machine));
  tools_of(t, v, missing);
  return v;
}

/// What change-overs add to a part: the machine stands, once for every lot of each set-up.
double change_over_of(const plan::Plan& plan, const PlanTimes& times, std::size_t i) {
  const OperationTime& t = times.operations[i];
  const plan::Machine* m = find_machine(plan, t.machine);
  if (m == nullptr || !m->change_over.known() || !m->rate.known() || t.lot <= 0) return 0;
  std::vector<std::string> set_ups;
  bool first = true;
  for (std::size_t k = 0; k < times.operations.size(); ++k) {
    const OperationTime& x = times.operations[k];
    if (x.machine != t.machine) continue;
    if (k < i && x.set_up == t.set_up) first = false;
    if (std::find(set_ups.begin(), set_ups.end(), x.set_up) == set_ups.end()) set_ups.push_back(x.set_up);
  }
  return first && set_ups.size() > 1 ? m->change_over.si / t.lot / hour * m->rate.si : 0;
}

}  // namespace

double PlanCost::value_at(std::string_view operation) const {
  for (const PartValue& v : parts)
    if (v.operation == operation) return v.at_operation;
  return 0;
}

PlanCost plan_cost(const plan::Plan& plan, double good_share, double hone_share) {
  TimesOptions options;
  options.hone_share = hone_share;
  const plan::Number& edge = plan.shop.people.edge_time;
  return plan_cost(plan, plan_times(plan, options), good_share, hone_share, edge.known() ? edge.si : 0);
}

PlanCost plan_cost(const plan::Plan& plan, const PlanTimes& times, double good_share, double hone_share,
                   double edge_time) {
  PlanCost c;
  c.currency = currency_of(plan);
  c.casting = plan.casting.price.si;
  if (!plan.casting.price.known()) c.missing.emplace_back("casting.price: price of one casting");
  if (plan.operations.empty()) c.missing.emplace_back("operation: the route");
  if (!(good_share > 0 && good_share <= 1)) {
    c.missing.emplace_back("a share of good parts above 0 and up to 1");
    return c;
  }
  timing::CostInputs in;
  in.casting = c.casting;
  for (std::size_t i = 0; i < times.operations.size(); ++i) {
    PartValue v = value_of(plan, plan.operations[i], times.operations[i], hone_share, edge_time, c.missing);
    v.machine += change_over_of(plan, times, i);
    double stay = 1;
    for (const plan::Loss& l : plan.losses)
      if (l.operation.value == v.operation) stay *= 1 - l.share.si;
    v.lost = 1 - stay;
    c.parts.push_back(v);
  }
  const double beyond = good_share / share_without_losses(plan);
  if (!c.parts.empty() && beyond < 1) c.parts.back().lost = 1 - (1 - c.parts.back().lost) * beyond;
  for (const PartValue& v : c.parts) in.steps.push_back({v.operation, v.added(), v.lost});
  const auto cost = timing::cost_per_good_part(in);
  if (!cost.ok()) {
    c.missing.push_back(say(cost.problem()));
    return c;
  }
  for (std::size_t i = 0; i < c.parts.size(); ++i) {
    c.parts[i].at_operation = cost->at[i].money_in;
    c.parts[i].come_per_good = cost->at[i].come * cost->castings_per_good;
    c.parts[i].lost_value = cost->at[i].lost_value;
  }
  c.good_share = cost->good_share;
  c.castings_per_good = cost->castings_per_good;
  c.per_good = cost->per_good;
  c.put_in = cost->put_in;
  c.lost_value = cost->lost_value;
  c.lost_at_casting_price = cost->lost_at_casting_price;
  c.castings_per_week = std::ceil(plan.demand.per_week.si * cost->castings_per_good - 1e-9);
  c.once = plan.casting.pattern_cost.si +
           plan.pallet.cost.si * std::max(0, plan.pallet.sets.value) * std::max(0, plan.pallet.on_table.value);
  const double year = plan.demand.per_week.si * (plan.demand.weeks.known() ? plan.demand.weeks.value : 0);
  if (year > 0) c.once_per_part = c.once / year;
  std::sort(c.missing.begin(), c.missing.end());
  c.missing.erase(std::unique(c.missing.begin(), c.missing.end()), c.missing.end());
  c.there = c.missing.empty();
  return c;
}

}  // namespace fettle::study
