// Every cut: does its tool reach, and does nothing of it touch what stands around?
#include "calc/reach/reach.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

#include "base/text.h"
#include "ref/threads.h"
#include "study/internal.h"
#include "study/plate_model.h"
#include "study/reach.h"

namespace fettle::study {

using finding::Finding;
using frame::Vec3;
using unit::Kind;

namespace {

constexpr double clearance = 1e-3;  // common practice
constexpr double tiny = 1e-6;

double middle_of(const plan::Limits& l) {
  if (l.value.nominal) return *l.value.nominal;
  if (l.value.lower && l.value.upper) return 0.5 * (*l.value.lower + *l.value.upper);
  return l.value.upper ? *l.value.upper : l.value.lower ? *l.value.lower : 0;
}

/// Part frame seen by the spindle: h counts along the operation's `up`, u and v across it.
struct View {
  int axis = 2;
  double sign = 1;
  double bottom = 0, top = 0;  ///< of the part along h
  double h(Vec3 p) const { return sign * (axis == 0 ? p.x : axis == 1 ? p.y : p.z); }
  double u(Vec3 p) const { return axis == 0 ? p.y : p.x; }
  double v(Vec3 p) const { return axis == 2 ? p.y : p.z; }
  bool along(const plan::Feature& f) const {
    return !f.normal.known() || (f.normal.value.size() == 2 && f.normal.value[1] == "xyz"[axis]);
  }
};

View view_of(const plan::Plan& plan, const plan::Operation& o) {
  View w;
  const std::string up = o.up.known() && o.up.value.size() == 2 ? o.up.value : "+z";
  w.axis = up[1] - 'x';
  w.sign = up[0] == '-' ? -1 : 1;
  // As long as part.size says, and where the frame does not lie in its middle, where faces and profile say.
  const double size = plan.part.size.value[static_cast<std::size_t>(w.axis)];
  double least = std::numeric_limits<double>::infinity(), most = -least;
  const auto reaches = [&](double x) { least = std::min(least, x), most = std::max(most, x); };
  for (const plan::Feature& f : plan.features) {
    if (f.over.known() || f.at.value.empty()) continue;
    const double middle = w.axis == 0 ? f.at.value[0].x : w.axis == 1 ? f.at.value[0].y : f.at.value[0].z;
    if (f.kind.value == "face" && f.normal.known() && w.along(f)) reaches(middle);
    if (f.kind.value == "profile" && w.axis < 2 && f.size.value.size() >= 2) {
      reaches(middle - 0.5 * f.size.value[static_cast<std::size_t>(w.axis)]);
      reaches(middle + 0.5 * f.size.value[static_cast<std::size_t>(w.axis)]);
    }
  }
  double low = w.axis == 2 ? 0 : -0.5 * size;
  if (most > least && most - least >= size - tiny) low = least;
  else if (std::isfinite(most)) low = std::clamp(low, most - size, least);
  const double high = std::max(low + size, std::isfinite(most) ? most : low + size);
  w.bottom = w.sign > 0 ? low : -high;
  w.top = w.sign > 0 ? high : -low;
  return w;
}

/// A feature along h.
struct Span {
  double low = 0, high = 0;
  bool there = false;
};
Span span_of(const View& w, const plan::Feature& f) {
  if (!w.along(f) || !f.from.known() || !f.to.known()) return {};
  const double a = w.sign * f.from.si, b = w.sign * f.to.si;
  return {std::min(a, b), std::max(a, b), true};
}

double diameter_of(const plan::Feature& f) {
  const double d = middle_of(f.diameter);
  if (d > 0) return d;
  return f.drill.known() ? f.drill.si : f.thread.known() ? f.thread.value.major : 0;
}
bool is_round(const plan::Feature& f) {
  const std::string& k = f.kind.value;
  return k == "bore" || k == "counterbore" || k == "hole" || k == "thread";
}
bool on_axis_tool(const plan::Tool& t) {
  const std::string& k = t.kind.value;
  return k == "drill" || k == "tap" || k == "reamer" || k == "boring tool" || k == "spot drill" || k == "countersink";
}

/// Heads of the screws that hold the part, in its frame.
struct Heads {
  std::vector<Vec3> at;
  double radius = 0, height = 0;  ///< height without the washer
  double major = 0;
  bool radius_said = false;
};
std::optional<Heads> heads_of(const plan::Plan& plan, const plan::Operation& o) {
  if (o.kind.value != "pallet") return std::nullopt;
  Heads h;
  for (const plan::NestScrew& n : plan.pallet.screws) {
    const auto t = ref::thread_data(n.thread.value);
    if (!n.thread.known() || !t.ok()) continue;
    const plan::Feature* through = plan::find_feature(plan, n.through.value);
    const std::vector<Vec3>& at = through != nullptr ? through->at.value : n.at.value;
    h.at.insert(h.at.end(), at.begin(), at.end());
    h.major = std::max(h.major, t->major);
    h.height = std::max(h.height, t->major);
    h.radius_said = n.head.known();
    h.radius = std::max(h.radius, n.head.known() ? 0.5 * n.head.si : t->major);
  }
  if (h.at.empty()) return std::nullopt;
  return h;
}

/// Where the tool's axis runs, seen from above: distances from it.
struct Path {
  enum class Shape { points, circle, inside, around } shape = Shape::points;
  std::vector<Vec3> at;           ///< middles
  double radius = 0;              ///< circle
  double half_u = 0, half_v = 0;  ///< rectangle: of the axis, inside a pocket or around a profile
  double wall = 0;                ///< m, from the axis to the wall that is cut
  bool upright = false;           ///< it runs along a side that stands upright
  bool outside = false;           ///< the circle goes round something that stands inside it

  /// Least distance from the axis to a point.
  double to(const View& w, Vec3 p) const {
    double least = std::numeric_limits<double>::infinity();
    for (const Vec3& m : at) {
      const double du = std::fabs(w.u(p) - w.u(m)), dv = std::fabs(w.v(p) - w.v(m));
      double d = std::hypot(du, dv);
      if (shape == Shape::circle) d = outside ? std::fabs(d - radius) : std::max(0.0, d - radius);
      if (shape == Shape::inside) d = std::hypot(std::max(0.0, du - half_u), std::max(0.0, dv - half_v));
      if (shape == Shape::around)
        d = du <= half_u && dv <= half_v ? std::min(half_u - du, half_v - dv)
                                         : std::hypot(std::max(0.0, du - half_u), std::max(0.0, dv - half_v));
      least = std::min(least, d);
    }
    return least;
  }
};

/// One cut of one feature, ready for the science but for what is assumed.
struct Scene {
  std::string operation, words;
  const plan::Feature* feature = nullptr;
  const plan::Cut* cut = nullptr;
  const plan::Tool* tool = nullptr;
  const plan::Operation* in = nullptr;
  plan::Number stick_out, holder;
  View view;
  Path path;
  Span span;
  double tip = 0;   ///< h of the tip at the deepest
  double deep = 0;  ///< from the part's top to the tip
  std::vector<std::string> taken;
};

/// The tool's holder; where only that is not said, a usual one for its diameter with its band.
plan::Number holder_of(const plan::Tool& t, bool stick_out_known) {
  if (t.holder.known() || !stick_out_known || !t.diameter.known()) return t.holder;
  const double usual = t.diameter.si <= 10e-3 ? 30e-3 : t.diameter.si <= 20e-3 ? 44e-3 : t.diameter.si + 24e-3;
  return assumed(Kind::length, usual, 0.8 * usual, 1.3 * usual, "from memory: collet chucks by the tool's diameter",
                 "measure it at the holder");
}

bool looks_up(const View& w, const plan::Feature& f) {
  return f.normal.known() && w.along(f) && (f.normal.value[0] == '-') == (w.sign < 0);
}
/// A face without a diameter: one that the tool passes over, or along.
bool is_flat(const plan::Feature& f) { return f.kind.value == "face" && !f.diameter.known(); }

/// Extent of a face along an axis of the part; the part's own where it is not said.
double extent(const plan::Plan& plan, const plan::Feature& f, int axis) {
  const int own = f.normal.value[1] - 'x';
  const bool first = axis == (own == 0 ? 1 : 0);  // of the two axes in its plane
  if (f.size.value.size() == 2) return f.size.value[first ? 0 : 1];
  return plan.part.size.value[static_cast<std::size_t>(axis)];
}
Vec3 beside(const View& w, double u, double v) {
  return w.axis == 0 ? Vec3{0, u, v} : w.axis == 1 ? Vec3{u, 0, v} : Vec3{u, v, 0};
}

/// Over a flat that looks up: across its narrow way the axis stays over it, along the other it runs out by a radius.
Path over_flat(const plan::Plan& plan, const View& w, const plan::Feature& f, double r) {
  Path p;
  p.shape = Path::Shape::inside;
  p.at = {f.at.value[0]};
  p.half_u = 0.5 * extent(plan, f, w.axis == 0 ? 1 : 0), p.half_v = 0.5 * extent(plan, f, w.axis == 2 ? 1 : 2);
  double &wide = p.half_u >= p.half_v ? p.half_u : p.half_v, &narrow = p.half_u >= p.half_v ? p.half_v : p.half_u;
  wide += r, narrow = std::max(0.0, narrow - r);
  p.wall = r;
  return p;
}
/// Along a side that stands upright, a radius outside it, and out by a radius at both ends.
Path along_side(const plan::Plan& plan, const View& w, const plan::Feature& f, double r) {
  Path p;
  p.shape = Path::Shape::inside;
  const int own = f.normal.value[1] - 'x', across = 3 - own - w.axis;
  const bool u_is_own = own == (w.axis == 0 ? 1 : 0);
  const Vec3 at = f.at.value[0];
  const double out = f.normal.value[0] == '-' ? -r : r, half = 0.5 * extent(plan, f, across) + r;
  p.at = {u_is_own ? beside(w, w.u(at) + out, w.v(at)) : beside(w, w.u(at), w.v(at) + out)};
  (u_is_own ? p.half_v : p.half_u) = half;
  p.wall = r;
  p.upright = true;
  return p;
}

std::optional<Path> path_of(const plan::Plan& plan, const View& w, const plan::Feature& f, const plan::Tool& t) {
  Path p;
  p.at = f.at.value;
  if (p.at.empty()) p.at.push_back({});
  const double r = t.diameter.known() ? 0.5 * t.diameter.si : 0;
  const std::string& k = f.kind.value;
  const bool chamfer = t.kind.value == "chamfer";
  if (is_flat(f)) return looks_up(w, f) ? over_flat(plan, w, f, r) : along_side(plan, w, f, r);
  if (k == "boss") {
    const double wall = 0.5 * diameter_of(f);
    if (!(wall > 0)) return std::nullopt;
    p.shape = Path::Shape::circle;
    p.radius = wall + r;
    p.wall = r;
    p.outside = true;
    return p;
  }
  if (k == "chamfer" && chamfer) {  // with the middle of its edge on that of the cone
    if (!(diameter_of(f) > 0)) return std::nullopt;
    p.shape = Path::Shape::circle;
    p.radius = std::max(0.0, 0.5 * diameter_of(f) - 0.5 * r);
    p.wall = 0.5 * r;
    return p;
  }
  if (is_round(f) || k == "groove" || k == "chamfer" || k == "face") {
    const double wall = 0.5 * diameter_of(f);
    if (!(wall > 0)) return std::nullopt;
    if (on_axis_tool(t)) {
      p.wall = t.kind.value == "tap" ? std::max(wall, r) : wall;
      return p;
    }
    p.shape = Path::Shape::circle;
    p.radius = std::max(0.0, wall - r);
    p.wall = std::min(r, wall);
    return p;
  }
  if (k == "pocket" || k == "slot") {
    const double width = middle_of(f.width), length = middle_of(f.length);
    if (!(width > 0) || !(length > 0)) return std::nullopt;
    p.shape = Path::Shape::inside;
    p.half_u = std::max(0.0, 0.5 * width - r), p.half_v = std::max(0.0, 0.5 * length - r);
    p.wall = r;
    return p;
  }
  if (k == "profile" && f.size.value.size() >= 2 && w.axis == 2) {
    // A chamfer tool cuts with the middle of its edge: its axis stands a half radius outside.
    const double off = chamfer ? 0.5 * r : r;
    p.shape = Path::Shape::around;
    p.half_u = 0.5 * f.size.value[0] + off, p.half_v = 0.5 * f.size.value[1] + off;
    p.wall = off;
    return p;
  }
  return std::nullopt;
}

/// The casting's half size beside a nest: raw where no operation before this one has cut that side.
double raw_half(const plan::Plan& plan, const plan::Operation& o, const plan::Feature& profile, int across) {
  const double finished = 0.5 * profile.size.value[static_cast<std::size_t>(across)];
  const std::string sides[2] = {profile.id.value + (across == 0 ? ".+x" : ".+y"),
                                profile.id.value + (across == 0 ? ".-x" : ".-y")};
  double half = finished;
  for (const std::string& side : sides) {
    double here = finished;
    for (const plan::CastSize& s : plan.casting.sizes)
      if (std::find(s.between.value.begin(), s.between.value.end(), side) != s.between.value.end() && s.raw.known())
        here = std::max(here, 0.5 * s.raw.si);
    for (const plan::Operation& before : plan.operations) {
      if (&before == &o) break;
      for (const std::string& id : before.makes.value) {
        const plan::Feature* f = plan::find_feature(plan, id);
        if (f != nullptr && f->over.value == side && !f->at.value.empty())
          here = std::fabs(across == 0 ? f->at.value[0].x : f->at.value[0].y);
      }
    }
    half = std::max(half, here);
  }
  return half;
}

/// Nearest neighbour on the pallet: pitch along the part's X and Y, where the nests are not turned.
struct Pitch {
  double x = 0, y = 0;
};
Pitch pitch_of(const plan::Plan& plan) {
  Pitch p;
  std::vector<Vec3> all;
  for (const plan::Nest& n : plan.pallet.nests) {
    const double turn = n.turn.known() ? std::fabs(std::remainder(n.turn.si, 3.14159265358979323846)) : 0;
    if (turn > 1e-6) return {};
    all.insert(all.end(), n.at.value.begin(), n.at.value.end());
  }
  for (std::size_t i = 0; i < all.size(); ++i)
    for (std::size_t k = i + 1; k < all.size(); ++k) {
      const double dx = std::fabs(all[i].x - all[k].x), dy = std::fabs(all[i].y - all[k].y);
      if (dy < tiny && dx > tiny) p.x = p.x > 0 ? std::min(p.x, dx) : dx;
      if (dx < tiny && dy > tiny) p.y = p.y > 0 ? std::min(p.y, dy) : dy;
    }
  return p;
}

/// Least distance from the path's axes to an upright block or cylinder that stands round `middle`.
double to_block(const View& w, const Path& path, Vec3 middle, double half_u, double half_v, bool round) {
  double least = std::numeric_limits<double>::infinity();
  for (const Vec3& m : path.at) {
    const double du = std::fabs(w.u(middle) - w.u(m)), dv = std::fabs(w.v(middle) - w.v(m));
    double d = round ? std::max(0.0, std::hypot(du, dv) - half_u)
                     : std::hypot(std::max(0.0, du - half_u), std::max(0.0, dv - half_v));
    if (path.shape == Path::Shape::circle) d -= path.radius;
    if (path.outside)
      d = std::max(d, path.radius - (round ? std::hypot(du, dv) + half_u : std::hypot(du + half_u, dv + half_v)));
    if (path.shape == Path::Shape::inside)
      d = std::hypot(std::max(0.0, du - half_u - path.half_u), std::max(0.0, dv - half_v - path.half_v));
    least = std::min(least, std::max(0.0, d));
  }
  return least;
}

/// A pocket or slot in whose floor the feature opens: how far its walls stand from the path; below 0: not in it.
double walls_of_pocket(const View& w, const Path& path, const plan::Feature& pocket) {
  const double half_u = 0.5 * middle_of(w.axis == 0 ? pocket.length : pocket.width),
               half_v = 0.5 * middle_of(w.axis == 0 ? pocket.width : pocket.length);
  if (!(half_u > 0 && half_v > 0) || w.axis != 2) return -1;  // sideways ones do not say which way is which
  const double out = path.shape == Path::Shape::circle ? path.radius : 0,
               r = pocket.radius.known() ? pocket.radius.si : 0;
  double room = std::numeric_limits<double>::infinity();
  for (const Vec3& m : path.at) {
    double in = -1;
    for (const Vec3& k : pocket.at.value) {
      const double a = half_u - std::fabs(w.u(k) - w.u(m)) - out - path.half_u,
                   b = half_v - std::fabs(w.v(k) - w.v(m)) - out - path.half_v;
      in = std::max(in, a < r && b < r ? r - std::hypot(r - a, r - b) : std::min(a, b));
    }
    room = std::min(room, in);
  }
  return room;
}

/// What rises above height `open` beside the path, where the feature opens: all flats of the plan that look up and lie
/// higher, each as a block below it with the casting's draft. Above the highest of them, where one does not say how
/// large it is, and where one lies over the feature, the part goes on up the wall that the cutter came down along.
void rises_above(const plan::Plan& plan, const Scene& s, double open, std::vector<reach::Obstacle>& out) {
  const View& w = s.view;
  const std::string words = "the part above " + s.feature->id.value;
  double known = open;
  for (const plan::Feature& g : plan.features) {
    if (g.kind.value != "face" || g.over.known() || !g.normal.known() || g.at.value.empty()) continue;
    if (g.normal.value[1] != "xyz"[w.axis] || (g.normal.value[0] == '-') != (w.sign < 0)) continue;
    const double high = w.h(g.at.value[0]);
    if (high < open + tiny) continue;
    const bool round = middle_of(g.diameter) > 0;
    if (!round && g.size.value.size() < 2) continue;
    known = std::max(known, high);
    const double lean = (high - open) * std::tan(std::max(plan.casting.draft.high, 0.0));
    const double half_u = lean + 0.5 * (round ? middle_of(g.diameter) : g.size.value[0]),
                 half_v = lean + 0.5 * (round ? middle_of(g.diameter) : g.size.value[1]);
    const double far = to_block(w, s.path, g.at.value[0], half_u, half_v, round);
    const bool beside = far > s.path.wall;
    out.push_back({beside ? words + ", below " + g.id.value : words, open - s.tip, high - s.tip,
                   std::max(s.path.wall, far), !beside});
  }
  if (known < w.top - tiny) out.push_back({words, known - s.tip, w.top - s.tip, s.path.wall, true});
}

/// The part beside this one in a row or on the pallet, where a side that stands upright faces it.
void beside_side(const plan::Plan& plan, const Scene& s, std::vector<reach::Obstacle>& out) {
  const plan::Feature& f = *s.feature;
  const View& w = s.view;
  const int own = f.normal.value[1] - 'x';
  const auto profile = std::find_if(plan.features.begin(), plan.features.end(), [](const plan::Feature& x) {
    return x.kind.value == "profile" && x.size.value.size() >= 2;
  });
  const bool pallet = s.in->kind.value == "pallet";
  const Pitch on_pallet = pallet && w.axis == 2 ? pitch_of(plan) : Pitch{};
  // Parts side by side stand along X of the program: the part's X, or its Y where X points up.
  const bool in_row = !pallet && own == (w.axis == 0 ? 1 : 0) && s.in->parts.known() && s.in->parts.value > 1;
  const double step = pallet                          ? (own == 0   ? on_pallet.x
                                                         : own == 1 ? on_pallet.y
                                                                    : 0)
                      : in_row && s.in->pitch.known() ? s.in->pitch.si
                                                      : 0;
  if (!(step > 0) || own > 1) return;
  const double axis = std::fabs(own == 0 ? s.path.at[0].x : s.path.at[0].y),
               half = profile != plan.features.end() ? raw_half(plan, *s.in, *profile, own)
                                                     : 0.5 * plan.part.size.value[static_cast<std::size_t>(own)];
  out.push_back({"the part beside it", w.bottom - s.tip, w.top - s.tip, std::max(0.0, step - axis - half), false});
}

/// What stands around the path, with a washer of this thickness under the heads.
std::vector<reach::Obstacle> around(const plan::Plan& plan, const Scene& s, double washer) {
  std::vector<reach::Obstacle> out;
  const View& w = s.view;
  const double tip = s.tip, top = w.top - tip;
  const bool chamfer = s.tool->kind.value == "chamfer";
  const plan::Feature& f = *s.feature;
  // The wall that is cut, then what opens above it, then the part's top.
  // A cutter in a groove stays between its sides; neck, floor and bore are looked at by the groove's own sums.
  if (!chamfer && f.kind.value != "face" && f.kind.value != "groove") {
    out.push_back({"the wall that is cut", std::min(0.0, s.span.low - tip), s.span.high - tip, s.path.wall, true});
    double open = s.span.high;
    while (open < w.top - tiny && !s.path.outside) {
      const plan::Feature* above = nullptr;
      for (const plan::Feature& g : plan.features) {
        const Span x = span_of(w, g);
        const bool pocket = g.kind.value == "pocket" || g.kind.value == "slot";
        if (&g == &f || !(is_round(g) || pocket) || !x.there || x.low > open + tiny || x.high < open + tiny) continue;
        if (pocket && walls_of_pocket(w, s.path, g) < 0) continue;
        if (!pocket &&
            (g.at.value.empty() || f.at.value.empty() ||
             std::hypot(w.u(g.at.value[0]) - w.u(f.at.value[0]), w.v(g.at.value[0]) - w.v(f.at.value[0])) > tiny))
          continue;
        if (above == nullptr || span_of(w, *above).high < x.high) above = &g;
      }
      if (above == nullptr) break;
      const Span x = span_of(w, *above);
      const double wider =
          is_round(*above) ? 0.5 * diameter_of(*above) - s.path.radius : walls_of_pocket(w, s.path, *above);
      out.push_back({"the wall of " + above->id.value, open - tip, x.high - tip, std::max(0.0, wider), false});
      open = x.high;
    }
    if (open < w.top - tiny && f.kind.value != "profile") rises_above(plan, s, open, out);
  }
  if (s.path.upright) {
    out.push_back({"the wall that is cut", std::min(0.0, s.span.low - tip), s.span.high - tip, s.path.wall, true});
    beside_side(plan, s, out);
  } else if (is_flat(f)) {
    rises_above(plan, s, s.span.low, out);
  }
  const auto heads = heads_of(plan, *s.in);
  const double head_top = heads ? top + washer + heads->height : 0;
  if (heads) {
    double least = std::numeric_limits<double>::infinity();
    for (const Vec3& p : heads->at) least = std::min(least, s.path.to(w, p));
    out.push_back({"a screw head", top, head_top, std::max(0.0, least - heads->radius), false});
  }
  if (s.in->kind.value == "pallet" && f.kind.value == "profile") {
    const Pitch pitch = pitch_of(plan);
    for (int across = 0; across < 2; ++across) {
      const double step = across == 0 ? pitch.x : pitch.y, axis = across == 0 ? s.path.half_u : s.path.half_v;
      if (!(step > 0)) continue;
      const double gap = step - axis - raw_half(plan, *s.in, f, across);
      out.push_back({across == 0 ? "the neighbour along X" : "the neighbour along Y", w.bottom - tip, top,
                     std::max(0.0, gap), false});
      if (!heads) continue;
      double farthest = 0;
      for (const Vec3& p : heads->at) farthest = std::max(farthest, std::fabs(across == 0 ? p.x : p.y));
      out.push_back({"a screw head of the neighbour", top, head_top,
                     std::max(0.0, step - axis - farthest - heads->radius), false});
    }
  }
  return out;
}

reach::Tool tool_of(const Scene& s, double stick_out, double holder) {
  const plan::Tool& t = *s.tool;
  reach::Tool x;
  x.diameter = t.diameter.si;
  x.stick_out = stick_out;
  x.holder = holder;
  if (t.neck.known() && t.neck.si < t.diameter.si) x.neck = t.neck.si;
  if (t.neck_length.known()) x.neck_length = t.neck_length.si;
  const bool keyseat = t.kind.value == "keyseat cutter";
  x.cutting = keyseat && t.width.known() ? t.width.si : t.flute_length.known() ? t.flute_length.si : 0;
  // A neck behind flutes of unsaid length: the flutes are a diameter long at least.
  if (x.neck && !(x.cutting > 0)) x.cutting = std::min(t.diameter.si, stick_out);
  x.cutting = std::min(x.cutting, stick_out);
  return x;
}

reach::Groove groove_of(const plan::Plan& plan, const Scene& s) {
  reach::Groove g;
  const plan::Feature& f = *s.feature;
  g.groove = f.diameter.value.upper ? *f.diameter.value.upper : diameter_of(f);
  g.width = f.width.value.lower ? *f.width.value.lower : middle_of(f.width);
  g.depth = s.view.top - s.span.low;
  g.open_below = true;
  for (const plan::Feature& b : plan.features) {
    const Span x = span_of(s.view, b);
    if (!is_round(b) || !x.there || x.low > s.span.low + tiny || x.high < s.span.high - tiny) continue;
    if (b.at.value.empty() || f.at.value.empty() ||
        std::hypot(s.view.u(b.at.value[0]) - s.view.u(f.at.value[0]),
                   s.view.v(b.at.value[0]) - s.view.v(f.at.value[0])) > tiny)
      continue;
    g.bore = b.diameter.value.lower ? *b.diameter.value.lower : diameter_of(b);
    g.open_below = x.low <= s.view.bottom + tiny;
    g.floor = s.span.low - x.low;
  }
  return g;
}

/// A face that looks up and over which nothing stands: all of the tool is above it, however far it stands out.
bool clear_above(const plan::Plan& plan, const Scene& s) {
  if (!is_flat(*s.feature) || s.path.upright) return false;
  const auto all = around(plan, s, 0);
  return std::none_of(all.begin(), all.end(), [](const reach::Obstacle& o) { return o.high > tiny; });
}

/// Plan keys that its tool lacks.
std::vector<std::string> missing_of(const plan::Plan& plan, const Scene& s) {
  std::vector<std::string> out;
  if (clear_above(plan, s)) return out;
  const plan::Tool& t = *s.tool;
  if (!t.diameter.known()) out.emplace_back("tool.diameter");
  if (!s.stick_out.known()) out.emplace_back("tool.stick_out (or operation.cut.stick_out)");
  if (!s.holder.known()) out.emplace_back("tool.holder");
  if (s.feature->kind.value == "groove") {
    if (!t.neck.known()) out.emplace_back("tool.neck");
    if (!t.width.known()) out.emplace_back("tool.width");
  }
  return out;
}

Finding begin(const Scene& s, std::string_view question, std::string title) {
  Finding f = start(s.operation, s.feature->id.value, question, std::move(title), Kind::length);
  f.tool = s.tool->id.value;
  f.id = finding::make_id(base::lower(s.operation), s.feature->id.value, question, s.tool->id.value);
  f.cautions = {"Prove a new tool path above the part first, single block and low rapid, guards shut."};
  return f;
}

struct Answer {
  double least = std::numeric_limits<double>::quiet_NaN();
  std::string words;
};
Answer answer_of(const plan::Plan& plan, const Scene& s, double stick_out, double holder, double washer) {
  if (clear_above(plan, s))
    return {s.tip - s.view.bottom, "nothing rises above the face; from there down to what it rests on"};
  const reach::Tool tool = tool_of(s, stick_out, holder);
  const auto r = reach::solve({tool, around(plan, s, washer)});
  if (!r.ok()) return {};
  Answer a{r->least, "nothing stands around it"};
  if (!r->rooms.empty())
    a.words = fmt::format("{} against {}{}", r->rooms.front().stretch, r->rooms.front().obstacle,
                          r->rooms.front().by_height ? ", in height" : "");
  // Where the feature's own wall is no obstacle there is still the part's own top under the holder.
  const std::string& kind = s.feature->kind.value;
  if ((kind == "face" && !is_flat(*s.feature)) || s.tool->kind.value == "chamfer" ||
      (r->rooms.empty() && kind != "groove"))
    if (const double above = stick_out - s.deep; !(a.least <= above)) a = {above, "holder above the part's top"};
  if (kind != "groove") return a;
  const auto g = reach::solve_groove(groove_of(plan, s), tool);
  if (!g.ok()) return {};
  if (g->passes == 0) return {g->width_room, "cutter wider than the groove"};
  if (g->least < a.least) a = {g->least, g->tightest};
  return a;
}

plan::Number washer_of(const std::optional<Heads>& heads) {
  return assumed(Kind::length, heads ? 0.2 * heads->major : 0, 0, heads ? 0.225 * heads->major : 0,
                 "from memory: socket cap screws (ISO 4762) with a washer to ISO 7089, or none", "measure it");
}

/// Something of the part is known to stand beside the feature's mouth and not over it.
bool rises_beside(const plan::Plan& plan, const Scene& s) {
  const auto all = around(plan, s, 0);
  return std::any_of(all.begin(), all.end(),
                     [](const reach::Obstacle& o) { return o.name.find(", below ") != std::string::npos; });
}

void one_cut(Context& c, const Scene& s) {
  Finding f = begin(s, "reach", s.words + ": tool reaches and clears");
  f.limit = finding::lower(clearance);
  f.formula =
      "least over all stretches of the tool and all that stands around: larger of distance - radius and height between";
  f.source = "geometry; 1 mm of clearance, common practice";
  const auto heads = heads_of(c.plan, *s.in);
  const plan::Number washer = washer_of(heads);
  const int at_out = assume(f, s.stick_out, "stick-out of " + s.tool->id.value, "tool.stick_out");
  const int at_holder = assume(f, s.holder, "holder of " + s.tool->id.value, "tool.holder");
  const int at_washer = heads ? assume(f, washer, "washer under the heads", "pallet.screw.head") : -1;
  const Answer stated = answer_of(c.plan, s, s.stick_out.si, s.holder.si, washer.si);
  if (s.stick_out.known()) f.inputs.push_back({"stick-out", s.stick_out.si, Kind::length, {}});
  if (s.holder.known()) f.inputs.push_back({"holder", s.holder.si, Kind::length, {}});
  f.inputs.push_back({"from the part's top to the tip", s.deep, Kind::length, {}});
  f.inputs.push_back({"tightest", stated.least, Kind::length, stated.words});
  for (const std::string& x : s.taken) f.inputs.push_back({"taken", 0, Kind::number, x});
  if (rises_beside(c.plan, s))
    f.inputs.push_back({"taken", 0, Kind::number,
                        "beside it the part rises where a flat that looks up lies higher, with its draft; ribs and "
                        "domes without a flat on top are not seen"});
  if (heads && !heads->radius_said)
    f.inputs.push_back({"screw heads", 2 * heads->radius, Kind::length,
                        fmt::format("taken as {} across with their washers, {} high (ISO 4762, from memory)",
                                    mm(c, 2 * heads->radius), mm(c, heads->height + washer.si))});
  f.inputs.push_back({"not looked at", 0, Kind::number,
                      s.in->kind.value == "pallet" ? "pins, pads and the plate under the part"
                                                   : "jaws, clamps and what else holds the part"});
  f.value = stated.least;
  const auto off = [&](double out) { return answer_of(c.plan, s, out, s.holder.si, washer.si).least - clearance; };
  const double flips = flip(off, s.stick_out.si, f.value < clearance ? 4 * s.stick_out.si : 0.2 * s.stick_out.si);
  if (std::isfinite(flips))
    f.levers.push_back({"stick-out", "tool.stick_out", s.stick_out.si, flips, Kind::length,
                        fmt::format("stick-out {} → {} {}", mm(c, s.stick_out.si), mm(c, flips),
                                    f.value < clearance ? "clears it" : "uses the margin up")});
  const reach::Inputs in{tool_of(s, s.stick_out.si, s.holder.si), around(c.plan, s, washer.si)};
  if (const auto thick = reach::holder_allowed(in, clearance); thick && f.value < clearance && *thick < s.holder.si)
    f.levers.push_back({"holder", "tool.holder", s.holder.si, *thick, Kind::length,
                        fmt::format("a holder of {} instead of {} clears it", mm(c, *thick), mm(c, s.holder.si))});
  f.sentence = f.value >= 0 ? fmt::format("{} has {} left: {}.", s.tool->id.value, mm(c, f.value), stated.words)
                            : fmt::format("{} touches by {}: {}.", s.tool->id.value, mm(c, -f.value), stated.words);
  settle(c, std::move(f), [&](const std::vector<double>& v) {
    return answer_of(c.plan, s, at(v, at_out, s.stick_out.si), at(v, at_holder, s.holder.si),
                     at(v, at_washer, washer.si))
        .least;
  });
}

/// Flutes at least as long as the cut is deep; only asked where the cut is deeper than the cutter is thick.
void flutes(Context& c, const Scene& s) {
  const plan::Tool& t = *s.tool;
  if (t.kind.value != "end mill" || !s.cut->depth.known() || !t.diameter.known()) return;
  if (!t.flute_length.known() && !(s.cut->depth.si > t.diameter.si)) return;
  Finding f = begin(s, "flutes", s.words + ": flutes are long enough");
  f.limit = finding::lower(s.cut->depth.si);
  f.formula = "flute length against the depth of the cut";
  f.source = "geometry";
  if (!t.flute_length.known())
    return leave_open(c, std::move(f),
                      {"tool.flute_length of " + t.id.value + ": it cuts " + mm(c, s.cut->depth.si) + " deep"});
  const int at_flutes = assume(f, t.flute_length, "length of the flutes", "tool.flute_length");
  f.levers.push_back({"depth of the cut", "operation.cut.depth", s.cut->depth.si, t.flute_length.si, Kind::length,
                      fmt::format("depth of the cut {} → {}", mm(c, s.cut->depth.si), mm(c, t.flute_length.si))});
  f.sentence = fmt::format("Flutes {} long cut {} deep.", mm(c, t.flute_length.si), mm(c, s.cut->depth.si));
  settle(c, std::move(f), [&](const std::vector<double>& v) { return at(v, at_flutes, t.flute_length.si); });
}

/// Along the operation's up: from where to where the feature stands; nothing where the plan does not say, or where it
/// does not open to the spindle. `why`: what to give.
std::optional<Span> stands(const plan::Plan& plan, const View& w, const plan::Feature& f, std::string& why) {
  const std::string& k = f.kind.value;
  if (k == "surface" || k == "datum") {
    why = "a feature of a kind with sizes (feature.kind), or a look at the program's proof";
    return std::nullopt;
  }
  if (k == "face") {
    why = "feature.at and feature.normal";
    if (f.at.value.empty() || (is_flat(f) && !f.normal.known())) return std::nullopt;
    const double h = w.h(f.at.value[0]);
    if (!is_flat(f) || looks_up(w, f)) {
      why = "operation.up (it does not look to the spindle)";
      return w.along(f) ? std::optional<Span>({h, h, true}) : std::nullopt;
    }
    why = "operation.up (it looks away from the spindle)";
    if (w.along(f)) return std::nullopt;
    const double half = 0.5 * extent(plan, f, w.axis);
    if (f.size.value.size() != 2) return Span{w.bottom, w.top, true};
    return Span{h - half, h + half, true};
  }
  why = "operation.up (it opens across the spindle: an angle head is not looked at)";
  if (!w.along(f)) return std::nullopt;
  why = "feature.from and feature.to";
  const Span s = span_of(w, f);
  return s.there ? std::optional<Span>(s) : std::nullopt;
}

/// `why`: what to give where there is no answer; empty: nothing to ask.
std::optional<Scene> scene_of(const plan::Plan& plan, const plan::Operation& o, const plan::Cut& k,
                              const plan::Tool* tool, const std::string& id, std::string& why) {
  why.clear();
  Scene s;
  s.feature = plan::find_feature(plan, plan::parse_reference(id).id);
  s.tool = tool;
  if (s.feature == nullptr || s.tool == nullptr || s.tool->kind.value == "probe") return std::nullopt;
  s.operation = o.id.value;
  s.in = &o;
  s.cut = &k;
  s.view = view_of(plan, o);
  s.stick_out = k.stick_out.known() ? k.stick_out : s.tool->stick_out;
  s.holder = holder_of(*s.tool, s.stick_out.known());
  const plan::Feature& f = *s.feature;
  const auto span = stands(plan, s.view, f, why);
  if (!span) return std::nullopt;
  s.span = *span;
  why = f.kind.value == "profile"                            ? "feature.size, and up along its axis (operation.up)"
        : f.kind.value == "pocket" || f.kind.value == "slot" ? "feature.width and feature.length"
                                                             : "feature.diameter";
  const auto path = path_of(plan, s.view, f, *s.tool);
  if (!path) return std::nullopt;
  why.clear();
  s.path = *path;
  s.tip = s.span.low;
  const double diameter = s.tool->diameter.known() ? s.tool->diameter.si : 0;
  const bool through = s.span.low <= s.view.bottom + tiny;
  if (s.tool->kind.value == "chamfer") {
    const bool own = f.kind.value == "chamfer";
    s.tip = (own ? s.span.high : s.view.top) - 0.25 * diameter;
    s.taken.push_back(own ? "cut with the middle of the edge: common practice"
                          : "a chamfer at the part's top, cut with the middle of the edge: common practice");
  } else if (k.depth.known() && (f.kind.value == "profile" || s.path.upright)) {
    s.tip = std::min(s.tip, s.view.top - k.depth.si);
  } else if (through && s.tool->kind.value == "drill") {
    s.tip -= 0.3 * diameter;
    s.taken.push_back("a drill's point goes through by 0.3 of its diameter: common practice");
  }
  if (is_flat(f) && f.size.value.size() != 2) s.taken.push_back("the face is as large as the part (feature.size)");
  s.deep = s.view.top - s.tip;
  s.words = s.tool->id.value + " at " + words_of(plan, f.id.value);
  return s;
}

/// Adds a tool to those that lack a key, once.
void note(std::vector<std::pair<std::string, std::vector<std::string>>>& missing, const std::string& key,
          const std::string& tool) {
  for (auto& [k, tools] : missing)
    if (k == key) {
      if (std::find(tools.begin(), tools.end(), tool) == tools.end()) tools.push_back(tool);
      return;
    }
  missing.push_back({key, {tool}});
}

/// One open finding an operation for all of its tools that the plan says too little of.
void lacking(Context& c, const plan::Operation& o, std::vector<std::string> missing) {
  Finding f = start(o.id.value, "-", "reach", "tools reach and clear", Kind::length);
  f.limit = finding::lower(clearance);
  f.formula = "least room of the tool beside and above what stands around";
  f.source = "geometry; 1 mm of clearance, common practice";
  leave_open(c, std::move(f), std::move(missing));
}

constexpr double longest_stick_out = 1.0;  ///< m, that is looked at

}  // namespace

std::optional<CutRoom> room_of_cut(const plan::Plan& plan, const plan::Operation& o, const plan::Cut& cut,
                                   const plan::Tool& tool, const std::string& feature) {
  if (plan.part.size.value.size() != 3) return std::nullopt;
  std::string why;
  const auto s = scene_of(plan, o, cut, &tool, feature, why);
  if (!s || !missing_of(plan, *s).empty()) return std::nullopt;
  const double holder = s->holder.high, washer = washer_of(heads_of(plan, o)).high;
  const Answer now = answer_of(plan, *s, s->stick_out.low, holder, washer);
  if (!std::isfinite(now.least)) return std::nullopt;
  CutRoom out{now.least,
              answer_of(plan, *s, s->stick_out.si, s->holder.si, washer_of(heads_of(plan, o)).si).least,
              clearance,
              now.words,
              {}};
  const auto clears = [&](double x) { return answer_of(plan, *s, x, holder, washer).least >= clearance; };
  double low = 0.5 * tool.diameter.si, high = longest_stick_out;
  if (!clears(high)) return out;
  for (int i = 0; i < 40; ++i) {
    const double x = 0.5 * (low + high);
    (clears(x) ? high : low) = x;
  }
  out.stick_out = high;
  return out;
}

void reach_findings(Context& c) {
  for (const plan::Operation& o : c.plan.operations) {
    if (o.cuts.empty()) continue;
    if (c.plan.part.size.value.size() != 3) {
      if (std::none_of(o.cuts.begin(), o.cuts.end(), [](const plan::Cut& k) { return !k.features.value.empty(); }))
        continue;
      lacking(c, o, {"part.size: length, width and height of the part"});
      continue;
    }
    std::vector<std::pair<std::string, std::vector<std::string>>> missing;  // key, tools
    std::set<std::string> seen;
    for (const plan::Cut& k : o.cuts) {
      const plan::Tool* tool = plan::find_tool(c.plan, k.tool.value);
      if (tool != nullptr && tool->kind.value != "probe" && k.kind.value != "probe" && k.features.value.empty())
        note(missing, "operation.cut.features: what is cut", tool->id.value);
      for (const std::string& id : k.features.value) {
        std::string why;
        const auto s = scene_of(c.plan, o, k, tool, id, why);
        if (!s && !why.empty()) note(missing, why, id);
        if (!s || !seen.insert(s->tool->id.value + "\n" + s->feature->id.value).second) continue;
        const auto lacks = missing_of(c.plan, *s);
        for (const std::string& key : lacks) note(missing, key, s->tool->id.value);
        if (lacks.empty()) one_cut(c, *s);
        flutes(c, *s);
      }
    }
    std::vector<std::string> words;
    words.reserve(missing.size());
    for (const auto& [key, tools] : missing) words.push_back(key + ": of " + base::join(tools, ", "));
    if (!words.empty()) lacking(c, o, words);
  }
}

}  // namespace fettle::study
