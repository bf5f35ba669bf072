#include "program/on_paper.h"

#include <gtest/gtest.h>

namespace fettle::program {
namespace {

TEST(OnPaper, RemarksGiveParametersLengthsAndTouches) {
  const Setting s = on_paper(
      "(on paper #504 = 3763, #503 = 2)\n(on paper H11 = 150. mm, H12 = 6 in)\n(on paper touch 1 -71.125 0. 17.95 "
      "mm)\n; on paper #7 = -1.5\n",
      {});
  EXPECT_EQ(s.parameters.size(), 3U);
  EXPECT_EQ(s.parameters.at(504), 3763);
  EXPECT_EQ(s.parameters.at(503), 2);
  EXPECT_EQ(s.parameters.at(7), -1.5);
  EXPECT_DOUBLE_EQ(s.lengths.at(11), 0.15);
  EXPECT_DOUBLE_EQ(s.lengths.at(12), 0.1524);
  ASSERT_TRUE(s.probe_hits);
  for (int again = 0; again < 2; ++again) {
    const auto hit = s.probe_hits({});
    ASSERT_TRUE(hit);
    EXPECT_DOUBLE_EQ(hit->x, -0.071125);
    EXPECT_DOUBLE_EQ(hit->z, 0.01795);
  }
}

TEST(OnPaper, WhatIsKnownStaysAndNonsenseChangesNothing) {
  Setting known;
  known.parameters[503] = 1;
  known.lengths[11] = 0.2;
  const Setting s = on_paper("(on paper #503 = 2)(on paper H11 = 150 mm)", known);
  EXPECT_EQ(s.parameters.at(503), 1);
  EXPECT_EQ(s.lengths.at(11), 0.2);
  for (const char* text : {"", "(on paper)", "(on paper #)", "(on paper #x = 1)", "(on paper #5 = )",
                           "(on paper #0 = 1)", "(on paper #5 1)", "(on paper #99999 = 1)", "(on paper H1 = 5)",
                           "(on paper H1 = 5 ft)", "(on paper touch 1 2 3 mm)", "(on paper touch 1 a 2 3 mm)",
                           "on paper", "(on paper touch 1 1 2 3 ft)", "(on paper #nan = 1)"}) {
    const Setting none = on_paper(text, {});
    EXPECT_TRUE(none.parameters.empty()) << text;
    EXPECT_TRUE(none.lengths.empty()) << text;
    EXPECT_FALSE(none.probe_hits) << text;
  }
}

}  // namespace
}  // namespace fettle::program
