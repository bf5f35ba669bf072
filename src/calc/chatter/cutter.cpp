#include "calc/chatter/cutter.h"

#include <algorithm>
#include <cmath>

namespace fettle::chatter {

namespace {

using frame::Vec3;
constexpr double two_pi = 6.283185307179586;

/// Integrals over the arc of 1, sin, cos, sin sin, sin cos, cos cos.
struct Moments {
  double one, s, c, ss, sc, cc;
  Moments(double a, double b) {
    one = b - a;
    s = std::cos(a) - std::cos(b);
    c = std::sin(b) - std::sin(a);
    const double half = (std::sin(2 * b) - std::sin(2 * a)) / 4;
    ss = one / 2 - half, cc = one / 2 + half;
    sc = (std::cos(2 * a) - std::cos(2 * b)) / 4;
  }
};

/// Integral of a vector (p sin + q cos, r sin + t cos, u) times chip_direction^T.
Real9 integral(const Moments& m, double lead, double p, double q, double r, double t, double u) {
  const double up = std::cos(lead), lean = std::sin(lead);
  const auto row = [&](double a, double b, double c) {
    return std::array<double, 3>{up * (a * m.ss + b * m.sc + c * m.s), up * (a * m.sc + b * m.cc + c * m.c),
                                 -lean * (a * m.s + b * m.c + c * m.one)};
  };
  const auto x = row(p, q, 0), y = row(r, t, 0), z = row(0, 0, u);
  return {x[0], x[1], x[2], y[0], y[1], y[2], z[0], z[1], z[2]};
}

}  // namespace

std::vector<double> even_teeth(int n) {
  std::vector<double> a;
  a.reserve(static_cast<std::size_t>(std::max(n, 0)));
  for (int i = 0; i < n; ++i) a.push_back(two_pi * i / n);
  return a;
}

Arc side_arc(double width, double diameter, bool down) {
  if (!(width > 0) || !(diameter > 0) || !(width <= diameter)) return {};
  const double span = std::acos(1 - 2 * width / diameter);
  return down ? Arc{M_PI - span, M_PI} : Arc{0, span};
}

Vec3 chip_direction(const Cutter& c, double angle) {
  const double up = std::cos(c.lead);
  return {up * std::sin(angle), up * std::cos(angle), -std::sin(c.lead)};
}
Vec3 force_direction(const Cutter& c, double angle) {
  const double s = std::sin(angle), k = std::cos(angle);
  return {-k - c.kr * s, s - c.kr * k, c.ka};
}
Vec3 flank_direction(const Cutter& c, double angle, double friction) {
  const double s = std::sin(angle), k = std::cos(angle);
  const Vec3 n = chip_direction(c, angle);
  return {-friction * k - n.x, friction * s - n.y, -n.z};
}

Directions directions(const Cutter& c, double friction) {
  const Moments m(c.entry, c.exit);
  const double up = std::cos(c.lead), lean = std::sin(c.lead);
  return {integral(m, c.lead, -c.kr, -1, 1, -c.kr, c.ka), integral(m, c.lead, -up, -friction, friction, -up, lean)};
}

std::vector<double> tooth_delays(const Cutter& c, double turns) {
  std::vector<double> a = c.tooth_angles;
  std::sort(a.rbegin(), a.rend());
  std::vector<double> out;
  for (std::size_t i = 0; i < a.size(); ++i) {
    const double gap = i == 0 ? a.back() + two_pi - a.front() : a[i - 1] - a[i];
    out.push_back(gap / (two_pi * turns));
  }
  return out;
}

bool even(const Cutter& c) {
  const double gap = two_pi / static_cast<double>(c.tooth_angles.size());
  for (double d : tooth_delays(c, 1))
    if (!(std::fabs(d * two_pi - gap) <= 1e-9)) return false;
  return true;
}

std::string wrong(const Cutter& c) {
  if (!(c.kt > 0) || !std::isfinite(c.kt) || !std::isfinite(c.kr) || !std::isfinite(c.ka))
    return "the cutting force must be above zero";
  if (c.tooth_angles.empty()) return "the tool has no teeth";
  const auto [low, high] = std::minmax_element(c.tooth_angles.begin(), c.tooth_angles.end());
  if (!(*high - *low < two_pi)) return "the teeth must stand within one turn";
  for (double d : tooth_delays(c, 1))
    if (!(d > 1e-6)) return "two teeth stand at the same place";
  if (!(c.exit > c.entry) || !(c.exit - c.entry <= two_pi * (1 + 1e-12)))
    return "the engaged arc must be above zero and at most a turn";
  if (!(c.lead >= 0) || !(c.lead < 1.5)) return "the lead angle must lie between 0 and 86 degrees";
  return {};
}

}  // namespace fettle::chatter
