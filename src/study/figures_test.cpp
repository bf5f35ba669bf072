// Figures of the demo plan against sums done here by other means than the program's.
#include <cmath>

#include "published.h"
#include "study/demo_for_tests.h"
#include "unit/quantity.h"

namespace fettle::study {
namespace {

using fettle::test::How;
using fettle::test::published;
constexpr double mm = 1e-3;

const demo::Run& plan_0() {
  static const demo::Run r = demo::demo();
  return r;
}
const CastingRow& casting(const demo::Run& r, const std::string& number) {
  static const CastingRow none;
  for (const CastingRow& c : r.study.castings)
    if (c.number == number) return c;
  ADD_FAILURE() << "no casting " << number;
  return none;
}

TEST(Figures, RawSizesAsOrdered) {
  // (raw - finished - DCT/2) / sides; cored sizes the other way round. DCTG 9 widths as the demo's drawing says them.
  const auto least = [&](const char* id) { return plan_0().at("casting." + std::string(id) + ".raw_size").value / mm; };
  const std::string source = "ISO 8062-3:2007, sums by hand";
  published("study", "thickness as ordered, least allowance a side, mm", source, How::computed, (39.9 - 36 - 0.9) / 2,
            least("thickness"), 1e-6);
  published("study", "width as ordered, least allowance a side, mm", source, How::computed, (97.1 - 92 - 1.1) / 2,
            least("width"), 1e-6);
  published("study", "length as ordered, least allowance a side, mm", source, How::computed, (136.25 - 132 - 1.25) / 2,
            least("length"), 1e-6);
  published("study", "cored bore as ordered, least allowance a side, mm", source, How::computed, (50.0 - 46 - 1.0) / 2,
            least("core"), 1e-6);
  published("study", "cored floor as ordered, least allowance, mm", source, How::computed, 20.35 - 18 - 0.85,
            least("floor"), 1e-6);
  EXPECT_DOUBLE_EQ(plan_0().at("casting.width.raw_size").limit.low, 1.5 * mm);  // RMAG F, 132 mm
  EXPECT_EQ(plan_0().at("casting.width.raw_size").state, finding::State::inside);
}

TEST(Figures, OneSizeTooSmallIsOutside) {
  const demo::Run r = demo::demo({{"raw = \"97.1 mm\"", "raw = \"96.0 mm\""}});
  EXPECT_EQ(r.at("casting.width.raw_size").state, finding::State::outside);
  EXPECT_NEAR(r.at("casting.width.raw_size").value / mm, (96.0 - 92 - 1.1) / 2, 1e-6);
}

/// Radial stock of the counterbore: half the difference of diameters minus the core's offset. The casting lies with its
/// raw -Y on the rests of the first edge, so half of what its width is over nominal moves the middle towards +Y.
double counterbore(double core_d, double x, double y, double width) {
  return (50.0195 - core_d) / 2 - std::hypot(x, y + (width - 97.1) / 2);
}

TEST(Figures, Casting13HasNoMetalOnTheCounterbore) {
  const CastingRow& c = casting(plan_0(), "13");
  // The remaining difference is the tilt of a bowed casting and the 15 degrees between sample points.
  published("study", "casting 13, least stock of the counterbore as fixtured, mm", "hand sum of radii and offset",
            How::computed, counterbore(46.1, 2.6, 0.4, 97.3), c.stock.at("F2") / mm, 0.02);
  EXPECT_FALSE(c.cleans_up);
  EXPECT_FALSE(c.saved);
  EXPECT_NE(c.left.find("of metal is missing on the counterbore at +X"), std::string::npos) << c.left;
  EXPECT_NE(plan_0().study.casting_sentence.find("Casting 13 does not clean up: 0.6"), std::string::npos)
      << plan_0().study.casting_sentence;
  // Not even the whole shift makes up for it: 1.1 in X, 0.2 in Y.
  EXPECT_NEAR(c.shift_x / mm, 1.1, 1e-6);
  EXPECT_LT(counterbore(46.1, 2.6 - 1.1, 0.4 - 0.2, 97.3), 0.8);
  EXPECT_NEAR(c.least_shifted / mm, counterbore(46.1, 2.6 - 1.1, 0.4 - 0.2, 97.3) - 0.8, 0.02);
  EXPECT_EQ(plan_0().at("casting.13.measured").state, finding::State::outside);
}

TEST(Figures, Casting7IsSavedByAShift) {
  const CastingRow& c = casting(plan_0(), "7");
  published("study", "casting 7, least stock of the counterbore as fixtured, mm", "hand sum of radii and offset",
            How::computed, counterbore(45.8, 1.3, -0.9, 97.2), c.stock.at("F2") / mm, 0.02);
  EXPECT_FALSE(c.cleans_up);
  EXPECT_TRUE(c.saved);
  // The proposed shift, entered as a moved zero, moves the finished bore with it: what is left must grow by our sum
  // too.
  const double before = counterbore(45.8, 1.3, -0.9, 97.2);
  const double after = counterbore(45.8, 1.3 - c.shift_x / mm, -0.9 - c.shift_y / mm, 97.2);
  EXPECT_LT(before, 0.8);
  EXPECT_GE(after, 0.8);
  EXPECT_GT(c.shift_x, 0);
  EXPECT_LT(c.shift_y, 0);
  EXPECT_LE(std::fabs(c.shift_x), 1.1 * mm + 1e-9);
  EXPECT_LE(std::fabs(c.shift_y), 0.2 * mm + 1e-9);
  EXPECT_EQ(plan_0().at("casting.7.measured").state, finding::State::inside);
}

TEST(Figures, OnlyThoseTwoCastingsFail) {
  for (const CastingRow& c : plan_0().study.castings) {
    SCOPED_TRACE(c.number);
    EXPECT_EQ(c.cleans_up, c.number != "7" && c.number != "13");
    EXPECT_TRUE(std::isfinite(c.least));
    for (const auto& [face, stock] : c.stock) EXPECT_TRUE(std::isfinite(stock)) << face;
  }
  EXPECT_EQ(plan_0().study.castings.size(), 13u);
}

/// Stock by face of one straight casting that differs from nominal in one reading.
std::map<std::string, double> stock_of(const std::string& thick, const std::string& width, const std::string& length,
                                       const std::string& core_x, const std::string& floor) {
  const std::string head =
      "no,thick [mm],width [mm],length [mm],coreD [mm],coreX [mm],coreY [mm],floorZ [mm],warp [mm]\n";
  const std::string row = "1," + thick + "," + width + "," + length + ",46.0," + core_x + ",0.0," + floor + ",0\n";
  const demo::Run r = demo::demo({}, demo::quick(), nullptr, head + row);
  return casting(r, "1").stock;
}

TEST(Figures, TheRouteSendsEachErrorWhereItBelongs) {
  const auto nominal = stock_of("39.9", "97.1", "136.25", "0.0", "20.35");
  ASSERT_EQ(nominal.count("F11"), 1u);
  EXPECT_NEAR(nominal.at("F11") / mm, 39.9 - 36 - 1.9, 1e-6);
  EXPECT_NEAR(nominal.at("A") / mm, 1.9, 1e-6);
  EXPECT_NEAR(nominal.at("F2") / mm, (50.0195 - 46.0) / 2, 1e-6);
  EXPECT_NEAR(nominal.at("F3") / mm, 20.35 - 18, 1e-6);
  const auto differ = [&](const std::map<std::string, double>& now, std::map<std::string, double> by) {
    for (const auto& [face, was] : nominal) {
      const double expected = by.count(face) > 0 ? by[face] : 0;
      // A drafted wall stands nearer to the middle at its ends and stretches a hundredth less there.
      EXPECT_NEAR((now.at(face) - was) / mm, expected, expected == 0 && by.count("E1") == 0 ? 1e-6 : 0.003) << face;
    }
  };
  {
    SCOPED_TRACE("0.3 thicker: the raw bottom lies on the chuck first, so all of it is on top");
    differ(stock_of("40.2", "97.1", "136.25", "0.0", "20.35"), {{"F11", 0.3}});
  }
  {
    SCOPED_TRACE("0.4 wider: raw -Y lies on the rests of the first edge, so all of it is on E1; the middle moves 0.2");
    differ(stock_of("39.9", "97.5", "136.25", "0.0", "20.35"), {{"E1", 0.4}, {"F2", -0.2}});
  }
  {
    SCOPED_TRACE("0.4 longer: zero is the middle of the ends");
    differ(stock_of("39.9", "97.1", "136.65", "0.0", "20.35"), {{"F1.+x", 0.2}, {"F1.-x", 0.2}});
  }
  for (const char* x : {"0.5", "-0.5"}) {
    SCOPED_TRACE("core off by " + std::string(x));
    differ(stock_of("39.9", "97.1", "136.25", x, "20.35"), {{"F2", -0.5}});
  }
  {
    SCOPED_TRACE("floor 0.2 higher above the later face A");
    differ(stock_of("39.9", "97.1", "136.25", "0.0", "20.55"), {{"F3", 0.2}});
  }
}

TEST(Figures, LiftingTheLoadedPallet) {
  // 23 kg x reach x height x travel x twist x frequency x grip, set down at the door: H 55, V 100, 30 degrees, 8 hours.
  const double limit = 23 * (25.0 / 55) * (1 - 0.003 * (100 - 75)) * 1.0 * (1 - 0.0032 * 30) * 0.85 * 1.0;
  const double load = 6.15 + 4 * 2.90 + 0.3;  // 0.3 kg of coolant is assumed
  const auto f = plan_0().at("op30.pallet.lift");
  published("study", "lifting index of the loaded pallet at the door", "NIOSH 94-110, multiplied out by hand",
            How::computed, load / limit, f.value, 1e-9);
  EXPECT_EQ(f.state, finding::State::outside);
  EXPECT_NEAR(f.margin, 1 - load / limit, 1e-9);
  EXPECT_FALSE(f.cautions.empty());
}

/// Least play left on the pins when the plate is at `t` and the part at 20, m: float of the land and half the clearance
/// of the round pin, minus both spans' tolerances and the growth of the plate.
double spare(double t) {
  const double grown = 1 + 11.5e-6 * (t - 20), d = 7.978 * grown, w = 1.6 * grown, pin = 7.995 * grown;
  const double land = (-w + std::sqrt(w * w + 8.0 * 8.0 - d * d)) / 2;
  const double growth = 23.8e-6 * (t - 20) * 111.22;
  return (land + (8.0 - pin) / 2 - (0.015 + 0.010 + growth)) * mm;
}

TEST(Figures, ThePartGoesOnItsPins) {
  const auto f = plan_0().at("op30.F7.goes_on");
  EXPECT_EQ(f.state, finding::State::inside);
  // The temperature up to which every pair goes on is where our own sum is used up.
  ASSERT_FALSE(f.levers.empty());
  const double warmest = f.levers[0].flip - 273.15;
  EXPECT_NEAR(spare(warmest), 0, 2e-9);
  std::string said;
  for (const auto& i : f.inputs)
    if (i.name == "worst case: play left") said = i.text;
  unit::Style gauge;
  gauge.gauge = true;
  EXPECT_EQ(said, unit::print(spare(30), unit::Kind::length, gauge));
}

TEST(Figures, ALandTooLargeNoLongerGoesOn) {
  const demo::Run r = demo::demo({{"land = \"7.970..7.978 mm\"", "land = \"7.994..7.998 mm\""}});
  EXPECT_EQ(r.at("op30.F7.goes_on").state, finding::State::outside);
  EXPECT_GT(r.at("op30.F7.goes_on").value, 0.001);
}

TEST(Figures, PlayInTheMiddleBetweenThePins) {
  // Middle of the line of pins: across it half of what both pins leave, along it what the round pin leaves: largest
  // sqrt(x^2 + ((y + b)/2)^2) with x^2 + y^2 = a^2, a and b half the largest clearances of pin and land.
  const double a = 0.5 * (8.015 - 7.986), b = 0.5 * (8.015 - 7.970);
  const double y = b / 3, x2 = a * a - y * y;  // where the derivative is zero
  const double most = std::sqrt(x2 + 0.25 * (y + b) * (y + b));
  const auto f = plan_0().at("op30.F2.play_of_pins");
  published("study", "play of the pins at the counterbore, mm", "maximum of the two circles by hand", How::computed,
            most, f.value / mm, 5e-5);
  EXPECT_NEAR(f.limit.high / mm, 0.035, 1e-12);  // half of the zone of 0.07
}

TEST(Figures, SwapOfThePallet) {
  finding::Finding f;
  for (const auto& x : plan_0().study.findings)
    if (x.question == "swap") f = x;
  // Four anchors of 0.005 at three sigma: the middle moves by s/2, the nests more, and none by more than one anchor.
  const double s = 0.005 / 3;
  EXPECT_GT(f.value / mm, 3 * s / 2);
  EXPECT_LT(f.value / mm, 3 * s);
}

TEST(Figures, TheGroundCastingIsHeld) {
  for (const char* id : {"op10a.-.held_in_one_place", "op10b.-.held_in_one_place", "op20.-.held_in_one_place",
                         "op30.-.held_in_one_place"})
    EXPECT_EQ(plan_0().at(id).value, 6) << id;
  EXPECT_EQ(plan_0().at("g10t.-.held_in_one_place").value, 3);  // on a chuck only the height counts
  const demo::Run r = demo::demo({{"kind = \"stop\"\non = \"F1.-x\"", "kind = \"jaw\"\non = \"A\""}});
  EXPECT_EQ(r.at("op10a.-.held_in_one_place").state, finding::State::outside);
}

}  // namespace
}  // namespace fettle::study
