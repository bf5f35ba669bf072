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

std::string wrong(const LobesInputs& in) {
  std::string why = wrong(in.cutter);
  if (!why.empty()) return why;
  if (!even(in.cutter)) return "these lobes are for even teeth; ask uneven ones speed by speed";
  if (!(in.slowest > 0) || !(in.fastest > in.slowest) || !std::isfinite(in.fastest))
    return "the speeds must rise from above zero";
  if (in.speeds < 2 || in.speeds > 100000) return "between 2 and 100000 speeds";
  if (in.frequencies < 16 || in.frequencies > 1000000) return "between 16 and 1000000 frequencies";
  if (in.lobes < 0 || in.lobes > 2000) return "between 0 and 2000 lobes";
  if (in.table.frequency.size() != in.table.response.size()) return "the table needs one response for each frequency";
  for (std::size_t i = 0; i < in.table.frequency.size(); ++i)
    if (!(in.table.frequency[i] > (i == 0 ? 0 : in.table.frequency[i - 1])))
      return "the frequencies of the table must rise from above zero";
  if (in.table.frequency.size() == 1) return "the table needs two frequencies or more";
  return {};
}

/// Frequencies, rad/s: half even over the modes' range, half crowded around every mode.
std::vector<double> frequencies(const Structure& s, int count) {
  const double low = 0.5 * s.lowest(), high = 1.5 * s.highest();
  std::vector<double> w;
  const int even = count / 2, per = std::max(1, (count - even) / static_cast<int>(s.modes.size()));
  for (int i = 0; i < even; ++i) w.push_back(low + (high - low) * i / (even - 1));
  for (const SwingMode& m : s.modes)
    for (int i = 0; i < per; ++i) {
      const double at = -0.97 + 1.94 * (i + 0.5) / per;  // tan: as many points per half-width as far out
      const double x = m.omega * (1 + std::max(m.damping, 1e-4) * std::tan(M_PI / 2 * at));
      if (x > low && x < high) w.push_back(x);
    }
  std::sort(w.begin(), w.end());
  return w;
}

/// One curve through points of depth over speed, drawn into the envelope.
struct Envelope {
  double first = 0, per_step = 0;
  std::vector<double>&limit, &frequency;

  /// Piece from speed n1 to n2; both inclusive.
  void piece(double n1, double b1, double f1, double n2, double b2, double f2) {
    const double p1 = (n1 - first) * per_step, p2 = (n2 - first) * per_step;
    const double low = std::min(p1, p2), high = std::max(p1, p2);
    const auto cells = static_cast<double>(limit.size());
    if (!(high >= 0) || !(low < cells)) return;
    for (auto i = static_cast<std::ptrdiff_t>(std::ceil(std::max(low, 0.0))); static_cast<double>(i) <= high; ++i) {
      const auto at = static_cast<std::size_t>(i);
      if (at >= limit.size()) return;
      const double share = p2 == p1 ? 0 : (static_cast<double>(i) - p1) / (p2 - p1), b = b1 + share * (b2 - b1);
      if (b < limit[at]) limit[at] = b, frequency[at] = f1 + share * (f2 - f1);
    }
  }
};

/// Eigenvalue tracks over the frequency.
struct Tracks {
  std::vector<double> omega;
  std::vector<Three> value;
  int count = 3;
};

/// G A for real A.
Response3 times(const Response3& g, const Real9& a) {
  Response3 c;
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j)
      c[3 * i + j] = g[3 * i] * a[j] + g[3 * i + 1] * a[3 + j] + g[3 * i + 2] * a[6 + j];
  return c;
}

}  // namespace

LobesResult lobes(const LobesInputs& in) {
  LobesResult out;
  out.why = wrong(in);
  if (!out.why.empty()) return out;
  const Structure s(in.responses, in.axes);
  const bool table = !in.table.frequency.empty();
  if (!table && s.modes.empty()) {
    out.why = "nothing swings: no mode was given";
    return out;
  }
  const Real9 chip = directions(in.cutter, 0).chip;
  Tracks t;
  t.count = std::sin(in.cutter.lead) < 1e-9 ? 2 : 3;
  if (table)
    for (double f : in.table.frequency) t.omega.push_back(two_pi * f);
  else t.omega = frequencies(s, in.frequencies);
  const auto response = [&](std::size_t i) { return table ? in.table.response[i] : s.at(t.omega[i]); };
  t.value.reserve(t.omega.size());
  for (std::size_t i = 0; i < t.omega.size(); ++i) {
    Three now = eigenvalues(times(response(i), chip), t.count == 2);
    if (i > 0) follow(t.value.back(), now, t.count);
    t.value.push_back(now);
  }
  const auto teeth = static_cast<double>(in.cutter.tooth_angles.size());
  const double depth = M_PI / (teeth * in.cutter.kt);  // b = depth / Re l
  // The least of all speeds.
  double most = 0, size = 0;
  std::size_t at = 0;
  int which = 0;
  for (std::size_t i = 0; i < t.value.size(); ++i)
    for (int e = 0; e < t.count; ++e) {
      const Complex l = t.value[i][static_cast<std::size_t>(e)];
      size = std::max(size, std::abs(l));
      if (l.real() > most) most = l.real(), at = i, which = e;
    }
  const double noise = 1e-9 * size;
  out.least = out.least_frequency = HUGE_VAL;
  if (most > noise) {
    double omega = t.omega[at];
    Complex value = t.value[at][static_cast<std::size_t>(which)];
    if (!table) {  // golden section between the neighbours
      const auto near = [&](double w) {
        Complex best = value;
        double gap = HUGE_VAL;
        for (const Complex& c : eigenvalues(times(s.at(w), chip), t.count == 2))
          if (std::norm(c - value) < gap) gap = std::norm(c - value), best = c;
        return best;
      };
      double a = t.omega[at > 0 ? at - 1 : 0], b = t.omega[std::min(at + 1, t.omega.size() - 1)];
      for (int i = 0; i < 40; ++i) {
        const double p = a + 0.381966 * (b - a), q = a + 0.618034 * (b - a);
        (near(p).real() > near(q).real() ? b : a) = near(p).real() > near(q).real() ? q : p;
      }
      const Complex better = near(0.5 * (a + b));
      if (better.real() >= value.real()) value = better, omega = 0.5 * (a + b);
    }
    out.least = depth / value.real(), out.least_frequency = omega / two_pi;
    if (!table) {
      const Response3 whole = times(s.at(omega), chip);
      for (int o = 0; o < s.owners; ++o)
        out.share.push_back(added_by(times(s.at(omega, o), chip), whole, value).real() / value.real());
    }
  }
  out.turns.resize(static_cast<std::size_t>(in.speeds));
  for (int i = 0; i < in.speeds; ++i)
    out.turns[static_cast<std::size_t>(i)] = in.slowest + (in.fastest - in.slowest) * i / (in.speeds - 1);
  out.limit.assign(out.turns.size(), HUGE_VAL);
  out.frequency.assign(out.turns.size(), 0);
  Envelope envelope{in.slowest, (in.speeds - 1) / (in.fastest - in.slowest), out.limit, out.frequency};
  const int needed = static_cast<int>(std::min(2000.0, std::ceil(t.omega.back() / (two_pi * teeth * in.slowest))));
  const int last = in.lobes > 0 ? std::min(in.lobes, needed + 1) : needed + 1;
  if (last <= needed) out.covered_from = t.omega.back() / (two_pi * teeth * (last - 1 > 0 ? last - 1 : 1));
  std::vector<double> low(static_cast<std::size_t>(last)), now(static_cast<std::size_t>(last));
  for (std::size_t e = 0; e < static_cast<std::size_t>(t.count); ++e) {
    bool joined = false;
    double b0 = 0, f0 = 0;
    for (std::size_t i = 0; i < t.value.size(); ++i) {
      const Complex l = t.value[i][e];
      if (!(l.real() > noise)) {
        joined = false;
        continue;
      }
      const double waves = 0.5 + std::atan2(l.imag(), l.real()) / M_PI, pitch = t.omega[i] / (two_pi * teeth);
      const double b = depth / l.real(), f = t.omega[i] / two_pi;
      const auto lobe_count = static_cast<std::size_t>(last);
      for (std::size_t j = 0; j < lobe_count; ++j) now[j] = pitch / (waves + static_cast<double>(j));
      if (joined)
        for (std::size_t j = 0; j < lobe_count; ++j) envelope.piece(low[j], b0, f0, now[j], b, f);
      std::swap(low, now);
      b0 = b, f0 = f, joined = true;
    }
  }
  out.ok = true;
  return out;
}

std::vector<double> lobe_speeds(double frequency, int teeth, int count) {
  std::vector<double> n;
  for (int j = 1; j <= count; ++j) n.push_back(frequency / (teeth * j));
  return n;
}

}  // namespace fettle::chatter
