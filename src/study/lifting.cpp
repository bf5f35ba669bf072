// Can a person lift what the plan says is lifted?
#include "calc/lifting/lifting.h"

#include <fmt/format.h>

#include <algorithm>
#include <limits>

#include "base/text.h"
#include "study/internal.h"

namespace fettle::study {

using finding::Finding;

namespace {

constexpr const char* source = "NIOSH 94-110, revised lifting equation (Waters, Putz-Anderson, Garg 1994, rev. 9/2021)";

lifting::Coupling coupling_of(const std::string& w) {
  return w == "good" ? lifting::Coupling::good : w == "fair" ? lifting::Coupling::fair : lifting::Coupling::poor;
}

lifting::Inputs inputs_of(const plan::Lift& l, double mass) {
  lifting::Inputs in;
  in.name = l.id.value;
  in.load = mass;
  in.from = {l.from.reach.si, l.from.height.si, l.from.twist.si};
  in.to = {l.to.reach.si, l.to.height.si, l.to.twist.si};
  in.set_down_with_care = !l.control.known() || l.control.value;
  in.frequency = l.frequency.si;
  in.duration = l.hours.si <= 3600 * 1.0000001   ? lifting::Duration::up_to_1h
                : l.hours.si <= 7200 * 1.0000001 ? lifting::Duration::up_to_2h
                                                 : lifting::Duration::up_to_8h;
  in.coupling = coupling_of(l.coupling.value);
  // One set of constants for metric and inch plans: the same job has the same index however it is typed. The metric
  // ones are the stricter (23 kg, the inch form allows 51 lb).
  in.constants = lifting::Constants::metric;
  in.around.hours = l.hours.si;
  return in;
}

struct Mass {
  double dry = 0;
  std::vector<std::string> missing;
  std::vector<finding::Input> inputs;
  int parts = 0;
  double per_part = 0, empty = 0;
};

int nests_of(const plan::Pallet& p) {
  std::size_t n = 0;
  for (const plan::Nest& nest : p.nests) n += nest.at.value.size();
  return static_cast<int>(n);
}

Mass mass_of(const Context& c, const plan::Lift& l) {
  Mass m;
  const auto need = [&](const plan::Number& n, const char* key, const char* words) {
    if (!n.known()) m.missing.push_back(fmt::format("{}: {}", key, words));
    else m.inputs.push_back({words, n.si, unit::Kind::mass, {}});
    return n.known() ? n.si : 0.0;
  };
  const std::string& what = l.what.value;
  if (what == "given mass") m.dry = need(l.mass, "lift.mass", "mass lifted");
  else if (what == "part") m.dry = need(c.plan.part.mass, "part.mass", "finished part");
  else if (what == "casting") m.dry = need(c.plan.casting.mass, "casting.mass", "raw casting");
  else {
    m.parts = nests_of(c.plan.pallet);
    if (m.parts == 0) m.missing.push_back("pallet.nest: where the parts sit");
    m.empty = need(c.plan.pallet.empty_mass, "pallet.empty_mass", "pallet without parts");
    m.per_part = need(c.plan.pallet.loaded_part_mass.known() ? c.plan.pallet.loaded_part_mass : c.plan.casting.mass,
                      "pallet.loaded_part_mass", "one part as it is loaded");
    m.dry = m.empty + m.parts * m.per_part;
    m.inputs.push_back({"parts on the pallet", static_cast<double>(m.parts), unit::Kind::number, {}});
  }
  return m;
}

/// The levers of the science in the person's units.
void levers(const Context& c, Finding& f, const lifting::Result& r, const Mass& m, double wet) {
  const double limit = r.limit;
  if (m.parts > 0 && m.per_part > 0) {
    const int fit = static_cast<int>(std::floor((limit - m.empty - wet) / m.per_part));
    if (fit >= 0 && fit < m.parts)
      f.levers.push_back(
          {"parts on the pallet", "pallet.nest", static_cast<double>(m.parts), static_cast<double>(fit),
           unit::Kind::number,
           fit > 0 ? fmt::format("parts on the pallet {} → {} brings the index to 1; or a cart at door height", m.parts,
                                 fit)
                   : std::string("with any part on it the index is above 1: a hoist, or a cart at door height")});
  }
  for (const lifting::Lever& l : r.levers) {
    const unit::Kind kind = l.what == lifting::Lever::What::load        ? unit::Kind::mass
                            : l.what == lifting::Lever::What::twist     ? unit::Kind::angle
                            : l.what == lifting::Lever::What::frequency ? unit::Kind::frequency
                                                                        : unit::Kind::length;
    if (!l.can) continue;
    const std::string text =
        fmt::format("{} {} → {} {}", l.name, unit::print(l.now, kind, c.style), unit::print(l.needed, kind, c.style),
                    r.index > 1 ? "brings the index to 1" : "uses the margin up");
    f.levers.push_back({l.name, "lift", l.now, l.needed, kind, text});
  }
}

/// A hoist or a cart: what is on it against what it is rated for. Slings, hooks and floor are not looked at, and said.
void carried(Context& c, const plan::Lift& l, const std::string& operation) {
  Finding f = start(operation, l.id.value, "lift", fmt::format("carried by a {}: {}", l.by.value, l.what.value),
                    unit::Kind::mass);
  f.source = "the rating on its plate";
  f.formula = "mass that hangs or stands on it against what it is rated for";
  f.cautions = {
      fmt::format("A {} is used within its rating, inspected, by people who were shown how; slings and hooks "
                  "have ratings of their own. Nobody stands under a load. Local codes and licensed practice "
                  "decide.",
                  l.by.value)};
  const Mass m = mass_of(c, l);
  std::vector<std::string> missing = m.missing;
  if (!l.capacity.known()) missing.emplace_back("lift.capacity: what it is rated for");
  f.limit = finding::upper(l.capacity.known() ? l.capacity.si : 1);
  if (!missing.empty()) return leave_open(c, std::move(f), missing);
  plan::Number coolant;
  coolant.origin = plan::Origin::assumed, coolant.kind = unit::Kind::mass;
  coolant.si = coolant_on_pallet, coolant.low = 0, coolant.high = 0.8;
  coolant.source = "from memory: film and puddles on a hand-sized pallet";
  coolant.replaced_by = "weigh one pallet wet";
  const int wet = assume(f, coolant, "coolant that stands on it", "lift.wet");
  f.inputs = m.inputs;
  f.sentence = fmt::format("{} on a {} rated for {}.", unit::print(m.dry + coolant.si, unit::Kind::mass, c.style),
                           l.by.value, unit::print(l.capacity.si, unit::Kind::mass, c.style));
  settle(c, std::move(f), [&](const std::vector<double>& v) { return m.dry + at(v, wet, 0); });
}

void one_lift(Context& c, const plan::Lift& l, const std::string& operation) {
  if (l.by.value == "hoist" || l.by.value == "cart") return carried(c, l, operation);
  Finding f =
      start(operation, l.id.value, "lift",
            fmt::format("lifting: {}", l.what.value == "given mass" ? l.id.value : l.what.value), unit::Kind::number);
  f.limit = finding::upper(1);
  f.source = source;
  f.formula = "lifting index = load / (23 kg × reach × height × travel × twist × frequency × grip), the worse end";
  f.cautions = lifting::cautions();
  const Mass m = mass_of(c, l);
  std::vector<std::string> missing = m.missing;
  const auto need = [&](bool there, const char* key) {
    if (!there) missing.emplace_back(key);
  };
  need(l.from.reach.known(), "lift.from.reach: ankles to hands where it is picked up");
  need(l.from.height.known(), "lift.from.height: hands above the floor where it is picked up");
  need(l.to.reach.known(), "lift.to.reach: ankles to hands where it is set down");
  need(l.to.height.known(), "lift.to.height: hands above the floor where it is set down");
  need(l.coupling.known(), "lift.coupling: good, fair or poor grip");
  if (!missing.empty()) {
    leave_open(c, std::move(f), missing);
    return;
  }
  plan::Number coolant;  // a pallet of which nobody says that it is dry may come out wet
  if (!l.wet.known() || l.wet.value) {
    coolant.origin = plan::Origin::assumed;
    coolant.kind = unit::Kind::mass;
    coolant.si = l.what.value == "loaded pallet" || l.wet.known() ? coolant_on_pallet : 0.0;
    coolant.low = l.wet.known() ? 0.1 : 0.0;
    coolant.high = l.what.value == "loaded pallet" || l.wet.known() ? 0.8 : 0.1;
    coolant.source = "from memory: film and puddles on a hand-sized pallet";
    coolant.replaced_by = "weigh one pallet wet";
  }
  const int wet = assume(f, coolant, "coolant that stands on it", "lift.wet");
  const int frequency = assume(f, l.frequency, "lifts per minute", "lift.frequency");
  const auto solve_at = [&](const std::vector<double>& v) {
    lifting::Inputs in = inputs_of(l, m.dry + at(v, wet, 0));
    in.frequency = at(v, frequency, l.frequency.si);
    return c.memo.call("lifting", lifting::solve, in);
  };
  std::vector<double> stated;
  for (const auto& a : f.assumptions) stated.push_back(a.value);
  const auto result = solve_at(stated);
  if (!result->ok()) {
    for (const Problem& p : result->problems()) missing.push_back("lift." + l.id.value + ": " + say(p));
    leave_open(c, std::move(f), missing);
    return;
  }
  const lifting::Result& r = result->value();
  f.inputs = m.inputs;
  f.inputs.push_back({"recommended weight limit", r.limit, unit::Kind::mass, {}});
  f.inputs.push_back({"governing end", 0, unit::Kind::number,
                      r.destination_governs ? "where it is set down" : "where it is picked up"});
  f.inputs.push_back({"what takes most", r.hurts_factor, unit::Kind::number,
                      fmt::format("{} (factor {})", r.hurts, base::fixed(r.hurts_factor, 2))});
  for (const std::string& a : r.assumed) f.inputs.push_back({"not said", 0, unit::Kind::number, a});
  levers(c, f, r, m, at(stated, wet, 0));
  f.sentence = fmt::format("{} to lift against a recommended {}: index {}. What takes most is the {}, {}.",
                           unit::print(m.dry + at(stated, wet, 0), unit::Kind::mass, c.style),
                           unit::print(r.limit, unit::Kind::mass, c.style), base::fixed(r.index, 2), r.hurts,
                           r.destination_governs ? "where it is set down" : "where it is picked up");
  f.range = r.beyond;
  settle(c, std::move(f), [&](const std::vector<double>& v) {
    const auto x = solve_at(v);
    if (!x->ok() || !x->value().beyond.empty()) return std::numeric_limits<double>::quiet_NaN();
    return x->value().index;
  });
}

/// kg; up to this a single part is not asked about. HSE INDG143, guideline filter: lifted at arm's length between
/// knuckle and elbow height, the lower of its two columns (from memory).
constexpr double asked_from = 7;

/// A casting that people lift into vises, fixtures and chucks, and of which nobody said how.
void part_by_hand(Context& c) {
  const plan::Number& mass = c.plan.casting.mass.known() ? c.plan.casting.mass : c.plan.part.mass;
  if (!mass.known() || !(mass.si > asked_from)) return;
  const auto said = [](const plan::Lift& l) { return l.what.value != "loaded pallet"; };
  if (std::any_of(c.plan.lifts.begin(), c.plan.lifts.end(), said)) return;
  std::vector<std::string> loads;
  for (const plan::Operation& o : c.plan.operations)
    for (const char* kind : {"grind", "vise", "vise gang", "jaw carrier", "pallet", "chuck", "fixture"})
      if (o.kind.value == kind) loads.push_back(o.id.value);
  if (loads.empty()) return;
  Finding f = start("", "part", "lift", "lifting: one part into its clampings", unit::Kind::number);
  f.limit = finding::upper(1);
  f.source = source;
  f.formula = "lifting index = load / (23 kg × reach × height × travel × twist × frequency × grip), the worse end";
  f.cautions = lifting::cautions();
  f.inputs = {{c.plan.casting.mass.known() ? "raw casting" : "finished part", mass.si, unit::Kind::mass, {}},
              {"loaded in", static_cast<double>(loads.size()), unit::Kind::number, base::join(loads, ", ")}};
  const std::string what = c.plan.casting.mass.known() ? "casting" : "part";
  leave_open(c, std::move(f),
             {fmt::format("lift: what = \"{}\" ({}, lifted in {}), heights and reach by tape, how often; or by = "
                          "\"hoist\" with its capacity",
                          what, unit::print(mass.si, unit::Kind::mass, c.style), base::join(loads, ", "))});
}

}  // namespace

void lifting_findings(Context& c) {
  std::string operation;
  for (const plan::Operation& o : c.plan.operations)
    if (o.kind.value == "pallet") operation = o.id.value;
  for (const plan::Lift& l : c.plan.lifts) one_lift(c, l, l.what.value == "loaded pallet" ? operation : "");
  part_by_hand(c);
  const bool said = std::any_of(c.plan.lifts.begin(), c.plan.lifts.end(),
                                [](const plan::Lift& l) { return l.what.value == "loaded pallet"; });
  if (!said && nests_of(c.plan.pallet) > 0) {
    Finding f = start(operation, "pallet", "lift", "lifting: loaded pallet", unit::Kind::number);
    f.limit = finding::upper(1);
    f.source = source;
    f.cautions = lifting::cautions();
    leave_open(c, std::move(f), {"lift: heights and reach by tape, how often; or by = \"hoist\" with its capacity"});
  }
}

}  // namespace fettle::study
