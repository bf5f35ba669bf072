#include "calc/locating/reckoners.h"

#include <gtest/gtest.h>

#include <cmath>

#include "published.h"

namespace fettle::locating {
namespace {

using finding::Reckoner;
using Given = std::vector<std::pair<std::string, std::string>>;

Reckoner named(const std::string& name) {
  for (Reckoner& r : reckoners())
    if (r.name == name) return r;
  ADD_FAILURE() << "no reckoner " << name;
  return {};
}
Outcome<finding::ReckonerAnswer> ask(const std::string& name, const Given& given) {
  const Reckoner r = named(name);
  const auto values = finding::read_values(r, given);
  if (!values.ok()) return values.problems();
  return finding::run(r, *values);
}

TEST(LocatingReckoners, WorkedExamples) {
  for (const Reckoner& r : reckoners()) {
    ASSERT_FALSE(r.examples.empty()) << r.name;
    for (const finding::WorkedExample& e : r.examples) {
      const auto values = finding::read_values(r, e.given);
      ASSERT_TRUE(values.ok()) << r.name << ": " << say(values.problem());
      const auto answer = finding::run(r, *values);
      ASSERT_TRUE(answer.ok()) << r.name << ": " << say(answer.problem());
      for (const auto& [name, text] : e.expected) {
        if (answer->text.count(name)) {
          EXPECT_EQ(answer->text.at(name), text) << r.name;
          continue;
        }
        for (const finding::ReckonerOutput& o : r.outputs) {
          if (o.name != name) continue;
          const double expected = unit::parse(text, o.kind).value().si;
          test::published("locating", "reckoner " + r.name + ": " + name, e.source, test::How::computed, expected,
                          answer->number.at(name), e.relative_tolerance * std::fabs(expected));
        }
      }
    }
  }
}

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
