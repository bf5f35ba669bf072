#include "calc/chatter/floquet_map.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace fettle::chatter {

namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;
constexpr double two_pi = 6.283185307179586;
/// A hundred-thousandth of a degree: angles go to this grid, so that two of them are either the same or apart.
constexpr double grain = two_pi / 36e6;
double snapped(double a) { return grain * std::round(a / grain); }

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

/// Nodes for a number of waves of the highest mode: pi per wave carry a wave, the rest makes it exact.
int nodes_for(double waves, double finer) {
  return static_cast<int>(std::ceil(finer * (5 + 7 * std::min(1.0, waves) + 3.5 * waves)));
}
/// Longer sub-arcs are split, so that the matrices stay small.
constexpr double waves_a_piece = 6;

}  // namespace

bool nearly_even(const Cutter& cutter) {
  const double gap = two_pi / static_cast<double>(cutter.tooth_angles.size());
  for (double d : tooth_delays(cutter, 1))
    if (!(std::fabs(two_pi * d - gap) <= 1e-6)) return false;
  return true;
}

FloquetMap::FloquetMap(const CutAtSpeed& cut, NodeRules& rules) : cut_(cut) {
  const bool square = !(cut.cutter->lead > 0);
  for (const SwingMode& m : cut.structure->modes)
    if (std::hypot(m.shape[0], m.shape[1], square ? 0 : m.shape[2]) > 0) modes_.push_back(m);
  // A mode's own coordinate is the displacement of the point along its shape, so that all parts of the state are
  // metres.
  for (const SwingMode& m : modes_) {
    rate_.emplace_back(-m.damping * m.omega, m.omega * std::sqrt(1 - m.damping * m.damping));
    size_.push_back(std::hypot(m.shape[0], m.shape[1], m.shape[2]));
  }
  spin_ = two_pi * cut.turns;
  channels_ = cut.flank > 0 ? 2 : 1;
  lay_out(cut, rules);
  if (!usable()) return;
  for (Block& b : blocks_) fill(cut, b);
  kernels_.clear();
}

int FloquetMap::largest_block() const {
  int most = 0;
  for (const Block& b : blocks_) most = std::max(most, channels_ * b.count);
  return most;
}

/// Sub-arcs between the angles at which any tooth enters or leaves.
void FloquetMap::lay_out(const CutAtSpeed& cut, NodeRules& rules) {
  const double span = std::max(snapped(cut.cutter->exit - cut.cutter->entry), grain);
  simple_ = nearly_even(*cut.cutter);
  std::vector<double> gaps;
  for (double d : tooth_delays(*cut.cutter, 1)) gaps.push_back(two_pi * d);
  if (simple_) gaps.assign(1, two_pi / static_cast<double>(cut.cutter->tooth_angles.size()));
  std::vector<double> enters(gaps.size(), 0);
  for (std::size_t i = 1; i < gaps.size(); ++i) enters[i] = enters[i - 1] + gaps[i];
  for (double& e : enters) e = snapped(e);
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
    if (cuts.empty() || b - cuts.back() > 0.6 * grain) cuts.push_back(b);
  cuts.back() = span;
  segments_of(enters, cuts);
  if (!straddled()) {
    double highest = 0;
    for (const SwingMode& m : modes_) highest = std::max(highest, m.omega);
    std::vector<double> finer{0};
    for (std::size_t i = 0; i + 1 < cuts.size(); ++i) {
      const double length = cuts[i + 1] - cuts[i];
      const int pieces = std::max(1, static_cast<int>(std::ceil(highest * length / spin_ / two_pi / waves_a_piece)));
      for (int p = 1; p <= pieces; ++p) finer.push_back(p < pieces ? cuts[i] + length * p / pieces : cuts[i + 1]);
    }
    segments_of(enters, finer);
  }
  number(cut, rules);
}

/// Every tooth on every sub-arc, in the order of time, and who left the surface of whom.
void FloquetMap::segments_of(const std::vector<double>& enters, const std::vector<double>& cuts) {
  segments_.clear();
  const int teeth = static_cast<int>(enters.size()), per = static_cast<int>(cuts.size()) - 1;
  for (int k = 0; k < teeth; ++k)
    for (int i = 0; i < per; ++i) {
      const auto j = static_cast<std::size_t>(i);
      Segment s;
      s.tooth = k, s.interval = i, s.arc = cuts[j];
      const double begins = enters[static_cast<std::size_t>(k)] + cuts[j];
      s.whole = static_cast<int>(std::floor((begins + 0.86 * grain) / window_));
      s.start = begins - s.whole * window_, s.stop = s.start + cuts[j + 1] - cuts[j];
      segments_.push_back(s);
    }
  std::vector<int> order(segments_.size()), place(segments_.size());
  std::iota(order.begin(), order.end(), 0);
  std::stable_sort(order.begin(), order.end(), [&](int a, int b) {
    const double x = segments_[static_cast<std::size_t>(a)].start, y = segments_[static_cast<std::size_t>(b)].start;
    return x + 0.3 * grain < y;
  });
  std::vector<Segment> sorted;
  for (std::size_t n = 0; n < order.size(); ++n) {
    sorted.push_back(segments_[static_cast<std::size_t>(order[n])]);
    place[static_cast<std::size_t>(order[n])] = static_cast<int>(n);
  }
  segments_ = std::move(sorted);
  for (Segment& s : segments_) {
    const int b = s.tooth == 0 ? teeth - 1 : s.tooth - 1;
    s.before =
        place[static_cast<std::size_t>(b) * static_cast<std::size_t>(per) + static_cast<std::size_t>(s.interval)];
    const int whole = segments_[static_cast<std::size_t>(s.before)].whole - (s.tooth == 0 ? 1 : 0);
    s.same_window = whole == s.whole && !simple_;
  }
}

/// Do two teeth overlap in time on sub-arcs that do not begin and end together?
bool FloquetMap::straddled() const {
  for (std::size_t i = 0; i < segments_.size(); ++i)
    for (std::size_t j = i + 1; j < segments_.size() && segments_[j].start < segments_[i].stop - 0.3 * grain; ++j)
      if (std::fabs(segments_[i].start - segments_[j].start) > 0.6 * grain ||
          std::fabs(segments_[i].stop - segments_[j].stop) > 0.6 * grain)
        return true;
  return false;
}

/// Nodes on every segment, and blocks of segments that overlap.
void FloquetMap::number(const CutAtSpeed& cut, NodeRules& rules) {
  double highest = 0;
  for (const SwingMode& m : modes_) highest = std::max(highest, m.omega);
  double until = -1;
  for (std::size_t i = 0; i < segments_.size(); ++i) {
    Segment& s = segments_[i];
    // Counted from the sub-arc, not from the segment's own ends, whose last digits differ from tooth to tooth.
    const double waves = snapped(s.stop - s.start) * highest / spin_ / two_pi;
    s.rule = &rules.of(nodes_for(waves, cut.finer));
    s.count = static_cast<int>(s.rule->x.size()), s.first = static_cast<int>(events_.size());
    for (int j = 0; j < s.count; ++j) {
      Event e;
      const double on = (s.rule->x(j) + 1) / 2 * (s.stop - s.start);
      e.time = (s.start + on) / spin_, e.angle = cut.cutter->entry + s.arc + on;
      events_.push_back(e);
    }
    if (blocks_.empty() || !(s.start < until - 0.3 * grain)) {
      Block b;
      b.from = static_cast<int>(i), b.first = s.first;
      b.begin = blocks_.empty() ? 0 : s.start / spin_;
      if (!blocks_.empty()) blocks_.back().end = b.begin;
      blocks_.push_back(std::move(b));
      until = s.stop;
    }
    Block& b = blocks_.back();
    b.to = static_cast<int>(i) + 1, b.count += s.count;
    until = std::max(until, s.stop);
  }
  blocks_.back().end = period_;
  for (const Segment& s : segments_)
    for (int j = 0; j < s.count; ++j) {
      Event& e = events_[static_cast<std::size_t>(s.first) + static_cast<std::size_t>(j)];
      e.before = segments_[static_cast<std::size_t>(s.before)].first + j, e.same_window = s.same_window;
    }
}

const FloquetMap::Kernels& FloquetMap::kernels(const NodeRule& rule, double length) {
  for (const Kernels& k : kernels_)
    if (k.rule == &rule && std::fabs(k.length - length) <= 1e-9 * length) return k;
  Kernels k{&rule, length, {}};
  const Index n = rule.x.size(), m = rule.inner.size();
  k.of.assign(6 * static_cast<std::size_t>(channels_), MatrixXd::Zero(n, m));
  for (Index i = 0; i < n; ++i)
    for (Index q = 0; q < m; ++q) {
      const double ago = (rule.x(i) + 1) / 2 * (1 - rule.inner(q)) / 2 * length;
      for (std::size_t j = 0; j < modes_.size(); ++j) {
        const double fade = -rate_[j].real(), wd = rate_[j].imag(), decay = std::exp(-fade * ago),
                     sine = std::sin(wd * ago) * decay / wd;
        const std::array<double, 3>& s = modes_[j].shape;
        const double pairs[6] = {s[0] * s[0], s[0] * s[1], s[0] * s[2], s[1] * s[1], s[1] * s[2], s[2] * s[2]};
        for (std::size_t p = 0; p < 6; ++p) k.of[p](i, q) += pairs[p] * sine;
        if (channels_ == 1) continue;
        const double speed = std::cos(wd * ago) * decay - fade * sine;
        for (std::size_t p = 0; p < 6; ++p) k.of[6 + p](i, q) += pairs[p] * speed;
      }
    }
  kernels_.push_back(std::move(k));
  return kernels_.back();
}

/// What the force on `source` does at the nodes of `s`, both over the same time.
void FloquetMap::add_own(const CutAtSpeed& cut, Block& block, const Segment& s, const Segment& source) {
  const NodeRule& rule = *s.rule;
  const Index n = rule.x.size(), m = rule.inner.size(), all = block.count;
  const double span = source.stop - source.start, scale = span / 2 / spin_;
  const Kernels& k = kernels(rule, span / spin_);
  Eigen::RowVectorXd kernel[2][2];
  for (auto& row : kernel)
    for (auto& r : row) r.resize(m);
  for (Index i = 0; i < n; ++i) {
    const int event = s.first + static_cast<int>(i);
    const frame::Vec3 chip = chip_direction(*cut.cutter, events_[static_cast<std::size_t>(event)].angle);
    const double length = (rule.x(i) + 1) / 2 * span;
    for (Index q = 0; q < m; ++q) {
      const double angle = cut.cutter->entry + source.arc + (rule.inner(q) + 1) / 2 * length;
      for (int c = 0; c < channels_; ++c) {
        const frame::Vec3 f = force_of(cut, c, angle);
        for (int r = 0; r < channels_; ++r) {
          const auto g = [&](std::size_t p) { return k.of[static_cast<std::size_t>(6 * r) + p](i, q); };
          kernel[r][c](q) = chip.x * (g(0) * f.x + g(1) * f.y + g(2) * f.z) +
                            chip.y * (g(1) * f.x + g(3) * f.y + g(4) * f.z) +
                            chip.z * (g(2) * f.x + g(4) * f.y + g(5) * f.z);
        }
      }
    }
    const Index row = event - block.first, column = source.first - block.first;
    for (int c = 0; c < channels_; ++c) {
      for (int r = 0; r < channels_; ++r)
        block.V.block(r * all + row, c * all + column, 1, n).noalias() +=
            scale * (kernel[r][c] * rule.partial[static_cast<std::size_t>(i)]);
      block.V(row, c * all + column + i) +=
          through(chip, cut.structure->residual, force_of(cut, c, cut.cutter->entry + source.arc + length));
    }
  }
}

/// The same at one event that lies inside `source` in time but on another grid.
void FloquetMap::add_loose(const CutAtSpeed& cut, Block& block, int event, const Segment& source) {
  const Event& e = events_[static_cast<std::size_t>(event)];
  const NodeRule& rule = *source.rule;
  const Index n = rule.x.size(), m = rule.inner.size(), all = block.count;
  const double span = source.stop - source.start, scale = span / 2 / spin_,
               at = 2 * (e.time * spin_ - source.start) / span - 1, half = (at + 1) / 2;
  MatrixXd table(m, n);
  for (Index q = 0; q < m; ++q)
    table.row(q) = half * rule.whole.row(q).sum() * rule.basis(-1 + half * (rule.inner(q) + 1));
  const frame::Vec3 chip = chip_direction(*cut.cutter, e.angle);
  const double length = half * span;
  Eigen::RowVectorXd kernel[2][2];
  for (auto& row : kernel)
    for (auto& r : row) r = Eigen::RowVectorXd::Zero(m);
  for (Index q = 0; q < m; ++q) {
    const double on = (rule.inner(q) + 1) / 2 * length, ago = (length - on) / spin_;
    frame::Vec3 force[2];
    for (int c = 0; c < channels_; ++c) force[c] = force_of(cut, c, cut.cutter->entry + source.arc + on);
    for (std::size_t j = 0; j < modes_.size(); ++j) {
      const double fade = -rate_[j].real(), wd = rate_[j].imag(), decay = std::exp(-fade * ago),
                   sine = std::sin(wd * ago) * decay / wd, out = dot(chip, modes_[j].shape);
      for (int c = 0; c < channels_; ++c) kernel[0][c](q) += out * dot(force[c], modes_[j].shape) * sine;
      if (channels_ == 1) continue;
      const double speed = std::cos(wd * ago) * decay - fade * sine;
      for (int c = 0; c < channels_; ++c) kernel[1][c](q) += out * dot(force[c], modes_[j].shape) * speed;
    }
  }
  const Index row = event - block.first, column = source.first - block.first;
  const Eigen::RowVectorXd here = rule.basis(at);
  for (int c = 0; c < channels_; ++c) {
    for (int r = 0; r < channels_; ++r)
      block.V.block(r * all + row, c * all + column, 1, n) += scale * (kernel[r][c] * table);
    block.V.block(row, c * all + column, 1, n) +=
        through(chip, cut.structure->residual, force_of(cut, c, cut.cutter->entry + source.arc + length)) * here;
  }
}

void FloquetMap::fill(const CutAtSpeed& cut, Block& block) {
  const auto swing = static_cast<Index>(modes_.size());
  const Index all = block.count;
  block.V = MatrixXd::Zero(channels_ * all, channels_ * all);
  block.P.resize(channels_ * all, 2 * swing);
  block.Q = MatrixXd::Zero(2 * swing, channels_ * all);
  for (const Complex& r : rate_) block.E.push_back(std::exp(r * (block.end - block.begin)));
  for (Index e = 0; e < all; ++e) {
    const Event& event = events_[static_cast<std::size_t>(block.first + e)];
    const frame::Vec3 chip = chip_direction(*cut.cutter, event.angle);
    for (Index k = 0; k < swing; ++k) {
      const auto i = static_cast<std::size_t>(k);
      const Complex z = dot(chip, modes_[i].shape) / size_[i] * std::exp(rate_[i] * (event.time - block.begin)),
                    v = rate_[i] * z;
      block.P(e, 2 * k) = z.real(), block.P(e, 2 * k + 1) = -z.imag();
      if (channels_ == 2) block.P(all + e, 2 * k) = v.real(), block.P(all + e, 2 * k + 1) = -v.imag();
    }
    if (event.same_window && event.before >= block.first && event.before < block.first + all) block.own_surface = true;
  }
  for (int i = block.from; i < block.to; ++i) {
    const Segment& s = segments_[static_cast<std::size_t>(i)];
    const Index n = s.count, m = s.rule->inner.size(), column = s.first - block.first;
    const double span = s.stop - s.start, scale = span / 2 / spin_;
    // What the force on the whole segment leaves in each mode at its end.
    Eigen::MatrixXcd left[2];
    for (int c = 0; c < channels_; ++c) {
      Eigen::MatrixXcd g(swing, m);
      for (Index q = 0; q < m; ++q) {
        const double on = (s.rule->inner(q) + 1) / 2 * span;
        const frame::Vec3 f = force_of(cut, c, cut.cutter->entry + s.arc + on);
        for (Index k = 0; k < swing; ++k) {
          const auto j = static_cast<std::size_t>(k);
          g(k, q) = dot(f, modes_[j].shape) * std::exp(rate_[j] * ((span - on) / spin_));
        }
      }
      left[c] = scale * (g * s.rule->whole.cast<Complex>());
    }
    for (int c = 0; c < channels_; ++c)
      for (Index k = 0; k < swing; ++k) {
        const auto j = static_cast<std::size_t>(k);
        const Complex on =
            std::exp(rate_[j] * (block.end - s.stop / spin_)) * Complex(0, -1) * size_[j] / rate_[j].imag();
        const Eigen::RowVectorXcd z = on * left[c].row(k);
        block.Q.block(2 * k, c * all + column, 1, n) = z.real();
        block.Q.block(2 * k + 1, c * all + column, 1, n) = z.imag();
      }
    for (int t = block.from; t < block.to; ++t) {
      const Segment& other = segments_[static_cast<std::size_t>(t)];
      if (std::fabs(other.start - s.start) < 0.6 * grain && std::fabs(other.stop - s.stop) < 0.6 * grain) {
        add_own(cut, block, other, s);
        continue;
      }
      for (int e = other.first; e < other.first + other.count; ++e) {
        const Event& event = events_[static_cast<std::size_t>(e)];
        const double since = event.time - s.stop / spin_;
        if (event.time <= s.start / spin_) continue;
        if (since < 0) {
          add_loose(cut, block, e, s);
          continue;
        }
        const frame::Vec3 chip = chip_direction(*cut.cutter, event.angle);
        for (Index k = 0; k < swing; ++k) {
          const auto j = static_cast<std::size_t>(k);
          const Complex y = dot(chip, modes_[j].shape) * std::exp(rate_[j] * since) * Complex(0, -1) / rate_[j].imag();
          const Index row = e - block.first;
          for (int c = 0; c < channels_; ++c) {
            block.V.block(row, c * all + column, 1, n) += (y * left[c].row(k)).real();
            if (channels_ == 2)
              block.V.block(all + row, c * all + column, 1, n) += (y * rate_[j] * left[c].row(k)).real();
          }
        }
      }
    }
  }
}

double FloquetMap::frequency() {
  if (warm_.size() == 0 || warm_imaginary_.size() == 0) return 0;
  // Forces over the period, of the complex motion.
  const auto all = static_cast<Index>(events_.size());
  VectorXd out(warm_.size());
  forces_ = VectorXd::Zero(channels_ * all);
  step(warm_, out);
  const VectorXd real = forces_;
  step(warm_imaginary_, out);
  const VectorXd imaginary = forces_;
  std::vector<std::array<Complex, 3>> force(events_.size());
  for (const Block& b : blocks_)
    for (int i = b.from; i < b.to; ++i) {
      const Segment& s = segments_[static_cast<std::size_t>(i)];
      for (int j = 0; j < s.count; ++j) {
        const auto e = static_cast<std::size_t>(s.first) + static_cast<std::size_t>(j);
        const double weight = s.rule->whole.col(j).sum() * (s.stop - s.start);
        for (int c = 0; c < channels_; ++c) {
          const Index at = channels_ * b.first + c * b.count + s.first - b.first + j;
          const frame::Vec3 f = force_of(cut_, c, events_[e].angle);
          const Complex u = weight * Complex(real(at), imaginary(at));
          force[e][0] += u * f.x, force[e][1] += u * f.y, force[e][2] += u * f.z;
        }
      }
    }
  double highest = 0;
  for (const SwingMode& m : modes_) highest = std::max(highest, m.omega);
  const double grow = std::log(std::abs(mu_)) / period_, base = std::arg(mu_) / period_, apart = two_pi / period_;
  double strongest = 0, best = 0;
  const int last = static_cast<int>(std::ceil(1.5 * highest / apart));
  for (int n = -last; n <= last; ++n) {
    const double w = base + n * apart;
    std::array<Complex, 3> f{};
    for (std::size_t e = 0; e < events_.size(); ++e) {
      const Complex turn = std::exp(-Complex(grow, w) * events_[e].time);
      for (std::size_t d = 0; d < 3; ++d) f[d] += turn * force[e][d];
    }
    const maths::Response3 g = cut_.structure->at(std::fabs(w));
    double size = 0;
    for (std::size_t d = 0; d < 3; ++d) {
      Complex x = 0;
      for (std::size_t k = 0; k < 3; ++k) x += (w < 0 ? std::conj(g[3 * d + k]) : g[3 * d + k]) * f[k];
      size += std::norm(x);
    }
    if (size > strongest) strongest = size, best = std::fabs(w);
  }
  return best / two_pi;
}

void FloquetMap::factor(double depth) {
  depth_ = depth;
  for (Block& b : blocks_) {
    MatrixXd system = -depth * b.V;
    if (b.own_surface)
      for (Index e = 0; e < b.count; ++e) {
        const Event& event = events_[static_cast<std::size_t>(b.first + e)];
        const Index before = event.before - b.first;
        if (event.same_window && before >= 0 && before < b.count) system.row(e) += depth * b.V.row(before);
      }
    system.diagonal().array() += 1;
    b.lu.compute(system);
  }
}

/// State: modes (two numbers each), then the surface left at every event of the window before.
void FloquetMap::step(const VectorXd& in, VectorXd& out) {
  const auto swing = static_cast<Index>(modes_.size());
  state_ = in.head(2 * swing);
  for (const Block& b : blocks_) {
    free_.noalias() = b.P * state_;
    rhs_ = free_;
    for (Index e = 0; e < b.count; ++e) {
      const Event& event = events_[static_cast<std::size_t>(b.first + e)];
      if (!event.same_window) rhs_(e) -= in(2 * swing + event.before);
      else if (event.before >= b.first) rhs_(e) -= free_(event.before - b.first);
      else rhs_(e) -= out(2 * swing + event.before);
    }
    b.lu.matrixLU().template triangularView<Eigen::UnitLower>().solveInPlace(rhs_ = b.lu.permutationP() * rhs_);
    b.lu.matrixLU().template triangularView<Eigen::Upper>().solveInPlace(rhs_);
    for (Index e = 0; e < b.count; ++e) {
      const Event& event = events_[static_cast<std::size_t>(b.first + e)];
      out(2 * swing + b.first + e) =
          rhs_(e) + (event.same_window ? out(2 * swing + event.before) : in(2 * swing + event.before));
    }
    for (Index k = 0; k < swing; ++k) {
      const Complex z = b.E[static_cast<std::size_t>(k)] * Complex(state_(2 * k), state_(2 * k + 1));
      state_(2 * k) = z.real(), state_(2 * k + 1) = z.imag();
    }
    state_.noalias() += depth_ * (b.Q * rhs_);
    if (forces_.size() > 0)
      forces_.segment(static_cast<Eigen::Index>(channels_) * b.first, static_cast<Eigen::Index>(channels_) * b.count) =
          rhs_;
  }
  out.head(2 * swing) = state_;
}

}  // namespace fettle::chatter
