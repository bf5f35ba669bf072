#include "calc/holding/jaw.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "calc/holding/jaw_contact.h"
#include "maths/random.h"
#include "maths/statistics.h"
#include "published.h"

namespace fettle::holding {
namespace {

using test::How;
using test::published;
constexpr double mm = 1e-3, kN = 1e3;

JawInputs three(double stiffness, bool bar = false) {
  JawInputs in;
  in.at = {-158 * mm, 0, 158 * mm};
  in.stiffness = {stiffness, stiffness, stiffness};
  in.force = 25 * kN;
  in.pushes = {{-120 * mm, 160 * mm, 1}, {120 * mm, 160 * mm, 1}};
  if (bar) in.bar = {470 * mm, 50 * mm, 40 * mm, 210e9, 0.3};
  in.need = 3 * kN;
  in.spread = 0.012 * mm;
  in.draws = 20000;
  return in;
}

TEST(Jaw, BeamAgainstPublishedDeflections) {
  const double e = 210e9 * 50 * mm * std::pow(40 * mm, 3) / 12, l = 0.4;
  const double far = 1e30;  // no shear
  published("holding", "middle load on a beam, mm/kN", "F l^3/(48 E I), exact", How::exact, l * l * l / (48 * e) * 1e6,
            beam_flexibility(l / 2, l / 2, l, e, far) * 1e6, 1e-9);
  published("holding", "load at a third, deflection there, mm/kN", "F a^2 b^2/(3 E I l), exact", How::exact,
            std::pow(l / 3, 2) * std::pow(2 * l / 3, 2) / (3 * e * l) * 1e6,
            beam_flexibility(l / 3, l / 3, l, e, far) * 1e6, 1e-9);
  published("holding", "shear part in the middle, mm/kN", "F l/(4 k G A), exact", How::exact, l / 4 / 1e8 * 1e6,
            beam_flexibility(l / 2, l / 2, l, 1e30, 1e8) * 1e6, 1e-9);
  published("holding", "shear coefficient of a rectangle at 0.3", "Cowper 1966, from memory", How::from_memory, 0.8497,
            shear_coefficient(0.3), 1e-4);
  EXPECT_NEAR(beam_flexibility(0.1, 0.3, l, e, 1e8), beam_flexibility(0.3, 0.1, l, e, 1e8), 1e-20);
}

TEST(Jaw, TwoPartsShareEvenlyHoweverUnequal) {
  JawInputs in;
  in.at = {-0.1, 0.1};
  in.stiffness = {800e6, 300e6};
  in.force = 20 * kN;
  in.need = 3 * kN;
  in.spread = 0.5 * mm;
  in.draws = 200;
  const auto s = jaw_state(in, {0.3 * mm, 0});
  ASSERT_TRUE(s.ok());
  published("holding", "two parts under a free jaw, N each", "balance of force and moment, exact", How::exact, 10000,
            s->force[0], 1e-6);
  EXPECT_NEAR(s->force[1], 10000, 1e-6);
  EXPECT_NEAR(s->yaw, (0.3 * mm + 10000 / 300e6 - 10000 / 800e6) / 0.2, 1e-9);
  const auto r = jaw_loads(in);
  ASSERT_TRUE(r.ok());
  EXPECT_TRUE(r->exact);
  EXPECT_EQ(r->share, 0);
  in.yaw_free = false;  // a guided jaw presses the wide part alone
  const auto guided = jaw_state(in, {0.3 * mm, 0});
  EXPECT_NEAR(guided->force[0], 20000, 1e-6);
  EXPECT_NEAR(guided->force[1], 0, 1e-6);
  EXPECT_GT(guided->gap[1], 0);
}

TEST(Jaw, ThreePartsRigidInClosedForm) {
  // a rigid free jaw: F = F/3 + (1, -2, 1) k (w1 - 2 w2 + w3)/6
  JawInputs in = three(100e6);
  const std::vector<double> w = {0.01 * mm, -0.02 * mm, 0.005 * mm};
  const double z = w[0] - 2 * w[1] + w[2];
  const auto s = jaw_state(in, w);
  ASSERT_TRUE(s.ok());
  for (int i = 0; i < 3; ++i)
    published("holding", "part under a rigid jaw, N", "F/3 + (1, -2, 1) k (w1 - 2 w2 + w3)/6, exact", How::exact,
              25000.0 / 3 + (i == 1 ? -2 : 1) * 100e6 * z / 6, s->force[static_cast<std::size_t>(i)], 1e-6);
  const auto r = jaw_loads(in);
  const double sz = std::sqrt(6.0) * in.spread, room = 25000.0 / 3 - 3000;
  const double expected = maths::normal_cdf(-room / (2 * 100e6 * sz / 6)) + maths::normal_cdf(-room / (100e6 * sz / 6));
  published("holding", "share of loads with a loose part", "normal integral, exact", How::exact, expected, r->share,
            1e-12);
  EXPECT_LT(r->worst_residual, 1e-8);
  // and which part it is, without a single load drawn
  const double middle = maths::normal_cdf(-room / (2 * 100e6 * sz / 6)),
               outer = maths::normal_cdf(-room / (100e6 * sz / 6));
  ASSERT_EQ(r->loose.size(), 3U);
  published("holding", "share of loads in which the middle part is loose", "normal integral, exact", How::exact, middle,
            r->loose[1], 1e-12);
  published("holding", "share of loads in which an outer part is loose", "normal integral, exact", How::exact, outer,
            r->loose[0], 1e-12);
}

TEST(Jaw, LooseByPartAgreesWithDrawnLoads) {
  JawInputs in = three(800e6, true);
  in.at = {-0.16, -0.02, 0.15};  // not alike: no two parts come short together
  in.bar.length = 0.5;
  const auto r = jaw_loads(in);
  ASSERT_TRUE(r.ok());
  ASSERT_TRUE(r->exact);
  int hits[3] = {0, 0, 0};
  for (int d = 0; d < 20000; ++d) {
    double z[3];
    maths::normals(7, static_cast<std::uint64_t>(d), 0, 3, z);
    const auto s = jaw_state(in, {in.spread * z[0], in.spread * z[1], in.spread * z[2]});
    ASSERT_TRUE(s.ok());
    for (std::size_t i = 0; i < 3; ++i) hits[i] += s->force[i] < in.need;
  }
  for (std::size_t i = 0; i < 3; ++i) {
    const auto known = maths::clopper_pearson(hits[i], 20000, 0.9999);
    EXPECT_GE(r->loose[i], known.low) << i;
    EXPECT_LE(r->loose[i], known.high) << i;
  }
}

TEST(Jaw, ClosedFormAgreesWithDrawnLoads) {
  for (double k : {800e6, 200e6})
    for (bool bar : {false, true}) {
      JawInputs in = three(k, bar);
      const auto r = jaw_loads(in);
      ASSERT_TRUE(r.ok());
      ASSERT_TRUE(r->exact);
      int hits = 0;
      for (int d = 0; d < 20000; ++d) {
        double z[3];
        maths::normals(7, static_cast<std::uint64_t>(d), 0, 3, z);
        const auto s = jaw_state(in, {in.spread * z[0], in.spread * z[1], in.spread * z[2]});
        ASSERT_TRUE(s.ok());
        hits += *std::min_element(s->force.begin(), s->force.end()) < in.need;
      }
      const auto i = maths::clopper_pearson(hits, 20000, 0.9999);
      EXPECT_GE(r->share, i.low) << k << bar;
      EXPECT_LE(r->share, i.high) << k << bar;
    }
}

TEST(Jaw, AnswersMeetTheConditionsByIndependentArithmetic) {
  JawInputs in = three(800e6, true);
  for (int d = 0; d < 300; ++d) {
    std::vector<double> w(3);
    maths::normals(3, static_cast<std::uint64_t>(d), 0, 3, w.data());
    for (double& x : w) x *= 0.05 * mm;
    const auto s = jaw_state(in, w, true);
    ASSERT_TRUE(s.ok());
    EXPECT_NEAR(std::accumulate(s->force.begin(), s->force.end(), 0.0), in.force, 1e-4);
    double moment = 0;
    for (int i = 0; i < 3; ++i) moment += s->force[static_cast<std::size_t>(i)] * in.at[static_cast<std::size_t>(i)];
    EXPECT_NEAR(moment, 0, 1e-5);
    // the jaw's line meets each part it presses, and passes the loose ones
    for (std::size_t i = 0; i < 3; ++i) {
      EXPECT_GE(s->force[i], 0);
      double line = s->advance + s->yaw * in.at[i];
      // line at the part, between the two nearest points of the drawn line
      const double step = s->bend_at[1] - s->bend_at[0], u = (in.at[i] - s->bend_at[0]) / step;
      const auto k = static_cast<std::size_t>(u);
      line += s->bend[k] + (u - static_cast<double>(k)) * (s->bend[k + 1] - s->bend[k]);
      const double squeeze = line + w[i];
      if (s->force[i] > 0) EXPECT_NEAR(s->force[i] / in.stiffness[i], squeeze, 4e-7);
      else EXPECT_LE(squeeze, 4e-7);
    }
  }
}

TEST(Jaw, MirroredLoadsGiveMirroredForces) {
  JawInputs in = three(300e6, true);
  const auto a = jaw_state(in, {0.02 * mm, 0.01 * mm, 0}), b = jaw_state(in, {0, 0.01 * mm, 0.02 * mm});
  for (std::size_t i = 0; i < 3; ++i) EXPECT_NEAR(a->force[i], b->force[2 - i], 1e-6);
  // a wedge of widths is taken up by the turn of the jaw
  const auto flat = jaw_state(in, {0, 0, 0}), wedge = jaw_state(in, {-0.3 * mm, 0, 0.3 * mm});
  for (std::size_t i = 0; i < 3; ++i) EXPECT_NEAR(flat->force[i], wedge->force[i], 1e-4);
}

TEST(Jaw, DirectionsAgreeWithCountedLoads) {
  JawInputs wide = three(800e6, true);
  wide.face = 132 * mm, wide.strips = 5;
  wide.spread = 0.012 * mm;
  wide.draws = 0;
  JawInputs four = three(400e6, true);
  four.at = {-165 * mm, -55 * mm, 55 * mm, 165 * mm};
  four.stiffness.assign(4, 400e6);
  four.bar.thickness = 80 * mm;
  four.draws = 0;
  for (const JawInputs& in : {wide, four}) {
    const auto r = jaw_loads(in);
    ASSERT_TRUE(r.ok());
    EXPECT_FALSE(r->exact);
    int hits = 0;
    constexpr int draws = 4000;
    const std::size_t n = in.at.size();
    for (int d = 0; d < draws; ++d) {
      std::vector<double> z(n);
      maths::normals(11, static_cast<std::uint64_t>(d), 0, n, z.data());
      for (double& x : z) x *= in.spread;
      const auto s = jaw_state(in, z);
      ASSERT_TRUE(s.ok());
      hits += *std::min_element(s->force.begin(), s->force.end()) < in.need;
    }
    const auto i = maths::clopper_pearson(hits, draws, 0.999);
    EXPECT_GE(r->share_high, i.low);
    EXPECT_LE(r->share_low, i.high);
    EXPECT_GT(r->share, 1e-4);
  }
}

TEST(Jaw, StressOfTheBarIsThatOfABeam) {
  JawInputs in;  // two supports, one push in the middle: M = F l/4
  in.at = {-0.2, 0.2};
  in.stiffness = {1e9, 1e9};
  in.force = 10 * kN;
  in.bar = {0.5, 50 * mm, 40 * mm, 210e9, 0.3};
  const auto s = jaw_state(in, {0, 0}, true);
  ASSERT_TRUE(s.ok());
  published("holding", "stress of a bar pushed in its middle, MPa", "6 F l/(4 h t^2), exact", How::exact,
            6 * 10e3 * 0.4 / 4 / (0.05 * 0.04 * 0.04) / 1e6, s->stress / 1e6, 1e-6);
  in.pushes = {{0, 0.4, 1}};  // spread over the whole span: M = F l/8
  EXPECT_NEAR(jaw_state(in, {0, 0}, true)->stress, s->stress / 2, 1e-3);
}

TEST(Jaw, AFaceOfOneStripIsAPoint) {
  JawInputs in = three(400e6, true);
  const auto point = jaw_state(in, {0.01 * mm, 0, 0.02 * mm});
  in.face = 100 * mm;
  const auto strip = jaw_state(in, {0.01 * mm, 0, 0.02 * mm});
  EXPECT_EQ(point->force, strip->force);
}

TEST(Jaw, LoadsThatAreShortAtEqualWidthsAreCounted) {
  JawInputs in = three(800e6, true);
  in.face = 132 * mm, in.strips = 5, in.need = 9 * kN;  // three cannot have 9 of 25
  const auto r = jaw_loads(in);
  ASSERT_TRUE(r.ok());
  EXPECT_EQ(r->share, 1);
  EXPECT_EQ(r->share_high, 1);
}

TEST(Jaw, SoftPadsMakeForcesEven) {
  JawInputs in = three(1, false);
  const double rest = 400e6;
  const auto pad = softest_pad_needed(in, rest, 0.001, 1e6);
  ASSERT_TRUE(pad.ok());
  in.stiffness.assign(3, in_series({rest, *pad}));
  EXPECT_LE(jaw_loads(in)->share, 0.001);
  in.stiffness.assign(3, in_series({rest, *pad * 1.01}));
  EXPECT_GT(jaw_loads(in)->share, 0.001);
  EXPECT_NEAR(pad_rule(25000, 3, 3000, 0.05 * mm) * 1e-6, (25000.0 / 3 - 3000) / 0.05 * 1e-3, 1e-9);
  JawInputs weak = three(1, false);
  weak.force = 8 * kN;  // not even enough at equal widths
  EXPECT_FALSE(softest_pad_needed(weak, rest, 0.001, 1e6).ok());
}

TEST(Jaw, EachBoundIsRefused) {
  const auto refused = [](auto change) {
    JawInputs in = three(100e6, true);
    change(in);
    return !jaw_loads(in).ok();
  };
  EXPECT_FALSE(refused([](JawInputs&) {}));
  EXPECT_TRUE(refused([](JawInputs& i) { i.at.clear(); }));
  EXPECT_TRUE(refused([](JawInputs& i) { i.stiffness.pop_back(); }));
  EXPECT_TRUE(refused([](JawInputs& i) { i.stiffness[0] = 0; }));
  EXPECT_TRUE(refused([](JawInputs& i) { i.force = 0; }));
  EXPECT_TRUE(refused([](JawInputs& i) { i.need = -1; }));
  EXPECT_TRUE(refused([](JawInputs& i) { i.spread = -1e-6; }));
  EXPECT_TRUE(refused([](JawInputs& i) { i.spread = std::nan(""); }));
  EXPECT_TRUE(refused([](JawInputs& i) { i.draws = -1; }));
  EXPECT_TRUE(refused([](JawInputs& i) { i.face = -1; }));
  EXPECT_TRUE(refused([](JawInputs& i) { i.strips = 0; }));
  EXPECT_TRUE(refused([](JawInputs& i) { i.bar.modulus = 0; }));
  EXPECT_TRUE(refused([](JawInputs& i) { i.bar.poisson = 0.5; }));
  EXPECT_TRUE(refused([](JawInputs& i) { i.at[0] = -0.3; }));
  EXPECT_TRUE(refused([](JawInputs& i) { i.pushes[0].at = -0.2; }));
  EXPECT_TRUE(refused([](JawInputs& i) { i.pushes = {{0.2, 0, 1}}; }));  // outside the row of parts: the jaw tips
}

TEST(Jaw, SameBytesAgain) {
  const auto a = jaw_loads(three(300e6, true)), b = jaw_loads(three(300e6, true));
  EXPECT_EQ(a->low, b->low);
  EXPECT_EQ(a->loose, b->loose);
}

}  // namespace
}  // namespace fettle::holding
