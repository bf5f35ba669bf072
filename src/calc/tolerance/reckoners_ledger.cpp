#include <fmt/format.h>

#include <algorithm>

#include "base/text.h"
#include "calc/tolerance/ledger.h"
#include "calc/tolerance/reckoners.h"
#include "finding/reckoner_kit.h"

namespace fettle::tolerance {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;

std::string mm(double x) { return base::fixed(1e3 * x, 4) + " mm"; }
std::string percent(double x) { return unit::print(x, Kind::fraction); }

int axis(Route& route, const std::string& id, Vec3 p, double size) {
  Element e;
  e.id = id;
  e.shape = Element::Shape::axis;
  e.p = p;
  e.size = size;
  route.elements.push_back(e);
  return static_cast<int>(route.elements.size()) - 1;
}

/// Adds a normal error with one effect.
void error(Route& route, const std::string& name, double s, const Effect& effect) {
  if (!(s > 0)) return;
  Contributor c;
  c.name = name;
  c.s = s;
  c.effects = {effect};
  route.contributors.push_back(c);
}

Effect effect_on(Effect::On on, int operation, int index, Vec3 a = {}) {
  Effect e;
  e.on = on;
  e.operation = operation;
  e.index = index;
  e.a = a;
  return e;
}

/// Two holes and a first feature in one clamping; the second feature on pins in those holes. X runs along the line of
/// pins from the round one.
Route route_of(const ReckonerValues& v) {
  using On = Effect::On;
  Route r;
  const double span = v["span"];
  const Vec3 place{v["along"], v["across"], 0};
  const int first = axis(r, "first feature", place, 0.01), second = axis(r, "second feature", place, 0.01);
  const int b = axis(r, "round pin's hole", {}, v["hole"]), c = axis(r, "relieved pin's hole", {span, 0, 0}, v["hole"]);
  Operation one, two;
  one.id = "first clamping";
  one.makes = {first, b, c};
  const auto hold = [&](Operation& op, Vec3 p, Vec3 n) { op.contacts.push_back({"locator", -1, p, n}); };
  for (Operation* op : {&one, &two})
    for (const double y : {-span, span}) {
      hold(*op, {0, y, 0}, {0, 0, -1});
      if (y > 0) hold(*op, {span, 0, 0}, {0, 0, -1});
    }
  hold(one, {0, -span, 0}, {0, -1, 0});
  hold(one, {span, -span, 0}, {0, -1, 0});
  hold(one, {-span, 0, 0}, {-1, 0, 0});
  two.id = "second clamping";
  two.makes = {second};
  two.pins.there = true;
  two.pins.round_hole = b;
  two.pins.relieved_hole = c;
  two.pins.pair.round_hole = two.pins.pair.relieved_hole = v["hole"];
  two.pins.pair.round_pin = v["pin"];
  two.pins.pair.land = v["land"];
  two.pins.pair.land_width = v["land_width"];
  two.pins.pair.part_span = two.pins.pair.pallet_span = span;
  r.operations = {one, two};

  for (const Vec3 a : {Vec3{1, 0, 0}, Vec3{0, 1, 0}}) {
    const std::string in = a.x > 0 ? " along" : " across";
    error(r, "place of the round pin's hole" + in, v["holes_s"], effect_on(On::made, 0, b, a));
    error(r, "place of the relieved pin's hole" + in, v["holes_s"], effect_on(On::made, 0, c, a));
    error(r, "place of the pins" + in, v["pins_s"], effect_on(On::zero, 1, -1, a));
    error(r, "machine" + in, v["machine_s"], effect_on(On::zero, 1, -1, a));
  }
  error(r, "size of the round pin's hole", v["hole_s"], effect_on(On::size, -1, b));
  error(r, "size of the relieved pin's hole", v["hole_s"], effect_on(On::size, -1, c));
  if (v["growth"] > 0) {
    Contributor growth;
    growth.name = "growth";
    growth.family = Contributor::Family::uniform;
    growth.mean = growth.half_width = v["growth"] / 2;
    growth.effects = {effect_on(On::zero, 1, -1, {1, 0, 0})};
    r.contributors.push_back(growth);
  }
  Requirement q;
  q.id = "coaxiality";
  q.kind = Requirement::Kind::coaxiality;
  q.elements = {second};
  q.to = first;
  q.upper = v["zone"];
  r.requirements = {q};
  return r;
}

double outside(const Route& route) {
  const auto ledger = build(route);
  return ledger ? linear_of(*ledger, 0).share_outside : 0;
}

Outcome<ReckonerAnswer> answer_coaxial(const ReckonerValues& v) {
  const Route route = route_of(v);
  const auto ledger = build(route);
  if (!ledger) return ledger.problems();
  if (maths::spare(route.operations[1].pins.pair) < 0)
    return bad("the part does not go on: a pin is larger than its hole",
               mm(std::max(v["pin"], v["land"])) + " in " + mm(v["hole"]), "pin and land smaller than the hole");
  if (!(v["hole"] - std::min(v["pin"], v["land"]) <= 0.1 * v["span"])) {
    ReckonerAnswer a;
    a.beyond = "the play is more than a tenth of the span: turns are no longer small";
    a.sentence = "Not reckoned: the play is more than a tenth of the span.";
    return a;
  }
  const Linear l = linear_of(*ledger, 0);
  Route tight = route, cold = route;
  maths::PinPair& pair = tight.operations[1].pins.pair;
  pair.round_pin = pair.land = pair.round_hole;
  std::erase_if(cold.contributors, [](const Contributor& c) { return c.name == "growth"; });
  double play = 0, growth = 0;
  for (const ContributorShare& c : l.contributors) {
    if (c.column >= static_cast<int>(route.contributors.size())) play += c.share;
    if (c.name == "growth") growth += c.share;
  }
  ReckonerAnswer a;
  a.number = {{"outside", l.share_outside},     {"s", l.s},
              {"worst", l.worst_high},          {"from_play", play},
              {"from_growth", growth},          {"without_play", outside(tight)},
              {"without_growth", outside(cold)}};
  a.sentence =
      fmt::format("{} of the parts lie outside {}; without play {}, without growth {}.", percent(l.share_outside),
                  mm(v["zone"]), percent(a.number["without_play"]), percent(a.number["without_growth"]));
  if (!l.contributors.empty())
    a.notes.push_back(fmt::format("most of the spread comes from: {} ({})", l.contributors[0].name,
                                  percent(l.contributors[0].share)));
  a.notes.push_back("features cut in one clamping share its errors: cut together, only the machine is left");
  return a;
}

}  // namespace

std::vector<Reckoner> ledger_reckoners() {
  Reckoner r;
  r.name = "coaxial_across_clampings";
  r.science = "tolerance";
  r.question = "Two features in two clampings, the second on pins: what share is not coaxial enough, and from what?";
  r.inputs = {length("zone", "diameter of the zone", 1e-6, 0.01),
              length("span", "between the two datum holes", 1e-3, 2),
              length("along", "place of the features along the line of pins, from the round pin", -2, 2),
              length("across", "and across that line", -2, 2, "0 mm"),
              length("hole", "mean size of both datum holes", 1e-3, 0.1),
              length("pin", "mean size of the round pin", 1e-3, 0.1),
              length("land", "mean size of the relieved pin's land", 1e-3, 0.1),
              length("land_width", "its width along the line of pins", 1e-4, 0.1),
              length("hole_s", "standard deviation of the holes' sizes", 0, 1e-4, "0 mm"),
              length("holes_s", "of each hole's place against the first feature, per axis", 0, 1e-3),
              length("pins_s", "of the pins' place on the pallet, per axis", 0, 1e-3),
              length("machine_s", "of the machine in the second clamping, per axis", 0, 1e-3),
              length("growth", "how far the nest is off when warmest; evenly from none to this", 0, 1e-3, "0 mm")};
  r.outputs = {{"outside", Kind::fraction, "share outside the zone"},
               {"s", Kind::length, "one standard deviation, in the worse direction"},
               {"worst", Kind::length, "zone that holds the worst case", true},
               {"from_play", Kind::fraction, "of the variance, from the play of the pins"},
               {"from_growth", Kind::fraction, "of the variance, from growth"},
               {"without_play", Kind::fraction, "share outside if the pins had no play"},
               {"without_growth", Kind::fraction, "share outside without growth"}};
  r.formula =
      "n . (g_t + g_w x p) = -d - e per contact; second feature: cutter - g; share: normal ellipse against the "
      "circle over nodes of growth and seats";
  r.source = "Asada & By 1985; Jin & Shi 1999 (from memory); play: exact seats of a round and a relieved pin";
  r.range =
      "errors small against the part; every seat of the pins as likely as any other; theory, to some percent of the "
      "share";
  r.examples = {{{{"zone", "0.1 mm"},
                  {"span", "100 mm"},
                  {"along", "50 mm"},
                  {"hole", "8 mm"},
                  {"pin", "8 mm"},
                  {"land", "8 mm"},
                  {"land_width", "2 mm"},
                  {"holes_s", "0 mm"},
                  {"pins_s", "0.009 mm"},
                  {"machine_s", "0.012 mm"}},
                 {{"outside", "0.38659 %"}, {"s", "0.015 mm"}, {"worst", "0.1781909 mm"}, {"from_play", "0"}},
                 1e-4,
                 "Rayleigh, exact: exp(-T^2 / 8 s^2) with s = 0.015; worst 2 sqrt 2 (3 x 0.009 + 3 x 0.012)"},
                {{{"zone", "0.05 mm"},
                  {"span", "100 mm"},
                  {"along", "50 mm"},
                  {"hole", "8 mm"},
                  {"pin", "8 mm"},
                  {"land", "8 mm"},
                  {"land_width", "2 mm"},
                  {"holes_s", "0 mm"},
                  {"pins_s", "0 mm"},
                  {"machine_s", "0.008 mm"},
                  {"growth", "0.023 mm"}},
                 {{"outside", "13.1785 %"}, {"without_growth", "0.75757 %"}},
                 2e-3,
                 "computed: mean over the growth of the non-central chi-square tail, by quadrature"}};
  r.answer = answer_coaxial;
  return {r};
}

}  // namespace fettle::tolerance
