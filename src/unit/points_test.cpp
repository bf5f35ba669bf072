#include <gtest/gtest.h>

#include "unit/quantity.h"

using namespace fettle;
using frame::Vec3;

TEST(Points, OneTextOneUnit) {
  const auto read = [](std::string_view text) {
    auto p = unit::parse_points(text);
    EXPECT_TRUE(p.ok()) << text << ": " << (p.ok() ? "" : say(p.problem()));
    return p.ok() ? *p : std::vector<Vec3>{};
  };
  EXPECT_EQ(read("-44, -34 mm"), (std::vector<Vec3>{{-0.044, -0.034, 0}}));
  EXPECT_EQ(read("0,0,18 mm"), (std::vector<Vec3>{{0, 0, 0.018}}));
  EXPECT_EQ(read("1 in, 2 in"), (std::vector<Vec3>{{0.0254, 0.0508, 0}}));
  EXPECT_EQ(read("1,5; 2,5 mm"), (std::vector<Vec3>{{0.0015, 0.0025, 0}}));
  EXPECT_EQ(read("1-1/2, 1/4 in"), (std::vector<Vec3>{{0.0381, 0.00635, 0}}));
  EXPECT_EQ(read("±78, ±57 mm"),
            (std::vector<Vec3>{{-0.078, -0.057, 0}, {0.078, -0.057, 0}, {-0.078, 0.057, 0}, {0.078, 0.057, 0}}));
  EXPECT_EQ(read("+-78, 0 mm"), (std::vector<Vec3>{{-0.078, 0, 0}, {0.078, 0, 0}}));
  EXPECT_EQ(read("±78, ±0 mm"), (std::vector<Vec3>{{-0.078, 0, 0}, {0.078, 0, 0}}));
  EXPECT_EQ(read("±1, ±2, ±3 mm").size(), 8U);
}

TEST(Points, RefusesWhatIsNoPoint) {
  for (const auto& [text, column] : {std::pair{"5 mm", 1},
                                     {"", 1},
                                     {"1, 2, 3, 4 mm", 8},
                                     {"-44, -34", 6},
                                     {"1,5, 2 mm", 2},
                                     {"-44 -34 mm", 5},
                                     {"x, 2 mm", 1},
                                     {"1, 2 lbf", 6},
                                     {"±-1, 2 mm", 2},
                                     {"1, mm", 4},
                                     {"1, 2 mm,", 9},
                                     {"1e400, 2 mm", 1}}) {
    auto p = unit::parse_points(text);
    ASSERT_FALSE(p.ok()) << text;
    EXPECT_EQ(p.problem().where.column, column) << text << ": " << say(p.problem());
  }
}

TEST(Sizes, ReadWithAnyCross) {
  for (const char* text : {"132 x 92 x 36 mm", "132x92x36mm", "132 × 92 × 36 mm", "132 mm * 92 mm * 36 mm",
                           "132,0 x 92 x 36 mm", "13.2 cm x 92 x 36 mm"}) {
    auto s = unit::parse_sizes(text);
    ASSERT_TRUE(s.ok()) << text << ": " << say(s.problem());
    EXPECT_EQ(*s, (std::vector<double>{0.132, 0.092, 0.036})) << text;
  }
  auto inch = unit::parse_sizes("2-1/4 x 5/8 in");
  ASSERT_TRUE(inch.ok()) << say(inch.problem());
  EXPECT_EQ(*inch, (std::vector<double>{0.05715, 0.015875}));
  for (const auto& [text, column] :
       {std::pair{"0 x 3 mm", 1}, {"3 x -1 mm", 5}, {"3 x", 3}, {"3 x 2", 5}, {"", 1}, {"3 x 2 N", 7}, {"3 mm 2", 6}}) {
    auto s = unit::parse_sizes(text);
    ASSERT_FALSE(s.ok()) << text;
    EXPECT_EQ(s.problem().where.column, column) << text << ": " << say(s.problem());
  }
}

TEST(Threads, MetricAndUnified) {
  using S = unit::Thread::System;
  struct Case {
    const char* text;
    S system;
    double major, pitch;
    const char *series, *tolerance;
  };
  const Case cases[] = {
      {"M8", S::metric, 0.008, 0, "", ""},
      {"M8x1.25", S::metric, 0.008, 0.00125, "", ""},
      {"M8×1-6H", S::metric, 0.008, 0.001, "", "6H"},
      {"M8 x 1 - 6g", S::metric, 0.008, 0.001, "", "6g"},
      {"M8-6H", S::metric, 0.008, 0, "", "6H"},
      {"M10x1,25-5g6g", S::metric, 0.010, 0.00125, "", "5g6g"},
      {"M1.6", S::metric, 0.0016, 0, "", ""},
      {"3/8-16 UNC", S::unified, 0.009525, 0.0254 / 16, "UNC", ""},
      {"1/4-28 UNF-2B", S::unified, 0.00635, 0.0254 / 28, "UNF", "2B"},
      {"1/4-20", S::unified, 0.00635, 0.00127, "", ""},
      {"1/4 UNC", S::unified, 0.00635, 0, "UNC", ""},
      {"1/4\"-20 UNC 2A", S::unified, 0.00635, 0.00127, "UNC", "2A"},
      {"5/16-18unc", S::unified, 0.0079375, 0.0254 / 18, "UNC", ""},
      {"#10-32 UNF", S::unified, 0.004826, 0.00079375, "UNF", ""},
      {"No. 10-32 UNF", S::unified, 0.004826, 0.00079375, "UNF", ""},
      {"1-8 UNC", S::unified, 0.0254, 0.003175, "UNC", ""},
      {"1-1/4-7 UNC", S::unified, 0.03175, 0.0254 / 7, "UNC", ""},
      {"1 1/4-7 UNC", S::unified, 0.03175, 0.0254 / 7, "UNC", ""},
      {"0.250-20 UNC", S::unified, 0.00635, 0.00127, "UNC", ""},
  };
  for (const Case& c : cases) {
    auto t = unit::parse_thread(c.text);
    ASSERT_TRUE(t.ok()) << c.text << ": " << say(t.problem());
    EXPECT_EQ(t->system, c.system) << c.text;
    EXPECT_DOUBLE_EQ(t->major, c.major) << c.text;
    EXPECT_DOUBLE_EQ(t->pitch, c.pitch) << c.text;
    EXPECT_EQ(t->series, c.series) << c.text;
    EXPECT_EQ(t->tolerance_class, c.tolerance) << c.text;
    EXPECT_EQ(t->typed, c.text);
  }
  for (const auto& [text, column] : {std::pair{"", 1},
                                     {"M", 1},
                                     {"M8x9", 4},
                                     {"M8x0", 4},
                                     {"M8-LH", 3},
                                     {"M8-9Z", 3},
                                     {"#13-20 UNC", 2},
                                     {"1/4-20 UNQ", 8},
                                     {"1/4", 1},
                                     {"1/4-0 UNC", 5},
                                     {"1/4-200 UNC", 5},
                                     {"1/4-20 UNC-4B", 11},
                                     {"G1/4", 1},
                                     {"Tr20x4", 1},
                                     {"M-8", 1},
                                     {"M0", 2}}) {
    auto t = unit::parse_thread(text);
    ASSERT_FALSE(t.ok()) << text;
    EXPECT_EQ(t.problem().where.column, column) << text << ": " << say(t.problem());
    EXPECT_FALSE(t.problem().expected.empty()) << text;
  }
}
