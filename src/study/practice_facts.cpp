// The plan flattened into what the rules of the trade look at.
#include <algorithm>
#include <map>
#include <set>

#include "base/text.h"
#include "ref/materials.h"
#include "study/practice.h"
#include "study/practice_model.h"

namespace fettle::study {

using frame::Vec3;
using practice::Facts;

namespace {

practice::Iron iron_of(const plan::Plan& plan) {
  const plan::Text& grade = plan.casting.grade.known() ? plan.casting.grade : plan.part.material;
  const auto m = ref::material(grade.value);
  if (!grade.known() || !m.ok()) return practice::Iron::unknown;
  if (m->group == "grey iron") return practice::Iron::grey;
  return m->group == "ductile iron" || m->group == "malleable iron" ? practice::Iron::ductile : practice::Iron::other;
}

/// The largest number of a hardness in words, when it speaks of corners: "180 to 220 HB, up to 260 HB at corners".
std::optional<double> hardest_of(const plan::Text& words) {
  const std::string text = base::lower(words.value);
  if (text.find("corner") == std::string::npos && text.find("edge") == std::string::npos &&
      text.find("thin") == std::string::npos)
    return {};
  std::optional<double> most;
  std::string digits;
  for (std::size_t i = 0; i <= text.size(); ++i) {
    if (i < text.size() && ((text[i] >= '0' && text[i] <= '9') || (text[i] == '.' && !digits.empty()))) {
      digits += text[i];
      continue;
    }
    while (!digits.empty() && digits.back() == '.') digits.pop_back();
    if (const auto x = base::to_double(digits); x && *x >= 50 && *x <= 1000 && !(most && *most >= *x)) most = x;
    digits.clear();
  }
  return most;
}

practice::How how_of(const std::string& kind) {
  using practice::How;
  static const std::map<std::string, How> ways = {
      {"grind", How::grind},   {"vise", How::vise},   {"vise gang", How::vise_gang}, {"jaw carrier", How::jaw_carrier},
      {"pallet", How::pallet}, {"chuck", How::chuck}, {"hone", How::hone},           {"deburr", How::deburr},
      {"wash", How::wash},     {"gauge", How::gauge}};
  const auto it = ways.find(kind);
  return it == ways.end() ? How::other : it->second;
}

practice::Steps steps_of(const plan::Plan& plan, const plan::Operation& o) {
  practice::Steps s;
  if (o.does.given())
    for (const std::string_view word : practice::step_words())
      *practice::step_of(s, word) = std::find(o.does.value.begin(), o.does.value.end(), word) != o.does.value.end();
  if (o.kind.value == "deburr") s.deburrs = true;
  if (o.kind.value == "wash") s.washes = true;
  if (o.kind.value == "gauge") s.gauges = true;
  // Time for cleaning at every loading is time in which it is done.
  if (!s.cleans_seats && o.kind.value == "pallet" && plan.shop.people.clean_time.known() &&
      plan.shop.people.clean_time.si > 0)
    s.cleans_seats = true;
  return s;
}

/// Coolant or wash water on bare iron. Grinding is wet, a hone works in oil, a bench is dry (common practice).
std::optional<bool> wet_of(const plan::Plan& plan, const plan::Operation& o, const practice::Steps& s) {
  if (s.washes && *s.washes) return true;
  if (o.kind.value == "grind" || o.kind.value == "wash") return true;
  if (o.kind.value == "hone" || o.kind.value == "deburr" || o.kind.value == "gauge") return false;
  const plan::Machine* m = o.machine.known() ? find_machine(plan, o.machine.value) : nullptr;
  if (m == nullptr || !m->coolant.known()) return {};
  return m->coolant.si > 0;
}

std::optional<bool> magnet_of(const plan::Operation& o) {
  const bool chuck =
      std::any_of(o.locators.begin(), o.locators.end(), [](const plan::Locator& l) { return l.kind.value == "chuck"; });
  for (const plan::Clamp& c : o.clamps) {
    if (c.kind.value == "magnet") return true;
    if (chuck) return false;  // held some other way
  }
  if (!chuck) return false;
  return o.kind.value == "grind" ? std::optional(true) : std::nullopt;
}

void add_times(const OperationTime& t, const plan::Operation& o, practice::Operation& out) {
  if (!t.missing.empty()) return;
  const double each = std::max(t.machine_per_part, t.person_per_part) + t.gauging_per_part;
  if (each > 0) out.part_time = each;
  if (!(each > 0) && t.bought) out.part_time = 0;  // the time of others is not ours; its money is spent in small change
  // Parts wait for their lot, in a basket or on a pallet for their fellows there; how long a queue is nobody knows.
  const double lot = o.lot.known() ? o.lot.value : o.parts.known() ? o.parts.value : t.pallet ? t.parts : 0;
  if (each > 0 && lot > 0) out.lot_time = lot * each + (o.wait.known() ? o.wait.si : 0);
}

practice::Operation operation_of(const plan::Plan& plan, const std::vector<rules::Known>& all, const plan::Operation& o,
                                 const OperationTime* time) {
  practice::Operation out;
  out.id = o.id.value;
  out.words = o.name.known() ? o.name.value : o.id.value;
  out.how = how_of(o.kind.value);
  // One vise holds one part; how many a gang, a carrier or a pallet holds must be said.
  const bool many =
      out.how == practice::How::vise_gang || out.how == practice::How::jaw_carrier || out.how == practice::How::pallet;
  if (o.parts.known()) out.at_once = std::max(1, o.parts.value);
  else if (!many) out.at_once = 1;
  out.steps = steps_of(plan, o);
  out.wet = wet_of(plan, o, out.steps);
  out.magnetic = magnet_of(o);
  rules::add_cuts(plan, all, o, out);
  rules::add_contacts(plan, all, o, out);
  if (time != nullptr) add_times(*time, o, out);
  return out;
}

// ---- requirements between features ----------------------------------------------------------------------------------

/// Features that carry a datum letter.
std::vector<std::string> datum_features(const plan::Plan& plan, const std::string& letter) {
  std::vector<std::string> out;
  for (const plan::Feature& f : plan.features) {
    if (!f.datum.known()) continue;
    const auto letters = base::split(f.datum.value, ' ');
    if (std::find(letters.begin(), letters.end(), letter) == letters.end()) continue;
    for (const std::string& id : sides_of(f)) out.push_back(id);
  }
  return out;
}

void add_relations(const plan::Plan& plan, Facts& facts) {
  static const std::set<std::string> kinds = {"position", "coaxiality", "perpendicularity", "parallelism", "angularity",
                                              "symmetry", "runout",     "total runout",     "distance",    "depth"};
  for (const plan::Requirement& q : plan.requirements) {
    const unit::Limits& l = q.limits.value;
    if (kinds.count(q.kind.value) == 0 || !q.limits.known() || !l.upper) continue;
    practice::Relation r;
    r.id = q.id.value;
    r.feature = rules::id_of(q.feature.value);
    r.zone = l.lower ? *l.upper - *l.lower : *l.upper;
    if (q.to.known()) r.to.push_back(rules::id_of(q.to.value));
    for (const std::string& letter : q.datums.value)
      for (const std::string& id : datum_features(plan, letter)) r.to.push_back(id);
    if (!r.to.empty()) facts.relations.push_back(std::move(r));
  }
}

std::optional<double> expansion_of(const plan::Plan& plan) {
  if (plan.part.expansion.known()) return plan.part.expansion.si;
  const auto m = ref::material(plan.part.material.value);
  if (plan.part.material.known() && m.ok()) return m->expansion.value;
  return {};
}
}  // namespace

Facts practice_facts(const plan::Plan& plan) {
  Facts f;
  const plan::Casting& c = plan.casting;
  f.inch = plan.header.units.value == "inch";
  f.casting.iron = iron_of(plan);
  if (c.skin.known()) f.casting.skin = c.skin.si;
  if (c.parting.known()) f.casting.parting = c.parting.si;
  if (c.warp.known()) f.casting.warp = c.warp.si;
  if (c.hardness.known()) f.casting.hardest = hardest_of(c.hardness);
  for (const plan::Gate& g : c.gates)
    for (const Vec3 p : g.at.value) f.casting.gates.push_back({g.id.value, rules::id_of(g.face.value), p, g.width.si});
  const std::vector<rules::Known> all = rules::features_of(plan, f);
  for (const rules::Known& k : all) f.features.push_back(k.f);
  const PlanTimes times = plan_times(plan);
  for (const plan::Operation& o : plan.operations)
    f.operations.push_back(operation_of(plan, all, o, times.find(o.id.value)));
  add_relations(plan, f);
  const plan::Room& room = plan.shop.room;
  if (room.part_off_machine.known()) f.warm = room.part_off_machine.si;
  if (room.temperature_low.known()) f.gauge_at = room.temperature_low.si;
  f.expansion = expansion_of(plan);
  return f;
}

}  // namespace fettle::study
