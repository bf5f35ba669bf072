#include "calc/locating/reckoners.h"

#include <gtest/gtest.h>

#include "reckoner_examples.h"

namespace fettle::locating {
namespace {

using finding::Reckoner;
using test::Given;

Reckoner named(const std::string& name) { return test::reckoner_named(reckoners(), name); }
Outcome<finding::ReckonerAnswer> ask(const std::string& name, const test::Given& given) {
  return test::ask(named(name), given);
}

TEST(LocatingReckoners, WorkedExamples) { test::worked_examples(reckoners()); }

TEST(LocatingReckoners, WarmPlateNeedsItsMaterial) {
  Given given = named("pin_goes_on").examples[0].given;
  given.push_back({"plate_temperature", "35 °C"});
  auto answer = ask("pin_goes_on", given);
  ASSERT_FALSE(answer.ok());
  EXPECT_NE(answer.problem().what.find("plate"), std::string::npos);
  given.push_back({"plate", "unobtainium"});
  EXPECT_FALSE(ask("pin_goes_on", given).ok());
  given.back().second = "EN AW-5083";
  answer = ask("pin_goes_on", given);
  ASSERT_TRUE(answer.ok()) << say(answer.problem());
  EXPECT_EQ(answer->text.at("goes_on"), "not always");
}

TEST(LocatingReckoners, OneLimitIsNoSize) {
  Given given = named("pin_goes_on").examples[0].given;
  given[0].second = "<= 12.018 mm";
  EXPECT_FALSE(ask("pin_goes_on", given).ok());
}

TEST(LocatingReckoners, RefuseWhatCannotBe) {
  EXPECT_FALSE(ask("floating_fastener", {{"hole", "6 mm"}, {"fastener", "6.1 mm"}}).ok());
  EXPECT_FALSE(ask("fixed_fastener", {{"hole", "6 mm"}, {"fastener", "6.1 mm"}}).ok());
  EXPECT_FALSE(ask("relieved_pin",
                   {{"hole", "8 mm"}, {"land_width", "4 mm"}, {"span_error", "5 mm"}, {"round_clearance", "0 mm"}})
                   .ok());
  EXPECT_FALSE(ask("pin_turn", {{"hole", "8 mm"},
                                {"pin", "8.1 mm"},
                                {"land", "7.9 mm"},
                                {"land_width", "2 mm"},
                                {"span", "80 mm"},
                                {"along", "10 mm"}})
                   .ok());
  EXPECT_FALSE(ask("pin_turn", {{"hole", "8"},
                                {"pin", "7.99 mm"},
                                {"land", "7.9 mm"},
                                {"land_width", "2 mm"},
                                {"span", "80 mm"},
                                {"along", "10 mm"}})
                   .ok());
}

}  // namespace
}  // namespace fettle::locating
