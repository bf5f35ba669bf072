#include "app/serve/scene_mesh.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <optional>

#include "study/internal.h"

namespace fettle::serve {

using frame::Vec3;

namespace {

constexpr double near = 6e-5;    // m: how far a face may lie from where the plan says it is
constexpr double within = 2e-4;  // m: how far a model may stand from its place before it is moved

double along(Vec3 v, Vec3 axis) { return frame::dot(v, axis); }
Vec3 across(Vec3 v, Vec3 axis) { return v - along(v, axis) * axis; }
Vec3 middle(const solid::Box& b) { return 0.5 * (b.lo + b.hi); }
Vec3 size_of(const solid::Box& b) { return b.hi - b.lo; }

double widest(const plan::Limits& d) {
  return std::max({d.value.upper.value_or(0), d.value.nominal.value_or(0), d.value.lower.value_or(0)});
}

const Vec3& at(const Mantle& m, int i) { return m.points[static_cast<std::size_t>(i)]; }

/// Edges between faces that meet at an angle.
void add_edges(Mantle& m, const solid::Mesh& mesh) {
  std::map<std::pair<int, int>, std::size_t> first;
  const auto normal = [&](std::size_t t) {
    const auto& f = mesh.triangles[t];
    const auto q = [&](int i) { return mesh.points[static_cast<std::size_t>(f[static_cast<std::size_t>(i)])]; };
    return frame::unit(frame::cross(q(1) - q(0), q(2) - q(0)));
  };
  // The mesh may hold a point once for each face: points of one place are one.
  std::map<std::array<long long, 3>, int> places;
  std::vector<int> same;
  for (const Vec3& p : mesh.points) {
    const auto whole = [](double x) { return std::llround(x * 1e8); };
    same.push_back(
        places.emplace(std::array<long long, 3>{whole(p.x), whole(p.y), whole(p.z)}, static_cast<int>(same.size()))
            .first->second);
  }
  for (std::size_t t = 0; t < mesh.triangles.size(); ++t)
    for (std::size_t k = 0; k < 3; ++k) {
      const int a = same[static_cast<std::size_t>(mesh.triangles[t][k])],
                b = same[static_cast<std::size_t>(mesh.triangles[t][(k + 1) % 3])];
      const auto [it, fresh] = first.emplace(std::minmax(a, b), t);
      if (fresh || mesh.face_ids[t] == mesh.face_ids[it->second]) continue;
      if (frame::dot(normal(t), normal(it->second)) < 0.985)
        m.edges.push_back({mesh.points[static_cast<std::size_t>(a)], mesh.points[static_cast<std::size_t>(b)]});
    }
}

struct Builder {
  Mantle m;
  int point(Vec3 p) {
    m.points.push_back(p);
    return static_cast<int>(m.points.size()) - 1;
  }
  /// A flat convex ring, seen against `up`.
  void sheet(const std::vector<Vec3>& ring, Vec3 up, int feature) {
    if (ring.size() < 3) return;
    std::vector<int> ids;
    ids.reserve(ring.size());
    for (const Vec3& p : ring) ids.push_back(point(p));
    const bool turned = frame::dot(frame::cross(ring[1] - ring[0], ring[2] - ring[0]), up) < 0;
    for (std::size_t i = 1; i + 1 < ids.size(); ++i) {
      m.faces.push_back({ids[0], ids[turned ? i + 1 : i], ids[turned ? i : i + 1]});
      m.feature.push_back(feature);
    }
  }
  void lines(const std::vector<Vec3>& ring) {
    for (std::size_t i = 0; i < ring.size(); ++i) m.edges.push_back({ring[i], ring[(i + 1) % ring.size()]});
  }
};

std::vector<Vec3> rounded(Vec3 centre, double sx, double sy, double r, double z) {
  std::vector<Vec3> out;
  r = std::clamp(r, 0.0, 0.5 * std::min(sx, sy));
  const double pi = std::acos(-1.0);
  for (int q = 0; q < 4; ++q)
    for (int i = 0; i <= (r > 0 ? 8 : 0); ++i) {
      const double w = 0.5 * pi * (q + i / 8.0);
      const double cx = (q == 0 || q == 3 ? 1 : -1) * (0.5 * sx - r), cy = (q < 2 ? 1 : -1) * (0.5 * sy - r);
      out.push_back({centre.x + cx + r * std::cos(w), centre.y + cy + r * std::sin(w), z});
    }
  return out;
}

/// What an outer face says of the block along `axis`: its middle; none where the faces do not fit its size there.
std::optional<double> middle_by_faces(const plan::Plan& p, Vec3 axis, double size) {
  const double none = std::numeric_limits<double>::infinity();
  double low = none, high = -none;
  for (const plan::Feature& f : p.features) {
    if (f.kind.value != "face" || f.over.known() || f.diameter.known() || f.at.value.empty()) continue;
    const double looks = along(study::direction(f.normal.value), axis), at = along(f.at.value[0], axis);
    if (looks > 0.999) high = std::max(high, at);
    if (looks < -0.999) low = std::min(low, at);
  }
  const bool below = std::isfinite(low), above = std::isfinite(high);
  if (below && above) return std::fabs(high - low - size) < 1e-3 ? std::optional(0.5 * (low + high)) : std::nullopt;
  if (below) return low + 0.5 * size;
  return above ? std::optional(high - 0.5 * size) : std::nullopt;
}

int face_with(const plan::Plan& p, const std::string& normal, double z) {
  for (std::size_t i = 0; i < p.features.size(); ++i) {
    const plan::Feature& f = p.features[i];
    if (f.kind.value == "face" && f.normal.value == normal && !f.at.value.empty() &&
        std::fabs(f.at.value[0].z - z) < near)
      return static_cast<int>(i);
  }
  return -1;
}

void add_mouths(Builder& b, const plan::Plan& p, const Block& block) {
  for (std::size_t i = 0; i < p.features.size(); ++i) {
    const plan::Feature& f = p.features[i];
    if (f.over.known() || !f.from.known() || !f.to.known() || f.kind.value == "profile") continue;
    if (f.normal.known() && f.normal.value[1] != 'z') continue;
    const double wide = std::max({widest(f.diameter), f.drill.si, f.thread.known() ? f.thread.value.major : 0.0});
    const double a = wide > 0 ? wide : widest(f.length), c = wide > 0 ? wide : widest(f.width);
    if (!(a > 0 && c > 0)) continue;
    for (const Vec3& at : f.at.value)
      for (const double z : {f.from.si, f.to.si}) {
        const double off = z - block.middle.z, half = 0.5 * block.size.z;
        const bool top = std::fabs(off - half) < near, bottom = std::fabs(off + half) < near;
        if (!top && !bottom) continue;
        const double lift = top ? 1e-5 : -1e-5;
        const auto ring = rounded(at, a, c, wide > 0 ? 0.5 * wide : f.radius.si, z + lift);
        b.sheet(ring, {0, 0, lift}, static_cast<int>(i));
        b.lines(ring);
      }
  }
}

constexpr double most_metal = 0.012, most_missing = 0.003;  // m: what counts as metal left, or as metal that lacks

/// Distance along d from p to the nearest triangle that looks against d; NaN when none is as near as metal may be.
double meets(const Mantle& m, Vec3 p, Vec3 d) {
  double best = std::nan("");
  for (const auto& t : m.faces) {
    const Vec3 a = at(m, t[0]), e1 = at(m, t[1]) - a, e2 = at(m, t[2]) - a, h = frame::cross(d, e2);
    const double det = frame::dot(e1, h);
    if (!(det < -1e-18 || det > 1e-18)) continue;
    const Vec3 s = p - a;
    const double u = frame::dot(s, h) / det;
    if (!(u >= -1e-9 && u <= 1 + 1e-9)) continue;
    const Vec3 q = frame::cross(s, e1);
    const double v = frame::dot(d, q) / det;
    if (!(v >= -1e-9 && u + v <= 1 + 1e-9)) continue;
    if (frame::dot(frame::cross(e1, e2), d) >= 0) continue;  // the skin that looks against us
    const double x = frame::dot(e2, q) / det;
    if (x >= -most_missing && x <= most_metal && !(std::fabs(x) >= std::fabs(best))) best = x;
  }
  return best;
}

/// Least distance from p to a triangle (to its plane inside it, else to its edges).
double away(Vec3 p, Vec3 a, Vec3 b, Vec3 c) {
  const Vec3 n = frame::cross(b - a, c - a);
  const auto edge = [&](Vec3 u, Vec3 v) {
    const Vec3 d = v - u;
    const double l = frame::dot(d, d);
    return frame::norm(p - (u + (l > 0 ? std::clamp(frame::dot(p - u, d) / l, 0.0, 1.0) : 0.0) * d));
  };
  const auto left = [&](Vec3 u, Vec3 v) { return frame::dot(frame::cross(v - u, p - u), n) >= 0; };
  if (frame::norm(n) > 0 && left(a, b) && left(b, c) && left(c, a)) return std::fabs(frame::dot(p - a, frame::unit(n)));
  return std::min({edge(a, b), edge(b, c), edge(c, a)});
}

}  // namespace

frame::Pose lying(const std::string& up) {
  if (up == "-z") return {{1, 0, 0, 0, -1, 0, 0, 0, -1}, {}};
  if (up == "+x") return {{0, 0, -1, 0, 1, 0, 1, 0, 0}, {}};
  if (up == "-x") return {{0, 0, 1, 0, 1, 0, -1, 0, 0}, {}};
  if (up == "+y") return {{1, 0, 0, 0, 0, -1, 0, 1, 0}, {}};
  if (up == "-y") return {{1, 0, 0, 0, 0, 1, 0, -1, 0}, {}};
  return {};
}

Mantle mantle_of(const solid::Model& model, const std::vector<int>& features) {
  Mantle m;
  std::map<int, int> feature_of_id;
  for (std::size_t i = 0; i < model.faces.size(); ++i) feature_of_id[model.faces[i].id] = features[i];
  std::map<std::pair<int, int>, int> place;  // a point of a face
  for (std::size_t t = 0; t < model.mesh.triangles.size(); ++t) {
    const int id = model.mesh.face_ids[t];
    std::array<int, 3> corners{};
    for (std::size_t k = 0; k < 3; ++k) {
      const int old = model.mesh.triangles[t][k];
      const auto [it, fresh] = place.emplace(std::pair(old, id), static_cast<int>(m.points.size()));
      if (fresh) m.points.push_back(model.mesh.points[static_cast<std::size_t>(old)]);
      corners[k] = it->second;
    }
    m.faces.push_back(corners);
    const auto f = feature_of_id.find(id);
    m.feature.push_back(f == feature_of_id.end() ? -1 : f->second);
  }
  add_edges(m, model.mesh);
  return m;
}

Block block_of(const plan::Plan& p) {
  Block b;
  const auto& size = p.part.size.value;
  if (size.size() != 3) return b;
  b.size = {size[0], size[1], size[2]};
  b.corner = p.part.corner_radius.known() ? p.part.corner_radius.si : 0;
  b.middle = {middle_by_faces(p, {1, 0, 0}, b.size.x).value_or(0), middle_by_faces(p, {0, 1, 0}, b.size.y).value_or(0),
              middle_by_faces(p, {0, 0, 1}, b.size.z).value_or(0.5 * b.size.z)};
  for (std::size_t i = 0; i < p.features.size(); ++i) {
    const plan::Feature& f = p.features[i];
    if (f.kind.value != "profile" || f.over.known() || f.at.value.empty()) continue;
    b.side = static_cast<int>(i);
    b.middle.x = f.at.value[0].x, b.middle.y = f.at.value[0].y;
    if (f.from.known() && f.to.known()) b.middle.z = 0.5 * (f.from.si + f.to.si), b.size.z = f.to.si - f.from.si;
    break;
  }
  return b;
}

Mantle outline_of(const plan::Plan& plan) {
  const Block block = block_of(plan);
  Builder b;
  if (!(block.size.x > 0 && block.size.y > 0 && block.size.z > 0)) return b.m;
  const double bottom = block.middle.z - 0.5 * block.size.z, top = bottom + block.size.z;
  const auto ring = [&](double z) { return rounded(block.middle, block.size.x, block.size.y, block.corner, z); };
  const auto low = ring(bottom), high = ring(top);
  b.sheet(high, {0, 0, 1}, face_with(plan, "+z", top));
  b.sheet(low, {0, 0, -1}, face_with(plan, "-z", bottom));
  for (std::size_t i = 0; i < low.size(); ++i) {
    const std::size_t j = (i + 1) % low.size();
    const Vec3 out = 0.5 * (low[i] + low[j]) - Vec3{block.middle.x, block.middle.y, bottom};
    b.sheet({low[i], low[j], high[j], high[i]}, out, block.side);
  }
  b.lines(low);
  b.lines(high);
  add_mouths(b, plan, block);
  return b.m;
}

void weigh_stock(Mantle& casting, const Mantle& part) {
  Vec3 lo{1e9, 1e9, 1e9}, hi{-1e9, -1e9, -1e9};
  for (const Vec3& p : part.points) {
    lo = {std::min(lo.x, p.x), std::min(lo.y, p.y), std::min(lo.z, p.z)};
    hi = {std::max(hi.x, p.x), std::max(hi.y, p.y), std::max(hi.z, p.z)};
  }
  std::vector<Vec3> normals(casting.points.size());
  for (const auto& t : casting.faces) {
    const Vec3 n = frame::cross(at(casting, t[1]) - at(casting, t[0]), at(casting, t[2]) - at(casting, t[0]));
    for (const int i : t) normals[static_cast<std::size_t>(i)] = normals[static_cast<std::size_t>(i)] + n;
  }
  casting.stock.clear();
  for (std::size_t i = 0; i < casting.points.size(); ++i) {
    const Vec3 p = casting.points[i], n = frame::unit(normals[i]);
    // The casting is wider than the part: beyond its sides the metal of the nearest place of that side counts.
    const auto pulled = [](double x, double l, double h) { return std::clamp(x, l + 1e-6, h - 1e-6); };
    const Vec3 inside{pulled(p.x, lo.x, hi.x), pulled(p.y, lo.y, hi.y), pulled(p.z, lo.z, hi.z)};
    const Vec3 q = p + across(inside - p, n);
    double x = meets(part, q, -n);
    if (!std::isfinite(x)) {
      x = most_metal;
      for (const auto& t : part.faces) x = std::min(x, away(p, at(part, t[0]), at(part, t[1]), at(part, t[2])));
    }
    casting.stock.push_back(x);
  }
}

Vec3 shift_to_plan(const plan::Plan& plan, const solid::Box& box) {
  const Block b = block_of(plan);
  if (!(b.size.x > 0)) return {};
  const Vec3 off = size_of(box) - b.size;
  if (!(std::fabs(off.x) < 1e-3 && std::fabs(off.y) < 1e-3 && std::fabs(off.z) < 1e-3)) return {};
  const Vec3 shift = b.middle - middle(box);
  return frame::norm(shift) > within ? shift : Vec3{};
}

}  // namespace fettle::serve
