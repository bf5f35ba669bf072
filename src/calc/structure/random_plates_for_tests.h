#pragma once
// Plates by chance, the same every time: size, thickness, metal, four anchors, four parts that do not overlap. For
// comparing the full model with the reduced one.
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <vector>

#include "calc/structure/plate.h"
#include "calc/structure/reduced.h"
#include "maths/random.h"

namespace fettle::structure::test {

/// Plate number `item`. 50 points: on the parts, at cutter height; or on the bare plate, 60 mm up.
inline Inputs random_plate(std::uint64_t item, bool points_on_parts = true) {
  std::uint32_t k = 0;
  const auto from = [&](double low, double high) { return low + (high - low) * maths::uniform(4, item, k++); };
  Inputs in;
  in.plate.length = from(0.25, 0.6);
  in.plate.width = in.plate.length / from(1.0, 1.7);
  in.plate.thickness = from(0.015, 0.05);
  const double which = from(0, 3);
  in.plate.metal = which < 1   ? Metal{71e9, 0.33, 2660, 23.8e-6}
                   : which < 2 ? Metal{100e9, 0.26, 7200, 10.5e-6}
                               : Metal{207e9, 0.29, 7850, 11.5e-6};
  const double patch = from(0.024, 0.05), up = from(50e6, 300e6), side = from(30e6, 200e6);
  for (const double x : {-1.0, 1.0})
    for (const double y : {-1.0, 1.0})
      in.anchors.push_back(
          {x * in.plate.length * from(0.2, 0.42), y * in.plate.width * from(0.2, 0.42), patch, up, side});
  for (const double x : {-1.0, 1.0})
    for (const double y : {-1.0, 1.0}) {
      Part p;
      p.size_x = in.plate.length * from(0.2, 0.4), p.size_y = in.plate.width * from(0.2, 0.4);
      p.x = x * in.plate.length * from(0.22, 0.28), p.y = y * in.plate.width * from(0.22, 0.28);
      p.turn = from(-0.3, 0.3);
      const double high = from(0.02, 0.08);
      p.height = high / 2;
      p.mass = from(0.5, 1.0) * 7200 * p.size_x * p.size_y * high;
      p.inertia = {p.mass * (p.size_y * p.size_y + high * high) / 12, p.mass * (p.size_x * p.size_x + high * high) / 12,
                   p.mass * (p.size_x * p.size_x + p.size_y * p.size_y) / 12};
      in.parts.push_back(p);
    }
  for (int n = 0; n < 50; ++n) {
    const Part& p = in.parts[static_cast<std::size_t>(n % 4)];
    if (points_on_parts)
      in.points.push_back({{p.x + from(-0.4, 0.4) * p.size_x, p.y + from(-0.4, 0.4) * p.size_y, 2 * p.height}, n % 4});
    else in.points.push_back({{from(-0.45, 0.45) * in.plate.length, from(-0.45, 0.45) * in.plate.width, 0.06}, -1});
  }
  in.want_shapes = in.want_error = false;
  return in;
}

/// Largest relative differences between two answers to the same plate.
struct Apart {
  double modes = 0;  ///< of the first 13 frequencies
  double give = 0;   ///< of compliance at rest, along X, Y and Z, at the points
};
inline Apart apart(const Result& full, const Result& few) {
  Apart a;
  for (std::size_t i = 0; i < 13; ++i)
    a.modes = std::max(a.modes, std::fabs(few.frequencies[i] / full.frequencies[i] - 1));
  for (std::size_t p = 0; p < full.points.size(); ++p) {
    const auto x = maths::static_compliance(full.points[p]), y = maths::static_compliance(few.points[p]);
    for (const std::size_t k : {0U, 4U, 8U}) a.give = std::max(a.give, std::fabs(y[k] / x[k] - 1));
  }
  return a;
}

}  // namespace fettle::structure::test
