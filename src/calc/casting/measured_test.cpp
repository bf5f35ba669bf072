#include "calc/casting/measured.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "calc/casting/sample.h"
#include "calc/casting/valve_body_for_tests.h"
#include "calc/casting/virtual_castings.h"
#include "maths/statistics.h"
#include "published.h"

namespace fettle::casting {
namespace {

using test::How;
using test::published;
using valve_body::mm;

const FaceStock& face(const std::vector<FaceStock>& faces, const std::string& id) {
  for (const FaceStock& f : faces)
    if (f.face == id) return f;
  ADD_FAILURE() << "no face " << id;
  return faces.front();
}

TEST(Measured, NominalValveBodyHasTheStockOfItsDrawing) {
  const Model m = build(valve_body::casting(), valve_body::route()).value();
  const auto f = by_face(m, stock(m, {}));
  EXPECT_NEAR(face(f, "F11").least / mm, 2.0, 1e-9);
  EXPECT_NEAR(face(f, "A").least / mm, 1.9, 1e-9);
  EXPECT_NEAR(face(f, "F2").least / mm, 2.0, 1e-9);
  EXPECT_NEAR(face(f, "F3").least / mm, 2.35, 1e-9);
  EXPECT_NEAR(face(f, "edge +Y").most / mm, 2.1 - 0.05 * std::tan(valve_body::draft), 1e-9);
  EXPECT_NEAR(face(f, "F1 +X").least / mm, 2.125 - 18.05 * std::tan(valve_body::draft), 1e-9);
  EXPECT_NEAR(face(f, "F1 +Y").least / mm, 0.45, 1e-9);
  EXPECT_NEAR(face(f, "F1 -Y").least / mm, 0.55, 1e-9);
}

TEST(Measured, EachCastingOfTheSampleByHand) {
  // Stock on the bore wall by hand: core radius and core shift against the finished axis. OP20 takes the middle of the
  // raw ends in X, and in Y the edges that were cut from the raw -Y edge: half of the width's deviation moves the core.
  const Model m = build(valve_body::casting(), valve_body::route()).value();
  const MeasuredSample sample = valve_body::measured();
  ASSERT_EQ(sample.rows.size(), 13U);
  EXPECT_TRUE(sample.not_measured.empty());
  for (MeasuredRow row : sample.rows) {
    row.parameters[valve_body::bow] = 0;  // the hand sum knows no warp
    const CastingVerdict v = judge_casting(m, row);
    const auto& p = row.parameters;
    const double dx = p[valve_body::core_x], dy = p[valve_body::core_y] + p[valve_body::width] / 2;
    const double by_hand = (50 - 46) / 2.0 * mm - p[valve_body::core_d] / 2 - std::hypot(dx, dy);
    // 72 points round the bore: the least is met to 0.1 % of the shift.
    published("casting", "casting " + row.casting + " of the demo without warp: least stock on the bore, mm",
              "eccentric circles by hand", How::computed, by_hand / mm, face(v.faces, "F2").least / mm, 0.003);
    published("casting", "casting " + row.casting + " of the demo without warp: least stock on the core floor, mm",
              "floor height less 18, by hand", How::computed, 2.35 + p[valve_body::core_z] / mm,
              face(v.faces, "F3").least / mm, 1e-9);
    EXPECT_EQ(v.shift.status, PoseStatus::found) << v.shift.why;
    EXPECT_EQ(v.any_pose.status, PoseStatus::found) << v.any_pose.why;
    EXPECT_GE(v.shift.least, v.reserve - 1e-9);
    EXPECT_GE(v.any_pose.least, v.any_pose.least_before - 1e-12);
  }
}

TEST(Measured, OneCastingIsSavedByTheShiftAndOneIsNot) {
  const Model m = build(valve_body::casting(), valve_body::route()).value();
  const MeasuredSample sample = valve_body::measured();
  const CastingVerdict seventh = judge_casting(m, sample.rows[6]);
  EXPECT_LT(seventh.reserve, 0);
  EXPECT_EQ(seventh.faces[static_cast<std::size_t>(seventh.tightest_face)].face, "F2");
  EXPECT_TRUE(seventh.shift.clears);
  EXPECT_GT(seventh.shift.shifts[6 * 4], 0.2 * mm);  // OP20, X
  const CastingVerdict last = judge_casting(m, sample.rows[12]);
  EXPECT_FALSE(last.shift.clears);
  EXPECT_THAT(say_clash(last.shift.clash, last.shift.stops), testing::HasSubstr("F2"));
  int fail = 0, saved = 0;
  for (const MeasuredRow& row : sample.rows) {
    const CastingVerdict v = judge_casting(m, row);
    fail += v.reserve < 0;
    saved += v.reserve < 0 && v.shift.clears;
  }
  EXPECT_GE(fail, 2);
  EXPECT_GE(saved, 1);
}

TEST(Measured, LearnedSpreadIsThatOfTheSample) {
  const MeasuredSample sample = valve_body::measured();
  const Casting c = learned(valve_body::casting(), sample, valve_body::meanings()).value();
  std::vector<double> core;
  for (const MeasuredRow& r : sample.rows) core.push_back(r.parameters[valve_body::core_x]);
  const auto moments = maths::moments(core);
  EXPECT_NEAR(c.modes[valve_body::core_x].mean, moments.mean, 1e-15);
  EXPECT_NEAR(c.modes[valve_body::core_x].s, moments.s, 1e-15);
  EXPECT_EQ(c.modes[valve_body::bow].mean, 0);
  VirtualInputs in;
  in.castings = 20000;
  const Model m = build(c, valve_body::route()).value();
  std::vector<double> x, xy;
  for (int i = 0; i < 20000; ++i) {
    const auto p = one_casting(m, 1, i).parameters;
    x.push_back(p[valve_body::core_x]);
    xy.push_back(p[valve_body::core_x]);
    xy.push_back(p[valve_body::core_y]);
  }
  EXPECT_NEAR(maths::moments(x).mean, moments.mean, 4 * moments.s / std::sqrt(2e4));
  EXPECT_NEAR(maths::moments(x).s, moments.s, 4 * moments.s / std::sqrt(4e4));
  std::vector<double> given;
  for (const MeasuredRow& r : sample.rows) {
    given.push_back(r.parameters[valve_body::core_x]);
    given.push_back(r.parameters[valve_body::core_y]);
  }
  EXPECT_NEAR(maths::covariance(xy, 2).matrix[1] / 1e-6, maths::covariance(given, 2).matrix[1] / 1e-6, 0.02);
  MeasuredSample two = sample;
  two.rows.resize(2);
  EXPECT_FALSE(learned(valve_body::casting(), two, valve_body::meanings()).ok());
}

TEST(Measured, WarpOfUnknownDirectionCountsAtItsWorse) {
  const Model m = build(valve_body::casting(), valve_body::route()).value();
  MeasuredRow row{"x", std::vector<double>(8, 0.0), {valve_body::bow}};
  row.parameters[valve_body::bow] = 0.4 * mm;
  const StockBand band = stock_band(m, row);
  row.either_way.clear();
  const auto one = by_face(m, stock_band(m, row).low);
  row.parameters[valve_body::bow] *= -1;
  const auto other = by_face(m, stock_band(m, row).low);
  const auto both = by_face(m, band.low);
  for (std::size_t f = 0; f < both.size(); ++f) EXPECT_EQ(both[f].least, std::fmin(one[f].least, other[f].least));
  EXPECT_LT(face(both, "A").least, 1.9 * mm);
}

TEST(Measured, MeaningsAreChecked) {
  TapeOptions o;
  o.unit = "mm";
  const TapeTable t = read_tape("no,thick\n1,40\n", o).value();
  const Casting c = valve_body::casting();
  EXPECT_TRUE(measured_sample(t, {{"thick", 2, 0.0399, 1, false}}, c).ok());
  EXPECT_EQ(measured_sample(t, {{"thick", 2, 0.0399, 1, false}}, c)->not_measured.size(), 7U);
  EXPECT_FALSE(measured_sample(t, {{"width", 1, 0, 1, false}}, c).ok());
  EXPECT_FALSE(measured_sample(t, {{"thick", 8, 0, 1, false}}, c).ok());
  EXPECT_FALSE(measured_sample(t, {{"thick", -1, 0, 1, false}}, c).ok());
  EXPECT_FALSE(measured_sample(t, {{"thick", 2, NAN, 1, false}}, c).ok());
  EXPECT_FALSE(measured_sample(t, {{"thick", 2, 0, 1, false}, {"thick", 2, 0, 1, false}}, c).ok());
}

TEST(Measured, FaceByFaceAgreesWithTheModes) {
  // Readings made from known errors, at few places, must give the stock of those errors back.
  const Casting c = valve_body::casting();
  const Model m = build(c, valve_body::route()).value();
  std::vector<double> p(8, 0.0);
  p[valve_body::length] = 0.4 * mm;
  p[valve_body::core_x] = 0.7 * mm;
  p[valve_body::core_y] = -0.3 * mm;
  p[valve_body::core_d] = 0.2 * mm;
  p[valve_body::thickness] = 0.25 * mm;
  p[valve_body::core_z] = -0.5 * mm;
  std::vector<Reading> readings;
  const auto raw = raw_deviation(m, p);
  std::size_t i = 0;
  for (std::size_t f = 0; f < m.faces.size(); ++f)
    for (const FacePoint& point : m.faces[f].points) {
      if (m.raw_point[i] != 0 && i % 4 == 0) readings.push_back({m.faces[f].from, point.p, point.n, raw[i]});
      ++i;
    }
  const Deviations d = deviations_of(m, readings);
  EXPECT_TRUE(d.complete());
  const auto expected = stock(m, p), got = stock_of_measured(m, d.touch, d.point);
  // A drafted wall that is stretched leans otherwise by 0.4 / 136 of its 0.5 mm of draft, which a rigid move cannot
  // follow.
  for (std::size_t k = 0; k < got.size(); ++k) EXPECT_NEAR(got[k] / mm, expected[k] / mm, 0.4 / 136 * 0.5) << k;
  EXPECT_NEAR(judge_casting(m, "one", d).reserve, judge_casting(m, MeasuredRow{"one", p, {}}).reserve, 1.5e-6);
}

TEST(Measured, AMissingSurfaceIsNeverGood) {
  const Model m = build(valve_body::casting(), valve_body::route()).value();
  const Deviations d = deviations_of(m, {{"raw bottom", {0, 0, -1.9 * mm}, {0, 0, -1}, 0}});
  EXPECT_FALSE(d.complete());
  EXPECT_THAT(d.missing, testing::Contains("core wall"));
  const CastingVerdict v = judge_casting(m, "half", d);
  EXPECT_TRUE(std::isnan(v.reserve));
  EXPECT_EQ(v.shift.status, PoseStatus::refused);
  EXPECT_FALSE(v.shift.clears);
  EXPECT_FALSE(v.any_pose.clears);
}

TEST(Measured, FaceTable) {
  const Model m = build(valve_body::casting(), valve_body::route()).value();
  const auto t = read_face_table(
      "casting;surface;x mm;y mm;z mm;offset mm\n1;core wall;23;0;25;-0,4\n1;raw top;0;0;38;0,2\n2;raw "
      "top;0;0;38;0,1\n",
      "faces.csv", "", m);
  ASSERT_TRUE(t.ok()) << say(t.problem());
  ASSERT_EQ(t->size(), 2U);
  EXPECT_EQ((*t)[0].readings.size(), 2U);
  EXPECT_NEAR((*t)[0].readings[0].n.x, -1, 1e-12);
  EXPECT_NEAR((*t)[0].readings[0].offset / mm, -0.4, 1e-12);
  const auto bad_one = read_face_table("casting,surface,x,y,z,offset\n1,core wal,23,0,25,0\n", "faces.csv", "mm", m);
  ASSERT_FALSE(bad_one.ok());
  EXPECT_EQ(bad_one.problem().nearest, "core wall");
  EXPECT_EQ(bad_one.problem().where.line, 2);
  EXPECT_FALSE(read_face_table("casting,surface,offset\n1,core wall,0\n", "faces.csv", "mm", m).ok());
}

TEST(Sample, ThirteenCastings) {
  const Model m = build(valve_body::casting(), valve_body::route()).value();
  SampleInputs in;
  in.limit = 0.8 * mm;
  in.asked_share = 0.99;
  for (const MeasuredRow& row : valve_body::measured().rows)
    in.values.push_back(face(by_face(m, stock_band(m, row).low), "F2").least);
  const SampleResult r = judge_sample(in).value();
  EXPECT_TRUE(r.enough);
  EXPECT_EQ(r.n, 13);
  published("casting", "one-sided factor used for 13 castings, share 0.99, confidence 0.95",
            "one-sided normal tolerance factors", How::from_memory, 3.659, r.factor, 6e-4 + 1e-9);
  EXPECT_LT(r.share_low, r.share_best_guess);
  EXPECT_GT(r.share_high, r.share_best_guess);
  // The mean alone would say good.
  EXPECT_GT(r.mean, in.limit);
  EXPECT_LT(r.guaranteed_level, in.limit);
  EXPECT_THAT(r.words, testing::HasSubstr("13 castings measured"));
  EXPECT_THAT(r.words, testing::HasSubstr("are asked"));
}

TEST(Sample, FewerThanThreeAreNotEnough) {
  SampleInputs in;
  in.values = {5 * mm, 5.1 * mm};
  in.limit = 0.8 * mm;
  const auto r = judge_sample(in).value();
  EXPECT_FALSE(r.enough);
  EXPECT_EQ(r.share_low, 0);
  EXPECT_THAT(r.words, testing::HasSubstr("not enough"));
  in.values.push_back(5.2 * mm);
  EXPECT_TRUE(judge_sample(in)->enough);
}

TEST(Sample, CountingAloneNeedsManyForAHighShare) {
  SampleInputs in;
  in.values = {1, 2, 3};
  in.limit = 0;
  in.asked_share = 0.90;
  published("casting", "castings to measure, all good, for 90 % share with 95 % confidence",
            "success run: ln(1 - c)/ln(share)", How::from_memory, 29, judge_sample(in)->needed_if_all_good, 0);
  in.asked_share = 0.99;
  published("casting", "castings to measure, all good, for 99 % share with 95 % confidence",
            "success run: ln(1 - c)/ln(share)", How::from_memory, 299, judge_sample(in)->needed_if_all_good, 0);
}

TEST(Sample, EqualReadingsAreNoProofOfNoSpread) {
  SampleInputs in;
  in.values = {1, 1, 1, 1};
  in.limit = 0.5;
  EXPECT_NEAR(judge_sample(in)->share_low, std::pow(0.05, 0.25), 1e-12);
}

TEST(Sample, RefusesOneBadValuePerBound) {
  const SampleInputs good{{1, 2, 3}, 0, 0.95, 0.99};
  EXPECT_TRUE(judge_sample(good).ok());
  SampleInputs in = good;
  in.values[1] = NAN;
  EXPECT_FALSE(judge_sample(in).ok());
  in = good;
  in.limit = NAN;
  EXPECT_FALSE(judge_sample(in).ok());
  in = good;
  in.confidence = 0.5;
  EXPECT_FALSE(judge_sample(in).ok());
  in = good;
  in.confidence = 1;
  EXPECT_FALSE(judge_sample(in).ok());
  in = good;
  in.asked_share = 0;
  EXPECT_FALSE(judge_sample(in).ok());
  in = good;
  in.asked_share = 1;
  EXPECT_FALSE(judge_sample(in).ok());
}

}  // namespace
}  // namespace fettle::casting
