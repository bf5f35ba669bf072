#pragma once
// Does the coolant run off the pallet, does it carry the swarf, and how much of both is there? Troughs as open channels
// that end in a free fall or a hole, grains by the shear on the bed, swarf by its mass. See README.md.
//
// SI inside: m, m3/s, kg, Pa. A slope is fall over run. Troughs have upright sides and a flat bottom.
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"

namespace fettle::run_off {

constexpr double gravity = 9.81;

/// What runs.
struct Coolant {
  double density = 1000;    ///< kg/m3
  double viscosity = 1e-6;  ///< m2/s
  double friction = 0.03;   ///< of the trough, by Darcy: bed shear = friction x density x speed^2 / 8
};
/// One trough, fed from above at its far end and closed behind it.
struct Reach {
  std::string name;
  double width = 0, depth = 0;  ///< m
  double length = 0;            ///< m, from where the coolant falls in to where this trough ends
  double slope = 0;             ///< towards its end
  double flow = 0;              ///< m3/s, all that passes through it
};
struct Grain {
  double size = 0;                  ///< m
  double density = 7200;            ///< kg/m3, the metal's
  bool caked = false;               ///< dried or settled to a cake: no formula for loose grains holds
  std::optional<double> threshold;  ///< Pa, measured shear that moves it; instead of the formula, also when caked
};
struct Inputs {
  std::vector<Reach> reaches;  ///< from the outlet upwards: each ends in the one before it, the first in the outlet
  double hole = 0;             ///< m, diameter of the hole in the outlet; 0: it falls over an edge into the open
  double hole_flow = 0;        ///< m3/s through that hole, from all sides
  Coolant coolant;
  Grain grain;
};

struct ReachResult {
  std::string name;
  double critical = 0;    ///< m, critical depth
  double at_end = 0;      ///< m, depth at its end: critical, or what stands there from below
  double at_feed = 0;     ///< m, depth just below where the coolant falls in
  double closed_end = 0;  ///< m, depth behind that, at the closed end: the deepest
  double room = 0;        ///< m, depth of the trough less the deepest water
  double speed = 0;       ///< m/s at its end
  double shear_end = 0;   ///< Pa on the bed at its end: the most
  double shear_feed = 0;  ///< Pa on the bed just below the feed: the least that runs
};
struct Result {
  std::vector<ReachResult> reaches;  ///< in the order of the inputs
  double hole_head = 0;              ///< m above the trough's bottom that presses the flow through the hole
  double threshold = 0;              ///< Pa that moves the grain
  double carried = 0;                ///< m, largest loose grain moved everywhere; 0 when not even the finest
  double speed_needed = 0;           ///< m/s along the bed that moves the grain
  std::string beyond;                ///< not empty: a formula does not hold; says which
  std::vector<std::string> assumed, cautions;
};

/// Depths from the outlet upwards, shear and grains. Problems: every impossible input at once.
Outcome<Result> solve(const Inputs& inputs);

/// (q^2/g)^(1/3), m, with q the flow over a metre of width.
double critical_depth(double flow, double width);
/// Depth in a long even trough by Manning, m: flow = width y R^(2/3) slope^(1/2) / n. Infinite without slope.
double normal_depth(double flow, double width, double slope, double manning);
/// The same by the Darcy friction factor: friction speed^2 / 8 = g R slope.
double normal_depth_darcy(double flow, double width, double slope, double friction);
/// Depth behind a feed from above, from the depth just below it: momentum along a level bottom, no friction over the
/// feed. With critical depth below it this is sqrt(3) times the critical depth.
double behind_feed(double flow, double width, double depth);
/// Depth `length` upstream of a place with depth `end`, not below critical: energy line with friction.
double upstream(double flow, double width, double slope, double friction, double length, double end);
/// Head over a hole in the bottom that takes the flow, m: over its edge as over a weir (0.60), or through it as an
/// orifice (0.61), whichever needs more.
double head_over_hole(double flow, double diameter);

/// Shear at which a loose grain begins to move, Pa: Soulsby 1997, from grain size, density and viscosity.
double threshold_shear(double size, double grain_density, const Coolant& coolant);
/// Bed shear of a speed, Pa, and the speed that gives a shear, m/s.
double bed_shear(double speed, const Coolant& coolant);
double speed_for_shear(double shear, const Coolant& coolant);
/// Slope at which water of this depth gives a shear: shear / (density g R).
double slope_for_shear(double shear, double width, double depth, const Coolant& coolant);
/// Slope at which this flow, at the depth it then runs, gives a shear; nothing when not even 1 in 1 does.
std::optional<double> slope_to_carry(double shear, double flow, double width, const Coolant& coolant);
/// Largest loose grain that a shear moves, m; 0 below the finest looked at (0.02 mm), at most 20 mm.
double largest_carried(double shear, double grain_density, const Coolant& coolant);

/// Flow of a round nozzle whose jet still has `speed` at a distance, m3/s: a free jet keeps its speed for 6.2
/// diameters and falls as 1/distance from there.
double jet_flow(double nozzle, double distance, double speed);

/// Thickness of the puddle that stays on a level face, m: 2 sqrt(tension / (density g)) sin(contact / 2).
double standing_film(double tension, double density, double contact);

/// Swarf of a job.
struct Swarf {
  double per_part = 0;                         ///< kg
  double per_set = 0;                          ///< parts of a pallet set
  double per_week = 0;                         ///< parts
  double loose_low = 2000, loose_high = 2880;  ///< kg/m3 as it lies in the bin
  double days = 5;                             ///< working days of a week
  double fines = 0.02;                         ///< share so fine that it leaves with the coolant
  std::optional<double> bin;                   ///< m3
  std::optional<double> filter;                ///< kg of fines that it holds
};
struct SwarfResult {
  double set_mass = 0, week_mass = 0;                       ///< kg
  double part_volume = 0, set_volume = 0, week_volume = 0;  ///< m3 loose, at the lighter density
  std::optional<double> bin_days, filter_days;              ///< working days until full
};
/// Problems: negative or missing numbers, densities reversed.
Outcome<SwarfResult> swarf(const Swarf& inputs);

}  // namespace fettle::run_off
