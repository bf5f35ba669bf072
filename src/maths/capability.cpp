#include "maths/capability.h"

#include <algorithm>
#include <boost/math/distributions/chi_squared.hpp>
#include <cmath>
#include <limits>

namespace fettle::maths {
namespace {

namespace bm = boost::math;
// Doubles stay doubles (x87 long doubles differ between machines), and nothing throws.
using Policy = bm::policies::policy<bm::policies::promote_double<false>, bm::policies::promote_float<false>,
                                    bm::policies::domain_error<bm::policies::errno_on_error>,
                                    bm::policies::pole_error<bm::policies::errno_on_error>,
                                    bm::policies::overflow_error<bm::policies::errno_on_error>,
                                    bm::policies::evaluation_error<bm::policies::errno_on_error>>;
constexpr double nan = std::numeric_limits<double>::quiet_NaN();

bool sane(const Process& p) {
  const bool limits = p.upper > p.lower && (std::isfinite(p.upper) || std::isfinite(p.lower));
  return limits && std::isfinite(p.mean) && std::isfinite(p.s) && p.s >= 0;
}
bool open_share(double p) { return p > 0 && p < 1; }

}  // namespace

ShareOutside share_outside(const Process& p) {
  if (!sane(p)) return {nan, nan};
  if (p.s == 0) return {p.mean < p.lower ? 1.0 : 0.0, p.mean > p.upper ? 1.0 : 0.0};
  const double below = std::isfinite(p.lower) ? normal_cdf((p.lower - p.mean) / p.s) : 0;
  const double above = std::isfinite(p.upper) ? normal_cdf((p.mean - p.upper) / p.s) : 0;
  return {below, above};
}

Capability capability(const Process& p) {
  if (!sane(p) || !(p.s > 0)) return {nan, nan, nan, nan, nan};
  const bool both = std::isfinite(p.lower) && std::isfinite(p.upper);
  const double cpl = (p.mean - p.lower) / (3 * p.s), cpu = (p.upper - p.mean) / (3 * p.s);
  const double width = p.upper - p.lower;
  return {both ? width / (6 * p.s) : nan, cpl, cpu, std::min(cpl, cpu),
          both ? std::fabs((p.upper + p.lower) / 2 - p.mean) / (width / 2) : nan};
}

double chi_square_quantile(double p, double dof) {
  if (!(dof > 0) || !std::isfinite(dof) || !open_share(p)) return nan;
  return bm::quantile(bm::chi_squared_distribution<double, Policy>(dof), p);
}

Interval cp_interval(double cp, int n, double confidence) {
  if (!(cp >= 0) || n < 2 || !open_share(confidence)) return {nan, nan};
  const double dof = n - 1, tail = (1 - confidence) / 2;
  return {cp * std::sqrt(chi_square_quantile(tail, dof) / dof),
          cp * std::sqrt(chi_square_quantile(1 - tail, dof) / dof)};
}

Interval cpk_interval(double cpk, int n, double confidence) {
  if (!std::isfinite(cpk) || n < 2 || !open_share(confidence)) return {nan, nan};
  const double half = normal_quantile((1 + confidence) / 2) * std::sqrt(1 / (9.0 * n) + cpk * cpk / (2.0 * (n - 1)));
  return {cpk - half, cpk + half};
}

double one_sided_index_at_least(double index, int n, double confidence) {
  if (!std::isfinite(index) || n < 2 || !open_share(confidence)) return nan;
  // t = 3 sqrt(n) index is a non-central t about 3 sqrt(n) times the true index; find the non-centrality at which a
  // value this large or larger is as rare as 1 - confidence.
  const double root = std::sqrt(static_cast<double>(n)), t = 3 * root * index;
  // Many items: both estimates are normal. A huge index: its spread is that of s alone, and chi-square is exact.
  if (n >= 1000)
    return index - normal_quantile(confidence) * std::sqrt(1 / (9.0 * n) + index * index / (2.0 * (n - 1)));
  if (std::fabs(t) > 1000)
    return index * std::sqrt(chi_square_quantile(index > 0 ? 1 - confidence : confidence, n - 1) / (n - 1));
  const auto excess = [&](double delta) { return noncentral_t_cdf(t, n - 1, delta) - confidence; };  // falls in delta
  double low = t - 40 - 10 * std::fabs(t), high = t + 1;
  if (!(excess(low) >= 0)) return nan;
  while (!(excess(high) < 0)) {
    high += 1 + std::fabs(high);
    if (!(high < 1e6)) return nan;
  }
  for (int i = 0; i < 200 && high - low > 1e-13 * (1 + std::fabs(low)); ++i) {
    const double middle = (low + high) / 2;
    (excess(middle) >= 0 ? low : high) = middle;
  }
  return low / (3 * root);
}

}  // namespace fettle::maths
