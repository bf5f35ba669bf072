#pragma once
// Where a function of one number crosses zero.
#include <algorithm>
#include <cmath>
#include <limits>

namespace fettle::maths {

/// The x between a and b where f changes its sign, to `within` and to what doubles tell apart; fa = f(a) and fb = f(b)
/// have different signs. Inverse quadratic steps where the last three points lie well for one, else halves
/// (Chandrupatla 1997, from memory): a dozen looks at what is smooth, as many as halving at what jumps. NaN when f is
/// no number somewhere on the way.
template <class Function>
double root_between(const Function& f, double a, double fa, double b, double fb, double within = 0) {
  constexpr double eps = std::numeric_limits<double>::epsilon();
  double c = b, fc = fb, t = 0.5;
  for (int round = 0; round < 200; ++round) {
    const double x = a + t * (b - a), fx = f(x);
    if (!std::isfinite(fx)) return std::numeric_limits<double>::quiet_NaN();
    if ((fx <= 0) == (fa <= 0)) {
      c = a, fc = fa;
    } else {
      c = b, fc = fb;
      b = a, fb = fa;
    }
    a = x, fa = fx;
    const bool mine = std::fabs(fa) < std::fabs(fb);
    const double best = mine ? a : b, least = 0.5 * within + 2 * eps * std::fabs(best);
    if ((mine ? fa : fb) == 0 || std::fabs(b - a) <= 2 * least) return best;
    const double share = least / std::fabs(b - a), xi = (a - b) / (c - b), phi = (fa - fb) / (fc - fb);
    const bool lies_well = phi * phi < xi && (1 - phi) * (1 - phi) < 1 - xi;
    t = lies_well ? fa / (fb - fa) * (fc / (fb - fc)) + (c - a) / (b - a) * (fa / (fc - fa)) * (fb / (fc - fb)) : 0.5;
    t = std::clamp(t, share, 1 - share);
  }
  return std::fabs(fa) < std::fabs(fb) ? a : b;
}

}  // namespace fettle::maths
