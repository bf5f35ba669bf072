#include "calc/chatter/floquet_map.h"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>

namespace fettle::chatter {

namespace {

using Complex = std::complex<double>;
using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;
constexpr double two_pi = 6.283185307179586;

struct Gauss {
  VectorXd x, w;
  explicit Gauss(int n) : x(n), w(n) {
    for (int i = 0; i < n; ++i) {
      double t = -std::cos(M_PI * (i + 0.75) / (n + 0.5)), slope = 1;
      for (int round = 0; round < 100; ++round) {
        double p = 1, before = 0;
        for (int k = 1; k <= n; ++k) {
          const double next = ((2 * k - 1) * t * p - (k - 1) * before) / k;
          before = p, p = next;
        }
        slope = n * (t * p - before) / (t * t - 1);
        const double change = p / slope;
        t -= change;
        if (!(std::fabs(change) > 1e-15)) break;
      }
      x(i) = t, w(i) = 2 / ((1 - t * t) * slope * slope);
    }
  }
};

double dot(const frame::Vec3& a, const std::array<double, 3>& b) { return a.x * b[0] + a.y * b[1] + a.z * b[2]; }

/// a^T R b.
double through(const frame::Vec3& a, const std::array<double, 9>& r, const frame::Vec3& b) {
  const double p[3] = {a.x, a.y, a.z}, q[3] = {b.x, b.y, b.z};
  double sum = 0;
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j) sum += p[i] * r[3 * i + j] * q[j];
  return sum;
}

/// Force per unit of a channel and of depth at an angle: chip (0), flank (1).
frame::Vec3 force_of(const CutAtSpeed& cut, int channel, double angle) {
  const frame::Vec3 f =
      channel == 0 ? force_direction(*cut.cutter, angle) : flank_direction(*cut.cutter, angle, cut.friction);
  const double size = channel == 0 ? cut.cutter->kt : cut.flank / (M_PI * cut.cutter->diameter * cut.turns);
  return {size * f.x, size * f.y, size * f.z};
}

/// Size of the last part of the unit eigenvector of an upper Hessenberg matrix, by inverse iteration.
double last_part(const MatrixXd& h, Complex value) {
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
    if (std::abs(a(k, k)) < 1e-290) a(k, k) = 1e-290;
    const Complex f = a(k + 1, k) / a(k, k);
    factor[static_cast<std::size_t>(k)] = f;
    for (Index j = k; j < m; ++j) a(k + 1, j) -= f * a(k, j);
  }
  if (std::abs(a(m - 1, m - 1)) < 1e-290) a(m - 1, m - 1) = 1e-290;
  Eigen::VectorXcd v = Eigen::VectorXcd::Ones(m);
  for (int round = 0; round < 2; ++round) {
    for (Index k = 0; k + 1 < m; ++k) {
      if (swapped[static_cast<std::size_t>(k)]) std::swap(v(k), v(k + 1));
      v(k + 1) -= factor[static_cast<std::size_t>(k)] * v(k);
    }
    for (Index k = m - 1; k >= 0; --k) {
      Complex sum = v(k);
      for (Index j = k + 1; j < m; ++j) sum -= a(k, j) * v(j);
      v(k) = sum / a(k, k);
    }
    v /= v.norm();
  }
  return std::abs(v(m - 1));
}

/// Eigenvalue of largest magnitude of an upper Hessenberg matrix.
Complex largest_of(const MatrixXd& h) {
  Eigen::RealSchur<MatrixXd> schur(h.rows());
  schur.computeFromHessenberg(h, MatrixXd(), false);
  if (schur.info() != Eigen::Success) return {NAN, NAN};
  const MatrixXd& t = schur.matrixT();
  Complex best = 0;
  for (Index i = 0; i < t.rows(); ++i) {
    Complex value = t(i, i);
    if (i + 1 < t.rows() && t(i + 1, i) != 0) {
      const double half = 0.5 * (t(i, i) + t(i + 1, i + 1)),
                   det = t(i, i) * t(i + 1, i + 1) - t(i, i + 1) * t(i + 1, i), rest = half * half - det;
      value = rest < 0 ? Complex(half, std::sqrt(-rest)) : Complex(half + std::copysign(std::sqrt(rest), half), 0);
      ++i;
    }
    if (std::norm(value) > std::norm(best)) best = value;
  }
  return best;
}

}  // namespace

NodeRule::NodeRule(int n) {
  const Gauss own(n), fine(n + 4);
  x = own.x, inner = fine.x;
  barycentric.resize(n);
  for (int i = 0; i < n; ++i) barycentric(i) = (i % 2 == 0 ? 1 : -1) * std::sqrt((1 - own.x(i) * own.x(i)) * own.w(i));
  whole.resize(n + 4, n);
  for (int q = 0; q < n + 4; ++q) whole.row(q) = fine.w(q) * basis(fine.x(q));
  for (int i = 0; i < n; ++i) {
    MatrixXd t(n + 4, n);
    const double half = (own.x(i) + 1) / 2;
    for (int q = 0; q < n + 4; ++q) t.row(q) = half * fine.w(q) * basis(-1 + half * (fine.x(q) + 1));
    partial.push_back(std::move(t));
  }
}

Eigen::RowVectorXd NodeRule::basis(double t) const {
  Eigen::RowVectorXd b(x.size());
  for (Index j = 0; j < x.size(); ++j)
    if (std::fabs(t - x(j)) < 1e-14) {
      b.setZero();
      b(j) = 1;
      return b;
    }
  for (Index j = 0; j < x.size(); ++j) b(j) = barycentric(j) / (t - x(j));
  return b / b.sum();
}

const NodeRule& NodeRules::of(int n) { return rules_.try_emplace(n, n).first->second; }

FloquetMap::FloquetMap(const CutAtSpeed& cut, NodeRules& rules) {
  for (const SwingMode& m : cut.structure->modes)
    if (m.shape[0] * m.shape[0] + m.shape[1] * m.shape[1] + m.shape[2] * m.shape[2] > 0) modes_.push_back(m);
  spin_ = two_pi * cut.turns;
  channels_ = cut.flank > 0 ? 2 : 1;
  lay_out(cut, rules);
  fill(cut);
}

/// Sub-arcs between the angles at which any tooth enters or leaves, nodes on each, and who left the surface of whom.
void FloquetMap::lay_out(const CutAtSpeed& cut, NodeRules& rules) {
  const double span = cut.cutter->exit - cut.cutter->entry;
  std::vector<double> gaps;
  for (double d : tooth_delays(*cut.cutter, 1)) gaps.push_back(two_pi * d);
  simple_ = even(*cut.cutter);
  if (simple_) gaps.resize(1);
  const std::size_t teeth = gaps.size();
  std::vector<double> enters(teeth, 0);
  for (std::size_t i = 1; i < teeth; ++i) enters[i] = enters[i - 1] + gaps[i];
  window_ = simple_ ? gaps[0] : two_pi;
  period_ = window_ / spin_;
  std::vector<double> breaks{0, span};
  const auto add = [&](double a) {
    for (a = std::fmod(a + 4 * window_, window_); a < span; a += window_)
      if (a > 0) breaks.push_back(a);
  };
  for (double a : enters)
    for (double b : enters) add(b - a), add(b - a + span);
  std::sort(breaks.begin(), breaks.end());
  std::vector<double> cuts;
  for (double b : breaks)
    if (cuts.empty() || b - cuts.back() > 1e-7) cuts.push_back(b);
  cuts.back() = span;
  double longest = 0, highest = 0;
  for (std::size_t i = 0; i + 1 < cuts.size(); ++i) longest = std::max(longest, cuts[i + 1] - cuts[i]);
  for (const SwingMode& m : modes_) highest = std::max(highest, m.omega);
  const double waves = highest * longest / spin_ / two_pi;
  const int count = static_cast<int>(std::ceil(cut.finer * (9 + 3.5 * waves)));
  rule_ = &rules.of(count);
  std::vector<std::vector<int>> turn(teeth), first(teeth);
  for (std::size_t k = 0; k < teeth; ++k)
    for (std::size_t i = 0; i + 1 < cuts.size(); ++i) {
      Segment s;
      s.tooth = static_cast<int>(k), s.arc = cuts[i], s.first = static_cast<int>(events_.size());
      const double begins = enters[k] + cuts[i];
      const int whole = static_cast<int>(std::floor(begins / window_ + 1e-9));
      s.start = begins - whole * window_, s.stop = s.start + cuts[i + 1] - cuts[i];
      turn[k].push_back(whole), first[k].push_back(s.first);
      for (int j = 0; j < count; ++j) {
        Event e;
        const double on = (rule_->x(j) + 1) / 2 * (s.stop - s.start);
        e.time = (s.start + on) / spin_, e.angle = cut.cutter->entry + s.arc + on;
        e.segment = static_cast<int>(segments_.size()), e.local = j;
        events_.push_back(e);
      }
      segments_.push_back(s);
    }
  for (Event& e : events_) {
    const auto k = static_cast<std::size_t>(segments_[static_cast<std::size_t>(e.segment)].tooth);
    const std::size_t per = cuts.size() - 1, i = static_cast<std::size_t>(e.segment) % per;
    const std::size_t b = k == 0 ? teeth - 1 : k - 1;
    e.before = first[b][i] + e.local;
    e.same_window = (k == 0 ? turn[b][i] - 1 : turn[b][i]) == turn[k][i] && !simple_;
  }
}

/// Integral of kernel x force x basis over the part of a segment that lies before an event inside it.
void FloquetMap::add_inside(const CutAtSpeed& cut, const Segment& s, int event, double scale) {
  const Event& e = events_[static_cast<std::size_t>(event)];
  const Segment& own = segments_[static_cast<std::size_t>(e.segment)];
  const bool aligned = std::fabs(own.start - s.start) < 1e-9 && std::fabs(own.stop - s.stop) < 1e-9;
  const Index n = rule_->x.size(), m = rule_->inner.size(), all = static_cast<Index>(events_.size());
  const double at = aligned ? rule_->x(e.local) : 2 * (e.time * spin_ - s.start) / (s.stop - s.start) - 1;
  MatrixXd loose;
  if (!aligned) {
    const MatrixXd& whole = rule_->whole;
    loose.resize(m, n);
    const double half = (at + 1) / 2;
    for (Index q = 0; q < m; ++q)
      loose.row(q) = half * whole.row(q).sum() * rule_->basis(-1 + half * (rule_->inner(q) + 1));
  }
  const MatrixXd& table = aligned ? rule_->partial[static_cast<std::size_t>(e.local)] : loose;
  const frame::Vec3 chip = chip_direction(*cut.cutter, e.angle);
  const double length = (at + 1) / 2 * (s.stop - s.start);  // rad, of the part
  Eigen::RowVectorXd kernel[2][2];
  for (auto& row : kernel)
    for (auto& k : row) k = Eigen::RowVectorXd::Zero(m);
  for (Index q = 0; q < m; ++q) {
    const double on = (rule_->inner(q) + 1) / 2 * length, ago = (length - on) / spin_;
    const double angle = cut.cutter->entry + s.arc + on;
    frame::Vec3 force[2];
    for (int c = 0; c < channels_; ++c) force[c] = force_of(cut, c, angle);
    for (const SwingMode& mode : modes_) {
      const double fade = mode.damping * mode.omega, wd = mode.omega * std::sqrt(1 - mode.damping * mode.damping);
      const double decay = std::exp(-fade * ago), sine = std::sin(wd * ago) * decay / wd;
      const double out = dot(chip, mode.shape);
      for (int c = 0; c < channels_; ++c) kernel[0][c](q) += out * dot(force[c], mode.shape) * sine;
      if (channels_ == 1) continue;
      const double speed = std::cos(wd * ago) * decay - fade * sine;
      for (int c = 0; c < channels_; ++c) kernel[1][c](q) += out * dot(force[c], mode.shape) * speed;
    }
  }
  const Eigen::RowVectorXd here = aligned ? Eigen::RowVectorXd::Unit(n, e.local) : rule_->basis(at);
  for (int c = 0; c < channels_; ++c) {
    for (int r = 0; r < channels_; ++r)
      V_.block(r * all + event, c * all + s.first, 1, n) += scale * kernel[r][c] * table;
    const double rest = through(chip, cut.structure->residual,
                                force_of(cut, c, cut.cutter->entry + s.arc + (at + 1) / 2 * (s.stop - s.start)));
    if (rest != 0) V_.block(event, c * all + s.first, 1, n) += rest * here;
  }
}

void FloquetMap::fill(const CutAtSpeed& cut) {
  const auto all = static_cast<Index>(events_.size()), swing = static_cast<Index>(modes_.size());
  const Index n = rule_->x.size(), m = rule_->inner.size();
  V_ = MatrixXd::Zero(channels_ * all, channels_ * all);
  P_.resize(channels_ * all, 2 * swing);
  Q_ = MatrixXd::Zero(2 * swing, channels_ * all);
  // A mode's own coordinate is the displacement of the point along its shape, so that all parts of the state are
  // metres.
  std::vector<Complex> rate;
  std::vector<double> size;
  for (const SwingMode& mode : modes_) {
    rate.emplace_back(-mode.damping * mode.omega, mode.omega * std::sqrt(1 - mode.damping * mode.damping));
    size.push_back(std::hypot(mode.shape[0], mode.shape[1], mode.shape[2]));
    E_.push_back(std::exp(rate.back() * period_));
  }
  for (Index e = 0; e < all; ++e) {
    const Event& event = events_[static_cast<std::size_t>(e)];
    const frame::Vec3 chip = chip_direction(*cut.cutter, event.angle);
    for (Index k = 0; k < swing; ++k) {
      const auto i = static_cast<std::size_t>(k);
      const double out = dot(chip, modes_[i].shape) / size[i];
      const Complex z = out * std::exp(rate[i] * event.time), v = rate[i] * z;
      P_(e, 2 * k) = z.real(), P_(e, 2 * k + 1) = -z.imag();
      if (channels_ == 2) P_(all + e, 2 * k) = v.real(), P_(all + e, 2 * k + 1) = -v.imag();
    }
  }
  for (const Segment& s : segments_) {
    const double scale = (s.stop - s.start) / 2 / spin_;
    // What the force on the whole segment leaves in each mode at its end.
    std::vector<Eigen::RowVectorXcd> left[2];
    for (int c = 0; c < channels_; ++c)
      for (Index k = 0; k < swing; ++k) {
        Eigen::RowVectorXcd g(m);
        for (Index q = 0; q < m; ++q) {
          const double on = (rule_->inner(q) + 1) / 2 * (s.stop - s.start);
          const auto i = static_cast<std::size_t>(k);
          g(q) = dot(force_of(cut, c, cut.cutter->entry + s.arc + on), modes_[i].shape) *
                 std::exp(rate[i] * ((s.stop - s.start - on) / spin_));
        }
        left[c].push_back(scale * (g * rule_->whole.cast<Complex>()));
      }
    for (int c = 0; c < channels_; ++c)
      for (Index k = 0; k < swing; ++k) {
        const auto i = static_cast<std::size_t>(k);
        const Complex on = std::exp(rate[i] * (period_ - s.stop / spin_)) * Complex(0, -1) * size[i] / rate[i].imag();
        const Eigen::RowVectorXcd z = on * left[c][i];
        Q_.block(2 * k, c * all + s.first, 1, n) += z.real();
        Q_.block(2 * k + 1, c * all + s.first, 1, n) += z.imag();
      }
    for (Index e = 0; e < all; ++e) {
      const Event& event = events_[static_cast<std::size_t>(e)];
      const double since = event.time - s.stop / spin_, tiny = 1e-9 / spin_;
      if (event.time <= s.start / spin_ + tiny) continue;
      if (since < -tiny) {
        add_inside(cut, s, static_cast<int>(e), scale);
        continue;
      }
      const frame::Vec3 chip = chip_direction(*cut.cutter, event.angle);
      for (Index k = 0; k < swing; ++k) {
        const auto i = static_cast<std::size_t>(k);
        const Complex y = dot(chip, modes_[i].shape) * std::exp(rate[i] * since) * Complex(0, -1) / rate[i].imag();
        for (int c = 0; c < channels_; ++c) {
          V_.block(e, c * all + s.first, 1, n) += (y * left[c][i]).real();
          if (channels_ == 2) V_.block(all + e, c * all + s.first, 1, n) += (y * rate[i] * left[c][i]).real();
        }
      }
    }
  }
}

/// State: modes (two numbers each), then the surface left at every event of the window before.
void FloquetMap::step(const VectorXd& in, VectorXd& out) const {
  const auto all = static_cast<Index>(events_.size()), swing = static_cast<Index>(modes_.size());
  free_.noalias() = P_ * in.head(2 * swing);
  rhs_ = free_;
  if (simple_) {
    rhs_.head(all) -= in.tail(all);
  } else {
    for (Index e = 0; e < all; ++e) {
      const Event& event = events_[static_cast<std::size_t>(e)];
      rhs_(e) -= event.same_window ? free_(event.before) : in(2 * swing + event.before);
    }
  }
  w_ = lu_.solve(rhs_);
  if (simple_) out.tail(all) = w_.head(all) + in.tail(all);
  else out.tail(all) = free_.head(all) + depth_ * (V_.topRows(all) * w_);
  out.head(2 * swing).noalias() = depth_ * (Q_ * w_);
  for (Index k = 0; k < swing; ++k) {
    const Complex z = E_[static_cast<std::size_t>(k)] * Complex(in(2 * k), in(2 * k + 1));
    out(2 * k) += z.real(), out(2 * k + 1) += z.imag();
  }
}

FloquetMap::Largest FloquetMap::largest(double depth) {
  const auto all = static_cast<Index>(events_.size()), size = 2 * static_cast<Index>(modes_.size()) + all;
  depth_ = depth;
  system_ = -depth * V_;
  if (!simple_)
    for (Index e = 0; e < all; ++e) {
      const Event& event = events_[static_cast<std::size_t>(e)];
      if (event.same_window) system_.row(e) += depth * V_.row(event.before);
    }
  system_.diagonal().array() += 1;
  lu_.compute(system_);
  free_.resize(V_.rows()), rhs_.resize(V_.rows()), w_.resize(V_.rows());
  // Arnoldi from a fixed, uneven start; larger until the best pair is sure.
  const Index most = size;
  MatrixXd basis(size, std::min<Index>(most, 60) + 1), h = MatrixXd::Zero(basis.cols(), basis.cols() - 1);
  VectorXd next(size), start(size);
  for (Index i = 0; i < size; ++i) start(i) = 1 + 0.5 * std::sin(1.7 * static_cast<double>(i * i) + 0.3);
  basis.col(0) = start / start.norm();
  Largest best;
  Index look = std::min<Index>(most, 2 * static_cast<Index>(modes_.size()) + 8);
  for (Index k = 0; k < most; ++k) {
    if (k + 1 >= basis.cols()) {
      basis.conservativeResize(Eigen::NoChange, std::min(size, 2 * k) + 2);
      MatrixXd wider = MatrixXd::Zero(basis.cols(), basis.cols() - 1);
      wider.topLeftCorner(h.rows(), h.cols()) = h;
      h = wider;
    }
    step(basis.col(k), next);
    for (int round = 0; round < 2; ++round) {
      const VectorXd part = basis.leftCols(k + 1).transpose() * next;
      next.noalias() -= basis.leftCols(k + 1) * part;
      h.col(k).head(k + 1) += part;
    }
    const double rest = next.norm();
    h(k + 1, k) = rest;
    const bool closed = !(rest > 1e-13) || k + 1 == most;
    if (closed || k + 1 == look) {
      const MatrixXd small = h.topLeftCorner(k + 1, k + 1);
      best.mu = largest_of(small);
      if (!std::isfinite(best.mu.real())) return best;
      best.sure = closed || rest * last_part(small, best.mu) <= 1e-6 * std::abs(best.mu);
      if (best.sure) return best;
      look = std::min(most, k + 1 + std::max<Index>(4, (k + 1) / 3));
    }
    basis.col(k + 1) = next / rest;
  }
  return best;
}

}  // namespace fettle::chatter
