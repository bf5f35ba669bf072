#pragma once
// Is a cut quiet? Counted by how often det(I - b M(iw)) goes round zero: slow, with its own arithmetic throughout.
#include <cmath>
#include <complex>
#include <cstddef>
#include <functional>
#include <vector>

#include "calc/chatter/cutter.h"
#include "maths/modal.h"

namespace fettle::chatter::test {

struct CountedCut {
  std::vector<maths::PointResponse> responses;  ///< in the axes of the cut
  Cutter cutter;
  double turns = 0;
  double indentation = 0, land = 0, friction = 0.3;  ///< flank, under long waves unless `short_waves`
  bool short_waves = true;
};

using Nine = std::array<std::complex<double>, 9>;

/// I - b G F at i w, its determinant.
class Characteristic {
 public:
  explicit Characteristic(const CountedCut& c) : c_(c) {
    constexpr int n = 4000;  // directions by sums
    const double step = (c.cutter.exit - c.cutter.entry) / n, up = std::cos(c.cutter.lead),
                 lean = std::sin(c.cutter.lead);
    for (int i = 0; i < n; ++i) {
      const double p = c.cutter.entry + (i + 0.5) * step, s = std::sin(p), k = std::cos(p);
      const double chip[3] = {up * s, up * k, -lean};
      const double force[3] = {-k - c.cutter.kr * s, s - c.cutter.kr * k, c.cutter.ka};
      const double rub[3] = {-c.friction * k - up * s, c.friction * s - up * k, lean};
      for (std::size_t r = 0; r < 3; ++r)
        for (std::size_t q = 0; q < 3; ++q) {
          chip_[3 * r + q] += c.cutter.kt * force[r] * chip[q] * step / (2 * M_PI);
          flank_[3 * r + q] += rub[r] * chip[q] * step / (2 * M_PI);
        }
    }
    const std::size_t teeth = c.cutter.tooth_angles.size();
    for (std::size_t i = 0; i < teeth; ++i) {  // the nearest tooth ahead
      double gap = 2 * M_PI;
      for (std::size_t k = 0; k < teeth; ++k) {
        double d = std::remainder(c.cutter.tooth_angles[k] - c.cutter.tooth_angles[i], 2 * M_PI);
        if (d <= 1e-9) d += 2 * M_PI;
        if (i != k) gap = std::min(gap, d);
      }
      delay_.push_back(gap / (2 * M_PI * c.turns));
    }
  }
  double longest() const {
    double t = 0;
    for (double d : delay_) t = std::max(t, d);
    return t;
  }
  std::complex<double> at(double w, double depth) const {
    using C = std::complex<double>;
    double g[3][3] = {};
    C resp[3][3] = {};
    for (const maths::PointResponse& r : c_.responses) {
      for (const maths::PointMode& m : r.modes) {
        const C h = 1.0 / C(m.omega * m.omega - w * w, 2 * m.damping * m.omega * w);
        const double s[3] = {m.shape.x, m.shape.y, m.shape.z};
        for (int i = 0; i < 3; ++i)
          for (int k = 0; k < 3; ++k) resp[i][k] += s[i] * s[k] * h;
      }
      for (std::size_t i = 0; i < 9; ++i) g[i / 3][i % 3] += r.residual[i];
    }
    C late = 0;
    for (double t : delay_) late += 1.0 - std::exp(C(0, -w * t));
    const double v = M_PI * c_.cutter.diameter * c_.turns;
    C rub = 0;
    if (c_.indentation > 0) {
      C under = c_.land * c_.land / 2;  // metal pushed aside per slope, by sums over the land
      if (c_.short_waves) {
        constexpr int n = 80;
        C area = 0;
        for (int i = 0; i < n; ++i)
          area += (1.0 - std::exp(C(0, -w * (i + 0.5) * c_.land / n / v))) * c_.land / double(n);
        under = area.imag() * v / w;  // what is in step with the speed
      }
      rub = C(0, w) * c_.indentation * under / v * static_cast<double>(delay_.size());
    }
    C m[3][3];
    for (std::size_t i = 0; i < 3; ++i)
      for (std::size_t k = 0; k < 3; ++k) {
        m[i][k] = i == k ? 1 : 0;
        for (std::size_t j = 0; j < 3; ++j)
          m[i][k] -= depth * (resp[i][j] + g[i][j]) * (late * chip_[3 * j + k] + rub * flank_[3 * j + k]);
      }
    return m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) +
           m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
  }
  double highest() const {
    double w = 0;
    for (const auto& r : c_.responses)
      for (const auto& m : r.modes) w = std::max(w, m.omega);
    return w;
  }

 private:
  CountedCut c_;
  std::array<double, 9> chip_{}, flank_{};
  std::vector<double> delay_;
};

/// True when det(I - b M(iw)), w from 0 to far above all modes, does not go round zero: no root grows.
inline bool quiet(const Characteristic& c, double depth) {
  using C = std::complex<double>;
  const double end = 40 * c.highest(), stride = 0.3 / c.longest();
  double turned = 0;
  const std::function<void(double, C, double, C, int)> go = [&](double a, C at_a, double b, C at_b, int left) {
    if (left == 0 || std::abs(at_b - at_a) < 0.3 * std::min(std::abs(at_a), std::abs(at_b))) {
      turned += std::arg(at_b / at_a);
      return;
    }
    const double mid = 0.5 * (a + b);
    const C at_mid = c.at(mid, depth);
    go(a, at_a, mid, at_mid, left - 1);
    go(mid, at_mid, b, at_b, left - 1);
  };
  double w = 1e-6 * c.highest();
  C here = c.at(w, depth);
  while (w < end) {
    const double next = w + std::min(stride, 0.002 * std::max(w, 0.01 * c.highest()));
    const C there = c.at(next, depth);
    go(w, here, next, there, 30);
    w = next, here = there;
  }
  return std::fabs(turned) < M_PI;
}

/// The depth found is where quiet ends: quiet a little below it and at half and a quarter of it, loud a little above.
inline bool is_limit(const CountedCut& cut, double depth, double within) {
  const Characteristic c(cut);
  return quiet(c, 0.25 * depth) && quiet(c, 0.5 * depth) && quiet(c, 0.75 * depth) && quiet(c, (1 - within) * depth) &&
         !quiet(c, (1 + within) * depth);
}

}  // namespace fettle::chatter::test
