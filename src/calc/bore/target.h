#pragma once
// Where to aim a bore that can be honed larger but never smaller.
//
//     aim                                    too small: hone it          too large: scrap
//      |      spread of the process     ----|----|=================|----|----
//      v   .-'-.                            L   L+g               U-g   U
//       .-'     '-.                         passed between the double lines; g: guard band of the gauge
//
// Sizes are diameters in m, costs in one currency per part. Every share is of the parts that come to be gauged.
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"

namespace fettle::bore {

enum class Hone {
  none,   ///< no hone: what is too small is scrap as well
  small,  ///< only bores that the gauge finds too small
  all     ///< every bore: the finish asks for it, or it is cheapest
};
std::string_view word(Hone hone);

struct AimInputs {
  double lower = 0, upper = 0;  ///< drawing limits
  double s = 0;                 ///< process, one standard deviation of parts, gauge taken out
  double u = 0;                 ///< gauge, standard uncertainty of one reading
  double guard = 0;             ///< accept limits lie this far inside both limits (accept_limits() gives it)
  double drift = 0;             ///< change of the mean from the first part after a reset to the last, uniform over it
  Hone hone = Hone::small;
  double hone_s = 0;           ///< scatter of honed sizes about where the hone is set
  double hone_aim = 0;         ///< size the hone is set to; 0: the middle of the accept limits
  double hone_least = 0;       ///< least that a hone takes once it touches (Hone::all: what cleans the surface)
  double hone_most = 0;        ///< most that is sensibly honed off; 0: 40 µm
  double hone_cost = 0;        ///< each time
  double hone_cost_per_m = 0;  ///< further cost of each metre of diameter taken
  double scrap_cost = 0;       ///< what is lost with a part that is set aside
  double escape_cost = 0;      ///< what a part costs that is passed although outside
  double step = 0;             ///< the aim is not said finer than this; 0: as computed
};

/// What one aim gives.
struct AimPoint {
  double aim = 0;
  double cost = 0;          ///< per part gauged: hone, scrap and escapes
  double honed = 0;         ///< share that goes to the hone
  double too_large = 0;     ///< set aside as too large before any hone
  double too_small = 0;     ///< set aside as too small (Hone::none only)
  double lost_at_hone = 0;  ///< set aside after the hone
  double passed_bad = 0;    ///< passed although outside the drawing
  double refused_good = 0;  ///< set aside although inside the drawing
  double taken = 0;         ///< m, mean of what the hone takes from a bore that it hones
  double lost() const { return too_large + too_small + lost_at_hone; }
};
/// Costs and shares at one aim. Problems: those of the inputs, all at once (limits reversed, s not positive, guard
/// bands that leave nothing, negative costs, ...).
Outcome<AimPoint> at_aim(const AimInputs& inputs, double aim);

struct AimAnswer {
  AimPoint best;     ///< cheapest aim, unrounded
  AimPoint rounded;  ///< the cheaper of the two multiples of `step` (from the lower limit) beside it
  double step = 0;
  double cost_smaller = 0, cost_larger = 0;  ///< per part, one step (or u where no step is given) off the best aim
  double zone_low = 0, zone_high = 0;        ///< aims that cost at most `slack` more than the best
};
/// The cheapest aim by a scan and a golden-section search. Hone::all: where small aims cost alike, the largest aim
/// within 0.1 % of the least cost. `slack`: see zone_low.
Outcome<AimAnswer> best_aim(const AimInputs& inputs, double slack = 0);

/// The largest aim at which no more than `share` of the parts is set aside as too large; NaN when the hone's own losses
/// or the drift allow none within hone_most.
Outcome<double> aim_for_share(const AimInputs& inputs, double share);

struct StrategyAnswer {
  AimAnswer none, small, all;
  Hone best = Hone::none;       ///< cheapest that is allowed
  bool finish_decides = false;  ///< the finish forces Hone::all although another would be cheaper
};
/// All three ways compared. `finish_needs_hone`: the bored surface is rougher than the drawing allows, so only
/// Hone::all is allowed.
Outcome<StrategyAnswer> best_way(const AimInputs& inputs, bool finish_needs_hone, double slack = 0);

/// When to set the tool anew while the size drifts.
struct ResetInputs {
  AimInputs aim;              ///< its `drift` is not used
  double drift_per_part = 0;  ///< m, negative: bores get smaller as the edge wears
  double reset_cost = 0;      ///< each time: the person's minutes, the first part gauged
  int most = 1000;            ///< whole parts of one edge
};
struct ResetAnswer {
  int count = 0;                          ///< parts between resets at the least cost
  double cost = 0;                        ///< per part, resets included
  double first = 0;                       ///< m, where the first part after a reset is aimed
  double last = 0;                        ///< m, where the last one lies
  double cost_half = 0, cost_double = 0;  ///< per part at half and at twice the count
};
/// Problems: those of the aim, count below 1, negative cost, no drift (then nothing but the edge's life sets the
/// count).
Outcome<ResetAnswer> when_to_reset(const ResetInputs& inputs);

/// Roughness Ra that a round nose leaves by its feed alone: arcs taken as parabolas, Ra = 4/(72 sqrt 3) f^2/r (0.0321
/// f^2/r; often rounded to f^2/(32 r)). Real surfaces are rougher. Lengths in m; NaN unless 0 < feed <= r.
double feed_marks(double feed_per_rev, double nose_radius);

/// Two-sided limits and constant costs: minimises c_low P(x < L) + c_high P(x > U). Source: Springer, Industrial
/// Quality Control 8(1), 1951 (from memory); closed form. NaN unless L < U, s > 0 and both costs > 0.
double two_cost_aim(double lower, double upper, double s, double cost_low, double cost_high);

/// One limit: a good part earns `good` less `giveaway` for each unit above L, a bad one earns `bad`. Source: Hunter and
/// Kartha, J. Quality Technology 9(4), 1977 (model from memory). NaN unless s, giveaway > 0 and good > bad.
struct GiveawayAim {
  double aim = 0, earned = 0, under = 0;
};
GiveawayAim giveaway_aim(double lower, double s, double good, double bad, double giveaway);

}  // namespace fettle::bore
