#pragma once
// A round pin and a relieved pin in two round holes, exactly: one pair with known sizes. Limits, spreads and
// temperatures are pin_fit.h.
//
// Pair frame: origin at the round pin's axis, x along the line of pins towards the relieved pin, y across, turn
// anticlockwise about the origin. The relieved pin is what is left of a round land of diameter `land` when only a strip
// of `land_width`, measured along its relieved direction, is kept; its outline is two arcs that end in four corners.
// Exact for a relief along the line; for a turned relief exact to first order in the turn (span x turn^2 / 2).
#include <algorithm>
#include <cmath>
#include <optional>

#include "frame/frame.h"
#include "maths/polygon.h"

namespace fettle::maths {

/// One part on one pair of pins; diameters, m.
struct PinPair {
  double round_hole = 0, round_pin = 0;
  double relieved_hole = 0, land = 0;
  double land_width = 0;    ///< along the relieved direction; as wide as `land` or wider: a full round pin
  double part_span = 0;     ///< between the holes' axes
  double pallet_span = 0;   ///< between the pins' axes
  double relief_angle = 0;  ///< rad, relieved direction against the line of pins; 0 is right, pi/2 wrong
  double span_band = 0;     ///< m; worst cases are sought over pallet_span +- this
};

/// How far a hole may sit off the relieved pin along the relieved direction: (-w + sqrt(w^2 + D^2 - d^2)) / 2, the
/// corner of the land just touching. Negative (by half the overlap) when the land is larger than the hole.
double land_float(double hole, double land, double width);
/// The same as textbooks write it, D c / (2 w): always too generous, shown beside the exact value.
double land_float_textbook(double hole, double land, double width);
/// Largest land diameter that still floats by `needed`: sqrt(D^2 - 4 e^2 - 4 e w). Nothing when no land does.
std::optional<double> largest_land(double hole, double width, double needed);
/// Widest land that still floats by `needed`: (D^2 - d^2 - 4 e^2) / (4 e), at most `land`. Nothing when none does.
std::optional<double> widest_land(double hole, double land, double needed);

/// Play left before the part stops going on: float of the relieved pin along the line + half the round pin's clearance
/// - difference of the spans. Negative: it does not go on; a pin larger than its hole gives that overlap, negative.
double spare(const PinPair& pair);

/// Where the part sits.
struct Seat {
  double x = 0, y = 0;  ///< m, hole over the round pin
  double turn = 0;      ///< rad
};
/// True when no pin touches at this seat (up to `tolerance`, m). Independent of the functions below: they are tested by
/// it.
bool fits(const PinPair& pair, const Seat& seat, double tolerance = 1e-12);
/// Shift of the part's point p (pair frame, m) at this seat, exactly (no small turns assumed).
Point2 shift_at(const Seat& seat, Point2 p);

/// The worst a feature can be off through play alone, over every seat that the contacts allow: the farthest vertex of
/// the feature's own region. Not c1/2 + turn x r, which counts the play of the round pin twice (see naive_error()).
struct PointError {
  double distance = 0;  ///< m
  Seat seat;            ///< where that happens
};
std::optional<PointError> worst_distance(const PinPair& pair, Point2 p);
/// Largest shift along the unit direction n, either way.
std::optional<PointError> worst_along(const PinPair& pair, Point2 p, Point2 n);
/// What a hand sheet says: c1/2 + largest turn times the distance from the round pin.
double naive_error(const PinPair& pair, Point2 p);
/// Largest turn either way, rad. Nothing when the part does not go on.
std::optional<double> largest_turn(const PinPair& pair);
/// Outline of the places where point p may be, convex, relative to where it should be; 4 x steps points at most. Every
/// point lies on the true outline; curved sides are chords between them.
Polygon point_region(const PinPair& pair, Point2 p, int steps = 24);

/// Root mean square shift of p along unit n when every seat is as likely as any other (for sums of squares).
double play_s(const PinPair& pair, Point2 p, Point2 n);

/// Where the part ends up when it is pushed at point `at` along `direction` until the pins stop it (the bias of an
/// operator who always pushes one way). Nothing when it does not go on.
std::optional<Seat> pushed(const PinPair& pair, Point2 at, Point2 direction);

/// The allowed seats of one pair, worked out once, for drawing many samples from.
class Seats {
 public:
  explicit Seats(const PinPair& pair);
  bool none() const { return !(x_low_ <= x_high_); }
  double x_low() const { return x_low_; }
  double x_high() const { return x_high_; }
  double span() const { return part_span_; }
  /// Half height of the round pin's clearance circle at x.
  double round_room(double x) const { return std::sqrt(std::max(0.0, round_ * round_ - x * x)); }
  /// Lowest and highest y of the relieved hole over its pin when it is off by u along the line.
  struct Room {
    double low = 0, high = 0;
  };
  Room relieved_room(double u) const;
  /// Difference along the line at the relieved pin when the round hole is off by x and the part is turned.
  double off_at(double x, double turn) const;
  /// The seat with the round hole at (x, y) and the relieved hole at the top (share 1), bottom (0) or between.
  Seat seat(double x, double y, double share) const;
  std::optional<Seat> pushed(Point2 at, Point2 direction) const;
  /// A seat drawn evenly from all allowed ones. `uniform()` gives numbers in [0, 1).
  template <class Uniform>
  Seat anywhere(Uniform&& uniform) const {
    double x = 0, y = 0;
    for (int tries = 0; tries < 64; ++tries) {  // as many heights as the two rooms at this x have
      x = x_low_ + (x_high_ - x_low_) * uniform();
      y = round_ * (2 * uniform() - 1);
      const Room room = relieved_room(off_at(x, 0));
      if (std::fabs(y) <= round_room(x) && tallest_ * uniform() <= room.high - room.low) return seat(x, y, uniform());
    }
    return seat(0.5 * (x_low_ + x_high_), 0, uniform());  // a sliver of a region
  }

 private:
  double slope(double u) const;  // of the upper edge of relieved_room, straight relief
  double round_ = 0;             // half the round pin's clearance
  double hole_ = 0, crown_ = 0;  // radius of the relieved hole, half the land's clearance
  double half_width_ = 0, half_height_ = 0, crown_cosine_ = 0;  // corners of the land; cosine of their direction
  double cosine_ = 1, sine_ = 0;                                // relief angle
  bool straight_ = true;                                        // relief angle 0
  double part_span_ = 0, pallet_span_ = 0, band_ = 0, reach_ = 0;
  double x_low_ = 1, x_high_ = 0, tallest_ = 0;
};

/// Point of the part seen in the pair frame, from the holes' nominal places in the part (plan view, z ignored).
Point2 in_pair_frame(frame::Vec3 round_at, frame::Vec3 relieved_at, frame::Vec3 p);
/// A direction turned from the part's axes into the pair frame.
Point2 turned_to_pair_frame(frame::Vec3 round_at, frame::Vec3 relieved_at, frame::Vec3 direction);

}  // namespace fettle::maths
