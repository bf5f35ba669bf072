// Coolant and swarf on a pallet: do the troughs hold what flows in, do they carry the grains, what stays?
#include "calc/run_off/run_off.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "maths/height_field.h"
#include "ref/materials.h"
#include "study/coolant_pools.h"
#include "study/internal.h"
#include "study/plate_model.h"
#include "study/swarf.h"

namespace fettle::study {

using finding::Finding;
using frame::Vec3;
using unit::Kind;

namespace {

constexpr double coolant_density = 1000;

const plan::Operation* pallet_operation(const plan::Plan& plan) {
  for (const plan::Operation& o : plan.operations)
    if (o.kind.value == "pallet") return &o;
  return nullptr;
}

double part_density(const plan::Plan& plan) {
  if (plan.part.density.known()) return plan.part.density.si;
  const auto m = ref::material(plan.part.material.value);
  return m.ok() ? m->density.value : 7200;
}

/// The troughs of one run-off as the pallet has them: from behind each nest's middle along one axis to a channel across
/// the middle of the pallet, and along that to its hole.
struct Layout {
  const plan::RunOff* r = nullptr;
  double length = 0;  ///< m, longest trough of a nest, to the channel across
  double across = 0;  ///< m, longest way along that channel to its outlet; 0: there is none
  int on_a_side = 1;  ///< nests that drain through one half of the channel
  int nests = 0;
};
Layout layout_of(const plan::Plan& plan, const plan::RunOff& r) {
  Layout l;
  l.r = &r;
  const bool along_y = r.along.value != "x";
  int sides[2] = {0, 0};
  for (const plan::Nest& n : plan.pallet.nests)
    for (const Vec3& at : n.at.value) {
      const double run = std::fabs(along_y ? at.y : at.x), off = along_y ? at.x : at.y;
      ++l.nests;
      ++sides[off > 0 ? 1 : 0];
      l.length = std::max(l.length, run);
      l.across = std::max(l.across, std::fabs(off));
    }
  l.on_a_side = std::max({1, sides[0], sides[1]});
  const double half_hole = r.exit_diameter.known() ? 0.5 * r.exit_diameter.si : 0;
  if (l.across > 0) {
    l.length = std::max(0.0, l.length - 0.5 * r.width.si);
    l.across = std::max(0.0, l.across - half_hole);
  } else {
    l.length = std::max(0.0, l.length - half_hole);
  }
  return l;
}

/// What is moved when a lever is looked for, as factors, and a slope instead of the plan's.
struct Change {
  double width = 1, depth = 1, flow = 1;
  std::optional<double> slope;
};

run_off::Inputs inputs_of(const plan::Plan& plan, const Layout& l, double at_once, double friction, double grain,
                          const Change& by = {}) {
  const plan::RunOff& r = *l.r;
  run_off::Inputs in;
  in.coolant.friction = friction;
  in.grain.size = grain;
  in.grain.density = part_density(plan);
  const double slope = by.slope ? *by.slope : r.slope.known() ? std::tan(r.slope.si) : 0;
  const double width = r.width.si * by.width, depth = r.depth.si * by.depth, flow = r.flow.si * by.flow;
  const double side = std::clamp(at_once, 1.0, static_cast<double>(l.on_a_side));
  if (l.across > 0) in.reaches.push_back({"channel across", width, depth, l.across, slope, side * flow});
  in.reaches.push_back({"trough of a nest", width, depth, l.length, slope, flow});
  if (r.exit_diameter.known()) {
    in.hole = r.exit_diameter.si;
    in.hole_flow = std::clamp(at_once, 1.0, static_cast<double>(l.nests)) * flow;
  }
  return in;
}

double deepest(const run_off::Result& r) {
  double most = 0;
  for (const auto& x : r.reaches) most = std::max(most, x.closed_end);
  return most;
}
double least_shear(const run_off::Result& r) {
  double least = std::numeric_limits<double>::infinity();
  for (const auto& x : r.reaches) least = std::min(least, x.shear_feed);
  return least;
}

/// The assumed numbers of a trough; their indices in a finding.
struct Assumed {
  plan::Number friction = assumed(Kind::number, 0.03, 0.025, 0.045, "common practice: small smooth channels",
                                  "time a cork over a length of the trough");
  plan::Number at_once, grain;
  int at_friction = -1, at_nests = -1, at_grain = -1;
};
Assumed assume_for(Finding& f, const Layout& l, bool grains) {
  Assumed a;
  a.at_once = assumed(Kind::number, 1, 1, l.nests,
                      "common practice: the spindle's coolant falls on one nest at a time; washing down fills all",
                      "look at the pallet while it runs");
  a.grain = assumed(Kind::length, 0.5e-3, 0.1e-3, 1e-3, "from memory: milled grey iron breaks into grains and dust",
                    "sieve a handful of swarf");
  a.at_friction = assume(f, a.friction, "friction factor of the trough", "pallet.run_off");
  if (l.nests > 1) a.at_nests = assume(f, a.at_once, "nests that run at once", "pallet.run_off.flow");
  if (grains) a.at_grain = assume(f, a.grain, "size of the swarf grains", "pallet.run_off");
  return a;
}

std::vector<std::string> missing_of(const plan::Plan& plan, const plan::RunOff& r) {
  std::vector<std::string> out;
  const auto need = [&](const plan::Number& n, const char* what) {
    if (!n.known()) out.emplace_back(what);
  };
  need(r.width, "pallet.run_off.width: of the trough");
  need(r.depth, "pallet.run_off.depth: of the trough");
  need(r.flow, "pallet.run_off.flow: coolant into it, bucket and stopwatch");
  if (plan.pallet.nests.empty()) out.emplace_back("pallet.nest: where the parts sit");
  return out;
}

Finding begin(const std::string& operation, const std::string& feature, std::string_view question, std::string title,
              Kind kind) {
  Finding f = start(operation, feature, question, std::move(title), kind);
  f.cautions = {
      "Coolant on the floor makes people slip; its mist and swarf hurt eyes and skin: guards shut, eyes covered. "
      "Local codes decide."};
  return f;
}

/// One number of the trough moved alone until the finding stands on its limit. `off` gives value less limit.
void factor_lever(Context& c, Finding& f, const char* name, const char* key, const plan::Number& now, double low,
                  double high, const std::function<double(double)>& off) {
  double x = flip(off, 1, high);
  if (!std::isfinite(x)) x = flip(off, 1, low);
  if (!std::isfinite(x) || !now.known()) return;
  f.levers.push_back({name, key, now.si, now.si * x, now.kind,
                      fmt::format("{} {} → {} {}", name, unit::print(now.si, now.kind, c.style),
                                  unit::print(now.si * x, now.kind, c.style),
                                  finding::within(f.value, f.limit) ? "uses the margin up" : "brings it inside")});
}

void trough_holds(Context& c, const Layout& l, const std::string& operation, const std::string& feature) {
  Finding f = begin(operation, feature, "trough_holds", "trough holds its coolant", Kind::length);
  f.formula =
      "critical depth (q^2/g)^(1/3) where it falls, energy line up the trough, y sqrt(1 + 2 q^2/(g y^3)) at the closed "
      "end; against the trough's depth";
  f.source = "open-channel hydraulics: critical depth, momentum; friction factor common practice";
  const plan::RunOff& r = *l.r;
  f.limit = finding::upper(r.depth.known() ? r.depth.si : 1);
  const auto missing = missing_of(c.plan, r);
  if (!missing.empty()) return leave_open(c, std::move(f), missing);
  const Assumed a = assume_for(f, l, false);
  const auto solve = [&](double nests, double friction, const Change& by) {
    return *c.memo.call("troughs", run_off::solve, inputs_of(c.plan, l, nests, friction, 0.5e-3, by));
  };
  const auto stated = solve(1, a.friction.si, {});
  if (!stated.ok()) return leave_open(c, std::move(f), {"pallet.run_off: " + say(stated.problem())});
  f.value = deepest(*stated);
  for (const auto& x : stated->reaches) {
    f.inputs.push_back({x.name + ", critical depth", x.critical, Kind::length, {}});
    f.inputs.push_back({x.name + ", depth at the closed end", x.closed_end, Kind::length, {}});
    f.inputs.push_back({x.name + ", speed at its end", x.speed, Kind::speed, {}});
  }
  if (r.exit_diameter.known())
    f.inputs.push_back({"water over the hole that it runs through", stated->hole_head, Kind::length, {}});
  const auto off = [&](const Change& by) {
    const auto x = solve(1, a.friction.si, by);
    return x.ok() ? deepest(*x) - r.depth.si * by.depth : std::numeric_limits<double>::quiet_NaN();
  };
  factor_lever(c, f, "depth of the trough", "pallet.run_off.depth", r.depth, 0.2, 5, [&](double x) {
    return off({1, x, 1, {}});
  });
  factor_lever(c, f, "width of the trough", "pallet.run_off.width", r.width, 0.2, 5, [&](double x) {
    return off({x, 1, 1, {}});
  });
  factor_lever(c, f, "coolant into it", "pallet.run_off.flow", r.flow, 0.05, 10, [&](double x) {
    return off({1, 1, x, {}});
  });
  f.sentence = fmt::format("{} of coolant stand {} deep at the closed end of a trough {} deep.",
                           unit::print(r.flow.si, Kind::flow, c.style), mm(c, f.value), mm(c, r.depth.si));
  settle(c, std::move(f), [&](const std::vector<double>& v) {
    const auto x = solve(at(v, a.at_nests, 1), at(v, a.at_friction, a.friction.si), {});
    return x.ok() ? deepest(*x) : std::numeric_limits<double>::quiet_NaN();
  });
}

/// Swarf of a part on this pallet, kg; nothing where the plan does not say both masses.
std::optional<double> swarf_of(const plan::Plan& plan) {
  const plan::Number& before = plan.pallet.loaded_part_mass.known() ? plan.pallet.loaded_part_mass : plan.casting.mass;
  if (!before.known() || !plan.part.mass.known() || !(before.si >= plan.part.mass.si)) return std::nullopt;
  return before.si - plan.part.mass.si;
}

void add_swarf(const Context& c, Finding& f, const Layout& l) {
  const auto mass = swarf_of(c.plan);
  if (!mass) {
    f.inputs.push_back({"swarf of a part", 0, Kind::number, "not said: pallet.loaded_part_mass and part.mass"});
    return;
  }
  run_off::Swarf s;
  s.per_part = *mass;
  const int pallets = c.plan.pallet.on_table.known() ? c.plan.pallet.on_table.value : 1;
  s.per_set = static_cast<double>(l.nests) * pallets;
  s.per_week = c.plan.demand.per_week.known() ? c.plan.demand.per_week.si : 0;
  const auto r = run_off::swarf(s);
  if (!r.ok()) return;
  f.inputs.push_back({"swarf of a part", *mass, Kind::mass, {}});
  f.inputs.push_back({"loose swarf of a part, at 2 kg/L", r->part_volume, Kind::volume, {}});
  f.inputs.push_back({"swarf of a set", r->set_mass, Kind::mass, {}});
  f.inputs.push_back({"loose swarf of a set", r->set_volume, Kind::volume, {}});
  if (s.per_week > 0) {
    f.inputs.push_back({"swarf of a week's good parts", r->week_mass, Kind::mass, {}});
    f.inputs.push_back({"loose swarf of a week", r->week_volume, Kind::volume, {}});
  }
  const plan::RunOff& t = *l.r;
  f.inputs.push_back({"room in the trough of a nest",
                      t.width.si * t.depth.si * (l.length + (t.closed_end.known() ? t.closed_end.si : 0)),
                      Kind::volume,
                      {}});
}

void grains_carried(Context& c, const Layout& l, const std::string& operation, const std::string& feature) {
  Finding f = begin(operation, feature, "grains_carried", "coolant carries the swarf along the trough", Kind::number);
  f.limit = finding::lower(1);
  f.formula = "least bed shear friction x density x speed^2 / 8 over the shear that moves a loose grain (Shields)";
  f.source = "Soulsby, Dynamics of Marine Sands, 1997, threshold of motion; open-channel hydraulics";
  f.cautions.emplace_back(
      "Fines that settle and dry cake together: then no such flow moves them, and this number does not hold. Rinse "
      "before a break and before the week's end.");
  const plan::RunOff& r = *l.r;
  const auto missing = missing_of(c.plan, r);
  if (!missing.empty()) return leave_open(c, std::move(f), missing);
  const Assumed a = assume_for(f, l, true);
  const auto solve = [&](double nests, double friction, double grain, const Change& by) {
    return *c.memo.call("troughs", run_off::solve, inputs_of(c.plan, l, nests, friction, grain, by));
  };
  const auto ratio = [](const Outcome<run_off::Result>& x) {
    return x.ok() && x->beyond.empty() ? least_shear(*x) / x->threshold : std::numeric_limits<double>::quiet_NaN();
  };
  const auto stated = solve(1, a.friction.si, a.grain.si, {});
  if (!stated.ok()) return leave_open(c, std::move(f), {"pallet.run_off: " + say(stated.problem())});
  // A rinsing jet moves what the stream leaves: its speed at the bed falls with the distance from the nozzle.
  const double nozzle = 6e-3, away = 0.1, jet = run_off::jet_flow(nozzle, away, stated->speed_needed);
  const auto by_jet = [&](const Outcome<run_off::Result>& x) {
    if (!r.jet.known() || !x.ok() || !x->beyond.empty()) return ratio(x);
    const double speeds = r.jet.si / run_off::jet_flow(nozzle, away, x->speed_needed);
    return std::max(ratio(x), speeds * speeds);
  };
  f.value = by_jet(stated);
  if (r.jet.known())
    f.inputs.push_back({"rinsing jet", r.jet.si, Kind::flow,
                        fmt::format("{} from a nozzle of {}, taken as {} away",
                                    unit::print(r.jet.si, Kind::flow, c.style), mm(c, nozzle), mm(c, away))});
  f.inputs.push_back({"least shear on the bed", least_shear(*stated), Kind::pressure, {}});
  f.inputs.push_back({"shear that moves the grain", stated->threshold, Kind::pressure, {}});
  f.inputs.push_back({"largest loose grain that is carried", stated->carried, Kind::length, {}});
  f.inputs.push_back({"speed along the bed that moves the grain", stated->speed_needed, Kind::speed, {}});
  add_swarf(c, f, l);
  run_off::Coolant coolant;
  coolant.friction = a.friction.si;
  const auto slope = run_off::slope_to_carry(stated->threshold, r.flow.si, r.width.si, coolant);
  if (slope) f.inputs.push_back({"slope at which even flow carries the grain", *slope, Kind::fraction, {}});
  const double now = r.slope.known() ? std::tan(r.slope.si) : 0;
  const auto by_slope = [&](double x) { return by_jet(solve(1, a.friction.si, a.grain.si, {1, 1, 1, x})) - 1; };
  const double steep = flip(by_slope, now, finding::within(f.value, f.limit) ? 0 : 1);
  if (std::isfinite(steep))
    f.levers.push_back(
        {"slope of the trough", "pallet.run_off.slope", std::atan(now), std::atan(steep), Kind::angle,
         fmt::format("slope of the trough {} → {} ({} %) {}", unit::print(std::atan(now), Kind::angle, c.style),
                     unit::print(std::atan(steep), Kind::angle, c.style), base::fixed(100 * steep, 1),
                     finding::within(f.value, f.limit) ? "uses the margin up" : "brings it inside")});
  f.levers.push_back({"rinsing jet", "pallet.run_off.jet", r.jet.known() ? r.jet.si : 0, jet, Kind::flow,
                      fmt::format("a jet of {} from a nozzle of {} {} away moves the grain",
                                  unit::print(jet, Kind::flow, c.style), mm(c, nozzle), mm(c, away))});
  factor_lever(c, f, "coolant into it", "pallet.run_off.flow", r.flow, 0.02, 50, [&](double x) {
    return by_jet(solve(1, a.friction.si, a.grain.si, {1, 1, x, {}})) - 1;
  });
  f.sentence = stated->carried > 0
                   ? fmt::format("Loose grains up to {} are carried; those of {} need {} times the shear.",
                                 mm(c, stated->carried), mm(c, a.grain.si), base::fixed(1 / f.value, 1))
                   : fmt::format("Not even fine dust is carried; grains of {} need {} times the shear.",
                                 mm(c, a.grain.si), base::fixed(1 / f.value, 1));
  if (finding::within(f.value, f.limit) && !finding::within(ratio(stated), f.limit))
    f.sentence = fmt::format("The stream alone leaves grains of {}; the rinsing jet moves them.", mm(c, a.grain.si));
  else if (finding::within(f.value, f.limit))
    f.sentence =
        fmt::format("Loose grains up to {} are carried, {} were looked at.", mm(c, stated->carried), mm(c, a.grain.si));
  settle(c, std::move(f), [&](const std::vector<double>& v) {
    return by_jet(solve(at(v, a.at_nests, 1), at(v, a.at_friction, a.friction.si), at(v, a.at_grain, a.grain.si), {}));
  });
}

CoolantStays stays_of(maths::HeightField field, std::vector<char> outlet, double level_area) {
  CoolantStays s;
  s.level = maths::flood(field, outlet, true);
  s.pools = maths::pools(field, s.level);
  s.field = std::move(field), s.outlet = std::move(outlet), s.level_area = level_area;
  return s;
}

}  // namespace

double CoolantStays::volume() const {
  double v = 0;
  for (const maths::Pool& p : pools) v += p.volume;
  return v;
}

CoolantStays plate_coolant(const plan::Plan& plan) {
  const auto& size = plan.pallet.plate.size.value;
  const double cell = std::max(1e-3, std::max(size[0], size[1]) / 600);
  maths::HeightField f(static_cast<int>(std::lround(size[0] / cell)), static_cast<int>(std::lround(size[1] / cell)),
                       -0.5 * size[0], -0.5 * size[1], cell, 0);
  std::vector<char> outlet(f.z.size(), 0);
  for (const structure::Relief& r : plate_reliefs(plan)) {
    const double reach = r.round ? 0.5 * r.diameter : 0.5 * std::hypot(r.size_x, r.size_y);
    const double cs = std::cos(r.turn), sn = std::sin(r.turn);
    const auto index = [&](double x, double low, int n) {
      return std::clamp(static_cast<int>(std::floor((x - low) / cell)), 0, n - 1);
    };
    for (int j = index(r.y - reach, f.y0, f.ny); j <= index(r.y + reach, f.y0, f.ny); ++j)
      for (int i = index(r.x - reach, f.x0, f.nx); i <= index(r.x + reach, f.x0, f.nx); ++i) {
        const maths::Point2 p = f.middle(i, j);
        const double dx = p.x - r.x, dy = p.y - r.y;
        const bool inside =
            r.round ? std::hypot(dx, dy) <= 0.5 * r.diameter
                    : std::fabs(cs * dx + sn * dy) <= 0.5 * r.size_x && std::fabs(-sn * dx + cs * dy) <= 0.5 * r.size_y;
        if (!inside) continue;
        double& z = f.z[f.at(i, j)];
        if (r.through) outlet[f.at(i, j)] = 1;
        else z = r.depth > 0 ? std::min(z, -r.depth) : std::max(z, -r.depth);
      }
  }
  return stays_of(std::move(f), std::move(outlet), size[0] * size[1]);
}

namespace {

/// Made before the pallet is unloaded, or cored.
bool there_by_then(const plan::Plan& plan, const plan::Feature& f) {
  if (f.cast.value == "cored") return true;
  for (const plan::Operation& o : plan.operations) {
    if (std::find(o.makes.value.begin(), o.makes.value.end(), f.id.value) != o.makes.value.end()) return true;
    if (o.kind.value == "pallet") return false;
  }
  return false;
}

double size_of(const plan::Limits& l) {
  if (l.value.nominal) return *l.value.nominal;
  if (l.value.lower && l.value.upper) return 0.5 * (*l.value.lower + *l.value.upper);
  return l.value.upper ? *l.value.upper : l.value.lower ? *l.value.lower : 0;
}

}  // namespace

namespace {

struct Hollow {
  double x = 0, y = 0, low = 0, high = 0, dx = 0, dy = 0;
  bool round = false;
};
/// What decides how much a part holds.
struct PartWet {
  std::vector<double> size;
  std::vector<Hollow> hollows;  ///< the highest mouth first: a hollow opens what stands over it
};
PartWet part_wet(const plan::Plan& plan, double up) {
  PartWet out{plan.part.size.value, {}};
  const double top = out.size[2];
  for (const plan::Feature& x : plan.features) {
    const std::string& k = x.kind.value;
    const bool round = k == "bore" || k == "counterbore" || k == "hole" || k == "thread";
    if ((!round && k != "pocket" && k != "slot") || !x.from.known() || !x.to.known() || !there_by_then(plan, x))
      continue;
    if (x.normal.known() && x.normal.value.substr(1) != "z") continue;
    double dx = round ? size_of(x.diameter) : size_of(x.width), dy = round ? dx : size_of(x.length);
    if (dx <= 0 && x.thread.known()) dx = dy = x.drill.known() ? x.drill.si : x.thread.value.major;
    if (!(dx > 0) || !(dy > 0)) continue;
    const double a = std::min(x.from.si, x.to.si), b = std::max(x.from.si, x.to.si);
    for (const Vec3& at : x.at.value)
      out.hollows.push_back({at.x, up * at.y, up > 0 ? a : top - b, up > 0 ? b : top - a, dx, dy, round});
  }
  std::sort(out.hollows.begin(), out.hollows.end(), [](const Hollow& a, const Hollow& b) { return a.high > b.high; });
  return out;
}

CoolantStays coolant_in(const PartWet& part) {
  const std::vector<double>& size = part.size;
  const double cell = std::max(0.5e-3, std::max(size[0], size[1]) / 500);
  maths::HeightField f(static_cast<int>(std::lround(size[0] / cell)), static_cast<int>(std::lround(size[1] / cell)),
                       -0.5 * size[0], -0.5 * size[1], cell, size[2]);
  std::vector<char> outlet(f.z.size(), 0);
  for (const Hollow& h : part.hollows)
    for (int j = 0; j < f.ny; ++j) {
      if (std::fabs(f.middle(0, j).y - h.y) > 0.5 * h.dy) continue;
      for (int i = 0; i < f.nx; ++i) {
        const maths::Point2 p = f.middle(i, j);
        const bool inside =
            h.round ? std::hypot(p.x - h.x, p.y - h.y) <= 0.5 * h.dx : std::fabs(p.x - h.x) <= 0.5 * h.dx;
        double& z = f.z[f.at(i, j)];
        if (!inside || h.high < z - 1e-6) continue;
        z = std::min(z, h.low);
        if (z <= 1e-6) outlet[f.at(i, j)] = 1;
      }
    }
  return stays_of(std::move(f), std::move(outlet), size[0] * size[1]);
}

struct PlateWet {
  std::vector<double> size;
  std::vector<structure::Relief> reliefs;
};

/// What a finding needs of it: the fields are large, and only pictures want them.
struct Wet {
  double volume = 0, level_area = 0;
  std::vector<maths::Pool> pools;
};
Wet wet_of(const CoolantStays& s) { return {s.volume(), s.level_area, s.pools}; }

}  // namespace

CoolantStays part_coolant(const plan::Plan& plan, double up) { return coolant_in(part_wet(plan, up)); }

namespace {

/// What lifting counts on. A hoist carries what its capacity leaves over the loaded pallet; people 0.3 kg.
double wet_allowed(const plan::Plan& plan) {
  double allowed = std::numeric_limits<double>::infinity();
  for (const plan::Lift& l : plan.lifts) {
    if ((l.by.value != "hoist" && l.by.value != "cart") || !l.capacity.known() || !plan.pallet.empty_mass.known() ||
        !plan.pallet.loaded_part_mass.known())
      return coolant_on_pallet;
    const double loaded = plan.pallet.empty_mass.si + nest_count(plan) * plan.pallet.loaded_part_mass.si;
    allowed = std::min(allowed, l.capacity.si - loaded);
  }
  return std::isfinite(allowed) ? allowed : coolant_on_pallet;
}

void coolant_stays(Context& c, const plan::Operation& o) {
  Finding f = begin(o.id.value, "pallet", "coolant_stays", "coolant that stays on the loaded pallet", Kind::mass);
  const double allowed = wet_allowed(c.plan);
  f.limit = finding::upper(allowed);
  f.formula = "hollows of plate and parts that do not drain, flooded from edges and holes, and a film on level faces";
  f.source =
      "priority-flood (Barnes, Lehman, Mulla 2014); limit: what lifting counts on, 0.3 kg, from memory, or what the "
      "hoist's capacity leaves over the loaded pallet";
  std::vector<std::string> missing;
  if (c.plan.pallet.plate.size.value.size() != 3)
    missing.emplace_back("pallet.plate.size: length, width and thickness");
  if (nest_count(c.plan) == 0) missing.emplace_back("pallet.nest: where the parts sit");
  if (c.plan.part.size.value.size() != 3) missing.emplace_back("part.size: length, width and height of the part");
  const bool flat = o.up.value == "+z" || o.up.value == "-z" || !o.up.known();
  if (!missing.empty()) return leave_open(c, std::move(f), missing);
  const auto on_plate = [&c](const PlateWet&) { return wet_of(plate_coolant(c.plan)); };
  const Wet plate =
      *c.memo.call("coolant on the plate", on_plate, PlateWet{c.plan.pallet.plate.size.value, plate_reliefs(c.plan)});
  const auto in_part = [](const PartWet& in) { return wet_of(coolant_in(in)); };
  const Wet part =
      flat ? *c.memo.call("coolant in the part", in_part, part_wet(c.plan, o.up.value == "-z" ? -1 : 1)) : Wet{};
  const int parts = nest_count(c.plan);
  // sqrt(4 x 0.035 / (1000 g)) sin(22 deg): what a drop of thin emulsion does on an oily face.
  const plan::Number film =
      assumed(Kind::length, 1.4e-3, 0.3e-3, 2.2e-3,
              "from memory: 0.035 N/m and 45 deg of contact, 2 sqrt(tension/(density g)) sin(22.5 deg)",
              "weigh one pallet wet and dry");
  const int at_film = assume(f, film, "coolant standing on level faces", "lift.wet");
  const double full = plate.volume + parts * part.volume;
  const double area = plate.level_area + parts * part.level_area;
  f.inputs.push_back(
      {"hollows of the plate that do not drain", plate.volume, Kind::volume,
       fmt::format("{}, {} of them", unit::print(plate.volume, Kind::volume, c.style), plate.pools.size())});
  f.inputs.push_back(
      {"hollows of a part that do not drain", part.volume, Kind::volume,
       flat ? fmt::format("{}, {} of them", unit::print(part.volume, Kind::volume, c.style), part.pools.size())
            : std::string("not looked at: the part does not lie on its bottom or top")});
  if (!part.pools.empty()) {
    const maths::Pool& p = part.pools.front();
    f.inputs.push_back(
        {"the largest", p.volume, Kind::volume,
         fmt::format("{} deep at X {}, Y {} of the part", mm(c, p.depth), mm(c, p.deepest.x), mm(c, p.deepest.y))});
  }
  f.inputs.push_back({"level faces that stay wet", area, Kind::area, {}});
  f.value = coolant_density * (full + film.si * area);
  if (full > 0)
    f.levers.push_back({"blow the hollows out", "lift.wet", coolant_density * full, 0, Kind::mass,
                        fmt::format("hollows blown or tipped out take {} off",
                                    unit::print(coolant_density * full, Kind::mass, c.style))});
  const double flip_film = (allowed / coolant_density - full) / area;
  if (flip_film > 0)
    f.levers.push_back({"film on level faces", "lift.wet", film.si, flip_film, Kind::length,
                        fmt::format("film on level faces {} → {} {}", mm(c, film.si), mm(c, flip_film),
                                    f.value <= allowed ? "uses the margin up" : "brings it inside")});
  f.sentence = fmt::format(
      "About {} of coolant stay on the pallet, {} of it in hollows that do not drain; lifting counts on {}.",
      unit::print(f.value, Kind::mass, c.style), unit::print(coolant_density * full, Kind::mass, c.style),
      unit::print(allowed, Kind::mass, c.style));
  settle(c, std::move(f),
         [&](const std::vector<double>& v) { return coolant_density * (full + at(v, at_film, film.si) * area); });
}

}  // namespace

void run_off_findings(Context& c) {
  swarf_findings(c);
  const plan::Operation* o = pallet_operation(c.plan);
  if (o == nullptr || !c.plan.pallet.defined.value) return;
  int index = 0;
  for (const plan::RunOff& r : c.plan.pallet.run_offs) {
    const std::string feature = index++ == 0 ? "run_off" : fmt::format("run_off-{}", index);
    const Layout l = layout_of(c.plan, r);
    trough_holds(c, l, o->id.value, feature);
    grains_carried(c, l, o->id.value, feature);
  }
  coolant_stays(c, *o);
}

}  // namespace fettle::study
