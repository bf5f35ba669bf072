#include "calc/holding/vise.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace fettle::holding {

double friction_arm(double width, double height) {
  const double a = width / 2, b = height / 2, d = std::hypot(a, b);
  if (!(a > 0 && b > 0)) return (a + b) / 2;
  return d / 3 + a * a / (6 * b) * std::log((b + d) / a) + b * b / (6 * a) * std::log((a + d) / b);
}

Outcome<ViseResult> vise_series(const ViseInputs& in) {
  Problems wrong;
  const auto refuse = [&](bool good, const char* what) {
    if (!good) wrong.push_back(bad(what));
  };
  refuse(in.parts >= 1 && in.parts <= 1000, "1 to 1000 parts in a vise");
  refuse(in.force > 0 && std::isfinite(in.force), "the vise's force must be above 0");
  refuse(in.friction > 0 && in.friction <= 2, "friction lies above 0 up to 2");
  refuse(in.width > 0 && in.held > 0, "the squeezed face needs a width and a height");
  refuse(in.arm >= 0 && std::isfinite(in.arm), "the cut lies above the middle of the squeezed face, not below");
  refuse(in.along_row >= 0 && in.along_jaw >= 0 && in.up >= 0, "forces are given by their size");
  refuse(in.face_angle >= 0 && in.face_angle < 0.1, "faces lie within 0 to 0.1 rad of parallel");
  refuse(in.depth >= 0 && std::isfinite(in.depth), "the row has no negative depth");
  if (!wrong.empty()) return wrong;
  ViseResult r;
  const double never = std::numeric_limits<double>::infinity();
  r.each = in.force;
  r.pulls = std::hypot(in.along_jaw, in.up);
  // The cut grows by a factor until pull and turn use up mu (2F - along_row), which its own push along the row lessens.
  const double turn = in.on_rest ? 0 : in.along_jaw * in.arm / friction_arm(in.width, in.held);
  const double slide = std::hypot(r.pulls, turn);
  r.holds = in.friction * std::max(0.0, 2 * in.force - in.along_row);
  const double used = slide + in.friction * in.along_row;
  r.slip_factor = used > 0 ? 2 * in.friction * in.force / used : never;
  const double tips = in.along_row * in.arm;
  r.tilt_factor = tips > 0 ? in.force * in.held / 2 / tips : never;
  r.curl = in.parts * in.face_angle;
  r.rises = r.curl * in.depth / 2;
  return r;
}

}  // namespace fettle::holding
