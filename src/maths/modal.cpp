#include "maths/modal.h"

namespace fettle::maths {

namespace {

double part(frame::Vec3 v, int i) { return i == 0 ? v.x : i == 1 ? v.y : v.z; }

}  // namespace

Response3 response(const PointResponse& point, double omega) {
  Response3 h{};
  for (std::size_t i = 0; i < 9; ++i) h[i] = point.residual[i];
  for (const PointMode& m : point.modes) {
    const std::complex<double> d(m.omega * m.omega - omega * omega, 2 * m.damping * m.omega * omega);
    const double size = std::norm(d);
    const std::complex<double> inverse(d.real() / size, -d.imag() / size);
    for (int i = 0; i < 3; ++i)
      for (int j = 0; j < 3; ++j)
        h[static_cast<std::size_t>(3 * i + j)] += part(m.shape, i) * part(m.shape, j) * inverse;
  }
  return h;
}

std::array<double, 9> static_compliance(const PointResponse& point) {
  std::array<double, 9> c = point.residual;
  for (const PointMode& m : point.modes)
    for (int i = 0; i < 3; ++i)
      for (int j = 0; j < 3; ++j)
        c[static_cast<std::size_t>(3 * i + j)] += part(m.shape, i) * part(m.shape, j) / (m.omega * m.omega);
  return c;
}

double compliance_along(const PointResponse& point, frame::Vec3 direction) {
  const std::array<double, 9> c = static_compliance(point);
  double sum = 0;
  for (int i = 0; i < 3; ++i)
    for (int j = 0; j < 3; ++j) sum += part(direction, i) * c[static_cast<std::size_t>(3 * i + j)] * part(direction, j);
  return sum;
}

}  // namespace fettle::maths
