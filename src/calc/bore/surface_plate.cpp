#include "calc/bore/surface_plate.h"

#include <cmath>

#include "base/text.h"

namespace fettle::bore {

Outcome<double> plate_flatness(const SurfacePlate& p) {
  constexpr double inch = 0.0254, largest = 5;
  for (double side : {p.length, p.width})
    if (!(side > 0 && side <= largest))
      return bad("no side of a surface plate", base::shortest(side) + " m", "more than 0 and at most 5 m");
  const double d2 = (p.length * p.length + p.width * p.width) / (inch * inch);
  const double factor = p.grade == SurfacePlate::Grade::laboratory   ? 1
                        : p.grade == SurfacePlate::Grade::inspection ? 2
                                                                     : 4;
  return factor * (40 + d2 / 25) * 1e-6 * inch;
}

}  // namespace fettle::bore
