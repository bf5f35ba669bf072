// Parting lines against sums by hand on a box and a T, and on the demo part.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>

#include "begin/begin.h"
#include "begin/features.h"
#include "begin/propose/facts.h"
#include "begin/propose/parting.h"
#include "begin/propose/propose.h"
#include "plan/read.h"
#include "solid/build.h"

namespace fettle::begin {
namespace {

using frame::Vec3;
constexpr double draft = 1.5 * std::numbers::pi / 180;

template <class T>
T must(const Outcome<T>& o) {
  if (o.ok()) return o.value();
  ADD_FAILURE() << say(o.problem());
  return T{};
}

/// A flat of any tilt, as so many equal samples from `lo` to `hi`.
solid::Face flat(int id, Vec3 normal, Vec3 lo, Vec3 hi, double area, int n = 40) {
  solid::Face f;
  f.id = id, f.axis = normal, f.area = area;
  for (int i = 0; i < n; ++i) f.samples.push_back({lo + ((i + 0.5) / n) * (hi - lo), normal, area / n});
  return f;
}
/// Four walls, from z0 to z1, of a block a by b, then top and bottom of given areas.
void block(solid::Model& m, int id, double a, double b, double z0, double z1) {
  const double h = z1 - z0;
  m.faces.push_back(flat(id, {1, 0, 0}, {a / 2, 0, z0}, {a / 2, 0, z1}, b * h));
  m.faces.push_back(flat(id + 1, {-1, 0, 0}, {-a / 2, 0, z0}, {-a / 2, 0, z1}, b * h));
  m.faces.push_back(flat(id + 2, {0, 1, 0}, {0, b / 2, z0}, {0, b / 2, z1}, a * h));
  m.faces.push_back(flat(id + 3, {0, -1, 0}, {0, -b / 2, z0}, {0, -b / 2, z1}, a * h));
}
void level(solid::Model& m, int id, double up, double z, double area) {
  m.faces.push_back(flat(id, {0, 0, up}, {0, 0, z}, {0, 0, z}, area));
  solid::PlaneFeature p;
  p.normal = {0, 0, up}, p.offset = up * z, p.area = area;
  m.planes.push_back(p);
}

TEST(Partings, ABoxPartsHalfWayUpWhereDraftTakesHalf) {
  solid::Model m;
  m.box = {{-0.05, -0.03, 0}, {0.05, 0.03, 0.04}};
  block(m, 1, 0.1, 0.06, 0, 0.04);
  level(m, 5, 1, 0.04, 0.006), level(m, 6, -1, 0, 0.006);
  const auto all = partings(m, {}, draft);
  ASSERT_EQ(all.size(), 3U);
  EXPECT_EQ(all[0].id, "middle");
  const double round = 2 * (0.1 + 0.06);
  EXPECT_NEAR(all[0].draft_metal, round * 0.04 * 0.04 / 4 * std::tan(draft), 1e-10);
  for (std::size_t i : {1U, 2U}) EXPECT_NEAR(all[i].draft_metal, round * 0.04 * 0.04 / 2 * std::tan(draft), 1e-10);
  for (const Parting& p : all) EXPECT_EQ(p.undercut, 0);
}

TEST(Partings, AFlangeInTheMiddlePartsAtItsLevel) {
  // A neck of 40 by 40 from 0 to 30, a flange of 100 by 60 to 40, a neck to 90: only within the flange nothing is held.
  solid::Model m;
  m.box = {{-0.05, -0.03, 0}, {0.05, 0.03, 0.09}};
  block(m, 1, 0.04, 0.04, 0, 0.03), block(m, 11, 0.1, 0.06, 0.03, 0.04), block(m, 21, 0.04, 0.04, 0.04, 0.09);
  level(m, 5, -1, 0, 0.0016), level(m, 6, -1, 0.03, 0.0044), level(m, 7, 1, 0.04, 0.0044), level(m, 8, 1, 0.09, 0.0016);
  const auto all = partings(m, {}, draft);
  ASSERT_EQ(all.size(), 4U);
  EXPECT_EQ(all[0].id, "level");
  EXPECT_TRUE(std::fabs(all[0].height - 0.03) < 1e-12 || std::fabs(all[0].height - 0.04) < 1e-12);
  EXPECT_EQ(all[0].undercut, 0);
  for (std::size_t i = 1; i < 4; ++i) EXPECT_NEAR(all[i].undercut, 0.0044, 1e-9) << all[i].id;
  std::set<int> held;
  EXPECT_NEAR(undercut(m, {}, 2, 0, &held), 0.0044, 1e-9);
  EXPECT_EQ(held, (std::set<int>{6}));
  EXPECT_EQ(undercut(m, {6}, 2, 0), 0);  // a core makes it
}

TEST(Partings, AHoleAcrossHoldsHalfOfItsWallAtLeast) {
  solid::Model m;
  m.box = {{-0.05, -0.05, 0}, {0.05, 0.05, 0.1}};
  solid::Face bore;  // radius 10 mm round (y, z) = (0, 30 mm), 100 mm long along X; normals point to the axis
  bore.id = 9;
  const int n = 3600;
  for (int i = 0; i < n; ++i) {
    const double t = 2 * std::numbers::pi * (i + 0.5) / n;
    bore.samples.push_back({{0, 0.01 * std::cos(t), 0.03 + 0.01 * std::sin(t)},
                            {0, -std::cos(t), -std::sin(t)},
                            2 * std::numbers::pi * 0.01 * 0.1 / n});
  }
  m.faces.push_back(bore);
  const double wall = 2 * std::numbers::pi * 0.01 * 0.1;
  EXPECT_NEAR(undercut(m, {}, 2, 0), wall / 2, 0.01 * wall);    // its roof
  EXPECT_NEAR(undercut(m, {}, 2, 0.1), wall / 2, 0.01 * wall);  // its floor
  EXPECT_NEAR(undercut(m, {}, 2, 0.03), wall, 0.02 * wall);     // both: only a core makes it
  EXPECT_EQ(undercut(m, {}, 0, 0), 0);                          // drawn along it
}

const solid::Model& part() {
  static const solid::Model m = must(solid::read_step_text(must(solid::demo_part()), "part"));
  return m;
}
Draft ordered(const std::string& take) {
  static const plan::Plan read = [] {
    Options o;
    o.name = "wvb3", o.model = "wvb3.step";
    const auto b = begin(part(), must(read_drawing(must(solid::demo_part()), "part", "")), nullptr, "", o);
    return must(plan::read_plan(plan::write_plan(must(b).plan), "first",
                                [](const std::string& p) -> Outcome<std::string> { return bad("not here", p); }));
  }();
  Scene s;
  s.part = &part();
  if (!take.empty()) s.answers["take.casting.parting"] = take;
  Draft d;
  d.plan = read;
  order_casting(s, d);
  return d;
}

TEST(OrderCasting, ThePartingLineCanBeTakenAndEveryRunnerUpIsKnown) {
  const Draft d = ordered("");
  const Vec3 lo = part().box.lo, hi = part().box.hi;
  EXPECT_NEAR(d.plan.casting.parting.si, 0.5 * (lo.z + hi.z), 1e-6);  // a plate: nothing holds back on its outside
  const auto c =
      std::find_if(d.choices.begin(), d.choices.end(), [](const Choice& x) { return x.about == "casting.parting"; });
  ASSERT_NE(c, d.choices.end());
  int can = 0;
  for (const Alternative& a : c->others) {
    if (a.take.empty()) continue;
    const std::string value = a.take.substr(a.take.find('=') + 1);
    EXPECT_TRUE(takes("take.casting.parting", value));
    const Draft other = ordered(value);
    EXPECT_NEAR(other.plan.casting.parting.si, value == "top" ? hi.z : lo.z, 1e-6) << value;
    ++can;
  }
  EXPECT_EQ(can, 2);
  EXPECT_FALSE(ordered("level").clashes.empty());  // there is none that is better
  EXPECT_TRUE(std::any_of(d.assumed.begin(), d.assumed.end(),
                          [](const std::string& a) { return a.find("casting.draft") == 0; }));
}

}  // namespace
}  // namespace fettle::begin
