#include "calc/chatter/lobes_structure.h"

#include <algorithm>
#include <cmath>

namespace fettle::chatter {

std::string wrong(const std::vector<maths::PointResponse>& responses) {
  for (const maths::PointResponse& p : responses) {
    for (const maths::PointMode& m : p.modes)
      if (!(m.omega > 0) || !std::isfinite(m.omega)) return "a mode needs a frequency above zero";
      else if (!(m.damping > 0) || !(m.damping < 1)) return "the damping ratio of a mode must lie between 0 and 1";
      else if (!std::isfinite(m.shape.x) || !std::isfinite(m.shape.y) || !std::isfinite(m.shape.z))
        return "the shape of a mode is no number";
    for (double r : p.residual)
      if (!std::isfinite(r)) return "the residual compliance is no number";
  }
  return {};
}

Structure::Structure(const std::vector<maths::PointResponse>& responses, const std::array<frame::Vec3, 3>& axes) {
  const auto dot = [](const frame::Vec3& a, const frame::Vec3& b) { return a.x * b.x + a.y * b.y + a.z * b.z; };
  const auto part = [](const frame::Vec3& v, std::size_t i) { return i == 0 ? v.x : i == 1 ? v.y : v.z; };
  owners = static_cast<int>(responses.size());
  for (int o = 0; o < owners; ++o) {
    const maths::PointResponse& p = responses[static_cast<std::size_t>(o)];
    for (const maths::PointMode& m : p.modes)
      modes.push_back({m.omega, m.damping, {dot(axes[0], m.shape), dot(axes[1], m.shape), dot(axes[2], m.shape)}, o});
    std::array<double, 9> r{};
    for (std::size_t i = 0; i < 3; ++i)
      for (std::size_t j = 0; j < 3; ++j)
        for (std::size_t k = 0; k < 3; ++k)
          for (std::size_t l = 0; l < 3; ++l)
            r[3 * i + j] += part(axes[i], k) * p.residual[3 * k + l] * part(axes[j], l);
    for (std::size_t i = 0; i < 9; ++i) residual[i] += r[i];
    residual_of.push_back(r);
  }
}

maths::Response3 Structure::at(double omega, int owner) const {
  double re[6] = {}, im[6] = {};
  for (const SwingMode& m : modes) {
    if (owner >= 0 && m.owner != owner) continue;
    const double a = m.omega * m.omega - omega * omega, b = 2 * m.damping * m.omega * omega, d = 1 / (a * a + b * b);
    const double x = m.shape[0], y = m.shape[1], z = m.shape[2], pairs[6] = {x * x, x * y, x * z, y * y, y * z, z * z};
    for (int i = 0; i < 6; ++i) re[i] += pairs[i] * a * d, im[i] -= pairs[i] * b * d;
  }
  const std::array<double, 9>& rest = owner < 0 ? residual : residual_of[static_cast<std::size_t>(owner)];
  constexpr int place[9] = {0, 1, 2, 1, 3, 4, 2, 4, 5};
  maths::Response3 g;
  for (std::size_t i = 0; i < 9; ++i) g[i] = {re[place[i]] + rest[i], im[place[i]]};
  return g;
}

double Structure::lowest() const {
  double low = HUGE_VAL;
  for (const SwingMode& m : modes) low = std::min(low, m.omega);
  return low;
}
double Structure::highest() const {
  double high = 0;
  for (const SwingMode& m : modes) high = std::max(high, m.omega);
  return high;
}

}  // namespace fettle::chatter
