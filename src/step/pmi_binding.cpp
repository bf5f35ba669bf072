#include <fmt/core.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "step/pmi_reader.h"

namespace fettle::step {

void tidy(std::vector<std::uint64_t>& ids) {
  std::sort(ids.begin(), ids.end());
  ids.erase(std::unique(ids.begin(), ids.end()), ids.end());
}
void tidy(Binding& b) {
  for (auto* list : {&b.faces, &b.edges, &b.curves, &b.sets, &b.others}) tidy(*list);
}

void PmiReader::unread(const Instance& e, std::string_view name, std::string why) {
  step();
  pmi_.unread.push_back({e.id, std::string(name.empty() ? first_keyword(e) : name), std::move(why)});
}

// Any of: MEASURE_WITH_UNIT and its subtypes, MEASURE_REPRESENTATION_ITEM, complex forms of both,
// VALUE_REPRESENTATION_ITEM (unit of the geometry). `why` says what is wrong.
std::optional<Measure> PmiReader::measure(const Instance* e, std::string& why) {
  if (!e) {
    why = "its value is not in the file";
    return std::nullopt;
  }
  Measure m;
  const Value *value = nullptr, *unit = nullptr;
  const bool simple = f_.records(*e).size() == 1;
  const auto key = first_keyword(*e);
  std::optional<Factor> factor_of;
  if (simple && key == "VALUE_REPRESENTATION_ITEM") {
    m.name = text(attribute(*e, key, 0, 0));
    value = attribute(*e, key, 1, 1);
  } else if (simple && key.ends_with("REPRESENTATION_ITEM")) {
    // inherited order: name of the item, then value and unit
    m.name = text(attribute(*e, key, 0, 0));
    value = attribute(*e, key, 1, 1);
    unit = attribute(*e, key, 2, 2);
  } else {
    m.name = simple ? "" : text(attribute(*e, "REPRESENTATION_ITEM", 0, 99));
    value = attribute(*e, "MEASURE_WITH_UNIT", 0, 0);
    unit = attribute(*e, "MEASURE_WITH_UNIT", 1, 1);
  }
  const auto number = plain(value);
  if (!number) {
    why = "its value is not a number";
    return std::nullopt;
  }
  const std::string_view type = value->kind == Kind::typed ? f_.raw(*value) : std::string_view();
  if (unit) {
    factor_of = factor(target(unit));
  } else if (pmi_.units.length && type.find("LENGTH") != std::string_view::npos) {
    factor_of = Factor{Factor::Sort::length, *pmi_.units.length, ""};
  } else if (pmi_.units.angle && type.find("ANGLE") != std::string_view::npos) {
    factor_of = Factor{Factor::Sort::angle, *pmi_.units.angle, ""};
  }
  if (!factor_of) {
    why = "the unit of its value is missing or unknown";
    return std::nullopt;
  }
  const bool length = type.find("LENGTH") != std::string_view::npos,
             angle = type.find("ANGLE") != std::string_view::npos;
  if ((length && factor_of->sort != Factor::Sort::length) || (angle && factor_of->sort != Factor::Sort::angle)) {
    why = "its value and its unit are of different kinds";
    return std::nullopt;
  }
  m.angular = factor_of->sort == Factor::Sort::angle;
  m.value = *number * factor_of->si;
  if (!std::isfinite(m.value)) {
    why = "its value is too large";
    return std::nullopt;
  }
  qualify(*e, m);
  return m;
}

void PmiReader::qualify(const Instance& e, Measure& m) {
  const Record* r = f_.record(e, "QUALIFIED_REPRESENTATION_ITEM");
  if (r) {
    const auto p = f_.parameters(*r);
    if (!p.empty()) qualifiers(p.back(), m);
  }
  for (const Instance* q : users(e, "MEASURE_QUALIFICATION"))
    if (points_to(attribute(*q, "MEASURE_QUALIFICATION", 2, 2), e))
      if (const Value* list = attribute(*q, "MEASURE_QUALIFICATION", 3, 3)) qualifiers(*list, m);
}

void PmiReader::qualifiers(const Value& list, Measure& m) {
  for (const Value& v : f_.items(list)) {
    const Instance* q = target(&v);
    if (!q) continue;
    const std::string s = text(attribute(*q, first_keyword(*q), 0, 0));
    if (is(*q, "TYPE_QUALIFIER")) add(m.qualifiers, s);
    if (is(*q, "VALUE_FORMAT_TYPE_QUALIFIER")) {  // "NR2 1.3": places before and after the point
      const auto dot = s.rfind('.');
      int places = 0;
      if (dot != std::string::npos) {
        const auto got = std::from_chars(s.data() + dot + 1, s.data() + s.size(), places);
        if (got.ec == std::errc() && places >= 0 && places < 20) m.decimals = places;
      }
    }
  }
}

void PmiReader::item(const Value& v, Binding& b, int depth) {
  step();
  if (exhausted()) return;
  if (v.kind == Kind::typed || v.kind == Kind::list) {
    if (depth > 4) return;
    for (const Value& inner : f_.items(v)) item(inner, b, depth + 1);
    return;
  }
  const Instance* e = target(&v);
  if (!e) return;
  static const std::set<std::string_view> curves = {"TRIMMED_CURVE",
                                                    "LINE",
                                                    "CIRCLE",
                                                    "ELLIPSE",
                                                    "POLYLINE",
                                                    "COMPOSITE_CURVE",
                                                    "B_SPLINE_CURVE",
                                                    "BOUNDED_CURVE",
                                                    "B_SPLINE_CURVE_WITH_KNOTS",
                                                    "HYPERBOLA",
                                                    "PARABOLA",
                                                    "SURFACE_CURVE",
                                                    "SEAM_CURVE",
                                                    "COMPOSITE_CURVE_ON_SURFACE",
                                                    "QUASI_UNIFORM_CURVE",
                                                    "UNIFORM_CURVE",
                                                    "BEZIER_CURVE",
                                                    "OFFSET_CURVE_3D"};
  for (const Record& r : f_.records(*e)) {
    const auto key = f_.keyword(r);
    if (key == "ADVANCED_FACE" || key == "FACE_SURFACE") return b.faces.push_back(e->id);
    if (key == "EDGE_CURVE") return b.edges.push_back(e->id);
    if (key == "GEOMETRIC_CURVE_SET" || key == "GEOMETRIC_SET") return b.sets.push_back(e->id);
    if (curves.count(key)) return b.curves.push_back(e->id);
  }
  b.others.push_back(e->id);
}

// All items of an aspect and of the aspects below it. Cycles end at the first repeat.
Binding PmiReader::bind(const Instance* start) {
  Binding b;
  if (!start) return b;
  std::vector<const Instance*> open = {start};
  std::set<std::uint64_t> seen = {start->id};
  while (!open.empty() && !exhausted()) {
    const Instance& e = *open.back();
    open.pop_back();
    if (is(e, "PRODUCT_DEFINITION_SHAPE")) b.whole_part = true;
    auto visit = [&](const Instance* next) {
      if (next && seen.insert(next->id).second) open.push_back(next);
    };
    if (const auto name = any(e, dimension_names); !name.empty())
      for (const Instance* end : dimension_ends(e)) visit(end);
    for (const Instance* u : users(e, item_links)) {
      if (!points_to(attribute(*u, "ITEM_IDENTIFIED_REPRESENTATION_USAGE", 2, 2), e)) continue;
      if (const Value* v = attribute(*u, "ITEM_IDENTIFIED_REPRESENTATION_USAGE", 4, 4)) item(*v, b, 0);
    }
    for (const Instance* u : users(e, aspect_links)) {
      if (!points_to(attribute(*u, "SHAPE_ASPECT_RELATIONSHIP", 2, 2), e)) continue;
      const Instance* child = target(attribute(*u, "SHAPE_ASPECT_RELATIONSHIP", 3, 3));
      if (child && !is(*child, "DATUM") && any(*child, target_names).empty()) visit(child);
    }
  }
  tidy(b);
  return b;
}

void PmiReader::texts_of(const Instance& e, std::vector<std::string>& out) {
  property_texts(e, out);
  // The callout that shows e may also show texts of its own.
  for (const Instance* shown : users(e, "DRAUGHTING_MODEL_ITEM_ASSOCIATION")) {
    if (!points_to(attribute(*shown, "ITEM_IDENTIFIED_REPRESENTATION_USAGE", 2, 2), e)) continue;
    const Instance* callout = target(attribute(*shown, "ITEM_IDENTIFIED_REPRESENTATION_USAGE", 4, 4));
    if (!callout) continue;
    for (const Instance* other : users(*callout, "DRAUGHTING_MODEL_ITEM_ASSOCIATION")) {
      const Instance* p = target(attribute(*other, "ITEM_IDENTIFIED_REPRESENTATION_USAGE", 2, 2));
      if (p && is(*p, "PROPERTY_DEFINITION")) representation_texts(*p, out);
    }
    for (const Instance* shown_item : users(*callout, "CHARACTERIZED_ITEM_WITHIN_REPRESENTATION"))
      property_texts(*shown_item, out);
  }
}

void PmiReader::property_texts(const Instance& e, std::vector<std::string>& out) {
  for (const Instance* p : users(e, "PROPERTY_DEFINITION"))
    if (points_to(attribute(*p, "PROPERTY_DEFINITION", 2, 2), e)) representation_texts(*p, out);
}

void PmiReader::representation_texts(const Instance& property, std::vector<std::string>& out) {
  for (const Instance* link : users(property, "PROPERTY_DEFINITION_REPRESENTATION")) {
    const Instance* rep = target(attribute(*link, "PROPERTY_DEFINITION_REPRESENTATION", 1, 1));
    const Value* items = rep ? attribute(*rep, "REPRESENTATION", 1, 1) : nullptr;
    if (!items) continue;
    for (const Value& v : f_.items(*items)) {
      step();
      if (exhausted()) return;
      const Instance* item = target(&v);
      if (!item || !is(*item, "DESCRIPTIVE_REPRESENTATION_ITEM")) continue;
      if (text(attribute(*item, "REPRESENTATION_ITEM", 0, 0)) == "datum references") continue;
      add(out, text(attribute(*item, "DESCRIPTIVE_REPRESENTATION_ITEM", 0, 1)));
    }
  }
}

std::optional<double> PmiReader::length_of(const Instance& e, const Value* v, std::string_view what) {
  std::string why;
  const auto m = measure(target(v), why);
  if (m && !m->angular) return m->value;
  unread(e, {}, fmt::format("{}: {}", what, m ? "an angle where a length is meant" : why));
  return std::nullopt;
}

}  // namespace fettle::step
