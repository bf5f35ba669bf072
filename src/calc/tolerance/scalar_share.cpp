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

/// The factors' normal law by its three Gauss-Hermite points.
struct Factor {
  double k = 1, weight = 1;
};
std::vector<Factor> factors(double s) {
  if (!(s > 0)) return {{1, 1}};
  const double far = 1.73205080756887729353 * s;
  return {{1 - far, 1.0 / 6}, {1, 2.0 / 3}, {1 + far, 1.0 / 6}};
}

Complex play_at(const SumOf::Seated& p, double t) {
  const double h = p.sum.turn / p.play->span, y = p.sum.y - h;
  const std::vector<Factor> round = factors(p.play->round_s), relieved = factors(p.play->relieved_s);
  Complex sum{0, 0};
  for (const Play::Node& n : p.play->nodes) {
    double w = 0;
    for (const Factor& f : relieved) w += f.weight * sinc(t * h * n.relieved * f.k);
    w *= n.weight;
    for (const Factor& f : round) {
      const double v = w * f.weight * sinc(t * y * n.round * f.k), angle = t * (p.sum.x * n.x * f.k + h * n.middle);
      sum.re += v * std::cos(angle);
      sum.im += v * std::sin(angle);
    }
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
    reach += 1.01 * most * (1 + 1.74 * std::max(p.play->round_s, p.play->relieved_s));
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

/// Good lattices (component by component for the worst error of smooth functions; Sloan & Reztsov 2002): evenly spread
/// points in up to fourteen directions; more directions use them again from another start.
struct Lattice {
  int points = 0;
  std::array<int, 14> step{};
};
constexpr Lattice lattices[] = {{251, {7, 25, 37, 84, 78, 94, 117, 29, 20, 35, 118, 38, 68, 11}},
                                {127, {32, 23, 51, 15, 39, 18, 20, 45, 34, 29, 4, 42, 1, 26}}};

/// Coordinate `dimension` of point i; every lot starts elsewhere.
double spread(const Lattice& lattice, std::size_t dimension, int i, std::size_t lot) {
  const int k = i * lattice.step[dimension % 14] % lattice.points;
  const double start = 0.5 + 7.3 * static_cast<double>(dimension / 14) + 0.381966 * static_cast<double>(lot);
  const double x = (k + start) / lattice.points;
  return x - std::floor(x);
}

/// A seat for three even numbers in 0..1 and the two factors.
void add_seat(const PairOf::Seated& p, double u, double v, double w, double round, double relieved, double& a,
              double& b) {
  const auto& nodes = p.play->nodes;
  const auto at = [&](std::size_t i) { return nodes[i].below - 0.5 * nodes[i].weight; };
  std::size_t i = 0;
  while (i + 2 < nodes.size() && at(i + 1) < u) ++i;
  const Play::Node& n = nodes[i];
  const Play::Node& next = nodes[std::min(i + 1, nodes.size() - 1)];
  const double step = 0.5 * (n.weight + next.weight);
  const double into = nodes.size() > 1 && step > 0 ? std::clamp((u - at(i)) / step, 0.0, 1.0) : 0;
  const auto between = [&](double from, double to) { return from + into * (to - from); };
  const double x = round * between(n.x, next.x), y = round * (2 * v - 1) * between(n.round, next.round);
  const double height = between(n.middle, next.middle) + relieved * (2 * w - 1) * between(n.relieved, next.relieved);
  const double turn = (height - y) / p.play->span;
  a += p.a.x * x + p.a.y * y + p.a.turn * turn;
  b += p.b.x * x + p.b.y * y + p.b.turn * turn;
}

/// Share of the normal part alone beyond the circle, by where its middle stands in its own axes. Looked up between
/// points of a grid, cubic in the logarithm, since it is asked for a thousand times.
class EllipseTail {
 public:
  /// The middle will be asked for up to these distances along its two axes.
  EllipseTail(const Axes& axes, double radius, double far_long, double far_short)
      : s_long_(std::max(axes.s_long, radius / 25)), s_short_(std::max(axes.s_short, radius / 25)), radius_(radius) {
    long_ = grid(far_long, s_long_);
    short_ = grid(far_short, s_short_);
    for (int i = 0; i <= long_.steps; ++i)
      for (int j = 0; j <= short_.steps; ++j)
        table_.push_back(std::log(std::max(1e-15, exact(long_.far * i / long_.steps, short_.far * j / short_.steps))));
  }
  double exact(double along, double over) const {
    return std::clamp(1 - inside_circle(along, over, s_long_, s_short_, radius_), 0.0, 1.0);
  }
  double operator()(double along, double over) const {
    const Weights x = weights(long_, along), y = weights(short_, over);
    double sum = 0;
    for (int i = 0; i < 4; ++i) {
      double row = 0;
      for (int j = 0; j < 4; ++j)
        row += y.w[j] * table_[static_cast<std::size_t>(x.at[i] * (short_.steps + 1) + y.at[j])];
      sum += x.w[i] * row;
    }
    return std::min(1.0, std::exp(sum));
  }

 private:
  struct Grid {
    double far = 0;
    int steps = 0;
  };
  struct Weights {
    int at[4] = {};
    double w[4] = {};
  };
  /// The share changes over a s or so; farther out than the radius and some s nothing is left to change.
  Grid grid(double far, double s) const {
    const double reach = std::max(std::min(far, radius_ + 6 * s_long_), 1e-3 * s);
    return {reach, std::clamp(static_cast<int>(reach / (0.8 * s)) + 1, 2, 12)};
  }
  /// Four neighbours on the grid, which is even about zero, and their weights.
  static Weights weights(const Grid& g, double x) {
    const double at = std::min(std::fabs(x) / g.far, 1.0) * g.steps;
    const int i = std::min(static_cast<int>(at), g.steps - 1), first = std::min(i - 1, g.steps - 3);
    const double t = at - first;
    Weights out;
    for (int k = 0; k < 4; ++k) out.at[k] = std::abs(first + k);
    out.w[0] = -(t - 1) * (t - 2) * (t - 3) / 6;
    out.w[1] = t * (t - 2) * (t - 3) / 2;
    out.w[2] = -t * (t - 1) * (t - 3) / 2;
    out.w[3] = t * (t - 1) * (t - 2) / 6;
    return out;
  }

  double s_long_, s_short_, radius_;
  Grid long_, short_;
  std::vector<double> table_;
};

/// One point of the lattice as the movement of the middle.
struct Middle {
  double a = 0, b = 0;
};
Middle middle_at(const PairOf& p, const Lattice& lattice, int i, std::size_t lot, bool mirrored) {
  Middle m{p.mean_a, p.mean_b};
  std::size_t d = 0;
  const auto u = [&] {
    const double x = spread(lattice, d++, i, lot);
    return mirrored ? 1 - x : x;
  };
  for (const PairOf::Two& c : p.uniform) {
    const double x = 2 * u() - 1;
    m.a += c.a * x, m.b += c.b * x;
  }
  for (const PairOf::Two& c : p.half_normal) {
    const double x = std::fabs(maths::normal_quantile(0.5 + 0.5 * u()));
    m.a += c.a * x, m.b += c.b * x;
  }
  for (const PairOf::Seated& s : p.play) {
    const double x = u(), y = u(), z = u();
    const auto factor = [&](double spread_s) {
      return spread_s > 0 ? std::max(0.0, 1 + spread_s * maths::normal_quantile(u())) : 1;
    };
    const double round = factor(s.play->round_s), relieved = factor(s.play->relieved_s);
    add_seat(s, x, y, z, round, relieved, m.a, m.b);
  }
  return m;
}

}  // namespace

double share_beyond(const std::vector<PairOf>& mixture, double radius) {
  const Lattice& lattice = lattices[mixture.size() <= 2 ? 0 : 1];
  double share = 0;
  for (std::size_t lot = 0; lot < mixture.size(); ++lot) {
    const PairOf& p = mixture[lot];
    const Axes axes = axes_of(p);
    const bool bounded = !p.uniform.empty() || !p.half_normal.empty() || !p.play.empty();
    if (!bounded && !(axes.s_long > 0)) {
      share += p.mean_a * p.mean_a + p.mean_b * p.mean_b > radius * radius ? p.weight : 0;
      continue;
    }
    const auto turned = [&](const Middle& m) {
      return Middle{axes.cosine * m.a + axes.sine * m.b, -axes.sine * m.a + axes.cosine * m.b};
    };
    if (!bounded) {
      const Middle m = turned({p.mean_a, p.mean_b});
      share += p.weight * EllipseTail(axes, radius, 0, 0).exact(m.a, m.b);
      continue;
    }
    std::vector<Middle> middles;
    double far_long = 0, far_short = 0;
    for (int i = 0; i < lattice.points; ++i)
      for (const bool mirrored : {false, true}) {  // each point and its mirror image: the mean is kept
        middles.push_back(turned(middle_at(p, lattice, i, lot, mirrored)));
        far_long = std::max(far_long, std::fabs(middles.back().a));
        far_short = std::max(far_short, std::fabs(middles.back().b));
      }
    const EllipseTail tail(axes, radius, far_long, far_short);
    double sum = 0;
    for (const Middle& m : middles) sum += tail(m.a, m.b);
    share += p.weight * sum / (2 * lattice.points);
  }
  return std::min(1.0, share);
}

}  // namespace fettle::tolerance::inner
