#include "study/fixture_pins.h"

namespace fettle::study {

using frame::Vec3;

namespace {

constexpr double apart = 1e-6;         // m, of the two holes across their axis
constexpr double one_direction = 0.5;  // cosine; holes lie along axes of the part

}  // namespace

bool is_pin(const plan::Locator& l) { return l.kind.value == "round pin" || l.kind.value == "relieved pin"; }

const plan::Limits& size_of_pin(const plan::Locator& pin) {
  return pin.kind.value == "relieved pin" && pin.land.known() ? pin.land : pin.diameter;
}

FixturePins pins_among(const plan::Plan& plan, const plan::Operation& o) {
  FixturePins p;
  for (const plan::Locator& l : o.locators) {
    if (!is_pin(l)) continue;
    const plan::Locator*& first = l.kind.value == "round pin" ? p.round : p.relieved;
    if (first == nullptr) first = &l;
    else p.more.push_back(&l);
  }
  if (p.round != nullptr) p.round_hole = surface_of(plan, p.round->on.value);
  if (p.relieved != nullptr) p.relieved_hole = surface_of(plan, p.relieved->on.value);
  if (!p.round_hole.there || !p.relieved_hole.there || !p.round_hole.round) return p;
  if (!(std::fabs(frame::dot(p.round_hole.normal, p.relieved_hole.normal)) > one_direction)) return p;
  const Vec3 n = p.round_hole.normal, d = p.relieved_hole.point - p.round_hole.point;
  const Vec3 flat = d - frame::dot(d, n) * n;
  if (!(frame::norm(flat) > apart)) return p;
  p.along = frame::unit(flat);
  p.across = frame::cross(n, p.along);
  p.pair = true;
  return p;
}

std::vector<Vec3> stopped_by(const plan::Plan& plan, const plan::Operation& o, const plan::Locator& pin) {
  const FixturePins pair = pins_among(plan, o);
  const Surface hole = surface_of(plan, pin.on.value);
  if (!hole.there) return {};
  const Vec3 u = pair.pair ? pair.along : axis_across(hole.normal),
             v = pair.pair ? pair.across : frame::cross(hole.normal, u);
  if (pin.kind.value == "round pin") return {u, v};
  return {v};
}

}  // namespace fettle::study
