#include "calc/locating/fasteners.h"

#include <algorithm>
#include <cmath>

namespace fettle::locating {

double floating_fastener(double least_hole, double most_fastener) { return least_hole - most_fastener; }

FixedFastener fixed_fastener(double least_hole, double most_fastener, double share_of_clearance_part) {
  const double all = least_hole - most_fastener;
  return {all * share_of_clearance_part, all * (1 - share_of_clearance_part)};
}

double hole_without_projected_zone(double most_fastener, double clearance_part_zone, double fixed_part_zone,
                                   double projection, double engagement) {
  return most_fastener + clearance_part_zone + fixed_part_zone * (1 + 2 * projection / engagement);
}

PositionAtMmc position_at_mmc(double dx, double dy, double zone, double size_at_mmc, double actual_size, bool hole) {
  PositionAtMmc p;
  p.found = 2 * std::hypot(dx, dy);
  p.bonus = std::max(0.0, hole ? actual_size - size_at_mmc : size_at_mmc - actual_size);
  p.allowed = zone + p.bonus;
  p.margin = p.allowed - p.found;
  p.virtual_size = hole ? size_at_mmc - zone : size_at_mmc + zone;
  return p;
}

double round_zone_of_square(double t) { return 2 * std::sqrt(2.0) * t; }
double share_in_round_zone(double zone, double s) {
  return s > 0 ? -std::expm1(-zone * zone / (8 * s * s)) : zone >= 0;
}

}  // namespace fettle::locating
