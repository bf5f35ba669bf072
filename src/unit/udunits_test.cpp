// Every factor of the unit table against a general units library that knows nothing of ours.
#include <gtest/gtest.h>
#if __has_include(<udunits2.h>)
#include <udunits2.h>
#else
#include <udunits2/udunits2.h>
#endif

#include <cmath>
#include <map>
#include <string>

#include "published.h"
#include "unit/quantity.h"

using namespace fettle;
using unit::Kind;

namespace {
/// How the library spells a unit; `ours` is the symbol. Products and quotients are rewritten by hand so that a slip in
/// our table is not copied. The library's own gallon and ounce are rounded to seven digits, so they are spelled by what
/// defines them (231 cubic inches, a sixteenth of a pound).
std::string spelled(const unit::Unit& u) {
  static const std::map<std::string, std::string> hand = {{"thou", "1e-3 inch"},
                                                          {"µin", "1e-6 inch"},
                                                          {"in", "inch"},
                                                          {"ft", "foot"},
                                                          {"°", "degree"},
                                                          {"turn", "2 pi radian"},
                                                          {"rad", "radian"},
                                                          {"mrad", "milliradian"},
                                                          {"µrad", "microradian"},
                                                          {"arcmin", "arcminute"},
                                                          {"arcsec", "arcsecond"},
                                                          {"min", "minute"},
                                                          {"h", "hour"},
                                                          {"in²", "inch^2"},
                                                          {"ft²", "foot^2"},
                                                          {"in³", "inch^3"},
                                                          {"ft³", "foot^3"},
                                                          {"gal", "231 inch^3"},
                                                          {"L", "liter"},
                                                          {"m/min", "m/minute"},
                                                          {"mm/min", "mm/minute"},
                                                          {"ft/min", "foot/minute"},
                                                          {"in/min", "inch/minute"},
                                                          {"in/s", "inch/s"},
                                                          {"ft/s", "foot/s"},
                                                          {"km/h", "km/hour"},
                                                          {"ft/s²", "foot/s^2"},
                                                          {"in/s²", "inch/s^2"},
                                                          {"ft/s³", "foot/s^3"},
                                                          {"in/s³", "inch/s^3"},
                                                          {"rpm", "2 pi radian/minute"},
                                                          {"rev/s", "2 pi radian/s"},
                                                          {"°/s", "degree/s"},
                                                          {"rad/s", "radian/s"},
                                                          {"mm/rev", "mm"},
                                                          {"in/rev", "inch"},
                                                          {"µm/rev", "um"},
                                                          {"mm/tooth", "mm"},
                                                          {"in/tooth", "inch"},
                                                          {"µm/tooth", "um"},
                                                          {"lb", "pound"},
                                                          {"oz", "0.0625 pound"},
                                                          {"lb/in³", "pound/inch^3"},
                                                          {"lb/ft³", "pound/foot^3"},
                                                          {"lb·in²", "pound inch^2"},
                                                          {"lbf", "pound_force"},
                                                          {"ozf", "0.0625 pound_force"},
                                                          {"kgf", "kilogram_force"},
                                                          {"kip", "1000 pound_force"},
                                                          {"lbf·ft", "pound_force foot"},
                                                          {"lbf·in", "pound_force inch"},
                                                          {"ozf·in", "0.0625 pound_force inch"},
                                                          {"psi", "pound_force/inch^2"},
                                                          {"ksi", "1000 pound_force/inch^2"},
                                                          {"Mpsi", "1e6 pound_force/inch^2"},
                                                          {"hp", "550 foot pound_force/s"},
                                                          {"L/min", "liter/minute"},
                                                          {"L/s", "liter/s"},
                                                          {"mL/min", "milliliter/minute"},
                                                          {"m³/h", "m^3/hour"},
                                                          {"gal/min", "231 inch^3/minute"},
                                                          {"lbf/in", "pound_force/inch"},
                                                          {"lbf/thou", "1000 pound_force/inch"},
                                                          {"1/min", "1/minute"},
                                                          {"1/h", "1/hour"},
                                                          {"1/week", "1/week"},
                                                          {"µm/(m·K)", "um/m/K"},
                                                          {"mm/(m·K)", "mm/m/K"},
                                                          {"µin/(in·°F)", "1e-6/(0.55555555555555555556 K)"},
                                                          {"1/°F", "1/(0.55555555555555555556 K)"},
                                                          {"%", "percent"},
                                                          {"‰", "1e-3"},
                                                          {"ppm", "1e-6"},
                                                          {"°C", "degC"},
                                                          {"°F", "degF"},
                                                          {"dm", "decimeter"},
                                                          {"cm³", "cm^3"},
                                                          {"mm³", "mm^3"},
                                                          {"m³", "m^3"},
                                                          {"mm²", "mm^2"},
                                                          {"cm²", "cm^2"},
                                                          {"m²", "m^2"},
                                                          {"µm", "um"},
                                                          {"m/s²", "m/s^2"},
                                                          {"mm/s²", "mm/s^2"},
                                                          {"m/s³", "m/s^3"},
                                                          {"mm/s³", "mm/s^3"},
                                                          {"kg/dm³", "kg/dm^3"},
                                                          {"g/cm³", "g/cm^3"},
                                                          {"kg/m³", "kg/m^3"},
                                                          {"kg·m²", "kg m^2"},
                                                          {"kg·cm²", "kg cm^2"},
                                                          {"kg·mm²", "kg mm^2"},
                                                          {"g·mm²", "g mm^2"},
                                                          {"N·m", "N m"},
                                                          {"kN·m", "kN m"},
                                                          {"N·cm", "N cm"},
                                                          {"N·mm", "N mm"},
                                                          {"N/µm", "N/um"},
                                                          {"kN/µm", "kN/um"},
                                                          {"m³/s", "m^3/s"},
                                                          {"W/(m·K)", "W/m/K"},
                                                          {"t", "tonne"}};
  std::string symbol(u.symbol);
  if (symbol == "g" && u.kind == Kind::acceleration) return "standard_free_fall";
  if (u.kind == Kind::temperature_difference && symbol == "°C") return "K";
  if (u.kind == Kind::temperature_difference && symbol == "°F") return "0.55555555555555555556 K";
  const auto it = hand.find(symbol);
  return it == hand.end() ? symbol : it->second;
}

/// The SI unit of a kind in the library's words.
std::string coherent(Kind kind) {
  switch (kind) {
    case Kind::number:
    case Kind::fraction:
      return "1";
    case Kind::length:
    case Kind::feed_per_rev:
    case Kind::feed_per_tooth:
      return "m";
    case Kind::area:
      return "m^2";
    case Kind::volume:
      return "m^3";
    case Kind::angle:
      return "radian";
    case Kind::time:
      return "s";
    case Kind::speed:
      return "m/s";
    case Kind::acceleration:
      return "m/s^2";
    case Kind::jerk:
      return "m/s^3";
    case Kind::rotation:
      return "radian/s";
    case Kind::mass:
      return "kg";
    case Kind::density:
      return "kg/m^3";
    case Kind::inertia:
      return "kg m^2";
    case Kind::force:
      return "N";
    case Kind::torque:
      return "N m";
    case Kind::pressure:
      return "Pa";
    case Kind::power:
      return "W";
    case Kind::flow:
      return "m^3/s";
    case Kind::stiffness:
      return "N/m";
    case Kind::frequency:
      return "1/s";
    case Kind::temperature:
    case Kind::temperature_difference:
      return "K";
    case Kind::expansion:
      return "1/K";
    case Kind::conductivity:
      return "W/m/K";
    default:
      return "";
  }
}
}  // namespace

TEST(Units, AgreeWithAGeneralUnitsLibrary) {
  ut_set_error_message_handler(ut_ignore);
  ut_system* system = ut_read_xml(nullptr);
  ASSERT_NE(system, nullptr);
  int compared = 0;
  for (const unit::Unit& u : unit::units()) {
    ut_unit* theirs = ut_parse(system, spelled(u).c_str(), UT_UTF8);
    ASSERT_NE(theirs, nullptr) << u.symbol << " spelled " << spelled(u);
    ut_unit* base = ut_parse(system, coherent(u.kind).c_str(), UT_UTF8);
    ASSERT_NE(base, nullptr) << coherent(u.kind);
    cv_converter* converter = ut_get_converter(theirs, base);
    ASSERT_NE(converter, nullptr) << u.symbol << " to " << coherent(u.kind);
    for (double x : {1.0, 25.4, 0.037}) {
      const double expected = cv_convert_double(converter, x);
      auto q = unit::parse(unit::write(x, Kind::number) + " " + std::string(u.symbol), u.kind);
      ASSERT_TRUE(q.ok()) << u.symbol;
      EXPECT_NEAR(q->si, expected, std::fabs(expected) * 1e-14) << x << " " << u.symbol;
    }
    test::published("unit", "one " + std::string(u.symbol) + " (" + std::string(unit::word(u.kind)) + "), SI",
                    "udunits2 unit database", test::How::computed, cv_convert_double(converter, 1.0),
                    u.factor + u.offset, std::fabs(cv_convert_double(converter, 1.0)) * 1e-14);
    ++compared;
    cv_free(converter);
    ut_free(base);
    ut_free(theirs);
  }
  ut_free_system(system);
  EXPECT_EQ(compared, static_cast<int>(unit::units().size()));
  EXPECT_GT(compared, 120);
}
