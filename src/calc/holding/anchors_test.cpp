#include "calc/holding/anchors.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numeric>

#include "published.h"

namespace fettle::holding {
namespace {

using test::How;
using test::published;
constexpr double mm = 1e-3, kN = 1e3;

AnchorInputs four() {
  AnchorInputs in;
  for (double y : {-75.0, 75.0})
    for (double x : {-105.0, 105.0}) in.seats.push_back({x * mm, y * mm, 10 * kN, 150e6, 0});
  return in;
}

TEST(Anchors, MomentOnFourSeats) {
  // H across at height h: the two seats of one side lose H h/(2 b) each
  const auto r = on_anchors(four(), {{0, 0, 0.1}, {1000, 0, 0}});
  ASSERT_TRUE(r.ok());
  const double change = 1000 * 0.1 / (2 * 0.210);
  published("holding", "seat that is relieved, N", "moment over twice the span, exact", How::exact, 10000 - change,
            r->seat[0], 1e-6);
  published("holding", "seat that is pressed, N", "moment over twice the span, exact", How::exact, 10000 + change,
            r->seat[1], 1e-6);
  EXPECT_NEAR(r->seat[2], 10000 - change, 1e-6);
  EXPECT_NEAR(r->friction, 1000 / 40000.0, 1e-12);
  const auto f = lift_off_factor(four(), {{0, 0, 0.1}, {1000, 0, 0}});
  ASSERT_TRUE(f.ok());
  published("holding", "load factor before the first seat lifts", "pull-down over the relief, exact", How::exact,
            10000 / change, *f, 1e-9 * *f);
}

TEST(Anchors, DownLoadAtASeatOfThree) {
  AnchorInputs in;
  in.seats = {{0, 0, 1000, 1e8, 0}, {0.3, 0, 1000, 5e7, 0}, {0, 0.2, 1000, 2e8, 0}};
  const auto r = on_anchors(in, {{0.3, 0, 0}, {0, 0, -500}});
  ASSERT_TRUE(r.ok());
  EXPECT_NEAR(r->seat[0], 1000, 1e-6);  // three seats are statically determinate: stiffness does not matter
  EXPECT_NEAR(r->seat[1], 1500, 1e-6);
  EXPECT_NEAR(r->seat[2], 1000, 1e-6);
  EXPECT_NEAR(-rises(*r, 0.3, 0), 1500 / 5e7, 1e-12);
}

TEST(Anchors, ALiftedSeatCarriesNothingAndBalanceHolds) {
  AnchorInputs in = four();
  for (Seat& s : in.seats) s.pull_down = 100;
  const PalletLoad load{{90 * mm, 60 * mm, 0.02}, {0, 0, -3000}};
  const auto r = on_anchors(in, load);
  ASSERT_TRUE(r.ok());
  EXPECT_EQ(r->least, 0);
  double sum = 0, mx = 0, my = 0;
  for (std::size_t i = 0; i < 4; ++i) {
    EXPECT_GE(r->seat[i], 0);
    sum += r->seat[i], mx += r->seat[i] * in.seats[i].y, my += r->seat[i] * in.seats[i].x;
  }
  EXPECT_NEAR(sum, 3400, 1e-5);
  EXPECT_NEAR(mx, 3000 * 60 * mm, 1e-6);
  EXPECT_NEAR(my, 3000 * 90 * mm, 1e-6);
  for (std::size_t i = 0; i < 4; ++i)  // closed seats are pressed by how far the plate comes down, open ones stand off
    if (r->seat[i] > 0) EXPECT_NEAR(r->seat[i], -150e6 * rises(*r, in.seats[i].x, in.seats[i].y), 1e-3);
    else EXPECT_GE(rises(*r, in.seats[i].x, in.seats[i].y), -1e-12);
  EXPECT_FALSE(on_anchors(in, {{0.5, 0, 0}, {0, 0, -3000}}).ok()) << "it tips";
}

TEST(Anchors, AChipUnderOneOfFour) {
  // projection of (c, 0, 0, 0) on planes: 3/4, 1/4, 1/4, -1/4 of c; seats change by k c/4
  AnchorInputs in = four();
  const auto before = on_anchors(in, {});
  in.seats[0].chip = 0.05 * mm;
  const auto after = on_anchors(in, {});
  ASSERT_TRUE(before.ok() && after.ok());
  const double k = 150e6, c = 0.05 * mm;
  published("holding", "seat with the chip, N", "springs under a rigid plate, exact", How::exact, 10000 + k * c / 4,
            after->seat[0], 1e-5);
  published("holding", "seat beside it, N", "springs under a rigid plate, exact", How::exact, 10000 - k * c / 4,
            after->seat[1], 1e-5);
  const double corner = rises(*after, -0.105, -0.075) - rises(*before, -0.105, -0.075);
  published("holding", "rise over the chip, µm", "3/4 of the chip, exact", How::exact, 37.5, corner * 1e6, 1e-6);
  const double across = rises(*after, 0.105, 0.075) - rises(*before, 0.105, 0.075);
  published("holding", "fall opposite, µm", "1/4 of the chip, exact", How::exact, -12.5, across * 1e6, 1e-6);
}

TEST(Anchors, UnitLoadsAddUp) {
  const AnchorInputs in = four();
  const auto per = seat_influence(in);
  ASSERT_TRUE(per.ok());
  const PalletLoad load{{50 * mm, -30 * mm, 60 * mm}, {200, -150, 300}};
  const auto whole = on_anchors(in, load);
  const frame::Vec3 m = cross(load.at, load.force);
  for (std::size_t i = 0; i < 4; ++i)
    EXPECT_NEAR(whole->seat[i], 10000 + (*per)[i][0] * -load.force.z + (*per)[i][1] * m.x + (*per)[i][2] * m.y, 1e-5);
}

TEST(Anchors, EachBoundIsRefused) {
  const auto refused = [](auto change) {
    AnchorInputs in = four();
    change(in);
    return !on_anchors(in, {}).ok();
  };
  EXPECT_FALSE(refused([](AnchorInputs&) {}));
  EXPECT_TRUE(refused([](AnchorInputs& i) { i.seats.resize(2); }));
  EXPECT_TRUE(refused([](AnchorInputs& i) { i.seats[0].pull_down = -1; }));
  EXPECT_TRUE(refused([](AnchorInputs& i) { i.seats[0].stiffness = 0; }));
  EXPECT_TRUE(refused([](AnchorInputs& i) { i.seats[0].chip = -1e-6; }));
  EXPECT_TRUE(refused([](AnchorInputs& i) { i.seats[0].x = std::nan(""); }));
  EXPECT_TRUE(refused([](AnchorInputs& i) { i.weight = -1; }));
  EXPECT_TRUE(refused([](AnchorInputs& i) {
    for (Seat& s : i.seats) s.y = 0;
  }));
}

}  // namespace
}  // namespace fettle::holding
