#include "calc/holding/cones.h"

#include <cmath>

namespace fettle::holding {

namespace {
constexpr double pi = 3.14159265358979323846;
double clean(double x) { return std::fabs(x) < 1e-14 ? 0 : x; }  // rounding noise makes false columns
}  // namespace

Across across(Vec3 n) {
  const Vec3 a = std::fabs(n.x) < 0.8 ? Vec3{1, 0, 0} : Vec3{0, 1, 0};
  const Vec3 u = frame::unit(a - frame::dot(a, n) * n);
  return {u, frame::cross(n, u)};
}

double kept_by_facets(int facets) { return std::cos(pi / facets); }

void append_generators(const Contact& c, std::size_t index, Vec3 about, int facets, std::vector<Generator>& generators,
                       std::vector<Bound>& bounds) {
  const Vec3 arm = c.at - about;
  const Across t = across(c.normal);
  const auto side = [&](int k) {
    const double a = 2 * pi * k / facets;
    return clean(std::cos(a)) * t.u + clean(std::sin(a)) * t.v;
  };
  const auto add = [&](Vec3 force, Vec3 spin, int bound) {
    generators.push_back({index, bound, force, frame::cross(arm, force) + spin});
  };
  if (c.kind == Contact::Kind::pin) {
    const double along = frame::norm(c.across);
    if (along > 0) {
      add((1 / along) * c.across, {}, -1);
      add((-1 / along) * c.across, {}, -1);
    } else {
      for (int k = 0; k < facets; ++k) add(side(k), {}, -1);
    }
    return;
  }
  const bool clamp = c.kind == Contact::Kind::clamp;
  if (clamp && !(c.held_sideways && c.friction > 0 && c.force > 0)) return;
  int bound = -1;
  if (clamp || c.capacity > 0) {
    bound = static_cast<int>(bounds.size());
    bounds.push_back({index, clamp ? c.friction * c.force : c.capacity});
  }
  const Vec3 push = clamp ? Vec3{} : c.normal;
  const double grip = clamp ? 1 : c.friction;
  if (!(grip > 0)) {
    add(push, {}, bound);
    return;
  }
  for (int k = 0; k < facets; ++k) add(push + grip * side(k), {}, bound);
  if (!(c.patch > 0)) return;
  const Vec3 spin = (grip * (2.0 / 3) * (0.5 * c.patch)) * c.normal;
  add(push, spin, bound);
  add(push, -spin, bound);
}

}  // namespace fettle::holding
