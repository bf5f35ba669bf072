// Which cuts sing: depth of cut against the depth at which the tool, its spindle and the pallet feed a wave.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <optional>

#include "base/text.h"
#include "calc/chatter/at_speed.h"
#include "calc/chatter/tool.h"
#include "study/chatter_readings.h"
#include "study/cut_model.h"
#include "study/internal.h"
#include "study/plate_model.h"

namespace fettle::study {

using finding::Finding;
using frame::Vec3;
using unit::Kind;

namespace {

constexpr double two_pi = 6.283185307179586;
constexpr double nan_value = std::numeric_limits<double>::quiet_NaN();

plan::Number assumed(Kind kind, double value, double low, double high, std::string source, std::string replaced_by) {
  plan::Number n;
  n.origin = plan::Origin::assumed;
  n.kind = kind;
  n.si = value, n.low = low, n.high = high;
  n.source = std::move(source), n.replaced_by = std::move(replaced_by);
  return n;
}

/// One place on one part where the tool cuts, as the chatter of it sees it.
struct Spot {
  const CutPlace* place = nullptr;
  int nest = -1;                ///< -1: no pallet below
  maths::PointResponse pallet;  ///< stated damping
  std::array<Vec3, 3> axes;     ///< feed, spindle x feed, spindle
};

struct Indices {
  int spindle = -1, tilt = -1, tool_damping = -1, pallet_damping = -1, flank = -1, hardness = -1;
};

/// One cut of one operation with all that its finding needs.
struct Sing {
  const CutModel* cut = nullptr;
  std::vector<Spot> spots;
  std::vector<chatter::Stretch> stretches;
  std::vector<chatter::FittedMode> measured;  ///< by tapping or by the plan; then the beam is not used
  double measured_residual = 0;
  std::string tool_words;
  plan::Number spindle, tilt, tool_damping, pallet_damping, flank;
  double land = 0, depth = 0;
  Indices at;
};

bool judged(CutModel::Way way) {
  using Way = CutModel::Way;
  return way == Way::side || way == Way::face || way == Way::slot || way == Way::keyseat;
}

/// From the tip: flutes (0.8 of the cutting diameter), neck or shank up to the holder, holder.
std::vector<chatter::Stretch> stretches_of(const plan::Tool& t, double diameter) {
  const bool carbide = t.material.value != "high-speed steel";
  const double modulus = t.elasticity.known() ? t.elasticity.si
                         : carbide            ? 580e9
                                              : 210e9,
               density = carbide ? 14400 : 8000;
  const double out = t.stick_out.si, holder = t.holder.known() ? t.holder.si : std::max(2.5 * diameter, 0.032);
  const bool face = t.kind.value == "face mill";
  const double flutes = std::min(out, t.flute_length.known() ? t.flute_length.si
                                      : t.width.known()      ? t.width.si
                                                             : std::min(2 * diameter, 0.6 * out));
  std::vector<chatter::Stretch> s;
  if (face) {
    s.push_back({out, std::min(diameter, holder), 205e9, 0.3, 7850});
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

maths::PointResponse tool_at(Context& c, const Sing& s, const std::vector<double>& v) {
  maths::PointResponse r;
  const double damping = at(v, s.at.tool_damping, s.tool_damping.si);
  if (!s.measured.empty()) {
    for (const chatter::FittedMode& m : s.measured) {
      const double omega = two_pi * m.frequency, shape = omega / std::sqrt(m.stiffness);
      r.modes.push_back({omega, m.damping, {shape, 0, 0}});
      r.modes.push_back({omega, m.damping, {0, shape, 0}});
    }
    r.residual[0] = r.residual[4] = s.measured_residual;
    return r;
  }
  chatter::ToolInputs in;
  in.stretches = s.stretches;
  in.spindle = at(v, s.at.spindle, s.spindle.si), in.tilt = at(v, s.at.tilt, s.tilt.si);
  in.nose_mass = 8;
  in.elements = 4, in.modes = 3;
  r = c.memo.call("tool response", chatter::tool_response, in)->tip;
  for (auto& m : r.modes) m.damping = damping;
  return r;
}

/// The tool sways across the spindle, whichever way that points: its axes turned into the spot's.
maths::PointResponse turned(maths::PointResponse r, const std::array<Vec3, 3>& axes) {
  for (auto& m : r.modes) {
    const Vec3 s = m.shape;
    m.shape = {s.x * axes[0].x + s.y * axes[1].x, s.x * axes[0].y + s.y * axes[1].y, s.x * axes[0].z + s.y * axes[1].z};
  }
  const double k = r.residual[0];
  const auto part = [&](double a, double b, double e, double f) { return k * (a * b + e * f); };
  const Vec3 &x = axes[0], &y = axes[1];
  r.residual = {part(x.x, x.x, y.x, y.x), part(x.x, x.y, y.x, y.y), part(x.x, x.z, y.x, y.z),
                part(x.y, x.x, y.y, y.x), part(x.y, x.y, y.y, y.y), part(x.y, x.z, y.y, y.z),
                part(x.z, x.x, y.z, y.x), part(x.z, x.y, y.z, y.y), part(x.z, x.z, y.z, y.z)};
  return r;
}

chatter::AtSpeedInputs inputs_of(Context& c, const Sing& s, const Spot& spot, const std::vector<double>& v,
                                 const CutForces& forces, bool tool_too = true, bool plate_too = true) {
  const CutModel& cut = *s.cut;
  chatter::AtSpeedInputs in;
  if (tool_too) in.responses.push_back(turned(tool_at(c, s, v), spot.axes));
  if (plate_too && spot.nest >= 0) {
    in.responses.push_back(spot.pallet);
    for (auto& m : in.responses.back().modes) m.damping = at(v, s.at.pallet_damping, s.pallet_damping.si);
  }
  in.axes = spot.axes;
  in.entry = cut.entry, in.exit = cut.exit;
  in.lead = cut.square ? 0 : cut.lead;
  in.kt = forces.kt, in.kr = forces.kr, in.ka = forces.ka;
  in.turns = cut.turns, in.tooth_angles = cut.tooth_angles, in.diameter = cut.diameter;
  in.indentation = at(v, s.at.flank, s.flank.si), in.land = s.land;
  return in;
}

CutForces forces_at(Context& c, const Sing& s, const std::vector<double>& v) {
  CutKnobs knobs = s.cut->stated;
  if (s.at.hardness >= 0) knobs.hardness = v[static_cast<std::size_t>(s.at.hardness)];
  return cut_forces(c, *s.cut, knobs);
}

chatter::AtSpeedResult limit(Context& c, const chatter::AtSpeedInputs& in) {
  return *c.memo.call("chatter depth at a speed", chatter::depth_at_speed, in);
}

/// How much a spot gives way where its modes are heard, m/N: orders the places before the worst is computed.
double softness(const Spot& s) {
  double most = 0;
  for (const auto& m : s.pallet.modes) {
    double across = 0;
    for (int i = 0; i < 2; ++i) {
      const Vec3& a = s.axes[static_cast<std::size_t>(i)];
      across += std::pow(a.x * m.shape.x + a.y * m.shape.y + a.z * m.shape.z, 2);
    }
    most = std::max(most, across / (2 * std::max(m.damping, 1e-4) * m.omega * m.omega));
  }
  return most;
}

/// Places on every nest; the softest of each nest, softest nest first. `why`: what stood in the way.
std::vector<Spot> spots_of(Context& c, const CutModel& cut, bool pallet, std::string& why) {
  std::vector<Spot> all;
  std::vector<PlatePoint> points;
  const Vec3 up = direction(cut.operation->up.value);
  for (int nest = 0; nest < (pallet ? nest_count(c.plan) : 1); ++nest) {
    for (const CutPlace& p : cut.places) {
      Spot s;
      s.place = &p;
      s.nest = pallet ? nest : -1;
      const auto turn = [&](const Vec3& d) { return pallet ? turned_on_pallet(c.plan, nest, d) : d; };
      const Vec3 side{up.y * p.feed.z - up.z * p.feed.y, up.z * p.feed.x - up.x * p.feed.z,
                      up.x * p.feed.y - up.y * p.feed.x};
      s.axes = {turn(p.feed), turn(side), turn(up)};
      all.push_back(s);
      if (pallet) points.push_back({nest, on_pallet(c.plan, nest, p.at)});
    }
  }
  if (!pallet) {
    if (all.size() > 1) all.resize(1);
    return all;
  }
  const auto answer = plate_answer(c, stated_knobs(c), points);
  if (!answer.ok() || answer->at.size() != all.size()) {
    why = answer.ok() ? std::string("the pallet gave no answer") : answer.problem().what;
    return {};
  }
  std::vector<Spot> worst;
  for (std::size_t i = 0; i < all.size(); ++i) {
    all[i].pallet = answer->at[i];
    const auto it = std::find_if(worst.begin(), worst.end(), [&](const Spot& s) { return s.nest == all[i].nest; });
    if (it == worst.end()) worst.push_back(all[i]);
    else if (softness(all[i]) > softness(*it)) *it = all[i];
  }
  std::stable_sort(worst.begin(), worst.end(), [](const Spot& a, const Spot& b) { return softness(a) > softness(b); });
  return worst;
}

void read_tool(Context& c, Sing& s, Finding& f, std::vector<std::string>& missing) {
  const plan::Tool& t = *s.cut->tool;
  const ToolTapped tapped = tool_tapped(c, t.id.value);
  if (tapped.there && tapped.problem.empty()) {
    s.measured = tapped.fit.modes, s.measured_residual = tapped.fit.residual;
    s.tool_words =
        fmt::format("as tapped ({}), the fit leaves {} %", tapped.file, base::fixed(100 * tapped.fit.left, 1));
    return;
  }
  if (tapped.there) missing.push_back("reading \"tap test\": " + tapped.problem);
  for (const plan::ToolMode& m : t.modes) s.measured.push_back({m.frequency.si, m.damping.si, m.stiffness.si});
  if (!s.measured.empty()) {
    s.tool_words = "modes given in the plan";
    return;
  }
  if (!t.stick_out.known()) {
    missing.push_back("tool.stick_out: stick-out of " + t.id.value + " from its holder");
    return;
  }
  s.stretches = stretches_of(t, s.cut->diameter);
  s.tool_words = "estimated from its stick-out";
  s.spindle = s.cut->machine->spindle_stiffness, s.tilt = s.cut->machine->spindle_tilt,
  s.tool_damping = s.cut->machine->spindle_damping;
  const Rang heard = rang(c, t.id.value);
  if (heard.there && heard.problem.empty()) {
    const chatter::Ring& r = heard.tap.rings.front();
    s.tool_damping = assumed(Kind::number, r.damping, std::max(1e-4, r.damping - 2 * r.damping_spread),
                             r.damping + 2 * r.damping_spread, "measured: " + heard.file, "more taps");
    s.tool_words += fmt::format(", damping as it rings at {} Hz", base::fixed(r.frequency, 0));
  }
  s.at.spindle = assume(f, s.spindle, "stiffness of the spindle's nose", "machine.spindle_stiffness");
  s.at.tilt = assume(f, s.tilt, "stiffness of the spindle against tilting", "machine.spindle_tilt");
  s.at.tool_damping = assume(f, s.tool_damping, "damping of tool and spindle", "machine.spindle_damping");
}

void read_pallet_damping(Context& c, Sing& s, Finding& f) {
  s.pallet_damping = c.plan.pallet.damping;
  const Rang heard = rang(c, "");
  if (heard.there && heard.problem.empty()) {
    const chatter::Ring& r = heard.tap.rings.front();
    double nearest = nan_value;
    if (!s.spots.empty())
      for (const auto& m : s.spots.front().pallet.modes)
        if (!(std::fabs(m.omega / two_pi - r.frequency) >= std::fabs(nearest - r.frequency)))
          nearest = m.omega / two_pi;
    s.pallet_damping = assumed(Kind::number, r.damping, std::max(1e-4, r.damping - 2 * r.damping_spread),
                               r.damping + 2 * r.damping_spread, "measured: " + heard.file, "more taps");
    f.inputs.push_back(
        {"pallet as tapped", r.frequency, Kind::frequency,
         fmt::format("{} Hz, damping {} ± {} (computed mode {} Hz; the plan said {})", base::fixed(r.frequency, 1),
                     base::fixed(r.damping, 4), base::fixed(r.damping_spread, 4), base::fixed(nearest, 1),
                     base::fixed(c.plan.pallet.damping.si, 4))});
  } else if (heard.there) {
    f.inputs.push_back({"tap recording of the pallet", 0, Kind::number, "says nothing: " + heard.problem});
  }
  s.at.pallet_damping = assume(f, s.pallet_damping, "damping of the pallet", "pallet.damping");
}

std::vector<double> stated_of(const Finding& f) {
  std::vector<double> v;
  for (const auto& a : f.assumptions) v.push_back(a.value);
  return v;
}
std::string depth_words(const Context& c, double x, double depth) {
  return x < 9.99 * depth ? mm(c, x) : std::string("far more than is cut");
}
std::string rpm(double turns) { return base::fixed(turns * 60, 0) + " rpm"; }

/// The deepest speed between 0.7 and 1.4 of the present one, within the machine's top: turns per second.
struct Better {
  double turns = 0, depth = 0;
};
Better better_speed(Context& c, chatter::AtSpeedInputs in, double top, int tries) {
  Better best;
  const double now = in.turns;
  for (int i = 0; i <= tries; ++i) {
    in.turns = now * (0.7 + 0.7 * i / tries);
    if (top > 0 && in.turns > top) break;
    const auto r = limit(c, in);
    if (r.ok && r.depth > best.depth) best = {in.turns, r.depth};
  }
  return best;
}

void picture(Context& c, const Sing& s, const Finding& f, chatter::AtSpeedInputs in,
             const std::optional<double>& better, double top) {
  LobePicture p;
  p.tool = f.tool, p.words = s.cut->words, p.finding = f.id;
  if (s.spots.front().nest >= 0) p.nest = std::to_string(s.spots.front().nest + 1);
  p.now_speed = in.turns, p.now_depth = s.depth, p.better_speed = better;
  const double now = in.turns, flank = in.indentation, high = top > 0 ? std::min(top, 1.6 * now) : 1.6 * now;
  const auto at_flank = [&](double k) {
    in.indentation = k;
    const auto r = limit(c, in);
    return r.ok ? std::min(r.depth, 20 * s.depth) : nan_value;
  };
  constexpr int n = 90;
  for (int i = 0; i <= n; ++i) {
    in.turns = 0.5 * now + (high - 0.5 * now) * i / n;
    p.speed.push_back(in.turns);
    p.limit.push_back(at_flank(flank));
    p.limit_low.push_back(at_flank(s.flank.low));
    p.limit_high.push_back(at_flank(s.flank.high));
    p.limit_no_damping.push_back(at_flank(0));
  }
  c.study.lobes.push_back(std::move(p));
}

void sentence(Context& c, Finding& f, const Sing& s, double now, double frequency, const std::string& soft, double none,
              double low, double high) {
  const CutModel& cut = *s.cut;
  f.sentence =
      fmt::format("{}: {} deep; at {} it stays quiet to {}{}. What gives way most is {}.", capital(cut.words),
                  mm(c, s.depth), rpm(cut.turns), depth_words(c, now, s.depth),
                  now < 9.99 * s.depth ? fmt::format(" (starts at {} Hz)", base::fixed(frequency, 0)) : "", soft);
  f.sentence += fmt::format(" Without the flank's rubbing {}, with little {}, with much {}.",
                            depth_words(c, none, s.depth), depth_words(c, low, s.depth), depth_words(c, high, s.depth));
  if (s.spots.front().nest < 0)
    f.sentence += " Tool alone: how the vise, its jaws and the part give way is not in it, and makes it worse.";
}

/// Which of the two sings first when it is alone.
std::string softer(Context& c, const Sing& s, const Spot& spot, const std::vector<double>& v) {
  if (spot.nest < 0) return "the tool";
  const CutForces forces = forces_at(c, s, v);
  const double tool = limit(c, inputs_of(c, s, spot, v, forces, true, false)).depth,
               plate = limit(c, inputs_of(c, s, spot, v, forces, false, true)).depth;
  return plate < tool ? "the pallet with its parts" : "the tool";
}

NestLimit nest_limit(const Context& c, const Sing& s, const Spot& spot, const Finding& f, double x, std::string soft) {
  NestLimit n;
  n.operation = s.cut->operation->id.value, n.tool = f.tool, n.nest = std::to_string(spot.nest + 1);
  n.words = s.cut->words, n.place = spot.place->words, n.finding = f.id;
  n.limit = x, n.asked = s.depth, n.far = !(x < 9.99 * s.depth);
  n.state = x >= s.depth ? finding::State::tight : finding::State::beyond;
  n.soft = std::move(soft);
  const Vec3 p = on_pallet(c.plan, spot.nest, spot.place->at);
  n.x = p.x, n.y = p.y;
  return n;
}
/// The finding speaks for the nest it names, and for all when it is inside.
void take_states(std::vector<NestLimit>& nests, const Finding& f) {
  for (NestLimit& n : nests)
    if (n.nest == f.nest || (f.state == finding::State::inside && n.limit >= n.asked)) n.state = f.state;
}

using LimitAt = std::function<double(const std::vector<double>&)>;

void set(std::vector<double>& v, int index, double x) {
  if (index >= 0) v[static_cast<std::size_t>(index)] = x;
}

/// The deepest quiet cut with all that nobody measured at its good end; stiffness against tilting may help either way.
double best_of_bands(const Finding& f, const Sing& s, const LimitAt& limit_at) {
  std::vector<double> v = stated_of(f);
  set(v, s.at.tool_damping, s.tool_damping.high), set(v, s.at.pallet_damping, s.pallet_damping.high);
  set(v, s.at.flank, s.flank.high), set(v, s.at.spindle, s.spindle.high);
  if (s.at.hardness >= 0) set(v, s.at.hardness, f.assumptions[static_cast<std::size_t>(s.at.hardness)].low);
  double best = limit_at(v);
  if (s.at.tilt >= 0) {
    for (double tilt : {s.tilt.low, s.tilt.high}) {
      set(v, s.at.tilt, tilt);
      best = std::max(best, limit_at(v));
    }
  }
  return best;
}

/// The measurement whose band moves the limit most.
std::string cheapest_test(const Finding& f, const Sing& s, const LimitAt& limit_at) {
  const auto alone = [&](int index, double high) {
    if (index < 0) return -1.0;
    std::vector<double> v = stated_of(f);
    set(v, index, high);
    return limit_at(v);
  };
  const double tool = alone(s.at.tool_damping, s.tool_damping.high), flank = alone(s.at.flank, s.flank.high),
               pallet = alone(s.at.pallet_damping, s.pallet_damping.high);
  if (pallet >= tool && pallet >= flank) return "a tap recording of the loaded pallet";
  return tool >= flank ? "a tap test or a tap recording of the tool in its holder"
                       : "listen to the first part (fettle listen)";
}

/// What was heard outranks what is assumed: a squeal that the computation calls quiet makes it `beyond`.
void add_heard(const Heard& h, Finding& f, double turns) {
  if (!h.there) return;
  if (!h.problem.empty()) {
    f.inputs.push_back({"recording of the cut", 0, Kind::number, "says nothing: " + h.problem});
    return;
  }
  if (!h.squeal.chatter) {
    f.inputs.push_back({"recording of the cut", 0, Kind::number, h.file + ": no chatter heard at " + rpm(turns)});
    f.sentence += fmt::format(" In {} no chatter is heard.", h.file);
    return;
  }
  std::vector<std::string> words;
  for (std::size_t i = 0; i < std::min<std::size_t>(h.squeal.tries.size(), 3); ++i)
    words.push_back(rpm(h.squeal.tries[i]));
  f.inputs.push_back({"recording of the cut", h.squeal.frequency, Kind::frequency,
                      fmt::format("{}: chatters at {} Hz", h.file, base::fixed(h.squeal.frequency, 1))});
  f.sentence += fmt::format(" In {} it chatters at {} Hz.", h.file, base::fixed(h.squeal.frequency, 1));
  if (!words.empty())
    f.levers.push_back(
        {"speed by the recording", "cut.speed", turns * two_pi, h.squeal.tries.front() * two_pi, Kind::rotation,
         fmt::format("speed {} → {}: the heard waves run in step", rpm(turns), base::join(words, " or "))});
  if (f.state == finding::State::inside || f.state == finding::State::tight) {
    f.state = finding::State::beyond;
    f.range =
        "the recording chatters where the computation is quiet: tap tool and pallet, so that both speak of the same";
  }
}

void one(Context& c, const CutModel& cut, bool pallet, const std::string& feature) {
  const std::string op = lower_id(*cut.operation);
  Finding f = start(cut.operation->id.value, feature, "chatter",
                    fmt::format("{} stays quiet{}", cut.tool->id.value, pallet ? "" : ", tool alone"), Kind::length);
  f.tool = cut.tool->id.value;
  f.id = finding::make_id(op, feature, "chatter", f.tool);
  f.formula =
      "least depth b with det(I - b (Kt N/(2 pi) (1 - mean exp(-i w T)) A - i w C B) G(w)) = 0 at the speed of the "
      "plan";
  f.source = "Altintas and Budak 1995, in three directions; flank: Wu 1989 (from memory); constants with their bands";
  Sing s;
  s.cut = &cut, s.depth = cut.stated.depth;
  f.limit = finding::lower(s.depth);
  std::vector<std::string> missing = cut.missing;
  if (pallet && missing.empty())
    for (const std::string& m : plate_missing(c)) missing.push_back(m);
  if (missing.empty()) read_tool(c, s, f, missing);
  if (missing.empty() && !(s.depth > 0)) missing.emplace_back("cut.depth: axial depth of cut");
  if (!missing.empty()) return leave_open(c, std::move(f), missing);
  std::string why;
  s.spots = spots_of(c, cut, pallet, why);
  if (s.spots.empty())
    return leave_open(c, std::move(f), {why.empty() ? std::string("cut: no place along it is known") : why});
  if (pallet) read_pallet_damping(c, s, f);
  s.land = cut.wear_land > 0 ? cut.wear_land : 0.06e-3;
  s.flank = assumed(Kind::number, 1.5e13, 0.4e13, 4e13,
                    "from memory: N/m3 of metal pushed aside by the flank; steel about 4e13, iron less",
                    "a recording at the first part: fettle listen");
  s.at.flank = assume(f, s.flank, "rubbing of the flank", "cut");
  if (cut.hardness_at >= 0) {
    s.at.hardness = static_cast<int>(f.assumptions.size());
    f.assumptions.push_back(cut.assumptions[static_cast<std::size_t>(cut.hardness_at)]);
  }
  const auto limit_at = [&](const std::vector<double>& v, const Spot& spot) {
    const auto r = limit(c, inputs_of(c, s, spot, v, forces_at(c, s, v)));
    return r.ok ? std::min(r.depth, 10 * s.depth) : nan_value;
  };
  const std::vector<double> stated = stated_of(f);
  // The worst nest by computation, not by softness alone.
  std::vector<std::pair<double, std::string>> others;
  std::vector<NestLimit> nests;
  double least = HUGE_VAL;
  std::size_t worst = 0;
  const std::size_t looked = c.options.monte_carlo ? s.spots.size() : std::min<std::size_t>(s.spots.size(), 2);
  for (std::size_t i = 0; i < looked; ++i) {
    const double x = limit_at(stated, s.spots[i]);
    if (s.spots[i].nest >= 0)
      others.emplace_back(x, fmt::format("nest {}: {}", s.spots[i].nest + 1, depth_words(c, x, s.depth)));
    if (s.spots[i].nest >= 0) nests.push_back(nest_limit(c, s, s.spots[i], f, x, softer(c, s, s.spots[i], stated)));
    if (!(x >= least)) least = x, worst = i;
  }
  std::swap(s.spots[0], s.spots[worst]);
  const Spot& spot = s.spots[0];
  if (spot.nest >= 0) f.nest = std::to_string(spot.nest + 1);
  const CutForces forces = forces_at(c, s, stated);
  chatter::AtSpeedInputs in = inputs_of(c, s, spot, stated, forces);
  const auto now = limit(c, in);
  if (!now.ok) return leave_open(c, std::move(f), {"cut: " + now.why});
  const auto with_flank = [&](double k) {
    chatter::AtSpeedInputs x = in;
    x.indentation = k;
    return std::min(limit(c, x).depth, 10 * s.depth);
  };
  const double none = with_flank(0), low = with_flank(s.flank.low), high = with_flank(s.flank.high);
  const std::string soft = softer(c, s, spot, stated);
  f.inputs.push_back({"speed", cut.turns * two_pi, Kind::rotation, rpm(cut.turns)});
  f.inputs.push_back({"teeth", static_cast<double>(cut.teeth), Kind::number, {}});
  f.inputs.push_back({"tool", 0, Kind::number, s.tool_words});
  if (!s.stretches.empty())
    f.inputs.push_back({"holder and spindle", 0, Kind::number,
                        "60 mm of holder below the nose, 8 kg of spindle moving with it: from memory"});
  f.inputs.push_back({"flank land", s.land, Kind::length, {}});
  const std::pair<const char*, const CutKnobs*> irons[] = {{"soft iron, new edge", &cut.soft},
                                                           {"hard iron, used edge", &cut.hard}};
  for (const auto& [words, knobs] : irons) {
    const double x = limit(c, inputs_of(c, s, spot, stated, cut_forces(c, cut, *knobs))).depth;
    f.inputs.push_back(
        {std::string("limit in ") + words, std::min(x, 10 * s.depth), Kind::length, depth_words(c, x, s.depth)});
  }
  if (others.size() > 1) {
    std::string list;
    for (const auto& [x, words] : others) list += (list.empty() ? "" : "; ") + words;
    f.inputs.push_back({"nest by nest", 0, Kind::number, list});
  }
  sentence(c, f, s, std::min(now.depth, 10 * s.depth), now.frequency, soft, none, low, high);
  const double top = cut.machine->top_speed.known() ? cut.machine->top_speed.si / two_pi : 0;
  f.levers.push_back({"depth", "cut.depth", s.depth, std::min(now.depth, 10 * s.depth), Kind::length,
                      fmt::format("depth {} → {}{}", mm(c, s.depth), depth_words(c, now.depth, s.depth),
                                  now.depth < s.depth ? " is quiet" : " before it sings")});
  std::optional<double> better;
  if (now.depth < 1.3 * s.depth) {
    const Better b = better_speed(c, in, top, c.options.monte_carlo ? 42 : 14);
    if (b.depth > 1.1 * now.depth) {
      better = b.turns;
      f.levers.push_back({"speed", "cut.speed", cut.turns * two_pi, b.turns * two_pi, Kind::rotation,
                          fmt::format("speed {} → {} is quiet to {}", rpm(cut.turns), rpm(b.turns),
                                      depth_words(c, b.depth, s.depth))});
    }
  }
  settle(c, std::move(f), [&](const std::vector<double>& v) { return limit_at(v, s.spots[0]); });
  Finding& kept = c.study.findings.back();
  if (kept.state == finding::State::outside) {
    const double best = best_of_bands(kept, s, [&](const std::vector<double>& v) { return limit_at(v, s.spots[0]); });
    kept.inputs.push_back({"limit at the good ends of all bands", best, Kind::length, depth_words(c, best, s.depth)});
    if (best > s.depth) {
      kept.state = finding::State::beyond;
      kept.range = "what is assumed decides: quiet at the good ends of the bands. Cheapest test: " +
                   cheapest_test(kept, s, [&](const std::vector<double>& v) { return limit_at(v, s.spots[0]); });
      kept.sentence += " " + capital(kept.range) + ".";
    }
  }
  add_heard(heard(c, kept.tool, cut.operation->id.value, cut.turns, cut.teeth, top), kept, cut.turns);
  take_states(nests, kept);
  c.study.nest_limits.insert(c.study.nest_limits.end(), nests.begin(), nests.end());
  if (c.options.monte_carlo && now.depth < 3 * s.depth) picture(c, s, kept, in, better, top);
  if (spot.nest >= 0 && kept.state != finding::State::inside) {
    const Vec3 p = on_pallet(c.plan, spot.nest, spot.place->at);
    c.study.compliance.nests.push_back({kept.nest,
                                        fmt::format("{}: quiet to {}", kept.tool, depth_words(c, now.depth, s.depth)),
                                        kept.id, kept.state, p.x, p.y});
  }
}

/// What one cut added to the study.
struct Said {
  Finding finding;
  std::vector<LobePicture> lobes;
  std::vector<NestVerdict> nests;
  std::vector<NestLimit> limits;
  std::string words;
};
template <class T>
std::vector<T> tail(std::vector<T>& v, std::size_t from) {
  std::vector<T> out(std::make_move_iterator(v.begin() + static_cast<std::ptrdiff_t>(from)),
                     std::make_move_iterator(v.end()));
  v.resize(from);
  return out;
}

/// At every nest the cut that is nearest to its limit there.
std::vector<NestLimit> nearest_of(const std::vector<Said>& said) {
  std::vector<NestLimit> out;
  for (const Said& s : said)
    for (const NestLimit& n : s.limits) {
      const auto it = std::find_if(out.begin(), out.end(), [&](const NestLimit& o) { return o.nest == n.nest; });
      if (it == out.end()) out.push_back(n);
      else if (n.limit * it->asked < it->limit * n.asked) *it = n;
    }
  std::sort(out.begin(), out.end(),
            [](const NestLimit& a, const NestLimit& b) { return std::stoi(a.nest) < std::stoi(b.nest); });
  return out;
}

/// All cuts of one tool in one operation: one finding, of the cut that needs a hand first; the others are listed.
void one_tool(Context& c, const std::vector<const CutModel*>& cuts, bool pallet) {
  std::vector<Said> said;
  for (const CutModel* cut : cuts) {
    const std::size_t findings = c.study.findings.size(), lobes = c.study.lobes.size(),
                      nests = c.study.compliance.nests.size(), limits = c.study.nest_limits.size();
    one(c, *cut, pallet, cuts.front()->feature);
    Said s;
    s.finding = tail(c.study.findings, findings).front();
    s.lobes = tail(c.study.lobes, lobes);
    s.nests = tail(c.study.compliance.nests, nests);
    s.limits = tail(c.study.nest_limits, limits);
    s.words = cut->words;
    said.push_back(std::move(s));
  }
  std::stable_sort(said.begin(), said.end(), [](const Said& a, const Said& b) {
    return a.finding.state != b.finding.state ? a.finding.state < b.finding.state : a.finding.margin < b.finding.margin;
  });
  for (NestLimit& n : nearest_of(said)) {
    n.finding = said.front().finding.id;
    c.study.nest_limits.push_back(std::move(n));
  }
  Said& first = said.front();
  for (std::size_t i = 1; i < said.size(); ++i) {
    const Finding& f = said[i].finding;
    first.finding.inputs.push_back({said[i].words, f.value, Kind::length,
                                    f.state == finding::State::open
                                        ? std::string("open")
                                        : fmt::format("{}: {} deep, quiet to {}", finding::word(f.state),
                                                      mm(c, f.limit.low), depth_words(c, f.value, f.limit.low))});
  }
  c.study.findings.push_back(std::move(first.finding));
  for (LobePicture& p : first.lobes) c.study.lobes.push_back(std::move(p));
  for (NestVerdict& n : first.nests) c.study.compliance.nests.push_back(std::move(n));
}

}  // namespace

void chatter_findings(Context& c) {
  const std::vector<CutModel> cuts = cut_models(c);
  std::vector<std::vector<const CutModel*>> groups;
  for (const CutModel& cut : cuts) {
    if (!judged(cut.way) || cut.tool == nullptr || cut.machine == nullptr || cut.operation == nullptr) continue;
    const auto same = std::find_if(groups.begin(), groups.end(), [&](const auto& g) {
      return g.front()->operation == cut.operation && g.front()->tool == cut.tool;
    });
    if (same == groups.end()) groups.push_back({&cut});
    else same->push_back(&cut);
  }
  for (const auto& g : groups) one_tool(c, g, g.front()->operation->kind.value == "pallet");
  auto& lobes = c.study.lobes;
  const auto margin = [](const LobePicture& p) {
    double at_now = HUGE_VAL, gap = HUGE_VAL;
    for (std::size_t i = 0; i < p.speed.size(); ++i)
      if (std::fabs(p.speed[i] - p.now_speed) < gap) gap = std::fabs(p.speed[i] - p.now_speed), at_now = p.limit[i];
    return at_now / p.now_depth;
  };
  std::stable_sort(lobes.begin(), lobes.end(),
                   [&](const LobePicture& a, const LobePicture& b) { return margin(a) < margin(b); });
  if (lobes.size() > 3) lobes.resize(3);
}

}  // namespace fettle::study
