#include "calc/structure/plate_element.h"

#include <cmath>

namespace fettle::structure {

namespace {

constexpr std::array<double, 4> sx = {-1, 1, 1, -1}, sy = {-1, -1, 1, 1};

std::size_t at(int i, int j, int n) { return static_cast<std::size_t>(i * n + j); }

void add_outer(std::array<double, 64>& m, const std::array<double, 8>& a, const std::array<double, 8>& b, double f) {
  for (int i = 0; i < 8; ++i)
    for (int j = 0; j < 8; ++j) m[at(i, j, 8)] += f * a[static_cast<std::size_t>(i)] * b[static_cast<std::size_t>(j)];
}

/// Strains at (xi, eta) of unit motions.
struct Strain {
  std::array<double, 8> x{}, y{}, shear{};
};
Strain strain(double xi, double eta, double dx, double dy) {
  Strain s;
  for (std::size_t c = 0; c < 4; ++c) {
    const double nx = sx[c] * (1 + sy[c] * eta) / (2 * dx), ny = sy[c] * (1 + sx[c] * xi) / (2 * dy);
    s.x[2 * c] = nx;
    s.y[2 * c + 1] = ny;
    s.shear[2 * c] = ny;
    s.shear[2 * c + 1] = nx;
  }
  return s;
}

/// Transverse shear along one edge from corner `a` to corner `b`: (w_b - w_a)/length + mean rotation.
std::array<double, 12> edge(int a, int b, double length, int rotation) {
  std::array<double, 12> g{};
  g[static_cast<std::size_t>(3 * a)] = -1 / length;
  g[static_cast<std::size_t>(3 * b)] = 1 / length;
  g[static_cast<std::size_t>(3 * a + rotation)] = 0.5;
  g[static_cast<std::size_t>(3 * b + rotation)] = 0.5;
  return g;
}
/// Energy of a shear that runs straight from one edge to the other.
std::array<double, 144> shear_energy(const std::array<double, 12>& p, const std::array<double, 12>& q, double area) {
  std::array<double, 144> m{};
  for (std::size_t i = 0; i < 12; ++i)
    for (std::size_t j = 0; j < 12; ++j)
      m[12 * i + j] = area / 3 * (p[i] * p[j] + q[i] * q[j] + (p[i] * q[j] + q[i] * p[j]) / 2);
  return m;
}

}  // namespace

ElementShapes element_shapes(double dx, double dy) {
  ElementShapes e;
  e.dx = dx, e.dy = dy;
  const double area = dx * dy, g = 1 / std::sqrt(3.0);
  for (double eta : {-g, g})
    for (double xi : {-g, g}) {
      const Strain s = strain(xi, eta, dx, dy);
      add_outer(e.q11, s.x, s.x, area / 4);
      add_outer(e.q11, s.y, s.y, area / 4);
      add_outer(e.q12, s.x, s.y, area / 4);
      add_outer(e.q12, s.y, s.x, area / 4);
      add_outer(e.q66, s.shear, s.shear, area / 4);
    }
  const Strain middle = strain(0, 0, dx, dy);
  add_outer(e.q66_middle, middle.shear, middle.shear, area);
  e.shear_x = shear_energy(edge(0, 1, dx, 1), edge(3, 2, dx, 1), area);
  e.shear_y = shear_energy(edge(0, 3, dy, 2), edge(1, 2, dy, 2), area);
  for (int i = 0; i < 4; ++i)
    for (int j = 0; j < 4; ++j) {
      const auto a = static_cast<std::size_t>(i), b = static_cast<std::size_t>(j);
      e.mass[at(i, j, 4)] = area / 16 * (1 + sx[a] * sx[b] / 3) * (1 + sy[a] * sy[b] / 3);
    }
  return e;
}

void element_matrices(const ElementShapes& e, const Section& s, bool thin, ElementMatrix& K, ElementMatrix& M) {
  K.fill(0);
  M.fill(0);
  // The part of the in-plane shear that varies over the element is left to bending about its own middle: otherwise
  // in-plane bending locks.
  const double own_twist = s.bending[2] - (s.stretch[2] > 0 ? s.coupling[2] * s.coupling[2] / s.stretch[2] : 0);
  const double grow = thin ? 1e4 : 1;
  for (int c = 0; c < 4; ++c)
    for (int d = 0; d < 4; ++d) {
      for (int p = 0; p < 2; ++p)
        for (int q = 0; q < 2; ++q) {
          const std::size_t k = at(2 * c + p, 2 * d + q, 8);
          const int bi = 5 * c + 1 + p, bj = 5 * d + 1 + q, ui = bi + 2, uj = bj + 2;
          const auto mix = [&](const std::array<double, 3>& m) {
            return m[0] * e.q11[k] + m[1] * e.q12[k] + m[2] * e.q66_middle[k];
          };
          K[at(ui, uj, 20)] += mix(s.stretch);
          K[at(bi, uj, 20)] += mix(s.coupling);
          K[at(ui, bj, 20)] += mix(s.coupling);
          K[at(bi, bj, 20)] += mix(s.bending) + own_twist * (e.q66[k] - e.q66_middle[k]);
        }
      for (int p = 0; p < 3; ++p)
        for (int q = 0; q < 3; ++q) {
          const std::size_t k = at(3 * c + p, 3 * d + q, 12);
          K[at(5 * c + p, 5 * d + q, 20)] += grow * s.shear * (e.shear_x[k] + e.shear_y[k]);
        }
      const double m = e.mass[at(c, d, 4)];
      M[at(5 * c, 5 * d, 20)] += s.mass * m;
      for (int p = 1; p < 3; ++p) {
        M[at(5 * c + p, 5 * d + p, 20)] += thin ? 0 : s.rotary * m;
        M[at(5 * c + p + 2, 5 * d + p + 2, 20)] += s.mass * m;
        if (thin) continue;
        M[at(5 * c + p, 5 * d + p + 2, 20)] += s.moment * m;
        M[at(5 * c + p + 2, 5 * d + p, 20)] += s.moment * m;
      }
    }
}

}  // namespace fettle::structure
