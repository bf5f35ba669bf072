// The sides of a part: what it can sit on, be stopped and gripped at, and from where its features are seen.
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "begin/axis.h"
#include "begin/features.h"
#include "begin/propose/facts.h"
#include "begin/propose/route.h"
#include "plan/read.h"

namespace fettle::begin {

using frame::Vec3;

namespace {

double edge(const Scene& s, int d) { return coordinate(d % 2 == 0 ? s.part->box.hi : s.part->box.lo, axis_of(d)); }
Vec3 unit_of(int d) {
  const double s = d % 2 == 0 ? 1 : -1;
  return {axis_of(d) == 0 ? s : 0, axis_of(d) == 1 ? s : 0, axis_of(d) == 2 ? s : 0};
}

/// A cylinder that reaches the box stands for the sides it reaches, where nothing flat does.
void round_sides(const Scene& scene, const plan::Feature& f, std::array<OuterSide, 6>& out) {
  const int n = direction_index(f.normal.value);
  const double r = 0.5 * diameter_of(f);
  if (n < 0 || !(r > 0)) return;
  for (int d = 0; d < 6; ++d) {
    if (axis_of(d) == axis_of(n)) continue;
    OuterSide& s = out[static_cast<std::size_t>(d)];
    const double at = coordinate(f.at.value[0], axis_of(d)) + (d % 2 == 0 ? r : -r);
    if (!s.reference.empty() || std::fabs(at - edge(scene, d)) > 1e-4) continue;
    s = {f.id.value, f.id.value, unit_of(d), f.at.value[0], 0, 0, machined(f), true};
    (axis_of(d) == 0 ? s.at.x : axis_of(d) == 1 ? s.at.y : s.at.z) = edge(scene, d);
    if (f.from.known() && f.to.known())
      (axis_of(n) == 0 ? s.at.x : axis_of(n) == 1 ? s.at.y : s.at.z) = 0.5 * (f.from.si + f.to.si);
  }
}

// ---- what is seen ----------------------------------------------------------------------------------------------

/// A rough side may lean this much and still be stopped at: foundries draft up to it. From memory.
constexpr double most_draft = 10 * std::numbers::pi / 180;
/// A flat inside the box carries the part from this share of the box's side on. Common practice, from memory.
constexpr double least_share = 0.04;
constexpr double least_flat = 1.5e-4;  ///< m2, what a strap's nose stands on; common practice, from memory
constexpr double off = 1e-5;           ///< m, a ray starts this far off its surface

/// A mesh seen along each axis: which triangles a line along it may meet, by squares of a grid across it.
class Lines {
 public:
  explicit Lines(const solid::Mesh& mesh) : mesh_(mesh) {
    Vec3 lo = mesh.points.front(), hi = lo;
    for (const Vec3& p : mesh.points) {
      lo = {std::fmin(lo.x, p.x), std::fmin(lo.y, p.y), std::fmin(lo.z, p.z)};
      hi = {std::fmax(hi.x, p.x), std::fmax(hi.y, p.y), std::fmax(hi.z, p.z)};
    }
    for (int axis = 0; axis < 3; ++axis) lay(axis, lo, hi);
  }

  /// True when nothing of the part stands before `from` along one of the six directions.
  bool free_way(Vec3 from, int d) const {
    const Grid& g = grids_[static_cast<std::size_t>(axis_of(d))];
    const int u = square(g.lo_u, g.step_u, across(from, axis_of(d), 0)),
              v = square(g.lo_v, g.step_v, across(from, axis_of(d), 1));
    if (u < 0 || v < 0 || u >= side || v >= side) return true;
    const std::vector<int>& near =
        g.triangles[static_cast<std::size_t>(u) * static_cast<std::size_t>(side) + static_cast<std::size_t>(v)];
    return std::none_of(near.begin(), near.end(), [&](int t) { return meets(t, from, unit_of(d)); });
  }

 private:
  static constexpr int side = 64;
  static constexpr double slack = 1e-7;  ///< m, more than rounding moves a line past a triangle's box
  struct Grid {
    double lo_u = 0, lo_v = 0, step_u = 1, step_v = 1;
    std::vector<std::vector<int>> triangles;
  };
  static double across(const Vec3& p, int axis, int which) { return coordinate(p, (axis + 1 + which) % 3); }
  static int square(double lo, double step, double x) {
    const double n = std::floor((x - lo) / step);
    return n < 0 ? -1 : n >= side ? side : static_cast<int>(n);
  }
  void lay(int axis, Vec3 lo, Vec3 hi) {
    Grid& g = grids_[static_cast<std::size_t>(axis)];
    const auto step = [&](double a, double b) { return (b - a + 4 * slack) / side; };
    g.lo_u = across(lo, axis, 0) - 2 * slack, g.step_u = step(across(lo, axis, 0), across(hi, axis, 0));
    g.lo_v = across(lo, axis, 1) - 2 * slack, g.step_v = step(across(lo, axis, 1), across(hi, axis, 1));
    g.triangles.resize(static_cast<std::size_t>(side) * side);
    for (std::size_t t = 0; t < mesh_.triangles.size(); ++t) {
      std::array<double, 2> least{std::numeric_limits<double>::infinity(), std::numeric_limits<double>::infinity()},
          most{-std::numeric_limits<double>::infinity(), -std::numeric_limits<double>::infinity()};
      for (const int k : mesh_.triangles[t])
        for (const int w : {0, 1}) {
          const double x = across(mesh_.points[static_cast<std::size_t>(k)], axis, w);
          const auto i = static_cast<std::size_t>(w);
          least[i] = std::fmin(least[i], x), most[i] = std::fmax(most[i], x);
        }
      const int u0 = square(g.lo_u, g.step_u, least[0] - slack), u1 = square(g.lo_u, g.step_u, most[0] + slack),
                v0 = square(g.lo_v, g.step_v, least[1] - slack), v1 = square(g.lo_v, g.step_v, most[1] + slack);
      for (int u = std::max(u0, 0); u <= std::min(u1, side - 1); ++u)
        for (int v = std::max(v0, 0); v <= std::min(v1, side - 1); ++v)
          g.triangles[static_cast<std::size_t>(u) * static_cast<std::size_t>(side) + static_cast<std::size_t>(v)]
              .push_back(static_cast<int>(t));
    }
  }
  /// A ray against a triangle (Moeller and Trumbore 1997).
  bool meets(int triangle, Vec3 from, Vec3 way) const {
    const std::array<int, 3>& t = mesh_.triangles[static_cast<std::size_t>(triangle)];
    const Vec3 a = mesh_.points[static_cast<std::size_t>(t[0])], e1 = mesh_.points[static_cast<std::size_t>(t[1])] - a,
               e2 = mesh_.points[static_cast<std::size_t>(t[2])] - a, h = frame::cross(way, e2);
    const double det = frame::dot(e1, h);
    if (!(std::fabs(det) > 1e-16)) return false;
    const Vec3 s = from - a;
    const double u = frame::dot(s, h) / det;
    if (u < 0 || u > 1) return false;
    const Vec3 q = frame::cross(s, e1);
    const double v = frame::dot(way, q) / det;
    return v >= 0 && u + v <= 1 && frame::dot(e2, q) / det > 0;
  }

  const solid::Mesh& mesh_;
  std::array<Grid, 3> grids_;
};

/// The ways along which a drill reaches every point of a hole: its middle and four lines at nine tenths of its radius.
std::array<bool, 6> ways_to(const Lines& lines, const plan::Feature& f, int n) {
  std::array<bool, 6> out{};
  const int a = axis_of(n);
  const double r = 0.45 * diameter_of(f);
  const Vec3 u = a == 0 ? Vec3{0, r, 0} : Vec3{r, 0, 0}, v = a == 2 ? Vec3{0, r, 0} : Vec3{0, 0, r};
  for (const int d : {2 * a, 2 * a + 1}) {
    const double end = d % 2 == 0 ? std::max(f.from.si, f.to.si) - 10 * off : std::min(f.from.si, f.to.si) + 10 * off;
    out[static_cast<std::size_t>(d)] = std::all_of(f.at.value.begin(), f.at.value.end(), [&](Vec3 p) {
      (a == 0 ? p.x : a == 1 ? p.y : p.z) = end;
      const std::array<Vec3, 5> starts{p, p + u, p - u, p + v, p - v};
      return std::all_of(starts.begin(), starts.end(), [&](Vec3 s) { return lines.free_way(s, d); });
    });
  }
  return out;
}

/// Half of the triangle's area seen along an axis.
double spread(const Vec3& p, const Vec3& q, const Vec3& r, int axis) {
  const Vec3 c = frame::cross(q - p, r - p);
  return 0.5 * std::fabs(coordinate(c, axis));
}

/// Of these places at most so many, evenly by their order, which follows the model's faces.
std::vector<Vec3> thinned(const std::vector<Vec3>& all, std::size_t most) {
  if (all.size() <= most) return all;
  std::vector<Vec3> out;
  for (std::size_t i = 0; i < most; ++i) out.push_back(all[i * all.size() / most]);
  return out;
}

/// Places of a flat that a post or a stop reaches straight along its normal.
InnerSide seen_side(const solid::Model& m, const Lines& lines, const Bound& b, int d) {
  InnerSide s;
  s.feature = b.feature;
  s.lean = std::acos(std::clamp(frame::dot(b.axis, unit_of(d)), -1.0, 1.0));
  std::vector<Vec3> all;
  double seen = 0;
  for (const int id : b.faces) {
    const solid::Face* f = m.face(id);
    if (f == nullptr) continue;
    for (const solid::Sample& x : f->samples) {
      if (!lines.free_way(x.point + off * x.normal, d)) continue;
      seen += x.area;
      all.push_back(x.point);
    }
  }
  s.points = thinned(all, 36);
  s.area = seen;
  return s;
}

/// A flat inside the box as a side.
OuterSide inner_side(const InnerSide& in, const plan::Feature& f, int d) {
  OuterSide s{in.feature, in.feature, unit_of(d), f.at.value[0], 0, 0, machined(f)};
  s.inner = true, s.lean = in.lean, s.points = in.points;
  Vec3 lo = in.points[0], hi = lo;
  for (const Vec3& p : in.points)
    lo = {std::fmin(lo.x, p.x), std::fmin(lo.y, p.y), std::fmin(lo.z, p.z)},
    hi = {std::fmax(hi.x, p.x), std::fmax(hi.y, p.y), std::fmax(hi.z, p.z)};
  s.extent_u = coordinate(hi - lo, axis_of(d) == 0 ? 1 : 0), s.extent_v = coordinate(hi - lo, axis_of(d) == 2 ? 1 : 2);
  return s;
}

void inner_sides(const Sight& sight, const plan::Plan& plan, std::array<OuterSide, 6>& out) {
  for (int d = 0; d < 6; ++d) {
    OuterSide& s = out[static_cast<std::size_t>(d)];
    const auto& flats = sight.flats[static_cast<std::size_t>(d)];
    if (s.round || s.feature == "outside") continue;
    const auto own =
        std::find_if(flats.begin(), flats.end(), [&](const InnerSide& f) { return f.feature == s.feature; });
    if (!s.reference.empty() && own != flats.end() && own->carries) {
      s.points = own->points;  // touched where there is metal
      continue;
    }
    // Nothing at the box, or a strip too narrow to carry: the best flat farther in.
    if (flats.empty() || !flats.front().carries) continue;
    const InnerSide& in = flats.front();
    const plan::Feature* f = plan::find_feature(plan, in.feature);
    if (f == nullptr || f->at.value.empty()) continue;
    s = inner_side(in, *f, d);
  }
}

}  // namespace

std::vector<Vec3> three_rests(const std::vector<Vec3>& all, Vec3 over, int axis) {
  std::vector<Vec3> best;
  double most = 0;
  for (std::size_t i = 0; i < all.size(); ++i)
    for (std::size_t j = i + 1; j < all.size(); ++j)
      for (std::size_t k = j + 1; k < all.size(); ++k) {
        const double area = spread(all[i], all[j], all[k], axis);
        const double parts = spread(all[i], all[j], over, axis) + spread(all[j], all[k], over, axis) +
                             spread(all[k], all[i], over, axis);
        const double score = area * (parts <= area * (1 + 1e-9) ? 2 : 1);  // the weight between the rests counts double
        if (score > most * (1 + 1e-9)) most = score, best = {all[i], all[j], all[k]};
      }
  return best;
}

std::shared_ptr<const Sight> look_around(const solid::Model& part, const plan::Plan& plan, bool inch) {
  if (part.mesh.triangles.empty()) return nullptr;
  auto out = std::make_shared<Sight>();
  const Lines lines(part.mesh);
  for (const plan::Feature& f : plan.features) {
    const int n = direction_index(f.normal.value);
    if (hole_like(f) && n >= 0 && f.from.known() && f.to.known() && diameter_of(f) > 0)
      out->open[f.id.value] = ways_to(lines, f, n);
  }
  const Vec3 box = part.box.hi - part.box.lo;
  for (const Bound& b : features_of(part, {}, inch).bound) {
    const plan::Feature* f = plan::find_feature(plan, b.feature);
    if (f == nullptr || f->id.value == "outside" || is_floor(*f) || b.diameter > 0 || b.parts) continue;
    if (f->kind.value != "face" && f->kind.value != "surface") continue;
    for (int d = 0; d < 6; ++d) {
      if (!(frame::dot(b.axis, unit_of(d)) > std::cos(most_draft))) continue;
      InnerSide s = seen_side(part, lines, b, d);
      const double face = box.x * box.y * box.z / coordinate(box, axis_of(d));
      s.carries = s.points.size() >= 3 && s.area >= least_share * face;
      if (s.area >= least_flat && !s.points.empty()) out->flats[static_cast<std::size_t>(d)].push_back(std::move(s));
    }
  }
  for (auto& flats : out->flats)
    std::stable_sort(flats.begin(), flats.end(), [](const InnerSide& a, const InnerSide& b) {
      if (a.carries != b.carries) return a.carries;
      if ((a.lean < 1e-6) != (b.lean < 1e-6)) return a.lean < 1e-6;  // a square flat before a leaning one
      return a.area > b.area * (1 + 1e-9);
    });
  return out;
}

std::array<OuterSide, 6> outer_sides(const Scene& scene, const plan::Plan& plan) {
  std::array<OuterSide, 6> out;
  if (scene.part == nullptr) return out;
  const Vec3 box = scene.part->box.hi - scene.part->box.lo, middle = 0.5 * (scene.part->box.hi + scene.part->box.lo);
  for (const plan::Feature& f : plan.features) {
    if (f.kind.value == "profile" && f.id.value == "outside" && f.size.value.size() >= 2) {
      for (int d = 0; d < 4; ++d) {
        OuterSide& s = out[static_cast<std::size_t>(d)];
        s = {f.id.value + "." + direction_words[static_cast<std::size_t>(d)],
             f.id.value,
             unit_of(d),
             middle,
             0,
             box.z,
             machined(f)};
        s.extent_u = axis_of(d) == 0 ? box.y : box.x;
        (axis_of(d) == 0 ? s.at.x : s.at.y) = edge(scene, d);
      }
      continue;
    }
    if (f.kind.value == "boss" && !f.at.value.empty()) {
      round_sides(scene, f, out);
      continue;
    }
    if (f.kind.value != "face" || f.at.value.empty()) continue;
    const int d = direction_index(f.normal.value);
    if (d < 0 || std::fabs(coordinate(f.at.value[0], axis_of(d)) - edge(scene, d)) > 1e-4) continue;
    OuterSide& s = out[static_cast<std::size_t>(d)];
    if (s.feature == "outside") continue;
    double u = 0, v = 0;
    if (f.size.value.size() >= 2) u = f.size.value[0], v = f.size.value[1];
    else u = v = nominal_of(f.diameter);
    if (u * v > s.extent_u * s.extent_v) s = {f.id.value, f.id.value, unit_of(d), f.at.value[0], u, v, machined(f)};
  }
  if (scene.sight != nullptr) inner_sides(*scene.sight, plan, out);
  return out;
}

std::array<OuterSide, 6> stop_sides(const Scene& scene, const plan::Plan& plan) {
  std::array<OuterSide, 6> out = outer_sides(scene, plan);
  if (scene.sight == nullptr) return out;
  for (int d = 0; d < 6; ++d) {
    OuterSide& s = out[static_cast<std::size_t>(d)];
    const auto& flats = scene.sight->flats[static_cast<std::size_t>(d)];
    if (!s.reference.empty() || flats.empty()) continue;
    const plan::Feature* f = plan::find_feature(plan, flats.front().feature);
    if (f != nullptr && !f->at.value.empty()) s = inner_side(flats.front(), *f, d);
  }
  return out;
}

std::vector<int> access(const Scene& scene, const plan::Plan&, const plan::Feature& f) {
  std::vector<int> out;
  const std::string& kind = f.kind.value;
  if (kind == "profile") return {4, 5};
  const int n = direction_index(f.normal.value);
  if (kind == "surface" || n < 0) return out;
  if (scene.sight != nullptr)
    if (const auto it = scene.sight->open.find(f.id.value); it != scene.sight->open.end()) {
      for (const int d : {2 * axis_of(n), 2 * axis_of(n) + 1})
        if (it->second[static_cast<std::size_t>(d)]) out.push_back(d);
      if (!out.empty()) return out;
    }
  out.push_back(n);
  const bool along = hole_like(f) || kind == "boss";
  if (along && f.from.known() && f.to.known() && scene.part != nullptr)
    for (const int d : {2 * axis_of(n), 2 * axis_of(n) + 1}) {
      const double end = d % 2 == 0 ? std::max(f.from.si, f.to.si) : std::min(f.from.si, f.to.si);
      if (d != n && std::fabs(end - edge(scene, d)) < 1e-4) out.push_back(d);
    }
  if (kind == "boss" && out.size() == 1) out.push_back(opposite(n));
  return out;
}

}  // namespace fettle::begin
