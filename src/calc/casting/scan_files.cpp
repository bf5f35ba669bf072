// Reading PLY and STL bytes.
#include <bit>
#include <cmath>
#include <cstdint>
#include <cstring>

#include "base/text.h"
#include "calc/casting/scan.h"

namespace fettle::casting {
namespace {

using std::size_t;
constexpr size_t most_points = 50000000;

Problem at(const std::string& file, int line, std::string what, std::string found = {}, std::string expected = {}) {
  Problem p = bad(std::move(what), std::move(found), std::move(expected));
  p.where = {file, line, line > 0 ? 1 : 0};
  return p;
}

/// Lines and words of a text, with the line number.
struct Text {
  std::string_view rest;
  int line = 0;
  bool next_line(std::string_view& out) {
    if (rest.empty()) return false;
    const size_t end = rest.find('\n');
    out = rest.substr(0, end);
    rest.remove_prefix(end == std::string_view::npos ? rest.size() : end + 1);
    ++line;
    if (!out.empty() && out.back() == '\r') out.remove_suffix(1);
    return true;
  }
};
std::vector<std::string_view> words(std::string_view s) {
  std::vector<std::string_view> out;
  size_t i = 0;
  while (i < s.size()) {
    while (i < s.size() && (s[i] == ' ' || s[i] == '\t')) ++i;
    const size_t from = i;
    while (i < s.size() && s[i] != ' ' && s[i] != '\t') ++i;
    if (i > from) out.push_back(s.substr(from, i - from));
  }
  return out;
}

/// A number of a scan file; exponents are allowed.
bool coordinate(std::string_view w, double& out) {
  const auto x = base::to_double(w);
  if (!x || !std::isfinite(*x)) return false;
  out = *x;
  return true;
}

template <class T>
T from_bytes(const char* p, bool big) {
  unsigned char b[sizeof(T)];
  std::memcpy(b, p, sizeof(T));
  if (big != (std::endian::native == std::endian::big))
    for (size_t i = 0; i < sizeof(T) / 2; ++i) std::swap(b[i], b[sizeof(T) - 1 - i]);
  T out;
  std::memcpy(&out, b, sizeof(T));
  return out;
}

size_t type_size(std::string_view t) {
  if (t == "char" || t == "uchar" || t == "int8" || t == "uint8") return 1;
  if (t == "short" || t == "ushort" || t == "int16" || t == "uint16") return 2;
  if (t == "int" || t == "uint" || t == "int32" || t == "uint32" || t == "float" || t == "float32") return 4;
  return t == "double" || t == "float64" ? 8 : 0;
}
double value_of(const char* p, std::string_view t, bool big) {
  if (t == "float" || t == "float32") return from_bytes<float>(p, big);
  if (t == "double" || t == "float64") return from_bytes<double>(p, big);
  if (t == "char" || t == "int8") return from_bytes<std::int8_t>(p, big);
  if (t == "uchar" || t == "uint8") return from_bytes<std::uint8_t>(p, big);
  if (t == "short" || t == "int16") return from_bytes<std::int16_t>(p, big);
  if (t == "ushort" || t == "uint16") return from_bytes<std::uint16_t>(p, big);
  if (t == "int" || t == "int32") return from_bytes<std::int32_t>(p, big);
  return from_bytes<std::uint32_t>(p, big);
}

struct Property {
  std::string name;
  std::string type;
  std::string count_type;  // lists only
};
struct Element {
  std::string name;
  size_t count = 0;
  std::vector<Property> properties;
};
struct PlyHead {
  std::string format;
  std::vector<Element> elements;
};

Outcome<PlyHead> ply_head(Text& text, const std::string& file) {
  PlyHead head;
  std::string_view line;
  text.next_line(line);
  while (text.next_line(line)) {
    const auto w = words(line);
    if (w.empty() || w[0] == "comment" || w[0] == "obj_info") continue;
    if (w[0] == "end_header") return head;
    if (w[0] == "format" && w.size() >= 2) {
      head.format = w[1];
    } else if (w[0] == "element" && w.size() == 3) {
      double n = 0;
      if (!coordinate(w[2], n) || n < 0 || n > static_cast<double>(most_points) || n != std::floor(n))
        return at(file, text.line, "the number of an element is no count", std::string(w[2]), "0 to 50 million");
      head.elements.push_back({std::string(w[1]), static_cast<size_t>(n), {}});
    } else if (w[0] == "property" && !head.elements.empty() && w.size() >= 3) {
      const bool list = w[1] == "list";
      if (list && w.size() != 5) return at(file, text.line, "a list property is not complete", std::string(line));
      Property p{std::string(w[list ? 4 : 2]), std::string(w[list ? 3 : 1]), list ? std::string(w[2]) : ""};
      if (type_size(p.type) == 0 || (list && type_size(p.count_type) == 0))
        return at(file, text.line, "unknown type of a property", std::string(line));
      head.elements.back().properties.push_back(p);
    } else {
      return at(file, text.line, "this line of the header means nothing", std::string(line.substr(0, 60)));
    }
  }
  return at(file, text.line, "the header has no end", "", "end_header");
}

Outcome<std::vector<Vec3>> ply_ascii(Text text, const PlyHead& head, const std::string& file) {
  std::vector<Vec3> out;
  std::string_view line;
  for (const Element& e : head.elements) {
    for (size_t i = 0; i < e.count; ++i) {
      do {
        if (!text.next_line(line)) return at(file, text.line, "the file ends before its last " + e.name);
      } while (base::trim(line).empty());
      if (e.name != "vertex") continue;
      const auto w = words(line);
      Vec3 p;
      double* const to[3] = {&p.x, &p.y, &p.z};
      for (size_t k = 0; k < e.properties.size(); ++k)
        for (size_t a = 0; a < 3; ++a)
          if (e.properties[k].name == std::string(1, "xyz"[a]) && (k >= w.size() || !coordinate(w[k], *to[a])))
            return at(file, text.line, "a coordinate is missing or no finite number", std::string(line.substr(0, 60)));
      out.push_back(p);
    }
    if (e.name == "vertex") break;
  }
  return out;
}

Outcome<std::vector<Vec3>> ply_binary(std::string_view data, const PlyHead& head, const std::string& file, bool big) {
  std::vector<Vec3> out;
  size_t i = 0;
  const Problem cut = at(file, 0, "the file is cut off");
  for (const Element& e : head.elements) {
    for (size_t n = 0; n < e.count; ++n) {
      Vec3 p;
      for (const Property& property : e.properties) {
        const size_t size = type_size(property.type);
        if (!property.count_type.empty()) {
          const size_t head_size = type_size(property.count_type);
          if (data.size() - i < head_size) return cut;
          const double count = value_of(data.data() + i, property.count_type, big);
          i += head_size;
          if (!(count >= 0) || count * static_cast<double>(size) > static_cast<double>(data.size() - i)) return cut;
          i += static_cast<size_t>(count) * size;
          continue;
        }
        if (data.size() - i < size) return cut;
        const double v = value_of(data.data() + i, property.type, big);
        i += size;
        if (property.name == "x") p.x = v;
        if (property.name == "y") p.y = v;
        if (property.name == "z") p.z = v;
      }
      if (e.name != "vertex") continue;
      if (!std::isfinite(p.x + p.y + p.z)) return at(file, 0, "point " + std::to_string(n + 1) + " is not finite");
      out.push_back(p);
    }
    if (e.name == "vertex") break;
  }
  return out;
}

Outcome<std::vector<Vec3>> read_ply(std::string_view bytes, const std::string& file) {
  Text text{bytes, 0};
  const auto head = ply_head(text, file);
  if (!head) return head.problems();
  const Element* vertex = nullptr;
  for (const Element& e : head->elements)
    if (e.name == "vertex") vertex = &e;
  if (vertex == nullptr) return at(file, text.line, "the file has no points", "", "element vertex");
  int axes = 0;
  for (const Property& p : vertex->properties)
    axes += p.count_type.empty() && (p.name == "x" || p.name == "y" || p.name == "z");
  if (axes != 3) return at(file, text.line, "the points have no x, y, z");
  if (head->format == "ascii") return ply_ascii(text, *head, file);
  if (head->format == "binary_little_endian") return ply_binary(text.rest, *head, file, false);
  if (head->format == "binary_big_endian") return ply_binary(text.rest, *head, file, true);
  return at(file, 2, "unknown kind of PLY file", head->format, "ascii, binary_little_endian or binary_big_endian");
}

/// Corners and the middle of each triangle.
void add_triangle(std::vector<Vec3>& out, const Vec3 (&t)[3]) {
  for (const Vec3& p : t) out.push_back(p);
  out.push_back((1.0 / 3) * (t[0] + t[1] + t[2]));
}

Outcome<std::vector<Vec3>> stl_ascii(std::string_view bytes, const std::string& file) {
  std::vector<Vec3> out;
  Text text{bytes, 0};
  std::string_view line;
  Vec3 t[3];
  size_t corner = 0;
  bool ended = false;
  while (text.next_line(line)) {
    const auto w = words(line);
    if (!w.empty() && w[0] == "endsolid") ended = true;
    if (w.empty() || w[0] != "vertex") continue;
    Vec3& p = t[corner];
    if (w.size() < 4 || !coordinate(w[1], p.x) || !coordinate(w[2], p.y) || !coordinate(w[3], p.z))
      return at(file, text.line, "a coordinate is missing or no finite number", std::string(line.substr(0, 60)));
    if (++corner < 3) continue;
    corner = 0;
    add_triangle(out, t);
    if (out.size() > most_points) return at(file, text.line, "the scan has too many points", "", "at most 50 million");
  }
  if (!ended || corner != 0) return at(file, text.line, "the file is cut off");
  return out;
}

Outcome<std::vector<Vec3>> stl_binary(std::string_view bytes, const std::string& file, size_t triangles) {
  if (triangles > most_points / 4) return at(file, 0, "the scan has too many points", "", "at most 50 million");
  std::vector<Vec3> out;
  for (size_t k = 0; k < triangles; ++k) {
    const char* p = bytes.data() + 84 + 50 * k + 12;
    Vec3 t[3];
    for (Vec3& v : t) {
      v = {from_bytes<float>(p, false), from_bytes<float>(p + 4, false), from_bytes<float>(p + 8, false)};
      p += 12;
      if (!std::isfinite(v.x + v.y + v.z)) return at(file, 0, "triangle " + std::to_string(k + 1) + " is not finite");
    }
    add_triangle(out, t);
  }
  return out;
}

Outcome<std::vector<Vec3>> points_of(std::string_view bytes, const std::string& file) {
  if (base::starts_with(bytes, "ply\n") || base::starts_with(bytes, "ply\r\n")) return read_ply(bytes, file);
  if (bytes.size() >= 84) {
    const auto n = from_bytes<std::uint32_t>(bytes.data() + 80, false);
    if (bytes.size() == 84 + size_t{50} * n) return stl_binary(bytes, file, n);
  }
  if (base::starts_with(bytes, "solid")) return stl_ascii(bytes, file);
  return at(file, 0, "this is neither a whole PLY nor a whole STL file");
}

}  // namespace

Outcome<std::vector<Vec3>> read_scan(std::string_view bytes, const std::string& file, double metres_per_unit) {
  if (!(metres_per_unit > 0) || !std::isfinite(metres_per_unit))
    return at(file, 0, "the unit of the scan must be said: the file has none", "", "mm or in");
  auto points = points_of(bytes, file);
  if (!points) return points.problems();
  if (points->empty()) return at(file, 0, "the scan has no points");
  for (Vec3& p : *points) {
    p = metres_per_unit * p;
    if (!(frame::norm(p) < 1000)) return at(file, 0, "a point lies more than a kilometre away: another unit?");
  }
  return points;
}

}  // namespace fettle::casting
