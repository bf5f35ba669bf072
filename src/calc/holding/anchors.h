#pragma once
// The pallet itself on its anchors: pull-down against cutting loads, and a chip under one seat.
#include <array>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "frame/frame.h"

namespace fettle::holding {

struct Seat {
  double x = 0, y = 0;   ///< m, on the pallet
  double pull_down = 0;  ///< N, a constant pull there (springs or pressure far softer than the seat)
  double stiffness = 0;  ///< N/m, upright
  double chip = 0;       ///< m, thickness of what lies under it
};
/// A force on the loaded pallet; z above the seats.
struct PalletLoad {
  frame::Vec3 at, force;  ///< m, N
};
struct AnchorInputs {
  std::vector<Seat> seats;
  double weight = 0;                  ///< N, of the loaded pallet
  double weight_x = 0, weight_y = 0;  ///< m, where it acts
};
struct AnchorResult {
  std::vector<double> seat;  ///< N, what presses each seat together; 0 where it has lifted
  double least = 0;          ///< N
  int least_at = 0;          ///< from 0
  double sink = 0, about_x = 0,
         about_y = 0;                 ///< m, rad: rigid motion; upwards at (x, y): -sink + about_x y - about_y x
  double sideways = 0, friction = 0;  ///< N across, and the friction needed when no pin takes it
  double residual = 0;
};
/// Rigid pallet on seats that push only. Problems: fewer than 3 seats or all in a line, bad numbers, a load that tips
/// the pallet off its anchors.
Outcome<AnchorResult> on_anchors(const AnchorInputs& in, const PalletLoad& load);
/// Upward motion of the rigid pallet at a place.
double rises(const AnchorResult& r, double x, double y);

/// Change of each seat's force per newton and newton metre of load, while all stay closed: rows of seats, columns push
/// down (N), moment about x and about y (N·m), all at the pallet's origin.
Outcome<std::vector<std::array<double, 3>>> seat_influence(const AnchorInputs& in);
/// How many times the load may be applied before the first seat lifts (infinite: never); linear.
Outcome<double> lift_off_factor(const AnchorInputs& in, const PalletLoad& load);

}  // namespace fettle::holding
