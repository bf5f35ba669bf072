#include "calc/structure/bow.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "calc/structure/modes.h"

namespace fettle::structure {

namespace {

std::size_t ix(int i) { return static_cast<std::size_t>(i); }

/// Loads of one element: pull in the plane and bending by warmth, weight and pressure downwards.
void add_element(const BowInputs& in, const System& s, int i, int j, std::vector<double>& load) {
  constexpr std::array<double, 4> sx = {-1, 1, 1, -1}, sy = {-1, -1, 1, 1};
  const Grid& g = s.grid;
  const Section& c = s.sections[ix(j * g.columns + i)];
  const double slope = in.top_warmer / in.plate.plate.thickness;
  const double pull = c.warmth * in.warmer + c.warp * slope, turn = c.warmth_z * in.warmer + c.warp_z * slope;
  const double down = (c.mass * in.gravity + c.fill * in.pressure) * g.dx * g.dy / 4;
  const std::array<int, 4> nodes = {g.node(i, j), g.node(i + 1, j), g.node(i + 1, j + 1), g.node(i, j + 1)};
  for (std::size_t k = 0; k < 4; ++k) {
    const double ex = sx[k] * g.dy / 2, ey = sy[k] * g.dx / 2;
    const std::array<double, 5> f = {-down, turn * ex, turn * ey, pull * ex, pull * ey};
    for (std::size_t m = 0; m < 5; ++m) {
      const int free = s.freedom[ix(nodes[k]) * 5 + m];
      if (free >= 0) load[ix(free)] += f[m];
    }
  }
}

}  // namespace

BowResult bow(const BowInputs& in) {
  BowResult out;
  out.why = problem_of(in.plate);
  return out.why.empty() ? bow(Factored(in.plate), in) : out;
}

BowResult bow(const Factored& plate, const BowInputs& in) {
  BowResult out;
  if (!(std::isfinite(in.top_warmer) && std::isfinite(in.warmer) && std::isfinite(in.gravity) &&
        std::isfinite(in.pressure))) {
    out.why = "temperatures, gravity and pressure are numbers";
    return out;
  }
  out.why = plate.why();
  if (!out.why.empty()) return out;
  const System& s = plate.system();
  const Held& held = plate.held();
  std::vector<double> load(ix(s.count), 0.0);
  for (int j = 0; j < s.grid.rows; ++j)
    for (int i = 0; i < s.grid.columns; ++i) add_element(in, s, i, j, load);
  for (std::size_t p = 0; p < s.parts.size(); ++p)
    for (std::size_t k = 0; k < s.parts[p].freedom.size(); ++k)
      load[ix(s.parts[p].freedom[k])] -= in.plate.parts[p].mass * in.gravity * s.parts[p].weight[k][2];
  std::vector<double> x(ix(held.padded()) * 4, 0.0), kx(x.size(), 0.0);
  for (std::size_t r = 0; r < load.size(); ++r) x[4 * r] = load[r];
  held.solve(x.data(), 4);
  multiply(s.K, x.data(), kx.data(), 4);
  double miss = 0, norm = 0;
  for (std::size_t r = 0; r < load.size(); ++r) {
    miss += (kx[4 * r] - load[r]) * (kx[4 * r] - load[r]);
    norm += load[r] * load[r];
  }
  out.residual = norm > 0 ? std::sqrt(miss / norm) : 0;
  if (!(out.residual <= sure_enough)) {
    out.why = not_sure;
    return out;
  }
  out.up.assign(ix(s.grid.nodes()), std::numeric_limits<double>::quiet_NaN());
  out.highest = -std::numeric_limits<double>::infinity(), out.lowest = -out.highest;
  for (std::size_t n = 0; n < out.up.size(); ++n) {
    bool there = false;
    for (std::size_t m = 0; m < 5; ++m) there = there || s.freedom[5 * n + m] >= 0;
    const int free = s.freedom[5 * n];
    if (free < 0 && !there) continue;
    out.up[n] = free < 0 ? 0 : x[4 * ix(free)];
    out.highest = std::max(out.highest, out.up[n]), out.lowest = std::min(out.lowest, out.up[n]);
  }
  for (const Point& point : in.plate.points) {
    const Column3 c = point_column(s, in.plate, point);
    std::array<double, 3> u{};
    for (std::size_t k = 0; k < c.freedom.size(); ++k)
      for (std::size_t d = 0; d < 3; ++d) u[d] += c.weight[k][d] * x[4 * ix(c.freedom[k])];
    if (c.freedom.empty()) {
      out.why = "point " + std::to_string(out.points.size() + 1) + " lies off the plate";
      return out;
    }
    out.points.push_back({u[0], u[1], u[2]});
  }
  out.ok = true;
  return out;
}

double free_bow(double expansion, double top_warmer, double span, double thickness) {
  return expansion * top_warmer * span * span / (8 * thickness);
}

}  // namespace fettle::structure
