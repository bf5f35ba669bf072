#pragma once
// Money of a plan: what is in a part after each operation, what a good part costs. Pure on the plan and quick.
#include <string>
#include <vector>

#include "plan/plan.h"
#include "study/plan_times.h"

namespace fettle::study {

/// Money in one part by the end of an operation: what is lost when it is found bad there.
struct PartValue {
  std::string operation;
  double at_operation = 0;                                ///< casting and all work up to here
  double machine = 0, people = 0, tools = 0, bought = 0;  ///< put in by this operation, per part that comes here
  double added() const { return machine + people + tools + bought; }
  double come_per_good = 0;  ///< parts that come here for each good one
  double lost = 0;           ///< share of those found bad after it
  double lost_value = 0;     ///< per good part
};

struct PlanCost {
  bool there = false;  ///< false: `missing` says why; what is known of `parts` is filled all the same
  std::string currency;
  double casting = 0;
  std::vector<PartValue> parts;  ///< by operation, in the plan's order
  double good_share = 1;         ///< of the castings bought
  double castings_per_good = 1;
  double per_good = 0;               ///< what one good part costs
  double put_in = 0;                 ///< of it, into a part that comes through
  double lost_value = 0;             ///< of it, parts lost, valued where they are found
  double lost_at_casting_price = 0;  ///< the same parts at the price of a casting
  double castings_per_week = 0;      ///< to order, 0 when no demand is said
  double once = 0;                   ///< pallets of all sets and the pattern, paid once
  double once_per_part = 0;          ///< over the good parts of a year; 0 when the plan does not say how many
  std::vector<std::string> missing;  ///< "casting.price: ..."
  /// Value of a part found bad after this operation; 0 for one that the plan does not have.
  double value_at(std::string_view operation) const;
};

/// `good_share`: good parts over castings, from the losses or better known (rolled yield). What it asks for beyond the
/// plan's losses is found after the last operation. `hone_share`: of the parts, how many are honed.
/// Machine hours are paid at the machine's rate, which covers who loads it; work at a bench, gauging and honing at the
/// people's rate; an operation with a price at that price.
PlanCost plan_cost(const plan::Plan& plan, double good_share, double hone_share = usual_hone_share);
/// The same with times already known, edge changes at `edge_time` s each.
PlanCost plan_cost(const plan::Plan& plan, const PlanTimes& times, double good_share, double hone_share,
                   double edge_time);

}  // namespace fettle::study
