// Does the part stay where it is while each tool cuts: by friction alone, and with its pins.
#include "study/pallet_holding.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <set>

#include "base/text.h"
#include "maths/pin_pair.h"

namespace fettle::study {

using finding::Finding;
using frame::Vec3;
using holding::Load;
using unit::Kind;

namespace {

constexpr double most_factor = 100;  // larger says nothing more
constexpr const char* source =
    "largest load factor over all contact forces in their friction cones, a linear program (Boyd & Wegbreit, IJRR 26, "
    "2007); friction of clamped joints and nut factors by table";
constexpr const char* formula =
    "largest factor for which contact forces within low-end friction, screws at low-end preload less settling, weight "
    "and factor × "
    "cutting force balance; friction counts at the seat, not again under a screw head; hard iron, most stock, used "
    "edge";

/// The cuts of one tool in one operation with everything that its finding asks again and again.
struct ToolCase {
  const plan::Operation* operation = nullptr;
  std::vector<const CutModel*> cuts;
  std::vector<CutLoads> loads;  ///< of each cut, at the hard knobs
  struct Pick {
    std::size_t cut = 0, load = 0;
  };
  std::vector<Pick> worst;  ///< those nearest to moving, the worst first
  int wear = -1, radial = -1, touch = -1;
  bool too_tight = false;  ///< the torque that would hold it passes what the screws are sure to stand
  double factor = 0;
  std::shared_ptr<const holding::HoldingResult> answer;
};

holding::HoldingInputs asked(const Held& h, std::vector<Load> loads, bool pins) {
  return {h.contacts, h.weight, std::move(loads), 8, 32, pins};
}
/// The way it goes, places in the person's unit.
std::string goes(const Context& c, const holding::Mechanism& m) {
  return c.style.system == unit::Style::System::inch ? holding::in_words(m, 0.0254, "in", 2) : m.words;
}
double capped(double factor) { return std::min(factor, most_factor); }

CutKnobs hard_knobs(const ToolCase& t, const CutModel& cut, const std::vector<double>& v) {
  CutKnobs k = cut.hard;
  if (t.wear >= 0) k.wear_factor = v[static_cast<std::size_t>(t.wear)];
  if (t.radial >= 0) k.radial_ratio = v[static_cast<std::size_t>(t.radial)];
  return k;
}

CutForces forces_at(Context& c, const CutModel& cut, CutKnobs k, double most_width, bool gate) {
  k.width = std::min(k.width, most_width);
  return cut_forces(c, cut, gate ? at_gate(cut, k) : k);
}
CutLoads hard_loads(Context& c, const Held& h, const CutModel& cut) {
  return loads_of(c.plan, cut, h.up, [&](double most, bool gate) { return forces_at(c, cut, cut.hard, most, gate); });
}

/// The loads picked as worst, at other forces.
std::vector<Load> picked(Context& c, const Held& h, const ToolCase& t,
                         const std::function<CutForces(const CutModel&, double, bool)>& forces) {
  std::vector<Load> out;
  for (std::size_t k = 0; k < t.cuts.size(); ++k) {
    const bool used = std::any_of(t.worst.begin(), t.worst.end(), [&](const auto& p) { return p.cut == k; });
    if (!used) continue;
    const CutModel& cut = *t.cuts[k];
    const CutLoads all = loads_of(c.plan, cut, h.up, [&](double most, bool gate) { return forces(cut, most, gate); });
    for (const auto& p : t.worst)
      if (p.cut == k && p.load < all.loads.size()) out.push_back(all.loads[p.load]);
  }
  return out;
}

double least_of(Context& c, const Held& h, std::vector<holding::Contact> contacts, const std::vector<Load>& loads) {
  if (loads.empty()) return std::numeric_limits<double>::quiet_NaN();
  const holding::HoldingInputs in{std::move(contacts), h.weight, loads, 32, 32, false};
  const auto r = c.memo.call("holding", holding::holding, in);
  return r->refused.empty() && r->failed == 0 ? capped(r->least) : std::numeric_limits<double>::quiet_NaN();
}

/// The scale at which f, that grows with it, becomes 1; NaN when there is none between 0.01 and 100.
double scale_for_one(const std::function<double(double)>& f, double at_one) {
  double a = 1, fa = at_one, b = std::clamp(1 / std::max(at_one, 0.01), 0.01, 100.0);
  if (std::fabs(b - 1) < 1e-9) b = 1.01;
  for (int i = 0; i < 6; ++i) {
    const double fb = f(b);
    if (std::fabs(fb - 1) < 1e-6) return b;
    if (!(std::fabs(fb - fa) > 1e-12)) break;
    const double next = b + (1 - fb) * (b - a) / (fb - fa);
    a = b;
    fa = fb;
    if (!(next > 0.01 && next < 100)) break;
    b = next;
  }
  return std::numeric_limits<double>::quiet_NaN();
}

void scan(Context& c, const Held& h, ToolCase& t) {
  std::vector<Load> all;
  std::vector<ToolCase::Pick> from;
  for (std::size_t k = 0; k < t.cuts.size(); ++k) {
    t.loads.push_back(hard_loads(c, h, *t.cuts[k]));
    for (std::size_t i = 0; i < t.loads.back().loads.size(); ++i) {
      all.push_back(t.loads.back().loads[i]);
      from.push_back({k, i});
    }
  }
  if (all.empty()) return;
  t.answer = c.memo.call("holding", holding::holding, asked(h, std::move(all), false));
  const holding::HoldingResult& r = *t.answer;
  t.factor = r.least;
  if (r.factor.size() != from.size()) return;
  std::vector<std::size_t> order(from.size());
  std::iota(order.begin(), order.end(), 0U);
  const std::size_t keep = std::min<std::size_t>(12, order.size());
  std::partial_sort(
      order.begin(), order.begin() + static_cast<std::ptrdiff_t>(keep), order.end(),
      [&](std::size_t a, std::size_t b) { return r.factor[a] < r.factor[b] || (r.factor[a] == r.factor[b] && a < b); });
  t.worst.push_back(from[r.worst]);
  for (std::size_t i = 0; i < keep; ++i)
    if (order[i] != r.worst) t.worst.push_back(from[order[i]]);
}

const CutModel& worst_cut(const ToolCase& t) { return *t.cuts[t.worst.front().cut]; }
const Load& worst_load(const ToolCase& t) { return t.loads[t.worst.front().cut].loads[t.worst.front().load]; }
std::string worst_place(const ToolCase& t) {
  const CutLoads& l = t.loads[t.worst.front().cut];
  return place_of(worst_cut(t), l.place[t.worst.front().load]).words;
}

/// Up to where the pallet's screws may be tightened, by their own findings.
struct TorqueRoom {
  bool known = false;
  double most = std::numeric_limits<double>::infinity();
  std::string beyond;
};
TorqueRoom torque_room(const Context& c) {
  static constexpr std::pair<const char*, const char*> questions[] = {
      {"screw_stress", "the screw may be overtightened"},
      {"pull_out", "the thread may tear out"},
      {"pressure", "a face may give in under head or pad"}};
  TorqueRoom room;
  bool all = true;
  for (const auto& [question, words] : questions) {
    bool there = false;
    for (const Finding& f : c.study.findings) {
      if (f.question != question) continue;
      for (const finding::Lever& l : f.levers) {
        if (l.key != "pallet.screw.torque" || !(l.flip > 0)) continue;
        there = true;
        if (l.flip < room.most) room.most = l.flip, room.beyond = words;
      }
    }
    all = all && there;
  }
  room.known = all;
  return room;
}

/// What is said of a torque that would hold the part: never alone where the screws may not stand it.
void torque_lever(const Context& c, const Held& h, ToolCase& t, double by_force, Finding& f) {
  const double flips = h.torque * torque_growth(h, by_force);
  const bool slips = t.factor < 1;
  const auto twist = [&](double x) { return unit::print(x, Kind::torque, c.style); };
  std::string text =
      fmt::format("torque {} → {} {}", twist(h.torque), twist(flips), slips ? "holds it" : "uses the margin up");
  const TorqueRoom room = torque_room(c);
  const auto count = static_cast<double>(std::count_if(
      h.contacts.begin(), h.contacts.end(), [](const auto& k) { return k.kind == holding::Contact::Kind::clamp; }));
  if (slips && (!h.pallet || !room.known || !(flips < room.most))) {
    t.too_tight = true;
    text = fmt::format("torque {} → {} would hold it", twist(h.torque), twist(flips));
    if (h.pallet && std::isfinite(room.most) && !(flips < room.most))
      text += fmt::format(", but from {} on {}: take a larger screw, more screws or less stock", twist(room.most),
                          room.beyond);
    else text += ", if the screws stand it: that could not be worked out";
    if (const double n = std::ceil(count * by_force - 1e-9); h.pallet && n <= 4 * count)
      f.levers.push_back({"screws", "pallet.screw.at", count, n, Kind::number,
                          fmt::format("{} screws instead of {} at {}, spread as they are, hold it", base::fixed(n, 0),
                                      base::fixed(count, 0), twist(h.torque))});
  }
  f.levers.push_back(
      {"torque", h.pallet ? "pallet.screw.torque" : "operation.clamp.torque", h.torque, flips, Kind::torque, text});
}

void force_levers(Context& c, const Held& h, ToolCase& t, Finding& f) {
  if (t.factor > 3) return;  // nobody loosens a screw that far
  std::vector<Load> one;
  for (std::size_t k = 0; k < t.worst.size() && k < 3; ++k)
    one.push_back(t.loads[t.worst[k].cut].loads[t.worst[k].load]);
  const bool slips = t.factor < 1;
  const char* ends = slips ? "holds it" : "uses the margin up";
  const double by_force =
      scale_for_one([&](double s) { return least_of(c, h, scaled(h.contacts, s, 1), one); }, capped(t.factor));
  if (std::isfinite(by_force) && h.torque > 0) torque_lever(c, h, t, by_force, f);
  else if (std::isfinite(by_force) && h.clamp_force > 0)
    f.levers.push_back({"clamp force", "operation.clamp.force", h.clamp_force, h.clamp_force * by_force, Kind::force,
                        fmt::format("clamp force {} → {} {}", unit::print(h.clamp_force, Kind::force, c.style),
                                    unit::print(h.clamp_force * by_force, Kind::force, c.style), ends)});
  if (!slips || !(h.friction > 0)) return;
  const double by_friction =
      scale_for_one([&](double s) { return least_of(c, h, scaled(h.contacts, 1, s), one); }, capped(t.factor));
  if (std::isfinite(by_friction) && h.friction * by_friction <= 1)
    f.levers.push_back({"friction", h.pallet ? "pallet.pad.friction" : "operation.locator.friction", h.friction,
                        h.friction * by_friction, Kind::number,
                        fmt::format("friction that can be relied on {} → {} {}", base::fixed(h.friction, 2),
                                    base::fixed(h.friction * by_friction, 3), ends)});
}

/// A drill that presses beside the rests: one more rest under it, if that holds all that is worst.
void rest_lever(Context& c, const Held& h, const ToolCase& t, Finding& f) {
  const CutModel& cut = worst_cut(t);
  const Load& load = worst_load(t);
  if (!along_axis(cut.way) || !(frame::dot(load.force, h.up) < 0)) return;
  holding::Contact extra;
  int rests = 0;
  for (const holding::Contact& k : h.contacts)
    if (k.kind == holding::Contact::Kind::rest && frame::dot(frame::unit(k.normal), h.up) > 0.99) {
      extra = k;
      ++rests;
    }
  if (rests == 0) return;
  std::vector<Load> worst;
  for (const auto& p : t.worst) worst.push_back(t.loads[p.cut].loads[p.load]);
  auto contacts = h.contacts;
  extra.name = "one more rest";
  std::set<std::pair<double, double>> under;
  for (const Load& l : worst) {
    extra.at = l.at + frame::dot(extra.at - l.at, h.up) * h.up;
    if (under.insert({extra.at.x, extra.at.y}).second) contacts.push_back(extra);
  }
  if (!(least_of(c, h, contacts, worst) >= 1)) return;
  const auto n = static_cast<double>(under.size());
  f.levers.push_back(
      {"rests", h.pallet ? "pallet.pad" : "operation.locator", static_cast<double>(rests), rests + n, Kind::number,
       fmt::format("a rest under each of the {} places that {} presses beside the others holds it; leave "
                   "room for the drill's way out",
                   under.size(), f.tool)});
}

/// Stock and feed at which the worst tool just holds.
void cut_levers(Context& c, const Held& h, const ToolCase& t, Finding& f) {
  const CutModel& cut = worst_cut(t);
  const auto factor = [&](const CutModel& m, const CutKnobs& k) {
    return least_of(c, h, h.contacts,
                    picked(c, h, t,
                           [&](const CutModel& x, double most, bool gate) {
                             return &x == &cut ? forces_at(c, m, k, most, gate) : forces_at(c, x, x.hard, most, gate);
                           })) -
           1;
  };
  // f falls from a to b: halving by 10 steps says it to a thousandth of the range
  const auto cross = [](const std::function<double(double)>& g, double a, double b) {
    if (!(g(a) > 0 && g(b) < 0)) return std::numeric_limits<double>::quiet_NaN();
    for (int i = 0; i < 10; ++i) (g(0.5 * (a + b)) > 0 ? a : b) = 0.5 * (a + b);
    return a;
  };
  if (cut.hard.width > 0 && !along_axis(cut.way)) {
    const double flips = cross(
        [&](double w) {
          CutKnobs k = cut.hard;
          k.width = w;
          return factor(cut, k);
        },
        0.02 * cut.hard.width, cut.hard.width);
    if (std::isfinite(flips))
      f.levers.push_back({"stock", "operation.cut.width", cut.hard.width, flips, Kind::length,
                          fmt::format("stock at most {} → {} holds it", mm(c, cut.hard.width), mm(c, flips))});
  }
  if (cut.feed_per_tooth > 0) {
    const double flips = cross(
        [&](double z) {
          CutModel slow = cut;
          slow.feed_per_tooth = z;
          return factor(slow, cut.hard);
        },
        0.1 * cut.feed_per_tooth, cut.feed_per_tooth);
    if (std::isfinite(flips))
      f.levers.push_back({"feed per tooth", "operation.cut.feed_per_tooth", cut.feed_per_tooth, flips, Kind::length,
                          fmt::format("feed {} → {} a tooth holds it", mm(c, cut.feed_per_tooth), mm(c, flips))});
  }
}

void inputs_of(const Context& c, const Held& h, const ToolCase& t, Finding& f) {
  const holding::HoldingResult& r = *t.answer;
  const Load& load = worst_load(t);
  f.inputs = h.inputs;
  f.inputs.push_back({"friction, low end", h.friction, Kind::number, {}});
  f.inputs.push_back({"worst place", 0, Kind::number, worst_place(t)});
  f.inputs.push_back({"force of the tool there", frame::norm(load.force), Kind::force, {}});
  f.inputs.push_back({"of it away from the seat", frame::dot(load.force, h.up), Kind::force, {}});
  if (std::fabs(frame::dot(load.moment, h.up)) > 0)
    f.inputs.push_back({"torque about the tool's axis", std::fabs(frame::dot(load.moment, h.up)), Kind::torque, {}});
  f.inputs.push_back({"how it would go", 0, Kind::number, goes(c, r.mechanism)});
  f.inputs.push_back({"load cases, each answer checked", static_cast<double>(r.factor.size()), Kind::number, {}});
  if (std::isfinite(r.least))
    f.inputs.push_back({"cones with 8 sides instead of 32 would say", r.least_coarse, Kind::number, {}});
  if (std::isfinite(r.creeps)) {
    f.inputs.push_back({"as springs: first slip at factor", r.creeps, Kind::number, {}});
    f.inputs.push_back({"there slips first", 0, Kind::number, h.contacts[r.creeps_at].name});
  }
}

void picture(Context& c, const Held& h, const ToolCase& t, const Finding& f) {
  const holding::HoldingResult& r = *t.answer;
  const Load& load = worst_load(t);
  SlipPicture p;
  p.operation = f.operation;
  p.tool = f.tool;
  p.finding = f.id;
  p.words = fmt::format("{}, {}", worst_cut(t).words, worst_place(t));
  p.mechanism = goes(c, r.mechanism);
  p.part = c.plan.part.name.value;
  p.at = load.at;
  p.force = load.force;
  p.factor = capped(r.least);
  p.slide = r.mechanism.slide;
  p.turn = r.mechanism.turn;
  for (std::size_t i = 0; i < h.contacts.size(); ++i) {
    const holding::Contact& k = h.contacts[i];
    SlipContact s;
    s.name = k.name;
    s.at = k.at;
    s.normal = frame::unit(k.normal);
    s.preload = k.force;
    if (i < r.forces.size()) {
      s.force = r.forces[i];
      const double push = k.kind == holding::Contact::Kind::clamp ? k.force : frame::dot(s.force, s.normal);
      const double side = frame::norm(s.force - frame::dot(s.force, s.normal) * s.normal);
      if (push * k.friction > 1e-9) s.used = side / (push * k.friction);
    }
    s.slips = i < r.mechanism.slips.size() && r.mechanism.slips[i];
    p.contacts.push_back(std::move(s));
  }
  c.study.slips.push_back(std::move(p));
}

Finding begin(const plan::Operation& o, const ToolCase& t) {
  const CutModel& cut = *t.cuts.front();
  Finding f = start(o.id.value, "", "holds", fmt::format("{}: the part stays put", cut.words), Kind::number);
  f.tool = cut.tool != nullptr ? cut.tool->id.value : cut.cut->tool.value;
  f.id = finding::make_id(base::lower(o.id.value), "", "holds", f.tool);
  f.limit = finding::lower(1);
  f.source = source;
  f.formula = formula;
  f.cautions = holding::holding_cautions();
  return f;
}

int take(Finding& f, const CutModel& cut, int index) {
  if (index < 0 || static_cast<std::size_t>(index) >= cut.assumptions.size()) return -1;
  f.assumptions.push_back(cut.assumptions[static_cast<std::size_t>(index)]);
  return static_cast<int>(f.assumptions.size()) - 1;
}

/// One finding of one tool. False: it stayed open.
bool one_tool(Context& c, const plan::Operation& o, const Held& h, ToolCase& t, Finding& out) {
  Finding f = begin(o, t);
  std::vector<std::string> missing = h.missing;
  for (const CutModel* m : t.cuts) {
    missing.insert(missing.end(), m->missing.begin(), m->missing.end());
    if (m->missing.empty() && m->places.empty())
      missing.push_back(fmt::format("operation {}.cut {}.features: where it cuts", o.id.value, f.tool));
  }
  if (missing.empty()) {
    scan(c, h, t);
    if (t.answer == nullptr || t.worst.empty()) missing.push_back("operation.cut: forces of " + f.tool);
    else if (!t.answer->refused.empty()) missing.push_back(t.answer->refused);
    else if (!t.answer->at_rest)
      missing.emplace_back(h.pallet ? "pallet.pad and pallet.screw: the screws pull where no pad carries"
                                    : "operation.locator: the clamp presses where no locator carries");
    else if (t.answer->failed > 0)
      missing.emplace_back("an answer that passes its check (contacts too close together)");
  }
  if (!missing.empty()) {
    leave_open(c, std::move(f), missing);
    return false;
  }
  t.wear = take(f, worst_cut(t), worst_cut(t).wear_at);
  t.radial = take(f, worst_cut(t), worst_cut(t).radial_at);
  for (finding::Assumption& a : f.assumptions) {  // the proof is defined at the hard knobs
    if (t.wear >= 0 && &a == &f.assumptions[static_cast<std::size_t>(t.wear)]) a.value = worst_cut(t).hard.wear_factor;
    if (t.radial >= 0 && &a == &f.assumptions[static_cast<std::size_t>(t.radial)])
      a.value = worst_cut(t).hard.radial_ratio;
  }
  if (h.jaw_at >= 0) {
    plan::Number touch;
    touch.origin = plan::Origin::assumed;
    touch.kind = Kind::fraction;
    touch.si = h.jaw_share, touch.low = 0, touch.high = 1;
    touch.source = "from memory: machined faces touch over their width, cast edges and worn jaws in a spot";
    touch.replaced_by = "blue or film between jaw and part";
    t.touch = assume(f, touch, "share of its face that the jaw touches", "operation.clamp.at");
  }
  inputs_of(c, h, t, f);
  force_levers(c, h, t, f);
  if (t.factor < 1) rest_lever(c, h, t, f);
  out = std::move(f);
  return true;
}

void finish(Context& c, const Held& h, ToolCase& t, Finding f) {
  const holding::HoldingResult& r = *t.answer;
  const bool slips = t.factor < 1;
  const std::string factor = t.factor > most_factor ? "more than 100" : base::fixed(t.factor, 2);
  f.sentence = fmt::format("{} of {} on hard iron at {}: friction alone carries {} it{}",
                           frame::norm(worst_load(t).force) > 1
                               ? unit::print(frame::norm(worst_load(t).force), Kind::force, c.style)
                               : unit::print(frame::norm(worst_load(t).moment), Kind::torque, c.style),
                           f.tool, worst_place(t), factor + " times",
                           slips ? fmt::format("; the part {}.", goes(c, r.mechanism)) : std::string("."));
  if (std::isfinite(r.creeps) && r.creeps < 0.8 * std::min(t.factor, most_factor))
    f.sentence += fmt::format(" Pressed as springs, {} creeps from factor {} on.", h.contacts[r.creeps_at].name,
                              base::fixed(r.creeps, 2));
  if (slips && t.too_tight) {  // first what stays inside
    static constexpr const char* order[] = {"stock", "feed per tooth", "screws", "rests", "friction", "torque"};
    const auto rank = [&](const finding::Lever& l) {
      return std::find_if(std::begin(order), std::end(order), [&](const char* n) { return l.name == n; }) - order;
    };
    std::stable_sort(f.levers.begin(), f.levers.end(), [&](const auto& a, const auto& b) { return rank(a) < rank(b); });
  }
  if (!f.levers.empty() && slips) f.sentence += " " + capital(f.levers.front().text) + ".";
  if (t.too_tight && f.levers.size() > 1) f.sentence += " " + capital(f.levers.back().text) + ".";
  if (t.factor > most_factor) f.text = "> 100";
  const double stated = capped(t.factor);
  const std::vector<finding::Assumption> said = f.assumptions;
  settle(c, std::move(f), [&](const std::vector<double>& v) {
    bool same = true;
    for (std::size_t i = 0; i < v.size() && i < said.size(); ++i) same = same && v[i] == said[i].value;
    if (same) return stated;
    const auto loads = picked(c, h, t, [&](const CutModel& m, double most, bool gate) {
      return forces_at(c, m, hard_knobs(t, m, v), most, gate);
    });
    Held other = h;
    if (t.touch >= 0) other.contacts = touching(h, v[static_cast<std::size_t>(t.touch)]);
    const auto again = c.memo.call("holding", holding::holding, asked(other, loads, false));
    return again->refused.empty() && again->failed == 0 ? capped(again->least)
                                                        : std::numeric_limits<double>::quiet_NaN();
  });
  Finding& kept = c.study.findings.back();
  const TorqueRoom room = torque_room(c);
  if (h.pallet && h.torque > room.most &&
      (kept.state == finding::State::inside || kept.state == finding::State::tight)) {
    kept.state = finding::State::beyond;
    kept.range =
        fmt::format("it holds only if the screws stand {}: from {} on {}", unit::print(h.torque, Kind::torque, c.style),
                    unit::print(room.most, Kind::torque, c.style), room.beyond);
    kept.sentence += " " + capital(kept.range) + ".";
  }
}

/// What the part can shift by when it slips to its pins, against what the requirements made here allow.
void play_of(Context& c, const plan::Operation& o, Finding& f) {
  const plan::Pin *round = nullptr, *relieved = nullptr;
  for (const plan::Pin& p : c.plan.pallet.pins) {
    if (p.kind.value == "round" && round == nullptr) round = &p;
    if (p.kind.value == "relieved" && relieved == nullptr) relieved = &p;
  }
  if (round == nullptr || relieved == nullptr) return;
  const Surface a = surface_of(c.plan, round->in.value), b = surface_of(c.plan, relieved->in.value);
  const plan::Limits& land = relieved->land.known() ? relieved->land : relieved->diameter;
  if (!a.there || !b.there || !a.feature->diameter.value.upper || !b.feature->diameter.value.upper ||
      !round->diameter.value.lower || !land.value.lower || !relieved->land_width.known())
    return;
  maths::PinPair pair;  // the loosest that the limits allow
  pair.round_hole = *a.feature->diameter.value.upper;
  pair.relieved_hole = *b.feature->diameter.value.upper;
  pair.round_pin = *round->diameter.value.lower;
  pair.land = *land.value.lower;
  pair.land_width = relieved->land_width.si;
  pair.part_span = pair.pallet_span = frame::norm({b.point.x - a.point.x, b.point.y - a.point.y, 0});
  double worst = 0;
  std::string which;
  for (const plan::Requirement& q : c.plan.requirements) {
    if (q.kind.value != "position" && q.kind.value != "coaxiality") continue;
    const std::string id = plan::parse_reference(q.feature.value).id;
    if (std::find(o.makes.value.begin(), o.makes.value.end(), id) == o.makes.value.end()) continue;
    const plan::Feature* feature = plan::find_feature(c.plan, id);
    if (feature == nullptr || !q.limits.value.upper) continue;
    // Made in one clamping with what it is measured from: the shift takes both along only if it comes between them.
    double most = 0;
    for (Vec3 p : feature->at.value)
      if (const auto e = maths::worst_distance(pair, maths::in_pair_frame(a.point, b.point, p)))
        most = std::max(most, e->distance);
    const double zone = 0.5 * *q.limits.value.upper;
    f.inputs.push_back({fmt::format("{}: shift by play, of its half zone", q.id.value), 0, Kind::length,
                        fmt::format("{} of {}", mm(c, most), mm(c, zone))});
    if (zone > 0 && most / zone > worst) {
      worst = most / zone;
      which =
          fmt::format("{} would be off by up to {} of the {} its zone allows", q.id.value, mm(c, most), mm(c, zone));
    }
  }
  if (!which.empty()) f.sentence += " If it slips, it shifts by the play of the pins: " + which + ".";
}

void with_pins(Context& c, const plan::Operation& o, const Held& h, const std::vector<ToolCase>& tools) {
  Finding f = start(o.id.value, "", "holds_with_pins", "with its pins the part cannot leave", Kind::number);
  f.limit = finding::lower(1);
  f.source = source;
  f.formula = fmt::format("{}; pins push square to their axes without friction, after the play is used up", formula);
  f.cautions = holding::holding_cautions();
  const bool pins = std::any_of(h.contacts.begin(), h.contacts.end(),
                                [](const auto& k) { return k.kind == holding::Contact::Kind::pin; });
  if (!h.pallet || !pins) return;
  std::vector<Load> loads;
  std::vector<std::size_t> of;
  for (std::size_t k = 0; k < tools.size(); ++k) {
    const ToolCase& t = tools[k];
    if (t.answer == nullptr || t.worst.empty()) continue;
    for (std::size_t i = 0; i < t.loads.size(); ++i)
      for (std::size_t j = 0; j < t.loads[i].loads.size(); ++j) {
        loads.push_back(t.loads[i].loads[j]);
        of.push_back(k);
      }
  }
  if (loads.empty()) return;
  const auto r = c.memo.call("holding", holding::holding, asked(h, std::move(loads), true));
  if (!r->refused.empty() || !r->at_rest || r->failed > 0) {
    leave_open(c, std::move(f), {"pallet.pad, pallet.screw, pallet.pin: contacts that carry the part at rest"});
    return;
  }
  const ToolCase& t = tools[of[r->worst]];
  const std::string tool = worst_cut(t).tool != nullptr ? worst_cut(t).tool->id.value : std::string();
  f.inputs = h.inputs;
  f.inputs.push_back({"worst tool", 0, Kind::number, tool});
  f.inputs.push_back({"how it would go", 0, Kind::number, goes(c, r->mechanism)});
  const double least = capped(r->least);
  if (r->least > most_factor) f.text = "> 100";
  f.sentence =
      r->least > most_factor
          ? std::string("Pins and screws carry more than 100 times the force of every tool.")
          : fmt::format("Once a pin is reached, pins and screws carry {} times the force of {}, the worst tool{}.",
                        base::fixed(least, 2), tool, least < 1 ? "; the part " + goes(c, r->mechanism) : std::string());
  play_of(c, o, f);
  // The forces' bands as at the worst tool: the factor goes as one over the force.
  const CutModel& cut = worst_cut(t);
  const int wear = take(f, cut, cut.wear_at);
  if (wear >= 0) f.assumptions[static_cast<std::size_t>(wear)].value = cut.hard.wear_factor;
  settle(c, std::move(f), [&](const std::vector<double>& v) {
    if (wear < 0 || v[static_cast<std::size_t>(wear)] == cut.hard.wear_factor) return least;
    CutKnobs k = cut.hard;
    k.wear_factor = v[static_cast<std::size_t>(wear)];
    const double before = frame::norm(cut_forces(c, cut, cut.hard).peak),
                 after = frame::norm(cut_forces(c, cut, k).peak);
    return after > 0 ? std::min(most_factor, r->least * before / after) : std::numeric_limits<double>::quiet_NaN();
  });
}

void one_operation(Context& c, const plan::Operation& o, const std::vector<CutModel>& cuts) {
  const Held h = held_in(c, o);
  if (!h.there) return;
  std::vector<ToolCase> tools;
  for (const CutModel& m : cuts) {
    if (m.operation != &o) continue;
    const auto same = std::find_if(tools.begin(), tools.end(), [&](const ToolCase& t) {
      return t.cuts.front()->cut->tool.value == m.cut->tool.value;
    });
    if (same != tools.end()) same->cuts.push_back(&m);
    else tools.push_back({&o, {&m}, {}, {}, -1, -1, -1, false, 0, nullptr});
  }
  std::vector<Finding> findings(tools.size());
  std::vector<bool> judged(tools.size(), false);
  std::size_t worst = tools.size();
  for (std::size_t i = 0; i < tools.size(); ++i) {
    judged[i] = one_tool(c, o, h, tools[i], findings[i]);
    if (judged[i] && (worst == tools.size() || tools[i].factor < tools[worst].factor)) worst = i;
  }
  if (worst < tools.size()) {
    if (tools[worst].factor < 1) cut_levers(c, h, tools[worst], findings[worst]);
    picture(c, h, tools[worst], findings[worst]);
  }
  for (std::size_t i = 0; i < tools.size(); ++i)
    if (judged[i]) finish(c, h, tools[i], std::move(findings[i]));
  with_pins(c, o, h, tools);
}

}  // namespace

void pallet_holding_findings(Context& c) {
  const std::vector<CutModel> cuts = cut_models(c);
  for (const plan::Operation& o : c.plan.operations) one_operation(c, o, cuts);
}

}  // namespace fettle::study
