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
/// Factors on the number of nodes, tried in turn until two maps agree.
constexpr double resolutions[] = {1, 1.6, 2.56};

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

constexpr const char* too_large_words =
    "so many uneven teeth overlap that the map is too large: ask the averaged limit, or even teeth";

/// The logarithm of the largest multiplier over depths, at one resolution; counts and remembers what was unsure.
class Loudness {
 public:
  explicit Loudness(FloquetMap& map) : map_(map) {}
  double operator()(double depth) {
    const FloquetMap::Largest l = map_.largest(depth);
    sure = sure && l.sure && std::isfinite(std::abs(l.mu));
    mu = l.mu;
    ++looked;
    return std::log(std::abs(l.mu));
  }
  bool sure = true;
  int looked = 0;
  std::complex<double> mu;

 private:
  FloquetMap& map_;
};

/// Depths around a crossing, with the logarithms there.
struct Bracket {
  double quiet = 0, loud = 0, below = 0, above = 0;
};

/// Straight lines between the ends (the end that stays counts half, after Dowell and Jarratt 1971), halving where they
/// do not help.
double crossing(Loudness& f, Bracket b, double share) {
  double weight_below = 1, weight_above = 1;
  int last = 0;
  for (int i = 0; i < 60 && b.loud - b.quiet > share * b.loud; ++i) {
    const double low = weight_below * b.below, high = weight_above * b.above;
    double at = b.quiet - low * (b.loud - b.quiet) / (high - low);
    const double edge = 0.4 * share * b.loud;
    at = std::clamp(at, b.quiet + edge, b.loud - edge);
    if (i % 6 == 5 || !std::isfinite(at)) at = 0.5 * (b.quiet + b.loud);
    const double value = f(at);
    if (value < 0) {
      b.quiet = at, b.below = value, weight_below = 1;
      weight_above = last == -1 ? weight_above / 2 : 1;
      last = -1;
    } else {
      b.loud = at, b.above = value, weight_above = 1;
      weight_below = last == 1 ? weight_below / 2 : 1;
      last = 1;
    }
  }
  return 0.5 * (b.quiet + b.loud);
}

/// Looks for a loud depth between quiet ones around a maximum, for as long as slopes allow one; narrows by the golden
/// section.
bool island(Loudness& f, double lo, double hi, double at_lo, double at_hi, Bracket& found) {
  double p = lo + 0.381966 * (hi - lo), q = lo + 0.618034 * (hi - lo), vp = f(p), vq = f(q);
  for (int i = 0; i < 30; ++i) {
    if (!(vp < 0)) return found = {lo, p, at_lo, vp}, true;
    if (!(vq < 0)) return found = {p, q, vp, vq}, true;
    // How high the top may be if the steepest slope seen goes on.
    const double steep =
        std::max({std::fabs(vp - at_lo) / (p - lo), std::fabs(vq - vp) / (q - p), std::fabs(at_hi - vq) / (hi - q)});
    if (std::max(vp, vq) + steep * 0.4 * (hi - lo) < 0 || hi - lo < 1e-6 * hi) return false;
    if (vp > vq) hi = q, at_hi = vq, q = p, vq = vp, p = lo + 0.381966 * (hi - lo), vp = f(p);
    else lo = p, at_lo = vp, p = q, vp = vq, q = lo + 0.618034 * (hi - lo), vq = f(q);
  }
  return false;
}

/// The first depth that is loud, going up; false when none is.
bool first_loud(Loudness& f, double least, double most, double step, double at_least, Bracket& found) {
  double a = 0, b = least, va = 0, vb = at_least;
  while (b < most) {
    const double c = std::min(most, b * (1 + step)), vc = f(c);
    if (!(vc < 0)) return found = {b, c, vb, vc}, true;
    // A maximum between the three may hide an island: the slope on either side, gone on with for a step, leads there.
    if (a > 0 && vb >= va && vb >= vc && vb + std::max(vb - va, vb - vc) > 0 && island(f, a, c, va, vc, found))
      return true;
    a = b, va = vb, b = c, vb = vc;
  }
  return false;
}

}  // namespace

namespace {

void multiplier_at(const FloquetInputs& in, const Structure& s, double depth, double resolution, Multiplier& out) {
  NodeRules rules;
  FloquetMap map(cut_of(in, s, resolution), rules), finer(cut_of(in, s, 1.25 * resolution), rules);
  if (!finer.usable()) {
    out.why = too_large_words;
    return;
  }
  const FloquetMap::Largest rough = map.largest(depth), good = finer.largest(depth);
  out.mu = good.mu, out.radius = std::abs(good.mu), out.nodes = finer.nodes();
  out.error = std::fabs(std::abs(rough.mu) - out.radius) / out.radius;
  out.converged = good.sure && rough.sure && out.error <= enough;
  out.ok = std::isfinite(out.radius);
  out.why = out.ok ? "" : "the multipliers were not found";
  const double teeth = static_cast<double>(in.cutter.tooth_angles.size());
  out.per_tooth = nearly_even(in.cutter) ? out.radius : std::pow(out.radius, 1 / teeth);
  out.frequency = finer.frequency();
}

}  // namespace

Multiplier multiplier(const FloquetInputs& in, double depth) {
  Multiplier out;
  const Structure s = swinging(in);
  out.why = wrong(in, s);
  if (out.why.empty() && (!(depth >= 0) || !std::isfinite(depth))) out.why = "the depth must not be below zero";
  if (out.why.empty() && too_many(in, s, in.turns)) out.why = too_many_words;
  if (!out.why.empty()) return out;
  for (double r : resolutions) {
    Multiplier next;
    multiplier_at(in, s, depth, r, next);
    if (next.ok || !out.ok) out = next;
    if (out.converged || !next.ok) break;
  }
  return out;
}

namespace {

FirstLoss first_loss_at(const FloquetInputs& in, const Structure& s, double least, double most, double step,
                        double resolution) {
  FirstLoss out;
  NodeRules rules;
  FloquetMap map(cut_of(in, s, resolution), rules), finer(cut_of(in, s, 1.25 * resolution), rules);
  if (!finer.usable()) {
    out.why = too_large_words;
    return out;
  }
  out.ok = true;
  Loudness rough(map), good(finer);
  const auto done = [&](bool settled) {
    out.looked = rough.looked + good.looked;
    out.converged = settled && rough.sure && good.sure;
    return out;
  };
  const double start = rough(least);
  if (!(start < 0)) {
    out.depth = least;
    out.why = "loud already at the least depth looked at";
    return done(false);
  }
  Bracket found;
  if (!first_loud(rough, least, most, step, start, found)) {
    out.depth = HUGE_VAL;
    out.error = std::fabs(std::expm1(good(most) - rough(most)));
    return done(out.error <= enough);
  }
  const double close = crossing(rough, found, 2e-6);
  // The same on the finer map, near that of the rough one.
  Bracket narrow{close * 0.9999, close * 1.0001, 0, 0};
  narrow.below = good(narrow.quiet), narrow.above = good(narrow.loud);
  if (!(narrow.below < 0) || !(narrow.above > 0)) {
    narrow = {close * 0.99, close * 1.01, good(close * 0.99), good(close * 1.01)};
    if (!(narrow.below < 0) || !(narrow.above > 0)) {
      out.depth = close, out.error = 1;
      return done(false);
    }
  }
  out.depth = crossing(good, narrow, 2e-6);
  out.error = std::fabs(out.depth / close - 1);
  good(out.depth);
  out.frequency = finer.frequency();
  out.doubling = good.mu.real() < 0 && std::fabs(good.mu.imag()) < 1e-6;
  return done(out.error <= enough);
}

}  // namespace

FirstLoss first_loss(const FloquetInputs& in, double least, double most, double step) {
  FirstLoss out;
  const Structure s = swinging(in);
  out.why = wrong(in, s);
  if (out.why.empty() && (!(least > 0) || !(most > least) || !std::isfinite(most) || !(step > 1e-4) || !(step < 1)))
    out.why = "the depths looked at must rise from above zero, in steps between 0.01 % and 100 %";
  if (out.why.empty() && too_many(in, s, in.turns)) out.why = too_many_words;
  if (!out.why.empty()) return out;
  int looked = 0;
  for (double r : resolutions) {
    const FirstLoss next = first_loss_at(in, s, least, most, step, r);
    looked += next.looked;
    if (next.ok || !out.ok) out = next;
    if (out.converged || !next.ok || out.depth == least) break;
  }
  out.looked = looked;
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
    bool large = false;
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
      if (!map.usable()) {
        rows[i].large = true;
        continue;
      }
      for (std::size_t j = 0; j < depths.size(); ++j) {
        const FloquetMap::Largest l = map.largest(depths[j]);
        out.radius[i * depths.size() + j] = std::abs(l.mu);
        if (!l.sure || !std::isfinite(std::abs(l.mu))) ++rows[i].unsure;
      }
      if (i % 8 != 0) continue;
      FloquetMap finer(cut_of(here, s, 1.25), rules);
      if (!finer.usable()) {
        rows[i].large = true;
        continue;
      }
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
    if (r.large) out.why = too_large_words;
  }
  if (!out.why.empty()) {
    out.radius.clear();
    return out;
  }
  out.ok = true;
  out.converged = out.unsure == 0 && out.error <= 5e-3;
  return out;
}

}  // namespace fettle::chatter
