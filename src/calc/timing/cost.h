#pragma once
// What a good part costs: money put in, operation by operation, and parts lost valued where they are found.
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"

namespace fettle::timing {

struct CostStep {
  std::string operation;
  double money = 0;  ///< put into each part that comes here
  double lost = 0;   ///< share of the parts that come here found bad after it, 0..1
};
struct CostInputs {
  double casting = 0;  ///< price of what the first operation starts from
  std::vector<CostStep> steps;
};
struct CostAt {
  std::string operation;
  double come = 0;        ///< parts that come here, of one casting bought
  double money_in = 0;    ///< put into one part by the end of this operation
  double lost_value = 0;  ///< of what is lost here, per good part
};
struct CostResult {
  double good_share = 0;  ///< of the castings bought
  double castings_per_good = 0;
  double per_good = 0;               ///< all money over good parts
  double put_in = 0;                 ///< into one part that comes through
  double lost_value = 0;             ///< per good part; per_good = put_in + lost_value
  double lost_at_casting_price = 0;  ///< the same parts at the price of a casting, as it is often reckoned
  std::vector<CostAt> at;
};
/// Problems: negative money, shares outside 0..1, nothing left at the end.
Outcome<CostResult> cost_per_good_part(const CostInputs& in);

/// Parts until a fixture has paid: N = (C (I + T + D + M) + S)/(a (1 + b)). Yearly shares of its cost C: interest I,
/// taxes and insurance T, depreciation D, upkeep M; S setting up (all set-ups of a year); a labour saved a part, b
/// overhead on labour. Sharma, Example 5.20.
struct PaybackInputs {
  double cost = 0, interest = 0, taxes = 0, depreciation = 0, upkeep = 0, setting_up = 0, saved_per_part = 0,
         overhead = 0;
};
Outcome<double> payback_parts(const PaybackInputs& in);

/// The day `days` after a date "2026-11-02" (Gregorian); a problem for anything that is no such date.
Outcome<std::string> day_after(const std::string& date, double days);

/// When the parts can be there: castings after their lead time, then what the slowest resource makes a week, and the
/// last ones through the route.
struct PromiseInputs {
  double parts = 0;          ///< good ones promised
  double castings_in = 0;    ///< s until castings are there
  double good_per_week = 0;  ///< of the limiting resource
  double through = 0;        ///< s for one lot through the route
};
Outcome<double> promise(const PromiseInputs& in);  ///< s from the order

}  // namespace fettle::timing
