#include "solid/mesh.h"

#include <bit>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <map>
#include <optional>
#include <string_view>
#include <unordered_map>

#include "base/text.h"

namespace fettle::solid {
namespace {

static_assert(std::endian::native == std::endian::little, "binary scans are read on little-endian machines");

Problem in_file(const std::string& name, std::string what, std::string found = {}, std::string expected = {},
                int line = 0) {
  Problem p = bad(std::move(what), std::move(found), std::move(expected));
  p.where = {name, line, 0};
  return p;
}

double metres(const std::string& unit) { return unit == "mm" ? 1e-3 : unit == "in" ? 0.0254 : unit == "m" ? 1 : 0; }

/// Walks over words and lines of a text part.
struct Words {
  std::string_view in;
  int line = 1;
  void skip() {
    while (!in.empty() && (in[0] == ' ' || in[0] == '\t' || in[0] == '\r' || in[0] == '\n')) {
      if (in[0] == '\n') ++line;
      in.remove_prefix(1);
    }
  }
  std::string_view next() {
    skip();
    std::size_t n = 0;
    while (n < in.size() && static_cast<unsigned char>(in[n]) > ' ') ++n;
    const std::string_view w = in.substr(0, n);
    in.remove_prefix(n);
    return w;
  }
  std::string_view rest_of_line() {
    const std::size_t n = in.find('\n');
    std::string_view w = in.substr(0, n);
    in.remove_prefix(n == std::string_view::npos ? in.size() : n + 1);
    ++line;
    return base::trim(w);
  }
};

std::optional<double> number(std::string_view w) {
  if (!w.empty() && w[0] == '+') w.remove_prefix(1);
  double x = 0;
  const auto [end, error] = std::from_chars(w.data(), w.data() + w.size(), x);
  if (error != std::errc() || end != w.data() + w.size()) return {};
  return x;
}

/// Corners with the same coordinates become one point.
struct Weld {
  struct Hash {
    std::size_t operator()(const std::array<std::uint64_t, 3>& k) const {
      std::uint64_t h = 0x9E3779B97F4A7C15ULL;
      for (const std::uint64_t x : k) h = (h ^ x) * 0xFF51AFD7ED558CCDULL, h ^= h >> 32;
      return static_cast<std::size_t>(h);
    }
  };
  std::unordered_map<std::array<std::uint64_t, 3>, int, Hash> known;
  int point(Mesh& m, Vec3 p) {
    const auto bits = [](double x) { return std::bit_cast<std::uint64_t>(x + 0.0); };  // -0 and 0 are one place
    const auto [at, fresh] = known.try_emplace({bits(p.x), bits(p.y), bits(p.z)}, static_cast<int>(m.points.size()));
    if (fresh) m.points.push_back(p);
    return at->second;
  }
};

bool finite(Vec3 p) { return std::isfinite(p.x) && std::isfinite(p.y) && std::isfinite(p.z); }

Problem no_number(const std::string& name, std::size_t which, int line = 0) {
  return in_file(name, "a coordinate is not a finite number", "corner " + std::to_string(which + 1), "plain numbers",
                 line);
}

void add_triangle(Mesh& m, int a, int b, int c) {
  if (a != b && b != c && c != a) m.triangles.push_back({a, b, c});
}

Outcome<Mesh> stl_binary(const std::string& bytes, const std::string& name, double scale) {
  std::uint32_t count = 0;
  std::memcpy(&count, bytes.data() + 80, 4);
  Mesh m;
  Weld weld;
  for (std::size_t i = 0; i < count; ++i) {
    float f[12];
    std::memcpy(f, bytes.data() + 84 + 50 * i, sizeof f);
    int corner[3];
    for (int k = 0; k < 3; ++k) {
      const Vec3 p = {scale * f[3 + 3 * k], scale * f[4 + 3 * k], scale * f[5 + 3 * k]};
      if (!finite(p)) return no_number(name, 3 * i + static_cast<std::size_t>(k));
      corner[k] = weld.point(m, p);
    }
    add_triangle(m, corner[0], corner[1], corner[2]);
  }
  return m;
}

Outcome<Mesh> stl_text(const std::string& bytes, const std::string& name, double scale, std::size_t most) {
  Words w{bytes};
  Mesh m;
  Weld weld;
  std::vector<int> loop;
  std::size_t corners = 0;
  bool ended = false;
  w.next();
  w.rest_of_line();  // solid NAME
  for (std::string_view word = w.next(); !word.empty(); word = w.next()) {
    const std::string low = base::lower(word);
    if (low == "vertex") {
      Vec3 p;
      for (double* c : {&p.x, &p.y, &p.z}) {
        const std::string_view text = w.next();
        if (text.empty()) return in_file(name, "the file is cut short", "", "endsolid at the end");
        const auto x = number(text);
        if (!x || !std::isfinite(*x))
          return in_file(name, "a coordinate is not a finite number", std::string(text), "a plain number", w.line);
        *c = scale * *x;
      }
      if (++corners > most)
        return in_file(name, "the scan is too large", "", "at most " + std::to_string(most) + " corners");
      loop.push_back(weld.point(m, p));
    } else if (low == "endloop") {
      if (loop.size() != 3)
        return in_file(name, "a facet has not three corners", std::to_string(loop.size()), "3", w.line);
      add_triangle(m, loop[0], loop[1], loop[2]);
      loop.clear();
    } else if (low == "facet") {
      w.rest_of_line();
    } else if (low == "endsolid") {
      w.rest_of_line();
      ended = true;
    } else if (low == "solid") {
      w.rest_of_line();
      ended = false;
    } else if (low != "outer" && low != "loop" && low != "endfacet") {
      return in_file(name, "this word has no place in an STL text", std::string(word.substr(0, 40)),
                     "facet, vertex, endloop, ...", w.line);
    }
  }
  if (!ended || !loop.empty()) return in_file(name, "the file is cut short", "", "endsolid at the end");
  return m;
}

struct Property {
  std::string name;
  int size = 0;   // bytes
  char kind = 0;  // 'f', 'i', 'u'
  bool list = false;
  int count_size = 0;  // of a list's length
  char count_kind = 'u';
};
struct Element {
  std::string name;
  std::size_t count = 0;
  std::vector<Property> properties;
};

bool scalar(std::string_view word, int& size, char& kind) {
  static const std::map<std::string_view, std::pair<int, char>> types = {
      {"char", {1, 'i'}},  {"int8", {1, 'i'}},    {"uchar", {1, 'u'}},  {"uint8", {1, 'u'}},
      {"short", {2, 'i'}}, {"int16", {2, 'i'}},   {"ushort", {2, 'u'}}, {"uint16", {2, 'u'}},
      {"int", {4, 'i'}},   {"int32", {4, 'i'}},   {"uint", {4, 'u'}},   {"uint32", {4, 'u'}},
      {"float", {4, 'f'}}, {"float32", {4, 'f'}}, {"double", {8, 'f'}}, {"float64", {8, 'f'}}};
  const auto at = types.find(word);
  if (at == types.end()) return false;
  size = at->second.first;
  kind = at->second.second;
  return true;
}

/// Values of the body one after the other, from text or from bytes of either order.
struct Body {
  Words words;
  bool text = false, swap = false, good = true;
  double next(int size, char kind) {
    if (text) {
      const auto x = number(words.next());
      if (!x) good = false;
      return x.value_or(0);
    }
    if (words.in.size() < static_cast<std::size_t>(size)) {
      good = false;
      return 0;
    }
    unsigned char raw[8] = {};
    for (int i = 0; i < size; ++i)
      raw[i] = static_cast<unsigned char>(words.in[static_cast<std::size_t>(swap ? size - 1 - i : i)]);
    words.in.remove_prefix(static_cast<std::size_t>(size));
    if (kind == 'f')
      return size == 4 ? static_cast<double>(std::bit_cast<float>(take<std::uint32_t>(raw)))
                       : std::bit_cast<double>(take<std::uint64_t>(raw));
    const std::uint64_t u = take<std::uint64_t>(raw);
    if (kind == 'u') return static_cast<double>(u);
    const int shift = 64 - 8 * size;
    return static_cast<double>(static_cast<std::int64_t>(u << shift) >> shift);
  }
  template <class T>
  static T take(const unsigned char* raw) {
    T v;
    std::memcpy(&v, raw, sizeof v);
    return v;
  }
};

Outcome<std::vector<Element>> ply_header(Words& w, const std::string& name, Body& body) {
  std::vector<Element> elements;
  bool format = false;
  for (;;) {
    if (w.in.empty()) return in_file(name, "the file is cut short", "", "end_header");
    const int line = w.line;
    Words words{w.rest_of_line()};
    const std::string_view what = words.next();
    const auto wrong = [&](const char* expected) {
      return in_file(name, "this line of the PLY header cannot be read", std::string(what.substr(0, 40)), expected,
                     line);
    };
    if (what == "end_header") break;
    if (what == "comment" || what == "obj_info" || what.empty()) continue;
    if (what == "format") {
      const std::string_view kind = words.next();
      if (kind != "ascii" && kind != "binary_little_endian" && kind != "binary_big_endian")
        return wrong("format ascii, binary_little_endian or binary_big_endian");
      body.text = kind == "ascii";
      body.swap = kind == "binary_big_endian";
      format = true;
    } else if (what == "element") {
      Element e;
      e.name = words.next();
      const auto n = number(words.next());
      if (e.name.empty() || !n || !(*n >= 0 && *n < 1e9) || *n != std::floor(*n)) return wrong("element NAME COUNT");
      e.count = static_cast<std::size_t>(*n);
      elements.push_back(std::move(e));
    } else if (what == "property") {
      if (elements.empty()) return wrong("an element before its properties");
      Property p;
      std::string_view type = words.next();
      if (type == "list") {
        p.list = true;
        if (!scalar(words.next(), p.count_size, p.count_kind) || p.count_kind == 'f')
          return wrong("property list COUNT_TYPE TYPE NAME");
        type = words.next();
      }
      if (!scalar(type, p.size, p.kind)) return wrong("a property of type char to double");
      p.name = words.next();
      if (p.name.empty()) return wrong("a property with a name");
      elements.back().properties.push_back(std::move(p));
    } else {
      return wrong("format, comment, element, property or end_header");
    }
  }
  if (!format) return in_file(name, "the PLY header names no format", "", "format ascii 1.0");
  return elements;
}

Outcome<Mesh> ply(const std::string& bytes, const std::string& name, double scale, std::size_t most) {
  Words w{bytes};
  w.rest_of_line();  // ply
  Body body;
  const auto elements = ply_header(w, name, body);
  if (!elements) return elements.problems();
  body.words = w;
  Mesh m;
  std::vector<std::array<double, 3>> corners;
  for (const Element& e : *elements) {
    if (e.count > most)
      return in_file(name, "the scan is too large", std::to_string(e.count) + " of " + e.name,
                     "at most " + std::to_string(most));
    if (e.count > 0 && e.properties.empty())
      return in_file(name, "an element without properties", e.name, "properties");
    int at[3] = {-1, -1, -1};
    for (std::size_t k = 0; k < e.properties.size(); ++k)
      for (int c = 0; c < 3; ++c)
        if (e.name == "vertex" && !e.properties[k].list && e.properties[k].name == std::string(1, "xyz"[c]))
          at[c] = static_cast<int>(k);
    if (e.name == "vertex" && (at[0] < 0 || at[1] < 0 || at[2] < 0))
      return in_file(name, "the points have no x, y and z", "", "property float x, y, z");
    for (std::size_t i = 0; i < e.count; ++i) {
      double xyz[3] = {};
      for (std::size_t k = 0; k < e.properties.size(); ++k) {
        const Property& p = e.properties[k];
        if (!p.list) {
          const double x = body.next(p.size, p.kind);
          for (int c = 0; c < 3; ++c)
            if (at[c] == static_cast<int>(k)) xyz[c] = x;
          continue;
        }
        const double n = body.next(p.count_size, p.count_kind);
        if (!(n >= 0 && n <= 1000) || n != std::floor(n))
          return in_file(name, "a list has an unlikely length", base::shortest(n), "0 to 1000");
        const bool face = e.name == "face" && (p.name == "vertex_indices" || p.name == "vertex_index");
        std::vector<double> list;
        for (int j = 0; j < static_cast<int>(n) && body.good; ++j) list.push_back(body.next(p.size, p.kind));
        if (!face || !body.good) continue;
        for (const double x : list)
          if (!(x >= 0 && x < static_cast<double>(m.points.size())) || x != std::floor(x))
            return in_file(name, "a triangle names a point that does not exist", base::shortest(x),
                           "0 to " + std::to_string(m.points.size()) + " less 1");
        for (std::size_t j = 2; j < list.size(); ++j)
          add_triangle(m, static_cast<int>(list[0]), static_cast<int>(list[j - 1]), static_cast<int>(list[j]));
        if (m.triangles.size() > most)
          return in_file(name, "the scan is too large", "", "at most " + std::to_string(most) + " triangles");
      }
      if (!body.good)
        return body.text && !body.words.in.empty()
                   ? in_file(name, "this is not a number", "", "plain numbers", body.words.line)
                   : in_file(name, "the file is cut short", "", std::to_string(e.count) + " of " + e.name);
      if (e.name == "vertex") {
        const Vec3 p = {scale * xyz[0], scale * xyz[1], scale * xyz[2]};
        if (!finite(p)) return no_number(name, i);
        m.points.push_back(p);
      }
    }
  }
  return m;
}

}  // namespace

Outcome<Mesh> parse_scan(const std::string& bytes, const std::string& name, const ScanOptions& options) {
  const double scale = metres(options.unit);
  if (scale == 0)
    return in_file(name, options.unit.empty() ? "a scan file does not say its unit" : "unknown length unit",
                   options.unit, "mm, in or m");
  if (bytes.size() > options.most_bytes)
    return in_file(name, "the scan is too large", std::to_string(bytes.size()) + " bytes",
                   "at most " + std::to_string(options.most_bytes));
  if (bytes.empty()) return in_file(name, "the file is empty", "", "a PLY or STL file");
  Outcome<Mesh> mesh = Mesh{};
  std::uint32_t count = 0;
  if (bytes.size() >= 84) std::memcpy(&count, bytes.data() + 80, 4);
  const bool sized = bytes.size() >= 84 && bytes.size() == 84 + 50 * static_cast<std::uint64_t>(count);
  if (base::starts_with(bytes, "ply\n") || base::starts_with(bytes, "ply\r")) {
    mesh = ply(bytes, name, scale, options.most_points);
  } else if (sized) {
    if (count > options.most_points / 3)
      return in_file(name, "the scan is too large", std::to_string(count) + " triangles",
                     "at most " + std::to_string(options.most_points / 3));
    mesh = stl_binary(bytes, name, scale);
  } else if (bytes.size() >= 84 && bytes.find('\0') != std::string::npos) {
    return in_file(name, "this is no PLY, and as a binary STL its size does not fit its count",
                   std::to_string(bytes.size()) + " bytes",
                   std::to_string(84 + 50 * static_cast<std::uint64_t>(count)) + " bytes for " + std::to_string(count) +
                       " triangles");
  } else if (base::starts_with(base::lower(bytes.substr(0, 6)), "solid")) {
    mesh = stl_text(bytes, name, scale, options.most_points);
  } else {
    return in_file(name, "this is neither PLY nor STL", "", "a PLY or STL file");
  }
  if (mesh && mesh->points.empty())
    return in_file(name, "the scan holds no points", "", "at least one triangle or point");
  if (mesh && !base::starts_with(bytes, "ply") && mesh->triangles.empty())
    return in_file(name, "the scan holds no triangles");
  return mesh;
}

Outcome<Mesh> read_scan(const std::string& path, const ScanOptions& options) {
  const auto bytes = base::read_file(path, options.most_bytes);
  if (!bytes) return bytes.problems();
  return parse_scan(*bytes, path, options);
}

std::string write_ply(const Mesh& mesh) {
  std::string out = "ply\nformat binary_little_endian 1.0\ncomment millimetres\nelement vertex " +
                    std::to_string(mesh.points.size()) +
                    "\nproperty double x\nproperty double y\nproperty double z\nelement face " +
                    std::to_string(mesh.triangles.size()) + "\nproperty list uchar int vertex_indices\nend_header\n";
  const auto put = [&](const auto& v) { out.append(reinterpret_cast<const char*>(&v), sizeof v); };
  for (const Vec3& p : mesh.points)
    for (const double c : {p.x, p.y, p.z}) put(1e3 * c);
  for (const auto& t : mesh.triangles) {
    put(static_cast<unsigned char>(3));
    for (const int c : t) put(static_cast<std::int32_t>(c));
  }
  return out;
}

namespace {
const Vec3& corner(const Mesh& m, const std::array<int, 3>& t, std::size_t i) {
  return m.points[static_cast<std::size_t>(t[i])];
}
}  // namespace

double mesh_volume(const Mesh& mesh) {
  double six = 0;
  for (const auto& t : mesh.triangles) six += dot(corner(mesh, t, 0), cross(corner(mesh, t, 1), corner(mesh, t, 2)));
  return six / 6;
}

double mesh_area(const Mesh& mesh) {
  double two = 0;
  for (const auto& t : mesh.triangles)
    two += norm(cross(corner(mesh, t, 1) - corner(mesh, t, 0), corner(mesh, t, 2) - corner(mesh, t, 0)));
  return two / 2;
}

bool mesh_closed(const Mesh& mesh) {
  std::map<std::pair<int, int>, int> runs;
  for (const auto& t : mesh.triangles)
    for (std::size_t i = 0; i < 3; ++i) ++runs[{t[i], t[(i + 1) % 3]}];
  for (const auto& [run, count] : runs) {
    const auto back = runs.find({run.second, run.first});
    if (count != 1 || back == runs.end() || back->second != 1) return false;
  }
  return !mesh.triangles.empty();
}

}  // namespace fettle::solid
