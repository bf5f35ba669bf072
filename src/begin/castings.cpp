#include "begin/castings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "begin/axis.h"
#include "begin/holes.h"
#include "plan/read.h"

namespace fettle::begin {

using frame::Vec3;

namespace {

plan::CastSize& size(plan::Plan& plan, const std::string& id, const std::string& kind, double raw, bool inch) {
  plan::CastSize s;
  give(s.id, id);
  if (kind != "outside") give(s.kind, kind);
  else s.kind.value = kind;
  give_length(s.raw, raw, inch);
  plan.casting.sizes.push_back(s);
  return plan.casting.sizes.back();
}

plan::Feature* feature(plan::Plan& plan, const std::string& id) {
  for (plan::Feature& f : plan.features)
    if (f.id.value == id) return &f;
  return nullptr;
}
void skin(plan::Plan& plan, const std::string& id, const char* word) {
  if (plan::Feature* f = feature(plan, id)) give(f->cast, word);
}

/// Stubs that stand proud of a raw wall, whose highest line lies `wall` along `n`.
void gates(plan::Plan& plan, const solid::Model& cast, const std::string& side, Vec3 n, double wall, bool inch) {
  for (const solid::Face& f : cast.faces) {
    if (f.kind != solid::Kind::plane || frame::dot(f.axis, n) < 0.999) continue;
    const double proud = frame::dot(n, f.centroid) - wall;
    if (!(proud > 1e-4)) continue;
    plan::Gate g;
    give(g.id, fmt::format("gate {}", plan.casting.gates.size() + 1));
    give(g.face, side);
    give(g.at, {f.centroid}, inch);
    const Vec3 d = f.box.hi - f.box.lo;
    give_length(g.width, std::fabs(n.x) > 0.5 ? d.y : d.x, inch);
    give_length(g.height, proud, inch);
    plan.casting.gates.push_back(g);
  }
}

/// A hole of the casting that becomes this bore: on its axis, smaller, somewhere along it.
bool cored(const solid::Hole& h, const Bound& bore) {
  const Vec3 d = frame::unit(h.dir), off = h.p0 - bore.point;
  if (std::fabs(frame::dot(d, frame::unit(bore.axis))) < 0.999 || frame::norm(off - frame::dot(off, d) * d) > 2e-3)
    return false;
  if (!(h.diameter < bore.diameter) || h.diameter < 0.5 * bore.diameter) return false;
  const double a = along(h.dir, h.p0), b = along(h.dir, h.p1);
  return std::max(a, b) > bore.from + 1e-4 && std::min(a, b) < bore.to - 1e-4;
}

/// The size of a cored hole: where the sizes hold (the parting line) when it has draft, else its wall's.
double core_size(const solid::Hole& h, const double* parting, double& draft) {
  double s = 0;
  const double start = along(h.dir, h.p0), sign = along(h.dir, h.dir) > 0 ? 1 : -1;
  for (const solid::Segment& seg : h.profile) {
    const double a = start + sign * s;
    s += seg.length;
    const bool taper = seg.kind == solid::Step::cone && seg.length > 0.5 * frame::norm(h.p1 - h.p0);
    if (!taper || parting == nullptr || std::fabs(h.dir.z) < 0.999) continue;
    draft = seg.semi_angle;
    return seg.d0 + (seg.d1 - seg.d0) * (*parting - a) / (sign * seg.length);
  }
  return h.diameter;
}

void core(plan::Plan& plan, const solid::Hole& h, const Bound& bore, const solid::Model& part, const double* parting,
          int number, bool inch) {
  double draft = 0;
  const double raw = core_size(h, parting, draft);
  auto& s = size(plan, "core " + bore.feature, "inside", raw, inch);
  give(s.feature, bore.feature);
  skin(plan, bore.feature, "cored");
  plan::Core core;
  give(core.id, fmt::format("core {}", number));
  give(core.features, bore.feature);
  if (draft > 0) give(core.draft, unit::Kind::angle, angle_text(draft));
  const std::string floor = floor_of(bore.feature);
  const plan::Feature* f = feature(plan, floor);
  if (f != nullptr && !h.through && h.end1 == solid::End::flat && !f->at.value.empty() && std::fabs(h.dir.z) > 0.999 &&
      feature(plan, "bottom") != nullptr) {
    auto& y = size(plan, "floor " + bore.feature, "height", std::fabs(h.p1.z - part.box.lo.z), inch);
    give(y.between, "bottom");
    give(y.feature, floor);
    skin(plan, floor, "cored");
    give(core.features, floor);
  }
  plan.casting.cores.push_back(core);
}

/// m: less is as cast; more is another face. Common practice.
constexpr double least_stock = 1e-4, most_stock = 15e-3;

/// A flat of the part, and what stands on it in the casting.
struct RawFlat {
  const plan::Feature* feature = nullptr;
  int axis = 0;
  bool up = false;
  double at = 0, stock = 0, area = 0;
};

/// Is this point inside the outer boundary of a flat, seen along an axis?
bool within(const solid::Face& f, const Vec3& p, int axis) {
  const int u = (axis + 1) % 3, v = (axis + 2) % 3;
  const double x = coordinate(p, u), y = coordinate(p, v);
  bool in = false;
  for (std::size_t i = 0, k = f.outline.size() - 1; i < f.outline.size(); k = i++) {
    const double ax = coordinate(f.outline[i], u), ay = coordinate(f.outline[i], v), bx = coordinate(f.outline[k], u),
                 by = coordinate(f.outline[k], v);
    if ((ay > y) != (by > y) && x < ax + (y - ay) / (by - ay) * (bx - ax)) in = !in;
  }
  return in;
}
using Flats = std::vector<const solid::Face*>;
/// Share of the first one's area that lies before the others.
double share_before(const Flats& a, const Flats& b, int axis) {
  double all = 0, in = 0;
  for (const solid::Face* f : a)
    for (const solid::Sample& s : f->samples) {
      all += s.area;
      if (std::any_of(b.begin(), b.end(), [&](const solid::Face* g) { return within(*g, s.point, axis); }))
        in += s.area;
    }
  return all > 0 ? in / all : 0;
}

/// How far the casting's own flat stands out before this one; below zero: none lies over it. A ring round it covers
/// none of it, though its outer boundary does: each must lie before the other.
double stands_out(const solid::Model& cast, const Flats& part, Vec3 n, double at, int axis) {
  double best = -1;
  for (const solid::PlaneFeature& p : cast.planes) {
    const double t = p.offset - at;
    if (frame::dot(p.normal, n) < 1 - 1e-9 || t < -1e-6 || t > most_stock || (best >= 0 && t >= best)) continue;
    Flats flats;
    for (const int id : p.faces)
      if (const solid::Face* f = cast.face(id); f != nullptr && f->outline.size() > 2) flats.push_back(f);
    if (share_before(part, flats, axis) > 0.5 && share_before(flats, part, axis) > 0.3) best = std::max(t, 0.0);
  }
  return best;
}

std::vector<RawFlat> raw_flats(const plan::Plan& plan, const Features& features, const solid::Model& part,
                               const solid::Model& cast) {
  std::vector<RawFlat> out;
  for (const Bound& b : features.bound) {
    const auto f = std::find_if(plan.features.begin(), plan.features.end(),
                                [&](const plan::Feature& x) { return x.id.value == b.feature; });
    if (f == plan.features.end()) continue;
    const bool hollow = f->kind.value == "pocket" || f->kind.value == "slot";
    const Vec3 n = frame::unit(b.axis);
    const std::string word = axis_word(n);
    if ((f->kind.value != "face" && !hollow) || b.diameter > 0 || word.empty() || f->at.value.empty()) continue;
    RawFlat r{&*f, word[1] - 'x', word[0] == '+', frame::dot(n, b.point), 0, 0};
    Flats flats;
    for (const int id : b.faces) {
      const solid::Face* face = part.face(id);
      if (face == nullptr || face->kind != solid::Kind::plane || frame::dot(face->axis, n) < 1 - 1e-9 ||
          std::fabs(frame::dot(n, face->point) - r.at) > 2e-6 || face->outline.size() < 3)
        continue;
      flats.push_back(face);
      r.area += face->area;
    }
    if (!(r.area > 0)) continue;
    r.stock = stands_out(cast, flats, n, r.at, r.axis);
    if (r.stock >= 0) out.push_back(r);
  }
  return out;
}

bool sized(const plan::Plan& plan, const std::string& id) {
  return std::any_of(plan.casting.sizes.begin(), plan.casting.sizes.end(), [&](const plan::CastSize& s) {
    return s.feature.value == id || std::any_of(s.between.value.begin(), s.between.value.end(),
                                                [&](const auto& b) { return plan::parse_reference(b).id == id; });
  });
}

/// Flats with stock that no size speaks of yet: each from the largest flat opposite it that stays as cast, else from
/// one that is cut too, and both in one size; else from one that has its size, as finished.
void flats_with_stock(plan::Plan& plan, const Features& features, const solid::Model& part, const solid::Model& cast,
                      bool inch) {
  std::vector<RawFlat> flats = raw_flats(plan, features, part, cast);
  std::stable_sort(flats.begin(), flats.end(), [](const RawFlat& a, const RawFlat& b) { return a.area > b.area; });
  for (const RawFlat& f : flats) {
    const std::string id = f.feature->id.value;
    if (!(f.stock > least_stock) || sized(plan, id)) continue;
    const RawFlat* from = nullptr;
    for (const int choice : {0, 1, 2})  // as cast; cut and without a size; cut and with one
      for (const RawFlat& o : flats) {
        const bool across = o.axis == f.axis && o.up != f.up && -o.at < f.at - 1e-6;
        const int kind = !(o.stock > least_stock) ? 0 : sized(plan, o.feature->id.value) ? 2 : 1;
        if (from == nullptr && across && kind == choice) from = &o;
      }
    if (from == nullptr) continue;
    const std::string other = from->feature->id.value;
    const double finished = f.at + from->at;
    if (from->stock > least_stock && !sized(plan, other)) {
      auto& s = size(plan, fmt::format("across {} {}", id, other), "outside", finished + f.stock + from->stock, inch);
      give(s.between, id);
      give(s.between, other);
      give_length(s.stock, from->stock, inch);
      skin(plan, other, "skin");
    } else {
      auto& s = size(plan, "face " + id, "height", finished + f.stock, inch);
      give(s.between, other);
      give(s.feature, id);
    }
    skin(plan, id, "skin");
    plan::Feature* cut = feature(plan, id);
    if (cut->kind.value != "face" && !cut->size.known() && cut->width.value.nominal && cut->length.value.nominal)
      give(cut->size, {*cut->width.value.nominal, *cut->length.value.nominal},
           inch);  // its floor is cut, as a face is
  }
}

}  // namespace

std::string floor_of(const std::string& bore) {
  return bore.substr(0, bore.find_last_not_of("abcdefghijklmnopqrstuvwxyz") + 1) + "floor";
}

void casting_from_model(plan::Plan& plan, const Features& features, const solid::Model& part, const solid::Model& cast,
                        bool inch, Begun& out) {
  const bool profile = feature(plan, "outside") != nullptr;
  const Vec3 a = cast.box.hi - cast.box.lo, b = part.box.hi - part.box.lo;
  constexpr double rounding = 1e-6;  // m, of two files that say the same size
  if (a.x < b.x - rounding || a.y < b.y - rounding || a.z < b.z - rounding) {
    out.said.push_back(
        "the casting model is smaller than the part along an "
        "axis, or lies elsewhere: its sizes were not used");
    return;
  }
  // Side walls with draft: the outline is widest at the parting line.
  double draft = 0, parting = 0, weight = 0, widest = 0;
  for (const solid::Face& f : cast.faces) {
    if (f.kind != solid::Kind::plane || f.area < 2e-4) continue;
    const double z = std::fabs(f.axis.z);
    if (z < 1e-4 || z > 0.2) continue;
    draft += std::asin(z) * f.area;
    weight += f.area;
    if (f.area <= widest) continue;  // the largest wall says where: walls of hollows lie beside it
    widest = f.area, parting = f.axis.z > 0 ? f.box.lo.z : f.box.hi.z;
  }
  if (weight > 0) {
    draft /= weight;
    give(plan.casting.draft, unit::Kind::angle, angle_text(draft));
    give_length(plan.casting.parting, parting, inch);
  }
  const double bottom = part.box.lo.z - cast.box.lo.z;
  if (feature(plan, "top") != nullptr && feature(plan, "bottom") != nullptr) {
    auto& s = size(plan, "thickness", "outside", a.z, inch);
    give(s.between, "top");
    give(s.between, "bottom");
    give_length(s.stock, bottom, inch);
    skin(plan, "top", "skin");
    skin(plan, "bottom", "skin");
  }
  if (profile) {
    // Gates and lugs stand proud of the box: the walls themselves say how long and wide the raw casting is.
    const auto wall = [&](Vec3 n) {
      double best = 0, offset = 0;
      for (const solid::Face& f : cast.faces)
        if (f.kind == solid::Kind::plane && frame::dot(f.axis, n) > 0.95 && f.area > best) {
          best = f.area;
          offset = -1e9;
          for (const Vec3& p : f.outline) offset = std::max(offset, frame::dot(n, p));
        }
      return best > 0 ? offset : std::nan("");
    };
    const struct {
      const char* id;
      const char* hi;
      const char* lo;
      Vec3 n;
      double part_lo;
    } sides[] = {{"length", "outside.+x", "outside.-x", {1, 0, 0}, part.box.lo.x},
                 {"width", "outside.+y", "outside.-y", {0, 1, 0}, part.box.lo.y}};
    for (const auto& s : sides) {
      const double hi = wall(s.n), lo = wall(-s.n);
      if (!std::isfinite(hi) || !std::isfinite(lo)) continue;
      auto& x = size(plan, s.id, "outside", hi + lo, inch);
      give(x.between, s.hi);
      give(x.between, s.lo);
      const double last = lo + s.part_lo;
      if (std::fabs(last - 0.5 * (hi + lo - (s.n.x > 0 ? b.x : b.y))) > 1e-6) give_length(x.stock, last, inch);
      gates(plan, cast, s.hi, s.n, hi, inch);
      gates(plan, cast, s.lo, -s.n, lo, inch);
    }
    skin(plan, "outside", "skin");
  }
  flats_with_stock(plan, features, part, cast, inch);
  int cores = 0;
  for (const Bound& bore : features.bound) {
    const plan::Feature* f = feature(plan, bore.feature);
    const bool hole =
        f != nullptr && (f->kind.value == "bore" || f->kind.value == "counterbore" || f->kind.value == "hole");
    if (!hole || bore.diameter <= 0 || f->cast.known()) continue;
    for (const solid::Hole& h : cast.holes)
      if (cored(h, bore)) {
        core(plan, h, bore, part, weight > 0 ? &parting : nullptr, ++cores, inch);
        break;
      }
  }
  out.said.push_back(
      fmt::format("casting model: {} raw sizes, {} core{}", plan.casting.sizes.size(), cores, cores == 1 ? "" : "s"));
}

void first_look(plan::Plan& plan, const solid::Model& part, bool inch, Begun& out) {
  if (feature(plan, "bottom") == nullptr || feature(plan, "outside") == nullptr) {
    out.said.emplace_back(
        "the route stays open: say how the casting is first held ([[operation]] with its [[operation.locator]]s)");
    return;
  }
  plan::Operation o;
  give(o.id, "first look");
  give(o.name, "the casting as it would first be held");
  give(o.kind, "other");
  give(
      o.note,
      "on three points, in the middle between its sides, and free to be shifted since nothing is final yet; written so "
      "that castings can be judged at once, to be replaced by the real route");
  for (const plan::Feature& f : plan.features)
    if (f.cast.known() && (f.cast.value == "skin" || f.cast.value == "cored")) give(o.makes, f.id.value);
  const Vec3 lo = part.box.lo, hi = part.box.hi, mid = 0.5 * (lo + hi), half = 0.5 * (hi - lo);
  double stock = 0;
  for (const plan::CastSize& s : plan.casting.sizes)
    if (s.between.value.size() == 2 && s.between.value[1] == "bottom")
      stock = s.stock.known() ? s.stock.si : 0.5 * (s.raw.si - (hi.z - lo.z));
  const auto locator = [&](const char* kind, const std::string& on, const std::vector<Vec3>& at) {
    plan::Locator l;
    give(l.kind, kind);
    give(l.on, on);
    give(l.at, at, inch);
    o.locators.push_back(l);
  };
  const auto tidy = [&](double x) { return std::round(x * 1e3) * 1e-3; };  // whole millimetres: a person sets them so
  const double x = tidy(0.7 * half.x), y = tidy(0.7 * half.y), z = lo.z - stock;
  locator("rest", "bottom", {{mid.x - x, mid.y - y, z}, {mid.x + x, mid.y - y, z}, {mid.x, mid.y + y, z}});
  locator("centre", "outside.+y outside.-y", {{mid.x - x, mid.y, mid.z}, {mid.x + x, mid.y, mid.z}});
  locator("centre", "outside.+x outside.-x", {mid});
  const double room = inch ? 0.0254 : 0.02;
  give(o.shift, {{room, room, room}}, inch);
  plan.operations.push_back(o);
}

}  // namespace fettle::begin
