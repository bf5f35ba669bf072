#include <algorithm>

#include "step/pmi_reader.h"

namespace fettle::step {
namespace {

struct KindName {
  ToleranceKind kind;
  std::string_view name;
  bool frame;  // the simple form carries its datum system as fifth parameter
};
constexpr std::array<KindName, 15> tolerance_names = {
    {{ToleranceKind::angularity, "ANGULARITY_TOLERANCE", true},
     {ToleranceKind::circular_runout, "CIRCULAR_RUNOUT_TOLERANCE", true},
     {ToleranceKind::coaxiality, "COAXIALITY_TOLERANCE", true},
     {ToleranceKind::concentricity, "CONCENTRICITY_TOLERANCE", true},
     {ToleranceKind::cylindricity, "CYLINDRICITY_TOLERANCE", false},
     {ToleranceKind::flatness, "FLATNESS_TOLERANCE", false},
     {ToleranceKind::line_profile, "LINE_PROFILE_TOLERANCE", false},
     {ToleranceKind::parallelism, "PARALLELISM_TOLERANCE", true},
     {ToleranceKind::perpendicularity, "PERPENDICULARITY_TOLERANCE", true},
     {ToleranceKind::position, "POSITION_TOLERANCE", false},
     {ToleranceKind::roundness, "ROUNDNESS_TOLERANCE", false},
     {ToleranceKind::straightness, "STRAIGHTNESS_TOLERANCE", false},
     {ToleranceKind::surface_profile, "SURFACE_PROFILE_TOLERANCE", false},
     {ToleranceKind::symmetry, "SYMMETRY_TOLERANCE", true},
     {ToleranceKind::total_runout, "TOTAL_RUNOUT_TOLERANCE", true}}};
// Simple forms of the general supertypes that may also stand alone.
constexpr std::array<std::string_view, 4> general_tolerances = {
    "GEOMETRIC_TOLERANCE", "GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE", "GEOMETRIC_TOLERANCE_WITH_MODIFIERS",
    "GEOMETRIC_TOLERANCE_WITH_DEFINED_UNIT"};

}  // namespace

void PmiReader::tolerances() {
  std::set<std::uint32_t> found;
  for (const KindName& k : tolerance_names)
    for (auto i : f_.all(k.name)) found.insert(i);
  for (auto name : general_tolerances)
    for (auto i : f_.all(name)) found.insert(i);
  for (auto i : found) tolerance(f_.instances()[i]);
  std::sort(pmi_.tolerances.begin(), pmi_.tolerances.end(),
            [](const auto& a, const auto& b) { return a.entity < b.entity; });
  links();
}

void PmiReader::tolerance(const Instance& e) {
  Tolerance t;
  t.entity = e.id;
  const bool simple = f_.records(e).size() == 1;
  bool fifth_is_frame = simple && first_keyword(e) == "GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE";
  t.entity_name = std::string(any(e, general_tolerances));
  for (const KindName& k : tolerance_names)
    if (is(e, k.name)) {
      t.entity_name = std::string(k.name);
      t.kind = k.kind;
      fifth_is_frame = fifth_is_frame || (simple && k.frame);
      break;
    }
  t.name = text(attribute(e, "GEOMETRIC_TOLERANCE", 0, 0));
  magnitude(e, t);
  where_it_applies(e, t);
  extras(e, t);
  const Value* frame = attribute(e, "GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE", 0, fifth_is_frame ? 4 : 99);
  if (frame) datum_frame(e, *frame, t);
  zones(e, t);
  texts_of(e, t.texts);
  for (const auto& s : t.texts)
    if (!t.count) t.count = count_in(s);
  pmi_.tolerances.push_back(std::move(t));
}

void PmiReader::magnitude(const Instance& e, Tolerance& t) {
  std::string why;
  const auto m = measure(target(attribute(e, "GEOMETRIC_TOLERANCE", 2, 2)), why);
  if (!m) return unread(e, t.entity_name, why);
  t.value = m->value;
  t.angular = m->angular;
  t.decimals = m->decimals;
}

void PmiReader::where_it_applies(const Instance& e, Tolerance& t) {
  const Instance* aspect = target(attribute(e, "GEOMETRIC_TOLERANCE", 3, 3));
  if (!aspect) return unread(e, t.entity_name, "what it applies to is not in the file");
  t.all_around = is(*aspect, "ALL_AROUND_SHAPE_ASPECT");
  t.between = is(*aspect, "BETWEEN_SHAPE_ASPECT");
  if (!any(*aspect, dimension_names).empty()) t.on_dimension = aspect->id;
  t.on = bind(aspect);
}

void PmiReader::extras(const Instance& e, Tolerance& t) {
  auto own = [&](std::string_view key, std::size_t i) -> const Value* {
    if (!f_.record(e, key)) return nullptr;
    return attribute(e, key, i, 4 + i);
  };
  if (const Value* v = own("GEOMETRIC_TOLERANCE_WITH_MODIFIERS", 0))
    for (const Value& m : f_.items(*v))
      if (m.kind == Kind::enumeration) t.modifiers.push_back({std::string(f_.raw(m)), {}});
  if (const Value* v = own("MODIFIED_GEOMETRIC_TOLERANCE", 0); v && v->kind == Kind::enumeration)
    t.modifiers.push_back({std::string(f_.raw(*v)), {}});
  if (const Value* v = own("GEOMETRIC_TOLERANCE_WITH_DEFINED_UNIT", 0))
    t.per_unit = length_of(e, v, "length it holds over");
  if (const Value* v = own("GEOMETRIC_TOLERANCE_WITH_DEFINED_AREA_UNIT", 0); v && v->kind == Kind::enumeration)
    t.per_unit_area = std::string(f_.raw(*v));
  if (const Value* v = own("GEOMETRIC_TOLERANCE_WITH_DEFINED_AREA_UNIT", 1); v && v->kind == Kind::reference)
    t.per_unit_second = length_of(e, v, "second side of the area it holds over");
  if (const Value* v = own("UNEQUALLY_DISPOSED_GEOMETRIC_TOLERANCE", 0)) t.unequal = length_of(e, v, "unequal share");
  if (const Value* v = own("GEOMETRIC_TOLERANCE_WITH_MAXIMUM_TOLERANCE", 0))
    t.maximum = length_of(e, v, "stated maximum");
}

void PmiReader::zones(const Instance& e, Tolerance& t) {
  for (const Instance* z : users(e, "TOLERANCE_ZONE")) {
    if (const Instance* form = target(attribute(*z, "TOLERANCE_ZONE", 1, 5)))
      t.zone = text(attribute(*form, "TOLERANCE_ZONE_FORM", 0, 0));
    for (const Instance* p : users(*z, "PROJECTED_ZONE_DEFINITION"))
      if (const Value* v = attribute(*p, "PROJECTED_ZONE_DEFINITION", 1, 3))
        t.projected = length_of(e, v, "projected zone");
  }
}

void PmiReader::datum_frame(const Instance& e, const Value& list, Tolerance& t) {
  std::vector<std::pair<int, Compartment>> ranked;  // older files: one DATUM_REFERENCE each, with its rank
  for (const Value& v : f_.items(list)) {
    const Instance* s = target(&v);
    if (!s) {
      unread(e, t.entity_name, "its datum frame is not in the file");
    } else if (is(*s, "DATUM_SYSTEM")) {
      const Value* parts = attribute(*s, "DATUM_SYSTEM", 0, 4);
      if (!parts) continue;
      for (const Value& c : f_.items(*parts))
        if (const Instance* part = target(&c); part && !exhausted()) t.frame.push_back(compartment(e, *part));
    } else if (is(*s, "DATUM_REFERENCE") || is(*s, "REFERENCED_MODIFIED_DATUM")) {
      const auto rank = plain(attribute(*s, "DATUM_REFERENCE", 0, 0));
      const Instance* datum = target(attribute(*s, "DATUM_REFERENCE", 1, 1));
      if (!datum) continue;
      Compartment c{{{letter_of(*datum), datum->id, {}}}, {}};
      if (const Value* m = attribute(*s, "REFERENCED_MODIFIED_DATUM", 0, 2); m && m->kind == Kind::enumeration)
        c.datums[0].modifiers.push_back({std::string(f_.raw(*m)), {}});
      ranked.emplace_back(rank && *rank < 1000 ? static_cast<int>(*rank) : 1000, std::move(c));
    } else {
      unread(e, t.entity_name, "its datum frame is of an unknown kind");
    }
  }
  std::stable_sort(ranked.begin(), ranked.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  for (auto& r : ranked) t.frame.push_back(std::move(r.second));
}

Compartment PmiReader::compartment(const Instance& e, const Instance& part) {
  step();
  Compartment c;
  const Value *base = attribute(part, "GENERAL_DATUM_REFERENCE", 0, 4),
              *mods = attribute(part, "GENERAL_DATUM_REFERENCE", 1, 5);
  if (base) elements(e, *base, c.datums, 0);
  std::vector<Modifier> m;
  if (mods) m = datum_modifiers(*mods);
  if (c.datums.size() == 1) c.datums[0].modifiers.insert(c.datums[0].modifiers.end(), m.begin(), m.end());
  else c.modifiers = std::move(m);
  if (c.datums.empty()) unread(e, {}, "a compartment of its datum frame names no datum");
  return c;
}

void PmiReader::elements(const Instance& e, const Value& v, std::vector<DatumUse>& out, int depth) {
  step();
  if (depth > 4 || exhausted()) return;
  if (v.kind == Kind::list || v.kind == Kind::typed) {
    for (const Value& inner : f_.items(v)) elements(e, inner, out, depth + 1);
    return;
  }
  const Instance* d = target(&v);
  if (!d) return;
  if (is(*d, "DATUM")) {
    out.push_back({letter_of(*d), d->id, {}});
    return;
  }
  if (!is(*d, "DATUM_REFERENCE_ELEMENT")) return;
  const Value *base = attribute(*d, "GENERAL_DATUM_REFERENCE", 0, 4),
              *mods = attribute(*d, "GENERAL_DATUM_REFERENCE", 1, 5);
  const std::size_t before = out.size();
  if (base) elements(e, *base, out, depth + 1);
  if (!mods || out.size() != before + 1) return;
  auto m = datum_modifiers(*mods);
  out.back().modifiers.insert(out.back().modifiers.end(), m.begin(), m.end());
}

std::vector<Modifier> PmiReader::datum_modifiers(const Value& list) {
  std::vector<Modifier> out;
  for (const Value& v : f_.items(list)) {
    step();
    if (exhausted()) return out;
    if (v.kind == Kind::enumeration) out.push_back({std::string(f_.raw(v)), {}});
    if (v.kind == Kind::typed)
      for (const Value& m : f_.items(v))
        if (m.kind == Kind::enumeration) out.push_back({std::string(f_.raw(m)), {}});
    if (const Instance* w = target(&v)) {  // DATUM_REFERENCE_MODIFIER_WITH_VALUE(type, value)
      const Value* type = attribute(*w, "DATUM_REFERENCE_MODIFIER_WITH_VALUE", 0, 0);
      std::string why;
      const auto m = measure(target(attribute(*w, "DATUM_REFERENCE_MODIFIER_WITH_VALUE", 1, 1)), why);
      Modifier with{
          type && type->kind == Kind::enumeration ? std::string(f_.raw(*type)) : std::string(first_keyword(*w)), {}};
      if (m) with.value = m->value;
      out.push_back(std::move(with));
    }
  }
  return out;
}

void PmiReader::links() {
  std::map<std::uint64_t, std::size_t> by;
  for (std::size_t i = 0; i < pmi_.tolerances.size(); ++i) by[pmi_.tolerances[i].entity] = i;
  for (auto i : f_.all("GEOMETRIC_TOLERANCE_RELATIONSHIP")) {
    const Instance& e = f_.instances()[i];
    const std::string name = text(attribute(e, "GEOMETRIC_TOLERANCE_RELATIONSHIP", 0, 0));
    const Instance *up = target(attribute(e, "GEOMETRIC_TOLERANCE_RELATIONSHIP", 2, 2)),
                   *low = target(attribute(e, "GEOMETRIC_TOLERANCE_RELATIONSHIP", 3, 3));
    const auto a = up ? by.find(up->id) : by.end(), b = low ? by.find(low->id) : by.end();
    if (a == by.end() || b == by.end()) {
      unread(e, {}, "it links a tolerance that is not in the file");
      continue;
    }
    pmi_.tolerances[a->second].links.push_back({name, low->id, true});
    pmi_.tolerances[b->second].links.push_back({name, up->id, false});
  }
}

}  // namespace fettle::step
