#include "calc/bore/temperature.h"

#include <gtest/gtest.h>

#include <cmath>

#include "published.h"

namespace fettle::bore {
namespace {

using test::How;
using test::published;

ReadingAt reading(double mm, double celsius, double expansion) {
  ReadingAt r;
  r.shown = mm * 1e-3;
  r.part = celsius + 273.15;
  r.part_expansion = expansion;
  return r;
}

TEST(Temperature, LengthsAtTwenty) {
  const char* source = "ISO 1, L/(1 + a (t - 20)), computed by hand";
  published("bore", "400.000 of grey iron at 32 °C, at 20 °C, mm", source, How::computed, 399.949606,
            at_20(reading(400, 32, 10.5e-6))->size * 1e3, 1e-6);
  published("bore", "the same by the linear form, mm", source, How::computed, 399.949600,
            400 + correction(400, 12, 10.5e-6, 0, 0), 1e-6);
  published("bore", "120.000 of steel at 25 °C, at 20 °C, mm", source, How::computed, 119.993100,
            at_20(reading(120, 25, 11.5e-6))->size * 1e3, 1e-6);
}

TEST(Temperature, WarmIronOnAColdRing) {
  published("bore", "22 mm of iron 6 K warmer than the ring reads too large by, µm",
            "10.5 µm/(m·K) x 22 mm x 6 K, by hand", How::computed, 1.386, -correction(22e3, 6, 10.5e-6, 0, 11.5e-6),
            1e-9);
  // Part and steel ring alike at 26 °C: only the difference of their expansions is left.
  ReadingAt r = reading(22, 26, 10.5e-6);
  r.gauge = 26 + 273.15;
  r.gauge_expansion = 11.5e-6;
  EXPECT_NEAR(at_20(r)->correction, 22e-3 * 1e-6 * 6 / (1 + 63e-6), 1e-15);
  r.gauge_expansion = r.part_expansion;
  EXPECT_EQ(at_20(r)->correction, 0);
}

TEST(Temperature, UncertaintyGrowsWithTheDistanceFromTwenty) {
  ReadingAt r = reading(22, 20, 10.5e-6);
  r.u_part = 1;
  EXPECT_NEAR(at_20(r)->u, 22e-3 * 10.5e-6, 1e-12);
  r.part += 10;
  EXPECT_NEAR(at_20(r)->u, 22e-3 * 10.5e-6 * std::sqrt(2), 1e-11);  // 10 % of 10 K counts like 1 K
}

TEST(Temperature, GrowthOfPalletAgainstPart) {
  published("bore", "aluminium pallet against iron part, 300 mm, 15 K, mm", "300 x 15 x (23 - 10.5)e-6, by hand",
            How::computed, 0.05625, correction(300, 15, 10.5e-6, 15, 23e-6), 1e-9);
}

TEST(Temperature, RefusesOneBadValuePerBound) {
  const auto refused = [](auto&& change) {
    ReadingAt r = reading(22, 26, 10.5e-6);
    change(r);
    return !at_20(r).ok();
  };
  EXPECT_FALSE(refused([](ReadingAt&) {}));
  EXPECT_TRUE(refused([](ReadingAt& r) { r.shown = 0; }));
  EXPECT_TRUE(refused([](ReadingAt& r) { r.shown = std::nan(""); }));
  EXPECT_TRUE(refused([](ReadingAt& r) { r.part = 26; }));  // °C where K is meant
  EXPECT_TRUE(refused([](ReadingAt& r) { r.part = 500; }));
  EXPECT_TRUE(refused([](ReadingAt& r) { r.gauge = 100; }));
  EXPECT_TRUE(refused([](ReadingAt& r) { r.part_expansion = -1e-6; }));
  EXPECT_TRUE(refused([](ReadingAt& r) { r.gauge_expansion = 1e-3; }));
  EXPECT_TRUE(refused([](ReadingAt& r) { r.u_part = -1; }));
}

TEST(Soak, HalvesInTheTimeItShould) {
  EXPECT_NEAR(soak_time(6, 3, 600), 600 * std::log(2), 1e-9);
  EXPECT_NEAR(soak_time(-6, 3, 600), 600 * std::log(2), 1e-9);
  EXPECT_EQ(soak_time(2, 3, 600), 0);
  EXPECT_TRUE(std::isnan(soak_time(6, 0, 600)));
  EXPECT_TRUE(std::isnan(soak_time(6, 3, -1)));
}

}  // namespace
}  // namespace fettle::bore
