// Forces and push-off of a cut at given knobs: from the model of the cut to the science and back.
#include <algorithm>
#include <cmath>

#include "calc/cutting/cutting.h"
#include "calc/cutting/holes.h"
#include "calc/cutting/tool_beam.h"
#include "ref/cutting.h"
#include "study/cut_model.h"

namespace fettle::study {

using frame::Vec3;
using Way = CutModel::Way;

namespace {

constexpr double pi = 3.14159265358979323846;
/// A boring bar's diameter over that of the bore, where nobody says its neck: common practice, leaves room for chips.
constexpr double bar_share = 0.7;

using Pairs = std::vector<ref::ChipForceAt>;

/// The printed pairs, kept: each is asked for thousands of times, and says in words where it comes from.
struct IronInputs {
  std::string material;
  double hardness = 0;
};
Outcome<Pairs> printed_pairs(const IronInputs& in) {
  const auto m = ref::material(in.material);
  if (!m.ok() || !(in.hardness > 0)) return bad("-");
  return ref::chip_force_sets(*m, in.hardness);
}

/// The printed pairs at a hardness, or the plan's own pair stretched by the hardness as the table's rows are; none:
/// nothing is printed there.
std::shared_ptr<const Outcome<Pairs>> sets_of(Context& c, const CutModel& cut, double hardness) {
  const plan::Part& part = c.plan.part;
  auto printed = c.memo.call("printed forces", printed_pairs, IronInputs{part.material.value, hardness});
  if (!part.cutting_force.known()) return printed;
  ref::ChipForceAt own{part.cutting_force.si, part.chip_exponent.known() ? part.chip_exponent.si : 0.26, false,
                       "the plan's own value", "the plan"};
  const auto base = c.memo.call("printed forces", printed_pairs, IronInputs{part.material.value, cut.stated.hardness});
  if (printed->ok() && base->ok()) own.kc11 *= printed->value().front().kc11 / base->value().front().kc11;
  return std::make_shared<const Outcome<Pairs>>(Pairs{own});
}

/// One pair out of several: the highest or lowest at this chip, or a share between the two.
cutting::Chip chip_of(Context& c, const CutModel& cut, const CutKnobs& k, double chip) {
  cutting::Chip out;
  const auto kept = sets_of(c, cut, k.hardness);
  if (!kept->ok() || kept->value().empty()) return out;
  const Pairs& sets = kept->value();
  const auto at = [&](const ref::ChipForceAt& s) { return s.kc11 * std::pow(chip / 1e-3, -s.mc); };
  const auto by = [&](const ref::ChipForceAt& a, const ref::ChipForceAt& b) { return at(a) < at(b); };
  const ref::ChipForceAt &low = *std::min_element(sets.begin(), sets.end(), by),
                         &high = *std::max_element(sets.begin(), sets.end(), by);
  const double t = std::clamp(0.5 * (k.published + 1), 0.0, 1.0);
  const ref::ChipForceAt& near = t < 0.5 ? low : high;
  const double want = (1 - t) * at(low) + t * at(high);
  out.mc = near.mc;
  out.kc11 = near.kc11 * want / at(near);
  out.wear = std::max(1.0, k.wear_factor);
  out.radial = k.radial_ratio;
  return out;
}

cutting::Arc arc_of(const CutModel& cut, double width) {
  if (cut.way == Way::face) return cutting::face_arc(cut.diameter, width, cut.offset);
  if (cut.inside_radius > 0)
    return cutting::inside_arc(cut.diameter, cut.inside_radius - width, cut.inside_radius, cut.down);
  if (cut.way == Way::slot) return {0, pi};
  return cutting::side_arc(cut.diameter, width, cut.down);
}

cutting::Milling milling_of(Context& c, const CutModel& cut, const CutKnobs& k) {
  cutting::Milling m;
  m.diameter = cut.diameter;
  m.tooth_angles = cut.tooth_angles;
  m.helix = cut.helix;
  m.approach = cut.approach;
  m.rake = cut.rake;
  m.feed_per_tooth = cut.feed_per_tooth;
  m.depth = k.depth;
  m.arc = arc_of(cut, k.width);
  m.turns = cut.turns;
  const double arc = m.arc.exit - m.arc.entry;
  const double chip =
      arc > 0 ? cut.feed_per_tooth * std::sin(cut.approach) * (std::cos(m.arc.entry) - std::cos(m.arc.exit)) / arc : 0;
  m.chip = chip_of(c, cut, k, std::max(chip, 1e-7));
  return m;
}

/// Along feed, out, spindle: out is +Y when milling down and when facing, else -Y.
Vec3 in_place(const CutModel& cut, Vec3 v) { return cut.down || cut.way == Way::face ? v : Vec3{v.x, -v.y, v.z}; }

CutForces milled(Context& c, const CutModel& cut, const CutKnobs& k, bool over_opening) {
  CutForces f;
  cutting::Milling in = milling_of(c, cut, k);
  if (over_opening) in.gaps = cut.gaps;
  const auto r = c.memo.call("cut force", cutting::solve, in);
  if (!r->ok()) return f;
  const cutting::MillingResult& m = r->value();
  f.mean = in_place(cut, m.mean);
  f.peak = in_place(cut, m.peak);
  for (const Vec3& v : m.turn) f.turn.push_back(in_place(cut, v));
  f.peak_moment = in_place(cut, m.peak_moment);
  for (const Vec3& v : m.moment_turn) f.turn_moment.push_back(in_place(cut, v));
  f.torque_mean = m.torque_mean;
  f.torque_peak = m.torque_peak;
  f.power = m.power;
  f.up_pull = m.up_pull;
  f.chip_most = m.chip_most;
  f.chip_mean = m.chip_mean;
  if (m.chip_mean > 0) f.kt = cutting::chip_stiffness(in.chip, m.chip_mean);
  f.kr = in.chip.radial * std::sin(in.approach);
  f.ka = m.axial;
  return f;
}

CutForces axial(Context& c, const CutModel& cut, const CutKnobs& k) {
  CutForces f;
  const double feed = cut.feed_per_tooth * cut.teeth;
  const double before = std::max(0.0, cut.diameter - 2 * k.width);
  const auto m = ref::material(c.plan.part.material.value);
  const cutting::Chip chip = chip_of(c, cut, k, std::max(cut.feed_per_tooth * std::sin(cut.approach), 1e-7));
  Outcome<cutting::AxialLoad> load = bad("-");
  if (cut.way == Way::drill) {
    cutting::Drill d{chip, 0, cut.diameter, before, feed, 2 * cut.approach, cut.teeth, cut.turns};
    if (!c.plan.part.cutting_force.known() && m.ok())
      if (const auto factor = ref::drill_factor(*m, k.hardness); factor.ok()) d.factor = factor->value;
    load = *c.memo.call("drill load", cutting::drill_load, d);
  } else if (cut.way == Way::tap) {
    cutting::Tap t;
    const auto force = m.ok() ? ref::tap_force(*m) : Outcome<ref::TapForce>(bad("-"));
    if (force.ok()) {
      // Both formulas at the iron's own hardness: moved as the specific force moves.
      const auto here = ref::chip_force_sets(*m, k.hardness), there = ref::chip_force_sets(*m, force->hardness);
      const double thin = 0.05;  // mm, a usual chip of a tap's lead
      const auto at = [&](const ref::ChipForceAt& s) { return s.kc11 * std::pow(thin, -s.mc); };
      const double ratio = here.ok() && there.ok() ? at(here->front()) / at(there->front()) : 1;
      t.simple = force->simple * ratio;
      t.geometry = force->geometry * ratio;
    } else {
      t.geometry = chip.kc11 > 0 ? cutting::specific_force({chip.kc11, chip.mc, 1, 0}, 5e-5) : 0;
    }
    t.shape = cut.helix > 0.1 ? 1.05 : 1.25;
    t.wear = std::max(1.0, k.wear_factor);
    t.major = cut.diameter;
    t.pitch = cut.pitch;
    t.drill = cut.drilled;
    t.turns = cut.turns;
    load = *c.memo.call("tap load", cutting::tap_load, t);
  } else {
    const cutting::Opening o{chip,         cut.diameter,      before,   feed, std::max(1, cut.teeth),
                             cut.approach, cut.corner_radius, cut.turns};
    load = *c.memo.call("opening load", cutting::opening_load, o);
  }
  if (!load.ok()) return f;
  const double push = -load->thrust_high;
  f.torque_mean = f.torque_peak = load->torque_high;
  f.power = load->power;
  f.chip_mean = f.chip_most = load->chip;
  f.mean = {0, 0, push};
  f.peak = {load->side, 0, push};
  const int n = load->side > 0 ? 36 : 1;
  for (int i = 0; i < n; ++i)
    f.turn.push_back({load->side * std::cos(2 * pi * i / n), load->side * std::sin(2 * pi * i / n), push});
  f.peak_moment = {0, 0, -f.torque_peak};
  f.turn_moment.assign(f.turn.size(), f.peak_moment);
  if (load->chip > 0 && chip.kc11 > 0) f.kt = cutting::chip_stiffness(chip, load->chip);
  f.kr = chip.radial;
  return f;
}

/// The tool as a beam; nothing when too little is known of it.
std::optional<cutting::ToolBeam> beam_of(const CutModel& cut) {
  const plan::Tool& t = *cut.tool;
  if (!t.stick_out.known() || (along_axis(cut.way) && cut.way != Way::bore) || cut.way == Way::face) return {};
  double modulus = 0;
  if (t.elasticity.known()) modulus = t.elasticity.si;
  else if (cut.way == Way::bore) modulus = 210e9;           // a steel bar: what is said of the material is the insert's
  else if (t.material.value == "carbide") modulus = 580e9;  // from memory: rods near 10 % cobalt
  else if (t.material.value == "high-speed steel") modulus = 215e9;
  if (!(modulus > 0)) return {};
  const double nu = t.material.value == "carbide" && cut.way != Way::bore ? 0.22 : 0.29;
  cutting::ToolBeam b;
  const double out = t.stick_out.si;
  if (cut.way == Way::bore) {
    b.stretches.push_back({out, t.neck.known() ? t.neck.si : bar_share * cut.diameter, modulus, nu});
  } else if (cut.way == Way::keyseat) {
    const double head = std::min(out, cut.tool->width.known() ? cut.tool->width.si : 0);
    const double neck = t.neck.known() ? t.neck.si : cutting::fluted_share * cut.diameter;
    b.stretches.push_back({head, cut.diameter, modulus, nu});
    b.stretches.push_back({out - head, neck, modulus, nu});
  } else {
    const double flutes =
        std::min(out, t.flute_length.known() ? t.flute_length.si : std::max(cut.stated.depth, 2.5 * cut.diameter));
    b.stretches.push_back({flutes, cutting::fluted_share * cut.diameter, modulus, nu});
    if (out > flutes) b.stretches.push_back({out - flutes, t.neck.known() ? t.neck.si : cut.diameter, modulus, nu});
  }
  if (cut.machine != nullptr) {
    if (cut.machine->spindle_stiffness.known()) b.spindle = cut.machine->spindle_stiffness.si;
    if (cut.machine->spindle_tilt.known()) b.tilt = cut.machine->spindle_tilt.si;
  }
  return b;
}

/// What bending leaves on a wall, kept: its roots and levers ask it over and over.
struct WallInputs {
  cutting::Milling milling;
  bool down = true;
  cutting::ToolBeam beam;
};
std::vector<double> left_on_wall(const WallInputs& in) {
  const auto give = [&in](double a, double b) { return cutting::compliance(in.beam, a, b); };
  return cutting::wall_error(in.milling, in.down, give).error;
}

}  // namespace

bool along_axis(Way way) { return way == Way::drill || way == Way::ream || way == Way::tap || way == Way::bore; }

CutKnobs knobs_with(const CutModel& cut, CutKnobs k, const std::vector<double>& v) {
  k.wear_factor = at(v, cut.wear_at, k.wear_factor);
  k.radial_ratio = at(v, cut.radial_at, k.radial_ratio);
  k.hardness = at(v, cut.hardness_at, k.hardness);
  k.width = at(v, cut.width_at, k.width);
  k.depth = at(v, cut.depth_at, k.depth);
  return k;
}

CutForces cut_forces(Context& c, const CutModel& cut, const CutKnobs& knobs) {
  if (!cut.missing.empty()) return {};
  return along_axis(cut.way) ? axial(c, cut, knobs) : milled(c, cut, knobs, false);
}

CutForces forces_over_opening(Context& c, const CutModel& cut, const CutKnobs& knobs) {
  if (!cut.missing.empty() || along_axis(cut.way) || cut.gaps.empty()) return cut_forces(c, cut, knobs);
  return milled(c, cut, knobs, true);
}

CutKnobs at_gate(const CutModel& cut, CutKnobs k) {
  (cut.way == Way::face ? k.depth : k.width) += cut.gate_stock;
  return k;
}

bool straight_teeth(const CutModel& cut, double depth) {
  constexpr double least_lag = 0.1;  // rad, over the depth: below it no part of the edge is still in the metal
  return !along_axis(cut.way) && cut.diameter > 0 &&
         std::fabs(2 * depth * std::tan(cut.helix) / cut.diameter) < least_lag;
}

std::vector<double> tool_errors(Context& c, const CutModel& cut, const CutKnobs& knobs) {
  if (!cut.missing.empty()) return {};
  const auto beam = beam_of(cut);
  if (!beam) return {};
  if (cut.way == Way::bore) {
    const double r = radial_force(c, cut, knobs) * cutting::compliance(*beam, 0, 0);
    return std::isfinite(r) ? std::vector<double>{r} : std::vector<double>{};
  }
  std::vector<double> error =
      *c.memo.call("wall error", left_on_wall, WallInputs{milling_of(c, cut, knobs), cut.down, *beam});
  if (error.empty() || !straight_teeth(cut, knobs.depth)) return error;
  // A straight tooth leaves the wall in one moment, when its chip has come to nothing: on paper it has sprung back by
  // then. How far it really has nobody knows; all that it is pushed off by counts.
  double across = 0;
  for (const Vec3& v : cut_forces(c, cut, knobs).turn) across = std::max(across, -v.y);
  const double least = *std::min_element(error.begin(), error.end()),
               most = *std::max_element(error.begin(), error.end());
  return {least, std::max(most, across * cutting::compliance(*beam, 0.5 * knobs.depth, 0.5 * knobs.depth))};
}

double radial_force(Context& c, const CutModel& cut, const CutKnobs& knobs) {
  if (cut.way != Way::bore || cut.teeth != 1) return 0;  // more edges: what each pushes cancels
  const CutForces f = cut_forces(c, cut, knobs);
  // Across the axis the one edge pushes with hypot(tangential, radial); the torque holds the tangential part.
  const double tangential = f.torque_mean / std::max(1e-6, 0.5 * (cut.diameter - knobs.width));
  // Nobody said the corner: a light cut lies on it, then all of the force across the edge is radial.
  if (!(cut.corner_radius > 0)) return knobs.radial_ratio * tangential;
  return std::sqrt(std::max(0.0, f.peak.x * f.peak.x - tangential * tangential));
}

std::optional<PushOff> tool_push_off(Context& c, const CutModel& cut) {
  const auto soft = tool_errors(c, cut, cut.soft), hard = tool_errors(c, cut, cut.hard);
  if (soft.empty() || hard.empty()) return {};
  return PushOff{*std::min_element(soft.begin(), soft.end()), *std::max_element(hard.begin(), hard.end())};
}

}  // namespace fettle::study
