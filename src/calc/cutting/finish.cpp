#include "calc/cutting/finish.h"

#include <limits>

namespace fettle::cutting {

double feed_roughness(double f, double r) {
  if (!(r > 0) || !(f >= 0) || f > 2 * r) return std::numeric_limits<double>::quiet_NaN();
  return f * f / (32 * r);
}
double flank_roughness(double f, double d) {
  if (!(d > 0) || !(f >= 0) || f > d) return std::numeric_limits<double>::quiet_NaN();
  return f * f / (4 * d) / 4;
}
double least_chip_roughness(double f, double r, double h) {
  if (!(f > 0) || !(r > 0) || !(h >= 0)) return std::numeric_limits<double>::quiet_NaN();
  return 0.25 * 0.5 * h * (1 + h * r / (f * f));
}

}  // namespace fettle::cutting
