// The screws of the nests: torque, thread, engagement, pressure, shoulder, side play.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "base/text.h"
#include "calc/holding/distortion.h"
#include "calc/holding/screws.h"
#include "calc/locating/fasteners.h"
#include "ref/friction.h"
#include "ref/materials.h"
#include "ref/threads.h"
#include "study/internal.h"
#include "study/pallet_holding.h"

namespace fettle::study {

using finding::Finding;
using frame::Vec3;
using unit::Kind;

namespace {

std::string newtons(const Context& c, double x) { return unit::print(x, Kind::force, c.style); }
std::string twist(const Context& c, double x) { return unit::print(x, Kind::torque, c.style); }

/// One kind of screw of the nests with all that its findings share.
struct Screws {
  const plan::NestScrew* screw = nullptr;
  std::string operation, feature, suffix;  ///< suffix: told apart when there are several kinds
  ref::ThreadData thread;
  ref::StrengthClass strength;
  holding::ScrewThread sizes;
  plan::Number nut_factor, wrench, head;
  double hole = 0;                  ///< m, largest through hole of the part
  double grip = 0, least_grip = 0;  ///< m
  std::string grip_words;
  int count = 0;  ///< per nest
  std::vector<Vec3> at;
  std::vector<std::string> missing_preload;  ///< what the preload needs
};

struct Preload {
  int nut = -1, wrench = -1;
};

const char* lubrication_row(const std::string& word) { return word == "paste" ? "anti-seize" : word.c_str(); }

/// Least thickness of the part where the screw passes: by the drawing where a requirement says it.
void grip_of(const plan::Plan& plan, const plan::Feature& through, Screws& s) {
  if (!through.from.known() || !through.to.known()) return;
  s.grip = s.least_grip = through.to.si - through.from.si;
  s.grip_words = "through " + through.id.value + ", nominal";
  for (const plan::Requirement& q : plan.requirements) {
    if (q.kind.value != "distance" || !q.limits.value.lower || !q.limits.value.nominal) continue;
    const Surface a = surface_of(plan, q.feature.value), b = surface_of(plan, q.to.value);
    if (!a.there || !b.there || a.round || b.round) continue;
    if (std::fabs(a.normal.z) < 0.5 || std::fabs(b.normal.z) < 0.5) continue;
    const double low = std::min(a.point.z, b.point.z), high = std::max(a.point.z, b.point.z);
    if (std::fabs(low - through.from.si) > 1e-6 || std::fabs(high - through.to.si) > 1e-6) continue;
    s.least_grip = *q.limits.value.lower;
    s.grip_words = "least by " + q.id.value;
  }
}

/// Head of a socket cap screw, m (ISO 4762, from memory; 1.5 d between the rows).
double cap_head(double major) {
  constexpr double rows[][2] = {{3, 5.5}, {4, 7}, {5, 8.5}, {6, 10}, {8, 13}, {10, 16}, {12, 18}, {16, 24}, {20, 30}};
  for (const auto& r : rows)
    if (std::fabs(major - r[0] * 1e-3) < 1e-7) return r[1] * 1e-3;
  return 1.5 * major;
}

std::optional<Screws> read(const Context& c, const plan::NestScrew& n, const std::string& operation, int index) {
  Screws s;
  s.screw = &n;
  s.operation = operation;
  s.feature = n.through.known() ? n.through.value : "screw";
  if (index > 0) s.feature += fmt::format("-{}", index + 1);
  const auto thread = ref::thread_data(n.thread.value);
  if (!n.thread.known() || !thread.ok()) return std::nullopt;
  s.thread = *thread;
  s.sizes = {thread->major, thread->pitch, thread->pitch_diameter, thread->root_diameter, thread->stress_area};
  const auto need = [&](bool there, const char* what) {
    if (!there) s.missing_preload.emplace_back(what);
  };
  need(n.torque.known(), "pallet.screw.torque: tightening torque");
  need(n.lubrication.known(), "pallet.screw.lubrication: dry, oiled or paste");
  const auto row = ref::nut_factor(lubrication_row(n.lubrication.value));
  if (n.lubrication.known() && row.ok())
    s.nut_factor = assumed(Kind::number, row->value, row->low, row->high, row->source, row->replaced_by);
  s.wrench = n.wrench_scatter;
  if (!s.wrench.known())
    s.wrench = assumed(Kind::fraction, 0.06, 0.04, 0.15, "common practice: a click wrench in use", "check the wrench");
  const auto strength = ref::strength(n.strength.value, thread->major);
  if (n.strength.known() && strength.ok()) s.strength = *strength;
  const plan::Feature* through = plan::find_feature(c.plan, n.through.value);
  if (through != nullptr) {
    s.hole = through->diameter.value.upper.value_or(through->diameter.value.nominal.value_or(0));
    s.at = through->at.value;
    grip_of(c.plan, *through, s);
  } else {
    s.at = n.at.value;
  }
  if (!(s.hole > 0)) s.hole = thread->clear_medium.value_or(1.1 * thread->major);
  s.count = static_cast<int>(s.at.size());
  s.head = n.head;
  if (!s.head.known()) {
    const double bare = cap_head(thread->major);
    s.head = assumed(Kind::length, bare, bare, 1.4 * bare,
                     "from memory: head of a socket cap screw (ISO 4762) without a washer, up to a washer under it",
                     "say pallet.screw.head");
  }
  return s;
}

double head_mean(const Screws& s) { return 0.5 * (std::max(s.head.si, s.hole * 1.05) + s.hole); }

/// Adds the two assumptions that every preload has.
Preload preload_assumptions(Finding& f, const Screws& s) {
  return {assume(f, s.nut_factor, "nut factor, screw " + s.screw->lubrication.value, "pallet.screw.lubrication"),
          assume(f, s.wrench, "scatter of the wrench", "pallet.screw.wrench_scatter")};
}
/// Preload at the high end of the wrench for the nut factor at hand: the band of the factor is moved by judge().
double high_preload(const Screws& s, const Preload& p, const std::vector<double>& v, double torque) {
  return holding::preload(torque * (1 + at(v, p.wrench, s.wrench.si)), at(v, p.nut, s.nut_factor.si), s.sizes.major);
}

std::string order_words(const Screws& s) {
  const holding::TighteningOrder o = holding::tightening_order(s.at);
  std::vector<std::string> numbers;
  for (int i : o.order) numbers.push_back(std::to_string(i + 1));
  return fmt::format("{} in turns: half the torque, all of it, all once more{}", base::join(numbers, ", "),
                     s.count > 2 ? "; from the middle out, opposite ones after each other" : "");
}

void add_preload_inputs(const Context& c, Finding& f, const Screws& s) {
  const double torque = s.screw->torque.si;
  holding::ScrewInputs in;
  in.thread = s.sizes;
  in.torque = torque, in.wrench_scatter = s.wrench.high;  // what holds for sure: the wrench at its worst, too
  in.nut_factor = s.nut_factor.si, in.nut_factor_low = s.nut_factor.low, in.nut_factor_high = s.nut_factor.high;
  in.head_mean = head_mean(s);
  in.proof = in.yield = 1e9;
  const auto r = holding::screw(in);
  f.inputs.push_back({"torque", torque, Kind::torque, {}});
  if (r.ok())
    f.inputs.push_back({"preload", r->stated, Kind::force,
                        fmt::format("{} ({} holds for sure, {} stresses)", newtons(c, r->stated), newtons(c, r->low),
                                    newtons(c, r->high))});
}

void torque_lever(const Context& c, Finding& f, const Screws& s, double share, const char* until) {
  if (!(share > 0)) return;
  const double now = s.screw->torque.si, flip = now / share;
  f.levers.push_back({"torque", "pallet.screw.torque", now, flip, Kind::torque,
                      share <= 1 ? fmt::format("torque {} → {} before {}", twist(c, now), twist(c, flip), until)
                                 : fmt::format("torque {} → {} or less ends it", twist(c, now), twist(c, flip))});
}

std::vector<double> stated_of(const Finding& f) {
  std::vector<double> v;
  for (const auto& a : f.assumptions) v.push_back(a.value);
  return v;
}

void stress(Context& c, const Screws& s) {
  Finding f = start(s.operation, s.feature, "screw_stress", "screws stay under their proof load", Kind::fraction);
  f.limit = finding::upper(1);
  f.formula =
      "largest of F/(Sp As) and sqrt(s^2 + 3 t^2)/Rp0.2 with F = T/(K d) at the high end, t/s = 1.5 d2/d0 (P/(pi d2) + "
      "1.155 mu)";
  f.source = "ISO 898-1 strength; VDI 2230 part 1, stress while tightening";
  f.cautions = holding::screw_cautions();
  std::vector<std::string> missing = s.missing_preload;
  if (s.strength.name.empty()) missing.emplace_back("pallet.screw.strength: property class, such as 12.9");
  if (!missing.empty()) return leave_open(c, std::move(f), missing);
  const Preload p = preload_assumptions(f, s);
  const double torque = s.screw->torque.si;
  const auto share = [&](const std::vector<double>& v) {
    holding::ScrewInputs in;
    in.thread = s.sizes;
    in.torque = torque;
    in.wrench_scatter = at(v, p.wrench, s.wrench.si);
    in.nut_factor = in.nut_factor_low = in.nut_factor_high = at(v, p.nut, s.nut_factor.si);
    in.head_mean = head_mean(s);
    in.proof = s.strength.proof, in.yield = s.strength.yield;
    const auto r = holding::screw(in);
    return r.ok() ? r->share : std::numeric_limits<double>::quiet_NaN();
  };
  const std::vector<double> stated = stated_of(f);
  std::vector<double> high = stated;
  if (p.nut >= 0) high[static_cast<std::size_t>(p.nut)] = s.nut_factor.low;
  if (p.wrench >= 0) high[static_cast<std::size_t>(p.wrench)] = s.wrench.high;
  const double now = share(stated), most = share(high);
  add_preload_inputs(c, f, s);
  f.inputs.push_back({"proof load", s.strength.proof * s.sizes.stress_area, Kind::force, {}});
  f.inputs.push_back({"at the high end of friction and wrench", most, Kind::fraction, {}});
  f.inputs.push_back({"order of tightening", 0, Kind::number, order_words(s)});
  if (s.grip > 0) {
    const ref::ThreadData& t = s.thread;
    const double loss = settling_loss(t.major, t.pitch, t.pitch_diameter, t.root_diameter, t.stress_area, s.grip);
    f.inputs.push_back({"lost as faces settle", loss, Kind::force,
                        newtons(c, loss) + ", machined faces (VDI 2230 amounts, from memory): tighten once more"});
  }
  torque_lever(c, f, s, most, "a screw may reach its proof load");
  f.sentence = fmt::format("{} at {} {}: up to {} of what the screw carries, {} as stated. Tighten {}.",
                           s.thread.designation, twist(c, torque), s.screw->lubrication.value,
                           unit::print(most, Kind::fraction), unit::print(now, Kind::fraction), order_words(s));
  settle(c, std::move(f), share);
}

void pull_out(Context& c, const Screws& s) {
  Finding f = start(s.operation, s.feature, "pull_out", "threads stay in the plate", Kind::fraction);
  f.limit = finding::upper(1);
  f.formula = "preload at the high end over shear strength x pi L/P d (P/2 + (d - D2)/sqrt 3)";
  f.source =
      "FED-STD-H28/2, limits of ISO 965-1 from memory; shear strength 0.6 of the plate's tensile strength, from memory";
  f.cautions = holding::screw_cautions();
  std::vector<std::string> missing = s.missing_preload;
  if (!s.screw->engaged.known()) missing.emplace_back("pallet.screw.engaged: thread really engaged");
  const auto plate = ref::material(c.plan.pallet.plate.material.value);
  if (!c.plan.pallet.plate.material.known() || !plate.ok()) missing.emplace_back("pallet.plate.material");
  if (!missing.empty()) return leave_open(c, std::move(f), missing);
  const Preload p = preload_assumptions(f, s);
  const plan::Number ratio =
      assumed(Kind::number, 0.6, 0.55, 0.67, "from memory: wrought aluminium and steel; 6061-T6 has 0.67",
              "tear one insert out of an offcut");
  const int shear = assume(f, ratio, "shear over tensile strength of the plate", "pallet.plate.material");
  // The thread that stands in the plate: the insert's own outside, or the screw's own.
  const bool insert = s.screw->insert.known() && s.screw->insert.value != "tapped plate";
  const bool wire = s.screw->insert.value == "wire insert";
  plan::Number outside = s.screw->insert_diameter;
  if (insert && !outside.known()) {
    const double d = s.sizes.major;
    outside =
        wire ? assumed(Kind::length, d + 1.3 * s.sizes.pitch, d + 1.1 * s.sizes.pitch, d + 1.4 * s.sizes.pitch,
                       "from memory: tap for a wire insert", "read it off the insert's tap")
             : assumed(Kind::length, 1.5 * d, 1.25 * d, 1.75 * d, "from memory: solid inserts", "measure the insert");
  }
  const int diameter =
      insert ? assume(f, outside, "outside diameter of the insert", "pallet.screw.insert_diameter") : -1;
  const auto outer = [&](const std::vector<double>& v) {
    if (!insert) return s.sizes;
    const double d = at(v, diameter, outside.si), pitch = s.sizes.pitch;
    return holding::ScrewThread{d, pitch, d - 0.649519 * pitch, d - 1.226869 * pitch, 0};
  };
  const std::string where =
      insert ? "the insert out of the plate, pitch as the screw's" : "the thread out of the plate";
  const double engaged = s.screw->engaged.si, torque = s.screw->torque.si;
  const auto share = [&](const std::vector<double>& v) {
    return high_preload(s, p, v, torque) / holding::pull_out(outer(v), engaged, at(v, shear, 0.6) * plate->tensile);
  };
  const std::vector<double> stated = stated_of(f);
  std::vector<double> bad = stated;
  for (std::size_t i = 0; i < bad.size(); ++i)
    bad[i] = static_cast<int>(i) == p.wrench ? f.assumptions[i].high : f.assumptions[i].low;
  const double worst = share(bad);
  add_preload_inputs(c, f, s);
  f.inputs.push_back({"thread engaged", engaged, Kind::length, {}});
  f.inputs.push_back({"what tears", 0, Kind::number, where});
  f.inputs.push_back(
      {"tears out at", holding::pull_out(outer(stated), engaged, 0.6 * plate->tensile), Kind::force, {}});
  f.inputs.push_back({"at the bad ends", worst, Kind::fraction, {}});
  torque_lever(c, f, s, worst, "the thread may tear out");
  f.levers.push_back(
      {"thread engaged", "pallet.screw.engaged", engaged, engaged * worst, Kind::length,
       fmt::format("engaged {} → {} is the least that carries it", mm(c, engaged), mm(c, engaged * worst))});
  f.sentence = fmt::format("{} engaged in {} carry {}; the screw may pull {}.", mm(c, engaged), plate->name,
                           newtons(c, holding::pull_out(outer(stated), engaged, 0.6 * plate->tensile)),
                           newtons(c, high_preload(s, p, bad, torque)));
  settle(c, std::move(f), share);
}

void engagement(Context& c, const Screws& s) {
  Finding f = start(s.operation, s.feature, "engagement", "the thread is really engaged", Kind::length);
  f.limit = finding::lower(0, s.sizes.pitch);
  f.formula = "the least of length - grip - washer - pad - thread asked for, and plate - what reaches into it";
  f.source = "geometry";
  std::vector<std::string> missing;
  const auto need = [&](bool there, const char* what) {
    if (!there) missing.emplace_back(what);
  };
  need(s.screw->length.known(), "pallet.screw.length: under the head");
  need(s.screw->engaged.known(), "pallet.screw.engaged: thread that is counted on");
  need(s.grip > 0, "pallet.screw.through: the holes of the part, with from and to");
  need(c.plan.pallet.plate.size.value.size() == 3, "pallet.plate.size");
  if (!missing.empty()) return leave_open(c, std::move(f), missing);
  const double d = s.sizes.major;
  const plan::Number washer =
      assumed(Kind::length, 0.2 * d, 0.0, 0.225 * d, "from memory: washers to ISO 7089, or none", "measure it");
  const int under = assume(f, washer, "washer under the head", "pallet.screw.head");
  double stand_off = 0;
  for (const plan::Pad& pad : c.plan.pallet.pads)
    if (pad.height.known()) stand_off = std::max(stand_off, pad.height.si);
  const double length = s.screw->length.si, asked = s.screw->engaged.si, plate = c.plan.pallet.plate.size.value[2];
  const auto room = [&](const std::vector<double>& v) {
    const auto e = holding::engagement(length, s.grip, at(v, under, washer.si), stand_off, asked, plate);
    return std::min(e.spare, e.bottom);
  };
  const auto e = holding::engagement(length, s.grip, washer.si, stand_off, asked, plate);
  f.inputs = {
      {"length under the head", length, Kind::length, {}},   {"grip", s.grip, Kind::length, {}},
      {"pads above the plate", stand_off, Kind::length, {}}, {"reaches into the plate", e.reach, Kind::length, {}},
      {"engagement counted on", asked, Kind::length, {}},    {"plate left under the tip", e.bottom, Kind::length, {}}};
  const double needs = length - e.spare;
  f.levers.push_back({"length of the screw", "pallet.screw.length", length, needs, Kind::length,
                      fmt::format("screw {} → {} just engages what is counted on", mm(c, length), mm(c, needs))});
  f.sentence =
      e.spare >= 0
          ? fmt::format("The screw reaches {} into the plate, {} are counted on.", mm(c, e.reach), mm(c, asked))
          : fmt::format("Only {} reach into the plate where {} are counted on.", mm(c, e.reach), mm(c, asked));
  settle(c, std::move(f), room);
}

void pressure(Context& c, const Screws& s) {
  Finding f = start(s.operation, s.feature, "pressure", "head and seat do not give in", Kind::fraction);
  f.limit = finding::upper(1);
  f.formula = "largest of head pressure and pad pressure over what the face carries";
  f.source =
      "VDI 2230 limiting pressures, from memory: grey iron 3.4 times its tensile strength, everything else 0.9 times";
  std::vector<std::string> missing = s.missing_preload;
  const auto part = ref::material(c.plan.part.material.value),
             plate = ref::material(c.plan.pallet.plate.material.value);
  if (!c.plan.part.material.known() || !part.ok()) missing.emplace_back("part.material");
  if (!c.plan.pallet.plate.material.known() || !plate.ok()) missing.emplace_back("pallet.plate.material");
  if (!missing.empty()) return leave_open(c, std::move(f), missing);
  const Preload p = preload_assumptions(f, s);
  const int head = assume(f, s.head, "head or washer diameter", "pallet.screw.head");
  double pads = 0;
  for (const plan::Pad& pad : c.plan.pallet.pads)
    if (pad.diameter.known())
      pads += static_cast<double>(pad.at.value.size()) * 0.785398163397448 * pad.diameter.si * pad.diameter.si;
  const plan::Number uneven = assumed(Kind::number, 1.3, 1.0, 2.0, "from memory: the pads next to a screw carry more",
                                      "blue on the pads after one part");
  const int most_pad =
      pads > 0 ? assume(f, uneven, "pressure of the hardest pad against an even one", "pallet.pad") : -1;
  const bool iron = part->group == "grey iron", plate_iron = plate->group == "grey iron";
  const double torque = s.screw->torque.si;
  const auto under_head = [&](const std::vector<double>& v) {
    const double d = std::max(at(v, head, s.head.si), 1.05 * s.hole);
    return holding::ring_pressure(high_preload(s, p, v, torque), d, s.hole);
  };
  const auto under_pad = [&](const std::vector<double>& v) {
    return pads > 0 ? s.count * high_preload(s, p, v, torque) / pads * at(v, most_pad, 1.3) : 0.0;
  };
  const double carries_head = holding::pressure_limit(iron, part->tensile);
  const double carries_pad = holding::pressure_limit(plate_iron, plate->tensile);
  const auto share = [&](const std::vector<double>& v) {
    return std::max(under_head(v) / carries_head, under_pad(v) / carries_pad);
  };
  const std::vector<double> stated = stated_of(f);
  std::vector<double> bad = stated;
  if (p.nut >= 0) bad[static_cast<std::size_t>(p.nut)] = s.nut_factor.low;
  if (p.wrench >= 0) bad[static_cast<std::size_t>(p.wrench)] = s.wrench.high;
  f.inputs = {{"under the head", under_head(stated), Kind::pressure, {}},
              {"the part carries", carries_head, Kind::pressure, {}},
              {"on the pads", under_pad(stated), Kind::pressure, pads > 0 ? "" : "the part lies on the whole face"},
              {"the plate carries", carries_pad, Kind::pressure, {}},
              {"at the high end of friction and wrench", share(bad), Kind::fraction, {}}};
  torque_lever(c, f, s, share(bad), "a face gives in");
  f.sentence =
      fmt::format("Head {} on the part, pads {}: {} of what the faces carry.",
                  unit::print(under_head(stated), Kind::pressure, c.style),
                  unit::print(under_pad(stated), Kind::pressure, c.style), unit::print(share(stated), Kind::fraction));
  settle(c, std::move(f), share);
}

void shoulder(Context& c, const Screws& s) {
  if (!s.screw->shoulder.known()) return;
  Finding f = start(s.operation, s.feature, "shoulder", "the shoulder screw clamps", Kind::length);
  const double room = holding::shoulder_room(s.least_grip, s.screw->shoulder.si);
  f.limit = finding::lower(0, s.grip > 0 ? s.grip : 1e-3);
  f.formula = "least thickness of the part - shoulder";
  f.source = "geometry";
  f.cautions = holding::screw_cautions();
  if (!(s.grip > 0))
    return leave_open(c, std::move(f), {"pallet.screw.through: the holes of the part, with from and to"});
  f.inputs = {{"shoulder", s.screw->shoulder.si, Kind::length, {}},
              {"least part", s.least_grip, Kind::length, mm(c, s.least_grip) + ", " + s.grip_words}};
  f.levers.push_back({"shoulder", "pallet.screw.shoulder", s.screw->shoulder.si, s.least_grip, Kind::length,
                      fmt::format("shoulder {} → {} before it stands on the plate and clamps nothing",
                                  mm(c, s.screw->shoulder.si), mm(c, s.least_grip))});
  f.sentence =
      room > 0 ? fmt::format("Shoulder {} < {}: it clamps.", mm(c, s.screw->shoulder.si), mm(c, s.least_grip))
               : fmt::format("Shoulder {} is not below the least part {}: it stands on the plate and clamps nothing.",
                             mm(c, s.screw->shoulder.si), mm(c, s.least_grip));
  settle(c, std::move(f), [=](const std::vector<double>&) { return room; });
}

void side_play(Context& c, const Screws& s) {
  const plan::Feature* hole = plan::find_feature(c.plan, s.screw->through.value);
  if (hole == nullptr || !hole->diameter.value.lower || c.plan.pallet.pins.empty()) return;
  Finding f = start(s.operation, s.feature, "side_play", "screws do not fight the pins", Kind::length);
  f.formula = "least hole - largest screw - position zones of the part's holes and of the plate's threads";
  f.source = "fixed fastener, ASME Y14.5 appendix B";
  const double fastener = s.screw->shoulder_diameter.known() ? s.screw->shoulder_diameter.si : s.sizes.major;
  const double least = *hole->diameter.value.lower;
  double zone = 0;
  std::string zone_words;
  for (const plan::Requirement& q : c.plan.requirements)
    if (q.kind.value == "position" && q.feature.value == hole->id.value && q.limits.value.upper)
      zone = *q.limits.value.upper, zone_words = q.id.value;
  f.limit = finding::lower(0, least - fastener);
  if (zone_words.empty()) return leave_open(c, std::move(f), {"requirement: position of " + hole->id.value});
  const plan::Number plate =
      assumed(Kind::length, 0.1e-3, 0.02e-3, 0.4e-3, "from memory: threads drilled and tapped on a machining centre",
              "measure the plate's threads");
  const int t2 = assume(f, plate, "position zone of the plate's threads", "pallet.screw.at");
  const auto both = locating::fixed_fastener(least, fastener);
  const double room = both.clearance_part + both.fixed_part;
  f.inputs = {{"least hole", least, Kind::length, {}},
              {"largest screw", fastener, Kind::length, {}},
              {"position of the part's holes", zone, Kind::length, mm(c, zone) + " by " + zone_words}};
  f.levers.push_back({"hole", "feature.diameter", least, least - (room - zone - plate.si), Kind::length,
                      fmt::format("hole {} → {} before screws push the part off its pins", mm(c, least),
                                  mm(c, least - (room - zone - plate.si)))});
  f.sentence = fmt::format("The screws have {} of play in their holes; the places of holes and threads take {}.",
                           mm(c, room), mm(c, zone + plate.si));
  settle(c, std::move(f), [=](const std::vector<double>& v) { return room - zone - at(v, t2, plate.si); });
}

/// A face that is finished while the screws bend the part between its pads.
void springs_back(Context& c, const Screws& s, const plan::Operation& o) {
  if (!s.missing_preload.empty() || c.plan.pallet.pads.empty() || c.plan.part.size.value.size() != 3) return;
  std::vector<std::string> done;
  for (const plan::Requirement& q : c.plan.requirements) {
    const bool here = std::find(o.makes.value.begin(), o.makes.value.end(), q.feature.value) != o.makes.value.end();
    if (q.kind.value != "flatness" || !here || !q.limits.value.upper) continue;
    if (std::find(done.begin(), done.end(), q.feature.value) != done.end()) continue;
    done.push_back(q.feature.value);
    Finding f =
        start(s.operation, q.feature.value, "springs_back",
              fmt::format("{} stays flat when the screws come off", words_of(c.plan, q.feature.value)), Kind::length);
    f.gauge = true;
    f.limit = finding::upper(*q.limits.value.upper);
    f.formula =
        "strip between the two pads beside a screw: F s^3/(192 E I) with held ends, four times that with free ones";
    f.source = "beam formulas, exact; the strip is an estimate of the part";
    const auto m = ref::material(c.plan.part.material.value);
    if (!m.ok()) {
      leave_open(c, std::move(f), {"part.material"});
      continue;
    }
    const double modulus = c.plan.part.elasticity.known() ? c.plan.part.elasticity.si : m->modulus.value;
    const Preload p = preload_assumptions(f, s);
    const plan::Number ends = assumed(Kind::number, 2, 1, 4, "held or free ends of the strip between pads",
                                      "a dial on the face while tightening");
    const int free = assume(f, ends, "how free the strip's ends are", "pallet.pad");
    double span = 0, wide = 0;
    std::vector<Vec3> pads;
    for (const plan::Pad& pad : c.plan.pallet.pads) pads.insert(pads.end(), pad.at.value.begin(), pad.at.value.end());
    for (Vec3 a : s.at) {
      std::vector<double> d;
      for (Vec3 b : pads) d.push_back(std::hypot(a.x - b.x, a.y - b.y));
      std::sort(d.begin(), d.end());
      if (d.size() >= 2) span = std::max(span, d[0] + d[1]);
    }
    for (const plan::Pad& pad : c.plan.pallet.pads) wide = std::max(wide, 2 * pad.diameter.si);
    if (!(span > 0) || !(wide > 0)) continue;
    const double tall = c.plan.part.size.value[2], torque = s.screw->torque.si;
    const auto sink = [=, &s](const std::vector<double>& v) {
      return at(v, free, 2) * holding::strip_sink(high_preload(s, p, v, torque), span, modulus, wide, tall);
    };
    f.inputs = {{"between the pads beside a screw", span, Kind::length, {}},
                {"width of the strip", wide, Kind::length, {}},
                {"thickness", tall, Kind::length, {}}};
    const std::vector<double> stated = stated_of(f);
    unit::Style fine = c.style;
    fine.gauge = true;
    f.sentence = fmt::format("The screws bend the part {} between its pads, which comes back when they are loosened.",
                             unit::print(sink(stated), Kind::length, fine));
    settle(c, std::move(f), sink);
  }
}

}  // namespace

void screw_findings(Context& c) {
  const plan::Operation* pallet = nullptr;
  for (const plan::Operation& o : c.plan.operations)
    if (o.kind.value == "pallet") pallet = &o;
  if (pallet == nullptr || !c.plan.pallet.defined.value) return;
  for (std::size_t i = 0; i < c.plan.pallet.screws.size(); ++i) {
    const auto s = read(c, c.plan.pallet.screws[i], pallet->id.value, static_cast<int>(i));
    if (!s) continue;
    stress(c, *s);
    pull_out(c, *s);
    engagement(c, *s);
    pressure(c, *s);
    shoulder(c, *s);
    side_play(c, *s);
    if (i == 0) springs_back(c, *s, *pallet);
  }
}

}  // namespace fettle::study
