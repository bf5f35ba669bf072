#include "calc/chatter/reckoners_lobes.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "calc/chatter/reckoners.h"
#include "reckoner_examples.h"

namespace fettle::chatter {
namespace {

test::Given depth_given() {
  return {{"frequency", "600 Hz"}, {"stiffness", "8 N/µm"}, {"damping", "0.03"},
          {"teeth", "4"},          {"diameter", "16 mm"},   {"width", "16 mm"},
          {"kt", "600 N/mm²"},     {"kr", "0.07"},          {"speed", "4000 rpm"}};
}
test::Given with(test::Given g, const std::string& name, const std::string& text) {
  for (auto& [key, value] : g)
    if (key == name) value = text;
  return g;
}

TEST(ChatterReckoners, WorkedExamples) { EXPECT_GE(test::worked_examples(lobe_reckoners()), 10); }

TEST(ChatterReckoners, AllOfThemAreRegistered) {
  const auto list = reckoners();
  for (const char* name : {"chatter_speeds", "chatter_depth", "rubbing_flank"})
    EXPECT_EQ(std::count_if(list.begin(), list.end(), [&](const auto& r) { return r.name == name; }), 1) << name;
}

TEST(ChatterReckoners, DepthOfASlotAndABetterSpeed) {
  const auto depth = test::reckoner_named(lobe_reckoners(), "chatter_depth");
  const auto a = test::ask(depth, depth_given());
  ASSERT_TRUE(a.ok()) << say(a.problem());
  EXPECT_NEAR(a->number.at("least") * 1e3, 0.400, 0.0005);
  EXPECT_GE(a->number.at("depth"), a->number.at("least") * (1 - 1e-6));
  EXPECT_GE(a->number.at("depth_there"), a->number.at("depth") * (1 - 1e-3));
  EXPECT_TRUE(a->notes.empty());
  // A light cut says that knocks may matter.
  const auto light = test::ask(depth, with(depth_given(), "width", "0.5 mm"));
  ASSERT_TRUE(light.ok());
  EXPECT_FALSE(light->notes.empty());
}

TEST(ChatterReckoners, RefuseWhatCannotBe) {
  const auto depth = test::reckoner_named(lobe_reckoners(), "chatter_depth");
  for (const auto& [name, text] : test::Given{{"width", "16.1 mm"},
                                              {"width", "0 mm"},
                                              {"frequency", "0 Hz"},
                                              {"stiffness", "0 N/µm"},
                                              {"damping", "0"},
                                              {"damping", "0.6"},
                                              {"teeth", "0"},
                                              {"kt", "0 N/mm²"},
                                              {"kr", "-0.1"},
                                              {"speed", "0 rpm"}})
    EXPECT_FALSE(test::ask(depth, with(depth_given(), name, text)).ok()) << name;
  const auto rub = test::reckoner_named(lobe_reckoners(), "rubbing_flank");
  const test::Given given = rub.examples.back().given;
  for (const auto& [name, text] : test::Given{{"coefficient", "-0.01 N/µm"}, {"speed", "0 m/min"}, {"ks", "0 N/mm²"}})
    EXPECT_FALSE(test::ask(rub, with(given, name, text)).ok()) << name;
}

TEST(ChatterReckoners, WhereEverythingSeemsQuietNothingIsPromised) {
  const auto rub = test::reckoner_named(lobe_reckoners(), "rubbing_flank");
  const auto a = test::ask(rub, with(rub.examples.back().given, "speed", "5 m/min"));
  ASSERT_TRUE(a.ok()) << say(a.problem());
  EXPECT_NE(a->beyond, "");
}

}  // namespace
}  // namespace fettle::chatter
