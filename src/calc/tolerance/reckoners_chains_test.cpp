#include "calc/tolerance/reckoners.h"

#include <gtest/gtest.h>

#include "reckoner_examples.h"

namespace fettle::tolerance {
namespace {

using finding::Reckoner;

Reckoner named(const std::string& name) { return test::reckoner_named(chain_reckoners(), name); }

TEST(ChainReckoners, WorkedExamples) { test::worked_examples(chain_reckoners()); }

Outcome<finding::ReckonerAnswer> ask(const std::string& name, const test::Given& given) {
  return test::ask(named(name), given);
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
