#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>

#include "calc/structure/pallet_for_tests.h"
#include "calc/structure/plate.h"
#include "places.h"
#include "plate_solid.h"
#include "published.h"

namespace fettle::structure {
namespace {

/// Parts that cover whole elements of the 28 x 24 mesh: 8 x 8 of them each.
Inputs aligned() {
  Inputs in = test::pallet();
  for (Part& p : in.parts) {
    p.size_x = 8 * in.plate.length / 28, p.size_y = 8 * in.plate.width / 24;
    p.x = std::copysign(7 * in.plate.length / 28, p.x), p.y = std::copysign(6 * in.plate.width / 24, p.y);
  }
  return in;
}

/// Frequencies side by side, matched by shape.
void compare(const std::string& name, const Inputs& solid_in, Inputs in, std::size_t count, double share) {
  const test::SolidAnswer solid =
      test::SolidPallet(solid_in, 2).solve(std::string(fettle::test::binary_dir) + "/solid_" + name);
  EXPECT_TRUE(solid.ok && solid.modes.size() >= count) << "ccx gave no modes";
  if (!solid.ok || solid.modes.size() < count) return;
  in.modes = 16;
  for (const auto& w : solid.watched) in.points.push_back({{w[0], w[1], 0}, -1, 0.002});
  const Result plate = solve(in);
  EXPECT_TRUE(plate.ok) << plate.why;
  if (!plate.ok) return;
  for (std::size_t k = 0; k < count; ++k) {
    std::size_t best = 0;
    double like = 0;
    for (std::size_t m = 0; m < plate.frequencies.size(); ++m) {
      std::vector<frame::Vec3> shape;
      for (const auto& p : plate.points) shape.push_back(p.modes[m].shape);
      const double v = test::likeness(solid.modes[k].at, shape);
      if (v > like) like = v, best = m;
    }
    EXPECT_GT(like, 0.99) << "mode " << k + 1;
    std::printf("%-9s mode %2zu: solid %8.2f Hz, plate %8.2f Hz, %+.2f %%, likeness %.4f\n", name.c_str(), k + 1,
                solid.modes[k].hertz, plate.frequencies[best],
                100 * (plate.frequencies[best] / solid.modes[k].hertz - 1), like);
    fettle::test::published(
        "structure", name + " pallet, Hz, mode " + std::to_string(k + 1) + " of the solid, matched by shape",
        "28 x 24 x 2 bricks of 20 nodes, general finite-element program (computed)", fettle::test::How::computed,
        solid.modes[k].hertz, plate.frequencies[best], share * solid.modes[k].hertz);
  }
}

// Spread masses: in the plate each element below a part carries its share.
TEST(Solid, ALoadedPalletAgreesWithBricksWithinThreePercent) {
  if (!test::solid_program_is_here()) GTEST_SKIP() << "ccx is not installed: the solid model was not compared";
  Inputs solid = aligned(), in = solid;
  solid.modes = 14;
  in.parts.clear();
  for (const Part& p : solid.parts)
    for (int j = 0; j < 8; ++j)
      for (int i = 0; i < 8; ++i) {
        Part small;
        small.size_x = p.size_x / 8, small.size_y = p.size_y / 8, small.mass = p.mass / 64;
        small.x = p.x + (i - 3.5) * small.size_x, small.y = p.y + (j - 3.5) * small.size_y;
        in.parts.push_back(small);
      }
  compare("loaded", solid, in, 13, 0.03);
}

// Iron bonded to the top: bricks of iron against the plate's layers, mass with its height. The rim of a block carries
// next to nothing (plate_section.cpp); how wide that rim is was set by these solids, its being one share of the height
// for three heights was not.
TEST(Solid, BondedIronAgreesWithBricksWithinThreePercent) {
  if (!test::solid_program_is_here()) GTEST_SKIP() << "ccx is not installed: the solid model was not compared";
  for (const double height : {0.008, 0.015, 0.03}) {
    Inputs in = aligned();
    in.bonded = true;
    for (Part& p : in.parts) {
      p.thickness = height;
      p.mass = p.metal.density * p.size_x * p.size_y * p.thickness;
      p.height = p.thickness / 2;
      const double a = p.size_x * p.size_x, b = p.size_y * p.size_y, c = p.thickness * p.thickness;
      p.inertia = {p.mass * (b + c) / 12, p.mass * (a + c) / 12, p.mass * (a + b) / 12};
    }
    Inputs solid = in;
    solid.modes = 9;
    in.columns = 56, in.rows = 48;  // the plate's mesh follows the rims
    compare("bonded_" + std::to_string(static_cast<int>(std::lround(1e3 * height))), solid, in, 9, 0.03);
  }
}

}  // namespace
}  // namespace fettle::structure
