#include "calc/tolerance/capability.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/text.h"

namespace fettle::tolerance {

namespace {

constexpr double inf = std::numeric_limits<double>::infinity();
constexpr double nan = std::numeric_limits<double>::quiet_NaN();

Problems check(const CapabilityInputs& in) {
  Problems p;
  const auto refuse = [&](bool good, const char* what, double found, const char* expected) {
    if (!good) p.push_back(bad(what, base::shortest(found), expected));
  };
  if (!in.lower && !in.upper)
    p.push_back(bad("a capability needs a limit", {}, "a lower limit, an upper one, or both"));
  if (in.lower) refuse(std::isfinite(*in.lower), "lower limit", *in.lower, "a number");
  if (in.upper) refuse(std::isfinite(*in.upper), "upper limit", *in.upper, "a number");
  if (in.lower && in.upper) refuse(*in.lower < *in.upper, "upper limit", *in.upper, "above the lower limit");
  refuse(std::isfinite(in.mean), "mean", in.mean, "a number");
  refuse(std::isfinite(in.s) && in.s > 0, "standard deviation", in.s, "above 0");
  refuse(in.items == 0 || in.items >= 2, "measured items", in.items, "two or more, or 0 for a known process");
  refuse(in.confidence > 0 && in.confidence < 1, "confidence", in.confidence, "between 0 and 1");
  return p;
}

}  // namespace

Outcome<CapabilityResult> capability_of(const CapabilityInputs& in) {
  Problems problems = check(in);
  if (!problems.empty()) return problems;
  const maths::Process p{in.lower.value_or(-inf), in.upper.value_or(inf), in.mean, in.s};
  const maths::Capability c = maths::capability(p);
  const maths::ShareOutside out = maths::share_outside(p);
  CapabilityResult r;
  r.cp = c.cp;
  r.k = c.k;
  r.cpk = c.cpk;
  r.cpl = in.lower ? c.cpl : nan;
  r.cpu = in.upper ? c.cpu : nan;
  r.below = out.below;
  r.above = out.above;
  r.share = r.share_centred = out.total();
  if (in.lower && in.upper) {
    r.centre_by = (*in.lower + *in.upper) / 2 - in.mean;
    r.share_centred = maths::share_outside({*in.lower, *in.upper, in.mean + r.centre_by, in.s}).total();
  }
  if (in.items >= 2) {
    if (in.lower && in.upper) r.cp_between = maths::cp_interval(r.cp, in.items, in.confidence);
    r.cpk_between = maths::cpk_interval(r.cpk, in.items, in.confidence);
    r.cpk_at_least = maths::one_sided_index_at_least(r.cpk, in.items, in.confidence);
    r.share_at_most = maths::normal_cdf(-3 * *r.cpk_at_least);
  }
  return r;
}

Outcome<CapabilityResult> capability_of_values(const std::vector<double>& values, std::optional<double> lower,
                                               std::optional<double> upper, double confidence) {
  if (values.size() < 2) return bad("a capability needs measured values", std::to_string(values.size()), "two or more");
  const maths::Moments m = maths::moments(values);
  return capability_of({lower, upper, m.mean, m.s, static_cast<int>(values.size()), confidence});
}

double largest_s(double lower, double upper, double mean, double share) {
  if (!(upper > lower) || !(mean > lower && mean < upper) || !(share > 0 && share < 1)) return nan;
  // The share outside rises with s while the mean lies inside.
  double low = 0, high = upper - lower;
  if (!std::isfinite(high)) high = 2 * std::min(mean - lower, upper - mean);
  while (maths::share_outside({lower, upper, mean, high}).total() < share) {
    high *= 2;
    if (!(high < 1e300)) return nan;  // a share that no spread reaches
  }
  for (int i = 0; i < 200; ++i) {
    const double middle = (low + high) / 2;
    (maths::share_outside({lower, upper, mean, middle}).total() <= share ? low : high) = middle;
  }
  return low;
}

}  // namespace fettle::tolerance
