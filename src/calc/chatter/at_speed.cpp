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
    most_cut_ = 2 * cut_ * size_of(directions_.chip), most_rub_ = rub_ * size_of(directions_.flank);
    residual_ = size_of(structure_.residual);
    for (const SwingMode& m : structure_.modes) {
      const double across = std::hypot(m.shape[0], m.shape[1]), all = std::hypot(across, m.shape[2]);
      strength_.push_back(all * (flat_ ? across : all));
      const double x = m.shape[0], y = m.shape[1], z = m.shape[2];
      swings_.push_back({m.omega * m.omega, 2 * m.damping * m.omega, {x * x, x * y, x * z, y * y, y * z, z * z}});
    }
  }
  const Structure& structure() const { return structure_; }
  std::size_t count() const { return flat_ ? 2 : 3; }
  double longest() const { return *std::max_element(late_.begin(), late_.end()); }

  Response3 force(double omega) const {
    Complex memory = 0, one = 0;
    double before = -1;  // even teeth are late alike
    for (double t : late_) {
      if (t != before) one = Complex(std::cos(omega * t), -std::sin(omega * t)), before = t;
      memory += one;
    }
    const Complex cut = cut_ * (1.0 - memory / static_cast<double>(late_.size())), rub(0, rubbing(omega));
    Response3 f;
    for (std::size_t i = 0; i < 9; ++i) f[i] = cut * directions_.chip[i] + rub * directions_.flank[i];
    return f;
  }
  Three values(double omega) const {
    const Response3 g = flat_ ? motion<5>(omega) : motion<6>(omega), f = force(omega);
    if (!flat_) return eigenvalues(times(g, f), false);
    Response3 m{};  // what moves along the spindle makes no chip: four of the nine are asked for
    for (const std::size_t i : {0, 3})
      for (const std::size_t j : {0, 1})
        m[i + j] = product(g[i], f[j]) + product(g[i + 1], f[3 + j]) + product(g[i + 2], f[6 + j]);
    return eigenvalues(m, true);
  }

  /// No eigenvalue is larger at this frequency, whatever the waves between the teeth.
  double bound(double omega) const {
    double g = residual_;
    for (std::size_t i = 0; i < swings_.size(); ++i) {
      const double a = swings_[i].square - omega * omega, b = swings_[i].loss * omega;
      g += strength_[i] / std::sqrt(a * a + b * b);
    }
    return g * (most_cut_ + omega * most_rub_);
  }

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
  double rubbing(double omega) const {
    return rub_ > 0 ? omega * rub_ * wave_factor(omega / two_pi, land_, speed_) : 0;
  }

  Structure structure_;
  std::vector<Swing> swings_;
  Directions directions_;
  std::vector<double> late_, strength_;
  bool flat_;
  double cut_ = 0, rub_ = 0, land_ = 0, speed_ = 0, most_cut_ = 0, most_rub_ = 0, residual_ = 0;
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

/// Looks for the largest real, positive eigenvalue.
class Search {
 public:
  explicit Search(const Loop& loop) : loop_(loop) {}

  /// All of the way from one frequency to another, in steps that are small against the waves between the teeth.
  void over(double low, double high) {
    const double steps = std::ceil((high - low) * loop_.longest() / 0.35);
    double from = low;
    Three before = at(low);
    for (double k = 1; k <= steps; ++k) {
      const double to = k == steps ? high : low + (high - low) * k / steps;
      Three now = at(to);
      between(from, before, to, now, 5);
      from = to, before = now;
    }
  }
  double best = 0, omega = 0, largest = 0;

 private:
  struct Point {
    double omega = 0;
    Complex value;
  };

  Three at(double w) {
    const Three v = loop_.values(w);
    for (const Complex& c : v) largest = std::max(largest, std::norm(c));
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
      if (!(std::fabs(p.value.imag()) > 1e-7 * std::abs(p.value))) break;
      ((p.value.imag() > 0) == (low.value.imag() > 0) ? low : high) = p;
    }
    if (p.value.real() > best) best = p.value.real(), omega = p.omega;
  }

  const Loop& loop_;
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
    all.push_back({at[i - 1], at[i], 1.5 * std::max(before, now)});  // stations: no response changes by more
    before = now;
  }
  std::sort(all.begin(), all.end(), [](const Stretch& a, const Stretch& b) { return a.bound > b.bound; });
  for (const Stretch& stretch : all) {
    if (!(stretch.bound > s.best)) break;
    s.over(stretch.low, stretch.high);
  }
}

}  // namespace

AtSpeedResult depth_at_speed(const AtSpeedInputs& in) {
  AtSpeedResult out;
  out.why = wrong(in);
  if (!out.why.empty()) return out;
  const Loop loop(in);
  const double highest = loop.structure().highest(), end = std::min(3 * highest, two_pi * in.highest);
  if (!(highest > 0) || !(loop.structure().lowest() < end)) {
    out.why = "nothing swings: no mode was given";
    return out;
  }
  Search s(loop);
  search(loop, end, s);
  out.ok = true;
  out.depth = std::numeric_limits<double>::infinity();
  if (!(s.best > 1e-9 * std::sqrt(s.largest))) return out;  // what rounding leaves of a value that is nothing
  out.depth = 1 / s.best, out.frequency = s.omega / two_pi;
  out.share = shares(loop, s.omega, s.best);
  return out;
}

}  // namespace fettle::chatter
