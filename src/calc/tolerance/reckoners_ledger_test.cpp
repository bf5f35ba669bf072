#include <gtest/gtest.h>

#include <cmath>

#include "calc/tolerance/reckoners.h"

namespace {

using namespace fettle;

TEST(LedgerReckoner, DemoPinsAndWhatItRefuses) {
  const finding::Reckoner r = tolerance::ledger_reckoners().front();
  finding::ReckonerValues v;
  const double mm = 1e-3;
  for (const auto& [name, value] : std::initializer_list<std::pair<const char*, double>>{{"zone", .07},
                                                                                         {"span", 111.21},
                                                                                         {"along", 55.6},
                                                                                         {"across", 0},
                                                                                         {"hole", 8.0075},
                                                                                         {"pin", 7.9905},
                                                                                         {"land", 7.974},
                                                                                         {"land_width", 1.6},
                                                                                         {"hole_s", .0025},
                                                                                         {"holes_s", .0027},
                                                                                         {"pins_s", .0033},
                                                                                         {"machine_s", .0027},
                                                                                         {"growth", .023}})
    v.number[name] = value * mm;
  const auto a = finding::run(r, v);
  ASSERT_TRUE(a) << say(a.problem());
  EXPECT_LT(a->number.at("without_growth"), a->number.at("outside"));
  EXPECT_LT(a->number.at("without_play"), a->number.at("outside"));
  EXPECT_GT(a->number.at("from_play"), .1);
  EXPECT_GT(a->number.at("from_growth"), .1);
  v.number["pin"] = 8.008 * mm;
  const auto tight = finding::run(r, v);
  ASSERT_FALSE(tight);
  EXPECT_NE(say(tight.problem()).find("does not go on"), std::string::npos);
  v.number["pin"] = 7.9905 * mm;
  v.number["span"] = .3 * mm;
  const auto wide = finding::run(r, v);
  ASSERT_TRUE(wide);
  EXPECT_FALSE(wide->beyond.empty());
}

}  // namespace
