#include "solid/write_pmi.h"

#include <algorithm>

#include "base/text.h"
#include "step/part21.h"

namespace fettle::solid {
namespace {

/// A real as STEP wants it: always with a point.
std::string real(double x) {
  std::string s = base::shortest(x);
  const std::size_t e = s.find('e');
  if (s.find('.') == std::string::npos) s.insert(e == std::string::npos ? s.size() : e, ".");
  for (char& c : s)
    if (c == 'e') c = 'E';
  return s;
}

std::string ref(int n) { return '#' + std::to_string(n); }

std::string refs(const std::vector<int>& list) {
  std::vector<std::string> parts;
  parts.reserve(list.size());
  for (const int n : list) parts.push_back(ref(n));
  return '(' + base::join(parts, ",") + ')';
}

std::string quoted(const std::string& s) {
  std::string out = "'";
  for (const char c : s) out += c == '\'' ? std::string("''") : std::string(1, c);
  return out + '\'';
}

}  // namespace

Outcome<DrawingWriter> DrawingWriter::on(const std::string& text) {
  const auto file = step::parse(text, "model");
  if (!file) return file.problems();
  DrawingWriter w;
  const auto only = [&](std::string_view keyword) -> const step::Instance* {
    const auto all = file->all(keyword);
    return all.empty() ? nullptr : &file->instances()[all.front()];
  };
  const step::Instance* shape = only("PRODUCT_DEFINITION_SHAPE");
  const step::Instance* solid = only("ADVANCED_BREP_SHAPE_REPRESENTATION");
  const step::Instance* unit = only("LENGTH_UNIT");
  if (!shape || !solid || !unit) return bad("the text has no solid to write a drawing on");
  const auto parameters = file->parameters(*file->record(*solid, "ADVANCED_BREP_SHAPE_REPRESENTATION"));
  if (parameters.size() != 3 || parameters[2].kind != step::Kind::reference)
    return bad("the solid's representation is damaged");
  w.shape_ = static_cast<int>(shape->id);
  w.solid_ = static_cast<int>(solid->id);
  w.unit_ = static_cast<int>(unit->id);
  w.context_ = static_cast<int>(parameters[2].id);
  for (const auto& i : file->instances()) w.next_ = std::max(w.next_, static_cast<int>(i.id) + 1);
  w.base_ = text;
  return w;
}

int DrawingWriter::add(const std::string& entity) {
  lines_ += ref(next_) + " = " + entity + ";\n";
  return next_++;
}

int DrawingWriter::feature(const std::string& name, const std::vector<int>& faces) {
  const auto bound = [&](int aspect, int face) {
    add("GEOMETRIC_ITEM_SPECIFIC_USAGE('',''," + ref(aspect) + ',' + ref(solid_) + ',' + ref(face) + ')');
  };
  if (faces.size() == 1) {
    const int aspect = add("SHAPE_ASPECT(" + quoted(name) + ",''," + ref(shape_) + ",.T.)");
    bound(aspect, faces.front());
    return aspect;
  }
  const int group = add("COMPOSITE_GROUP_SHAPE_ASPECT(" + quoted(name) + ",''," + ref(shape_) + ",.F.)");
  for (const int face : faces) {
    const int child = add("SHAPE_ASPECT(" + quoted(name) + ",''," + ref(shape_) + ",.T.)");
    add("SHAPE_ASPECT_RELATIONSHIP('',''," + ref(group) + ',' + ref(child) + ')');
    bound(child, face);
  }
  return group;
}

int DrawingWriter::length(double value, const std::string& name, int decimals) {
  const int format = add("VALUE_FORMAT_TYPE_QUALIFIER('NR2 1." + std::to_string(decimals) + "')");
  return add("( LENGTH_MEASURE_WITH_UNIT() MEASURE_REPRESENTATION_ITEM() MEASURE_WITH_UNIT(LENGTH_MEASURE(" +
             real(value) + ")," + ref(unit_) + ")\nQUALIFIED_REPRESENTATION_ITEM((" + ref(format) +
             ")) REPRESENTATION_ITEM(" + quoted(name) + ") )");
}

void DrawingWriter::measure(int dimension, double nominal, double lower, double upper, int decimals) {
  const int value = length(nominal, "nominal value", decimals);
  const int shown = add("SHAPE_DIMENSION_REPRESENTATION('',(" + ref(value) + ")," + ref(context_) + ')');
  add("DIMENSIONAL_CHARACTERISTIC_REPRESENTATION(" + ref(dimension) + ',' + ref(shown) + ')');
  const int low = length(lower, "", decimals), high = length(upper, "", decimals);
  const int range = add("TOLERANCE_VALUE(" + ref(low) + ',' + ref(high) + ')');
  add("PLUS_MINUS_TOLERANCE(" + ref(range) + ',' + ref(dimension) + ')');
}

int DrawingWriter::size(int feature, const std::string& kind, double nominal, double lower, double upper,
                        int decimals) {
  const int dimension = add("DIMENSIONAL_SIZE(" + ref(feature) + ',' + quoted(kind) + ')');
  measure(dimension, nominal, lower, upper, decimals);
  return dimension;
}

int DrawingWriter::distance(int from, int to, double nominal, double lower, double upper, int decimals) {
  const int dimension = add("DIMENSIONAL_LOCATION('linear distance',''," + ref(from) + ',' + ref(to) + ')');
  measure(dimension, nominal, lower, upper, decimals);
  return dimension;
}

int DrawingWriter::datum(const std::string& letter, const std::string& name, const std::vector<int>& faces) {
  const int datum = add("DATUM(" + quoted(name) + ",''," + ref(shape_) + ",.F.," + quoted(letter) + ')');
  for (const int face : faces) {
    const int feature = add("DATUM_FEATURE(" + quoted(name) + ",''," + ref(shape_) + ",.T.)");
    add("SHAPE_ASPECT_RELATIONSHIP('',''," + ref(feature) + ',' + ref(datum) + ')');
    add("GEOMETRIC_ITEM_SPECIFIC_USAGE('',''," + ref(feature) + ',' + ref(solid_) + ',' + ref(face) + ')');
  }
  return datum;
}

int DrawingWriter::tolerance(const std::string& type, const std::string& name, double value, int feature,
                             const std::vector<int>& datums, bool round_zone) {
  const int magnitude = add("LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(" + real(value) + ")," + ref(unit_) + ')');
  const std::string what = quoted(name) + ",''," + ref(magnitude) + ',' + ref(feature);
  int tolerance = 0;
  if (datums.empty()) {
    tolerance = add(type + "_TOLERANCE(" + what + ')');
  } else {
    std::vector<int> frame;
    frame.reserve(datums.size());
    for (const int d : datums)
      frame.push_back(add("DATUM_REFERENCE_COMPARTMENT('',''," + ref(shape_) + ",.F.," + ref(d) + ",$)"));
    const int system = add("DATUM_SYSTEM('',''," + ref(shape_) + ",.F.," + refs(frame) + ')');
    // types of a complex instance stand in the order of the alphabet
    const std::string own = type + "_TOLERANCE()", head = "GEOMETRIC_TOLERANCE(" + what + ")\n",
                      with = "GEOMETRIC_TOLERANCE_WITH_DATUM_REFERENCE((" + ref(system) + "))";
    tolerance = add("( " + (own < "GEOMETRIC" ? own + ' ' + head + with : head + with + ' ' + own) + " )");
  }
  if (round_zone) {
    const int form = add("TOLERANCE_ZONE_FORM('cylindrical or circular')");
    add("TOLERANCE_ZONE('',''," + ref(shape_) + ",.F.,(" + ref(tolerance) + ")," + ref(form) + ')');
  }
  return tolerance;
}

std::string DrawingWriter::text() const {
  const std::size_t end = base_.rfind("ENDSEC;");
  return base_.substr(0, end) + lines_ + base_.substr(end);
}

}  // namespace fettle::solid
