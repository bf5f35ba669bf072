// What a reckoner of this science does itself; worked examples and bounds of all are tested in app/cli.
#include "calc/timing/reckoners.h"

#include <gtest/gtest.h>

#include "reckoner_examples.h"

namespace fettle::timing {
namespace {

using test::Given;

Outcome<finding::ReckonerAnswer> ask(const std::string& name, const test::Given& given) {
  return test::ask(test::reckoner_named(reckoners(), name), given);
}

TEST(TimingReckoners, WorkedExamples) {
  test::worked_examples(clock_reckoners());
  test::worked_examples(money_reckoners());
}

TEST(TimingReckoners, WhatMustComeBeforeIsReadOrRefused) {
  const Given given = {{"tools", "1 2 1"}, {"parts", "1"}, {"change", "4 s"}};
  for (const char* wrong : {"3", "4>1", "1>0", "a>1", "3>1>2", "2.5>1", "1>2"}) {
    Given g = given;
    g.emplace_back("after", wrong);
    EXPECT_FALSE(ask("tool_changes", g).ok()) << wrong;
  }
  EXPECT_FALSE(ask("tool_changes", {{"tools", " "}, {"parts", "1"}, {"change", "4 s"}}).ok());
}

TEST(TimingReckoners, WallAndToolGoTogether) {
  const Given g = {{"length", "10 mm"}, {"feed", "100 mm/min"}};
  EXPECT_TRUE(ask("cut_minutes", g).ok());
  for (const Given& more :
       {Given{{"wall", "54 mm"}}, Given{{"tool", "35 mm"}}, Given{{"wall", "35 mm"}, {"tool", "54 mm"}}}) {
    Given all = g;
    all.insert(all.end(), more.begin(), more.end());
    EXPECT_FALSE(ask("cut_minutes", all).ok());
  }
}

TEST(TimingReckoners, BeyondSaysWhy) {
  const auto few =
      ask("interference", {{"machines", "3"}, {"run", "60 min"}, {"attention", "3 min"}, {"by", "wright"}});
  ASSERT_TRUE(few.ok());
  EXPECT_FALSE(few->beyond.empty());
  const auto slow =
      ask("interference", {{"machines", "3"}, {"run", "1 min"}, {"attention", "4 min"}, {"by", "ashcroft"}});
  ASSERT_TRUE(slow.ok());
  EXPECT_FALSE(slow->beyond.empty());
}

}  // namespace
}  // namespace fettle::timing
