#include "calc/practice/reckoners.h"

#include <gtest/gtest.h>

#include "calc/practice/change.h"
#include "calc/practice/practice.h"
#include "reckoner_examples.h"

namespace fettle::practice {
namespace {

TEST(PracticeReckoners, WorkedExamples) { test::worked_examples(reckoners()); }

TEST(PracticeReckoners, LeavingMoreThanThereIsIsRefused) {
  const auto r = test::reckoner_named(reckoners(), "skin_cut");
  EXPECT_FALSE(test::ask(r, {{"least_stock", "1 mm"}, {"leaves", "1.01 mm"}}).ok());
  const auto all = test::ask(r, {{"least_stock", "1 mm"}, {"leaves", "1 mm"}});
  ASSERT_TRUE(all.ok());
  EXPECT_EQ(all->text.at("verdict"), "in the skin");
}

TEST(PracticeReckoners, EveryRuleAndEveryChangeAnswers) {
  const auto list = reckoners();
  for (const Rule& r : rules()) {
    const auto a = test::ask(test::reckoner_named(list, "rule"), {{"rule", std::string(r.id)}});
    ASSERT_TRUE(a.ok()) << r.id;
    EXPECT_NE(a->sentence.find(r.question), std::string::npos);
  }
  for (Changed c : all_changes()) {
    const auto a = test::ask(test::reckoner_named(list, "change_voids"), {{"change", std::string(word(c))}});
    ASSERT_TRUE(a.ok()) << word(c);
    EXPECT_GE(a->number.at("void"), 1);
  }
  EXPECT_FALSE(test::ask(test::reckoner_named(list, "rule"), {{"rule", "no_such_rule"}}).ok());
}

TEST(PracticeReckoners, ALotThatCannotBeOiledInTimeHasNoSize) {
  const auto a = test::ask(test::reckoner_named(reckoners(), "rust_clock"),
                           {{"parts", "1"}, {"per_part", "1 min"}, {"wait", "5 h"}});
  ASSERT_TRUE(a.ok());
  EXPECT_EQ(a->number.at("most_parts"), 0);
  EXPECT_EQ(a->text.at("verdict"), "rusts");
}

}  // namespace
}  // namespace fettle::practice
