// Which cuts sing: depth of cut against the depth at which the tool, its spindle and the pallet feed a wave.
#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <functional>
#include <future>
#include <iterator>
#include <limits>
#include <optional>

#include "base/text.h"
#include "calc/chatter/damping.h"
#include "study/chatter_loss.h"
#include "study/chatter_model.h"
#include "study/chatter_readings.h"
#include "study/cut_model.h"
#include "study/internal.h"
#include "study/plate_model.h"

namespace fettle::study {

using finding::Finding;
using finding::State;
using frame::Vec3;
using unit::Kind;

namespace {

constexpr double two_pi = 6.283185307179586;
constexpr double nan_value = std::numeric_limits<double>::quiet_NaN();
using Values = std::vector<double>;

plan::Number heard_damping(double damping, double spread, const std::string& file) {
  return assumed(Kind::number, damping, std::max(1e-4, damping - 2 * spread), damping + 2 * spread, "measured: " + file,
                 "more taps");
}

void add_notes(Finding& f, const std::vector<finding::Input>& notes) {
  f.inputs.insert(f.inputs.end(), notes.begin(), notes.end());
}
void add_note(Finding& f, const std::string& name, const std::string& words) {
  f.inputs.push_back({name, 0, Kind::number, words});
}

std::string depth_words(const Context& c, double x, double depth) {
  return x < 9.99 * depth ? mm(c, x) : std::string("far more than is cut");
}
std::string rpm(double turns) { return base::fixed(turns * 60, 0) + " rpm"; }

// ---- the tool and the pallet from what is known of them -----------------------------------------------------------

/// Modes that the plan gives along an axis of the machine; those without a direction speak for both sideways.
std::vector<chatter::FittedMode> given_modes(const plan::Tool& t, int axis) {
  std::vector<chatter::FittedMode> out;
  for (const plan::ToolMode& m : t.modes) {
    const bool here =
        m.direction.known() ? m.direction.value == std::string(1, static_cast<char>('x' + axis)) : axis < 2;
    if (here) out.push_back({m.frequency.si, m.damping.si, m.stiffness.si});
  }
  return out;
}

/// Fills what was measured or given; true when the tool sideways is known from it.
bool take_measured(Sing& s, const ToolTapped& tapped) {
  std::vector<std::string> words;
  for (int axis = 0; axis < 3; ++axis) {
    const auto i = static_cast<std::size_t>(axis);
    const char name = static_cast<char>('x' + axis);
    if (tapped.along[i]) {
      s.measured[i] = tapped.along[i]->fit.modes, s.residual[i] = tapped.along[i]->fit.residual;
      words.push_back(fmt::format("{} as tapped ({}; the fit leaves {} %)", name, tapped.along[i]->file,
                                  base::fixed(100 * tapped.along[i]->fit.left, 1)));
    } else if (s.measured[i] = given_modes(*s.cut->tool, axis); !s.measured[i].empty()) {
      words.push_back(fmt::format("{} by the plan's modes", name));
    }
  }
  for (int axis = 0; axis < 2; ++axis) {
    const auto i = static_cast<std::size_t>(axis), other = static_cast<std::size_t>(1 - axis);
    if (!s.measured[i].empty() || s.measured[other].empty()) continue;
    s.measured[i] = s.measured[other], s.residual[i] = s.residual[other];
    words.push_back(fmt::format("{} taken the same, nobody measured it", static_cast<char>('x' + axis)));
  }
  s.tool_words = base::join(words, ", ");
  return !s.measured[0].empty();
}

void read_tool(Context& c, Told& told, Sing& s, Finding& f, std::vector<std::string>& missing) {
  const plan::Tool& t = *s.cut->tool;
  const std::string& operation = s.cut->operation->id.value;
  const ToolTapped tapped = tool_tapped(c, told, t.id.value, operation);
  const Rang heard = rang(c, told, t.id.value, operation);
  add_notes(f, tapped.notes), add_notes(f, heard.notes);
  if (heard.there && !heard.problem.empty()) add_note(f, "tap recording of the tool", "says nothing: " + heard.problem);
  if (!tapped.problem.empty()) missing.push_back("reading \"tap test\": " + tapped.problem);
  const bool known = take_measured(s, tapped);
  if (!s.measured[2].empty() && (s.cut->square || s.bar))
    add_note(f, "tool along its axis", "not used: swaying that way makes no chip in this cut");
  if (known) {
    if (heard.there && heard.problem.empty())
      add_note(f, "tap recording of the tool",
               fmt::format("{} Hz, damping {}: not used, the modes of {} are known",
                           base::fixed(heard.tap.rings.front().frequency, 0),
                           base::fixed(heard.tap.rings.front().damping, 4), t.id.value));
    return;
  }
  if (!t.stick_out.known()) {
    missing.push_back("operation.cut.stick_out or tool.stick_out: stick-out of " + t.id.value + " from its holder");
    return;
  }
  s.stretches = tool_stretches(*s.cut);
  s.tool_words += (s.tool_words.empty() ? "" : "; sideways ") + std::string("estimated from its stick-out");
  if (s.bar && !t.neck.known()) s.tool_words += ", bar of 0.7 of the bore (common practice; say tool.neck)";
  s.spindle = s.cut->machine->spindle_stiffness, s.tilt = s.cut->machine->spindle_tilt,
  s.tool_damping = s.cut->machine->spindle_damping;
  if (heard.there && heard.problem.empty()) {
    const chatter::Ring& r = heard.tap.rings.front();
    s.tool_damping = heard_damping(r.damping, r.damping_spread, heard.file);
    double nearest = nan_value;
    for (double x : tool_frequencies(c, s, {}))
      if (!(std::fabs(x - r.frequency) >= std::fabs(nearest - r.frequency))) nearest = x;
    s.tool_words +=
        fmt::format(", damping as it rings at {} Hz{} (estimate: {} Hz)", base::fixed(r.frequency, 0),
                    heard.words.empty() ? "" : " " + heard.words + ", taken for both ways", base::fixed(nearest, 0));
  }
  s.at.spindle = assume(f, s.spindle, "stiffness of the spindle's nose", "machine.spindle_stiffness");
  s.at.tilt = assume(f, s.tilt, "stiffness of the spindle against tilting", "machine.spindle_tilt");
  s.at.tool_damping = assume(f, s.tool_damping, "damping of tool and spindle", "machine.spindle_damping");
  s.at.stick_out = assume(f, t.stick_out, "stick-out of " + t.id.value,
                          s.cut->as_set ? "operation.cut.stick_out" : "tool.stick_out");
}

std::string tap_words(const PalletTap& t) {
  const double off = 100 * (t.frequency / t.computed - 1);
  return fmt::format("{}{}{}: {} Hz, damping {} ± {}{}; computed {} {} Hz, it rings {} % {}", t.file,
                     t.words.empty() ? "" : ", ", t.words, base::fixed(t.frequency, 1), base::fixed(t.damping, 4),
                     base::fixed(t.spread, 4), t.spread_assumed ? " (a tenth: from memory)" : "",
                     t.loudest ? "loudest there" : "nearest", base::fixed(t.computed, 1),
                     base::fixed(std::fabs(off), 0), off < 0 ? "lower" : "higher");
}

/// The tap that speaks for a nest: in it, else of no nest in particular, else of another.
const PalletTap* tap_for(const std::vector<PalletTap>& taps, int nest) {
  for (const int want : {nest, -1})
    for (const PalletTap& t : taps)
      if (t.problem.empty() && t.nest == want) return &t;
  for (const PalletTap& t : taps)
    if (t.problem.empty()) return &t;
  return nullptr;
}

/// The damping of the pallet, and how far the pallet rings from what is computed (1: as computed, below: softer).
double read_pallet(Context& c, Told& told, Sing& s, Finding& f) {
  s.pallet_damping = c.plan.pallet.damping;
  const auto taps = pallet_taps(c, told, s.cut->operation->id.value, s.frequencies);
  const PalletTap* used = s.spots.empty() ? nullptr : tap_for(taps, s.spots.front().nest);
  double ratio = 1;
  for (const PalletTap& t : taps) {
    add_notes(f, t.notes);
    if (!t.problem.empty()) {
      add_note(f, "tap of the pallet", "says nothing: " + t.problem);
      continue;
    }
    std::string words = tap_words(t);
    if (&t == used)
      words += fmt::format("; its damping is used (the plan said {})", base::fixed(c.plan.pallet.damping.si, 4));
    else words += "; compared, its damping is not used";
    f.inputs.push_back({"pallet as tapped", t.frequency, Kind::frequency, words});
    if (t.computed > 0) ratio = std::min(ratio, t.frequency / t.computed);
  }
  if (used != nullptr) s.pallet_damping = heard_damping(used->damping, used->spread, used->file);
  s.at.pallet_damping = assume(f, s.pallet_damping, "damping of the pallet", "pallet.damping");
  return ratio;
}

void read_rest(Sing& s, Finding& f) {
  const CutModel& cut = *s.cut;
  s.land = cut.wear_land > 0 ? cut.wear_land : 0.06e-3;
  const chatter::FlankBand iron = chatter::iron_indentation();
  s.flank =
      assumed(Kind::number, iron.stated, iron.low, iron.high, "N/m3 of metal pushed aside by the flank; " + iron.source,
              "a recording at the first part: fettle listen");
  s.at.flank = assume(f, s.flank, "rubbing of the flank", "cut");
  if (cut.hardness_at >= 0) {
    s.at.hardness = static_cast<int>(f.assumptions.size());
    f.assumptions.push_back(cut.assumptions[static_cast<std::size_t>(cut.hardness_at)]);
  }
  if (!s.bar) return;
  s.corner.si = cut.corner_radius;
  if (cut.corner_radius > 0) return;
  s.corner = assumed(Kind::length, 0.4e-3, 0.2e-3, 0.8e-3, "common practice: corners of boring edges 0.2 to 0.8 mm",
                     "say tool.corner_radius");
  s.at.corner = assume(f, s.corner, "corner of the boring edge", "tool.corner_radius");
}

// ---- answers over places and bands ---------------------------------------------------------------------------------

Values stated_of(const Finding& f) {
  Values v;
  for (const auto& a : f.assumptions) v.push_back(a.value);
  return v;
}
void set(Values& v, int index, double x) {
  if (index >= 0) v[static_cast<std::size_t>(index)] = x;
}

/// At most ten times what is asked: beyond that nobody cares, and a margin stays a number.
double limit_at(Context& c, const Sing& s, const Spot& spot, const Values& v, const Ask& ask = {}) {
  const auto r = quiet_to(c, s, spot, v, ask);
  return r.ok ? std::min(r.depth, 10 * s.depth) : nan_value;
}

/// Which of the two sings first when it is alone.
std::string softer(Context& c, const Sing& s, const Spot& spot, const Values& v) {
  if (spot.nest < 0) return "the tool";
  Ask tool, plate;
  tool.plate = plate.tool = false;
  return quiet_to(c, s, spot, v, plate).depth < quiet_to(c, s, spot, v, tool).depth ? "the pallet with its parts"
                                                                                    : "the tool";
}

/// All assumptions at the ends that a judged finding showed to be bad, one by one.
Values bad_ends(const Finding& f) {
  Values v = stated_of(f);
  for (std::size_t i = 0; i < v.size(); ++i) {
    const auto& a = f.assumptions[i];
    const bool low = !(a.margin_at_low >= a.margin_at_high);
    if (!((low ? a.margin_at_low : a.margin_at_high) >= f.margin)) v[i] = low ? a.low : a.high;
  }
  return v;
}
/// All that nobody measured at its good end; stiffness against tilting and the corner may help either way.
std::vector<Values> good_ends(const Finding& f, const Sing& s) {
  Values v = stated_of(f);
  set(v, s.at.tool_damping, s.tool_damping.high), set(v, s.at.pallet_damping, s.pallet_damping.high);
  set(v, s.at.flank, s.flank.high), set(v, s.at.spindle, s.spindle.high), set(v, s.at.corner, s.corner.low);
  set(v, s.at.stick_out, s.cut->tool->stick_out.low);
  if (s.at.hardness >= 0) set(v, s.at.hardness, f.assumptions[static_cast<std::size_t>(s.at.hardness)].low);
  if (s.at.tilt < 0) return {v};
  std::vector<Values> both{v, v};
  set(both[0], s.at.tilt, s.tilt.low), set(both[1], s.at.tilt, s.tilt.high);
  return both;
}

/// The iron of the good ends: soft, cut by a new edge.
Ask soft_iron(const Sing& s) {
  Ask ask;
  ask.knobs = &s.cut->soft;
  return ask;
}

/// The measurement whose band moves the limit most.
std::string cheapest_test(Context& c, const Finding& f, const Sing& s) {
  const auto alone = [&](int index, double high) {
    if (index < 0) return -1.0;
    Values v = stated_of(f);
    set(v, index, high);
    return limit_at(c, s, s.spots[0], v);
  };
  const double tool = alone(s.at.tool_damping, s.tool_damping.high), flank = alone(s.at.flank, s.flank.high),
               pallet = alone(s.at.pallet_damping, s.pallet_damping.high);
  if (pallet >= tool && pallet >= flank && pallet > 0) return "a tap recording of the loaded pallet";
  return tool >= flank ? "a tap test or a tap recording of the tool in its holder"
                       : "listen to the first part (fettle listen)";
}

/// What was looked at, place by place, at the stated values.
struct Looked {
  Spot spot;
  double limit = 0;
};
/// The place that sings first stands in front; others rise by limit. A quick study looks at one place in each of the
/// two softest nests.
std::vector<Looked> look(Context& c, const Sing& s, const Values& stated) {
  std::vector<Looked> out;
  for (const Spot& spot : s.spots) {
    const bool again = std::any_of(out.begin(), out.end(),
                                   [&](const Looked& l) { return spot.nest >= 0 && l.spot.nest == spot.nest; });
    if (!c.options.monte_carlo && (again || out.size() >= 2)) continue;
    out.push_back({spot, limit_at(c, s, spot, stated)});
  }
  std::stable_sort(out.begin(), out.end(), [](const Looked& a, const Looked& b) { return a.limit < b.limit; });
  return out;
}
/// Of each nest the place that sings first, in the order given.
std::vector<Looked> by_nest(const std::vector<Looked>& looked) {
  std::vector<Looked> out;
  for (const Looked& l : looked)
    if (l.spot.nest >= 0 &&
        std::none_of(out.begin(), out.end(), [&](const Looked& o) { return o.spot.nest == l.spot.nest; }))
      out.push_back(l);
  return out;
}

/// The state of one place over the bands that the finding judged.
State state_at(Context& c, const Sing& s, const Finding& f, const Looked& l, double limit, const Loss& loss) {
  if (limit >= s.depth)
    return limit_in_bands(c, s, l.spot, bad_ends(f), loss) >= s.depth ? State::inside : State::tight;
  for (const Values& v : good_ends(f, s))
    if (limit_in_bands(c, s, l.spot, v, loss, soft_iron(s)) >= s.depth) return State::beyond;
  return State::outside;
}

/// Nests that the finding does not name are judged by its own method.
void add_nests(Context& c, const Sing& s, const Finding& f, const std::vector<Looked>& looked, const Loss& loss) {
  for (const Looked& l : by_nest(looked)) {
    const double limit = loss.used ? limit_in_bands(c, s, l.spot, stated_of(f), loss) : l.limit;
    NestLimit n;
    n.operation = s.cut->operation->id.value, n.tool = f.tool, n.nest = std::to_string(l.spot.nest + 1);
    n.words = s.cut->words, n.place = l.spot.place->words, n.finding = f.id;
    n.limit = n.nest == f.nest ? f.value : limit;
    n.asked = s.depth, n.far = !(n.limit < 9.99 * s.depth), n.width = s.bar;
    if (n.nest == f.nest) n.state = f.state;
    else if (c.options.monte_carlo && c.options.bands) n.state = state_at(c, s, f, l, limit, loss);
    else n.state = limit < s.depth ? State::beyond : f.state == State::inside ? State::inside : State::tight;
    n.soft = softer(c, s, l.spot, stated_of(f));
    const Vec3 p = on_pallet(c.plan, l.spot.nest, l.spot.place->at);
    n.x = p.x, n.y = p.y;
    c.study.nest_limits.push_back(std::move(n));
  }
}

// ---- levers and pictures -------------------------------------------------------------------------------------------

/// The deepest speed between 0.7 and 1.4 of the present one, within the machine's top: turns per second; none where it
/// is not quiet to more than `than`.
struct Better {
  double turns = 0, depth = 0;
};
Better better_speed(Context& c, const Sing& s, const Values& stated, double top, int tries, double than) {
  Better best{0, than};
  for (int i = 0; i <= tries; ++i) {
    Ask ask;
    ask.turns = s.cut->turns * (0.7 + 0.7 * i / tries);
    if (top > 0 && *ask.turns > top) break;
    const auto r = deeper_than(c, s, s.spots[0], stated, ask, best.depth);
    if (r.ok && r.depth > best.depth) best = {*ask.turns, r.depth};
  }
  return best;
}

/// The longest stick-out, not under one bar, at which the bar is quiet at the stock asked.
std::optional<double> shorter_bar(Context& c, const Sing& s, const Values& stated) {
  double low = s.stretches.front().diameter, high = s.cut->tool->stick_out.si;
  const auto quiet = [&](double out) {
    Ask ask;
    ask.stick_out = out;
    return limit_at(c, s, s.spots[0], stated, ask) >= s.depth;
  };
  if (!(low < high) || !quiet(low)) return std::nullopt;
  for (int i = 0; i < 10; ++i) {
    const double middle = 0.5 * (low + high);
    (quiet(middle) ? low : high) = middle;
  }
  return low;
}

void picture(Context& c, const Sing& s, const Finding& f, const Values& stated, const std::optional<double>& better,
             double top, const Loss& loss) {
  LobePicture p;
  p.tool = f.tool, p.words = s.cut->words, p.finding = f.id;
  if (loss.used) p.words += " (curve: forces averaged over the turn; the finding goes tooth by tooth)";
  if (s.spots.front().nest >= 0) p.nest = std::to_string(s.spots.front().nest + 1);
  p.now_speed = s.cut->turns, p.now_depth = s.depth, p.better_speed = better;
  const double now = s.cut->turns, high = top > 0 ? std::min(top, 1.6 * now) : 1.6 * now;
  Ask ask;
  const auto at_flank = [&](double k) {
    ask.flank = k;
    const auto r = quiet_to(c, s, s.spots[0], stated, ask);
    return r.ok ? std::min(r.depth, 20 * s.depth) : nan_value;
  };
  constexpr int n = 90;
  for (int i = 0; i <= n; ++i) {
    ask.turns = 0.5 * now + (high - 0.5 * now) * i / n;
    p.speed.push_back(*ask.turns);
    p.limit.push_back(at_flank(s.flank.si));
    p.limit_low.push_back(at_flank(s.flank.low));
    p.limit_high.push_back(at_flank(s.flank.high));
    p.limit_no_damping.push_back(at_flank(0));
  }
  c.study.lobes.push_back(std::move(p));
}

/// Depth, and for milling a speed nearby, for boring a shorter bar. Returns the speed, turns per second.
std::optional<double> add_levers(Context& c, const Sing& s, Finding& f, const Values& stated, double now, double top) {
  const char* what = s.bar ? "stock a side" : "depth";
  f.levers.push_back({what, s.bar ? "cut.width" : "cut.depth", s.depth, now, Kind::length,
                      fmt::format("{} {} → {}{}", what, mm(c, s.depth), depth_words(c, now, s.depth),
                                  now < s.depth ? " is quiet" : " before it sings")});
  if (!(now < 1.3 * s.depth)) return std::nullopt;
  if (s.bar) {
    if (!s.stretches.empty() && now < s.depth)
      if (const auto out = shorter_bar(c, s, stated))
        f.levers.push_back({"stick-out", "tool.stick_out", s.cut->tool->stick_out.si, *out, Kind::length,
                            fmt::format("stick-out {} → {} is quiet", mm(c, s.cut->tool->stick_out.si), mm(c, *out))});
    return std::nullopt;
  }
  const Better b = better_speed(c, s, stated, top, c.options.monte_carlo ? 42 : 14, 1.1 * now);
  if (!(b.turns > 0)) return std::nullopt;
  f.levers.push_back(
      {"speed", "cut.speed", s.cut->turns * two_pi, b.turns * two_pi, Kind::rotation,
       fmt::format("speed {} → {} is quiet to {}", rpm(s.cut->turns), rpm(b.turns), depth_words(c, b.depth, s.depth))});
  return b.turns;
}

// ---- words ---------------------------------------------------------------------------------------------------------

void sentence(Context& c, Finding& f, const Sing& s, double now, double frequency, const std::string& soft,
              const Values& stated, const Loss& loss) {
  const CutModel& cut = *s.cut;
  const auto with_flank = [&](double k) {
    Ask ask;
    ask.flank = k;
    return depth_words(c, limit_at(c, s, s.spots[0], stated, ask), s.depth);
  };
  f.sentence = fmt::format(
      "{}: {} {}; at {} it stays quiet to {}{}{}. What gives way most is {}.", capital(cut.words), mm(c, s.depth),
      s.bar ? "of stock a side" : "deep", rpm(cut.turns), loss.more ? "more than " : "", depth_words(c, now, s.depth),
      now < 9.99 * s.depth && !loss.more ? fmt::format(" (starts at {} Hz)", base::fixed(frequency, 0)) : "", soft);
  f.sentence += fmt::format(" Without the flank's rubbing {}, with little {}, with much {}{}.", with_flank(0),
                            with_flank(s.flank.low), with_flank(s.flank.high),
                            loss.used ? " (forces averaged over the turn)" : "");
  if (s.spots.front().nest < 0)
    f.sentence += " Tool alone: how the vise, its jaws and the part give way is not in it, and makes it worse.";
}

void add_inputs(Context& c, const Sing& s, Finding& f, const Values& stated, const std::vector<Looked>& looked,
                const Loss& loss) {
  const CutModel& cut = *s.cut;
  f.inputs.push_back({"speed", cut.turns * two_pi, Kind::rotation, rpm(cut.turns)});
  f.inputs.push_back({s.bar ? "edges" : "teeth", static_cast<double>(cut.teeth), Kind::number, {}});
  add_note(f, "tool", s.tool_words);
  if (!s.stretches.empty())
    add_note(f, "holder and spindle",
             fmt::format("{} of holder below the nose, {} of spindle moving with it: from memory", mm(c, 0.06),
                         unit::print(8, Kind::mass, c.style)));
  f.inputs.push_back({"flank land", s.land, Kind::length, {}});
  const std::pair<const char*, const CutKnobs*> irons[] = {{"soft iron, new edge", &cut.soft},
                                                           {"hard iron, used edge", &cut.hard}};
  for (const auto& [words, knobs] : irons) {
    Ask ask;
    ask.knobs = knobs;
    const double x = limit_at(c, s, s.spots[0], stated, ask);
    f.inputs.push_back({std::string("limit in ") + words, x, Kind::length, depth_words(c, x, s.depth)});
  }
  const auto nests = by_nest(looked);
  std::string list;
  for (const Looked& l : nests) {
    const double limit = loss.used ? limit_in_bands(c, s, l.spot, stated, loss) : l.limit;
    list += fmt::format("{}nest {}: {}", list.empty() ? "" : "; ", l.spot.nest + 1, depth_words(c, limit, s.depth));
  }
  if (nests.size() > 1) add_note(f, "nest by nest", list);
}

/// What was heard in a nest outranks what is assumed of it.
void add_heard(Context& c, const Heard& h, const Sing& s, Finding& f) {
  add_notes(f, h.notes);
  const double turns = s.cut->turns;
  if (!h.problem.empty()) return add_note(f, "recording of the cut", "says nothing: " + h.problem);
  if (h.nest >= 0 && s.spots.front().nest < 0)
    add_note(f, "recording of the cut", h.file + ": its nest is not used, this operation has no pallet");
  const Spot* spot = &s.spots.front();
  if (h.nest >= 0 && spot->nest >= 0 && h.nest != spot->nest) {
    const auto it = std::find_if(s.spots.begin(), s.spots.end(), [&](const Spot& x) { return x.nest == h.nest; });
    if (it == s.spots.end())
      return add_note(f, "recording of the cut",
                      fmt::format("{} says nothing: there is no nest {} on the pallet", h.file, h.nest + 1));
    spot = &*it;
  }
  const bool same = spot == &s.spots.front();
  const double computed = same ? f.value : limit_at(c, s, *spot, stated_of(f));
  const bool quiet = computed >= s.depth;
  const std::string where = h.nest >= 0 && spot->nest >= 0 ? fmt::format(" in nest {}", h.nest + 1) : std::string();
  const std::string against = fmt::format("; computed{}: quiet to {}", where, depth_words(c, computed, s.depth));
  if (!h.squeal.chatter) {
    add_note(f, "recording of the cut",
             fmt::format("{}: no chatter heard{} at {}{}", h.file, where, rpm(turns), against));
    f.sentence += fmt::format(" In {} no chatter is heard{}.", h.file, where);
    if (same && f.state == State::outside) {
      f.state = State::beyond;
      f.range =
          "the recording is quiet where the computation sings: tap tool and pallet, so that both speak of the same";
    }
    return;
  }
  std::vector<std::string> words;
  for (std::size_t i = 0; i < std::min<std::size_t>(h.squeal.tries.size(), 3); ++i)
    words.push_back(rpm(h.squeal.tries[i]));
  f.inputs.push_back(
      {"recording of the cut", h.squeal.frequency, Kind::frequency,
       fmt::format("{}: chatters{} at {} Hz{}", h.file, where, base::fixed(h.squeal.frequency, 1), against)});
  f.sentence += fmt::format(" In {} it chatters{} at {} Hz.", h.file, where, base::fixed(h.squeal.frequency, 1));
  if (!words.empty())
    f.levers.push_back(
        {"speed by the recording", "cut.speed", turns * two_pi, h.squeal.tries.front() * two_pi, Kind::rotation,
         fmt::format("speed {} → {}: the heard waves run in step", rpm(turns), base::join(words, " or "))});
  if (quiet && (f.state == State::inside || f.state == State::tight)) {
    f.state = State::beyond;
    f.range = fmt::format(
        "the recording chatters{} where the computation is quiet: tap tool and pallet, so that both speak of the same",
        where);
  }
}

// ---- one cut -------------------------------------------------------------------------------------------------------

/// What the runner-up among the places, and the multipliers, say of the state that the worst place got.
void settle_state(Context& c, const Sing& s, Finding& f, const Looked* runner, const Loss& loss) {
  if (f.state == State::inside && c.options.bands && runner != nullptr &&
      !(limit_in_bands(c, s, runner->spot, bad_ends(f), loss) >= s.depth)) {
    f.state = State::tight;
    f.sentence += fmt::format(" At the bad ends of the bands another place sings: {}.", runner->spot.place->words);
  }
  if (f.state != State::outside) return;
  double best = 0;
  for (const Values& v : good_ends(f, s)) {
    double x = limit_in_bands(c, s, s.spots[0], v, loss, soft_iron(s));
    if (runner != nullptr) x = std::min(x, limit_in_bands(c, s, runner->spot, v, loss, soft_iron(s)));
    best = std::max(best, x);
  }
  f.inputs.push_back({"limit at the good ends of all bands", best, Kind::length, depth_words(c, best, s.depth)});
  if (!(best >= s.depth)) return;
  f.state = State::beyond;
  f.range = "what is assumed decides: quiet at the good ends of the bands. Cheapest test: " + cheapest_test(c, f, s);
  f.sentence += " " + capital(f.range) + ".";
}

void one(Context& c, Told& told, const CutModel& cut, bool pallet, const std::string& feature) {
  Sing s;
  s.cut = &cut, s.bar = cut.way == CutModel::Way::bore;
  s.depth = s.bar ? cut.stated.width : cut.stated.depth;
  Finding f = start(cut.operation->id.value, feature, "chatter",
                    fmt::format("{} stays quiet{}", cut.tool->id.value, pallet ? "" : ", tool alone"), Kind::length);
  f.tool = cut.tool->id.value;
  f.id = finding::make_id(lower_id(*cut.operation), feature, "chatter", f.tool);
  f.formula = s.bar ? "least stock a with (w C/v S)^2 + 2 (Q w C/v + P K) S + P^2 + Q^2 = 0 at some w; S(a): swayed "
                      "edge, 1/G = P + iQ, K = Kt Kr"
                    : "least depth b with det(I - b (Kt N/(2 pi) (1 - mean exp(-i w T)) A - i w C B) G(w)) = 0 at the "
                      "speed of the plan";
  f.source = s.bar ? "Tlusty and Polacek 1963, Tobias 1965; flank: Wu 1989 (from memory); constants with their bands"
                   : "Altintas and Budak 1995, in three directions; flank: Wu 1989 (from memory); constants with their "
                     "bands";
  f.limit = finding::lower(s.depth);
  std::vector<std::string> missing = cut.missing;
  if (pallet && missing.empty())
    for (const std::string& m : plate_missing(c)) missing.push_back(m);
  if (missing.empty()) read_tool(c, told, s, f, missing);
  if (missing.empty() && !(s.depth > 0))
    missing.emplace_back(s.bar ? "cut.width: stock a side" : "cut.depth: axial depth of cut");
  if (!missing.empty()) return leave_open(c, std::move(f), missing);
  std::string why;
  find_spots(c, s, pallet, why);
  if (s.spots.empty())
    return leave_open(c, std::move(f), {why.empty() ? std::string("cut: no place along it is known") : why});
  const double rings = pallet ? read_pallet(c, told, s, f) : 1;
  read_rest(s, f);
  const Values stated = stated_of(f);
  const std::vector<Looked> looked = look(c, s, stated);
  std::vector<Spot> order{looked.front().spot};
  for (const Spot& x : s.spots)
    if (x.place != order[0].place || x.nest != order[0].nest) order.push_back(x);
  s.spots = std::move(order);
  const Looked* runner = looked.size() > 1 && looked[1].limit < 1.2 * looked[0].limit ? &looked[1] : nullptr;
  const Spot& spot = s.spots[0];
  if (spot.nest >= 0) f.nest = std::to_string(spot.nest + 1);
  const auto averaged = quiet_to(c, s, spot, stated);
  if (!averaged.ok) return leave_open(c, std::move(f), {"cut: " + averaged.why});
  const Loss loss = loss_of(c, s, spot, stated, averaged);
  const double now = std::min(averaged.depth, 10 * s.depth) * loss.ratio;
  const std::string soft = softer(c, s, spot, stated);
  add_inputs(c, s, f, stated, looked, loss);
  if (!loss.words.empty()) add_note(f, "method", loss.words);
  sentence(c, f, s, now, loss.used ? loss.frequency : averaged.frequency, soft, stated, loss);
  if (!loss.sentence.empty()) f.sentence += " " + loss.sentence;
  const double top = cut.machine->top_speed.known() ? cut.machine->top_speed.si / two_pi : 0;
  const std::optional<double> better = add_levers(c, s, f, stated, now, top);
  if (loss.more) f.text = "more than " + mm(c, now);
  settle(c, std::move(f), [&](const Values& v) { return v == stated ? now : limit_in_bands(c, s, spot, v, loss); });
  Finding& kept = c.study.findings.back();
  settle_state(c, s, kept, runner, loss);
  if (rings < 0.87 && soft != "the tool" && kept.state == State::inside) {
    kept.state = State::tight;
    kept.sentence +=
        " The pallet rings so much lower than computed that the model is not the pallet that stands there.";
  }
  for (const Heard& h : heard(c, told, kept.tool, cut.operation->id.value, cut.turns, cut.teeth, top))
    add_heard(c, h, s, kept);
  add_nests(c, s, kept, looked, loss);
  if (c.options.monte_carlo && c.options.pictures && !s.bar && now < 3 * s.depth)
    picture(c, s, kept, stated, better, top, loss);
  if (spot.nest >= 0 && kept.state != State::inside) {
    const Vec3 p = on_pallet(c.plan, spot.nest, spot.place->at);
    c.study.compliance.nests.push_back({kept.nest,
                                        fmt::format("{}: quiet to {}", kept.tool, depth_words(c, now, s.depth)),
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
void one_tool(Context& c, Told& told, const std::vector<const CutModel*>& cuts, bool pallet) {
  std::vector<Said> said;
  for (const CutModel* cut : cuts) {
    const std::size_t findings = c.study.findings.size(), lobes = c.study.lobes.size(),
                      nests = c.study.compliance.nests.size(), limits = c.study.nest_limits.size();
    one(c, told, *cut, pallet, cuts.front()->feature);
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

/// The cuts of one tool in one operation.
using Group = std::vector<const CutModel*>;
/// What one tool says, until all are put together in their order.
struct Spoken {
  Study study;
  Problems problems;
  Told told;
};
void put_together(Context& c, std::vector<Spoken>& all) {
  Told told;
  const auto move_to = [](auto& into, auto& from) {
    into.insert(into.end(), std::make_move_iterator(from.begin()), std::make_move_iterator(from.end()));
  };
  for (Spoken& s : all) {
    move_to(c.study.findings, s.study.findings), move_to(c.study.lobes, s.study.lobes);
    move_to(c.study.compliance.nests, s.study.compliance.nests), move_to(c.study.nest_limits, s.study.nest_limits);
    move_to(c.study.notices, s.study.notices), move_to(c.problems, s.problems);
    told.insert(s.told.begin(), s.told.end());
  }
  say_unused(c, told);
}
/// Tool by tool, on two threads where there are two: no tool needs what another says.
void all_tools(Context& c, const std::vector<Group>& groups) {
  std::vector<Spoken> all(groups.size());
  std::atomic<std::size_t> next{0};
  const auto work = [&] {
    for (std::size_t i = next++; i < groups.size(); i = next++) {
      Context mine{c.plan, c.data, c.options, c.memo, all[i].study, all[i].problems, c.style, 0, 1, c.of_one_study};
      one_tool(mine, all[i].told, groups[i], groups[i].front()->operation->kind.value == "pallet");
    }
  };
  std::future<void> beside;
  if (c.options.threads > 1) beside = std::async(std::launch::async, work);
  work();
  if (beside.valid()) beside.get();
  put_together(c, all);
}

}  // namespace

void chatter_findings(Context& c) {
  const std::vector<CutModel> cuts = cut_models(c);
  std::vector<Group> groups;
  for (const CutModel& cut : cuts) {
    if (!chatter_judged(cut.way) || cut.tool == nullptr || cut.machine == nullptr || cut.operation == nullptr) continue;
    const auto same = std::find_if(groups.begin(), groups.end(), [&](const auto& g) {
      return g.front()->operation == cut.operation && g.front()->tool->id.value == cut.tool->id.value;
    });
    if (same == groups.end()) groups.push_back({&cut});
    else same->push_back(&cut);
  }
  all_tools(c, groups);
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
