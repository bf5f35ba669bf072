#include "calc/casting/best_pose.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>

#include "maths/random.h"
#include "published.h"

namespace fettle::casting {
namespace {

using test::How;
using test::published;
constexpr double mm = 1e-3;

PosePoint point(double x, double y, double z, Vec3 n, Vec3 q, int face) {
  return {{x * mm, y * mm, z * mm}, {q.x * mm, q.y * mm, q.z * mm}, n, 0, 1, face};
}

PoseInputs two_faces() {
  // Bottom and top 50 apart, three raw points on each (x along, z up).
  PoseInputs in;
  in.faces = {"bottom", "top"};
  const double x[] = {0, 100, 200}, low[] = {-2.0, -2.6, -3.0}, high[] = {53.5, 52.7, 52.1};
  for (int i = 0; i < 3; ++i) {
    in.points.push_back(point(x[i], 0, low[i], {0, 0, -1}, {x[i], 0, 0}, 0));
    in.points.push_back(point(x[i], 0, high[i], {0, 0, 1}, {x[i], 0, 50}, 1));
  }
  in.low = {0, 0, -5 * mm, 0, -0.05, 0};
  in.high = {0, 0, 5 * mm, 0, 0.05, 0};
  return in;
}

PoseInputs block() {
  PoseInputs in;
  in.faces = {"bottom", "top", "y=0", "y=120", "x=0", "x=200"};
  in.points = {point(20, 20, -2.4, {0, 0, -1}, {20, 20, 0}, 0),     point(180, 20, -1.6, {0, 0, -1}, {180, 20, 0}, 0),
               point(100, 100, -2.2, {0, 0, -1}, {100, 100, 0}, 0), point(20, 20, 62.0, {0, 0, 1}, {20, 20, 60}, 1),
               point(180, 20, 63.4, {0, 0, 1}, {180, 20, 60}, 1),   point(100, 100, 62.6, {0, 0, 1}, {100, 100, 60}, 1),
               point(30, -1.8, 30, {0, -1, 0}, {30, 0, 30}, 2),     point(170, -3.2, 30, {0, -1, 0}, {170, 0, 30}, 2),
               point(30, 123.6, 30, {0, 1, 0}, {30, 120, 30}, 3),   point(170, 122.0, 30, {0, 1, 0}, {170, 120, 30}, 3),
               point(-1.4, 60, 30, {-1, 0, 0}, {0, 60, 30}, 4),     point(203.6, 60, 30, {1, 0, 0}, {200, 60, 30}, 5)};
  in.low = {-5 * mm, -5 * mm, -5 * mm, -0.1, -0.1, -0.1};
  in.high = {5 * mm, 5 * mm, 5 * mm, 0.1, 0.1, 0.1};
  return in;
}

TEST(BestPose, TwoFacesOfThePublishedCase) {
  const BestPose b = best_pose(two_faces());
  ASSERT_EQ(b.status, PoseStatus::found) << b.why;
  const std::string source = "two faces 50 apart, exact rational enumeration";
  published("casting", "largest least stock of two faces, mm", source, How::exact, 2.550, b.linear_least / mm, 1e-9);
  published("casting", "least stock as it lies, mm", source, How::exact, 2.0, b.least_before / mm, 1e-9);
  EXPECT_NEAR(b.least / mm, 2.55, 0.02);
  // The pair at x = 200 is the proof: bottom and top each with half.
  ASSERT_EQ(b.clash.size(), 2U);
  EXPECT_NEAR(b.clash[0].share, 0.5, 1e-9);
  EXPECT_NEAR(b.clash[0].at.x, 0.2, 1e-12);
}

TEST(BestPose, BlockInSixFreedoms) {
  const BestPose b = best_pose(block());
  ASSERT_EQ(b.status, PoseStatus::found) << b.why;
  const std::string source = "block 200 x 120 x 60 with 12 raw points, exact";
  published("casting", "largest least stock in six freedoms, mm", source, How::exact, 2.200, b.linear_least / mm, 1e-9);
  published("casting", "least stock of the block as it lies, mm", source, How::exact, 1.400, b.least_before / mm, 1e-9);
  EXPECT_NEAR(b.least / mm, 2.2, 0.01);
  EXPECT_TRUE(b.clears);
  // Nobody does better by trying: 20 000 random poses about the answer.
  const PoseInputs in = block();
  for (std::uint64_t k = 0; k < 20000; ++k) {
    double u[6], least = HUGE_VAL;
    maths::normals(5, k, 0, 6, u);
    const Vec3 t = b.t + mm * 0.5 * Vec3{u[0], u[1], u[2]}, w = b.w + 0.005 * Vec3{u[3], u[4], u[5]};
    for (const PosePoint& p : in.points)
      least = std::fmin(least, frame::dot(p.n, p.p + t + frame::cross(w, p.p) - p.q));
    EXPECT_LE(least, b.linear_least + 1e-12);
  }
  double share = 0;
  for (const Clash& c : b.clash) share += c.share;
  EXPECT_NEAR(share, 1, 1e-9);
}

TEST(BestPose, LinearisedAgainEndsAtTheExactRotation) {
  // A square bar turned by 0.2 rad between four faces: only the turn back helps, and it is far from small.
  PoseInputs in;
  in.faces = {"+x", "-x", "+y", "-y"};
  const double c = std::cos(0.2), s = std::sin(0.2);
  const auto add = [&](double x, double y, Vec3 n, int face) {
    in.points.push_back(point(c * x - s * y, s * x + c * y, 0, n, {n.x * 48, n.y * 48, 0}, face));
  };
  for (double v : {-40.0, 0.0, 40.0}) {
    add(50, v, {1, 0, 0}, 0);
    add(-50, v, {-1, 0, 0}, 1);
    add(v, 50, {0, 1, 0}, 2);
    add(v, -50, {0, -1, 0}, 3);
  }
  in.low = {-mm, -mm, 0, 0, 0, -0.4};
  in.high = {mm, mm, 0, 0, 0, 0.4};
  in.linearise_again = 10;
  const BestPose b = best_pose(in);
  ASSERT_EQ(b.status, PoseStatus::found);
  EXPECT_GT(b.steps, 2);
  EXPECT_NEAR(b.w.z, -0.2, 1e-6);
  EXPECT_NEAR(b.least / mm, 2, 1e-4);
  EXPECT_LT(b.least_before, 0);
}

TEST(BestPose, SmallestMoveOfAllThatDo) {
  // Both x faces ask for a shift of 0.5; y has room on both sides and stays where it is.
  PoseInputs in;
  in.faces = {"+x", "-x", "+y", "-y"};
  in.points = {point(52, 0, 0, {1, 0, 0}, {50, 0, 0}, 0), point(-51, 0, 0, {-1, 0, 0}, {-50, 0, 0}, 1),
               point(0, 58, 0, {0, 1, 0}, {0, 50, 0}, 2), point(0, -57, 0, {0, -1, 0}, {0, -50, 0}, 3)};
  in.low = {-mm, -mm, -mm, -0.01, -0.01, -0.01};
  in.high = {mm, mm, mm, 0.01, 0.01, 0.01};
  const BestPose b = best_pose(in);
  EXPECT_NEAR(b.t.x / mm, -0.5, 1e-6);
  EXPECT_NEAR(b.t.y, 0, 1e-9);
  EXPECT_NEAR(b.t.z, 0, 1e-12);
  EXPECT_NEAR(b.w.z, 0, 1e-9);
}

TEST(BestPose, ProofThatNothingSavesIt) {
  PoseInputs in;
  in.faces = {"+X", "-X"};
  in.points = {point(50.4, 0, 0, {1, 0, 0}, {50, 0, 0}, 0), point(-50.2, 0, 0, {-1, 0, 0}, {-50, 0, 0}, 1)};
  for (PosePoint& p : in.points) p.must_leave = 0.8 * mm;
  in.low = {-mm, -mm, 0, 0, 0, 0};
  in.high = {mm, mm, 0, 0, 0, 0};
  BestPose b = best_pose(in);
  ASSERT_EQ(b.status, PoseStatus::found);
  EXPECT_FALSE(b.clears);
  EXPECT_NEAR(b.linear_least / mm, -0.5, 1e-9);
  EXPECT_NEAR(b.least / mm, -0.5, 2e-9);
  EXPECT_EQ(say_clash(b.clash, b.stops), "+X and -X cannot both clear");
  // With a box too small for the middle, the limit is named too.
  in.low[0] = -0.02 * mm;
  b = best_pose(in);
  EXPECT_NEAR(b.least / mm, -0.58, 2e-9);
  ASSERT_EQ(b.stops.size(), 1U);
  EXPECT_FALSE(b.stops[0].upper);
  EXPECT_NEAR(b.stops[0].limit / mm, -0.02, 1e-12);
  EXPECT_EQ(say_clash(b.clash, b.stops), "-X cannot clear; the limit of X is reached");
}

TEST(BestPose, RefusesBadInput) {
  const auto refused = [](const std::function<void(PoseInputs&)>& spoil) {
    PoseInputs in = block();
    spoil(in);
    return best_pose(in).status == PoseStatus::refused;
  };
  EXPECT_FALSE(refused([](PoseInputs&) {}));
  EXPECT_TRUE(refused([](PoseInputs& in) { in.points.clear(); }));
  EXPECT_TRUE(refused([](PoseInputs& in) { in.low[0] = 1; }));
  EXPECT_TRUE(refused([](PoseInputs& in) { in.high[1] = HUGE_VAL; }));
  EXPECT_TRUE(refused([](PoseInputs& in) { in.high[4] = 0.6; }));
  EXPECT_TRUE(refused([](PoseInputs& in) { in.points[0].weight = 0; }));
  EXPECT_TRUE(refused([](PoseInputs& in) { in.points[0].n = {0, 0, -2}; }));
  EXPECT_TRUE(refused([](PoseInputs& in) { in.points[0].p.x = std::nan(""); }));
  EXPECT_TRUE(refused([](PoseInputs& in) { in.points[0].must_leave = std::nan(""); }));
  EXPECT_TRUE(refused([](PoseInputs& in) { in.points[0].face = 6; }));
}

}  // namespace
}  // namespace fettle::casting
