#include "calc/chatter/lobes.h"

#include <algorithm>
#include <cmath>

#include "calc/chatter/lobes_eigen.h"
#include "calc/chatter/lobes_structure.h"

namespace fettle::chatter {

namespace {

using Complex = std::complex<double>;
using maths::Response3;
constexpr double two_pi = 6.283185307179586;
constexpr double nothing = 1e-6;  ///< of the largest eigenvalue: no more than rounding leaves

std::string wrong(const ResponseTable& t) {
  if (t.frequency.size() != t.response.size()) return "the table needs one response for each frequency";
  for (std::size_t i = 0; i < t.frequency.size(); ++i)
    if (!(t.frequency[i] > (i == 0 ? 0 : t.frequency[i - 1])) || !std::isfinite(t.frequency[i]))
      return "the frequencies of the table must rise from above zero";
  for (const Response3& r : t.response)
    for (const Complex& c : r)
      if (!std::isfinite(c.real()) || !std::isfinite(c.imag())) return "the table holds something that is no number";
  if (t.frequency.size() == 1) return "the table needs two frequencies or more";
  return {};
}

std::string wrong(const LobesInputs& in) {
  std::string why = wrong(in.cutter);
  if (why.empty()) why = wrong(in.table);
  if (why.empty()) why = chatter::wrong(in.responses);
  if (!why.empty()) return why;
  if (!even(in.cutter)) return "these lobes are for even teeth; ask uneven ones speed by speed";
  if (!(in.slowest > 0) || !(in.fastest > in.slowest) || !std::isfinite(in.fastest))
    return "the speeds must rise from above zero";
  if (in.speeds < 2 || in.speeds > 100000) return "between 2 and 100000 speeds";
  if (in.frequencies < 16 || in.frequencies > 1000000) return "between 16 and 1000000 frequencies";
  if (in.lobes < 0 || in.lobes > 2000) return "between 0 and 2000 lobes";
  return {};
}

/// Frequencies, rad/s, rising: half spread evenly by ratio, half crowded around the modes.
std::vector<double> frequencies(const Structure& s, int count) {
  const double low = 0.25 * s.lowest(), high = 3 * s.highest();
  std::vector<double> w;
  const int wide = count / 2, per = std::max(1, (count - wide) / static_cast<int>(s.modes.size()));
  const double ratio = std::pow(high / low, 1.0 / (wide - 1));
  double x = low;
  for (int i = 0; i < wide; ++i, x *= ratio) w.push_back(x);
  std::vector<double> at;  // in half-widths: as many points within one as far out
  at.reserve(static_cast<std::size_t>(per));
  for (int i = 0; i < per; ++i) at.push_back(std::tan(M_PI / 2 * (-0.97 + 1.94 * (i + 0.5) / per)));
  for (const SwingMode& m : s.modes) {
    const auto before = static_cast<std::ptrdiff_t>(w.size());
    const double half_width = m.omega * std::max(m.damping, 1e-4);
    for (double a : at)
      if (const double f = m.omega + half_width * a; f > low && f < high) w.push_back(f);
    std::inplace_merge(w.begin(), w.begin() + before, w.end());
  }
  return w;
}

/// G A for real A.
Response3 times(const Response3& g, const Real9& a) {
  Response3 c;
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j)
      c[3 * i + j] = g[3 * i] * a[j] + g[3 * i + 1] * a[3 + j] + g[3 * i + 2] * a[6 + j];
  return c;
}

/// The loop from chip to chip at any frequency, and its eigenvalues over the frequency as tracks.
class Loop {
 public:
  explicit Loop(const LobesInputs& in)
      : structure_(in.responses, in.axes),
        table_(in.table),
        chip_(directions(in.cutter, 0).chip),
        flat_(std::sin(in.cutter.lead) < 1e-9) {}
  const Structure& structure() const { return structure_; }
  const Real9& chip() const { return chip_; }
  bool tabled() const { return !table_.frequency.empty(); }
  std::size_t count() const { return flat_ ? 2 : 3; }
  Three values(const Response3& g) const { return eigenvalues(times(g, chip_), flat_); }

  void follow_all(int frequencies_wanted) {
    if (tabled())
      for (double f : table_.frequency) omega.push_back(two_pi * f);
    else omega = frequencies(structure_, frequencies_wanted);
    value.reserve(omega.size());
    for (std::size_t i = 0; i < omega.size(); ++i) {
      Three now = values(tabled() ? table_.response[i] : structure_.at(omega[i]));
      if (i > 0) follow(value.back(), now, static_cast<int>(count()));
      for (std::size_t e = 0; e < count(); ++e) largest = std::max(largest, std::norm(now[e]));
      value.push_back(now);
    }
    largest = std::sqrt(largest);
  }

  std::vector<double> omega;
  std::vector<Three> value;
  double largest = 0;

 private:
  Structure structure_;
  const ResponseTable& table_;
  Real9 chip_;
  bool flat_;
};

/// The eigenvalue of the largest real part: the least depth of all speeds.
struct Peak {
  double omega = 0;
  Complex value;
};

/// The eigenvalue at `omega` that lies nearest to `guess`.
Complex nearest(const Loop& loop, double omega, Complex guess) {
  Complex best = guess;
  double gap = HUGE_VAL;
  for (const Complex& c : loop.values(loop.structure().at(omega)))
    if (std::norm(c - guess) < gap) gap = std::norm(c - guess), best = c;
  return best;
}

Peak peak(const Loop& loop) {
  Peak p;
  std::size_t at = 0;
  for (std::size_t i = 0; i < loop.value.size(); ++i)
    for (std::size_t e = 0; e < loop.count(); ++e)
      if (loop.value[i][e].real() > p.value.real()) p = {loop.omega[i], loop.value[i][e]}, at = i;
  if (loop.tabled() || !(p.value.real() > 0)) return p;
  double a = loop.omega[at > 0 ? at - 1 : 0], b = loop.omega[std::min(at + 1, loop.omega.size() - 1)];
  for (int i = 0; i < 30; ++i) {  // golden section between the neighbours
    const double x = a + 0.381966 * (b - a), y = a + 0.618034 * (b - a);
    if (nearest(loop, x, p.value).real() > nearest(loop, y, p.value).real()) b = y;
    else a = x;
  }
  const Complex better = nearest(loop, 0.5 * (a + b), p.value);
  if (better.real() >= p.value.real()) p = {0.5 * (a + b), better};
  return p;
}

void tell_least(const Loop& loop, double depth, LobesResult& out) {
  out.least = out.least_frequency = HUGE_VAL;
  const Peak p = peak(loop);
  if (!(p.value.real() > nothing * loop.largest)) return;
  out.least = depth / p.value.real(), out.least_frequency = p.omega / two_pi;
  if (loop.tabled()) return;
  const Response3 whole = times(loop.structure().at(p.omega), loop.chip());
  for (int o = 0; o < loop.structure().owners; ++o) {
    const Response3 part = times(loop.structure().at(p.omega, o), loop.chip());
    out.share.push_back(added_by(part, whole, p.value).real() / p.value.real());
  }
}

/// Depth over speed, from which curves take away what they undercut.
class Envelope {
 public:
  Envelope(const LobesInputs& in, LobesResult& out)
      : first_(in.slowest), per_step_((in.speeds - 1) / (in.fastest - in.slowest)), out_(out) {
    for (int i = 0; i < in.speeds; ++i)
      out.turns.push_back(in.slowest + (in.fastest - in.slowest) * i / (in.speeds - 1));
    out.limit.assign(out.turns.size(), HUGE_VAL);
    out.frequency.assign(out.turns.size(), 0);
  }
  /// Straight from (speed n1, depth b1) to (n2, b2), both inclusive.
  void piece(double n1, double b1, double f1, double n2, double b2, double f2) {
    const double p1 = (n1 - first_) * per_step_, p2 = (n2 - first_) * per_step_;
    const double low = std::min(p1, p2), high = std::max(p1, p2);
    if (!(high >= 0) || !(low < static_cast<double>(out_.limit.size()))) return;
    for (auto i = static_cast<std::size_t>(std::ceil(std::max(low, 0.0)));
         static_cast<double>(i) <= high && i < out_.limit.size(); ++i) {
      const double share = p2 == p1 ? 0 : (static_cast<double>(i) - p1) / (p2 - p1), b = b1 + share * (b2 - b1);
      if (b < out_.limit[i]) out_.limit[i] = b, out_.frequency[i] = f1 + share * (f2 - f1);
    }
  }

 private:
  double first_, per_step_;
  LobesResult& out_;
};

/// One eigenvalue's lobes 0 .. last - 1, drawn into the envelope.
void draw(const Loop& loop, std::size_t which, double depth, double teeth, std::size_t last, Envelope& envelope) {
  std::vector<double> before(last), now(last);
  bool joined = false;
  double b0 = 0, f0 = 0;
  for (std::size_t i = 0; i < loop.value.size(); ++i) {
    const Complex l = loop.value[i][which];
    if (!(l.real() > nothing * loop.largest)) {
      joined = false;
      continue;
    }
    const double waves = 0.5 + std::atan2(l.imag(), l.real()) / M_PI, pitch = loop.omega[i] / (two_pi * teeth);
    const double b = depth / l.real(), f = loop.omega[i] / two_pi;
    for (std::size_t j = 0; j < last; ++j) now[j] = pitch / (waves + static_cast<double>(j));
    if (joined)
      for (std::size_t j = 0; j < last; ++j) envelope.piece(before[j], b0, f0, now[j], b, f);
    std::swap(before, now);
    b0 = b, f0 = f, joined = true;
  }
}

}  // namespace

LobesResult lobes(const LobesInputs& in) {
  LobesResult out;
  out.why = wrong(in);
  if (!out.why.empty()) return out;
  Loop loop(in);
  if (!loop.tabled() && loop.structure().modes.empty()) {
    out.why = "nothing swings: no mode was given";
    return out;
  }
  loop.follow_all(in.frequencies);
  const auto teeth = static_cast<double>(in.cutter.tooth_angles.size());
  const double depth = M_PI / (teeth * in.cutter.kt);  // b = depth / Re l
  tell_least(loop, depth, out);
  // Speed n needs the lobes j < w/(2 pi N n).
  const double most = loop.omega.back() / (two_pi * teeth);
  const int needed = static_cast<int>(std::min(2000.0, std::ceil(most / in.slowest)));
  const int last = in.lobes > 0 ? std::min(in.lobes, needed) : needed;
  if (last < most / in.slowest) out.covered_from = most / last;
  Envelope envelope(in, out);
  for (std::size_t e = 0; e < loop.count(); ++e) draw(loop, e, depth, teeth, static_cast<std::size_t>(last), envelope);
  out.ok = true;
  return out;
}

std::vector<double> lobe_speeds(double frequency, int teeth, int count) {
  std::vector<double> n;
  for (int j = 1; j <= count; ++j) n.push_back(frequency / (teeth * j));
  return n;
}

}  // namespace fettle::chatter
