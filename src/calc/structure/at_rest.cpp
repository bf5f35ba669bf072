#include "calc/structure/at_rest.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "calc/structure/modes.h"
#include "calc/structure/two.h"
#include "maths/linear.h"

namespace fettle::structure {

namespace {

constexpr std::size_t ways = Sprung::ways;
std::size_t ix(int i) { return static_cast<std::size_t>(i); }

/// All loads side by side: nine of each anchor, then three of each point or six of each part.
struct Loads {
  std::vector<double> value;
  std::size_t count = 0, width = 0;
};

std::string loads_of(const AtRestInputs& in, const System& s, int padded, AtRest& out, Loads& l) {
  std::vector<Anchor> all = in.plate.anchors;
  all.insert(all.end(), in.tried.begin(), in.tried.end());
  l.count = ways * all.size() + (in.parts ? 6 * s.parts.size() : 3 * in.plate.points.size());
  l.width = (l.count + 3) / 4 * 4;
  l.value.assign(ix(padded) * l.width, 0.0);
  for (std::size_t a = 0; a < all.size(); ++a) {
    const Sprung f = sprung(s, in.plate, all[a]);
    if (f.freedom.empty()) return "an anchor that is tried lies off the plate";
    const bool stated = a < in.plate.anchors.size();
    out.up.push_back(stated ? all[a].up : 0), out.side.push_back(stated ? all[a].side : 0);
    out.polar.push_back(f.polar);
    for (std::size_t k = 0; k < f.freedom.size(); ++k)
      for (std::size_t w = 0; w < ways; ++w) l.value[ix(f.freedom[k]) * l.width + ways * a + w] += f.weight[k][w];
  }
  out.anchors = static_cast<int>(all.size());
  for (std::size_t p = 0; in.parts && p < s.parts.size(); ++p) {
    const Tie& tie = s.parts[p];
    out.middle.push_back({tie.x, tie.y});
    for (std::size_t k = 0; k < tie.freedom.size(); ++k)
      for (std::size_t d = 0; d < 6; ++d)
        l.value[ix(tie.freedom[k]) * l.width + ways * all.size() + 6 * p + d] += tie.weight[k][d];
  }
  for (std::size_t p = 0; !in.parts && p < in.plate.points.size(); ++p) {
    const Column3 c = point_column(s, in.plate, in.plate.points[p]);
    if (c.freedom.empty()) return "point " + std::to_string(p + 1) + " lies off the plate";
    for (std::size_t k = 0; k < c.freedom.size(); ++k)
      for (std::size_t d = 0; d < 3; ++d)
        l.value[ix(c.freedom[k]) * l.width + ways * all.size() + 3 * p + d] += c.weight[k][d];
  }
  return {};
}

/// The last load solved in full against K.
double residual_of(const System& s, const Band& band, const Loads& l) {
  constexpr std::size_t wide = 4;
  std::vector<double> x(ix(band.padded()) * wide, 0.0), kx(x.size(), 0.0);
  for (std::size_t r = 0; r < ix(s.count); ++r) x[r * wide] = l.value[r * l.width + l.count - 1];
  const std::vector<double> f = x;
  band.solve(x.data(), static_cast<int>(wide));
  multiply(s.K, x.data(), kx.data(), static_cast<int>(wide));
  double rest = 0, norm = 0;
  for (std::size_t r = 0; r < ix(s.count); ++r) {
    rest += (kx[r * wide] - f[r * wide]) * (kx[r * wide] - f[r * wide]);
    norm += f[r * wide] * f[r * wide];
  }
  return norm > 0 ? std::sqrt(rest / norm) : 0;
}

}  // namespace

AtRest at_rest(const AtRestInputs& in) {
  AtRest out;
  out.why = problem_of(in.plate);
  return out.why.empty() ? at_rest(Factored(in.plate), in) : out;
}

AtRest at_rest(const Factored& plate, const AtRestInputs& in) {
  AtRest out;
  const System& s = plate.system();
  if (!plate.why().empty() || in.plate.anchors.empty()) {
    out.why = plate.why().empty() ? nothing_holds : plate.why();
    return out;
  }
  const Band& band = plate.held().band();
  Loads l;
  out.why = loads_of(in, s, band.padded(), out, l);
  if (!out.why.empty()) return out;
  out.residual = residual_of(s, band, l);
  if (!(out.residual <= sure_enough)) {
    out.why = not_sure;
    return out;
  }
  band.forward(l.value.data(), static_cast<int>(l.width));
  // With K = L L^T what one load gives at another is the product of their halves. Padded rows are zero: four at a time.
  std::vector<double> product(l.width * l.width, 0.0);
  for (std::size_t r = 0; r < ix(s.count); r += 4) {
    const double *a = l.value.data() + r * l.width, *b = a + l.width, *c = b + l.width, *d = c + l.width;
    for (std::size_t i = 0; i < l.count; ++i) {
      double* to = product.data() + i * l.width;
      const Two ai = both(a[i]), bi = both(b[i]), ci = both(c[i]), di = both(d[i]);
      for (std::size_t j = 0; j <= i; j += 2)
        store(to + j, load(to + j) + ((ai * load(a + j) + bi * load(b + j)) + (ci * load(c + j) + di * load(d + j))));
    }
  }
  out.give.assign(l.count * l.count, 0.0);
  for (std::size_t i = 0; i < l.count; ++i)
    for (std::size_t j = 0; j <= i; ++j)
      out.give[j * l.count + i] = out.give[i * l.count + j] = product[i * l.width + j];
  out.ok = true;
  return out;
}

namespace {

/// Compliance of each of what was asked, `N` x `N`, with the anchors as given; empty: see give_with.
template <std::size_t N>
std::vector<std::array<double, N * N>> asked_with(const AtRest& plate, const std::vector<double>& up,
                                                  const std::vector<double>& side) {
  const std::size_t anchors = ix(plate.anchors);
  if (!plate.ok || up.size() != anchors || side.size() != anchors) return {};
  const auto n = static_cast<std::size_t>(std::llround(std::sqrt(static_cast<double>(plate.give.size()))));
  std::vector<std::size_t> which;  // loads of the anchors that change, and by how much
  std::vector<double> more;
  for (std::size_t a = 0; a < anchors; ++a)
    for (std::size_t w = 0; w < ways; ++w) {
      const double d = w < 6   ? up[a] - plate.up[a]
                       : w < 8 ? side[a] - plate.side[a]
                               : (side[a] - plate.side[a]) * plate.polar[a];
      if (!std::isfinite(d)) return {};
      if (d != 0) which.push_back(ways * a + w), more.push_back(d);
    }
  const std::size_t m = which.size(), first = ways * anchors, asked = (n - first) / N;
  // C - C_pa (1 + D C_aa)^-1 D C_ap
  maths::Matrix change(m, m);
  for (std::size_t i = 0; i < m; ++i)
    for (std::size_t j = 0; j < m; ++j) change(i, j) = (i == j ? 1 : 0) + more[i] * plate.give[which[i] * n + which[j]];
  maths::Matrix small;
  if (m > 0) {
    const std::optional<maths::Matrix> inverse = maths::inverse(change);
    if (!inverse) return {};
    small = *inverse;
    for (std::size_t i = 0; i < m; ++i)
      for (std::size_t j = 0; j < m; ++j) small(i, j) *= more[j];
  }
  std::vector<std::array<double, N * N>> out(asked);
  std::vector<double> to(N * m);
  for (std::size_t p = 0; p < asked; ++p) {
    const std::size_t at = first + N * p;
    for (std::size_t d = 0; d < N; ++d)
      for (std::size_t i = 0; i < m; ++i) {
        double sum = 0;
        for (std::size_t j = 0; j < m; ++j) sum += small(i, j) * plate.give[which[j] * n + at + d];
        to[d * m + i] = sum;
      }
    for (std::size_t a = 0; a < N; ++a)
      for (std::size_t b = 0; b < N; ++b) {
        double c = plate.give[(at + a) * n + at + b];
        for (std::size_t i = 0; i < m; ++i) c -= plate.give[which[i] * n + at + a] * to[b * m + i];
        out[p][N * a + b] = c;
      }
    for (std::size_t a = 0; a < N; ++a)
      if (!(out[p][N * a + a] > 0)) return {};
  }
  return out;
}

}  // namespace

std::vector<std::array<double, 9>> give_with(const AtRest& plate, const std::vector<double>& up,
                                             const std::vector<double>& side) {
  if (!plate.middle.empty()) return {};
  return asked_with<3>(plate, up, side);
}

std::vector<std::array<double, 36>> parts_with(const AtRest& plate, const std::vector<double>& up,
                                               const std::vector<double>& side) {
  if (plate.middle.empty()) return {};
  return asked_with<6>(plate, up, side);
}

}  // namespace fettle::structure
