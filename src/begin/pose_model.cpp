#include "begin/pose_model.h"

#include <cmath>

#include "begin/features.h"

namespace fettle::begin {

using frame::Pose;
using frame::Vec3;

Outcome<Pose> pose_of(const solid::Model& m, const Options& o) {
  Pose X;
  const std::string up = o.up.empty() ? "+z" : o.up;
  if (up == "+z") X.R = {1, 0, 0, 0, 1, 0, 0, 0, 1};
  else if (up == "-z") X.R = {1, 0, 0, 0, -1, 0, 0, 0, -1};
  else if (up == "+x") X.R = {0, 1, 0, 0, 0, 1, 1, 0, 0};
  else if (up == "-x") X.R = {0, -1, 0, 0, 0, 1, -1, 0, 0};
  else if (up == "+y") X.R = {1, 0, 0, 0, 0, -1, 0, 1, 0};
  else if (up == "-y") X.R = {1, 0, 0, 0, 0, 1, 0, -1, 0};
  else return bad("no such direction for up", up, "+x, -x, +y, -y, +z or -z");
  if (o.origin.empty()) return X;
  if (o.origin == "bottom middle") {
    const Vec3 a = rotate(X, m.box.lo), b = rotate(X, m.box.hi);
    X.t = {-0.5 * (a.x + b.x), -0.5 * (a.y + b.y), -std::fmin(a.z, b.z)};
    return X;
  }
  const auto points = unit::parse_points(o.origin);
  if (!points.ok()) return points.problems();
  if (points->size() != 1) return bad("the origin is one point", o.origin, "\"x, y, z mm\" or bottom middle");
  X.t = -rotate(X, points->front());
  return X;
}

namespace {
solid::Box turned(const Pose& X, const solid::Box& b) {
  const Vec3 p = X * b.lo, q = X * b.hi;
  return {{std::fmin(p.x, q.x), std::fmin(p.y, q.y), std::fmin(p.z, q.z)},
          {std::fmax(p.x, q.x), std::fmax(p.y, q.y), std::fmax(p.z, q.z)}};
}
}  // namespace

solid::Model posed(const solid::Model& m, const Pose& X) {
  solid::Model r = m;
  r.centroid = X * m.centroid;
  r.box = turned(X, m.box);
  for (auto& f : r.faces) {
    f.point = X * f.point;
    f.axis = rotate(X, f.axis);
    f.centroid = X * f.centroid;
    f.box = turned(X, f.box);
    for (auto& p : f.outline) p = X * p;
    for (auto& s : f.samples) s.point = X * s.point, s.normal = rotate(X, s.normal);
  }
  for (auto& p : r.planes) {
    p.normal = rotate(X, p.normal);
    p.centroid = X * p.centroid;
    p.box = turned(X, p.box);
    p.offset = frame::dot(p.normal, p.centroid);
  }
  const auto line = [&](Vec3& a, Vec3& b, Vec3& d) { a = X * a, b = X * b, d = rotate(X, d); };
  for (auto& h : r.holes) line(h.p0, h.p1, h.dir);
  for (auto& h : r.rounds) line(h.p0, h.p1, h.dir);
  for (auto& h : r.bosses) line(h.p0, h.p1, h.dir);
  for (auto& h : r.grooves) line(h.p0, h.p1, h.dir);
  for (auto& p : r.mesh.points) p = X * p;
  for (auto& k : r.pockets) k.centre = X * k.centre, k.up = rotate(X, k.up), k.along = rotate(X, k.along);
  return r;
}

}  // namespace fettle::begin
