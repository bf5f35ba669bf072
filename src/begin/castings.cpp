#include "begin/castings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "begin/holes.h"

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

}  // namespace

std::string floor_of(const std::string& bore) {
  return bore.substr(0, bore.find_last_not_of("abcdefghijklmnopqrstuvwxyz") + 1) + "floor";
}

void casting_from_model(plan::Plan& plan, const Features& features, const solid::Model& part, const solid::Model& cast,
                        bool inch, Begun& out) {
  const bool profile = feature(plan, "outside") != nullptr;
  const Vec3 a = cast.box.hi - cast.box.lo, b = part.box.hi - part.box.lo;
  if (a.x < b.x || a.y < b.y || a.z < b.z) {
    out.said.push_back(
        "the casting model is smaller than the part along an axis, or lies elsewhere: its sizes were not used");
    return;
  }
  // Side walls with draft: the outline is widest at the parting line.
  double draft = 0, parting = 0, weight = 0;
  for (const solid::Face& f : cast.faces) {
    if (f.kind != solid::Kind::plane || f.area < 2e-4) continue;
    const double z = std::fabs(f.axis.z);
    if (z < 1e-4 || z > 0.2) continue;
    draft += std::asin(z) * f.area;
    weight += f.area;
    parting = f.axis.z > 0 ? f.box.lo.z : f.box.hi.z;
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
