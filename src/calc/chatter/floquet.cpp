#include "calc/chatter/floquet.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <thread>

#include "calc/chatter/floquet_map.h"

namespace fettle::chatter {

namespace {

constexpr double two_pi = 6.283185307179586;
constexpr double enough = 2e-3;

std::string wrong(const FloquetInputs& in, const Structure& s) {
  std::string why = wrong(in.cutter);
  if (!why.empty()) return why;
  if (!(in.turns > 0) || !std::isfinite(in.turns)) return "the spindle speed must be above zero";
  if (s.modes.empty()) return "nothing swings: no mode was given";
  for (const SwingMode& m : s.modes)
    if (!(m.omega > 0) || !std::isfinite(m.omega) || !(m.damping >= 0) || !(m.damping < 1))
      return "a mode needs a frequency above zero and a damping ratio from 0 to below 1";
  if (!(in.flank >= 0) || !std::isfinite(in.flank) || (in.flank > 0 && !(in.cutter.diameter > 0)))
    return "the flank's numbers cannot be";
  if (!(in.friction >= 0) || !(in.friction < 2)) return "the friction of the flank must lie between 0 and 2";
  return {};
}

/// The structure with the modes above `highest` Hz kept as what they give at rest.
Structure swinging(const FloquetInputs& in) {
  Structure s(in.responses, in.axes), out = s;
  if (!(in.highest > 0)) return s;
  out.modes.clear();
  for (const SwingMode& m : s.modes) {
    if (!(m.omega > two_pi * in.highest)) {
      out.modes.push_back(m);
      continue;
    }
    for (std::size_t i = 0; i < 9; ++i) out.residual[i] += m.shape[i / 3] * m.shape[i % 3] / (m.omega * m.omega);
  }
  return out;
}

/// Nodes that the longest possible sub-arc needs, at most.
bool too_many(const FloquetInputs& in, const Structure& s, double turns) {
  const double waves = s.highest() * (in.cutter.exit - in.cutter.entry) / (two_pi * two_pi * turns);
  const double teeth = nearly_even(in.cutter) ? 1 : static_cast<double>(in.cutter.tooth_angles.size());
  return !(teeth * waves * 3.5 < 800);
}
constexpr const char* too_many_words =
    "more than 200 waves of the highest mode in the cut: leave the stiff modes out (highest) or ask the averaged limit";

CutAtSpeed cut_of(const FloquetInputs& in, const Structure& s, double finer = 1) {
  return {&s, &in.cutter, in.turns, in.flank, in.friction, finer};
}

/// Of all frequencies that a multiplier allows, the one where the structure is softest.
double frequency_of(const Structure& s, std::complex<double> mu, double period) {
  const double step = two_pi / period, base = std::arg(mu) / period, top = 1.5 * s.highest();
  double best = 0, softest = 0;
  const auto look = [&](double w) {
    if (!(w > 0.3 * s.lowest())) return;
    const maths::Response3 g = s.at(w);
    const double soft = std::abs(g[0]) + std::abs(g[4]) + std::abs(g[8]);
    if (soft > softest) softest = soft, best = w;
  };
  for (double w = 0; w < top; w += step) look(w + base), look(w + step - base);
  return best / two_pi;
}

}  // namespace

Multiplier multiplier(const FloquetInputs& in, double depth) {
  Multiplier out;
  const Structure s = swinging(in);
  out.why = wrong(in, s);
  if (out.why.empty() && (!(depth >= 0) || !std::isfinite(depth))) out.why = "the depth must not be below zero";
  if (out.why.empty() && too_many(in, s, in.turns)) out.why = too_many_words;
  if (!out.why.empty()) return out;
  NodeRules rules;
  FloquetMap map(cut_of(in, s), rules), finer(cut_of(in, s, 1.25), rules);
  const FloquetMap::Largest rough = map.largest(depth), good = finer.largest(depth);
  out.mu = good.mu, out.radius = std::abs(good.mu), out.nodes = finer.nodes();
  out.error = std::fabs(std::abs(rough.mu) - out.radius) / out.radius;
  out.converged = good.sure && rough.sure && out.error <= enough;
  out.ok = std::isfinite(out.radius);
  if (!out.ok) out.why = "the multipliers were not found";
  const double teeth = static_cast<double>(in.cutter.tooth_angles.size());
  out.per_tooth = nearly_even(in.cutter) ? out.radius : std::pow(out.radius, 1 / teeth);
  out.frequency = frequency_of(s, out.mu, finer.period());
  return out;
}

FirstLoss first_loss(const FloquetInputs& in, double least, double most, double step) {
  FirstLoss out;
  const Structure s = swinging(in);
  out.why = wrong(in, s);
  if (out.why.empty() && (!(least > 0) || !(most > least) || !std::isfinite(most) || !(step > 1e-4) || !(step < 1)))
    out.why = "the depths looked at must rise from above zero, in steps between 0.01 % and 100 %";
  if (out.why.empty() && too_many(in, s, in.turns)) out.why = too_many_words;
  if (!out.why.empty()) return out;
  NodeRules rules;
  FloquetMap map(cut_of(in, s), rules);
  bool sure = true;
  const auto radius = [&](FloquetMap& m, double b) {
    const FloquetMap::Largest l = m.largest(b);
    sure = sure && l.sure;
    ++out.looked;
    return std::abs(l.mu);
  };
  /// Between a quiet depth and a loud one.
  const auto edge = [&](FloquetMap& m, double quiet, double loud, double share) {
    while (loud - quiet > share * loud) {
      const double mid = 0.5 * (quiet + loud);
      (radius(m, mid) < 1 ? quiet : loud) = mid;
    }
    return 0.5 * (quiet + loud);
  };
  double a = least, b = least, ra = 0, rb = radius(map, least), quiet = 0, loud = 0;
  if (!(rb < 1)) {
    loud = least;
  } else {
    while (b < most && !(loud > 0)) {
      const double c = std::min(most, b * (1 + step)), rc = radius(map, c);
      if (!(rc < 1)) {
        quiet = b, loud = c;
        break;
      }
      if (ra > 0 && rb >= ra && rb >= rc && rb > 0.98) {  // a maximum that may hide an island
        double lo = a, hi = c;
        for (int i = 0; i < 24 && !(loud > 0); ++i) {
          const double p = lo + 0.382 * (hi - lo), q = lo + 0.618 * (hi - lo), rp = radius(map, p), rq = radius(map, q);
          if (!(rp < 1)) quiet = lo, loud = p;
          else if (!(rq < 1)) quiet = p, loud = q;
          else if (rp > rq) hi = q;
          else lo = p;
        }
        if (loud > 0) break;
      }
      a = b, ra = rb, b = c, rb = rc;
    }
  }
  out.ok = true;
  if (!(loud > 0)) {
    FloquetMap finer(cut_of(in, s, 1.25), rules);
    out.depth = HUGE_VAL;
    out.error = std::fabs(radius(finer, b) - rb);
    out.converged = sure && out.error <= enough;
    return out;
  }
  const double rough = quiet > 0 ? edge(map, quiet, loud, 1e-5) : loud;
  FloquetMap finer(cut_of(in, s, 1.25), rules);
  if (!(quiet > 0)) {
    out.depth = loud;
    out.why = "loud already at the least depth looked at";
    return out;
  }
  // The finer map's edge near that of the rough one.
  double lo = rough * 0.995, hi = rough * 1.005;
  const bool bracketed = radius(finer, lo) < 1 && !(radius(finer, hi) < 1);
  out.depth = bracketed ? edge(finer, lo, hi, 1e-5) : rough;
  out.error = bracketed ? std::fabs(out.depth / rough - 1) : 1;
  const FloquetMap::Largest at = finer.largest(out.depth);
  out.frequency = frequency_of(s, at.mu, finer.period());
  out.doubling = at.mu.real() < 0 && std::fabs(at.mu.imag()) < 1e-6;
  out.converged = sure && at.sure && bracketed;
  return out;
}

FloquetChart floquet_chart(const FloquetInputs& in, const std::vector<double>& turns, const std::vector<double>& depths,
                           int threads) {
  FloquetChart out;
  const Structure s = swinging(in);
  FloquetInputs one = in;
  one.turns = 1;
  out.why = wrong(one, s);
  for (double t : turns)
    if (!(t > 0) || !std::isfinite(t)) out.why = "every spindle speed must be above zero";
  for (double d : depths)
    if (!(d >= 0) || !std::isfinite(d)) out.why = "no depth may be below zero";
  if (turns.empty() || depths.empty()) out.why = "no speed or no depth was asked for";
  if (out.why.empty() && too_many(in, s, *std::min_element(turns.begin(), turns.end()))) out.why = too_many_words;
  if (!out.why.empty()) return out;
  struct Row {
    double error = 0;
    int unsure = 0, nodes = 0;
  };
  std::vector<Row> rows(turns.size());
  out.radius.assign(turns.size() * depths.size(), 0);
  std::atomic<std::size_t> next{0};
  const auto work = [&] {
    NodeRules rules;
    for (std::size_t i = next++; i < turns.size(); i = next++) {
      FloquetInputs here = in;
      here.turns = turns[i];
      FloquetMap map(cut_of(here, s), rules);
      rows[i].nodes = map.nodes();
      for (std::size_t j = 0; j < depths.size(); ++j) {
        const FloquetMap::Largest l = map.largest(depths[j]);
        out.radius[i * depths.size() + j] = std::abs(l.mu);
        if (!l.sure || !std::isfinite(std::abs(l.mu))) ++rows[i].unsure;
      }
      if (i % 8 != 0) continue;
      FloquetMap finer(cut_of(here, s, 1.25), rules);
      for (std::size_t j : {depths.size() / 4, depths.size() / 2, depths.size() - 1}) {
        const double good = std::abs(finer.largest(depths[j]).mu);
        if (good < 2) rows[i].error = std::max(rows[i].error, std::fabs(out.radius[i * depths.size() + j] / good - 1));
      }
    }
  };
  std::vector<std::thread> crew;
  for (int t = 1; t < std::clamp(threads, 1, 64); ++t) crew.emplace_back(work);
  work();
  for (std::thread& t : crew) t.join();
  for (const Row& r : rows) {
    out.error = std::max(out.error, r.error);
    out.unsure += r.unsure;
    out.most_nodes = std::max(out.most_nodes, r.nodes);
  }
  out.ok = true;
  out.converged = out.unsure == 0 && out.error <= 5e-3;
  return out;
}

}  // namespace fettle::chatter
