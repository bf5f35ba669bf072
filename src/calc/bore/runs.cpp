#include "calc/bore/runs.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <mutex>

#include "calc/bore/quadrature.h"
#include "maths/capability.h"
#include "maths/statistics.h"

namespace fettle::bore {

namespace {
constexpr double nan = std::numeric_limits<double>::quiet_NaN();

ChartConstants work_out(int n) {
  const double m = n;
  const auto below = [&](double x) { return std::pow(maths::normal_cdf(x), m); };
  const auto above = [&](double x) { return std::pow(maths::normal_cdf(-x), m); };
  constexpr double reach = 9;
  ChartConstants k;
  k.d2 = integral([&](double x) { return 1 - below(x) - above(x); }, -reach, reach, 36);
  // E R^2 = 2 times the integral over x < y of 1 - P(all < y) - P(all > x) + P(all between).
  const double square = 2 * integral(
                                [&](double y) {
                                  return integral(
                                      [&](double x) {
                                        const double between = maths::normal_cdf(y) - maths::normal_cdf(x);
                                        return 1 - below(y) - above(x) + std::pow(between, m);
                                      },
                                      -reach, y, 6);
                                },
                                -reach, reach, 12);
  k.d3 = std::sqrt(square - k.d2 * k.d2);
  k.c4 = std::sqrt(2 / (m - 1)) * std::exp(std::lgamma(m / 2) - std::lgamma((m - 1) / 2));
  k.A2 = 3 / (k.d2 * std::sqrt(m));
  k.D3 = std::max(0.0, 1 - 3 * k.d3 / k.d2);
  k.D4 = 1 + 3 * k.d3 / k.d2;
  const double s3 = 3 * std::sqrt(1 - k.c4 * k.c4) / k.c4;
  k.A3 = 3 / (k.c4 * std::sqrt(m));
  k.B3 = std::max(0.0, 1 - s3);
  k.B4 = 1 + s3;
  return k;
}

bool all_numbers(const std::vector<double>& x) {
  return std::all_of(x.begin(), x.end(), [](double v) { return std::isfinite(v); });
}
}  // namespace

ChartConstants chart_constants(int n) {
  if (n < 2 || n > 25) return {nan, nan, nan, nan, nan, nan, nan, nan, nan};
  static std::array<ChartConstants, 24> table;  // each worked out when first asked for
  static std::array<std::once_flag, 24> done;
  const auto at = static_cast<std::size_t>(n - 2);
  std::call_once(done[at], [&] { table[at] = work_out(n); });
  return table[at];
}

Outcome<MeanRangeChart> mean_range_chart(const std::vector<double>& means, const std::vector<double>& ranges, int n) {
  if (means.empty() || means.size() != ranges.size()) return bad("as many ranges as means are needed, at least one");
  if (n < 2 || n > 25) return bad("subgroups have 2 to 25 values", std::to_string(n));
  if (!all_numbers(means) || !all_numbers(ranges)) return bad("a mean or range is no number");
  if (std::any_of(ranges.begin(), ranges.end(), [](double r) { return r < 0; })) return bad("a range is negative");
  const ChartConstants k = chart_constants(n);
  MeanRangeChart c;
  c.mean = maths::moments(means).mean;
  c.mean_range = maths::moments(ranges).mean;
  c.mean_low = c.mean - k.A2 * c.mean_range;
  c.mean_high = c.mean + k.A2 * c.mean_range;
  c.range_low = k.D3 * c.mean_range;
  c.range_high = k.D4 * c.mean_range;
  c.s = c.mean_range / k.d2;
  for (std::size_t i = 0; i < means.size(); ++i)
    if (!(means[i] >= c.mean_low && means[i] <= c.mean_high && ranges[i] >= c.range_low && ranges[i] <= c.range_high))
      c.signals.push_back(static_cast<int>(i) + 1);
  return c;
}

Outcome<SinglesChart> singles_chart(const std::vector<double>& x) {
  if (x.size() < 2) return bad("a chart of single values needs two of them");
  if (!all_numbers(x)) return bad("a value is no number");
  const ChartConstants k = chart_constants(2);
  SinglesChart c;
  c.mean = maths::moments(x).mean;
  for (std::size_t i = 1; i < x.size(); ++i) c.moving_range += std::fabs(x[i] - x[i - 1]);
  c.moving_range /= static_cast<double>(x.size() - 1);
  c.s = c.moving_range / k.d2;
  c.low = c.mean - 3 * c.s;
  c.high = c.mean + 3 * c.s;
  c.range_high = k.D4 * c.moving_range;
  for (std::size_t i = 0; i < x.size(); ++i)
    if (!(x[i] >= c.low && x[i] <= c.high)) c.signals.push_back(static_cast<int>(i) + 1);
  return c;
}

namespace {

using Stretches = std::vector<std::vector<double>>;

double mean_of(const std::vector<double>& x) { return maths::moments(x).mean; }

double two_sided_t(double t, double dof) { return dof > 0 ? 2 * maths::student_t_cdf(-std::fabs(t), dof) : 1; }

/// Mann and Kendall's S and its variance (with ties) of one stretch.
void add_ranks(const std::vector<double>& x, double& s, double& variance) {
  const double n = static_cast<double>(x.size());
  std::map<double, int> ties;
  for (std::size_t i = 0; i < x.size(); ++i) {
    ++ties[x[i]];
    for (std::size_t j = i + 1; j < x.size(); ++j) s += x[j] > x[i] ? 1 : x[j] < x[i] ? -1 : 0;
  }
  variance += n * (n - 1) * (2 * n + 5) / 18;
  for (const auto& [value, k] : ties) variance -= k * (k - 1.0) * (2.0 * k + 5) / 18;
}

/// Farthest value: p by Bonferroni over the values (Grubbs), with deviations d whose pooled s has `dof`.
double far_off_p(const std::vector<double>& d, double s, double dof) {
  const double n = static_cast<double>(d.size());
  double farthest = 0;
  for (double v : d) farthest = std::max(farthest, std::fabs(v));
  if (!(s > 0) || dof < 2) return 1;
  // Internally studentised: t^2 = g^2 (dof - 1) / (dof - g^2), g over sqrt(1 - 1/m) for a level from m values.
  const double g2 = farthest * farthest / (s * s) * n / dof;
  if (g2 >= dof) return 0;
  const double t = std::sqrt(g2 * (dof - 1) / (dof - g2));
  return std::min(1.0, n * two_sided_t(t, dof - 1));
}

}  // namespace

Outcome<RunAnswer> look_at_run(const RunInputs& in) {
  if (in.values.size() < 6)
    return bad("fewer than six readings say nothing about a trend", std::to_string(in.values.size()));
  if (!all_numbers(in.values)) return bad("a reading is no number");
  if (!in.stretch.empty() && in.stretch.size() != in.values.size())
    return bad("as many stretch numbers as readings are needed");
  if (!(in.family > 0 && in.family <= 0.5)) return bad("the chance of a false alarm is not between 0 and 50 %");
  Stretches runs;
  for (std::size_t i = 0; i < in.values.size(); ++i) {
    if (i == 0 || (!in.stretch.empty() && in.stretch[i] != in.stretch[i - 1])) runs.emplace_back();
    runs.back().push_back(in.values[i]);
  }
  RunAnswer a;
  a.n = static_cast<int>(in.values.size());
  a.stretches = static_cast<int>(runs.size());
  a.mean = mean_of(in.values);
  double sxx = 0, sxy = 0, syy = 0, ranks = 0, rank_variance = 0;
  std::vector<double> deviations;
  for (const auto& run : runs) {
    const double level = mean_of(run), middle = 0.5 * (static_cast<double>(run.size()) - 1);
    a.levels.push_back(level);
    for (std::size_t i = 0; i < run.size(); ++i) {
      const double x = static_cast<double>(i) - middle, y = run[i] - level;
      sxx += x * x;
      sxy += x * y;
      syy += y * y;
      deviations.push_back(y);
    }
    add_ranks(run, ranks, rank_variance);
  }
  a.dof = a.n - a.stretches;
  if (a.dof < 4) return bad("the stretches are too short to tell drift from chance");
  if (!(syy > 0)) return bad("within each stretch every reading is the same: the gauge's step is too coarse");
  a.s = std::sqrt(syy / a.dof);
  a.s_low = a.s * std::sqrt(a.dof / maths::chi_square_quantile(0.975, a.dof));
  a.s_high = a.s * std::sqrt(a.dof / maths::chi_square_quantile(0.025, a.dof));
  const double left = std::max(0.0, syy - sxy * sxy / sxx), dof_line = a.dof - 1;
  a.slope = sxy / sxx;
  a.slope_se = std::sqrt(left / dof_line / sxx);
  const auto test = [&](const char* name, double p) { a.tests.push_back({name, p, false}); };
  test("drift", a.slope_se > 0 ? two_sided_t(a.slope / a.slope_se, dof_line) : 0);
  const double continuity = std::max(0.0, std::fabs(ranks) - 1);
  test("drift by ranks", rank_variance > 0 ? 2 * maths::normal_cdf(-continuity / std::sqrt(rank_variance)) : 1);
  if (a.stretches > 1) {
    double between = 0;
    for (std::size_t i = 0; i < runs.size(); ++i)
      between += static_cast<double>(runs[i].size()) * (a.levels[i] - a.mean) * (a.levels[i] - a.mean);
    const double f = between / (a.stretches - 1) / (syy / a.dof);
    test("step at a reset", maths::fisher_tail(f, a.stretches - 1, a.dof));
  }
  test("one far off", far_off_p(deviations, a.s, a.dof));
  double product = 0;
  std::size_t pairs = 0, at = 0;
  for (const auto& run : runs) {
    for (std::size_t i = 0; i + 1 < run.size(); ++i, ++pairs) product += deviations[at + i] * deviations[at + i + 1];
    at += run.size();
  }
  // Taking out the levels makes neighbours look opposed by stretches / n; chance spreads it by 1 / sqrt(pairs).
  a.lag1 = product / syy;
  const double expected = -static_cast<double>(a.stretches) / a.n;
  test("neighbours", 2 * maths::normal_cdf(-std::fabs(a.lag1 - expected) * std::sqrt(static_cast<double>(pairs))));
  const double each = in.family / static_cast<double>(a.tests.size());
  for (RunTest& t : a.tests) t.signal = !(t.p >= each);
  const auto says = [&](const char* name) {
    return std::any_of(a.tests.begin(), a.tests.end(), [&](const RunTest& t) { return t.name == name && t.signal; });
  };
  a.drift = says("drift") || says("drift by ranks");
  a.step = says("step at a reset");
  a.far_off = says("one far off");
  a.linked = says("neighbours");
  a.slope_chance = maths::student_t_quantile(1 - 0.5 * each, dof_line) * a.slope_se;
  const double t95 = maths::student_t_quantile(0.975, dof_line) * a.slope_se;
  a.slope_low = a.slope - t95;
  a.slope_high = a.slope + t95;
  return a;
}

Outcome<OffsetAdvice> offset_advice(const OffsetInputs& in) {
  if (in.n < 1) return bad("no reading behind the mean");
  for (double x : {in.aim, in.mean, in.s, in.step, in.share})
    if (!std::isfinite(x)) return bad("an input is no number");
  if (!(in.s >= 0) || !(in.step >= 0)) return bad("spread and step cannot be negative");
  if (!(in.share > 0 && in.share <= 1)) return bad("the share taken back at once is not above 0 and up to 1");
  if (!(in.confidence > 0 && in.confidence < 1)) return bad("the confidence is not between 0 and 100 %");
  OffsetAdvice a;
  a.off = in.mean - in.aim;
  const int dof = in.dof > 0 ? in.dof : in.n - 1;
  const double p = 0.5 + 0.5 * in.confidence;
  const double t = dof > 0 ? maths::student_t_quantile(p, dof) : maths::normal_quantile(p);
  // One reading of an unknown spread proves nothing: three steps at least.
  a.dead_band = std::max(in.step, dof > 0 ? t * in.s / std::sqrt(in.n) : std::max(t * in.s, 3 * in.step));
  a.leave = !(std::fabs(a.off) > a.dead_band);
  a.move = a.leave ? 0 : -in.share * a.off;
  if (!a.leave && in.step > 0) {
    a.move = std::copysign(std::max(1.0, std::round(std::fabs(a.move) / in.step)) * in.step, a.move);
  }
  return a;
}

Outcome<CapabilityAnswer> capability_of(const CapabilityInputs& in) {
  if (!in.lower && !in.upper) return bad("neither a lower nor an upper limit");
  if (in.lower && in.upper && !(*in.upper > *in.lower)) return bad("the upper limit is not above the lower one");
  if (!(in.s > 0) || !std::isfinite(in.s) || !std::isfinite(in.mean)) return bad("the spread is not above zero");
  if (in.n < 0 || in.n == 1) return bad("a spread needs two parts at least", std::to_string(in.n));
  if (!(in.confidence > 0 && in.confidence < 1)) return bad("the confidence is not between 0 and 100 %");
  constexpr double far = std::numeric_limits<double>::infinity();
  const maths::Process p{in.lower.value_or(-far), in.upper.value_or(far), in.mean, in.s};
  const maths::Capability c = maths::capability(p);
  const maths::ShareOutside out = maths::share_outside(p);
  CapabilityAnswer a;
  a.cpk = c.cpk;
  a.below = out.below;
  a.above = out.above;
  const bool both = in.lower && in.upper;
  if (both) {
    a.cp = c.cp;
    a.k = c.k;
  }
  if (in.n >= 2) {
    if (both) {
      const maths::Interval i = maths::cp_interval(c.cp, in.n, in.confidence);
      a.cp_low = i.low;
      a.cp_high = i.high;
    }
    const maths::Interval i = maths::cpk_interval(c.cpk, in.n, in.confidence);
    a.cpk_low = i.low;
    a.cpk_high = i.high;
  }
  return a;
}

}  // namespace fettle::bore
