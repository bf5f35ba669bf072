#include "calc/tolerance/reckoners.h"

#include <gtest/gtest.h>

#include <cmath>

#include "published.h"

namespace fettle::tolerance {
namespace {

using finding::Reckoner;

Reckoner named(const std::string& name) {
  for (Reckoner& r : chain_reckoners())
    if (r.name == name) return r;
  ADD_FAILURE() << "no reckoner " << name;
  return {};
}

TEST(ChainReckoners, WorkedExamples) {
  for (const Reckoner& r : chain_reckoners()) {
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
          test::published("tolerance", "reckoner " + r.name + ": " + name, e.source, test::How::computed, expected,
                          answer->number.at(name), e.relative_tolerance * std::fabs(expected));
        }
      }
    }
  }
}

Outcome<finding::ReckonerAnswer> ask(const std::string& name,
                                     const std::vector<std::pair<std::string, std::string>>& given) {
  const Reckoner r = named(name);
  const auto values = finding::read_values(r, given);
  if (!values.ok()) return values.problems();
  return finding::run(r, *values);
}

TEST(ChainReckoners, WhatCannotBeIsSaid) {
  // Half a limit is no dimension.
  const auto half = ask("stack", {{"plus_1", "max 10 mm"}});
  ASSERT_FALSE(half.ok());
  EXPECT_NE(say(half.problem()).find("plus_1"), std::string::npos);
  EXPECT_FALSE(
      ask("allocate", {{"plus_1", "10 ± 0.1 mm"}, {"bought_plus_1", "10 ± 0.1 mm"}, {"target", "0.1 mm"}}).ok());
  EXPECT_FALSE(
      ask("capability", {{"limits", "max 0.03 mm"}, {"mean", "0.01 mm"}, {"s", "0.002 mm"}, {"items", "20"}}).ok());
  EXPECT_FALSE(ask("rolled_yield", {{"loss_1", "100 %"}}).ok());
}

TEST(ChainReckoners, WorkingDimensionsNameTheClash) {
  const auto a = ask("working_dimensions",
                     {{"raw", "height: B > T 1.1 ± 0.02 in"},
                      {"cuts", "A: B > T 1.030 ± 0.002 in; B: T < S 0.530 ± 0.010 in; C: B > T 1.000 ± 0.002 in"},
                      {"asked", "slot: S > T 0.500 ± 0.010 in"}});
  ASSERT_TRUE(a.ok()) << say(a.problem());
  EXPECT_LT(a->number.at("factor"), 1);
  EXPECT_NE(a->text.at("clash").find("slot"), std::string::npos);
  for (const char* spoilt :
       {"A B > T 1 ± 0.1 mm", "A: B T 1 ± 0.1 mm", "A: B > 1 ± 0.1 mm", "A: B > T 1 mm", "A: B > T"})
    EXPECT_FALSE(ask("working_dimensions", {{"cuts", spoilt}, {"asked", "slot: B > T 0.5 ± 0.1 mm"}}).ok()) << spoilt;
}

}  // namespace
}  // namespace fettle::tolerance
