#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "calc/motion/motion.h"
#include "calc/motion/profile.h"

namespace fettle::motion {

namespace {

/// The positive root of y^3 + p y = q for p, q >= 0: Cardano, then polished.
double cubic_root(double p, double q) {
  if (q <= 0) return 0;
  if (p <= 0) return std::cbrt(q);
  const double third = p / 3;
  const double a = std::cbrt(0.5 * q + std::sqrt(0.25 * q * q + third * third * third));
  double y = std::max(a - third / a, 0.0);
  // Where p is large the difference above loses digits; q/p is then close. Newton from above or below ends above.
  if (y * p < 0.01 * q || y <= 0) y = q / p;
  for (int k = 0; k < 4; ++k) y -= (y * (y * y + p) - q) / (3 * y * y + p);
  return y;
}
double full_change(const Ramp& r) { return r.jerk > 0 ? r.acceleration * r.acceleration / r.jerk : 0; }

/// Way from speed a up to speed b, a <= b, and its slope over b.
double way(double a, double b, const Ramp& r) { return 0.5 * (a + b) * ramp_time(a, b, r); }
double way_slope(double a, double b, const Ramp& r) {
  const double dv = b - a, t = ramp_time(a, b, r);
  const double slope = dv >= full_change(r) ? 1 / r.acceleration
                       : dv > 0             ? 1 / std::sqrt(r.jerk * dv)
                                            : 0;  // of the time over b
  return 0.5 * t + 0.5 * (a + b) * slope;
}

/// The peak above both ends that uses up the length exactly: bracketed Newton.
double peak_of(double length, double start, double end, double top, const Ramp& r) {
  if (start == end) return std::min(top, reach(start, 0.5 * length, r));
  double low = std::max(start, end), high = top;
  double x = std::clamp(reach(low, 0.5 * length, r), low, high);
  for (int k = 0; k < 60; ++k) {
    const double f = way(start, x, r) + way(end, x, r) - length;
    (f > 0 ? high : low) = x;
    const double slope = way_slope(start, x, r) + way_slope(end, x, r);
    double next = x - f / slope;
    if (!(next > low && next < high)) next = 0.5 * (low + high);
    if (!(std::fabs(next - x) > 1e-14 * x)) break;
    x = next;
  }
  return low < x ? std::min(x, top) : low;
}

/// Time to come `s` far from speed v with the acceleration rising from nothing: v t + j t^3/6 = s.
double rising(double v, double s, double jerk) { return cubic_root(6 * v / jerk, 6 * s / jerk); }
/// Time before the end of a ramp at which `s` is left to go: v t - j t^3/6 = s, v the speed at its end.
double closing(double v, double s, double jerk) {
  if (s <= 0 || v <= 0) return 0;
  double t = s / v;
  for (int k = 0; k < 12; ++k) {
    const double slope = v - 0.5 * jerk * t * t;
    if (!(slope > 0)) break;
    const double step = (v * t - jerk * t * t * t / 6 - s) / slope;
    t -= step;
    if (std::fabs(step) < 1e-15 * t) break;
  }
  return t;
}

/// Time at which a ramp from speed a up to b, of duration T, has come `s` far.
double ramp_at(double a, double b, double s, double T, const Ramp& r) {
  const double all = 0.5 * (a + b) * T;
  if (s <= 0 || T <= 0) return 0;
  if (s >= all) return T;
  if (r.jerk <= 0) {
    const double root = std::sqrt(a * a + 2 * r.acceleration * s);
    return std::min(T, 2 * s / (a + root));
  }
  const double tj = std::min(r.acceleration / r.jerk, 0.5 * T);
  const double first = a * tj + r.jerk * tj * tj * tj / 6;
  if (s <= first) return std::min(tj, rising(a, s, r.jerk));
  const double last = b * tj - r.jerk * tj * tj * tj / 6;
  if (all - s <= last) return T - std::min(tj, closing(b, all - s, r.jerk));
  const double v = a + 0.5 * r.jerk * tj * tj, rest = s - first;  // constant acceleration
  return tj + 2 * rest / (v + std::sqrt(v * v + 2 * r.acceleration * rest));
}

}  // namespace

double ramp_time(double a, double b, const Ramp& r) {
  const double dv = std::fabs(b - a);
  if (r.jerk <= 0) return dv / r.acceleration;
  return dv >= full_change(r) ? dv / r.acceleration + r.acceleration / r.jerk : 2 * std::sqrt(dv / r.jerk);
}

double reach(double a, double length, const Ramp& r) {
  if (!(length > 0)) return a;
  const double c = full_change(r);
  const double b = -0.5 * c + std::sqrt(std::max(0.0, 0.25 * c * c + a * a - c * a + 2 * r.acceleration * length));
  if (b - a >= c) return b;
  const double y = cubic_root(2 * a, length * std::sqrt(r.jerk));  // y^2 = b - a: y (2 a + y^2) = length sqrt(jerk)
  return a + y * y;
}

double reach_safely(double a, double length, const Ramp& r) {
  const double turn = r.jerk > 0 ? std::min(std::cbrt(r.jerk * length * length / 32), 0.5 * full_change(r)) : 0;
  return reach(std::max(a, turn), length, r);
}

Profile quickest(double length, double start, double end, double top, const Ramp& r) {
  Profile p{length, start, end};
  const double cap = std::max({top, start, end});
  const double both = way(std::min(start, cap), cap, r) + way(std::min(end, cap), cap, r);
  p.peak = both <= length ? cap : std::max({peak_of(length, start, end, cap, r), start, end});
  p.up = ramp_time(start, p.peak, r);
  p.down = ramp_time(end, p.peak, r);
  const double rest = length - 0.5 * (start + p.peak) * p.up - 0.5 * (end + p.peak) * p.down;
  p.along = rest > 0 && p.peak > 0 ? rest / p.peak : 0;
  return p;
}

Outcome<Profile> profile(double length, double start, double end, double top, const Ramp& r) {
  Problems problems;
  const auto refuse = [&](const char* what, double x, const char* expected) {
    problems.push_back(bad(fmt::format("{} out of range", what),
                           std::isfinite(x) ? base::shortest(x) : "not a finite number", expected));
  };
  const auto least = [&](const char* what, double x) {
    if (!(x >= 0) || !std::isfinite(x)) refuse(what, x, "at least 0");
  };
  least("length", length);
  least("speed at the start", start);
  least("speed at the end", end);
  least("jerk", r.jerk);
  if (!(top > 0) || !std::isfinite(top)) refuse("top speed", top, "more than 0");
  if (!(r.acceleration > 0) || !std::isfinite(r.acceleration)) refuse("acceleration", r.acceleration, "more than 0");
  if (!(start <= top)) refuse("speed at the start", start, "at most the top speed");
  if (!(end <= top)) refuse("speed at the end", end, "at most the top speed");
  if (!problems.empty()) return problems;
  const double least_way = way(std::min(start, end), std::max(start, end), r);
  if (!(least_way <= length * (1 + 1e-12)))
    return bad("too short to get from one speed to the other", base::shortest(length),
               fmt::format("at least {} m", base::shortest(least_way)));
  return quickest(length, start, end, top, r);
}

double time_at(const Profile& p, double s, const Ramp& r) {
  if (!(s > 0)) return 0;
  if (s >= p.length) return p.total();
  const double rising_way = 0.5 * (p.start + p.peak) * p.up, falling_way = 0.5 * (p.end + p.peak) * p.down;
  if (s < rising_way) return ramp_at(p.start, p.peak, s, p.up, r);
  if (s > p.length - falling_way) return p.total() - ramp_at(p.end, p.peak, p.length - s, p.down, r);
  return p.up + (p.peak > 0 ? (s - rising_way) / p.peak : 0);
}

double corner_speed(double turn, double tolerance, double side, double acceleration) {
  const double s = std::sin(0.5 * turn);
  return corner_speed_by_square(s * s, tolerance, side, acceleration);
}

double arc_speed(double radius, double acceleration) { return std::sqrt(acceleration * radius); }

}  // namespace fettle::motion
