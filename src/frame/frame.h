#pragma once
// Points, directions and poses in named frames. Right-handed, metres and radians.
// Frames: W machine table, L pallet, N nest, P part, C casting, T tool tip. A name carries its frames:
// p_PB is point B seen in P; X_WL is the pose of L in W, so p_WB = X_WL * p_LB.
#include <array>
#include <cmath>

namespace fettle::frame {

struct Vec3 {
  double x = 0, y = 0, z = 0;
  bool operator==(const Vec3&) const = default;
};
inline Vec3 operator+(Vec3 a, Vec3 b) { return {a.x + b.x, a.y + b.y, a.z + b.z}; }
inline Vec3 operator-(Vec3 a, Vec3 b) { return {a.x - b.x, a.y - b.y, a.z - b.z}; }
inline Vec3 operator-(Vec3 a) { return {-a.x, -a.y, -a.z}; }
inline Vec3 operator*(double s, Vec3 a) { return {s * a.x, s * a.y, s * a.z}; }
inline double dot(Vec3 a, Vec3 b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
inline Vec3 cross(Vec3 a, Vec3 b) { return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x}; }
inline double norm(Vec3 a) { return std::sqrt(dot(a, a)); }
/// Unit vector along a; a zero vector comes back as it is.
inline Vec3 unit(Vec3 a) {
  const double n = norm(a);
  return n > 0 ? (1 / n) * a : a;
}

/// Rotation then shift: p_AB = R p + t. R is row-major and a proper rotation.
struct Pose {
  std::array<double, 9> R = {1, 0, 0, 0, 1, 0, 0, 0, 1};
  Vec3 t;
};
inline Vec3 rotate(const Pose& X, Vec3 v) {
  return {X.R[0] * v.x + X.R[1] * v.y + X.R[2] * v.z, X.R[3] * v.x + X.R[4] * v.y + X.R[5] * v.z,
          X.R[6] * v.x + X.R[7] * v.y + X.R[8] * v.z};
}
inline Vec3 operator*(const Pose& X, Vec3 p) { return rotate(X, p) + X.t; }
inline Pose operator*(const Pose& A, const Pose& B) {
  Pose C;
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j)
      C.R[3 * i + j] = A.R[3 * i] * B.R[j] + A.R[3 * i + 1] * B.R[3 + j] + A.R[3 * i + 2] * B.R[6 + j];
  C.t = A * B.t;
  return C;
}
inline Pose inverse(const Pose& X) {
  Pose Y;
  Y.R = {X.R[0], X.R[3], X.R[6], X.R[1], X.R[4], X.R[7], X.R[2], X.R[5], X.R[8]};
  Y.t = -rotate(Y, X.t);
  return Y;
}
/// Turn by |w| about w (exact, Rodrigues), then shift by t.
Pose from_small(Vec3 t, Vec3 w);

}  // namespace fettle::frame
