#include "ref/cutting.h"

#include <gtest/gtest.h>

#include "published.h"

namespace fettle::ref {
namespace {

using test::How;
using test::published;

TEST(CuttingTables, HardnessAsPeopleWriteIt) {
  const Material m = material("EN-GJL-250").value();
  const struct {
    const char* text;
    double soft, stated, hard, body;
  } rows[] = {{"180 to 220 HB, up to 260 HB at corners", 180, 200, 260, 220},
              {"HB 190", 190, 190, 190, 190},
              {"210 HBW", 210, 210, 210, 210},
              {"180–220 HB", 180, 200, 220, 220},
              {"180-220", 180, 200, 220, 220},
              {"180..220 HB", 180, 200, 220, 220},
              {"200 ± 20 HB", 180, 200, 220, 220},
              {"HBW 5/750: 187 to 229", 187, 208, 229, 229},
              {"max 230 HB", 170, 200, 230, 230},
              {"at least 190 HB", 190, 215, 240, 240}};
  for (const auto& r : rows) {
    const auto h = read_hardness(r.text, m);
    ASSERT_TRUE(h.ok()) << r.text;
    EXPECT_EQ(h->soft, r.soft) << r.text;
    EXPECT_EQ(h->stated, r.stated) << r.text;
    EXPECT_EQ(h->hard, r.hard) << r.text;
    EXPECT_EQ(h->body, r.body) << r.text;
  }
  for (const char* bad : {"", "soft", "58 HRC", "20 HB", "900 HB", "210 HV"})
    EXPECT_FALSE(read_hardness(bad, m).ok()) << bad;
}

TEST(CuttingTables, SpecificForceByHardness) {
  const Material m = material("EN-GJL-250").value();
  const auto at180 = chip_force_sets(m, 180).value(), at260 = chip_force_sets(m, 260).value();
  published("cutting", "kc1.1 of grey iron at 180 HB, N/mm2", "tool maker's table by VDI 3323 groups", How::read, 1150,
            at180.front().kc11 / 1e6, 1e-9);
  published("cutting", "exponent of grey iron at 260 HB", "tool maker's table by VDI 3323 groups", How::read, 0.28,
            at260.front().mc, 1e-12);
  EXPECT_EQ(at180.size(), 2U) << "the grade's own row speaks too";
  EXPECT_EQ(at260.size(), 1U) << "260 HB lies outside the grade's range";
  EXPECT_FALSE(chip_force_sets(m, 0).ok());
  EXPECT_FALSE(chip_force_sets(m, 330).ok());
  EXPECT_TRUE(chip_force_sets(m, 300).value().front().stretched);
  EXPECT_FALSE(chip_force_sets(material("C45").value(), 190).ok()) << "no row, no guess";
  EXPECT_TRUE(chip_force_sets(material("EN-GJS-500-7").value(), 200).ok());
  EXPECT_TRUE(chip_force_sets(material("EN AW-5083").value(), 70).ok());
}

TEST(CuttingTables, UnitPowerConvertsFromInch) {
  const double hp[] = {0.28, 0.35, 0.38, 0.52, 0.60, 0.71, 0.91};
  int i = 0;
  for (const UnitPower& u : unit_powers()) {
    published("cutting", "unit power of grey iron, kW per cm3/s",
              "handbook table in hp/(in3/min), from memory, x 2.7304", How::from_memory, hp[i] * 2.7304, u.value / 1e9,
              0.0055);
    ++i;
  }
  EXPECT_EQ(i, 7);
  EXPECT_FALSE(unit_power(90).ok());
  EXPECT_FALSE(unit_power(250).ok());
}

TEST(CuttingTables, DrillFactorAndRoughness) {
  const Material m = material("EN-GJL-250").value();
  EXPECT_NEAR(drill_factor(m, 177)->value, 1.00, 1e-12);
  EXPECT_NEAR(drill_factor(m, 198)->value, 1.39, 1e-12);
  EXPECT_NEAR(drill_factor(m, 224)->value, 1.88, 1e-12);
  EXPECT_TRUE(drill_factor(m, 260)->stretched);
  EXPECT_FALSE(drill_factor(m, 400).ok());
  EXPECT_FALSE(drill_factor(material("EN AW-5083").value(), 70).ok());
  EXPECT_FALSE(tap_force(material("EN-GJS-500-7").value()).ok());
  EXPECT_EQ(roughness_of("honing")->low, 0.1e-6);
  EXPECT_FALSE(roughness_of("hammering").ok());
}

}  // namespace
}  // namespace fettle::ref
