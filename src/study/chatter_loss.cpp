#include "study/chatter_loss.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "calc/chatter/damping.h"
#include "calc/chatter/floquet.h"

namespace fettle::study {

namespace {

constexpr double two_pi = 6.283185307179586;

struct LossInputs {
  chatter::FloquetInputs in;
  double least = 0, most = 0, step = 0;
};
chatter::FirstLoss first(const LossInputs& l) { return chatter::first_loss(l.in, l.least, l.most, l.step); }

struct QuietInputs {
  chatter::FloquetInputs in;
  double depth = 0;
};
chatter::Multiplier one(const QuietInputs& q) { return chatter::multiplier(q.in, q.depth); }

/// `frequency`: Hz, of what sings by the averaged forces.
chatter::FloquetInputs floquet_inputs(Context& c, const Sing& s, const Spot& spot, const std::vector<double>& v,
                                      double frequency, const Ask& ask = {}) {
  const chatter::AtSpeedInputs a = milling_inputs(c, s, spot, v, ask);
  chatter::FloquetInputs in;
  in.responses = a.responses, in.axes = a.axes;
  in.cutter.tooth_angles = a.tooth_angles;
  in.cutter.entry = a.entry, in.cutter.exit = a.exit, in.cutter.lead = a.lead;
  in.cutter.kt = a.kt, in.cutter.kr = a.kr, in.cutter.ka = a.ka, in.cutter.diameter = a.diameter;
  in.turns = a.turns;
  const double speed = M_PI * a.diameter * a.turns;
  in.flank = chatter::flank_coefficient(a.indentation, a.land) * chatter::wave_factor(frequency, a.land, speed);
  in.friction = a.friction;
  // All modes swing: leaving out those above twice the frequency that sings moved the limit of a light deep cut up by
  // six tenths.
  in.highest = 0;
  return in;
}

}  // namespace

bool knocks(const CutModel& cut) {
  if (cut.way == CutModel::Way::bore || cut.tooth_angles.size() < 2) return false;
  std::vector<double> a = cut.tooth_angles;
  std::sort(a.begin(), a.end());
  double most = a.front() - a.back() + two_pi;
  for (std::size_t i = 1; i < a.size(); ++i) most = std::max(most, a[i] - a[i - 1]);
  // Flutes that lean pass the metal one after the other: over the depth they are engaged for as much longer.
  const double lag = cut.diameter > 0 ? 2 * cut.stated.depth * std::fabs(std::tan(cut.helix)) / cut.diameter : 0;
  return cut.exit - cut.entry + lag < most;
}

Loss loss_of(Context& c, const Sing& s, const Spot& spot, const std::vector<double>& v,
             const chatter::AtSpeedResult& averaged) {
  Loss out;
  if (s.bar || !knocks(*s.cut)) return out;
  const char* why = "a tooth is in the metal for less than the spacing";
  const double base = std::min(averaged.depth, 10 * s.depth);
  if (!c.options.monte_carlo) {
    out.words = fmt::format("forces averaged over the turn, though {}: only the full study goes tooth by tooth", why);
    return out;
  }
  LossInputs l;
  l.in = floquet_inputs(c, s, spot, v, averaged.frequency);
  l.least = 0.4 * std::min(base, s.depth), l.most = 1.5 * std::min(std::max(base, s.depth), 4 * s.depth), l.step = 0.12;
  const auto r = c.memo.call("first loss", first, l);
  const bool below = r->ok && r->depth == l.least;  // loud already where the search begins: the limit is less
  if (!r->ok || (!r->converged && !below)) {
    out.words = fmt::format("forces averaged over the turn, though {}: tooth by tooth it did not settle{}", why,
                            r->why.empty() ? "" : " (" + r->why + ")");
    return out;
  }
  out.used = true;
  const bool none = !std::isfinite(r->depth);
  const double depth = none ? std::max(base, l.most) : r->depth;
  out.ratio = depth / base;
  out.more = none;
  out.frequency = none || below ? averaged.frequency : r->frequency;
  out.words = fmt::format("tooth by tooth (multipliers), because {}: {}{}; averaged over the turn {}", why,
                          none    ? "none up to " + mm(c, l.most)
                          : below ? "less than " + mm(c, r->depth)
                                  : mm(c, r->depth),
                          !none && !below && r->doubling ? ", the motion repeats every second tooth" : "",
                          base < 9.99 * s.depth ? mm(c, base) : std::string("far more than is cut"));
  if (!none && !below && r->doubling) out.sentence = "It starts by doubling: every second tooth repeats.";
  return out;
}

double limit_in_bands(Context& c, const Sing& s, const Spot& spot, const std::vector<double>& v, const Loss& loss,
                      const Ask& ask) {
  const auto averaged = quiet_to(c, s, spot, v, ask);
  if (!averaged.ok) return std::numeric_limits<double>::quiet_NaN();
  const double base = std::min(averaged.depth, 10 * s.depth), limit = base * loss.ratio;
  const auto near = [&](double x) { return x > 0.35 * s.depth && x < 3 * s.depth; };
  if (!loss.used || (!near(base) && !near(limit))) return limit;
  QuietInputs q;
  q.in = floquet_inputs(c, s, spot, v, averaged.frequency, ask);
  q.depth = s.depth;
  const auto m = c.memo.call("multiplier", one, q);
  if (!m->ok || !m->converged) return std::min(limit, base);
  return m->radius < 1 ? std::max(limit, s.depth) : std::min(limit, 0.999 * s.depth);
}

}  // namespace fettle::study
