#include "calc/structure/reduced_space.h"

#include "calc/structure/plate_system.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <numeric>
#include <utility>

namespace fettle::structure {

namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr double pi = 3.14159265358979323846;

/// Inner product of two columns in the mass of linear elements on unit length.
double inner(const VectorXd& f, const VectorXd& g) {
  const Eigen::Index n = f.size() - 1;
  double sum = 0;
  for (Eigen::Index e = 0; e < n; ++e)
    sum += 2 * f[e] * g[e] + f[e] * g[e + 1] + f[e + 1] * g[e] + 2 * f[e + 1] * g[e + 1];
  return sum / (6.0 * static_cast<double>(n));
}

/// Integrals of products along a line, elements weighted.
struct Integrals {
  MatrixXd M, S, A, G;  ///< f g; f' g'; products of element means; f' g
};
Integrals integrals(const Line& line, double length, const VectorXd& weight) {
  const double h = 1.0 / line.elements;
  const MatrixXd wm = weight.asDiagonal() * line.mean, ws = weight.asDiagonal() * line.step;
  Integrals r;
  const MatrixXd ss = line.step.transpose() * ws;
  r.A = line.mean.transpose() * wm * (h * length);
  r.M = r.A + ss * (h * length / 12);
  r.S = ss / (h * length);
  r.G = ws.transpose() * line.mean;
  return r;
}

/// Stretch, coupling and bending three each, then shear, masses, and the twist that the full model's elements take by
/// themselves (plate_element.cpp).
constexpr int coefficients = 14;
constexpr std::size_t of_shear = 9, of_mass = 10, of_twist = 13;
std::array<double, coefficients> as_array(const Section& s) {
  const double twist = s.bending[2] - (s.stretch[2] > 0 ? s.coupling[2] * s.coupling[2] / s.stretch[2] : 0);
  return {s.stretch[0], s.stretch[1], s.stretch[2], s.coupling[0], s.coupling[1], s.coupling[2], s.bending[0],
          s.bending[1], s.bending[2], s.shear,      s.mass,        s.moment,      s.rotary,      twist};
}

/// Columns of elements with the same sections, as one: integrals along X, and along Y weighted by each coefficient.
struct Strip {
  Integrals x;
  std::array<Integrals, coefficients> y;
  std::array<bool, coefficients> there{};
};

std::vector<Strip> strips(const BasisInputs& in, const Line& x, const Line& y, const std::vector<Section>& all) {
  std::vector<std::vector<int>> groups;
  const auto same = [&](int a, int b) {
    for (int r = 0; r < in.rows; ++r)
      if (as_array(all[static_cast<std::size_t>(r * in.columns + a)]) !=
          as_array(all[static_cast<std::size_t>(r * in.columns + b)]))
        return false;
    return true;
  };
  for (int c = 0; c < in.columns; ++c) {
    const auto g = std::find_if(groups.begin(), groups.end(), [&](const auto& k) { return same(k.front(), c); });
    if (g == groups.end()) groups.push_back({c});
    else g->push_back(c);
  }
  std::vector<Strip> result;
  for (const auto& g : groups) {
    Strip s;
    VectorXd in_group = VectorXd::Zero(in.columns);
    for (const int c : g) in_group[c] = 1;
    s.x = integrals(x, in.plate.length, in_group);
    for (int k = 0; k < coefficients; ++k) {
      VectorXd weight(in.rows);
      for (int r = 0; r < in.rows; ++r)
        weight[r] = as_array(all[static_cast<std::size_t>(r * in.columns + g.front())])[static_cast<std::size_t>(k)];
      s.there[static_cast<std::size_t>(k)] = weight.cwiseAbs().maxCoeff() > 0;
      if (s.there[static_cast<std::size_t>(k)]) s.y[static_cast<std::size_t>(k)] = integrals(y, in.plate.width, weight);
    }
    result.push_back(std::move(s));
  }
  return result;
}

/// Stretch (or bending, or both mixed) of two in-plane vector fields with the coefficients c, c+1, c+2.
double stretch(const Strip& s, std::size_t c, bool first_u, bool second_u, const Function& p, const Function& q) {
  if (!s.there[c]) return 0;
  const Integrals &c11 = s.y[c], &c12 = s.y[c + 1], &c66 = s.y[c + 2], &x = s.x;
  if (first_u && second_u) return x.S(p.i, q.i) * c11.M(p.j, q.j) + x.A(p.i, q.i) * c66.S(p.j, q.j);
  if (!first_u && !second_u) return x.M(p.i, q.i) * c11.S(p.j, q.j) + x.S(p.i, q.i) * c66.A(p.j, q.j);
  if (first_u) return x.G(p.i, q.i) * c12.G(q.j, p.j) + x.G(q.i, p.i) * c66.G(p.j, q.j);
  return x.G(q.i, p.i) * c12.G(p.j, q.j) + x.G(p.i, q.i) * c66.G(q.j, p.j);
}

/// What the in-plane shear of an element takes beyond that of its middle, left to bending.
double own_twist(const Strip& s, bool first, bool second, const Function& p, const Function& q) {
  if (first != second || !s.there[of_twist]) return 0;
  const Integrals &x = s.x, &y = s.y[of_twist];
  return first ? (x.M(p.i, q.i) - x.A(p.i, q.i)) * y.S(p.j, q.j) : x.S(p.i, q.i) * (y.M(p.j, q.j) - y.A(p.j, q.j));
}

bool turn(Field f) { return f == Field::bx || f == Field::by; }
bool plane(Field f) { return f == Field::u || f == Field::v; }

double shear(const Strip& s, const Function& p, const Function& q) {
  const Integrals &x = s.x, &y = s.y[of_shear];
  if (p.field == Field::w && q.field == Field::w) return x.S(p.i, q.i) * y.M(p.j, q.j) + x.M(p.i, q.i) * y.S(p.j, q.j);
  if (p.field == Field::w && q.field == Field::bx) return x.G(p.i, q.i) * y.M(p.j, q.j);
  if (p.field == Field::w && q.field == Field::by) return x.M(p.i, q.i) * y.G(p.j, q.j);
  if (p.field == Field::bx && q.field == Field::bx) return x.A(p.i, q.i) * y.M(p.j, q.j);
  if (p.field == Field::by && q.field == Field::by) return x.M(p.i, q.i) * y.A(p.j, q.j);
  if (q.field == Field::w && turn(p.field)) return shear(s, q, p);
  return 0;
}

double stiffness(const Strip& s, const Function& p, const Function& q) {
  double k = 0;
  if (plane(p.field) && plane(q.field)) k += stretch(s, 0, p.field == Field::u, q.field == Field::u, p, q);
  if (plane(p.field) && turn(q.field)) k += stretch(s, 3, p.field == Field::u, q.field == Field::bx, p, q);
  if (turn(p.field) && plane(q.field)) k += stretch(s, 3, p.field == Field::bx, q.field == Field::u, p, q);
  if (turn(p.field) && turn(q.field))
    k += stretch(s, 6, p.field == Field::bx, q.field == Field::bx, p, q) +
         own_twist(s, p.field == Field::bx, q.field == Field::bx, p, q);
  if (!plane(p.field) && !plane(q.field)) k += shear(s, p, q);
  return k;
}

double mass(const Strip& s, const Function& p, const Function& q) {
  const auto by = [&](std::size_t c) { return s.there[c] ? s.x.M(p.i, q.i) * s.y[c].M(p.j, q.j) : 0.0; };
  if (p.field == q.field) return by(turn(p.field) ? of_mass + 2 : of_mass);
  const bool x_pair = (p.field == Field::u && q.field == Field::bx) || (p.field == Field::bx && q.field == Field::u);
  const bool y_pair = (p.field == Field::v && q.field == Field::by) || (p.field == Field::by && q.field == Field::v);
  return x_pair || y_pair ? by(of_mass + 1) : 0;
}

/// Springs that hold the edges, for checks: so stiff that what they give does not show.
double edge(const BasisData& d, const Function& p, const Function& q) {
  if (p.field != q.field || plane(p.field)) return 0;
  const double a = d.in.plate.length, b = d.in.plate.width;
  const auto ends = [](const Line& l, int i, int k) {
    return l.value(0, i) * l.value(0, k) + l.value(l.elements, i) * l.value(l.elements, k);
  };
  const double at_x = p.j == q.j ? ends(d.x, p.i, q.i) * b : 0, at_y = p.i == q.i ? ends(d.y, p.j, q.j) * a : 0;
  const double size = 1e7 * d.plain.bending[0] / std::min(a, b);
  if (p.field == Field::w) return size * 100 / (a * b) * (at_x + at_y);
  const bool clamped = d.in.edge == Edge::clamped;  // supported: no turning along the edge only
  const bool on_x = clamped || p.field == Field::by, on_y = clamped || p.field == Field::bx;
  return size * ((on_x ? at_x : 0) + (on_y ? at_y : 0));
}

/// All functions of one field: degrees inside the triangle, `less` taken off for turns so that they match the slopes.
void add_functions(std::vector<Function>& all, Field field, int order_x, int order_y, int less_x, int less_y) {
  for (int i = 0; i + less_x <= order_x; ++i)
    for (int j = 0; j + less_y <= order_y; ++j)
      if ((i + less_x) * order_y + (j + less_y) * order_x <= order_x * order_y) all.push_back({field, i, j});
}

/// Which functions mix: on a plate alike to both sides, by being even or odd.
int class_of(const Function& f, bool even_x, bool even_y) {
  const bool flip_x = f.field == Field::bx || f.field == Field::u, flip_y = f.field == Field::by || f.field == Field::v;
  const int x = even_x ? (f.i + (flip_x ? 1 : 0)) % 2 : 0, y = even_y ? (f.j + (flip_y ? 1 : 0)) % 2 : 0;
  return 2 * x + y;
}

std::pair<bool, bool> symmetric(const BasisInputs& in, const std::vector<Section>& all) {
  double largest[coefficients] = {};
  for (const Section& s : all)
    for (std::size_t k = 0; k < coefficients; ++k) largest[k] = std::max(largest[k], std::fabs(as_array(s)[k]));
  const auto alike = [&](int c1, int r1, int c2, int r2) {
    const auto a = as_array(all[static_cast<std::size_t>(r1 * in.columns + c1)]),
               b = as_array(all[static_cast<std::size_t>(r2 * in.columns + c2)]);
    for (std::size_t k = 0; k < coefficients; ++k)
      if (!(std::fabs(a[k] - b[k]) <= 1e-9 * largest[k])) return false;
    return true;
  };
  bool x = true, y = true;
  for (int r = 0; r < in.rows; ++r)
    for (int c = 0; c < in.columns; ++c) {
      x = x && alike(c, r, in.columns - 1 - c, r);
      y = y && alike(c, r, c, in.rows - 1 - r);
    }
  return {x, y};
}

bool free_modes(BasisData& d, const std::vector<Strip>& s, Block& b) {
  const Eigen::Index n = static_cast<Eigen::Index>(b.functions.size());
  MatrixXd K(n, n), M(n, n);
  const bool held = d.in.edge != Edge::free;
  for (Eigen::Index r = 0; r < n; ++r)
    for (Eigen::Index c = 0; c <= r; ++c) {
      const Function &p = b.functions[static_cast<std::size_t>(r)], &q = b.functions[static_cast<std::size_t>(c)];
      double k = 0, m = 0;
      for (const Strip& strip : s) {
        k += stiffness(strip, p, q);
        m += mass(strip, p, q);
      }
      if (held) k += edge(d, p, q);
      K(r, c) = K(c, r) = k;
      M(r, c) = M(c, r) = m;
    }
  const Eigen::LLT<MatrixXd> half(M);
  if (half.info() != Eigen::Success) return false;
  MatrixXd C = half.matrixL().solve(K);
  C = half.matrixL().solve(C.transpose()).eval();
  const Eigen::SelfAdjointEigenSolver<MatrixXd> eigen(C);
  if (eigen.info() != Eigen::Success) return false;
  b.squared = eigen.eigenvalues();
  b.modes = half.matrixU().solve(eigen.eigenvectors());
  return b.squared.allFinite() && b.modes.allFinite();
}

FieldRest field_rest(const BasisData& d, Field field, const Integrals& X, const Integrals& Y) {
  FieldRest r;
  r.functions.resize(4);
  for (const Block& b : d.blocks)
    for (const Function& f : b.functions)
      if (f.field == field && f.i + f.j > 0)
        r.functions[static_cast<std::size_t>(2 * (f.i % 2) + f.j % 2)].push_back(f);
  for (const auto& fs : r.functions) {
    const Eigen::Index n = static_cast<Eigen::Index>(fs.size());
    MatrixXd L(n, n);
    for (Eigen::Index p = 0; p < n; ++p)
      for (Eigen::Index q = 0; q < n; ++q) {
        const Function &f = fs[static_cast<std::size_t>(p)], &g = fs[static_cast<std::size_t>(q)];
        L(p, q) = X.S(f.i, g.i) * Y.M(f.j, g.j) + X.M(f.i, g.i) * Y.S(f.j, g.j);
      }
    if (n == 0) {
      r.vectors.emplace_back();
      r.values.emplace_back();
      continue;
    }
    const Eigen::SelfAdjointEigenSolver<MatrixXd> eigen(L);
    const double area = d.in.plate.length * d.in.plate.width;  // the polynomials' own mass
    r.vectors.push_back(eigen.eigenvectors() / std::sqrt(area));
    r.values.push_back(eigen.eigenvalues() / area);
  }
  return r;
}

/// Waves of linear elements with their own mass along a line, and what they cost.
MatrixXd cosines(const Line& l, double length, VectorXd& mu) {
  const int n = l.elements;
  const double h = length / n;
  MatrixXd c(n + 1, n + 1);
  mu.resize(n + 1);
  for (int m = 0; m <= n; ++m) {
    const double t = std::cos(pi * m / n);
    mu[m] = 6 / (h * h) * (1 - t) / (2 + t);
    VectorXd f(n + 1);
    for (int i = 0; i <= n; ++i) f[i] = std::cos(pi * m * i / n);
    c.col(m) = f / std::sqrt(inner(f, f) * length);
  }
  return c;
}

Rest rest(const BasisData& d) {
  Rest r;
  VectorXd mx, my;
  r.cos_x = cosines(d.x, d.in.plate.length, mx);
  r.cos_y = cosines(d.y, d.in.plate.width, my);
  r.mu.resize(mx.size(), my.size());
  for (Eigen::Index i = 0; i < mx.size(); ++i)
    for (Eigen::Index j = 0; j < my.size(); ++j) r.mu(i, j) = i + j == 0 ? 0 : mx[i] + my[j];
  const Integrals X = integrals(d.x, d.in.plate.length, VectorXd::Ones(d.x.elements)),
                  Y = integrals(d.y, d.in.plate.width, VectorXd::Ones(d.y.elements));
  for (const Field f : {Field::w, Field::bx, Field::by, Field::u, Field::v})
    r.field[static_cast<std::size_t>(f)] = field_rest(d, f, X, Y);
  return r;
}

}  // namespace

Line make_line(int elements, int order) {
  Line l;
  l.elements = elements;
  l.order = order;
  l.value.resize(elements + 1, order + 1);
  VectorXd at(elements + 1);
  for (int i = 0; i <= elements; ++i) at[i] = 2.0 * i / elements - 1;
  for (int k = 0; k <= order; ++k) {
    VectorXd f = k == 0 ? VectorXd::Ones(elements + 1).eval() : at.cwiseProduct(l.value.col(k - 1)).eval();
    for (int pass = 0; pass < 2; ++pass)
      for (int j = k - 1; j >= 0; --j) f -= inner(f, l.value.col(j)) * l.value.col(j);
    l.value.col(k) = f / std::sqrt(inner(f, f));
  }
  l.mean = 0.5 * (l.value.topRows(elements) + l.value.bottomRows(elements));
  l.step = l.value.bottomRows(elements) - l.value.topRows(elements);
  return l;
}

Basis make_basis(const BasisInputs& in) {
  Basis basis;
  const Plate& p = in.plate;
  const auto refuse = [&basis](const char* why) {
    basis.why = why;
    return basis;
  };
  if (!p.outline.empty()) return refuse("a plate with an outline of its own needs the full model");
  Inputs full;
  full.plate = p;
  full.parts = in.stiff_parts;
  full.bonded = !in.stiff_parts.empty();
  full.columns = in.columns;
  full.rows = in.rows;
  full.shear_factor = in.shear_factor;
  basis.why = problem_of(full);
  if (!basis.why.empty()) return basis;
  if (in.columns < 8 || in.rows < 8 || in.order < 4 || in.order > 24) return refuse("mesh or order out of range");
  const double aspect = std::sqrt(p.length / p.width);
  if (!(aspect > 0.2) || !(aspect < 5)) return refuse("a plate so long and narrow is a beam");
  auto data = std::make_shared<BasisData>();
  BasisData& d = *data;
  d.in = in;
  const int order_x = std::clamp(static_cast<int>(std::lround(in.order * aspect)), 5, in.columns - 2),
            order_y = std::clamp(static_cast<int>(std::lround(in.order / aspect)), 5, in.rows - 2);
  d.x = make_line(in.columns, order_x);
  d.y = make_line(in.rows, order_y);
  const std::vector<Section> all = sections(full, grid_of(p, in.columns, in.rows));
  Inputs bare = full;
  bare.plate.reliefs.clear();
  bare.bonded = false;
  d.plain = sections(bare, grid_of(p, 1, 1)).front();
  for (const Section& s : all) basis.plate_mass += s.mass * p.length * p.width / (in.columns * in.rows);
  std::vector<Function> functions;
  add_functions(functions, Field::w, order_x, order_y, 0, 0);
  add_functions(functions, Field::bx, order_x, order_y, 1, 0);
  add_functions(functions, Field::by, order_x, order_y, 0, 1);
  const int plane_x = std::max(3, order_x - 2), plane_y = std::max(3, order_y - 2);
  add_functions(functions, Field::u, plane_x, plane_y, 0, 0);
  add_functions(functions, Field::v, plane_x, plane_y, 0, 0);
  basis.functions = static_cast<int>(functions.size());
  const auto [even_x, even_y] = symmetric(in, all);
  std::vector<Block> blocks(4);
  for (const Function& f : functions)
    blocks[static_cast<std::size_t>(class_of(f, even_x, even_y))].functions.push_back(f);
  for (Block& b : blocks)
    if (!b.functions.empty()) d.blocks.push_back(std::move(b));
  const std::vector<Strip> s = strips(in, d.x, d.y, all);
  for (Block& b : d.blocks)
    if (!free_modes(d, s, b)) return refuse("the plate has places without mass: use the full model");
  std::vector<std::pair<int, int>> order;
  for (std::size_t b = 0; b < d.blocks.size(); ++b)
    for (Eigen::Index k = 0; k < d.blocks[b].squared.size(); ++k)
      order.emplace_back(static_cast<int>(b), static_cast<int>(k));
  std::stable_sort(order.begin(), order.end(), [&](const auto& l, const auto& r) {
    return d.blocks[static_cast<std::size_t>(l.first)].squared[l.second] <
           d.blocks[static_cast<std::size_t>(r.first)].squared[r.second];
  });
  d.modes = static_cast<int>(order.size());
  d.kept = std::min(in.kept, d.modes);
  d.squared.resize(d.modes);
  for (Block& b : d.blocks) b.place.resize(static_cast<std::size_t>(b.squared.size()));
  const bool held = in.edge != Edge::free;
  for (int k = 0; k < d.modes; ++k) {
    const auto [block, mode] = order[static_cast<std::size_t>(k)];
    Block& b = d.blocks[static_cast<std::size_t>(block)];
    b.place[static_cast<std::size_t>(mode)] = k;
    const int rigid = held ? 3 : 6;
    d.squared[k] = k < rigid ? 0 : b.squared[mode];
    if (k >= rigid) basis.free.push_back(std::sqrt(d.squared[k]) / (2 * pi));
  }
  d.rest = rest(d);
  basis.data = std::move(data);
  basis.ok = true;
  return basis;
}

}  // namespace fettle::structure
