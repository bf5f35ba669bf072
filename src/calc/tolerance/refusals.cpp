#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "calc/tolerance/rows.h"

namespace fettle::tolerance::inner {

using frame::norm;

namespace {

bool finite(double x) { return std::isfinite(x); }
bool finite(Vec3 v) { return finite(v.x) && finite(v.y) && finite(v.z); }
bool is_unit(Vec3 v) { return finite(v) && std::fabs(norm(v) - 1) <= 1e-6; }

struct Checks {
  const Route& route;
  Problems out;

  void no(const std::string& who, const std::string& what, const std::string& found = {},
          const std::string& expected = {}) {
    out.push_back(bad(who + ": " + what, found, expected));
  }
  bool element(int i) const { return i >= 0 && static_cast<std::size_t>(i) < route.elements.size(); }
  bool axis(int i) const {
    return element(i) && route.elements[static_cast<std::size_t>(i)].shape == Element::Shape::axis;
  }
  bool operation(int i) const { return i >= 0 && static_cast<std::size_t>(i) < route.operations.size(); }

  void elements() {
    for (const Element& e : route.elements) {
      const bool good = finite(e.p) && finite(e.half_u) && finite(e.half_v) && finite(e.size);
      if (!good) no(e.id, "a number is not finite");
      else if (!is_unit(e.n)) no(e.id, "its direction has not the length 1");
      else if (e.shape == Element::Shape::plane && (!is_unit(e.u) || std::fabs(frame::dot(e.u, e.n)) > 1e-6))
        no(e.id, "the direction of its extent does not lie in the plane");
      else if (!(e.half_u >= 0) || !(e.half_v >= 0) || !(e.size >= 0)) no(e.id, "a size is negative");
    }
  }
  void pins(const Operation& op) {
    const Pins& p = op.pins;
    if (!p.there) return;
    if (!axis(p.round_hole) || !axis(p.relieved_hole)) no(op.id, "its pins need two holes");
    for (const double v : {p.pair.round_hole, p.pair.round_pin, p.pair.relieved_hole, p.pair.land, p.pair.land_width,
                           p.pair.part_span, p.pair.pallet_span})
      if (!(v > 0) || !finite(v)) {
        no(op.id, "a size of its pins is not a length");
        break;
      }
    if (!finite(p.pair.relief_angle) || !(p.pair.span_band >= 0) || !finite(p.pair.span_band))
      no(op.id, "its pins: a number is not finite");
    if (p.seat == Pins::Seat::pushed && (!finite(p.push_at) || !finite(p.push_along) || !(norm(p.push_along) > 0)))
      no(op.id, "the push against the pins has no direction");
  }
  void operations() {
    for (const Operation& op : route.operations) {
      for (const Contact& c : op.contacts) {
        if (!finite(c.p) || !finite(c.n) || !(norm(c.n) > 0)) no(op.id, c.name + " has no place or no direction");
        if (c.element != -1 && !element(c.element)) no(op.id, c.name + " touches a surface that is not there");
      }
      pins(op);
      for (const int e : op.makes)
        if (!element(e)) no(op.id, "makes a surface that is not there");
    }
  }
  /// A surface that something makes is used only after that, unless it is said how it comes raw.
  void order() {
    std::vector<int> made_in(route.elements.size(), -1);
    for (std::size_t k = route.operations.size(); k-- > 0;)
      for (const int e : route.operations[k].makes)
        if (element(e)) made_in[static_cast<std::size_t>(e)] = static_cast<int>(k);
    for (const Contributor& c : route.contributors)
      for (const Effect& e : c.effects)
        if (e.on == Effect::On::surface && element(e.index)) made_in[static_cast<std::size_t>(e.index)] = -1;
    for (std::size_t k = 0; k < route.operations.size(); ++k) {
      const Operation& op = route.operations[k];
      std::vector<int> used;
      for (const Contact& c : op.contacts) used.push_back(c.element);
      if (op.pins.there) used.insert(used.end(), {op.pins.round_hole, op.pins.relieved_hole});
      for (const int e : used)
        if (element(e) && made_in[static_cast<std::size_t>(e)] >= static_cast<int>(k))
          no(op.id, "is located by " + route.elements[static_cast<std::size_t>(e)].id + " before that is made");
    }
  }
  void effect(const Contributor& c, const Effect& e) {
    using On = Effect::On;
    if (!finite(e.a) || !finite(e.c) || !finite(e.factor)) no(c.name, "a number is not finite");
    if (e.field == Effect::Field::stretch && e.by_nest.empty() && !is_unit(e.a) &&
        (e.on == On::zero || e.on == On::made || e.on == On::surface))
      no(c.name, "the direction of a stretch has not the length 1");
    if (!e.by_nest.empty()) {
      if (e.by_nest.size() != static_cast<std::size_t>(std::max(0, route.nests)))
        no(c.name, "as many nests as it has shifts", std::to_string(e.by_nest.size()), std::to_string(route.nests));
      for (const Vec3 v : e.by_nest)
        if (!finite(v)) no(c.name, "a number is not finite");
      if (e.on != On::zero && e.on != On::made && e.on != On::surface)
        no(c.name, "only what shifts surfaces can differ by nest");
    }
    const bool by_operation = e.on == On::zero || e.on == On::made || e.on == On::contact || e.on == On::round_pin ||
                              e.on == On::land || e.on == On::pin_span;
    if (by_operation && !operation(e.operation)) {
      no(c.name, "acts in an operation that is not there");
      return;
    }
    if ((e.on == On::made || e.on == On::surface || e.on == On::size || e.on == On::form) && !element(e.index))
      no(c.name, "acts on a surface that is not there");
    if (e.on == On::measured && !(e.index >= 0 && static_cast<std::size_t>(e.index) < route.requirements.size()))
      no(c.name, "acts on a requirement that is not there");
    if (!by_operation) return;
    const Operation& op = route.operations[static_cast<std::size_t>(e.operation)];
    if (e.on == On::contact && !(e.index >= 0 && static_cast<std::size_t>(e.index) < op.contacts.size()))
      no(c.name, "acts on a contact that is not there");
    if ((e.on == On::round_pin || e.on == On::land || e.on == On::pin_span) && !op.pins.there)
      no(c.name, "acts on pins that " + op.id + " does not have");
  }
  void contributors() {
    for (const Contributor& c : route.contributors) {
      for (const double v : {c.mean, c.s, c.half_width, c.worst})
        if (!finite(v)) {
          no(c.name, "a number is not finite");
          break;
        }
      if (!(c.s >= 0) || !(c.half_width >= 0) || !(c.worst >= 0)) no(c.name, "a spread is negative");
      for (const Effect& e : c.effects) effect(c, e);
    }
  }
  void requirement(const Requirement& r) {
    using Kind = Requirement::Kind;
    const bool zone = r.kind == Kind::position || r.kind == Kind::coaxiality || r.kind == Kind::perpendicularity ||
                      r.kind == Kind::parallelism || r.kind == Kind::form;
    if (r.elements.empty() || (r.kind == Kind::span && r.elements.size() != 2))
      no(r.id, r.kind == Kind::span ? "a span is between two axes" : "is about no surface");
    for (const int e : r.elements)
      if (!element(e)) no(r.id, "is about a surface that is not there");
    const bool pair = r.kind == Kind::distance || r.kind == Kind::coaxiality || r.kind == Kind::perpendicularity ||
                      r.kind == Kind::parallelism;
    if (pair && !element(r.to)) no(r.id, "is measured from a surface that is not there");
    for (const int d : r.datums)
      if (!element(d)) no(r.id, "has a datum that is not there");
    if ((r.kind == Kind::distance || r.kind == Kind::span) && !is_unit(r.along))
      no(r.id, "the direction measured has not the length 1");
    if (!finite(r.nominal) || !finite(r.modifier_size)) no(r.id, "a number is not finite");
    for (const double v : r.datum_size)
      if (!finite(v) || !(v >= 0)) no(r.id, "the size of a datum is not a length");
    if (!r.lower && !r.upper) no(r.id, "has no limit");
    if ((r.lower && !finite(*r.lower)) || (r.upper && !finite(*r.upper))) no(r.id, "a limit is not finite");
    else if (r.lower && r.upper && !(*r.lower <= *r.upper)) no(r.id, "its lower limit is above its upper one");
    if (zone && (r.lower || !r.upper || !(*r.upper > 0)))
      no(r.id, "a zone has an upper limit above zero and no lower one");
    if (r.modifier != Requirement::Modifier::none && !(r.modifier_size > 0))
      no(r.id, "the size at which there is no bonus is missing");
    if (r.modifier != Requirement::Modifier::none && (!zone || r.kind == Kind::form || r.kind == Kind::parallelism))
      no(r.id, "a material modifier goes with position, coaxiality or perpendicularity");
  }
  void nests() {
    if (!(route.nests >= 1 && route.nests <= 256))
      no("nests", "not a number of nests", std::to_string(route.nests), "1 to 256");
    if (!route.pallet_of.empty() && route.pallet_of.size() != static_cast<std::size_t>(std::max(0, route.nests)))
      no("nests", "as many pallets named as there are nests", std::to_string(route.pallet_of.size()),
         std::to_string(route.nests));
    for (const int p : route.pallet_of)
      if (p < 0) no("nests", "a pallet has a negative number", std::to_string(p));
  }
};

}  // namespace

Problems refusals(const Route& route) {
  Checks c{route, {}};
  c.nests();
  c.elements();
  c.operations();
  c.contributors();
  for (const Requirement& r : route.requirements) c.requirement(r);
  if (c.out.empty()) c.order();
  return c.out;
}

}  // namespace fettle::tolerance::inner
