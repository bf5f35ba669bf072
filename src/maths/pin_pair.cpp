#include "maths/pin_pair.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace fettle::maths {

namespace {

constexpr double half_pi = 1.57079632679489661923;

/// Relief angle folded into 0..pi/2: the land is the same upside down.
double folded(double angle) {
  const double a = std::fabs(std::remainder(angle, 2 * half_pi));
  return std::min(a, 2 * half_pi - a);
}

/// Float of the relieved pin along the line of pins when its relief is turned by `angle`: how far the region of free
/// centres reaches in that direction. It is bounded by corner arcs that meet in a tip on the relieved direction, and by
/// the crown arcs across it.
double float_along_line(double hole, double land, double width, double angle) {
  const double w = std::min(width, land), a = folded(angle);
  const double e = land_float(hole, land, w);
  if (!(hole > land)) return e;
  const double corner = std::acos(w / land), h = land / 2 * std::sin(corner);
  if (a <= std::atan2(h, e + w / 2)) return e * std::cos(a);
  if (a <= corner) return hole / 2 - land / 2 * std::cos(a - corner);
  return (hole - land) / 2;
}

/// Largest value of f over [low, high]: a coarse look, then golden section around the best.
struct Best {
  double x = 0, value = 0;
};
template <class F>
Best largest(double low, double high, const F& f) {
  constexpr int steps = 32;
  Best best{low, f(low)};
  int at = 0;
  for (int i = 1; i <= steps; ++i) {
    const double x = low + (high - low) * i / steps, v = f(x);
    if (v > best.value) {
      best = {x, v};
      at = i;
    }
  }
  constexpr double g = 0.6180339887498949;
  double a = low + (high - low) * std::max(0, at - 1) / steps, b = low + (high - low) * std::min(steps, at + 1) / steps;
  double c = b - g * (b - a), d = a + g * (b - a), fc = f(c), fd = f(d);
  for (int i = 0; i < 48; ++i) {
    if (fc > fd) {
      b = d, d = c, fd = fc;
      c = b - g * (b - a), fc = f(c);
    } else {
      a = c, c = d, fc = fd;
      d = a + g * (b - a), fd = f(d);
    }
  }
  if (fc > best.value) best = {c, fc};
  if (fd > best.value) best = {d, fd};
  return best;
}

/// For one x the seats left are a rectangle (round hole up or down, relieved hole up or down): the worst is a corner.
template <class Score>
std::optional<PointError> worst(const PinPair& pair, const Score& score) {
  const Seats seats(pair);
  if (seats.none()) return std::nullopt;
  const auto corner = [&](double x) {
    PointError most;
    most.distance = -1;
    const double y = seats.round_room(x);
    for (const double up : {-1.0, 1.0})
      for (const double share : {0.0, 1.0}) {
        const Seat s = seats.seat(x, up * y, share);
        const double v = score(s);
        if (v > most.distance) most = {v, s};
      }
    return most;
  };
  return corner(largest(seats.x_low(), seats.x_high(), [&](double x) { return corner(x).distance; }).x);
}

}  // namespace

double land_float(double hole, double land, double width) {
  if (!(hole >= land)) return (hole - land) / 2;
  const double w = std::min(width, land);
  // (-w + sqrt(w^2 + k)) / 2 without the loss of digits for small k
  const double k = (hole - land) * (hole + land);
  return k / (2 * (w + std::sqrt(w * w + k)));
}
double land_float_textbook(double hole, double land, double width) { return hole * (hole - land) / (2 * width); }

std::optional<double> largest_land(double hole, double width, double needed) {
  if (!(needed > 0)) return hole;
  const double square = hole * hole - 4 * needed * needed - 4 * needed * width;
  if (!(square > 0)) return std::nullopt;
  // A width beyond the land means a full round pin: that one floats by half its clearance.
  const double land = std::sqrt(square);
  if (land >= width) return land;
  const double round = hole - 2 * needed;
  return round > 0 ? std::optional(round) : std::nullopt;
}
std::optional<double> widest_land(double hole, double land, double needed) {
  if (!(hole >= land)) return std::nullopt;
  if (!(needed > 0)) return land;
  const double w = ((hole - land) * (hole + land) - 4 * needed * needed) / (4 * needed);
  return w > 0 ? std::optional(std::min(w, land)) : std::nullopt;
}

double spare(const PinPair& p) {
  const double tightest = std::min(p.round_hole - p.round_pin, p.relieved_hole - p.land);
  if (!(tightest >= 0)) return tightest;
  return float_along_line(p.relieved_hole, p.land, p.land_width, p.relief_angle) + (p.round_hole - p.round_pin) / 2 -
         std::max(0.0, std::fabs(p.part_span - p.pallet_span) - p.span_band);
}

Point2 shift_at(const Seat& s, Point2 p) {
  const double sine = std::sin(s.turn), half = std::sin(s.turn / 2), less = 2 * half * half;  // 1 - cos without loss
  return {s.x - less * p.x - sine * p.y, s.y + sine * p.x - less * p.y};
}

bool fits(const PinPair& p, const Seat& s, double tolerance) {
  if (!(std::hypot(s.x, s.y) <= (p.round_hole - p.round_pin) / 2 + tolerance)) return false;
  const Point2 moved = shift_at(s, {p.part_span, 0});
  // Hole over the relieved pin, seen in the land's own axes.
  const double du = p.part_span - p.pallet_span + moved.x;
  const double c = std::cos(p.relief_angle), n = std::sin(p.relief_angle);
  const double u = c * du + n * moved.y, v = -n * du + c * moved.y;
  // Every point of both arcs must lie inside the hole: try them.
  const double reach = std::asin(std::min(1.0, p.land_width / p.land));
  constexpr int steps = 256;
  for (int i = -steps; i <= steps; ++i) {
    const double a = reach * i / steps, x = p.land / 2 * std::sin(a), y = p.land / 2 * std::cos(a);
    for (const double side : {-1.0, 1.0})
      if (!(std::hypot(x - u, side * y - v) <= p.relieved_hole / 2 + tolerance)) return false;
  }
  return true;
}

Seats::Seats(const PinPair& p) {
  round_ = (p.round_hole - p.round_pin) / 2;
  hole_ = p.relieved_hole / 2;
  crown_ = (p.relieved_hole - p.land) / 2;
  half_width_ = std::min(p.land_width, p.land) / 2;
  half_height_ = std::sqrt(std::max(0.0, p.land * p.land / 4 - half_width_ * half_width_));
  crown_cosine_ = 2 * half_width_ / p.land;
  straight_ = p.relief_angle == 0;
  cosine_ = std::cos(p.relief_angle);
  sine_ = std::sin(p.relief_angle);
  part_span_ = p.part_span;
  pallet_span_ = p.pallet_span;
  band_ = p.span_band;
  if (!(round_ >= 0) || !(crown_ >= 0)) return;
  reach_ = float_along_line(p.relieved_hole, p.land, p.land_width, p.relief_angle);
  const double reach = reach_ + band_;
  x_low_ = std::max(-round_, -reach - (part_span_ - pallet_span_));
  x_high_ = std::min(round_, reach - (part_span_ - pallet_span_));
  if (straight_) {
    const Room tall = relieved_room(0);
    tallest_ = tall.high - tall.low;
  } else {
    tallest_ = 2 * std::max(crown_, land_float(p.relieved_hole, p.land, p.land_width));
  }
}

double Seats::off_at(double x, double turn) const {
  const double half = std::sin(turn / 2);
  const double u = x + (part_span_ - pallet_span_) - 2 * half * half * part_span_;
  // Beyond the reach only by the second-order shortening of a turned relief: then the seat is at the tip.
  return std::clamp(u > 0 ? std::max(0.0, u - band_) : std::min(0.0, u + band_), -reach_, reach_);
}

Seats::Room Seats::relieved_room(double u) const {
  if (straight_) {
    const double a = std::fabs(u);
    const double high =
        a <= crown_cosine_ * crown_
            ? std::sqrt(std::max(0.0, crown_ * crown_ - a * a))
            : std::max(0.0,
                       std::sqrt(std::max(0.0, hole_ * hole_ - (a + half_width_) * (a + half_width_))) - half_height_);
    return {-high, high};
  }
  // Each corner must lie inside the hole: four discs around the corners; then the crowns cut the two ends.
  Room room{-hole_, hole_};
  for (const double sx : {-1.0, 1.0})
    for (const double sy : {-1.0, 1.0}) {
      const double x = cosine_ * sx * half_width_ - sine_ * sy * half_height_;
      const double y = sine_ * sx * half_width_ + cosine_ * sy * half_height_;
      const double half = std::sqrt(std::max(0.0, hole_ * hole_ - (u - x) * (u - x)));
      room.low = std::max(room.low, y - half);
      room.high = std::min(room.high, y + half);
    }
  const auto crowned = [&](double v) {
    const double r = std::hypot(u, v);
    const bool on_crown = std::fabs(cosine_ * u + sine_ * v) <= crown_cosine_ * r;
    return on_crown && r > crown_ ? std::copysign(std::sqrt(std::max(0.0, crown_ * crown_ - u * u)), v) : v;
  };
  room.low = crowned(room.low);
  room.high = crowned(room.high);
  if (!(room.low <= room.high)) room.low = room.high = 0.5 * (room.low + room.high);
  return room;
}

Seat Seats::seat(double x, double y, double share) const {
  // The turn shortens the part along the line a little, which changes the room: settles within two or three rounds.
  double turn = 0;
  for (int i = 0; i < 4; ++i) {
    const Room room = relieved_room(off_at(x, turn));
    const double before = turn;
    turn = std::asin((room.low + share * (room.high - room.low) - y) / part_span_);
    if (std::fabs(turn - before) < 1e-15) break;
  }
  return {x, y, turn};
}

double Seats::slope(double u) const {
  const double a = std::fabs(u);
  const double down =
      a <= crown_cosine_ * crown_
          ? a / std::sqrt(std::max(crown_ * crown_ - a * a, 1e-30))
          : (a + half_width_) / std::sqrt(std::max(hole_ * hole_ - (a + half_width_) * (a + half_width_), 1e-30));
  return u > 0 ? -down : u < 0 ? down : 0;
}

std::optional<Seat> Seats::pushed(Point2 at, Point2 f) const {
  if (none()) return std::nullopt;
  // f . shift = f.x x + a y + b v to first order, v the relieved hole's height; concave in x at the best y and v.
  const double b = (f.y * at.x - f.x * at.y) / part_span_, a = f.y - b;
  double low = x_low_, high = x_high_;
  if (straight_) {
    // The slope of the relieved hole's edge is nearly constant, and for a constant one the best x is plain: step there,
    // halve instead when that leaves the bracket.
    double x = std::clamp(pallet_span_ - part_span_, low, high);
    for (int i = 0; i < 60; ++i) {
      const double k = f.x + std::fabs(b) * slope(off_at(x, 0));
      const double length = std::sqrt(a * a + k * k), plain = length > 0 ? round_ * k / length : 0;
      (plain > x ? low : high) = x;
      const double next = plain > low && plain < high ? plain : 0.5 * (low + high);
      const bool settled = std::fabs(next - x) < 1e-13;
      x = next;
      if (settled || !(high - low > 1e-13)) break;
    }
    low = high = x;
  } else {  // golden section
    const auto gain = [&](double x) {
      const Room room = relieved_room(off_at(x, 0));
      return f.x * x + std::fabs(a) * round_room(x) + (b >= 0 ? b * room.high : b * room.low);
    };
    constexpr double g = 0.6180339887498949;
    double c = high - g * (high - low), d = low + g * (high - low), fc = gain(c), fd = gain(d);
    for (int i = 0; i < 40; ++i) {
      if (fc > fd) {
        high = d, d = c, fd = fc;
        c = high - g * (high - low), fc = gain(c);
      } else {
        low = c, c = d, fc = fd;
        d = low + g * (high - low), fd = gain(d);
      }
    }
  }
  const double x = 0.5 * (low + high);
  const double y = a > 0 ? round_room(x) : a < 0 ? -round_room(x) : 0;
  return seat(x, y, b > 0 ? 1 : b < 0 ? 0 : 0.5);
}

std::optional<Seat> pushed(const PinPair& pair, Point2 at, Point2 direction) {
  return Seats(pair).pushed(at, direction);
}

std::optional<PointError> worst_distance(const PinPair& pair, Point2 p) {
  return worst(pair, [p](const Seat& s) {
    const Point2 e = shift_at(s, p);
    return std::hypot(e.x, e.y);
  });
}
std::optional<PointError> worst_along(const PinPair& pair, Point2 p, Point2 n) {
  return worst(pair, [p, n](const Seat& s) {
    const Point2 e = shift_at(s, p);
    return std::fabs(n.x * e.x + n.y * e.y);
  });
}
std::optional<double> largest_turn(const PinPair& pair) {
  const std::optional<PointError> e = worst(pair, [](const Seat& s) { return std::fabs(s.turn); });
  return e ? std::optional(e->distance) : std::nullopt;
}
double naive_error(const PinPair& pair, Point2 p) {
  return (pair.round_hole - pair.round_pin) / 2 + largest_turn(pair).value_or(0) * std::hypot(p.x, p.y);
}

Polygon point_region(const PinPair& pair, Point2 p, int steps) {
  const Seats seats(pair);
  if (seats.none()) return {};
  std::vector<Point2> points;
  for (int i = 0; i <= steps; ++i) {
    // Closer together where the circle is steep.
    const double x = seats.x_low() + (seats.x_high() - seats.x_low()) * 0.5 * (1 - std::cos(2 * half_pi * i / steps));
    const double y = seats.round_room(x);
    for (const double up : {-1.0, 1.0})
      for (const double share : {0.0, 1.0}) points.push_back(shift_at(seats.seat(x, up * y, share), p));
  }
  return convex_hull(std::move(points));
}

double play_s(const PinPair& pair, Point2 p, Point2 n) {
  const Seats seats(pair);
  if (seats.none() || !(seats.x_high() > seats.x_low())) return 0;
  const double b = (n.y * p.x - n.x * p.y) / seats.span(), a = n.y - b;
  double weight = 0, square = 0;
  constexpr int steps = 128;
  for (int i = 0; i < steps; ++i) {
    // Even in x; y and v even within their rooms: their mean squares are known.
    const double x = seats.x_low() + (seats.x_high() - seats.x_low()) * (i + 0.5) / steps, y = seats.round_room(x);
    const Seats::Room room = seats.relieved_room(seats.off_at(x, 0));
    const double half = (room.high - room.low) / 2, middle = (room.high + room.low) / 2;
    const double w = y * half, known = n.x * x + b * middle;
    weight += w;
    square += w * (known * known + (a * a * y * y + b * b * half * half) / 3);
  }
  return weight > 0 ? std::sqrt(square / weight) : 0;
}

Point2 turned_to_pair_frame(frame::Vec3 round_at, frame::Vec3 relieved_at, frame::Vec3 d) {
  const double dx = relieved_at.x - round_at.x, dy = relieved_at.y - round_at.y, l = std::hypot(dx, dy);
  if (!(l > 0)) return {d.x, d.y};
  return {(dx * d.x + dy * d.y) / l, (-dy * d.x + dx * d.y) / l};
}
Point2 in_pair_frame(frame::Vec3 round_at, frame::Vec3 relieved_at, frame::Vec3 p) {
  return turned_to_pair_frame(round_at, relieved_at, p - round_at);
}

}  // namespace fettle::maths
