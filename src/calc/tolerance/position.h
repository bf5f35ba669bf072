#pragma once
// Position: what x and y say, what size and datums add, and how likely a round zone is kept. See README.md, "Position".
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"

namespace fettle::tolerance {

/// What the size of a feature adds to its zone.
enum class Material {
  regardless,  ///< nothing
  maximum,     ///< MMC: a larger hole (smaller pin) may lie farther out
  least        ///< LMC: a smaller hole (larger pin) may lie farther out
};

/// One hole or pin measured. m.
struct PositionInputs {
  bool hole = true;
  Material material = Material::regardless;
  double least_size = 0, most_size = 0;  ///< limits of size, 0 < least <= most
  double actual_size = 0;                ///< measured
  double zone = 0;                       ///< diameter of the zone, >= 0 (0 at maximum material is usual)
  double dx = 0, dy = 0;                 ///< off its true place
};
struct PositionResult {
  double found = 0;         ///< m, diameter 2 sqrt(dx^2 + dy^2)
  double bonus = 0;         ///< m, diameter
  double allowed = 0;       ///< m, zone + bonus
  double margin = 0;        ///< m, allowed - found, diameter
  double virtual_size = 0;  ///< m: the boundary that stays free of (least material: filled with) material. Regardless
                            ///< of size: the boundary at the worst size
  bool size_inside = false, inside = false;  ///< inside: size and place
};
/// Source: ASME Y14.5, virtual condition and bonus. Problems: limits crossed, size not positive, negative zone.
Outcome<PositionResult> position(const PositionInputs& inputs);

/// A pattern of holes whose datum hole (or pin) is referenced at maximum material: the whole pattern may shift (and,
/// where a second datum hole says how far, turn) within what the datum's real size leaves free.
struct PatternHole {
  std::string name;
  double x = 0, y = 0;    ///< m, true place
  double dx = 0, dy = 0;  ///< m, measured minus true place
  double allowed = 0;     ///< m, diameter, bonus included
};
struct PatternInputs {
  std::vector<PatternHole> holes;
  double shift = 0;                 ///< m, diameter within which the pattern may shift (clearance of the datum)
  double datum_x = 0, datum_y = 0;  ///< m, place of the datum about which it turns
  double turn = 0;                  ///< rad, most it may turn either way
};
struct PatternResult {
  bool inside = false;
  double margin = 0;              ///< m, diameter: least of allowed - found, with the best shift and turn
  double margin_unmoved = 0;      ///< m, without any shift or turn
  double x = 0, y = 0, turn = 0;  ///< the shift and turn that do it
  std::string worst;              ///< hole with the least margin then
  double gap = 0;                 ///< m, the true best is at most this much better (proof by a bound); < 1e-9
};
/// Best shift and turn: maximises the least margin, a convex problem (small turn: a point r from the datum moves by
/// turn x r, exact to turn^2 r / 2), solved by cutting planes whose linear program bounds what is possible.
Outcome<PatternResult> pattern(const PatternInputs& inputs);

/// Round zone that holds a square of +-t, and how much more area the round one has: 2 sqrt 2 t, pi / 2.
double round_zone_around_square(double half_side);
/// Square (half side) that fits into a round zone.
double square_in_round_zone(double zone);
double round_over_square();

/// Share inside a round zone for normal x and y, each with its own mean and spread, with correlation.
struct RoundZone {
  double zone = 0;          ///< m, diameter > 0
  double s_x = 0, s_y = 0;  ///< m, >= 0
  double bias_x = 0, bias_y = 0;
  double correlation = 0;  ///< -1..1
};
struct ZoneShare {
  double inside = 0, outside = 0;  ///< outside is computed by itself where small, so it keeps its digits
  double error = 0;                ///< bound of the quadrature by halving its step
};
/// 1 - exp(-T^2 / (8 s^2)) when both spreads are equal and nothing is off; else by quadrature.
Outcome<ZoneShare> round_zone(const RoundZone& inputs);

}  // namespace fettle::tolerance
