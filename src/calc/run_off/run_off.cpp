#include "calc/run_off/run_off.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "maths/root.h"

namespace fettle::run_off {

namespace {

constexpr double pi = 3.14159265358979323846;
constexpr double inf = std::numeric_limits<double>::infinity();
constexpr double finest = 0.02e-3, coarsest = 20e-3;
constexpr double weir = 0.60, orifice = 0.61, potential_core = 6.2;

double radius(double width, double depth) { return width * depth / (width + 2 * depth); }
double energy(double flow, double width, double depth) {
  const double v = flow / (width * depth);
  return depth + v * v / (2 * gravity);
}
double friction_slope(double flow, double width, double depth, double friction) {
  const double v = flow / (width * depth);
  return friction * v * v / (8 * gravity * radius(width, depth));
}

/// The x in [low, high] where a rising function crosses zero; the nearer end where it does not.
template <class Function>
double root(double low, double high, const Function& f) {
  const double at_low = f(low), at_high = f(high);
  if (at_low >= 0 || !(at_high > 0)) return at_low >= 0 ? low : high;
  return maths::root_between(f, low, at_low, high, at_high);
}

struct Refusals {
  Problems problems;
  void check(double x, double low, double high, const std::string& what, const char* bounds) {
    if (!(x >= low && x <= high)) problems.push_back(bad(what + " is out of bounds", {}, bounds));
  }
};

void refuse(Refusals& r, const Coolant& c) {
  r.check(c.density, 500, 2000, "density of the coolant", "500 to 2000 kg/m3");
  r.check(c.viscosity, 1e-7, 1e-3, "viscosity of the coolant", "0.1 to 1000 mm2/s");
  r.check(c.friction, 0.005, 0.5, "friction factor of the trough", "0.005 to 0.5");
}

Problems refusals(const Inputs& in) {
  Refusals r;
  if (in.reaches.empty()) r.problems.push_back(bad("no trough was given"));
  for (const Reach& x : in.reaches) {
    const std::string of = x.name.empty() ? " of the trough" : " of " + x.name;
    r.check(x.width, 0.5e-3, 2, "width" + of, "0.5 mm to 2 m");
    r.check(x.depth, 0.1e-3, 1, "depth" + of, "0.1 mm to 1 m");
    r.check(x.length, 0, 100, "length" + of, "0 to 100 m");
    r.check(x.slope, 0, 1, "slope" + of, "0 to 1");
    r.check(x.flow, 1e-9, 1, "flow" + of, "0.00006 L/min to 1 m3/s");
  }
  r.check(in.hole, 0, 2, "diameter of the hole", "0 to 2 m");
  r.check(in.hole_flow, 0, 1, "flow through the hole", "0 to 1 m3/s");
  refuse(r, in.coolant);
  r.check(in.grain.size, 1e-6, 0.1, "size of a grain", "0.001 to 100 mm");
  r.check(in.grain.density, 1.01 * in.coolant.density, 25000, "density of the grains",
          "more than the coolant's, up to 25 kg/dm3");
  if (in.grain.threshold) r.check(*in.grain.threshold, 0, 1e5, "measured shear that moves the grains", "0 to 1e5 Pa");
  return r.problems;
}

ReachResult run(const Reach& x, double below, const Coolant& c) {
  ReachResult r;
  r.name = x.name;
  r.critical = critical_depth(x.flow, x.width);
  r.at_end = std::max(r.critical, below);
  r.at_feed = upstream(x.flow, x.width, x.slope, c.friction, x.length, r.at_end);
  r.closed_end = behind_feed(x.flow, x.width, r.at_feed);
  r.room = x.depth - r.closed_end;
  r.speed = x.flow / (x.width * r.at_end);
  r.shear_end = bed_shear(r.speed, c);
  // On a steep trough the water is shallower than critical and faster: it runs at its own depth there.
  const double even = x.slope > 0 ? normal_depth_darcy(x.flow, x.width, x.slope, c.friction) : inf;
  const double runs = even < r.critical && below <= r.critical ? even : r.at_feed;
  r.shear_feed = bed_shear(x.flow / (x.width * runs), c);
  return r;
}

}  // namespace

double critical_depth(double flow, double width) {
  const double q = flow / width;
  return std::cbrt(q * q / gravity);
}

double normal_depth(double flow, double width, double slope, double manning) {
  if (!(slope > 0)) return inf;
  return root(0, 1e3, [&](double y) {
    const double r = radius(width, y);
    return width * y * std::cbrt(r * r) * std::sqrt(slope) / manning - flow;
  });
}

double normal_depth_darcy(double flow, double width, double slope, double friction) {
  if (!(slope > 0)) return inf;
  return root(0, 1e3, [&](double y) {
    return width * y * std::sqrt(8 * gravity * radius(width, y) * slope / friction) - flow;
  });
}

double behind_feed(double flow, double width, double depth) {
  const double q = flow / width;
  return depth * std::sqrt(1 + 2 * q * q / (gravity * depth * depth * depth));
}

double upstream(double flow, double width, double slope, double friction, double length, double end) {
  const double critical = critical_depth(flow, width);
  double y = std::max(end, critical);
  constexpr int steps = 100;
  const double dx = length / steps;
  for (int i = 0; i < steps && dx > 0; ++i) {
    // Energy upstream = energy here + what friction takes - what the bottom rises, both over this step. It rises with
    // the depth above critical, so there is one answer; where even critical depth has more, that depth stands.
    const double has = energy(flow, width, y) + (0.5 * friction_slope(flow, width, y, friction) - slope) * dx;
    const auto lacks = [&](double up) {
      return energy(flow, width, up) - 0.5 * friction_slope(flow, width, up, friction) * dx - has;
    };
    y = lacks(critical) >= 0 ? critical : root(critical, y + critical + 4 * dx, lacks);
  }
  return y;
}

double head_over_hole(double flow, double diameter) {
  if (!(diameter > 0)) return 0;
  const double rim = 2.0 / 3 * weir * std::sqrt(2 * gravity) * pi * diameter;
  const double over = std::cbrt(flow / rim * (flow / rim));
  const double speed = flow / (orifice * pi / 4 * diameter * diameter);
  return std::max(over, speed * speed / (2 * gravity));
}

double threshold_shear(double size, double grain_density, const Coolant& c) {
  const double heavier = grain_density / c.density - 1;
  const double d = size * std::cbrt(gravity * heavier / (c.viscosity * c.viscosity));
  const double theta = 0.30 / (1 + 1.2 * d) + 0.055 * (1 - std::exp(-0.020 * d));
  return theta * heavier * c.density * gravity * size;
}

double bed_shear(double speed, const Coolant& c) { return c.friction * c.density * speed * speed / 8; }
double speed_for_shear(double shear, const Coolant& c) { return std::sqrt(8 * shear / (c.friction * c.density)); }
double slope_for_shear(double shear, double width, double depth, const Coolant& c) {
  return shear / (c.density * gravity * radius(width, depth));
}

std::optional<double> slope_to_carry(double shear, double flow, double width, const Coolant& c) {
  const auto lacks = [&](double slope) {
    return bed_shear(flow / (width * normal_depth_darcy(flow, width, slope, c.friction)), c) - shear;
  };
  if (!(lacks(1) >= 0)) return std::nullopt;
  return root(0, 1, lacks);
}

double largest_carried(double shear, double grain_density, const Coolant& c) {
  const auto stays = [&](double size) { return threshold_shear(size, grain_density, c) - shear; };
  if (!(stays(finest) <= 0)) return 0;
  if (stays(coarsest) <= 0) return coarsest;
  return root(finest, coarsest, stays);
}

double jet_flow(double nozzle, double distance, double speed) {
  const double leaves = speed * std::max(1.0, distance / (potential_core * nozzle));
  return leaves * pi / 4 * nozzle * nozzle;
}

double standing_film(double tension, double density, double contact) {
  return 2 * std::sqrt(tension / (density * gravity)) * std::sin(0.5 * contact);
}

Outcome<Result> solve(const Inputs& in) {
  const Problems problems = refusals(in);
  if (!problems.empty()) return problems;
  Result r;
  r.hole_head = head_over_hole(in.hole_flow, in.hole);
  double below = r.hole_head;
  for (const Reach& x : in.reaches) {
    r.reaches.push_back(run(x, below, in.coolant));
    below = r.reaches.back().closed_end;
  }
  r.threshold = in.grain.threshold ? *in.grain.threshold : threshold_shear(in.grain.size, in.grain.density, in.coolant);
  r.speed_needed = speed_for_shear(r.threshold, in.coolant);
  double least = inf;
  for (const ReachResult& x : r.reaches) least = std::min(least, x.shear_feed);
  r.carried = largest_carried(least, in.grain.density, in.coolant);
  if (in.grain.caked && !in.grain.threshold) {
    r.beyond =
        "caked swarf holds together: the formula is for loose grains. Rinse before it dries, or measure what moves it";
    r.carried = 0;
  }
  r.assumed = {"the coolant falls in from above at the far end and brings no speed along the trough",
               "all of a trough's flow runs in from its far end"};
  r.cautions = {
      "Coolant on the floor makes people slip, and its mist and swarf hurt eyes and skin: guards shut, eyes covered; "
      "local codes decide."};
  return r;
}

Outcome<SwarfResult> swarf(const Swarf& in) {
  Refusals r;
  r.check(in.per_part, 0, 1e4, "swarf of a part", "0 to 10000 kg");
  r.check(in.per_set, 0, 1e6, "parts of a set", "0 to 1e6");
  r.check(in.per_week, 0, 1e7, "parts of a week", "0 to 1e7");
  r.check(in.loose_low, 100, 8000, "lower density of loose swarf", "100 to 8000 kg/m3");
  r.check(in.loose_high, in.loose_low, 8000, "upper density of loose swarf", "from the lower one up to 8000 kg/m3");
  r.check(in.days, 0.1, 7, "working days of a week", "0.1 to 7");
  r.check(in.fines, 0, 1, "share of fines", "0 to 1");
  if (in.bin) r.check(*in.bin, 1e-6, 1000, "volume of the bin", "1 mL to 1000 m3");
  if (in.filter) r.check(*in.filter, 1e-6, 1e5, "what the filter holds", "1 mg to 100 t");
  if (!r.problems.empty()) return r.problems;
  SwarfResult s;
  s.set_mass = in.per_part * in.per_set;
  s.week_mass = in.per_part * in.per_week;
  s.part_volume = in.per_part / in.loose_low;
  s.set_volume = s.set_mass / in.loose_low;
  s.week_volume = s.week_mass / in.loose_low;
  if (in.bin && s.week_volume > 0) s.bin_days = *in.bin / s.week_volume * in.days;
  if (in.filter && s.week_mass * in.fines > 0) s.filter_days = *in.filter / (s.week_mass * in.fines) * in.days;
  return s;
}

}  // namespace fettle::run_off
