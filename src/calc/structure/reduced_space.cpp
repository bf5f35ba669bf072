#include "calc/structure/reduced_space.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

namespace fettle::structure {

namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr double pi = 3.14159265358979323846;

/// Inner product of two columns in the mass of linear elements on unit length.
double inner(const VectorXd& f, const VectorXd& g) {
  const Index n = f.size() - 1;
  const auto f0 = f.head(n), f1 = f.tail(n), g0 = g.head(n), g1 = g.tail(n);
  return (2 * f0.dot(g0) + f0.dot(g1) + f1.dot(g0) + 2 * f1.dot(g1)) / (6.0 * static_cast<double>(n));
}

void add_integrals(Line& l) {
  const double h = 1.0 / l.elements;
  const MatrixXd mean = 0.5 * (l.value.topRows(l.elements) + l.value.bottomRows(l.elements)),
                 step = l.value.bottomRows(l.elements) - l.value.topRows(l.elements);
  const MatrixXd ss = step.transpose() * step;
  l.A = mean.transpose() * mean * h;
  l.M = l.A + ss * (h / 12);
  l.S = ss / h;
  l.G = step.transpose() * mean;
}

bool turn(Field f) { return f == Field::bx || f == Field::by; }
bool plane(Field f) { return f == Field::u || f == Field::v; }

/// Springs that hold the edges, for checks: so stiff that what they give does not show.
double edge(const BasisInputs& in, const FreeModes& m, const Section& s, const Function& p, const Function& q) {
  if (p.field != q.field || plane(p.field)) return 0;
  const double a = in.plate.length, b = in.plate.width;
  const auto ends = [](const Line& l, int i, int k) {
    return l.value(0, i) * l.value(0, k) + l.value(l.elements, i) * l.value(l.elements, k);
  };
  const double at_x = p.j == q.j ? ends(m.x, p.i, q.i) * b : 0, at_y = p.i == q.i ? ends(m.y, p.j, q.j) * a : 0;
  const double size = 1e7 * s.bending[0] / std::min(a, b);
  if (p.field == Field::w) return size * 100 / (a * b) * (at_x + at_y);
  const bool clamped = in.edge == Edge::clamped;  // supported: no turning along the edge only
  const bool on_x = clamped || p.field == Field::by, on_y = clamped || p.field == Field::bx;
  return size * ((on_x ? at_x : 0) + (on_y ? at_y : 0));
}

/// All functions of one field: degrees inside the triangle, `less` taken off for turns so that they match the slopes.
void add_functions(std::vector<Function>& all, Field field, int order_x, int order_y, int less_x, int less_y) {
  for (int i = 0; i + less_x <= order_x; ++i)
    for (int j = 0; j + less_y <= order_y; ++j)
      if ((i + less_x) * order_y + (j + less_y) * order_x <= order_x * order_y) all.push_back({field, i, j});
}

/// Which functions mix: bending or motion in the plane, by being even or odd.
std::size_t class_of(const Function& f) {
  const bool flip_x = f.field == Field::bx || f.field == Field::u, flip_y = f.field == Field::by || f.field == Field::v;
  const int x = (f.i + (flip_x ? 1 : 0)) % 2, y = (f.j + (flip_y ? 1 : 0)) % 2;
  return (plane(f.field) ? 4U : 0U) + 2 * static_cast<std::size_t>(x) + static_cast<std::size_t>(y);
}

bool solve_block(const BasisInputs& in, const FreeModes& m, const Section& section, Block& b) {
  const Index n = static_cast<Index>(b.functions.size());
  const Energy energy(m.x, m.y, in.plate.length, in.plate.width, section);
  MatrixXd K(n, n);
  VectorXd scale(n);  // the polynomials are orthonormal: the mass is a diagonal
  for (Index r = 0; r < n; ++r) {
    const Function& p = b.functions[static_cast<std::size_t>(r)];
    scale[r] = 1 / std::sqrt(energy.mass(p, p));
    for (Index c = 0; c <= r; ++c) {
      const Function& q = b.functions[static_cast<std::size_t>(c)];
      K(r, c) =
          (energy.stiffness(p, q) + (in.edge == Edge::free ? 0 : edge(in, m, section, p, q))) * scale[r] * scale[c];
    }
  }
  const Eigen::SelfAdjointEigenSolver<MatrixXd> eigen(K);  // reads the lower half
  if (eigen.info() != Eigen::Success) return false;
  b.squared = eigen.eigenvalues();
  b.modes = scale.asDiagonal() * eigen.eigenvectors();
  return b.squared.allFinite() && b.modes.allFinite();
}

}  // namespace

Line polynomials(int elements, int order) {
  Line l;
  l.elements = elements;
  l.value.resize(elements + 1, order + 1);
  VectorXd at(elements + 1);
  for (int i = 0; i <= elements; ++i) at[i] = 2.0 * i / elements - 1;
  for (int k = 0; k <= order; ++k) {
    VectorXd f = k == 0 ? VectorXd::Ones(elements + 1).eval() : at.cwiseProduct(l.value.col(k - 1)).eval();
    for (int pass = 0; pass < 2; ++pass)
      for (int j = k - 1; j >= 0; --j) f -= inner(f, l.value.col(j)) * l.value.col(j);
    l.value.col(k) = f / std::sqrt(inner(f, f));
  }
  add_integrals(l);
  return l;
}

Line waves(int elements) {
  Line l;
  l.elements = elements;
  const int n = elements;
  l.value = MatrixXd::Zero(n + 1, 2 * n + 4);
  for (int m = 0; m <= n; ++m)
    for (int i = 0; i <= n; ++i) {
      l.value(i, m) = std::cos(pi * m * i / n);
      if (m > 0 && m < n && i > 0 && i < n) l.value(i, n + 1 + m) = std::sin(pi * m * i / n);
    }
  l.value(0, 2 * n + 2) = l.value(n, 2 * n + 3) = 1;
  add_integrals(l);
  return l;
}

double Energy::stretch(const std::array<double, 3>& c, bool own_twist, const Function& p, const Function& q) const {
  const auto along_x = [](Field f) { return f == Field::u || f == Field::bx; };
  const auto &x = x_, &y = y_;
  const bool first = along_x(p.field), second = along_x(q.field);
  // What the in-plane shear of an element takes beyond that of its middle is left to bending (plate_element.cpp).
  if (first && second)
    return c[0] * x.S(p.i, q.i) * y.M(p.j, q.j) * b_ / a_ +
           c[2] * (own_twist ? x.M : x.A)(p.i, q.i) * y.S(p.j, q.j) * a_ / b_;
  if (!first && !second)
    return c[0] * x.M(p.i, q.i) * y.S(p.j, q.j) * a_ / b_ +
           c[2] * x.S(p.i, q.i) * (own_twist ? y.M : y.A)(p.j, q.j) * b_ / a_;
  if (first) return c[1] * x.G(p.i, q.i) * y.G(q.j, p.j) + c[2] * x.G(q.i, p.i) * y.G(p.j, q.j);
  return c[1] * x.G(q.i, p.i) * y.G(p.j, q.j) + c[2] * x.G(p.i, q.i) * y.G(q.j, p.j);
}

double Energy::shear(const Function& p, const Function& q) const {
  const auto &x = x_, &y = y_;
  if (turn(p.field) && q.field == Field::w) return shear(q, p);
  if (p.field == Field::w && q.field == Field::w)
    return x.S(p.i, q.i) * y.M(p.j, q.j) * b_ / a_ + x.M(p.i, q.i) * y.S(p.j, q.j) * a_ / b_;
  if (p.field == Field::w)
    return q.field == Field::bx ? x.G(p.i, q.i) * y.M(p.j, q.j) * b_ : x.M(p.i, q.i) * y.G(p.j, q.j) * a_;
  if (p.field != q.field) return 0;
  return a_ * b_ * (p.field == Field::bx ? x.A(p.i, q.i) * y.M(p.j, q.j) : x.M(p.i, q.i) * y.A(p.j, q.j));
}

double Energy::stiffness(const Function& p, const Function& q) const {
  if (plane(p.field) != plane(q.field)) return 0;  // a plain plate: its middle is the middle of the material
  if (plane(p.field)) return stretch(s_.stretch, false, p, q);
  return s_.shear * shear(p, q) + (turn(p.field) && turn(q.field) ? stretch(s_.bending, true, p, q) : 0);
}

double Energy::mass(const Function& p, const Function& q) const {
  if (p.field != q.field) return 0;
  return (turn(p.field) ? s_.rotary : s_.mass) * a_ * b_ * x_.M(p.i, q.i) * y_.M(p.j, q.j);
}

bool free_modes(const BasisInputs& in, const Section& section, FreeModes& out) {
  const double aspect = std::sqrt(in.plate.length / in.plate.width);
  const int order_x = std::clamp(static_cast<int>(std::lround(in.order * aspect)), 5, in.columns - 2),
            order_y = std::clamp(static_cast<int>(std::lround(in.order / aspect)), 5, in.rows - 2);
  out.x = polynomials(in.columns, order_x);
  out.y = polynomials(in.rows, order_y);
  std::vector<Function> functions;
  add_functions(functions, Field::w, order_x, order_y, 0, 0);
  add_functions(functions, Field::bx, order_x, order_y, 1, 0);
  add_functions(functions, Field::by, order_x, order_y, 0, 1);
  const int plane_x = std::max(3, order_x - 2), plane_y = std::max(3, order_y - 2);
  add_functions(functions, Field::u, plane_x, plane_y, 0, 0);
  add_functions(functions, Field::v, plane_x, plane_y, 0, 0);
  out.functions = static_cast<int>(functions.size());
  out.blocks.resize(8);
  for (const Function& f : functions) out.blocks[class_of(f)].functions.push_back(f);
  for (Block& b : out.blocks)
    if (!solve_block(in, out, section, b)) return false;
  std::vector<std::pair<int, int>> order;
  for (std::size_t b = 0; b < out.blocks.size(); ++b)
    for (Index k = 0; k < out.blocks[b].squared.size(); ++k)
      order.emplace_back(static_cast<int>(b), static_cast<int>(k));
  std::stable_sort(order.begin(), order.end(), [&](const auto& l, const auto& r) {
    return out.blocks[static_cast<std::size_t>(l.first)].squared[l.second] <
           out.blocks[static_cast<std::size_t>(r.first)].squared[r.second];
  });
  out.squared.resize(static_cast<Index>(order.size()));
  for (Block& b : out.blocks) b.place.resize(static_cast<std::size_t>(b.squared.size()));
  out.rigid = in.edge == Edge::free ? 6 : 3;  // held by its edges it still slides
  for (std::size_t k = 0; k < order.size(); ++k) {
    Block& b = out.blocks[static_cast<std::size_t>(order[k].first)];
    b.place[static_cast<std::size_t>(order[k].second)] = static_cast<int>(k);
    out.squared[static_cast<Index>(k)] = static_cast<int>(k) < out.rigid ? 0 : b.squared[order[k].second];
  }
  return true;
}

}  // namespace fettle::structure
