#pragma once
// A pallet like the ones in the plans, for tests and benchmarks: 330 x 250 x 25 mm of 5083 on four anchors, four parts.
#include <cmath>

#include "calc/structure/structure.h"

namespace fettle::structure::test {

inline Inputs pallet() {
  Inputs in;
  in.plate.length = 0.33, in.plate.width = 0.25, in.plate.thickness = 0.025;
  in.plate.metal = {71e9, 0.33, 2660, 23.8e-6};
  for (double x : {-0.105, 0.105})
    for (double y : {-0.075, 0.075}) in.anchors.push_back({x, y, 0.04, 150e6, 100e6});
  for (double x : {-0.078, 0.078})
    for (double y : {-0.057, 0.057}) {
      Part p;
      p.x = x, p.y = y, p.size_x = 0.1, p.size_y = 0.08, p.height = 0.03, p.mass = 2;
      p.inertia = {p.mass * (0.08 * 0.08 + 0.06 * 0.06) / 12, p.mass * (0.1 * 0.1 + 0.06 * 0.06) / 12,
                   p.mass * (0.1 * 0.1 + 0.08 * 0.08) / 12};
      p.thickness = 0.02;
      p.metal = {110e9, 0.26, 7200, 11e-6};
      in.parts.push_back(p);
    }
  return in;
}

/// `count` points over the four parts, 60 mm above the plate.
inline void add_points_on_parts(Inputs& in, int count) {
  for (int k = 0; k < count; ++k) {
    const int part = k % static_cast<int>(in.parts.size());
    const Part& p = in.parts[static_cast<std::size_t>(part)];
    const double a = 0.7 * k, r = 0.03 * (k % 5) / 4;
    in.points.push_back({{p.x + r * std::cos(a), p.y + r * std::sin(a), 0.06}, part});
  }
}
/// `count` points over the bare plate, each tied to a patch of its own, 60 mm up.
inline void add_points_on_plate(Inputs& in, int count) {
  for (int k = 0; k < count; ++k) {
    const double u = (k % 10 + 0.5) / 10 - 0.5, v = (k / 10 + 0.5) / ((count + 9) / 10) - 0.5;
    in.points.push_back({{u * in.plate.length * 0.9, v * in.plate.width * 0.9, 0.06}, -1});
  }
}

}  // namespace fettle::structure::test
