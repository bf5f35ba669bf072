#pragma once
// A structure as one point of it feels it: modes and what the modes left out leave behind (static residual). Shared by
// the sciences that make such responses and those that use them.
#include <array>
#include <complex>
#include <vector>

#include "frame/frame.h"

namespace fettle::maths {

/// One mode at one point: natural frequency (rad/s), damping ratio, and the displacement of the point in the
/// mass-normalised mode (1/sqrt(kg)), in the axes the owner names.
struct PointMode {
  double omega = 0, damping = 0;
  frame::Vec3 shape;
};

/// What a force at a point does to that same point.
struct PointResponse {
  std::vector<PointMode> modes;
  std::array<double, 9> residual{};  ///< m/N, row by row: static compliance that the modes do not carry
};

using Response3 = std::array<std::complex<double>, 9>;

/// Displacement per force (m/N), row by row, at `omega` rad/s: residual + sum of shape shape^T / (omega_r^2 - omega^2 +
/// 2 i damping omega_r omega).
Response3 response(const PointResponse& point, double omega);

/// The same at rest: what 1 N does, m/N.
std::array<double, 9> static_compliance(const PointResponse& point);

/// Compliance at rest along a unit direction: d . C d.
double compliance_along(const PointResponse& point, frame::Vec3 direction);

}  // namespace fettle::maths
