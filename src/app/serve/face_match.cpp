// Which feature of the plan a face of the model belongs to: by where it lies, for a plan names no faces.
#include "app/serve/face_match.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "app/serve/scene_mesh.h"
#include "study/internal.h"

namespace fettle::serve {

using frame::Vec3;

namespace {

constexpr double near = 6e-5;    // m: how far a face may lie from where the plan says it is
constexpr double within = 2e-4;  // m: how far a face may reach beyond its feature
constexpr double none = std::numeric_limits<double>::infinity();

double along(Vec3 v, Vec3 axis) { return frame::dot(v, axis); }
Vec3 across(Vec3 v, Vec3 axis) { return v - along(v, axis) * axis; }
Vec3 abs_of(Vec3 v) { return {std::fabs(v.x), std::fabs(v.y), std::fabs(v.z)}; }
bool is_line(Vec3 a, Vec3 b) { return std::fabs(along(a, b)) > 1 - 1e-4; }

double widest(const plan::Limits& d) {
  return std::max({d.value.upper.value_or(0), d.value.nominal.value_or(0), d.value.lower.value_or(0)});
}

/// A face of the model where the plan has it.
struct Seen {
  const solid::Face& face;
  Vec3 by;
  solid::Box box;
  Vec3 point;
};
Seen seen_moved(const solid::Face& f, Vec3 by) { return {f, by, {f.box.lo + by, f.box.hi + by}, f.point + by}; }

/// How far the face reaches from a line along `axis`; of a plane's rim, where it is widest.
double reach_from(const Seen& s, Vec3 at, Vec3 axis) {
  double most = 0;
  for (const Vec3& p : s.face.outline) most = std::max(most, frame::norm(across(p + s.by - at, axis)));
  if (!s.face.outline.empty()) return most;
  const Vec3 half = across(0.5 * (s.box.hi - s.box.lo), axis);
  return frame::norm(across(0.5 * (s.box.lo + s.box.hi) - at, axis)) + std::max({half.x, half.y, half.z});
}

/// Whether the face lies in a rectangle round `at`: a along the first of the plan's axes across `n`, b along the other.
bool in_rectangle(const Seen& s, Vec3 at, Vec3 n, double a, double b) {
  const Vec3 half = std::fabs(n.x) > 0.5   ? Vec3{none, a, b}
                    : std::fabs(n.y) > 0.5 ? Vec3{a, none, b}
                                           : Vec3{a, b, none};
  const Vec3 lo = at - s.box.lo, hi = s.box.hi - at;
  const auto fits = [](double l, double h, double most) { return l < most + within && h < most + within; };
  return fits(lo.x, hi.x, half.x) && fits(lo.y, hi.y, half.y) && fits(lo.z, hi.z, half.z);
}

double on_face(const plan::Feature& f, const Seen& s) {
  if (s.face.kind != solid::Kind::plane) return none;
  const Vec3 n = study::direction(f.normal.value);
  if (!(along(s.face.axis, n) > 1 - 1e-6)) return none;
  const double reach = 0.5 * widest(f.diameter);
  double best = none;
  for (const Vec3& at : f.at.value) {
    if (!(std::fabs(along(s.point - at, n)) < near)) continue;
    if (reach > 0) {
      if (reach_from(s, at, n) < reach + within) best = 0;
    } else if (f.size.value.size() < 2) {
      best = std::min(best, 1e-4);
    } else {
      const double a = 0.5 * f.size.value[0], b = 0.5 * f.size.value[1];
      if (in_rectangle(s, at, n, a, b)) best = 0;
      else if (in_rectangle(s, at, n, b, a)) best = std::min(best, 1e-4);  // a person may say them the other way round
    }
  }
  return best;
}

/// How far the face lies from the round feature's own wall; infinite when it is none of its faces.
double on_round(const plan::Feature& f, const Seen& s) {
  double reach = 0.5 * std::max(widest(f.diameter), f.drill.si);
  if (f.thread.known()) reach = std::max(reach, 0.5 * f.thread.value.major);
  if (!(reach > 0)) return none;
  const Vec3 axis = f.normal.known() ? abs_of(study::direction(f.normal.value)) : Vec3{0, 0, 1};
  const solid::Kind kind = s.face.kind;
  const bool cone = kind == solid::Kind::cone, plane = kind == solid::Kind::plane;
  const bool shaft = f.kind.value == "boss" || f.kind.value == "groove";  // its wall may look outward
  if (kind == solid::Kind::spline || !is_line(s.face.axis, axis) || (!plane && !s.face.concave && !shaft)) return none;
  const double spare = cone ? reach : within;  // a drill's point goes on behind the depth
  if (f.from.known() && !(along(s.box.lo, axis) > f.from.si - spare)) return none;
  if (f.to.known() && !(along(s.box.hi, axis) < f.to.si + spare)) return none;
  double best = none;
  for (const Vec3& at : f.at.value) {
    if (!plane && !(frame::norm(across(s.point - at, axis)) < within)) continue;
    const double r = kind == solid::Kind::cylinder ? s.face.radius : reach_from(s, at, axis);
    if (r < reach + (cone ? 1e-3 : within)) best = std::min(best, std::fabs(reach - r));
  }
  return best;
}

/// How far a wall that leans reaches out over `depth`; none where it is a floor.
double lean(const solid::Face& f, Vec3 up, double depth) {
  if (f.kind == solid::Kind::cone) return depth * std::fabs(std::tan(f.semi_angle));
  const double high = std::fabs(along(f.axis, up));
  return f.kind == solid::Kind::plane && high < 0.5 ? depth * high / frame::norm(across(f.axis, up)) : 0;
}

/// Half of what the pocket spans, when the face lies in it: of two the smaller holds it. A flat wall may go on above
/// the depth, which is that of its lowest wall.
double in_pocket(const plan::Feature& f, const Seen& s) {
  if (!f.from.known() || !f.to.known()) return none;
  const double half = 0.5 * std::max(widest(f.length), widest(f.width));
  const Vec3 n = study::direction(f.normal.value), up = abs_of(n);
  const bool above = along(n, up) > 0,
             wall = s.face.kind == solid::Kind::plane && std::fabs(along(s.face.axis, n)) < 0.5;
  const double lo = along(s.box.lo, up) - f.from.si, hi = along(s.box.hi, up) - f.to.si;
  const bool starts =
      above ? lo > -within && along(s.box.lo, up) < f.to.si : hi < within && along(s.box.hi, up) > f.from.si;
  const bool ends = above ? hi < within : lo > -within;
  if (!(half > 0 && starts && (ends || wall))) return none;
  const double most = half + lean(s.face, up, along(s.box.hi - s.box.lo, up));
  const bool in = std::any_of(f.at.value.begin(), f.at.value.end(), [&](const Vec3& at) {
    return in_rectangle(s, at, up, most, most) && (ends || along(s.face.axis, at - s.point) > 0);
  });
  return in ? half + (ends ? 0 : 1) : none;
}

bool on_profile(const plan::Feature& f, const Seen& s) {
  if (f.size.value.size() < 2 || f.at.value.empty()) return false;
  const Vec3 at = f.at.value[0], n = s.face.axis;
  if (f.from.known() && !(s.box.lo.z > f.from.si - within)) return false;
  if (f.to.known() && !(s.box.hi.z < f.to.si + within)) return false;
  if (s.face.kind == solid::Kind::cylinder)
    return !s.face.concave && is_line(n, {0, 0, 1}) && std::fabs(s.face.radius - f.radius.si) < within &&
           f.radius.known();
  if (s.face.kind != solid::Kind::plane || std::fabs(n.z) > 1e-6) return false;
  const double half = 0.5 * (std::fabs(n.x) * f.size.value[0] + std::fabs(n.y) * f.size.value[1]);
  return std::max(std::fabs(n.x), std::fabs(n.y)) > 1 - 1e-6 && std::fabs(along(s.point - at, n) - half) < near;
}

/// What lies oblique has only a place: its plane or its axis goes through there. Its note says which of them.
double on_oblique(const plan::Feature& f, const Seen& s) {
  const bool flat = s.face.kind == solid::Kind::plane, said = f.note.value.rfind("its normal is", 0) == 0;
  if (f.note.known() && flat != said) return none;
  const Vec3 n = s.face.axis, a = abs_of(n);
  if (!(frame::norm(n) > 0.5) || std::max({a.x, a.y, a.z}) > 1 - 1e-6) return none;
  double best = none;
  for (const Vec3& at : f.at.value) {
    const double off = flat ? std::fabs(along(s.point - at, n)) : frame::norm(across(s.point - at, n));
    if (!(off < near)) continue;
    const auto out = [](double x, double lo, double hi) { return std::max({0.0, lo - x, x - hi}); };
    best = std::min(best, frame::norm({out(at.x, s.box.lo.x, s.box.hi.x), out(at.y, s.box.lo.y, s.box.hi.y),
                                       out(at.z, s.box.lo.z, s.box.hi.z)}));
  }
  return best;
}

int feature_of(const plan::Plan& p, const Seen& s) {
  int best = -1;
  double nearest = none;
  for (std::size_t i = 0; i < p.features.size(); ++i) {
    const plan::Feature& f = p.features[i];
    if (f.over.known()) continue;
    const std::string& kind = f.kind.value;
    double away = none;
    if (kind == "face" || kind == "datum") away = on_face(f, s);
    else if (kind == "boss") away = std::min(on_face(f, s), on_round(f, s));
    else if (kind == "profile") away = on_profile(f, s) ? 0 : none;
    else if (kind == "pocket" || kind == "slot") away = 2 + in_pocket(f, s);
    else if (kind == "surface") away = 1 + on_oblique(f, s);
    else away = on_round(f, s) + 1e-9;
    if (away < nearest) nearest = away, best = static_cast<int>(i);
  }
  return best;
}

}  // namespace

std::vector<int> features_of_faces(const plan::Plan& plan, const solid::Model& model, Vec3 by) {
  std::vector<int> out;
  out.reserve(model.faces.size());
  for (const solid::Face& f : model.faces) out.push_back(feature_of(plan, seen_moved(f, by)));
  return out;
}

Matched matched(const plan::Plan& plan, const solid::Model& model) {
  const auto area = [&](const Matched& m) {
    double sum = 0;
    for (std::size_t i = 0; i < m.features.size(); ++i)
      if (m.features[i] >= 0) sum += model.faces[i].area;
    return sum;
  };
  Matched stands{&model, {}, features_of_faces(plan, model, {})};
  const Vec3 by = shift_to_plan(plan, model.box);
  if (!(frame::norm(by) > 0)) return stands;
  Matched moved{&model, by, features_of_faces(plan, model, by)};
  return area(stands) > 0 && area(stands) >= area(moved) ? stands : moved;
}

}  // namespace fettle::serve
