// The raw casting of a proposal as a solid: `begin` reads from it what was ordered.
#include "begin/propose/raw_model.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "begin/features.h"
#include "begin/propose/kinds_for_tests.h"
#include "begin/propose/mend.h"
#include "begin/propose/raw_mass.h"

namespace fettle::begin {
namespace {

using demo::must;

const plan::CastSize* size_of(const plan::Plan& p, const std::string& id) {
  for (const plan::CastSize& s : p.casting.sizes)
    if (s.id.value == id) return &s;
  return nullptr;
}

TEST(RawCastingModel, TheDemoReadsBackAsItWasOrdered) {
  const std::string step = must(solid::demo_part());
  Scene scene = demo::scene_of();
  Draft d;
  d.plan = demo::read();
  order_casting(scene, d);
  const RawAsked asked = raw_asked(demo::part(), {}, d.plan, must(read_drawing(step, "part", "")).threads, false);
  const RawCasting raw = must(raw_casting(step, "part", "", asked, d.plan));
  EXPECT_EQ(std::count_if(raw.said.begin(), raw.said.end(),
                          [](const std::string& s) { return s.find("not in the raw model") == 0; }),
            0)
      << base::join(raw.said, "\n");
  // More metal than the part, by the stock and the holes that are drilled: its sizes say how much.
  const solid::Model back = must(solid::read_step_text(raw.step, "raw"));
  EXPECT_GT(back.volume, demo::part().volume);
  // As a model of the casting it gives the sizes that were ordered.
  Options o;
  o.name = "wvb3", o.model = "wvb3.step", o.cast = "raw.step";
  const Begun again = must(begin(demo::part(), must(read_drawing(step, "part", "")), &back, "", o));
  for (const char* id : {"thickness", "length", "width", "core H1a", "floor H1a"}) {
    const plan::CastSize *a = size_of(d.plan, id), *b = size_of(again.plan, id);
    ASSERT_NE(a, nullptr) << id;
    ASSERT_NE(b, nullptr) << id;
    EXPECT_NEAR(a->raw.si, b->raw.si, 2e-6) << id;
  }
  EXPECT_NEAR(again.plan.casting.draft.si, d.plan.casting.draft.si, 1e-5);
  EXPECT_NEAR(again.plan.casting.parting.si, d.plan.casting.parting.si, 1e-6);
}

/// What `begin` reads of the raw model again as the casting.
void expect_read_again(const std::string& step, const std::string& name, const RawCasting& raw, const Draft& d,
                       const solid::Model& model) {
  const solid::Model back = must(solid::read_step_text(raw.step, "raw"));
  Options o;
  o.name = name, o.model = name + ".step", o.cast = "raw.step";
  const Begun again = must(begin(model, must(read_drawing(step, name, "")), &back, "", o));
  Scene scene;
  scene.part = &model;
  const auto ordered = raw_stock(scene, d.plan), read = raw_stock(scene, again.plan);
  int compared = 0;
  for (const auto& [face, t] : ordered) {
    if (t < 1e-3 || raw.said.end() != std::find_if(raw.said.begin(), raw.said.end(), [&](const std::string& s) {
                      return s.find("in the raw model: " + face) != std::string::npos;
                    }))
      continue;
    const auto it = read.find(face);
    ++compared;
    ASSERT_TRUE(it != read.end()) << name << " " << face;
    EXPECT_NEAR(it->second, t, 2e-6) << name << " " << face;
  }
  EXPECT_GE(compared, 2) << name;
  EXPECT_EQ(again.text.find("smaller than the part"), std::string::npos) << name;
}

/// The sum from the sizes against the kernel's solid, made from faces one after the other: two ways to one volume.
void expect_weighs(const std::string& step, const std::string& name, double allowed, bool again = false) {
  Kind k;
  ASSERT_TRUE(kind_from(step, name, k).ok()) << name;
  const Draft d = ordered(k);
  const RawAsked asked = raw_asked(k.model, {}, d.plan, must(read_drawing(step, name, "")).threads, k.scene.inch);
  const RawCasting raw = must(raw_casting(step, name, "", asked, d.plan));
  const RawMetal sum = raw_metal(k.scene, d.plan);
  EXPECT_NEAR(sum.volume / raw.volume, 1, allowed) << name << "\n" << base::join(raw.said, "\n");
  EXPECT_NEAR(d.plan.casting.mass.si, d.plan.part.mass.si * sum.volume / k.model.volume, 0.006) << name;
  if (again) expect_read_again(step, name, raw, d, k.model);
}

TEST(RawMass, TheSumOfTheSizesIsTheKernelsVolume) {
  expect_weighs(must(solid::demo_part()), "wvb3", 0.01);
  for (const char* kind : {"flange", "bar", "cover", "box"}) expect_weighs(must(solid::sample_solid(kind)), kind, 0.01);
}

TEST(RawMass, ATenthOfWhatFillsHollowsIsUnsureAndHoldsTheKernelsVolume) {
  Kind k;
  const std::string step = must(solid::sample_solid("stepped"));
  ASSERT_TRUE(kind_from(step, "stepped", k).ok());
  const Draft d = ordered(k);
  const RawMetal sum = raw_metal(k.scene, d.plan);
  const double corners = 4 - std::numbers::pi;
  const double hollows = (0.08 * 0.04 - corners * 1e-4) * 15e-3 + (0.04 * 0.02 - corners * 36e-6) * 13e-3;
  EXPECT_NEAR(sum.high - sum.volume, 0.1 * hollows, 1e-3 * hollows);
  EXPECT_NEAR(sum.volume - sum.low, 0.1 * hollows, 1e-3 * hollows);
  const RawCasting raw = must(raw_casting(step, "stepped", "", raw_asked(k.model, {}, d.plan, {}, false), d.plan));
  EXPECT_GT(raw.volume, sum.low) << base::join(raw.said, "\n");
  EXPECT_LT(raw.volume, sum.high) << base::join(raw.said, "\n");
}

TEST(RawMass, OfNistsPartsToo) {
  const std::string folder = FETTLE_PARTS_DIR;
  for (const char* name : {"nist_ctc_03_asme1_ap242-e2", "nist_ftc_07_asme1_ap242-e2", "nist_ftc_10_asme1_ap242-e2"}) {
    const auto text = base::read_file(folder + "/" + name + ".stp");
    if (!text.ok()) GTEST_SKIP() << "no public parts beside the tree";
    expect_weighs(*text, name, 0.02, true);
  }
}

TEST(RawCastingModel, ADeeperPocketInTheFloorOfAnotherRisesThroughBoth) {
  Kind k;
  const std::string step = must(solid::sample_solid("stepped"));
  ASSERT_TRUE(kind_from(step, "stepped", k).ok());
  const Draft d = ordered(k);
  const RawAsked asked = raw_asked(k.model, {}, d.plan, {}, false);
  const auto fill = std::find_if(asked.wish.fills.begin(), asked.wish.fills.end(),
                                 [](const solid::RawFill& f) { return f.raises.size() == 2; });
  ASSERT_NE(fill, asked.wish.fills.end());
  std::vector<double> depths;
  for (const solid::RawRaise& r : fill->raises) depths.push_back(r.depth);
  std::sort(depths.begin(), depths.end());
  EXPECT_NEAR(depths[0], 15e-3, 1e-9);  // 80 by 40
  EXPECT_NEAR(depths[1], 28e-3, 1e-9);  // 40 by 20 in its floor, 13 deep
  // Floors alone, as where the kernel cannot take the walls away: nothing stands over the top.
  solid::RawWish plugged = asked.wish;
  plugged.faces.clear(), plugged.cores.clear(), plugged.outside = {};
  plugged.fills = {*fill};
  plugged.fills[0].faces.clear();
  for (const solid::RawRaise& r : fill->raises)
    plugged.fills[0].faces.insert(plugged.fills[0].faces.end(), r.floors.begin(), r.floors.end());
  const auto made = must(solid::raw_model(step, "stepped", "", plugged));
  EXPECT_TRUE(made.not_made.empty());
  const double corners = 4 - std::numbers::pi, pocket = 0.08 * 0.04 - corners * 1e-4,
               inner = 0.04 * 0.02 - corners * 36e-6;
  EXPECT_NEAR(made.volume - k.model.volume, pocket * 15e-3 + inner * 13e-3, 1e-10);
  EXPECT_NEAR(must(solid::read_step_text(made.step, "raw")).box.hi.z, k.model.box.hi.z, 1e-9);
}

TEST(RawCastingModel, WhatNoRawSizeSpeaksOfIsNamed) {
  Kind k;
  const std::string step = must(solid::sample_solid("flange"));
  ASSERT_TRUE(kind_from(step, "flange", k).ok());
  const Draft d = ordered(k);
  const RawAsked asked = raw_asked(k.model, {}, d.plan, {}, false);
  const RawCasting raw = must(raw_casting(step, "flange", "", asked, d.plan));
  // Ends with stock, holes filled, the bore cored; its round outside has no ordered size and stays as drawn.
  const plan::CastSize *tall = size_of(d.plan, "thickness"), *core = size_of(d.plan, "core H1");
  ASSERT_NE(tall, nullptr);
  ASSERT_NE(core, nullptr);
  const double up = tall->stock.known() ? tall->raw.si - 0.042 - tall->stock.si : 0.5 * (tall->raw.si - 0.042);
  const double down = tall->raw.si - 0.042 - up;
  const double sum =
      std::numbers::pi / 4 *
      (0.12 * 0.12 * (0.018 + down) + 0.064 * 0.064 * (0.024 + up) - core->raw.si * core->raw.si * (0.042 + up + down));
  EXPECT_NEAR(raw.volume, sum, 1e-6 * sum);
  EXPECT_TRUE(std::any_of(raw.said.begin(), raw.said.end(), [](const std::string& s) {
    return s.find("not in the raw model: B1") == 0;
  })) << base::join(raw.said, "\n");
}

}  // namespace
}  // namespace fettle::begin
