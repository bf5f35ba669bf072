#pragma once
// Loads of tools that feed along their axis: drill, reamer, tap, boring tool. Where published formulas disagree both
// are given.
#include "calc/cutting/cutting.h"

namespace fettle::cutting {

/// Torque, thrust and power of one tool; `low` and `high` where two formulas disagree (else the same).
struct AxialLoad {
  double torque_low = 0, torque_high = 0;  ///< N·m
  double thrust_low = 0, thrust_high = 0;  ///< N, pushes the part down
  double side = 0;                         ///< N, across the axis, turning with the tool (one-edged tools)
  double tangential = 0;                   ///< N, of one edge
  double power = 0;                        ///< W, at the high torque
  double chip = 0;                         ///< m, thickness
};

struct Drill {
  Chip chip;
  double factor = 0;    ///< K of the drill maker's formulas; 0: that formula does not speak about this metal
  double diameter = 0;  ///< m
  double before = 0;    ///< m, hole that is there already (cored, pilot); 0: full
  double feed = 0;      ///< m per turn
  double point = 0;     ///< rad, included point angle
  int edges = 2;
  double turns = 0;  ///< 1/s
};
/// M = kc f (D^2 - d^2)/8 and F = 0.5 kc f (D - d)/2 sin kappa by specific force; M = K D^2 (0.630 + 16.84 f)/100 N·m
/// and F = 570 K D f^0.85 N (mm, full holes) by a drill maker, less the share that the hole before takes, and with the
/// edge's wear.
Outcome<AxialLoad> drill_load(const Drill& inputs);

/// A reamer or boring tool: z edges that open a hole from `before` to `diameter`.
struct Opening {
  Chip chip;
  double diameter = 0, before = 0;  ///< m
  double feed = 0;                  ///< m per turn
  int edges = 1;
  double approach = 1.5707963267948966;  ///< kappa of the edge, rad
  double corner_radius = 0;              ///< m; shallow cuts lie on it
  double turns = 0;
};
Outcome<AxialLoad> opening_load(const Opening& inputs);

struct Tap {
  double simple = 0;    ///< Pa, kc of the first formula; 0: not given for this metal
  double geometry = 0;  ///< Pa, kc of the second
  double shape = 1.25;  ///< K of the second: 1.25 straight flutes with five threads of lead, 1.05 spiral flutes
  double wear = 1;
  double major = 0, pitch = 0, drill = 0;  ///< m
  double turns = 0;
};
/// M = kc P^2 d / 8 and M = tan 30 deg kc K (D - Do)^2 (D + 2 Do)/24 (SI). Cut threads only: a forming tap is refused
/// by the plan for iron.
Outcome<AxialLoad> tap_load(const Tap& inputs);

/// Shear stress in a round core of diameter d (m) under torque (N·m): 16 M / (pi d^3), Pa.
double core_stress(double torque, double diameter);

}  // namespace fettle::cutting
