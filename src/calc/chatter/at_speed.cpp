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
  const std::string why = wrong(cutter_of(in));
  if (!why.empty()) return why;
  if (!(in.turns > 0) || !std::isfinite(in.turns)) return "the spindle speed must be above zero";
  if (!(in.indentation >= 0) || !(in.land >= 0) || (in.indentation > 0 && !(in.diameter > 0)))
    return "the flank's numbers cannot be";
  return {};
}

/// The cut at one speed: force on the tool by its displacement, per depth, at any frequency.
class Feedback {
 public:
  explicit Feedback(const AtSpeedInputs& in)
      : structure_(in.responses, in.axes), flat_(std::sin(in.lead) < 1e-9), land_(in.land) {
    const Cutter cutter = cutter_of(in);
    directions_ = directions(cutter, in.friction);
    late_ = tooth_delays(cutter, in.turns);
    const double per_radian = static_cast<double>(late_.size()) / two_pi;
    cut_ = in.kt * per_radian;
    speed_ = M_PI * in.diameter * in.turns;
    rub_ = in.indentation > 0 ? flank_coefficient(in.indentation, in.land) / speed_ * per_radian : 0;
  }
  const Structure& structure() const { return structure_; }
  bool flat() const { return flat_; }
  double longest() const { return *std::max_element(late_.begin(), late_.end()); }
  Response3 force(double omega) const {
    Complex memory = 0;
    const auto teeth = static_cast<double>(late_.size());
    for (double t : late_) memory += Complex(std::cos(omega * t), -std::sin(omega * t)) / teeth;
    const Complex cut = cut_ * (1.0 - memory),
                  rub(0, rub_ > 0 ? omega * rub_ * wave_factor(omega / two_pi, land_, speed_) : 0);
    Response3 f;
    for (std::size_t i = 0; i < 9; ++i) f[i] = cut * directions_.chip[i] + rub * directions_.flank[i];
    return f;
  }
  Three values(double omega) const { return eigenvalues(times(structure_.at(omega), force(omega)), flat_); }

 private:
  Structure structure_;
  Directions directions_;
  std::vector<double> late_;
  bool flat_;
  double cut_ = 0, rub_ = 0, land_ = 0, speed_ = 0;
};

/// Steps small against the width of the nearest mode, against the waves between teeth, and against the frequency.
double stride(const Structure& s, double omega, double longest) {
  double step = std::min(0.008 * omega, 0.35 / longest);
  for (const SwingMode& m : s.modes)
    step = std::min(step, 0.3 * std::hypot(std::max(m.damping, 1e-4) * m.omega, omega - m.omega));
  return step;
}

/// Where eigenvalue `which` passes the real axis between two frequencies.
struct Passing {
  double omega = 0, value = 0;
};
Passing passing(const Feedback& cut, double low, Complex at_low, double high, Complex at_high) {
  Passing p;
  for (int round = 0; round < 12; ++round) {
    const double share = at_low.imag() / (at_low.imag() - at_high.imag());
    p.omega = low + share * (high - low);
    p.value = at_low.real() + share * (at_high.real() - at_low.real());
    if (!(p.value > 0)) return p;
    const Complex guess = at_low + share * (at_high - at_low);
    Complex mid = guess;
    double gap = HUGE_VAL;
    for (const Complex& c : cut.values(p.omega))
      if (std::norm(c - guess) < gap) gap = std::norm(c - guess), mid = c;
    if (!(std::fabs(mid.imag()) > 1e-7 * std::abs(mid))) {
      p.value = mid.real();
      return p;
    }
    if ((mid.imag() > 0) == (at_low.imag() > 0)) low = p.omega, at_low = {mid.real(), mid.imag()};
    else high = p.omega, at_high = mid;
    if (round % 3 == 2) {  // regula falsi may creep: halve now and then
      const double half = 0.5 * (low + high);
      const Complex between = 0.5 * (at_low + at_high);
      gap = HUGE_VAL;
      for (const Complex& c : cut.values(half))
        if (std::norm(c - between) < gap) gap = std::norm(c - between), mid = c;
      if ((mid.imag() > 0) == (at_low.imag() > 0)) low = half, at_low = mid;
      else high = half, at_high = mid;
    }
  }
  return p;
}

std::vector<double> shares(const Feedback& cut, double omega, double value) {
  const Response3 force = cut.force(omega), whole = times(cut.structure().at(omega), force);
  std::vector<double> out;
  for (int o = 0; o < cut.structure().owners; ++o)
    out.push_back(added_by(times(cut.structure().at(omega, o), force), whole, value).real() / value);
  return out;
}

}  // namespace

AtSpeedResult depth_at_speed(const AtSpeedInputs& in) {
  AtSpeedResult out;
  out.why = wrong(in);
  if (!out.why.empty()) return out;
  const Feedback cut(in);
  const double lowest = cut.structure().lowest(), highest = cut.structure().highest();
  const double end = std::min(1.7 * highest, two_pi * in.highest);
  if (!(highest > 0) || !(lowest < end)) {
    out.why = "nothing swings: no mode was given";
    return out;
  }
  const int count = cut.flat() ? 2 : 3;
  out.depth = std::numeric_limits<double>::infinity();
  Three before{};
  double omega_before = 0, best = 0, largest = 0;
  for (double omega = 0.6 * lowest; omega < end;) {
    Three now = cut.values(omega);
    for (const Complex& c : now) largest = std::max(largest, std::abs(c));
    if (omega_before > 0) {
      follow(before, now, count);
      for (std::size_t i = 0; i < static_cast<std::size_t>(count); ++i) {
        if ((before[i].imag() > 0) == (now[i].imag() > 0)) continue;
        if (!(std::max(before[i].real(), now[i].real()) > 0.9 * best)) continue;
        const Passing p = passing(cut, omega_before, before[i], omega, now[i]);
        if (!(p.value > best)) continue;
        best = p.value;
        out.frequency = p.omega / two_pi;
      }
    }
    before = now, omega_before = omega;
    omega += stride(cut.structure(), omega, cut.longest());
  }
  out.ok = true;
  if (!(best > 1e-9 * largest)) {  // what rounding leaves of a value that is nothing
    out.frequency = 0;
    return out;
  }
  out.depth = 1 / best;
  out.share = shares(cut, two_pi * out.frequency, best);
  return out;
}

}  // namespace fettle::chatter
