#include "app/serve/flat.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "app/serve/scene_mesh.h"
#include "study/internal.h"

namespace fettle::serve {

using frame::Vec3;
using nlohmann::json;

namespace {

constexpr double facing = 0.05;  // of the unit normal: what looks at the reader at all
constexpr std::size_t most_points = 20000;

std::array<double, 2> on_paper(Vec3 v) { return {v.x, v.y}; }

double area_of(const Ring& r) {
  double twice = 0;
  for (std::size_t i = 0; i < r.size(); ++i) {
    const auto &a = r[i], &b = r[(i + 1) % r.size()];
    twice += a[0] * b[1] - b[0] * a[1];
  }
  return 0.5 * std::fabs(twice);
}

/// How far p lies from the stretch between a and b.
double off(const std::array<double, 2>& p, const std::array<double, 2>& a, const std::array<double, 2>& b) {
  const double dx = b[0] - a[0], dy = b[1] - a[1], l2 = dx * dx + dy * dy;
  const double s = l2 > 0 ? std::clamp(((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / l2, 0.0, 1.0) : 0;
  return std::hypot(p[0] - a[0] - s * dx, p[1] - a[1] - s * dy);
}

/// The ring with no more points than lie further than `by` from it.
Ring fewer(const Ring& ring, double by) {
  if (ring.size() < 4) return ring;
  std::vector<char> keep(ring.size() + 1, 0);
  const auto at = [&](std::size_t i) { return ring[i % ring.size()]; };
  // the two ends that lie furthest apart stay: a ring has none of its own
  std::size_t far = 0;
  for (std::size_t i = 1; i < ring.size(); ++i)
    if (off(at(i), at(0), at(0)) > off(at(far), at(0), at(0))) far = i;
  keep[0] = keep[far] = keep[ring.size()] = 1;
  std::vector<std::pair<std::size_t, std::size_t>> open = {{0, far}, {far, ring.size()}};
  while (!open.empty()) {
    const auto [a, b] = open.back();
    open.pop_back();
    std::size_t worst = a;
    double most = by;
    for (std::size_t i = a + 1; i < b; ++i)
      if (const double o = off(at(i), at(a), at(b)); o > most) most = o, worst = i;
    if (worst == a) continue;
    keep[worst] = 1;
    open.emplace_back(a, worst), open.emplace_back(worst, b);
  }
  Ring out;
  for (std::size_t i = 0; i < ring.size(); ++i)
    if (keep[i] != 0) out.push_back(ring[i]);
  return out;
}

struct Drawn {
  const frame::Pose pose;
  Vec3 view;  ///< to the reader, in the part's axes
};
Drawn drawn_from(frame::Pose pose, Vec3 by) {
  const Vec3 view{pose.R[6], pose.R[7], pose.R[8]};
  pose.t = frame::rotate(pose, by);
  return {pose, view};
}

Ring ring_of(const solid::Face& f, const frame::Pose& pose) {
  Ring out;
  for (const Vec3& p : f.outline) out.push_back(on_paper(pose * p));
  return out;
}

void widen(Flat& flat, const Ring& ring) {
  for (const auto& p : ring) {
    flat.box[0] = std::min(flat.box[0], p[0]), flat.box[1] = std::min(flat.box[1], p[1]);
    flat.box[2] = std::max(flat.box[2], p[0]), flat.box[3] = std::max(flat.box[3], p[1]);
  }
}

std::size_t points_of(const Flat& flat) {
  std::size_t n = 0;
  for (const Ring& r : flat.back) n += r.size();
  for (const FlatFace& f : flat.faces) n += f.ring.size();
  for (const FlatFace& f : flat.sides) n += f.ring.size();
  return n;
}

/// As many points as a screen shows, and no more than a page can take.
void thin(Flat& flat) {
  const double wide = std::max(flat.box[2] - flat.box[0], flat.box[3] - flat.box[1]);
  for (double by = wide / 2000; by < wide; by *= 2) {
    for (Ring& r : flat.back) r = fewer(r, by);
    for (FlatFace& f : flat.faces) f.ring = fewer(f.ring, by);
    for (FlatFace& f : flat.sides) f.ring = fewer(f.ring, by);
    if (points_of(flat) < most_points) return;
  }
}

/// How much the face looks at the reader: of a curved one the part of it that does so most.
double looks_up(const solid::Face& f, Vec3 view) {
  if (f.kind == solid::Kind::plane) return frame::dot(f.axis, view);
  double most = -1;
  for (const solid::Sample& s : f.samples) most = std::max(most, frame::dot(s.normal, view));
  return most;
}

/// A pocket's walls and what else looks at the reader from within the metal.
bool inside(const plan::Feature& f, Vec3 view) {
  const std::string& kind = f.kind.value;
  return kind != "face" && kind != "profile" && kind != "boss" && kind != "surface" && f.normal.known() &&
         std::fabs(frame::dot(study::direction(f.normal.value), view)) < 0.5;
}
/// What stands as a line on the part's outside when it is seen on end; the floor of a hole lies within.
bool outer(const plan::Feature& f) {
  return f.kind.value == "profile" || (f.kind.value == "face" && !f.diameter.known());
}

void draw_model(Flat& flat, const plan::Plan& plan, const Matched& m, const frame::Pose& lies) {
  const Drawn d = drawn_from(lies, m.by);
  for (std::size_t i = 0; i < m.model->faces.size(); ++i) {
    const solid::Face& f = m.model->faces[i];
    const bool plane = f.kind == solid::Kind::plane;
    Ring ring = ring_of(f, d.pose);
    if (ring.size() < 2) continue;
    widen(flat, ring);
    if (!plane && f.concave) continue;
    const double looks = looks_up(f, d.view);
    const int own = m.features[i];
    if (looks > facing) {
      if (own < 0 || !inside(plan.features[static_cast<std::size_t>(own)], d.view))
        flat.faces.push_back({own, area_of(ring), ring});
    } else if (looks > -facing && own >= 0 && outer(plan.features[static_cast<std::size_t>(own)])) {
      flat.sides.push_back({own, area_of(ring), ring});
    }
    if (!(looks > facing)) flat.back.push_back(std::move(ring));
  }
  // Only the outer rim of a face is known, not the holes in it: what is smaller lies on top.
  std::stable_sort(flat.faces.begin(), flat.faces.end(),
                   [](const FlatFace& a, const FlatFace& b) { return a.area > b.area; });
}

/// The feature of a flat that looks along `view` and lies furthest that way; else the profile's side; -1: none.
int block_face(const plan::Plan& plan, Vec3 view) {
  int best = -1, profile = -1;
  double most = -std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < plan.features.size(); ++i) {
    const plan::Feature& f = plan.features[i];
    if (f.over.known() || f.at.value.empty()) continue;
    if (f.kind.value == "profile") profile = static_cast<int>(i);
    if (f.kind.value != "face" || f.diameter.known()) continue;
    if (!(frame::dot(study::direction(f.normal.value), view) > 0.999)) continue;
    if (const double high = frame::dot(f.at.value[0], view); high > most) most = high, best = static_cast<int>(i);
  }
  return best >= 0 || std::fabs(view.z) > 0.5 ? best : profile;
}

/// A part without a model.
void draw_block(Flat& flat, const plan::Plan& plan, const frame::Pose& lies) {
  const Block block = block_of(plan);
  if (!(block.size.x > 0)) return;
  const Drawn d = drawn_from(lies, {});
  const Vec3 half = frame::rotate(d.pose, 0.5 * block.size), at = d.pose * block.middle;
  const double a = std::fabs(half.x), b = std::fabs(half.y);
  const Ring ring = {{at.x - a, at.y - b}, {at.x + a, at.y - b}, {at.x + a, at.y + b}, {at.x - a, at.y + b}};
  flat.faces.push_back({block_face(plan, d.view), area_of(ring), ring});
  if (block.side >= 0 && std::fabs(d.view.z) > 0.5) flat.sides.push_back({block.side, area_of(ring), ring});
  widen(flat, ring);
}

double widest(const plan::Feature& f) {
  double d = std::max({f.diameter.value.upper.value_or(0), f.diameter.value.nominal.value_or(0), f.drill.si});
  return f.thread.known() ? std::max(d, f.thread.value.major) : d;
}
double nominal(const plan::Limits& l) {
  return l.value.nominal.value_or(std::max(l.value.upper.value_or(0), l.value.lower.value_or(0)));
}

/// True when metal lies between the feature and the reader.
bool covered(const plan::Plan& plan, const plan::Feature& f, Vec3 view) {
  if (!f.normal.known() || frame::dot(study::direction(f.normal.value), view) > 0) return false;
  if (!f.from.known() || !f.to.known()) return false;
  // the end of it that is nearer to the reader, against the end of the part there
  const bool far = view.x + view.y + view.z > 0;
  const double end = far ? std::max(f.from.si, f.to.si) : std::min(f.from.si, f.to.si);
  double last = end;
  for (const plan::Feature& o : plan.features)
    for (const Vec3& at : o.at.value) {
      const Vec3 axis{std::fabs(view.x), std::fabs(view.y), std::fabs(view.z)};
      if (o.kind.value == "face" && !o.over.known() && !o.diameter.known() && o.normal.known() &&
          frame::dot(study::direction(o.normal.value), view) > 0.999)
        last = far ? std::max(last, frame::dot(at, axis)) : std::min(last, frame::dot(at, axis));
    }
  return std::fabs(last - end) > 1e-5;
}

void draw_marks(Flat& flat, const plan::Plan& plan, const frame::Pose& lies) {
  const Drawn d = drawn_from(lies, {});
  static const std::vector<std::string> kinds = {"bore",   "counterbore", "countersink", "hole", "thread",
                                                 "groove", "pocket",      "slot",        "boss", "face"};
  for (std::size_t i = 0; i < plan.features.size(); ++i) {
    const plan::Feature& f = plan.features[i];
    if (f.over.known() || std::find(kinds.begin(), kinds.end(), f.kind.value) == kinds.end()) continue;
    const Vec3 axis = f.normal.known() ? study::direction(f.normal.value) : Vec3{0, 0, 1};
    if (!(std::fabs(frame::dot(axis, d.view)) > 0.999)) continue;
    const bool square = f.kind.value == "pocket" || f.kind.value == "slot", face = f.kind.value == "face";
    if (face && (!f.diameter.known() || frame::dot(axis, d.view) < 0)) continue;
    const bool there = std::any_of(flat.faces.begin(), flat.faces.end(),
                                   [&](const FlatFace& x) { return x.feature == static_cast<int>(i); });
    if ((square || face) && there) continue;  // its floor is drawn as it is
    FlatMark m;
    m.feature = static_cast<int>(i), m.hidden = covered(plan, f, d.view);
    m.wide = square ? nominal(f.width) : widest(f), m.high = square ? nominal(f.length) : 0;
    if (!(m.wide > 0) || (square && !(m.high > 0))) continue;
    for (const Vec3& at : f.at.value) {
      const Vec3 p = d.pose * at;
      m.x = p.x, m.y = p.y;
      flat.marks.push_back(m);
      ++m.place;
    }
  }
  std::stable_sort(flat.marks.begin(), flat.marks.end(), [](const FlatMark& a, const FlatMark& b) {
    return std::max(a.wide, a.high) > std::max(b.wide, b.high);
  });
}

/// Flats that a later cut takes away are on no model of the finished part: they are drawn from the plan alone.
void draw_cut_away(Flat& flat, const plan::Plan& plan, const frame::Pose& lies) {
  const Drawn d = drawn_from(lies, {});
  for (std::size_t i = 0; i < plan.features.size(); ++i) {
    const plan::Feature& f = plan.features[i];
    if (!f.over.known() || f.kind.value != "face" || f.at.value.empty() || f.size.value.size() != 2) continue;
    const Vec3 n = study::direction(f.normal.value);
    const double a = 0.5 * f.size.value[0], b = 0.5 * f.size.value[1];
    // width and height lie along the two other axes, in their order
    const bool x = std::fabs(n.x) > 0.5, y = std::fabs(n.y) > 0.5;
    const Vec3 half = x ? Vec3{0, a, b} : y ? Vec3{a, 0, b} : Vec3{a, b, 0};
    const Vec3 h = frame::rotate(d.pose, half), at = d.pose * f.at.value[0];
    const double looks = frame::dot(n, d.view), w = std::fabs(h.x), v = std::fabs(h.y);
    const Ring ring = {{at.x - w, at.y - v}, {at.x + w, at.y - v}, {at.x + w, at.y + v}, {at.x - w, at.y + v}};
    if (looks > facing) flat.faces.push_back({static_cast<int>(i), area_of(ring), ring, true});
    else if (looks > -facing) flat.sides.push_back({static_cast<int>(i), 0, ring, true});
  }
}

double short_of(double x) { return std::isfinite(x) ? std::round(x * 1e5) / 1e5 + 0.0 : 0.0; }

json ring_json(const Ring& ring) {
  json out = json::array();
  for (const auto& p : ring) out.push_back(short_of(p[0])), out.push_back(short_of(p[1]));
  return out;
}

}  // namespace

const std::vector<std::string>& flat_ways() {
  static const std::vector<std::string> ways = {"+z", "-z", "+x", "-x", "+y", "-y"};
  return ways;
}

frame::Pose standing(const std::string& from) {
  if (from == "+x") return {{0, 1, 0, 0, 0, 1, 1, 0, 0}, {}};
  if (from == "-x") return {{0, -1, 0, 0, 0, 1, -1, 0, 0}, {}};
  if (from == "+y") return {{-1, 0, 0, 0, 0, 1, 0, 1, 0}, {}};
  if (from == "-y") return {{1, 0, 0, 0, 0, 1, 0, -1, 0}, {}};
  return lying(from);
}

Flat flat_of(const plan::Plan& plan, const Matched& part, const frame::Pose& lies) {
  Flat flat;
  const double none = std::numeric_limits<double>::infinity();
  flat.box = {none, none, -none, -none};
  flat.axes = lies.R;
  flat.from_model = part.model != nullptr;
  if (flat.from_model) draw_model(flat, plan, part, lies);
  else draw_block(flat, plan, lies);
  if (!(flat.box[0] < flat.box[2])) {
    Flat bare;
    bare.axes = lies.R;
    return bare;
  }
  draw_cut_away(flat, plan, lies);
  draw_marks(flat, plan, lies);
  thin(flat);
  return flat;
}

json flat_json(const Flat& flat, const plan::Plan& plan, const std::string& up) {
  const auto name = [&](int i) { return i < 0 ? std::string() : plan.features[static_cast<std::size_t>(i)].id.value; };
  const auto faces = [&](const std::vector<FlatFace>& list) {
    json out = json::array();
    for (const FlatFace& f : list) {
      out.push_back({{"feature", name(f.feature)}, {"ring", ring_json(f.ring)}});
      if (f.over) out.back()["over"] = true;
    }
    return out;
  };
  json marks = json::array(), axes = json::array();
  for (std::size_t i = 0; i < 9; i += 3)
    axes.push_back({std::lround(flat.axes[i]), std::lround(flat.axes[i + 1]), std::lround(flat.axes[i + 2])});
  for (const FlatMark& m : flat.marks) {
    json x = {{"feature", name(m.feature)},
              {"place", m.place + 1},
              {"at", {short_of(m.x), short_of(m.y)}},
              {"wide", short_of(m.wide)},
              {"hidden", m.hidden}};
    if (m.high > 0) x["high"] = short_of(m.high);
    marks.push_back(std::move(x));
  }
  return {{"up", up},
          {"axes", std::move(axes)},
          {"model", flat.from_model},
          {"box", {short_of(flat.box[0]), short_of(flat.box[1]), short_of(flat.box[2]), short_of(flat.box[3])}},
          {"back", rings_json(flat.back)},
          {"faces", faces(flat.faces)},
          {"sides", faces(flat.sides)},
          {"marks", std::move(marks)}};
}

std::vector<Ring> outlines_of(const solid::Model& model, Vec3 by, const frame::Pose& lies) {
  const Drawn d = drawn_from(lies, by);
  Flat flat;
  const double none = std::numeric_limits<double>::infinity();
  flat.box = {none, none, -none, -none};
  for (const solid::Face& f : model.faces) {
    if (f.concave) continue;
    Ring ring = ring_of(f, d.pose);
    widen(flat, ring);
    if (area_of(ring) > 1e-9) flat.back.push_back(std::move(ring));
  }
  if (!flat.back.empty()) thin(flat);
  return std::move(flat.back);
}

json rings_json(const std::vector<Ring>& rings) {
  json out = json::array();
  for (const Ring& r : rings) out.push_back(ring_json(r));
  return out;
}

}  // namespace fettle::serve
