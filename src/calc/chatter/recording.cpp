#include "calc/chatter/recording.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <complex>

#include "maths/fft.h"

namespace fettle::chatter {

namespace {

using Line = Eigen::VectorXd;
using Sheet = Eigen::MatrixXd;
constexpr double two_pi = 2 * M_PI;

double median(std::vector<double> v) {
  if (v.empty()) return 0;
  const auto middle = v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2);
  std::nth_element(v.begin(), middle, v.end());
  return *middle;
}

/// First samples of the taps: where the sound of 2 ms rises far above what was before.
std::vector<std::size_t> onsets(const TapInputs& in, double& quiet) {
  const auto block = std::max<std::size_t>(4, static_cast<std::size_t>(in.rate * 0.002));
  std::vector<double> level;
  for (std::size_t i = 0; i + block <= in.samples.size(); i += block) {
    double most = 0;
    for (std::size_t k = i; k < i + block; ++k) most = std::max(most, std::fabs(in.samples[k]));
    level.push_back(most);
  }
  std::vector<std::size_t> out;
  if (level.empty()) return out;
  std::vector<double> sorted = level;
  std::sort(sorted.begin(), sorted.end());
  quiet = sorted[sorted.size() / 10];
  const double loud = sorted.back();
  const double step = std::max(0.25 * loud, 6 * quiet);
  const auto apart = static_cast<std::size_t>(0.12 / 0.002);
  for (std::size_t i = 0; i < level.size(); ++i) {
    const double before = i == 0 ? 0 : level[i - 1];
    if (level[i] < step || level[i] < 2 * before) continue;
    if (!out.empty() && i * block - out.back() < apart * block) continue;
    out.push_back(i * block);
  }
  return out;
}

struct Mode {
  double omega = 0, decay = 0, energy = 0;
  double omega_s = 0, decay_s = 0;
};

Sheet columns(const std::vector<Mode>& m, int n, double dt) {
  Sheet a(n, 2 * static_cast<int>(m.size()) + 1);
  for (int j = 0; j < static_cast<int>(m.size()); ++j) {
    const Mode& x = m[static_cast<std::size_t>(j)];
    for (int i = 0; i < n; ++i) {
      const double t = i * dt, e = std::exp(-x.decay * t);
      a(i, 2 * j) = e * std::cos(x.omega * t), a(i, 2 * j + 1) = e * std::sin(x.omega * t);
    }
  }
  a.col(a.cols() - 1).setOnes();
  return a;
}

struct Fit {
  std::vector<Mode> modes;
  double cost = 0;
  Line rest;
};

/// Levenberg-Marquardt in decay and frequency; the amplitudes are solved for in every step.
Fit fit(std::vector<Mode> m, const Line& y, double dt) {
  const int n = static_cast<int>(y.size()), k = static_cast<int>(m.size());
  const auto cost_of = [&](const std::vector<Mode>& at, Line* rest, Line* amplitude, Sheet* q) {
    const Sheet a = columns(at, n, dt);
    const Eigen::HouseholderQR<Sheet> qr(a);
    const Line c = qr.solve(y);
    const Line r = y - a * c;
    if (amplitude != nullptr) *amplitude = c;
    if (q != nullptr) *q = qr.householderQ() * Sheet::Identity(n, a.cols());
    if (rest != nullptr) *rest = r;
    return r.squaredNorm();
  };
  double damp = 1e-3;
  Line rest, c;
  Sheet q;
  double cost = cost_of(m, &rest, &c, &q);
  Sheet normal = Sheet::Zero(2 * k, 2 * k);
  for (int step = 0; step < 40; ++step) {
    Sheet j(n, 2 * k);
    for (int a = 0; a < k; ++a) {
      const Mode& x = m[static_cast<std::size_t>(a)];
      for (int i = 0; i < n; ++i) {
        const double t = i * dt, e = std::exp(-x.decay * t), co = std::cos(x.omega * t), si = std::sin(x.omega * t);
        j(i, 2 * a) = -t * e * (c(2 * a) * co + c(2 * a + 1) * si);
        j(i, 2 * a + 1) = t * e * (-c(2 * a) * si + c(2 * a + 1) * co);
      }
    }
    j -= q * (q.transpose() * j).eval();
    normal = j.transpose() * j;
    const Line right = j.transpose() * rest;
    bool moved = false, done = false;
    for (int tries = 0; tries < 8 && !moved; ++tries) {
      Sheet h = normal;
      h.diagonal() += damp * normal.diagonal();
      const Line d = h.ldlt().solve(right);
      if (!d.allFinite()) break;
      std::vector<Mode> next = m;
      bool sane = true;
      for (int a = 0; a < k; ++a) {
        Mode& x = next[static_cast<std::size_t>(a)];
        x.decay += d(2 * a), x.omega += d(2 * a + 1);
        sane = sane && x.omega > 0 && x.decay > 1e-3 * x.omega / 10 && x.decay < 0.5 * x.omega;
      }
      const double now = sane ? cost_of(next, nullptr, nullptr, nullptr) : HUGE_VAL;
      if (now < cost) {
        done = cost - now < 1e-10 * cost;
        m = next, damp = std::max(damp / 8, 1e-9), moved = true;
      } else {
        damp *= 8;
      }
    }
    if (!moved) break;
    cost = cost_of(m, &rest, &c, &q);
    if (done) break;
  }
  const Sheet spread = normal.ldlt().solve(Sheet::Identity(2 * k, 2 * k)) * (cost / std::max(1, n - 4 * k - 1));
  for (int a = 0; a < k; ++a) {
    Mode& x = m[static_cast<std::size_t>(a)];
    x.decay_s = std::sqrt(std::max(0.0, spread(2 * a, 2 * a)));
    x.omega_s = std::sqrt(std::max(0.0, spread(2 * a + 1, 2 * a + 1)));
    x.energy = (c(2 * a) * c(2 * a) + c(2 * a + 1) * c(2 * a + 1)) / (4 * x.decay);
  }
  return {m, cost, rest};
}

struct Peak {
  double frequency = 0, size = 0;
};
/// Amplitude spectrum of one stretch, zero padded.
std::vector<double> spectrum(const Line& y, std::size_t size) {
  std::vector<std::complex<double>> x(size);
  for (Eigen::Index i = 0; i < y.size(); ++i) x[static_cast<std::size_t>(i)] = y(i);
  maths::fft(x);
  std::vector<double> out(size / 2);
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = std::abs(x[i]);
  return out;
}
/// Where the top of a parabola through three logarithms lies, in bins from the middle one.
double top_of(double a, double b, double c) {
  const double la = std::log(std::max(a, 1e-300)), lb = std::log(std::max(b, 1e-300)),
               lc = std::log(std::max(c, 1e-300));
  const double bend = la - 2 * lb + lc;
  return bend < 0 ? std::clamp(0.5 * (la - lc) / bend, -0.5, 0.5) : 0;
}
Peak highest(const std::vector<double>& s, double bin, double low, double high) {
  Peak p;
  for (std::size_t i = 1; i + 1 < s.size(); ++i) {
    const double f = static_cast<double>(i) * bin;
    if (f < low || f > high || s[i] < s[i - 1] || s[i] < s[i + 1] || s[i] <= p.size) continue;
    p = {(static_cast<double>(i) + top_of(s[i - 1], s[i], s[i + 1])) * bin, s[i]};
  }
  return p;
}

/// One tap: modes added one by one while each explains a worthwhile part of what is left.
Fit one_tap(const TapInputs& in, const Line& y) {
  const double dt = 1 / in.rate;
  Fit best;
  best.cost = (y.array() - y.mean()).square().sum();
  best.rest = y.array() - y.mean();
  const double all = best.cost;
  const std::size_t size = maths::power_of_two_from(static_cast<std::size_t>(y.size()) * 2);
  const double bin = in.rate / static_cast<double>(size), high = std::min(in.highest, 0.45 * in.rate);
  for (int k = 0; k < in.most; ++k) {
    const std::vector<double> s = spectrum(best.rest, size);
    const Peak p = highest(s, bin, in.lowest, high);
    const auto from = static_cast<std::size_t>(in.lowest / bin),
               to = std::min(s.size(), static_cast<std::size_t>(high / bin));
    const std::vector<double> band(s.begin() + static_cast<std::ptrdiff_t>(std::min(from, to)),
                                   s.begin() + static_cast<std::ptrdiff_t>(to));
    if (!(p.frequency > 0) || !(p.size > 5 * median(band))) break;
    Fit next;
    next.cost = HUGE_VAL;
    for (double damping : {0.005, 0.03}) {
      std::vector<Mode> m = best.modes;
      m.push_back({two_pi * p.frequency, damping * two_pi * p.frequency, 0, 0, 0});
      Fit one = fit(m, y, dt);
      if (one.cost < next.cost) next = std::move(one);
    }
    if (!(best.cost - next.cost > 0.01 * all)) break;
    best = std::move(next);
    if (best.cost < 1e-6 * all) break;
  }
  return best;
}

void gather(std::vector<Ring>& rings, std::vector<std::vector<Mode>>& found, const Mode& m) {
  const double f = m.omega / two_pi;
  for (std::size_t i = 0; i < rings.size(); ++i) {
    if (std::fabs(f - rings[i].frequency) > 0.03 * f) continue;
    found[i].push_back(m);
    return;
  }
  Ring r;
  r.frequency = f;
  rings.push_back(r);
  found.push_back({m});
}

double ratio(const Mode& m) { return m.decay / std::hypot(m.decay, m.omega); }

void close(Ring& r, const std::vector<Mode>& heard) {
  const auto n = static_cast<double>(heard.size());
  double f = 0, z = 0, fit_f = 0, fit_z = 0, between_f = 0, between_z = 0, energy = 0;
  for (const Mode& m : heard) {
    f += m.omega / two_pi / n, z += ratio(m) / n, energy += m.energy;
    fit_f += m.omega_s * m.omega_s / (two_pi * two_pi * n), fit_z += std::pow(m.decay_s / m.omega, 2) / n;
  }
  for (const Mode& m : heard)
    between_f += std::pow(m.omega / two_pi - f, 2) / std::max(1.0, n - 1),
        between_z += std::pow(ratio(m) - z, 2) / std::max(1.0, n - 1);
  r.frequency = f, r.damping = z, r.taps = static_cast<int>(heard.size()), r.share = energy;
  r.frequency_spread = std::sqrt(std::max(fit_f, between_f)), r.damping_spread = std::sqrt(std::max(fit_z, between_z));
}

}  // namespace

TapResult tap(const TapInputs& in) {
  TapResult out;
  if (!(in.rate > 0) || in.samples.size() < static_cast<std::size_t>(std::max(64.0, 0.05 * in.rate))) {
    out.why = "the recording is too short: let it ring for a second";
    return out;
  }
  double quiet = 0;
  const std::vector<std::size_t> starts = onsets(in, quiet);
  if (starts.empty()) {
    out.why = "no tap stands out of the noise: tap harder, or hold the phone nearer";
    return out;
  }
  std::vector<std::vector<Mode>> found;
  const auto skip = static_cast<std::size_t>(0.003 * in.rate);
  double left = 0;
  for (std::size_t k = 0; k < starts.size() && out.taps < 12; ++k) {
    // A clear beginning of the free ring: past the loudest sample of the blow itself.
    std::size_t from = starts[k];
    const std::size_t near = std::min(in.samples.size(), from + skip);
    for (std::size_t i = from; i < near; ++i)
      if (std::fabs(in.samples[i]) > std::fabs(in.samples[from])) from = i;
    from += skip / 3;
    const std::size_t end = std::min(k + 1 < starts.size() ? starts[k + 1] - skip / 3 : in.samples.size(), from + 8192);
    if (end <= from || end - from < 256) continue;
    const Line y = Eigen::Map<const Line>(in.samples.data() + from, static_cast<Eigen::Index>(end - from));
    const Fit f = one_tap(in, y);
    const double all = (y.array() - y.mean()).square().sum();
    ++out.taps;
    left += all > 0 ? f.cost / all : 1;
    for (const Mode& m : f.modes) {
      // What hardly decays over the stretch is a hum, not a ring.
      if (m.decay * static_cast<double>(y.size()) / in.rate < 0.3 || ratio(m) > 0.3) continue;
      gather(out.rings, found, m);
    }
  }
  for (std::size_t i = 0; i < out.rings.size(); ++i) close(out.rings[i], found[i]);
  double energy = 0;
  for (const Ring& r : out.rings) energy += r.share;
  for (Ring& r : out.rings) r.share = energy > 0 ? r.share / energy : 0;
  std::sort(out.rings.begin(), out.rings.end(), [](const Ring& a, const Ring& b) { return a.share > b.share; });
  out.left = out.taps > 0 ? left / out.taps : 1;
  out.ok = !out.rings.empty();
  if (!out.ok) out.why = "nothing rings down after the tap: tap with something hard, and let it ring";
  return out;
}

SquealResult squeal(const SquealInputs& in) {
  SquealResult out;
  if (!(in.turns > 0) || in.teeth < 1) {
    out.why =
        "the spindle speed and the number of teeth are needed: without them no tone can be told from the teeth's beat";
    return out;
  }
  std::size_t size = maths::power_of_two_from(static_cast<std::size_t>(std::max(1.0, in.rate * 0.4)));
  while (size > in.samples.size() && size > 1) size /= 2;
  if (!(in.rate > 0) || static_cast<double>(size) < 0.1 * in.rate) {
    out.why = "the recording is too short: a second of the squeal is needed";
    return out;
  }
  const std::size_t padded = 2 * size;
  std::vector<double> power(padded / 2, 0);
  for (std::size_t from = 0; from + size <= in.samples.size(); from += size / 2) {
    std::vector<std::complex<double>> x(padded);
    for (std::size_t i = 0; i < size; ++i)
      x[i] = in.samples[from + i] * 0.5 * (1 - std::cos(two_pi * static_cast<double>(i) / static_cast<double>(size)));
    maths::fft(x);
    for (std::size_t i = 0; i < power.size(); ++i) power[i] += std::norm(x[i]);
  }
  const double bin = in.rate / static_cast<double>(padded);
  out.resolution = 2 * bin;
  const double high = std::min(in.highest, 0.45 * in.rate);
  const double floor = std::sqrt(median(power));
  std::vector<double> s(power.size());
  for (std::size_t i = 0; i < s.size(); ++i) s[i] = std::sqrt(power[i]);
  const std::size_t wide = 6;
  for (std::size_t i = wide; i + wide < s.size(); ++i) {
    const double f = static_cast<double>(i) * bin;
    if (f < in.lowest || f > high || !(s[i] > 8 * floor)) continue;
    bool top = true;
    for (std::size_t k = 1; k <= wide && top; ++k) top = s[i] >= s[i - k] && s[i] > s[i + k];
    if (!top) continue;
    Tone t;
    t.frequency = (static_cast<double>(i) + top_of(s[i - 1], s[i], s[i + 1])) * bin;
    t.level = s[i];
    const auto multiple = [&](double of) {
      const double j = std::round(t.frequency / of);
      return j >= 1 &&
             std::fabs(t.frequency - j * of) <= std::min(std::max(out.resolution, 0.002 * t.frequency), 0.25 * of);
    };
    t.turning = multiple(in.turns);
    t.teeth = multiple(in.turns * in.teeth);
    out.tones.push_back(t);
  }
  std::sort(out.tones.begin(), out.tones.end(), [](const Tone& a, const Tone& b) { return a.level > b.level; });
  if (out.tones.empty()) {
    out.why = "no tone stands out of the noise: hold the phone nearer to the cut";
    return out;
  }
  const double most = out.tones.front().level;
  for (Tone& t : out.tones) t.level /= most;
  while (out.tones.size() > 1 && out.tones.back().level < 0.01) out.tones.pop_back();
  out.ok = true;
  for (const Tone& t : out.tones) {
    if (t.turning || t.teeth || t.level < 0.1) continue;
    out.chatter = true;
    out.frequency = t.frequency;
    break;
  }
  if (!out.chatter) return out;
  const double least = in.least_turns > 0 ? in.least_turns : in.turns / 3;
  const double top = in.top_turns > 0 ? in.top_turns : 3 * in.turns;
  for (int j = 1; j < 200; ++j) {
    const double n = out.frequency / (in.teeth * j);
    if (n < least) break;
    if (n <= top) out.tries.push_back(n);
  }
  std::sort(out.tries.begin(), out.tries.end(),
            [&](double a, double b) { return std::fabs(std::log(a / in.turns)) < std::fabs(std::log(b / in.turns)); });
  return out;
}

}  // namespace fettle::chatter
