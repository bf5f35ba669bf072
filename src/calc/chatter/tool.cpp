#include "calc/chatter/tool.h"

#include <Eigen/Dense>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>

namespace fettle::chatter {

namespace {

using Sheet = Eigen::MatrixXd;
using Small = Eigen::Matrix4d;

struct Element {
  Small k, m;
};

Element element(const Stretch& s, double l) {
  const double area = M_PI * s.diameter * s.diameter / 4, i = M_PI * std::pow(s.diameter, 4) / 64;
  const double shape = 6 * (1 + s.poisson) / (7 + 6 * s.poisson), g = s.modulus / (2 * (1 + s.poisson));
  const double p = 12 * s.modulus * i / (shape * g * area * l * l), ei = s.modulus * i / ((1 + p) * l * l * l);
  Element e;
  e.k << 12, 6 * l, -12, 6 * l, 6 * l, (4 + p) * l * l, -6 * l, (2 - p) * l * l, -12, -6 * l, 12, -6 * l, 6 * l,
      (2 - p) * l * l, -6 * l, (4 + p) * l * l;
  e.k *= ei;
  const double a = 70 * p * p + 147 * p + 78, b = (35 * p * p + 77 * p + 44) * l / 4, c = 35 * p * p + 63 * p + 27,
               d = (35 * p * p + 63 * p + 26) * l / 4, f = (7 * p * p + 14 * p + 8) * l * l / 4,
               h = (7 * p * p + 14 * p + 6) * l * l / 4;
  Small moving, turning;
  moving << a, b, c, -d, b, f, d, -h, c, d, a, -b, -d, -h, -b, f;
  const double u = (15 * p - 3) * l, v = (10 * p * p + 5 * p + 4) * l * l, w = (5 * p * p - 5 * p - 1) * l * l;
  turning << 36, -u, -36, -u, -u, v, u, w, -36, u, 36, u, -u, w, u, v;
  e.m = moving * (s.density * area * l / (210 * (1 + p) * (1 + p))) +
        turning * (s.density * i / (30 * (1 + p) * (1 + p) * l));
  return e;
}

bool sound(const ToolInputs& in, std::string& why) {
  if (in.stretches.empty()) why = "a tool needs at least one stretch";
  for (const Stretch& s : in.stretches)
    if (!(s.length > 0) || !(s.diameter > 0) || !(s.modulus > 0) || !(s.density > 0) || !(s.poisson >= 0) ||
        !(s.poisson < 0.5))
      why = "length, diameter, modulus and density of every stretch must be above zero";
  if (!(in.spindle > 0) || !(in.tilt >= 0) || !(in.tip_spring >= 0) || !(in.nose_mass >= 0))
    why = "stiffness must be above zero";
  if (in.tilt == 0 && in.tip_spring == 0) why = "nothing holds the tool against tilting";
  if (!(in.damping > 0) || !(in.damping < 1)) why = "damping must lie between 0 and 1";
  if (in.elements < 1 || in.elements > 100 || in.modes < 1) why = "elements: 1 to 100 a stretch; modes: at least 1";
  return why.empty();
}

}  // namespace

ToolResult tool_response(const ToolInputs& in) {
  ToolResult out;
  if (!sound(in, out.why)) return out;
  const int elements = in.elements * static_cast<int>(in.stretches.size()), all = 2 * (elements + 1);
  Sheet k = Sheet::Zero(all, all), m = Sheet::Zero(all, all);
  int at = 0;
  for (const Stretch& s : in.stretches) {
    const Element e = element(s, s.length / in.elements);
    for (int n = 0; n < in.elements; ++n, at += 2) {
      k.block<4, 4>(at, at) += e.k;
      m.block<4, 4>(at, at) += e.m;
    }
    out.mass += s.density * M_PI * s.diameter * s.diameter / 4 * s.length;
  }
  // Rows that stay: what is rigidly held is left out.
  std::vector<int> keep;
  const int nose = all - 2;
  for (int i = 0; i < all; ++i) {
    const double spring = i == 0 ? in.tip_spring : i == nose ? in.spindle : i == nose + 1 ? in.tilt : 0;
    if (std::isinf(spring)) continue;
    k(i, i) += spring;
    if (i == nose) m(i, i) += in.nose_mass;
    keep.push_back(i);
  }
  const Sheet kk = k(keep, keep), mm = m(keep, keep);
  const Eigen::GeneralizedSelfAdjointEigenSolver<Sheet> solver(kk, mm);
  if (solver.info() != Eigen::Success) {
    out.why = "the tool's modes could not be found";
    return out;
  }
  const int modes = std::min<int>(in.modes, static_cast<int>(keep.size()));
  double carried = 0;
  const bool tip_moves = keep.front() == 0;
  for (int i = 0; i < modes; ++i) {
    const double omega = std::sqrt(std::max(0.0, solver.eigenvalues()(i)));
    out.frequencies.push_back(omega / (2 * M_PI));
    if (!tip_moves) continue;
    const double shape = solver.eigenvectors()(0, i);
    out.tip.modes.push_back({omega, in.damping, {shape, 0, 0}});
    out.tip.modes.push_back({omega, in.damping, {0, shape, 0}});
    carried += shape * shape / (omega * omega);
  }
  if (tip_moves) {
    Eigen::VectorXd force = Eigen::VectorXd::Zero(static_cast<Eigen::Index>(keep.size()));
    force(0) = 1;
    out.give = kk.ldlt().solve(force)(0);
    out.tip.residual[0] = out.tip.residual[4] = std::max(0.0, out.give - carried);
  }
  out.ok = true;
  return out;
}

namespace {

using Line = Eigen::VectorXd;

/// Columns per mode: its response for unit stiffness, real parts over imaginary ones; last: the residual.
Sheet columns(const TapTest& t, const std::vector<FittedMode>& modes) {
  const auto n = static_cast<Eigen::Index>(t.frequency.size());
  Sheet a = Sheet::Zero(2 * n, static_cast<Eigen::Index>(modes.size()) + 1);
  for (Eigen::Index j = 0; j < static_cast<Eigen::Index>(modes.size()); ++j) {
    const FittedMode& m = modes[static_cast<std::size_t>(j)];
    for (Eigen::Index i = 0; i < n; ++i) {
      const double r = t.frequency[static_cast<std::size_t>(i)] / m.frequency, re = 1 - r * r, im = 2 * m.damping * r;
      const double size = re * re + im * im;
      a(i, j) = re / size, a(n + i, j) = -im / size;
    }
  }
  a.col(a.cols() - 1).head(n).setOnes();
  return a;
}
struct Trial {
  double cost = HUGE_VAL;
  Line amplitude, rest;
};
Trial trial(const TapTest& t, const std::vector<FittedMode>& modes, const Line& y) {
  const Sheet a = columns(t, modes);
  Trial r;
  r.amplitude = a.colPivHouseholderQr().solve(y);
  r.rest = y - a * r.amplitude;
  r.cost = r.rest.squaredNorm();
  return r;
}
std::vector<FittedMode> moved(std::vector<FittedMode> m, const Line& step) {
  for (std::size_t i = 0; i < m.size(); ++i) {
    m[i].frequency *= std::exp(std::clamp(step(static_cast<Eigen::Index>(2 * i)), -0.1, 0.1));
    m[i].damping = std::clamp(
        m[i].damping * std::exp(std::clamp(step(static_cast<Eigen::Index>(2 * i + 1)), -0.7, 0.7)), 1e-4, 0.5);
  }
  return m;
}
Trial refine(const TapTest& t, std::vector<FittedMode>& m, const Line& y) {
  Trial now = trial(t, m, y);
  const auto size = static_cast<Eigen::Index>(2 * m.size());
  double damp = 1e-3;
  for (int step = 0; step < 60; ++step) {
    Sheet j(y.size(), size);
    for (Eigen::Index p = 0; p < size; ++p) {
      Line d = Line::Zero(size);
      d(p) = 1e-6;
      j.col(p) = (trial(t, moved(m, d), y).rest - trial(t, moved(m, -d), y).rest) / 2e-6;
    }
    const Sheet normal = j.transpose() * j;
    bool better = false;
    double gain = 0;
    for (int tries = 0; tries < 10 && !better; ++tries) {
      Sheet h = normal;
      h.diagonal() *= 1 + damp;
      const Line d = h.ldlt().solve(-j.transpose() * now.rest);
      if (!d.allFinite()) break;
      const std::vector<FittedMode> next = moved(m, d);
      Trial then = trial(t, next, y);
      if (then.cost < now.cost) {
        gain = now.cost - then.cost;
        m = next, now = std::move(then), better = true, damp = std::max(1e-10, damp / 8);
      } else {
        damp *= 8;
      }
    }
    if (!better || gain < 1e-12 * now.cost) break;
  }
  return now;
}

}  // namespace

FitResult fit_tap_test(const TapTest& t, int most) {
  FitResult out;
  const std::size_t n = t.frequency.size();
  if (n < 8 || t.real.size() != n || t.imaginary.size() != n) {
    out.why = "at least 8 lines with frequency and both parts of the response are needed";
    return out;
  }
  for (std::size_t i = 0; i < n; ++i)
    if (!(t.frequency[i] > (i == 0 ? 0.0 : t.frequency[i - 1])) || !std::isfinite(t.real[i]) ||
        !std::isfinite(t.imaginary[i])) {
      out.why = "frequencies must be above zero and rise from line to line";
      return out;
    }
  const auto half = static_cast<Eigen::Index>(n);
  Line y(2 * half);
  for (Eigen::Index i = 0; i < half; ++i)
    y(i) = t.real[static_cast<std::size_t>(i)], y(half + i) = t.imaginary[static_cast<std::size_t>(i)];
  const double all = y.squaredNorm();
  Trial best;
  best.cost = all, best.rest = y;
  for (int k = 0; k < most; ++k) {
    Eigen::Index dip = 1;
    for (Eigen::Index i = 1; i + 1 < half; ++i)
      if (best.rest(half + i) < best.rest(half + dip)) dip = i;
    if (!(best.rest(half + dip) < 0)) break;
    Trial found;
    std::vector<FittedMode> kept;
    for (double damping : {0.01, 0.04}) {
      std::vector<FittedMode> m = out.modes;
      m.push_back({t.frequency[static_cast<std::size_t>(dip)], damping, 0});
      Trial one = refine(t, m, y);
      if (one.cost < found.cost) found = std::move(one), kept = std::move(m);
    }
    bool springs = true;
    for (std::size_t i = 0; i < kept.size(); ++i)
      springs = springs && found.amplitude(static_cast<Eigen::Index>(i)) > 0;
    if (!springs || !(best.cost - found.cost > 0.01 * all)) break;
    out.modes = std::move(kept), best = std::move(found);
    if (best.cost < 1e-10 * all) break;
  }
  if (out.modes.empty()) {
    out.why =
        "no mode shows: the imaginary part has no dip below zero (is it displacement per force, in this order of "
        "columns?)";
    return out;
  }
  for (std::size_t i = 0; i < out.modes.size(); ++i)
    out.modes[i].stiffness = 1 / best.amplitude(static_cast<Eigen::Index>(i));
  out.residual = best.amplitude(static_cast<Eigen::Index>(out.modes.size()));
  std::sort(out.modes.begin(), out.modes.end(),
            [](const FittedMode& a, const FittedMode& b) { return a.frequency < b.frequency; });
  out.left = std::sqrt(best.cost / all);
  out.ok = out.left < 1.0 / 3;
  if (!out.ok) out.why = "the modes found explain too little of what was measured";
  return out;
}

}  // namespace fettle::chatter
