#include "calc/tolerance/yield.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"

namespace fettle::tolerance {

namespace {

using std::size_t;

Problems check(const YieldInputs& in) {
  Problems p;
  const auto refuse = [&](bool good, const std::string& what, double found, const char* expected) {
    if (!good) p.push_back(bad(what, base::shortest(found), expected));
  };
  if (in.steps.empty()) p.push_back(bad("a route needs at least one step"));
  for (const YieldStep& s : in.steps)
    refuse(std::isfinite(s.adds) && s.adds >= 0, s.name + ": money it adds", s.adds, "0 or more");
  const int n = static_cast<int>(in.steps.size());
  for (const YieldLoss& l : in.losses) {
    refuse(l.share >= 0 && l.share <= 1, l.name + ": share", l.share, "0 to 1");
    refuse(l.low >= 0 && l.low <= l.share, l.name + ": low end", l.low, "0 to the share");
    refuse(l.high <= 1 && l.high >= l.share, l.name + ": high end", l.high, "the share to 1");
    refuse(l.caused >= 0 && l.caused < n, l.name + ": step that causes it", l.caused, "a step of the route");
    refuse(l.found >= l.caused && l.found < n, l.name + ": step that finds it", l.found,
           "a step, not before the one that causes it");
  }
  return p;
}

struct Walk {
  double good = 1, spent = 0, value = 0;
  std::vector<double> lost, value_found;
};
/// Walks one casting down the route. `found[i]`: where loss i is found; `share[i]` of those that come there.
Walk walk(const YieldInputs& in, const std::vector<double>& share, const std::vector<int>& found) {
  Walk w;
  w.lost.assign(share.size(), 0);
  w.value_found.assign(share.size(), 0);
  for (size_t s = 0; s < in.steps.size(); ++s) {
    w.value += in.steps[s].adds;
    w.spent += w.good * in.steps[s].adds;
    for (size_t i = 0; i < share.size(); ++i) {
      if (found[i] != static_cast<int>(s)) continue;
      w.lost[i] = w.good * share[i];
      w.value_found[i] = w.value;
      w.good -= w.lost[i];
    }
  }
  return w;
}

}  // namespace

Outcome<YieldResult> rolled_yield(const YieldInputs& in) {
  Problems problems = check(in);
  if (!problems.empty()) return problems;
  YieldResult r;
  std::vector<double> share;
  std::vector<int> found;
  double sum = 0, largest = 0;
  r.band = {1, 1};
  for (const YieldLoss& l : in.losses) {
    share.push_back(l.share);
    found.push_back(l.found);
    sum += l.share;
    largest = std::max(largest, l.share);
    r.band.low *= 1 - l.high;
    r.band.high *= 1 - l.low;
  }
  r.whatever = {std::max(0.0, 1 - sum), 1 - largest};
  const Walk w = walk(in, share, found);
  r.rolled = w.good;
  if (!(w.good > 0)) return bad("no good part is left", base::shortest(w.good), "losses that leave something");
  r.value_good = w.value;
  r.cost_per_good = w.spent / w.good;
  r.scrap_per_good = r.cost_per_good - r.value_good;
  for (size_t i = 0; i < share.size(); ++i) {
    std::vector<double> without = share;
    without[i] = 0;
    std::vector<int> earlier = found;
    earlier[i] = in.losses[i].caused;
    const Walk gone = walk(in, without, found), sooner = walk(in, share, earlier);
    r.losses.push_back({in.losses[i].name, w.lost[i], w.value_found[i], w.lost[i] * w.value_found[i] / w.good,
                        r.cost_per_good - sooner.spent / sooner.good, gone.good});
  }
  return r;
}

double chance_of_enough(long long castings, long long good, double yield) {
  if (!(yield >= 0 && yield <= 1) || castings < 0) return std::nan("");
  if (good <= 0) return 1;
  if (good > castings) return 0;
  if (yield == 0 || yield == 1) return yield;
  // P(at least `good` of n) is the incomplete beta function I_yield(good, n - good + 1): found from its quantile, which
  // rises with the share.
  const double a = static_cast<double>(good), b = static_cast<double>(castings - good + 1);
  double low = 0, high = 1;
  for (int i = 0; i < 60; ++i) {
    const double middle = (low + high) / 2;
    (maths::beta_quantile(middle, a, b) <= yield ? low : high) = middle;
  }
  return low;
}

Outcome<OrderResult> castings_to_order(const OrderInputs& in) {
  Problems p;
  const auto refuse = [&](bool good, const char* what, const std::string& found, const char* expected) {
    if (!good) p.push_back(bad(what, found, expected));
  };
  constexpr long long most = 1'000'000'000;
  refuse(in.good >= 1 && in.good <= most, "good parts wanted", std::to_string(in.good), "1 to a thousand million");
  refuse(in.yield > 0 && in.yield <= 1, "yield", base::shortest(in.yield), "above 0, at most 1");
  refuse(in.yield_low >= 0 && in.yield_low <= in.yield, "yield at its bad end", base::shortest(in.yield_low),
         "0 (as stated) to the yield");
  refuse(in.confidence > 0 && in.confidence < 1, "confidence", base::shortest(in.confidence), "between 0 and 1");
  refuse(in.lot >= 1 && in.lot <= most, "lot", std::to_string(in.lot), "1 or more");
  refuse(in.least >= 0 && in.least <= most, "least order", std::to_string(in.least), "0 or more");
  if (!p.empty()) return p;

  const auto enough = [&](long long n, double yield) {  // exact: n castings do when the yield is not below the quantile
    return yield == 1 || maths::beta_quantile(in.confidence, static_cast<double>(in.good),
                                              static_cast<double>(n - in.good + 1)) <= yield;
  };
  const auto fewest = [&](double yield) -> long long {
    long long low = in.good - 1, high = in.good;
    while (!enough(high, yield)) {
      low = high;
      high *= 2;
      if (high > 4 * most) return -1;
    }
    while (high - low > 1) {
      const long long middle = low + (high - low) / 2;
      (enough(middle, yield) ? high : low) = middle;
    }
    return high;
  };
  OrderResult r;
  r.needed = fewest(in.yield);
  r.needed_at_low = in.yield_low > 0 ? fewest(in.yield_low) : r.needed;
  if (r.needed < 0 || r.needed_at_low < 0)
    return bad("the yield is too small for this order", base::shortest(in.yield), "fewer good parts or a better yield");
  r.on_average = static_cast<long long>(std::ceil(static_cast<double>(in.good) / in.yield - 1e-9));
  r.chance_on_average = chance_of_enough(r.on_average, in.good, in.yield);
  const long long lots = (r.needed + in.lot - 1) / in.lot * in.lot;
  r.order = std::max(lots, (in.least + in.lot - 1) / in.lot * in.lot);
  r.chance = chance_of_enough(r.order, in.good, in.yield);
  return r;
}

}  // namespace fettle::tolerance
