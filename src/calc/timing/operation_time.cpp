#include "calc/timing/operation_time.h"

#include <cmath>

#include "calc/timing/check.h"

namespace fettle::timing {

namespace {

/// Time and distance from rest to the speed v.
double ramp_time(double v, const Motion& m) {
  if (m.acceleration <= 0) return 0;
  if (m.jerk <= 0) return v / m.acceleration;
  const double full = m.acceleration * m.acceleration / m.jerk;  // speed at which full acceleration is just reached
  return v >= full ? v / m.acceleration + m.acceleration / m.jerk : 2 * std::sqrt(v / m.jerk);
}

/// Highest speed reached when the distance ends before full speed: v ramp_time(v) = distance.
double peak_speed(double distance, const Motion& m) {
  if (m.jerk <= 0) return std::sqrt(distance * m.acceleration);
  const double rise = m.acceleration / m.jerk;
  const double v = 0.5 * m.acceleration * (std::sqrt(rise * rise + 4 * distance / m.acceleration) - rise);
  if (v >= m.acceleration * rise) return v;
  return std::cbrt(distance * distance * m.jerk / 4);
}

}  // namespace

Outcome<double> move_time(double distance, const Motion& m) {
  Check check;
  check.at_least("distance", distance, 0);
  check.more_than("rapid", m.speed, 0);
  check.at_least("acceleration", m.acceleration, 0);
  check.at_least("jerk", m.jerk, 0);
  if (!check.problems.empty()) return check.problems;
  const double ramp = ramp_time(m.speed, m);
  if (distance >= m.speed * ramp) return distance == 0 ? 0.0 : distance / m.speed + ramp;
  return 2 * ramp_time(peak_speed(distance, m), m);
}

Outcome<CutTime> cut_time(const CutPath& p) {
  Check check;
  if (p.length) check.at_least("length of a pass", *p.length, 0);
  if (p.feed) check.more_than("feed", *p.feed, 0);
  if (p.stated) check.at_least("stated time", *p.stated, 0);
  check.at_least("passes", p.passes, 1);
  check.at_least("way between passes", p.between, 0);
  check.at_least("clearance", p.clearance, 0);
  check.at_least("rapid", p.motion.speed, 0);
  check.at_least("acceleration", p.motion.acceleration, 0);
  check.at_least("jerk", p.motion.jerk, 0);
  if (!check.problems.empty()) return check.problems;
  CutTime t;
  t.stated = p.stated;
  if (p.length && p.feed) {
    const double ramp = p.motion.acceleration > 0 && *p.length > 0 ? *p.feed / p.motion.acceleration : 0;
    t.feeding = p.passes * (*p.length / *p.feed + ramp);
    if (p.motion.speed > 0) {
      const Outcome<double> between = move_time(p.between, p.motion), down = move_time(p.clearance, p.motion);
      t.moving = (p.passes - 1) * *between + 2 * p.passes * *down;
    }
    t.by_path = t.feeding + t.moving;
  }
  t.used = t.stated ? t.stated : t.by_path;
  if (t.stated && t.by_path && *t.stated > 0) t.off = *t.by_path / *t.stated - 1;
  return t;
}

double centre_feed(double edge_feed, double wall, double tool) {
  return wall > tool && tool > 0 ? edge_feed * (wall - tool) / wall : edge_feed;
}

Outcome<SetTime> set_time(const SetTimeInputs& in) {
  Check check;
  check.at_least("parts", in.parts, 1);
  check.at_least("cutting time", in.cut_per_part, 0);
  check.at_least("tool changes", in.tool_changes, 0);
  check.at_least("tool change", in.tool_change, 0);
  check.at_least("visits", in.visits, 0);
  check.at_least("move", in.move, 0);
  check.at_least("probing", in.probe, 0);
  if (!check.problems.empty()) return check.problems;
  SetTime t;
  t.cutting = in.parts * in.cut_per_part;
  t.changing = in.tool_changes * in.tool_change;
  t.moving = in.visits * in.move;
  t.probing = in.probe;
  t.total = t.cutting + t.changing + t.moving + t.probing;
  t.per_part = t.total / in.parts;
  t.not_cutting_per_part = (t.total - t.cutting) / in.parts;
  return t;
}

}  // namespace fettle::timing
