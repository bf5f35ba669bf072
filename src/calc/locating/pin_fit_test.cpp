#include "calc/locating/pin_fit.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <random>

#include "calc/locating/fasteners.h"
#include "calc/locating/lift_off.h"
#include "calc/locating/pins.h"
#include "published.h"

namespace fettle::locating {
namespace {

using test::How;
using test::published;

constexpr double mm = 1e-3, celsius = 273.15;
Size size(double low, double high) { return {low * mm, high * mm, {}, {}}; }

/// Valve body on its nest: holes 8 H7 at (-44,-34) and (44,34), round pin 8 g6, land 7.970..7.978 wide 1.6.
PinFitInputs valve_body() {
  PinFitInputs in;
  in.round_hole = in.relieved_hole = size(8.000, 8.015);
  in.round_pin = size(7.986, 7.995);
  in.land = size(7.970, 7.978);
  in.land_width = size(1.6, 1.6);
  const double span = std::hypot(88, 68);
  in.part_span = size(span - 0.015, span + 0.015);
  in.pallet_span = size(span - 0.010, span + 0.010);
  in.round_at = {-44 * mm, -34 * mm, 0};
  in.relieved_at = {44 * mm, 34 * mm, 0};
  in.warmth.plate_low = celsius + 20, in.warmth.plate_high = celsius + 30;
  in.warmth.plate_expansion = 23.8e-6, in.warmth.part_expansion = 10.5e-6;
  in.features = {{"spool bore", {0, 0, 0}, {}}, {"corner", {66 * mm, 46 * mm, 0}, {0, 1, 0}}};
  return in;
}

TEST(PinFit, ValveBodyGoesOnWarmAndCold) {
  const PinFitResult r = pin_fit(valve_body()).value();
  const char* source = "exact land geometry and growth, worked by hand";
  const double e2 = (-1.6 + std::sqrt(1.6 * 1.6 + 8.0 * 8.0 - 7.978 * 7.978)) / 2;
  const double span = std::hypot(88, 68), growth = span * 23.8e-6 * 10;
  published("locating", "valve body: growth of the plate's span over 10 K, mm", source, How::computed, growth,
            r.growth_high / mm, 1e-9);
  published("locating", "valve body: float needed, mm", source, How::computed, 0.025 + growth, r.needed / mm, 1e-9);
  published("locating", "valve body: float given, mm", source, How::computed, e2 + 0.0025, r.given / mm, 1e-9);
  published("locating", "valve body: spare play, longest pallet span grown, mm", source, How::computed,
            e2 + 0.0025 - 0.025 - (span + 0.010) * 23.8e-6 * 10, r.spare / mm, 1e-9);
  published("locating", "valve body: spare play at 20 °C, mm", source, How::computed, e2 + 0.0025 - 0.025,
            r.spare_at_20 / mm, 1e-9);
  EXPECT_TRUE(r.goes_on);
  EXPECT_GT(r.given_textbook, r.given);
  EXPECT_EQ(r.growth_low, 0);
  ASSERT_TRUE(r.plate_coldest && r.plate_warmest);
  // Warmest plate: the spare play at 20 °C used up by growth.
  published("locating", "valve body: warmest plate at which a 20 °C part goes on, °C", source, How::computed,
            20 + (e2 + 0.0025 - 0.025) / (span + 0.010) / 23.8e-6, *r.plate_warmest - celsius, 0.02);
  EXPECT_LT(*r.plate_coldest, celsius + 20);
  // At the ends of the window it just goes on.
  PinFitInputs in = valve_body();
  in.warmth.plate_high = *r.plate_warmest;
  EXPECT_NEAR(least_spare(in), 0, 1e-12);
  in.warmth.plate_high += 0.01;
  EXPECT_LT(least_spare(in), 0);
  // At the largest land and the widest land it just goes on, and the textbook land does not.
  in = valve_body();
  in.land.low = in.land.high = *r.largest_land;
  EXPECT_NEAR(least_spare(in), 0, 1e-11);
  EXPECT_GT(*r.largest_land, 7.978 * mm);
  EXPECT_GT(*r.largest_land_textbook, *r.largest_land);
  in.land.low = in.land.high = *r.largest_land_textbook;
  EXPECT_LT(least_spare(in), 0);
  in = valve_body();
  in.land_width.low = in.land_width.high = *r.widest_land;
  EXPECT_NEAR(least_spare(in), 0, 1e-11);
  EXPECT_GT(*r.widest_land, 1.6 * mm);
  EXPECT_TRUE(r.warnings.empty());
}

TEST(PinFit, PinsGrowToo) {
  PinFitInputs in = valve_body();
  const double without = least_spare(in);
  in.warmth.pin_expansion = 11.5e-6;
  // Half of the round pin's growth, and more than that at the land.
  EXPECT_LT(least_spare(in), without - 0.4e-6);
  EXPECT_GT(least_spare(in), without - 3.0e-6);
}

TEST(PinFit, WarmPartColdPlate) {
  PinFitInputs in = valve_body();
  in.warmth.part_low = celsius + 15, in.warmth.part_high = celsius + 26;
  const PinFitResult r = pin_fit(in).value();
  const double span = std::hypot(88, 68) * mm;
  EXPECT_NEAR(r.growth_low, -span * 10.5e-6 * 6, 1e-15);
  EXPECT_NEAR(r.growth_high, span * (23.8e-6 * 10 + 10.5e-6 * 5), 1e-15);
}

TEST(PinFit, TwoHolesAtEighty) {
  PinFitInputs in;
  in.round_hole = in.relieved_hole = size(12.000, 12.018);
  in.round_pin = size(11.983, 11.994);
  in.land = size(11.938, 11.9475);
  in.land_width = size(4, 4);
  in.part_span = size(79.94, 80.06);
  in.pallet_span = size(79.98, 80.02);
  in.relieved_at = {80 * mm, 0, 0};
  in.features = {{"far point", {200 * mm, 0, 0}, {0, 1, 0}}};
  const PinFitResult r = pin_fit(in).value();
  const char* source = "two holes 12 H7 at 80 +-0.06 on pins at 80 +-0.02, worked by hand";
  published("locating", "pin fit: largest land, exact, mm", source, How::computed, 11.94756, *r.largest_land / mm,
            5e-6);
  published("locating", "pin fit: largest land by the textbook form, mm", source, How::computed, 11.9487,
            *r.largest_land_textbook / mm, 5e-5);
  EXPECT_TRUE(r.goes_on);
  published("locating", "pin fit: worst sideways error 200 out, mm", source, How::computed, 0.12625,
            r.features[0].worst_along / mm, 1e-5);
  published("locating", "pin fit: largest turn, rad", source, How::computed, 0.000719, r.largest_turn, 5e-7);
  EXPECT_NEAR(r.features[0].naive / mm, 0.16125, 2e-5);
  in.land = size(11.938, 11.949);  // the published land limits: 1.4 µm over the exact size
  EXPECT_FALSE(pin_fit(in)->goes_on);
}

TEST(PinFit, FeatureErrors) {
  const PinFitResult r = pin_fit(valve_body()).value();
  ASSERT_EQ(r.features.size(), 2u);
  for (const PinFeatureError& e : r.features) {
    EXPECT_GT(e.worst_distance, 0);
    EXPECT_LT(e.worst_distance, e.naive);
    EXPECT_LE(e.worst_x, e.worst_distance);
    EXPECT_LE(e.worst_distance, std::hypot(e.worst_x, e.worst_y));
    EXPECT_LT(e.s_x, e.worst_x / 1.7);
    EXPECT_NEAR(maths::farthest_vertex(e.region)->distance, e.worst_distance, 2e-3 * e.worst_distance);
    EXPECT_NEAR(maths::support(e.region, 1, 0), e.worst_x, 5e-3 * e.worst_x);
  }
  EXPECT_EQ(r.features[0].worst_along, 0);
  EXPECT_NEAR(r.features[1].worst_along, r.features[1].worst_y, 1e-12);
}

TEST(PinFit, SharesAgainstSampling) {
  PinFitInputs in = valve_body();
  // The measured spreads, and a land that leaves too little.
  in.round_hole.mean = in.relieved_hole.mean = 8.0045 * mm;
  in.round_hole.s = in.relieved_hole.s = 0.0025 * mm;
  in.round_pin.mean = 7.9985 * mm, in.round_pin.s = 0.0015 * mm;
  in.land.mean = 7.9915 * mm, in.land.s = 0.0013 * mm;
  const ShareNotOn share = share_not_on(in);
  std::mt19937 random(5);
  std::normal_distribution<double> normal;
  std::uniform_real_distribution<double> even(0, 1);
  int on = 0, round = 0, land = 0;
  const int count = 400000;
  const auto draw = [&](const Size& s) { return mean_of(s) + s_of(s) * normal(random); };
  for (int i = 0; i < count; ++i) {
    PinPair p;
    p.round_hole = draw(in.round_hole), p.round_pin = draw(in.round_pin);
    p.relieved_hole = draw(in.relieved_hole), p.land = draw(in.land), p.land_width = 1.6 * mm;
    p.part_span = draw(in.part_span);
    p.pallet_span = draw(in.pallet_span) * (1 + 23.8e-6 * 10 * even(random));
    if (p.round_hole < p.round_pin) ++round;
    else if (p.relieved_hole < p.land) ++land;
    else if (spare(p) >= 0) ++on;
  }
  const auto near = [&](double got, double expected, const char* what) {
    EXPECT_NEAR(got, expected, 5 * std::sqrt(expected * (1 - expected) / count) + 0.01 * expected + 1e-5) << what;
  };
  EXPECT_GT(share.all, 0.02);
  near(share.all, 1 - static_cast<double>(on) / count, "all");
  near(share.round_tight, static_cast<double>(round) / count, "round pin");
  near(share.land_tight, static_cast<double>(land) / count, "land");
  EXPECT_NEAR(share.all, share.round_tight + share.land_tight + share.span, 1e-15);
  // As drawn, hardly any.
  EXPECT_LT(pin_fit(valve_body())->share_not_on, 1e-6);
}

TEST(PinFit, NoSpreadAtAllIsYesOrNo) {
  PinFitInputs in = valve_body();
  for (Size* s : {&in.round_hole, &in.relieved_hole, &in.round_pin, &in.land, &in.part_span, &in.pallet_span}) s->s = 0;
  in.warmth.plate_high = in.warmth.plate_low;
  EXPECT_EQ(share_not_on(in).all, 0);
  in.pallet_span.mean = in.pallet_span.high + 0.2 * mm;
  EXPECT_NEAR(share_not_on(in).all, 1, 1e-12);
}

TEST(PinFit, Warnings) {
  PinFitInputs in = valve_body();
  in.relief_angle = 1.5708;
  PinFitResult r = pin_fit(in).value();
  ASSERT_FALSE(r.warnings.empty());
  EXPECT_NE(r.warnings[0].find("wrong way round"), std::string::npos);
  EXPECT_FALSE(r.goes_on);
  in.relief_angle = 0.2;
  EXPECT_NE(pin_fit(in)->warnings.at(0).find("turned 11 deg"), std::string::npos);
  in = valve_body();
  in.land_width = size(7.97, 7.97);
  EXPECT_NE(pin_fit(in)->warnings.at(0).find("two round pins"), std::string::npos);
  in.land_width = size(0.5, 0.5);
  EXPECT_NE(pin_fit(in)->warnings.at(0).find("narrower"), std::string::npos);
  in = valve_body();
  in.round_pin = size(7.99, 8.001);
  EXPECT_FALSE(pin_fit(in)->goes_on);
  EXPECT_FALSE(pin_fit(in)->warnings.empty());
  EXPECT_FALSE(pin_fit(in)->plate_warmest.has_value());
}

TEST(PinFit, RefusesOneBadValuePerBound) {
  const auto problems = [](const std::function<void(PinFitInputs&)>& spoil) {
    PinFitInputs in = valve_body();
    spoil(in);
    const auto r = pin_fit(in);
    return r.ok() ? std::size_t{0} : r.problems().size();
  };
  EXPECT_EQ(problems([](PinFitInputs&) {}), 0u);
  const double nan = std::nan("");
  const std::vector<Size PinFitInputs::*> sizes = {
      &PinFitInputs::round_hole, &PinFitInputs::round_pin, &PinFitInputs::relieved_hole, &PinFitInputs::land,
      &PinFitInputs::land_width, &PinFitInputs::part_span, &PinFitInputs::pallet_span};
  for (const auto member : sizes) {
    for (const double x : {0.0, -1.0, nan, static_cast<double>(INFINITY)})
      EXPECT_EQ(problems([&](PinFitInputs& in) { (in.*member).low = x; }), 1u) << x;
    for (const double x : {1e-5, nan, static_cast<double>(INFINITY), 101.0})
      EXPECT_EQ(problems([&](PinFitInputs& in) { (in.*member).high = x; }), 1u) << x;
    EXPECT_EQ(problems([&](PinFitInputs& in) { (in.*member).mean = nan; }), 1u);
    EXPECT_EQ(problems([&](PinFitInputs& in) { (in.*member).s = -1e-9; }), 1u);
    EXPECT_EQ(problems([&](PinFitInputs& in) { (in.*member).s = nan; }), 1u);
  }
  for (const double x : {200.0, 504.0, nan}) {
    EXPECT_GE(problems([&](PinFitInputs& in) { in.warmth.plate_low = x; }), 1u) << x;
    EXPECT_EQ(problems([&](PinFitInputs& in) { in.warmth.plate_high = x; }), 1u) << x;
    EXPECT_GE(problems([&](PinFitInputs& in) { in.warmth.part_low = x; }), 1u) << x;
    EXPECT_EQ(problems([&](PinFitInputs& in) { in.warmth.part_high = x; }), 1u) << x;
  }
  EXPECT_EQ(problems([](PinFitInputs& in) { in.warmth.plate_high = in.warmth.plate_low - 1; }), 1u);
  for (const double x : {-1e-9, 1.1e-4, nan}) {
    EXPECT_EQ(problems([&](PinFitInputs& in) { in.warmth.plate_expansion = x; }), 1u);
    EXPECT_EQ(problems([&](PinFitInputs& in) { in.warmth.part_expansion = x; }), 1u);
    EXPECT_EQ(problems([&](PinFitInputs& in) { in.warmth.pin_expansion = x; }), 1u);
  }
  EXPECT_EQ(problems([&](PinFitInputs& in) { in.relief_angle = nan; }), 1u);
  EXPECT_EQ(problems([&](PinFitInputs& in) { in.relief_angle = 7.1; }), 1u);
  EXPECT_EQ(problems([](PinFitInputs& in) { in.relieved_at.x += 2 * mm; }), 1u);  // drawn span and stated span disagree
  EXPECT_EQ(problems([&](PinFitInputs& in) { in.features[0].p.x = nan; }), 1u);
}

// ---- lift-off ----

LiftOffInputs demo_lift() { return {std::hypot(88, 68) * mm, 8.000 * mm, 0.005 * mm, 3.0 * mm, 0.15, 0}; }

TEST(LiftOff, LandOfThreeBindsWhenOneEndIsLifted) {
  const LiftOffResult r = lift_off(demo_lift()).value();
  published("locating", "tallest land that comes off one end first, mm", "h^2 / L <= c, worked by hand", How::computed,
            std::sqrt(std::hypot(88, 68) * 0.005), r.tallest_one_ended / mm, 1e-9);
  EXPECT_FALSE(r.free_one_ended);
  const double t = r.binding_turn;
  EXPECT_NEAR(3.0 * t + 8.0 * t * t / 2, 0.005, 1e-12);
  EXPECT_NEAR(r.lead_of_one_end, std::hypot(88, 68) * mm * t, 1e-15);
  LiftOffInputs low = demo_lift();
  low.land_height = 0.74 * mm;
  EXPECT_TRUE(lift_off(low)->free_one_ended);
  low.land_height = 0.75 * mm;
  EXPECT_FALSE(lift_off(low)->free_one_ended);
}

TEST(LiftOff, PullBesideThePinJams) {
  LiftOffInputs in = demo_lift();
  in.pull_off_centre = 9.9 * mm;  // h / (2 mu) = 10
  EXPECT_FALSE(lift_off(in)->jams);
  in.pull_off_centre = 10.1 * mm;
  EXPECT_TRUE(lift_off(in)->jams);
  in.friction = 0;
  EXPECT_FALSE(lift_off(in)->jams);
  EXPECT_FALSE(lift_off(in)->cautions.empty());
}

TEST(LiftOff, Refuses) {
  const auto refused = [](const std::function<void(LiftOffInputs&)>& spoil) {
    LiftOffInputs in = demo_lift();
    spoil(in);
    return !lift_off(in).ok();
  };
  EXPECT_FALSE(refused([](LiftOffInputs&) {}));
  for (const double x : {-1.0, std::nan(""), 1000.0}) {
    EXPECT_TRUE(refused([x](LiftOffInputs& in) { in.span = x; }));
    EXPECT_TRUE(refused([x](LiftOffInputs& in) { in.hole = x; }));
    EXPECT_TRUE(refused([x](LiftOffInputs& in) { in.clearance = x; }));
    EXPECT_TRUE(refused([x](LiftOffInputs& in) { in.land_height = x; }));
    EXPECT_TRUE(refused([x](LiftOffInputs& in) { in.friction = x; }));
    EXPECT_TRUE(refused([x](LiftOffInputs& in) { in.pull_off_centre = x; }));
  }
  EXPECT_TRUE(refused([](LiftOffInputs& in) { in.span = 0; }));
  EXPECT_TRUE(refused([](LiftOffInputs& in) { in.hole = 0; }));
  EXPECT_TRUE(refused([](LiftOffInputs& in) { in.land_height = 0; }));
}

// ---- fasteners ----

TEST(Fasteners, PublishedRules) {
  published("locating", "floating fastener 6 in 6.44, mm", "ASME Y14.5M-1994 App. B3", How::from_memory, 0.44,
            floating_fastener(6.44, 6), 1e-12);
  published("locating", "fixed fastener 6 in 6.44, each part, mm", "ASME Y14.5M-1994 App. B4", How::read, 0.22,
            fixed_fastener(6.44, 6).fixed_part, 1e-12);
  const FixedFastener unequal = fixed_fastener(6.44, 6, 0.25);
  EXPECT_NEAR(unequal.clearance_part, 0.11, 1e-12);
  EXPECT_NEAR(unequal.clearance_part + unequal.fixed_part, 0.44, 1e-12);
  published("locating", "fixed fastener without projected zone, hole, mm", "ASME Y14.5 App. B5, formula from memory",
            How::computed, 6.90, hole_without_projected_zone(6, 0.2, 0.2, 15, 12), 1e-12);
  const PositionAtMmc p = position_at_mmc(0.12, -0.15, 0.3, 10.5, 10.62);
  published("locating", "position from x and y, mm", "2 sqrt(dx^2 + dy^2)", How::exact, 0.384187, p.found, 1e-6);
  published("locating", "bonus at maximum material, mm", "ASME Y14.5", How::exact, 0.12, p.bonus, 1e-9);
  published("locating", "position margin, mm", "ASME Y14.5", How::exact, 0.035813, p.margin, 1e-6);
  published("locating", "virtual condition, mm", "ASME Y14.5", How::exact, 10.2, p.virtual_size, 1e-9);
  published("locating", "round zone of a square +-0.1, mm", "plane geometry", How::exact, 0.282843,
            round_zone_of_square(0.1), 1e-6);
  published("locating", "share inside a round zone", "1 - exp(-T^2 / 8 s^2) (Rayleigh)", How::exact, 0.996134,
            share_in_round_zone(0.1, 0.015), 1e-6);
  EXPECT_EQ(position_at_mmc(0, 0, 0.3, 10.5, 10.4).bonus, 0);
  EXPECT_NEAR(position_at_mmc(0, 0, 0.3, 10, 9.9, false).bonus, 0.1, 1e-12);
  EXPECT_NEAR(position_at_mmc(0, 0, 0.3, 10, 9.9, false).virtual_size, 10.3, 1e-12);
  EXPECT_EQ(share_in_round_zone(0.1, 0), 1);
}

}  // namespace
}  // namespace fettle::locating
