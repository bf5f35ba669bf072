#include "step/judge.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/text.h"

namespace fettle::step {
namespace {

constexpr double agreement = 1e-6;        // m or rad: exporters round
constexpr double agreement_share = 1e-6;  // of the size

std::string millimetres(double si, bool angular) {
  return angular ? base::shortest(std::round(si * 180 / std::acos(-1.0) * 1e4) / 1e4) + " deg"
                 : base::shortest(std::round(si * 1e7) / 1e4) + " mm";
}

std::string without_rule(const std::string& kind) { return "kind without a rule yet: " + kind; }

// Why nothing of the solid is bound, empty when at least one face of it is.
std::string no_face(const std::vector<const Binding*>& ends, const Measures& m) {
  std::size_t faces = 0, edges = 0, curves = 0, sets = 0;
  for (const Binding* b : ends) {
    for (auto f : b->faces)
      if (m.in_solid(f)) return {};
    faces += b->faces.size();
    edges += b->edges.size();
    curves += b->curves.size();
    sets += b->sets.size();
    if (b->whole_part) return without_rule("on the whole part");
  }
  if (faces) return "bound only to surfaces beside the solid";
  if (sets) return "bound to the curve set of a thread, not to a face";
  if (edges) return "bound to edges, not to a face";
  if (curves) return "bound to a centre line, not to a face";
  return "bound to nothing in the model";
}

bool readable(const Fit& fit) { return !fit.letter.empty() && fit.grade > 0; }

bool agrees(const Dimension& d, double measured) {
  const double slack = agreement + agreement_share * std::fabs(measured);
  if (d.nominal && std::fabs(measured - *d.nominal) <= slack) return true;
  // A model drawn to the middle of its limits agrees too.
  return d.least && d.most && measured >= *d.least - slack && measured <= *d.most + slack;
}

void judge_dimension(const Dimension& d, const Measures& m, Judged& out) {
  auto open = [&](std::string why) {
    out.standing = Standing::open;
    out.why = std::move(why);
  };
  if (d.basic) {
    out.standing = Standing::basic;
    out.why = "basic: the tolerances that use it judge it";
    return;
  }
  if (d.reference) {
    out.standing = Standing::reference;
    out.why = "reference: for information only";
    return;
  }
  if (d.values.empty()) return open("the file gives no value");
  std::vector<const Binding*> ends;
  for (const Binding& b : d.ends) ends.push_back(&b);
  const std::string unbound = no_face(ends, m);
  if (d.fit && !readable(*d.fit)) return open("its fit class cannot be read");
  if (!d.fit && !d.least && !d.most)
    return open(unbound.empty() ? "no limits in the file" : unbound + "; no limits in the file");
  if (d.fit && !d.nominal) return open("a fit class without a nominal size");
  if (d.least && d.most && !(*d.least <= *d.most)) return open("its lower limit lies above its upper one");
  if (!unbound.empty()) return open(unbound);
  if (d.statistical) return open(without_rule("statistical"));
  for (const auto& q : d.qualifiers)
    if (base::lower(q) == "average") return open(without_rule("average"));
  const Measured got = m.measure(d);
  if (!got.value) return open("not compared with the model: " + got.why);
  out.measured = got.value;
  if (!agrees(d, *got.value))
    return open(fmt::format("the model measures {}, the file says {}", millimetres(*got.value, d.angular),
                            millimetres(d.nominal.value_or(d.least.value_or(d.most.value_or(0))), d.angular)));
  out.standing = Standing::requirement;
}

bool needs_datum(ToleranceKind k) {
  using K = ToleranceKind;
  return k == K::angularity || k == K::circular_runout || k == K::coaxiality || k == K::concentricity ||
         k == K::parallelism || k == K::perpendicularity || k == K::symmetry || k == K::total_runout;
}

// The first thing about a tolerance that has no rule, empty when it is plain.
std::string special(const Tolerance& t) {
  for (const Link& l : t.links) return l.name.empty() ? "linked" : l.name;
  for (const Modifier& m : t.modifiers) return in_words(m.name);
  if (t.projected) return "projected zone";
  if (t.per_unit) return t.per_unit_area.empty() ? "per unit length" : "per unit area";
  if (t.unequal) return "unequally disposed";
  if (t.maximum) return "with a stated maximum";
  if (t.between) return "between two places";
  if (t.kind == ToleranceKind::other) return t.entity_name;
  for (const Compartment& c : t.frame) {
    for (const Modifier& m : c.modifiers) return "datum at " + in_words(m.name);
    for (const DatumUse& d : c.datums)
      for (const Modifier& m : d.modifiers) return "datum at " + in_words(m.name);
  }
  return {};
}

void judge_tolerance(const Tolerance& t, const std::map<std::uint64_t, const Datum*>& datums, const Measures& m,
                     Judged& out) {
  auto open = [&](std::string why) { out.why = std::move(why); };
  if (!t.value) return open("its value cannot be read");
  if (const std::string s = special(t); !s.empty()) return open(without_rule(s));
  if (const std::string unbound = no_face({&t.on}, m); !unbound.empty()) return open(unbound);
  if (!(*t.value > 0)) return open("zero or less, without a material condition");
  if (needs_datum(t.kind) && t.frame.empty()) return open("it names no datum");
  for (const Compartment& c : t.frame) {
    if (c.datums.empty()) return open("a datum of its frame cannot be read");
    for (const DatumUse& d : c.datums) {
      const auto it = datums.find(d.datum);
      if (it == datums.end() || (it->second->on.empty() && it->second->targets.empty()))
        return open(fmt::format("datum {} is bound to nothing", d.letter));
    }
  }
  out.standing = Standing::requirement;
}

}  // namespace

std::string in_words(const std::string& modifier) {
  std::string s = base::lower(modifier);
  for (char& c : s)
    if (c == '_') c = ' ';
  for (const char* tail : {" requirement", " tolerance", " condition"}) {
    const std::string t = tail;
    if (s.size() > t.size() && s.ends_with(t)) s.resize(s.size() - t.size());
  }
  return s;
}

Measures stated(const Shapes& shapes) {
  return {[&shapes](std::uint64_t face) {
            const auto it = shapes.faces.find(face);
            return it != shapes.faces.end() && it->second.in_solid;
          },
          [&shapes](const Dimension& d) { return measure(d, shapes); }};
}

std::vector<Judged> judge(const Pmi& pmi, const Measures& measures) {
  std::vector<Judged> out;
  std::map<std::uint64_t, const Datum*> datums;
  for (const Datum& d : pmi.datums) datums[d.entity] = &d;
  for (const Dimension& d : pmi.dimensions) {
    out.push_back({d.entity, true});
    judge_dimension(d, measures, out.back());
  }
  for (const Tolerance& t : pmi.tolerances) {
    out.push_back({t.entity, false});
    judge_tolerance(t, datums, measures, out.back());
  }
  return out;
}

}  // namespace fettle::step
