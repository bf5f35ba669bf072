#include "frame/frame.h"

namespace fettle::frame {

Pose from_small(Vec3 t, Vec3 w) {
  Pose X;
  X.t = t;
  const double a = norm(w);
  if (!(a > 0)) return X;
  const Vec3 u = (1 / a) * w;
  const double s = std::sin(a), c = std::cos(a), k = 1 - c;
  X.R = {c + u.x * u.x * k,       u.x * u.y * k - u.z * s, u.x * u.z * k + u.y * s,
         u.y * u.x * k + u.z * s, c + u.y * u.y * k,       u.y * u.z * k - u.x * s,
         u.z * u.x * k - u.y * s, u.z * u.y * k + u.x * s, c + u.z * u.z * k};
  return X;
}

}  // namespace fettle::frame
