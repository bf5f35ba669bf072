#include "begin/requirements.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/text.h"
#include "ref/fits.h"

namespace fettle::begin {

namespace {

std::string without_index(const std::string& reference) { return reference.substr(0, reference.find('@')); }

struct Binder {
  plan::Plan& plan;
  Features& features;
  const solid::Model& part;
  bool inch;
  int surfaces = 0;
  std::map<std::set<int>, std::string> made;

  /// References of the features that stand for these faces; a new "surface" for those that none stands for.
  std::vector<std::string> references(const step::Binding& b) {
    std::vector<std::string> out;
    std::set<int> left;
    for (std::uint64_t f : b.faces) {
      const int id = static_cast<int>(f);
      if (part.face(id) == nullptr) continue;
      const auto it = std::find_if(features.bound.begin(), features.bound.end(),
                                   [&](const Bound& x) { return x.faces.count(id) > 0; });
      if (it == features.bound.end()) left.insert(id);
      else if (std::find(out.begin(), out.end(), without_index(it->reference)) == out.end())
        out.push_back(without_index(it->reference));
    }
    if (!left.empty()) out.push_back(surface(left));
    return out;
  }

  std::string surface(const std::set<int>& faces) {
    const auto it = made.find(faces);
    if (it != made.end()) return it->second;
    plan::Feature f;
    const std::string id = fmt::format("X{}", ++surfaces);
    const solid::Face& first = *part.face(*faces.begin());
    give(f.id, id);
    give(f.kind, "surface");
    give(f.name,
         std::string(solid::word(first.kind)) + (faces.size() > 1 ? fmt::format(", {} faces", faces.size()) : ""));
    f.at.origin = plan::Origin::given;
    f.at.value.push_back(first.centroid);
    f.at.typed = point_text(first.centroid, inch);
    plan.features.push_back(f);
    return made[faces] = id;
  }
};

std::string absolute(double x, bool angular, bool inch) {
  if (angular) return base::shortest(std::round(x * 180 / 3.14159265358979323846 * 1e6) / 1e6);
  const double u = inch ? 0.0254 : 1e-3;
  return base::shortest(std::round(x / u * 1e7) / 1e7);
}

std::string limits_text(const step::Dimension& d, bool inch) {
  const std::string unit = d.angular ? " deg" : inch ? " in" : " mm";
  const bool round = d.kind == step::DimensionKind::diameter;
  if (d.fit && d.nominal && d.fit->grade > 0 && !d.least)
    return fmt::format("Ø{} {}{}{}", absolute(*d.nominal, false, inch), d.fit->letter, d.fit->grade,
                       inch ? " in" : " mm");
  if (d.least && d.most)
    return fmt::format("{}{}..{}{}", round ? "Ø" : "", absolute(*d.least, d.angular, inch),
                       absolute(*d.most, d.angular, inch), unit);
  if (d.least) return fmt::format("min {}{}", absolute(*d.least, d.angular, inch), unit);
  if (d.most) return fmt::format("max {}{}", absolute(*d.most, d.angular, inch), unit);
  return {};
}

const char* kind_word(step::ToleranceKind k) {
  using T = step::ToleranceKind;
  switch (k) {
    case T::angularity:
      return "angularity";
    case T::circular_runout:
      return "runout";
    case T::coaxiality:
    case T::concentricity:
      return "coaxiality";
    case T::cylindricity:
      return "cylindricity";
    case T::flatness:
      return "flatness";
    case T::line_profile:
    case T::surface_profile:
      return "profile";
    case T::parallelism:
      return "parallelism";
    case T::perpendicularity:
      return "perpendicularity";
    case T::position:
      return "position";
    case T::roundness:
      return "roundness";
    case T::straightness:
      return "straightness";
    case T::symmetry:
      return "symmetry";
    case T::total_runout:
      return "total runout";
    case T::other:
      return "other";
  }
  return "other";
}

const char* kind_word(const step::Dimension& d) {
  using D = step::DimensionKind;
  if (d.angular || d.kind == D::angle) return "angle";
  return d.kind == D::distance || d.kind == D::length || d.kind == D::curve_length ? "distance" : "size";
}

void set_limits(plan::Requirement& r, const std::string& text, bool angular) {
  auto parsed = unit::parse_limits(text, angular ? unit::Kind::angle : unit::Kind::length);
  if (parsed.ok()) parsed = ref::limits_of(*parsed);
  if (parsed.ok()) r.limits.value = *parsed;
  r.limits.typed = text;
  r.limits.origin = plan::Origin::given;
}

void add_datums(plan::Plan& plan, Binder& binder, const std::vector<step::Datum>& datums) {
  for (const step::Datum& d : datums) {
    const auto refs = binder.references(d.on);
    for (const std::string& ref : refs)
      for (plan::Feature& f : plan.features)
        if (ref.substr(0, ref.find('.')) == f.id.value) {
          if (f.datum.known()) f.datum.value += " " + d.letter;
          else give(f.datum, d.letter);
          f.datum.typed = f.datum.value;
        }
  }
}

}  // namespace

void requirements_of(plan::Plan& plan, Features& features, const solid::Model& part, const Drawing& drawing, bool inch,
                     Begun& out) {
  Binder binder{plan, features, part, inch, 0, {}};
  out.drawn.dimensions = static_cast<int>(drawing.pmi.dimensions.size());
  out.drawn.tolerances = static_cast<int>(drawing.pmi.tolerances.size());
  out.drawn.datums = static_cast<int>(drawing.pmi.datums.size());
  add_datums(plan, binder, drawing.pmi.datums);
  const auto carries = [&](const std::string& letter) {
    return std::any_of(plan.features.begin(), plan.features.end(), [&](const plan::Feature& f) {
      const auto letters = base::split(f.datum.value, ' ');
      return std::find(letters.begin(), letters.end(), letter) != letters.end();
    });
  };
  const auto standing = [](step::Standing s) {
    return s == step::Standing::basic ? "basic" : s == step::Standing::reference ? "reference" : "open";
  };
  std::size_t i = 0;
  for (const step::Dimension& d : drawing.pmi.dimensions) {
    const step::Judged& j = drawing.judged[i++];
    if (j.standing != step::Standing::requirement || d.ends.empty()) {
      out.drawn.open.push_back(fmt::format("#{} {} {}: {}{}", d.entity, d.name.empty() ? "dimension" : d.name,
                                           limits_text(d, inch), standing(j.standing),
                                           j.why.empty() ? "" : ", " + j.why));
      continue;
    }
    const auto from = binder.references(d.ends[0]);
    const auto to = d.ends.size() > 1 ? binder.references(d.ends[1]) : std::vector<std::string>{};
    const std::string limits = limits_text(d, inch);
    if (from.empty() || limits.empty()) {
      out.drawn.open.push_back(fmt::format("#{} {}: no face of the solid", d.entity, d.name));
      continue;
    }
    ++out.drawn.requirements;
    for (std::size_t k = 0; k < from.size(); ++k) {
      plan::Requirement r;
      give(r.id, fmt::format("D{}{}", d.entity, k == 0 ? "" : fmt::format("-{}", k + 1)));
      give(r.feature, from[k]);
      give(r.kind, kind_word(d));
      set_limits(r, limits, d.angular);
      if (!to.empty()) give(r.to, to.size() > k ? to[k] : to[0]);
      give(r.origin, fmt::format("model #{} {}", d.entity, d.entity_name));
      plan.requirements.push_back(r);
    }
  }
  for (const step::Tolerance& t : drawing.pmi.tolerances) {
    const step::Judged& j = drawing.judged[i++];
    const auto refs = binder.references(t.on);
    if (j.standing != step::Standing::requirement || !t.value || refs.empty()) {
      out.drawn.open.push_back(fmt::format("#{} {}{}: {}{}", t.entity, kind_word(t.kind),
                                           t.value ? " " + absolute(*t.value, t.angular, inch) : "",
                                           standing(j.standing), j.why.empty() ? "" : ", " + j.why));
      continue;
    }
    ++out.drawn.requirements;
    for (std::size_t k = 0; k < refs.size(); ++k) {
      plan::Requirement r;
      give(r.id, fmt::format("T{}{}", t.entity, k == 0 ? "" : fmt::format("-{}", k + 1)));
      give(r.feature, refs[k]);
      give(r.kind, kind_word(t.kind));
      set_limits(r,
                 fmt::format("max {}{}", absolute(*t.value, t.angular, inch),
                             t.angular ? " deg"
                             : inch    ? " in"
                                       : " mm"),
                 t.angular);
      for (const step::Compartment& c : t.frame)
        for (const step::DatumUse& u : c.datums)
          if (carries(u.letter)) give(r.datums, u.letter);
      if (!t.zone.empty() && t.zone.find("ylind") != std::string::npos) give(r.modifiers, "round zone");
      for (const step::Modifier& x : t.modifiers) give(r.modifiers, step::in_words(x.name));
      give(r.origin, fmt::format("model #{} {}", t.entity, t.entity_name));
      plan.requirements.push_back(r);
    }
  }
}

}  // namespace fettle::begin
