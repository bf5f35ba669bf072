#pragma once
// Two slow, plain ways to the stability of a milling cut, as oracles for tests and benches: stepping through time, and
// the textbook semi-discretisation of zero order with a dense matrix. They share no code with the product.
#include <Eigen/Dense>
#include <Eigen/Eigenvalues>
#include <Eigen/SVD>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <vector>

namespace fettle::test {

struct PlainMode {
  double frequency = 0, mass = 0, damping = 0;  ///< Hz, kg, ratio
  std::array<double, 3> along{1, 0, 0};         ///< unit vector
};
struct PlainCut {
  std::vector<PlainMode> modes;
  std::vector<double> tooth_degrees;  ///< whole multiples of a turn over `steps`
  double entry = 0, exit = 0;         ///< rad
  double lead = 0;                    ///< rad
  double kt = 0, kn = 0, ka = 0;      ///< N/m2
  double turns = 0, depth = 0;        ///< per second, m
  double flank = 0, friction = 0;     ///< N s/m2: C/v; friction
};

/// Growth over one turn of a small disturbance, by Runge and Kutta's fourth-order steps over `turns` turns (entry and
/// exit should stand on steps: a tooth is in or out for a whole step). The last ten turns, 48 instants of each, are
/// split by singular values into what still matters; of the map from turn to turn in there the largest multiplier
/// counts.
inline double growth_by_steps(const PlainCut& c, int steps, int turns) {
  const std::size_t n = c.modes.size();
  using State = std::vector<double>;  // places, then speeds
  const double h = 1 / (c.turns * steps);
  std::vector<std::array<double, 3>> past(static_cast<std::size_t>(steps) * static_cast<std::size_t>(turns) + 2);
  const auto point = [&](const State& s, std::size_t from) {
    std::array<double, 3> r{};
    for (std::size_t k = 0; k < n; ++k)
      for (std::size_t i = 0; i < 3; ++i) r[i] += c.modes[k].along[i] * s[from + k];
    return r;
  };
  const int teeth = static_cast<int>(c.tooth_degrees.size());
  std::vector<int> gap;  // steps from the tooth ahead to this one
  for (int j = 0; j < teeth; ++j) {
    double best = 360;
    for (int i = 0; i < teeth; ++i) {
      double d = std::fmod(
          c.tooth_degrees[static_cast<std::size_t>(i)] - c.tooth_degrees[static_cast<std::size_t>(j)] + 720, 360);
      if (d < 1e-9) d = 360;
      best = std::min(best, d);
    }
    gap.push_back(static_cast<int>(std::lround(best / 360 * steps)));
  }
  const auto old_place = [&](double at) {  // cubic through four neighbours
    std::array<double, 3> r{};
    const auto i = static_cast<std::ptrdiff_t>(std::floor(at));
    const double x = at - static_cast<double>(i);
    if (i < 1) return r;
    const double w[4] = {-x * (x - 1) * (x - 2) / 6, (x + 1) * (x - 1) * (x - 2) / 2, -(x + 1) * x * (x - 2) / 2,
                         (x + 1) * x * (x - 1) / 6};
    for (int k = 0; k < 4; ++k)
      for (std::size_t d = 0; d < 3; ++d) r[d] += w[k] * past[static_cast<std::size_t>(i + k - 1)][d];
    return r;
  };
  const auto slope = [&](double step, int whole, const State& s) {
    const std::array<double, 3> r = point(s, 0), v = point(s, n);
    std::array<double, 3> f{};
    for (int j = 0; j < teeth; ++j) {
      const double stands = c.tooth_degrees[static_cast<std::size_t>(j)] * M_PI / 180;
      double p = std::fmod(2 * M_PI * (whole + 0.5) / steps + stands - c.entry, 2 * M_PI);
      if (p < 0) p += 2 * M_PI;
      p += c.entry;
      if (!(p < c.exit)) continue;
      p += 2 * M_PI * (step - whole - 0.5) / steps;
      const double si = std::sin(p), co = std::cos(p), up = std::cos(c.lead), lean = std::sin(c.lead);
      const std::array<double, 3> o = old_place(step - gap[static_cast<std::size_t>(j)]);
      const double chip = up * (si * (r[0] - o[0]) + co * (r[1] - o[1])) - lean * (r[2] - o[2]);
      const double into = up * (si * v[0] + co * v[1]) - lean * v[2], rub = c.depth * c.flank * into;
      f[0] += c.depth * (-c.kt * co - c.kn * si) * chip - rub * (up * si + c.friction * co);
      f[1] += c.depth * (c.kt * si - c.kn * co) * chip - rub * (up * co - c.friction * si);
      f[2] += c.depth * c.ka * chip + rub * lean;
    }
    State d(2 * n);
    for (std::size_t k = 0; k < n; ++k) {
      const PlainMode& m = c.modes[k];
      const double w = 2 * M_PI * m.frequency;
      d[k] = s[n + k];
      d[n + k] = (m.along[0] * f[0] + m.along[1] * f[1] + m.along[2] * f[2]) / m.mass - 2 * m.damping * w * s[n + k] -
                 w * w * s[k];
    }
    return d;
  };
  State s(2 * n, 0.0);
  for (std::size_t k = 0; k < n; ++k) s[k] = 1e-6 * (1 + 0.3 * static_cast<double>(k));
  const int all = steps * turns;
  for (int i = 0; i < all; ++i) {
    past[static_cast<std::size_t>(i)] = point(s, 0);
    past[static_cast<std::size_t>(i) + 1] = past[static_cast<std::size_t>(i)];
    const auto plus = [&](const State& d, double by) {
      State t = s;
      for (std::size_t k = 0; k < t.size(); ++k) t[k] += by * d[k];
      return t;
    };
    const State a = slope(i, i, s), b = slope(i + 0.5, i, plus(a, h / 2)), e = slope(i + 0.5, i, plus(b, h / 2)),
                g = slope(i + 1, i, plus(e, h));
    double size = 0;
    for (std::size_t k = 0; k < s.size(); ++k) {
      s[k] += h / 6 * (a[k] + 2 * b[k] + 2 * e[k] + g[k]);
      size = std::max(size, std::fabs(s[k]));
    }
    if (!(size < 1e6)) {  // the motion is linear: all of it made smaller
      for (double& x : s) x /= size;
      for (auto& r : past)
        for (double& x : r) x /= size;
    }
  }
  constexpr int kept = 10, instants = 48;
  Eigen::MatrixXd x(3 * instants, kept + 1);
  for (int k = 0; k <= kept; ++k)
    for (int i = 0; i < instants; ++i)
      for (int d = 0; d < 3; ++d)
        x(3 * i + d, k) = past[static_cast<std::size_t>(all - 1 - i * steps / instants - (kept - k) * steps)]
                              [static_cast<std::size_t>(d)];
  const double pace = std::pow(x.col(kept).norm() / x.col(0).norm(), 1.0 / kept);
  for (int k = 0; k <= kept; ++k) x.col(k) /= std::pow(pace, k);
  const Eigen::JacobiSVD<Eigen::MatrixXd> svd(x.leftCols(kept), Eigen::ComputeThinU | Eigen::ComputeThinV);
  Eigen::Index r = 1;
  while (r < kept && svd.singularValues()(r) > 1e-6 * svd.singularValues()(0)) ++r;
  const Eigen::MatrixXd map = svd.matrixU().leftCols(r).transpose() * x.rightCols(kept) * svd.matrixV().leftCols(r) *
                              svd.singularValues().head(r).cwiseInverse().asDiagonal();
  return pace * map.eigenvalues().cwiseAbs().maxCoeff();
}

/// Radius over one tooth period: forces held over each of `k` steps at their mean, the old place at the mean of two
/// neighbours, motion by the matrix exponential; even teeth, no flank, no lead.
inline double radius_by_semi_discretisation(const PlainCut& c, int k) {
  const auto n = static_cast<Eigen::Index>(c.modes.size());
  const double teeth = static_cast<double>(c.tooth_degrees.size()), period = 1 / (c.turns * teeth), h = period / k;
  const Eigen::Index m = k, size = 2 * n + 2 * m;
  Eigen::MatrixXd whole = Eigen::MatrixXd::Identity(size, size), shape(2, n);
  for (Eigen::Index i = 0; i < n; ++i)
    for (Eigen::Index d = 0; d < 2; ++d)
      shape(d, i) = c.modes[static_cast<std::size_t>(i)].along[static_cast<std::size_t>(d)];
  const Eigen::Index dims = 2;
  for (int i = 0; i < k; ++i) {
    Eigen::Matrix2d a = Eigen::Matrix2d::Zero();
    constexpr int samples = 20;
    for (int q = 0; q < samples; ++q)
      for (int j = 0; j < static_cast<int>(teeth); ++j) {
        const double p = std::fmod(2 * M_PI * c.turns * h * (i + (q + 0.5) / samples) + 2 * M_PI * j / teeth, 2 * M_PI);
        if (p < c.entry || p > c.exit) continue;
        const double s = std::sin(p), o = std::cos(p);
        Eigen::Matrix2d one;
        one << (-c.kt * o - c.kn * s) * s, (-c.kt * o - c.kn * s) * o, (c.kt * s - c.kn * o) * s,
            (c.kt * s - c.kn * o) * o;
        a += one / samples;
      }
    Eigen::MatrixXd system = Eigen::MatrixXd::Zero(2 * n, 2 * n), late = Eigen::MatrixXd::Zero(2 * n, dims);
    for (Eigen::Index r = 0; r < n; ++r) {
      const PlainMode& mode = c.modes[static_cast<std::size_t>(r)];
      const double w = 2 * M_PI * mode.frequency;
      system(r, n + r) = 1;
      system(n + r, r) -= w * w, system(n + r, n + r) -= 2 * mode.damping * w;
      const Eigen::RowVector2d g = shape.col(r).transpose() * a * c.depth / mode.mass;
      system.row(n + r).head(n) += g * shape;
      late.row(n + r) = -g;
    }
    // exp(system h) and its integral by scaling and squaring of the joined matrix
    Eigen::MatrixXd joined = Eigen::MatrixXd::Zero(2 * n + dims, 2 * n + dims);
    joined.topLeftCorner(2 * n, 2 * n) = system * h, joined.topRightCorner(2 * n, dims) = late * h;
    int halvings = 0;
    for (double norm = joined.cwiseAbs().rowwise().sum().maxCoeff(); norm > 0.5; norm /= 2) ++halvings;
    joined /= std::pow(2.0, halvings);
    Eigen::MatrixXd e = Eigen::MatrixXd::Identity(joined.rows(), joined.cols()), term = e;
    for (int q = 1; q < 18; ++q) term = term * joined / q, e += term;
    for (int q = 0; q < halvings; ++q) e = e * e;
    Eigen::MatrixXd step = Eigen::MatrixXd::Zero(size, size);
    step.topLeftCorner(2 * n, 2 * n) = e.topLeftCorner(2 * n, 2 * n);
    const Eigen::MatrixXd r = e.topRightCorner(2 * n, dims);
    step.block(0, 2 * n + dims * (m - 1), 2 * n, dims) += 0.5 * r;
    if (m > 1) step.block(0, 2 * n + dims * (m - 2), 2 * n, dims) += 0.5 * r;
    step.block(2 * n, 0, dims, n) = shape;
    for (Eigen::Index q = 1; q < m; ++q) step.block(2 * n + dims * q, 2 * n + dims * (q - 1), dims, dims).setIdentity();
    whole = step * whole;
  }
  return whole.eigenvalues().cwiseAbs().maxCoeff();
}

}  // namespace fettle::test
