#include "calc/structure/modes.h"

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "calc/structure/two.h"
#include "maths/linear.h"

namespace fettle::structure {

namespace {

constexpr int B = 8;             ///< vectors of a block
constexpr double enough = 1e-6;  ///< of a vector; of a frequency it is the square of that

std::size_t ix(int i) { return static_cast<std::size_t>(i); }

using Block = std::vector<double>;  ///< padded rows x B
using Small = std::array<double, B * B>;

/// h = a' b over the rows.
Small product(const Block& a, const Block& b) {
  Small h{};
  const std::size_t rows = a.size() / B;
  for (int i = 0; i < B; i += 4)
    for (int j = 0; j < B; j += 4) {
      Two s[4][2] = {};
      const double *p = a.data() + i, *q = b.data() + j;
      for (std::size_t r = 0; r < rows; ++r, p += B, q += B) {
        const Two q0 = load(q), q1 = load(q + 2);
        for (int k = 0; k < 4; ++k) {
          const Two v = both(p[k]);
          s[k][0] += v * q0;
          s[k][1] += v * q1;
        }
      }
      for (int k = 0; k < 4; ++k) {
        store(h.data() + (i + k) * B + j, s[k][0]);
        store(h.data() + (i + k) * B + j + 2, s[k][1]);
      }
    }
  return h;
}
/// w += f a h, row by row.
void add_product(Block& w, const Block& a, const Small& h, double f) {
  Small g = h;
  for (double& v : g) v *= f;
  const std::size_t rows = a.size() / B;
  const double* p = a.data();
  double* out = w.data();
  for (std::size_t r = 0; r < rows; ++r, p += B, out += B) {
    Two s0 = load(out), s1 = load(out + 2), s2 = load(out + 4), s3 = load(out + 6);
    const double* row = g.data();
    for (int k = 0; k < B; ++k, row += B) {
      const Two v = both(p[k]);
      s0 += v * load(row);
      s1 += v * load(row + 2);
      s2 += v * load(row + 4);
      s3 += v * load(row + 6);
    }
    store(out, s0), store(out + 2, s1), store(out + 4, s2), store(out + 6, s3);
  }
}

/// A number from -1 to 1 that its place alone decides.
double noise(std::uint64_t place) {
  std::uint64_t z = (place + 1) * 0x9e3779b97f4a7c15ull;
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ull;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebull;
  return static_cast<double>((z ^ (z >> 31)) >> 11) * 0x1.0p-52 - 1;
}

/// w := w R^-1 with w' m w = 1, m = M w kept alike; R B x B upper. A vector that holds nothing new is cleared.
void normalise(Block& w, Block& m, Small& R) {
  Small g = product(w, m);
  Small r{};  // upper, g = r' r
  std::array<bool, B> empty{};
  double largest = 0;
  for (int i = 0; i < B; ++i) largest = std::max(largest, g[ix(i * B + i)]);
  for (int i = 0; i < B; ++i) {
    double d = g[ix(i * B + i)];
    for (int k = 0; k < i; ++k) d -= r[ix(k * B + i)] * r[ix(k * B + i)];
    if (!(d > 1e-20 * largest)) {
      empty[ix(i)] = true;
      continue;
    }
    r[ix(i * B + i)] = std::sqrt(d);
    for (int j = i + 1; j < B; ++j) {
      double s = g[ix(i * B + j)];
      for (int k = 0; k < i; ++k) s -= r[ix(k * B + i)] * r[ix(k * B + j)];
      r[ix(i * B + j)] = s / r[ix(i * B + i)];
    }
  }
  Small inverse{};
  for (int j = 0; j < B; ++j) {
    if (empty[ix(j)]) continue;
    inverse[ix(j * B + j)] = 1 / r[ix(j * B + j)];
    for (int i = j - 1; i >= 0; --i) {
      if (empty[ix(i)]) continue;
      double s = 0;
      for (int k = i + 1; k <= j; ++k) s -= r[ix(i * B + k)] * inverse[ix(k * B + j)];
      inverse[ix(i * B + j)] = s / r[ix(i * B + i)];
    }
  }
  Block v(w.size(), 0.0), mv(w.size(), 0.0);
  add_product(v, w, inverse, 1);
  add_product(mv, m, inverse, 1);
  w.swap(v);
  m.swap(mv);
  Small total{};
  for (int i = 0; i < B; ++i)
    for (int j = 0; j < B; ++j)
      for (int k = 0; k < B; ++k) total[ix(i * B + j)] += r[ix(i * B + k)] * R[ix(k * B + j)];
  R = total;
}

}  // namespace

void multiply_mass(const System& s, const double* x, double* y, int count) {
  multiply(s.M, x, y, count);
  const std::size_t m = ix(count);
  std::vector<double> q(6 * m), f(6 * m);
  for (std::size_t p = 0; p < s.parts.size(); ++p) {
    const Tie& t = s.parts[p];
    std::fill(q.begin(), q.end(), 0.0);
    std::fill(f.begin(), f.end(), 0.0);
    for (std::size_t k = 0; k < t.freedom.size(); ++k)
      for (std::size_t i = 0; i < 6; ++i)
        for (std::size_t c = 0; c < m; ++c) q[i * m + c] += t.weight[k][i] * x[ix(t.freedom[k]) * m + c];
    for (std::size_t i = 0; i < 6; ++i)
      for (std::size_t j = 0; j < 6; ++j)
        for (std::size_t c = 0; c < m; ++c) f[i * m + c] += s.part_mass[p][6 * i + j] * q[j * m + c];
    for (std::size_t k = 0; k < t.freedom.size(); ++k)
      for (std::size_t i = 0; i < 6; ++i)
        for (std::size_t c = 0; c < m; ++c) y[ix(t.freedom[k]) * m + c] += t.weight[k][i] * f[i * m + c];
  }
}

Held::Held(const System& system, double shift) : system_(&system), band_(band_of(system, shift)), shift_(shift) {
  ok_ = band_.factor();
  if (!ok_ || shift == 0 || system.parts.empty()) return;
  // parts' masses join as a small update of the band
  ties_ = 6 * static_cast<int>(system.parts.size());
  width_ = (ties_ + 3) / 4 * 4;
  spread_.assign(ix(padded()) * ix(width_), 0.0);
  for (std::size_t p = 0; p < system.parts.size(); ++p)
    for (std::size_t k = 0; k < system.parts[p].freedom.size(); ++k)
      for (std::size_t i = 0; i < 6; ++i)
        spread_[ix(system.parts[p].freedom[k]) * ix(width_) + 6 * p + i] += system.parts[p].weight[k][i];
  band_.solve(spread_.data(), width_);
  const std::size_t n = ix(ties_);
  maths::Matrix m(n, n), c(n, n);
  for (std::size_t p = 0; p < system.parts.size(); ++p) {
    for (std::size_t i = 0; i < 6; ++i)
      for (std::size_t j = 0; j < 6; ++j) m(6 * p + i, 6 * p + j) = shift * system.part_mass[p][6 * i + j];
    const Tie& t = system.parts[p];
    for (std::size_t k = 0; k < t.freedom.size(); ++k)
      for (std::size_t i = 0; i < 6; ++i)
        for (std::size_t j = 0; j < n; ++j)
          c(6 * p + i, j) += t.weight[k][i] * spread_[ix(t.freedom[k]) * ix(width_) + j];
  }
  maths::Matrix a = maths::product(m, c);
  for (std::size_t i = 0; i < n; ++i) a(i, i) += 1;
  const std::optional<maths::Matrix> back = maths::inverse(a);
  ok_ = back.has_value();
  if (ok_) small_ = maths::product(*back, m).a;
}

void Held::solve(double* x, int count) const {
  band_.solve(x, count);
  if (ties_ == 0) return;
  const std::size_t n = ix(ties_), m = ix(count);
  std::vector<double> q(n * m), f(n * m);
  for (std::size_t p = 0; p < system_->parts.size(); ++p) {
    const Tie& t = system_->parts[p];
    for (std::size_t k = 0; k < t.freedom.size(); ++k)
      for (std::size_t i = 0; i < 6; ++i)
        for (std::size_t c = 0; c < m; ++c) q[(6 * p + i) * m + c] += t.weight[k][i] * x[ix(t.freedom[k]) * m + c];
  }
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j)
      for (std::size_t c = 0; c < m; ++c) f[i * m + c] += small_[i * n + j] * q[j * m + c];
  for (std::size_t r = 0; r < ix(band_.size()); ++r)
    for (std::size_t j = 0; j < n; ++j)
      for (std::size_t c = 0; c < m; ++c) x[r * m + c] -= spread_[r * ix(width_) + j] * f[j * m + c];
}

Modes lowest_modes(const System& s, const Held& held, int count) {
  Modes out;
  if (count <= 0) {
    out.ok = true;
    return out;
  }
  count = std::min(count, s.count);
  const std::size_t size = ix(held.padded()) * B;
  const int most = std::min(s.count / B, (4 * count + 64) / B);
  std::vector<Block> V, MV;
  std::vector<std::vector<Small>> H;  // H[j][i]: block (i, j) of V' M OP V, i <= j + 1
  Block w(size, 0.0), m(size, 0.0);
  for (std::size_t k = 0; k < ix(s.count) * B; ++k) m[k] = noise(k);
  multiply_mass(s, m.data(), w.data(), B);
  held.solve(w.data(), B);
  out.solved += B;
  multiply_mass(s, w.data(), m.data(), B);
  Small R{};
  for (int i = 0; i < B; ++i) R[ix(i * B + i)] = 1;
  for (int pass = 0; pass < 2; ++pass) normalise(w, m, R);
  const int first_look = std::max(2, (3 * count + B - 1) / B);
  for (int j = 0;; ++j) {
    V.push_back(w);
    MV.push_back(m);
    w = m;
    held.solve(w.data(), B);
    out.solved += B;
    H.emplace_back(ix(j + 2), Small{});
    for (int i = j; i >= 0; --i) {
      H.back()[ix(i)] = product(MV[ix(i)], w);
      add_product(w, V[ix(i)], H.back()[ix(i)], -1);
    }
    multiply_mass(s, w.data(), m.data(), B);
    R = {};
    for (int i = 0; i < B; ++i) R[ix(i * B + i)] = 1;
    for (int pass = 0; pass < 2; ++pass) normalise(w, m, R);
    H.back()[ix(j + 1)] = R;
    const int blocks = j + 1, n = blocks * B;
    const bool last = blocks >= most;
    if (blocks < first_look && !last) continue;
    maths::Matrix T(ix(n), ix(n));
    for (int c = 0; c < blocks; ++c)
      for (int r = 0; r <= c; ++r)
        for (std::size_t a = 0; a < B; ++a)
          for (std::size_t b = 0; b < B; ++b) {
            const double v = H[ix(c)][ix(r)][a * B + b];
            T(ix(r * B) + a, ix(c * B) + b) = v;
            T(ix(c * B) + b, ix(r * B) + a) = v;
          }
    const maths::EigenPairs e = maths::eigen_symmetric(T);
    if (e.value.size() != ix(n)) {
      out.why = "the small eigenvalue problem did not solve";
      return out;
    }
    double worst = 0;
    for (int k = 0; k < count; ++k) {
      const std::size_t col = ix(n - 1 - k);
      double sum = 0;
      for (std::size_t a = 0; a < B; ++a) {
        double v = 0;
        for (std::size_t b = 0; b < B; ++b) v += R[a * B + b] * e.vector(ix(n - B) + b, col);
        sum += v * v;
      }
      worst = std::max(worst, std::sqrt(sum) / std::fabs(e.value[col]));
    }
    if (!(worst <= enough) && !last) continue;
    if (!(worst <= 1e-5)) {
      out.why = "the modes did not settle";
      return out;
    }
    const int padded_count = (count + B - 1) / B * B;
    out.lambda.resize(ix(count));
    out.vector.assign(ix(count), std::vector<double>(ix(s.count)));
    for (int start = 0; start < padded_count; start += B) {
      Block x(size, 0.0);
      for (int b = 0; b < blocks; ++b) {
        Small h{};
        for (std::size_t a = 0; a < B; ++a)
          for (int k = 0; k < B && start + k < n; ++k)
            h[a * B + ix(k)] = e.vector(ix(b * B) + a, ix(n - 1 - start - k));
        add_product(x, V[ix(b)], h, 1);
      }
      Block kx(size, 0.0), mx(size, 0.0);
      multiply(s.K, x.data(), kx.data(), B);
      multiply_mass(s, x.data(), mx.data(), B);
      for (int k = 0; k < B && start + k < count; ++k) {
        const std::size_t c = ix(k);
        const double inverse = e.value[ix(n - 1 - start - k)], grown = 1 / inverse;
        out.lambda[ix(start + k)] = grown - held.shift();
        double norm = 0, rest = 0, peak = 0;
        for (std::size_t r = 0; r < ix(s.count); ++r) {
          const double v = x[r * B + c], force = grown * mx[r * B + c];
          const double miss = kx[r * B + c] + held.shift() * mx[r * B + c] - force;
          norm += force * force;
          rest += miss * miss;
          out.vector[ix(start + k)][r] = v;
          if (std::fabs(v) > std::fabs(peak) * (1 + 1e-6)) peak = v;
        }
        if (peak < 0)
          for (double& v : out.vector[ix(start + k)]) v = -v;
        out.residual = std::max(out.residual, std::sqrt(rest / norm));
      }
    }
    out.ok = true;
    return out;
  }
}

double free_shift(const System& s) {
  // trace of a Rayleigh quotient is far above; the frequency of a free strip of the plate's own length is near
  double d = 0, mass = 0;
  for (const Section& c : s.sections) d += c.bending[0], mass += c.mass;
  const double length = std::max(s.grid.columns * s.grid.dx, s.grid.rows * s.grid.dy);
  return mass > 0 ? 100 * d / (mass * length * length * length * length) : 1;
}

}  // namespace fettle::structure
