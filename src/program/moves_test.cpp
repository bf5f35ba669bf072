#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "program/moves.h"

namespace fettle::program {
namespace {

Move arc(Motion kind, frame::Vec3 from, frame::Vec3 to, frame::Vec3 centre) {
  Move m;
  m.kind = kind;
  m.start = from;
  m.end = to;
  m.centre = centre;
  return m;
}

// NISTIR 6556's arc from (7,7) with I3 J4 to (10,16), here as plain numbers: centre (10,11), radius 5.
TEST(Moves, ArcOfTheReportAndItsHelix) {
  Move m = arc(Motion::clockwise, {7, 7, 6}, {10, 16, 6}, {10, 11, 0});
  EXPECT_NEAR(sweep(m) * 180 / std::numbers::pi, 143.130, 0.001);
  EXPECT_NEAR(length(m), 12.4905, 0.0001);
  m.end.z = 9;
  EXPECT_NEAR(length(m), 12.8457, 0.0001);
}

TEST(Moves, TwoRadiusForms) {
  EXPECT_NEAR(length(arc(Motion::clockwise, {0, 0, 0}, {10, 15, 0}, {19.85507, -2.40338, 0})), 18.7017, 0.0001);
  EXPECT_NEAR(length(arc(Motion::clockwise, {0, 0, 0}, {10, 15, 0}, {-9.85507, 17.40338, 0})), 106.962, 0.001);
}

TEST(Moves, AClosedArcIsAFullTurnAndTurnsAdd) {
  Move m = arc(Motion::counter, {1, 0, 0}, {1, 0, 0}, {0, 0, 0});
  EXPECT_DOUBLE_EQ(sweep(m), 2 * std::numbers::pi);
  m.turns = 2;
  EXPECT_DOUBLE_EQ(length(m), 6 * std::numbers::pi);
}

TEST(Moves, HeadingsAreTangentInEveryPlane) {
  for (const Plane plane : {Plane::xy, Plane::zx, Plane::yz})
    for (const Motion kind : {Motion::clockwise, Motion::counter}) {
      Move m = arc(kind, {3, 1, 2}, {1.5, 2, 4}, {0.5, 0.25, 0.75});
      m.plane = plane;
      const double h = 1e-7;
      const frame::Vec3 slope = frame::unit(place(m, h) - place(m, 0));
      EXPECT_NEAR(frame::norm(slope - heading_at_start(m)), 0, 1e-5);
    }
}

TEST(Moves, WhatDoesNotMoveHasNoLength) {
  Move m;
  m.kind = Motion::dwell;
  m.end = {1, 1, 1};
  EXPECT_EQ(length(m), 0);
  EXPECT_EQ(frame::norm(heading_at_start(m)), 0);
  EXPECT_EQ(place(m, 0.5), m.start);
}

}  // namespace
}  // namespace fettle::program
