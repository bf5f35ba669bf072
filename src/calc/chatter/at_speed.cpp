#include "calc/chatter/at_speed.h"

#include <Eigen/Dense>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <complex>
#include <limits>

namespace fettle::chatter {

namespace {

using Complex = std::complex<double>;
using Real3 = Eigen::Matrix3d;
using Complex3 = Eigen::Matrix3cd;
using frame::Vec3;

constexpr double two_pi = 2 * M_PI;

Eigen::Vector3d in_axes(const std::array<Vec3, 3>& axes, const Vec3& v) {
  Eigen::Vector3d out;
  for (std::size_t i = 0; i < 3; ++i)
    out(static_cast<Eigen::Index>(i)) = axes[i].x * v.x + axes[i].y * v.y + axes[i].z * v.z;
  return out;
}

/// Modes of everything in the cut's axes, and the residual there.
struct Structure {
  struct Mode {
    double omega = 0, damping = 0;
    Eigen::Vector3d shape;
  };
  std::vector<Mode> modes;
  Real3 residual = Real3::Zero();

  explicit Structure(const AtSpeedInputs& in) {
    Real3 turn;
    for (Eigen::Index i = 0; i < 3; ++i) {
      const Vec3& a = in.axes[static_cast<std::size_t>(i)];
      turn.row(i) << a.x, a.y, a.z;
    }
    for (const maths::PointResponse& p : in.responses) {
      for (const maths::PointMode& m : p.modes) modes.push_back({m.omega, m.damping, in_axes(in.axes, m.shape)});
      Real3 r;
      for (Eigen::Index i = 0; i < 9; ++i) r(i / 3, i % 3) = p.residual[static_cast<std::size_t>(i)];
      residual += turn * r * turn.transpose();
    }
  }
  Complex3 at(double omega) const {
    double re[6] = {}, im[6] = {};
    for (const Mode& m : modes) {
      const double a = m.omega * m.omega - omega * omega, b = 2 * m.damping * m.omega * omega, d = 1 / (a * a + b * b);
      const double x = m.shape(0), y = m.shape(1), z = m.shape(2),
                   pairs[6] = {x * x, x * y, x * z, y * y, y * z, z * z};
      for (int i = 0; i < 6; ++i) re[i] += pairs[i] * a * d, im[i] -= pairs[i] * b * d;
    }
    Complex3 g;
    const auto c = [&](int i) { return Complex(re[i], im[i]); };
    g << c(0), c(1), c(2), c(1), c(3), c(4), c(2), c(4), c(5);
    return g + residual.cast<Complex>();
  }
};

/// Chip thickness by motion, force by chip thickness; and force by rubbing: averaged over the turn, per radian of arc.
struct Directions {
  Real3 chip = Real3::Zero(), flank = Real3::Zero();

  explicit Directions(const AtSpeedInputs& in) {
    constexpr int n = 240;
    const double step = (in.exit - in.entry) / n, lean = std::sin(in.lead), up = std::cos(in.lead);
    for (int i = 0; i < n; ++i) {
      const double p = in.entry + (i + 0.5) * step, s = std::sin(p), c = std::cos(p);
      const Eigen::Vector3d thick(up * s, up * c, -lean), along(-c, s, 0);
      const Eigen::Vector3d force(-c - in.kr * s, s - in.kr * c, in.ka);
      chip += force * thick.transpose() * step;
      flank += (in.friction * along - thick) * thick.transpose() * step;
    }
  }
};

std::string wrong(const AtSpeedInputs& in) {
  if (in.responses.empty()) return "nothing gives way: no response was given";
  if (!(in.kt > 0) || !std::isfinite(in.kt) || !std::isfinite(in.kr) || !std::isfinite(in.ka))
    return "the cutting force must be above zero";
  if (!(in.turns > 0) || !std::isfinite(in.turns)) return "the spindle speed must be above zero";
  if (in.tooth_angles.empty()) return "the tool has no teeth";
  if (!(in.exit > in.entry) || !(in.exit - in.entry < 7))
    return "the engaged arc must be above zero and at most a turn";
  if (!(in.indentation >= 0) || !(in.land >= 0) || (in.indentation > 0 && !(in.diameter > 0)))
    return "the flank's numbers cannot be";
  if (!(in.lead >= 0) || !(in.lead < 1.5)) return "the lead angle must lie between 0 and 86 degrees";
  return {};
}

/// Time from each tooth to the one before it in the same place.
std::vector<double> delays(const AtSpeedInputs& in) {
  std::vector<double> a = in.tooth_angles;
  std::sort(a.begin(), a.end());
  std::vector<double> out;
  for (std::size_t i = 0; i < a.size(); ++i) {
    const double gap = i == 0 ? a.front() - a.back() + two_pi : a[i] - a[i - 1];
    out.push_back(gap / (two_pi * in.turns));
  }
  return out;
}

std::array<Complex, 3> eigenvalues(const Complex3& m, bool flat) {
  if (!flat) {
    const Eigen::ComplexEigenSolver<Complex3> solver(m, false);
    return {solver.eigenvalues()(0), solver.eigenvalues()(1), solver.eigenvalues()(2)};
  }
  const Complex half = 0.5 * (m(0, 0) + m(1, 1)),
                root = std::sqrt(half * half - (m(0, 0) * m(1, 1) - m(0, 1) * m(1, 0)));
  return {half + root, half - root, 0};
}

/// The same values in the order that lies nearest to those before.
void follow(const std::array<Complex, 3>& before, std::array<Complex, 3>& now, int count) {
  for (int i = 0; i + 1 < count; ++i) {
    int best = i;
    for (int k = i + 1; k < count; ++k)
      if (std::abs(now[static_cast<std::size_t>(k)] - before[static_cast<std::size_t>(i)]) <
          std::abs(now[static_cast<std::size_t>(best)] - before[static_cast<std::size_t>(i)]))
        best = k;
    std::swap(now[static_cast<std::size_t>(i)], now[static_cast<std::size_t>(best)]);
  }
}

}  // namespace

AtSpeedResult depth_at_speed(const AtSpeedInputs& in) {
  AtSpeedResult out;
  out.why = wrong(in);
  if (!out.why.empty()) return out;
  const Structure structure(in);
  const Directions directions(in);
  const std::vector<double> late = delays(in);
  const auto teeth = static_cast<double>(in.tooth_angles.size());
  double lowest = HUGE_VAL, highest = 0, longest = *std::max_element(late.begin(), late.end());
  for (const auto& m : structure.modes) lowest = std::min(lowest, m.omega), highest = std::max(highest, m.omega);
  const double end = std::min(1.7 * highest, two_pi * in.highest);
  if (!(highest > 0) || !(lowest < end)) {
    out.why = "nothing swings: no mode was given";
    return out;
  }
  const double cut = in.kt * teeth / two_pi;
  const double speed = M_PI * in.diameter * in.turns;
  const double rub = in.indentation > 0 ? in.indentation * in.land * in.land / 2 / speed * teeth / two_pi : 0;
  const bool flat = std::sin(in.lead) < 1e-9;
  const int count = flat ? 2 : 3;
  out.depth = std::numeric_limits<double>::infinity();
  std::array<Complex, 3> before{};
  double omega_before = 0;
  for (double omega = 0.6 * lowest; omega < end;) {
    Complex memory = 0;
    for (double t : late) memory += Complex(std::cos(omega * t), -std::sin(omega * t)) / teeth;
    const Complex3 force = (cut * (1.0 - memory)) * directions.chip.cast<Complex>() +
                           Complex(0, omega * rub) * directions.flank.cast<Complex>();
    std::array<Complex, 3> now = eigenvalues(structure.at(omega) * force, flat);
    if (omega_before > 0) {
      follow(before, now, count);
      for (std::size_t i = 0; i < static_cast<std::size_t>(count); ++i) {
        if ((before[i].imag() > 0) == (now[i].imag() > 0)) continue;
        const double w = before[i].imag() / (before[i].imag() - now[i].imag());
        const double real = before[i].real() + w * (now[i].real() - before[i].real());
        if (!(real > 0) || !(1 / real < out.depth)) continue;
        out.depth = 1 / real;
        out.frequency = (omega_before + w * (omega - omega_before)) / two_pi;
      }
    }
    before = now, omega_before = omega;
    omega += std::min(0.004 * omega, 0.35 / longest);
  }
  out.ok = true;
  return out;
}

}  // namespace fettle::chatter
