#include <gtest/gtest.h>

#include "calc/holding/reckoners.h"
#include "reckoner_examples.h"

namespace fettle::holding {
namespace {

using test::ask;
using test::reckoner_named;

TEST(ScrewReckoners, WorkedExamples) { EXPECT_GT(test::worked_examples(screw_reckoners()), 20); }

TEST(ScrewReckoners, BadValuesAreRefused) {
  const auto list = screw_reckoners();
  const auto refused = [&](const char* name, const test::Given& given) {
    return !ask(reckoner_named(list, name), given).ok();
  };
  EXPECT_TRUE(refused("preload", {{"thread", "M8"}, {"torque", "0 N·m"}}));
  EXPECT_TRUE(refused("preload", {{"thread", "M8.3"}, {"torque", "22 N·m"}}));
  EXPECT_TRUE(refused("preload", {{"thread", "M8"}, {"torque", "22"}}));
  EXPECT_TRUE(refused("preload", {{"thread", "M8"}, {"torque", "22 N·m"}, {"wrench", "95 %"}}));
  EXPECT_TRUE(refused("screw_stress", {{"thread", "M8"}, {"strength", "13.9"}, {"torque", "22 N·m"}}));
  EXPECT_TRUE(refused("screw_torque", {{"thread", "M8"}, {"preload", "10 kN"}, {"friction", "0.6"}}));
  EXPECT_TRUE(refused("pull_out", {{"thread", "M8"}, {"engaged", "0 mm"}, {"shear_strength", "200 MPa"}}));
  EXPECT_TRUE(refused("jaw_loads", {{"parts", "1"},
                                    {"pitch", "158 mm"},
                                    {"force", "25 kN"},
                                    {"need", "3 kN"},
                                    {"spread", "0.012 mm"},
                                    {"stiffness", "800 kN/mm"}}));
  EXPECT_TRUE(refused("vise_row", {{"parts", "5"},
                                   {"force", "20 kN"},
                                   {"friction", "0"},
                                   {"width", "132 mm"},
                                   {"held", "38 mm"},
                                   {"arm", "76 mm"}}));
  EXPECT_TRUE(refused("chucked_warp",
                      {{"warp", "0.3 mm"}, {"span", "0 mm"}, {"thickness", "4 mm"}, {"elasticity", "110 GPa"}}));
  EXPECT_TRUE(refused("seat_chip", {{"chip", "-0.1 mm"},
                                    {"span_x", "210 mm"},
                                    {"span_y", "150 mm"},
                                    {"x", "0 mm"},
                                    {"y", "0 mm"},
                                    {"pull_down", "10 kN"}}));
}

TEST(ScrewReckoners, PreloadAndTorqueAreEachOthersInverse) {
  const auto list = screw_reckoners();
  const auto torque = ask(reckoner_named(list, "screw_torque"), {{"thread", "M10"}, {"preload", "20 kN"}});
  ASSERT_TRUE(torque.ok());
  const auto back = ask(reckoner_named(list, "preload"),
                        {{"thread", "M10"},
                         {"torque", unit::write(torque->number.at("torque"), unit::Kind::torque)},
                         {"nut_factor", unit::write(torque->number.at("nut_factor"), unit::Kind::number)}});
  ASSERT_TRUE(back.ok());
  EXPECT_NEAR(back->number.at("preload"), 20000, 1e-6);
}

}  // namespace
}  // namespace fettle::holding
