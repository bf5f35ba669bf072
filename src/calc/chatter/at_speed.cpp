#include "calc/chatter/at_speed.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <limits>

#include "calc/chatter/cutter.h"
#include "calc/chatter/damping.h"
#include "calc/chatter/lobes_eigen.h"
#include "calc/chatter/lobes_structure.h"

namespace fettle::chatter {

namespace {

using Complex = std::complex<double>;
using maths::Response3;

constexpr double two_pi = 2 * M_PI;

Cutter cutter_of(const AtSpeedInputs& in) {
  Cutter c;
  c.tooth_angles = in.tooth_angles, c.entry = in.entry, c.exit = in.exit, c.lead = in.lead;
  c.kt = in.kt, c.kr = in.kr, c.ka = in.ka, c.diameter = in.diameter;
  return c;
}

std::string wrong(const AtSpeedInputs& in) {
  if (in.responses.empty()) return "nothing gives way: no response was given";
  std::string why = chatter::wrong(cutter_of(in));
  if (why.empty()) why = chatter::wrong(in.responses);
  if (!why.empty()) return why;
  if (!(in.turns > 0) || !std::isfinite(in.turns)) return "the spindle speed must be above zero";
  if (!(in.indentation >= 0) || !(in.land >= 0) || !(in.friction >= 0) || (in.indentation > 0 && !(in.diameter > 0)) ||
      !std::isfinite(in.indentation + in.land + in.friction))
    return "the flank's numbers cannot be";
  if (!(in.highest > 0)) return "the highest frequency must be above zero";
  return {};
}

/// How far two values are apart; guards against overflow cost more than all else of a look.
double apart(Complex a, Complex b) { return std::sqrt(std::norm(a - b)); }

double size_of(const Real9& m) {
  double sum = 0;
  for (double x : m) sum += x * x;
  return std::sqrt(sum);
}

/// The cut at one speed: its eigenvalues at any frequency, 1/depth where they are real.
class Loop {
 public:
  explicit Loop(const AtSpeedInputs& in)
      : structure_(in.responses, in.axes), flat_(std::sin(in.lead) < 1e-9), land_(in.land) {
    const Cutter cutter = cutter_of(in);
    directions_ = directions(cutter, in.friction);
    late_ = tooth_delays(cutter, in.turns);
    const double per_radian = static_cast<double>(late_.size()) / two_pi;
    cut_ = in.kt * per_radian;
    speed_ = M_PI * in.diameter * in.turns;
    rub_ = in.indentation > 0 ? flank_coefficient(in.indentation, in.land) / speed_ * per_radian : 0;
    even_ = std::all_of(late_.begin(), late_.end(), [&](double t) { return t == late_.front(); });
    const double rest = size_of(structure_.residual);
    rest_ = {2 * cut_ * rest * size_of(directions_.chip), rub_ * rest * size_of(directions_.flank)};
    for (const SwingMode& m : structure_.modes) {
      strength_.push_back(Two{2 * cut_ * strength(m, directions_.chip), rub_ * strength(m, directions_.flank)});
      const double x = m.shape[0], y = m.shape[1], z = m.shape[2];
      swings_.push_back({m.omega * m.omega, 2 * m.damping * m.omega, {x * x, x * y, x * z, y * y, y * z, z * z}});
    }
  }
  const Structure& structure() const { return structure_; }
  std::size_t count() const { return flat_ ? 2 : 3; }
  double longest() const { return *std::max_element(late_.begin(), late_.end()); }

  /// The waves that the teeth before left, as seen by those that come: mean of exp(-i omega T).
  Complex memory(double omega) const {
    if (even_) return turn(omega * late_.front());
    Complex sum = 0;
    for (double t : late_) sum += turn(omega * t);
    return sum / static_cast<double>(late_.size());
  }
  Response3 force(double omega, Complex memory) const {
    const Complex cut = cut_ * (1.0 - memory), rub(0, rubbing(omega));
    Response3 f;
    for (std::size_t i = 0; i < 9; ++i) f[i] = cut * directions_.chip[i] + rub * directions_.flank[i];
    return f;
  }
  Response3 force(double omega) const { return force(omega, memory(omega)); }
  Three values(double omega) const { return values_of(flat_ ? motion<5>(omega) : motion<6>(omega), force(omega)); }
  /// At two frequencies: quicker than one after the other.
  std::array<Three, 2> values(const std::array<double, 2>& omega, const std::array<Complex, 2>& memory) const {
    const std::array<Response3, 2> g = flat_ ? motions<5>(omega) : motions<6>(omega);
    return {values_of(g[0], force(omega[0], memory[0])), values_of(g[1], force(omega[1], memory[1]))};
  }

  /// No eigenvalue is larger at this frequency, whatever the waves between the teeth.
  double bound(double omega) const {
    Two g = Two{rest_[0], rest_[1]};
    for (std::size_t i = 0; i < swings_.size(); ++i) {
      const double a = swings_[i].square - omega * omega, b = swings_[i].loss * omega, d = std::sqrt(a * a + b * b);
      g += strength_[i] / Two{d, d};
    }
    return g[0] + omega * g[1];
  }

  /// exp(-i omega T) step by step, for teeth that are late alike.
  class Waves {
   public:
    Waves(const Loop& loop, double low, double step)
        : loop_(loop), now_(loop.memory(low)), step_(loop.even_ ? turn(step * loop.late_.front()) : 0) {}
    /// At the next place, which is `omega`; the first one is `low`.
    Complex next(double omega) {
      const Complex here = loop_.even_ ? now_ : loop_.memory(omega);
      now_ = product(now_, step_);
      return here;
    }

   private:
    const Loop& loop_;
    Complex now_, step_;
  };

 private:
  /// Two numbers side by side, real and imaginary: they round as plain doubles do.
  typedef double Two __attribute__((vector_size(16)));
  /// A mode, ready to be asked at any frequency: products of its shape xx, xy, xz, yy, yz, zz.
  struct Swing {
    double square = 0, loss = 0;
    std::array<double, 6> pairs{};
  };
  static Complex product(Complex a, Complex b) {
    return {a.real() * b.real() - a.imag() * b.imag(), a.real() * b.imag() + a.imag() * b.real()};
  }
  static Complex turn(double angle) { return {std::cos(angle), -std::sin(angle)}; }
  Three values_of(const Response3& g, const Response3& f) const {
    if (!flat_) return eigenvalues(times(g, f), false);
    Response3 m{};  // what moves along the spindle makes no chip: four of the nine are asked for
    for (const std::size_t i : {0, 3})
      for (const std::size_t j : {0, 1})
        m[i + j] = product(g[i], f[j]) + product(g[i + 1], f[3 + j]) + product(g[i + 2], f[6 + j]);
    return eigenvalues(m, true);
  }
  /// Size of (shape shape^T) D: how far the mode answers to its own share of the force, per compliance.
  double strength(const SwingMode& m, const Real9& d) const {
    const double across = std::hypot(m.shape[0], m.shape[1]), all = std::hypot(across, m.shape[2]);
    double square = 0;
    for (std::size_t j = 0; j < count(); ++j) {
      const double v = m.shape[0] * d[j] + m.shape[1] * d[3 + j] + m.shape[2] * d[6 + j];
      square += v * v;
    }
    return (flat_ ? across : all) * std::sqrt(square);
  }
  /// Structure::at, of the first `N` pairs.
  template <std::size_t N>
  Response3 motion(double omega) const {
    Two sum[N] = {};
    for (const Swing& m : swings_) {
      const double a = m.square - omega * omega, b = m.loss * omega, d = 1 / (a * a + b * b);
      const Two ab{a, -b}, each{d, d};
      for (std::size_t i = 0; i < N; ++i) sum[i] += Two{m.pairs[i], m.pairs[i]} * ab * each;
    }
    constexpr std::size_t place[9] = {0, 1, 2, 1, 3, 4, 2, 4, 5};
    Response3 g{};
    for (std::size_t i = 0; i < 9; ++i)
      if (place[i] < N) g[i] = {sum[place[i]][0] + structure_.residual[i], sum[place[i]][1]};
    return g;
  }
  /// The same at two frequencies, side by side.
  template <std::size_t N>
  std::array<Response3, 2> motions(const std::array<double, 2>& omega) const {
    Two re[N] = {}, im[N] = {};
    const Two w{omega[0], omega[1]}, one{1, 1};
    for (const Swing& m : swings_) {
      const Two a = Two{m.square, m.square} - w * w, b = Two{m.loss, m.loss} * w, d = one / (a * a + b * b);
      const Two ad = a * d, bd = b * d;
      for (std::size_t i = 0; i < N; ++i) {
        const Two p{m.pairs[i], m.pairs[i]};
        re[i] += p * ad, im[i] -= p * bd;
      }
    }
    constexpr std::size_t place[9] = {0, 1, 2, 1, 3, 4, 2, 4, 5};
    std::array<Response3, 2> g{};
    for (std::size_t i = 0; i < 9; ++i)
      if (place[i] < N)
        for (std::size_t k = 0; k < 2; ++k) g[k][i] = {re[place[i]][k] + structure_.residual[i], im[place[i]][k]};
    return g;
  }
  double rubbing(double omega) const {
    return rub_ > 0 ? omega * rub_ * wave_factor(omega / two_pi, land_, speed_) : 0;
  }

  Structure structure_;
  std::vector<Swing> swings_;
  Directions directions_;
  std::vector<double> late_;
  std::vector<Two> strength_;  ///< of each mode: of cutting, and per frequency of rubbing
  std::array<double, 2> rest_{};
  bool flat_, even_ = true;
  double cut_ = 0, rub_ = 0, land_ = 0, speed_ = 0;
};

/// Frequencies so close that the response hardly bends from one to the next.
std::vector<double> stations(const Structure& s, double end) {
  std::vector<double> at, half;
  for (const SwingMode& m : s.modes) half.push_back(std::max(m.damping, 1e-4) * m.omega);
  double omega = 0.25 * s.lowest();
  while (omega < end) {
    at.push_back(omega);
    double nearest = HUGE_VAL;
    std::size_t which = 0;
    for (std::size_t i = 0; i < half.size(); ++i) {
      const double off = omega - s.modes[i].omega, square = half[i] * half[i] + off * off;
      if (square < nearest) nearest = square, which = i;
    }
    omega += std::min(0.1 * omega, 0.3 * std::hypot(half[which], omega - s.modes[which].omega));
  }
  at.push_back(end);
  return at;
}

/// Looks for the largest real, positive eigenvalue, or for any that is `enough`.
class Search {
 public:
  explicit Search(const Loop& loop, double enough) : loop_(loop), enough_(enough) {}
  bool done() const { return best >= enough_; }

  /// All of the way from one frequency to another, in steps that are small against the waves between the teeth.
  void over(double low, double high) {
    const double steps = std::ceil((high - low) * loop_.longest() / 0.35);
    Loop::Waves waves(loop_, low, (high - low) / steps);
    const auto place = [&](double k) { return k >= steps ? high : low + (high - low) * k / steps; };
    double from = low;
    Three before{};
    for (double k = 0; k <= steps && !done(); k += 2) {
      const std::array<double, 2> to = {place(k), place(k + 1)};
      const Complex first = waves.next(to[0]), second = waves.next(to[1]);
      std::array<Three, 2> now = loop_.values(to, {first, second});
      for (std::size_t i = 0; i < 2 && k + static_cast<double>(i) <= steps; ++i) {
        note(now[i]);
        if (k + static_cast<double>(i) > 0) between(from, before, to[i], now[i], 5);
        from = to[i], before = now[i];
      }
    }
  }
  double best = 0, omega = 0, largest = 0;

 private:
  struct Point {
    double omega = 0;
    Complex value;
  };

  void note(const Three& v) {
    for (const Complex& c : v) largest = std::max(largest, std::norm(c));
  }
  Three at(double w) {
    const Three v = loop_.values(w);
    note(v);
    return v;
  }

  /// `b` leaves in the order of `a`.
  void between(double low, const Three& a, double high, Three& b, int halvings) {
    follow(a, b, static_cast<int>(loop_.count()));
    double far = 0, reach = 0, near = HUGE_VAL;  // largest motion; the largest real part in sight; closest two
    bool bends = false;
    for (std::size_t i = 0; i < loop_.count(); ++i) {
      const double motion = apart(b[i], a[i]), up = std::max(a[i].real(), b[i].real()) + motion;
      far = std::max(far, motion), reach = std::max(reach, up);
      const bool passes = (a[i].imag() > 0) != (b[i].imag() > 0);
      bends |= up > best && !passes && std::min(std::fabs(a[i].imag()), std::fabs(b[i].imag())) < 0.3 * motion;
      for (std::size_t k = 0; k < i; ++k) near = std::min(near, std::min(apart(a[i], a[k]), apart(b[i], b[k])));
    }
    if (!(reach > best)) return;
    if (halvings > 0 && (bends || near < 1.5 * far)) {
      const double mid = 0.5 * (low + high);
      Three m = at(mid), end = b;
      between(low, a, mid, m, halvings - 1);
      between(mid, m, high, end, halvings - 1);
      b = end;
      return;
    }
    for (std::size_t i = 0; i < loop_.count(); ++i)
      if ((a[i].imag() > 0) != (b[i].imag() > 0)) pass({low, a[i]}, {high, b[i]});
  }

  Point nearest(double w, Complex guess) const {
    Point p{w, guess};
    double gap = HUGE_VAL;
    for (const Complex& c : loop_.values(w))
      if (std::norm(c - guess) < gap) gap = std::norm(c - guess), p.value = c;
    return p;
  }

  /// Where the eigenvalue passes the real axis: regula falsi, which halves now and then lest it creep.
  void pass(Point low, Point high) {
    if (!(std::max(low.value.real(), high.value.real()) > 0.8 * best)) return;
    Point p;
    for (int round = 0; round < 24; ++round) {
      double share = low.value.imag() / (low.value.imag() - high.value.imag());
      if (round % 4 == 3) share = 0.5;
      p = nearest(low.omega + share * (high.omega - low.omega), low.value + share * (high.value - low.value));
      if (!(p.value.imag() * p.value.imag() > 1e-14 * std::norm(p.value))) break;
      ((p.value.imag() > 0) == (low.value.imag() > 0) ? low : high) = p;
    }
    if (p.value.real() > best) best = p.value.real(), omega = p.omega;
  }

  const Loop& loop_;
  double enough_;
};

std::vector<double> shares(const Loop& loop, double omega, double value) {
  const Response3 force = loop.force(omega), whole = times(loop.structure().at(omega), force);
  std::vector<double> out;
  out.reserve(static_cast<std::size_t>(loop.structure().owners));
  for (int o = 0; o < loop.structure().owners; ++o)
    out.push_back(added_by(times(loop.structure().at(omega, o), force), whole, value).real() / value);
  return out;
}

/// Stretches of frequency, those that may hold the largest eigenvalue first; the rest need no look.
void search(const Loop& loop, double end, Search& s) {
  struct Stretch {
    double low = 0, high = 0, bound = 0;
  };
  const std::vector<double> at = stations(loop.structure(), end);
  std::vector<Stretch> all;
  double before = loop.bound(at.front());
  for (std::size_t i = 1; i < at.size(); ++i) {
    const double now = loop.bound(at[i]);
    // Stations lie 0.3 of the way to the nearest pole apart: from the nearer end no mode grows by more than 1.26.
    all.push_back({at[i - 1], at[i], 1.3 * std::max(before, now)});
    before = now;
  }
  std::sort(all.begin(), all.end(), [](const Stretch& a, const Stretch& b) { return a.bound > b.bound; });
  for (const Stretch& stretch : all) {
    if (!(stretch.bound > s.best) || s.done()) break;
    s.over(stretch.low, stretch.high);
  }
}

AtSpeedResult searched(const AtSpeedInputs& in, double enough) {
  AtSpeedResult out;
  out.why = wrong(in);
  if (!out.why.empty()) return out;
  const Loop loop(in);
  const double highest = loop.structure().highest(), end = std::min(3 * highest, two_pi * in.highest);
  if (!(highest > 0) || !(loop.structure().lowest() < end)) {
    out.why = "nothing swings: no mode was given";
    return out;
  }
  Search s(loop, enough);
  search(loop, end, s);
  out.ok = true;
  out.depth = std::numeric_limits<double>::infinity();
  if (!(s.best > 1e-9 * std::sqrt(s.largest))) return out;  // what rounding leaves of a value that is nothing
  out.depth = 1 / s.best, out.frequency = s.omega / two_pi;
  out.share = shares(loop, s.omega, s.best);
  return out;
}

}  // namespace

AtSpeedResult depth_at_speed(const AtSpeedInputs& in) { return searched(in, std::numeric_limits<double>::infinity()); }

AtSpeedResult deeper_at_speed(const DeeperInputs& in) {
  return searched(in.in, in.than > 0 ? 1 / in.than : std::numeric_limits<double>::infinity());
}

}  // namespace fettle::chatter
