#pragma once
// Round and relieved pin as a fit: limits, spreads and temperatures. Does it go on, always or how often; from which
// plate temperature to which; what land still would; how far off can each feature be.
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "frame/frame.h"
#include "maths/polygon.h"

namespace fettle::locating {

using frame::Vec3;

/// A size between limits, m. Worst cases use the limits; shares use mean and s (middle and a sixth of the width when
/// not given: `±` is three sigma).
struct Size {
  double low = 0, high = 0;
  std::optional<double> mean, s;
};
double mean_of(const Size& size);
double s_of(const Size& size);

/// Temperatures, K; each is taken as evenly likely between its ends.
struct Warmth {
  double plate_low = 293.15, plate_high = 293.15;
  double part_low = 293.15, part_high = 293.15;
  double plate_expansion = 0, part_expansion = 0, pin_expansion = 0;  ///< 1/K; pins are as warm as the plate
};

struct PinFeature {
  std::string name;
  Vec3 p;  ///< m, part frame
  Vec3 n;  ///< direction that matters, part frame; zero length: the distance only
};

struct PinFitInputs {
  Size round_hole, round_pin;   ///< diameters
  Size relieved_hole, land;     ///< diameters
  Size land_width;              ///< chord along the relieved direction
  Size part_span, pallet_span;  ///< between axes, at 20 °C
  double relief_angle = 0;      ///< rad, relieved direction against the line of pins
  Vec3 round_at, relieved_at;   ///< m, where the two holes are in the part (nominal)
  Warmth warmth;
  std::vector<PinFeature> features;
};

/// What play alone does to one feature, loosest sizes, over every span and temperature allowed.
struct PinFeatureError {
  std::string name;
  double worst_distance = 0;        ///< m, farthest vertex of the feature's own region
  double worst_x = 0, worst_y = 0;  ///< m, largest either way along the part's axes
  double worst_along = 0;           ///< m, along n (0 without n)
  double naive = 0;                 ///< m, half the clearance + turn times distance: what hand sheets say, too much
  double s_x = 0, s_y = 0, s_along = 0;  ///< m, root mean square at mean sizes, all seats alike
  maths::Polygon region;  ///< m, where the feature may be against where it should, part axes, loosest sizes
};

struct PinFitResult {
  bool goes_on = false;       ///< every part on every pallet at every temperature stated
  double spare = 0;           ///< m, least play left over limits and temperatures; negative: does not always go on
  double spare_at_20 = 0;     ///< m, the same with everything at 20 °C
  double needed = 0;          ///< m, span tolerances + largest growth difference
  double given = 0;           ///< m, float of the relieved pin + half the least clearance of the round pin
  double given_textbook = 0;  ///< m, the same by D c / 2w: too generous
  double growth_low = 0, growth_high = 0;              ///< m, how much more the plate's span grows than the part's
  double round_least = 0, round_most = 0;              ///< m, clearance (diameters) of the round pin at 20 °C
  double land_least = 0, land_most = 0;                ///< m, clearance of the land at 20 °C
  double land_float_least = 0;                         ///< m
  std::optional<double> plate_coldest, plate_warmest;  ///< K, plate temperatures at which every pair goes on
  double share_not_on = 0;  ///< share of pairs that do not go on, with the stated spreads and temperatures
  double share_round_tight = 0, share_land_tight = 0, share_span = 0;  ///< its parts, in this order
  std::optional<double> largest_land;           ///< m, land diameter (upper limit) that still always goes on
  std::optional<double> largest_land_textbook;  ///< m, what the textbook form would have said
  std::optional<double> widest_land;            ///< m, land width (upper limit) that still always goes on
  double largest_turn = 0;                      ///< rad, either way, loosest sizes
  std::vector<PinFeatureError> features;
  std::vector<std::string> warnings;  ///< relief turned, two round pins, slender land, ...
};

/// Everything above. Problems: limits crossed, sizes not above zero, spans that do not agree with the holes' places
/// (over 1 mm), temperatures outside -70..230 °C, expansions outside 0..1e-4, a number that is not finite.
Outcome<PinFitResult> pin_fit(const PinFitInputs& inputs);

/// Only the least spare play (fast, for levers and bands); the same checks are the caller's.
double least_spare(const PinFitInputs& inputs);
/// Only the share of pairs that do not go on.
struct ShareNotOn {
  double all = 0, round_tight = 0, land_tight = 0, span = 0;
};
ShareNotOn share_not_on(const PinFitInputs& inputs);

}  // namespace fettle::locating
