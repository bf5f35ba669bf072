#include "step/pmi_reader.h"

namespace fettle::step {
void PmiReader::datums() {
  for (auto i : f_.all("DATUM")) datum(f_.instances()[i]);
  std::set<std::uint32_t> found;
  for (auto name : target_names)
    for (auto i : f_.all(name)) found.insert(i);
  for (auto i : found) datum_target(f_.instances()[i]);
}

void PmiReader::datum(const Instance& e) {
  Datum d;
  d.entity = e.id;
  d.letter = letter_of(e);
  if (d.letter.empty()) unread(e, "DATUM", "it has no letter");
  d.on = bind(&e);
  for (const Instance* u : users(e, aspect_links)) {
    if (!points_to(attribute(*u, "SHAPE_ASPECT_RELATIONSHIP", 3, 3), e)) continue;
    const Instance* from = target(attribute(*u, "SHAPE_ASPECT_RELATIONSHIP", 2, 2));
    if (!from) continue;
    if (!any(*from, target_names).empty()) {
      d.targets.push_back(from->id);
      continue;
    }
    const Binding more = bind(from);
    auto append = [](auto& to, const auto& list) { to.insert(to.end(), list.begin(), list.end()); };
    append(d.on.faces, more.faces);
    append(d.on.edges, more.edges);
    append(d.on.curves, more.curves);
    append(d.on.sets, more.sets);
    append(d.on.others, more.others);
    d.on.whole_part = d.on.whole_part || more.whole_part;
  }
  tidy(d.on);
  tidy(d.targets);
  pmi_.datums.push_back(std::move(d));
}

void PmiReader::datum_target(const Instance& e) {
  DatumTarget t;
  t.entity = e.id;
  t.entity_name = std::string(any(e, target_names));
  t.form = text(attribute(e, "SHAPE_ASPECT", 1, 1));
  t.number = text(attribute(e, "DATUM_TARGET", 0, 4));
  t.on = bind(&e);
  for (const Instance* u : users(e, aspect_links)) {
    const Instance* from = target(attribute(*u, "SHAPE_ASPECT_RELATIONSHIP", 2, 2));
    const Instance* to = target(attribute(*u, "SHAPE_ASPECT_RELATIONSHIP", 3, 3));
    if (from && from->id == e.id && to && is(*to, "DATUM")) t.letter = letter_of(*to);
    if (to && to->id == e.id && from && from->id != e.id && t.on.empty()) t.on = bind(from);
  }
  for (const Instance* p : users(e, "PROPERTY_DEFINITION"))
    for (const char* key : {"SHAPE_DEFINITION_REPRESENTATION", "PROPERTY_DEFINITION_REPRESENTATION"})
      for (const Instance* link : users(*p, key))
        target_placement(target(attribute(*link, "PROPERTY_DEFINITION_REPRESENTATION", 1, 1)), t);
  pmi_.targets.push_back(std::move(t));
}

void PmiReader::target_placement(const Instance* rep, DatumTarget& t) {
  const Value* items = rep ? attribute(*rep, "REPRESENTATION", 1, 1) : nullptr;
  if (!items) return;
  for (const Value& v : f_.items(*items)) {
    const Instance* item = target(&v);
    if (!item) continue;
    if (is(*item, "AXIS2_PLACEMENT_3D")) {
      if (const auto at = placed(*item)) {
        t.p_P = at->point;
        t.axis_P = at->axis;
        t.along_P = at->along;
      }
    } else if (first_keyword(*item).find("MEASURE") != std::string_view::npos) {
      std::string why;
      if (const auto m = measure(item, why)) t.sizes.push_back({m->name, m->value, m->decimals});
      else pmi_.unread.push_back({t.entity, t.entity_name, why});
    }
  }
}

}  // namespace fettle::step
