// Grooves for O-rings: does the ring that the drawing names seal in them?
#include "calc/seal/seal.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "ref/rings.h"
#include "study/internal.h"

namespace fettle::study {

using finding::Finding;
using unit::Kind;

namespace {

std::string percent(double share) { return base::fixed(100 * share, 1) + " %"; }

/// Both limits of a size: the feature's own, else what a requirement of that kind says of it.
std::optional<seal::Limits> limits_of(const plan::Plan& plan, const plan::Feature& f, const plan::Limits& own,
                                      const char* kind) {
  if (own.known() && own.value.lower && own.value.upper) return seal::Limits{*own.value.lower, *own.value.upper};
  for (const plan::Requirement& q : plan.requirements)
    if (q.feature.value == f.id.value && q.kind.value == kind && !q.to.known() && q.limits.value.lower &&
        q.limits.value.upper)
      return seal::Limits{*q.limits.value.lower, *q.limits.value.upper};
  return std::nullopt;
}

bool on_one_axis(const plan::Feature& a, const plan::Feature& b) {
  if (a.at.value.empty() || b.at.value.empty()) return false;
  const frame::Vec3 d = a.at.value[0] - b.at.value[0];
  const std::string axis = a.normal.value.size() == 2 ? a.normal.value.substr(1) : "z";
  const double x = axis == "x" ? 0 : d.x, y = axis == "y" ? 0 : d.y, z = axis == "z" ? 0 : d.z;
  return std::fabs(x) < 1e-6 && std::fabs(y) < 1e-6 && std::fabs(z) < 1e-6;
}

/// The bore or boss that the groove is cut into.
const plan::Feature* land_of(const plan::Plan& plan, const plan::Feature& groove) {
  for (const plan::Feature& f : plan.features) {
    const std::string& k = f.kind.value;
    if (k != "bore" && k != "counterbore" && k != "hole" && k != "boss") continue;
    if (!on_one_axis(groove, f) || !f.from.known() || !f.to.known() || !groove.from.known() || !groove.to.known())
      continue;
    if (f.from.si <= groove.from.si + 1e-6 && f.to.si >= groove.to.si - 1e-6) return &f;
  }
  return nullptr;
}

std::string operation_of(const plan::Plan& plan, const plan::Feature& f) {
  for (const plan::Operation& o : plan.operations)
    if (std::find(o.makes.value.begin(), o.makes.value.end(), f.id.value) != o.makes.value.end()) return o.id.value;
  return {};
}

/// A groove with everything that its findings share.
struct Gland {
  const plan::Feature* groove = nullptr;
  std::string operation;
  seal::Inputs inputs;
  plan::Number offset;  ///< of the groove's axis from its bore's
  std::string ring, ring_source;
  std::vector<std::string> missing;
};

/// How far the groove stands off its bore: half of what the drawing allows, else what one clamping leaves.
plan::Number offset_of(const plan::Plan& plan, const plan::Feature& groove, const plan::Feature& land) {
  plan::Number n;
  n.kind = Kind::length;
  for (const plan::Requirement& q : plan.requirements) {
    if (q.kind.value != "coaxiality" || !q.limits.value.upper) continue;
    const bool these = (q.feature.value == groove.id.value && q.to.value == land.id.value) ||
                       (q.feature.value == land.id.value && q.to.value == groove.id.value);
    if (!these) continue;
    n.origin = plan::Origin::given;
    n.si = n.low = n.high = 0.5 * *q.limits.value.upper;
    return n;
  }
  n.origin = plan::Origin::assumed;
  n.si = 0.01e-3, n.low = 0, n.high = 0.03e-3;
  n.source = "common practice: groove and bore cut in one clamping";
  n.replaced_by = "a requirement of coaxiality, or roundness traces of groove and bore";
  return n;
}

Gland gland_of(const plan::Plan& plan, const plan::Feature& groove) {
  Gland g;
  g.groove = &groove;
  g.operation = operation_of(plan, groove);
  const std::string id = "feature." + groove.id.value;
  const auto need = [&](const std::optional<seal::Limits>& l, seal::Limits& to, const std::string& what) {
    if (l) to = *l;
    else g.missing.push_back(what);
  };
  const auto ring = ref::ring(groove.ring.value);
  if (!groove.ring.known()) g.missing.push_back(id + ".ring: which O-ring it takes, such as AS568-135");
  else if (!ring.ok()) g.missing.push_back(id + ".ring: " + say(ring.problem()));
  else {
    g.ring = ring->name;
    g.ring_source = ring->source;
    g.inputs.inside = {ring->inside - ring->inside_tolerance, ring->inside + ring->inside_tolerance};
    g.inputs.section = {ring->section - ring->section_tolerance, ring->section + ring->section_tolerance};
  }
  need(limits_of(plan, groove, groove.diameter, "size"), g.inputs.groove, id + ".diameter: both limits of its bottom");
  need(limits_of(plan, groove, groove.width, "distance"), g.inputs.width, id + ".width: both limits");
  need(groove.mate.known() && groove.mate.value.lower && groove.mate.value.upper
           ? std::optional(seal::Limits{*groove.mate.value.lower, *groove.mate.value.upper})
           : std::nullopt,
       g.inputs.mate, id + ".mate: both limits of the plug or bore that the ring seals against");
  const plan::Feature* land = land_of(plan, groove);
  if (land == nullptr) {
    g.missing.push_back(id + ".from, to: inside which bore or boss it is cut");
    return g;
  }
  g.inputs.gland = land->kind.value == "boss" ? seal::Gland::on_plug : seal::Gland::in_bore;
  need(limits_of(plan, *land, land->diameter, "size"), g.inputs.land,
       "feature." + land->id.value + ".diameter: both limits");
  g.offset = offset_of(plan, groove, *land);
  return g;
}

Finding begin(const Gland& g, std::string_view question, std::string title) {
  Finding f = start(g.operation, g.groove->id.value, question, std::move(title), Kind::fraction);
  f.cautions = {"A seal under pressure can throw fluid: the system's own codes and its maker decide."};
  return f;
}

/// The middle of the groove's bottom at which the value stands on its limit; the tolerance is kept.
void groove_lever(Context& c, Finding& f, const seal::Inputs& in, double limit,
                  const std::function<double(const seal::Result&)>& value) {
  const auto off = [&](double by) {
    seal::Inputs at = in;
    at.groove.low += by, at.groove.high += by;
    const auto r = seal::solve(at);
    return r.ok() ? value(*r) - limit : std::numeric_limits<double>::quiet_NaN();
  };
  const double reach = 0.3 * in.section.low, now = off(0);
  for (const double side : {1.0, -1.0}) {
    double step = reach;
    while (step > 1e-6 && !std::isfinite(off(side * step))) step *= 0.5;
    const double x = flip(off, 0, side * step);
    if (!std::isfinite(x) || !std::isfinite(now)) continue;
    const double middle = 0.5 * (in.groove.low + in.groove.high);
    f.levers.push_back({"bottom of the groove", "feature.diameter", middle, middle + x, Kind::length,
                        fmt::format("middle of the groove's bottom {} → {} {}", mm(c, middle), mm(c, middle + x),
                                    finding::within(f.value, f.limit) ? "uses the margin up" : "brings it inside")});
    return;
  }
}

void add_sizes(const Context& c, Finding& f, const Gland& g) {
  const auto add = [&](const char* name, const seal::Limits& l) {
    f.inputs.push_back(
        {name, 0.5 * (l.low + l.high), Kind::length, fmt::format("{} to {}", mm(c, l.low), mm(c, l.high))});
  };
  f.inputs.push_back({"ring", 0, Kind::number, fmt::format("{} ({})", g.ring, g.ring_source)});
  add("inside of the ring", g.inputs.inside);
  add("section of the ring", g.inputs.section);
  add("bottom of the groove", g.inputs.groove);
  add(g.inputs.gland == seal::Gland::on_plug ? "bore that it seals against" : "plug that it seals against",
      g.inputs.mate);
  add("beside the groove", g.inputs.land);
  add("width of the groove", g.inputs.width);
}

struct Question {
  const char* name;
  const char* title;
  const char* formula;
  bool at_least;
  double limit;
  double (*value)(const seal::Result&);
  const char* sentence;  ///< with the value and the limit
};

void one_question(Context& c, const Gland& g, const seal::Result& r, const Question& q) {
  Finding f = begin(g, q.name, q.title);
  f.limit = q.at_least ? finding::lower(q.limit) : finding::upper(q.limit);
  f.formula = q.formula;
  f.source = "guide: " + r.guide.source;
  const bool leans = std::string_view(q.name) == "squeeze_as_it_lies";
  const int offset = leans ? assume(f, g.offset, "groove off its bore", "requirement (coaxiality)") : -1;
  add_sizes(c, f, g);
  f.range = r.beyond;
  f.value = q.value(r);
  f.sentence = fmt::format(fmt::runtime(q.sentence), g.ring, percent(f.value), percent(q.limit));
  groove_lever(c, f, g.inputs, q.limit, q.value);
  settle(c, std::move(f), [&](const std::vector<double>& v) {
    seal::Inputs in = g.inputs;
    in.offset = at(v, offset, g.offset.si);
    const auto x = seal::solve(in);
    return x.ok() && x->beyond.empty() ? q.value(*x) : std::numeric_limits<double>::quiet_NaN();
  });
}

/// When another ring of the table stands better in this groove, its name.
std::string better_ring(const Gland& g, const seal::Result& r) {
  std::vector<seal::Candidate> all;
  for (const ref::Ring& x : ref::ring_table())
    all.push_back({x.name,
                   {x.inside - x.inside_tolerance, x.inside + x.inside_tolerance},
                   {x.section - x.section_tolerance, x.section + x.section_tolerance}});
  const auto choices = seal::choose(g.inputs, all);
  if (choices.empty() || choices.front().name == g.ring || !(choices.front().margin > seal::margin_of(r) + 1e-9))
    return {};
  return choices.front().name;
}

void one_groove(Context& c, const plan::Feature& groove) {
  Gland g = gland_of(c.plan, groove);
  g.inputs.offset = g.offset.si;
  const auto refuse = [&](std::vector<std::string> missing) {
    Finding f = begin(g, "squeeze", "O-ring is squeezed enough");
    const seal::Guide guide = seal::guide_of(g.inputs.gland, false);
    f.limit = finding::lower(guide.squeeze_low);
    f.source = "guide: " + guide.source;
    leave_open(c, std::move(f), std::move(missing));
  };
  if (!g.missing.empty()) return refuse(g.missing);
  const auto solved = seal::solve(g.inputs);
  if (!solved.ok()) {
    std::vector<std::string> missing;
    for (const Problem& p : solved.problems()) missing.push_back("feature." + groove.id.value + ": " + say(p));
    return refuse(missing);
  }
  const seal::Result& r = *solved;
  const seal::Guide& guide = r.guide;
  const Question questions[] = {
      {"squeeze", "O-ring is squeezed enough",
       "(section - depth) / section, thin ring, deep groove, plug in the middle", true, guide.squeeze_low,
       [](const seal::Result& x) { return x.squeeze.low; }, "{} is squeezed by {} at the least, {} are asked for."},
      {"squeeze_most", "O-ring is not squeezed too hard",
       "(section - depth) / section, thick ring, shallow groove, plug in the middle", false, guide.squeeze_high,
       [](const seal::Result& x) { return x.squeeze.high; }, "{} is squeezed by {} at the most, {} are allowed."},
      {"squeeze_as_it_lies", "O-ring seals with the plug to one side",
       "(stretched section - room on the far side) / section, the plug leaning on its bore", true, guide.lies_low,
       [](const seal::Result& x) { return x.lies.low; },
       "Stretched and with the plug leaning away, {} is still squeezed by {}; {} are asked for."},
      {"fill", "groove holds the O-ring", "pi/4 section^2 / (depth x width), thick ring, small groove", false,
       guide.fill_high, [](const seal::Result& x) { return x.fill.high; },
       "{} fills {} of its groove at the most, {} are allowed."},
      {"stretch", "O-ring is not stretched too far", "what it goes round / inside - 1, sizes in the middle", false,
       guide.stretch_high, [](const seal::Result& x) { return x.stretch.middle; },
       "{} is stretched by {}, {} are the most."}};
  const std::string better = r.slips.empty() ? std::string() : better_ring(g, r);
  for (const Question& q : questions) {
    one_question(c, g, r, q);
    Finding& f = c.study.findings.back();
    if (!better.empty() && !finding::within(f.value, f.limit))
      f.levers.push_back({"ring", "feature.ring", 0, 0, Kind::number, "ring " + better + " fits this groove better"});
  }
}

}  // namespace

void seal_findings(Context& c) {
  for (const plan::Feature& f : c.plan.features)
    if (f.kind.value == "groove" &&
        (f.ring.known() || base::lower(f.name.value + " " + f.note.value).find("o-ring") != std::string::npos))
      one_groove(c, f);
}

}  // namespace fettle::study
