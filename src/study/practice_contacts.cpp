// What touches the part, as the rules of the trade see it.
#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "plan/read.h"
#include "study/practice_model.h"
#include "study/vise_jaws.h"

namespace fettle::study::rules {

using frame::Vec3;
using practice::Pass;
using practice::Shape;
using practice::Touch;

namespace {

/// Something made here has its place along that direction: a face across it, or a hole beside it.
bool steers(const std::vector<Known>& all, const practice::Operation& o, Vec3 n) {
  for (const practice::Cut& c : o.cuts) {
    if (c.pass == Pass::chamfer || c.pass == Pass::probe) continue;
    for (const std::string& id : c.features) {
      const Known* k = find(all, id);
      if (k == nullptr) continue;
      if (!k->s.there && k->s.normal == Vec3{}) return true;
      const double with = std::fabs(frame::dot(k->s.normal, n));
      const bool plane = k->f.shape == Shape::face;
      if (plane ? with > 0.5 : with < 0.5 || k->source->depth.known() || k->source->from.known()) return true;
    }
  }
  return false;
}

Touch touch_of(const std::string& kind) {
  if (kind == "stop") return Touch::stop;
  if (kind == "jaw") return Touch::jaw;
  if (kind == "centre") return Touch::centre;
  if (kind == "round pin") return Touch::round_pin;
  if (kind == "relieved pin") return Touch::relieved_pin;
  return kind == "chuck" ? Touch::chuck : Touch::rest;
}

void add_locators(const plan::Plan& plan, const std::vector<Known>& all, const plan::Operation& o,
                  practice::Operation& out) {
  for (const plan::Locator& l : o.locators) {
    std::optional<Vec3> first;
    for (const std::string& on : base::split(l.on.value, ' ')) {
      const Surface s = surface_of(plan, on);
      practice::Contact k;
      k.name = l.id.known() ? l.id.value : l.kind.value;
      k.touch = touch_of(l.kind.value);
      k.on = id_of(on);
      k.reach = button;
      const bool pin = k.touch == Touch::round_pin || k.touch == Touch::relieved_pin;
      k.steers = pin || (s.there && steers(all, out, l.normal.known() ? direction(l.normal.value) : s.normal));
      std::vector<Vec3> points = touches(plan, o, l);
      if (first && s.there) {  // the other side of a centre is touched across from the first
        for (Vec3& p : points) p = p + frame::dot(s.normal, s.point - p) * s.normal;
      }
      if (!first && s.there) first = s.point;
      if (points.empty()) out.contacts.push_back(k);
      for (const Vec3 p : points) {
        k.at = p;
        out.contacts.push_back(k);
      }
    }
  }
}

void add_clamps(const plan::Plan& plan, const plan::Operation& o, practice::Operation& out) {
  for (const plan::Clamp& c : o.clamps) {
    practice::Contact k;
    k.name = c.id.known() ? c.id.value : c.kind.value;
    k.touch = Touch::clamp;
    if (c.on.known()) k.on = id_of(c.on.value);
    const bool one_place = c.kind.value == "screw" || c.kind.value == "strap";
    Vec3 d;
    if (c.direction.known()) d = direction(c.direction.value);
    else if (const Surface s = surface_of(plan, c.on.value); s.there && !s.round) d = -s.normal;
    if (one_place && !(d == Vec3{})) k.pushes = d;
    const auto& size = plan.part.size.value;
    if (one_place && size.size() == 3)
      out.thickness = std::fabs(d.x) * size[0] + std::fabs(d.y) * size[1] + std::fabs(d.z) * size[2];
    if (c.at.value.empty()) out.contacts.push_back(k);
    for (const Vec3 p : touches(plan, o, c)) {
      k.at = p;
      out.contacts.push_back(k);
    }
  }
}

/// The cut or raw plane that looks away from the spindle, the farthest one: what lies on the pads.
const Known* seat_of(const std::vector<Known>& all, Vec3 up) {
  const Known* seat = nullptr;
  for (const Known& k : all) {
    if (k.f.shape != Shape::face || !k.s.there || frame::dot(k.s.normal, up) > -0.5) continue;
    if (seat == nullptr || frame::dot(up, k.s.point) < frame::dot(up, seat->s.point) - near) seat = &k;
  }
  return seat;
}

/// Least thickness that a screw through this hole clamps.
std::optional<double> grip_of(const plan::Plan& plan, const Known& hole) {
  if (!hole.e.there) return {};
  std::optional<double> grip = hole.e.to - hole.e.from;
  for (const plan::Requirement& q : plan.requirements) {
    if (q.kind.value != "distance" || !q.limits.value.lower) continue;
    const auto on = [&](const plan::Text& t) {
      return std::find(hole.f.edges_on.begin(), hole.f.edges_on.end(), id_of(t.value)) != hole.f.edges_on.end();
    };
    if (on(q.feature) && on(q.to) && q.feature.value != q.to.value) grip = std::min(*grip, *q.limits.value.lower);
  }
  return grip;
}

void add_pins(const plan::Plan& plan, practice::Operation& out) {
  std::vector<Surface> holes;
  for (const plan::Pin& p : plan.pallet.pins) {
    practice::Pin x;
    const Surface hole = surface_of(plan, p.in.value);
    x.id = p.id.known() ? p.id.value : p.kind.value;
    x.in = id_of(p.in.value);
    x.round = p.kind.value == "round";
    if (p.height.known()) x.height = p.height.si;
    const plan::Limits& land = !x.round && p.land.known() ? p.land : p.diameter;
    if (hole.there && hole.feature->diameter.value.lower && land.known() && land.value.upper)
      x.clearance = *hole.feature->diameter.value.lower - *land.value.upper;
    out.pins.push_back(std::move(x));
    holes.push_back(hole);
  }
  if (out.pins.size() != 2 || !holes[0].there || !holes[1].there) return;
  const Vec3 d = holes[1].point - holes[0].point;
  for (practice::Pin& x : out.pins) x.span = std::hypot(d.x, d.y);
}

void add_nest_screws(const plan::Plan& plan, const std::vector<Known>& all, Vec3 up, practice::Operation& out) {
  for (const plan::NestScrew& s : plan.pallet.screws) {
    const Known* hole = s.through.known() ? find(all, id_of(s.through.value)) : nullptr;
    practice::Screw x;
    x.id = s.through.known() ? id_of(s.through.value) : s.thread.typed;
    if (s.shoulder.known()) x.shoulder = s.shoulder.si;
    if (hole != nullptr) x.grip = grip_of(plan, *hole);
    if (x.grip) out.thickness = x.grip;
    out.screws.push_back(std::move(x));
    practice::Contact k;
    k.name = "screw";
    k.touch = Touch::clamp;
    k.pushes = -up;
    if (s.head.known()) k.reach = 0.5 * s.head.si;
    if (hole != nullptr)
      for (const std::string& face : hole->f.edges_on)
        if (const Known* g = find(all, face); g != nullptr && frame::dot(g->s.normal, up) > 0.5) k.on = face;
    const double top = hole != nullptr && hole->e.there ? std::max(hole->e.from, hole->e.to) : 1.0;
    const auto& places = hole != nullptr ? hole->source->at.value : s.at.value;
    for (const Vec3 p : places) {
      k.at = Vec3{p.x, p.y, top};
      out.contacts.push_back(k);
    }
    if (places.empty()) out.contacts.push_back(k);
  }
}

void add_pallet(const plan::Plan& plan, const std::vector<Known>& all, practice::Operation& out) {
  const plan::Pallet& p = plan.pallet;
  const Vec3 up{0, 0, 1};
  const Known* seat = seat_of(all, up);
  for (const plan::Pad& pad : p.pads)
    for (const Vec3 at : pad.at.value) {
      practice::Contact k;
      k.name = "pad";
      k.touch = Touch::rest;
      if (seat != nullptr) k.on = seat->f.id;
      k.at = seat != nullptr ? Vec3{at.x, at.y, seat->s.point.z} : at;
      k.reach = pad.diameter.known() ? 0.5 * pad.diameter.si : button;
      k.steers = true;
      out.contacts.push_back(std::move(k));
    }
  add_pins(plan, out);
  add_nest_screws(plan, all, up, out);
  for (const plan::RunOff& r : p.run_offs) {
    practice::RunOff t;
    if (r.closed_end.known()) t.closed_end = r.closed_end.si;
    if (r.slope.known()) t.slope = r.slope.si;
    out.run_offs.push_back(t);
  }
  std::size_t nests = 0;
  for (const plan::Nest& n : p.nests) nests += n.at.value.size();
  if (nests > 0) out.at_once = static_cast<int>(nests);
}

}  // namespace

void add_contacts(const plan::Plan& plan, const std::vector<Known>& all, const plan::Operation& o,
                  practice::Operation& out) {
  add_locators(plan, all, o, out);
  add_clamps(plan, o, out);
  if (o.kind.value == "pallet") add_pallet(plan, all, out);
}

}  // namespace fettle::study::rules
