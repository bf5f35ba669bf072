#include "calc/casting/model.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>

#include "calc/casting/features.h"
#include "published.h"

namespace fettle::casting {
namespace {

using test::How;
using test::published;
constexpr double mm = 1e-3;

Vec3 at(double x, double y, double z) { return {x * mm, y * mm, z * mm}; }

/// A 200 x 150 x 50 block with six rests (the 3-2-1 of the published case) and one sample point per asked direction at
/// P.
struct Block {
  Casting casting;
  Route route;
  Block() {
    for (const char* id : {"bottom", "front", "left", "top"}) casting.surfaces.push_back({id, drag, false});
    Operation op{"op10", {}, {}, {}};
    op.contacts = {rest("z1", "bottom", at(20, 20, 0), {0, 0, -1}),   rest("z2", "bottom", at(180, 20, 0), {0, 0, -1}),
                   rest("z3", "bottom", at(100, 130, 0), {0, 0, -1}), rest("y1", "front", at(30, 0, 25), {0, -1, 0}),
                   rest("y2", "front", at(170, 0, 25), {0, -1, 0}),   rest("x1", "left", at(0, 75, 25), {-1, 0, 0})};
    route.operations.push_back(op);
    const Vec3 p = at(150, 100, 40);
    for (Vec3 n : {Vec3{1, 0, 0}, Vec3{0, 1, 0}, Vec3{0, 0, 1}}) {
      const std::string id = n.x > 0 ? "px" : (n.y > 0 ? "py" : "pz");
      route.faces.push_back({id, "top", 0, {{p, n, p}}, 0, 1, 0});
    }
  }
};

Vec3 displacement(const Block& b) {
  const auto m = build(b.casting, b.route);
  EXPECT_TRUE(m.ok()) << say(m.problem());
  const auto s = stock(*m, {});
  return {s[0] / mm, s[1] / mm, s[2] / mm};
}

TEST(Route, ThreeTwoOneOfThePublishedCase) {
  const std::string source = "3-2-1 contact Jacobian n.(t + w x r) = d (method of Asada and By 1985)";
  const auto check = [&](std::size_t contact, double lift_mm, Vec3 expected) {
    Block b;
    b.route.operations[0].contacts[contact].offset = lift_mm * mm;
    const Vec3 d = displacement(b);
    const std::string what =
        "locator " + b.route.operations[0].contacts[contact].id + " higher: displacement of P, mm, ";
    published("casting", what + "x", source, How::computed, expected.x, d.x, 1e-6);
    published("casting", what + "y", source, How::computed, expected.y, d.y, 1e-6);
    published("casting", what + "z", source, How::computed, expected.z, d.z, 1e-6);
  };
  check(2, 0.050, {0, -0.006818, 0.036364});
  check(0, 0.020, {0.001875, 0.001364, -0.003523});
  check(4, 0.030, {-0.005357, 0.025714, 0});
}

TEST(Route, RoughSpotUnderALocatorActsLikeAHighLocator) {
  Block b;
  b.casting.modes = {stub("gate stub", "bottom", at(100, 130, 0), 5 * mm, 0.05 * mm)};
  const auto m = build(b.casting, b.route).value();
  const auto s = stock(m, {0.05 * mm});
  EXPECT_NEAR(s[2] / mm, 0.036364, 1e-6);
  EXPECT_NEAR(s[1] / mm, -0.006818, 1e-6);
}

TEST(Route, RootSumSquareOfSixLocators) {
  Block b;
  for (Contact& c : b.route.operations[0].contacts) c.s = 1;
  const auto m = build(b.casting, b.route).value();
  ASSERT_EQ(m.parameters.size(), 6U);
  const double worst[3] = {0.01545, 0.01273, 0.01352}, rss[3] = {0.01040, 0.00885, 0.00873};
  for (std::size_t i = 0; i < 3; ++i) {
    double sum = 0, squares = 0;
    for (std::size_t j = 0; j < 6; ++j) {
      const double a = 0.010 * m.by_parameter[i * 6 + j];
      sum += std::fabs(a);
      squares += a * a;
    }
    published("casting", std::string("six locators of +-0.010: worst case at P, mm, ") + "xyz"[i],
              "3-2-1 contact Jacobian", How::computed, worst[i], sum, 6e-6);
    published("casting", std::string("six locators of +-0.010: root sum square at P, mm, ") + "xyz"[i],
              "3-2-1 contact Jacobian", How::computed, rss[i], std::sqrt(squares), 6e-6);
  }
}

TEST(Route, SaysWhichFreedomIsFree) {
  Block b;
  b.route.operations[0].contacts.pop_back();
  auto m = build(b.casting, b.route);
  ASSERT_FALSE(m.ok());
  EXPECT_THAT(say(m.problem()), testing::HasSubstr("shift along X"));
  EXPECT_THAT(say(m.problem()), testing::HasSubstr("op10"));
  Block c;
  c.route.operations[0].contacts.erase(c.route.operations[0].contacts.begin() + 4);
  m = build(c.casting, c.route);
  ASSERT_FALSE(m.ok());
  EXPECT_THAT(say(m.problem()), testing::HasSubstr("turn about Z"));
  Block none;
  none.route.operations[0].contacts.clear();
  m = build(none.casting, none.route);
  ASSERT_FALSE(m.ok());
  EXPECT_EQ(m.problems().size(), 6U);
}

TEST(Route, FollowsAFaceCutEarlier) {
  // A plate: top cut while it rests on its raw bottom, turned over onto the cut top, bottom cut to 30 from it.
  Casting c;
  c.surfaces = {{"raw bottom", drag, false}, {"raw top", cope, false}, {"side", drag, false}};
  c.modes = {closure({0, 0, 1}, 0.3 * mm), surface_offset("raw bottom", 0.2 * mm)};
  Route r;
  const auto flat = [&](const std::string& surface, double z, Vec3 n) {
    return std::vector<Contact>{
        rest("a", surface, at(0, 0, z), n),           rest("b", surface, at(100, 0, z), n),
        rest("c", surface, at(0, 100, z), n),         rest("d", "side", at(0, 20, 15), {-1, 0, 0}),
        rest("e", "side", at(0, 80, 15), {-1, 0, 0}), rest("f", "side", at(50, 0, 15), {0, -1, 0})};
  };
  r.operations = {{"op1", flat("raw bottom", -2, {0, 0, -1}), {}, {}}, {"op2", flat("top", 30, {0, 0, 1}), {}, {}}};
  r.faces = {{"top", "raw top", 0, {{at(50, 50, 30), {0, 0, 1}, at(50, 50, 32)}}, 0, 1, 0},
             {"bottom", "raw bottom", 1, {{at(50, 50, 0), {0, 0, -1}, at(50, 50, -2)}}, 0, 1, 0}};
  const auto m = build(c, r).value();
  // Cope 0.4 higher: only the top has more. Raw bottom 0.1 lower: it lifts the part, so the top has more; the bottom is
  // cut 30 below the new top, so the two effects end up there: 2 in all.
  auto s = stock(m, {0.4 * mm, 0});
  EXPECT_NEAR(s[0] / mm, 2.4, 1e-9);
  EXPECT_NEAR(s[1] / mm, 2.0, 1e-9);
  s = stock(m, {0, 0.1 * mm});
  EXPECT_NEAR(s[0] / mm, 2.1, 1e-9);
  EXPECT_NEAR(s[1] / mm, 2.0, 1e-9);
  // Program of op1 0.3 higher: less off the top, more off the bottom.
  std::vector<double> shifts(12, 0.0);
  shifts[2] = 0.3 * mm;
  s = stock(m, {}, shifts);
  EXPECT_NEAR(s[0] / mm, 1.7, 1e-9);
  EXPECT_NEAR(s[1] / mm, 2.3, 1e-9);
  // A measured casting tells the same through its own deviations: three touches of op1 on the raw bottom, three sides.
  std::vector<double> touch(m.touches.size(), 0.0);
  for (std::size_t i = 0; i < touch.size(); ++i)
    if (m.touches[i].surface == "raw bottom") touch[i] = 0.1 * mm;
  s = stock_of_measured(m, touch, {0, 0.1 * mm});
  EXPECT_NEAR(s[0] / mm, 2.1, 1e-9);
  EXPECT_NEAR(s[1] / mm, 2.0, 1e-9);
}

TEST(Route, CentringTakesTheMiddle) {
  // Length grows by 1: a fixed stop on the left gives all of it to the right, a centring vise half to each side.
  Casting c;
  c.surfaces = {{"bottom", drag, false}, {"front", drag, false}, {"left", drag, false}, {"right", drag, false}};
  c.modes = {surface_offset("right", 1 * mm), surface_offset("left", 1 * mm)};
  Route r;
  Operation op{"op",
               {rest("a", "bottom", at(0, 0, 0), {0, 0, -1}), rest("b", "bottom", at(100, 0, 0), {0, 0, -1}),
                rest("c", "bottom", at(0, 100, 0), {0, 0, -1}), rest("d", "front", at(10, 0, 5), {0, -1, 0}),
                rest("e", "front", at(90, 0, 5), {0, -1, 0})},
               {},
               {}};
  Operation stop = op, vise = op;
  stop.contacts.push_back(rest("f", "left", at(0, 50, 5), {-1, 0, 0}));
  vise.contacts.push_back(centred("f", "left", at(0, 50, 5), {-1, 0, 0}, "right", at(100, 50, 5), {1, 0, 0}));
  const std::vector<Face> faces = {{"L", "left", 0, {{at(2, 50, 5), {-1, 0, 0}, at(0, 50, 5)}}, 0, 1, 0},
                                   {"R", "right", 0, {{at(98, 50, 5), {1, 0, 0}, at(100, 50, 5)}}, 0, 1, 0}};
  const auto at_stop = build(c, {{stop}, faces}).value();
  auto s = stock(at_stop, {1 * mm, 0});
  EXPECT_NEAR(s[0] / mm, 2, 1e-9);
  EXPECT_NEAR(s[1] / mm, 3, 1e-9);
  const auto in_vise = build(c, {{vise}, faces}).value();
  s = stock(in_vise, {1 * mm, 0});
  EXPECT_NEAR(s[0] / mm, 2.5, 1e-9);
  EXPECT_NEAR(s[1] / mm, 2.5, 1e-9);
  s = stock(in_vise, {1 * mm, 1 * mm});
  EXPECT_NEAR(s[0] / mm, 3, 1e-9);
  EXPECT_NEAR(s[1] / mm, 3, 1e-9);
}

TEST(Route, EccentricCoreInARoundBore) {
  Block b;
  b.casting.surfaces.push_back({"cored bore", core(0), false});
  b.casting.modes = {core_shift("core X", 0, {1, 0, 0}, 1), core_shift("core Y", 0, {0, 1, 0}, 1),
                     core_diameter("core diameter", 0, {"cored bore"}, 1)};
  RoundSpec bore;
  bore.axis_point = at(100, 75, 0);
  bore.low = 10 * mm;
  bore.high = 50 * mm;
  bore.finished_radius = 30 * mm;
  bore.raw_radius = 27 * mm;
  bore.round = 360;
  b.route.faces.push_back({"bore", "cored bore", 0, round_points(bore), 0, 1, 0});
  const auto m = build(b.casting, b.route).value();
  auto faces = by_face(m, stock(m, {0.8 * mm, -0.6 * mm, 0}));
  const std::string source = "elementary geometry of two eccentric circles";
  published("casting", "cored bore through the route: least radial stock, mm", source, How::exact, 2.0,
            faces[3].least / mm, 2e-4);
  published("casting", "cored bore through the route: most radial stock, mm", source, How::exact, 4.0,
            faces[3].most / mm, 2e-4);
  // The core moved towards +X, -Y: there the wall was taken away.
  EXPECT_NEAR(faces[3].least_at.x / mm, 100 + 30 * 0.8, 0.5);
  EXPECT_NEAR(faces[3].least_at.y / mm, 75 - 30 * 0.6, 0.5);
  faces = by_face(m, stock(m, {0, 0, 1 * mm}));
  EXPECT_NEAR(faces[3].least / mm, 2.5, 1e-9);
  EXPECT_EQ(tightest(m, faces), 0);
}

TEST(Route, DraftLeavesLessAwayFromTheParting) {
  PlaneSpec wall;
  wall.centre = at(0, 46, 18);
  wall.normal = {0, 1, 0};
  wall.u = {1, 0, 0};
  wall.half_u = 66 * mm;
  wall.half_v = 18 * mm;
  wall.raw_stock = 2.55 * mm;
  wall.draft = 1.5 * std::acos(-1.0) / 180;
  wall.parting_height = 18 * mm;
  double least = 1, most = 0;
  for (const FacePoint& p : plane_points(wall)) {
    least = std::fmin(least, p.p.y - p.q.y);
    most = std::fmax(most, p.p.y - p.q.y);
  }
  EXPECT_NEAR(most / mm, 2.55, 1e-9);
  EXPECT_NEAR(least / mm, 2.55 - 18 * std::tan(1.5 * std::acos(-1.0) / 180), 1e-9);
}

TEST(Route, ModesMoveWhatTheySay) {
  const Vec3 n{0, 1, 0}, p = at(10, 50, 30);
  EXPECT_DOUBLE_EQ(mode_field(closure({0, 0, 1}, 1), "wall", drag, p, {0, 0, 1}), 0);
  EXPECT_DOUBLE_EQ(mode_field(closure({0, 0, 1}, 1), "wall", cope, p, {0, 0, 1}), 1);
  EXPECT_NEAR(mode_field(mould_turn({0, 0, 1}, {}, 1), "wall", cope, p, n), 0.010, 1e-15);
  EXPECT_NEAR(mode_field(size_along("width", {0, 1, 0}, {}, 0.1, 1), "wall", drag, p, n), 0.5, 1e-15);
  EXPECT_EQ(mode_field(size_along("width", {0, 1, 0}, {}, 0.1, 1), "wall", core(0), p, n), 0);
  EXPECT_NEAR(mode_field(isotropic_scale({}, 1), "wall", core(0), p, n), 0.050, 1e-15);
  EXPECT_NEAR(mode_field(warp_bend("bow", {0, 0, -1}, {1, 0, 0}, {}, 0.02, 1), "bottom", drag, p, {0, 0, -1}), 1,
              1e-15);
  EXPECT_NEAR(mode_field(warp_bend("bow", {0, 0, -1}, {1, 0, 0}, {}, 0.02, 1), "bottom", drag, {}, {0, 0, -1}), 0,
              1e-15);
  const Mode twist = warp_twist("twist", {0, 0, 1}, {1, 0, 0}, {}, 0.1, 0.1, 1);
  EXPECT_NEAR(mode_field(twist, "top", cope, at(50, 50, 0), {0, 0, 1}), 1, 1e-15);
  EXPECT_NEAR(mode_field(twist, "top", cope, at(-50, 50, 0), {0, 0, 1}), -1, 1e-15);
  EXPECT_NEAR(mode_field(core_turn("core turn", 1, {0, 0, 1}, {}, 1), "core wall", core(1), p, n), 0.010, 1e-15);
  EXPECT_EQ(mode_field(core_turn("core turn", 1, {0, 0, 1}, {}, 1), "core wall", core(0), p, n), 0);
  EXPECT_EQ(mode_field(stub("gate", "wall", at(0, 50, 30), 5 * mm, 1), "wall", drag, p, n), 0);
}

TEST(Route, CollectsEveryProblem) {
  Block b;
  b.route.operations[0].contacts[0].touches[0].surface = "botom";
  b.route.operations[0].contacts[1].touches[0].n = {0, 0, -2};
  b.route.faces[0].from = "pz";
  b.route.faces[1].operation = 3;
  b.route.faces[2].must_leave = -1;
  const auto m = build(b.casting, b.route);
  ASSERT_FALSE(m.ok());
  EXPECT_EQ(m.problems().size(), 5U);
  EXPECT_EQ(m.problems()[0].nearest, "bottom");
}

TEST(Route, RefusesOneBadValuePerBound) {
  const auto refused = [](const std::function<void(Block&)>& spoil) {
    Block b;
    b.casting.modes = {stub("stub", "top", {}, 1 * mm, 1 * mm), warp_bend("bow", {0, 0, 1}, {1, 0, 0}, {}, 0.1, 1),
                       warp_twist("twist", {0, 0, 1}, {1, 0, 0}, {}, 0.1, 0.1, 1)};
    EXPECT_TRUE(build(b.casting, b.route).ok());
    spoil(b);
    return !build(b.casting, b.route).ok();
  };
  const double nan = std::nan("");
  EXPECT_TRUE(refused([](Block& b) { b.casting.modes[0].radius = 0; }));
  EXPECT_TRUE(refused([](Block& b) { b.casting.modes[0].low = 2; }));
  EXPECT_TRUE(refused([](Block& b) { b.casting.modes[0].surfaces = {"none"}; }));
  EXPECT_TRUE(refused([](Block& b) { b.casting.modes[1].s = -1; }));
  EXPECT_TRUE(refused([](Block& b) { b.casting.modes[1].length = 0; }));
  EXPECT_TRUE(refused([](Block& b) { b.casting.modes[1].direction = {0, 0, 0}; }));
  EXPECT_TRUE(refused([](Block& b) { b.casting.modes[1].along = {2, 0, 0}; }));
  EXPECT_TRUE(refused([](Block& b) { b.casting.modes[2].across = -1; }));
  EXPECT_TRUE(refused([&](Block& b) { b.casting.modes[2].mean = nan; }));
  EXPECT_TRUE(refused([&](Block& b) { b.casting.modes[2].scale = nan; }));
  EXPECT_TRUE(refused([&](Block& b) { b.casting.modes[2].centre.x = nan; }));
  EXPECT_TRUE(refused([](Block& b) { b.casting.texture_s = -1; }));
  EXPECT_TRUE(refused([&](Block& b) { b.casting.parting_height = nan; }));
  EXPECT_TRUE(refused([](Block& b) { b.casting.surfaces[0].body = -1; }));
  EXPECT_TRUE(refused([](Block& b) { b.casting.surfaces[0].id = ""; }));
  EXPECT_TRUE(refused([](Block& b) { b.casting.joints = {{{0, 1}, {1, 0, 0}}}; }));
  EXPECT_TRUE(refused([](Block& b) { b.casting.joints = {{{7}, {1}}}; }));
  EXPECT_TRUE(refused([](Block& b) { b.route.operations[0].shift_low[0] = 1; }));
  EXPECT_TRUE(refused([](Block& b) { b.route.operations[0].contacts[0].touches.clear(); }));
  EXPECT_TRUE(refused([](Block& b) { b.route.operations[0].contacts[0].s = -1; }));
  EXPECT_TRUE(refused([&](Block& b) { b.route.operations[0].contacts[0].offset = nan; }));
  EXPECT_TRUE(refused([&](Block& b) { b.route.operations[0].contacts[0].touches[0].weight = nan; }));
  EXPECT_TRUE(refused([&](Block& b) { b.route.operations[0].contacts[0].touches[0].p.x = nan; }));
  EXPECT_TRUE(refused([](Block& b) { b.route.faces[0].operation = -1; }));
  EXPECT_TRUE(refused([](Block& b) { b.route.faces[0].points.clear(); }));
  EXPECT_TRUE(refused([](Block& b) { b.route.faces[0].weight = 0; }));
  EXPECT_TRUE(refused([](Block& b) { b.route.faces[0].size_s = -1; }));
  EXPECT_TRUE(refused([](Block& b) { b.route.faces[0].id = "py"; }));
  EXPECT_TRUE(refused([&](Block& b) { b.route.faces[0].points[0].q.x = nan; }));
  EXPECT_TRUE(refused([](Block& b) { b.route.operations.clear(); }));
}

TEST(Stock, ABadNumberIsNeverHidden) {
  Block b;
  const auto m = build(b.casting, b.route).value();
  std::vector<double> s = {1, std::nan(""), 2};
  const auto faces = by_face(m, s);
  EXPECT_TRUE(std::isnan(faces[1].least));
  EXPECT_EQ(tightest(m, faces), 1);
}

}  // namespace
}  // namespace fettle::casting
