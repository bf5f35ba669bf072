#pragma once
// Sixteen-point Gauss-Legendre rule in panels: what the integrals of this science are summed with.
#include <array>
#include <cmath>

namespace fettle::bore {

/// Nodes and weights of Gauss and Legendre on (0, 1), worked out once by Newton's method.
struct GaussRule {
  std::array<double, 16> x{}, w{};
};
const GaussRule& gauss_rule();

/// Integral of f from a to b in `panels` equal panels. b <= a gives 0.
template <class F>
double integral(const F& f, double a, double b, int panels) {
  if (!(b > a)) return 0;
  const GaussRule& g = gauss_rule();
  const double h = (b - a) / panels;
  double sum = 0;
  for (int p = 0; p < panels; ++p)
    for (std::size_t i = 0; i < g.x.size(); ++i) sum += g.w[i] * f(a + h * (p + g.x[i]));
  return h * sum;
}

}  // namespace fettle::bore
