#include <algorithm>
#include <charconv>

#include "base/text.h"
#include "step/pmi_reader.h"

namespace fettle::step {
namespace {

DimensionKind kind_of(const std::string& entity, const std::string& name) {
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

}  // namespace

std::vector<const Instance*> PmiReader::dimension_ends(const Instance& e) const {
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

void PmiReader::dimensions() {
  std::set<std::uint32_t> found;
  for (auto name : dimension_names)
    for (auto i : f_.all(name)) found.insert(i);
  for (auto i : found) dimension(f_.instances()[i]);
  std::sort(pmi_.dimensions.begin(), pmi_.dimensions.end(),
            [](const auto& a, const auto& b) { return a.entity < b.entity; });
}

void PmiReader::dimension(const Instance& e) {
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

void PmiReader::dimension_values(const Instance& e, Dimension& d) {
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

void PmiReader::dimension_item(const Instance& e, const Value& v, Dimension& d, int depth) {
  step();
  if (depth > 6 || exhausted()) return;
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

void PmiReader::dimension_limits(const Instance& e, Dimension& d) {
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

void PmiReader::deviations(const Instance& e, const Instance& range, Dimension& d) {
  std::string why;
  const auto low = measure(target(attribute(range, "TOLERANCE_VALUE", 0, 0)), why);
  const auto high = measure(target(attribute(range, "TOLERANCE_VALUE", 1, 1)), why);
  if (!low || !high) return unread(e, d.entity_name, "tolerance: " + why);
  if (low->angular != high->angular || (!d.values.empty() && low->angular != d.angular))
    return unread(e, d.entity_name, "its tolerance and its value are of different kinds");
  d.lower = low->value;
  d.upper = high->value;
}

void PmiReader::fit(const Instance& e, const Instance& range, Dimension& d) {
  Fit fit;
  for (std::size_t i = 0; i < 4; ++i) fit.written.push_back(text(attribute(range, "LIMITS_AND_FITS", i, i)));
  // "G6" in one text, or letter and grade in two
  const std::string all = fit.written[0] + fit.written[2];
  std::size_t i = 0;
  while (i < all.size() && ((all[i] >= 'A' && all[i] <= 'Z') || (all[i] >= 'a' && all[i] <= 'z'))) ++i;
  fit.letter = all.substr(0, i);
  if (i > 2 && fit.letter.ends_with("IT")) fit.letter.resize(i - 2);
  const auto r = std::from_chars(all.data() + i, all.data() + all.size(), fit.grade);
  if (r.ec != std::errc() || fit.grade < 0 || fit.grade > 18) fit.grade = 0;
  fit.zone = fit.written[1];
  if (fit.letter.empty() || !fit.grade)
    unread(e, d.entity_name, "its fit class cannot be read: " + base::join(fit.written, ", "));
  d.fit = std::move(fit);
}

}  // namespace fettle::step
