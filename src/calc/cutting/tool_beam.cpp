#include "calc/cutting/tool_beam.h"

#include <algorithm>
#include <cmath>

namespace fettle::cutting {

namespace {
constexpr double pi = 3.14159265358979323846;
}

double beam_length(const ToolBeam& beam) {
  double l = 0;
  for (const Stretch& s : beam.stretches) l += s.length;
  return l;
}

double compliance(const ToolBeam& beam, double a, double b) {
  // Unit loads at a and b: moments grow with the height over them; the product is a parabola, Simpson is exact.
  double sum = 0, from = 0;
  const double start = std::max(a, b);
  for (const Stretch& s : beam.stretches) {
    const double to = from + s.length, low = std::max(from, start);
    if (to > low) {
      const double area = pi / 4 * s.diameter * s.diameter, inertia = area * s.diameter * s.diameter / 16;
      const double shear = s.modulus / (2 * (1 + s.poisson)), form = 6 * (1 + s.poisson) / (7 + 6 * s.poisson);
      const auto product = [&](double z) { return (z - a) * (z - b); };
      const double bend = (to - low) / 6 * (product(low) + 4 * product(0.5 * (low + to)) + product(to));
      sum += bend / (s.modulus * inertia) + (to - low) / (form * shear * area);
    }
    from = to;
  }
  if (beam.spindle > 0) sum += 1 / beam.spindle;
  if (beam.tilt > 0) sum += (from - a) * (from - b) / beam.tilt;
  return sum;
}

}  // namespace fettle::cutting
