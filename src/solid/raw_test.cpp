// Raw castings against sums by hand: a plate that is filled, grown and drafted, a flange that keeps its core.
#include "solid/raw.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "solid/build.h"

namespace fettle::solid {
namespace {

constexpr double pi = std::numbers::pi;

template <class T>
T must(const Outcome<T>& o) {
  if (o.ok()) return o.value();
  ADD_FAILURE() << say(o.problem());
  return T{};
}
const std::string& plate_text() {
  static const std::string t = must(sample_solid("plate 6"));  // 260 x 180 x 30, corners of 8, six holes through
  return t;
}
const Model& plate() {
  static const Model m = must(read_step_text(plate_text(), "plate"));
  return m;
}
std::vector<RawFill> every_hole(const Model& m) {
  std::vector<RawFill> out;
  for (const Hole& h : m.holes) {
    out.push_back({h.id, {}, {}, {}});
    for (const Segment& s : h.profile) out.back().faces.insert(out.back().faces.end(), s.faces.begin(), s.faces.end());
  }
  return out;
}
RawWish plate_wish() {
  RawWish w;
  w.box = plate().box, w.product = "plate raw", w.fills = every_hole(plate());
  w.outside.there = true, w.outside.radius = 8e-3;
  w.outside.low_x = w.outside.high_x = w.outside.low_y = w.outside.high_y = 3e-3;
  w.outside.parting = 0.5 * (w.box.lo.z + w.box.hi.z);
  w.faces = {{"top", {0, 0, w.box.hi.z}, {0, 0, 1}, 2e-3}, {"bottom", {0, 0, w.box.lo.z}, {0, 0, -1}, 1.5e-3}};
  return w;
}
/// Rectangle with rounded corners.
double area(double a, double b, double r) { return a * b - (4 - pi) * r * r; }

TEST(RawModel, APlateIsFilledAndStandsOutOnEverySide) {
  const RawModel raw = must(raw_model(plate_text(), "plate", "", plate_wish()));
  EXPECT_TRUE(raw.not_made.empty());
  const double sum = area(0.266, 0.186, 11e-3) * (0.03 + 3.5e-3);
  EXPECT_NEAR(raw.volume, sum, 1e-9 * sum);
  const Model back = must(read_step_text(raw.step, "raw"));
  EXPECT_NEAR(back.volume, sum, 1e-9 * sum);
  EXPECT_TRUE(back.holes.empty());
  EXPECT_NEAR(back.box.hi.x - back.box.lo.x, 0.266, 1e-9);
  EXPECT_NEAR(back.box.hi.y - back.box.lo.y, 0.186, 1e-9);
  EXPECT_NEAR(back.box.hi.z, plate().box.hi.z + 2e-3, 1e-9);
  EXPECT_NEAR(back.box.lo.z, plate().box.lo.z - 1.5e-3, 1e-9);
  EXPECT_EQ(back.unit, "mm");
  EXPECT_EQ(raw.step, must(raw_model(plate_text(), "plate", "", plate_wish())).step);
}

TEST(RawModel, DraftHoldsTheSizeAtThePartingLineAndLeansInFromThere) {
  RawWish w = plate_wish();
  const double angle = 1.5 * pi / 180, half = 0.015;
  w.outside.draft = angle;
  const RawModel raw = must(raw_model(plate_text(), "plate", "", w));
  EXPECT_TRUE(raw.not_made.empty());
  const auto at = [&](double h) {
    const double d = h * std::tan(angle);
    return area(0.266 - 2 * d, 0.186 - 2 * d, 11e-3 - d);
  };
  // The area is a parabola over the height, so three values say all; the stock above stands straight.
  const double sum = 2 * half / 6 * (at(0) + 4 * at(half / 2) + at(half)) + 3.5e-3 * at(half);
  EXPECT_NEAR(raw.volume, sum, 1e-6 * sum);
  const Model back = must(read_step_text(raw.step, "raw"));
  EXPECT_NEAR(back.box.hi.x - back.box.lo.x, 0.266, 1e-7);
}

TEST(RawModel, ACoreGoesToTheEndOfTheStock) {
  const std::string text = must(sample_solid("flange"));  // Ø120 x 18, Ø64 to 42, bore Ø40, six Ø11
  const Model m = must(read_step_text(text, "flange"));
  RawWish w;
  w.box = m.box, w.product = "flange raw", w.fills = every_hole(m);
  w.faces = {{"top", {0, 0, 0.042}, {0, 0, 1}, 2e-3}, {"bottom", {0, 0, 0}, {0, 0, -1}, 2e-3}};
  w.cores = {{"core", {0, 0, -2e-3}, {0, 0, 0.044}, 0.034, 0}};
  const RawModel raw = must(raw_model(text, "flange", "", w));
  EXPECT_TRUE(raw.not_made.empty());
  const double sum = pi / 4 * (0.12 * 0.12 * 0.02 + 0.064 * 0.064 * 0.026 - 0.034 * 0.034 * 0.046);
  EXPECT_NEAR(raw.volume, sum, 1e-8 * sum);
  const Model back = must(read_step_text(raw.step, "raw"));
  ASSERT_EQ(back.holes.size(), 1U);
  EXPECT_TRUE(back.holes[0].through);
  EXPECT_NEAR(back.holes[0].diameter, 0.034, 1e-9);
}

TEST(RawModel, ACoreWithDraftGrowsTowardsItsMouth) {
  const std::string text = must(sample_solid("flange"));
  const Model m = must(read_step_text(text, "flange"));
  RawWish w;
  w.box = m.box, w.product = "flange raw", w.fills = every_hole(m);
  w.cores = {{"core", {0, 0, 0}, {0, 0, 0.042}, 0.034, 0.036}};
  const RawModel raw = must(raw_model(text, "flange", "", w));
  EXPECT_TRUE(raw.not_made.empty());
  const double cone = pi / 12 * 0.042 * (0.034 * 0.034 + 0.034 * 0.036 + 0.036 * 0.036);
  const double sum = pi / 4 * (0.12 * 0.12 * 0.018 + 0.064 * 0.064 * 0.024) - cone;
  EXPECT_NEAR(raw.volume, sum, 1e-6 * sum);
}

TEST(RawModel, WhatCannotBeTakenAwayIsPlugged) {
  RawWish w;
  w.box = plate().box, w.product = "plate raw";
  const auto side = std::find_if(plate().faces.begin(), plate().faces.end(),
                                 [](const Face& f) { return f.kind == Kind::plane && f.axis.x > 0.999; });
  const auto top = std::find_if(plate().faces.begin(), plate().faces.end(),
                                [](const Face& f) { return f.kind == Kind::plane && f.axis.z > 0.999; });
  ASSERT_TRUE(side != plate().faces.end() && top != plate().faces.end());
  const double x = plate().box.hi.x, z = 0.5 * (plate().box.lo.z + plate().box.hi.z);
  RawFill peg{"peg", {side->id}, {{{x - 0.002, 0, z}, {x + 0.004, 0, z}, 0.01}}, {}};
  RawFill raised{"raised", {top->id}, {}, {{{top->id}, {0, 0, 1}, 0.002}}};
  w.fills = {peg, raised};
  const RawModel raw = must(raw_model(plate_text(), "plate", "", w));
  EXPECT_TRUE(raw.not_made.empty());
  EXPECT_NEAR(raw.volume - plate().volume, pi / 4 * 1e-4 * 0.004 + top->area * 0.002, 1e-11);
}

TEST(RawModel, EachFloorOfHollowsThatHangTogetherRisesToItsOwnMouth) {
  const std::string text =
      must(sample_solid("slots"));  // a pocket 10 deep with fillets round its floor, slots of 5 and 8
  const Model m = must(read_step_text(text, "slots"));
  const auto floor_at = [&](double z) -> const Face& {
    const auto f = std::find_if(m.faces.begin(), m.faces.end(), [&](const Face& x) {
      return x.kind == Kind::plane && x.axis.z > 0.999 && std::fabs(x.point.z - z) < 1e-9;
    });
    EXPECT_NE(f, m.faces.end()) << z;
    return *f;
  };
  const Face &shallow = floor_at(0.015), &deep = floor_at(0.012);
  RawWish w;
  w.box = m.box, w.product = "slots raw";
  // Floors alone: what closes over them are walls that the kernel cannot take away.
  w.fills = {{"both", {shallow.id, deep.id}, {}, {{{shallow.id}, {0, 0, 1}, 0.005}, {{deep.id}, {0, 0, 1}, 0.008}}}};
  const RawModel raw = must(raw_model(text, "slots", "", w));
  EXPECT_TRUE(raw.not_made.empty());
  EXPECT_NEAR(raw.volume - m.volume, shallow.area * 0.005 + deep.area * 0.008, 1e-10);
  EXPECT_NEAR(must(read_step_text(raw.step, "raw")).box.hi.z, m.box.hi.z, 1e-9);
}

TEST(RawModel, AnotherFrameMakesTheSameCastingInTheModelsOwn) {
  RawWish w = plate_wish();
  frame::Pose X;  // the model's +x points up
  X.R = {0, 1, 0, 0, 0, 1, 1, 0, 0}, X.t = {0.01, -0.02, 0.03};
  w.pose = X, w.outside = {};
  const frame::Vec3 a = X * plate().box.lo, b = X * plate().box.hi;
  w.box = {{std::min(a.x, b.x), std::min(a.y, b.y), std::min(a.z, b.z)},
           {std::max(a.x, b.x), std::max(a.y, b.y), std::max(a.z, b.z)}};
  w.faces = {{"up", {0, 0, w.box.hi.z}, {0, 0, 1}, 2e-3}};  // the flat at the model's +x, inside its corners
  const RawModel raw = must(raw_model(plate_text(), "plate", "", w));
  EXPECT_TRUE(raw.not_made.empty());
  const double sum = area(0.26, 0.18, 8e-3) * 0.03 + 0.164 * 0.03 * 2e-3;
  EXPECT_NEAR(raw.volume, sum, 1e-9 * sum);
  const Model back = must(read_step_text(raw.step, "raw"));
  EXPECT_NEAR(back.box.hi.x, plate().box.hi.x + 2e-3, 1e-9);
  EXPECT_NEAR(back.box.lo.x, plate().box.lo.x, 1e-9);
}

TEST(RawModel, WhatCannotBeMadeIsNamedAndCostsNothingElse) {
  RawWish w = plate_wish();
  const auto side = std::find_if(plate().faces.begin(), plate().faces.end(),
                                 [](const Face& f) { return f.kind == Kind::plane && f.axis.x > 0.999; });
  ASSERT_NE(side, plate().faces.end());
  w.fills.push_back({"a side that nothing closes", {side->id}, {}, {}});
  w.faces.push_back({"no flat there", {0, 0, 0.5}, {0, 0, 1}, 1e-3});
  w.cores.push_back({"core beside it", {1, 0, 0}, {1, 0, 0.1}, 0.01, 0});
  const RawModel raw = must(raw_model(plate_text(), "plate", "", w));
  EXPECT_EQ(raw.not_made, (std::vector<std::string>{"a side that nothing closes", "no flat there", "core beside it"}));
  const double sum = area(0.266, 0.186, 11e-3) * 0.0335;
  EXPECT_NEAR(raw.volume, sum, 1e-9 * sum);
  EXPECT_FALSE(raw_model("not a STEP file", "x", "", w).ok());
}

}  // namespace
}  // namespace fettle::solid
