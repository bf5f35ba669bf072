#include "calc/locating/determinacy.h"

#include <gtest/gtest.h>

#include <cmath>

#include "calc/locating/pose.h"
#include "calc/locating/rock.h"
#include "published.h"

namespace fettle::locating {
namespace {

using test::How;
using test::published;
using Kind = Contact::Kind;

constexpr double mm = 1e-3;
Vec3 at(double x, double y, double z) { return {x * mm, y * mm, z * mm}; }

/// The six locators of the linear-propagation case.
std::vector<Contact> six() {
  return {{"rest 1", at(20, 20, 0), {0, 0, 1}},   {"rest 2", at(180, 20, 0), {0, 0, 1}},
          {"rest 3", at(100, 130, 0), {0, 0, 1}}, {"side 1", at(30, 0, 25), {0, 1, 0}},
          {"side 2", at(170, 0, 25), {0, 1, 0}},  {"end", at(0, 75, 25), {1, 0, 0}}};
}

TEST(Determinacy, SixContactsHoldExactly) {
  const Determinacy d = determinacy(six()).value();
  EXPECT_TRUE(d.determinate);
  EXPECT_EQ(d.rank, 6u);
  EXPECT_LT(d.condition, 20);
  EXPECT_TRUE(d.caution.empty());
}

TEST(Determinacy, NamesTheFreedomLeft) {
  std::vector<Contact> c = six();
  c.pop_back();
  Determinacy d = determinacy(c).value();
  ASSERT_EQ(d.left.size(), 1u);
  EXPECT_EQ(d.left[0].words, "free to slide along X");

  c = six();
  c.erase(c.begin() + 4);  // one side contact left: turns about Z through where the two normals meet
  d = determinacy(c).value();
  ASSERT_EQ(d.left.size(), 1u);
  EXPECT_EQ(d.left[0].type, Freedom::Type::turn);
  EXPECT_NEAR(d.left[0].axis.z, 1, 1e-9);
  EXPECT_NEAR(d.left[0].point.x, 30 * mm, 1e-9);
  EXPECT_NEAR(d.left[0].point.y, 75 * mm, 1e-9);
  EXPECT_EQ(d.left[0].words.find("free to turn about an axis along Z through (30.00, 75.00,"), 0u) << d.left[0].words;

  // Three rests only: slides in X and Y, turns about Z.
  c = six();
  c.resize(3);
  d = determinacy(c).value();
  ASSERT_EQ(d.left.size(), 3u);
  EXPECT_EQ(d.left[0].words, "free to slide along X");
  EXPECT_EQ(d.left[1].words, "free to slide along Y");
  EXPECT_EQ(d.left[2].type, Freedom::Type::turn);
  EXPECT_NEAR(d.left[2].axis.z, 1, 1e-9);

  // Three side contacts that meet in one point: looks like six, leaves a turn and fights.
  c = six();
  c[3] = {"a", at(50, 50, 25) + at(-50, 0, 0), {1, 0, 0}};
  c[4] = {"b", at(50, 50, 25) + at(0, -50, 0), {0, 1, 0}};
  c[5] = {"c", at(50, 50, 25) + at(35, 35, 0), {-1, -1, 0}};
  d = determinacy(c).value();
  EXPECT_EQ(d.rank, 5u);
  ASSERT_EQ(d.left.size(), 1u);
  EXPECT_NEAR(d.left[0].point.x, 50 * mm, 1e-9);
  EXPECT_NEAR(d.left[0].point.y, 50 * mm, 1e-9);
  ASSERT_EQ(d.fights.size(), 1u);
  EXPECT_FALSE(d.fights[0].rocks);  // they squeeze
}

TEST(Determinacy, AScrewIsSaidToBeOne) {
  // Motions allowed: t = w x 0 + pitch: stop all that is not a turn about Z with 10 mm per rad.
  std::vector<Contact> c;
  const auto stop = [&](Vec3 p, Vec3 n) { c.push_back({"", p, n}); };
  stop(at(0, 0, 0), {1, 0, 0});
  stop(at(0, 0, 0), {0, 1, 0});
  stop(at(0, 0, 50), {1, 0, 0});
  stop(at(0, 0, 50), {0, 1, 0});
  stop(at(10, 0, 0), {0, 1, -1});  // motion at (10,0,0) is (0, 10, 10): along (0,1,1)
  const Determinacy d = determinacy(c).value();
  ASSERT_EQ(d.left.size(), 1u);
  EXPECT_EQ(d.left[0].type, Freedom::Type::screw);
  EXPECT_NEAR(std::fabs(d.left[0].pitch), 10 * mm, 1e-9);
}

TEST(Determinacy, DoesNotDependOnFrameOrUnit) {
  std::vector<Contact> c = six();
  c.pop_back();
  for (Contact& k : c) k.p = 1000.0 * k.p + Vec3{5000, -3000, 700};
  const Determinacy d = determinacy(c).value();
  ASSERT_EQ(d.left.size(), 1u);
  EXPECT_EQ(d.left[0].words, "free to slide along X");
}

TEST(Determinacy, FourRestsRock) {
  std::vector<Contact> c = six();
  c.push_back({"rest 4", at(100, 20, 0), {0, 0, 1}});  // on the line of rests 1 and 2
  Determinacy d = determinacy(c).value();
  EXPECT_EQ(d.rank, 6u);
  EXPECT_FALSE(d.determinate);
  ASSERT_EQ(d.fights.size(), 1u);
  EXPECT_TRUE(d.fights[0].rocks);
  ASSERT_EQ(d.fights[0].contacts, (std::vector<std::size_t>{0, 1, 6}));  // rest 3 has no part in it
  EXPECT_NEAR(d.fights[0].share[0], -0.5, 1e-9);
  EXPECT_NEAR(d.fights[0].share[1], -0.5, 1e-9);
  EXPECT_NEAR(d.fights[0].share[2], 1, 1e-9);
}

TEST(Determinacy, TwoRoundPinsFight) {
  std::vector<Contact> c = {
      {"pad 1", at(0, 0, 0), {0, 0, 1}}, {"pad 2", at(50, 0, 0), {0, 0, 1}}, {"pad 3", at(0, 50, 0), {0, 0, 1}}};
  for (const Contact& k : round_pin("pin B", at(-44, -34, 0), {1, 0, 0}, {0, 1, 0})) c.push_back(k);
  std::vector<Contact> right = c, wrong = c, two = c;
  const Vec3 along = frame::unit(Vec3{88, 68, 0}), across = {-along.y, along.x, 0};
  right.push_back(relieved_pin("pin C", at(44, 34, 0), across));
  EXPECT_TRUE(determinacy(right)->determinate);
  wrong.push_back(relieved_pin("pin C", at(44, 34, 0), along));  // relieved the wrong way
  const Determinacy w = determinacy(wrong).value();
  ASSERT_EQ(w.left.size(), 1u);
  EXPECT_EQ(w.left[0].type, Freedom::Type::turn);
  ASSERT_EQ(w.fights.size(), 1u);
  EXPECT_FALSE(w.fights[0].rocks);
  for (const Contact& k : round_pin("pin C", at(44, 34, 0), {1, 0, 0}, {0, 1, 0})) two.push_back(k);
  const Determinacy t = determinacy(two).value();
  EXPECT_TRUE(t.left.empty());
  ASSERT_EQ(t.fights.size(), 1u);
  EXPECT_EQ(t.fights[0].contacts.size(), 4u);
}

TEST(Determinacy, WarnsOfWeakStands) {
  std::vector<Contact> c = six();
  c[4].p = at(30.2, 0, 25);  // the two side contacts nearly in one place
  const Determinacy d = determinacy(c).value();
  EXPECT_TRUE(d.determinate);
  EXPECT_GT(d.condition, 100);
  EXPECT_FALSE(d.caution.empty());
}

TEST(Determinacy, Refuses) {
  EXPECT_FALSE(determinacy({}).ok());
  std::vector<Contact> c = six();
  c[0].n = {0, 0, 0};
  c[1].p.x = std::nan("");
  c[2].n.y = INFINITY;
  EXPECT_EQ(determinacy(c).problems().size(), 3u);
}

TEST(Seating, ClampPressesOrOpens) {
  Seating s = seating(six(), {-10, -20, -100}, at(100, 60, 10)).value();
  EXPECT_NEAR(s.force[0] + s.force[1] + s.force[2], 100, 1e-9);
  EXPECT_NEAR(s.force[3] + s.force[4], 20, 1e-9);
  EXPECT_NEAR(s.force[5], 10, 1e-9);
  EXPECT_TRUE(s.pressed);
  s = seating(six(), {0, 0, -100}, at(10, 125, 10)).value();  // outside the rests
  EXPECT_FALSE(s.pressed);
  EXPECT_EQ(s.opens, std::vector<std::size_t>{1});
  std::vector<Contact> five = six();
  five.pop_back();
  EXPECT_FALSE(seating(five, {0, 0, -1}, {}).ok());
  EXPECT_FALSE(seating(six(), {0, 0, std::nan("")}, {}).ok());
}

// ---- pose ----

PoseInputs case_with(std::vector<Deviation> d) { return {six(), std::move(d), {{"P", at(150, 100, 40), {0, 0, 0}}}}; }
const char* const linear = "linear propagation n.(t + w x r) = delta, worked by hand (method of Asada & By 1985)";

TEST(PoseError, OneContactAtATime) {
  std::vector<Deviation> d(6);
  d[2].mean = 0.050 * mm;
  PoseResult r = pose(case_with(d)).value();
  published("locating", "third rest +0.050: shift in y, mm", linear, How::computed, 0.01136364, r.t.y / mm, 1e-8);
  published("locating", "third rest +0.050: shift in z, mm", linear, How::computed, -0.00909091, r.t.z / mm, 1e-8);
  published("locating", "third rest +0.050: turn about x, rad", linear, How::computed, 4.545455e-4, r.w.x, 1e-9);
  EXPECT_NEAR(r.t.x, 0, 1e-15);
  published("locating", "third rest +0.050: P in y, mm", linear, How::computed, -0.006818, r.features[0].mean.y / mm,
            1e-6);
  published("locating", "third rest +0.050: P in z, mm", linear, How::computed, 0.036364, r.features[0].mean.z / mm,
            1e-6);
  d = std::vector<Deviation>(6);
  d[0].mean = 0.020 * mm;
  r = pose(case_with(d)).value();
  published("locating", "first rest +0.020: P in x, mm", linear, How::computed, 0.001875, r.features[0].mean.x / mm,
            1e-6);
  published("locating", "first rest +0.020: P in y, mm", linear, How::computed, 0.001364, r.features[0].mean.y / mm,
            1e-6);
  published("locating", "first rest +0.020: P in z, mm", linear, How::computed, -0.003523, r.features[0].mean.z / mm,
            1e-6);
  d = std::vector<Deviation>(6);
  d[4].mean = 0.030 * mm;
  r = pose(case_with(d)).value();
  published("locating", "second side +0.030: turn about z, rad", linear, How::computed, 2.142857e-4, r.w.z, 1e-9);
  published("locating", "second side +0.030: P in x, mm", linear, How::computed, -0.005357, r.features[0].mean.x / mm,
            1e-6);
  published("locating", "second side +0.030: P in y, mm", linear, How::computed, 0.025714, r.features[0].mean.y / mm,
            1e-6);
}

TEST(PoseError, AllSix) {
  const PoseInputs in = case_with(std::vector<Deviation>(6, {0, 0.010 * mm, 0.010 * mm}));
  const FeatureError e = pose(in)->features[0];
  published("locating", "all six +-0.010: worst x, mm", linear, How::computed, 0.01545, e.worst.x / mm, 1e-5);
  published("locating", "all six +-0.010: worst y, mm", linear, How::computed, 0.01273, e.worst.y / mm, 1e-5);
  published("locating", "all six +-0.010: worst z, mm", linear, How::computed, 0.01352, e.worst.z / mm, 1e-5);
  published("locating", "all six +-0.010: root sum of squares x, mm", linear, How::computed, 0.01040, e.s.x / mm, 1e-5);
  published("locating", "all six +-0.010: root sum of squares y, mm", linear, How::computed, 0.00885, e.s.y / mm, 1e-5);
  published("locating", "all six +-0.010: root sum of squares z, mm", linear, How::computed, 0.00873, e.s.z / mm, 1e-5);
  // The three worst axes never happen together: the farthest corner is nearer than their sum of squares.
  EXPECT_LT(e.worst_distance, frame::norm(e.worst));
  EXPECT_GE(e.worst_distance, std::max({e.worst.x, e.worst.y, e.worst.z}));
  double shares = 0;
  for (const Contributor& c : e.contributors) shares += c.share;
  EXPECT_NEAR(shares, 1, 1e-12);
  EXPECT_GE(e.contributors[0].share, e.contributors[1].share);
}

TEST(PoseError, AlongADirectionAndJacobian) {
  PoseInputs in = case_with(std::vector<Deviation>(6, {0, 0.010 * mm, 0.003 * mm}));
  in.features[0].n = {0, 0, 5};
  const FeatureError e = pose(in)->features[0];
  EXPECT_NEAR(e.along_worst, e.worst.z, 1e-15);
  EXPECT_NEAR(e.along_s, e.s.z, 1e-15);
  const maths::Matrix S = shift_per_deviation(six(), in.features[0].p).value();
  double sum = 0;
  for (std::size_t i = 0; i < 6; ++i) sum += std::fabs(S(2, i)) * 0.010 * mm;
  EXPECT_NEAR(sum, e.worst.z, 1e-15);
  // The point under each contact follows its own deviation and no other.
  const std::vector<Contact> c = six();
  for (std::size_t k = 0; k < 6; ++k) {
    const maths::Matrix own = shift_per_deviation(c, c[k].p).value();
    for (std::size_t i = 0; i < 6; ++i)
      EXPECT_NEAR(own(0, i) * c[k].n.x + own(1, i) * c[k].n.y + own(2, i) * c[k].n.z, i == k ? 1 : 0, 1e-12);
  }
}

TEST(PoseError, Refuses) {
  PoseInputs in = case_with(std::vector<Deviation>(6));
  in.contacts.pop_back();
  EXPECT_FALSE(pose(in).ok());
  EXPECT_NE(pose(in).problem().what.find("slide along X"), std::string::npos);
  in = case_with(std::vector<Deviation>(5));
  EXPECT_FALSE(pose(in).ok());
  for (const double x : {-1e-6, std::nan(""), static_cast<double>(INFINITY)}) {
    std::vector<Deviation> d(6);
    d[3].most = x;
    EXPECT_FALSE(pose(case_with(d)).ok()) << x;
    d[3] = {0, 0, x};
    EXPECT_FALSE(pose(case_with(d)).ok()) << x;
  }
  std::vector<Deviation> d(6);
  d[0].mean = std::nan("");
  EXPECT_FALSE(pose(case_with(d)).ok());
  in = case_with(std::vector<Deviation>(6));
  in.features[0].p.z = std::nan("");
  EXPECT_FALSE(pose(in).ok());
  EXPECT_FALSE(shift_per_deviation(six(), {0, std::nan(""), 0}).ok());
}

// ---- rocking ----

RockInputs table_with(double z4, double x = 45, double y = 28) {
  return {
      {{"1", 0, 0, 0}, {"2", 100 * mm, 0, 0}, {"3", 100 * mm, 60 * mm, 0}, {"4", 0, 60 * mm, z4 * mm}}, x * mm, y * mm};
}

TEST(Rock, FourRests) {
  RockResult r = rock(table_with(0)).value();
  EXPECT_EQ(r.largest_gap, 0);
  EXPECT_EQ(r.rock_angle, 0);
  // Rest 4 low by 0.4: the load beside the diagonal 1-3 chooses; weight over 1-2-3.
  r = rock(table_with(-0.4, 60, 28)).value();
  EXPECT_EQ(r.carry, (std::array<std::size_t, 3>{0, 1, 2}));
  EXPECT_EQ(r.widest, 3u);
  EXPECT_NEAR(r.largest_gap, 0.4 * mm, 1e-12);
  // It turns about the diagonal 1-3 until rest 4 touches: gap over the distance of rest 4 from that diagonal.
  const double arm = 100 * 60 / std::hypot(100, 60) * mm;
  // Then rest 2 opens by as much: the other stance is turned by 0.4/arm about the same diagonal.
  published("locating", "four rests, one 0.4 low: rock angle, rad", "plane geometry, worked by hand", How::exact,
            std::atan(0.4 * mm / arm), r.rock_angle, 1e-12);
  // Rest 4 high by 0.4: stands on 4 and 2 as the ridge.
  r = rock(table_with(0.4, 30, 20)).value();
  EXPECT_EQ(r.carry, (std::array<std::size_t, 3>{0, 1, 3}));
  EXPECT_EQ(r.widest, 2u);
  EXPECT_NEAR(r.largest_gap, 0.4 * mm, 1e-12);
  EXPECT_NE(r.words.find("stands on 1, 2 and 4"), std::string::npos) << r.words;
}

TEST(Rock, TipsAndRefuses) {
  EXPECT_TRUE(rock(table_with(0, -1, 10))->tips);
  RockInputs two = table_with(0);
  two.rests.resize(2);
  EXPECT_FALSE(rock(two).ok());
  RockInputs line = {{{"a", 0, 0, 0}, {"b", 1, 1, 0}, {"c", 2, 2, 0}}, 1, 1};
  EXPECT_FALSE(rock(line).ok());
  RockInputs nan = table_with(std::nan(""));
  EXPECT_FALSE(rock(nan).ok());
  EXPECT_FALSE(rock(table_with(0, std::nan(""), 0)).ok());
}

TEST(Rock, SpreadOfTheGap) {
  published("locating", "rectangle of four rests, spread of the gap over the spread of a rest",
            "sum of squares of +-1, exact", How::exact, 2, gap_spread(table_with(0).rests, 1.0).value(), 1e-12);
  EXPECT_FALSE(gap_spread(table_with(0).rests, -1).ok());
  EXPECT_FALSE(gap_spread(table_with(0).rests, std::nan("")).ok());
}

}  // namespace
}  // namespace fettle::locating
