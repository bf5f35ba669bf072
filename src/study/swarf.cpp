#include "study/swarf.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "calc/run_off/run_off.h"
#include "ref/materials.h"
#include "study/plan_times.h"

namespace fettle::study {

using finding::Finding;
using unit::Kind;

namespace {

constexpr double working_days = 5;  // of a week: common practice

bool takes_metal(const plan::Operation& o) { return !o.makes.value.empty() || !o.cuts.empty(); }

/// Mass of a part at one place of the route: before the operation of that number.
struct Weighed {
  std::size_t before = 0;
  double mass = 0;
};
std::vector<Weighed> weighed(const plan::Plan& plan) {
  std::vector<Weighed> out;
  if (plan.casting.mass.known()) out.push_back({0, plan.casting.mass.si});
  for (std::size_t i = 0; i < plan.operations.size(); ++i)
    if (plan.operations[i].kind.value == "pallet") {
      // As heavy as the casting after something was cut: a guess on the safe side for lifting, nobody weighed it.
      if (const plan::Number& m = plan.pallet.loaded_part_mass;
          m.known() && !(plan.casting.mass.known() && m.si >= plan.casting.mass.si))
        out.push_back({i, m.si});
      break;
    }
  if (plan.part.mass.known()) out.push_back({plan.operations.size(), plan.part.mass.si});
  return out;
}

/// What one machine takes off a part. Where other operations stand between the same two weighings, all of it is its.
struct TakenOff {
  double mass = 0;
  std::vector<std::string> shared;  ///< operations that take some of it
  std::vector<std::string> missing;
};
TakenOff taken_off(const plan::Plan& plan, const std::string& machine) {
  TakenOff t;
  const std::vector<Weighed> marks = weighed(plan);
  std::vector<char> counted(marks.size(), 0);
  for (std::size_t i = 0; i < plan.operations.size(); ++i) {
    const plan::Operation& o = plan.operations[i];
    if (o.machine.value != machine || !takes_metal(o)) continue;
    std::size_t after = 0;
    while (after < marks.size() && marks[after].before <= i) ++after;
    if (after == 0 && !plan.casting.mass.known()) t.missing.emplace_back("casting.mass: weigh ten castings");
    if (after == marks.size()) t.missing.emplace_back("part.mass: weigh a finished part");
    if (!t.missing.empty()) return t;
    if (counted[after] != 0) continue;
    counted[after] = 1;
    const Weighed &from = marks[after - 1], &to = marks[after];
    if (!(from.mass > to.mass))
      return {0, {}, {"casting.mass, pallet.loaded_part_mass, part.mass: a part grows no lighter on its way"}};
    t.mass += from.mass - to.mass;
    for (std::size_t k = from.before; k < to.before; ++k)
      if (takes_metal(plan.operations[k]) && plan.operations[k].machine.value != machine)
        t.shared.push_back(plan.operations[k].id.value);
  }
  return t;
}

/// Loose swarf as it lies. Broken chips of grey iron lie at 2 to 2.88 kg/L; curled ones of what is tough far looser.
plan::Number loose(const plan::Plan& plan) {
  const plan::Text& grade = plan.casting.grade.known() ? plan.casting.grade : plan.part.material;
  const auto m = ref::material(grade.value);
  const double metal = m.ok() ? m->density.value : plan.part.density.known() ? plan.part.density.si : 7200;
  const std::string replaced_by = "weigh a bucket of it";
  if (m.ok() && m->group == "grey iron")
    return assumed(Kind::density, 2000, 2000, 2880, "loose iron fines, 125 to 180 lb/ft3: a printed list", replaced_by);
  return assumed(Kind::density, 0.1 * metal, 0.04 * metal, 0.3 * metal,
                 "from memory: curled chips lie at a twenty-fifth of their metal, broken ones at a third", replaced_by);
}

/// What both questions of one machine stand on.
struct Bins {
  const plan::Machine* machine = nullptr;
  TakenOff off;
  double per_week = 0;  ///< parts
};

std::vector<std::string> missing_for(const Bins& b, const plan::Number& holds, const char* key) {
  std::vector<std::string> out = b.off.missing;
  if (!holds.known()) out.emplace_back(key);
  if (!(b.per_week > 0)) out.emplace_back("demand.per_week: good parts a week");
  return out;
}

run_off::Swarf swarf_inputs(const Bins& b, double density, double days) {
  run_off::Swarf s;
  s.per_part = b.off.mass;
  s.per_week = b.per_week;
  s.loose_low = density;
  s.loose_high = std::max(density, s.loose_high);
  s.days = days;
  return s;
}

Finding begin_swarf(const Bins& b, const char* question, std::string title) {
  Finding f = start("shop", b.machine->id.value, question, std::move(title), Kind::number);
  f.limit = finding::lower(1);
  f.source = "loose swarf by its mass; limit common practice";
  return f;
}

/// Bins are sold and swarf is shovelled in litres or gallons.
std::string bin_words(const Context& c, double volume) {
  const bool inch = c.style.system == unit::Style::System::inch;
  const double v = inch ? volume / 3.785411784e-3 : volume * 1e3;
  return base::fixed(v, v < 10 ? 1 : 0) + (inch ? " gal" : " L");
}

void add_masses(const Context& c, Finding& f, const Bins& b, double density) {
  f.inputs.push_back({"taken off a part here", b.off.mass, Kind::mass,
                      b.off.shared.empty()
                          ? std::string()
                          : fmt::format("at most {}: {} take some of it, nobody said how much",
                                        unit::print(b.off.mass, Kind::mass, c.style), base::join(b.off.shared, ", "))});
  f.inputs.push_back({"good parts a week", b.per_week, Kind::number, {}});
  f.inputs.push_back({"swarf of a week", b.off.mass * b.per_week, Kind::mass, {}});
  const double loose_volume = b.off.mass * b.per_week / density;
  f.inputs.push_back({"the same, loose", loose_volume, Kind::volume, bin_words(c, loose_volume)});
}

/// The lever that stands on the limit when `now` is divided by how many times the value is inside it.
void used_up(Finding& f, const char* name, const char* key, const std::string& from, const std::string& to, double now,
             double flip, Kind kind) {
  f.levers.push_back({name, key, now, flip, kind,
                      fmt::format("{} {} → {} {}", name, from, to,
                                  finding::within(f.value, f.limit) ? "uses the margin up" : "brings it inside")});
}

void bin_lasts(Context& c, const Bins& b) {
  Finding f = begin_swarf(b, "bin_lasts", "swarf bin of machine " + b.machine->id.value + " takes a shift");
  f.formula = "volume of the bin over loose swarf of a working day; one shift without a person at the bin";
  f.cautions = {"A full bin is heavy, and wet iron swarf heats: move it by truck or hoist. Local codes decide."};
  const plan::Number& bin = b.machine->bin;
  const auto missing = missing_for(b, bin, "machine.bin: what the swarf bin holds");
  if (!missing.empty()) return leave_open(c, std::move(f), missing);
  const plan::Number density = loose(c.plan);
  const plan::Number days = assumed(Kind::number, working_days, 2, working_days,
                                    "common practice: a week's parts spread over it; in lots they may come in two days",
                                    "look at the shifts");
  const int at_bin = assume(f, bin, "what the bin holds", "machine.bin");
  const int at_density = assume(f, density, "loose swarf", "machine.bin");
  const int at_days = assume(f, days, "days on which a week's parts are made", "demand.per_week");
  const auto lasts = [&](double holds, double loose_density, double over) {
    run_off::Swarf s = swarf_inputs(b, loose_density, over);
    s.bin = holds;
    const auto r = run_off::swarf(s);
    return r.ok() && r->bin_days ? *r->bin_days : std::numeric_limits<double>::quiet_NaN();
  };
  f.value = lasts(bin.si, density.si, days.si);
  f.text = base::fixed(f.value, 1) + " working days";
  add_masses(c, f, b, density.si);
  used_up(f, "volume of the bin", "machine.bin", bin_words(c, bin.si), bin_words(c, bin.si / f.value), bin.si,
          bin.si / f.value, Kind::volume);
  used_up(f, "good parts a week", "demand.per_week", base::fixed(b.per_week, 0), base::fixed(b.per_week * f.value, 0),
          b.per_week, b.per_week * f.value, Kind::number);
  f.sentence = fmt::format("The bin of {} is full after {} working days: {} of loose swarf come a week{}.",
                           bin_words(c, bin.si), base::fixed(f.value, 1),
                           bin_words(c, b.off.mass * b.per_week / density.si), b.off.shared.empty() ? "" : " at most");
  settle(c, std::move(f), [&](const std::vector<double>& v) {
    return lasts(at(v, at_bin, bin.si), at(v, at_density, density.si), at(v, at_days, days.si));
  });
}

void filter_lasts(Context& c, const Bins& b) {
  Finding f = begin_swarf(b, "filter_lasts", "coolant filter of machine " + b.machine->id.value + " takes a week");
  f.formula = "what the filter holds over share of fines x swarf of a week; changed at the week's end";
  f.cautions = {"Fines and old coolant harm skin and lungs: gloves, no compressed air. Local codes decide."};
  const plan::Number &filter = b.machine->filter, &fines = b.machine->fines;
  const auto missing = missing_for(b, filter, "machine.filter: fines that the coolant filter holds");
  if (!missing.empty()) return leave_open(c, std::move(f), missing);
  const int at_filter = assume(f, filter, "what the filter holds", "machine.filter");
  const int at_fines = assume(f, fines, "fines of the swarf", "machine.fines");
  const auto lasts = [&](double holds, double share) {
    run_off::Swarf s = swarf_inputs(b, 2000, working_days);
    s.filter = holds;
    s.fines = share;
    const auto r = run_off::swarf(s);
    return r.ok() && r->filter_days ? *r->filter_days / working_days : std::numeric_limits<double>::quiet_NaN();
  };
  f.value = lasts(filter.si, fines.si);
  f.text = base::fixed(f.value, 1) + " weeks";
  add_masses(c, f, b, 2000);
  f.inputs.push_back({"fines of a week", b.off.mass * b.per_week * fines.si, Kind::mass, {}});
  used_up(f, "what the filter holds", "machine.filter", unit::print(filter.si, Kind::mass, c.style),
          unit::print(filter.si / f.value, Kind::mass, c.style), filter.si, filter.si / f.value, Kind::mass);
  if (fines.si * f.value <= 1)
    used_up(f, "fines of the swarf", "machine.fines", unit::print(fines.si, Kind::fraction, c.style),
            unit::print(fines.si * f.value, Kind::fraction, c.style), fines.si, fines.si * f.value, Kind::fraction);
  f.sentence = fmt::format("The filter takes {} of fines and is full after {} weeks: {} come a week{}.",
                           unit::print(filter.si, Kind::mass, c.style), base::fixed(f.value, 1),
                           unit::print(b.off.mass * b.per_week * fines.si, Kind::mass, c.style),
                           b.off.shared.empty() ? "" : " at most");
  settle(c, std::move(f),
         [&](const std::vector<double>& v) { return lasts(at(v, at_filter, filter.si), at(v, at_fines, fines.si)); });
}

}  // namespace

void swarf_findings(Context& c) {
  std::vector<std::string> seen;
  for (const plan::Operation& o : c.plan.operations) {
    if (o.cuts.empty() || std::find(seen.begin(), seen.end(), o.machine.value) != seen.end()) continue;
    seen.push_back(o.machine.value);
    Bins b;
    b.machine = find_machine(c.plan, o.machine.value);
    if (b.machine == nullptr) continue;
    b.off = taken_off(c.plan, o.machine.value);
    b.per_week = c.plan.demand.per_week.known() ? c.plan.demand.per_week.si : 0;
    bin_lasts(c, b);
    if (b.machine->coolant.known() && b.machine->coolant.si > 0) filter_lasts(c, b);
  }
}

}  // namespace fettle::study
