// A part without a model stands where its plan says; the feature of a face is found wherever the model was moved from.
#include "app/serve/flat.h"

#include <gtest/gtest.h>

#include "app/serve/scene_mesh.h"
#include "begin/features.h"

namespace fettle::serve {
namespace {

using frame::Vec3;

plan::Feature face(const std::string& id, const std::string& normal, Vec3 at) {
  plan::Feature f;
  begin::give(f.id, id);
  begin::give(f.kind, "face");
  begin::give(f.normal, normal);
  begin::give(f.at, {at}, false);
  return f;
}
plan::Plan block() {
  plan::Plan p;
  begin::give(p.part.size, {0.1, 0.06, 0.075}, false);
  return p;
}
void near(Vec3 a, Vec3 b) {
  EXPECT_NEAR(a.x, b.x, 1e-9);
  EXPECT_NEAR(a.y, b.y, 1e-9);
  EXPECT_NEAR(a.z, b.z, 1e-9);
}

TEST(Flat, a_block_stands_between_the_plans_outer_faces) {
  plan::Plan p = block();
  near(block_of(p).middle, {0, 0, 0.0375});
  p.features = {face("top", "+z", {0, 0, 0.0375}), face("bottom", "-z", {0, 0, -0.0375})};
  near(block_of(p).middle, {0, 0, 0});
  const Flat side = flat_of(p, {}, standing("-y"));
  EXPECT_NEAR(side.box[1], -0.0375, 1e-9);
  EXPECT_NEAR(side.box[3], 0.0375, 1e-9);
  p.features = {face("floor", "+z", {0, 0, 0.01}), face("top", "+z", {0, 0, 0.05})};
  near(block_of(p).middle, {0, 0, 0.0125});  // one face: the size hangs from it
  p.features = {face("left", "-x", {-0.02, 0, 0}), face("front", "-y", {0, -0.06, 0})};
  near(block_of(p).middle, {0.03, -0.03, 0.0375});
  p.features = {face("step", "+z", {0, 0, 0.02}), face("bottom", "-z", {0, 0, -0.0375})};
  near(block_of(p).middle, {0, 0, 0.0375});  // they do not fit its size: they say nothing
}

TEST(Flat, the_profile_goes_before_the_faces) {
  plan::Plan p = block();
  plan::Feature outside = face("outside", "", {0.01, 0.02, 0});
  outside.kind = {};
  begin::give(outside.kind, "profile");
  p.features = {outside, face("left", "-x", {-0.02, 0, 0}), face("bottom", "-z", {0, 0, -0.0375})};
  near(block_of(p).middle, {0.01, 0.02, 0});
  EXPECT_EQ(block_of(p).side, 0);
  begin::give_length(p.features[0].from, 0.005, false);
  begin::give_length(p.features[0].to, 0.025, false);
  near(block_of(p).middle, {0.01, 0.02, 0.015});
  EXPECT_NEAR(block_of(p).size.z, 0.02, 1e-9);
}

TEST(Flat, a_moved_models_faces_find_their_features) {
  plan::Plan p = block();
  p.features = {face("bottom", "-z", {0, 0, 0}), face("top", "+z", {0, 0, 0.075})};
  solid::Model m;
  solid::Face top;
  top.axis = {0, 0, 1};
  top.point = top.centroid = {0, 0, 0.0375};
  top.box = {{-0.05, -0.03, 0.0375}, {0.05, 0.03, 0.0375}};
  m.faces = {top};
  EXPECT_EQ(features_of_faces(p, m, {}), std::vector<int>{-1});
  EXPECT_EQ(features_of_faces(p, m, {0, 0, 0.0375}), std::vector<int>{1});
}

TEST(Flat, its_axes_say_how_the_part_lies) {
  const plan::Plan p = block();
  const auto axes = [&](const char* up) { return flat_json(flat_of(p, {}, lying(up)), p, up)["axes"].dump(); };
  EXPECT_EQ(axes("+z"), "[[1,0,0],[0,1,0],[0,0,1]]");
  EXPECT_EQ(axes("+x"), "[[0,0,-1],[0,1,0],[1,0,0]]");
  EXPECT_EQ(axes("-y"), "[[1,0,0],[0,0,1],[0,-1,0]]");
}

}  // namespace
}  // namespace fettle::serve
