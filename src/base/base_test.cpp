#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <clocale>
#include <cmath>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <limits>
#include <random>

#include "base/bytes.h"
#include "base/outcome.h"
#include "base/text.h"
#include "places.h"

namespace fettle::base {
namespace {

TEST(Outcome, IsAValueOrItsProblems) {
  const Outcome<int> good = 3;
  EXPECT_TRUE(good.ok());
  EXPECT_EQ(*good, 3);
  const Outcome<int> refused = bad("wrong", "x", "y", "z");
  EXPECT_FALSE(refused.ok());
  EXPECT_EQ(refused.problem().found, "x");
  const Outcome<int> two = Problems{bad("a"), bad("b")};
  EXPECT_EQ(two.problems().size(), 2U);
}

TEST(Outcome, NeitherValueNorProblemIsAFaultOfOurs) {
  const Outcome<int> nothing = Problems{};
  ASSERT_FALSE(nothing.ok());
  EXPECT_EQ(nothing.problem().fault, Fault::our_fault);
}

TEST(Outcome, SaysItOnOneLine) {
  Problem p = bad("wrong kind of quantity", "5 mm", "a torque", "5 N·m");
  EXPECT_EQ(say(p), "wrong kind of quantity; found \"5 mm\"; expected a torque; did you mean \"5 N·m\"?");
  p.where = {"plan.toml", 12, 9};
  EXPECT_TRUE(starts_with(say(p), "plan.toml:12:9: wrong kind"));
  p.where = {"plan.toml", 0, 0};
  EXPECT_TRUE(starts_with(say(p), "plan.toml: wrong kind"));
}

TEST(Text, TrimsSplitsJoins) {
  EXPECT_EQ(trim(" \t a b \r\n"), "a b");
  EXPECT_EQ(trim("   "), "");
  EXPECT_THAT(split("a,,b,", ','), testing::ElementsAre("a", "", "b", ""));
  EXPECT_THAT(split("", ','), testing::ElementsAre(""));
  EXPECT_EQ(join(std::vector<std::string>{"a", "b", "c"}, ", "), "a, b, c");
  EXPECT_EQ(lower("MiXeD Ø"), "mixed Ø");
}

TEST(Text, ReadsWholeNumbersOnly) {
  EXPECT_EQ(to_double("1.5"), 1.5);
  EXPECT_EQ(to_double("+1.5"), 1.5);
  EXPECT_EQ(to_double("-.5"), -0.5);
  EXPECT_EQ(to_double("5."), 5.0);
  EXPECT_EQ(to_double("1e-3"), 1e-3);
  for (const char* refused :
       {"", "+", "-", "+-1", "++1", "1,5", "1 ", " 1", "1x", "0x10", "inf", "nan", "-inf", "1e999", "--1", "e5"})
    EXPECT_FALSE(to_double(refused)) << refused;
}

TEST(Text, ShortestReadsBackToTheSameBits) {
  EXPECT_EQ(shortest(0.1), "0.1");
  EXPECT_EQ(shortest(2.0), "2");
  std::mt19937_64 random(1);
  for (int n = 0; n < 20000; ++n) {
    const std::uint64_t bits = random();
    double x = 0;
    std::memcpy(&x, &bits, sizeof x);
    if (!std::isfinite(x)) continue;
    const auto y = to_double(shortest(x));
    ASSERT_TRUE(y) << shortest(x);
    EXPECT_EQ(std::memcmp(&x, &*y, sizeof x), 0) << shortest(x);
  }
}

TEST(Text, FixedRoundsAndHasNoNegativeZero) {
  EXPECT_EQ(fixed(1.005, 2), "1.00");  // 1.005 lies a hair below in binary
  EXPECT_EQ(fixed(-0.0004, 3), "0.000");
  EXPECT_EQ(fixed(-0.0006, 3), "-0.001");
  EXPECT_EQ(fixed(12.0, 0), "12");
}

TEST(Text, HexFloatNamesTheBits) {
  EXPECT_EQ(hex_float(3.0), "0x1.8p+1");
  EXPECT_EQ(hex_float(-0.0), "-0x0p+0");
  EXPECT_EQ(hex_float(-1.0 / 3), "-0x1.5555555555555p-2");
  EXPECT_EQ(hex_float(std::numeric_limits<double>::quiet_NaN()), "nan");
  EXPECT_NE(hex_float(0.1), hex_float(std::nextafter(0.1, 1)));
}

TEST(Text, NearestIsNearOrNothing) {
  const std::vector<std::string> words = {"torque", "friction", "thread"};
  EXPECT_EQ(nearest("torqe", words), "torque");
  EXPECT_EQ(nearest("otrque", words), "torque");
  EXPECT_EQ(nearest("TORQUE", words), "torque");
  EXPECT_EQ(nearest("zzzzzz", words), "");
  EXPECT_EQ(nearest("", words), "");
  EXPECT_EQ(nearest(std::string(100000, 'a'), words), "");  // a long word costs no time and finds nothing
}

TEST(Text, CountsCodePoints) {
  EXPECT_EQ(code_points("Ø12 µm"), 6U);
  EXPECT_EQ(byte_of_code_point("Ø12", 1), 2U);
  EXPECT_EQ(byte_of_code_point("Ø12", 9), 4U);
  EXPECT_TRUE(valid_utf8("Ø → ✓"));
  for (const std::string& broken : {std::string("\xC3"), std::string("\xC0\x80"), std::string("\xED\xA0\x80"),
                                    std::string("\xF5\x80\x80\x80"), std::string("a\x80")})
    EXPECT_FALSE(valid_utf8(broken));
}

TEST(Text, NumbersDoNotFollowTheLocale) {
  // ./check builds a locale with a decimal comma; without it the test says that it did not run.
  const std::string folder = std::string(fettle::test::binary_dir) + "/locales";
  ::setenv("LOCPATH", folder.c_str(), 1);
  const char* set = std::setlocale(LC_ALL, "de_DE.UTF-8");
  ::unsetenv("LOCPATH");
  if (set == nullptr) GTEST_SKIP() << "no locale with a decimal comma on this machine";
  EXPECT_STREQ(std::localeconv()->decimal_point, ",");
  EXPECT_EQ(to_double("1.5"), 1.5);
  EXPECT_EQ(shortest(1.5), "1.5");
  EXPECT_EQ(fixed(1.5, 2), "1.50");
  EXPECT_EQ(hex_float(1.5), "0x1.8p+0");
  std::setlocale(LC_ALL, "C");
}

TEST(Text, HashIsThePublishedOne) {
  // XXH3 128 of the empty text with seed 0; from memory of the published test vectors.
  EXPECT_EQ(hash_hex(""), "99aa06d3014798d86001c324468d497f");
  EXPECT_NE(hash_hex("a"), hash_hex("b"));
}

class Files : public testing::Test {
 protected:
  // One folder a test: tests run side by side.
  std::filesystem::path folder =
      std::filesystem::path(testing::TempDir()) /
      (std::string("fettle_base_test_") + testing::UnitTest::GetInstance()->current_test_info()->name());
  void SetUp() override {
    std::filesystem::remove_all(folder);
    std::filesystem::create_directories(folder);
  }
  void TearDown() override { std::filesystem::remove_all(folder); }
};

TEST_F(Files, WritesWholeAndReadsBack) {
  const std::string path = folder / "out.bin";
  const std::string bytes("a\0b\r\n\xFF", 6);
  ASSERT_TRUE(write_file(path, bytes).ok());
  EXPECT_EQ(read_file(path).value(), bytes);
  ASSERT_TRUE(write_file(path, "new").ok());
  EXPECT_EQ(read_file(path).value(), "new");
  EXPECT_EQ(std::distance(std::filesystem::directory_iterator(folder), {}), 1) << "a temporary file was left";
}

TEST_F(Files, SaysWhyNot) {
  EXPECT_EQ(read_file(folder / "absent").problem().fault, Fault::bad_input);
  EXPECT_THAT(read_file(folder).problem().what, testing::HasSubstr("folder"));
  ASSERT_TRUE(write_file(folder / "big", std::string(100, 'x')).ok());
  EXPECT_FALSE(read_file(folder / "big", 99).ok());
  EXPECT_TRUE(read_file(folder / "big", 100).ok());
  EXPECT_EQ(write_file(folder / "no" / "such" / "place", "x").problem().fault, Fault::environment);
  std::filesystem::create_directories(folder / "a_folder");
  EXPECT_FALSE(write_file(folder / "a_folder", "x").ok()) << "a folder is not replaced by a file";
}

struct Inner {
  double x = 0;
  std::array<double, 3> three = {};
};
enum class Which { one, two };
struct Plain {
  int n = 0;
  bool flag = false;
  Which which = Which::one;
  std::string word;
  std::vector<double> list;
  std::vector<Inner> inners;
  std::optional<double> maybe;
  Inner inner;
};
struct Empty {};
struct TwentyFour {
  double a, b, c, d, e, f, g, h, i, j, k, l, m, n, o, p, q, r, s, t, u, v, w, x;
};

TEST(Bytes, EveryFieldCounts) {
  const Plain base = {1, true, Which::one, "w", {1, 2}, {{1, {2, 3, 4}}}, 5.0, {6, {7, 8, 9}}};
  const std::string same = bytes_of(base);
  EXPECT_EQ(bytes_of(Plain(base)), same);
  std::vector<Plain> others(11, base);
  others[0].n = 2;
  others[1].flag = false;
  others[2].which = Which::two;
  others[3].word = "v";
  others[4].list = {1, 3};
  others[5].inners[0].three[2] = 0;
  others[6].maybe.reset();
  others[7].inner.x = 0;
  others[8].inner.three[0] = 0;
  others[9].maybe = 0.0;
  others[10].list.push_back(0);
  for (std::size_t n = 0; n < others.size(); ++n) EXPECT_NE(bytes_of(others[n]), same) << n;
}

TEST(Bytes, TextsDoNotRunIntoEachOther) {
  struct Two {
    std::string a, b;
  };
  EXPECT_NE(bytes_of(Two{"ab", "c"}), bytes_of(Two{"a", "bc"}));
  struct Lists {
    std::vector<double> a, b;
  };
  EXPECT_NE(bytes_of(Lists{{1}, {}}), bytes_of(Lists{{}, {1}}));
}

TEST(Bytes, DoublesByBits) {
  EXPECT_NE(bytes_of(0.0), bytes_of(-0.0));
  EXPECT_EQ(bytes_of(std::numeric_limits<double>::quiet_NaN()), bytes_of(std::numeric_limits<double>::quiet_NaN()));
  EXPECT_EQ(bytes_of(Empty{}), "");
  EXPECT_EQ(bytes_of(TwentyFour{}).size(), 24 * sizeof(double));
  TwentyFour last{};
  last.x = 1;
  EXPECT_NE(bytes_of(last), bytes_of(TwentyFour{}));
}

}  // namespace
}  // namespace fettle::base
