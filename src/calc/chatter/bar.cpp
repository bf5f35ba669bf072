#include "calc/chatter/bar.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <limits>

namespace fettle::chatter {

namespace {

constexpr double two_pi = 6.283185307179586;
constexpr double never = std::numeric_limits<double>::infinity();

/// Integral of cos^2 over the corner from its lowest point to `angle`.
double on_corner(double radius, double angle) { return radius * (0.5 * angle + 0.25 * std::sin(2 * angle)); }

struct Along {
  std::vector<double> square, strength, damping;  ///< omega^2, shape^2, 2 zeta omega
  double residual = 0, lowest = never, highest = 0;

  Along(const BarInputs& in, const frame::Vec3& d) {
    for (const auto& r : in.responses) {
      for (const auto& m : r.modes) {
        const double s = frame::dot(m.shape, d);
        if (!(s * s > 0)) continue;
        square.push_back(m.omega * m.omega), strength.push_back(s * s), damping.push_back(2 * m.damping * m.omega);
        lowest = std::min(lowest, m.omega), highest = std::max(highest, m.omega);
      }
      const auto& k = r.residual;
      residual += d.x * (k[0] * d.x + k[1] * d.y + k[2] * d.z) + d.y * (k[3] * d.x + k[4] * d.y + k[5] * d.z) +
                  d.z * (k[6] * d.x + k[7] * d.y + k[8] * d.z);
    }
  }
  std::complex<double> at(double omega) const {
    double re = residual, im = 0;
    for (std::size_t i = 0; i < square.size(); ++i) {
      const double a = square[i] - omega * omega, b = damping[i] * omega, d = strength[i] / (a * a + b * b);
      re += a * d, im -= b * d;
    }
    return {re, im};
  }
};

/// The least swayed edge that can start at this frequency.
double edge_at(const Along& structure, double k, double rub, double omega) {
  const std::complex<double> z = 1.0 / structure.at(omega);
  const double p = z.real(), q = z.imag(), a = rub * omega, half = q * a + p * k, c = std::norm(z);
  if (a <= 0) return half < 0 ? -c / (2 * half) : never;
  const double root = half * half - a * a * c;
  // Both roots have the sign of -half; the smaller one without loss of digits.
  return half < 0 && root >= 0 ? c / (-half + std::sqrt(root)) : never;
}

void worst_of(const Along& structure, double k, double rub, double end, BarResult& out) {
  if (!(structure.highest > 0)) return;
  double best = 0;
  for (double omega = 0.6 * structure.lowest; omega < end; omega *= 1.001) {
    const double e = edge_at(structure, k, rub, omega);
    if (e < out.edge) out.edge = e, best = omega;
  }
  if (!(best > 0)) return;
  double low = best / 1.001, high = best * 1.001;
  for (int i = 0; i < 60; ++i) {
    const double a = low + 0.382 * (high - low), b = low + 0.618 * (high - low);
    if (edge_at(structure, k, rub, a) < edge_at(structure, k, rub, b)) high = b;
    else low = a;
  }
  out.edge = std::min(out.edge, edge_at(structure, k, rub, 0.5 * (low + high)));
  out.frequency = 0.5 * (low + high) / two_pi;
}

std::string wrong(const BarInputs& in) {
  if (in.responses.empty()) return "nothing gives way: no response was given";
  if (!(in.kt > 0) || !(in.kr > 0) || !std::isfinite(in.kt * in.kr)) return "the cutting force must be above zero";
  if (in.edges < 1) return "the tool has no edge";
  if (!(in.speed > 0)) return "the cutting speed must be above zero";
  if (!(in.indentation >= 0) || !(in.land >= 0)) return "the flank's numbers cannot be";
  if (!(in.edge.approach > 0.05) || !(in.edge.approach < 1.5708))
    return "the approach angle must lie between 3 and 90 degrees";
  if (!(in.edge.corner_radius >= 0) || !(in.edge.feed >= 0)) return "corner and feed cannot be below zero";
  return {};
}

double depth_of(const BarEdge& edge, double swayed) {
  constexpr double largest = 1;  // m: more than any bore
  if (!(swayed <= swayed_edge(edge, largest))) return never;
  double low = 0, high = largest;
  for (int i = 0; i < 60; ++i) {
    const double middle = 0.5 * (low + high);
    if (swayed_edge(edge, middle) < swayed) low = middle;
    else high = middle;
  }
  return 0.5 * (low + high);
}

}  // namespace

double swayed_edge(const BarEdge& e, double depth) {
  if (!(depth > 0)) return 0;
  const double r = e.corner_radius, corner = r * (1 - std::cos(e.approach));
  const double reach = r > 0 ? std::acos(std::clamp(1 - std::min(depth, corner) / r, -1.0, 1.0)) : 0;
  // Beyond the lowest point the edge cuts the ridge that the feed leaves, no farther than the depth is.
  const double behind = r > 0 ? std::min(std::asin(std::min(1.0, 0.5 * e.feed / r)), reach) : 0;
  const double straight = std::max(0.0, depth - corner), c = std::cos(e.approach);
  return on_corner(r, behind) + on_corner(r, reach) + straight * c * c / std::sin(e.approach);
}

BarResult bar_limit(const BarInputs& in) {
  BarResult out;
  out.why = wrong(in);
  if (!out.why.empty()) return out;
  const double share = in.edges == 1 ? 1 : std::max(2.0, 0.5 * in.edges);
  const double k = in.kt * in.kr * share, rub = in.indentation * in.land * in.land / 2 / in.speed * share;
  out.edge = never;
  double highest = 0;
  for (const frame::Vec3& d : in.across) {
    const Along structure(in, d);
    highest = std::max(highest, structure.highest);
    worst_of(structure, k, rub, std::min(1.7 * structure.highest, two_pi * in.highest), out);
  }
  if (!(highest > 0)) {
    out.why = "nothing swings: no mode was given";
    return out;
  }
  out.depth = std::isfinite(out.edge) ? depth_of(in.edge, out.edge) : never;
  out.ok = true;
  return out;
}

}  // namespace fettle::chatter
