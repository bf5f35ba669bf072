// Power, chips, push-off, taps and roughness of every cut of the plan; and the pictures of the largest forces.
#include "calc/cutting/cutting.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>

#include "base/text.h"
#include "calc/cutting/finish.h"
#include "calc/cutting/holes.h"
#include "ref/cutting.h"
#include "study/cut_model.h"
#include "study/push_off.h"

namespace fettle::study {

using finding::Finding;
using Way = CutModel::Way;

namespace {

constexpr double pi = 3.14159265358979323846;

Finding begin(const CutModel& cut, const char* question, std::string title, unit::Kind kind) {
  Finding f = start(cut.operation->id.value, cut.feature, question, std::move(title), kind);
  f.tool = cut.cut->tool.value;
  f.id = finding::make_id(lower_id(*cut.operation), cut.feature, question, f.tool);
  return f;
}
/// Index of the cut model's own assumption, copied into the finding; -1 when the plan says it firmly.
int take(Finding& f, const CutModel& cut, int index) {
  if (index < 0) return -1;
  f.assumptions.push_back(cut.assumptions[static_cast<std::size_t>(index)]);
  return static_cast<int>(f.assumptions.size()) - 1;
}
int take(Finding& f, const char* name, const char* key, unit::Kind kind, const ref::Banded& b) {
  finding::Assumption a;
  a.name = name;
  a.key = key;
  a.kind = kind;
  a.value = b.value;
  a.low = b.low;
  a.high = b.high;
  a.source = b.source;
  a.replaced_by = b.replaced_by;
  f.assumptions.push_back(std::move(a));
  return static_cast<int>(f.assumptions.size()) - 1;
}
std::vector<double> stated(const Finding& f) {
  std::vector<double> v;
  for (const auto& a : f.assumptions) v.push_back(a.value);
  return v;
}
bool milling(const CutModel& cut) { return !along_axis(cut.way); }
CutModel at_feed(CutModel cut, double factor) {
  cut.feed_per_tooth *= factor;
  return cut;
}
std::string per_tooth(const Context& c, double feed) { return unit::print(feed, unit::Kind::feed_per_tooth, c.style); }

void inputs(const CutModel& cut, const CutKnobs& k, Finding& f) {
  f.inputs.push_back({"feed per tooth", cut.feed_per_tooth, unit::Kind::feed_per_tooth, {}});
  if (k.width > 0) f.inputs.push_back({"radial width of cut", k.width, unit::Kind::length, {}});
  if (k.depth > 0) f.inputs.push_back({"axial depth", k.depth, unit::Kind::length, {}});
  if (k.hardness > 0) f.inputs.push_back({"hardness, HB", k.hardness, unit::Kind::number, {}});
  for (const std::string& t : cut.taken) f.inputs.push_back({"taken", 0, unit::Kind::number, t});
}

/// Most stock and a used edge, in the hard end of the body: a whole cut never stands in a hard corner. A gate's stub
/// comes on top: it lasts longer than a turn.
CutKnobs whole(const CutModel& cut) {
  CutKnobs k = cut.hard;
  if (cut.body_hardness > 0) k.hardness = std::min(k.hardness, cut.body_hardness);
  return at_gate(cut, k);
}

/// The cuts of one tool on one feature in one operation, in order: rough and finish, or a pass over what is finished.
using Visits = std::vector<const CutModel*>;
/// The one where `bad` is largest.
const CutModel& worst(const Visits& visits, const std::function<double(const CutModel&)>& bad) {
  const CutModel* out = visits.front();
  double most = bad(*out);
  for (const CutModel* v : visits)
    if (const double x = bad(*v); x > most || (std::isnan(most) && !std::isnan(x))) most = x, out = v;
  return *out;
}
void tell_visit(const Visits& visits, const CutModel& cut, Finding& f) {
  if (visits.size() < 2) return;
  const auto at = static_cast<std::size_t>(
      std::find_if(visits.begin(), visits.end(), [&](const CutModel* v) { return v->index == cut.index; }) -
      visits.begin());
  f.inputs.push_back({"visit", static_cast<double>(at + 1), unit::Kind::number,
                      fmt::format("the worst of the {} times that it cuts here is number {}", visits.size(), at + 1)});
}

/// What the casting puts in the way, one remark: the stub of a gate, an opening that is milled over.
void tell_interruption(Context& c, const CutModel& cut, Finding& f) {
  if (!cut.gate_words.empty() && !(cut.gate_stock > 0))
    f.inputs.push_back({"stubs of gates", 0, unit::Kind::number, cut.gate_words + ": inside the stock as stated"});
  if (cut.gate_stock > 0) {
    f.inputs.push_back({"stock besides at a gate", cut.gate_stock, unit::Kind::length, cut.gate_words});
    CutKnobs beside = whole(cut);
    (cut.way == Way::face ? beside.depth : beside.width) -= cut.gate_stock;
    f.sentence +=
        fmt::format(" Judged at the stub of {}, {} more than beside it: peak {} instead of {}, and it is struck.",
                    cut.gate_words, mm(c, cut.gate_stock),
                    unit::print(frame::norm(cut_forces(c, cut, whole(cut)).peak), unit::Kind::force, c.style),
                    unit::print(frame::norm(cut_forces(c, cut, beside).peak), unit::Kind::force, c.style));
  }
  if (cut.gaps.empty()) return;
  const CutForces full = cut_forces(c, cut, whole(cut)), open = forces_over_opening(c, cut, whole(cut));
  f.inputs.push_back({"interrupted by", 0, unit::Kind::number, cut.gap_words});
  f.inputs.push_back({"torque, mean, over the opening", open.torque_mean, unit::Kind::torque, {}});
  f.inputs.push_back({"torque, peak, over the opening", open.torque_peak, unit::Kind::torque, {}});
  const auto print = [&](double t) { return unit::print(t, unit::Kind::torque, c.style); };
  const std::string blows = base::fixed(cut.turns * cut.teeth, 0);
  if (!(open.torque_mean > 0)) {
    f.sentence += fmt::format(" Interrupted by {}: over it nothing is cut, and at its rim {} teeth a second strike.",
                              cut.gap_words, blows);
    return;
  }
  f.sentence += fmt::format(
      " Interrupted by {}: over it the torque swings to {} about a mean of {} (else {} about {}), and each tooth "
      "strikes "
      "its edge: {} blows a second.",
      cut.gap_words, print(open.torque_peak), print(open.torque_mean), print(full.torque_peak), print(full.torque_mean),
      blows);
}

constexpr const char* power_formula =
    "power of the cut through helix, teeth and turn / min(efficiency × power, torque × 2π × speed) of the machine";

// ---- power ------------------------------------------------------------------------------------------------------
void power(Context& c, const Visits& visits) {
  const CutModel& cut = worst(visits, [&](const CutModel& x) { return cut_forces(c, x, whole(x)).power; });
  Finding f = begin(cut, "power", fmt::format("power of {}", cut.cut->tool.value), unit::Kind::fraction);
  f.limit = finding::upper(1);
  f.formula = power_formula;
  f.source = base::join(cut.sources, "; ");
  const plan::Machine* m = cut.machine;
  if (m == nullptr || !m->power.known()) {
    leave_open(c, std::move(f), {"machine.power: continuous power of the spindle, and machine.torque"});
    return;
  }
  // The torque is the spindle's own; what the motor loses on the way takes from its power.
  const auto gives = [&](double efficiency) {
    return std::min(m->power.si * efficiency,
                    m->torque.known() ? m->torque.si * 2 * pi * cut.turns : m->power.si * efficiency);
  };
  const int wear = take(f, cut, cut.wear_at);
  const int efficiency =
      assume(f, m->efficiency, "share of the motor's power that reaches the tool", "machine.efficiency");
  const double top = m->top_speed.known() ? m->top_speed.si / (2 * pi) : 0;
  const bool too_fast = top > 0 && cut.turns > top * (1 + 1e-9);
  const auto share = [&](const CutModel& x, const std::vector<double>& v) {
    CutKnobs k = whole(x);
    k.wear_factor = at(v, wear, k.wear_factor);
    const double power =
        cut_forces(c, x, k).power / gives(at(v, efficiency, m->efficiency.known() ? m->efficiency.si : 1));
    return too_fast ? std::max(power, cut.turns / top) : power;
  };
  const CutForces hard = cut_forces(c, cut, whole(cut)), soft = cut_forces(c, cut, cut.soft);
  const double now = share(cut, stated(f));
  tell_visit(visits, cut, f);
  inputs(cut, whole(cut), f);
  f.inputs.push_back({"power at the cutter", hard.power, unit::Kind::power, {}});
  f.inputs.push_back({"torque, mean", hard.torque_mean, unit::Kind::torque, {}});
  f.inputs.push_back({"torque, peak", hard.torque_peak, unit::Kind::torque, {}});
  f.inputs.push_back({"force, peak", frame::norm(hard.peak), unit::Kind::force, {}});
  if (hard.up_pull > 0) f.inputs.push_back({"pull upwards", hard.up_pull, unit::Kind::force, {}});
  f.inputs.push_back({"power in soft iron with least stock, new edge", soft.power, unit::Kind::power, {}});
  f.inputs.push_back(
      {"the machine gives at this speed", gives(m->efficiency.known() ? m->efficiency.si : 1), unit::Kind::power, {}});
  f.sentence = fmt::format(
      "{}: at most stock, in hard iron and with a used edge it takes {} at the cutter, {} of what "
      "the machine gives at this speed.",
      cut.words, unit::print(hard.power, unit::Kind::power, c.style), unit::print(now, unit::Kind::fraction, c.style));
  if (too_fast)
    f.sentence = fmt::format("{}: it asks for {}, and machine {} turns at most {}.", cut.words,
                             unit::print(2 * pi * cut.turns, unit::Kind::rotation, c.style), m->id.value,
                             unit::print(2 * pi * top, unit::Kind::rotation, c.style));
  tell_interruption(c, cut, f);
  if (std::isfinite(now) && now > 0 && !too_fast && cut.way != Way::tap) {
    const auto v = stated(f);
    const double x = flip([&](double s) { return share(at_feed(cut, s), v) - 1; }, 0.05, 8);
    if (std::isfinite(x))
      f.levers.push_back(
          {"feed", "operation.cut.feed", cut.feed_per_tooth, cut.feed_per_tooth * x, unit::Kind::feed_per_tooth,
           fmt::format("feed {} → {} {}", per_tooth(c, cut.feed_per_tooth), per_tooth(c, cut.feed_per_tooth * x),
                       now > 1 ? "brings it within the machine" : "uses the machine up")});
  }
  settle(c, std::move(f), [&](const std::vector<double>& v) { return share(cut, v); });
}

/// The least stock of the band: there the chip is thinnest. A pass that takes what bending left is judged by what it
/// finds on average; its least is nothing.
CutKnobs thinnest(const CutModel& cut) {
  CutKnobs k = cut.stated;
  if (milling(cut) && !cut.sprung) k.width = std::min(k.width, cut.soft.width);
  return k;
}

// ---- chips thick enough to cut ------------------------------------------------------------------------------------
void chip(Context& c, const Visits& visits) {
  const CutModel& cut = worst(visits, [&](const CutModel& x) { return -cut_forces(c, x, thinnest(x)).chip_mean; });
  if (cut.way == Way::drill || cut.way == Way::tap || cut.way == Way::thread_mill) return;
  Finding f = begin(cut, "chip", fmt::format("{} cuts, not rubs", cut.cut->tool.value), unit::Kind::number);
  f.limit = finding::lower(1);
  f.formula = "mean chip / (least chip over edge radius × edge radius)";
  const ref::Banded least = ref::least_chip_ratio();
  f.source = "kinematics of the cut; " + least.source;
  const int ratio = take(f, "least chip over edge radius", "tool.edge_radius", unit::Kind::number, least);
  const plan::Number& edge = cut.tool->edge_radius;
  if (!edge.known()) {
    leave_open(c, std::move(f), {"tool.edge_radius: rounding of the cutting edge"});
    return;
  }
  const int radius = assume(f, edge, "rounding of the edge", "tool.edge_radius");
  const CutKnobs thin = thinnest(cut);
  const double mean = cut_forces(c, cut, thin).chip_mean;
  const auto value = [&](const std::vector<double>& v) {
    return mean / (at(v, ratio, least.value) * at(v, radius, edge.si));
  };
  tell_visit(visits, cut, f);
  inputs(cut, thin, f);
  f.inputs.push_back({"mean chip", mean, unit::Kind::length, {}});
  const double now = value(stated(f));
  const double cure = cut.feed_per_tooth / now;
  f.sentence = fmt::format("{}: {}the mean chip is {}; under {} the edge rubs. Feed {} would just cut.", cut.words,
                           thin.width < cut.stated.width ? fmt::format("at least stock, {}, ", mm(c, thin.width)) : "",
                           mm(c, mean), mm(c, least.value * edge.si), per_tooth(c, cure));
  f.levers.push_back({"feed", "operation.cut.feed", cut.feed_per_tooth, cure, unit::Kind::feed_per_tooth,
                      fmt::format("feed {} → {} {}", per_tooth(c, cut.feed_per_tooth), per_tooth(c, cure),
                                  now < 1 ? "cures the rubbing" : "starts to rub")});
  settle(c, std::move(f), value);
}

// ---- push-off -----------------------------------------------------------------------------------------------------
void push_off(Context& c, const Visits& visits) {
  // What an earlier pass leaves the last one takes: it is judged by the stock that it finds.
  const CutModel& cut = *visits.back();
  const std::string& kind = cut.cut->kind.value;
  if (!milling(cut) || (kind != "finish" && kind != "groove") || cut.way == Way::face || cut.way == Way::chamfer)
    return;
  const double width = tolerance_on(c.plan, cut.feature);
  if (!(width > 0)) return;
  Finding f = begin(cut, "push-off", fmt::format("push-off of {}", cut.cut->tool.value), unit::Kind::length);
  f.limit = finding::upper(width / 3);
  f.formula =
      "twice the change of the wall between least stock in soft iron, new edge, and most stock in hard iron, used "
      "edge; against a third of the tolerance";
  f.source = "cantilever with shear on the spindle's stiffness; a third of the tolerance: common practice; " +
             base::join(cut.sources, "; ");
  const auto now = tool_push_off(c, cut);
  if (!now) {
    leave_open(
        c, std::move(f),
        {fmt::format("operation.cut.stick_out (or tool.stick_out) and tool.material of {}", cut.cut->tool.value)});
    return;
  }
  const int wear = take(f, cut, cut.wear_at);
  const auto scatter = [&](const CutModel& x, double worn) {
    CutModel y = x;
    y.hard.wear_factor = worn;
    const auto p = tool_push_off(c, y);
    return p ? 2 * (p->most - p->least) : std::numeric_limits<double>::quiet_NaN();
  };
  if (visits.size() > 1)
    f.inputs.push_back(
        {"visit", static_cast<double>(visits.size()), unit::Kind::number, "the last leaves the surface"});
  inputs(cut, cut.hard, f);
  f.inputs.push_back({"metal left, soft iron and least stock", now->least, unit::Kind::length, {}});
  f.inputs.push_back({"metal left, hard iron and most stock", now->most, unit::Kind::length, {}});
  f.inputs.push_back({"tolerance", width, unit::Kind::length, {}});
  f.sentence = fmt::format(
      "{}: the tool's own bending leaves {} to {} of metal on the wall; the size moves by {} of the {} "
      "allowed. Part and pallet give way on top of it.",
      cut.words, mm(c, now->least), mm(c, now->most), mm(c, 2 * (now->most - now->least)), mm(c, width));
  if (straight_teeth(cut, cut.hard.depth))
    f.sentence +=
        " Straight teeth leave the wall at no chip: nobody knows how far they have sprung back by then, so "
        "all that they are pushed off by counts.";
  const double x = flip([&](double s) { return scatter(at_feed(cut, s), cut.wear_stated) - width / 3; }, 0.05, 8);
  if (std::isfinite(x))
    f.levers.push_back(
        {"feed", "operation.cut.feed", cut.feed_per_tooth, cut.feed_per_tooth * x, unit::Kind::feed_per_tooth,
         fmt::format("feed {} → {} {}", per_tooth(c, cut.feed_per_tooth), per_tooth(c, cut.feed_per_tooth * x),
                     x < 1 ? "brings it within a third of the tolerance" : "uses that third up")});
  settle(c, std::move(f), [&](const std::vector<double>& v) { return scatter(cut, at(v, wear, cut.wear_stated)); });
}

/// Floors on the pallet that a tool finishes beside a wall: they move by what the pallet gives along the spindle.
void floor_push_off(Context& c, const Visits& visits, const PushOf& push) {
  const CutModel& cut = *visits.back();
  const plan::Operation& o = *cut.operation;
  if (!milling(cut) || o.kind.value != "pallet" || cut.cut->kind.value.find("finish") == std::string::npos) return;
  for (const std::string& r : cut.cut->features.value) {
    const std::string id = plan::parse_reference(r).id;
    const plan::Feature* feature = plan::find_feature(c.plan, id);
    const Surface s = surface_of(c.plan, id);
    const double width = tolerance_on(c.plan, id);
    if (feature == nullptr || feature->kind.value != "face" || !s.there || s.round || !(width > 0)) continue;
    if (std::fabs(frame::dot(s.normal, direction(o.up.known() ? o.up.value : "+z"))) < 0.9) continue;
    Finding f =
        begin(cut, "push-off", fmt::format("push-off of {} on the {}", cut.cut->tool.value, words_of(c.plan, id)),
              unit::Kind::length);
    f.feature = id;
    f.id = finding::make_id(lower_id(o), id, "push-off", f.tool);
    f.limit = finding::upper(width / 3);
    f.formula =
        "change of the floor's height from soft iron, new edge, least stock to hard iron, used edge, most stock: force "
        "of the cut x the loaded pallet's compliance, upright; against a third of the tolerance";
    f.source =
        "shear-flexible plate on springs; a third of the tolerance: common practice; " + base::join(cut.sources, "; ");
    const Push p = push(o, id);
    if (p.tool != cut.cut->tool.value) continue;  // a later tool leaves it
    if (!p.missing.empty()) {
      leave_open(c, std::move(f), p.missing);
      continue;
    }
    const int factor = take(f, "push-off over what is worked out", "spread: replaces = \"push-off\"",
                            unit::Kind::number, push_off_band());
    const double change = 2 * (p.iron + p.stock);
    f.inputs.push_back({"by the iron, soft to hard", 2 * p.iron, unit::Kind::length, {}});
    f.inputs.push_back({"by the stock, least to most", 2 * p.stock, unit::Kind::length, {}});
    f.inputs.push_back({"always, an offset takes it out", p.constant, unit::Kind::length, {}});
    f.inputs.push_back({"tolerance", width, unit::Kind::length, {}});
    unit::Style fine = c.style;
    fine.gauge = true;
    f.sentence = fmt::format(
        "{}: on the {} pallet and part give way along the spindle and its height moves by {} of the {} allowed.",
        cut.words, words_of(c.plan, id), unit::print(change, unit::Kind::length, fine), mm(c, width));
    settle(c, std::move(f), [&](const std::vector<double>& v) { return change * at(v, factor, 1); });
  }
}

// ---- taps -----------------------------------------------------------------------------------------------------------
void tap(Context& c, const Visits& visits) {
  const CutModel& cut = worst(visits, [&](const CutModel& x) { return cut_forces(c, x, x.hard).torque_mean; });
  if (cut.way != Way::tap) return;
  Finding f = begin(cut, "tap", fmt::format("{} does not break", cut.cut->tool.value), unit::Kind::fraction);
  f.limit = finding::upper(1);
  f.formula = "16 M / (π d³) of the core, d as a share of the thread diameter, against the shear strength of the tap";
  f.source = "two tap makers' torque formulas, the larger; " + base::join(cut.sources, "; ");
  const int wear = take(f, cut, cut.wear_at);
  const int core = take(f, "core of the tap over its diameter", "tool.diameter", unit::Kind::number,
                        {0.5, 0.42, 0.6, "from memory: taps with three or four flutes", "measure the web of the tap"});
  const int strength =
      take(f, "shear strength of the tap", "tool.material", unit::Kind::pressure,
           {1200e6, 900e6, 1500e6, "from memory: high-speed steel", "ask the maker for the breaking torque"});
  const auto value = [&](const std::vector<double>& v) {
    CutKnobs k = cut.hard;
    k.wear_factor = at(v, wear, k.wear_factor);
    return cutting::core_stress(cut_forces(c, cut, k).torque_mean, cut.diameter * at(v, core, 0.5)) /
           at(v, strength, 1200e6);
  };
  const double torque = cut_forces(c, cut, cut.hard).torque_mean;
  f.inputs.push_back({"torque, hard iron, worn", torque, unit::Kind::torque, {}});
  f.inputs.push_back({"torque, soft iron, sharp", cut_forces(c, cut, cut.soft).torque_mean, unit::Kind::torque, {}});
  f.sentence = fmt::format("{}: a worn tap in hard iron needs {}. Cut threads: a forming tap cracks grey iron.",
                           cut.words, unit::print(torque, unit::Kind::torque, c.style));
  settle(c, std::move(f), value);
}

// ---- roughness ------------------------------------------------------------------------------------------------------
const char* process_of(const CutModel& cut) {
  return cut.way == Way::bore    ? "boring"
         : cut.way == Way::ream  ? "reaming"
         : cut.way == Way::drill ? "drilling"
                                 : "milling";
}
void roughness(Context& c, const plan::Requirement& r, const std::vector<CutModel>& cuts) {
  const std::string feature = plan::parse_reference(r.feature.value).id;
  const auto makes = [&](const plan::Operation& o) {
    return std::any_of(o.makes.value.begin(), o.makes.value.end(),
                       [&](const std::string& m) { return plan::parse_reference(m).id == feature; });
  };
  const CutModel* last = nullptr;
  std::string process, operation;
  for (const plan::Operation& o : c.plan.operations) {
    for (const CutModel& cut : cuts)
      if (cut.operation == &o && cut.way != Way::chamfer && cut.way != Way::tap &&
          std::any_of(cut.cut->features.value.begin(), cut.cut->features.value.end(),
                      [&](const std::string& x) { return plan::parse_reference(x).id == feature; })) {
        last = &cut;
        process = process_of(cut);
        operation = o.id.value;
      }
    if ((o.kind.value == "hone" || o.kind.value == "grind") && makes(o)) {
      last = nullptr;
      process = o.kind.value == "hone" ? "honing" : "grinding";
      operation = o.id.value;
    }
  }
  Finding f = start(operation, feature, "roughness", fmt::format("roughness of the {}", words_of(c.plan, feature)),
                    unit::Kind::length);
  const std::string tool = last != nullptr ? last->cut->tool.value : "";
  f.id = finding::make_id(base::lower(operation), feature, "roughness", tool);
  // Two requirements of one feature: the later one is told by its own name.
  if (std::any_of(c.study.findings.begin(), c.study.findings.end(), [&](const Finding& x) { return x.id == f.id; })) {
    std::string name = r.id.value;
    std::replace(name.begin(), name.end(), '.', '-');
    f.id = finding::make_id(base::lower(operation), feature, "roughness-" + name, tool);
  }
  if (last != nullptr) f.tool = last->cut->tool.value;
  const auto range = ref::roughness_of(process.empty() ? "none" : process);
  if (!r.limits.known() || !r.limits.value.upper || !range.ok()) {
    leave_open(c, std::move(f), {"operation.cut: the cut, hone or grinding that finishes it; and its limit"});
    return;
  }
  f.limit = finding::upper(*r.limits.value.upper);
  f.gauge = true;
  unit::Style gauge = c.style;
  gauge.gauge = true;
  f.formula = "the larger of what the process leaves and what feed and edge leave by geometry";
  f.source = range->source;
  double geometry = 0;
  if (last != nullptr && last->missing.empty()) {
    const double turn = last->feed_per_tooth * last->teeth;
    // A face square to the spindle is left by the corners of the teeth, a wall by their flanks.
    const Surface s = surface_of(c.plan, feature);
    const std::string& up = last->operation->up.value;
    const bool floor = s.there && !s.round && std::fabs(frame::dot(s.normal, direction(up.empty() ? "+z" : up))) > 0.9;
    const double x = last->way == Way::bore    ? cutting::feed_roughness(turn, last->corner_radius)
                     : milling(*last) && floor ? cutting::feed_roughness(turn, last->corner_radius)
                     : milling(*last)          ? cutting::flank_roughness(turn, last->diameter)
                                               : 0;
    if (std::isfinite(x)) geometry = x;
    f.inputs.push_back({"feed per turn", turn, unit::Kind::length, {}});
    f.inputs.push_back({"by geometry alone", geometry, unit::Kind::length, {}});
  }
  const int band =
      take(f, "roughness that the process leaves", "reading", unit::Kind::length,
           {range->low, range->low, range->high, range->source, "measure one part with a roughness tester"});
  f.sentence = fmt::format(
      "{} usually leaves {} to {}; a well set finishing cut comes near the low end. Feed and edge alone: {}.",
      capital(process), unit::print(range->low, unit::Kind::length, gauge),
      unit::print(range->high, unit::Kind::length, gauge),
      geometry > 0 ? unit::print(geometry, unit::Kind::length, gauge) : "not said (corner radius)");
  settle(c, std::move(f), [&](const std::vector<double>& v) { return std::max(geometry, at(v, band, range->low)); });
}

// ---- pictures
// ---------------------------------------------------------------------------------------------------------
void pictures(Context& c, const std::vector<CutModel>& cuts) {
  for (const CutModel& cut : cuts) {
    if (!cut.missing.empty() || !milling(cut)) continue;
    const CutForces hard = cut_forces(c, cut, cut.hard), soft = cut_forces(c, cut, cut.soft);
    if (hard.turn.size() < 2) continue;
    ForcePicture p;
    p.tool = cut.cut->tool.value;
    p.operation = cut.operation->id.value;
    p.words = cut.words;
    p.finding = finding::make_id(lower_id(*cut.operation), cut.feature, "power", p.tool);
    const std::size_t n = hard.turn.size();
    for (std::size_t i = 0; i < n; ++i) {
      p.angle.push_back(2 * pi * static_cast<double>(i) / static_cast<double>(n));
      p.feed.push_back(hard.turn[i].x);
      p.out.push_back(hard.turn[i].y);
      p.up.push_back(hard.turn[i].z);
      p.feed_soft.push_back(i < soft.turn.size() ? soft.turn[i].x : 0);
      p.out_soft.push_back(i < soft.turn.size() ? soft.turn[i].y : 0);
      p.up_soft.push_back(i < soft.turn.size() ? soft.turn[i].z : 0);
      p.mean += frame::norm(hard.turn[i]) / static_cast<double>(n);
    }
    p.peak = frame::norm(hard.peak);
    c.study.forces.push_back(std::move(p));
  }
  auto& all = c.study.forces;
  std::stable_sort(all.begin(), all.end(), [](const auto& a, const auto& b) { return a.peak > b.peak; });
  if (all.size() > 4) all.resize(4);
}

}  // namespace

void cutting_findings(Context& c) {
  const std::vector<CutModel> cuts = cut_models(c);
  const PushOf push = push_offs(c);
  std::vector<std::string> seen;
  std::vector<Visits> all;
  for (const CutModel& cut : cuts) {
    const std::string key = cut.operation->id.value + "\n" + cut.cut->tool.value + "\n" + cut.feature;
    const auto at = static_cast<std::size_t>(std::find(seen.begin(), seen.end(), key) - seen.begin());
    if (at == seen.size()) {
      seen.push_back(key);
      all.emplace_back();
    }
    all[at].push_back(&cut);
  }
  for (const Visits& visits : all) {
    std::vector<std::string> missing;
    for (const CutModel* v : visits) missing.insert(missing.end(), v->missing.begin(), v->missing.end());
    if (!missing.empty()) {
      const CutModel& cut = *visits.front();
      Finding f = begin(cut, "power", fmt::format("power of {}", cut.cut->tool.value), unit::Kind::fraction);
      f.limit = finding::upper(1);
      f.formula = power_formula;
      f.source = "specific cutting force after Kienzle; nothing is computed";
      leave_open(c, std::move(f), missing);
      continue;
    }
    power(c, visits);
    chip(c, visits);
    push_off(c, visits);
    floor_push_off(c, visits, push);
    tap(c, visits);
  }
  for (const plan::Requirement& r : c.plan.requirements)
    if (r.kind.value == "roughness") roughness(c, r, cuts);
  if (c.options.bands) pictures(c, cuts);
}

}  // namespace fettle::study
