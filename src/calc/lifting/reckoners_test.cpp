#include "calc/lifting/reckoners.h"

#include <gtest/gtest.h>

#include <cmath>

#include "published.h"

namespace fettle::lifting {
namespace {

using finding::Reckoner;

Reckoner named(const std::string& name) {
  for (Reckoner& r : reckoners())
    if (r.name == name) return r;
  ADD_FAILURE() << "no reckoner " << name;
  return {};
}

TEST(LiftingReckoners, WorkedExamples) {
  for (const Reckoner& r : reckoners()) {
    ASSERT_FALSE(r.examples.empty()) << r.name;
    for (const finding::WorkedExample& e : r.examples) {
      const auto values = finding::read_values(r, e.given);
      ASSERT_TRUE(values.ok()) << r.name << ": " << say(values.problem());
      const auto answer = finding::run(r, *values);
      ASSERT_TRUE(answer.ok()) << r.name << ": " << say(answer.problem());
      for (const auto& [name, text] : e.expected) {
        if (answer->text.count(name)) {
          EXPECT_EQ(answer->text.at(name), text);
          continue;
        }
        for (const finding::ReckonerOutput& o : r.outputs) {
          if (o.name != name) continue;
          const double expected = unit::parse(text, o.kind).value().si;
          test::published("lifting", "reckoner " + r.name + ": " + name, e.source, test::How::computed, expected,
                          answer->number.at(name), e.relative_tolerance * std::fabs(expected));
        }
      }
    }
  }
}

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
