#include "calc/locating/reckoners.h"

#include <fmt/format.h>

#include <cmath>

#include "base/text.h"
#include "calc/locating/fasteners.h"
#include "calc/locating/growth.h"
#include "calc/locating/lift_off.h"
#include "calc/locating/pin_fit.h"
#include "calc/locating/pins.h"
#include "calc/locating/rock.h"
#include "calc/locating/swap.h"
#include "finding/reckoner_kit.h"
#include "ref/fits.h"
#include "ref/materials.h"

namespace fettle::locating {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerInput;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;

// ---- inputs ----

ReckonerInput material(std::string name, std::string help) { return left_out(text(std::move(name), std::move(help))); }

/// Both limits of a size; a fit code is looked up.
Size size_of(const ReckonerValues& v, const std::string& name, Problems& problems) {
  const auto l = ref::limits_of(v.limits.at(name));
  if (!l) {
    problems.insert(problems.end(), l.problems().begin(), l.problems().end());
    return {};
  }
  if (!l->lower || !l->upper) {
    problems.push_back(bad(name + ": two limits are needed", l->typed, "limits such as Ø8 H7 or 8.000..8.015 mm"));
    return {};
  }
  return {*l->lower, *l->upper, {}, {}};
}
/// Expansion of a named material; needed only away from 20 °C.
double expansion_of(const ReckonerValues& v, const std::string& name, bool needed, Problems& problems) {
  if (!v.has(name)) {
    if (needed)
      problems.push_back(
          bad(name + ": away from 20 °C the material must be said", {}, "such as EN AW-5083 or EN-GJL-250"));
    return 0;
  }
  const auto m = ref::material(v.text.at(name));
  if (m) return m->expansion.value;
  problems.insert(problems.end(), m.problems().begin(), m.problems().end());
  return 0;
}
unit::Style gauge_style() {
  unit::Style s;
  s.gauge = true;
  return s;
}
std::string mm(double si) { return unit::print(si, Kind::length, gauge_style()); }
std::string celsius(double kelvin) { return base::fixed(kelvin - 273.15, 1) + " °C"; }
std::string percent(double share) {
  return share > 0 && share < 1e-6 ? "under 1 in a million" : base::fixed(share * 100, share < 0.001 ? 4 : 2) + " %";
}

const char* const exact_land =
    "exact geometry of a land in a round hole: its corner touches; textbook form D c / 2w beside it";

// ---- pin_goes_on ----

Outcome<ReckonerAnswer> answer_goes_on(const ReckonerValues& v) {
  Problems problems;
  PinFitInputs in;  // the line of pins along x
  in.round_hole = size_of(v, "hole", problems);
  in.round_pin = size_of(v, "pin", problems);
  in.relieved_hole = v.has("relieved_hole") ? size_of(v, "relieved_hole", problems) : in.round_hole;
  in.land = size_of(v, "land", problems);
  in.land_width = {v["land_width"], v["land_width"], {}, {}};
  in.part_span = size_of(v, "part_span", problems);
  in.pallet_span = size_of(v, "pallet_span", problems);
  in.relieved_at = {mean_of(in.part_span), 0, 0};
  in.relief_angle = v["relief_angle"];
  Warmth& w = in.warmth;
  w.plate_low = w.plate_high = v["plate_temperature"];
  w.part_low = w.part_high = v["part_temperature"];
  const auto warm = [](double t) { return std::fabs(t - reference_temperature) > 1e-6; };
  w.plate_expansion = expansion_of(v, "plate", warm(w.plate_low), problems);
  w.part_expansion = expansion_of(v, "part", warm(w.part_low), problems);
  w.pin_expansion = expansion_of(v, "pins", false, problems);
  if (!problems.empty()) return problems;
  const Outcome<PinFitResult> fit = pin_fit(in);
  if (!fit.ok()) return fit.problems();
  const PinFitResult& r = *fit;

  ReckonerAnswer a;
  a.number = {{"spare", r.spare}, {"needed", r.needed}, {"given", r.given}, {"share_not_on", r.share_not_on}};
  a.text["goes_on"] = r.goes_on ? "always" : r.share_not_on < 0.5 ? "not always" : "no";
  a.sentence = r.goes_on ? fmt::format("Goes on, {} of play to spare in the worst case.", mm(r.spare))
                         : fmt::format("In the worst case {} of play is missing; {} of the pairs do not go on.",
                                       mm(-r.spare), percent(r.share_not_on));
  if (w.plate_expansion > 0) {
    a.notes.push_back(r.plate_coldest
                          ? fmt::format("every pair goes on with the plate at {} to {} (part at {})",
                                        celsius(*r.plate_coldest), celsius(*r.plate_warmest), celsius(w.part_low))
                          : "there is no plate temperature at which every pair goes on");
  }
  a.notes.push_back(r.largest_land ? fmt::format("largest land that always goes on: {}", mm(*r.largest_land))
                                   : "no land is small enough to always go on");
  a.notes.push_back(
      fmt::format("the textbook form D c / 2w would give {} of play: too generous", mm(r.given_textbook)));
  if (!v.has("pins") && warm(w.plate_low)) a.notes.push_back("the pins' own growth is left out: say pins=...");
  a.notes.insert(a.notes.end(), r.warnings.begin(), r.warnings.end());
  return a;
}

Reckoner pin_goes_on() {
  Reckoner r;
  r.name = "pin_goes_on";
  r.science = "locating";
  r.question = "Will this part go onto its round and relieved pin, at these temperatures?";
  r.inputs = {limits("hole", "hole over the round pin"),
              limits("pin", "round pin"),
              left_out(limits("relieved_hole", "hole over the relieved pin; as the other when left out")),
              limits("land", "land of the relieved pin, diameter"),
              length("land_width", "width of the land along the line of pins", 1e-5, 1),
              limits("part_span", "between the holes"),
              limits("pallet_span", "between the pins, at 20 °C"),
              quantity("plate_temperature", Kind::temperature, "of plate and pins", 203.15, 503.15, "20 °C", "ISO 1"),
              quantity("part_temperature", Kind::temperature, "of the part", 203.15, 503.15, "20 °C", "ISO 1"),
              material("plate", "what the plate is made of"),
              material("part", "what the part is made of"),
              material("pins", "what the pins are made of; left out: their growth is left out"),
              quantity("relief_angle", Kind::angle, "relieved direction against the line of pins", -3.2, 3.2, "0 deg",
                       "the right way round")};
  r.outputs = {{"goes_on", Kind::number, "always, not always, no"},
               {"spare", Kind::length, "play left in the worst case", true},
               {"needed", Kind::length, "spans' tolerances and growth", true},
               {"given", Kind::length, "float of the land and half the round pin's clearance, at 20 °C", true},
               {"share_not_on", Kind::fraction, "of pairs, limits taken as three sigma"}};
  r.formula =
      "spare = (-w + sqrt(w^2 + D^2 - d^2))/2 + (hole - pin)/2 - |part span - pallet span|, each at its temperature";
  r.source = exact_land;
  r.range = "round holes, rigid part and pins, burrs and dirt left out; -70..230 °C";
  r.examples = {
      {{{"hole", "12.000..12.018 mm"},
        {"pin", "11.983..11.994 mm"},
        {"land", "11.938..11.949 mm"},
        {"land_width", "4 mm"},
        {"part_span", "80.00 ± 0.06 mm"},
        {"pallet_span", "80.00 ± 0.02 mm"}},
       {{"needed", "0.080 mm"}, {"given", "0.077937 mm"}, {"spare", "-0.002063 mm"}, {"goes_on", "not always"}},
       2e-3,
       "worked by hand: float of 11.949 in 12.000 at width 4 is 0.074937; the textbook form says 0.0765 and so 'just'"},
      {{{"hole", "8 H7 mm"},
        {"pin", "7.986..7.995 mm"},
        {"land", "7.970..7.978 mm"},
        {"land_width", "1.6 mm"},
        {"part_span", "111.21 ± 0.015 mm"},
        {"pallet_span", "111.21 ± 0.010 mm"},
        {"plate_temperature", "30 °C"},
        {"plate", "EN AW-5083"},
        {"part", "EN-GJL-250"}},
       {{"needed", "0.051468 mm"}, {"given", "0.055659 mm"}, {"goes_on", "always"}},
       2e-3,
       "worked by hand: growth 111.21 x 23.8e-6 x 10 K"}};
  r.answer = answer_goes_on;
  return r;
}

// ---- relieved_pin ----

Outcome<ReckonerAnswer> answer_relieved(const ReckonerValues& v) {
  const double hole = v["hole"], width = v["land_width"];
  const double needed = v["span_error"] + v["growth"] - v["round_clearance"] / 2;
  const std::optional<double> land = largest_land(hole, width, needed);
  if (!land || !(*land > 0))
    return bad("no land floats that far in this hole", mm(needed), "less error, or a larger hole");
  ReckonerAnswer a;
  a.number = {{"land", *land}, {"needed", std::max(0.0, needed)}};
  const double textbook = needed > 0 ? hole - 2 * needed * width / hole : hole;
  a.number["land_textbook"] = textbook;
  a.number["too_generous"] = textbook - *land;
  a.sentence = needed > 0 ? fmt::format("Land at most {} (textbook form: {}, too large by {}).", mm(*land),
                                        mm(textbook), mm(textbook - *land))
                          : "The round pin's own clearance is enough: any land that enters the hole goes on.";
  if (*land < width) a.notes.push_back("wider than its diameter: this is a full round pin");
  a.notes.push_back("this is the upper limit of the land; the maker's tolerance goes below it");
  return a;
}

Reckoner relieved_pin() {
  Reckoner r;
  r.name = "relieved_pin";
  r.science = "locating";
  r.question = "How large may the land of the relieved pin be, so that every part still goes on?";
  r.inputs = {length("hole", "least hole", 1e-4, 1),
              length("land_width", "width of the land along the line of pins", 1e-5, 1),
              length("span_error", "tolerance of the holes' span and of the pins' span together, one way", 0, 0.1),
              length("round_clearance", "least clearance of the round pin (diameters)", 0, 0.1),
              quantity("growth", Kind::length, "how much more the plate grows than the part", 0, 0.1, "0 mm",
                       "everything at 20 °C unless said")};
  r.outputs = {{"land", Kind::length, "largest land diameter, exact", true},
               {"needed", Kind::length, "float it must give", true},
               {"land_textbook", Kind::length, "what the textbook form says", true},
               {"too_generous", Kind::length, "by how much that is too large", true}};
  r.formula = "e = span error + growth - clearance/2; d = sqrt(D^2 - 4 e^2 - 4 e w); textbook d = D - 2 e w / D";
  r.source = exact_land;
  r.range = "round holes, relief along the line of pins";
  r.examples = {
      {{{"hole", "12 mm"}, {"land_width", "4 mm"}, {"span_error", "0.08 mm"}, {"round_clearance", "0.006 mm"}},
       {{"land", "11.94756 mm"}, {"needed", "0.077 mm"}, {"land_textbook", "11.94867 mm"}},
       1e-6,
       "two holes 12 H7 at 80 +-0.06 on pins at 80 +-0.02, worked by hand"}};
  r.answer = answer_relieved;
  return r;
}

// ---- pin_turn ----

Outcome<ReckonerAnswer> answer_turn(const ReckonerValues& v) {
  PinPair p;
  p.round_hole = v["hole"];
  p.round_pin = v["pin"];
  p.relieved_hole = value(v, "relieved_hole", v["hole"]);
  p.land = v["land"];
  p.land_width = v["land_width"];
  p.part_span = p.pallet_span = v["span"];
  const maths::Point2 at{v["along"], v["across"]};
  const auto turn = largest_turn(p);
  if (!turn) return bad("a pin is larger than its hole: the part does not go on");
  const double worst = worst_distance(p, at)->distance;
  ReckonerAnswer a;
  a.number = {{"turn", *turn},
              {"error", worst},
              {"error_along", worst_along(p, at, {1, 0})->distance},
              {"error_across", worst_along(p, at, {0, 1})->distance},
              {"hand_sum", naive_error(p, at)}};
  a.sentence =
      fmt::format("Play alone: {} arcmin either way, the point {} off at worst (the hand sum {} counts play twice).",
                  base::fixed(*turn * 180 * 60 / 3.14159265358979323846, 2), mm(worst), mm(naive_error(p, at)));
  return a;
}

Reckoner pin_turn() {
  Reckoner r;
  r.name = "pin_turn";
  r.science = "locating";
  r.question = "How far can the part turn on its pins, and how far off is this point?";
  r.inputs = {
      length("hole", "largest hole over the round pin", 1e-4, 1),
      length("pin", "smallest round pin", 1e-4, 1),
      left_out(length("relieved_hole", "largest hole over the relieved pin; as the other when left out", 1e-4, 1)),
      length("land", "smallest land diameter of the relieved pin", 1e-4, 1),
      length("land_width", "width of the land along the line of pins", 1e-5, 1),
      length("span", "between the pins", 1e-3, 100),
      quantity("along", Kind::length, "the point, along the line from the round pin", -100, 100),
      quantity("across", Kind::length, "the point, across the line", -100, 100, "0 mm", "on the line unless said")};
  r.outputs = {{"turn", Kind::angle, "largest turn either way"},
               {"error", Kind::length, "largest distance the point is off", true},
               {"error_along", Kind::length, "largest along the line", true},
               {"error_across", Kind::length, "largest across the line", true},
               {"hand_sum", Kind::length, "half the clearance + turn x distance: too much", true}};
  r.formula = "farthest vertex of the region of all (x, y, turn) that both pins allow; turn = (c1 + c2) / 2L";
  r.source = "exact contact of round hole and land; rotation formula as in all fixture texts, from memory";
  r.range = "rigid part, spans alike";
  r.examples = {{{{"hole", "12.018 mm"},
                  {"pin", "11.983 mm"},
                  {"land", "11.938 mm"},
                  {"land_width", "4 mm"},
                  {"span", "80 mm"},
                  {"along", "200 mm"}},
                 {{"turn", "0.00071875 rad"}, {"error_across", "0.12625 mm"}, {"hand_sum", "0.16125 mm"}},
                 1e-4,
                 "two holes 12 H7 at 80, worked by hand"}};
  r.answer = answer_turn;
  return r;
}

// ---- lift_off ----

Outcome<ReckonerAnswer> answer_lift_off(const ReckonerValues& v) {
  LiftOffInputs in{v["span"], v["hole"], v["clearance"], v["land_height"], v["friction"], v["off_centre"]};
  const Outcome<LiftOffResult> r = lift_off(in);
  if (!r.ok()) return r.problems();
  ReckonerAnswer a;
  a.number = {{"lead", r->lead_of_one_end}, {"tallest", r->tallest_one_ended}, {"turn", r->binding_turn}};
  a.text["way"] = r->free_one_ended ? "one end may come first" : "lift level";
  a.text["jams"] = r->jams ? "yes" : "no";
  a.sentence = r->words + ".";
  if (std::isfinite(r->jam_arm))
    a.notes.push_back(
        fmt::format("a straight pull more than {} mm beside the pin locks itself", base::fixed(r->jam_arm * 1e3, 1)));
  a.cautions = r->cautions;
  return a;
}

Reckoner lift_off_reckoner() {
  Reckoner r;
  r.name = "lift_off";
  r.science = "locating";
  r.question = "Does the part come off its pins with one end first, or must it be lifted level?";
  r.inputs = {length("span", "between the pins", 1e-3, 100),
              length("hole", "hole over the pin that stays on", 1e-4, 1),
              length("clearance", "least clearance there (diameters)", 0, 1e-2),
              length("land_height", "straight height of the pin inside the hole", 1e-5, 1),
              quantity("friction", Kind::number, "pin on hole", 0, 2, "0.15",
                       "iron on hardened steel, 0.12 to 0.25, common practice"),
              quantity("off_centre", Kind::length, "how far beside the pin the part is pulled", 0, 100, "0 mm",
                       "pulled at the pin unless said")};
  r.outputs = {{"way", Kind::number, "one end may come first, or lift level"},
               {"lead", Kind::length, "how far one end may go ahead"},
               {"tallest", Kind::length, "land height up to which one end may come first"},
               {"turn", Kind::angle, "tilt at which the land binds"},
               {"jams", Kind::number, "does the pull beside the pin lock itself"}};
  r.formula = "binds when h t + D t^2/2 > c; one end comes off when h <= sqrt(L c); jams when h < 2 mu a";
  r.source = "geometry of a cylinder in a hole, two-point contact with friction (drawer jam): derived";
  r.range = "rigid part and pins, clean pins; rust and burrs raise the friction to 0.3 and more";
  r.examples = {{{{"span", "111.21 mm"}, {"hole", "8 mm"}, {"clearance", "0.005 mm"}, {"land_height", "3 mm"}},
                 {{"way", "lift level"}, {"tallest", "0.74569 mm"}, {"jams", "no"}},
                 1e-4,
                 "worked by hand: sqrt(111.21 x 0.005)"}};
  r.answer = answer_lift_off;
  return r;
}

// ---- rock ----

Outcome<ReckonerAnswer> answer_rock(const ReckonerValues& v) {
  const double a = v["length"], b = v["width"];
  RockInputs in;
  in.rests = {{"rest 1", 0, 0, v["high_1"]},
              {"rest 2", a, 0, v["high_2"]},
              {"rest 3", a, b, v["high_3"]},
              {"rest 4", 0, b, v["high_4"]}};
  in.load_x = value(v, "load_along", a / 2);
  in.load_y = value(v, "load_across", b / 2);
  const Outcome<RockResult> r = rock(in);
  if (!r.ok()) return r.problems();
  ReckonerAnswer out;
  out.number = {{"gap", r->largest_gap}, {"angle", r->rock_angle}};
  out.text["open"] = r->tips ? "tips" : r->largest_gap > 0 ? in.rests[r->widest].name : "none";
  out.sentence = r->words + ".";
  out.notes.push_back("clamping an open rest bends the part; it springs back when it is let go");
  return out;
}

Reckoner rock_reckoner() {
  Reckoner r;
  r.name = "rock";
  r.science = "locating";
  r.question = "A raw part on four rests in a rectangle: which three carry, how far does it rock?";
  r.inputs = {length("length", "rests 1 to 2", 1e-3, 100), length("width", "rests 1 to 4", 1e-3, 100)};
  for (int i = 1; i <= 4; ++i)
    r.inputs.push_back(quantity(fmt::format("high_{}", i), Kind::length,
                                fmt::format("rest {} with the part's surface there: higher touches first", i), -0.1,
                                0.1, "0 mm", "true to size unless said"));
  r.inputs.push_back(
      left_out(quantity("load_along", Kind::length, "where it is pressed down; middle when left out", -100, 100)));
  r.inputs.push_back(left_out(quantity("load_across", Kind::length, "the same across", -100, 100)));
  r.outputs = {{"gap", Kind::length, "at the rest that stays open"},
               {"angle", Kind::angle, "how far it rocks over"},
               {"open", Kind::number, "which rest stays open"}};
  r.formula = "plane through three rests that leaves none above it; angle between the two such planes";
  r.source = "rigid body on points: plane geometry, derived";
  r.range = "rigid part, rests as points; three rests never rock";
  r.examples = {{{{"length", "100 mm"},
                  {"width", "60 mm"},
                  {"high_4", "-0.4 mm"},
                  {"load_along", "60 mm"},
                  {"load_across", "28 mm"}},
                 {{"gap", "0.4 mm"}, {"angle", "0.00777458 rad"}, {"open", "rest 4"}},
                 1e-4,
                 "worked by hand: 0.4 over the distance of rest 4 from the diagonal, 51.45 mm"}};
  r.answer = answer_rock;
  return r;
}

// ---- pallet_swap ----

Outcome<ReckonerAnswer> answer_swap(const ReckonerValues& v) {
  SwapInputs in;
  for (const double x : {-1.0, 1.0})
    for (const double y : {-1.0, 1.0}) {
      Anchor a;
      a.name = "anchor";
      a.x = x * v["along"] / 2, a.y = y * v["across"] / 2, a.s = v["repeats"] / 3, a.s_z = a.s;
      in.anchors.push_back(a);
    }
  in.points = {{v["point_along"], v["point_across"], 0}};
  const Outcome<SwapResult> r = swap_repeatability(in);
  if (!r.ok()) return r.problems();
  ReckonerAnswer a;
  a.number = {{"along_3s", 3 * r->points[0].s_x}, {"across_3s", 3 * r->points[0].s_y}, {"turn_3s", 3 * r->s_turn}};
  a.sentence = fmt::format("The point repeats within ±{} along and ±{} across (three sigma).", mm(3 * r->points[0].s_x),
                           mm(3 * r->points[0].s_y));
  return a;
}

Reckoner pallet_swap() {
  Reckoner r;
  r.name = "pallet_swap";
  r.science = "locating";
  r.question = "A pallet on four anchors is swapped: how well does this point come back?";
  r.inputs = {
      length("along", "between anchors, along", 1e-3, 100), length("across", "between anchors, across", 1e-3, 100),
      length("repeats", "each anchor repeats within ± this, three sigma", 0, 1e-2),
      quantity("point_along", Kind::length, "the point from the middle", -100, 100, "0 mm", "the middle unless said"),
      quantity("point_across", Kind::length, "the same across", -100, 100, "0 mm", "the middle unless said")};
  r.outputs = {{"along_3s", Kind::length, "three sigma along", true},
               {"across_3s", Kind::length, "three sigma across", true},
               {"turn_3s", Kind::angle, "three sigma of the turn"}};
  r.formula = "mean of the four anchors and moment of their offsets: s^2/4 + r^2 s^2 / sum R^2";
  r.source = "least squares of a rigid plate on equal springs, derived";
  r.range = "four equal anchors in a rectangle, all locating, independent of each other";
  r.examples = {{{{"along", "210 mm"},
                  {"across", "150 mm"},
                  {"repeats", "0.005 mm"},
                  {"point_along", "78 mm"},
                  {"point_across", "57 mm"}},
                 {{"along_3s", "0.0027333 mm"}, {"across_3s", "0.0029213 mm"}},
                 1e-4,
                 "worked by hand"}};
  r.answer = answer_swap;
  return r;
}

// ---- fasteners ----

Outcome<ReckonerAnswer> answer_floating(const ReckonerValues& v) {
  ReckonerAnswer a;
  const double t = floating_fastener(v["hole"], v["fastener"]);
  if (!(t >= 0)) return bad("the fastener is larger than the hole", mm(v["fastener"]), "up to " + mm(v["hole"]));
  a.number["tolerance"] = t;
  a.sentence = fmt::format("Each part may have position Ø{} at maximum material.", mm(t));
  return a;
}
Reckoner floating() {
  Reckoner r;
  r.name = "floating_fastener";
  r.science = "locating";
  r.question = "Screws loose in both parts: what position tolerance may each part have?";
  r.inputs = {length("hole", "least clearance hole", 1e-4, 1), length("fastener", "largest fastener", 1e-4, 1)};
  r.outputs = {{"tolerance", Kind::length, "diameter of the position zone, each part"}};
  r.formula = "T = H - F";
  r.source = "ASME Y14.5M-1994 Appendix B3, from memory";
  r.range = "round holes at maximum material, square to their faces";
  r.examples = {{{{"hole", "6.44 mm"}, {"fastener", "6 mm"}},
                 {{"tolerance", "0.44 mm"}},
                 1e-9,
                 "ASME Y14.5M-1994 Appendix B3, from memory"}};
  r.answer = answer_floating;
  return r;
}

Outcome<ReckonerAnswer> answer_fixed(const ReckonerValues& v) {
  const double room = v["hole"] - v["fastener"];
  if (!(room >= 0)) return bad("the fastener is larger than the hole", mm(v["fastener"]), "up to " + mm(v["hole"]));
  const FixedFastener t = fixed_fastener(v["hole"], v["fastener"], v["share"]);
  ReckonerAnswer a;
  a.number = {{"clearance_part", t.clearance_part}, {"fixed_part", t.fixed_part}};
  a.sentence = fmt::format("Position Ø{} in the clearance part and Ø{} in the threaded part, with a projected zone.",
                           mm(t.clearance_part), mm(t.fixed_part));
  if (v.has("projection") && v.has("engagement")) {
    const double hole =
        hole_without_projected_zone(v["fastener"], t.clearance_part, t.fixed_part, v["projection"], v["engagement"]);
    a.notes.push_back(fmt::format("without a projected zone the same tolerances need a hole of {}", mm(hole)));
  } else {
    a.notes.push_back("without a projected zone give projection and engagement: a leaning screw needs a larger hole");
  }
  return a;
}
Reckoner fixed() {
  Reckoner r;
  r.name = "fixed_fastener";
  r.science = "locating";
  r.question = "Screw or stud fixed in one part: what position tolerances may the two parts have?";
  r.inputs = {
      length("hole", "least clearance hole", 1e-4, 1), length("fastener", "largest fastener", 1e-4, 1),
      quantity("share", Kind::fraction, "share that the clearance part gets", 0, 1, "50 %", "equal shares, ASME Y14.5"),
      left_out(length("projection", "greatest height above the fixed part", 0, 10)),
      left_out(length("engagement", "least depth that holds the fastener", 1e-4, 10))};
  r.outputs = {{"clearance_part", Kind::length, "diameter of its position zone"},
               {"fixed_part", Kind::length, "diameter of its position zone"}};
  r.formula = "T1 + T2 = H - F; without projected zone H = F + T1 + T2 (1 + 2P/D)";
  r.source = "ASME Y14.5M-1994 Appendix B4, B5 (B5 from memory)";
  r.range = "round holes at maximum material; with a projected zone, or very thin parts";
  r.examples = {{{{"hole", "6.44 mm"}, {"fastener", "6 mm"}},
                 {{"clearance_part", "0.22 mm"}, {"fixed_part", "0.22 mm"}},
                 1e-9,
                 "ASME Y14.5M-1994 Appendix B4"}};
  r.answer = answer_fixed;
  return r;
}

Outcome<ReckonerAnswer> answer_position(const ReckonerValues& v) {
  const PositionAtMmc p = position_at_mmc(v["dx"], v["dy"], v["zone"], v["least_hole"], v["actual"]);
  ReckonerAnswer a;
  a.number = {{"found", p.found},
              {"bonus", p.bonus},
              {"allowed", p.allowed},
              {"margin", p.margin},
              {"virtual_size", p.virtual_size}};
  a.text["verdict"] = p.margin >= 0 ? "inside" : "outside";
  a.sentence = fmt::format("Position Ø{} of Ø{} allowed ({} bonus): {} by {}.", mm(p.found), mm(p.allowed), mm(p.bonus),
                           a.text["verdict"], mm(std::fabs(p.margin)));
  if (v["actual"] < v["least_hole"]) a.notes.push_back("the hole itself is under size: judge its size first");
  return a;
}
Reckoner position() {
  Reckoner r;
  r.name = "position_mmc";
  r.science = "locating";
  r.question = "Is this hole in position, with the bonus of maximum material condition?";
  r.inputs = {quantity("dx", Kind::length, "measured minus true place, x", -1, 1),
              quantity("dy", Kind::length, "the same in y", -1, 1),
              length("zone", "position tolerance (diameter) at maximum material", 0, 1),
              length("least_hole", "lower limit of the hole's size", 1e-5, 10),
              length("actual", "measured size of the hole", 1e-5, 10)};
  r.outputs = {{"verdict", Kind::number, "inside or outside"},
               {"found", Kind::length, "position found, as a diameter"},
               {"bonus", Kind::length, "added by the hole's size"},
               {"allowed", Kind::length, "zone and bonus"},
               {"margin", Kind::length, "allowed less found"},
               {"virtual_size", Kind::length, "what a gauge pin must be smaller than"}};
  r.formula = "found = 2 sqrt(dx^2 + dy^2); allowed = zone + (actual - least)";
  r.source = "ASME Y14.5, position at maximum material condition";
  r.range = "hole; measurement uncertainty left out";
  r.examples = {
      {{{"dx", "0.12 mm"}, {"dy", "-0.15 mm"}, {"zone", "0.3 mm"}, {"least_hole", "10.5 mm"}, {"actual", "10.62 mm"}},
       {{"found", "0.384187 mm"},
        {"bonus", "0.12 mm"},
        {"margin", "0.035813 mm"},
        {"virtual_size", "10.2 mm"},
        {"verdict", "inside"}},
       2e-5,
       "worked by hand; formula also read in public code"}};
  r.answer = answer_position;
  return r;
}

}  // namespace

std::vector<Reckoner> reckoners() {
  return {pin_goes_on(), relieved_pin(), pin_turn(), lift_off_reckoner(), rock_reckoner(),
          pallet_swap(), floating(),     fixed(),    position()};
}

}  // namespace fettle::locating
