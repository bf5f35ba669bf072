#include "begin/propose/assume.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "base/text.h"
#include "begin/features.h"
#include "begin/propose/facts.h"
#include "plan/read.h"
#include "ref/fits.h"

namespace fettle::begin {

using frame::Vec3;

void assume_critical(const Scene& scene, Draft& d) {
  auto& all = d.plan.requirements;
  const auto called = [](const plan::Requirement& r) { return r.critical.known() && r.critical.value; };
  if (answer(scene, "critical") == "none" || std::any_of(all.begin(), all.end(), called)) return;
  plan::Requirement* closest = nullptr;
  const auto width = [](const plan::Requirement& r) { return *r.limits.value.upper - *r.limits.value.lower; };
  for (plan::Requirement& r : all) {
    if (r.kind.value != "size" || !r.limits.value.lower || !r.limits.value.upper) continue;
    const plan::Feature* f = plan::find_feature(d.plan, plan::parse_reference(r.feature.value).id);
    if (f == nullptr || !hole_like(*f)) continue;
    if (closest == nullptr || width(r) < width(*closest)) closest = &r;
  }
  if (closest == nullptr) return;
  // Limits that hold for whatever has none of its own single out no hole: that is for the customer to say.
  if (closest->origin.value == "limits of sizes without their own") {
    closest->critical.value = false, closest->critical.origin = plan::Origin::given, closest->critical.typed = "false";
    const std::string words = "no hole has limits of its own, so none is taken for critical";
    d.assumed.push_back("requirement.critical: " + words + "; say what the part lives or dies by");
    d.disagree.push_back(words + ": ask the customer, the order of cuts hangs on it");
    return;
  }
  closest->critical.value = true, closest->critical.origin = plan::Origin::given, closest->critical.typed = "true";
  d.assumed.push_back(
      fmt::format("requirement.{}.critical: the closest hole of the drawing; say what the part lives or dies by",
                  closest->id.value));
}

namespace {

/// Everything that touches this side while it is raw.
std::vector<Vec3> touched(const plan::Plan& plan, const std::string& side) {
  std::vector<Vec3> out;
  const auto on = [&](const std::string& names) {
    const auto words = base::split(names, ' ');
    return std::find(words.begin(), words.end(), side) != words.end();
  };
  for (const plan::Operation& o : plan.operations) {
    for (const plan::Locator& l : o.locators)
      if (on(l.on.value)) out.insert(out.end(), l.at.value.begin(), l.at.value.end());
    for (const plan::Clamp& c : o.clamps)
      if (on(c.on.value)) out.insert(out.end(), c.at.value.begin(), c.at.value.end());
  }
  return out;
}

struct Spot {
  std::string side;
  Vec3 at;
  double clear = -1;  ///< m, to what touches nearest
  bool pressed = false;
};

bool pressed(const plan::Plan& plan, const std::string& side) {
  return std::any_of(plan.operations.begin(), plan.operations.end(), [&](const plan::Operation& o) {
    return std::any_of(o.clamps.begin(), o.clamps.end(),
                       [&](const plan::Clamp& c) { return c.on.value.find(side) != std::string::npos; }) ||
           std::any_of(o.locators.begin(), o.locators.end(), [&](const plan::Locator& l) {
             return l.kind.value == "jaw" && l.on.value.find(side) != std::string::npos;
           });
  });
}

}  // namespace

void ask_for_gate(const Scene& scene, Draft& d) {
  plan::Casting& c = d.plan.casting;
  if (!c.gates.empty() || !c.parting.known() || scene.part == nullptr) return;
  const Vec3 lo = scene.part->box.lo, hi = scene.part->box.hi, middle = 0.5 * (lo + hi);
  const double step = scene.inch ? 0.05 * 0.0254 : 1e-3;
  Spot best;
  for (const plan::Feature& f : d.plan.features) {
    if (f.kind.value != "profile" || !f.cast.known() || f.cast.value == "solid") continue;
    for (const char* word : {"-y", "+y", "-x", "+x"}) {
      const bool x = word[1] == 'x', plus = word[0] == '+';
      const double length = x ? hi.y - lo.y : hi.x - lo.x;
      const std::string side = f.id.value + "." + word;
      const std::vector<Vec3> near = touched(d.plan, side);
      for (const double share : {-0.3, 0.3, -0.18, 0.18, 0.0}) {
        Spot s{side, middle, 1, pressed(d.plan, side)};
        (x ? s.at.x : s.at.y) = x ? (plus ? hi.x : lo.x) : (plus ? hi.y : lo.y);
        (x ? s.at.y : s.at.x) = step * std::round(((x ? middle.y : middle.x) + share * length) / step);
        s.at.z = c.parting.si;
        for (const Vec3 p : near) {  // along the face: a centring jaw touches both sides alike
          const double u = x ? p.y - s.at.y : p.x - s.at.x;
          s.clear = std::min(s.clear, std::hypot(u, p.z - s.at.z));
        }
        const bool better = best.clear < 0 || (s.pressed != best.pressed ? !s.pressed : s.clear > best.clear + 1e-6);
        if (better) best = s;
      }
    }
  }
  if (best.clear < 14e-3) return;  // half a stub and half a button; nowhere: the foundry has to say
  plan::Gate g;
  give(g.id, "gate 1");
  give(g.face, best.side);
  give(g.at, {best.at}, scene.inch);
  give(g.width, unit::Kind::length, scene.inch ? "0.6 in (0.4..0.8 in)" : "16 mm (10..20 mm)");
  give(g.height, unit::Kind::length, scene.inch ? "0.02 in (0..0.04 in)" : "0.5 mm (0..1 mm)");
  d.choices.push_back({"casting",
                       "casting.gate",
                       fmt::format("the foundry is asked to gate on {} at {}, ground to {}", best.side,
                                   point_text(best.at, scene.inch), scene.inch ? "0.04 in" : "1 mm"),
                       "farthest from everything that touches the raw outside",
                       "rule clear_of_gates",
                       {{"where the foundry likes",
                         "then the contacts move when it has said where",
                         {},
                         "casting.gate of the plan says where, when the foundry has"}}});
  d.assumed.push_back(
      fmt::format("casting.gate: one, at {}, {} wide, {} proud, from memory: ask the foundry before "
                  "patterns are made",
                  point_text(best.at, scene.inch), g.width.typed, g.height.typed));
  if (best.pressed)
    d.disagree.push_back(
        fmt::format("casting.gate: a flat jaw covers {} there: the stub is ground flush, or the jaw has "
                    "a pocket for it",
                    best.side));
  c.gates.push_back(std::move(g));
}

void allow_shift(const Scene& scene, Draft& d) {
  if (!d.plan.casting.measured.table.given() || d.pins.empty()) return;
  const auto shifted = [](const plan::Operation& o) { return !o.shift.value.empty(); };
  if (std::any_of(d.plan.operations.begin(), d.plan.operations.end(), shifted)) return;
  if (answer(scene, "take.casting.shift") == "none") {
    d.choices.push_back({"route",
                         "operation.shift",
                         "no casting is shifted",
                         "asked for; those that show skin are set aside",
                         "answer",
                         {{"each shifted as measured", "no shift was asked for", "take.casting.shift=as reckoned"}}});
    return;
  }
  const std::string hole = plan::parse_reference(d.pins.front()).id;
  for (plan::Operation& o : d.plan.operations) {
    if (o.kind.value == "pallet" || std::find(o.makes.value.begin(), o.makes.value.end(), hole) == o.makes.value.end())
      continue;
    const double most = scene.inch ? 0.04 * 0.0254 : 1e-3;
    give(o.shift, {{most, most, 0}}, scene.inch);
    d.choices.push_back(
        {"route",
         fmt::format("operation.{}.shift", o.id.value),
         fmt::format("each casting shifted by at most {} in X and Y, as measured", length_text(most, scene.inch)),
         fmt::format("{} is made there, and everything after follows it", hole),
         "casting.measured",
         {{"no shift", "more castings show skin, and are set aside", "take.casting.shift=none"}}});
    d.assumed.push_back(fmt::format("operation.{}.shift {}: from memory; as far as cutters, pins and probe have room",
                                    o.id.value, length_text(most, scene.inch)));
    return;
  }
}

namespace {

double middle_of(const plan::Requirement& r) { return 0.5 * (*r.limits.value.lower + *r.limits.value.upper); }
bool has_size(const plan::Requirement& r) {
  const unit::Limits& l = r.limits.value;
  return r.kind.value == "size" && l.kind == unit::Kind::length && l.lower && l.upper;
}
bool asks_closely(const plan::Requirement& r) {
  const auto it6 = ref::tolerance_of_grade(middle_of(r), 6);
  return it6.ok() && *r.limits.value.upper - *r.limits.value.lower <= *it6 * (1 + 1e-9);
}
bool gauge_names(const plan::Gauge& g, const std::string& feature) {
  return std::find(g.features.value.begin(), g.features.value.end(), feature) != g.features.value.end();
}
bool says_range(const plan::Gauge& g) { return g.smallest.known() && g.largest.known(); }
bool outside_range(const plan::Gauge& g, double size) {
  return (g.smallest.known() && size < g.smallest.si) || (g.largest.known() && size > g.largest.si);
}
/// Whether it may be taken unasked: one that is kept for other features and says no range is somebody's plug.
bool serves(const plan::Gauge& g, const std::string& feature, double size) {
  if (outside_range(g, size)) return false;
  return says_range(g) || g.features.value.empty() || gauge_names(g, feature);
}
std::string gauge_words(const plan::Gauge& g) {
  return fmt::format("{} ({}, {})", g.id.value, g.name.known() ? g.name.value : g.kind.value, g.uncertainty.typed);
}
using Gauges = std::vector<const plan::Gauge*>;

/// The gauges that serve this size, closest first; one that is asked for before them. Empty, with a clash, where that
/// one cannot be had.
Gauges gauges_for(const Gauges& all, const std::string& feature, double size, const std::string& asked, Draft& d) {
  Gauges out;
  for (const plan::Gauge* g : all)
    if (g->id.value != asked && serves(*g, feature, size)) out.push_back(g);
  if (asked.empty()) return out;
  const auto at = std::find_if(all.begin(), all.end(), [&](const auto* g) { return g->id.value == asked; });
  std::string why;
  if (at == all.end()) why = "no gauge of that name says its uncertainty";
  else if (outside_range(**at, size)) why = fmt::format("{} does not measure that size", gauge_words(**at));
  if (why.empty()) out.insert(out.begin(), *at);
  else d.clashes.push_back({{fmt::format("{}{} = {}", gauge_takes, feature, asked)}, why}), out.clear();
  return out;
}

}  // namespace

void choose_gauges(const Scene& scene, Draft& d) {
  Gauges all;
  for (const plan::Gauge& g : scene.shop.gauges)
    if (g.uncertainty.known() && g.uncertainty.si > 0) all.push_back(&g);
  std::stable_sort(all.begin(), all.end(),
                   [](const auto* a, const auto* b) { return a->uncertainty.si < b->uncertainty.si; });
  std::set<std::string> met;
  for (plan::Requirement& r : d.plan.requirements) {
    if (!has_size(r)) continue;
    const std::string id = plan::parse_reference(r.feature.value).id, take = gauge_takes + id;
    const std::string said = answer(scene, take), asked = said == "as reckoned" ? "" : said;
    if (asked.empty() && (!asks_closely(r) || r.gauge.known() ||
                          std::any_of(all.begin(), all.end(), [&](const auto* g) { return gauge_names(*g, id); })))
      continue;
    met.insert(take);
    const Gauges mine = gauges_for(all, id, middle_of(r), asked, d);
    if (mine.empty()) continue;
    give(r.gauge, mine.front()->id.value);
    Choice c{"route",
             "requirement." + r.id.value + ".gauge",
             "measured with " + gauge_words(*mine.front()),
             asked.empty() ? "of the shop's gauges the one that reads closest" : "asked for",
             asked.empty() ? "common practice" : "answer",
             {}};
    if (!asked.empty()) c.others.push_back({"as reckoned", "this gauge was asked for", take + "=as reckoned"});
    else if (mine.size() > 1)
      c.others.push_back({gauge_words(*mine[1]), "it reads less closely", take + "=" + mine[1]->id.value});
    d.choices.push_back(std::move(c));
    if (!says_range(*mine.front()))
      d.assumed.push_back(fmt::format(
          "requirement.{}.gauge {}: that it measures {} nobody said (smallest, largest of the gauge in the shop file)",
          r.id.value, mine.front()->id.value, id));
  }
  for (const auto& [id, said] : scene.answers)
    if (base::starts_with(id, gauge_takes) && said != "as reckoned" && !met.contains(id))
      d.clashes.push_back({{fmt::format("{} = {}", id, said)}, "that feature has no size with both limits"});
}

}  // namespace fettle::begin
