#include "calc/structure/plate_section.h"

#include <algorithm>
#include <cmath>

namespace fettle::structure {

namespace {

constexpr int samples = 8;  ///< each way in an element that a rim crosses

/// Circle around something flat, to see quickly what it cannot touch.
struct Ring {
  double x = 0, y = 0, radius = 0;
  bool misses(double cx, double cy, double reach) const { return std::hypot(cx - x, cy - y) > radius + reach; }
};
Ring ring_of(const Relief& r) { return {r.x, r.y, r.round ? r.diameter / 2 : std::hypot(r.size_x, r.size_y) / 2}; }
Ring ring_of(const Part& p) { return {p.x, p.y, std::hypot(p.size_x, p.size_y) / 2}; }

void add_layer(Section& s, const Metal& m, double low, double high, double shear_factor, bool with_mass) {
  const double z0 = high - low, z1 = (high * high - low * low) / 2, z2 = (high * high * high - low * low * low) / 3;
  const double q = m.modulus / (1 - m.poisson * m.poisson), g = m.modulus / (2 * (1 + m.poisson));
  const std::array<double, 3> c = {q, q * m.poisson, g};
  for (std::size_t k = 0; k < 3; ++k) {
    s.stretch[k] += c[k] * z0;
    s.coupling[k] += c[k] * z1;
    s.bending[k] += c[k] * z2;
  }
  s.shear += shear_factor * g * z0;
  s.warmth += q * (1 + m.poisson) * m.expansion * z0;
  s.warmth_z += q * (1 + m.poisson) * m.expansion * z1;
  if (!with_mass) return;
  s.warp += q * (1 + m.poisson) * m.expansion * z1;
  s.warp_z += q * (1 + m.poisson) * m.expansion * z2;
  s.mass += m.density * z0;
  s.moment += m.density * z1;
  s.rotary += m.density * z2;
}

/// Shear stiffness of the plate from `bottom` to `top` with the part's iron on it, from the stresses that bending
/// leaves in balance; of one metal alone it is 5/6 G x thickness.
double shear_of_both(const Metal& plate, double bottom, double top, const Part& part) {
  struct Layer {
    double low, high, stretch, shear;
  };
  const auto layer = [](const Metal& m, double low, double high) {
    return Layer{low, high, m.modulus / (1 - m.poisson * m.poisson), m.modulus / (2 * (1 + m.poisson))};
  };
  const Layer layers[] = {layer(plate, bottom, top), layer(part.metal, top, top + part.thickness)};
  double area = 0, first = 0, second = 0;
  for (const Layer& l : layers) {
    area += l.stretch * (l.high - l.low);
    first += l.stretch * (l.high * l.high - l.low * l.low) / 2;
    second += l.stretch * (l.high * l.high * l.high - l.low * l.low * l.low) / 3;
  }
  const double middle = first / area, bending = second - first * middle;
  double below = 0, energy = 0;  // of unit curvature: shear flow at a height is what pulls below it
  for (const Layer& l : layers) {
    const double half = (l.high - l.low) / 2, centre = (l.high + l.low) / 2;
    for (const double g : {-0.7745966692414834, 0.0, 0.7745966692414834}) {  // three Gauss points: exact here
      const double z = centre + g * half;
      const double flow = below - l.stretch * ((z * z - l.low * l.low) / 2 - middle * (z - l.low));
      energy += (g == 0 ? 8.0 : 5.0) / 9 * half * flow * flow / l.shear;
    }
    below -= l.stretch * ((l.high * l.high - l.low * l.low) / 2 - middle * (l.high - l.low));
  }
  return bending * bending / energy;
}

/// In the footprint of a bonded part, clear of its rim. A block's rim carries next to nothing: what pulls at its foot
/// needs about a third of its height to get up into it.
bool pulls(const Part& p, double x, double y) {
  constexpr double idle = 0.35;  // of the height; set by solids of 8, 15 and 30 mm (solid_test.cpp)
  const double rim = idle * std::min(p.thickness, std::min(p.size_x, p.size_y) / 2);
  Part inner = p;
  inner.size_x -= 2 * rim, inner.size_y -= 2 * rim;
  return p.thickness > 0 && on_part(inner, x, y);
}

void add_sample(Section& s, const Inputs& in, double x, double y) {
  if (!on_plate(in.plate, x, y)) return;
  const double half = in.plate.thickness / 2;
  double top = half, bottom = -half;
  for (const Relief& r : in.plate.reliefs) {
    if (!on_relief(r, x, y)) continue;
    if (r.through || r.depth >= in.plate.thickness) return;
    if (r.depth > 0) top = std::min(top, half - r.depth);
    else bottom = std::min(bottom, -half + r.depth);
  }
  s.fill += 1;
  add_layer(s, in.plate.metal, bottom, top, in.shear_factor, true);
  if (!in.bonded || top < half) return;
  for (const Part& p : in.parts)
    if (pulls(p, x, y)) {
      s.shear -= in.shear_factor * in.plate.metal.modulus / (2 * (1 + in.plate.metal.poisson)) * (top - bottom);
      add_layer(s, p.metal, half, half + p.thickness, 0, false);
      s.shear += in.shear_factor / (5.0 / 6) * shear_of_both(in.plate.metal, bottom, top, p);
      break;
    }
}

void scale(Section& s, double f) {
  s.fill *= f;
  for (auto* a : {&s.stretch, &s.coupling, &s.bending})
    for (double& v : *a) v *= f;
  for (double* v : {&s.shear, &s.mass, &s.moment, &s.rotary, &s.warmth, &s.warmth_z, &s.warp, &s.warp_z}) *v *= f;
}

/// Does a rim (of the outline, a relief or a part) come near enough to cross the element?
bool crossed(const Inputs& in, double cx, double cy, double reach) {
  if (!in.plate.outline.empty()) return true;
  for (const Relief& r : in.plate.reliefs)
    if (!ring_of(r).misses(cx, cy, reach)) return true;
  if (in.bonded)
    for (const Part& p : in.parts)
      if (p.thickness > 0 && !ring_of(p).misses(cx, cy, reach)) return true;
  return false;
}

}  // namespace

Grid grid_of(const Plate& plate, int columns, int rows) {
  double left = -plate.length / 2, right = -left, bottom = -plate.width / 2, top = -bottom;
  if (!plate.outline.empty()) {
    left = right = plate.outline[0][0];
    bottom = top = plate.outline[0][1];
    for (const std::array<double, 2>& c : plate.outline) {
      left = std::min(left, c[0]), right = std::max(right, c[0]);
      bottom = std::min(bottom, c[1]), top = std::max(top, c[1]);
    }
  }
  return {columns, rows, left, bottom, (right - left) / columns, (top - bottom) / rows};
}

bool on_plate(const Plate& plate, double x, double y) {
  const auto& o = plate.outline;
  if (o.empty()) return std::fabs(x) <= plate.length / 2 && std::fabs(y) <= plate.width / 2;
  bool inside = false;
  for (std::size_t i = 0, j = o.size() - 1; i < o.size(); j = i++)
    if ((o[i][1] > y) != (o[j][1] > y) && x < (o[j][0] - o[i][0]) * (y - o[i][1]) / (o[j][1] - o[i][1]) + o[i][0])
      inside = !inside;
  return inside;
}

bool on_relief(const Relief& r, double x, double y) {
  const double ex = x - r.x, ey = y - r.y;
  if (r.round) return ex * ex + ey * ey <= r.diameter * r.diameter / 4;
  const double c = std::cos(r.turn), s = std::sin(r.turn);
  return std::fabs(c * ex + s * ey) <= r.size_x / 2 && std::fabs(-s * ex + c * ey) <= r.size_y / 2;
}

bool on_part(const Part& p, double x, double y) {
  const double c = std::cos(p.turn), s = std::sin(p.turn), ex = x - p.x, ey = y - p.y;
  return std::fabs(c * ex + s * ey) <= p.size_x / 2 && std::fabs(-s * ex + c * ey) <= p.size_y / 2;
}

std::vector<Section> sections(const Inputs& in, const Grid& g) {
  std::vector<Section> out;
  out.reserve(static_cast<std::size_t>(g.columns) * static_cast<std::size_t>(g.rows));
  Section plain;
  plain.fill = 1;
  add_layer(plain, in.plate.metal, -in.plate.thickness / 2, in.plate.thickness / 2, in.shear_factor, true);
  const double reach = std::hypot(g.dx, g.dy) / 2;
  for (int j = 0; j < g.rows; ++j)
    for (int i = 0; i < g.columns; ++i) {
      const double x = g.left + i * g.dx, y = g.bottom + j * g.dy;
      if (!crossed(in, x + g.dx / 2, y + g.dy / 2, reach)) {
        out.push_back(plain);
        continue;
      }
      Section s;
      for (int b = 0; b < samples; ++b)
        for (int a = 0; a < samples; ++a)
          add_sample(s, in, x + g.dx * (a + 0.5) / samples, y + g.dy * (b + 0.5) / samples);
      scale(s, 1.0 / (samples * samples));
      if (!(s.fill > 0.02)) s = {};
      out.push_back(s);
    }
  return out;
}

}  // namespace fettle::structure
