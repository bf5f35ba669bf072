#include "step/entities.h"

#include <cmath>
#include <map>

namespace fettle::step {
namespace {

double si_prefix(std::string_view p) {
  static const std::map<std::string_view, double> powers = {
      {"EXA", 1e18},  {"PETA", 1e15},  {"TERA", 1e12},   {"GIGA", 1e9},   {"MEGA", 1e6},   {"KILO", 1e3},
      {"HECTO", 1e2}, {"DECA", 1e1},   {"DECI", 1e-1},   {"CENTI", 1e-2}, {"MILLI", 1e-3}, {"MICRO", 1e-6},
      {"NANO", 1e-9}, {"PICO", 1e-12}, {"FEMTO", 1e-15}, {"ATTO", 1e-18}};
  const auto it = powers.find(p);
  return it == powers.end() ? 0 : it->second;
}

bool near(double a, double b) { return std::fabs(a - b) <= 1e-9 * std::fabs(b); }

}  // namespace

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

Units Entities::find_units() const {
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
      const auto unit = factor(target(&v));
      if (!unit) continue;
      if (unit->sort == Factor::Sort::length && !u.length) {
        u.length = unit->si;
        u.length_name = length_name(unit->si, unit->name);
      }
      if (unit->sort == Factor::Sort::angle && !u.angle) {
        u.angle = unit->si;
        u.angle_name = angle_name(unit->si, unit->name);
      }
    }
    if (u.length) break;
  }
  return u;
}

std::string_view Entities::any(const Instance& e, std::span<const std::string_view> names) const {
  for (const Record& r : f_.records(e))
    for (std::string_view n : names)
      if (f_.keyword(r) == n) return n;
  return {};
}

// Attribute `own` of the record `key` in a complex instance, attribute `flat` of a simple one.
const Value* Entities::attribute(const Instance& e, std::string_view key, std::size_t own, std::size_t flat) const {
  const auto records = f_.records(e);
  if (records.size() == 1) return parameter(records.front(), flat);
  const Record* r = f_.record(e, key);
  return r ? parameter(*r, own) : nullptr;
}

const Value* Entities::parameter(const Record& r, std::size_t i) const {
  const auto p = f_.parameters(r);
  return i < p.size() ? &p[i] : nullptr;
}

// Users of e that carry any of the names, with e as the attribute (own, flat) of `key`.
std::vector<const Instance*> Entities::users(const Instance& e, std::span<const std::string_view> names) {
  std::vector<const Instance*> out;
  const auto all = f_.users(e);
  steps_ += all.size() + 1;
  if (steps_ > most_steps) return out;
  for (auto i : all)
    if (!any(f_.instances()[i], names).empty()) out.push_back(&f_.instances()[i]);
  return out;
}

std::vector<const Instance*> Entities::users(const Instance& e, const char* name) {
  const std::string_view one[] = {name};
  return users(e, one);
}

std::optional<Factor> Entities::factor(const Instance* e, int depth) const {
  if (!e || depth > 8) return std::nullopt;
  Factor out;
  if (is(*e, "LENGTH_UNIT")) out.sort = Factor::Sort::length;
  if (is(*e, "PLANE_ANGLE_UNIT")) out.sort = Factor::Sort::angle;
  if (const Record* r = f_.record(*e, "SI_UNIT")) {
    // simple form: (dimensions, prefix, name)
    const std::size_t shift = f_.records(*e).size() == 1 ? 1 : 0;
    const Value *prefix = parameter(*r, shift), *name = parameter(*r, shift + 1);
    if (!prefix || !name || name->kind != Kind::enumeration) return std::nullopt;
    const auto unit = f_.raw(*name);
    if (unit == "METRE") out.sort = Factor::Sort::length;
    else if (unit == "RADIAN") out.sort = Factor::Sort::angle;
    else return std::nullopt;
    out.si = prefix->kind == Kind::enumeration ? si_prefix(f_.raw(*prefix)) : 1;
    out.name = std::string(unit);
  } else if (const Record* c = f_.record(*e, "CONVERSION_BASED_UNIT")) {
    // simple form: (dimensions, name, factor)
    const std::size_t shift = f_.records(*e).size() == 1 ? 1 : 0;
    const Instance* m = target(parameter(*c, shift + 1));
    if (!m) return std::nullopt;
    const Value *value = attribute(*m, "MEASURE_WITH_UNIT", 0, 0), *unit = attribute(*m, "MEASURE_WITH_UNIT", 1, 1);
    const auto inner = factor(target(unit), depth + 1);
    const auto number = plain(value);
    if (!inner || !number || inner->sort == Factor::Sort::other) return std::nullopt;
    if (out.sort != Factor::Sort::other && out.sort != inner->sort) return std::nullopt;
    out.sort = inner->sort;
    out.si = *number * inner->si;
    out.name = text(parameter(*c, shift));
  } else {
    return std::nullopt;
  }
  if (!(out.si > 0 && out.si < 1e12)) return std::nullopt;
  return out;
}

// The number in 5., LENGTH_MEASURE(5.) and the like.
std::optional<double> Entities::plain(const Value* v) const {
  if (v && v->kind == Kind::typed && v->count == 1) v = &f_.items(*v)[0];
  if (!v || (v->kind != Kind::real && v->kind != Kind::integer)) return std::nullopt;
  return v->number;
}

std::optional<frame::Vec3> Entities::triple(const Instance* e, std::string_view key) const {
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

std::optional<Placed> Entities::placement(const Instance& e, double length) const {
  const auto point = triple(target(attribute(e, "AXIS2_PLACEMENT_3D", 0, 1)), "CARTESIAN_POINT");
  if (!point) return std::nullopt;
  const auto axis = triple(target(attribute(e, "AXIS2_PLACEMENT_3D", 0, 2)), "DIRECTION");
  const auto along = triple(target(attribute(e, "AXIS2_PLACEMENT_3D", 0, 3)), "DIRECTION");
  Placed p{length * *point, frame::unit(axis.value_or(frame::Vec3{0, 0, 1})),
           frame::unit(along.value_or(frame::Vec3{1, 0, 0}))};
  if (!(frame::norm(p.axis) > 0.5 && frame::norm(p.along) > 0.5)) return std::nullopt;
  return p;
}

}  // namespace fettle::step
