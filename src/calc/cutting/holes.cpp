#include "calc/cutting/holes.h"

#include <algorithm>
#include <cmath>

namespace fettle::cutting {

namespace {
constexpr double pi = 3.14159265358979323846, mm = 1e-3;

void need(Problems& p, bool good, const char* what, double found, const char* expected) {
  if (!good) p.push_back(bad(what, std::to_string(found), expected));
}
void need_chip(Problems& p, const Chip& c) {
  need(p, c.kc11 > 0 && std::isfinite(c.kc11), "specific cutting force", c.kc11, "above 0");
  need(p, c.mc >= 0 && c.mc < 1, "chip exponent", c.mc, "0 up to below 1");
  need(p, c.wear >= 1 && c.wear <= 10, "wear factor", c.wear, "1 to 10");
  need(p, c.radial >= 0 && c.radial <= 3, "radial over tangential force", c.radial, "0 to 3");
}
}  // namespace

Outcome<AxialLoad> drill_load(const Drill& d) {
  Problems p;
  need_chip(p, d.chip);
  need(p, d.diameter > 0 && d.diameter < 1, "drill diameter", d.diameter, "above 0, in m");
  need(p, d.before >= 0 && d.before < d.diameter, "hole before", d.before, "0 or more and below the diameter");
  need(p, d.feed >= 0 && d.feed < 0.01, "feed per turn", d.feed, "0 or more, in m");
  need(p, d.point > 0.5 && d.point <= pi + 1e-12, "point angle", d.point, "30 to 180 deg");
  need(p, d.edges >= 1 && d.edges <= 8, "edges", d.edges, "1 to 8");
  need(p, d.factor >= 0 && d.factor < 20, "drill factor", d.factor, "0 or more");
  need(p, d.turns >= 0, "spindle turns", d.turns, "0 or more");
  if (!p.empty()) return p;
  AxialLoad a;
  if (!(d.feed > 0)) return a;
  const double kappa = 0.5 * d.point;
  a.chip = d.feed / d.edges * std::sin(kappa);
  const double kc = specific_force(d.chip, a.chip);
  const double torque = kc * d.feed * (d.diameter * d.diameter - d.before * d.before) / 8;
  const double thrust = 0.5 * kc * d.feed * 0.5 * (d.diameter - d.before) * std::sin(kappa);
  a.torque_low = a.torque_high = torque;
  a.thrust_low = a.thrust_high = thrust;
  a.tangential = kc * d.feed / d.edges * 0.5 * (d.diameter - d.before);
  if (d.factor > 0) {
    const double dia = d.diameter / mm, f = d.feed / mm, open = d.before / d.diameter;
    const double m = d.factor * d.chip.wear * dia * dia * (0.630 + 16.84 * f) / 100 * (1 - open * open);
    const double t = 570 * d.factor * d.chip.wear * dia * std::pow(f, 0.85) * (1 - open);
    a.torque_low = std::min(torque, m);
    a.torque_high = std::max(torque, m);
    a.thrust_low = std::min(thrust, t);
    a.thrust_high = std::max(thrust, t);
  }
  a.power = a.torque_high * 2 * pi * d.turns;
  return a;
}

Outcome<AxialLoad> opening_load(const Opening& o) {
  Problems p;
  need_chip(p, o.chip);
  need(p, o.diameter > 0 && o.diameter < 10, "diameter", o.diameter, "above 0, in m");
  need(p, o.before > 0 && o.before <= o.diameter, "hole before", o.before, "above 0 and at most the diameter");
  need(p, o.feed >= 0 && o.feed < 0.01, "feed per turn", o.feed, "0 or more, in m");
  need(p, o.edges >= 1 && o.edges <= 40, "edges", o.edges, "1 to 40");
  need(p, o.approach > 0.02 && o.approach <= pi / 2 + 1e-12, "approach angle", o.approach, "1 to 90 deg");
  need(p, o.corner_radius >= 0 && o.corner_radius < 1, "corner radius", o.corner_radius, "0 or more, in m");
  need(p, o.turns >= 0, "spindle turns", o.turns, "0 or more");
  if (!p.empty()) return p;
  AxialLoad a;
  const double depth = 0.5 * (o.diameter - o.before);
  if (!(depth > 0 && o.feed > 0)) return a;
  // A cut shallower than the corner lies on its arc: its mean direction stands for the approach angle.
  double kappa = o.approach;
  if (o.corner_radius > 0 && depth < o.corner_radius * (1 - std::cos(o.approach)))
    kappa = 0.5 * std::acos(std::clamp(1 - depth / o.corner_radius, -1.0, 1.0));
  const double per_edge = o.feed / o.edges;
  a.chip = per_edge * std::sin(kappa);
  const double kc = specific_force(o.chip, a.chip);
  a.tangential = kc * per_edge * depth;
  const double across = o.chip.radial * a.tangential;
  a.torque_low = a.torque_high = o.edges * a.tangential * 0.25 * (o.diameter + o.before);
  a.thrust_low = a.thrust_high = o.edges * across * std::sin(kappa);
  a.side = o.edges == 1 ? std::hypot(a.tangential, across * std::cos(kappa)) : 0;
  a.power = a.torque_high * 2 * pi * o.turns;
  return a;
}

Outcome<AxialLoad> tap_load(const Tap& t) {
  Problems p;
  need(p, t.simple >= 0 && t.geometry >= 0 && t.simple + t.geometry > 0, "specific force of tapping",
       t.simple + t.geometry, "above 0");
  need(p, t.shape > 0 && t.shape < 10, "shape of the tap", t.shape, "1.05 to 1.25");
  need(p, t.wear >= 1 && t.wear <= 10, "wear factor", t.wear, "1 to 10");
  need(p, t.major > 0 && t.major < 1, "thread diameter", t.major, "above 0, in m");
  need(p, t.pitch > 0 && t.pitch < t.major, "pitch", t.pitch, "above 0 and below the diameter");
  need(p, t.drill > 0 && t.drill < t.major, "tapping drill", t.drill, "above 0 and below the thread diameter");
  need(p, t.turns >= 0, "spindle turns", t.turns, "0 or more");
  if (!p.empty()) return p;
  AxialLoad a;
  const double first = t.wear * t.simple * t.pitch * t.pitch * t.major / 8;
  const double second = t.wear * std::tan(pi / 6) * t.geometry * t.shape * (t.major - t.drill) * (t.major - t.drill) *
                        (t.major + 2 * t.drill) / 24;
  const double a1 = first > 0 ? first : second, a2 = second > 0 ? second : first;
  a.torque_low = std::min(a1, a2);
  a.torque_high = std::max(a1, a2);
  a.power = a.torque_high * 2 * pi * t.turns;
  return a;
}

double core_stress(double torque, double diameter) { return 16 * torque / (pi * diameter * diameter * diameter); }

}  // namespace fettle::cutting
