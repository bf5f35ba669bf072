#include "step/pmi.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <map>
#include <set>

#include "base/text.h"

namespace fettle::step {
namespace {

// Amounts beyond these are no drawing; they bound the work on a hostile file.
constexpr std::size_t most_items = 200'000;     // dimensions, tolerances, datums together
constexpr std::size_t most_steps = 20'000'000;  // aspects and users looked at in all

constexpr std::array<std::string_view, 8> dimension_names = {
    "ANGULAR_LOCATION", "DIRECTED_DIMENSIONAL_LOCATION", "DIMENSIONAL_LOCATION_WITH_PATH",      "DIMENSIONAL_LOCATION",
    "ANGULAR_SIZE",     "DIMENSIONAL_SIZE_WITH_PATH",    "DIMENSIONAL_SIZE_WITH_DATUM_FEATURE", "DIMENSIONAL_SIZE"};

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
constexpr std::array<std::string_view, 6> aspect_links = {"SHAPE_ASPECT_RELATIONSHIP",
                                                          "SHAPE_ASPECT_ASSOCIATIVITY",
                                                          "SHAPE_ASPECT_DERIVING_RELATIONSHIP",
                                                          "SHAPE_ASPECT_TRANSITION",
                                                          "FEATURE_FOR_DATUM_TARGET_RELATIONSHIP",
                                                          "TOLERANCE_ZONE_TARGET_RELATIONSHIP"};
constexpr std::array<std::string_view, 4> item_links = {
    "GEOMETRIC_ITEM_SPECIFIC_USAGE", "ITEM_IDENTIFIED_REPRESENTATION_USAGE",
    "CHAIN_BASED_GEOMETRIC_ITEM_SPECIFIC_USAGE", "CHAIN_BASED_ITEM_IDENTIFIED_REPRESENTATION_USAGE"};
constexpr std::array<std::string_view, 3> target_names = {"DATUM_TARGET", "PLACED_DATUM_TARGET_FEATURE",
                                                          "PLACED_TARGET_FEATURE"};

enum class Sort { length, angle, other };
struct Factor {
  Sort sort = Sort::other;
  double si = 0;  // metres or radians per unit
  std::string name;
};
struct Measure {
  std::string name;
  double value = 0;  // m or rad
  bool angular = false;
  std::optional<int> decimals;
  std::vector<std::string> qualifiers;
};

double si_prefix(std::string_view p) {
  static const std::map<std::string_view, double> powers = {
      {"EXA", 1e18},  {"PETA", 1e15},  {"TERA", 1e12},   {"GIGA", 1e9},   {"MEGA", 1e6},   {"KILO", 1e3},
      {"HECTO", 1e2}, {"DECA", 1e1},   {"DECI", 1e-1},   {"CENTI", 1e-2}, {"MILLI", 1e-3}, {"MICRO", 1e-6},
      {"NANO", 1e-9}, {"PICO", 1e-12}, {"FEMTO", 1e-15}, {"ATTO", 1e-18}};
  const auto it = powers.find(p);
  return it == powers.end() ? 0 : it->second;
}

bool near(double a, double b) { return std::fabs(a - b) <= 1e-9 * std::fabs(b); }

std::string length_name(double m, const std::string& written) {
  const std::pair<double, const char*> known[] = {{1e-3, "mm"},   {1, "m"},     {0.0254, "in"},   {1e-2, "cm"},
                                                  {0.3048, "ft"}, {1e-6, "µm"}, {2.54e-5, "thou"}};
  for (const auto& [size, name] : known)
    if (near(m, size)) return name;
  return written;
}
std::string angle_name(double rad, const std::string& written) {
  if (near(rad, 1)) return "rad";
  if (near(rad, std::acos(-1.0) / 180)) return "deg";
  return written;
}

void add(std::vector<std::string>& list, std::string s) {
  if (!s.empty() && std::find(list.begin(), list.end(), s) == list.end()) list.push_back(std::move(s));
}
void tidy(std::vector<std::uint64_t>& ids) {
  std::sort(ids.begin(), ids.end());
  ids.erase(std::unique(ids.begin(), ids.end()), ids.end());
}

class Reader {
 public:
  Reader(const File& file, std::optional<double> length) : f_(file), given_(length) {}

  Outcome<Pmi> run() {
    pmi_.units = units();
    if (given_ && pmi_.units.length && !near(*given_, *pmi_.units.length))
      return bad("the file states its own length unit", fmt::format("{} m", base::shortest(*given_)),
                 pmi_.units.length_name + " as in the file");
    if (given_ && !(*given_ > 0 && *given_ < 1e6))
      return bad("a length unit must be above zero", base::shortest(*given_));
    if (given_) {
      pmi_.units.length = given_;
      pmi_.units.length_name = length_name(*given_, "as given");
    }
    const std::size_t items = f_.all("GEOMETRIC_TOLERANCE").size() + f_.all("DIMENSIONAL_SIZE").size() +
                              f_.all("DIMENSIONAL_LOCATION").size() + f_.all("DATUM").size();
    if (items > most_items) return bad(fmt::format("more than {} sizes and tolerances in one file", most_items));
    dimensions();
    datums();
    tolerances();
    circles();
    thread_texts();
    if (steps_ > most_steps) return bad("the links between sizes and faces are too many to follow");
    return std::move(pmi_);
  }

  Units units() {
    Units u;
    u.length_name = u.angle_name = "none";
    // The context that the solids live in comes first; other contexts only if no solid names one.
    std::vector<const Instance*> contexts;
    for (const char* key : {"ADVANCED_BREP_SHAPE_REPRESENTATION", "FACETED_BREP_SHAPE_REPRESENTATION",
                            "MANIFOLD_SURFACE_SHAPE_REPRESENTATION", "SHAPE_REPRESENTATION"})
      for (auto i : f_.all(key)) {
        const Instance& rep = f_.instances()[i];
        const Value* context = attribute(rep, "REPRESENTATION", 2, 2);
        if (const Instance* c = target(context)) contexts.push_back(c);
      }
    for (auto i : f_.all("GLOBAL_UNIT_ASSIGNED_CONTEXT")) contexts.push_back(&f_.instances()[i]);
    for (const Instance* c : contexts) {
      const Record* r = f_.record(*c, "GLOBAL_UNIT_ASSIGNED_CONTEXT");
      if (!r || f_.parameters(*r).empty()) continue;
      for (const Value& v : f_.items(f_.parameters(*r).back())) {
        const auto unit = factor(target(&v), 0);
        if (!unit) continue;
        if (unit->sort == Sort::length && !u.length) {
          u.length = unit->si;
          u.length_name = length_name(unit->si, unit->name);
        }
        if (unit->sort == Sort::angle && !u.angle) {
          u.angle = unit->si;
          u.angle_name = angle_name(unit->si, unit->name);
        }
      }
      if (u.length) break;
    }
    return u;
  }

 private:
  // ---- access ----
  std::uint32_t index(const Instance& e) const { return static_cast<std::uint32_t>(&e - f_.instances().data()); }
  const Instance* target(const Value* v) const { return v && v->kind == Kind::reference ? f_.find(v->id) : nullptr; }
  bool is(const Instance& e, std::string_view key) const { return f_.record(e, key) != nullptr; }
  std::string_view any(const Instance& e, std::span<const std::string_view> names) const {
    for (const Record& r : f_.records(e))
      for (std::string_view n : names)
        if (f_.keyword(r) == n) return n;
    return {};
  }
  std::string_view first_keyword(const Instance& e) const { return f_.keyword(f_.records(e).front()); }

  // Attribute `own` of the record `key` in a complex instance, attribute `flat` of a simple one.
  const Value* attribute(const Instance& e, std::string_view key, std::size_t own, std::size_t flat) const {
    const auto records = f_.records(e);
    if (records.size() == 1) return at(records.front(), flat);
    const Record* r = f_.record(e, key);
    return r ? at(*r, own) : nullptr;
  }
  const Value* at(const Record& r, std::size_t i) const {
    const auto p = f_.parameters(r);
    return i < p.size() ? &p[i] : nullptr;
  }
  std::string text(const Value* v) const { return v ? f_.string(*v) : std::string(); }

  // Users of e that carry any of the names, with e as the attribute (own, flat) of `key`.
  std::vector<const Instance*> users(const Instance& e, std::span<const std::string_view> names) {
    std::vector<const Instance*> out;
    const auto all = f_.users(e);
    steps_ += all.size() + 1;
    if (steps_ > most_steps) return out;
    for (auto i : all)
      if (!any(f_.instances()[i], names).empty()) out.push_back(&f_.instances()[i]);
    return out;
  }
  std::vector<const Instance*> users(const Instance& e, const char* name) {
    const std::string_view one[] = {name};
    return users(e, one);
  }
  bool points_to(const Value* v, const Instance& e) const { return v && v->kind == Kind::reference && v->id == e.id; }

  void unread(const Instance& e, std::string_view name, std::string why) {
    pmi_.unread.push_back({e.id, std::string(name.empty() ? first_keyword(e) : name), std::move(why)});
  }

  // ---- units and measures ----
  std::optional<Factor> factor(const Instance* e, int depth) const {
    if (!e || depth > 8) return std::nullopt;
    Factor out;
    if (is(*e, "LENGTH_UNIT")) out.sort = Sort::length;
    if (is(*e, "PLANE_ANGLE_UNIT")) out.sort = Sort::angle;
    if (const Record* r = f_.record(*e, "SI_UNIT")) {
      // simple form: (dimensions, prefix, name)
      const std::size_t shift = f_.records(*e).size() == 1 ? 1 : 0;
      const Value *prefix = at(*r, shift), *name = at(*r, shift + 1);
      if (!prefix || !name || name->kind != Kind::enumeration) return std::nullopt;
      const auto unit = f_.raw(*name);
      if (unit == "METRE") out.sort = Sort::length;
      else if (unit == "RADIAN") out.sort = Sort::angle;
      else return std::nullopt;
      out.si = prefix->kind == Kind::enumeration ? si_prefix(f_.raw(*prefix)) : 1;
      out.name = std::string(unit);
    } else if (const Record* c = f_.record(*e, "CONVERSION_BASED_UNIT")) {
      // simple form: (dimensions, name, factor)
      const std::size_t shift = f_.records(*e).size() == 1 ? 1 : 0;
      const Instance* m = target(at(*c, shift + 1));
      if (!m) return std::nullopt;
      const Value *value = attribute(*m, "MEASURE_WITH_UNIT", 0, 0), *unit = attribute(*m, "MEASURE_WITH_UNIT", 1, 1);
      const auto inner = factor(target(unit), depth + 1);
      const auto number = plain(value);
      if (!inner || !number || inner->sort == Sort::other) return std::nullopt;
      if (out.sort != Sort::other && out.sort != inner->sort) return std::nullopt;
      out.sort = inner->sort;
      out.si = *number * inner->si;
      out.name = text(at(*c, shift));
    } else {
      return std::nullopt;
    }
    if (!(out.si > 0 && out.si < 1e12)) return std::nullopt;
    return out;
  }
  // The number in 5., LENGTH_MEASURE(5.) and the like.
  std::optional<double> plain(const Value* v) const {
    if (v && v->kind == Kind::typed && v->count == 1) v = &f_.items(*v)[0];
    if (!v || (v->kind != Kind::real && v->kind != Kind::integer)) return std::nullopt;
    return v->number;
  }

  // Any of: MEASURE_WITH_UNIT and its subtypes, MEASURE_REPRESENTATION_ITEM, complex forms of both,
  // VALUE_REPRESENTATION_ITEM (unit of the geometry). `why` says what is wrong.
  std::optional<Measure> measure(const Instance* e, std::string& why) {
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
      factor_of = factor(target(unit), 0);
    } else if (pmi_.units.length && type.find("LENGTH") != std::string_view::npos) {
      factor_of = Factor{Sort::length, *pmi_.units.length, ""};
    } else if (pmi_.units.angle && type.find("ANGLE") != std::string_view::npos) {
      factor_of = Factor{Sort::angle, *pmi_.units.angle, ""};
    }
    if (!factor_of) {
      why = "the unit of its value is missing or unknown";
      return std::nullopt;
    }
    const bool length = type.find("LENGTH") != std::string_view::npos,
               angle = type.find("ANGLE") != std::string_view::npos;
    if ((length && factor_of->sort != Sort::length) || (angle && factor_of->sort != Sort::angle)) {
      why = "its value and its unit are of different kinds";
      return std::nullopt;
    }
    m.angular = factor_of->sort == Sort::angle;
    m.value = *number * factor_of->si;
    if (!std::isfinite(m.value)) {
      why = "its value is too large";
      return std::nullopt;
    }
    qualify(*e, m);
    return m;
  }
  void qualify(const Instance& e, Measure& m) {
    const Record* r = f_.record(e, "QUALIFIED_REPRESENTATION_ITEM");
    if (r) {
      const auto p = f_.parameters(*r);
      if (!p.empty()) qualifiers(p.back(), m);
    }
    for (const Instance* q : users(e, "MEASURE_QUALIFICATION"))
      if (points_to(attribute(*q, "MEASURE_QUALIFICATION", 2, 2), e))
        if (const Value* list = attribute(*q, "MEASURE_QUALIFICATION", 3, 3)) qualifiers(*list, m);
  }
  void qualifiers(const Value& list, Measure& m) {
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

  // ---- what an aspect binds ----
  void item(const Value& v, Binding& b, int depth) {
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
  Binding bind(const Instance* start) {
    Binding b;
    if (!start) return b;
    std::vector<const Instance*> open = {start};
    std::set<std::uint64_t> seen = {start->id};
    while (!open.empty() && steps_ <= most_steps) {
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
    for (auto* list : {&b.faces, &b.edges, &b.curves, &b.sets, &b.others}) tidy(*list);
    return b;
  }

  // ---- dimensions ----
  std::vector<const Instance*> dimension_ends(const Instance& e) const {
    const auto name = any(e, dimension_names);
    const bool simple = f_.records(e).size() == 1;
    std::vector<const Instance*> out;
    if (name == "DIMENSIONAL_SIZE_WITH_DATUM_FEATURE" && simple) {
      out.push_back(target(attribute(e, name, 0, 4)));
    } else if (name == "ANGULAR_SIZE" || name.starts_with("DIMENSIONAL_SIZE")) {
      out.push_back(target(attribute(e, "DIMENSIONAL_SIZE", 0, 0)));
    } else {
      out.push_back(target(attribute(e, "SHAPE_ASPECT_RELATIONSHIP", 2, 2)));
      out.push_back(target(attribute(e, "SHAPE_ASPECT_RELATIONSHIP", 3, 3)));
    }
    return out;
  }

  void dimensions() {
    std::set<std::uint32_t> found;
    for (auto name : dimension_names)
      for (auto i : f_.all(name)) found.insert(i);
    for (auto i : found) dimension(f_.instances()[i]);
    std::sort(pmi_.dimensions.begin(), pmi_.dimensions.end(),
              [](const auto& a, const auto& b) { return a.entity < b.entity; });
  }
  void dimension(const Instance& e) {
    Dimension d;
    d.entity = e.id;
    const auto name = any(e, dimension_names);
    d.entity_name = std::string(name);
    const bool size = name == "ANGULAR_SIZE" || name.starts_with("DIMENSIONAL_SIZE");
    d.name = size ? text(attribute(e, "DIMENSIONAL_SIZE", 1, name == "DIMENSIONAL_SIZE_WITH_DATUM_FEATURE" ? 5 : 1))
                  : text(attribute(e, "SHAPE_ASPECT_RELATIONSHIP", 0, 0));
    d.kind = kind_of(d.entity_name, d.name);
    for (const Instance* end : dimension_ends(e)) {
      if (!end) unread(e, name, "what it is measured on is not in the file");
      d.ends.push_back(bind(end));
    }
    d.angular = name == "ANGULAR_SIZE" || name == "ANGULAR_LOCATION";
    dimension_values(e, d);
    dimension_limits(e, d);
    texts_of(e, d.texts);
    for (const auto& t : d.texts)
      if (!d.count) d.count = count_in(t);
    for (const auto& n : d.notes) {
      if (n == "theoretical" || n == "basic") d.basic = true;
      if (n == "auxiliary" || n == "reference") d.reference = true;
      if (n == "statistical") d.statistical = true;
    }
    pmi_.dimensions.push_back(std::move(d));
  }
  static DimensionKind kind_of(const std::string& entity, const std::string& name) {
    const std::string n = base::lower(name);
    auto has = [&](const char* s) { return n.find(s) != std::string::npos; };
    if (entity.starts_with("ANGULAR") || n == "angle") return DimensionKind::angle;
    if (has("spherical") && has("diameter")) return DimensionKind::spherical_diameter;
    if (has("spherical") && has("radius")) return DimensionKind::spherical_radius;
    if (n == "diameter") return DimensionKind::diameter;
    if (n == "radius" || n == "controlled radius") return DimensionKind::radius;
    if (n == "thickness") return DimensionKind::thickness;
    if (n == "curve length" || has("curved") || entity.ends_with("WITH_PATH")) return DimensionKind::curve_length;
    if (n == "length" || n == "width" || n == "height" || n == "depth") return DimensionKind::length;
    if (n.starts_with("linear distance") || n == "distance") return DimensionKind::distance;
    return DimensionKind::other;
  }
  void dimension_values(const Instance& e, Dimension& d) {
    for (const Instance* link : users(e, "DIMENSIONAL_CHARACTERISTIC_REPRESENTATION")) {
      if (!points_to(attribute(*link, "DIMENSIONAL_CHARACTERISTIC_REPRESENTATION", 0, 0), e)) continue;
      const Instance* rep = target(attribute(*link, "DIMENSIONAL_CHARACTERISTIC_REPRESENTATION", 1, 1));
      if (!rep) continue;
      if (const Value* items = attribute(*rep, "REPRESENTATION", 1, 1))
        for (const Value& v : f_.items(*items)) dimension_item(e, v, d, 0);
    }
    for (const StatedValue& v : d.values) {
      const std::string n = base::lower(v.name);
      if (!d.nominal && (n.starts_with("nominal") || (n.empty() && d.values.size() == 1))) {
        d.nominal = v.value;
        d.decimals = v.decimals;
      }
    }
  }
  void dimension_item(const Instance& e, const Value& v, Dimension& d, int depth) {
    if (depth > 6) return;
    if (v.kind == Kind::list || v.kind == Kind::typed) {
      for (const Value& inner : f_.items(v)) dimension_item(e, inner, d, depth + 1);
      return;
    }
    const Instance* item = target(&v);
    if (!item) return;
    const auto key = first_keyword(*item);
    if (is(*item, "COMPOUND_REPRESENTATION_ITEM")) {
      if (const Value* list = attribute(*item, "COMPOUND_REPRESENTATION_ITEM", 0, 1))
        dimension_item(e, *list, d, depth + 1);
      return;
    }
    if (is(*item, "DESCRIPTIVE_REPRESENTATION_ITEM"))
      return add(d.notes, text(attribute(*item, "DESCRIPTIVE_REPRESENTATION_ITEM", 0, 1)));
    const bool carries = is(*item, "MEASURE_WITH_UNIT") || key.find("MEASURE") != std::string_view::npos ||
                         key == "VALUE_REPRESENTATION_ITEM";
    if (!carries) return;  // directions and placements of oriented dimensions
    std::string why;
    const auto m = measure(item, why);
    if (!m) return unread(e, d.entity_name, why);
    if (!d.values.empty() && m->angular != d.angular) return unread(e, d.entity_name, "it mixes lengths and angles");
    d.angular = m->angular;
    d.values.push_back({m->name, m->value, m->decimals});
    for (const auto& q : m->qualifiers) add(d.qualifiers, q);
  }
  void dimension_limits(const Instance& e, Dimension& d) {
    for (const Instance* pm : users(e, "PLUS_MINUS_TOLERANCE")) {
      if (!points_to(attribute(*pm, "PLUS_MINUS_TOLERANCE", 1, 1), e)) continue;
      if (d.lower || d.fit) {
        unread(e, d.entity_name, "it has more than one tolerance; the first is used");
        continue;
      }
      const Instance* range = target(attribute(*pm, "PLUS_MINUS_TOLERANCE", 0, 0));
      if (!range) {
        unread(e, d.entity_name, "its tolerance is not in the file");
      } else if (is(*range, "TOLERANCE_VALUE")) {
        deviations(e, *range, d);
      } else if (is(*range, "LIMITS_AND_FITS")) {
        fit(e, *range, d);
      } else {
        unread(e, d.entity_name, "its tolerance is of an unknown kind");
      }
    }
    if (d.nominal && d.lower && d.upper) {
      d.least = *d.nominal + *d.lower;
      d.most = *d.nominal + *d.upper;
    }
    for (const StatedValue& v : d.values) {
      const std::string n = base::lower(v.name);
      if (n.starts_with("lower limit") && !d.least) d.least = v.value;
      if (n.starts_with("upper limit") && !d.most) d.most = v.value;
    }
  }
  void deviations(const Instance& e, const Instance& range, Dimension& d) {
    std::string why;
    const auto low = measure(target(attribute(range, "TOLERANCE_VALUE", 0, 0)), why);
    const auto high = measure(target(attribute(range, "TOLERANCE_VALUE", 1, 1)), why);
    if (!low || !high) return unread(e, d.entity_name, "tolerance: " + why);
    if (low->angular != high->angular || (!d.values.empty() && low->angular != d.angular))
      return unread(e, d.entity_name, "its tolerance and its value are of different kinds");
    d.lower = low->value;
    d.upper = high->value;
  }
  void fit(const Instance& e, const Instance& range, Dimension& d) {
    Fit fit;
    for (std::size_t i = 0; i < 4; ++i) fit.written.push_back(text(attribute(range, "LIMITS_AND_FITS", i, i)));
    // "G6" in one text, or letter and grade in two
    const std::string all = fit.written[0] + fit.written[2];
    std::size_t i = 0;
    while (i < all.size() && ((all[i] >= 'A' && all[i] <= 'Z') || (all[i] >= 'a' && all[i] <= 'z'))) ++i;
    fit.letter = all.substr(0, i);
    std::size_t digits = i;
    if (all.substr(i, 2) == "IT") digits += 2;
    const auto r = std::from_chars(all.data() + digits, all.data() + all.size(), fit.grade);
    if (r.ec != std::errc() || fit.grade < 0 || fit.grade > 18) fit.grade = 0;
    fit.zone = fit.written[1];
    if (fit.letter.empty() || !fit.grade)
      unread(e, d.entity_name, "its fit class cannot be read: " + base::join(fit.written, ", "));
    d.fit = std::move(fit);
  }

  // ---- texts ----
  void texts_of(const Instance& e, std::vector<std::string>& out) {
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
    }
  }
  void property_texts(const Instance& e, std::vector<std::string>& out) {
    for (const Instance* p : users(e, "PROPERTY_DEFINITION"))
      if (points_to(attribute(*p, "PROPERTY_DEFINITION", 2, 2), e)) representation_texts(*p, out);
  }
  void representation_texts(const Instance& property, std::vector<std::string>& out) {
    for (const Instance* link : users(property, "PROPERTY_DEFINITION_REPRESENTATION")) {
      const Instance* rep = target(attribute(*link, "PROPERTY_DEFINITION_REPRESENTATION", 1, 1));
      const Value* items = rep ? attribute(*rep, "REPRESENTATION", 1, 1) : nullptr;
      if (!items) continue;
      for (const Value& v : f_.items(*items)) {
        const Instance* item = target(&v);
        if (!item || !is(*item, "DESCRIPTIVE_REPRESENTATION_ITEM")) continue;
        if (text(attribute(*item, "REPRESENTATION_ITEM", 0, 0)) == "datum references") continue;
        add(out, text(attribute(*item, "DESCRIPTIVE_REPRESENTATION_ITEM", 0, 1)));
      }
    }
  }

  // ---- datums ----
  void datums() {
    for (auto i : f_.all("DATUM")) {
      const Instance& e = f_.instances()[i];
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
      for (auto* list : {&d.on.faces, &d.on.edges, &d.on.curves, &d.on.sets, &d.on.others, &d.targets}) tidy(*list);
      pmi_.datums.push_back(std::move(d));
    }
    std::set<std::uint32_t> found;
    for (auto name : target_names)
      for (auto i : f_.all(name)) found.insert(i);
    for (auto i : found) datum_target(f_.instances()[i]);
  }
  std::string letter_of(const Instance& e) const { return text(attribute(e, "DATUM", 0, 4)); }

  void datum_target(const Instance& e) {
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
  void target_placement(const Instance* rep, DatumTarget& t) {
    const Value* items = rep ? attribute(*rep, "REPRESENTATION", 1, 1) : nullptr;
    if (!items) return;
    for (const Value& v : f_.items(*items)) {
      const Instance* item = target(&v);
      if (!item) continue;
      if (is(*item, "AXIS2_PLACEMENT_3D")) {
        if (const auto at = placement(*item)) {
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

  // ---- tolerances ----
  void tolerances() {
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
  void tolerance(const Instance& e) {
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
    extras(e, t, simple);
    const Value* frame = attribute(e, "GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE", 0, fifth_is_frame ? 4 : 99);
    if (frame) datum_frame(e, *frame, t);
    zones(e, t);
    texts_of(e, t.texts);
    for (const auto& s : t.texts)
      if (!t.count) t.count = count_in(s);
    pmi_.tolerances.push_back(std::move(t));
  }
  void magnitude(const Instance& e, Tolerance& t) {
    std::string why;
    const auto m = measure(target(attribute(e, "GEOMETRIC_TOLERANCE", 2, 2)), why);
    if (!m) return unread(e, t.entity_name, why);
    t.value = m->value;
    t.angular = m->angular;
    t.decimals = m->decimals;
  }
  void where_it_applies(const Instance& e, Tolerance& t) {
    const Instance* aspect = target(attribute(e, "GEOMETRIC_TOLERANCE", 3, 3));
    if (!aspect) return unread(e, t.entity_name, "what it applies to is not in the file");
    t.all_around = is(*aspect, "ALL_AROUND_SHAPE_ASPECT");
    t.between = is(*aspect, "BETWEEN_SHAPE_ASPECT");
    if (!any(*aspect, dimension_names).empty()) t.on_dimension = aspect->id;
    t.on = bind(aspect);
  }
  std::optional<double> length_of(const Instance& e, const Value* v, std::string_view what) {
    std::string why;
    const auto m = measure(target(v), why);
    if (m && !m->angular) return m->value;
    unread(e, {}, fmt::format("{}: {}", what, m ? "an angle where a length is meant" : why));
    return std::nullopt;
  }
  void extras(const Instance& e, Tolerance& t, bool simple) {
    auto own = [&](std::string_view key, std::size_t i) -> const Value* {
      if (!f_.record(e, key)) return nullptr;
      return attribute(e, key, i, 4 + i);
    };
    (void)simple;
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
  void zones(const Instance& e, Tolerance& t) {
    for (const Instance* z : users(e, "TOLERANCE_ZONE")) {
      if (const Instance* form = target(attribute(*z, "TOLERANCE_ZONE", 1, 5)))
        t.zone = text(attribute(*form, "TOLERANCE_ZONE_FORM", 0, 0));
      for (const Instance* p : users(*z, "PROJECTED_ZONE_DEFINITION"))
        if (const Value* v = attribute(*p, "PROJECTED_ZONE_DEFINITION", 1, 3))
          t.projected = length_of(e, v, "projected zone");
    }
  }
  void datum_frame(const Instance& e, const Value& list, Tolerance& t) {
    std::vector<std::pair<int, Compartment>> ranked;  // older files: one DATUM_REFERENCE each, with its rank
    for (const Value& v : f_.items(list)) {
      const Instance* s = target(&v);
      if (!s) {
        unread(e, t.entity_name, "its datum frame is not in the file");
      } else if (is(*s, "DATUM_SYSTEM")) {
        const Value* parts = attribute(*s, "DATUM_SYSTEM", 0, 4);
        if (!parts) continue;
        for (const Value& c : f_.items(*parts))
          if (const Instance* part = target(&c)) t.frame.push_back(compartment(e, *part));
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
  Compartment compartment(const Instance& e, const Instance& part) {
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
  void elements(const Instance& e, const Value& v, std::vector<DatumUse>& out, int depth) {
    if (depth > 4) return;
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
  std::vector<Modifier> datum_modifiers(const Value& list) {
    std::vector<Modifier> out;
    for (const Value& v : f_.items(list)) {
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
  void links() {
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

  // ---- curve sets ----
  struct Placed {
    frame::Vec3 point, axis, along;
  };
  std::optional<frame::Vec3> triple(const Instance* e, std::string_view key) const {
    const Value* list = e && is(*e, key) ? attribute(*e, key, 0, 1) : nullptr;
    if (!list || f_.items(*list).size() != 3) return std::nullopt;
    double x[3];
    for (std::size_t i = 0; i < 3; ++i) {
      const auto n = plain(&f_.items(*list)[i]);
      if (!n) return std::nullopt;
      x[i] = *n;
    }
    return frame::Vec3{x[0], x[1], x[2]};
  }
  std::optional<Placed> placement(const Instance& e) const {
    const auto point = triple(target(attribute(e, "AXIS2_PLACEMENT_3D", 0, 1)), "CARTESIAN_POINT");
    if (!point || !pmi_.units.length) return std::nullopt;
    const auto axis = triple(target(attribute(e, "AXIS2_PLACEMENT_3D", 0, 2)), "DIRECTION");
    const auto along = triple(target(attribute(e, "AXIS2_PLACEMENT_3D", 0, 3)), "DIRECTION");
    Placed p{*pmi_.units.length * *point, frame::unit(axis.value_or(frame::Vec3{0, 0, 1})),
             frame::unit(along.value_or(frame::Vec3{1, 0, 0}))};
    if (!(frame::norm(p.axis) > 0.5 && frame::norm(p.along) > 0.5)) return std::nullopt;
    return p;
  }
  void circles() {
    std::map<std::uint64_t, std::vector<std::uint64_t>> bound;
    for (const Dimension& d : pmi_.dimensions)
      for (const Binding& b : d.ends)
        for (auto s : b.sets) bound[s].push_back(d.entity);
    for (const Tolerance& t : pmi_.tolerances)
      for (auto s : t.on.sets) bound[s].push_back(t.entity);
    for (const char* key : {"GEOMETRIC_CURVE_SET", "GEOMETRIC_SET"})
      for (auto i : f_.all(key)) {
        const Instance& set = f_.instances()[i];
        const Value* items = attribute(set, "GEOMETRIC_SET", 0, 1);
        if (!items) continue;
        bool drawn = false;
        for (auto u : f_.users(set))
          for (const Record& r : f_.records(f_.instances()[u])) {
            const auto name = f_.keyword(r);
            drawn = drawn || name.starts_with("ANNOTATION") || name.ends_with("ANNOTATION_OCCURRENCE");
          }
        std::set<std::uint64_t> seen;
        for (const Value& v : f_.items(*items)) circle_in(target(&v), set, drawn, bound, seen);
      }
  }
  void circle_in(const Instance* e, const Instance& set, bool drawn,
                 const std::map<std::uint64_t, std::vector<std::uint64_t>>& bound, std::set<std::uint64_t>& seen) {
    for (int depth = 0; e && depth < 4; ++depth) {  // a circle, or an arc trimmed out of one
      if (++steps_ > most_steps) return;
      if (is(*e, "TRIMMED_CURVE")) {
        e = target(attribute(*e, "TRIMMED_CURVE", 0, 1));
        continue;
      }
      if (!is(*e, "CIRCLE") || !seen.insert(e->id).second) return;
      const Instance* where = target(attribute(*e, "CONIC", 0, 1));
      const auto at = where ? placement(*where) : std::nullopt;
      const auto radius = plain(attribute(*e, "CIRCLE", 0, 2));
      if (!at || !radius || !(*radius > 0)) {
        if (pmi_.units.length) unread(*e, "CIRCLE", "a circle of a curve set cannot be read");
        return;
      }
      SetCircle c{set.id,
                  e->id,
                  at->point,
                  at->axis,
                  *pmi_.units.length * *radius,
                  text(attribute(set, "REPRESENTATION_ITEM", 0, 0)),
                  drawn,
                  {}};
      if (const auto b = bound.find(set.id); b != bound.end()) c.bound_by = b->second;
      tidy(c.bound_by);
      pmi_.circles.push_back(std::move(c));
      return;
    }
  }
  void thread_texts() {
    std::set<std::string> told;
    auto from = [&](std::uint64_t entity, const std::vector<std::string>& texts) {
      for (const auto& s : texts)
        if (const std::string t = thread_in(s); !t.empty()) {
          pmi_.threads.push_back({entity, 0, s, t});
          told.insert(s);
        }
    };
    for (const auto& d : pmi_.dimensions) from(d.entity, d.texts);
    for (const auto& t : pmi_.tolerances) from(t.entity, t.texts);
    for (auto i : f_.all("DESCRIPTIVE_REPRESENTATION_ITEM")) {
      const Instance& e = f_.instances()[i];
      const std::string s = text(attribute(e, "DESCRIPTIVE_REPRESENTATION_ITEM", 0, 1));
      if (const std::string t = thread_in(s); !t.empty() && !told.count(s)) pmi_.threads.push_back({0, e.id, s, t});
    }
  }

  const File& f_;
  std::optional<double> given_;
  Pmi pmi_;
  std::size_t steps_ = 0;
};

}  // namespace

std::string Compartment::text() const {
  std::string out;
  for (const DatumUse& d : datums) out += (out.empty() ? "" : "-") + d.letter;
  return out;
}

Outcome<Pmi> read_pmi(const File& file, std::optional<double> length) { return Reader(file, length).run(); }
Units read_units(const File& file) { return Reader(file, {}).units(); }

namespace {
bool digit(char c) { return c >= '0' && c <= '9'; }
bool letter(char c) { return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z'); }
}  // namespace

int count_in(const std::string& s) {
  for (std::size_t i = 0; i < s.size(); ++i) {
    if (!digit(s[i]) || (i > 0 && (digit(s[i - 1]) || s[i - 1] == '.' || s[i - 1] == ','))) continue;
    // a letter before belongs to a word; "\w" ahead of the count is a field mark of callout texts
    if (i > 0 && letter(s[i - 1]) && !(i > 1 && s[i - 2] == '\\')) continue;
    int n = 0;
    const auto r = std::from_chars(s.data() + i, s.data() + s.size(), n);
    if (r.ec != std::errc() || n < 2 || n > 9999) continue;
    auto at = static_cast<std::size_t>(r.ptr - s.data());
    while (at < s.size() && s[at] == ' ') ++at;
    const bool times = s.compare(at, 2, "\xC3\x97") == 0;
    if (!times && !(at < s.size() && (s[at] == 'X' || s[at] == 'x'))) continue;
    const std::size_t after = at + (times ? 2 : 1);
    // "2x45" is a chamfer, "4X Ø6" and "4XØ6" are counts
    if (after < s.size() && (digit(s[after]) || letter(s[after]) || s[after] == '.')) continue;
    return n;
  }
  return 0;
}

std::string thread_in(const std::string& s) {
  auto number = [&](std::size_t i) {  // end of 12, 1.25, 1,25; i when there is none
    const std::size_t b = i;
    while (i < s.size() && digit(s[i])) ++i;
    if (i > b && i + 1 < s.size() && (s[i] == '.' || s[i] == ',') && digit(s[i + 1])) {
      ++i;
      while (i < s.size() && digit(s[i])) ++i;
    }
    return i;
  };
  auto blanks = [&](std::size_t i) {
    while (i < s.size() && s[i] == ' ') ++i;
    return i;
  };
  auto tail = [&](std::size_t i) {  // tolerance class: -6H, -2B, - 6g6g
    std::size_t j = blanks(i);
    if (j >= s.size() || s[j] != '-') return i;
    j = blanks(j + 1);
    const std::size_t b = j;
    while (j < s.size() && (digit(s[j]) || letter(s[j]))) ++j;
    return j > b && j - b <= 5 && digit(s[b]) ? j : i;
  };
  for (std::size_t i = 0; i < s.size(); ++i) {
    const bool begins = i == 0 || (!letter(s[i - 1]) && !digit(s[i - 1]) && s[i - 1] != '.' && s[i - 1] != '/') ||
                        (i > 1 && s[i - 2] == '\\' && letter(s[i - 1]));
    if (!begins) continue;
    if (s[i] == 'M' && i + 1 < s.size() && digit(s[i + 1])) {  // M8, M8x1, M8 x 1.25 - 6H
      std::size_t end = number(i + 1);
      double d = 0;
      std::from_chars(s.data() + i + 1, s.data() + end, d);
      if (!(d >= 1 && d <= 600)) continue;
      std::size_t j = blanks(end);
      const bool times = s.compare(j, 2, "\xC3\x97") == 0;
      if (j < s.size() && (s[j] == 'x' || s[j] == 'X' || times)) {
        const std::size_t p = blanks(j + (times ? 2 : 1)), q = number(p);
        if (q > p) end = q;
      }
      if (end < s.size() && letter(s[end])) continue;
      return s.substr(i, tail(end) - i);
    }
    if (digit(s[i]) || s[i] == '#') {  // 1/4-20 UNC, #10-32 UNF, .250-20 UNC
      std::size_t j = s[i] == '#' ? i + 1 : i;
      std::size_t end = number(j);
      if (end == j) continue;
      if (end < s.size() && s[end] == '/') {
        const std::size_t q = number(end + 1);
        if (q == end + 1) continue;
        end = q;
      }
      if (end >= s.size() || s[end] != '-') continue;
      const std::size_t per = number(end + 1);
      if (per == end + 1) continue;
      std::size_t k = blanks(per);
      if (k < s.size() && s[k] == '-') k = blanks(k + 1);
      for (const char* series : {"UNEF", "UNC", "UNF", "UNJ", "UNS", "UN", "NPTF", "NPT"}) {
        const std::string_view name = series;
        if (s.compare(k, name.size(), name) != 0) continue;
        const std::size_t e = k + name.size();
        if (e < s.size() && letter(s[e])) continue;
        return s.substr(i, tail(e) - i);
      }
    }
  }
  return {};
}

}  // namespace fettle::step
