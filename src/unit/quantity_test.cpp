#include "unit/quantity.h"

#include <gtest/gtest.h>

using namespace fettle;
using unit::Kind;

namespace {
double si(std::string_view text, Kind kind) {
  auto q = unit::parse(text, kind);
  EXPECT_TRUE(q.ok()) << text << ": " << (q.ok() ? "" : say(q.problem()));
  return q.ok() ? q->si : -12345;
}
}  // namespace

TEST(Quantity, ReadsTheTradeSpellings) {
  EXPECT_EQ(si("25.4 mm", Kind::length), 0.0254);
  EXPECT_EQ(si("1 in", Kind::length), 0.0254);
  EXPECT_EQ(si("0.6250 in", Kind::length), si("15.875 mm", Kind::length));
  EXPECT_EQ(si("2-1/4 in", Kind::length), si("57.15 mm", Kind::length));
  EXPECT_EQ(si("2 1/4\"", Kind::length), si("57.15 mm", Kind::length));
  EXPECT_EQ(si("2¼ in", Kind::length), si("57.15 mm", Kind::length));
  EXPECT_EQ(si("0.5in", Kind::length), 0.0127);
  EXPECT_EQ(si("28 N·m", Kind::torque), 28);
  EXPECT_EQ(si("28 N m", Kind::torque), 28);
  EXPECT_EQ(si("28Nm", Kind::torque), 28);
  EXPECT_NEAR(si("35 ft-lb", Kind::torque), 47.453628, 1e-6);
  EXPECT_EQ(si("1,5 mm", Kind::length), 0.0015);
  EXPECT_EQ(si("20 °C", Kind::temperature), 293.15);
  EXPECT_EQ(si("68 °F", Kind::temperature), 293.15);
  EXPECT_EQ(si("−5 mm", Kind::length), -0.005);
  EXPECT_EQ(si("180 m/min", Kind::speed), 3);
  EXPECT_EQ(si("65 EUR/h", Kind::money_per_hour), 65);
  EXPECT_EQ(si("$ 65", Kind::money), 65);
  EXPECT_EQ(si("10.5e-6 1/K", Kind::expansion), 10.5e-6);
  EXPECT_EQ(si("10.5 µm/(m·K)", Kind::expansion), 10.5e-6);
}

TEST(Quantity, Limits) {
  auto l = unit::parse_limits("0.6250 in +0.0004/-0");
  ASSERT_TRUE(l.ok()) << say(l.problem());
  EXPECT_EQ(*l->upper, si("0.6254 in", Kind::length));
  EXPECT_EQ(*l->lower, si("0.625 in", Kind::length));
  l = unit::parse_limits("132.00 ± 0.10 mm");
  ASSERT_TRUE(l.ok()) << say(l.problem());
  EXPECT_EQ(*l->upper, 0.1321);
  EXPECT_EQ(*l->lower, 0.1319);
  l = unit::parse_limits("Ø22 H5");
  ASSERT_TRUE(l.ok()) << say(l.problem());
  EXPECT_EQ(l->fit->letter, "H");
  EXPECT_TRUE(l->diameter);
}
