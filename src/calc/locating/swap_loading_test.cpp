#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <random>

#include "calc/locating/loading.h"
#include "calc/locating/swap.h"
#include "published.h"

namespace fettle::locating {
namespace {

using test::How;
using test::published;
constexpr double mm = 1e-3;

SwapInputs four_anchors() {
  SwapInputs in;
  for (const double x : {-105, 105})
    for (const double y : {-75, 75}) {
      Anchor a;
      a.name = "anchor";
      a.x = x * mm, a.y = y * mm, a.s = 0.005 / 3 * mm, a.s_z = 0.003 / 3 * mm;
      in.anchors.push_back(a);
    }
  in.points = {{0, 0, 0}, {78 * mm, 57 * mm, 0}};
  return in;
}

TEST(Swap, FourAnchors) {
  const SwapResult r = swap_repeatability(four_anchors()).value();
  const double s = 0.005 / 3 * mm, sum = 4 * (105 * 105 + 75 * 75) * mm * mm;
  const char* source = "mean of four equal anchors and moment of their offsets, worked by hand";
  published("locating", "four anchors +-0.005: shift of the pallet, s, mm", source, How::exact, s / 2 / mm, r.s_x / mm,
            1e-12);
  published("locating", "four anchors +-0.005: turn, s, rad", source, How::exact, s / std::sqrt(sum), r.s_turn, 1e-14);
  published("locating", "four anchors +-0.005: nest at (78, 57), s in x, mm", source, How::exact,
            std::sqrt(s * s / 4 + 57 * 57 * mm * mm * s * s / sum) / mm, r.points[1].s_x / mm, 1e-12);
  EXPECT_NEAR(r.s_z, 0.003 / 3 * mm / 2, 1e-15);
  EXPECT_GE(r.points[1].s_most, std::max(r.points[1].s_x, r.points[1].s_y));
  EXPECT_LE(r.points[1].s_most, std::hypot(r.points[1].s_x, r.points[1].s_y));
}

TEST(Swap, OneAnchorLocatesOneGuides) {
  SwapInputs in = four_anchors();
  for (Anchor& a : in.anchors) a.locates_x = a.locates_y = false;
  in.anchors[0].locates_x = in.anchors[0].locates_y = true;  // (-105, -75)
  in.anchors[2].locates_y = true;                            // (105, -75): along X it floats
  in.points = {{-105 * mm, -75 * mm, 0}, {105 * mm, -75 * mm, 0}, {105 * mm, 75 * mm, 0}};
  const SwapResult r = swap_repeatability(in).value();
  const double s = 0.005 / 3 * mm;
  EXPECT_NEAR(r.points[0].s_x, s, 1e-15);
  EXPECT_NEAR(r.points[0].s_y, s, 1e-15);
  EXPECT_NEAR(r.points[1].s_y, s, 1e-15);
  EXPECT_NEAR(r.s_turn, s * std::sqrt(2.0) / (210 * mm), 1e-12);
  EXPECT_NEAR(r.points[2].s_x, std::hypot(s, 150 * mm * r.s_turn), 1e-12);
}

TEST(Swap, AgainstSampling) {
  SwapInputs in = four_anchors();
  in.anchors[1].stiffness = 3;
  in.anchors[3].s *= 2;
  const SwapResult r = swap_repeatability(in).value();
  std::mt19937 random(1);
  std::normal_distribution<double> normal;
  double xx = 0;
  const int count = 100000;
  for (int i = 0; i < count; ++i) {
    // Weighted least squares of a rigid plate, by its normal equations.
    maths::Matrix A(3, 3);
    std::vector<double> b(3);
    for (const Anchor& a : in.anchors) {
      const double row[2][3] = {{1, 0, -a.y}, {0, 1, a.x}};
      for (const auto& v : row) {
        const double d = a.s * normal(random);
        for (std::size_t j = 0; j < 3; ++j) {
          b[j] += a.stiffness * v[j] * d;
          for (std::size_t k = 0; k < 3; ++k) A(j, k) += a.stiffness * v[j] * v[k];
        }
      }
    }
    const std::vector<double> q = *maths::solve(A, b);
    const double x = q[0] - in.points[1].y * q[2];
    xx += x * x;
  }
  EXPECT_NEAR(std::sqrt(xx / count), r.points[1].s_x, 0.01 * r.points[1].s_x);
}

TEST(Swap, Refuses) {
  const auto refused = [](const std::function<void(SwapInputs&)>& spoil) {
    SwapInputs in = four_anchors();
    spoil(in);
    return !swap_repeatability(in).ok();
  };
  EXPECT_FALSE(refused([](SwapInputs&) {}));
  EXPECT_TRUE(refused([](SwapInputs& in) { in.anchors.clear(); }));
  EXPECT_TRUE(refused([](SwapInputs& in) { in.anchors.resize(1); }));
  EXPECT_TRUE(refused([](SwapInputs& in) { in.anchors.resize(2); }));  // two uprights tilt
  for (const double x : {-1e-9, std::nan("")}) {
    EXPECT_TRUE(refused([x](SwapInputs& in) { in.anchors[0].s = x; }));
    EXPECT_TRUE(refused([x](SwapInputs& in) { in.anchors[0].s_z = x; }));
  }
  for (const double x : {0.0, -1.0, std::nan("")}) {
    EXPECT_TRUE(refused([x](SwapInputs& in) { in.anchors[0].stiffness = x; }));
    EXPECT_TRUE(refused([x](SwapInputs& in) { in.anchors[0].stiffness_z = x; }));
  }
  EXPECT_TRUE(refused([](SwapInputs& in) { in.anchors[0].x = std::nan(""); }));
  EXPECT_TRUE(refused([](SwapInputs& in) { in.points[0].y = std::nan(""); }));
}

// ---- loading ----

LoadingInputs valve_body() {
  LoadingInputs in;
  in.pins = {{"round pin", -44 * mm, -34 * mm, 7.986 * mm, 0},
             {"relieved pin", 44 * mm, 34 * mm, 7.970 * mm, 1.6 * mm}};
  in.holes = {{"B", -44 * mm, -34 * mm, 8.015 * mm}, {"C", 44 * mm, 34 * mm, 8.015 * mm}};
  in.part_height = 36 * mm;
  const Vec3 up{0, 0, 1}, down{0, 0, -1};
  in.features.push_back({"F4", "bore", {0, 0, 0}, up, 22 * mm});
  for (const double s : {-1.0, 1.0}) {
    in.features.push_back({"F8", "bolt hole", Vec3{s * 54 * mm, 0, 0}, up, 10.5 * mm, true});
    in.features.push_back({"F6", "pocket", Vec3{s * 42 * mm, -s * 27 * mm, 24 * mm}, up, 22 * mm});
    for (const double x : {-22.0, 0.0, 22.0})
      in.features.push_back({"F9", "M8", Vec3{x * mm, s * 38 * mm, 0}, down, 8 * mm});
    in.features.push_back({"F10", "M6", Vec3{s * 33 * mm, s * 20 * mm, 36 * mm}, up, 6 * mm});
    in.features.push_back({"F10", "M6", Vec3{s * 33 * mm, -s * 6 * mm, 36 * mm}, up, 6 * mm});
  }
  return in;
}

TEST(Loading, HalfATurnIsHarmlessOnTheValveBody) {
  const LoadingResult r = loading(valve_body()).value();
  ASSERT_EQ(r.ways.size(), 1u);
  EXPECT_NEAR(std::fabs(r.ways[0].turn), 3.14159265358979, 1e-9);
  EXPECT_TRUE(r.ways[0].harmless) << r.ways[0].words;
  EXPECT_TRUE(r.safe);
  EXPECT_FALSE(r.only_planned);
  EXPECT_EQ(r.words, "goes on 2 ways, all harmless");
}

TEST(Loading, OneHoleThatDiffersMakesItHarmful) {
  LoadingInputs in = valve_body();
  for (PartFeature& f : in.features)
    if (f.name == "F10" && f.p.x > 0 && f.p.y > 0) {
      f.name = "F10a";
      f.p.y += 3 * mm;
    }
  LoadingResult r = loading(in).value();
  EXPECT_FALSE(r.safe);
  ASSERT_EQ(r.ways[0].wrong.size(), 2u);  // the moved one and its opposite
  EXPECT_NEAR(r.ways[0].wrong[0].off, 3 * mm, 1e-9);
  EXPECT_NE(r.words.find("F10a (3.00 mm off)"), std::string::npos) << r.words;
  // A post in a corner that only the right way round leaves free.
  in.outline = {{-66 * mm, -46 * mm}, {66 * mm, -46 * mm}, {66 * mm, 20 * mm}, {40 * mm, 46 * mm}, {-66 * mm, 46 * mm}};
  in.posts = {{"post", 62 * mm, 42 * mm, 1 * mm}};
  r = loading(in).value();
  EXPECT_TRUE(r.only_planned);
  EXPECT_EQ(r.words, "goes on one way only");
}

TEST(Loading, UnequalHolesGoOnOneWay) {
  LoadingInputs in = valve_body();
  in.pins[0].diameter = 9.98 * mm;
  in.holes[0].diameter = 10.01 * mm;
  EXPECT_TRUE(loading(in)->only_planned);
}

TEST(Loading, ThroughHolesMayBeTurnedOver) {
  LoadingInputs in = valve_body();
  for (PartHole& h : in.holes) h.above = true;
  const LoadingResult r = loading(in).value();
  EXPECT_EQ(r.ways.size(), 3u);
  EXPECT_FALSE(r.safe);
  EXPECT_TRUE(r.ways[0].turned_over);
  EXPECT_NE(r.words.find("turned over"), std::string::npos);
  in.may_lie_turned_over = false;
  EXPECT_EQ(loading(in)->ways.size(), 1u);
}

TEST(Loading, Refuses) {
  const auto refused = [](const std::function<void(LoadingInputs&)>& spoil) {
    LoadingInputs in = valve_body();
    spoil(in);
    return !loading(in).ok();
  };
  EXPECT_FALSE(refused([](LoadingInputs&) {}));
  EXPECT_TRUE(refused([](LoadingInputs& in) { in.pins.pop_back(); }));
  EXPECT_TRUE(refused([](LoadingInputs& in) { in.pins[0].diameter = 0; }));
  EXPECT_TRUE(refused([](LoadingInputs& in) { in.pins[0].x = std::nan(""); }));
  EXPECT_TRUE(refused([](LoadingInputs& in) { in.pins[1].land_width = -1; }));
  EXPECT_TRUE(refused([](LoadingInputs& in) { in.holes[0].diameter = -1; }));
  EXPECT_TRUE(refused([](LoadingInputs& in) { in.holes[0].y = std::nan(""); }));
  EXPECT_TRUE(refused([](LoadingInputs& in) { in.planned_relieved = 0; }));
  EXPECT_TRUE(refused([](LoadingInputs& in) { in.planned_relieved = 7; }));
  EXPECT_TRUE(refused([](LoadingInputs& in) { in.features[0].size = std::nan(""); }));
  EXPECT_TRUE(refused([](LoadingInputs& in) { in.posts = {{"p", 0, 0, -1}}; }));
  EXPECT_TRUE(refused([](LoadingInputs& in) { in.same_within = 0; }));
  EXPECT_TRUE(refused([](LoadingInputs& in) { in.part_height = std::nan(""); }));
  EXPECT_TRUE(refused([](LoadingInputs& in) { in.holes[1].x += 1 * mm; }));  // planned way does not go on
}

}  // namespace
}  // namespace fettle::locating
