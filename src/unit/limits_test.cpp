#include <gtest/gtest.h>

#include <cmath>

#include "unit/quantity.h"

using namespace fettle;
using unit::Kind;

namespace {

double si(std::string_view text, Kind kind = Kind::length) {
  auto q = unit::parse(text, kind);
  EXPECT_TRUE(q.ok()) << text;
  return q.ok() ? q->si : std::nan("");
}

struct Case {
  std::string_view text;
  std::string_view nominal, lower, upper;  // empty: none
  Kind kind = Kind::length;
};

}  // namespace

TEST(Limits, AllFormsInTheSameDoublesAsIfTyped) {
  const Case cases[] = {
      {"132.00 ± 0.10 mm", "132 mm", "131.9 mm", "132.1 mm"},
      {"132.00 +- 0.10 mm", "132 mm", "131.9 mm", "132.1 mm"},
      {"132.00 +/- 0.10 mm", "132 mm", "131.9 mm", "132.1 mm"},
      {"132.00 mm ± 0.10", "132 mm", "131.9 mm", "132.1 mm"},
      {"132.00 mm ± 0.10 mm", "132 mm", "131.9 mm", "132.1 mm"},
      {"132,00 ± 0,10 mm", "132 mm", "131.9 mm", "132.1 mm"},
      {"25 mm ± 10 µm", "25 mm", "24.99 mm", "25.01 mm"},
      {"0.6250 in +0.0004/-0", "0.625 in", "0.625 in", "0.6254 in"},
      {"0.6250 +0.0004/-0 in", "0.625 in", "0.625 in", "0.6254 in"},
      {"0.5 in +.005/-.000", "0.5 in", "0.5 in", "0.505 in"},
      {"2-1/4 in +0.005/-0.005", "2.25 in", "2.245 in", "2.255 in"},
      {"50 +0.039/0 mm", "50 mm", "50 mm", "50.039 mm"},
      {"50 mm 0/-0.039", "50 mm", "49.961 mm", "50 mm"},
      {"54.00 +0.08 -0 mm", "54 mm", "54 mm", "54.08 mm"},
      {"25 mm +0.012/+0.002", "25 mm", "25.002 mm", "25.012 mm"},
      {"25 mm −0.020/−0.041", "25 mm", "24.959 mm", "24.98 mm"},
      {"25 mm + 0.1 / - 0.2", "25 mm", "24.8 mm", "25.1 mm"},
      {"8.000..8.015 mm", "", "8 mm", "8.015 mm"},
      {"8.000 mm .. 8.015 mm", "", "8 mm", "8.015 mm"},
      {"8.000…8.015 mm", "", "8 mm", "8.015 mm"},
      {"8.000 to 8.015 mm", "", "8 mm", "8.015 mm"},
      {"-0.5..0.5 mm", "", "-0.5 mm", "0.5 mm"},
      {"8..8 mm", "", "8 mm", "8 mm"},
      {"<= 0.4 µm", "", "", "0.4 µm"},
      {"≤0.4 µm", "", "", "0.4 µm"},
      {"max 0.03 mm", "", "", "0.03 mm"},
      {"0.03 mm max", "", "", "0.03 mm"},
      {"0.03 mm max.", "", "", "0.03 mm"},
      {">= 0.8 mm", "", "0.8 mm", ""},
      {"≥ 0.8 mm", "", "0.8 mm", ""},
      {"min 0.8 mm", "", "0.8 mm", ""},
      {"0.8 mm min", "", "0.8 mm", ""},
      {"Ø54.00 +0.08/0 mm", "54 mm", "54 mm", "54.08 mm"},
      {"20 ± 2 °C", "20 °C", "18 °C", "22 °C", Kind::temperature},
      {"68 °F ± 4 °F", "68 °F", "64 °F", "72 °F", Kind::temperature},
      {"5 min max", "", "", "5 min", Kind::time},
      {"max 5 min", "", "", "5 min", Kind::time},
      {"28 N·m ± 6 %", "28 N·m", "26.32 N·m", "29.68 N·m", Kind::torque},
      {"10 % ± 2 %", "10 %", "8 %", "12 %", Kind::fraction},
      {"30° ± 0.5°", "30°", "29.5°", "30.5°", Kind::angle},
      {"0.08..0.20", "", "0.08", "0.2", Kind::number},
  };
  for (const Case& c : cases) {
    auto l = unit::parse_limits(c.text, c.kind);
    ASSERT_TRUE(l.ok()) << c.text << ": " << say(l.problem());
    const auto same = [&](std::string_view name, std::string_view text, const std::optional<double>& got) {
      ASSERT_EQ(!text.empty(), got.has_value()) << c.text << " " << name;
      if (got) {
        EXPECT_EQ(*got, si(text, c.kind)) << c.text << " " << name;
      }
    };
    same("nominal", c.nominal, l->nominal);
    same("lower", c.lower, l->lower);
    same("upper", c.upper, l->upper);
    EXPECT_FALSE(l->fit.has_value()) << c.text;
    EXPECT_EQ(l->typed, c.text);
  }
}

TEST(Limits, FitCodes) {
  struct Fit {
    std::string_view text, size, letter;
    int grade;
    bool diameter;
  };
  const Fit cases[] = {{"Ø22 H5", "22 mm", "H", 5, true},        {"Ø22H5", "22 mm", "H", 5, true},
                       {"⌀ 22 H5", "22 mm", "H", 5, true},       {"dia 8 g6", "8 mm", "g", 6, true},
                       {"8 g6 mm", "8 mm", "g", 6, false},       {"12 mm H7", "12 mm", "H", 7, false},
                       {"22 m6", "22 mm", "m", 6, false},        {"22 JS9", "22 mm", "JS", 9, false},
                       {"22 js16 mm", "22 mm", "js", 16, false}, {"0.5 in H7", "0.5 in", "H", 7, false},
                       {"12,5 H7", "12.5 mm", "H", 7, false},    {"22 za7", "22 mm", "za", 7, false}};
  for (const Fit& c : cases) {
    auto l = unit::parse_limits(c.text);
    ASSERT_TRUE(l.ok()) << c.text << ": " << say(l.problem());
    ASSERT_TRUE(l->fit.has_value()) << c.text;
    EXPECT_EQ(l->fit->letter, c.letter) << c.text;
    EXPECT_EQ(l->fit->grade, c.grade) << c.text;
    EXPECT_EQ(l->diameter, c.diameter) << c.text;
    EXPECT_EQ(*l->nominal, si(c.size)) << c.text;
    EXPECT_FALSE(l->lower || l->upper) << c.text;
  }
}

TEST(Limits, RefusedWithPlaceAndReason) {
  struct Refusal {
    std::string_view text;
    int column;
    std::string_view what, nearest;
    Kind kind = Kind::length;
  };
  const Refusal cases[] = {
      {"", 1, "no number", ""},
      {"25 mm", 1, "a value without limits", ""},
      {"25 ± 0.1", 6, "without a unit", ""},
      {"25 +0.1/-0.1", 9, "without a unit", ""},
      {"8.0..8.1", 6, "without a unit", ""},
      {"<= 0.4", 4, "without a unit", ""},
      {"0.25 max", 1, "without a unit", ""},
      {"25 ± -0.1 mm", 6, "a signed number after", ""},
      {"25 mm -0.2/-0.1", 7, "upper deviation is below", "-0.1/-0.2"},
      {"25 mm -0.1/+0.2", 7, "upper deviation is below", "+0.2/-0.1"},
      {"25 mm +0.1/0.2", 12, "without its sign", ""},
      {"8.015..8.000 mm", 1, "upper limit is below", "8.000..8.015"},
      {".4985...4990 in", 6, "three dots", ".4985..0.4990 or .4985..4990"},
      {"5.000 ± 1 thou", 1, "without a unit before a deviation in thou", "5.000 in ± 1 thou"},
      {"5 mm +0.1", 6, "one deviation", ""},
      {"8.000-8.015 mm", 6, "one deviation", ""},
      {"12 Q7", 4, "no fit letter", ""},
      {"12 H17", 5, "outside IT1 to IT16", ""},
      {"12 H0", 5, "outside IT1 to IT16", ""},
      {"12 Js7", 4, "capital for a hole", "js7"},
      {"12 H7/g6", 6, "a hole and a shaft", ""},
      {"0 H7", 1, "above zero", ""},
      {"-5 H7", 1, "above zero", ""},
      {"12 H7 lbf", 7, "a force where a length is meant", ""},
      {"1,234 ± 0,1 mm", 1, "a comma before three digits", "1.234 or 1234"},
      {"25 mm ± 0.1 lbf", 13, "a force where a length is meant", ""},
      {"25 mm ± 0.1 mm 3", 16, "two numbers", ""},
      {"Ø 25 mmm ± 1", 6, "unknown unit", "mm"},
      {"5 min", 1, "a value without limits", "", Kind::time},
      {"max 9 EUR", 1, "money takes no limits", "", Kind::money},
      {"-280..0 °C", 1, "below absolute zero", "", Kind::temperature},
      {"1e400 ± 1 mm", 1, "too large", ""},
  };
  for (const Refusal& r : cases) {
    auto l = unit::parse_limits(r.text, r.kind);
    ASSERT_FALSE(l.ok()) << r.text;
    EXPECT_EQ(l.problem().where.column, r.column) << r.text << ": " << say(l.problem());
    EXPECT_NE(l.problem().what.find(r.what), std::string::npos) << r.text << ": " << say(l.problem());
    EXPECT_EQ(l.problem().nearest, r.nearest) << r.text << ": " << say(l.problem());
    EXPECT_FALSE(l.problem().expected.empty()) << r.text;
  }
}

TEST(Banded, ReadsValueAndBand) {
  auto b = unit::parse_banded("150 N/µm (50..300)", Kind::stiffness);
  ASSERT_TRUE(b.ok()) << say(b.problem());
  EXPECT_EQ(b->value.si, 150e6);
  EXPECT_EQ(b->low, 50e6);
  EXPECT_EQ(b->high, 300e6);
  EXPECT_TRUE(b->has_band);
  EXPECT_EQ(b->value.typed, "150 N/µm (50..300)");
  b = unit::parse_banded("0.12 (0.08..0.20)", Kind::number);
  ASSERT_TRUE(b.ok());
  EXPECT_EQ(b->low, 0.08);
  b = unit::parse_banded("25 mm", Kind::length);
  ASSERT_TRUE(b.ok());
  EXPECT_FALSE(b->has_band);
  EXPECT_EQ(b->low, 0.025);
  EXPECT_EQ(b->high, 0.025);
  b = unit::parse_banded("46 W/(m·K) (40..50)", Kind::conductivity);
  ASSERT_TRUE(b.ok()) << say(b.problem());
  EXPECT_EQ(b->high, 50);
  b = unit::parse_banded("0.15 (± 20 %)", Kind::number);
  ASSERT_TRUE(b.ok()) << say(b.problem());
  EXPECT_NEAR(b->low, 0.12, 1e-16);
  EXPECT_NEAR(b->high, 0.18, 1e-16);
  b = unit::parse_banded("20 °C (10..30)", Kind::temperature);
  ASSERT_TRUE(b.ok()) << say(b.problem());
  EXPECT_EQ(b->high, 303.15);
  b = unit::parse_banded("20 mm (15 mm..1 in)", Kind::length);
  ASSERT_TRUE(b.ok()) << say(b.problem());
  EXPECT_EQ(b->high, 0.0254);
}

TEST(Banded, RefusesBadBands) {
  for (const auto& [text, column] : {std::pair{"0.12 (0.2..0.3)", 6},
                                     {"0.12 (0.3..0.2)", 7},
                                     {"0.12 (0.08-0.2)", 7},
                                     {"0.12 (0.08..0.2", 16},
                                     {"0.12 ()", 7},
                                     {"0.12 (0.1..0.2) x", 18},
                                     {"0.12 (± -5 %)", 9},
                                     {"(0.1..0.2)", 1},
                                     {"0.12 (0.1..0.2 mm)", 16}}) {
    auto b = unit::parse_banded(text, Kind::number);
    ASSERT_FALSE(b.ok()) << text;
    EXPECT_EQ(b.problem().where.column, column) << text << ": " << say(b.problem());
  }
  EXPECT_FALSE(unit::parse_banded("9 EUR (8..10)", Kind::money).ok());
  EXPECT_FALSE(unit::parse_banded("25 (20..30)", Kind::length).ok());
}

TEST(Spread, ReadsAllForms) {
  using F = unit::Spread::Family;
  struct S {
    std::string_view text;
    Kind kind;
    F family;
    double mean, s, half;
  };
  const double root3 = std::sqrt(3.0);
  const S cases[] = {
      {"normal s 0.012 mm", Kind::length, F::normal, 0, 0.000012, 0},
      {"s 0.012 mm", Kind::length, F::normal, 0, 0.000012, 0},
      {"σ 0.012 mm", Kind::length, F::normal, 0, 0.000012, 0},
      {"± 0.012 mm", Kind::length, F::normal, 0, 0.000004, 0},
      {"normal ± 0.012 mm", Kind::length, F::normal, 0, 0.000004, 0},
      {"uniform ± 2 K", Kind::temperature_difference, F::uniform, 0, 2 / root3, 2},
      {"0.01..0.03 mm", Kind::length, F::uniform, 0.00002, 0.00001 / root3, 0.00001},
      {"uniform 0..10 K", Kind::temperature_difference, F::uniform, 5, 5 / root3, 5},
      {"5 ± 3 K", Kind::temperature_difference, F::normal, 5, 1, 0},
      {"20 ± 3 °C", Kind::temperature, F::normal, 293.15, 1, 0},
      {"66.4 s s 8.5 s", Kind::time, F::normal, 66.4, 8.5, 0},
      {"46 mm s 0.3 mm", Kind::length, F::normal, 0.046, 0.0003, 0},
      {"46 s 0.3 mm", Kind::length, F::normal, 0.046, 0.0003, 0},
      {"100 N ± 6 %", Kind::force, F::normal, 100, 2, 0},
      {"s 0", Kind::number, F::normal, 0, 0, 0},
  };
  for (const S& c : cases) {
    auto s = unit::parse_spread(c.text, c.kind);
    ASSERT_TRUE(s.ok()) << c.text << ": " << say(s.problem());
    EXPECT_EQ(s->family, c.family) << c.text;
    EXPECT_NEAR(s->mean, c.mean, std::fabs(c.mean) * 1e-15) << c.text;
    EXPECT_NEAR(s->s, c.s, c.s * 1e-14) << c.text;
    EXPECT_NEAR(s->half_width, c.half, c.half * 1e-14) << c.text;
    EXPECT_EQ(s->typed, c.text);
  }
}

TEST(Spread, RefusesWhatItCannotMean) {
  for (const auto& [text, column] : {std::pair{"0.01 mm", 1},
                                     {"± -1 mm", 3},
                                     {"s -0.1 mm", 3},
                                     {"normal 1..2 mm", 8},
                                     {"± 0.01", 3},
                                     {"uniform s 2 mm", 9},
                                     {"", 1},
                                     {"3..1 mm", 1},
                                     {"± 1 mm x", 5},
                                     {"± 5 N", 5},
                                     {"gaussian 1 mm", 1}}) {
    auto s = unit::parse_spread(text, Kind::length);
    ASSERT_FALSE(s.ok()) << text;
    EXPECT_EQ(s.problem().where.column, column) << text << ": " << say(s.problem());
  }
}
