#pragma once
// How flat a granite surface plate must be: what a height gauge or a dial on it can be trusted for.
#include "base/outcome.h"

namespace fettle::bore {

struct SurfacePlate {
  double length = 0, width = 0;                                                     ///< m, > 0, at most 5
  enum class Grade { laboratory, inspection, workshop } grade = Grade::inspection;  ///< AA, A, B
};
/// Flatness over the whole plate, m: (40 + D^2/25) millionths of an inch for grade AA, D the diagonal in inches; twice
/// that for A, four times for B. Source: US Federal Specification GGG-P-463c. Refuses sizes outside their range.
Outcome<double> plate_flatness(const SurfacePlate& plate);

}  // namespace fettle::bore
