#include "calc/casting/grades.h"

#include <gtest/gtest.h>

#include <cmath>

#include "published.h"
#include "ref/casting_grades.h"

namespace fettle::casting {
namespace {

using test::How;
using test::published;
const std::string standard = "ISO 8062-3:2007 with the formulas of ISO 8062:1994";

RawSizeInputs size(double finished_mm, int sides, SizeKind kind, int dctg, const std::string& rmag, double largest_mm) {
  return {finished_mm * 1e-3, sides, kind, dctg, rmag, largest_mm * 1e-3};
}

void check(const std::string& what, const RawSizeInputs& in, double raw_mm, double tolerance_mm) {
  const auto out = raw_size(in);
  ASSERT_TRUE(out.ok()) << say(out.problem());
  published("casting", what + ", raw size, mm", standard, How::computed, raw_mm, out->raw * 1e3, 1e-9);
  published("casting", what + ", tolerance, mm", standard, How::computed, tolerance_mm, out->tolerance * 1e3, 1e-9);
}

TEST(Grades, TableCells) {
  const std::string table = "ISO 8062-3:2007, Table 2";
  published("casting", "DCT of grade 9 above 25 to 40 mm", table, How::read, 1.8, ref::dct(9, 0.0399).value() * 1e3,
            1e-12);
  published("casting", "DCT of grade 12 at exactly 63 mm", table, How::read, 5.6, ref::dct(12, 0.063).value() * 1e3,
            1e-12);
  published("casting", "DCT of grade 12 just above 63 mm", table, How::read, 6, ref::dct(12, 0.0631).value() * 1e3,
            1e-12);
  published("casting", "DCT of grade 16 at 10 m", table, How::from_memory, 64, ref::dct(16, 10).value() * 1e3, 1e-12);
  published("casting", "RMA of grade F up to 160 mm", "ISO 8062:1994, Table 2", How::from_memory, 1.5,
            ref::rma("F", 0.132).value() * 1e3, 1e-12);
  published("casting", "coaxiality, GCTG 6, 100 to 300 mm", "ISO 8062-3:2007, Table 6", How::from_memory, 4.5,
            ref::gct(ref::CastForm::coaxiality, 6, 0.2).value() * 1e3, 1e-12);
  published("casting", "flatness, GCTG 5, 30 to 100 mm", "ISO 8062-3:2007, Table 4", How::from_memory, 0.9,
            ref::gct(ref::CastForm::flatness, 5, 0.1).value() * 1e3, 1e-12);
  EXPECT_FALSE(ref::dct(0, 0.1).ok());
  EXPECT_FALSE(ref::dct(17, 0.1).ok());
  EXPECT_FALSE(ref::dct(9, 0).ok());
  EXPECT_FALSE(ref::dct(9, 10.1).ok());
  EXPECT_FALSE(ref::dct(9, std::nan("")).ok());
  EXPECT_FALSE(ref::dct(16, 0.005).ok());
  EXPECT_FALSE(ref::rma("I", 0.1).ok());
  EXPECT_FALSE(ref::rma("F", 0).ok());
  EXPECT_FALSE(ref::rma("F", 11).ok());
  EXPECT_FALSE(ref::gct(ref::CastForm::flatness, 1, 0.1).ok());
  EXPECT_FALSE(ref::gct(ref::CastForm::flatness, 9, 0.1).ok());
  EXPECT_FALSE(ref::gct(ref::CastForm::flatness, 5, 1.5).ok());
}

TEST(Grades, TableRisesAlongRowsAndColumns) {
  for (int grade = 1; grade <= 16; ++grade) {
    double before = 0;
    for (const auto& row : ref::dct_rows(grade)) {
      EXPECT_GT(row.value, before) << grade << " at " << row.up_to;
      before = row.value;
      if (grade < 16) {
        const auto next = ref::dct(grade + 1, row.up_to);
        if (next.ok()) {
          EXPECT_GT(next.value(), row.value);
        }
      }
    }
  }
  for (double largest : {0.04, 0.1, 0.5, 5.0}) {
    double before = 0;
    for (const auto& letter : ref::rma_grades()) {
      EXPECT_GE(ref::rma(letter, largest).value(), before);
      before = ref::rma(letter, largest).value();
    }
  }
}

TEST(Grades, TwoSidesOutside) {
  const auto in = size(100, 2, SizeKind::external, 10, "F", 220);
  check("100 mm outside, two sides, DCTG 10, RMAG F, largest 220", in, 105.8, 3.6);
  const auto out = raw_size(in).value();
  published("casting", "100 mm outside: lower raw limit, mm", standard, How::computed, 104.0, out.low * 1e3, 1e-9);
  published("casting", "100 mm outside: upper raw limit, mm", standard, How::computed, 107.6, out.high * 1e3, 1e-9);
  published("casting", "100 mm outside: least stock per side, mm", standard, How::computed, 2.0, out.least_stock * 1e3,
            1e-9);
  EXPECT_NEAR(out.most_stock, 3.8e-3, 1e-12);
}

TEST(Grades, RowChangesWhileIterating) {
  check("99 mm outside, two sides", size(99, 2, SizeKind::external, 10, "F", 220), 104.8, 3.6);
  check("99 mm outside, one side", size(99, 1, SizeKind::external, 10, "F", 220), 102.8, 3.6);
  const auto in = size(96.3, 1, SizeKind::external, 10, "F", 220);
  check("96.3 mm outside, one side: two answers agree, the larger counts", in, 100.1, 3.6);
  const auto out = raw_size(in).value();
  EXPECT_TRUE(out.two_answers);
  published("casting", "96.3 mm outside, the smaller answer, mm", standard, How::computed, 99.9, out.other_raw * 1e3,
            1e-9);
}

TEST(Grades, CoredBore) {
  check("50 mm cored bore, DCTG 10, RMAG G, largest 220", size(50, 2, SizeKind::internal, 10, "G", 220), 43.0, 2.8);
  // 46.3 with RMA 2.8: the row above 40 mm gives 39.3, the row up to 40 mm gives 39.4: one answer only.
  EXPECT_FALSE(raw_size(size(46.3, 2, SizeKind::internal, 10, "G", 220)).value().two_answers);
  // 47 mm: the finer row asks 40.1 (above its end), the coarser one 40.0 (below its start): the wider tolerance is
  // taken.
  const auto gap = raw_size(size(47, 2, SizeKind::internal, 10, "G", 220)).value();
  EXPECT_TRUE(gap.between_rows);
  EXPECT_NEAR(gap.raw, 40.0e-3, 1e-12);
  EXPECT_NEAR(gap.tolerance, 2.8e-3, 1e-12);
}

TEST(Grades, NoToleranceBelowTheTablesFirstRow) {
  // Grade 14 has no value up to 16 mm: that is no gap between two rows.
  EXPECT_FALSE(raw_size(size(20, 2, SizeKind::internal, 14, "A", 40)).ok());
}

TEST(Grades, StepKeepsItsSize) {
  const auto out = raw_size(size(18, 2, SizeKind::step, 9, "F", 132)).value();
  EXPECT_DOUBLE_EQ(out.raw, 0.018);
  EXPECT_EQ(out.least_stock, 0);
}

TEST(Grades, ValveBodyOfTheDemo) {
  // Each size of the demo's casting and the formula it obeys.
  check("thickness 36, both sides, outside", size(36, 2, SizeKind::external, 9, "F", 132), 39.9, 1.8);
  check("width 93 over the edges, both sides, outside", size(93, 2, SizeKind::external, 9, "F", 132), 97.1, 2.2);
  check("length 132, both sides, outside", size(132, 2, SizeKind::external, 9, "F", 132), 136.25, 2.5);
  check("cored counterbore 50, both sides, inside", size(50, 2, SizeKind::internal, 9, "F", 132), 46.0, 2.0);
  check("floor 18 above the finished bottom, one side, outside", size(18, 1, SizeKind::external, 9, "F", 132), 20.35,
        1.7);
}

TEST(Grades, BackwardsGivesTheGradesBack) {
  for (const char* letter : {"D", "F", "H"})
    for (int grade : {6, 9, 11})
      for (SizeKind kind : {SizeKind::external, SizeKind::internal}) {
        const auto there = raw_size(size(80, 2, kind, grade, letter, 200)).value();
        const auto back = allowance_left({there.raw, there.tolerance, 0.080, 2, kind, 0.2}).value();
        EXPECT_EQ(back.dctg, grade);
        EXPECT_EQ(back.rmag, letter);
        EXPECT_NEAR(back.least_stock, there.allowance, 1e-12);
      }
}

TEST(Grades, BackwardsSaysWhenTooSmall) {
  const auto out = allowance_left({0.0365, 0.0018, 0.036, 2, SizeKind::external, 0.132}).value();
  EXPECT_LT(out.least_stock, 0);
  EXPECT_TRUE(out.rmag.empty());
}

TEST(Grades, RefusesOneBadValuePerBound) {
  const auto good = size(100, 2, SizeKind::external, 10, "F", 220);
  EXPECT_TRUE(raw_size(good).ok());
  auto bad_one = good;
  bad_one.finished = 0;
  EXPECT_FALSE(raw_size(bad_one).ok());
  bad_one = good;
  bad_one.finished = std::nan("");
  EXPECT_FALSE(raw_size(bad_one).ok());
  bad_one = good;
  bad_one.finished = 10;
  EXPECT_FALSE(raw_size(bad_one).ok());
  bad_one = good;
  bad_one.machined_sides = 3;
  EXPECT_FALSE(raw_size(bad_one).ok());
  bad_one = good;
  bad_one.machined_sides = -1;
  EXPECT_FALSE(raw_size(bad_one).ok());
  bad_one = good;
  bad_one.dctg = 17;
  EXPECT_FALSE(raw_size(bad_one).ok());
  bad_one = good;
  bad_one.rmag = "L";
  EXPECT_FALSE(raw_size(bad_one).ok());
  bad_one = good;
  bad_one.largest_finished = -1;
  EXPECT_FALSE(raw_size(bad_one).ok());
  // A core of 4 mm under these grades would vanish.
  EXPECT_FALSE(raw_size(size(4, 2, SizeKind::internal, 10, "G", 220)).ok());
  EXPECT_FALSE(allowance_left({0, 0.001, 0.03, 2, SizeKind::external, 0.1}).ok());
  EXPECT_FALSE(allowance_left({0.03, -0.001, 0.03, 2, SizeKind::external, 0.1}).ok());
  EXPECT_FALSE(allowance_left({0.03, 0.001, 0.03, 0, SizeKind::external, 0.1}).ok());
  EXPECT_FALSE(allowance_left({0.03, 0.001, 0.03, 1, SizeKind::step, 0.1}).ok());
}

TEST(Grades, EccentricCoredBore) {
  const auto out = radial_stock(0.060, 0.054, 0.8e-3, -0.6e-3);
  const std::string source = "elementary geometry of two eccentric circles";
  published("casting", "cored bore 54 in 60, shift (0.8, -0.6): shift, mm", source, How::exact, 1.0, out.shift * 1e3,
            1e-9);
  published("casting", "cored bore 54 in 60: least radial stock, mm", source, How::exact, 2.0, out.least * 1e3, 1e-9);
  published("casting", "cored bore 54 in 60: most radial stock, mm", source, How::exact, 4.0, out.most * 1e3, 1e-9);
}

TEST(Grades, DraftOffset) {
  published("casting", "draft 1.5 deg over 19.95 mm, mm", "h tan(a)", How::exact,
            19.95 * std::tan(1.5 * std::acos(-1.0) / 180), draft_offset(19.95e-3, 1.5 * std::acos(-1.0) / 180) * 1e3,
            1e-12);
}

}  // namespace
}  // namespace fettle::casting
