#pragma once
// What the files of this science share.
#include <algorithm>
#include <cmath>
#include <limits>

#include "calc/motion/motion.h"

namespace fettle::motion {

/// profile() without its checks: start and end must be reachable within the length (a rounding aside).
Profile quickest(double length, double start, double end, double top, const Ramp& ramp);
/// The least of reach() over all starting speeds from a up: never more than reach(a), and never falls when a rises.
/// (From rest the way is shorter than from a low speed, since nothing is travelled while the acceleration builds up.)
double reach_safely(double a, double length, const Ramp& ramp);

/// corner_speed by s = sin^2(turn/2), which keeps its digits where the turn is small.
inline double corner_speed_by_square(double s, double tolerance, double side, double acceleration) {
  if (!(s > 0)) return std::numeric_limits<double>::infinity();
  if (!(s < 1)) return 0;
  const double c = std::sqrt(1 - s);
  const double by_tolerance = tolerance * c * (1 + c) / s;  // 1 - c = s/(1 + c)
  const double by_room = side * c / std::sqrt(s);
  return std::sqrt(acceleration * std::min(by_tolerance, by_room));
}

}  // namespace fettle::motion
