#include <algorithm>
#include <cmath>

#include "calc/tolerance/judge.h"

namespace fettle::tolerance::inner {

namespace {

using V3 = std::array<double, 3>;
constexpr double nanometre = 1e-9;
constexpr int most_cuts = 400;

double dot3(const V3& a, const V3& b) { return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]; }

struct Cut {
  double over = 0;  ///< how far the condition is missed
  V3 slope{};
};
/// q is the shift of the middle and the turn times `length`.
Cut cut_of(const ShiftQuestion::Condition& c, const V3& q, double mx, double my, double length) {
  const double rx = (c.x - mx) / length, ry = (c.y - my) / length;
  const double ex = q[0] - q[2] * ry - c.dx, ey = q[1] + q[2] * rx - c.dy;
  double size = 0, ux = 0, uy = 0;
  if (c.line_x != 0 || c.line_y != 0) {
    const double e = ex * c.line_x + ey * c.line_y, sign = e < 0 ? -1 : 1;
    size = std::fabs(e), ux = sign * c.line_x, uy = sign * c.line_y;
  } else {
    size = std::sqrt(ex * ex + ey * ey);
    if (size > 0) ux = ex / size, uy = ey / size;
  }
  return {size - std::max(c.radius, nanometre), {ux, uy, rx * uy - ry * ux}};
}

}  // namespace

bool shift_exists(const ShiftQuestion& question) {
  const auto& all = question.conditions;
  double mx = 0, my = 0, length = 0, reach = 0;
  for (const auto& c : all) mx += c.x / static_cast<double>(all.size()), my += c.y / static_cast<double>(all.size());
  for (const auto& c : all) {
    length = std::max(length, std::sqrt((c.x - mx) * (c.x - mx) + (c.y - my) * (c.y - my)));
    reach = std::max(reach, std::sqrt(c.dx * c.dx + c.dy * c.dy) + c.radius);
  }
  if (!(length > 0)) length = 1;
  V3 q{};
  std::array<V3, 3> P{};
  for (std::size_t i = 0; i < 3; ++i) P[i][i] = 100 * reach * reach;
  for (int step = 0; step < most_cuts; ++step) {
    double depth = -1, root = 0;
    Cut worst;
    V3 pushed{};
    for (const auto& c : all) {
      const Cut cut = cut_of(c, q, mx, my, length);
      if (cut.over <= 0) continue;
      const V3 pg{dot3(P[0], cut.slope), dot3(P[1], cut.slope), dot3(P[2], cut.slope)};
      const double r = std::sqrt(std::max(0.0, dot3(cut.slope, pg)));
      if (!(cut.over < r)) return false;  // beyond the ellipsoid: nothing is left
      if (cut.over / r > depth) depth = cut.over / r, root = r, worst = cut, pushed = pg;
    }
    if (depth < 0) return true;
    const double n = 3, tau = (1 + n * depth) / (n + 1), sigma = 2 * tau / (1 + depth);
    const double delta = n * n / (n * n - 1) * (1 - depth * depth);
    for (std::size_t i = 0; i < 3; ++i) q[i] -= tau * pushed[i] / root;
    for (std::size_t i = 0; i < 3; ++i)
      for (std::size_t j = 0; j < 3; ++j) P[i][j] = delta * (P[i][j] - sigma * pushed[i] * pushed[j] / (root * root));
    if (!(P[0][0] + P[1][1] + P[2][2] > 1e-24)) return false;
  }
  return false;
}

}  // namespace fettle::tolerance::inner
