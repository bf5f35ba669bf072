#include "calc/tolerance/intervals.h"

#include <algorithm>
#include <cmath>

#include "maths/statistics.h"

namespace fettle::tolerance::inner {

namespace {

/// P(both below z) for two standard normals with correlation rho >= 0.
double both_below(double z, double rho) {
  if (!(rho < 1)) return maths::normal_cdf(z);
  constexpr int steps = 400;
  double sum = 0;
  for (int i = 0; i < steps; ++i) {
    const double x = -8 + 16 * (i + 0.5) / steps;
    const double p = maths::normal_cdf((z - std::sqrt(rho) * x) / std::sqrt(1 - rho));
    sum += p * p * std::exp(-0.5 * x * x);
  }
  return sum * (16.0 / steps) * 0.39894228040143267794;
}

/// Correlation of two parts' verdicts when rho is that of their values and a share p is outside.
double verdict_correlation(double p, double rho) {
  if (!(rho > 0)) return 0;
  return std::max(0.0, (both_below(maths::normal_quantile(p), rho) - p * p) / (p * (1 - p)));
}

double by_theory(const Ledger& ledger, const SampleInputs& in, const Levels& v, double p) {
  const double all = v.part + v.set_up + v.pallet + v.nest;
  if (!(all > 0)) return 1;
  int pallets = 1;
  for (const int i : ledger.route.pallet_of) pallets = std::max(pallets, i + 1);
  const double nests = ledger.route.nests, m = std::min(in.parts, in.parts_per_build);
  const double same_nest = verdict_correlation(p, (v.nest + v.pallet) / all);
  const double same_pallet = verdict_correlation(p, v.pallet / all);
  const double same_set_up = verdict_correlation(p, v.set_up / all);
  return 1 + m * (same_nest / nests + (1.0 / pallets - 1.0 / nests) * same_pallet) +
         std::min(in.parts, in.parts_per_set_up) * same_set_up;
}

double by_count(const std::vector<int>& hits, const std::vector<int>& sizes) {
  double all = 0, outside = 0;
  for (std::size_t b = 0; b < sizes.size(); ++b) all += sizes[b], outside += hits[b];
  const double p = outside / all, n = static_cast<double>(sizes.size());
  double sum = 0;
  for (std::size_t b = 0; b < sizes.size(); ++b) {
    const double d = (hits[b] - p * sizes[b]) / all;
    sum += d * d;
  }
  const double seen = sum * n / (n - 1), alone = p * (1 - p) / all;
  // Few builds: their scatter is itself uncertain.
  const double t = maths::student_t_quantile(0.975, n - 1) / maths::normal_quantile(0.975);
  return alone > 0 ? seen / alone * t * t : 1;
}

}  // namespace

Levels levels_of(const Ledger& ledger, int requirement) {
  const Shape& s = ledger.shapes[static_cast<std::size_t>(requirement)];
  Levels most;
  double largest = -1;
  const auto add = [&](Levels& to, const Row& row) {
    double sum = 0;
    for (std::size_t i = 0; i < row.column.size(); ++i) {
      const auto c = static_cast<std::size_t>(row.column[i]);
      const bool play = c >= ledger.route.contributors.size();
      double v = 0;
      if (!play) {
        const double one = row.coefficient[i] * s_of(ledger.route.contributors[c]);
        v = one * one;
      }
      const Drawn drawn = play ? Drawn::part : ledger.route.contributors[c].drawn;
      (drawn == Drawn::part     ? to.part
       : drawn == Drawn::set_up ? to.set_up
       : drawn == Drawn::pallet ? to.pallet
                                : to.nest) += v;
      sum += v;
    }
    return sum;
  };
  const auto consider = [&](std::initializer_list<const Row*> rows) {
    Levels now;
    double sum = 0;
    for (const Row* r : rows) sum += add(now, *r);
    if (sum > largest) largest = sum, most = now;
  };
  for (const Row& r : s.scalar) consider({&r});
  for (std::size_t i = 0; i + 1 < s.pair.size(); i += 2) consider({&s.pair[i], &s.pair[i + 1]});
  return most;
}

std::vector<int> build_sizes(const SampleInputs& in) {
  std::vector<int> out;
  for (int first = 0; first < in.parts; first += std::min(in.parts_per_build, in.parts - first))
    out.push_back(std::min(in.parts_per_build, in.parts - first));
  return out;
}

double design_effect(const Ledger& ledger, const SampleInputs& in, const Levels& levels,
                     const std::vector<int>& build_hits) {
  if (!levels.shared()) return 1;
  long long hits = 0;
  for (const int h : build_hits) hits += h;
  const double p = std::clamp((static_cast<double>(hits) + 1) / (in.parts + 2.0), 1e-9, 1 - 1e-9);
  double effect = by_theory(ledger, in, levels, p);
  if (build_hits.size() >= 10 && hits >= 20) effect = std::max(effect, by_count(build_hits, build_sizes(in)));
  return std::max(1.0, effect);
}

Share share_of(long long hits, long long of, double effect, double confidence) {
  Share s{hits, of, 0, 0, 1};
  if (of <= 0) return s;
  s.share = static_cast<double>(hits) / static_cast<double>(of);
  const double n = std::max(1.0, static_cast<double>(of) / effect), x = s.share * n, a = (1 - confidence) / 2;
  s.low = hits == 0 ? 0 : maths::beta_quantile(a, x, n - x + 1);
  s.high = hits == of ? 1 : maths::beta_quantile(1 - a, x + 1, n - x);
  return s;
}

}  // namespace fettle::tolerance::inner
