#include "calc/casting/reckoners.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "reckoner_examples.h"

namespace fettle::casting {
namespace {

using finding::Reckoner;
using testing::HasSubstr;

Reckoner named(const std::string& name) { return test::reckoner_named(reckoners(), name); }

Outcome<finding::ReckonerAnswer> ask(const std::string& name, const test::Given& given) {
  return test::ask(named(name), given);
}

TEST(CastingReckoners, WorkedExamples) {
  test::worked_examples(reckoners());
  for (const Reckoner& r : reckoners()) {
    EXPECT_FALSE(r.source.empty() || r.range.empty() || r.formula.empty()) << r.name;
    EXPECT_EQ(r.question.back(), '?');
  }
}

TEST(CastingReckoners, AnswersSayWhatToDo) {
  EXPECT_THAT(ask("run_casting", {{"measured", "95.7 mm"}, {"finished", "93 mm"}})->sentence, HasSubstr("Run it"));
  const auto side = ask("run_casting",
                        {{"measured", "95.7 mm"}, {"finished", "93 mm"}, {"held", "one side"}, {"near_stock", "2 mm"}});
  EXPECT_THAT(side->sentence, HasSubstr("Do not run it"));
  EXPECT_THAT(side->notes.front(), HasSubstr("move the zero"));
  EXPECT_THAT(
      ask("core_shift", {{"finished", "50 mm"}, {"cored", "45.8 mm"}, {"dx", "1.3 mm"}, {"dy", "-0.9 mm"}})->sentence,
      HasSubstr("towards the core"));
  EXPECT_THAT(ask("core_shift", {{"finished", "50 mm"}, {"cored", "49 mm"}, {"dx", "0 mm"}})->sentence,
              HasSubstr("wherever"));
  EXPECT_THAT(
      ask("allowance_left", {{"raw", "36.5 mm"}, {"tolerance", "1.8 mm"}, {"finished", "36 mm"}, {"largest", "132 mm"}})
          ->sentence,
      HasSubstr("missing"));
  EXPECT_THAT(
      ask("raw_size", {{"finished", "96.3 mm"}, {"sides", "1"}, {"dctg", "10"}, {"rmag", "F"}, {"largest", "220 mm"}})
          ->notes.front(),
      HasSubstr("two rows"));
}

TEST(CastingReckoners, RefuseWhatTheyCannotAnswer) {
  EXPECT_FALSE(ask("run_casting", {{"measured", "95.7 mm"}, {"finished", "93 mm"}, {"held", "one side"}}).ok());
  EXPECT_FALSE(ask("run_casting", {{"measured", "95.7 mm"}, {"finished", "93 mm"}, {"near_stock", "2 mm"}}).ok());
  EXPECT_FALSE(ask("run_casting", {{"measured", "95.7"}, {"finished", "93 mm"}}).ok());
  EXPECT_FALSE(ask("raw_size", {{"finished", "100 mm"}, {"dctg", "17"}, {"rmag", "F"}, {"largest", "220 mm"}}).ok());
  EXPECT_FALSE(ask("raw_size", {{"finished", "100 mm"}, {"dctg", "10"}, {"rmag", "I"}, {"largest", "220 mm"}}).ok());
  EXPECT_FALSE(
      ask("raw_size", {{"finished", "4 mm"}, {"kind", "inside"}, {"dctg", "10"}, {"rmag", "G"}, {"largest", "220 mm"}})
          .ok());
  EXPECT_FALSE(ask("tolerance_factor", {{"n", "1"}}).ok());
  EXPECT_FALSE(ask("sample_share", {{"n", "2"}, {"mean", "2 mm"}, {"s", "1 mm"}}).ok());
  EXPECT_FALSE(ask("count_share", {{"fails", "5"}, {"n", "4"}}).ok());
  EXPECT_FALSE(ask("draft", {{"height", "-1 mm"}, {"angle", "1 deg"}}).ok());
}

}  // namespace
}  // namespace fettle::casting
