#include "calc/tolerance/scalar_share.h"

#include <algorithm>
#include <cmath>

#include "maths/statistics.h"

namespace fettle::tolerance::inner {

namespace {

constexpr double pi = 3.14159265358979323846;
constexpr double normal_reach = 8.5;  // beyond so many s nothing counts (1e-17)

struct Complex {
  double re = 1, im = 0;
};
Complex times(Complex a, Complex b) { return {a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re}; }

double sinc(double x) { return std::fabs(x) < 1e-4 ? 1 - x * x / 6 : std::sin(x) / x; }

/// Dawson's integral exp(-x^2) int_0^x exp(t^2) dt as a sum of bells at odd steps (Rybicki 1989).
double dawson(double x) {
  constexpr double h = 0.25;
  const auto middle = static_cast<int>(x / h);
  double sum = 0;
  for (int n = middle - 27; n <= middle + 27; ++n)
    if (n % 2 != 0) sum += std::exp(-(x - n * h) * (x - n * h)) / n;
  return sum / std::sqrt(pi);
}

Complex play_at(const SumOf::Seated& p, double t) {
  const double h = p.sum.turn / p.play->span, y = p.sum.y - h;
  Complex sum{0, 0};
  for (const Play::Node& n : p.play->nodes) {
    const double w = n.weight * sinc(t * y * n.round) * sinc(t * h * n.relieved);
    const double angle = t * (p.sum.x * n.x + h * n.middle);
    sum.re += w * std::cos(angle);
    sum.im += w * std::sin(angle);
  }
  return sum;
}

/// Farthest from the mean: the bounded parts in full.
double reach_of(const SumOf& s) {
  double reach = normal_reach * s.normal_s;
  for (const double h : s.uniform) reach += h;
  for (const double h : s.half_normal) reach += normal_reach * std::fabs(h);
  for (const SumOf::Seated& p : s.play) {
    const double h = p.sum.turn / p.play->span, y = p.sum.y - h;
    double most = 0;
    for (const Play::Node& n : p.play->nodes)
      most =
          std::max(most, std::fabs(p.sum.x * n.x + h * n.middle) + std::fabs(y) * n.round + std::fabs(h) * n.relieved);
    reach += 1.01 * most;
  }
  return reach;
}

double beyond_normal(double mean, double s, double low, double high) {
  if (!(s > 0)) return mean < low || mean > high ? 1 : 0;
  return maths::normal_cdf((low - mean) / s) + maths::normal_cdf((mean - high) / s);
}
double beyond_uniform(double mean, double h, double low, double high) {
  const double below = std::clamp((low - (mean - h)) / (2 * h), 0.0, 1.0);
  const double above = std::clamp((mean + h - high) / (2 * h), 0.0, 1.0);
  return std::min(1.0, below + above);
}

}  // namespace

double share_beyond(const SumOf& s, double low, double high) {
  if (s.uniform.empty() && s.half_normal.empty() && s.play.empty()) return beyond_normal(s.mean, s.normal_s, low, high);
  if (s.uniform.size() == 1 && s.half_normal.empty() && s.play.empty() && !(s.normal_s > 1e-4 * s.uniform.front()))
    return beyond_uniform(s.mean, s.uniform.front(), low, high);
  const double reach = reach_of(s);
  if (!(reach > 0)) return beyond_normal(s.mean, 0, low, high);
  const double a = s.mean - low, b = high - s.mean;  // how far the limits are
  const bool to_low = a < reach, to_high = b < reach;
  if (!to_low && !to_high) return 0;
  if ((to_low && -a >= reach) || (to_high && -b >= reach)) return 1;
  // P(X < x) = 1/2 - sum Im[phi(t) exp(-i t x)] / (pi (k + 1/2)), t = (k + 1/2) step; exact while the whole sum lies
  // within half a period.
  const double step = pi / reach;
  double below = to_low ? 0.5 : 0, above = to_high ? 0.5 : 0;
  constexpr int most_terms = 4096;
  for (int k = 0; k < most_terms; ++k) {
    const double t = (k + 0.5) * step, z = s.normal_s * t;
    Complex phi{std::exp(-0.5 * z * z), 0};
    for (const double h : s.uniform) phi.re *= sinc(h * t);
    for (const double h : s.half_normal) {
      const double x = h * t * 0.70710678118654752440;
      phi = times(phi, {std::exp(-x * x), 2 / std::sqrt(pi) * dawson(x)});
    }
    if (std::fabs(phi.re) + std::fabs(phi.im) > 1e-16)
      for (const SumOf::Seated& p : s.play) phi = times(phi, play_at(p, t));
    const double f = 1 / (pi * (k + 0.5));
    if (to_low) below -= f * (phi.im * std::cos(t * a) + phi.re * std::sin(t * a));
    if (to_high) above += f * (phi.im * std::cos(t * b) - phi.re * std::sin(t * b));
    if (z > 8.5) break;
  }
  return std::clamp(std::max(0.0, below) + std::max(0.0, above), 0.0, 1.0);
}

namespace {

/// The normal ellipse about (a, b) in its own axes, s_a >= s_b, against a circle about the origin: share inside. Along
/// the shorter axis the place is radius x sin(angle), which makes the sum over evenly spaced angles quick.
double inside_circle(double a, double b, double s_a, double s_b, double radius) {
  const int steps = std::clamp(static_cast<int>(5 * radius / s_b), 16, 128);
  const auto step_at = [&](double x) {
    return static_cast<int>((std::asin(std::clamp(x / radius, -1.0, 1.0)) / pi + 0.5) * steps);
  };
  const int first = step_at(b - normal_reach * s_b), last = std::min(steps - 1, step_at(b + normal_reach * s_b));
  double sum = 0;
  for (int i = first; i <= last; ++i) {
    const double angle = pi * ((i + 0.5) / steps - 0.5), half = radius * std::cos(angle), x = radius * std::sin(angle);
    const double z = (x - b) / s_b;
    sum += half * std::exp(-0.5 * z * z) * (maths::normal_cdf((half - a) / s_a) - maths::normal_cdf((-half - a) / s_a));
  }
  return sum * (pi / steps) * 0.39894228040143267794 / s_b;
}

struct Axes {
  double cosine = 1, sine = 0, s_long = 0, s_short = 0;
};
Axes axes_of(const PairOf& p) {
  const double half = 0.5 * (p.aa - p.bb), middle = 0.5 * (p.aa + p.bb), r = std::sqrt(half * half + p.ab * p.ab);
  const double angle = 0.5 * std::atan2(p.ab, half);
  return {std::cos(angle), std::sin(angle), std::sqrt(std::max(0.0, middle + r)), std::sqrt(std::max(0.0, middle - r))};
}

/// Fractions of the square roots of primes: evenly spread in any number of directions.
double spread(std::size_t dimension, int point) {
  static constexpr int prime[] = {2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71};
  const double x = (point + 0.5) * std::sqrt(static_cast<double>(prime[dimension % 20])) + 0.37 * (dimension / 20);
  return x - std::floor(x);
}

/// A seat for three even numbers in 0..1.
void add_seat(const PairOf::Seated& p, double u, double v, double w, double& a, double& b) {
  const auto& nodes = p.play->nodes;
  std::size_t i = 0;
  while (i + 1 < nodes.size() && nodes[i].below < u) ++i;
  const Play::Node& n = nodes[i];
  // Between the nodes too, so that it moves smoothly.
  const double into = n.weight > 0 ? (u - (n.below - n.weight)) / n.weight - 0.5 : 0;
  const double next = i + 1 < nodes.size() ? nodes[i + 1].x - n.x : 0, last = i > 0 ? n.x - nodes[i - 1].x : 0;
  const double x = n.x + into * 0.5 * (next + last);
  const double y = (2 * v - 1) * n.round, turn = (n.middle + (2 * w - 1) * n.relieved - y) / p.play->span;
  a += p.a.x * x + p.a.y * y + p.a.turn * turn;
  b += p.b.x * x + p.b.y * y + p.b.turn * turn;
}

double beyond_at(const PairOf& p, const Axes& axes, double a, double b, double radius) {
  const double floor = radius / 25;  // so that few nodes still give a smooth answer
  const double s_long = std::max(axes.s_long, floor), s_short = std::max(axes.s_short, floor);
  const double along = axes.cosine * (p.mean_a + a) + axes.sine * (p.mean_b + b);
  const double over = -axes.sine * (p.mean_a + a) + axes.cosine * (p.mean_b + b);
  return std::max(0.0, 1 - inside_circle(along, over, s_long, s_short, radius));
}

}  // namespace

double share_beyond(const std::vector<PairOf>& mixture, double radius) {
  bool bounded = false;
  for (const PairOf& p : mixture) bounded |= !p.uniform.empty() || !p.half_normal.empty() || !p.play.empty();
  double share = 0;
  if (!bounded) {
    for (const PairOf& p : mixture) {
      const Axes axes = axes_of(p);
      if (axes.s_long > 0) share += p.weight * beyond_at(p, axes, 0, 0, radius);
      else share += p.mean_a * p.mean_a + p.mean_b * p.mean_b > radius * radius ? p.weight : 0;
    }
    return std::min(1.0, share);
  }
  const int points = std::max(16, 96 / static_cast<int>(mixture.size()));
  for (std::size_t m = 0; m < mixture.size(); ++m) {
    const PairOf& p = mixture[m];
    const Axes axes = axes_of(p);
    double sum = 0;
    for (int i = 0; i < points; ++i)
      for (const bool turned : {false, true}) {  // each point and its mirror image: the mean is kept
        double a = 0, b = 0;
        std::size_t d = 0;
        const auto u = [&] {
          const double x = spread(d++, i + static_cast<int>(m) * points);
          return turned ? 1 - x : x;
        };
        for (const PairOf::Two& c : p.uniform) {
          const double x = 2 * u() - 1;
          a += c.a * x, b += c.b * x;
        }
        for (const PairOf::Two& c : p.half_normal) {
          const double x = std::fabs(maths::normal_quantile(0.5 + 0.5 * u()));
          a += c.a * x, b += c.b * x;
        }
        for (const PairOf::Seated& s : p.play) {
          const double x = u(), y = u(), z = u();
          add_seat(s, x, y, z, a, b);
        }
        sum += beyond_at(p, axes, a, b, radius);
      }
    share += p.weight * sum / (2 * points);
  }
  return std::min(1.0, share);
}

}  // namespace fettle::tolerance::inner
