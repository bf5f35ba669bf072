#include "calc/holding/distortion.h"

#include <cmath>
#include <numbers>

namespace fettle::holding {

double strip_sink(double force, double span, double modulus, double width, double thickness) {
  return force * std::pow(span, 3) / (192 * modulus * width * std::pow(thickness, 3) / 12);
}
double strip_sink_free(double force, double span, double modulus, double width, double thickness) {
  return 4 * strip_sink(force, span, modulus, width, thickness);
}

BoreSqueeze squeezed_bore(double pressure, double diameter, double modulus) {
  BoreSqueeze b;
  b.along = -3 * pressure * diameter / modulus;
  b.across = pressure * diameter / modulus;
  b.out_of_round = (b.across - b.along) / 2;
  return b;
}

BoreSqueeze squeezed_ring(double force, double middle_radius, double wall, double length, double modulus) {
  constexpr double pi = std::numbers::pi;
  const double give = force * std::pow(middle_radius, 3) / (modulus * length * std::pow(wall, 3) / 12);
  BoreSqueeze b;
  b.along = -(pi / 4 - 2 / pi) * give;
  b.across = (2 / pi - 0.5) * give;
  b.out_of_round = (b.across - b.along) / 2;
  return b;
}

}  // namespace fettle::holding
