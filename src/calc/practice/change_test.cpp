#include "calc/practice/change.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <set>
#include <string>

namespace fettle::practice {
namespace {

std::set<std::string> of(std::vector<Changed> changes) {
  std::set<std::string> out;
  for (const Void& v : voided(changes).voided) out.insert(std::string(v.what));
  return out;
}

TEST(Change, NothingChangedNothingVoid) {
  EXPECT_TRUE(of({}).empty());
  EXPECT_GT(voided({}).stays.size(), 20U);
}

TEST(Change, WordsAndBack) {
  std::set<std::string_view> seen;
  int n = 0;
  for (Changed c : all_changes()) {
    EXPECT_EQ(static_cast<int>(c), n++);  // the words stand in the order of the list
    EXPECT_TRUE(seen.insert(word(c)).second);
    EXPECT_EQ(changed_of(word(c)), c);
  }
  EXPECT_FALSE(changed_of("colour").has_value());
}

TEST(Change, EveryChangeVoidsSomethingAndLeavesSomething) {
  for (Changed c : all_changes()) {
    const Voided v = voided(std::vector{c});
    EXPECT_FALSE(v.voided.empty()) << word(c);
    EXPECT_FALSE(v.stays.empty()) << word(c);
  }
}

TEST(Change, TwoChangesVoidWhatEachVoids) {
  for (Changed a : all_changes())
    for (Changed b : all_changes()) {
      std::set<std::string> both = of({a});
      both.merge(of({b}));
      EXPECT_EQ(of({a, b}), both) << word(a) << " and " << word(b);
    }
}

TEST(Change, WhatIsVoidAndWhatStaysIsEverything) {
  const std::size_t whole = voided({}).stays.size();
  for (Changed c : all_changes()) {
    const Voided v = voided(std::vector{c});
    EXPECT_EQ(v.voided.size() + v.stays.size(), whole);
    for (const Void& x : v.voided) {
      EXPECT_EQ(x.because, std::vector{c}) << x.what;
      EXPECT_FALSE(x.again.empty()) << x.what;
      EXPECT_EQ(std::count(v.stays.begin(), v.stays.end(), x.what), 0) << x.what;
    }
  }
}

// By hand, from what each depends on.
TEST(Change, MoreParts) {
  EXPECT_EQ(of({Changed::demand}), (std::set<std::string>{"time and cost", "price and promise"}));
}
TEST(Change, AnotherGrade) {
  const auto v = of({Changed::grade});
  for (const char* what : {"cutting", "holding", "chatter", "bores", "first article", "capability run",
                           "life of the edges", "control charts", "customer's approval", "lifting", "foundry sample",
                           "raw sizes", "castings", "measured castings"})  // it shrinks otherwise
    EXPECT_EQ(v.count(what), 1U) << what;
  for (const char* what : {"gauge study", "nests as measured", "zeros and offsets", "training"})
    EXPECT_EQ(v.count(what), 0U) << what;
}
TEST(Change, AnotherFoundry) {
  const auto v = of({Changed::foundry});
  for (const char* what : {"castings", "raw sizes", "measured castings", "foundry sample", "life of the edges"})
    EXPECT_EQ(v.count(what), 1U) << what;
  for (const char* what : {"locating", "nests as measured", "prove-out"}) EXPECT_EQ(v.count(what), 0U) << what;
}
TEST(Change, AnotherTorque) {
  const auto v = of({Changed::clamping});
  for (const char* what : {"holding", "load sheet and torque", "first article"}) EXPECT_EQ(v.count(what), 1U) << what;
  for (const char* what : {"cutting", "castings", "raw sizes", "gauge study", "zeros and offsets"})
    EXPECT_EQ(v.count(what), 0U) << what;
}

}  // namespace
}  // namespace fettle::practice
