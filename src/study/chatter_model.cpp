#include "study/chatter_model.h"

#include <algorithm>
#include <cmath>

#include "calc/chatter/bar.h"
#include "study/plate_model.h"

namespace fettle::study {

using frame::Vec3;
using Way = CutModel::Way;

namespace {

constexpr double two_pi = 6.283185307179586;
/// A boring bar's diameter over that of the bore, where nobody says its neck: common practice, leaves room for chips.
constexpr double bar_share = 0.7;

/// The machine's axes in the part's for a part that lies with `up` towards the spindle, turned as the pallet's drawing
/// turns it.
std::array<Vec3, 3> machine_axes(const std::string& up) {
  if (up == "-z") return {{{1, 0, 0}, {0, -1, 0}, {0, 0, -1}}};
  if (up == "+x") return {{{0, 0, -1}, {0, 1, 0}, {1, 0, 0}}};
  if (up == "-x") return {{{0, 0, 1}, {0, 1, 0}, {-1, 0, 0}}};
  if (up == "+y") return {{{1, 0, 0}, {0, 0, -1}, {0, 1, 0}}};
  if (up == "-y") return {{{1, 0, 0}, {0, 0, 1}, {0, -1, 0}}};
  return {{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}};
}

/// A response in the axes `a` (given in other axes), in those others.
maths::PointResponse turned(maths::PointResponse r, const std::array<Vec3, 3>& a) {
  for (auto& m : r.modes) m.shape = m.shape.x * a[0] + m.shape.y * a[1] + m.shape.z * a[2];
  const double k[3] = {r.residual[0], r.residual[4], r.residual[8]};
  r.residual = {};
  for (std::size_t i = 0; i < 3; ++i) {
    const double v[3] = {a[i].x, a[i].y, a[i].z};
    for (std::size_t p = 0; p < 3; ++p)
      for (std::size_t q = 0; q < 3; ++q) r.residual[3 * p + q] += k[i] * v[p] * v[q];
  }
  return r;
}

chatter::ToolInputs beam_inputs(const Sing& s, const std::vector<double>& v, const Ask& ask) {
  chatter::ToolInputs in;
  in.stretches = s.stretches;
  std::optional<double> stands = ask.stick_out;
  if (!stands && s.at.stick_out >= 0 && !v.empty()) stands = v[static_cast<std::size_t>(s.at.stick_out)];
  if (stands && !in.stretches.empty()) {
    // Only the stretch at the holder grows or shrinks.
    double out = 0;
    for (std::size_t i = 0; i + 2 < in.stretches.size(); ++i) out += in.stretches[i].length;
    auto& last = in.stretches[in.stretches.size() - 2];
    last.length = std::max(1e-3, *stands - out);
  }
  in.spindle = at(v, s.at.spindle, s.spindle.si), in.tilt = at(v, s.at.tilt, s.tilt.si);
  in.nose_mass = 8;
  in.elements = 4, in.modes = 3;
  return in;
}

/// The tool in the spot's axes: measured along the machine's axes; the estimate sways alike in every direction.
maths::PointResponse tool_at(Context& c, const Sing& s, const Spot& spot, const std::vector<double>& v,
                             const Ask& ask) {
  maths::PointResponse out;
  for (int axis = 0; axis < 3; ++axis) {
    const auto i = static_cast<std::size_t>(axis);
    for (const chatter::FittedMode& m : s.measured[i]) {
      const double omega = two_pi * m.frequency, shape = omega / std::sqrt(m.stiffness);
      out.modes.push_back({omega, m.damping, {axis == 0 ? shape : 0, axis == 1 ? shape : 0, axis == 2 ? shape : 0}});
    }
    out.residual[4 * i] = s.residual[i];
  }
  if (!out.modes.empty()) out = turned(std::move(out), spot.machine);
  if (s.stretches.empty()) return out;
  maths::PointResponse beam = c.memo.call("tool response", chatter::tool_response, beam_inputs(s, v, ask))->tip;
  const double damping = at(v, s.at.tool_damping, s.tool_damping.si);
  for (auto& m : beam.modes) m.damping = damping;
  beam.residual[8] = 0;
  beam = turned(std::move(beam), spot.axes);
  for (std::size_t i = 0; i < 9; ++i) beam.residual[i] += out.residual[i];
  beam.modes.insert(beam.modes.end(), out.modes.begin(), out.modes.end());
  return beam;
}

std::vector<maths::PointResponse> responses(Context& c, const Sing& s, const Spot& spot, const std::vector<double>& v,
                                            const Ask& ask) {
  std::vector<maths::PointResponse> out;
  if (ask.tool) out.push_back(tool_at(c, s, spot, v, ask));
  if (ask.plate && spot.nest >= 0) {
    out.push_back(spot.pallet);
    for (auto& m : out.back().modes) m.damping = at(v, s.at.pallet_damping, s.pallet_damping.si);
  }
  return out;
}

CutForces forces_at(Context& c, const Sing& s, const std::vector<double>& v, const Ask& ask) {
  if (ask.knobs != nullptr) return cut_forces(c, *s.cut, *ask.knobs);
  CutKnobs knobs = s.cut->stated;
  if (s.at.hardness >= 0) knobs.hardness = v[static_cast<std::size_t>(s.at.hardness)];
  return cut_forces(c, *s.cut, knobs);
}

chatter::AtSpeedResult bar_quiet_to(Context& c, const Sing& s, const Spot& spot, const std::vector<double>& v,
                                    const Ask& ask) {
  const CutModel& cut = *s.cut;
  const CutForces forces = forces_at(c, s, v, ask);
  chatter::BarInputs in;
  in.responses = responses(c, s, spot, v, ask);
  in.across = {spot.axes[0], spot.axes[1]};
  in.edge = {cut.approach, at(v, s.at.corner, s.corner.si), cut.feed_per_tooth};
  in.edges = cut.teeth;
  in.kt = forces.kt, in.kr = forces.kr;
  in.speed = M_PI * cut.diameter * cut.turns;
  in.indentation = ask.flank.value_or(at(v, s.at.flank, s.flank.si)), in.land = s.land;
  const auto r = c.memo.call("stock a bar may take", chatter::bar_limit, in);
  chatter::AtSpeedResult out;
  out.ok = r->ok, out.why = r->why, out.depth = r->depth, out.frequency = r->frequency;
  return out;
}

/// How much a spot gives way where its modes are heard, m/N: orders the places before the worst is computed.
double softness(const Spot& s) {
  double most = 0;
  for (const auto& m : s.pallet.modes) {
    double across = 0;
    for (int i = 0; i < 2; ++i) across += std::pow(frame::dot(s.axes[static_cast<std::size_t>(i)], m.shape), 2);
    most = std::max(most, across / (2 * std::max(m.damping, 1e-4) * m.omega * m.omega));
  }
  return most;
}

/// Of places sorted by softness the first of each nest, and the second where it is nearly as soft.
std::vector<Spot> softest(std::vector<Spot> all) {
  std::stable_sort(all.begin(), all.end(), [](const Spot& a, const Spot& b) { return softness(a) > softness(b); });
  std::vector<Spot> kept;
  for (Spot& s : all) {
    int here = 0;
    double most = 0;
    for (const Spot& k : kept)
      if (k.nest == s.nest) ++here, most = std::max(most, softness(k));
    if (here == 0 || (here == 1 && softness(s) > most / 1.2)) kept.push_back(std::move(s));
  }
  return kept;
}

}  // namespace

bool chatter_judged(Way way) {
  return way == Way::side || way == Way::face || way == Way::slot || way == Way::keyseat || way == Way::bore;
}

std::vector<chatter::Stretch> tool_stretches(const CutModel& cut) {
  const plan::Tool& t = *cut.tool;
  const double diameter = cut.diameter;
  const bool bar = cut.way == Way::bore, carbide = !bar && t.material.value != "high-speed steel";
  const double modulus = t.elasticity.known() ? t.elasticity.si
                         : carbide            ? 580e9
                                              : 210e9,
               density = carbide ? 14400 : 8000;
  const double out = t.stick_out.si, holder = t.holder.known() ? t.holder.si : std::max(2.5 * diameter, 0.032);
  const double flutes = std::min(out, t.flute_length.known() ? t.flute_length.si
                                      : t.width.known()      ? t.width.si
                                                             : std::min(2 * diameter, 0.6 * out));
  std::vector<chatter::Stretch> s;
  if (t.kind.value == "face mill") {
    s.push_back({out, std::min(diameter, holder), 205e9, 0.3, 7850});
  } else if (bar) {
    // What the plan says of the material is the insert's; the bar is steel where its elasticity is not said.
    s.push_back({out, t.neck.known() ? t.neck.si : bar_share * diameter, modulus, 0.3, density});
  } else {
    s.push_back({flutes, 0.8 * diameter, modulus, 0.22, density});
    double left = out - flutes;
    if (t.neck.known() && left > 1e-6) {
      const double neck = std::min(left, t.neck_length.known() ? t.neck_length.si : left);
      s.push_back({neck, t.neck.si, modulus, 0.22, density});
      left -= neck;
    }
    if (left > 1e-6) s.push_back({left, diameter, modulus, 0.22, density});
  }
  s.push_back({0.06, holder, 205e9, 0.3, 7850});
  return s;
}

void find_spots(Context& c, Sing& s, bool pallet, std::string& why) {
  const CutModel& cut = *s.cut;
  std::vector<Spot> all;
  std::vector<PlatePoint> points;
  const Vec3 up = direction(cut.operation->up.value);
  for (int nest = 0; nest < (pallet ? nest_count(c.plan) : 1); ++nest) {
    for (const CutPlace& p : cut.places) {
      Spot spot;
      spot.place = &p;
      spot.nest = pallet ? nest : -1;
      const auto turn = [&](const Vec3& d) { return pallet ? turned_on_pallet(c.plan, nest, d) : d; };
      spot.axes = {turn(p.feed), turn(frame::cross(up, p.feed)), turn(up)};
      spot.machine = machine_axes(pallet ? std::string("+z") : cut.operation->up.value);
      all.push_back(spot);
      if (pallet) points.push_back({nest, on_pallet(c.plan, nest, p.at)});
    }
  }
  if (!pallet) {
    // The estimate sways alike everywhere, so that one place says all; what was measured does not.
    const bool alike = s.measured[0].empty() && s.measured[1].empty();
    if (all.size() > 1 && alike) all.resize(1);
    s.spots = std::move(all);
    return;
  }
  const auto answer = plate_answer(c, stated_knobs(c), points);
  if (!answer.ok() || answer->at.size() != all.size()) {
    why = answer.ok() ? std::string("the pallet gave no answer") : answer.problem().what;
    return;
  }
  for (std::size_t i = 0; i < all.size(); ++i) all[i].pallet = answer->at[i];
  s.frequencies = answer->frequencies;
  s.spots = softest(std::move(all));
}

chatter::AtSpeedInputs milling_inputs(Context& c, const Sing& s, const Spot& spot, const std::vector<double>& v,
                                      const Ask& ask) {
  const CutModel& cut = *s.cut;
  const CutForces forces = forces_at(c, s, v, ask);
  chatter::AtSpeedInputs in;
  in.responses = responses(c, s, spot, v, ask);
  in.axes = spot.axes;
  in.entry = cut.entry, in.exit = cut.exit;
  in.lead = cut.square ? 0 : cut.lead;
  in.kt = forces.kt, in.kr = forces.kr, in.ka = forces.ka;
  in.turns = ask.turns.value_or(cut.turns), in.tooth_angles = cut.tooth_angles, in.diameter = cut.diameter;
  in.indentation = ask.flank.value_or(at(v, s.at.flank, s.flank.si)), in.land = s.land;
  return in;
}

chatter::AtSpeedResult quiet_to(Context& c, const Sing& s, const Spot& spot, const std::vector<double>& v,
                                const Ask& ask) {
  if (s.bar) return bar_quiet_to(c, s, spot, v, ask);
  return *c.memo.call("chatter depth at a speed", chatter::depth_at_speed, milling_inputs(c, s, spot, v, ask));
}

chatter::AtSpeedResult deeper_than(Context& c, const Sing& s, const Spot& spot, const std::vector<double>& v,
                                   const Ask& ask, double than) {
  return *c.memo.call("chatter deeper at a speed", chatter::deeper_at_speed,
                      chatter::DeeperInputs{milling_inputs(c, s, spot, v, ask), than});
}

std::vector<double> tool_frequencies(Context& c, const Sing& s, const std::vector<double>& v) {
  if (s.stretches.empty()) return {};
  return c.memo.call("tool response", chatter::tool_response, beam_inputs(s, v, {}))->frequencies;
}

}  // namespace fettle::study
