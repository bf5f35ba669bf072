#include "calc/bore/risk.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "calc/bore/quadrature.h"
#include "maths/statistics.h"

namespace fettle::bore {

namespace {
constexpr double pi = 3.14159265358979323846;

double density(double z) { return std::exp(-0.5 * z * z) / std::sqrt(2 * pi); }

/// P(a <= x + gauge error <= b) for a true size x.
double passes(double x, const RiskInputs& in) {
  if (in.u == 0) return x >= in.accept_low && x <= in.accept_high ? 1 : 0;
  return std::max(0.0, maths::normal_cdf((in.accept_high - x) / in.u) - maths::normal_cdf((in.accept_low - x) / in.u));
}

/// Share of parts between `from` and `to` of which `weight` counts. Panels end where something changes quickly.
template <class F>
double share_between(const RiskInputs& in, double from, double to, const F& weight) {
  const double reach = 9 * in.s;
  from = std::max(from, in.mean - reach);
  to = std::min(to, in.mean + reach);
  const double v = 8 * in.u;
  std::array<double, 6> cut = {from, in.accept_low - v, in.accept_low + v, in.accept_high - v, in.accept_high + v, to};
  for (double& c : cut) c = std::min(std::max(c, from), to);
  std::sort(cut.begin(), cut.end());
  double sum = 0;
  for (std::size_t i = 0; i + 1 < cut.size(); ++i)
    sum += integral([&](double x) { return weight(x) * density((x - in.mean) / in.s) / in.s; }, cut[i], cut[i + 1], 4);
  return sum;
}

bool number(double x) { return std::isfinite(x); }
}  // namespace

const GaussRule& gauss_rule() {
  static const GaussRule rule = [] {
    GaussRule g;
    const int n = static_cast<int>(g.x.size());
    for (int i = 0; i < n; ++i) {
      double x = std::cos(pi * (i + 0.75) / (n + 0.5)), slope = 0;
      for (int k = 0; k < 100; ++k) {
        double p0 = 1, p1 = x;
        for (int j = 2; j <= n; ++j) {
          const double p2 = ((2 * j - 1) * x * p1 - (j - 1) * p0) / j;
          p0 = p1;
          p1 = p2;
        }
        slope = n * (x * p1 - p0) / (x * x - 1);
        const double step = p1 / slope;
        x -= step;
        if (!(std::fabs(step) > 1e-16)) break;
      }
      const auto at = static_cast<std::size_t>(n - 1 - i);
      g.x[at] = 0.5 * (1 + x);
      g.w[at] = 1 / ((1 - x * x) * slope * slope);
    }
    return g;
  }();
  return rule;
}

Outcome<AcceptLimits> accept_limits(const AcceptInputs& in) {
  if (!in.lower && !in.upper) return bad("neither a lower nor an upper limit");
  if ((in.lower && !number(*in.lower)) || (in.upper && !number(*in.upper))) return bad("a limit is no number");
  if (in.lower && in.upper && !(*in.upper > *in.lower)) return bad("the upper limit is not above the lower one");
  if (!(in.u >= 0) || !number(in.u)) return bad("the gauge's uncertainty is negative or no number");
  if (!(in.confidence >= 0.5 && in.confidence < 1)) return bad("the confidence is not from 50 % to below 100 %");
  AcceptLimits out;
  const double factor = std::fabs(in.confidence - 0.95) < 1e-12 ? 1.65
                        : in.confidence == 0.5                  ? 0
                                                                : maths::normal_quantile(in.confidence);
  out.guard = factor * in.u;
  const double inwards = in.prove_bad ? -out.guard : out.guard;
  if (in.lower) out.lower = *in.lower + inwards;
  if (in.upper) out.upper = *in.upper - inwards;
  if (in.lower && in.upper) {
    out.width = *out.upper - *out.lower;
    out.eaten = in.prove_bad ? 0 : std::min(1.0, 2 * out.guard / (*in.upper - *in.lower));
    out.nothing = !(out.width > 0);
  }
  return out;
}

double conformance(double reading, double u, std::optional<double> lower, std::optional<double> upper) {
  if (!(u > 0) || !number(reading)) return std::numeric_limits<double>::quiet_NaN();
  const double below = lower ? maths::normal_cdf((*lower - reading) / u) : 0;
  const double above = upper ? maths::normal_cdf((reading - *upper) / u) : 0;
  return std::max(0.0, 1 - below - above);
}

Outcome<Risks> risks(const RiskInputs& in) {
  if (!(in.s > 0) || !number(in.s) || !number(in.mean)) return bad("the process needs a mean and a spread above zero");
  if (!(in.u >= 0) || !number(in.u)) return bad("the gauge's uncertainty is negative or no number");
  if (!(in.upper > in.lower)) return bad("the upper limit is not above the lower one");
  if (!(in.accept_high > in.accept_low)) return bad("the accept limits leave nothing to accept");
  constexpr double far = std::numeric_limits<double>::infinity();
  Risks r;
  r.inside = maths::normal_cdf((in.upper - in.mean) / in.s) - maths::normal_cdf((in.lower - in.mean) / in.s);
  const auto pass = [&](double x) { return passes(x, in); };
  const auto refuse = [&](double x) { return 1 - passes(x, in); };
  r.passed_bad_low = share_between(in, -far, in.lower, pass);
  r.passed_bad = r.passed_bad_low + share_between(in, in.upper, far, pass);
  r.refused_good = share_between(in, in.lower, in.upper, refuse);
  const double both = std::hypot(in.s, in.u);
  r.accepted =
      maths::normal_cdf((in.accept_high - in.mean) / both) - maths::normal_cdf((in.accept_low - in.mean) / both);
  r.bad_among_passed = r.accepted > 0 ? std::min(1.0, r.passed_bad / r.accepted) : 0;
  return r;
}

}  // namespace fettle::bore
