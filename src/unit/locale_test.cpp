// Reading and printing under a locale whose decimal sign is a comma. The locale is built from the system's sources into
// the build folder, so nothing has to be installed; where the sources are absent the test says that it was skipped.
#include <gtest/gtest.h>

#include <clocale>
#include <cstdlib>
#include <filesystem>
#include <locale>
#include <string>

#include "base/text.h"
#include "places.h"
#include "unit/quantity.h"

using namespace fettle;
using unit::Kind;

namespace {
bool comma_locale() {
  const std::string dir = std::string(fettle::test::binary_dir) + "/locales";
  std::filesystem::create_directories(dir);
  if (!std::filesystem::exists(dir + "/de_DE.UTF-8")) {
    const std::string command = "localedef -i de_DE -f UTF-8 '" + dir + "/de_DE.UTF-8' >/dev/null 2>&1";
    if (std::system(command.c_str()) != 0) return false;
  }
  setenv("LOCPATH", dir.c_str(), 1);
  return std::setlocale(LC_ALL, "de_DE.UTF-8") != nullptr && std::string(std::localeconv()->decimal_point) == ",";
}
}  // namespace

TEST(Locale, NothingChangesUnderADecimalCommaLocale) {
  if (!comma_locale()) GTEST_SKIP() << "no sources of a decimal comma locale on this machine (package locales)";
  try {
    std::locale::global(std::locale("de_DE.UTF-8"));
  } catch (const std::runtime_error&) {
    std::setlocale(LC_ALL, "C");
    FAIL() << "the C library took the locale, the C++ library did not";
  }
  char printed[32];
  std::snprintf(printed, sizeof printed, "%.1f", 1.5);
  EXPECT_STREQ(printed, "1,5") << "the locale is not in force, so this test would prove nothing";
  EXPECT_EQ(unit::parse("1.5 mm", Kind::length)->si, 0.0015);
  EXPECT_EQ(unit::parse("1,5 mm", Kind::length)->si, 0.0015);
  EXPECT_EQ(unit::print(0.0015, Kind::length), "1.500 mm");
  EXPECT_EQ(unit::print(4e-7, Kind::length), "0.4 µm");
  EXPECT_EQ(unit::print(1.234e-5, Kind::number), "1.234e-5");
  EXPECT_EQ(unit::print(47.453628, Kind::torque), "47.45 N·m");
  EXPECT_EQ(unit::write(0.0015, Kind::length), "1.5 mm");
  EXPECT_EQ(unit::write(1.0 / 3, Kind::number), "0.3333333333333333");
  EXPECT_EQ(unit::in_unit(0.0254, "mm"), 25.4);
  EXPECT_EQ(*unit::parse_limits("132.00 ± 0.10 mm")->upper, 0.1321);
  EXPECT_EQ(unit::parse_points("1.5, 2.5 mm")->front().y, 0.0025);
  EXPECT_EQ(unit::parse_thread("M8x1.25")->pitch, 0.00125);
  EXPECT_EQ(*base::to_double("1.5"), 1.5);
  std::locale::global(std::locale::classic());
  std::setlocale(LC_ALL, "C");
}
