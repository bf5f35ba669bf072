#include "calc/bore/target.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>

#include "calc/bore/quadrature.h"
#include "maths/statistics.h"

namespace fettle::bore {

namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

double phi(double z) { return std::exp(-0.5 * z * z) / std::sqrt(2 * 3.14159265358979323846); }

/// P(N(mean, s) < x); s = 0 is a step (a value on x is not below it).
double below(double x, double mean, double s) { return s > 0 ? maths::normal_cdf((x - mean) / s) : mean < x ? 1 : 0; }
double above(double x, double mean, double s) { return s > 0 ? maths::normal_cdf((mean - x) / s) : mean > x ? 1 : 0; }

/// Limits as the gauge holds them, and the hone's aim and reach.
struct Zone {
  double low = 0, high = 0, hone_aim = 0, hone_most = 0;
};
Zone zone_of(const AimInputs& in) {
  Zone z{in.lower + in.guard, in.upper - in.guard, in.hone_aim, in.hone_most};
  if (z.hone_aim == 0) z.hone_aim = 0.5 * (z.low + z.high);
  if (z.hone_most == 0) z.hone_most = 40e-6;
  return z;
}

Problems problems_of(const AimInputs& in) {
  Problems p;
  const auto finite = [&](double x, const char* what) {
    if (!std::isfinite(x)) p.push_back(bad(std::string(what) + " is no number"));
  };
  const auto not_negative = [&](double x, const char* what) {
    if (!(x >= 0) || !std::isfinite(x)) p.push_back(bad(std::string(what) + " is negative or no number"));
  };
  finite(in.lower, "the lower limit");
  finite(in.upper, "the upper limit");
  finite(in.drift, "the drift");
  if (!(in.upper > in.lower)) p.push_back(bad("the upper limit is not above the lower one"));
  if (!(in.s > 0) || !std::isfinite(in.s)) p.push_back(bad("the process needs a spread above zero"));
  not_negative(in.u, "the gauge's uncertainty");
  not_negative(in.guard, "the guard band");
  not_negative(in.hone_s, "the hone's scatter");
  not_negative(in.hone_aim, "the size that the hone is set to");
  not_negative(in.hone_least, "the least that a hone takes");
  not_negative(in.hone_most, "the most that is honed off");
  not_negative(in.hone_cost, "the cost of a hone");
  not_negative(in.hone_cost_per_m, "the cost of what the hone takes");
  not_negative(in.scrap_cost, "the cost of a part set aside");
  not_negative(in.escape_cost, "the cost of a bad part passed");
  not_negative(in.step, "the step of the aim");
  if (!p.empty()) return p;
  const Zone z = zone_of(in);
  if (!(z.high > z.low))
    p.push_back(bad("the guard bands leave nothing to accept: the gauge is too coarse for these limits"));
  else if (in.hone != Hone::none && !(z.hone_aim > z.low && z.hone_aim < z.high))
    p.push_back(bad("the hone is set outside the accept limits"));
  return p;
}

/// Share of N(mean, s) that is passed although outside the drawing, below and above.
double passed_bad(const AimInputs& in, const Zone& z, double mean, double s) {
  const auto pass = [&](double x) { return std::max(0.0, below(z.high, x, in.u) - below(z.low, x, in.u)); };
  if (s == 0) return mean < in.lower || mean > in.upper ? pass(mean) : 0;
  if (in.u == 0) return 0;  // the guard band is never negative
  const auto part = [&](double x) { return phi((x - mean) / s) / s * pass(x); };
  // Nothing that lies further than nine u outside the accept limits is ever passed.
  return integral(part, std::max(z.low - 9 * in.u, mean - 9 * s), std::min(in.lower, mean + 9 * s), 3) +
         integral(part, std::max(in.upper, mean - 9 * s), std::min(z.high + 9 * in.u, mean + 9 * s), 3);
}
/// Share of N(mean, s) that is set aside although inside: as too large, and as too small when `below_too`.
double refused_good(const AimInputs& in, const Zone& z, double mean, double s, bool below_too) {
  const auto refuse = [&](double x) { return above(z.high, x, in.u) + (below_too ? below(z.low, x, in.u) : 0); };
  if (s == 0) return mean >= in.lower && mean <= in.upper ? refuse(mean) : 0;
  const auto part = [&](double x) { return phi((x - mean) / s) / s * refuse(x); };
  const double a = std::max(in.lower, mean - 9 * s), b = std::min(in.upper, mean + 9 * s);
  const auto cut = [&](double x) { return std::min(std::max(x, a), b); };
  const double low = cut(z.low), high = std::max(low, cut(z.high));
  return integral(part, a, low, 6) + integral(part, low, high, 6) + integral(part, high, b, 6);
}

/// What becomes of a part that left the hone at N(mean, hone_s): shares of set aside, passed bad, refused good, and how
/// often it is honed (too small again: once more).
struct AfterHone {
  double lost = 0, passed_bad = 0, refused_good = 0, times = 1;
};
AfterHone after_hone(const AimInputs& in, const Zone& z, double mean) {
  AfterHone a;
  const double spread = std::hypot(in.hone_s, in.u);
  const double again = std::min(0.9, below(z.low, mean, spread));
  a.times = 1 / (1 - again);
  a.lost = above(z.high, mean, spread) * a.times;
  a.passed_bad = passed_bad(in, z, mean, in.hone_s) * a.times;
  a.refused_good = refused_good(in, z, mean, in.hone_s, false) * a.times;
  return a;
}

/// Every bore honed: below `touch` the hone reaches its aim; above, it still takes hone_least and the bore ends larger.
AimPoint all_honed(const AimInputs& in, const Zone& z, const AfterHone& honed, double mean, bool whole) {
  AimPoint p;
  p.aim = mean;
  const double touch = z.hone_aim - in.hone_least, zt = (touch - mean) / in.s, reached = maths::normal_cdf(zt);
  p.honed = 1;
  const double top = std::max(touch, mean) + 9 * in.s, spread = std::hypot(in.hone_s, in.u);
  const auto beyond = [&](const std::function<double(double)>& f) {
    return integral([&](double x) { return phi((x - mean) / in.s) / in.s * f(x + in.hone_least); }, touch, top, 3);
  };
  p.lost_at_hone = reached * honed.lost + beyond([&](double x) { return above(z.high, x, spread); });
  p.passed_bad = reached * honed.passed_bad;
  if (whole || in.escape_cost > 0) p.passed_bad += beyond([&](double x) { return passed_bad(in, z, x, in.hone_s); });
  p.refused_good = reached * honed.refused_good;
  if (whole) p.refused_good += beyond([&](double x) { return refused_good(in, z, x, in.hone_s, false); });
  const double left = reached * (z.hone_aim - mean) + in.s * phi(zt);  // mean of what is taken where it reaches
  p.taken = left + (1 - reached) * in.hone_least;
  p.cost = in.hone_cost * (reached * honed.times + 1 - reached) + in.hone_cost_per_m * p.taken;
  return p;
}

/// Gauged first; what is too small is honed, or set aside.
AimPoint gauged(const AimInputs& in, const Zone& z, const AfterHone& honed, double mean, bool whole) {
  AimPoint p;
  p.aim = mean;
  const double spread = std::hypot(in.s, in.u), small = below(z.low, mean, spread);
  p.too_large = above(z.high, mean, spread);
  if (whole || in.escape_cost > 0) p.passed_bad = passed_bad(in, z, mean, in.s);
  if (whole) p.refused_good = refused_good(in, z, mean, in.s, in.hone == Hone::none);
  if (in.hone == Hone::none) {
    p.too_small = small;
    return p;
  }
  p.honed = small;
  p.lost_at_hone = small * honed.lost;
  p.passed_bad += small * honed.passed_bad;
  p.refused_good += small * honed.refused_good;
  // Mean size of what reads below the limit, given the reading.
  const double zl = (z.low - mean) / spread;
  const double mean_small = small > 1e-300 ? mean - in.s * in.s / spread * phi(zl) / small : z.low;
  p.taken = std::max(0.0, z.hone_aim - mean_small);
  p.cost = small * (in.hone_cost * honed.times + in.hone_cost_per_m * p.taken);
  return p;
}

/// Shares and cost with the mean at `mean`, without drift. Not `whole`: only what the cost needs.
AimPoint still(const AimInputs& in, const Zone& z, const AfterHone& honed, double mean, bool whole) {
  AimPoint p = in.hone == Hone::all ? all_honed(in, z, honed, mean, whole) : gauged(in, z, honed, mean, whole);
  p.cost += in.scrap_cost * p.lost() + in.escape_cost * p.passed_bad;
  return p;
}

AimPoint point(const AimInputs& in, const Zone& z, const AfterHone& honed, double aim, bool whole = true) {
  if (in.drift == 0) return still(in, z, honed, aim, whole);
  const GaussRule& g = gauss_rule();
  AimPoint sum;
  for (std::size_t i = 0; i < g.x.size(); ++i) {
    const AimPoint p = still(in, z, honed, aim + in.drift * (g.x[i] - 0.5), whole);
    const double w = g.w[i];
    sum.cost += w * p.cost;
    sum.too_large += w * p.too_large;
    sum.too_small += w * p.too_small;
    sum.lost_at_hone += w * p.lost_at_hone;
    sum.passed_bad += w * p.passed_bad;
    sum.refused_good += w * p.refused_good;
    sum.taken += w * p.honed * p.taken;
    sum.honed += w * p.honed;
  }
  sum.taken = sum.honed > 0 ? sum.taken / sum.honed : 0;
  sum.aim = aim;
  return sum;
}

/// The least of f over [a, b]: a scan finds the valley, golden section its bottom.
double least(const std::function<double(double)>& f, double a, double b, int scan, double precise) {
  double best = a, value = f(a);
  for (int i = 1; i <= scan; ++i) {
    const double x = a + (b - a) * i / scan, y = f(x);
    if (y < value) {
      value = y;
      best = x;
    }
  }
  double low = std::max(a, best - (b - a) / scan), high = std::min(b, best + (b - a) / scan);
  const double ratio = 0.5 * (std::sqrt(5.0) - 1);
  double x1 = high - ratio * (high - low), x2 = low + ratio * (high - low), f1 = f(x1), f2 = f(x2);
  for (int i = 0; i < 80 && high - low > precise; ++i) {
    if (f1 < f2) {
      high = x2;
      x2 = x1;
      f2 = f1;
      x1 = high - ratio * (high - low);
      f1 = f(x1);
    } else {
      low = x1;
      x1 = x2;
      f1 = f2;
      x2 = low + ratio * (high - low);
      f2 = f(x2);
    }
  }
  return 0.5 * (low + high);
}

/// The point between `good` (condition holds) and `bad` where it stops holding; `bad` itself when it holds there.
double edge(const std::function<bool(double)>& holds, double good, double bad) {
  if (holds(bad)) return bad;
  for (int i = 0; i < 60; ++i) {
    const double m = 0.5 * (good + bad);
    if (holds(m)) good = m;
    else bad = m;
  }
  return good;
}

struct Range {
  double low = 0, high = 0;
};
/// Where an aim may lie at all.
Range range_of(const AimInputs& in, const Zone& z) {
  const double spread = std::hypot(in.s, in.u) + 0.5 * std::fabs(in.drift);
  const double reach = std::max(8 * spread, in.upper - in.lower);
  if (in.hone == Hone::all) return {z.hone_aim - std::max(z.hone_most, 2 * in.hone_least), z.high};
  return {z.low - reach, z.high + reach};
}

}  // namespace

std::string_view word(Hone hone) {
  return hone == Hone::none ? "hone none" : hone == Hone::small ? "hone only the small ones" : "hone all";
}

Outcome<AimPoint> at_aim(const AimInputs& in, double aim) {
  Problems p = problems_of(in);
  if (!std::isfinite(aim)) p.push_back(bad("the aim is no number"));
  if (!p.empty()) return p;
  const Zone z = zone_of(in);
  return point(in, z, after_hone(in, z, z.hone_aim), aim);
}

Outcome<AimAnswer> best_aim(const AimInputs& in, double slack) {
  Problems p = problems_of(in);
  if (!(slack >= 0) || !std::isfinite(slack)) p.push_back(bad("the slack is negative or no number"));
  if (!p.empty()) return p;
  const Zone z = zone_of(in);
  const AfterHone honed = after_hone(in, z, z.hone_aim);
  const Range r = range_of(in, z);
  const auto cost = [&](double m) { return point(in, z, honed, m, false).cost; };
  AimAnswer out;
  double best = least(cost, r.low, r.high, 48, 1e-7 * (in.upper - in.lower));
  if (in.hone == Hone::all) {
    const double flat = cost(best) * 1.001;
    best = edge([&](double m) { return cost(m) <= flat; }, best, r.high);
  }
  out.best = point(in, z, honed, best);
  out.step = in.step;
  out.rounded = out.best;
  if (in.step > 0) {
    const double down = in.lower + std::floor((best - in.lower) / in.step) * in.step;
    const AimPoint a = point(in, z, honed, down), b = point(in, z, honed, down + in.step);
    out.rounded = a.cost <= b.cost ? a : b;
  }
  const double beside = in.step > 0 ? in.step : in.u > 0 ? in.u : 0.1 * in.s;
  out.cost_smaller = cost(best - beside);
  out.cost_larger = cost(best + beside);
  const auto cheap = [&](double m) { return cost(m) <= out.best.cost + slack; };
  out.zone_low = slack > 0 ? edge(cheap, best, r.low) : best;
  out.zone_high = slack > 0 ? edge(cheap, best, r.high) : best;
  return out;
}

Outcome<double> aim_for_share(const AimInputs& in, double share) {
  Problems p = problems_of(in);
  if (!(share > 0 && share < 1)) p.push_back(bad("the share is not between 0 and 1"));
  if (!p.empty()) return p;
  const Zone z = zone_of(in);
  const AfterHone honed = after_hone(in, z, z.hone_aim);
  const auto holds = [&](double m) {
    const AimPoint a = point(in, z, honed, m, false);
    return (in.hone == Hone::all ? a.lost_at_hone : a.too_large) <= share;
  };
  const Range r = range_of(in, z);
  if (!holds(r.low)) return nan;
  return edge(holds, r.low, r.high);
}

Outcome<StrategyAnswer> best_way(const AimInputs& in, bool finish_needs_hone, double slack) {
  StrategyAnswer out;
  const auto solve = [&](Hone hone, AimAnswer& into) -> Problems {
    AimInputs x = in;
    x.hone = hone;
    const auto a = best_aim(x, slack);
    if (!a.ok()) return a.problems();
    into = *a;
    return {};
  };
  for (const auto& [hone, into] :
       {std::pair{Hone::none, &out.none}, {Hone::small, &out.small}, {Hone::all, &out.all}}) {
    const Problems p = solve(hone, *into);
    if (!p.empty()) return p;
  }
  out.best = Hone::none;
  if (out.small.best.cost < out.none.best.cost) out.best = Hone::small;
  const double least_cost = std::min(out.none.best.cost, out.small.best.cost);
  if (out.all.best.cost < least_cost) out.best = Hone::all;
  if (finish_needs_hone) {
    out.finish_decides = out.best != Hone::all;
    out.best = Hone::all;
  }
  return out;
}

Outcome<ResetAnswer> when_to_reset(const ResetInputs& in) {
  Problems p = problems_of(in.aim);
  if (!(in.reset_cost >= 0) || !std::isfinite(in.reset_cost))
    p.push_back(bad("the cost of a reset is negative or no number"));
  if (in.most < 1 || in.most > 1000000) p.push_back(bad("an edge lasts 1 to 1000000 parts", std::to_string(in.most)));
  if (!std::isfinite(in.drift_per_part)) p.push_back(bad("the drift is no number"));
  else if (in.drift_per_part == 0) p.push_back(bad("without drift only the life of the edge says when to reset"));
  if (!p.empty()) return p;
  double middle = 0;
  const auto cost = [&](int n) {
    AimInputs x = in.aim;
    x.drift = in.drift_per_part * n;
    const auto a = best_aim(x);
    if (!a.ok()) return nan;
    middle = a->best.aim;
    return a->best.cost + in.reset_cost / n;
  };
  // Costs fall while the reset is spread over more parts, then rise with the drift: a ladder, then halving.
  int best = 1, low = 1, high = in.most;
  double value = cost(1);
  for (int n = 2, before = 1; n <= in.most; n = std::max(n + 1, n * 3 / 2)) {
    const double c = cost(n);
    if (c < value) {
      value = c;
      low = before;
      best = n;
      high = std::min(in.most, std::max(n + 1, n * 3 / 2));
    }
    before = n;
  }
  if (best == 1) high = std::min(in.most, 2);
  while (high - low > 2) {
    const int a = low + (high - low) / 3, b = high - (high - low) / 3;
    if (cost(a) <= cost(b)) high = b;
    else low = a;
  }
  ResetAnswer out;
  out.cost = std::numeric_limits<double>::infinity();
  for (int n = low; n <= high; ++n) {
    const double c = cost(n);
    if (c < out.cost) {
      out.cost = c;
      out.count = n;
    }
  }
  cost(out.count);
  out.first = middle - 0.5 * in.drift_per_part * out.count;
  out.last = middle + 0.5 * in.drift_per_part * out.count;
  out.cost_half = cost(std::max(1, out.count / 2));
  out.cost_double = cost(out.count * 2);
  return out;
}

double feed_marks(double feed, double radius) {
  if (!(feed > 0) || !(feed <= radius) || !std::isfinite(radius)) return nan;
  return 4 / (72 * std::sqrt(3.0)) * feed * feed / radius;
}

double two_cost_aim(double lower, double upper, double s, double cost_low, double cost_high) {
  if (!(upper > lower) || !(s > 0) || !(cost_low > 0) || !(cost_high > 0)) return nan;
  return 0.5 * (lower + upper) - s * s / (upper - lower) * std::log(cost_high / cost_low);
}

GiveawayAim giveaway_aim(double lower, double s, double good, double bad_value, double giveaway) {
  if (!(s > 0) || !(giveaway > 0) || !(good > bad_value)) return {nan, nan, nan};
  const double target = giveaway * s / (good - bad_value);
  // phi(z) / (1 - Phi(z)) rises with z without bound.
  double a = -40, b = 40;
  for (int i = 0; i < 200; ++i) {
    const double z = 0.5 * (a + b);
    const double tail = maths::normal_cdf(-z);
    const double ratio = tail > 0 ? phi(z) / tail : z;
    if (ratio < target) a = z;
    else b = z;
  }
  const double z = 0.5 * (a + b), m = lower - z * s, pass = maths::normal_cdf(-z);
  const double over = (m - lower) * pass + s * phi(z);  // mean of what is given away, of all parts
  return {m, good * pass - giveaway * over + bad_value * (1 - pass), 1 - pass};
}

}  // namespace fettle::bore
