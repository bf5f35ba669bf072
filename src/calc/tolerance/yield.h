#pragma once
// What is left of a lot over the whole route, what must be ordered, and what scrap costs by where it is found.
#include <string>
#include <vector>

#include "base/outcome.h"
#include "maths/statistics.h"

namespace fettle::tolerance {

/// A station of the route; `adds` is what it puts into a part that reaches it (the first one: the casting itself).
struct YieldStep {
  std::string name;
  double adds = 0;  ///< money per part, >= 0
};
/// A share of the parts that is lost: of those that come to the step where it is found.
struct YieldLoss {
  std::string name;
  double share = 0;           ///< 0..1
  double low = 0, high = 0;   ///< its band: low <= share <= high
  int caused = 0, found = 0;  ///< steps; found after or where it is caused
};
struct YieldInputs {
  std::vector<YieldStep> steps;
  std::vector<YieldLoss> losses;
};

/// What one loss does.
struct LossRow {
  std::string name;
  double lost_per_casting = 0;  ///< share of all castings that ends here
  double value_when_found = 0;  ///< money in the part by then
  double cost_per_good = 0;     ///< scrapped value carried by each good part
  double would_save = 0;        ///< money per good part if it were found at the step that causes it
  double yield_without = 0;     ///< rolled yield if this loss were gone
};
struct YieldResult {
  double rolled = 0;            ///< share of castings that become good parts, losses independent
  maths::Interval band;         ///< the same with every loss at the end of its band
  maths::Interval whatever;     ///< whatever the losses have to do with each other, at the stated shares
  double value_good = 0;        ///< money put into a good part
  double scrap_per_good = 0;    ///< scrapped money each good part carries
  double cost_per_good = 0;     ///< both
  std::vector<LossRow> losses;  ///< in the order given
};
/// Product of what each loss leaves. Dependent losses: between 1 - sum (never below 0) and 1 - the largest (Boole,
/// Frechet). Problems: shares outside their band or 0..1, steps that are not there, a loss found before it is caused.
Outcome<YieldResult> rolled_yield(const YieldInputs& inputs);

struct OrderInputs {
  long long good = 0;        ///< good parts wanted, >= 1
  double yield = 0;          ///< rolled yield, > 0..1
  double yield_low = 0;      ///< the yield at its bad end (0: as stated)
  double confidence = 0.95;  ///< chance that enough come out, 0..1
  long long lot = 1;         ///< castings come in multiples of this
  long long least = 0;       ///< least the foundry pours
};
struct OrderResult {
  long long order = 0;           ///< castings to order
  long long needed = 0;          ///< fewest castings that do, before lots
  long long needed_at_low = 0;   ///< the same at the bad end of the yield
  long long on_average = 0;      ///< good / yield, rounded up: enough only about every second time
  double chance = 0;             ///< that `order` castings give enough good parts
  double chance_on_average = 0;  ///< that `on_average` castings do
};
/// Fewest castings that give `good` good parts with the stated confidence: exact binomial, castings independent.
/// Problems: bad numbers; more than a thousand million castings.
Outcome<OrderResult> castings_to_order(const OrderInputs& inputs);

/// Chance that n castings of this yield give at least `good` good parts (exact binomial).
double chance_of_enough(long long castings, long long good, double yield);

}  // namespace fettle::tolerance
