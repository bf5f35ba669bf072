#include "calc/structure/band.h"

#include <algorithm>
#include <cmath>

#include "calc/structure/two.h"

namespace fettle::structure {

namespace {

constexpr int W = Band::wide;
constexpr std::size_t block = static_cast<std::size_t>(W) * W;

constexpr double lost = 1e-13;  ///< a pivot this much smaller than its diagonal is rounding

/// c (4 x 4 of a block, columns W apart) -= sum over k of a[., k] b[., k]^T; a and b point at 4 rows of panels.
inline void less_outer(double* c, const double* a, const double* b, int count) {
  Two c00 = load(c), c10 = load(c + 2), c01 = load(c + W), c11 = load(c + W + 2);
  Two c02 = load(c + 2 * W), c12 = load(c + 2 * W + 2), c03 = load(c + 3 * W), c13 = load(c + 3 * W + 2);
  for (int k = 0; k < count; ++k, a += W, b += W) {
    const Two a0 = load(a), a1 = load(a + 2);
    const Two b0 = both(b[0]), b1 = both(b[1]), b2 = both(b[2]), b3 = both(b[3]);
    c00 -= a0 * b0;
    c10 -= a1 * b0;
    c01 -= a0 * b1;
    c11 -= a1 * b1;
    c02 -= a0 * b2;
    c12 -= a1 * b2;
    c03 -= a0 * b3;
    c13 -= a1 * b3;
  }
  store(c, c00), store(c + 2, c10), store(c + W, c01), store(c + W + 2, c11);
  store(c + 2 * W, c02), store(c + 2 * W + 2, c12), store(c + 3 * W, c03), store(c + 3 * W + 2, c13);
}

/// x (4 rows of right sides, 4 of them) -= sum over k of l[., k] y[k, .]; rows of x and y are `stride` apart, columns
/// of l W apart.
inline void less_product(double* x, const double* l, const double* y, int count, std::ptrdiff_t stride) {
  double *x0 = x, *x1 = x + stride, *x2 = x + 2 * stride, *x3 = x + 3 * stride;
  Two c00 = load(x0), c01 = load(x0 + 2), c10 = load(x1), c11 = load(x1 + 2);
  Two c20 = load(x2), c21 = load(x2 + 2), c30 = load(x3), c31 = load(x3 + 2);
  for (int k = 0; k < count; ++k, l += W, y += stride) {
    const Two y0 = load(y), y1 = load(y + 2);
    const Two l0 = both(l[0]), l1 = both(l[1]), l2 = both(l[2]), l3 = both(l[3]);
    c00 -= l0 * y0;
    c01 -= l0 * y1;
    c10 -= l1 * y0;
    c11 -= l1 * y1;
    c20 -= l2 * y0;
    c21 -= l2 * y1;
    c30 -= l3 * y0;
    c31 -= l3 * y1;
  }
  store(x0, c00), store(x0 + 2, c01), store(x1, c10), store(x1 + 2, c11);
  store(x2, c20), store(x2 + 2, c21), store(x3, c30), store(x3 + 2, c31);
}

/// x (4 rows, 4 right sides) -= l^T y over the W rows of a panel: l points at the first of 4 columns.
inline void less_transposed(double* x, const double* l, const double* y, std::ptrdiff_t stride) {
  double *x0 = x, *x1 = x + stride, *x2 = x + 2 * stride, *x3 = x + 3 * stride;
  Two c00 = load(x0), c01 = load(x0 + 2), c10 = load(x1), c11 = load(x1 + 2);
  Two c20 = load(x2), c21 = load(x2 + 2), c30 = load(x3), c31 = load(x3 + 2);
  for (int k = 0; k < W; ++k, ++l, y += stride) {
    const Two y0 = load(y), y1 = load(y + 2);
    const Two l0 = both(l[0]), l1 = both(l[W]), l2 = both(l[2 * W]), l3 = both(l[3 * W]);
    c00 -= l0 * y0;
    c01 -= l0 * y1;
    c10 -= l1 * y0;
    c11 -= l1 * y1;
    c20 -= l2 * y0;
    c21 -= l2 * y1;
    c30 -= l3 * y0;
    c31 -= l3 * y1;
  }
  store(x0, c00), store(x0 + 2, c01), store(x1, c10), store(x1 + 2, c11);
  store(x2, c20), store(x2 + 2, c21), store(x3, c30), store(x3 + 2, c31);
}

/// Cholesky of a block in place (lower half; the upper one is cleared) and the inverse of the factor.
bool factor_block(double* c, double* inverse, const double* diagonal) {
  for (int j = 0; j < W; ++j) {
    double d = c[j * W + j];
    for (int k = 0; k < j; ++k) d -= c[k * W + j] * c[k * W + j];
    if (!(d > lost * diagonal[j]) || !std::isfinite(d)) return false;
    d = std::sqrt(d);
    c[j * W + j] = d;
    for (int i = j + 1; i < W; ++i) {
      double s = c[j * W + i];
      for (int k = 0; k < j; ++k) s -= c[k * W + i] * c[k * W + j];
      c[j * W + i] = s / d;
    }
    for (int i = 0; i < j; ++i) c[j * W + i] = 0;
  }
  std::fill(inverse, inverse + block, 0.0);
  for (int j = 0; j < W; ++j) {
    inverse[j * W + j] = 1 / c[j * W + j];
    for (int i = j + 1; i < W; ++i) {
      double s = 0;
      for (int k = j; k < i; ++k) s -= c[k * W + i] * inverse[j * W + k];
      inverse[j * W + i] = s / c[i * W + i];
    }
  }
  return true;
}

}  // namespace

Band::Band(const std::vector<int>& first) : n_(static_cast<int>(first.size())) {
  const int count = (n_ + W - 1) / W;
  std::size_t total = 0;
  for (int p = 0; p < count; ++p) {
    int low = p * W;
    for (int i = p * W; i < std::min(n_, (p + 1) * W); ++i) low = std::min(low, first[static_cast<std::size_t>(i)]);
    const int start = low / W * W;
    panels_.push_back({start, total});
    total += static_cast<std::size_t>(((p + 1) * W - start) * W);
  }
  value_.assign(total, 0.0);
  inverse_.assign(static_cast<std::size_t>(count) * block, 0.0);
  for (int i = n_; i < count * W; ++i) add(i, i, 1);
}

void Band::add(int i, int j, double value) { column(panels_[static_cast<std::size_t>(i / W)], j)[i % W] += value; }

bool Band::factor() {
  const int count = static_cast<int>(panels_.size());
  double turned[block], diagonal[W];
  for (int p = 0; p < count; ++p) {
    const Panel& row = panels_[static_cast<std::size_t>(p)];
    for (int i = 0; i < W; ++i) diagonal[i] = column(row, p * W + i)[i];
    for (int q = row.first / W; q <= p; ++q) {
      const Panel& other = panels_[static_cast<std::size_t>(q)];
      double* c = column(row, q * W);
      const int start = std::max(row.first, other.first), terms = q * W - start;
      if (terms > 0) {
        const double *a = column(row, start), *b = column(other, start);
        for (int j = 0; j < W; j += 4)
          for (int i = 0; i < W; i += 4) less_outer(c + j * W + i, a + i, b + j, terms);
      }
      double* inverse = inverse_.data() + static_cast<std::size_t>(q) * block;
      if (q == p) {
        if (!factor_block(c, inverse, diagonal)) return false;
        continue;
      }
      std::fill(turned, turned + block, 0.0);
      for (int j = 0; j < W; j += 4)
        for (int i = 0; i < W; i += 4) less_outer(turned + j * W + i, c + i, inverse + j, j + 4);
      for (std::size_t k = 0; k < block; ++k) c[k] = -turned[k];
    }
  }
  return true;
}

void Band::forward(double* x, int count, int from) const {
  const int panels = static_cast<int>(panels_.size());
  const std::ptrdiff_t stride = count;
  std::vector<double> kept(static_cast<std::size_t>(W * count));
  const int start_row = from / W * W;
  for (int p = from / W; p < panels; ++p) {
    const Panel& row = panels_[static_cast<std::size_t>(p)];
    double* mine = x + static_cast<std::ptrdiff_t>(p) * W * stride;
    const int start = std::max(row.first, start_row), terms = p * W - start;
    const double* inverse = inverse_.data() + static_cast<std::size_t>(p) * block;
    if (terms > 0) {
      const double *l = column(row, start), *y = x + start * stride;
      for (int r = 0; r < count; r += 4)
        for (int i = 0; i < W; i += 4) less_product(mine + i * stride + r, l + i, y + r, terms, stride);
    }
    for (std::size_t k = 0; k < kept.size(); ++k) kept[k] = -mine[k];
    std::fill(mine, mine + W * stride, 0.0);
    for (int r = 0; r < count; r += 4)
      for (int i = 0; i < W; i += 4) less_product(mine + i * stride + r, inverse + i, kept.data() + r, i + 4, stride);
  }
}

void Band::backward(double* x, int count) const {
  const std::ptrdiff_t stride = count;
  std::vector<double> kept(static_cast<std::size_t>(W * count));
  for (int p = static_cast<int>(panels_.size()) - 1; p >= 0; --p) {
    const Panel& row = panels_[static_cast<std::size_t>(p)];
    double* mine = x + static_cast<std::ptrdiff_t>(p) * W * stride;
    const double* inverse = inverse_.data() + static_cast<std::size_t>(p) * block;
    for (std::size_t k = 0; k < kept.size(); ++k) kept[k] = -mine[k];
    std::fill(mine, mine + W * stride, 0.0);
    for (int r = 0; r < count; r += 4)
      for (int i = 0; i < W; i += 4) less_transposed(mine + i * stride + r, inverse + i * W, kept.data() + r, stride);
    for (int k = row.first; k < p * W; k += 4)
      for (int r = 0; r < count; r += 4) less_transposed(x + k * stride + r, column(row, k), mine + r, stride);
  }
}

}  // namespace fettle::structure
