#include "calc/locating/pins.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "calc/locating/growth.h"
#include "published.h"

namespace fettle::locating {
namespace {

using frame::Vec3;
using maths::Point2;
using test::How;
using test::published;

constexpr double mm = 1e-3;
const char* const exact_geometry = "corner of the land touching the hole, exact geometry";

TEST(Land, FloatTable) {
  const struct {
    double D, d, w, exact, textbook, round;
  } rows[] = {{12, 11.984, 4, 0.02384, 0.02400, 0.00800},
              {12, 11.950, 4, 0.07349, 0.07500, 0.02500},
              {16, 15.980, 3, 0.05239, 0.05333, 0.01000}};
  for (const auto& r : rows) {
    published("locating", "float of the relieved pin, mm", exact_geometry, How::computed, r.exact,
              land_float(r.D * mm, r.d * mm, r.w * mm) / mm, 1e-5);
    published("locating", "the same by the textbook form D c / 2w, mm", "fixture textbooks, from memory",
              How::from_memory, r.textbook, land_float_textbook(r.D * mm, r.d * mm, r.w * mm) / mm, 1e-5);
    published("locating", "a full round pin in its place, mm", exact_geometry, How::exact, r.round,
              land_float(r.D * mm, r.d * mm, r.d * mm) / mm, 1e-9);
    EXPECT_GT(land_float_textbook(r.D, r.d, r.w), land_float(r.D, r.d, r.w));  // always too generous
    EXPECT_NEAR(*largest_land(r.D, r.w, land_float(r.D, r.d, r.w)), r.d, 1e-12);
    EXPECT_NEAR(*widest_land(r.D, r.d, land_float(r.D, r.d, r.w)), r.w, 1e-9);
  }
}

TEST(Land, Edges) {
  EXPECT_LT(land_float(12, 12.01, 4), 0);
  EXPECT_EQ(land_float(12, 12, 4), 0);
  EXPECT_FALSE(largest_land(8, 4, 5).has_value());
  EXPECT_EQ(largest_land(8, 4, 0).value(), 8);
  EXPECT_NEAR(*largest_land(8, 9, 0.02), 7.96, 1e-12);  // wider than the land: a round pin
  EXPECT_FALSE(widest_land(8, 8.01, 0.01).has_value());
  EXPECT_FALSE(widest_land(8, 7.99, 0.5).has_value());
  EXPECT_EQ(*widest_land(8, 7.9, 0.01), 7.9);
}

PinPair two_holes() {  // two holes 12 H7 at 80, round pin 12 g6, land 11.938..11.949 wide 4: loosest
  PinPair p;
  p.round_hole = 12.018 * mm, p.round_pin = 11.983 * mm;
  p.relieved_hole = 12.018 * mm, p.land = 11.938 * mm, p.land_width = 4 * mm;
  p.part_span = p.pallet_span = 80 * mm;
  return p;
}

TEST(Pins, TwoHolesAtEighty) {
  const char* source =
      "two holes 12 H7 at 80 +-0.06 on pins at 80 +-0.02, worked by hand; rotation formula of all fixture texts";
  const double needed = (0.06 + 0.02) * mm - 0.006 * mm / 2;
  published("locating", "needed float, mm", source, How::computed, 0.077, needed / mm, 1e-12);
  published("locating", "largest land that still goes on, exact, mm", source, How::computed, 11.94756,
            *largest_land(12 * mm, 4 * mm, needed) / mm, 5e-6);
  published("locating", "the same by the textbook form 2 a b / D, mm", source, How::computed, 11.9487,
            (12 - 2 * 0.077 * 4 / 12), 5e-5);
  // The textbook size does not go on; the exact one just does.
  PinPair p = two_holes();
  p.round_hole = p.relieved_hole = 12 * mm;
  p.round_pin = 11.994 * mm;
  p.part_span = 80.06 * mm, p.pallet_span = 79.98 * mm;
  p.land = *largest_land(12 * mm, 4 * mm, needed);
  EXPECT_NEAR(spare(p), 0, 1e-12);
  EXPECT_TRUE(fits(p, {-0.003 * mm, 0, 0}, 1e-10));
  EXPECT_FALSE(fits(p, {-0.0029 * mm, 0, 0}, 1e-10));
  p.land = 11.9487 * mm;
  EXPECT_LT(spare(p), 0);
  EXPECT_FALSE(fits(p, {-0.003 * mm, 0, 0}, 1e-10));

  const PinPair loose = two_holes();
  published("locating", "largest turn, rad", source, How::computed, 0.000719, *largest_turn(loose), 5e-7);
  published("locating", "largest turn, arcmin", source, How::computed, 2.47,
            *largest_turn(loose) * 180 * 60 / 3.14159265358979, 5e-3);
  published("locating", "worst sideways error 200 from the round pin, mm", source, How::computed, 0.12625,
            worst_along(loose, {200 * mm, 0}, {0, 1})->distance / mm, 1e-6);
  // Hand sheets add the round pin's play to the turn it already made possible.
  EXPECT_NEAR(naive_error(loose, {200 * mm, 0}) / mm, 0.0175 + 0.14375, 1e-5);
  EXPECT_GT(naive_error(loose, {200 * mm, 0}), 1.2 * worst_distance(loose, {200 * mm, 0})->distance);
}

TEST(Pins, TwoFullRoundPins) {
  // Two 12 mm bolts 11.840..11.950 in holes 12.000..12.110 at 50: spacing that always assembles 49.950..50.050.
  PinPair p;
  p.round_hole = p.relieved_hole = 12.000 * mm;
  p.round_pin = p.land = p.land_width = 11.950 * mm;
  p.part_span = 50 * mm;
  p.pallet_span = 50.050 * mm;
  const char* source = "V. B. Bhandari, Design of Machine Elements, Ex. 3.4";
  published("locating", "two round pins, spare play at 50.050, mm", source, How::read, 0, spare(p) / mm, 1e-9);
  p.pallet_span = 49.950 * mm;
  published("locating", "two round pins, spare play at 49.950, mm", source, How::read, 0, spare(p) / mm, 1e-9);
  EXPECT_TRUE(fits(p, {-0.025 * mm, 0, 0}, 1e-10));
  EXPECT_FALSE(fits(p, {-0.024 * mm, 0, 0}, 1e-10));
}

TEST(Pins, DemoPair) {
  PinPair p;
  p.round_hole = p.relieved_hole = 8.000 * mm;
  p.round_pin = 7.995 * mm;
  p.land = 7.978 * mm, p.land_width = 1.6 * mm;
  p.part_span = 111.225 * mm;
  p.pallet_span = 111.20 * mm;
  const double e2 = (-1.6 + std::sqrt(1.6 * 1.6 + 8.0 * 8.0 - 7.978 * 7.978)) / 2;
  published("locating", "relieved pin 7.978 x 1.6 in 8.000, float, mm", exact_geometry, How::exact, e2,
            land_float(8 * mm, 7.978 * mm, 1.6 * mm) / mm, 1e-12);
  EXPECT_NEAR(spare(p) / mm, e2 + 0.0025 - 0.025, 1e-9);
}

/// All seats by brute force: the exact contact test on a fine grid.
struct Brute {
  double turn = 0, distance = 0, along = 0;
};
Brute brute_force(const PinPair& pair, Point2 p, Point2 n, int count) {
  std::mt19937 random(7);
  std::uniform_real_distribution<double> u(-1, 1);
  const double c = (pair.round_hole - pair.round_pin) / 2;
  const double e =
      std::max(land_float(pair.relieved_hole, pair.land, pair.land_width), (pair.relieved_hole - pair.land) / 2);
  Brute b;
  for (int i = 0; i < count; ++i) {
    const Seat s{c * u(random), c * u(random), (c + e) / pair.part_span * u(random)};
    if (!fits(pair, s, 0)) continue;
    const Point2 d = shift_at(s, p);
    b.turn = std::max(b.turn, std::fabs(s.turn));
    b.distance = std::max(b.distance, std::hypot(d.x, d.y));
    b.along = std::max(b.along, std::fabs(n.x * d.x + n.y * d.y));
  }
  return b;
}

TEST(Pins, RegionAgainstBruteForce) {
  const double right = 0, wrong = 1.57079632679489661923;
  for (const double angle : {right, 0.3, 1.2, wrong})
    for (const double off : {0.0, 0.030 * mm, -0.012 * mm}) {
      PinPair p = two_holes();
      p.relief_angle = angle;
      p.pallet_span = p.part_span + off;
      const Point2 at{60 * mm, -45 * mm}, n{0.6, 0.8};
      const auto far = worst_distance(p, at), along = worst_along(p, at, n);
      const auto turn = largest_turn(p);
      ASSERT_TRUE(far && along && turn) << angle << " " << off;
      const Brute b = brute_force(p, at, n, 40000);
      EXPECT_LE(b.distance, far->distance * (1 + 1e-6)) << angle << " " << off;
      EXPECT_GE(b.distance, far->distance * 0.90) << angle << " " << off;
      EXPECT_LE(b.along, along->distance * (1 + 1e-6)) << angle << " " << off;
      EXPECT_GE(b.along, along->distance * 0.90) << angle << " " << off;
      EXPECT_LE(b.turn, *turn * (1 + 1e-6)) << angle << " " << off;
      EXPECT_GE(b.turn, *turn * 0.90) << angle << " " << off;
      // The worst seats really are seats; with a turned relief to first order in the turn (span x turn^2 / 2).
      const double near = angle == right ? 1e-10 : 1e-10 + p.part_span * *turn * *turn;
      EXPECT_TRUE(fits(p, far->seat, near)) << angle << " " << off;
      EXPECT_TRUE(fits(p, along->seat, near)) << angle << " " << off;
      // Farthest vertex of the outline agrees.
      const maths::Polygon region = point_region(p, at, 400);
      EXPECT_NEAR(maths::farthest_vertex(region)->distance, far->distance, 1e-3 * far->distance) << angle << " " << off;
      EXPECT_NEAR(std::max(maths::support(region, n.x, n.y), maths::support(region, -n.x, -n.y)), along->distance,
                  1e-3 * along->distance);
      EXPECT_LT(far->distance, naive_error(p, at));
    }
}

TEST(Pins, ReliefTheWrongWayRoundTurnsMore) {
  PinPair p = two_holes();
  const double good = *largest_turn(p), room = spare(p);
  p.relief_angle = 1.57079632679489661923;
  EXPECT_GT(*largest_turn(p), 2 * good);
  EXPECT_LT(spare(p), room);
  EXPECT_NEAR(spare(p), 0.040 * mm + 0.0175 * mm, 1e-9);  // no more than a round pin gives
  p.relief_angle = -1.57079632679489661923;
  EXPECT_NEAR(spare(p), 0.0575 * mm, 1e-9);
  p.relief_angle = 3.14159265358979323846;  // upside down is the same pin
  EXPECT_NEAR(spare(p), room, 1e-12);
}

TEST(Pins, SpareIsTheEdgeOfGoingOn) {
  std::mt19937 random(3);
  std::uniform_real_distribution<double> u(0, 1);
  for (int i = 0; i < 300; ++i) {
    PinPair p;
    p.round_hole = 8 * mm, p.round_pin = (8 - 0.002 - 0.03 * u(random)) * mm;
    p.relieved_hole = 8 * mm, p.land = (8 - 0.002 - 0.05 * u(random)) * mm, p.land_width = (0.5 + 3 * u(random)) * mm;
    p.relief_angle = i % 3 == 0 ? 0 : 1.57 * u(random);
    p.part_span = 100 * mm;
    p.pallet_span = p.part_span;
    const double room = spare(p);
    p.pallet_span = p.part_span + room - 1e-9;
    EXPECT_FALSE(Seats(p).none()) << i;
    const Seats edge(p);
    const Seat seat = edge.seat(0.5 * (edge.x_low() + edge.x_high()), 0, 0.5);
    EXPECT_TRUE(fits(p, seat, 1.1e-9 + p.part_span * seat.turn * seat.turn)) << i;  // second order of a turned relief
    EXPECT_TRUE(p.relief_angle != 0 || seat.turn == 0) << i;
    p.pallet_span = p.part_span + room + 1e-9;
    EXPECT_TRUE(Seats(p).none()) << i;
  }
}

TEST(Pins, SamplesStayInsideAndFillTheRegion) {
  for (const double angle : {0.0, 0.7}) {
    PinPair p = two_holes();
    p.relief_angle = angle;
    p.pallet_span += 0.02 * mm;
    const Seats seats(p);
    std::mt19937 random(11);
    std::uniform_real_distribution<double> u(0, 1);
    const Point2 at{60 * mm, -45 * mm}, n{0.6, 0.8};
    double square = 0;
    const int count = 20000;
    for (int i = 0; i < count; ++i) {
      const Seat s = seats.anywhere([&] { return u(random); });
      ASSERT_TRUE(fits(p, s, 1e-9));
      const Point2 e = shift_at(s, at);
      square += (n.x * e.x + n.y * e.y) * (n.x * e.x + n.y * e.y);
    }
    EXPECT_NEAR(std::sqrt(square / count), play_s(p, at, n), 0.02 * play_s(p, at, n));
    // Against samples drawn by plain rejection over a box.
    const double c = (p.round_hole - p.round_pin) / 2;
    double plain = 0;
    int hits = 0;
    std::uniform_real_distribution<double> v(-1, 1);
    while (hits < 4000) {
      const Seat s{c * v(random), c * v(random), 0.003 * v(random)};
      if (!fits(p, s, 0)) continue;
      const Point2 e = shift_at(s, at);
      plain += (n.x * e.x + n.y * e.y) * (n.x * e.x + n.y * e.y);
      ++hits;
    }
    EXPECT_NEAR(std::sqrt(plain / hits), play_s(p, at, n), 0.05 * play_s(p, at, n)) << angle;
  }
}

TEST(Pins, PushedIsTheFarthestSeatThatWay) {
  for (const double angle : {0.0, 0.7}) {
    PinPair p = two_holes();
    p.relief_angle = angle;
    p.pallet_span -= 0.015 * mm;
    for (int k = 0; k < 12; ++k) {
      const Point2 f{std::cos(0.5 * k), std::sin(0.5 * k)}, at{50 * mm, 20 * mm};
      const auto seat = pushed(p, at, f);
      ASSERT_TRUE(seat.has_value());
      EXPECT_TRUE(fits(p, *seat, 1e-10));
      const Point2 e = shift_at(*seat, at);
      const double reached = f.x * e.x + f.y * e.y;
      const maths::Polygon region = point_region(p, at, 400);
      EXPECT_NEAR(reached, maths::support(region, f.x, f.y), 2e-9) << angle << " " << k;
    }
  }
  PinPair none = two_holes();
  none.pallet_span += 1 * mm;
  EXPECT_FALSE(pushed(none, {0, 0}, {1, 0}).has_value());
}

TEST(Pins, BandOfTheSpanIsTheUnionOfSpans) {
  PinPair p = two_holes();
  p.pallet_span += 0.03 * mm;
  const Point2 at{120 * mm, 70 * mm};
  double most = 0;
  for (int i = -100; i <= 100; ++i) {
    PinPair one = p;
    one.pallet_span += i / 100.0 * 0.05 * mm;
    if (const auto e = worst_distance(one, at)) most = std::max(most, e->distance);
  }
  p.span_band = 0.05 * mm;
  EXPECT_NEAR(worst_distance(p, at)->distance, most, 1e-4 * most);
}

TEST(Pins, NothingWhereNothingGoesOn) {
  PinPair p = two_holes();
  p.round_pin = 12.02 * mm;
  EXPECT_LT(spare(p), 0);
  EXPECT_FALSE(worst_distance(p, {1, 1}).has_value());
  EXPECT_FALSE(largest_turn(p).has_value());
  EXPECT_TRUE(point_region(p, {1, 1}).empty());
  p = two_holes();
  p.land = std::nan("");
  EXPECT_TRUE(Seats(p).none());
  EXPECT_FALSE(spare(p) >= 0);
}

TEST(Pins, Frames) {
  const Vec3 B{-44 * mm, -34 * mm, 0}, C{44 * mm, 34 * mm, 0};
  const Point2 c = in_pair_frame(B, C, C), b = in_pair_frame(B, C, B);
  EXPECT_NEAR(c.x, std::hypot(88, 68) * mm, 1e-12);
  EXPECT_NEAR(c.y, 0, 1e-12);
  EXPECT_EQ(b.x, 0);
  EXPECT_NEAR(turned_to_pair_frame(B, C, {88, 68, 0}).x, std::hypot(88, 68), 1e-12);
}

TEST(Growth, PalletAgainstPart) {
  published("locating", "aluminium against iron, 300 apart, +15 K, mm", "L (a_p - a_w) dT, worked by hand",
            How::computed, 0.05625, span_growth(300, 23e-6, 308.15, 10.5e-6, 308.15), 1e-9);
  published("locating", "400.000 at 32 °C at 20 °C, exact, mm", "ISO 1: L / (1 + a (t - 20))", How::computed,
            399.949606, length_at_20(400, 10.5e-6, 305.15), 1e-6);
  published("locating", "120.000 at 25 °C at 20 °C, mm", "ISO 1: L / (1 + a (t - 20))", How::computed, 119.993100,
            length_at_20(120, 11.5e-6, 298.15), 1e-6);
  published("locating", "bow of 330 x 25 aluminium, 3 K through it, µm", "a dT L^2 / 8t, worked by hand", How::computed,
            39, bow(23.8e-6, 3, 0.33, 0.025) * 1e6, 0.5);
  published("locating", "the same between anchors 210 apart, µm", "a dT L^2 / 8t, worked by hand", How::computed, 16,
            bow(23.8e-6, 3, 0.21, 0.025) * 1e6, 0.5);
}

}  // namespace
}  // namespace fettle::locating
