#include "calc/bore/gauge.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "calc/bore/runs.h"
#include "maths/capability.h"
#include "maths/statistics.h"

namespace fettle::bore {

double standard_uncertainty(double stated, Shape shape) {
  switch (shape) {
    case Shape::standard:
      return stated;
    case Shape::uniform:
      return stated / std::sqrt(3.0);
    case Shape::triangle:
      return stated / std::sqrt(6.0);
    case Shape::two_sigma:
      return stated / 2;
    case Shape::three_sigma:
      return stated / 3;
    case Shape::swinging:
      return stated / std::sqrt(2.0);
  }
  return std::numeric_limits<double>::quiet_NaN();
}

Outcome<Budget> budget(const BudgetInputs& in) {
  if (in.contributions.empty()) return bad("a budget without a contribution");
  if (!(in.confidence > 0 && in.confidence < 1)) return bad("the confidence is not between 0 and 100 %");
  Budget out;
  double variance = 0, fourth = 0;
  for (const Contribution& c : in.contributions) {
    if (!(c.u >= 0) || !std::isfinite(c.u) || !std::isfinite(c.sensitivity) || !(c.dof >= 0) || !std::isfinite(c.dof))
      return bad("a contribution is negative or no number", c.name);
    const double u = std::fabs(c.sensitivity) * c.u;
    out.lines.push_back({c.name, u, 0});
    variance += u * u;
    if (c.dof > 0) fourth += u * u * u * u / c.dof;
  }
  // Effective degrees of freedom belong to the first-order sum; further terms only widen it.
  out.dof = fourth > 0 ? variance * variance / fourth : 0;
  for (double s : in.second_order) {
    if (!(s >= 0) || !std::isfinite(s)) return bad("a term of second order is negative or no number");
    variance += s * s;
  }
  if (!(variance > 0)) return bad("every contribution is zero");
  out.u = std::sqrt(variance);
  const double p = 0.5 + 0.5 * in.confidence, whole = std::floor(out.dof);
  out.k = out.dof > 0 && whole < 1e6 ? maths::student_t_quantile(p, std::max(1.0, whole)) : maths::normal_quantile(p);
  out.expanded = out.k * out.u;
  for (BudgetLine& l : out.lines) l.share = l.u * l.u / variance;
  std::stable_sort(out.lines.begin(), out.lines.end(), [](const auto& a, const auto& b) { return a.u > b.u; });
  return out;
}

namespace {

/// 1/d2, or 1/d2* with d2*^2 = d2^2 + d3^2/g where the mean of only a few ranges stands behind it.
double range_factor(int size, int ranges) {
  const ChartConstants k = chart_constants(size);
  return ranges > 15 ? 1 / k.d2 : 1 / std::sqrt(k.d2 * k.d2 + k.d3 * k.d3 / ranges);
}

void finish(GaugeSpread& s, double tolerance) {
  s.gauge = std::sqrt(s.repeatability * s.repeatability + s.reproducibility * s.reproducibility +
                      s.interaction * s.interaction);
  s.total = std::hypot(s.gauge, s.parts);
  s.of_total = s.total > 0 ? s.gauge / s.total : 0;
  s.of_tolerance = tolerance > 0 ? 6 * s.gauge / tolerance : std::numeric_limits<double>::quiet_NaN();
  s.categories = s.gauge > 0 ? std::min(1e6, 1.41 * s.parts / s.gauge) : 1e6;
  s.categories_cut = std::max(1, static_cast<int>(std::floor(s.categories)));
  s.categories_rounded = std::max(1, static_cast<int>(std::lround(s.categories)));
}

struct Table {
  const StudyInputs& in;
  double at(int person, int trial, int part) const {
    return in.readings[(static_cast<std::size_t>(person) * static_cast<std::size_t>(in.trials) +
                        static_cast<std::size_t>(trial)) *
                           static_cast<std::size_t>(in.parts) +
                       static_cast<std::size_t>(part)];
  }
  double cell(int person, int part) const {
    double sum = 0;
    for (int t = 0; t < in.trials; ++t) sum += at(person, t, part);
    return sum / in.trials;
  }
};

std::vector<double> part_means(const Table& t) {
  std::vector<double> m;
  for (int p = 0; p < t.in.parts; ++p) {
    double sum = 0;
    for (int a = 0; a < t.in.persons; ++a) sum += t.cell(a, p);
    m.push_back(sum / t.in.persons);
  }
  return m;
}
std::vector<double> person_means(const Table& t) {
  std::vector<double> m;
  for (int a = 0; a < t.in.persons; ++a) {
    double sum = 0;
    for (int p = 0; p < t.in.parts; ++p) sum += t.cell(a, p);
    m.push_back(sum / t.in.parts);
  }
  return m;
}
double spread_of(const std::vector<double>& x) {
  return *std::max_element(x.begin(), x.end()) - *std::min_element(x.begin(), x.end());
}

ByRange by_range(const Table& t) {
  const StudyInputs& in = t.in;
  ByRange r;
  std::vector<RangeFlag> all;
  for (int a = 0; a < in.persons; ++a) {
    double sum = 0;
    for (int p = 0; p < in.parts; ++p) {
      double low = t.at(a, 0, p), high = low;
      for (int k = 1; k < in.trials; ++k) {
        low = std::min(low, t.at(a, k, p));
        high = std::max(high, t.at(a, k, p));
      }
      all.push_back({a + 1, p + 1, high - low});
      sum += high - low;
    }
    r.person_ranges.push_back(sum / in.parts);
    r.mean_range += sum / in.parts / in.persons;
  }
  r.person_means = person_means(t);
  r.difference = spread_of(r.person_means);
  r.part_range = spread_of(part_means(t));
  r.range_limit = chart_constants(in.trials).D4 * r.mean_range;
  for (const RangeFlag& f : all)
    if (f.range > r.range_limit) r.flags.push_back(f);
  GaugeSpread& s = r.spread;
  s.repeatability = r.mean_range * range_factor(in.trials, in.parts * in.persons);
  const double between = in.persons > 1 ? r.difference * range_factor(in.persons, 1) : 0;
  s.reproducibility =
      std::sqrt(std::max(0.0, between * between - s.repeatability * s.repeatability / (in.parts * in.trials)));
  s.parts = r.part_range * range_factor(in.parts, 1);
  finish(s, in.tolerance);
  return r;
}

/// Interval of sqrt(sum c MS) by Satterthwaite's degrees of freedom.
void gauge_interval(ByVariance& v, const std::vector<std::array<double, 3>>& terms) {
  double sum = 0, below = 0;
  for (const auto& [c, ms, dof] : terms) {
    sum += c * ms;
    below += c * ms * c * ms / dof;
  }
  if (!(sum > 0) || !(below > 0)) {
    v.gauge_low = v.gauge_high = v.spread.gauge;
    return;
  }
  const double dof = sum * sum / below;
  const double var = v.spread.gauge * v.spread.gauge;
  v.gauge_low = std::sqrt(var * dof / maths::chi_square_quantile(0.975, dof));
  v.gauge_high = std::sqrt(var * dof / maths::chi_square_quantile(0.025, dof));
}

ByVariance by_variance(const Table& t, double mean) {
  const StudyInputs& in = t.in;
  const double n = in.trials, a = in.persons, p = in.parts;
  ByVariance v;
  const std::vector<double> parts = part_means(t), people = person_means(t);
  for (double m : parts) v.ss_part += a * n * (m - mean) * (m - mean);
  for (double m : people) v.ss_person += p * n * (m - mean) * (m - mean);
  for (int i = 0; i < in.persons; ++i)
    for (int j = 0; j < in.parts; ++j) {
      const double c = t.cell(i, j);
      const double d = c - parts[static_cast<std::size_t>(j)] - people[static_cast<std::size_t>(i)] + mean;
      v.ss_interaction += n * d * d;
      for (int k = 0; k < in.trials; ++k) {
        const double x = t.at(i, k, j);
        v.ss_error += (x - c) * (x - c);
        v.ss_total += (x - mean) * (x - mean);
      }
    }
  const double dof_i = (a - 1) * (p - 1), dof_e = a * p * (n - 1);
  const double ms_p = v.ss_part / (p - 1), ms_a = a > 1 ? v.ss_person / (a - 1) : 0, ms_e = v.ss_error / dof_e;
  const double ms_i = dof_i > 0 ? v.ss_interaction / dof_i : ms_e;
  v.f_interaction = dof_i > 0 && ms_e > 0 ? ms_i / ms_e : 0;
  v.p_interaction = dof_i > 0 ? ms_e > 0 ? maths::fisher_tail(v.f_interaction, dof_i, dof_e) : 0 : 1;
  v.pooled = dof_i == 0 || v.p_interaction > in.pool_above;
  const double against = v.pooled ? (v.ss_interaction + v.ss_error) / (dof_i + dof_e) : ms_i;
  const double dof_against = v.pooled ? dof_i + dof_e : dof_i;
  v.p_person = a > 1 && against > 0 ? maths::fisher_tail(ms_a / against, a - 1, dof_against) : 1;
  GaugeSpread& s = v.spread;
  s.repeatability = std::sqrt(v.pooled ? against : ms_e);
  s.reproducibility = a > 1 ? std::sqrt(std::max(0.0, (ms_a - against) / (p * n))) : 0;
  s.interaction = v.pooled ? 0 : std::sqrt(std::max(0.0, (ms_i - ms_e) / n));
  s.parts = std::sqrt(std::max(0.0, (ms_p - against) / (a * n)));
  finish(s, in.tolerance);
  const double keep = a > 1 && ms_a > against ? 1 / (p * n) : 0;
  if (v.pooled) {
    gauge_interval(v, {{1 - keep, against, dof_against}, {keep, ms_a, std::max(1.0, a - 1)}});
  } else {
    const double inter = ms_i > ms_e ? 1 / n : 0;
    gauge_interval(v, {{1 - inter, ms_e, dof_e}, {inter - keep, ms_i, dof_i}, {keep, ms_a, std::max(1.0, a - 1)}});
  }
  return v;
}

}  // namespace

Outcome<GaugeStudy> gauge_study(const StudyInputs& in) {
  if (in.parts < 2 || in.parts > 50) return bad("a gauge study has 2 to 50 parts", std::to_string(in.parts));
  if (in.persons < 1 || in.persons > 20) return bad("a gauge study has 1 to 20 people", std::to_string(in.persons));
  if (in.trials < 2 || in.trials > 10) return bad("a gauge study has 2 to 10 trials", std::to_string(in.trials));
  const auto count =
      static_cast<std::size_t>(in.parts) * static_cast<std::size_t>(in.persons) * static_cast<std::size_t>(in.trials);
  if (in.readings.size() != count)
    return bad("not every person read every part every time", std::to_string(in.readings.size()) + " readings",
               std::to_string(count));
  for (double x : in.readings)
    if (!std::isfinite(x)) return bad("a reading is no number");
  if (!(in.tolerance >= 0) || !std::isfinite(in.tolerance)) return bad("the tolerance is negative or no number");
  if (!(in.pool_above >= 0 && in.pool_above <= 1)) return bad("the level for pooling is not from 0 to 1");
  GaugeStudy out;
  const Table t{in};
  out.mean = maths::moments(in.readings).mean;
  out.by_range = by_range(t);
  out.by_variance = by_variance(t, out.mean);
  if (!(out.by_variance.ss_total > 0)) return bad("every reading is the same: the gauge's step is too coarse to study");
  return out;
}

GaugeVerdict gauge_verdict(double of_tolerance) {
  if (of_tolerance <= 0.10) return GaugeVerdict::good;
  return of_tolerance <= 0.30 ? GaugeVerdict::bearable : GaugeVerdict::not_good;
}

int readings_to_average(const GaugeSpread& s, double tolerance, double share) {
  const double allowed = share * tolerance / 6;
  const double left = allowed * allowed - s.reproducibility * s.reproducibility - s.interaction * s.interaction;
  if (!(left > 0)) return 0;
  const double n = std::ceil(s.repeatability * s.repeatability / left - 1e-12);
  return n <= 1000 ? std::max(1, static_cast<int>(n)) : 0;
}

StepCheck step_check(double step, double tolerance) {
  StepCheck c;
  if (!(step > 0) || !(tolerance > 0)) return c;
  c.steps = tolerance / step;
  c.u = step / std::sqrt(12.0);
  c.fine = c.steps >= 10 * (1 - 1e-12);
  return c;
}

double sensible_step(double u, double resolution, double unit) {
  double step = 0;
  if (u > 0 && unit > 0 && std::isfinite(u)) {
    const double power = std::pow(10.0, std::floor(std::log10(u / unit * (1 + 1e-9))));
    step = unit * power;
    for (double m : {2.0, 5.0})
      if (m * power * unit <= u * (1 + 1e-9)) step = m * power * unit;
  }
  return std::max(step, resolution);
}

}  // namespace fettle::bore
