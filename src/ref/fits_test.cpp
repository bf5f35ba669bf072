#include "ref/fits.h"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>

#include "base/text.h"
#include "case_fields.h"
#include "published.h"

using namespace fettle;
using test::How;
using test::published;

namespace {
unit::Limits limits(std::string_view text) {
  auto l = unit::parse_limits(text);
  EXPECT_TRUE(l.ok()) << text;
  auto r = ref::limits_of(*l);
  EXPECT_TRUE(r.ok()) << text << ": " << (r.ok() ? "" : say(r.problem()));
  return r.ok() ? *r : *l;
}
double mm(double metres) { return unit::in_unit(metres, "mm"); }
double typed(const std::string& text) { return unit::parse(text, unit::Kind::length)->si; }

struct Row {
  std::string code, lower, upper, how, source;
};
std::vector<Row> rows() {
  std::ifstream in(std::string(FETTLE_SOURCE_DIR) + "/cases/fits.csv");
  std::vector<Row> out;
  for (std::string line; std::getline(in, line);) {
    if (line.empty() || line[0] == '#' || base::starts_with(line, "code,")) continue;
    const std::vector<std::string> f = test::fields(line, 5);
    EXPECT_EQ(f.size(), 5U) << line;
    if (f.size() == 5) out.push_back({f[0], f[1], f[2], f[3], f[4]});
  }
  return out;
}
}  // namespace

TEST(Fits, PublishedLimits) {
  const std::vector<Row> all = rows();
  ASSERT_GT(all.size(), 40U);
  for (const Row& r : all) {
    const How how = r.how == "read" ? How::read : r.how == "computed" ? How::computed : How::from_memory;
    const unit::Limits l = limits(r.code);
    // To the last bit: a limit is the double that its text gives.
    EXPECT_EQ(*l.lower, typed(r.lower + " mm")) << r.code;
    EXPECT_EQ(*l.upper, typed(r.upper + " mm")) << r.code;
    published("ref", r.code + " lower limit, mm", r.source, how, *base::to_double(r.lower), mm(*l.lower), 1e-9);
    published("ref", r.code + " upper limit, mm", r.source, how, *base::to_double(r.upper), mm(*l.upper), 1e-9);
  }
}

TEST(Fits, ClearanceOfPairs) {
  struct Pair {
    const char *hole, *shaft;
    double least_um, most_um;
    ref::FitPair::Type type;
    const char* source;
    How how;
  };
  using T = ref::FitPair::Type;
  const Pair pairs[] = {
      {"20 H6", "20 e7", 40, 74, T::clearance, "Bhandari, Design of Machine Elements, Ex. 3.1", How::read},
      {"12 H7", "12 g6", 6, 35, T::clearance, "ISO 286-1 tables", How::computed},
      {"16 H7", "16 m6", -18, 11, T::transition, "ISO 286-1 tables", How::computed},
      {"12 H7", "12 p6", -29, 0, T::interference, "ISO 286-1 tables", How::computed},
      {"8.000..8.015 mm", "8 g6", 5, 29, T::clearance, "ISO 286-1 tables", How::computed},
      {"30 +0.020/0 mm", "30 -0.005/-0.018 mm", 5, 38, T::clearance,
       "Sharma, A Textbook of Production Engineering, Ex. 9.5", How::read},
      {"37.50..37.52 mm", "37.45..37.47 mm", 30, 70, T::clearance, "Sharma, Ex. 9.1 p. 376: allowance 0.03", How::read},
      {"75.000..75.075 mm", "74.825..74.900 mm", 100, 250, T::clearance, "Sharma, Ex. 9.2: allowance 0.10", How::read},
      {"25.000..25.006 mm", "24.986..24.990 mm", 10, 20, T::clearance, "Sharma, Ex. 9.6", How::read},
  };
  for (const Pair& p : pairs) {
    auto f = ref::fit_pair(*unit::parse_limits(p.hole), *unit::parse_limits(p.shaft));
    ASSERT_TRUE(f.ok()) << p.hole << " " << p.shaft;
    const std::string name = std::string(p.hole) + " with " + p.shaft;
    published("ref", name + ", least clearance, µm", p.source, p.how, p.least_um, f->least_clearance * 1e6, 1e-6);
    published("ref", name + ", most clearance, µm", p.source, p.how, p.most_um, f->most_clearance * 1e6, 1e-6);
    EXPECT_EQ(f->type, p.type) << name;
  }
}

TEST(Fits, GradesFollowTheirFormulaWhereTheStandardSaysSo) {
  // i = 0.45 D^(1/3) + 0.001 D; IT5..IT16 = 7, 10, 16, ... 1000 i. The table wins where rounding differs.
  const double steps[][2] = {{3, 6},    {6, 10},    {10, 18},   {18, 30},   {30, 50},   {50, 80},
                             {80, 120}, {120, 180}, {180, 250}, {250, 315}, {315, 400}, {400, 500}};
  const double factor[] = {7, 10, 16, 25, 40, 64, 100, 160, 250, 400, 640, 1000};
  for (const auto& s : steps) {
    const double d = std::sqrt(s[0] * s[1]), i = 0.45 * std::cbrt(d) + 0.001 * d;
    for (int grade = 5; grade <= 16; ++grade) {
      const double um = *ref::tolerance_of_grade(s[1] / 1000, grade) * 1e6;
      EXPECT_NEAR(um, factor[grade - 5] * i, 0.09 * um) << "IT" << grade << " to " << s[1];
    }
  }
  published("ref", "tolerance unit i at 30-50 mm, µm", "ISO 286-1 formula", How::computed, 1.5612,
            0.45 * std::cbrt(std::sqrt(1500.0)) + 0.001 * std::sqrt(1500.0), 5e-5);
  // The table, not the formula: 7.3 and 35.4 and 354 round elsewhere.
  published("ref", "IT6 over 3 to 6 mm, µm", "ISO 286-1:2010 table", How::read, 8,
            *ref::tolerance_of_grade(0.005, 6) * 1e6, 1e-9);
  published("ref", "IT6 over 315 to 400 mm, µm", "ISO 286-1:2010 table", How::read, 36,
            *ref::tolerance_of_grade(0.350, 6) * 1e6, 1e-9);
  published("ref", "IT6 over 400 to 500 mm, µm", "ISO 286-1:2010 table", How::read, 40,
            *ref::tolerance_of_grade(0.450, 6) * 1e6, 1e-9);
  published("ref", "IT9 up to 3 mm, µm", "ISO 286-1:2010 table", How::read, 25,
            *ref::tolerance_of_grade(0.003, 9) * 1e6, 1e-9);
  published("ref", "IT11 over 315 to 400 mm, µm", "ISO 286-1:2010 table", How::read, 360,
            *ref::tolerance_of_grade(0.400, 11) * 1e6, 1e-9);
  for (const double size : {0.002, 0.02, 0.2, 0.5})
    for (int g = 2; g <= 16; ++g) EXPECT_GT(*ref::tolerance_of_grade(size, g), *ref::tolerance_of_grade(size, g - 1));
}

TEST(Fits, DeviationsFollowTheirFormulas) {
  struct Formula {
    char letter;
    double factor, power;
  };
  // ISO 286-1 annex: d 16 D^0.44, e 11 D^0.41, f 5.5 D^0.41, g 2.5 D^0.34, n 5 D^0.34.
  for (const Formula& f : {Formula{'d', 16, 0.44}, {'e', 11, 0.41}, {'f', 5.5, 0.41}, {'g', 2.5, 0.34}, {'n', 5, 0.34}})
    for (const auto& s : {std::pair{6., 10.},
                          {10., 18.},
                          {18., 30.},
                          {30., 50.},
                          {50., 80.},
                          {80., 120.},
                          {180., 250.},
                          {400., 500.}}) {
      const double expected = f.factor * std::pow(std::sqrt(s.first * s.second), f.power);
      auto d = ref::deviations(s.second / 1000, {std::string(1, f.letter), 6});
      ASSERT_TRUE(d.ok());
      const double got = f.letter <= 'h' ? -d->upper * 1e6 : d->lower * 1e6;
      EXPECT_NEAR(got, expected, std::max(1.0, 0.03 * expected)) << f.letter << " to " << s.second;
    }
}

TEST(Fits, TheDeltaTableIsTheStepBetweenGrades) {
  // Printed deltas of ISO 286-1 for IT3..IT8 over 3 mm (public transcription).
  const double printed[6][12] = {
      {1, 1, 1, 1.5, 1.5, 2, 2, 3, 3, 4, 4, 5},    {1.5, 1.5, 2, 2, 3, 3, 4, 4, 4, 4, 5, 5},
      {1, 2, 3, 3, 4, 5, 5, 6, 6, 7, 7, 7},        {3, 3, 3, 4, 5, 6, 7, 7, 9, 9, 11, 13},
      {4, 6, 7, 8, 9, 11, 13, 15, 17, 20, 21, 23}, {6, 7, 9, 12, 14, 16, 19, 23, 26, 29, 32, 34}};
  const double up_to[12] = {6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500};
  for (int g = 3; g <= 8; ++g)
    for (int s = 0; s < 12; ++s) {
      const double got =
          (*ref::tolerance_of_grade(up_to[s] / 1000, g) - *ref::tolerance_of_grade(up_to[s] / 1000, g - 1)) * 1e6;
      EXPECT_NEAR(got, printed[g - 3][s], 1e-9) << "IT" << g << " up to " << up_to[s];
    }
}

TEST(Fits, WidthIsTheGradeForEveryClass) {
  for (const char* l : {"d", "e", "f", "g", "h", "js", "k", "m", "n", "p", "r", "s",
                        "D", "E", "F", "G", "H", "JS", "K", "M", "N", "P", "R", "S"})
    for (const double size : {0.001, 0.003, 0.0031, 0.012, 0.05, 0.0501, 0.130, 0.2, 0.3, 0.36, 0.5})
      for (int g = 3; g <= 8; ++g) {
        auto d = ref::deviations(size, {l, g});
        ASSERT_TRUE(d.ok()) << l << g << " " << size;
        EXPECT_NEAR(d->upper - d->lower, *ref::tolerance_of_grade(size, g), 1e-12) << l << g << " " << size;
      }
}

TEST(Fits, RefusesWhatTheTablesDoNotHold) {
  const auto refused = [](const char* text) {
    auto l = unit::parse_limits(text);
    ASSERT_TRUE(l.ok()) << text;
    auto r = ref::limits_of(*l);
    EXPECT_FALSE(r.ok()) << text;
  };
  for (const char* t :
       {"501 H7", "12 a11", "12 C11", "12 t6", "12 zc8", "12 K9", "12 j8", "12 J9", "12 J5", "12 P2", "12 ef6"})
    refused(t);
  EXPECT_FALSE(ref::tolerance_of_grade(0, 7).ok());
  EXPECT_FALSE(ref::tolerance_of_grade(-0.01, 7).ok());
  EXPECT_FALSE(ref::tolerance_of_grade(0.5001, 7).ok());
  EXPECT_FALSE(ref::tolerance_of_grade(std::nan(""), 7).ok());
  EXPECT_FALSE(ref::tolerance_of_grade(0.01, 0).ok());
  EXPECT_FALSE(ref::tolerance_of_grade(0.01, 17).ok());
  EXPECT_TRUE(ref::tolerance_of_grade(0.5, 16).ok());
  unit::Limits no_size;
  no_size.fit = unit::Fit{"H", 7};
  EXPECT_FALSE(ref::limits_of(no_size).ok());
  EXPECT_FALSE(ref::fit_pair(*unit::parse_limits("<= 8 mm"), *unit::parse_limits("8 g6")).ok());
}

TEST(Fits, LimitsWithoutACodePassThrough) {
  auto l = unit::parse_limits("132.00 ± 0.10 mm");
  auto r = ref::limits_of(*l);
  ASSERT_TRUE(r.ok());
  EXPECT_EQ(*r->lower, *l->lower);
  EXPECT_EQ(*r->upper, *l->upper);
  auto inch = ref::limits_of(*unit::parse_limits("0.5 in H7"));
  ASSERT_TRUE(inch.ok());
  EXPECT_EQ(*inch->upper, typed("12.718 mm"));
}

TEST(Fits, EveryTableRowNamesItsSource) {
  EXPECT_GT(ref::fit_table().size(), 300U);
  for (const ref::FitTableRow& r : ref::fit_table()) {
    EXPECT_FALSE(r.source.empty());
    EXPECT_LT(r.over_mm, r.up_to_mm);
  }
}
