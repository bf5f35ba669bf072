#include "study/mesh_points.h"

#include <cmath>

namespace fettle::study {

using frame::Vec3;

namespace {

constexpr double near = 5e-6;  // m: how far a face may lie from where the plan says it is

bool on_surface(const solid::Face& f, const Surface& s) {
  if (!s.round)
    return f.kind == solid::Kind::plane && frame::dot(f.axis, s.normal) > 1 - 1e-6 &&
           std::fabs(frame::dot(s.normal, f.point - s.point)) < near;
  if (f.kind != solid::Kind::cylinder || !f.concave || std::fabs(f.radius - s.radius) > 1e-4 ||
      std::fabs(frame::dot(f.axis, s.normal)) < 1 - 1e-6)
    return false;
  const Vec3 off = f.point - s.point;
  return frame::norm(off - frame::dot(off, s.normal) * s.normal) < near;
}

/// First distance along d (either way, nearest in size within `reach`) where the line from p meets the mesh; NaN when
/// it does not.
double meets(const solid::Mesh& mesh, Vec3 p, Vec3 d, double reach) {
  double best = std::nan("");
  for (const auto& t : mesh.triangles) {
    const Vec3 a = mesh.points[static_cast<std::size_t>(t[0])], b = mesh.points[static_cast<std::size_t>(t[1])],
               c = mesh.points[static_cast<std::size_t>(t[2])];
    const Vec3 e1 = b - a, e2 = c - a, h = frame::cross(d, e2);
    const double det = frame::dot(e1, h);
    if (!(std::fabs(det) > 1e-18)) continue;
    const Vec3 s = p - a;
    const double u = frame::dot(s, h) / det;
    if (!(u >= -1e-9 && u <= 1 + 1e-9)) continue;
    const Vec3 q = frame::cross(s, e1);
    const double v = frame::dot(d, q) / det;
    if (!(v >= -1e-9 && u + v <= 1 + 1e-9)) continue;
    if (frame::dot(frame::cross(e1, e2), d) <= 0) continue;  // the skin that looks the way we look, not the far side
    const double x = frame::dot(e2, q) / det;
    if (std::fabs(x) <= reach && !(std::fabs(x) >= std::fabs(best))) best = x;
  }
  return best;
}

}  // namespace

std::vector<casting::FacePoint> mesh_points(const solid::Model& part, const solid::Model& cast, const Surface& finished,
                                            double out) {
  std::vector<casting::FacePoint> points;
  for (const solid::Face& f : part.faces) {
    if (!on_surface(f, finished)) continue;
    for (const solid::Sample& s : f.samples) {
      const Vec3 q = s.point + out * s.normal;
      const double x = meets(cast.mesh, q, s.normal, 0.02);
      if (std::isfinite(x)) points.push_back({q, s.normal, q + x * s.normal});
    }
  }
  return points;
}

}  // namespace fettle::study
