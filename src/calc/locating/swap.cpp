#include "calc/locating/swap.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"

namespace fettle::locating {

namespace {

using maths::Matrix;

/// One located direction: its row in the three freedoms, spread and stiffness.
struct Row {
  double a[3];
  double s, k;
};

/// Covariance of the three freedoms: P diag(s^2) P' with P = (J'KJ)^-1 J'K.
std::optional<Matrix> covariance(const std::vector<Row>& rows) {
  Matrix JKJ(3, 3), JK(3, rows.size());
  for (std::size_t i = 0; i < rows.size(); ++i)
    for (std::size_t a = 0; a < 3; ++a) {
      JK(a, i) = rows[i].k * rows[i].a[a];
      for (std::size_t b = 0; b < 3; ++b) JKJ(a, b) += rows[i].k * rows[i].a[a] * rows[i].a[b];
    }
  const std::optional<Matrix> inverse = maths::inverse(JKJ);
  if (!inverse) return std::nullopt;
  const Matrix P = maths::product(*inverse, JK);
  Matrix C(3, 3);
  for (std::size_t i = 0; i < rows.size(); ++i)
    for (std::size_t a = 0; a < 3; ++a)
      for (std::size_t b = 0; b < 3; ++b) C(a, b) += P(a, i) * rows[i].s * rows[i].s * P(b, i);
  return C;
}
double variance(const Matrix& C, const double (&v)[3]) {
  double sum = 0;
  for (std::size_t a = 0; a < 3; ++a)
    for (std::size_t b = 0; b < 3; ++b) sum += v[a] * C(a, b) * v[b];
  return std::max(0.0, sum);
}

Problems refusals(const SwapInputs& in) {
  Problems out;
  if (in.anchors.empty()) out.push_back(bad("no anchor given", {}, "two or more"));
  for (const Anchor& a : in.anchors) {
    if (!std::isfinite(a.x) || !std::isfinite(a.y)) out.push_back(bad(a.name + ": its place is not a number"));
    if (!(a.s >= 0) || !(a.s_z >= 0) || !std::isfinite(a.s) || !std::isfinite(a.s_z))
      out.push_back(bad(a.name + ": its spread is impossible", base::shortest(a.s), "0 or more"));
    if (!(a.stiffness > 0) || !(a.stiffness_z > 0) || !std::isfinite(a.stiffness) || !std::isfinite(a.stiffness_z))
      out.push_back(bad(a.name + ": its stiffness is impossible", base::shortest(a.stiffness), "above 0"));
  }
  for (const Vec3& p : in.points)
    if (!std::isfinite(p.x) || !std::isfinite(p.y)) out.push_back(bad("a point is not a number"));
  return out;
}

}  // namespace

Outcome<SwapResult> swap_repeatability(const SwapInputs& in) {
  if (Problems problems = refusals(in); !problems.empty()) return problems;
  std::vector<Row> plane, upright;
  for (const Anchor& a : in.anchors) {
    if (a.locates_x) plane.push_back({{1, 0, -a.y}, a.s, a.stiffness});
    if (a.locates_y) plane.push_back({{0, 1, a.x}, a.s, a.stiffness});
    if (a.locates_z) upright.push_back({{1, a.y, -a.x}, a.s_z, a.stiffness_z});
  }
  const std::optional<Matrix> C = covariance(plane), Z = covariance(upright);
  Problems problems;
  if (!C) problems.push_back(bad("the anchors leave the pallet free to slide or turn"));
  if (!Z)
    problems.push_back(bad("the anchors leave the pallet free to tilt", {}, "three upright ones not on one line"));
  if (!problems.empty()) return problems;
  SwapResult r;
  r.plane = *C;
  r.upright = *Z;
  r.s_x = std::sqrt((*C)(0, 0));
  r.s_y = std::sqrt((*C)(1, 1));
  r.s_turn = std::sqrt((*C)(2, 2));
  r.s_z = std::sqrt((*Z)(0, 0));
  r.s_tilt_x = std::sqrt((*Z)(1, 1));
  r.s_tilt_y = std::sqrt((*Z)(2, 2));
  for (const Vec3& p : in.points) {
    const double x[3] = {1, 0, -p.y}, y[3] = {0, 1, p.x}, z[3] = {1, p.y, -p.x};
    SwapPoint s;
    const double xx = variance(*C, x), yy = variance(*C, y);
    double xy = 0;
    for (std::size_t a = 0; a < 3; ++a)
      for (std::size_t b = 0; b < 3; ++b) xy += x[a] * (*C)(a, b) * y[b];
    s.s_x = std::sqrt(xx);
    s.s_y = std::sqrt(yy);
    s.s_z = std::sqrt(variance(*Z, z));
    s.s_most = std::sqrt(0.5 * (xx + yy) + std::hypot(0.5 * (xx - yy), xy));
    r.points.push_back(s);
  }
  return r;
}

}  // namespace fettle::locating
