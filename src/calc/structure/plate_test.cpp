#include "calc/structure/plate.h"

#include <gtest/gtest.h>

#include <cmath>

#include "published.h"

namespace {

using namespace fettle::structure;

constexpr double pi = 3.14159265358979323846;

Inputs square(double thickness, int n, Edge edge) {
  Inputs in;
  in.plate.length = in.plate.width = 1;
  in.plate.thickness = thickness;
  in.plate.metal = {200e9, 0.3, 8000, 12e-6};
  in.columns = in.rows = n;
  in.edges = {edge, edge, edge, edge};
  in.in_plane = false;
  in.modes = 10;
  in.want_error = false;
  return in;
}
double bending_stiffness(const Plate& p) {
  return p.metal.modulus * std::pow(p.thickness, 3) / 12 / (1 - p.metal.poisson * p.metal.poisson);
}

TEST(Plate, FreeSquare) {
  Inputs in = square(0.01, 48, Edge::free);
  in.shear_flexible = false;
  const Result r = solve(in);
  ASSERT_TRUE(r.ok) << r.why;
  const double f = 2 * pi * std::sqrt(in.plate.metal.density * in.plate.thickness / bending_stiffness(in.plate));
  for (double v : r.frequencies) printf("%.5f ", v * f);
  printf("res %g\n", r.residual);
}
TEST(Plate, Demo) {
  Inputs in;
  in.plate.length = 0.33, in.plate.width = 0.25, in.plate.thickness = 0.025;
  in.plate.metal = {70e9, 0.33, 2660, 23e-6};
  for (double x : {-0.105, 0.105})
    for (double y : {-0.08, 0.08}) in.anchors.push_back({x, y, 0.024, 2e8, 1e8});
  for (double x : {-0.08, 0.08})
    for (double y : {-0.06, 0.06}) {
      Part p;
      p.x = x, p.y = y, p.size_x = 0.1, p.size_y = 0.08, p.mass = 2, p.height = 0.03;
      p.inertia = {2 * (0.08 * 0.08 + 0.06 * 0.06) / 12, 2 * (0.1 * 0.1 + 0.06 * 0.06) / 12,
                   2 * (0.1 * 0.1 + 0.08 * 0.08) / 12};
      in.parts.push_back(p);
      for (double z : {0.0, 0.06}) in.points.push_back({{x, y, z}, static_cast<int>(in.parts.size()) - 1});
    }
  in.points.push_back({{0, 0, 0}, -1});
  const Result r = solve(in);
  ASSERT_TRUE(r.ok) << r.why;
  for (double v : r.frequencies) printf("%.2f ", v);
  printf("res %g err %g\n", r.residual, r.error);
  for (auto& p : r.points) {
    auto c = fettle::maths::static_compliance(p);
    printf("%g %g %g  res %g %g %g\n", c[0], c[4], c[8], p.residual[0], p.residual[4], p.residual[8]);
  }
}

}  // namespace
