// A face of the model finds its feature wherever it is cut into patches and halves, and no feature takes what is
// another's.
#include "app/serve/face_match.h"

#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <map>
#include <set>

#include "app/serve/scene_mesh.h"
#include "begin/features.h"

namespace fettle::serve {
namespace {

using frame::Vec3;

plan::Feature feature(const std::string& id, const std::string& kind, const std::string& normal, Vec3 at) {
  plan::Feature f;
  begin::give(f.id, id);
  begin::give(f.kind, kind);
  if (!normal.empty()) begin::give(f.normal, normal);
  begin::give(f.at, {at}, false);
  return f;
}
solid::Face flat(Vec3 axis, Vec3 lo, Vec3 hi) {
  solid::Face f;
  f.axis = axis;
  f.point = f.centroid = 0.5 * (lo + hi);
  f.box = {lo, hi};
  f.area = 1;
  return f;
}
/// Half of a hole's wall along z round the origin: x from -r to r, y on one side only.
solid::Face half_wall(double r, double low, double high, double side) {
  solid::Face f;
  f.kind = solid::Kind::cylinder;
  f.concave = true;
  f.axis = {0, 0, 1};
  f.point = {0, 0, 0.5 * (low + high)};
  f.radius = r;
  f.box = {{-r, std::min(0.0, side * r), low}, {r, std::max(0.0, side * r), high}};
  for (int i = 0; i <= 8; ++i)
    for (const double z : {low, high})
      f.outline.push_back({r * std::cos(M_PI * i / 8), side * r * std::sin(M_PI * i / 8), z});
  return f;
}
std::vector<int> found(const plan::Plan& p, const std::vector<solid::Face>& faces) {
  solid::Model m;
  m.faces = faces;
  return features_of_faces(p, m, {});
}

TEST(Matching, every_patch_of_a_flat_is_the_flats) {
  plan::Plan p;
  p.features = {feature("P2", "face", "+y", {0, 0.023, 0})};
  begin::give(p.features[0].size, {0.123, 0.073}, false);
  const auto patch = [](double x, double z, double a) {
    return flat({0, 1, 0}, {x - a, 0.023, z - a}, {x + a, 0.023, z + a});
  };
  // four at its corners, further from its middle than half its length
  EXPECT_EQ(found(p, {patch(-0.05, -0.025, 0.011), patch(0.05, 0.025, 0.011), patch(0.0505, 0, 0.011)}),
            (std::vector<int>{0, 0, 0}));
  // beyond its length, beyond its width, lower, looking the other way
  EXPECT_EQ(found(p, {patch(0.055, 0, 0.011), patch(0.03, 0.03, 0.011),
                      flat({0, 1, 0}, {-0.01, 0.022, -0.01}, {0.01, 0.022, 0.01}),
                      flat({0, -1, 0}, {-0.01, 0.023, -0.01}, {0.01, 0.023, 0.01})}),
            (std::vector<int>{-1, -1, -1, -1}));
}

TEST(Matching, halves_of_a_hole_are_the_holes_and_of_two_the_nearer_wall_takes_it) {
  plan::Plan p;
  p.features = {feature("H1a", "counterbore", "+z", {0, 0, 0}), feature("H1b", "hole", "+z", {0, 0, 0})};
  for (std::size_t i = 0; i < 2; ++i) {
    begin::give(p.features[i].diameter, i == 0 ? "Ø10 mm" : "Ø6 mm");
    begin::give_length(p.features[i].from, i == 0 ? 0.01 : 0, false);
    begin::give_length(p.features[i].to, i == 0 ? 0.02 : 0.01, false);
  }
  EXPECT_EQ(found(p, {half_wall(0.005, 0.01, 0.02, 1), half_wall(0.005, 0.01, 0.02, -1), half_wall(0.003, 0, 0.01, 1),
                      half_wall(0.003, 0, 0.01, -1)}),
            (std::vector<int>{0, 0, 1, 1}));
  // too deep, and beside the axis
  solid::Face beside = half_wall(0.003, 0, 0.01, 1);
  beside.point.x = 0.001;
  EXPECT_EQ(found(p, {half_wall(0.003, 0, 0.03, 1), beside}), (std::vector<int>{-1, -1}));
}

TEST(Matching, what_lies_oblique_is_found_by_its_place_and_its_note) {
  plan::Plan p;
  p.features = {feature("H5", "surface", "", {0, 0, 0}), feature("O1", "surface", "", {0, 0, 0})};
  begin::give(p.features[0].note, "Ø6, through, from here along 0.707107, 0, 0.707107");
  begin::give(p.features[1].note, "its normal is 0.707107, 0, 0.707107");
  const Vec3 n{std::sqrt(0.5), 0, std::sqrt(0.5)};
  solid::Face mouth = flat(n, {-0.02, -0.02, -0.02}, {0.02, 0.02, 0.02}), wall = mouth;
  wall.kind = solid::Kind::cylinder;
  wall.concave = true;
  solid::Face elsewhere = mouth;
  elsewhere.point = 0.001 * n;
  EXPECT_EQ(found(p, {mouth, wall, elsewhere}), (std::vector<int>{1, 0, -1}));
}

TEST(Matching, a_model_stays_where_its_features_are) {
  // Nothing says where the block stands in z: its faces do, and they lie on the model as it is.
  plan::Plan p;
  begin::give(p.part.size, {0.1, 0.06, 0.075}, false);
  p.features = {feature("left", "face", "-x", {-0.05, 0, 0}), feature("right", "face", "+x", {0.05, 0, 0}),
                feature("step", "face", "+z", {0, 0, 0.01})};
  solid::Model m;
  m.box = {{-0.05, -0.03, -0.0375}, {0.05, 0.03, 0.0375}};
  m.faces = {flat({-1, 0, 0}, {-0.05, -0.03, -0.0375}, {-0.05, 0.03, 0.0375}),
             flat({0, 0, 1}, {-0.01, -0.01, 0.01}, {0.01, 0.01, 0.01})};
  EXPECT_NEAR(shift_to_plan(p, m.box).z, -0.0275, 1e-9);
  EXPECT_EQ(matched(p, m).by, (Vec3{}));
  EXPECT_EQ(matched(p, m).features, (std::vector<int>{0, 2}));
  // The same model drawn with its middle elsewhere: it is moved to the plan's.
  for (solid::Face& f : m.faces) f.point = f.point + Vec3{0, 0, 0.5}, f.box = {f.box.lo + Vec3{0, 0, 0.5}, f.box.hi};
  p.features = {feature("top", "face", "+z", {0, 0, 0.075}), feature("bottom", "face", "-z", {0, 0, 0})};
  m.box = {{-0.05, -0.03, 0.5}, {0.05, 0.03, 0.575}};
  m.faces = {flat({0, 0, 1}, {-0.05, -0.03, 0.575}, {0.05, 0.03, 0.575})};
  EXPECT_NEAR(matched(p, m).by.z, -0.5, 1e-9);
  EXPECT_EQ(matched(p, m).features, (std::vector<int>{0}));
}

/// Shares of the area that `begin` gave to features: found as one of those it gave it to, and as another.
struct Share {
  double flat = 0, all = 0, wrong = 0;
};
Share share_of(const solid::Model& m) {
  const begin::Features f = begin::features_of(m, {}, false);
  plan::Plan p;
  p.features = f.list;
  const std::vector<int> got = features_of_faces(p, m, {});
  std::map<int, std::set<std::string>> of;
  for (const begin::Bound& b : f.bound)
    for (const int id : b.faces) of[id].insert(b.feature);
  Share s;
  double flats = 0, all = 0;
  for (std::size_t i = 0; i < m.faces.size(); ++i) {
    const auto it = of.find(m.faces[i].id);
    if (it == of.end()) continue;
    const double a = m.faces[i].area;
    const bool plane = m.faces[i].kind == solid::Kind::plane;
    const bool right = got[i] >= 0 && it->second.count(p.features[static_cast<std::size_t>(got[i])].id.value) > 0;
    all += a, flats += plane ? a : 0;
    if (right) s.all += a, s.flat += plane ? a : 0;
    else if (got[i] >= 0) s.wrong += a;
  }
  return {s.flat / flats, s.all / all, s.wrong / all};
}

TEST(Matching, faces_of_public_parts_find_their_features) {
  const std::filesystem::path folder = FETTLE_PARTS_DIR;
  if (!std::filesystem::exists(folder)) GTEST_SKIP() << "no public parts in " << folder;
  int parts = 0;
  for (const auto& file : std::filesystem::directory_iterator(folder)) {
    if (file.path().extension() != ".stp") continue;
    const auto m = solid::read_step(file.path().string());
    ASSERT_TRUE(m.ok()) << file.path();
    const Share s = share_of(*m);
    EXPECT_GT(s.flat, 0.995) << file.path();
    EXPECT_GT(s.all, 0.995) << file.path();
    EXPECT_LT(s.wrong, 0.005) << file.path();
    ++parts;
  }
  EXPECT_GT(parts, 0);
}

}  // namespace
}  // namespace fettle::serve
