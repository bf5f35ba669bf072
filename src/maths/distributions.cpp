#include "maths/distributions.h"

#include <boost/math/distributions/beta.hpp>
#include <boost/math/distributions/non_central_t.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <limits>

#include "maths/statistics.h"

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

bool share(double p) { return p >= 0 && p <= 1; }

}  // namespace

double student_t_cdf(double t, double dof) {
  if (!(dof > 0) || std::isnan(t)) return nan;
  return bm::cdf(bm::students_t_distribution<double, Policy>(dof), t);
}

double student_t_quantile(double p, double dof) {
  if (!(dof > 0) || !(p > 0 && p < 1)) return nan;
  return bm::quantile(bm::students_t_distribution<double, Policy>(dof), p);
}

double noncentral_t_cdf(double t, double dof, double delta) {
  if (!(dof > 0) || !std::isfinite(delta) || !std::isfinite(t)) return nan;
  return bm::cdf(bm::non_central_t_distribution<double, Policy>(dof, delta), t);
}

double noncentral_t_quantile(double p, double dof, double delta) {
  if (!(dof > 0) || !std::isfinite(delta) || !(p > 0 && p < 1)) return nan;
  return bm::quantile(bm::non_central_t_distribution<double, Policy>(dof, delta), p);
}

double beta_quantile(double p, double a, double b) {
  if (!share(p) || !(a > 0) || !(b > 0)) return nan;
  return bm::quantile(bm::beta_distribution<double, Policy>(a, b), p);
}

double beta_cdf(double x, double a, double b) {
  if (!share(x) || !(a > 0) || !(b > 0)) return nan;
  return bm::cdf(bm::beta_distribution<double, Policy>(a, b), x);
}

double fisher_tail(double f, double d1, double d2) {
  if (!(f >= 0) || !(d1 > 0) || !(d2 > 0) || !std::isfinite(f)) return nan;
  return beta_cdf(d2 / (d2 + d1 * f), 0.5 * d2, 0.5 * d1);
}

}  // namespace fettle::maths
