// Contacts of a clamping and loads of a cut, from the plan.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <utility>

#include "base/text.h"
#include "calc/holding/screws.h"
#include "ref/friction.h"
#include "ref/threads.h"
#include "study/pallet_holding.h"
#include "study/vise_jaws.h"

namespace fettle::study {

using frame::Vec3;
using holding::Contact;
using unit::Kind;

namespace {

constexpr double gravity = 9.80665, pi = 3.14159265358979323846;

/// Low end of what torque gives: wrench at its low end, nut factor at its high one.
struct Tightened {
  double force = 0;
  std::vector<std::string> missing;
  std::string words;
};
Tightened tightened(const Context& c, const std::string& where, const plan::Thread& screw, const plan::Number& torque,
                    const plan::Text& lubrication, const plan::Number& scatter) {
  Tightened t;
  const auto need = [&](bool there, const char* what) {
    if (!there) t.missing.push_back(where + what);
  };
  need(screw.known(), ".thread: which thread");
  need(torque.known(), ".torque: tightening torque");
  need(lubrication.known(), ".lubrication: dry, oiled or paste");
  if (!t.missing.empty()) return t;
  const auto thread = ref::thread_data(screw.value);
  const auto nut = ref::nut_factor(lubrication.value == "paste" ? "anti-seize" : lubrication.value);
  if (!thread.ok()) t.missing.push_back(where + ".thread: " + say(thread.problem()));
  if (!nut.ok()) t.missing.push_back(where + ".lubrication: " + say(nut.problem()));
  if (!t.missing.empty()) return t;
  const double wrench = scatter.known() ? scatter.high : 0.15;  // an unchecked wrench
  t.force = torque.low * (1 - wrench) / (nut->high * thread->major);
  t.words = fmt::format("{} from {} less {} %, nut factor {}", unit::print(t.force, Kind::force, c.style),
                        unit::print(torque.low, Kind::torque, c.style), base::fixed(100 * wrench, 0),
                        base::fixed(nut->high, 3));
  if (!scatter.known()) t.words += " (wrench scatter not said)";
  return t;
}

std::vector<Vec3> places_of(const plan::Plan& plan, const plan::NestScrew& s) {
  const plan::Feature* through = plan::find_feature(plan, plan::parse_reference(s.through.value).id);
  return through != nullptr ? through->at.value : s.at.value;
}

/// Faces settle in the first hours: what that costs is not there when the tool comes.
void take_settling(const Context& c, const plan::NestScrew& s, Held& h, Tightened& t) {
  const plan::Feature* through = plan::find_feature(c.plan, plan::parse_reference(s.through.value).id);
  const auto thread = ref::thread_data(s.thread.value);
  if (!thread.ok()) return;
  const bool known = through != nullptr && through->from.known() && through->to.known();
  // Nobody said how long the screw is: a short one loses more.
  const double grip = known ? std::fabs(through->to.si - through->from.si) : 2 * thread->major;
  const double loss = settling_loss(thread->major, thread->pitch, thread->pitch_diameter, thread->root_diameter,
                                    thread->stress_area, grip);
  if (!(loss > 0)) return;
  if (h.screw_force == 0) h.screw_force = t.force, h.settles = loss;
  t.force = std::max(0.0, t.force - loss);
  t.words += fmt::format(", less {} as the faces settle{} (tightened once more it comes back)",
                         unit::print(loss, Kind::force, c.style), known ? "" : " over a grip of two diameters");
}

void pallet_contacts(Context& c, Held& h) {
  const plan::Pallet& p = c.plan.pallet;
  const double height = c.plan.part.size.value.size() > 2 ? c.plan.part.size.value[2] : 0;
  const double seat = h.up.z < 0 ? height : 0, top = h.up.z < 0 ? 0 : height;
  if (std::fabs(h.up.z) < 0.5) h.missing.emplace_back("operation.up: +z or -z for a part on a pallet");
  if (p.pads.empty()) h.missing.emplace_back("pallet.pad: where the part rests");
  if (p.screws.empty()) h.missing.emplace_back("pallet.screw: what clamps the part");
  int n = 0;
  h.friction = 0;
  for (const plan::Pad& pad : p.pads) {
    if (!pad.friction.known()) h.missing.emplace_back("pallet.pad.friction: friction between pad and part");
    for (Vec3 at : pad.at.value) {
      Contact k;
      k.name = fmt::format("pad {}", ++n);
      k.at = {at.x, at.y, seat};
      k.normal = h.up;
      k.friction = pad.friction.low;
      k.patch = pad.diameter.known() ? pad.diameter.si : 0;
      k.stiffness = pad.stiffness.known() ? pad.stiffness.si : 0;
      h.contacts.push_back(std::move(k));
    }
    if (pad.friction.known() && (h.friction == 0 || pad.friction.low < h.friction)) {
      h.friction = pad.friction.low;
      h.friction_stated = pad.friction.si;
    }
  }
  n = 0;
  for (const plan::NestScrew& s : p.screws) {
    Tightened t = tightened(c, "pallet.screw", s.thread, s.torque, s.lubrication, s.wrench_scatter);
    h.missing.insert(h.missing.end(), t.missing.begin(), t.missing.end());
    if (t.missing.empty()) take_settling(c, s, h, t);
    const auto places = places_of(c.plan, s);
    if (places.empty()) h.missing.emplace_back("pallet.screw.through: where the screws stand");
    for (Vec3 at : places) {
      Contact k;
      k.name = fmt::format("screw {}", ++n);
      k.kind = Contact::Kind::clamp;
      k.at = {at.x, at.y, top};
      k.normal = -h.up;
      k.force = t.force;
      h.contacts.push_back(std::move(k));
    }
    if (t.missing.empty()) h.inputs.push_back({"preload of a screw, low end", 0, Kind::force, t.words});
    if (s.torque.known()) h.torque = s.torque.si;
  }
  const plan::Pin *round = nullptr, *relieved = nullptr;
  for (const plan::Pin& pin : p.pins) {
    if (pin.kind.value == "round" && round == nullptr) round = &pin;
    if (pin.kind.value == "relieved" && relieved == nullptr) relieved = &pin;
  }
  const Surface a = round != nullptr ? surface_of(c.plan, round->in.value) : Surface{};
  const Surface b = relieved != nullptr ? surface_of(c.plan, relieved->in.value) : Surface{};
  const auto pin = [&](const char* name, const Surface& hole, const plan::Pin& it) {
    Contact k;
    k.name = name;
    k.kind = Contact::Kind::pin;
    k.at = {hole.point.x, hole.point.y, seat};
    k.at = k.at + (it.height.known() ? 0.5 * it.height.si : 0) * h.up;
    k.normal = h.up;
    return k;
  };
  if (a.there) h.contacts.push_back(pin("round pin", a, *round));
  if (b.there) {
    Contact k = pin("relieved pin", b, *relieved);
    const Vec3 line = a.there ? frame::unit({b.point.x - a.point.x, b.point.y - a.point.y, 0}) : Vec3{1, 0, 0};
    k.across = {-line.y, line.x, 0};
    if (relieved->direction.known())
      k.across = {-std::sin(relieved->direction.si), std::cos(relieved->direction.si), 0};
    h.contacts.push_back(std::move(k));
  }
}

/// Friction of a locator or clamp at its low end; the table's pair where the plan says nothing.
double grip(Held& h, const plan::Number& given, const std::string& kind) {
  double low = given.low, stated = given.si;
  if (!given.known()) {
    const auto pair =
        ref::friction(kind == "jaw" || kind == "vise" ? "iron on hardened jaw, ground" : "iron on steel, wet");
    if (!pair.ok()) return 0;
    low = pair->low;
    stated = pair->value;
    std::string words = fmt::format("{} at the {} ({}: {})", base::fixed(low, 2), kind, pair->name, pair->source);
    const bool said = std::any_of(h.inputs.begin(), h.inputs.end(), [&](const auto& i) { return i.text == words; });
    if (!said) h.inputs.push_back({"friction, low end", 0, Kind::number, std::move(words)});
  }
  if (h.friction == 0 || low < h.friction) {
    h.friction = low;
    h.friction_stated = stated;
  }
  return low;
}

/// Where a jaw touches a face over its width: even pressure over 2 a has the same moments as two points a/sqrt(3) from
/// the middle. False: the width of the face is not known.
bool spread_jaw(const plan::Plan& plan, const plan::Operation& o, const plan::Clamp& k, const Surface& s, Held& h) {
  if (!s.there || s.round) return false;
  const Vec3 dir = k.direction.known() ? direction(k.direction.value) : -s.normal;
  const Vec3 row = frame::cross(h.up, dir);
  if (frame::norm(row) < 0.5) return false;
  const bool second = std::fabs(row.z) > 0.5 || (std::fabs(row.y) > 0.5 && std::fabs(s.normal.z) > 0.5);
  double wide = second ? s.extent_v : s.extent_u;
  if (o.jaw_width.known()) wide = std::min(wide, o.jaw_width.si);
  if (!(wide > 0)) return false;
  bool machined = false;
  for (const plan::Operation& before : plan.operations) {
    if (&before == &o) break;
    for (const std::string& made : before.makes.value) machined = machined || made == s.feature->id.value;
  }
  h.jaw_at = static_cast<int>(h.contacts.size());
  h.jaw_share = machined ? 1 : 0;
  h.jaw_middle = s.point;
  h.jaw_half = 0.5 * wide / std::sqrt(3.0) * row;
  return true;
}

void fixture_contacts(Context& c, const plan::Operation& o, Held& h) {
  for (const plan::Locator& l : o.locators) {
    const std::string& kind = l.kind.value;
    if (kind != "rest" && kind != "jaw" && kind != "stop" && kind != "pad") continue;
    const Surface s = surface_of(c.plan, l.on.value);
    if (!s.there || s.round) continue;
    const double mu = grip(h, l.friction, kind);
    std::vector<Vec3> at = touches(c.plan, o, l);
    if (at.empty()) at.push_back(s.point);
    for (std::size_t i = 0; i < at.size(); ++i) {
      Contact k;
      k.name = at.size() > 1 ? fmt::format("{} {}", kind, i + 1) : kind;
      k.at = at[i];
      k.normal = l.normal.known() ? -direction(l.normal.value) : -s.normal;
      k.friction = mu;
      h.contacts.push_back(std::move(k));
    }
  }
  for (const plan::Clamp& k : o.clamps) {
    const std::string& kind = k.kind.value;
    const std::string where = "operation " + o.id.value + ".clamp";
    const Surface s = surface_of(c.plan, k.on.value);
    std::vector<Vec3> at = touches(c.plan, o, k);
    if (at.empty() && s.there) at.push_back(s.point);
    if (at.empty()) {
      h.missing.push_back(where + ": where it presses (on, at)");
      continue;
    }
    double force = 0;
    if (k.force.known()) {
      force = low_clamp_force(k.force);
      h.clamp_force = k.force.si;
      if (!(k.force.low < k.force.si))
        h.inputs.push_back(
            {"clamp force, low end", 0, Kind::force,
             fmt::format("{}, {} % under what is said (from memory: no band was given)",
                         unit::print(force, Kind::force, c.style), base::fixed(100 * (1 - force / k.force.si), 0))});
      if (o.kind.value == "jaw carrier" && !o.parts.given())
        h.missing.push_back("operation " + o.id.value + ".parts: how many parts share the jaw's force");
      if (shares_jaw(o) && o.parts.known() && o.parts.value > 1) {
        const JawShare share = least_jaw_share(c, o);
        h.missing.insert(h.missing.end(), share.missing.begin(), share.missing.end());
        force = share.force * (share.of_jaw ? force / k.force.si : 1);
        if (!share.of_jaw) h.clamp_force = 0;  // what the plan says of each part does not grow with the jaw's force
        if (share.missing.empty())
          h.inputs.push_back({"force of the part that gets least", force, Kind::force,
                              unit::print(force, Kind::force, c.style) + ", " + share.words});
      }
      force /= static_cast<double>(at.size());
    } else if ((kind == "jaw" || kind == "vise") && !k.torque.known() && !k.screw.known()) {
      h.missing.push_back(where + ".force: how hard it presses");
    } else {
      const Tightened t = tightened(c, where, k.screw, k.torque, k.lubrication, k.wrench_scatter);
      h.missing.insert(h.missing.end(), t.missing.begin(), t.missing.end());
      force = t.force;
      if (k.torque.known()) h.torque = k.torque.si;
      if (t.missing.empty()) h.inputs.push_back({"clamp force, low end", 0, Kind::force, t.words});
    }
    const double mu = grip(h, k.friction, kind);
    if ((kind == "jaw" || kind == "vise") && k.at.value.empty() && h.jaw_at < 0 && spread_jaw(c.plan, o, k, s, h)) {
      at = {h.jaw_middle, h.jaw_middle};
      force *= 0.5;
    }
    for (Vec3 p : at) {
      Contact one;
      one.name = kind;
      one.kind = Contact::Kind::clamp;
      one.at = p;
      one.normal = k.direction.known() ? direction(k.direction.value) : -s.normal;
      one.friction = mu;
      one.force = force;
      one.held_sideways = kind != "screw";
      h.contacts.push_back(std::move(one));
    }
  }
}

}  // namespace

Held held_in(Context& c, const plan::Operation& o) {
  Held h;
  h.up = direction(o.up.known() ? o.up.value : "+z");
  h.pallet = o.kind.value == "pallet";
  const bool sucked =
      std::any_of(o.clamps.begin(), o.clamps.end(), [](const plan::Clamp& k) { return k.pull.known(); }) ||
      std::any_of(o.locators.begin(), o.locators.end(), [](const plan::Locator& l) { return l.kind.value == "chuck"; });
  h.there = (h.pallet || !o.clamps.empty()) && !sucked;  // chucks have their own question
  if (!h.there) return h;
  if (h.pallet) pallet_contacts(c, h);
  fixture_contacts(c, o, h);
  h.contacts = touching(h, h.jaw_share);
  std::sort(h.missing.begin(), h.missing.end());
  h.missing.erase(std::unique(h.missing.begin(), h.missing.end()), h.missing.end());
  // The lightest the part gets: finished.
  const double mass = c.plan.part.mass.known() ? c.plan.part.mass.si : 0;
  const double height = c.plan.part.size.value.size() > 2 ? c.plan.part.size.value[2] : 0;
  h.weight = {{0, 0, 0.5 * height}, (-mass * gravity) * h.up, {}};
  return h;
}

std::vector<Contact> scaled(std::vector<Contact> contacts, double force, double friction) {
  for (Contact& k : contacts) {
    k.force *= force;
    k.friction = std::min(5.0, k.friction * friction);
  }
  return contacts;
}

double low_clamp_force(const plan::Number& force) {
  constexpr double firm = 0.9;  // a vise's force by its handle or gauge: from memory
  return force.low < force.si ? force.low : firm * force.si;
}

std::vector<Contact> touching(const Held& h, double share) {
  std::vector<Contact> out = h.contacts;
  const auto k = static_cast<std::size_t>(h.jaw_at);
  if (h.jaw_at < 0 || k + 1 >= out.size()) return out;
  const double x = std::clamp(share, 0.02, 1.0);  // two contacts in one place say the same twice
  out[k].at = h.jaw_middle - x * h.jaw_half;
  out[k + 1].at = h.jaw_middle + x * h.jaw_half;
  return out;
}

double torque_growth(const Held& h, double net) {
  return h.screw_force > 0 ? (net * (h.screw_force - h.settles) + h.settles) / h.screw_force : net;
}

double settling_loss(double major, double pitch, double pitch_diameter, double root_diameter, double stress_area,
                     double grip) {
  if (!(grip > 0)) return 0;
  const double screw =
      holding::screw_stiffness({major, pitch, pitch_diameter, root_diameter, stress_area}, grip, 205e9);
  return holding::embedding_loss(holding::embedding_amount(6.3e-6, 2), screw, 4 * screw);
}

double stock_left(const plan::Plan& plan, const CutModel& cut, const CutPlace& place) {
  double left = std::numeric_limits<double>::infinity();
  if (along_axis(cut.way) || cut.cut == nullptr) return left;
  for (const plan::Operation& o : plan.operations) {
    if (&o == cut.operation) break;
    for (const std::string& made : o.makes.value) {
      const plan::Feature* f = plan::find_feature(plan, made);
      if (f == nullptr || !f->over.known()) continue;
      const std::string side = plan::parse_reference(f->over.value).id;
      const auto& cuts = cut.cut->features.value;
      if (std::find(cuts.begin(), cuts.end(), side) == cuts.end() &&
          std::find(cuts.begin(), cuts.end(), f->over.value) == cuts.end())
        continue;
      const Surface now = surface_of(plan, f->over.value), before = surface_of(plan, made);
      if (!now.there || !before.there || now.round || !(frame::dot(now.normal, place.out) > 0.999)) continue;
      const double stock = frame::dot(before.point - now.point, now.normal);
      if (stock > 0) left = std::min(left, stock);
    }
  }
  return left;
}

namespace {

/// How far the tool's axis stands out of the surface at a place: where its force and torque are put.
double axis_beside(const CutModel& cut) {
  return along_axis(cut.way) || cut.way == CutModel::Way::face ? 0 : 0.5 * cut.diameter;
}

bool even_teeth(const CutModel& cut) {
  const auto n = static_cast<double>(cut.tooth_angles.size());
  for (std::size_t i = 0; i < cut.tooth_angles.size(); ++i)
    if (std::fabs(cut.tooth_angles[i] - cut.tooth_angles[0] - 2 * pi * static_cast<double>(i) / n) > 1e-9) return false;
  return true;
}

/// Samples of the turn, evenly over all that differs: one tooth's share of it, of uneven teeth the whole turn.
std::vector<std::size_t> through_turn(const CutModel& cut, std::size_t size, std::size_t samples) {
  if (size < 2) return {};
  const bool alike =
      !along_axis(cut.way) && cut.teeth > 1 && even_teeth(cut) && size % static_cast<std::size_t>(cut.teeth) == 0;
  const std::size_t span = alike ? size / static_cast<std::size_t>(cut.teeth) : size;
  const std::size_t n = std::min(span, alike || along_axis(cut.way) ? samples : 3 * samples);
  std::vector<std::size_t> out;
  for (std::size_t k = 0; k < n; ++k) out.push_back(k * span / n);
  return out;
}

}  // namespace

const CutPlace& place_of(const CutModel& cut, std::size_t index) {
  return index < cut.places.size() ? cut.places[index] : cut.gate_places[index - cut.places.size()];
}

CutLoads loads_of(const plan::Plan& plan, const CutModel& cut, Vec3 up, const ForcesAt& forces, std::size_t samples) {
  CutLoads out;
  std::map<std::pair<double, bool>, CutForces> by_stock;
  for (std::size_t i = 0; i < cut.places.size() + cut.gate_places.size(); ++i) {
    const CutPlace& p = place_of(cut, i);
    const bool gate = i >= cut.places.size();
    const std::pair<double, bool> key{stock_left(plan, cut, p), gate};
    auto there = by_stock.find(key);
    if (there == by_stock.end()) there = by_stock.emplace(key, forces(key.first, gate)).first;
    const CutForces& f = there->second;
    const Vec3 axis = p.at + axis_beside(cut) * p.out;
    const auto add = [&](Vec3 local, Vec3 moment) {
      const auto world = [&](Vec3 v) { return v.x * p.feed + v.y * p.out + v.z * up; };
      out.loads.push_back({axis, world(local), world(moment)});
      out.place.push_back(i);
    };
    add(f.peak, f.peak_moment);
    if (cut.way == CutModel::Way::tap)
      add({f.peak.x, f.peak.y, std::max(f.up_pull, 0.0)}, {0, 0, f.torque_peak});  // backing out
    else if (along_axis(cut.way) && f.up_pull > 0) add({0, 0, f.up_pull}, {0, 0, -f.torque_peak});
    for (std::size_t k : through_turn(cut, f.turn.size(), samples)) add(f.turn[k], f.turn_moment[k]);
  }
  return out;
}

}  // namespace fettle::study
