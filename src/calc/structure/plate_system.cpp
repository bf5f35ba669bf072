#include "calc/structure/plate_system.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "calc/structure/two.h"

namespace fettle::structure {

namespace {

std::size_t ix(int i) { return static_cast<std::size_t>(i); }

/// Where (x, y) lies: its element's corners and their shares.
struct Spot {
  std::array<int, 4> node{};
  std::array<double, 4> share{};
};
std::optional<Spot> spot_of(const System& s, double x, double y) {
  const Grid& g = s.grid;
  const double a = (x - g.left) / g.dx, b = (y - g.bottom) / g.dy;
  if (!(a >= -1e-9 && b >= -1e-9 && a <= g.columns + 1e-9 && b <= g.rows + 1e-9)) return std::nullopt;
  const int i = std::clamp(static_cast<int>(std::floor(a)), 0, g.columns - 1);
  const int j = std::clamp(static_cast<int>(std::floor(b)), 0, g.rows - 1);
  if (!(s.sections[ix(j * g.columns + i)].fill > 0)) return std::nullopt;
  const double u = std::clamp(a - i, 0.0, 1.0), v = std::clamp(b - j, 0.0, 1.0);
  return Spot{{g.node(i, j), g.node(i + 1, j), g.node(i + 1, j + 1), g.node(i, j + 1)},
              {(1 - u) * (1 - v), u * (1 - v), u * v, (1 - u) * v}};
}

/// Sample places of a round patch, equal shares; one place when it has no size.
std::vector<std::array<double, 2>> disc(double x, double y, double diameter) {
  constexpr int n = 12;
  std::vector<std::array<double, 2>> out;
  if (!(diameter > 0)) return {{x, y}};
  for (int j = 0; j < n; ++j)
    for (int i = 0; i < n; ++i) {
      const double u = (i + 0.5) / n - 0.5, v = (j + 0.5) / n - 0.5;
      if (u * u + v * v <= 0.25) out.push_back({x + u * diameter, y + v * diameter});
    }
  return out;
}
std::vector<std::array<double, 2>> footprint(const Part& p) {
  constexpr int n = 16;
  std::vector<std::array<double, 2>> out;
  for (const std::array<double, 2>& seat : p.seats)
    for (const std::array<double, 2>& place : disc(seat[0], seat[1], p.seat_diameter)) out.push_back(place);
  if (!p.seats.empty()) return out;
  const double c = std::cos(p.turn), s = std::sin(p.turn);
  for (int j = 0; j < n; ++j)
    for (int i = 0; i < n; ++i) {
      const double u = ((i + 0.5) / n - 0.5) * p.size_x, v = ((j + 0.5) / n - 0.5) * p.size_y;
      out.push_back({p.x + c * u - s * v, p.y + s * u + c * v});
    }
  return out;
}

/// The free motions and matrices while they are put together: per node, its nine neighbours' blocks.
struct Stencil {
  std::vector<double> value;  ///< [node][neighbour][5 x 5]
  const Grid& g;
  explicit Stencil(const Grid& grid) : value(ix(grid.nodes()) * 9 * 25, 0.0), g(grid) {}
  double* block(int node, int other) {
    const int across = g.columns + 1;
    const int di = other % across - node % across, dj = other / across - node / across;
    return value.data() + (ix(node) * 9 + ix((dj + 1) * 3 + di + 1)) * 25;
  }
};

void add_element(Stencil& t, const std::array<int, 4>& nodes, const ElementMatrix& m) {
  for (std::size_t a = 0; a < 4; ++a)
    for (std::size_t b = 0; b < 4; ++b) {
      double* block = t.block(nodes[a], nodes[b]);
      for (std::size_t p = 0; p < 5; ++p)
        for (std::size_t q = 0; q < 5; ++q) block[5 * p + q] += m[(5 * a + p) * 20 + 5 * b + q];
    }
}

Sparse pack(const System& s, Stencil& t, bool drop_zero) {
  Sparse out;
  const int across = s.grid.columns + 1, up = s.grid.rows + 1;
  // numbered along the shorter side, so a node's neighbours come in the order of their numbers
  const bool x_first = across <= up;
  std::vector<int> order(ix(s.count));
  for (std::size_t f = 0; f < s.freedom.size(); ++f)
    if (s.freedom[f] >= 0) order[ix(s.freedom[f])] = static_cast<int>(f);
  out.start.reserve(ix(s.count) + 1);
  out.start.push_back(0);
  out.column.reserve(ix(s.count) * 45);
  out.value.reserve(ix(s.count) * 45);
  for (int row : order) {
    const int node = row / 5, c = row % 5, i = node % across, j = node / across;
    for (int slow = -1; slow <= 1; ++slow)
      for (int fast = -1; fast <= 1; ++fast) {
        const int di = x_first ? fast : slow, dj = x_first ? slow : fast;
        if (i + di < 0 || i + di >= across || j + dj < 0 || j + dj >= up) continue;
        const int other = node + dj * across + di;
        const double* block = t.block(node, other) + 5 * static_cast<std::ptrdiff_t>(c);
        for (int d = 0; d < 5; ++d) {
          const int column = s.freedom[ix(5 * other + d)];
          if (column < 0 || (drop_zero && block[d] == 0)) continue;
          out.column.push_back(column);
          out.value.push_back(block[d]);
        }
      }
    out.start.push_back(static_cast<int>(out.column.size()));
  }
  return out;
}

/// Which motions of the node an edge takes: supported takes w, the turn along the edge and the stretch along it.
void hold(Edge edge, bool along_x, std::array<bool, 5>& held) {
  if (edge == Edge::free) return;
  held[0] = held[along_x ? 1 : 2] = held[along_x ? 3 : 4] = true;
  if (edge == Edge::clamped) held.fill(true);
}

void number(System& s, const Inputs& in) {
  const Grid& g = s.grid;
  std::vector<char> there(ix(g.nodes()), 0);
  for (int j = 0; j < g.rows; ++j)
    for (int i = 0; i < g.columns; ++i)
      if (s.sections[ix(j * g.columns + i)].fill > 0)
        for (int n : {g.node(i, j), g.node(i + 1, j), g.node(i + 1, j + 1), g.node(i, j + 1)}) there[ix(n)] = 1;
  s.freedom.assign(ix(g.nodes()) * 5, -1);
  const bool x_first = g.columns <= g.rows;
  const int slow_count = (x_first ? g.rows : g.columns) + 1, fast_count = (x_first ? g.columns : g.rows) + 1;
  for (int slow = 0; slow < slow_count; ++slow)
    for (int fast = 0; fast < fast_count; ++fast) {
      const int i = x_first ? fast : slow, j = x_first ? slow : fast, node = g.node(i, j);
      if (!there[ix(node)]) continue;
      std::array<bool, 5> held{};
      if (i == 0) hold(in.edges[0], false, held);
      if (i == g.columns) hold(in.edges[1], false, held);
      if (j == 0) hold(in.edges[2], true, held);
      if (j == g.rows) hold(in.edges[3], true, held);
      if (!in.in_plane) held[3] = held[4] = true;
      for (std::size_t c = 0; c < 5; ++c)
        if (!held[c]) s.freedom[ix(node) * 5 + c] = s.count++;
    }
}

/// m (6 x 6) of a rigid body whose centre of mass stands `height` above the place it is tied at.
Matrix6 rigid_mass(const Part& p) {
  Matrix6 m{};
  const double h = p.height, c = std::cos(p.turn), s = std::sin(p.turn);
  const auto at = [&](int i, int j) -> double& { return m[ix(6 * i + j)]; };
  at(0, 0) = at(1, 1) = at(2, 2) = p.mass;
  at(0, 4) = at(4, 0) = p.mass * h;
  at(1, 3) = at(3, 1) = -p.mass * h;
  const double ix_ = p.inertia[0], iy = p.inertia[1];
  at(3, 3) = c * c * ix_ + s * s * iy + p.mass * h * h;
  at(4, 4) = s * s * ix_ + c * c * iy + p.mass * h * h;
  at(3, 4) = at(4, 3) = c * s * (ix_ - iy);
  at(5, 5) = p.inertia[2];
  return m;
}

/// Least-squares rigid motion of equal-weight places on the plate's top.
Tie tie_of(const System& s, const Inputs& in, const std::vector<std::array<double, 2>>& places) {
  struct Place {
    Spot spot;
    double x, y;
  };
  std::vector<Place> on;
  Tie t;
  for (const std::array<double, 2>& p : places)
    if (const std::optional<Spot> spot = spot_of(s, p[0], p[1])) {
      on.push_back({*spot, p[0], p[1]});
      t.x += p[0], t.y += p[1];
    }
  if (on.empty()) return {};
  const double n = static_cast<double>(on.size());
  t.x /= n, t.y /= n;
  t.area = n / static_cast<double>(places.size());
  double xx = 0, xy = 0, yy = 0;
  for (Place& p : on) {
    p.x -= t.x, p.y -= t.y;
    xx += p.x * p.x, xy += p.x * p.y, yy += p.y * p.y;
  }
  const double det = xx * yy - xy * xy, z = in.plate.thickness / 2;
  const bool wide = det > 1e-12 * (xx + yy) * (xx + yy) && xx + yy > 0;
  std::vector<int> place_of(s.freedom.size(), -1);
  const auto add = [&](int node, int motion, int q, double v) {
    const std::size_t key = ix(5 * node + motion);
    const int f = s.freedom[key];
    if (f < 0) return;
    if (place_of[key] < 0) {
      place_of[key] = static_cast<int>(t.freedom.size());
      t.freedom.push_back(f);
      t.weight.push_back({});
    }
    t.weight[ix(place_of[key])][ix(q)] += v;
  };
  for (const Place& p : on) {
    // slope of w by least squares over the place: turn about x is dw/dy, about y is -dw/dx
    const double slope_y = wide ? (xx * p.y - xy * p.x) / det : 0, slope_x = wide ? (yy * p.x - xy * p.y) / det : 0;
    const double spin = wide ? 1 / (xx + yy) : 0;
    for (std::size_t k = 0; k < 4; ++k) {
      const int node = p.spot.node[k];
      const double share = p.spot.share[k];
      add(node, 0, 2, share / n);
      add(node, 0, 3, share * slope_y);
      add(node, 0, 4, -share * slope_x);
      for (int d = 0; d < 2; ++d) {  // at the top, u + z bx
        add(node, 3 + d, d, share / n);
        add(node, 1 + d, d, share * z / n);
        const double turn = share * spin * (d == 0 ? -p.y : p.x);
        add(node, 3 + d, 5, turn);
        add(node, 1 + d, 5, z * turn);
      }
      if (wide) continue;
      add(node, 2, 3, -share / n);
      add(node, 1, 4, share / n);
    }
  }
  return t;
}

}  // namespace

void multiply(const Sparse& A, const double* x, double* y, int count) {
  const std::size_t m = ix(count);
  for (int r = 0; r < A.rows(); ++r) {
    const std::size_t from = ix(A.start[ix(r)]), to = ix(A.start[ix(r) + 1]);
    double* out = y + ix(r) * m;
    for (std::size_t c = 0; c < m; c += 4) {
      Two low = both(0), high = both(0);
      for (std::size_t k = from; k < to; ++k) {
        const Two v = both(A.value[k]);
        const double* in = x + ix(A.column[k]) * m + c;
        low += v * load(in);
        high += v * load(in + 2);
      }
      store(out + c, low);
      store(out + c + 2, high);
    }
  }
}

std::string problem_of(const Inputs& in) {
  const Plate& p = in.plate;
  const auto good = [](double v) { return v > 0 && std::isfinite(v); };
  const auto metal = [&](const Metal& m) {
    return good(m.modulus) && good(m.density) && m.poisson > -1 && m.poisson < 0.5;
  };
  if (!(p.outline.size() >= 3 || (p.outline.empty() && good(p.length) && good(p.width))))
    return "the plate needs a length and a width, or an outline of three corners or more";
  if (!good(p.thickness)) return "the plate needs a thickness";
  if (!metal(p.metal)) return "the plate's metal needs a modulus, a Poisson ratio from -1 to 0.5 and a density";
  if (in.columns < 2 || in.rows < 2 || in.columns > 400 || in.rows > 400)
    return fmt::format("a mesh has from 2 to 400 elements each way, not {} x {}", in.columns, in.rows);
  if (in.modes < 0 || in.modes > 200) return fmt::format("from 0 to 200 modes can be asked for, not {}", in.modes);
  if (!(in.damping >= 0 && in.damping < 1)) return "the damping ratio lies from 0 to below 1";
  if (!good(in.shear_factor)) return "the shear factor is above zero";
  for (std::size_t k = 0; k < in.anchors.size(); ++k) {
    const Anchor& a = in.anchors[k];
    if (!(a.up >= 0 && a.side >= 0 && a.patch >= 0 && std::isfinite(a.up + a.side + a.patch + a.x + a.y)))
      return fmt::format("anchor {} needs stiffnesses and a patch that are not negative", k + 1);
  }
  for (std::size_t k = 0; k < in.parts.size(); ++k) {
    const Part& q = in.parts[k];
    if (!(q.mass >= 0 && good(q.size_x) && good(q.size_y) && std::isfinite(q.height) && q.inertia[0] >= 0 &&
          q.inertia[1] >= 0 && q.inertia[2] >= 0))
      return fmt::format("part {} needs a footprint, a height, and a mass and inertia that are not negative", k + 1);
    if (in.bonded && q.thickness > 0 && !metal(q.metal))
      return fmt::format("part {} is bonded but has no metal", k + 1);
  }
  for (std::size_t k = 0; k < in.points.size(); ++k) {
    const Point& q = in.points[k];
    if (q.part >= static_cast<int>(in.parts.size()))
      return fmt::format("point {} is on a part that is not there", k + 1);
    if (!(std::isfinite(q.at.x) && std::isfinite(q.at.y) && std::isfinite(q.at.z)))
      return fmt::format("point {} has no place", k + 1);
    if (q.part < 0 && !good(q.patch)) return fmt::format("point {} needs a patch with a size", k + 1);
  }
  return {};
}

Tie patch_tie(const System& s, const Inputs& in, double x, double y, double diameter) {
  return tie_of(s, in, disc(x, y, diameter));
}
Tie part_tie(const System& s, const Inputs& in, const Part& part) { return tie_of(s, in, footprint(part)); }

std::array<std::array<double, 6>, 3> rigid_rows(const Tie& t, frame::Vec3 at) {
  const double x = at.x - t.x, y = at.y - t.y, z = at.z;
  return {{{1, 0, 0, 0, z, -y}, {0, 1, 0, -z, 0, x}, {0, 0, 1, y, -x, 0}}};
}

Column3 point_column(const System& s, const Inputs& in, const Point& point) {
  const Tie made = point.part < 0 ? patch_tie(s, in, point.at.x, point.at.y, point.patch) : Tie{};
  const Tie& t = point.part < 0 ? made : s.parts[ix(point.part)];
  const std::array<std::array<double, 6>, 3> rows = rigid_rows(t, point.at);
  Column3 c;
  c.freedom = t.freedom;
  for (const std::array<double, 6>& q : t.weight) {
    c.weight.emplace_back();
    for (std::size_t d = 0; d < 3; ++d)
      for (std::size_t k = 0; k < 6; ++k) c.weight.back()[d] += rows[d][k] * q[k];
  }
  return c;
}

std::vector<Entry> anchor_springs(const System& s, const Inputs& in, const Anchor& anchor) {
  std::vector<Spot> spots;
  for (const std::array<double, 2>& p : disc(anchor.x, anchor.y, anchor.patch))
    if (const std::optional<Spot> spot = spot_of(s, p[0], p[1])) spots.push_back(*spot);
  std::vector<Entry> out;
  const double z = -in.plate.thickness / 2, share = spots.empty() ? 0 : 1.0 / static_cast<double>(spots.size());
  const auto add = [&](int i, int j, double v) {
    const int row = s.freedom[ix(i)], column = s.freedom[ix(j)];
    if (row >= 0 && column >= 0) out.push_back({row, column, v});
  };
  for (const Spot& spot : spots)
    for (std::size_t a = 0; a < 4; ++a)
      for (std::size_t b = 0; b < 4; ++b) {
        const double n = share * spot.share[a] * spot.share[b];
        const int i = 5 * spot.node[a], j = 5 * spot.node[b];
        add(i, j, anchor.up * n);
        for (int d = 1; d <= 2; ++d) {
          add(i + d + 2, j + d + 2, anchor.side * n);
          add(i + d + 2, j + d, anchor.side * n * z);
          add(i + d, j + d + 2, anchor.side * n * z);
          add(i + d, j + d, anchor.side * n * z * z);
        }
      }
  return out;
}

Sprung sprung(const System& s, const Inputs& in, const Anchor& anchor) {
  struct Place {
    Spot spot;
    double x, y;
  };
  std::vector<Place> on;
  double mx = 0, my = 0;
  for (const std::array<double, 2>& p : disc(anchor.x, anchor.y, anchor.patch))
    if (const std::optional<Spot> spot = spot_of(s, p[0], p[1]))
      on.push_back({*spot, p[0], p[1]}), mx += p[0], my += p[1];
  Sprung out;
  if (on.empty()) return out;
  const double n = static_cast<double>(on.size()), z = -in.plate.thickness / 2;
  for (Place& p : on) p.x -= mx / n, p.y -= my / n, out.polar += (p.x * p.x + p.y * p.y) / n;
  // powers made square to each other over the places, in turn
  const double size = out.polar > 0 ? std::sqrt(out.polar) : 1;
  std::vector<std::array<double, 6>> shape;
  for (const Place& p : on) {
    const double u = p.x / size, v = p.y / size;
    shape.push_back({1, u, v, u * u, u * v, v * v});
  }
  const auto mean = [&](std::size_t a, std::size_t b) {
    double sum = 0;
    for (const std::array<double, 6>& q : shape) sum += q[a] * q[b];
    return sum / n;
  };
  for (std::size_t c = 0; c < 6; ++c) {
    for (int pass = 0; pass < 2; ++pass)
      for (std::size_t b = 0; b < c; ++b) {
        const double share = mean(b, c);
        for (std::array<double, 6>& q : shape) q[c] -= share * q[b];
      }
    const double square = mean(c, c), f = square > 1e-12 ? 1 / std::sqrt(square) : 0;
    for (std::array<double, 6>& q : shape) q[c] *= f;
  }
  std::vector<int> place_of(s.freedom.size(), -1);
  const auto add = [&](int node, int motion, std::size_t way, double v) {
    const std::size_t key = ix(5 * node + motion);
    if (s.freedom[key] < 0 || v == 0) return;
    if (place_of[key] < 0) {
      place_of[key] = static_cast<int>(out.freedom.size());
      out.freedom.push_back(s.freedom[key]);
      out.weight.push_back({});
    }
    out.weight[ix(place_of[key])][way] += v;
  };
  for (std::size_t k = 0; k < on.size(); ++k)
    for (std::size_t c = 0; c < 4; ++c) {
      const int node = on[k].spot.node[c];
      const double share = on[k].spot.share[c] / n;
      for (std::size_t w = 0; w < 6; ++w) add(node, 0, w, share * shape[k][w]);
      for (int d = 0; d < 2; ++d) {
        const double turn = out.polar > 0 ? share * (d == 0 ? -on[k].y : on[k].x) / out.polar : 0;
        add(node, 3 + d, ix(6 + d), share), add(node, 1 + d, ix(6 + d), share * z);
        add(node, 3 + d, 8, turn), add(node, 1 + d, 8, turn * z);
      }
    }
  return out;
}

System system_of(const Inputs& in, bool with_anchors) {
  System s;
  s.why = problem_of(in);
  if (!s.why.empty()) return s;
  s.grid = grid_of(in.plate, in.columns, in.rows);
  const Grid& g = s.grid;
  s.sections = sections(in, g);
  number(s, in);
  if (s.count == 0) {
    s.why = "nothing of the plate is free to move";
    return s;
  }
  Stencil k(g), m(g);
  const ElementShapes shapes = element_shapes(g.dx, g.dy);
  ElementMatrix ke{}, me{};
  const Section* last = nullptr;
  for (int j = 0; j < g.rows; ++j)
    for (int i = 0; i < g.columns; ++i) {
      const Section& section = s.sections[ix(j * g.columns + i)];
      if (!(section.fill > 0)) continue;
      if (last == nullptr || !(*last == section)) element_matrices(shapes, section, !in.shear_flexible, ke, me);
      last = &section;
      const std::array<int, 4> nodes = {g.node(i, j), g.node(i + 1, j), g.node(i + 1, j + 1), g.node(i, j + 1)};
      add_element(k, nodes, ke);
      add_element(m, nodes, me);
      s.plate_mass += section.mass * g.dx * g.dy;
    }
  s.K = pack(s, k, false);
  s.M = pack(s, m, true);
  for (std::size_t a = 0; with_anchors && a < in.anchors.size(); ++a) {
    const std::vector<Entry> springs = anchor_springs(s, in, in.anchors[a]);
    if (springs.empty() && in.anchors[a].up + in.anchors[a].side > 0) {
      s.why = fmt::format("anchor {} lies off the plate", a + 1);
      return s;
    }
    for (const Entry& e : springs) {
      const auto begin = s.K.column.begin() + s.K.start[ix(e.row)], end = s.K.column.begin() + s.K.start[ix(e.row) + 1];
      s.K.value[ix(static_cast<int>(std::lower_bound(begin, end, e.column) - s.K.column.begin()))] += e.value;
    }
  }
  s.total_mass = s.plate_mass;
  for (std::size_t p = 0; p < in.parts.size(); ++p) {
    s.parts.push_back(part_tie(s, in, in.parts[p]));
    s.part_mass.push_back(rigid_mass(in.parts[p]));
    s.total_mass += in.parts[p].mass;
    if (s.parts.back().empty()) {
      s.why = fmt::format("part {} stands off the plate", p + 1);
      return s;
    }
  }
  return s;
}

Band band_of(const System& s, double shift) {
  std::vector<int> first(ix(s.count));
  for (int r = 0; r < s.count; ++r) first[ix(r)] = s.K.column[ix(s.K.start[ix(r)])];
  Band band(first);
  for (int r = 0; r < s.count; ++r)
    for (int k = s.K.start[ix(r)]; k < s.K.start[ix(r) + 1] && s.K.column[ix(k)] <= r; ++k)
      band.add(r, s.K.column[ix(k)], s.K.value[ix(k)]);
  if (shift != 0)
    for (int r = 0; r < s.count; ++r)
      for (int k = s.M.start[ix(r)]; k < s.M.start[ix(r) + 1] && s.M.column[ix(k)] <= r; ++k)
        band.add(r, s.M.column[ix(k)], shift * s.M.value[ix(k)]);
  return band;
}

}  // namespace fettle::structure
