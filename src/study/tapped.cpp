// A screw or pin in a tapped hole holds a part; it does not locate it.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "calc/tolerance/process.h"
#include "study/internal.h"

namespace fettle::study {

using finding::Finding;

namespace {

/// The closest place asked of anything that the operation makes: +-, m; infinite when nothing is.
struct Closest {
  double half = std::numeric_limits<double>::infinity();
  std::string requirement;
};
Closest closest_of(const plan::Plan& plan, const plan::Operation& o) {
  Closest c;
  for (const plan::Requirement& r : plan.requirements) {
    const auto made = [&](const std::string& w) {
      return plan::parse_reference(w).id == plan::parse_reference(r.feature.value).id;
    };
    if (std::none_of(o.makes.value.begin(), o.makes.value.end(), made)) continue;
    const std::string& kind = r.kind.value;
    const unit::Limits& l = r.limits.value;
    double half = std::numeric_limits<double>::infinity();
    if ((kind == "position" || kind == "coaxiality" || kind == "symmetry") && l.upper) half = *l.upper / 2;
    if (kind == "distance" && r.to.known() && l.lower && l.upper) half = (*l.upper - *l.lower) / 2;
    if (half < c.half) c = {half, r.id.value};
  }
  return c;
}

void one_hole(Context& c, const plan::Operation& o, const std::string& in) {
  const plan::Feature* f = plan::find_feature(c.plan, plan::parse_reference(in).id);
  if (f == nullptr || f->kind.value != "thread") return;
  Finding x = start(o.id.value, f->id.value, "tapped_locator", "a tapped hole does not locate", unit::Kind::length);
  x.source = "common practice";
  x.formula = "a screw in a tapped hole stands within about ± 0.08 mm; a locator may use a third of what is asked";
  const Closest closest = closest_of(c.plan, o);
  if (!(closest.half > 0) || !std::isfinite(closest.half)) {
    leave_open(c, std::move(x), {"requirement: a place or distance asked of what is made here"});
    return;
  }
  const auto v = tolerance::locator_hole({true, {}, closest.half});
  if (!v.ok()) {
    leave_open(c, std::move(x), {say(v.problem())});
    return;
  }
  x.limit = finding::upper(v->may_use);
  x.inputs = {{"closest asked, " + closest.requirement + ", ±", closest.half, unit::Kind::length, {}}};
  x.sentence = fmt::format(
      "{}: a screw in the tapped hole {} stands within ± {}, and a third of the ± {} asked by {} is ± {}.", o.id.value,
      f->id.value, mm(c, v->stands_within), mm(c, closest.half), closest.requirement, mm(c, v->may_use));
  if (v->refused) x.sentence += " Ream a hole for a pin, or locate on another surface.";
  const double stands = v->stands_within;
  settle(c, std::move(x), [stands](const std::vector<double>&) { return stands; });
}

}  // namespace

void tapped_findings(Context& c) {
  for (const plan::Operation& o : c.plan.operations) {
    std::vector<std::string> holes;
    const auto add = [&](const std::string& in) {
      const std::string id = plan::parse_reference(in).id;
      if (std::find(holes.begin(), holes.end(), id) == holes.end()) holes.push_back(id);
    };
    for (const plan::Locator& l : o.locators)
      if (l.kind.value == "round pin" || l.kind.value == "relieved pin") add(l.on.value);
    if (o.kind.value == "pallet")
      for (const plan::Pin& p : c.plan.pallet.pins)
        if (p.in.known()) add(p.in.value);
    for (const std::string& h : holes) one_hole(c, o, h);
  }
}

}  // namespace fettle::study
