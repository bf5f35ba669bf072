// The largest multiplier of a map: Arnoldi's iteration, with the residual of what it found.
#include <algorithm>
#include <array>
#include <cmath>

#include "calc/chatter/floquet_map.h"

namespace fettle::chatter {

namespace {

using Complex = std::complex<double>;
using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

/// a/b without care for overflow.
Complex over(Complex a, Complex b) { return a * std::conj(b) * (1 / std::norm(b)); }

/// The unit eigenvector of an upper Hessenberg matrix, by inverse iteration.
Eigen::VectorXcd vector_of(const MatrixXd& h, Complex value) {
  const Index m = h.rows();
  Eigen::MatrixXcd a = h.cast<Complex>();
  a.diagonal().array() -= value * (1 + 1e-13) + 1e-300;
  std::vector<bool> swapped(static_cast<std::size_t>(m), false);
  std::vector<Complex> factor(static_cast<std::size_t>(m), 0);
  for (Index k = 0; k + 1 < m; ++k) {
    if (std::abs(a(k + 1, k)) > std::abs(a(k, k))) {
      a.row(k).swap(a.row(k + 1));
      swapped[static_cast<std::size_t>(k)] = true;
    }
    if (std::abs(a(k, k)) < 1e-140) a(k, k) = 1e-140;
    const Complex f = over(a(k + 1, k), a(k, k));
    factor[static_cast<std::size_t>(k)] = f;
    for (Index j = k; j < m; ++j) a(k + 1, j) -= f * a(k, j);
  }
  if (std::abs(a(m - 1, m - 1)) < 1e-140) a(m - 1, m - 1) = 1e-140;
  Eigen::VectorXcd v = Eigen::VectorXcd::Ones(m);
  for (int round = 0; round < 2; ++round) {
    for (Index k = 0; k + 1 < m; ++k) {
      if (swapped[static_cast<std::size_t>(k)]) std::swap(v(k), v(k + 1));
      v(k + 1) -= factor[static_cast<std::size_t>(k)] * v(k);
    }
    for (Index k = m - 1; k >= 0; --k) {
      Complex sum = v(k);
      for (Index j = k + 1; j < m; ++j) sum -= a(k, j) * v(j);
      v(k) = over(sum, a(k, k));
    }
    v /= v.norm();
  }
  return v;
}

/// Roots of x^2 - sum x + product of the block at the end; the larger first.
std::array<Complex, 2> roots(const MatrixXd& h, Index i) {
  const double half = 0.5 * (h(i, i) + h(i + 1, i + 1)), apart = 0.5 * (h(i, i) - h(i + 1, i + 1)),
               rest = apart * apart + h(i, i + 1) * h(i + 1, i);
  if (rest < 0) return {Complex(half, std::sqrt(-rest)), Complex(half, -std::sqrt(-rest))};
  const double big = half + std::copysign(std::sqrt(rest), half);
  return {Complex(big, 0), Complex(2 * half - big, 0)};
}

/// Eigenvalue of largest magnitude of an upper Hessenberg matrix: Francis's double steps on the part still at work, no
/// vectors (J. G. F. Francis 1961). Not a number when it does not settle.
Complex largest_of(MatrixXd h) {
  Complex best = 0;
  const auto take = [&](Complex value) {
    if (std::norm(value) > std::norm(best)) best = value;
  };
  const double scale = h.cwiseAbs().maxCoeff();
  Index hi = h.rows() - 1;
  for (int round = 0; hi >= 0;) {
    Index lo = hi;
    for (; lo > 0; --lo) {
      const double near = std::fabs(h(lo, lo)) + std::fabs(h(lo - 1, lo - 1));
      if (!(std::fabs(h(lo, lo - 1)) > 2.3e-16 * std::max(near, scale))) break;
    }
    if (hi - lo <= 1) {
      if (lo == hi) take(h(hi, hi));
      else take(roots(h, lo)[0]);
      hi = lo - 1, round = 0;
      continue;
    }
    if (++round > 60 || !std::isfinite(h(hi, hi))) return {NAN, NAN};
    double sum = h(hi, hi) + h(hi - 1, hi - 1), product = h(hi, hi) * h(hi - 1, hi - 1) - h(hi, hi - 1) * h(hi - 1, hi);
    if (round % 10 == 0) {  // a shift from elsewhere, when the usual ones go in a circle
      const double w = std::fabs(h(hi, hi - 1)) + std::fabs(h(hi - 1, hi - 2)), at = h(hi, hi);
      sum = 1.5 * w + 2 * at, product = w * w + 1.5 * w * at + at * at;
    }
    double x = h(lo, lo) * (h(lo, lo) - sum) + product + h(lo, lo + 1) * h(lo + 1, lo),
           y = h(lo + 1, lo) * (h(lo, lo) + h(lo + 1, lo + 1) - sum), z = h(lo + 1, lo) * h(lo + 2, lo + 1);
    for (Index k = lo; k < hi; ++k) {
      const bool three = k + 1 < hi;
      if (!three) z = 0;
      const double most = std::fabs(x) + std::fabs(y) + std::fabs(z);
      if (most > 0) {
        x /= most, y /= most, z /= most;
        const double size = std::copysign(std::sqrt(x * x + y * y + z * z), x), u = x + size, f = 1 / (size * u);
        if (k > lo) {
          h(k, k - 1) = -size * most, h(k + 1, k - 1) = 0;
          if (three) h(k + 2, k - 1) = 0;
        }
        for (Index j = k; j <= hi; ++j) {
          const double d = f * (u * h(k, j) + y * h(k + 1, j) + (three ? z * h(k + 2, j) : 0));
          h(k, j) -= d * u, h(k + 1, j) -= d * y;
          if (three) h(k + 2, j) -= d * z;
        }
        for (Index i = lo; i <= std::min(hi, k + 3); ++i) {
          const double d = f * (u * h(i, k) + y * h(i, k + 1) + (three ? z * h(i, k + 2) : 0));
          h(i, k) -= d * u, h(i, k + 1) -= d * y;
          if (three) h(i, k + 2) -= d * z;
        }
      }
      x = h(k + 1, k), y = k + 2 <= hi ? h(k + 2, k) : 0, z = k + 3 <= hi ? h(k + 3, k) : 0;
    }
  }
  return best;
}

}  // namespace

FloquetMap::Largest FloquetMap::largest(double depth) {
  factor(depth);
  const Index all = static_cast<Index>(events_.size()), size = 2 * static_cast<Index>(modes_.size()) + all;
  VectorXd start(size), next(size);
  for (Index i = 0; i < size; ++i) start(i) = 1 + 0.5 * std::sin(1.7 * static_cast<double>(i * i) + 0.3);
  start /= start.norm();
  const bool warm = warm_.size() == size;
  if (warm) start = warm_ + warm_imaginary_ + 0.25 * start;
  const Index room = std::min<Index>(size, 40) + 1;
  if (basis_.rows() != size || basis_.cols() < room) basis_.resize(size, room);
  MatrixXd h = MatrixXd::Zero(basis_.cols(), basis_.cols() - 1);
  basis_.col(0) = start / start.norm();
  Largest best;
  Index look = std::min<Index>(size, warm ? 6 : 12);
  for (Index k = 0; k < size; ++k) {
    if (k + 1 >= basis_.cols()) {
      basis_.conservativeResize(Eigen::NoChange, std::min(size, 2 * k) + 2);
      MatrixXd wider = MatrixXd::Zero(basis_.cols(), basis_.cols() - 1);
      wider.topLeftCorner(h.rows(), h.cols()) = h;
      h = wider;
    }
    step(basis_.col(k), next);
    for (int round = 0; round < 2; ++round) {
      const VectorXd part = basis_.leftCols(k + 1).transpose() * next;
      next.noalias() -= basis_.leftCols(k + 1) * part;
      h.col(k).head(k + 1) += part;
    }
    const double rest = next.norm();
    h(k + 1, k) = rest;
    const bool closed = !(rest > 1e-13) || k + 1 == size;
    if (closed || k + 1 == look) {
      const MatrixXd small = h.topLeftCorner(k + 1, k + 1);
      best.mu = largest_of(small);
      if (!std::isfinite(best.mu.real())) return best;
      const Eigen::VectorXcd v = vector_of(small, best.mu);
      best.sure = closed || rest * std::abs(v(k)) <= 1e-6 * std::abs(best.mu);
      if (best.sure) {
        mu_ = best.mu;
        warm_.noalias() = basis_.leftCols(k + 1) * v.real();
        warm_imaginary_.noalias() = basis_.leftCols(k + 1) * v.imag();
        return best;
      }
      look = std::min(size, k + 1 + std::max<Index>(2, (k + 1) / 4));
    }
    basis_.col(k + 1) = next / rest;
  }
  return best;
}

}  // namespace fettle::chatter
