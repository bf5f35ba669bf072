// Facts of the grammar and worked examples of NISTIR 6556 (Kramer, Proctor, Messina, The NIST RS274NGC Interpreter -
// Version 3, 2000; chapters 3.3 to 3.6), and the classic forms beside it (common practice).
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "program/read.h"
#include "published.h"

namespace fettle::program {
namespace {

constexpr double rpm = 2 * std::numbers::pi / 60;

Setting plain() {
  Setting s;
  s.zeros[1] = frame::Vec3{};
  s.lengths = {{1, 0.1}, {2, 0.2}, {5, 0.125}};
  s.most_moves = 100'000;
  return s;
}
Run run_of(const std::string& text, const Setting& s = plain()) {
  const auto run = read(text, "p.nc", s);
  EXPECT_TRUE(run.ok()) << text << "\n" << (run.ok() ? "" : say(run.problem()));
  return run.ok() ? *run : Run{};
}
bool refused(const std::string& text) { return !read(text, "p.nc", plain()).ok(); }
/// The moves that go somewhere, as "k x y z" in millimetres.
std::vector<std::string> ways(const Run& run) {
  std::vector<std::string> all;
  const auto mm = [](double v) { return fmt::format("{:g}", std::round(v * 1e9) / 1e6 + 0.0); };
  for (const Move& m : run.moves) {
    if (m.kind > Motion::probe || (m.start == m.end && m.kind != Motion::clockwise && m.kind != Motion::counter))
      continue;
    const char* kinds = "rfcap";
    all.push_back(fmt::format("{} {} {} {}", kinds[static_cast<int>(m.kind)], mm(m.end.x), mm(m.end.y), mm(m.end.z)));
  }
  return all;
}
using Ways = std::vector<std::string>;
double value(const std::string& expression) {
  const auto run = run_of("#3=15\n#100=" + expression + "\nM2");
  return run.parameters.at(100);
}

// ---- grammar (3.3.1, 3.3.2) ---------------------------------------------------------------------------------------

TEST(Read, BlanksAndCaseDoNotMatter) {
  const auto a = run_of("g0x +0. 12 34y 7\nm2"), b = run_of("G0 X+0.1234 Y7\nM2");
  EXPECT_EQ(ways(a), (Ways{"r 0.1234 7 0"}));
  EXPECT_EQ(ways(a), ways(b));
}

TEST(Read, ALineHasAtMost256Characters) {
  EXPECT_FALSE(refused("(" + std::string(254, 'a') + ")\nM2"));
  EXPECT_TRUE(refused("(" + std::string(255, 'a') + ")\nM2"));
}

TEST(Read, LineNumbersHaveAtMostFiveDigits) {
  EXPECT_FALSE(refused("N0 G0 X1\nN99999 M2"));
  EXPECT_TRUE(refused("N100000 G0 X1\nM2"));
}

TEST(Read, OneWordALetterFourMWords) {
  EXPECT_TRUE(refused("G0 X1 X2\nM2"));
  EXPECT_FALSE(refused("T1 M6 M3 M8 M48 S5\nM2"));
  EXPECT_TRUE(refused("T1 M6 M3 M8 M48 M0 S5\nM2"));
}

TEST(Read, SettingsTakeEffectAfterTheLine) {
  // The report's "#3=6 G1 x#3" with #3 = 15 before: moves to 15, leaves 6.
  const auto run = run_of("#3=15\nF100 #3=6 G1 x#3\nM2");
  EXPECT_EQ(ways(run), (Ways{"f 15 0 0"}));
  EXPECT_EQ(run.parameters.at(3), 6);
  EXPECT_EQ(ways(run_of("#1=2 #2=1\n#1=#2 #2=#1\nG0 X#1 Y#2\nM2")), (Ways{"r 1 2 0"}));
}

TEST(Read, WholeNumbersMayBeOffByATenThousandth) {
  EXPECT_FALSE(refused("T1.00009 M6\nM2"));
  EXPECT_TRUE(refused("T1.001 M6\nM2"));
  EXPECT_FALSE(refused("G[1.00001] F100 X1\nM2"));
}

TEST(Read, AFileEndsWithM2OrM30OrBetweenPercents) {
  EXPECT_TRUE(run_of("G0 X1\nM2").ended);
  EXPECT_TRUE(run_of("G0 X1\nM30").ended);
  EXPECT_TRUE(run_of("%\nG0 X1\n%").ended);
  EXPECT_TRUE(refused("G0 X1\n"));
  EXPECT_TRUE(refused("%\nG0 X1\n"));
  const auto run = run_of("%\nG0 X1\n%\nnever read $");
  EXPECT_EQ(ways(run), (Ways{"r 1 0 0"}));
  EXPECT_EQ(run.notes.size(), 1U);
  EXPECT_EQ(ways(run_of("G0 X1\nM2\nG0 X9")), (Ways{"r 1 0 0"}));
}

TEST(Read, LineEndsOfEveryKindAndAByteOrderMark) {
  EXPECT_EQ(ways(run_of("G0 X1\r\nY2\r\nM2\r\n")), (Ways{"r 1 0 0", "r 1 2 0"}));
  EXPECT_EQ(ways(run_of("\xEF\xBB\xBFG0 X1\nM2")), (Ways{"r 1 0 0"}));
}

TEST(Read, ColumnsCountCharacters) {
  const auto run = read("(\xC3\xA4\xC3\xB6) G5\nM2", "p.nc", plain());
  ASSERT_FALSE(run.ok());
  EXPECT_EQ(run.problem().where.column, 6);
}

TEST(Read, RemarksWithTheirLines) {
  const auto run = run_of("(one)\nG0 X1 (two) ; three\nM2");
  ASSERT_EQ(run.remarks.size(), 3U);
  EXPECT_EQ(run.remarks[1].line, 2);
  EXPECT_EQ(run.remarks[1].text, "two");
  EXPECT_EQ(run.remarks[2].text, "three");
}

TEST(Read, LinesBehindASlash) {
  const std::string text = "G0 X1\n/X2\nM2";
  EXPECT_EQ(ways(run_of(text)), (Ways{"r 1 0 0", "r 2 0 0"}));
  Setting s = plain();
  s.block_skip = true;
  EXPECT_EQ(ways(run_of(text, s)), (Ways{"r 1 0 0"}));
  EXPECT_TRUE(run_of(text).moves[1].held.optional);
}

// ---- expressions (3.3.2.3) ----------------------------------------------------------------------------------------

TEST(Read, ExpressionsOfTheReport) {
  EXPECT_DOUBLE_EQ(value("[2.0 / 3 * 1.5 - 5.5 / 11.0]"), 0.5);
  EXPECT_NEAR(value("[1 + acos[0] - [#3 ** [4.0/2]]]"), -134, 1e-12);
  EXPECT_NEAR(value("ATAN[2]/[1+3]"), 26.56505117707799, 1e-12);
  EXPECT_EQ(value("FIX[2.8]"), 2);
  EXPECT_EQ(value("FIX[-2.8]"), -3);
  EXPECT_EQ(value("FUP[2.8]"), 3);
  EXPECT_EQ(value("FUP[-2.8]"), -2);
}

TEST(Read, TheSignOfAParameterBindsItsNumberOnly) {
  // "#1+2" is (#1)+2, not #[1+2].
  EXPECT_EQ(value("[#3+2]"), 17);
  EXPECT_EQ(run_of("#1=4\n#3=9\n#100=[#1+2]\n#101=#[1+2]\nM2").parameters.at(100), 6);
  EXPECT_EQ(run_of("#1=4\n#3=9\n#101=#[1+2]\nM2").parameters.at(101), 9);
  EXPECT_EQ(run_of("#1=3\n#3=9\n#101=##1\nM2").parameters.at(101), 9);
}

TEST(Read, PowersFirstThenProductsThenSumsFromLeftToRight) {
  EXPECT_EQ(value("[2 + 3 * 2 ** 3]"), 26);
  EXPECT_EQ(value("[2 ** 3 ** 2]"), 64);
  EXPECT_EQ(value("[10 - 4 - 3]"), 3);
  EXPECT_EQ(value("[7 MOD 4 * 2]"), 6);
  EXPECT_EQ(value("[-1 MOD 5]"), 4);
  EXPECT_EQ(value("[1 OR 0 AND 0]"), 0);
  EXPECT_EQ(value("[1 XOR 1]"), 0);
  EXPECT_EQ(value("[2 * 3 EQ 6]"), 1);
  EXPECT_EQ(value("[1 + 1 GT 1]"), 1);
  EXPECT_EQ(value("[-#3 ** 2]"), 225);
}

TEST(Read, FunctionsInDegrees) {
  EXPECT_NEAR(value("sin[30]"), 0.5, 1e-15);
  EXPECT_NEAR(value("cos[60]"), 0.5, 1e-15);
  EXPECT_NEAR(value("tan[45]"), 1, 1e-15);
  EXPECT_NEAR(value("asin[0.5]"), 30, 1e-13);
  EXPECT_NEAR(value("exp[ln[5]]"), 5, 1e-14);
  EXPECT_EQ(value("abs[-3]"), 3);
  EXPECT_EQ(value("sqrt[16]"), 4);
  EXPECT_EQ(value("round[2.5]"), 3);
  EXPECT_EQ(value("round[-2.5]"), -3);
  EXPECT_EQ(value("-[5]"), -5);
  EXPECT_NEAR(value("atan[1]/[-1]"), 135, 1e-12);
}

TEST(Read, AParameterThatNobodySetIsNothingAndNoted) {
  const auto run = run_of("G0 X[5+#7]\nX#7\nM2");
  EXPECT_EQ(ways(run), (Ways{"r 5 0 0", "r 0 0 0"}));
  ASSERT_EQ(run.notes.size(), 1U);
  EXPECT_EQ(run.notes[0].where.column, 8);
}

TEST(Read, PublishedFactsOfTheReport) {
  using test::How;
  using test::published;
  const auto expression = [](const char* text, double expected, double allowed) {
    published("programs", std::string(text) + ", -", "NISTIR 6556, 3.3.2.3, in a public transcription", How::read,
              expected, value(text), allowed);
  };
  expression("[2.0 / 3 * 1.5 - 5.5 / 11.0]", 0.5, 1e-15);
  expression("[1 + acos[0] - [#3 ** [4.0/2]]]", -134, 1e-12);
  expression("ATAN[2]/[1+3]", 26.5651, 5e-5);
  expression("FIX[-2.8]", -3, 0);
  expression("FUP[-2.8]", -2, 0);
  const auto arc = run_of("G0 X7 Y7 Z6\nF100 G17 G2 X10 Y16 Z9 I3 J4\nM2").moves.at(1);
  published("programs", "arc by centre, sweep, deg", "from the example of NISTIR 6556, 3.5.3", How::computed, 143.130,
            sweep(arc) * 180 / std::numbers::pi, 5e-4);
  published("programs", "helix, length, mm", "from the example of NISTIR 6556, 3.5.3", How::computed, 12.8457,
            length(arc) * 1000, 5e-5);
  const auto small = run_of("F100 G2 X10 Y15 R20\nM2").moves.at(0),
             large = run_of("F100 G2 X10 Y15 R-20\nM2").moves.at(0);
  published("programs", "arc by R 20, length, mm", "plane geometry", How::computed, 18.7017, length(small) * 1000,
            5e-5);
  published("programs", "arc by R -20, length, mm", "plane geometry", How::computed, 106.962, length(large) * 1000,
            5e-4);
  const auto peck = run_of("G0 Z1\nF100 G90 G99 G83 X5 Y6 R0.2 Z-1.1 Q0.21\nM2");
  const double depths[] = {-0.01, -0.22, -0.43, -0.64, -0.85, -1.06, -1.1};
  std::size_t n = 0;
  for (const Move& m : peck.moves)
    if (m.kind == Motion::feed && n < std::size(depths)) {
      published("programs", fmt::format("peck {}, depth, mm", n + 1), "from the rules of NISTIR 6556, 3.5.16.3",
                How::computed, depths[n], m.end.z * 1000, 1e-9);
      ++n;
    }
  const auto shift = run_of("G0 X4\nG92 X7\n#100=#5211\nG92 X9\n#101=#5211\nM2");
  published("programs", "G92 X7 at X 4, offset", "NISTIR 6556, 3.5.18, in a public transcription", How::read, -3,
            shift.parameters.at(100), 1e-12);
  published("programs", "then G92 X9, offset", "NISTIR 6556, 3.5.18, in a public transcription", How::read, -5,
            shift.parameters.at(101), 1e-12);
  published("programs", "G93 F2, time of a move, s", "NISTIR 6556, 3.5.19, in a public transcription", How::read, 30,
            run_of("G93 G1 X10 F2.0\nM2").moves.at(0).seconds, 1e-12);
}

// ---- order of execution (3.8) -------------------------------------------------------------------------------------

TEST(Read, OrderWithinALine) {
  Setting s = plain();
  s.zeros[2] = frame::Vec3{0.5, 0, 0};
  const auto run = run_of("G55\nS500 M3 F200 G1 X10 M8 G54\nM2", s);
  ASSERT_GE(run.moves.size(), 3U);
  EXPECT_EQ(run.moves[0].kind, Motion::spindle);
  EXPECT_NEAR(run.moves[0].spindle, 500 * rpm, 1e-12);
  EXPECT_EQ(run.moves[1].kind, Motion::coolant);
  EXPECT_TRUE(run.moves[1].held.flood);
  EXPECT_EQ(run.moves[2].kind, Motion::feed);
  EXPECT_EQ(run.moves[2].zero, 1);
  EXPECT_NEAR(run.moves[2].end.x, 0.010, 1e-15);
  EXPECT_NEAR(run.moves[2].feed, 0.2 / 60, 1e-15);
}

TEST(Read, StopsComeLastAndLengthsBeforeMotion) {
  const auto run = run_of("T1 M6\nG0 X5 G43 H1 M0\nM2");
  ASSERT_EQ(run.moves.size(), 4U);
  EXPECT_EQ(run.moves[1].kind, Motion::rapid);
  EXPECT_DOUBLE_EQ(run.moves[1].length_offset, 0.1);
  EXPECT_EQ(run.moves[2].kind, Motion::stop);
}

TEST(Read, UnitsHoldForTheirOwnLine) {
  EXPECT_EQ(ways(run_of("G20 G0 X1\nG21 X1\nM2")), (Ways{"r 25.4 0 0", "r 1 0 0"}));
  const auto run = run_of("G20 G1 X1 F10\nG21 X1\nM2");
  EXPECT_NEAR(run.moves[0].feed, 0.254 / 60, 1e-15);
  EXPECT_NEAR(run.moves[1].feed, 0.254 / 60, 1e-15);  // the tool goes as fast as before
}

// ---- arcs (3.5.3) -------------------------------------------------------------------------------------------------

TEST(Read, ArcByCentre) {
  const auto run = run_of("G0 X7 Y7\nF100 G17 G2 X10 Y16 I3 J4\nM2");
  const Move& m = run.moves[1];
  EXPECT_EQ(m.kind, Motion::clockwise);
  EXPECT_NEAR(m.centre.x, 0.010, 1e-15);
  EXPECT_NEAR(m.centre.y, 0.011, 1e-15);
  EXPECT_NEAR(sweep(m) * 180 / std::numbers::pi, 143.130, 0.001);
  EXPECT_NEAR(length(m) * 1000, 12.4905, 0.0001);
  const auto helix = run_of("G0 X7 Y7 Z6\nF100 G2 X10 Y16 Z9 I3 J4\nM2");
  EXPECT_NEAR(length(helix.moves[1]) * 1000, 12.8457, 0.0001);
}

TEST(Read, ArcByRadius) {
  const auto small = run_of("F100 G2 X10 Y15 R20\nM2"), large = run_of("F100 G2 X10 Y15 R-20\nM2");
  EXPECT_NEAR(small.moves[0].centre.x * 1000, 19.85507, 1e-5);
  EXPECT_NEAR(small.moves[0].centre.y * 1000, -2.40338, 1e-5);
  EXPECT_NEAR(sweep(small.moves[0]) * 180 / std::numbers::pi, 53.5764, 1e-4);
  EXPECT_NEAR(length(small.moves[0]) * 1000, 18.7017, 1e-4);
  EXPECT_NEAR(large.moves[0].centre.x * 1000, -9.85507, 1e-5);
  EXPECT_NEAR(large.moves[0].centre.y * 1000, 17.40338, 1e-5);
  EXPECT_NEAR(sweep(large.moves[0]) * 180 / std::numbers::pi, 306.4236, 1e-4);
  EXPECT_NEAR(length(large.moves[0]) * 1000, 106.962, 1e-3);
}

TEST(Read, TurnsOfAnArc) {
  // Down 9 mm in three turns of 5 mm radius and a quarter: length by Pythagoras over the unrolled helix.
  const auto run = run_of("G21 G17 G90 F100\nG0 X5 Y0 Z0\nG3 X0 Y5 Z-9 I-5 J0 P4\nM2\n");
  const Move& m = run.moves[1];
  EXPECT_EQ(m.turns, 3);
  EXPECT_NEAR(sweep(m), 6.5 * std::numbers::pi, 1e-12);
  EXPECT_NEAR(length(m), std::hypot(0.005 * 6.5 * std::numbers::pi, 0.009), 1e-12);
  EXPECT_EQ(run_of("G21 F100\nG0 X5 Y0 Z0\nG3 X0 Y5 I-5 J0 P1\nM2\n").moves[1].turns, 0);
  for (const char* p : {"P0", "P1.5", "P-1", "P1000"})
    EXPECT_TRUE(refused(fmt::format("G21 F100\nG0 X5 Y0 Z0\nG3 X0 Y5 I-5 J0 {}\nM2\n", p))) << p;
}
TEST(Read, OneMWordTwiceSaysSo) {
  const auto run = read("O1\nM98 P2 M98 P2\nM30\n", "p.nc", plain());
  ASSERT_FALSE(run.ok());
  EXPECT_NE(say(run.problem()).find("each on a line of its own"), std::string::npos) << say(run.problem());
}
TEST(Read, ArcErrorsOfTheReport) {
  EXPECT_FALSE(refused("F100 G2 X10 Y0 I5.0009\nM2"));  // the radii differ by 0.0018
  EXPECT_TRUE(refused("F100 G2 X10 Y0 I5.0011\nM2"));   // by 0.0022 mm
  EXPECT_FALSE(refused("G20 F100 G2 X1 Y0 I0.50009\nM2"));
  EXPECT_TRUE(refused("G20 F100 G2 X1 Y0 I0.50011\nM2"));
  EXPECT_TRUE(refused("G0 X5\nF100 G2 X5 R3\nM2"));
}

TEST(Read, FullCirclesAlsoAfterTheFrameChanged) {
  Setting s = plain();
  s.zeros[2] = frame::Vec3{0.1, 0.3, 0};
  const auto run = run_of("G0 X0.1 Y0.7\nF100 G55\nG1 X-99.9 Y-299.3\nG2 I3.3\nG54 G3 X0.1 Y0.7 J1.1\nM2", s);
  int circles = 0;
  for (const Move& m : run.moves) {
    if (m.kind != Motion::clockwise && m.kind != Motion::counter) continue;
    EXPECT_DOUBLE_EQ(sweep(m), 2 * std::numbers::pi);
    ++circles;
  }
  EXPECT_EQ(circles, 2);
}

TEST(Read, ArcsInTheOtherPlanes) {
  const auto zx = run_of("F100 G18 G2 X10 Z10 I10\nM2"), yz = run_of("F100 G19 G3 Y10 Z10 J10\nM2");
  EXPECT_EQ(zx.moves[0].plane, Plane::zx);
  // From (Z0,X0) about X10 to (Z10,X10): from -90 to 0 degrees the clockwise way, three quarters.
  EXPECT_NEAR(length(zx.moves[0]) * 1000, 15 * std::numbers::pi, 1e-9);
  // From (0,0) about J10 to (10,10), counter-clockwise seen against X: three quarters.
  EXPECT_NEAR(length(yz.moves[0]) * 1000, 15 * std::numbers::pi, 1e-9);
}

// ---- coordinate systems (3.2.2, 3.5.5, 3.5.18) --------------------------------------------------------------------

TEST(Read, G10SetsAnOriginAndLeavesZ) {
  Setting s = plain();
  s.zeros[1] = frame::Vec3{0, 0, 0.012};
  const auto run = run_of("G10 L2 P1 X3.5 Y17.2\nG0 X1\nM2", s);
  EXPECT_DOUBLE_EQ(run.zeros[1].x, 0.0035);
  EXPECT_DOUBLE_EQ(run.zeros[1].y, 0.0172);
  EXPECT_DOUBLE_EQ(run.zeros[1].z, 0.012);
  EXPECT_TRUE(run.zero_known[1]);
  EXPECT_NEAR(nose_at_end(run, 0).x, 0.0045, 1e-15);
  EXPECT_EQ(run.parameters.at(5221), 3.5);
}

TEST(Read, OriginsThatChangeOnTheWay) {
  const auto run = run_of("G0 X1\nG10 L2 P1 X10\nG0 X1\nG10 L2 P1 X20\nG0 X1\nM2");
  EXPECT_NEAR(nose_at_end(run, 0).x, 0.001, 1e-15);
  EXPECT_NEAR(nose_at_end(run, 1).x, 0.011, 1e-15);
  EXPECT_NEAR(nose_at_end(run, 2).x, 0.021, 1e-15);
  EXPECT_NEAR(run.moves[1].start.x, -0.009, 1e-15);
}

TEST(Read, G92AndItsKin) {
  // "G92 X7" at X = 4: offset -3; then "G92 X9": -5.
  const auto run = run_of(
      "G0 X4\nG92 X7\n#100=#5211\nG92 X9\n#101=#5211\nG0 X10\nG92.2\nG0 X10\nG92.3\nG0 X10\nG92.1\n#102=#5211\nG0 "
      "X10\nM2");
  EXPECT_NEAR(run.parameters.at(100), -3, 1e-12);
  EXPECT_NEAR(run.parameters.at(101), -5, 1e-12);
  EXPECT_NEAR(run.parameters.at(102), 0, 1e-12);
  EXPECT_EQ(ways(run), (Ways{"r 4 0 0", "r 5 0 0", "r 10 0 0", "r 5 0 0", "r 10 0 0"}));
}

TEST(Read, G92ActsOnAllZeros) {
  Setting s = plain();
  s.zeros[2] = frame::Vec3{0.1, 0, 0};
  const auto run = run_of("G92 X2\nG55 G0 X0\nM2", s);
  EXPECT_NEAR(nose_at_end(run, 0).x, 0.098, 1e-15);
}

TEST(Read, G52ShiftsUntilItIsTakenBack) {
  EXPECT_EQ(ways(run_of("G52 X5\nG0 X1\nG52 X0\nG0 X1\nM2")), (Ways{"r 6 0 0", "r 1 0 0"}));
}

TEST(Read, G53IsOfTheNoseAndForItsLine) {
  Setting s = plain();
  s.zeros[1] = frame::Vec3{0.1, 0, 0.05};
  const auto run = run_of("G43 H1 G0 X0 Z100\nG53 Z0\nX5\nM2", s);
  EXPECT_TRUE(run.moves[1].held.machine_frame);
  EXPECT_EQ(run.moves[1].end.z, 0);
  EXPECT_NEAR(run.moves[1].start.z, 0.1 + 0.1 + 0.05, 1e-15);
  EXPECT_NEAR(run.moves[2].start.z, -0.15, 1e-15);
  EXPECT_FALSE(run.moves[2].held.machine_frame);
  EXPECT_TRUE(refused("G2 G53 X5 I1 F5\nM2"));
}

TEST(Read, ZerosBeyondNine) {
  Setting s = plain();
  const auto run = run_of("G10 L20 P48 X7\nG54.1 P48 G0 X1\nG59.3 X1\nM2", s);
  EXPECT_EQ(run.moves[0].zero, 57);
  EXPECT_NEAR(nose_at_end(run, 0).x, 0.008, 1e-15);
  EXPECT_EQ(run.moves[1].zero, 9);
  EXPECT_FALSE(run.zero_known[9]);
  EXPECT_EQ(run.notes.size(), 1U);  // nobody said where G59.3 is
}

TEST(Read, WayHome) {
  Setting s = plain();
  s.parameters = {{5161, 100}, {5162, 200}, {5163, 300}, {5183, 50}};
  const auto run = run_of("G0 X1 Y1 Z1\nG91 G28 Z5\nG90 G30 Z10\nG28\nM2", s);
  EXPECT_EQ(ways(run), (Ways{"r 1 1 1", "r 1 1 6", "r 1 1 300", "r 1 1 10", "r 1 1 50", "r 100 200 300"}));
}

TEST(Read, ToolLengths) {
  const auto run = run_of("T2 M6\nG43 H2 G0 Z10\nG49 Z10\nG43.1 Z33\nZ10\nM2");
  EXPECT_DOUBLE_EQ(run.moves[1].length_offset, 0.2);
  EXPECT_TRUE(run.moves[1].held.length_on);
  EXPECT_NEAR(nose_at_end(run, 1).z, 0.21, 1e-15);
  EXPECT_NEAR(nose_at_end(run, 2).z, 0.01, 1e-15);
  EXPECT_NEAR(nose_at_end(run, 3).z, 0.043, 1e-15);
  EXPECT_EQ(run.moves[1].tool, 2);
}

// ---- cycles (3.5.16) ----------------------------------------------------------------------------------------------

TEST(Read, DrillingOfTheReport) {
  const auto run = run_of("G0 X1 Y2 Z3\nF100 G90 G81 G98 X4 Y5 Z1.5 R2.8\nM2");
  EXPECT_EQ(ways(run), (Ways{"r 1 2 3", "r 4 5 3", "r 4 5 2.8", "f 4 5 1.5", "r 4 5 3"}));
  EXPECT_EQ(run.moves[2].cycle, 81);
}

TEST(Read, DrillingOfTheReportIncrementalThreeTimes) {
  // The report's second example: from (1,2,3), "G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3".
  const auto run = run_of("G0 X1 Y2 Z3\nF100 G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3\nM2");
  EXPECT_EQ(ways(run), (Ways{"r 1 2 3", "r 1 2 4.8", "r 5 7 4.8", "f 5 7 4.2", "r 5 7 4.8", "r 9 12 4.8", "f 9 12 4.2",
                             "r 9 12 4.8", "r 13 17 4.8", "f 13 17 4.2", "r 13 17 4.8"}));
}

TEST(Read, PeckDrillingOfTheReport) {
  const auto run = run_of("G0 Z1\nF100 G90 G99 G83 X5 Y6 R0.2 Z-1.1 Q0.21\nM2");
  std::vector<double> depths;
  for (const Move& m : run.moves)
    if (m.kind == Motion::feed) depths.push_back(m.end.z * 1000);
  const std::vector<double> expected = {-0.01, -0.22, -0.43, -0.64, -0.85, -1.06, -1.1};
  ASSERT_EQ(depths.size(), expected.size());
  for (std::size_t i = 0; i < depths.size(); ++i) EXPECT_NEAR(depths[i], expected[i], 1e-12);
  // After each but the last: out to R, back to 0.010 in above the depth.
  EXPECT_NEAR(run.moves[4].end.z * 1000, 0.2, 1e-12);
  EXPECT_NEAR(run.moves[5].end.z * 1000, -0.01 + 0.254 > 0.2 ? 0.2 : -0.01 + 0.254, 1e-12);
  EXPECT_NEAR(run.moves[8].end.z * 1000, -0.22 + 0.254, 1e-12);
  EXPECT_TRUE(refused("F100 G83 X5 R0.2 Z-1.1 Q0\nM2"));
}

TEST(Read, AWholeNumberOfPecksHasNoCrumbAtTheEnd) {
  const auto run = run_of("F100 G83 X1 R0 Z-0.3 Q0.1\nM2");
  int feeds = 0;
  for (const Move& m : run.moves) feeds += m.kind == Motion::feed;
  EXPECT_EQ(feeds, 3);
}

TEST(Read, G73LiftsALittleOnly) {
  EXPECT_EQ(ways(run_of("G0 Z5\nF100 G73 X1 R0 Z-2 Q1\nM2")),
            (Ways{"r 0 0 5", "r 1 0 5", "r 1 0 0", "f 1 0 -1", "r 1 0 -0.746", "f 1 0 -2", "r 1 0 5"}));
}

TEST(Read, LevelsOfASeries) {
  // G98 goes back to where the series began, G99 to R; further holes keep depth and R.
  EXPECT_EQ(ways(run_of("G0 Z20\nF100 G99 G81 X1 Z-5 R2\nX2\nG98 X3\nG80\nM2")),
            (Ways{"r 0 0 20", "r 1 0 20", "r 1 0 2", "f 1 0 -5", "r 1 0 2", "r 2 0 2", "f 2 0 -5", "r 2 0 2", "r 3 0 2",
                  "f 3 0 -5", "r 3 0 20"}));
}

TEST(Read, G80BesideAMotionEndsTheCycle) {
  EXPECT_EQ(ways(run_of("G0 Z20\nF100 G81 X1 Z-5 R2\nG80 G0 X3\nX4\nM2")),
            (Ways{"r 0 0 20", "r 1 0 20", "r 1 0 2", "f 1 0 -5", "r 1 0 20", "r 3 0 20", "r 4 0 20"}));
  EXPECT_TRUE(refused("F100 G80 G81 X1 Z-5 R2\nM2"));
  EXPECT_TRUE(refused("F100 G0 G81 X1 Z-5 R2\nM2"));
  EXPECT_TRUE(refused("F100 G80 X1\nM2"));
}

TEST(Read, CyclesInTheOtherPlanes) {
  EXPECT_EQ(ways(run_of("F100 G18 G81 Z4 X5 Y-3 R2\nM2")), (Ways{"r 0 2 0", "r 5 2 4", "f 5 -3 4", "r 5 2 4"}));
}

TEST(Read, TappingTurnsBackAtTheBottom) {
  // 150 mm/min at 2 threads a millimetre: 300 rpm.
  const auto run = run_of("G0 Z5\nS300 M3 F150 G84 X1 Z-10 R2\nM2");
  std::vector<const Move*> feeds;
  for (const Move& m : run.moves)
    if (m.kind == Motion::feed) feeds.push_back(&m);
  ASSERT_EQ(feeds.size(), 2U);
  EXPECT_TRUE(feeds[0]->held.synchronous);
  EXPECT_NEAR(feeds[0]->spindle, 300 * rpm, 1e-12);
  EXPECT_NEAR(feeds[1]->spindle, -300 * rpm, 1e-12);
  EXPECT_NEAR(feeds[0]->feed / (feeds[0]->spindle / (2 * std::numbers::pi)) * 1000, 0.5, 1e-12);
  EXPECT_EQ(ways(run), (Ways{"r 0 0 5", "r 1 0 5", "r 1 0 2", "f 1 0 -10", "f 1 0 5"}));
  EXPECT_TRUE(refused("F150 G84 X1 Z-10 R2\nM2"));
  EXPECT_TRUE(refused("S300 M4 F150 G84 X1 Z-10 R2\nM2"));
}

TEST(Read, BoringCycles) {
  EXPECT_EQ(ways(run_of("G0 Z5\nF100 G85 X1 Z-3 R2\nM2")),
            (Ways{"r 0 0 5", "r 1 0 5", "r 1 0 2", "f 1 0 -3", "f 1 0 5"}));
  const auto run = run_of("G0 Z5\nS500 M3 F100 G86 X1 Z-3 R2 P0.5\nM2");
  EXPECT_EQ(ways(run), (Ways{"r 0 0 5", "r 1 0 5", "r 1 0 2", "f 1 0 -3", "r 1 0 5"}));
  int dwells = 0, spindles = 0;
  for (const Move& m : run.moves) {
    dwells += m.kind == Motion::dwell && m.seconds == 0.5;
    spindles += m.kind == Motion::spindle;
  }
  EXPECT_EQ(dwells, 1);
  EXPECT_EQ(spindles, 3);  // on, off at the bottom, on again
  const auto back = run_of("G0 Z5\nS500 M3 F100 G87 X10 Y0 Z-8 R2 I1 J0 K-6\nM2");
  EXPECT_EQ(ways(back), (Ways{"r 0 0 5", "r 11 0 5", "r 11 0 2", "r 11 0 -8", "r 10 0 -8", "f 10 0 -6", "f 10 0 -8",
                              "r 11 0 -8", "r 11 0 5", "r 10 0 5"}));
}

TEST(Read, DwellsOfACycleAndOfG4) {
  const auto run = run_of("F100 G82 X1 Z-3 R2 P1.5\nG4 P0.25\nG4 X2\nM2");
  double sum = 0;
  for (const Move& m : run.moves) sum += m.seconds;
  EXPECT_DOUBLE_EQ(sum, 3.75);
  Setting s = plain();
  s.dwell_in_milliseconds = true;
  EXPECT_DOUBLE_EQ(run_of("G4 P250\nM2", s).moves[0].seconds, 0.25);
}

// ---- feed modes (3.5.19) ------------------------------------------------------------------------------------------

TEST(Read, InverseTimeIsTheTimeOfTheMove) {
  const auto run = run_of("G93 G1 X10 F2.0\nM2");
  EXPECT_DOUBLE_EQ(run.moves[0].seconds, 30);
  EXPECT_NEAR(run.moves[0].feed, 0.010 / 30, 1e-15);
  EXPECT_TRUE(refused("G93 G1 X10 F2\nX20\nM2"));
  EXPECT_TRUE(refused("G93 G81 X10 Z-5 R2 F2\nM2"));
}

TEST(Read, FeedByTheTurn) { EXPECT_NEAR(run_of("S600 M3\nG95 G1 X10 F0.1\nM2").moves[1].feed, 0.001, 1e-15); }

TEST(Read, RadiusCompensationIsNoted) {
  const auto run = run_of("G41 D1 G0 X5\nG1 X6 F100\nG40\nM2");
  EXPECT_TRUE(run.moves[0].held.radius_left);
  EXPECT_EQ(run.notes.size(), 1U);
}

// ---- end of program (3.6.1) ---------------------------------------------------------------------------------------

TEST(Read, TheEndLeavesWhatTheReportLists) {
  Setting s = plain();
  s.zeros[2] = frame::Vec3{0.1, 0, 0};
  const auto run = run_of("G0 X4\nG92 X7\nG55 G18 G91 S500 M3 M8\nM2", s);
  const Move& end = run.moves.back();
  EXPECT_EQ(end.kind, Motion::end);
  EXPECT_EQ(end.zero, 1);
  EXPECT_EQ(end.plane, Plane::xy);
  EXPECT_EQ(end.spindle, 0);
  EXPECT_FALSE(end.held.flood);
  EXPECT_NEAR(end.end.x, 0.004, 1e-15);
  EXPECT_NEAR(run.parameters.at(5211), -3, 1e-12);  // kept, as by G92.2
}

// ---- subprograms and jumps ----------------------------------------------------------------------------------------

TEST(Read, SubsWithValuesOfTheirOwn) {
  EXPECT_EQ(ways(run_of("o100 sub\nG0 X#1 Y#2\n#1=99\no100 endsub\n#1=5\no100 call [3] [4]\nG0 X#1\nM2")),
            (Ways{"r 3 4 0", "r 5 4 0"}));
  EXPECT_EQ(run_of("o<f> sub\no<f> return [#1*2]\no<f> endsub\no<f> call [21]\n#100=#<_value>\nM2").parameters.at(100),
            42);
  EXPECT_TRUE(refused("o1 sub\n#<a>=1\no1 endsub\no1 call\nG0 X#<a>\nM2"));
}

TEST(Read, BranchesAndLoopsOfOWords) {
  const std::string text = "o1 if [#1 EQ 1]\nG0 X1\no1 elseif [#1 EQ 2]\nG0 X2\no1 else\nG0 X3\no1 endif\nM2";
  EXPECT_EQ(ways(run_of("#1=1\n" + text)), (Ways{"r 1 0 0"}));
  EXPECT_EQ(ways(run_of("#1=2\n" + text)), (Ways{"r 2 0 0"}));
  EXPECT_EQ(ways(run_of("#1=3\n" + text)), (Ways{"r 3 0 0"}));
  EXPECT_EQ(run_of("#1=0 #2=0\no1 while [#1 LT 10]\n#1=[#1+1]\no2 if [#1 EQ 3]\no1 continue\no2 endif\no3 if [#1 EQ "
                   "6]\no1 break\no3 endif\n#2=[#2+#1]\no1 endwhile\nM2")
                .parameters.at(2),
            1 + 2 + 4 + 5);
  EXPECT_EQ(run_of("#1=5 #2=0\no1 do\n#2=[#2+1]\no1 while [#2 LT 3]\nM2").parameters.at(2), 3);
  EXPECT_EQ(run_of("#2=0\no1 repeat [4]\no2 repeat [3]\n#2=[#2+1]\no2 endrepeat\no1 endrepeat\nM2").parameters.at(2),
            12);
  EXPECT_EQ(run_of("#2=0\no1 repeat [0]\n#2=1\no1 endrepeat\nM2").parameters.at(2), 0);
}

TEST(Read, ClassicSubprograms) {
  EXPECT_EQ(ways(run_of("O1\nM98 P20 L3\nG90 G0 Y5\nM30\nO20\nG91 G0 X2\nM99\n")),
            (Ways{"r 2 0 0", "r 4 0 0", "r 6 0 0", "r 6 5 0"}));
  Setting s = plain();
  s.subprograms["O0030.nc"] = "G0 X7\nM99\n";
  const auto run = run_of("M98 P30\nG0 X8\nM2", s);
  EXPECT_EQ(ways(run), (Ways{"r 7 0 0", "r 8 0 0"}));
  EXPECT_EQ(run.files.at(static_cast<std::size_t>(run.moves[0].file)), "O0030.nc");
  EXPECT_EQ(run.moves[1].file, 0);
}

TEST(Read, ClassicJumps) {
  EXPECT_EQ(run_of("#2=0\nN10 #2=[#2+1]\nIF [#2 LT 4] GOTO 10\nM2").parameters.at(2), 4);
  EXPECT_EQ(
      run_of("#2=0\nWHILE [#2 LT 4] DO1\n#3=0\nWHILE [#3 LT 2] DO2\n#3=[#3+1]\n#4=[#4+1]\nEND2\n#2=[#2+1]\nEND1\nM2")
          .parameters.at(4),
      8);
  EXPECT_EQ(run_of("IF [1 EQ 1] THEN #2=7\nIF [1 EQ 2] THEN #2=8\nM2").parameters.at(2), 7);
  EXPECT_EQ(ways(run_of("GOTO 5\nG0 X1\nN5 G0 X2\nM2")), (Ways{"r 2 0 0"}));
}

// ---- probing ------------------------------------------------------------------------------------------------------

TEST(Read, ProbesTouchWhereTheCallerSays) {
  Setting s = plain();
  s.probe_hits = [](const Move& m) -> std::optional<frame::Vec3> {
    if (m.end.z > 0) return std::nullopt;
    return frame::Vec3{m.end.x, m.end.y, -0.004};
  };
  const auto run = run_of("G52 Z1\nG0 X3 Z10\nG38.2 Z-10 F50\nG0 Z[#5063+2]\nM2", s);
  EXPECT_EQ(ways(run), (Ways{"r 3 0 11", "p 3 0 -4", "r 3 0 -2"}));
  EXPECT_NEAR(run.parameters.at(5061), 3, 1e-12);
  EXPECT_NEAR(run.parameters.at(5063), -5, 1e-12);  // in the program's coordinates
  EXPECT_FALSE(read("G0 Z10\nG38.2 Z5 F50\nM2", "p", s).ok());
  EXPECT_TRUE(read("G0 Z10\nG31 Z5 F50\nM2", "p", s).ok());
}

TEST(Read, WithoutAnswersAProbeTouchesAtTheEndAndSaysSo) {
  const auto run = run_of("G31 Z-10 F50\nM2");
  EXPECT_EQ(ways(run), (Ways{"p 0 0 -10"}));
  EXPECT_EQ(run.notes.size(), 1U);
}

TEST(Read, StopsOfTheOperator) {
  const auto run = run_of("M0\nM1\nM60\nM30");
  ASSERT_EQ(run.moves.size(), 4U);
  EXPECT_FALSE(run.moves[0].held.optional);
  EXPECT_TRUE(run.moves[1].held.optional);
  Setting s = plain();
  s.optional_stop = false;
  EXPECT_EQ(run_of("M1\nM30", s).moves.size(), 1U);
}

}  // namespace
}  // namespace fettle::program
