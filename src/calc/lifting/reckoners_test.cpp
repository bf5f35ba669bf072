#include "calc/lifting/reckoners.h"

#include <gtest/gtest.h>

#include "reckoner_examples.h"

namespace fettle::lifting {
namespace {

using finding::Reckoner;

Reckoner named(const std::string& name) { return test::reckoner_named(reckoners(), name); }

TEST(LiftingReckoners, WorkedExamples) { test::worked_examples(reckoners()); }

TEST(LiftingReckoners, BeyondSaysWhy) {
  const Reckoner r = named("lift");
  auto given = r.examples[2].given;
  for (auto& [key, text] : given)
    if (key == "reach") text = "70 cm";
  const auto values = finding::read_values(r, given);
  ASSERT_TRUE(values.ok());
  const auto answer = finding::run(r, *values);
  ASSERT_TRUE(answer.ok()) << say(answer.problem());
  EXPECT_NE(answer->beyond.find("reach"), std::string::npos);
  EXPECT_FALSE(answer->cautions.empty());
}

TEST(LiftingReckoners, HalfATaskIsRefused) {
  const Reckoner r = named("lift_job");
  const auto values = finding::read_values(
      r, {{"load_1", "5 kg"}, {"limit_1", "10 kg"}, {"lifts_1", "1 1/min"}, {"load_2", "5 kg"}, {"duration", "1h"}});
  ASSERT_TRUE(values.ok());
  EXPECT_FALSE(finding::run(r, *values).ok());
}

}  // namespace
}  // namespace fettle::lifting
