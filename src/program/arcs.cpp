// Arcs by centre and by radius, in three planes. Source: NISTIR 6556, G2 and G3.
#include <fmt/format.h>

#include <cmath>

#include "base/text.h"
#include "program/machine.h"

namespace fettle::program {
namespace {

/// Ends closer to the start than this make a full turn: a billionth of a metre, which is rounding and no arc.
constexpr double same_place = 1e-9;

}  // namespace

bool Machine::arc(const Block& b) {
  const std::size_t at = b.where(Group::motion);
  if (!need_feed(b, at)) return false;
  frame::Vec3 to = target(b);
  const Motion kind = motion_ == 20 ? Motion::clockwise : Motion::counter;
  frame::Vec3 centre;
  if (use(b, 'r') ? !by_radius(b, to, kind, centre) : !by_centre(b, to, centre)) return false;
  // P: turns, of which the last may be a part (common practice; the report has none).
  long turns = 1;
  if (b.with('p') && !whole_of(b, 'p', 1, 999, turns, at)) return false;
  Move& m = emit(kind);
  m.end = place_ = to;
  m.centre = centre;
  m.turns = static_cast<std::int16_t>(turns - 1);
  set_feed(m);
  return true;
}

bool Machine::by_radius(const Block& b, const frame::Vec3& to, Motion kind, frame::Vec3& centre) {
  const PlaneAxes a = axes_of(now_.plane);
  for (const char letter : {'i', 'j', 'k'})
    if (b.with(letter)) return fail(b.where(letter), "an arc by radius and by centre", {}, "R, or the centre");
  const double r = lengths(b, 'r'), du = to.*a.u - place_.*a.u, dv = to.*a.v - place_.*a.v;
  const double chord = std::sqrt(du * du + dv * dv), tolerance = inches_ ? 0.0002 * 0.0254 : 2e-6;
  if (!(chord > same_place))
    return fail(b.where('r'), "an arc by radius that ends where it begins has no centre", {},
                "another end, or the centre");
  if (!(chord / 2 <= std::fabs(r) + tolerance))
    return fail(b.where('r'), "the radius is too small to reach the end", "R" + base::shortest(b.of('r')),
                fmt::format("R{} or more", base::fixed(chord / 2 / unit(), 4)));
  const double height = std::sqrt(std::fmax(r * r - chord * chord / 4, 0.0));
  // The centre lies left of the way for a short counter-clockwise arc; a negative radius takes the long way.
  const double side = (kind == Motion::counter) == (r > 0) ? 1 : -1;
  centre = place_;
  centre.*a.u = (place_.*a.u + to.*a.u) / 2 - side * height * dv / chord;
  centre.*a.v = (place_.*a.v + to.*a.v) / 2 + side * height * du / chord;
  return true;
}

bool Machine::by_centre(const Block& b, frame::Vec3& to, frame::Vec3& centre) {
  const PlaneAxes a = axes_of(now_.plane);
  if (b.with(a.w_centre))
    return fail(b.where(a.w_centre), "this distance is across the arc's plane", {}, "the plane's own two");
  const bool one = use(b, a.u_centre), two = use(b, a.v_centre);
  if (!one && !two)
    return fail(b.where(Group::motion), "an arc without centre or radius", {}, "I, J or K of its plane, or R");
  centre = place_;
  if (one) centre.*a.u += lengths(b, a.u_centre);
  if (two) centre.*a.v += lengths(b, a.v_centre);
  const auto far = [&](const frame::Vec3& p) { return std::hypot(p.*a.u - centre.*a.u, p.*a.v - centre.*a.v); };
  const double first = far(place_), last = far(to), tolerance = inches_ ? 0.0002 * 0.0254 : 2e-6;
  const std::size_t at = one ? b.where(a.u_centre) : b.where(a.v_centre);
  if (!(first > 0)) return fail(at, "an arc about its own start", {}, "a centre away from the start");
  if (!(std::fabs(first - last) <= tolerance + 1e-12))
    return fail(at, "the radius at the start and at the end differ",
                base::fixed(first / unit(), 5) + " and " + base::fixed(last / unit(), 5),
                inches_ ? "within 0.0002 in" : "within 0.002 mm");
  if (std::fabs(to.*a.u - place_.*a.u) < same_place && std::fabs(to.*a.v - place_.*a.v) < same_place) {
    to.*a.u = place_.*a.u;
    to.*a.v = place_.*a.v;
  }
  return true;
}

}  // namespace fettle::program
