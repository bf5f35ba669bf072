// Lengths as a person would type them.
#include <gtest/gtest.h>

#include "begin/features.h"

namespace fettle::begin {
namespace {

TEST(TextValues, what_a_model_leaves_of_a_round_number_is_that_number) {
  EXPECT_EQ(length_text(0.018999995, false), "19 mm");
  EXPECT_EQ(length_text(-0.018999995, false), "-19 mm");
  EXPECT_EQ(length_text(1.8e-8, false), "0 mm");
  EXPECT_EQ(length_text(-1.8e-8, false), "0 mm");
  EXPECT_EQ(length_text(0.02200000004, false), "22 mm");
  EXPECT_EQ(point_text({0.01, 1.8e-8, -0.03499998}, false), "10, 0, -35 mm");
}

TEST(TextValues, what_an_inch_drawing_means_stays_to_its_last_digit) {
  EXPECT_EQ(length_text(0.0254 * 5 / 16, false), "7.9375 mm");
  EXPECT_EQ(length_text(0.0254 / 64, false), "0.396875 mm");
  EXPECT_EQ(length_text(0.0254 * 5 / 16, true), "0.3125 in");
  EXPECT_EQ(length_text(0.01, true), "0.393701 in");
  EXPECT_EQ(length_text(0.0190001, false), "19.0001 mm");
}

}  // namespace
}  // namespace fettle::begin
