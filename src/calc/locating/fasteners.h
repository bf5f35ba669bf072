#pragma once
// Position tolerances and clearance holes for screws and pins (ASME Y14.5, Appendix B; C1 to C6 of common tables).
namespace fettle::locating {

/// Screws loose in both parts: position tolerance each part may have, T = H - F (hole least, screw most).
double floating_fastener(double least_hole, double most_fastener);
/// Screw fixed in one part: T1 + T2 = H - F. The share of the clearance part goes from 0 to 1 (1/2: T = (H - F)/2
/// each).
struct FixedFastener {
  double clearance_part = 0, fixed_part = 0;  ///< m, diameters of the position zones
};
FixedFastener fixed_fastener(double least_hole, double most_fastener, double share_of_clearance_part = 0.5);
/// Least clearance hole when the fixed part has no projected zone: H = F + T1 + T2 (1 + 2 P / D), P the greatest height
/// above the fixed part, D the least depth that holds the fastener.
double hole_without_projected_zone(double most_fastener, double clearance_part_zone, double fixed_part_zone,
                                   double projection, double engagement);

/// Position of a hole with the bonus of maximum material condition.
struct PositionAtMmc {
  double found = 0;         ///< m, diameter 2 sqrt(dx^2 + dy^2)
  double bonus = 0;         ///< m, actual size above the least hole (or pin below its most), never negative
  double allowed = 0;       ///< m, zone + bonus
  double margin = 0;        ///< m, allowed - found
  double virtual_size = 0;  ///< m, the boundary that must stay free: least hole - zone (pin: most + zone)
};
PositionAtMmc position_at_mmc(double dx, double dy, double zone, double size_at_mmc, double actual_size,
                              bool hole = true);

/// Diameter of the round zone that holds a square of +-t.
double round_zone_of_square(double t);
/// Share inside a round zone of diameter T when x and y are normal with the same s and no offset: 1 - exp(-T^2/(8
/// s^2)).
double share_in_round_zone(double zone, double s);

}  // namespace fettle::locating
