#include "calc/chatter/lobes_answer.h"

#include <algorithm>
#include <cmath>

#include "calc/chatter/at_speed.h"
#include "calc/chatter/damping.h"
#include "calc/chatter/floquet.h"
#include "calc/chatter/lobes_structure.h"

namespace fettle::chatter {

namespace {

constexpr double two_pi = 6.283185307179586;
using Method = Question::Method;

AtSpeedInputs averaged_inputs(const Question& q, double turns, double coefficient) {
  AtSpeedInputs in;
  in.responses = q.tool;
  in.responses.insert(in.responses.end(), q.plate.begin(), q.plate.end());
  in.axes = q.axes;
  const Cutter& c = q.cutter;
  in.entry = c.entry, in.exit = c.exit, in.lead = c.lead, in.kt = c.kt, in.kr = c.kr, in.ka = c.ka;
  in.turns = turns, in.tooth_angles = c.tooth_angles, in.diameter = c.diameter;
  in.land = q.damping.land > 0 ? q.damping.land : 1e-9;
  in.indentation = 2 * coefficient / (in.land * in.land);
  in.friction = q.damping.friction;
  in.highest = 1e5;
  return in;
}

/// Highest frequency that matters, Hz: of the modes that stand out in the plane of the cut.
double highest_that_matters(const Structure& s, bool flat) {
  const auto height = [&](const SwingMode& m) {
    const double z = flat ? 0 : m.shape[2];
    return (m.shape[0] * m.shape[0] + m.shape[1] * m.shape[1] + z * z) /
           (2 * std::max(m.damping, 1e-4) * m.omega * m.omega);
  };
  double most = 0, highest = 0;
  for (const SwingMode& m : s.modes) most = std::max(most, height(m));
  for (const SwingMode& m : s.modes)
    if (height(m) >= 0.02 * most) highest = std::max(highest, m.omega);
  return highest / two_pi * (1 + 1e-9);
}

/// Everything that is computed more than once, at other speeds and other flanks.
class Work {
 public:
  explicit Work(const Question& q) : q_(q) {
    const Structure s(averaged_inputs(q, 1, 0).responses, q.axes);
    highest_ = highest_that_matters(s, std::sin(q.cutter.lead) < 1e-9);
  }
  AtSpeedResult averaged(double turns, double c) const { return depth_at_speed(averaged_inputs(q_, turns, c)); }
  FloquetInputs whole(double turns, double c, double frequency) const {
    FloquetInputs in;
    in.responses = averaged_inputs(q_, turns, 0).responses;
    in.axes = q_.axes, in.cutter = q_.cutter, in.turns = turns;
    in.flank = c * wave_factor(frequency, q_.damping.land, M_PI * q_.cutter.diameter * turns);
    in.friction = q_.damping.friction;
    in.highest = highest_;
    return in;
  }
  FirstLoss first(double turns, double c, double averaged_depth, double frequency) const {
    return first_loss(whole(turns, c, frequency), 0.02 * std::min(q_.depth, averaged_depth), looked_to(averaged_depth));
  }
  /// Four times the plan's depth, or half as much again as the averaged limit where that is not far.
  double looked_to(double averaged_depth) const {
    return std::max(4 * q_.depth, 1.5 * std::min(averaged_depth, 10 * q_.depth));
  }

 private:
  const Question& q_;
  double highest_ = 0;
};

void better_speed(const Question& q, const Work& work, Method method, Answer& out) {
  if (q.speeds < 1) return;
  const double low = q.slowest > 0 ? q.slowest : 0.75 * q.turns, high = q.fastest > 0 ? q.fastest : 1.25 * q.turns;
  struct Try {
    double turns, depth, frequency;
  };
  std::vector<Try> tries;
  const double enough = 10 * q.depth;  // deeper than that all speeds are alike
  for (int i = 0; i < q.speeds; ++i) {
    const double n = q.speeds == 1 ? low : low + (high - low) * i / (q.speeds - 1);
    const AtSpeedResult r = work.averaged(n, q.damping.stated);
    if (r.ok) tries.push_back({n, std::min(r.depth, enough), r.frequency});
  }
  const auto better = [&](const Try& a, const Try& b) {
    return a.depth != b.depth ? a.depth > b.depth : std::fabs(a.turns - q.turns) < std::fabs(b.turns - q.turns);
  };
  std::stable_sort(tries.begin(), tries.end(), better);
  if (tries.empty()) return;
  if (method == Method::multipliers) {
    tries.resize(std::min<std::size_t>(tries.size(), 4));
    for (Try& t : tries) {
      const FirstLoss l = work.first(t.turns, q.damping.stated, t.depth, t.frequency);
      t.depth = l.ok && l.converged ? std::min(l.depth, enough) : 0;
    }
    std::stable_sort(tries.begin(), tries.end(), better);
  }
  out.best_turns = tries[0].turns, out.best_limit = tries[0].depth;
}

std::string wrong(const Question& q) {
  if (!(q.depth > 0) || !std::isfinite(q.depth)) return "the depth must be above zero";
  const ProcessDamping& d = q.damping;
  if (!(d.stated >= 0) || !(d.low >= 0) || !(d.high >= d.low) || !std::isfinite(d.high) || !std::isfinite(d.stated))
    return "the flank's band must rise from zero or above";
  if (!(d.land >= 0) || !std::isfinite(d.land)) return "the land must not be negative";
  if (!(d.friction >= 0) || !(d.friction < 2)) return "the friction of the flank must lie between 0 and 2";
  if (!(q.slowest >= 0) || !(q.fastest >= 0) || (q.fastest > 0 && !(q.fastest >= q.slowest)))
    return "the speeds to try must rise";
  return {};
}

}  // namespace

Answer answer(const Question& q) {
  Answer out;
  out.why = wrong(q);
  if (!out.why.empty()) return out;
  const Work work(q);
  const ProcessDamping& d = q.damping;
  const AtSpeedResult now = work.averaged(q.turns, d.stated);
  if (!now.ok) {
    out.why = now.why;
    return out;
  }
  out.averaged_limit = now.depth;
  const auto averaged = [&](double c) { return c == d.stated ? now : work.averaged(q.turns, c); };
  for (std::size_t i = 0; i < now.share.size() && i < q.tool.size(); ++i) out.tool_share += now.share[i];
  if (!now.share.empty()) out.soft = out.tool_share >= 0.5 ? Answer::Soft::tool : Answer::Soft::plate;
  const double pitch = two_pi / static_cast<double>(q.cutter.tooth_angles.size());
  out.used = q.method != Method::fitting                           ? q.method
             : q.cutter.exit - q.cutter.entry < pitch * (1 - 1e-9) ? Method::multipliers
                                                                   : Method::averaged;
  out.ok = true;
  if (out.used == Method::averaged) {
    out.limit = now.depth, out.frequency = now.frequency;
    out.looked_to = HUGE_VAL;
    out.limit_without = averaged(0).depth, out.limit_low = averaged(d.low).depth,
    out.limit_high = averaged(d.high).depth;
    out.converged = true;
  } else {
    const auto first = [&](double c) {
      const AtSpeedResult a = averaged(c);
      return work.first(q.turns, c, a.depth, a.frequency);
    };
    const FirstLoss l = first(d.stated);
    if (!l.ok) {
      out.ok = false, out.why = l.why;
      return out;
    }
    out.limit = l.depth, out.frequency = l.frequency, out.doubling = l.doubling;
    out.looked_to = work.looked_to(now.depth);
    out.converged = l.converged;
    const auto other = [&](double c) {
      if (c == d.stated) return l.depth;
      const FirstLoss o = first(c);
      out.converged = out.converged && o.ok && o.converged;
      return o.ok ? o.depth : NAN;
    };
    out.limit_without = other(0), out.limit_low = other(d.low), out.limit_high = other(d.high);
    const Multiplier m = multiplier(work.whole(q.turns, d.stated, now.frequency), q.depth);
    out.growth = m.per_tooth;
    out.converged = out.converged && m.ok && m.converged;
    if (!out.converged) out.why = "the multipliers did not settle between two resolutions";
  }
  out.margin = (out.limit - q.depth) / q.depth;
  better_speed(q, work, out.used, out);
  return out;
}

}  // namespace fettle::chatter
