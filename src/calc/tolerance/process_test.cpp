#include "calc/tolerance/process.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "published.h"

namespace fettle::tolerance {
namespace {

using test::How;
using test::published;

const char* const book = "Narayana, Kannaiah, Reddy: Machine Drawing, fig. 15.2, and ISO 286-1 table of grades";

TEST(ProcessScatter, StartsAtThePrintedGrade) {
  const auto s_um = [](const char* process, double mm) { return 1e6 * process_scatter(process, mm * 1e-3).value().s; };
  published("tolerance", "boring 50 mm (grade 8, 39 µm), s, µm", book, How::read, 39 / 8.0, s_um("boring", 50), 1e-9);
  published("tolerance", "drilling 6.8 mm (grade 11, 90 µm), s, µm", book, How::read, 90 / 8.0, s_um("drilling", 6.8),
            1e-9);
  published("tolerance", "milling 30 mm (grade 10, 84 µm), s, µm", book, How::read, 84 / 8.0, s_um("milling", 30),
            1e-9);
  // The textbook's figure gives 8 for reaming; the start here is what an H7 reamer is bought for (common practice).
  EXPECT_DOUBLE_EQ(s_um("reaming", 8), 15 / 8.0);
  published("tolerance", "grinding 36 mm (grade 6, 16 µm), s, µm", book, How::read, 16 / 8.0,
            s_um("surface grinding", 36), 1e-9);
}

TEST(ProcessScatter, BandHoldsTheStartAndWordsOfCuts) {
  for (const ProcessGrades& g : process_grades()) {
    EXPECT_LE(g.finest, g.start) << g.process;
    EXPECT_LE(g.start, g.coarsest) << g.process;
    const auto s = process_scatter(g.process, 0.03);
    ASSERT_TRUE(s.ok());
    EXPECT_GT(s->low, 0);
    EXPECT_LE(s->low, s->s);
    EXPECT_LE(s->s, s->high);
    EXPECT_NE(s->source.find(g.process), std::string::npos);
  }
  EXPECT_EQ(process_scatter("Ream", .008)->s, process_scatter("reaming", .008)->s);
  EXPECT_EQ(process_scatter(" tap ", .008)->s, process_scatter("tapping", .008)->s);
}

TEST(ProcessScatter, Refuses) {
  const auto unknown = process_scatter("bornig", .05);
  ASSERT_FALSE(unknown.ok());
  EXPECT_EQ(unknown.problem().nearest, "boring");
  EXPECT_FALSE(process_scatter("", .05).ok());
  EXPECT_FALSE(process_scatter("boring", 0).ok());
  EXPECT_FALSE(process_scatter("boring", -.05).ok());
  EXPECT_FALSE(process_scatter("boring", .5001).ok());
  EXPECT_TRUE(process_scatter("boring", .5).ok());
  EXPECT_FALSE(process_scatter("boring", std::nan("")).ok());
}

TEST(LocatorHole, TappedHoleIsRefused) {
  // Common practice: a screw in a tapped hole stands within about ±0.08 mm, so it locates nothing close.
  const auto v = locator_hole({true, {}, .035e-3});  // a coaxiality of Ø0.07
  ASSERT_TRUE(v.ok());
  EXPECT_TRUE(v->refused);
  published("tolerance", "play of a screw in a tapped hole, ± mm", "common practice", How::from_memory, .08,
            1e3 * v->stands_within, 1e-12);
  EXPECT_NE(v->why.find("not locate"), std::string::npos);
  EXPECT_TRUE(locator_hole({true, {}, .125e-3})->refused);  // even for a bolt hole of Ø0.25
  EXPECT_FALSE(locator_hole({true, {}, .25e-3})->refused);  // a raw edge may
  EXPECT_TRUE(locator_hole({true, {}, .2399e-3})->refused);
  // Measured better than usual, it is judged by what was measured.
  EXPECT_FALSE(locator_hole({true, .01e-3, .035e-3})->refused);
  // A reamed hole with a pin: half of the clearance.
  EXPECT_FALSE(locator_hole({false, .01e-3, .035e-3})->refused);
}

TEST(LocatorHole, Refuses) {
  EXPECT_FALSE(locator_hole({true, {}, 0}).ok());
  EXPECT_FALSE(locator_hole({true, {}, std::nan("")}).ok());
  EXPECT_FALSE(locator_hole({true, -1e-6, 1e-3}).ok());
  EXPECT_FALSE(locator_hole({true, std::numeric_limits<double>::infinity(), 1e-3}).ok());
  EXPECT_FALSE(locator_hole({false, {}, 1e-3}).ok());
}

}  // namespace
}  // namespace fettle::tolerance
