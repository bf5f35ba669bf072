#include "begin/castings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"

namespace fettle::begin {

using frame::Vec3;

namespace {

plan::CastSize& size(plan::Plan& plan, const std::string& id, const std::string& kind, double raw, bool inch) {
  plan::CastSize s;
  give(s.id, id);
  if (kind != "outside") give(s.kind, kind);
  else s.kind.value = kind;
  give(s.raw, std::round(raw * 1e9) / 1e9, unit::Kind::length, length_text(raw, inch));
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

}  // namespace

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
    give(plan.casting.draft, draft, unit::Kind::angle, base::fixed(draft * 180 / 3.14159265358979323846, 3) + " deg");
    give(plan.casting.parting, parting, unit::Kind::length, length_text(parting, inch));
  }
  const double bottom = part.box.lo.z - cast.box.lo.z;
  if (feature(plan, "top") != nullptr && feature(plan, "bottom") != nullptr) {
    auto& s = size(plan, "thickness", "outside", a.z, inch);
    give(s.between, "top");
    give(s.between, "bottom");
    give(s.stock, bottom, unit::Kind::length, length_text(bottom, inch));
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
      if (std::fabs(last - 0.5 * (hi + lo - (s.n.x > 0 ? b.x : b.y))) > 1e-6)
        give(x.stock, last, unit::Kind::length, length_text(last, inch));
    }
    skin(plan, "outside", "skin");
  }
  int cores = 0;
  for (const Bound& bore : features.bound) {
    if (bore.diameter <= 0 || base::starts_with(bore.reference, "G") || base::starts_with(bore.reference, "B"))
      continue;
    for (const solid::Hole& h : cast.holes) {
      const Vec3 d = frame::unit(h.dir), off = h.p0 - bore.point;
      if (std::fabs(frame::dot(d, frame::unit(bore.axis))) < 0.999 || frame::norm(off - frame::dot(off, d) * d) > 2e-3)
        continue;
      if (!(h.diameter < bore.diameter) || h.diameter < 0.5 * bore.diameter) continue;
      const double lo = std::min(h.p0.z, h.p1.z), hi = std::max(h.p0.z, h.p1.z);
      if (std::fabs(d.z) > 0.999 && (hi < bore.from + 1e-4 || lo > bore.to - 1e-4)) continue;
      const std::string id = bore.reference.substr(0, bore.reference.find('@'));
      if (feature(plan, id)->cast.known()) continue;
      auto& s = size(plan, "core " + id, "inside", h.diameter, inch);
      give(s.feature, id);
      skin(plan, id, "cored");
      plan::Core core;
      give(core.id, fmt::format("core {}", ++cores));
      give(core.features, id);
      const std::string floor = id.substr(0, id.find_last_not_of("abcdefgh") + 1) + "floor";
      const plan::Feature* f = feature(plan, floor);
      if (f != nullptr && !h.through && !f->at.value.empty()) {
        const double raw = (h.end0 == solid::End::flat || h.end1 == solid::End::flat)
                               ? (f->normal.value == "+z" ? lo : hi)
                               : std::nan("");
        if (std::isfinite(raw)) {
          auto& y = size(plan, "floor " + id, "height", std::fabs(raw - part.box.lo.z), inch);
          give(y.between, "bottom");
          give(y.feature, floor);
          skin(plan, floor, "cored");
          give(core.features, floor);
        }
      }
      plan.casting.cores.push_back(core);
    }
  }
  out.said.push_back(
      fmt::format("casting model: {} raw sizes, {} core{}", plan.casting.sizes.size(), cores, cores == 1 ? "" : "s"));
}

void first_look(plan::Plan& plan, const Features& features, const solid::Model& part, bool inch, Begun& out) {
  if (feature(plan, "bottom") == nullptr || feature(plan, "outside") == nullptr || plan.casting.sizes.empty()) {
    out.said.push_back(
        "the route stays open: say how the casting is first held ([[operation]] with its [[operation.locator]]s)");
    return;
  }
  static_cast<void>(features);
  plan::Operation o;
  give(o.id, "first look");
  give(o.name, "the casting as it would first be held: on three points, in the middle between its sides");
  give(o.kind, "other");
  give(o.note, "written by begin so that castings can be judged at once; replace it with the real route");
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
    l.at.origin = plan::Origin::given;
    for (Vec3 p : at) l.at.value.push_back(p);
    if (at.size() == 1) l.at.typed = point_text(at[0], inch);
    o.locators.push_back(l);
  };
  const double z = lo.z - stock;
  locator("rest", "bottom",
          {{mid.x - 0.7 * half.x, mid.y - 0.7 * half.y, z},
           {mid.x + 0.7 * half.x, mid.y - 0.7 * half.y, z},
           {mid.x, mid.y + 0.7 * half.y, z}});
  locator("centre", "outside.+y outside.-y",
          {{mid.x - 0.7 * half.x, mid.y, mid.z}, {mid.x + 0.7 * half.x, mid.y, mid.z}});
  locator("centre", "outside.+x outside.-x", {mid});
  // Nothing is final yet, so the program may place the part anywhere in the casting; the stock itself is the limit.
  o.shift.origin = plan::Origin::given;
  const double room = 0.02;
  o.shift.value = {{room, room, room}};
  o.shift.typed = point_text({room, room, room}, inch);
  plan.operations.push_back(o);
}

}  // namespace fettle::begin
