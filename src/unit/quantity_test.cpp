#include "unit/quantity.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "base/text.h"

using namespace fettle;
using unit::Kind;
using unit::Style;

namespace {

double si(std::string_view text, Kind kind) {
  auto q = unit::parse(text, kind);
  EXPECT_TRUE(q.ok()) << text << ": " << (q.ok() ? "" : say(q.problem()));
  return q.ok() ? q->si : std::nan("");
}

constexpr std::string_view kAllExamples[] = {
    "0.15",     "2.5 %",    "25.4 mm",    "36.6 mm²",   "360 cm³",       "30°",    "66 s",  "180 m/min",
    "2.5 m/s²", "20 m/s³",  "2000 rpm",   "0.2 mm/rev", "0.08 mm/tooth", "2.6 kg", "20 kN", "28 N·m",
    "640 MPa",  "11 kW",    "60 L/min",   "150 N/µm",   "120 Hz",        "20 °C",  "6 K",   "10.5 µm/(m·K)",
    "9.80 EUR", "65 EUR/h", "46 W/(m·K)", "7.2 kg/dm³", "0.012 kg·m²"};

std::vector<Kind> kinds() {
  std::vector<Kind> out;
  for (int k = 0; k <= static_cast<int>(Kind::conductivity); ++k) out.push_back(static_cast<Kind>(k));
  return out;
}

struct Refusal {
  std::string_view text;
  Kind kind;
  int column;
  std::string_view what, found, nearest;
};
void expect_refused(const Refusal& r) {
  auto q = unit::parse(r.text, r.kind);
  ASSERT_FALSE(q.ok()) << r.text << " was read as " << q->si;
  const Problem& p = q.problem();
  EXPECT_EQ(p.where.column, r.column) << r.text << ": " << say(p);
  EXPECT_NE(p.what.find(r.what), std::string::npos) << r.text << ": " << say(p);
  EXPECT_EQ(p.found, r.found) << r.text << ": " << say(p);
  EXPECT_EQ(p.nearest, r.nearest) << r.text << ": " << say(p);
  EXPECT_EQ(p.fault, Fault::bad_input);
  EXPECT_FALSE(p.expected.empty()) << r.text;
}

}  // namespace

TEST(Quantity, ReadsTheTradeSpellings) {
  struct Case {
    std::string_view text;
    Kind kind;
    double si;
  };
  const Case cases[] = {
      {"25.4 mm", Kind::length, 0.0254},
      {"1 in", Kind::length, 0.0254},
      {"1 inch", Kind::length, 0.0254},
      {"1\"", Kind::length, 0.0254},
      {"1 ″", Kind::length, 0.0254},
      {"2-1/4 in", Kind::length, 0.05715},
      {"2 1/4\"", Kind::length, 0.05715},
      {"2¼ in", Kind::length, 0.05715},
      {"½ in", Kind::length, 0.0127},
      {"-1/2 in", Kind::length, -0.0127},
      {"0.5in", Kind::length, 0.0127},
      {".5 in", Kind::length, 0.0127},
      {"+.005 in", Kind::length, 0.000127},
      {"5/8 in", Kind::length, 0.015875},
      {"2 in.", Kind::length, 0.0508},
      {"3 thou", Kind::length, 0.0000762},
      {"0.4 µm", Kind::length, 4e-7},
      {"0.4 μm", Kind::length, 4e-7},  // Greek mu
      {"0.4 um", Kind::length, 4e-7},
      {"0.4 u", Kind::length, 4e-7},
      {"12 cm", Kind::length, 0.12},
      {"1.5 m", Kind::length, 1.5},
      {"5 MM", Kind::length, 0.005},
      {"1,5 mm", Kind::length, 0.0015},
      {"0,025 mm", Kind::length, 0.000025},
      {"12,34 mm", Kind::length, 0.01234},
      {"1234,567 mm", Kind::length, 1.234567},
      {"1,2345 mm", Kind::length, 0.0012345},
      {"1e-3 m", Kind::length, 0.001},
      {"25.4\u00a0mm", Kind::length, 0.0254},
      {"25.4\u202fmm", Kind::length, 0.0254},
      {"  25.4   mm  ", Kind::length, 0.0254},
      {"−5 mm", Kind::length, -0.005},
      {"- 5 mm", Kind::length, -0.005},
      {"30 deg", Kind::angle, std::numbers::pi / 6},
      {"30°", Kind::angle, std::numbers::pi / 6},
      {"0.5 rad", Kind::angle, 0.5},
      {"60 arcmin", Kind::angle, std::numbers::pi / 180},
      {"20 kN", Kind::force, 20000},
      {"1 lbf", Kind::force, 4.4482216152605},
      {"28 N·m", Kind::torque, 28},
      {"28 N⋅m", Kind::torque, 28},
      {"28 N*m", Kind::torque, 28},
      {"28 N m", Kind::torque, 28},
      {"28 N-m", Kind::torque, 28},
      {"28Nm", Kind::torque, 28},
      {"1 lbf·ft", Kind::torque, 1.3558179483314004},
      {"1 ft-lb", Kind::torque, 1.3558179483314004},
      {"1 ft·lbf", Kind::torque, 1.3558179483314004},
      {"12 in-lb", Kind::torque, 1.3558179483314004},
      {"12 lbf in", Kind::torque, 1.3558179483314004},
      {"192 ozf·in", Kind::torque, 1.3558179483314004},
      {"6 bar", Kind::pressure, 600000},
      {"640 MPa", Kind::pressure, 640e6},
      {"640 N/mm²", Kind::pressure, 640e6},
      {"640 N/mm2", Kind::pressure, 640e6},
      {"640 N/mm^2", Kind::pressure, 640e6},
      {"110 GPa", Kind::pressure, 110e9},
      {"100 psi", Kind::pressure, 689475.72931683614},
      {"1 lb", Kind::mass, 0.45359237},
      {"16 oz", Kind::mass, 0.45359237},
      {"7.2 g/cm3", Kind::density, 7200},
      {"7.2 kg/dm³", Kind::density, 7200},
      {"11 kW", Kind::power, 11000},
      {"1 hp", Kind::power, 745.69987158227022},
      {"60 L/min", Kind::flow, 0.001},
      {"60 l/min", Kind::flow, 0.001},
      {"1 gal/min", Kind::flow, 6.30901964e-5},
      {"180 m/min", Kind::speed, 3},
      {"60000 mm/min", Kind::speed, 1},
      {"100 in/min", Kind::speed, 2.54 / 60},
      {"100 ipm", Kind::speed, 2.54 / 60},
      {"590 sfm", Kind::speed, 590 * 0.3048 / 60},
      {"60 rpm", Kind::rotation, 2 * std::numbers::pi},
      {"60 1/min", Kind::rotation, 2 * std::numbers::pi},
      {"60 min⁻¹", Kind::rotation, 2 * std::numbers::pi},
      {"60 rev/min", Kind::rotation, 2 * std::numbers::pi},
      {"0.2 mm/rev", Kind::feed_per_rev, 0.0002},
      {"0.01 ipr", Kind::feed_per_rev, 0.000254},
      {"0.08 mm/tooth", Kind::feed_per_tooth, 0.00008},
      {"0.003 in/tooth", Kind::feed_per_tooth, 0.0000762},
      {"150 N/µm", Kind::stiffness, 150e6},
      {"150 N/u", Kind::stiffness, 150e6},
      {"800 kN/mm", Kind::stiffness, 800e6},
      {"1 lbf/in", Kind::stiffness, 175.12683524647638},
      {"120 Hz", Kind::frequency, 120},
      {"60 1/min", Kind::frequency, 1},
      {"7200/h", Kind::frequency, 2},
      {"604800 per week", Kind::frequency, 1},
      {"20 °C", Kind::temperature, 293.15},
      {"68 °F", Kind::temperature, 293.15},
      {"68 degF", Kind::temperature, 293.15},
      {"-40 °F", Kind::temperature, 233.15},
      {"20 C", Kind::temperature, 293.15},
      {"6 K", Kind::temperature_difference, 6},
      {"6 °C", Kind::temperature_difference, 6},
      {"9 °F", Kind::temperature_difference, 5},
      {"10.5e-6 1/K", Kind::expansion, 10.5e-6},
      {"10.5e-6/K", Kind::expansion, 10.5e-6},
      {"10.5 µm/(m·K)", Kind::expansion, 10.5e-6},
      {"10.5 µm/m·K", Kind::expansion, 10.5e-6},
      {"10.5 µm/mK", Kind::expansion, 10.5e-6},
      {"5e-6 1/°F", Kind::expansion, 9e-6},
      {"2.5 m/s²", Kind::acceleration, 2.5},
      {"1 g", Kind::acceleration, 9.80665},
      {"20 m/s3", Kind::jerk, 20},
      {"46 W/(m·K)", Kind::conductivity, 46},
      {"46 W/mK", Kind::conductivity, 46},
      {"1.5 min", Kind::time, 90},
      {"2 h", Kind::time, 7200},
      {"1 week", Kind::time, 604800},
      {"2.5 %", Kind::fraction, 0.025},
      {"0.025", Kind::fraction, 0.025},
      {"25 ppm", Kind::fraction, 25e-6},
      {"0.15", Kind::number, 0.15},
      {"1/3", Kind::number, 1.0 / 3},
      {"65 EUR/h", Kind::money_per_hour, 65},
      {"65 EUR per h", Kind::money_per_hour, 65},
      {"$65/h", Kind::money_per_hour, 65},
      {"$ 65", Kind::money, 65},
      {"9,80 €", Kind::money, 9.8},
      {"9.80 EUR", Kind::money, 9.8},
      {"9.80 crowns", Kind::money, 9.8},
      {"33.3 kg·mm²", Kind::inertia, 33.3e-6},
      {"36.6 mm2", Kind::area, 36.6e-6},
      {"1 gal", Kind::volume, 0.003785411784},
  };
  for (const Case& c : cases) {
    const double x = si(c.text, c.kind);
    EXPECT_NEAR(x, c.si, std::fabs(c.si) * 3e-16) << c.text;
  }
}

TEST(Quantity, InchAndMillimetreMeetInTheSameDouble) {
  EXPECT_EQ(si("0.6250 in", Kind::length), si("15.875 mm", Kind::length));
  EXPECT_EQ(si("2-1/4 in", Kind::length), si("57.15 mm", Kind::length));
  EXPECT_EQ(si("1 thou", Kind::length), si("25.4 µm", Kind::length));
  EXPECT_EQ(si("12 in", Kind::length), si("1 ft", Kind::length));
  EXPECT_EQ(si("72 °F", Kind::temperature), si("22.222222222222222222222 °C", Kind::temperature));
  EXPECT_EQ(si("12 lbf·in", Kind::torque), si("1 lbf·ft", Kind::torque));
  std::mt19937_64 random(7);
  for (int i = 0; i < 2000; ++i) {
    const auto n = static_cast<long long>(random() % 10000000);  // ten-thousandths of a thou
    const std::string inch = base::fixed(static_cast<double>(n) / 1e6, 6) + " in";
    const long long nm = n * 254;  // 1e-6 in = 25.4 nm
    const std::string metric = std::to_string(nm / 10) + "." + std::to_string(nm % 10) + "e-9 m";
    EXPECT_EQ(si(inch, Kind::length), si(metric, Kind::length)) << inch;
  }
}

TEST(Quantity, WhatWasTypedIsKept) {
  auto q = unit::parse("  2-1/4 in ", Kind::length);
  ASSERT_TRUE(q.ok());
  EXPECT_EQ(q->typed, "2-1/4 in");
  EXPECT_EQ(q->unit, "in");
  q = unit::parse("65 EUR / h", Kind::money_per_hour);
  ASSERT_TRUE(q.ok());
  EXPECT_EQ(q->typed, "65 EUR / h");
  EXPECT_EQ(q->unit, "EUR/h");
  auto l = unit::parse_limits("Ø 12 H7");
  ASSERT_TRUE(l.ok());
  EXPECT_EQ(l->typed, "Ø 12 H7");
}

TEST(Quantity, RefusesWithPlaceAndReason) {
  const Refusal cases[] = {
      {"", Kind::length, 1, "no number", "", ""},
      {"   ", Kind::length, 4, "no number", "", ""},
      {"mm", Kind::length, 1, "no number", "mm", ""},
      {"25", Kind::length, 1, "a number without a unit", "25", ""},
      {"0", Kind::torque, 1, "a number without a unit", "0", ""},
      {" 25", Kind::length, 2, "a number without a unit", "25", ""},
      {"25 mmm", Kind::length, 4, "unknown unit", "mmm", "mm"},
      {"25 milimetres", Kind::length, 4, "unknown unit", "milimetres", "mm"},
      {"28 N·n", Kind::torque, 4, "unknown unit", "N·n", "N·m"},
      {"5 lbf", Kind::length, 3, "a force where a length is meant", "lbf", ""},
      {"12 lb", Kind::force, 4, "a mass where a force is meant", "lb", "lbf"},
      {"12 kg", Kind::force, 4, "a mass where a force is meant", "kg", "kgf"},
      {"5 nm", Kind::torque, 3, "a length where a torque is meant", "nm", "N·m"},
      {"28 N·m", Kind::force, 4, "a torque where a force is meant", "N·m", ""},
      {"0.2 mm/tooth", Kind::feed_per_rev, 5, "a feed per tooth where a feed per turn is meant", "mm/tooth", ""},
      {"5 kg", Kind::number, 3, "a mass where a number is meant", "kg", ""},
      {"640 mpa", Kind::pressure, 5, "unknown unit", "mpa", "MPa"},
      {"5 M", Kind::length, 3, "unknown unit", "M", ""},
      {"1,234 mm", Kind::length, 1, "a comma before three digits", "1,234", "1.234 or 1234"},
      {"12,345 mm", Kind::length, 1, "a comma before three digits", "12,345", "12.345 or 12345"},
      {"1,234.5 mm", Kind::length, 1, "a comma and a point", "1,234.5", "1234.5"},
      {"1.234,5 mm", Kind::length, 1, "a comma and a point", "1.234,5", ""},
      {"1,234,567 mm", Kind::length, 1, "more than one comma", "1,234,567", "1234567"},
      {"1.2.3 mm", Kind::length, 1, "more than one decimal point", "1.2.3", ""},
      {"3 tenths", Kind::length, 3, "tenths can mean", "tenths", "0.0001 in"},
      {"2 mil", Kind::length, 3, "mil can mean", "mil", "thou"},
      {"1 234 mm", Kind::length, 3, "two numbers", "234 mm", ""},
      {"5-10 mm", Kind::length, 2, "two numbers", "-10 mm", ""},
      {"5 - 10 mm", Kind::length, 3, "two numbers", "- 10 mm", ""},
      {"1/0 in", Kind::length, 3, "a fraction over zero", "1/0", ""},
      {"2-5/4 in", Kind::length, 3, "below one", "2-5/4", ""},
      {"nan mm", Kind::length, 1, "no number", "nan", ""},
      {"inf mm", Kind::length, 1, "no number", "inf", ""},
      {"1e400 mm", Kind::length, 1, "too large", "1e400", ""},
      {"25 mm extra", Kind::length, 4, "unknown unit", "mm extra", ""},
      {"25 mm (5)", Kind::length, 7, "left over", "(5)", ""},
      {"−5 mmm", Kind::length, 4, "unknown unit", "mmm", "mm"},  // the column counts code points, not bytes
      {"-300 °C", Kind::temperature, 1, "below absolute zero", "-300 °C", ""},
      {"5", Kind::money, 1, "without a currency", "5", ""},
      {"5 mm", Kind::money, 3, "a length where a sum of money is meant", "mm", ""},
      {"65 EUR", Kind::money_per_hour, 4, "a sum where money per hour", "65 EUR", ""},
      {"65 EUR/h", Kind::money, 4, "money per hour where a sum", "65 EUR/h", ""},
      {"65 EUR/min", Kind::money_per_hour, 8, "money per what", "min", "h"},
      {"EUR 5 USD", Kind::money, 7, "two currencies", "EUR 5 USD", ""},
      {"5 \xC2\xB5\xC2\xB5", Kind::length, 3, "unknown unit", "µµ", "µm"},
      {"5 \xE2\x98\x83", Kind::length, 3, "unknown unit", "\xE2\x98\x83", ""},
      {"\xFF mm", Kind::length, 1, "UTF-8", "", ""},
  };
  for (const Refusal& r : cases) expect_refused(r);
}

TEST(Quantity, EveryKindHasAnExampleThatReadsAndABareNumberThatDoesNot) {
  for (Kind k : kinds()) {
    EXPECT_TRUE(unit::parse(unit::example(k), k).ok()) << unit::word(k) << " " << unit::example(k);
    const bool bare_ok = k == Kind::number || k == Kind::fraction;
    EXPECT_EQ(unit::parse("5", k).ok(), bare_ok) << unit::word(k);
  }
  EXPECT_EQ(std::size(kAllExamples), kinds().size());
}

TEST(Quantity, NoExampleReadsAsAnotherKind) {
  // Kinds that share a unit on purpose: a temperature and its difference, g of mass and of acceleration are not in the
  // examples; 1/min is read as a rotation and as a frequency.
  for (Kind a : kinds())
    for (Kind b : kinds()) {
      if (a == b || (a == Kind::number && b == Kind::fraction)) continue;
      const bool shared = (a == Kind::temperature && b == Kind::temperature_difference) ||
                          (a == Kind::temperature_difference && b == Kind::temperature);
      EXPECT_EQ(unit::parse(unit::example(a), b).ok(), shared) << unit::example(a) << " as " << unit::word(b);
    }
}

TEST(Quantity, EverySpellingOfEveryUnitReads) {
  for (const unit::Unit& u : unit::units())
    for (std::string_view s : u.spellings) {
      auto q = unit::parse("3 " + std::string(s), u.kind);
      ASSERT_TRUE(q.ok()) << s << ": " << say(q.problem());
      EXPECT_EQ(q->unit, u.symbol) << s;
      EXPECT_NEAR(q->si, 3 * u.factor + u.offset, std::fabs(q->si) * 4e-16) << s;
    }
}

TEST(Quantity, WriteReadsBackToTheSameDouble) {
  std::mt19937_64 random(11);
  for (const unit::Unit& u : unit::units()) {
    for (int i = 0; i < 300; ++i) {
      const double mantissa = static_cast<double>(random() >> 11U) * 0x1p-53;
      const double x = std::ldexp(1 + mantissa, static_cast<int>(random() % 60) - 40) *
                       (u.kind != Kind::temperature && random() % 2 ? -1 : 1);
      const std::string text = unit::write(x, u.kind, u.symbol);
      auto q = unit::parse(text, u.kind);
      ASSERT_TRUE(q.ok()) << text << ": " << say(q.problem());
      ASSERT_EQ(q->si, x) << text << " in " << u.symbol;
    }
  }
  for (Kind k : kinds()) {
    if (k == Kind::money || k == Kind::money_per_hour) continue;
    for (double x : {0.0, 1.0, 1e-300, 1e300, 4.9e-324, 273.15, 1.0 / 3}) {
      auto q = unit::parse(unit::write(x, k), k);
      ASSERT_TRUE(q.ok()) << unit::write(x, k);
      EXPECT_EQ(q->si, x) << unit::write(x, k);
    }
  }
}

TEST(Quantity, WriteIsTheShortestText) {
  EXPECT_EQ(unit::write(0.0254, Kind::length), "25.4 mm");
  EXPECT_EQ(unit::write(0.0254, Kind::length, "in"), "1 in");
  EXPECT_EQ(unit::write(0.05715, Kind::length, "in"), "2.25 in");
  EXPECT_EQ(unit::write(28, Kind::torque), "28 N·m");
  EXPECT_EQ(unit::write(293.15, Kind::temperature), "20 °C");
  EXPECT_EQ(unit::write(273.15, Kind::temperature), "0 °C");
  EXPECT_EQ(unit::write(293.15, Kind::temperature, "°F"), "68 °F");
  EXPECT_EQ(unit::write(0.001, Kind::fraction), "0.1 %");
  EXPECT_EQ(unit::write(0.12, Kind::number), "0.12");
  EXPECT_EQ(unit::write(-0.0, Kind::length), "0 mm");
  EXPECT_EQ(unit::write(9.8, Kind::money, "EUR"), "9.8 EUR");
  EXPECT_EQ(unit::write(1e6, Kind::length), "1000000000 mm");
  EXPECT_EQ(unit::write(si("240/week", Kind::frequency), Kind::frequency, "1/week"), "240/week");
  EXPECT_EQ(unit::write(si("30 deg", Kind::angle), Kind::angle), "30°");
}

TEST(Quantity, ValueInAUnit) {
  EXPECT_EQ(unit::in_unit(0.0254, "mm"), 25.4);
  EXPECT_EQ(unit::in_unit(0.0254, "in"), 1);
  EXPECT_EQ(unit::in_unit(293.15, "°C"), 20);
  EXPECT_EQ(unit::in_unit(5, "°F", Kind::temperature_difference), 9);
  EXPECT_EQ(unit::in_unit(si("2000 rpm", Kind::rotation), "rpm"), 2000);
  EXPECT_EQ(unit::in_unit(0.0026, "g"), 2.6);
  EXPECT_TRUE(std::isnan(unit::in_unit(1, "furlong")));
  EXPECT_TRUE(std::isnan(unit::in_unit(1, "mm", Kind::force)));
  for (const unit::Unit& u : unit::units())
    for (const char* n : {"0.1", "25.4", "3.7", "0.039", "111.21", "4500", "1e-7"})
      EXPECT_EQ(unit::in_unit(si(std::string(n) + " " + std::string(u.symbol), u.kind), u.symbol, u.kind),
                *base::to_double(n))
          << n << " " << u.symbol;
}

TEST(Print, WhatGaugesReadIsSaidInMillionths) {
  Style metric, inch;
  metric.gauge = inch.gauge = true;
  inch.system = Style::System::inch;
  struct Case {
    double si;
    const char *metric, *inch;
  };
  for (const Case& c :
       {Case{0.4e-6, "0.4 µm", "16 µin"}, Case{1.6e-6, "1.6 µm", "63 µin"}, Case{-0.63e-6, "-0.6 µm", "-25 µin"},
        Case{9.99e-6, "10.0 µm", "0.000395 in"}, Case{12e-6, "0.0120 mm", "0.000470 in"},
        Case{22.0016e-3, "22.0016 mm", "0.866205 in"}, Case{0, "0.0000 mm", "0.000000 in"}}) {
    EXPECT_EQ(print(c.si, Kind::length, metric), c.metric);
    EXPECT_EQ(print(c.si, Kind::length, inch), c.inch);
  }
}

TEST(Print, ReadsWell) {
  struct Case {
    const char* text;
    Kind kind;
    const char *metric, *inch;
  };
  const Case cases[] = {
      {"36 mm", Kind::length, "36.000 mm", "1.4173 in"},
      {"36.0016 mm", Kind::length, "36.002 mm", "1.4174 in"},
      {"-0.4 mm", Kind::length, "-0.400 mm", "-0.0157 in"},
      {"0 mm", Kind::length, "0.000 mm", "0.0000 in"},
      {"0.4 µm", Kind::length, "0.4 µm", "16 µin"},
      {"-0.25 µm", Kind::length, "-0.25 µm", "-9.8 µin"},
      {"0.0000001 nm", Kind::length, "0.000 mm", "0.0000 in"},
      {"1 µm", Kind::length, "0.001 mm", "39 µin"},
      {"1500 m", Kind::length, "1500.000 m", "4921.260 ft"},
      {"28 N·m", Kind::torque, "28 N·m", "20.65 lbf·ft"},
      {"4 N·m", Kind::torque, "4 N·m", "35.4 lbf·in"},
      {"35 lbf·ft", Kind::torque, "47.45 N·m", "35 lbf·ft"},
      {"20 kN", Kind::force, "20 kN", "4496 lbf"},
      {"300 N", Kind::force, "300 N", "67.44 lbf"},
      {"1234.56 N", Kind::force, "1235 N", "277.5 lbf"},
      {"0.123456", Kind::number, "0.1235", "0.1235"},
      {"123456", Kind::number, "123456", "123456"},
      {"0.00001234", Kind::number, "1.234e-5", "1.234e-5"},
      {"12345678900", Kind::number, "1.235e10", "1.235e10"},
      {"0.12 %", Kind::fraction, "0.12 %", "0.12 %"},
      {"12 ppm", Kind::fraction, "12 ppm", "12 ppm"},
      {"6 bar", Kind::pressure, "0.6 MPa", "87.02 psi"},
      {"640 MPa", Kind::pressure, "640 MPa", "92.82 ksi"},
      {"110 GPa", Kind::pressure, "110 GPa", "15.95 Mpsi"},
      {"2.6 kg", Kind::mass, "2.6 kg", "5.732 lb"},
      {"20 g", Kind::mass, "20 g", "0.7055 oz"},
      {"11 kW", Kind::power, "11 kW", "14.75 hp"},
      {"60 L/min", Kind::flow, "60 L/min", "15.85 gal/min"},
      {"770 mm/min", Kind::speed, "770 mm/min", "30.31 in/min"},
      {"180 m/min", Kind::speed, "180 m/min", "590.6 ft/min"},
      {"2000 rpm", Kind::rotation, "2000 rpm", "2000 rpm"},
      {"0.2 mm/rev", Kind::feed_per_rev, "0.2 mm/rev", "0.007874 in/rev"},
      {"150 N/µm", Kind::stiffness, "150 N/µm", "856522 lbf/in"},
      {"20 °C", Kind::temperature, "20 °C", "68 °F"},
      {"0 °C", Kind::temperature, "0 °C", "32 °F"},
      {"6 K", Kind::temperature_difference, "6 K", "10.8 °F"},
      {"1.5°", Kind::angle, "1.5°", "1.5°"},
      {"0.05 mrad", Kind::angle, "0.05 mrad", "0.05 mrad"},
      {"66.4 s", Kind::time, "66.4 s", "66.4 s"},
      {"21.8 min", Kind::time, "21.8 min", "21.8 min"},
      {"240/week", Kind::frequency, "240/week", "240/week"},
      {"22/h", Kind::frequency, "22/h", "22/h"},
      {"65 EUR/h", Kind::money_per_hour, "65.00/h", "65.00/h"},
      {"10.5 µm/(m·K)", Kind::expansion, "10.5 µm/(m·K)", "5.833 µin/(in·°F)"},
  };
  for (const Case& c : cases) {
    const double x = si(c.text, c.kind);
    EXPECT_EQ(unit::print(x, c.kind), c.metric) << c.text;
    EXPECT_EQ(unit::print(x, c.kind, {Style::System::inch, false}), c.inch) << c.text;
  }
  EXPECT_EQ(unit::print(0.0220043, Kind::length, {Style::System::metric, true}), "22.0043 mm");
  EXPECT_EQ(unit::print(0.02200432, Kind::length, {Style::System::inch, true}), "0.866310 in");
  EXPECT_EQ(unit::print(-0.0, Kind::length), "0.000 mm");
  EXPECT_EQ(unit::print(-0.0, Kind::torque), "0 N·m");
  EXPECT_EQ(unit::print(-0.0, Kind::number), "0");
  EXPECT_EQ(unit::print(std::nan(""), Kind::length), "not known");
  EXPECT_EQ(unit::print(INFINITY, Kind::length), "no upper end");
}

TEST(Print, StaysWithinItsResolutionAndReadsBack) {
  std::mt19937_64 random(3);
  for (const auto system : {Style::System::metric, Style::System::inch})
    for (const bool gauge : {false, true})
      for (int i = 0; i < 3000; ++i) {
        const double x = std::ldexp(static_cast<double>(random() >> 11U) * 0x1p-53, -static_cast<int>(random() % 12)) *
                         (random() % 2 ? -1 : 1);
        const std::string text = unit::print(x, Kind::length, {system, gauge});
        const double step = system == Style::System::inch ? (gauge ? 5e-6 : 1e-4) * 0.0254 : gauge ? 1e-7 : 1e-6;
        EXPECT_NEAR(si(text, Kind::length), x, step * 0.5000001) << text;
      }
  for (Kind k : kinds()) {
    if (k == Kind::length || k == Kind::money || k == Kind::money_per_hour || k == Kind::temperature) continue;
    for (const auto system : {Style::System::metric, Style::System::inch})
      for (int i = 0; i < 500; ++i) {
        const double x =
            std::ldexp(1 + static_cast<double>(random() >> 11U) * 0x1p-53, static_cast<int>(random() % 60) - 30);
        const std::string text = unit::print(x, k, {system, false});
        EXPECT_NEAR(si(text, k), x, x * 0.00051) << text;
      }
  }
}
