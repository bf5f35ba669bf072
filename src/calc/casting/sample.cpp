#include "calc/casting/sample.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "maths/statistics.h"
#include "unit/quantity.h"

namespace fettle::casting {
namespace {

std::string percent(double share) {
  // Cut, never rounded up: 99.96 % is not "100 %".
  const double p = std::floor(share * 1000) / 10;
  return base::fixed(p, p == std::floor(p) ? 0 : 1) + " %";
}
std::string length(double m) { return unit::print(m, unit::Kind::length); }

std::string words(const SampleInputs& in, const SampleResult& r) {
  const std::string measured = std::to_string(r.n) + (r.n == 1 ? " casting" : " castings") + " measured";
  if (!r.enough) return measured + ": not enough to say anything about the lot; measure at least 3, better 10.";
  std::string out = measured + ", " + (r.below == 0 ? "none" : std::to_string(r.below)) + " below " + length(in.limit) +
                    ", worst " + length(r.worst) + ". With " + percent(in.confidence) + " confidence at least " +
                    percent(r.share_low) + " of the lot are good";
  out += r.share_low >= in.asked_share ? "; that is enough." : ", and " + percent(in.asked_share) + " are asked.";
  if (r.share_low < in.asked_share) {
    const double need = in.limit + r.factor * r.s - r.mean;
    if (need > 0) out += " For that the least stock would have to be " + length(need) + " more, or its spread smaller.";
  }
  return out;
}

}  // namespace

Outcome<SampleResult> judge_sample(const SampleInputs& in) {
  Problems problems;
  for (double v : in.values)
    if (!std::isfinite(v)) {
      problems.push_back(bad("a measured value is not a number"));
      break;
    }
  if (!std::isfinite(in.limit)) problems.push_back(bad("the limit is not a number"));
  if (!(in.confidence > 0.5 && in.confidence < 1))
    problems.push_back(bad("a confidence lies above 0.5 and below 1", base::shortest(in.confidence)));
  if (!(in.asked_share > 0 && in.asked_share < 1))
    problems.push_back(bad("a share lies between 0 and 1", base::shortest(in.asked_share)));
  if (!problems.empty()) return problems;

  SampleResult r;
  r.n = static_cast<int>(in.values.size());
  r.enough = r.n >= 3;
  for (double v : in.values) r.below += v < in.limit ? 1 : 0;
  r.needed_if_all_good = static_cast<int>(std::ceil(std::log(1 - in.confidence) / std::log(in.asked_share) - 1e-9));
  if (r.n > 0) r.worst = *std::min_element(in.values.begin(), in.values.end());
  if (!r.enough) {
    r.words = words(in, r);
    return r;
  }
  const maths::Moments m = maths::moments(in.values);
  r.mean = m.mean;
  r.s = m.s;
  r.factor = maths::tolerance_factor(r.n, in.asked_share, in.confidence);
  r.guaranteed_level = r.mean - r.factor * r.s;
  // Equal readings say that the gauge is coarse, not that the lot has no spread: only counting is left then.
  const maths::Interval counted = maths::clopper_pearson(r.n - r.below, r.n, in.confidence);
  r.counted_low = counted.low;
  r.counted_high = counted.high;
  r.share_if_all_good = std::pow(1 - in.confidence, 1.0 / r.n);
  if (r.s > 0) {
    const double distance = (r.mean - in.limit) / r.s;
    r.share_low = maths::guaranteed_share(r.n, distance, in.confidence);
    r.share_high = maths::guaranteed_share(r.n, distance, 1 - in.confidence);
    r.share_best_guess = maths::normal_cdf(distance);
  } else {
    r.share_low = r.below == 0 ? r.share_if_all_good : 0;
    r.share_high = r.below == 0 ? 1 : 1 - std::pow(1 - in.confidence, 1.0 / r.n);
    r.share_best_guess = r.below == 0 ? 1 : 0;
  }
  r.words = words(in, r);
  return r;
}

}  // namespace fettle::casting
