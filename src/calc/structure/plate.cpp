#include "calc/structure/plate.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "calc/structure/factored.h"
#include "calc/structure/modes.h"

namespace fettle::structure {

namespace {

constexpr double pi = 3.14159265358979323846;
std::size_t ix(int i) { return static_cast<std::size_t>(i); }

/// Columns of many points side by side, padded, and where the first of them begins.
struct Loads {
  std::vector<double> value;
  int width = 0, from = 0;
};
Loads loads_of(const std::vector<const Column3*>& columns, int padded) {
  Loads l;
  l.width = (3 * static_cast<int>(columns.size()) + 3) / 4 * 4;
  l.value.assign(ix(padded) * ix(l.width), 0.0);
  l.from = padded;
  for (std::size_t p = 0; p < columns.size(); ++p)
    for (std::size_t k = 0; k < columns[p]->freedom.size(); ++k) {
      l.from = std::min(l.from, columns[p]->freedom[k]);
      for (std::size_t d = 0; d < 3; ++d)
        l.value[ix(columns[p]->freedom[k]) * ix(l.width) + 3 * p + d] += columns[p]->weight[k][d];
    }
  return l;
}

/// Compliance at rest of every point at itself: with A = L L^T it is |L^-1 c|^2, so half a solution is enough.
std::vector<std::array<double, 9>> self_compliance(const Band& band, const std::vector<Column3>& columns) {
  std::vector<std::array<double, 9>> out(columns.size());
  std::vector<std::size_t> order(columns.size());
  const auto begins = [&](std::size_t p) {
    return columns[p].freedom.empty() ? 0 : *std::min_element(columns[p].freedom.begin(), columns[p].freedom.end());
  };
  for (std::size_t p = 0; p < order.size(); ++p) order[p] = p;
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return begins(a) < begins(b); });
  for (std::size_t start = 0; start < order.size(); start += 4) {
    const std::size_t end = std::min(order.size(), start + 4);
    std::vector<const Column3*> some;
    for (std::size_t k = start; k < end; ++k) some.push_back(&columns[order[k]]);
    Loads l = loads_of(some, band.padded());
    band.forward(l.value.data(), l.width, l.from);
    for (std::size_t k = start; k < end; ++k) {
      std::array<double, 9>& c = out[order[k]];
      c = {};
      for (std::size_t r = ix(l.from); r < ix(band.size()); ++r) {
        const double* y = l.value.data() + r * ix(l.width) + 3 * (k - start);
        c[0] += y[0] * y[0], c[1] += y[0] * y[1], c[2] += y[0] * y[2];
        c[4] += y[1] * y[1], c[5] += y[1] * y[2], c[8] += y[2] * y[2];
      }
      c[3] = c[1], c[6] = c[2], c[7] = c[5];
    }
  }
  return out;
}

/// The same of a place's whole rigid motion, 6 x 6: what many points on one part share.
Matrix6 tie_compliance(const Band& band, const Tie& tie) {
  constexpr std::size_t wide = 8;
  std::vector<double> x(ix(band.padded()) * wide, 0.0);
  int from = band.padded();
  for (std::size_t k = 0; k < tie.freedom.size(); ++k) {
    from = std::min(from, tie.freedom[k]);
    for (std::size_t i = 0; i < 6; ++i) x[ix(tie.freedom[k]) * wide + i] += tie.weight[k][i];
  }
  band.forward(x.data(), static_cast<int>(wide), from);
  Matrix6 c{};
  for (std::size_t r = ix(from); r < ix(band.size()); ++r)
    for (std::size_t i = 0; i < 6; ++i)
      for (std::size_t j = i; j < 6; ++j) c[6 * i + j] += x[r * wide + i] * x[r * wide + j];
  for (std::size_t i = 0; i < 6; ++i)
    for (std::size_t j = 0; j < i; ++j) c[6 * i + j] = c[6 * j + i];
  return c;
}

/// Compliance at rest of every point, parts first.
std::vector<std::array<double, 9>> rest_of(const Inputs& in, const System& s, const Band& band,
                                           const std::vector<Column3>& columns) {
  std::vector<std::array<double, 9>> out(columns.size());
  std::vector<std::size_t> alone;
  std::vector<int> asked(s.parts.size(), 0);
  for (const Point& p : in.points)
    if (p.part >= 0) ++asked[ix(p.part)];
  std::vector<Matrix6> shared(s.parts.size());
  for (std::size_t p = 0; p < s.parts.size(); ++p)
    if (asked[p] > 1) shared[p] = tie_compliance(band, s.parts[p]);
  for (std::size_t k = 0; k < columns.size(); ++k) {
    const Point& p = in.points[k];
    if (p.part < 0 || asked[ix(p.part)] < 2) {
      alone.push_back(k);
      continue;
    }
    const std::array<std::array<double, 6>, 3> by = rigid_rows(s.parts[ix(p.part)], p.at);
    for (std::size_t i = 0; i < 3; ++i)
      for (std::size_t j = 0; j < 3; ++j)
        for (std::size_t a = 0; a < 6; ++a)
          for (std::size_t b = 0; b < 6; ++b) out[k][3 * i + j] += by[i][a] * shared[ix(p.part)][6 * a + b] * by[j][b];
  }
  std::vector<Column3> single;
  single.reserve(alone.size());
  for (std::size_t k : alone) single.push_back(columns[k]);
  const std::vector<std::array<double, 9>> some = self_compliance(band, single);
  for (std::size_t k = 0; k < alone.size(); ++k) out[alone[k]] = some[k];
  return out;
}

/// The first points' loads solved in full: relative residual, and the half solution's answer against it.
double static_residual(const System& s, const Band& band, const std::vector<Column3>& columns) {
  if (columns.empty()) return 0;
  const std::vector<const Column3*> some = {&columns.front(), &columns.back()};
  const Loads f = loads_of(some, band.padded());
  std::vector<double> x = f.value, kx(x.size(), 0.0);
  band.solve(x.data(), f.width);
  multiply(s.K, x.data(), kx.data(), f.width);
  double worst = 0;
  for (std::size_t c = 0; c < 6; ++c) {
    double rest = 0, norm = 0;
    for (std::size_t r = 0; r < ix(s.count); ++r) {
      const double want = f.value[r * ix(f.width) + c], got = kx[r * ix(f.width) + c];
      rest += (got - want) * (got - want);
      norm += want * want;
    }
    if (norm > 0) worst = std::max(worst, std::sqrt(rest / norm));
  }
  return worst;
}

frame::Vec3 motion_of(const Column3& c, const std::vector<double>& x) {
  std::array<double, 3> u{};
  for (std::size_t k = 0; k < c.freedom.size(); ++k)
    for (std::size_t d = 0; d < 3; ++d) u[d] += c.weight[k][d] * x[ix(c.freedom[k])];
  return {u[0], u[1], u[2]};
}

void give_points(const Inputs& in, const System& s, const Band* band, const Modes& modes, Result& out) {
  std::vector<Column3> columns;
  for (std::size_t p = 0; p < in.points.size(); ++p) {
    columns.push_back(point_column(s, in, in.points[p]));
    if (!columns.back().freedom.empty()) continue;
    out.why = "point " + std::to_string(p + 1) + " lies off the plate";
    return;
  }
  if (columns.empty()) return;
  if (band == nullptr) {
    out.why = nothing_holds;
    return;
  }
  const std::vector<std::array<double, 9>> rest = rest_of(in, s, *band, columns);
  out.residual = std::max(out.residual, static_residual(s, *band, columns));
  for (std::size_t p = 0; p < columns.size(); ++p) {
    maths::PointResponse r;
    r.residual = rest[p];
    for (std::size_t m = 0; m < modes.lambda.size(); ++m) {
      const frame::Vec3 u = motion_of(columns[p], modes.vector[m]);
      const std::array<double, 3> v = {u.x, u.y, u.z};
      r.modes.push_back({std::sqrt(modes.lambda[m]), in.damping, u});
      for (std::size_t i = 0; i < 3; ++i)
        for (std::size_t j = 0; j < 3; ++j) r.residual[3 * i + j] -= v[i] * v[j] / modes.lambda[m];
    }
    out.points.push_back(std::move(r));
  }
}

std::vector<double> upright(const System& s, const std::vector<double>& x) {
  std::vector<double> w(ix(s.grid.nodes()), std::numeric_limits<double>::quiet_NaN());
  for (int n = 0; n < s.grid.nodes(); ++n) {
    bool there = false;  // an edge that is held moves not at all
    for (std::size_t c = 0; c < 5; ++c) there = there || s.freedom[ix(n) * 5 + c] >= 0;
    const int f = s.freedom[ix(n) * 5];
    if (there) w[ix(n)] = f >= 0 ? x[ix(f)] : 0;
  }
  return w;
}

std::vector<double> give_of(const System& s, const Band& band) {
  std::vector<double> give(ix(s.grid.nodes()), std::numeric_limits<double>::quiet_NaN());
  std::vector<std::pair<int, int>> wanted;  // free motion, node
  for (int n = 0; n < s.grid.nodes(); ++n)
    if (s.freedom[ix(n) * 5] >= 0) wanted.push_back({s.freedom[ix(n) * 5], n});
  std::sort(wanted.begin(), wanted.end());
  constexpr std::size_t wide = 16;
  std::vector<double> x(ix(band.padded()) * wide);
  for (std::size_t start = 0; start < wanted.size(); start += wide) {
    std::fill(x.begin(), x.end(), 0.0);
    const std::size_t end = std::min(wanted.size(), start + wide);
    for (std::size_t k = start; k < end; ++k) x[ix(wanted[k].first) * wide + k - start] = 1;
    band.forward(x.data(), static_cast<int>(wide), wanted[start].first);
    for (std::size_t k = start; k < end; ++k) {
      double sum = 0;
      for (std::size_t r = ix(wanted[start].first); r < ix(band.size()); ++r) {
        const double v = x[r * wide + k - start];
        sum += v * v;
      }
      give[ix(wanted[k].second)] = sum;
    }
  }
  return give;
}

/// Order of the error in the size of an element: a rim that cuts elements is only known to their size.
bool fits_grid(const Inputs& in) { return in.plate.outline.empty() && in.plate.reliefs.empty() && !in.bonded; }

/// How alike two modes move the points: 1 for the same shape.
double alike(const Result& a, std::size_t ma, const Result& b, std::size_t mb) {
  double ab = 0, aa = 0, bb = 0;
  for (std::size_t p = 0; p < a.points.size(); ++p) {
    const frame::Vec3 x = a.points[p].modes[ma].shape, y = b.points[p].modes[mb].shape;
    ab += dot(x, y), aa += dot(x, x), bb += dot(y, y);
  }
  return aa > 0 && bb > 0 ? ab * ab / (aa * bb) : 0;
}

double trace(const maths::PointResponse& p) {
  const auto c = maths::static_compliance(p);
  return c[0] + c[4] + c[8];
}

/// The largest share of what any point gives at rest that the mode carries.
double carries(const Result& r, std::size_t mode) {
  double most = 0;
  for (const maths::PointResponse& p : r.points)
    most = std::max(
        most, dot(p.modes[mode].shape, p.modes[mode].shape) / (p.modes[mode].omega * p.modes[mode].omega * trace(p)));
  return most;
}

}  // namespace

Result solve(const Inputs& in) {
  Result out;
  const System s = system_of(in);
  out.plate_mass = s.plate_mass, out.total_mass = s.total_mass;
  out.why = s.why;
  if (!out.why.empty()) return out;
  // Rounding can let the factor of a plate that nothing holds succeed: what holds it is looked for, not found out.
  const bool something =
      !in.anchors.empty() || std::any_of(in.edges.begin(), in.edges.end(), [](Edge e) { return e != Edge::free; });
  Held held(s, something ? 0 : free_shift(s));
  bool fixed = something && held.ok();
  if (something && !held.ok()) held = Held(s, free_shift(s));
  Modes modes = held.ok() ? lowest_modes(s, held, in.modes) : Modes{};
  if (fixed && !modes.ok) {  // one supported edge: the plate still turns about it
    held = Held(s, free_shift(s));
    fixed = false;
    if (held.ok()) modes = lowest_modes(s, held, in.modes);
  }
  if (!held.ok()) {
    out.why = "the stiffness of the plate is no good: it could not be factored";
    return out;
  }
  if (!modes.ok) {
    out.why = modes.why;
    return out;
  }
  out.residual = modes.residual;
  for (double l : modes.lambda) out.frequencies.push_back(std::sqrt(std::max(0.0, l)) / (2 * pi));
  give_points(in, s, fixed ? &held.band() : nullptr, modes, out);
  if (!out.why.empty()) return out;
  out.node_columns = s.grid.columns + 1, out.node_rows = s.grid.rows + 1;
  out.left = s.grid.left, out.bottom = s.grid.bottom, out.step_x = s.grid.dx, out.step_y = s.grid.dy;
  if (in.want_shapes)
    for (const std::vector<double>& x : modes.vector) out.shapes.push_back(upright(s, x));
  if (in.want_give && fixed) out.give = give_of(s, held.band());
  if (in.want_error && !out.frequencies.empty()) {
    Inputs alone = in;
    alone.points.clear();
    out.error = mesh_error(alone, out).first;
  }
  out.ok = true;
  return out;
}

MeshError mesh_error(const Inputs& in, const Result& fine) {
  constexpr double nan = std::numeric_limits<double>::quiet_NaN();
  MeshError out{nan, nan, nan};
  if (fine.frequencies.empty()) return out;
  Inputs coarse = in;
  coarse.columns = std::max(2, in.columns / 2);
  coarse.rows = std::max(2, in.rows / 2);
  coarse.want_error = coarse.want_shapes = coarse.want_give = false;
  const double floor = fine.frequencies.back() * 1e-4;  // rigid motions of a free plate
  std::size_t first = 0;
  while (first + 1 < fine.frequencies.size() && !(fine.frequencies[first] > floor)) ++first;
  // modes may change places between the meshes: a few more are asked for
  coarse.modes = in.points.empty() ? static_cast<int>(first) + 1 : static_cast<int>(fine.frequencies.size()) + 4;
  const Result r = solve(coarse);
  if (!r.ok || !(fine.frequencies[first] > 0)) return out;
  const double ratio = static_cast<double>(in.columns) / coarse.columns, order = fits_grid(in) ? 2 : 1;
  const double left = 1 / (std::pow(ratio, order) - 1);
  out.first = left * std::fabs(r.frequencies[first] / fine.frequencies[first] - 1);
  if (in.points.empty() || r.points.size() != fine.points.size()) return out;
  out.give = out.modes = 0;
  for (std::size_t p = 0; p < r.points.size(); ++p)
    out.give = std::max(out.give, left * std::fabs(trace(r.points[p]) / trace(fine.points[p]) - 1));
  for (std::size_t m = 0; m < fine.frequencies.size(); ++m) {
    if (!(carries(fine, m) >= 0.05)) continue;
    std::size_t best = 0;
    double like = -1;
    for (std::size_t k = 0; k < r.frequencies.size(); ++k)
      if (const double l = alike(fine, m, r, k); l > like) like = l, best = k;
    out.modes = std::max(out.modes, left * std::fabs(r.frequencies[best] / fine.frequencies[m] - 1));
  }
  return out;
}

MeshChoice mesh_for(const Inputs& in, double share, int most) {
  MeshChoice c;
  c.in = in;
  c.in.want_error = true;
  const Grid box = grid_of(in.plate, 1, 1);
  const double longer = std::max(box.dx, box.dy);
  for (int n = 8; n <= most; n = n * 3 / 2) {
    n += n % 2;
    c.in.columns = std::max(4, 2 * static_cast<int>(std::ceil(box.dx / longer * n / 2)));
    c.in.rows = std::max(4, 2 * static_cast<int>(std::ceil(box.dy / longer * n / 2)));
    Inputs probe = c.in;
    probe.points.clear();
    probe.want_shapes = probe.want_give = false;
    const Result r = solve(probe);
    if (!r.ok) {
      c.why = r.why;
      return c;
    }
    c.error = r.error;
    c.ok = r.error <= share;
    if (c.ok) return c;
  }
  c.why = "the finest mesh tried is still above the share asked for";
  return c;
}

}  // namespace fettle::structure
