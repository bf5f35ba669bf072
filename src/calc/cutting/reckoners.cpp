#include "calc/cutting/reckoners.h"

#include <fmt/format.h>

#include <cmath>

#include "base/text.h"
#include "calc/cutting/cutting.h"
#include "calc/cutting/finish.h"
#include "calc/cutting/holes.h"
#include "calc/cutting/tool_beam.h"
#include "finding/reckoner_kit.h"

namespace fettle::cutting {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerInput;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;

constexpr double pi = 3.14159265358979323846;
const char* const kienzle = "specific force kc = kc1.1 h^-mc (Kienzle 1952, from memory) through every tooth slice";

std::string say_in(double si, Kind kind) { return unit::print(si, kind, {}); }

std::vector<ReckonerInput> metal() {
  return {quantity("kc11", Kind::pressure,
                   "specific force of a chip 1 mm thick: grey iron at 180 HB 1150, at 260 HB 1350 N/mm²", 1e7, 2e10),
          quantity("mc", Kind::number, "its exponent: grey iron at 180 HB 0.20, at 260 HB 0.28", 0, 0.9),
          quantity("wear", Kind::number, "how much more a used edge needs", 1, 5, "1", "a new edge")};
}
std::vector<ReckonerInput> with(std::vector<ReckonerInput> a, const std::vector<ReckonerInput>& b) {
  a.insert(a.end(), b.begin(), b.end());
  return a;
}
Chip chip_of(const ReckonerValues& v) { return {v["kc11"], v["mc"], v["wear"], value(v, "radial", 0.4)}; }

// ---- milling --------------------------------------------------------------------------------------------------------
Outcome<ReckonerAnswer> answer_mill(const ReckonerValues& v) {
  Milling m;
  m.chip = chip_of(v);
  m.diameter = v["diameter"];
  m.tooth_angles = even_teeth(static_cast<int>(v["teeth"]));
  m.helix = v["helix"];
  m.approach = pi / 2 - v["lead"];
  m.rake = 6 * pi / 180;
  m.feed_per_tooth = v["feed"];
  m.depth = v["depth"];
  m.turns = v["speed"] / (2 * pi);
  const std::string how = v.text.at("how");
  m.arc = how == "facing" ? face_arc(m.diameter, v["width"], 0) : side_arc(m.diameter, v["width"], how == "down");
  const auto r = solve(m);
  if (!r.ok()) return r.problems();
  ReckonerAnswer a;
  a.number = {{"power", r->power},         {"torque", r->torque_mean},    {"torque_peak", r->torque_peak},
              {"force", r->mean_size},     {"force_peak", r->peak_size},  {"up_pull", r->up_pull},
              {"mean_chip", r->chip_mean}, {"largest_chip", r->chip_most}};
  a.sentence = fmt::format(
      "{} at the cutter, {} mean torque; the force is {} in the mean and {} at its peak, and pulls up with {}.",
      say_in(r->power, Kind::power), say_in(r->torque_mean, Kind::torque), say_in(r->mean_size, Kind::force),
      say_in(r->peak_size, Kind::force), say_in(r->up_pull, Kind::force));
  return a;
}
Reckoner mill() {
  Reckoner r;
  r.name = "cut_force";
  r.science = "cutting";
  r.question = "What force, torque and power does this milling cut take?";
  r.inputs =
      with(metal(),
           {length("diameter", "of the cutter", 1e-4, 2), count("teeth", "of the cutter", 1, 200),
            quantity("feed", Kind::feed_per_tooth, "per tooth", 0, 0.01), length("width", "radial, of the metal", 0, 2),
            length("depth", "axial", 0, 1), quantity("speed", Kind::rotation, "of the spindle", 0, 1e5),
            quantity("helix", Kind::angle, "of the teeth, right hand positive", -1.4, 1.4, "0 deg"),
            quantity("lead", Kind::angle, "lead angle of the edge, 0 for a square shoulder", 0, 1.5, "0 deg"),
            quantity("radial", Kind::number, "radial over tangential force", 0, 2, "0.4",
                     "from memory: iron with carbide, 0.3 to 0.6"),
            choice("how", "beside a wall down or up, or facing with the cutter in the middle", {"down", "up", "facing"},
                   "down", "common practice")});
  r.outputs = {{"power", Kind::power, "at the cutter"},
               {"torque", Kind::torque, "mean"},
               {"torque_peak", Kind::torque, "largest through the turn"},
               {"force", Kind::force, "mean size"},
               {"force_peak", Kind::force, "largest through the turn"},
               {"up_pull", Kind::force, "largest pull on the part towards the spindle"},
               {"mean_chip", Kind::length, "over the arc"},
               {"largest_chip", Kind::length, "in the arc"}};
  r.formula =
      "F = kc(h) b h per tooth slice; h = feed sin kappa sin phi, b = depth / sin kappa; summed over slices, teeth, "
      "turn";
  r.source = kienzle;
  r.range = "chips of 0.005 to 2 mm; below, edge rounding decides and the force is underestimated";
  r.examples = {{{{"kc11", "1160 N/mm²"},
                  {"mc", "0.26"},
                  {"diameter", "125 mm"},
                  {"teeth", "8"},
                  {"feed", "0.20 mm/tooth"},
                  {"width", "90 mm"},
                  {"depth", "2.5 mm"},
                  {"speed", "458.37 rpm"},
                  {"lead", "45 deg"},
                  {"how", "facing"}},
                 {{"power", "5.453 kW"}, {"mean_chip", "0.12668 mm"}},
                 2e-3,
                 "Kienzle calculation in full, computed by an independent script"}};
  r.answer = answer_mill;
  return r;
}

// ---- chip thickness -------------------------------------------------------------------------------------------------
Outcome<ReckonerAnswer> answer_chip(const ReckonerValues& v) {
  const double d = v["diameter"], w = v["width"], f = v["feed"];
  if (w > d) return bad("the width of cut is larger than the cutter", say_in(w, Kind::length), "at most the diameter");
  const Arc arc = side_arc(d, w, false);
  const double phi = arc.exit, mean = 2 * f * w / (d * phi), most = w >= 0.5 * d ? f : f * std::sin(phi);
  const double least = v["least_ratio"] * v["edge_radius"];
  ReckonerAnswer a;
  a.number = {{"arc", phi},
              {"mean_chip", mean},
              {"largest_chip", most},
              {"least_chip", least},
              {"feed_that_cuts", f * least / mean}};
  a.sentence =
      fmt::format("Mean chip {}, largest {}; an edge rounded by {} rubs below {}: feed at least {}.",
                  say_in(mean, Kind::length), say_in(most, Kind::length), say_in(v["edge_radius"], Kind::length),
                  say_in(least, Kind::length), say_in(f * least / mean, Kind::feed_per_tooth));
  return a;
}
Reckoner chip() {
  Reckoner r;
  r.name = "chip_thickness";
  r.science = "cutting";
  r.question = "How thick is the chip, and does the edge cut or rub?";
  r.inputs = {
      length("diameter", "of the cutter", 1e-4, 2), length("width", "radial width of cut", 1e-7, 2),
      quantity("feed", Kind::feed_per_tooth, "per tooth", 1e-8, 0.01),
      length("edge_radius", "rounding of the edge", 0, 1e-3, "0.02 mm", "from memory: honed carbide"),
      quantity("least_ratio", Kind::number, "least chip over edge radius", 0, 2, "0.3", "from memory: 0.2 to 0.4")};
  r.outputs = {{"arc", Kind::angle, "in the metal"},
               {"mean_chip", Kind::length, "over the arc"},
               {"largest_chip", Kind::length, "in the arc"},
               {"least_chip", Kind::length, "below it the edge rubs"},
               {"feed_that_cuts", Kind::feed_per_tooth, "at which the mean chip is just thick enough"}};
  r.formula = "phi = acos(1 - 2 w/D); h_mean = 2 f w/(D phi); h_most = f sin phi, f when w is half the cutter or more";
  r.source = "kinematics of side milling, closed form";
  r.range = "straight path, square shoulder";
  r.examples = {{{{"diameter", "20 mm"}, {"width", "2 mm"}, {"feed", "0.1 mm/tooth"}},
                 {{"arc", "36.870 deg"}, {"mean_chip", "0.03108 mm"}, {"largest_chip", "0.06 mm"}},
                 1e-3,
                 "kinematics of side milling, closed form"}};
  r.answer = answer_chip;
  return r;
}

// ---- power from removal
// -----------------------------------------------------------------------------------------------
Outcome<ReckonerAnswer> answer_unit(const ReckonerValues& v) {
  const double removal = v["width"] * v["depth"] * v["feed_speed"], power = removal * v["kc"] / v["efficiency"];
  ReckonerAnswer a;
  a.number = {{"power", power}, {"removal", removal}};
  a.sentence = fmt::format("{} at the motor.", say_in(power, Kind::power));
  return a;
}
Reckoner unit_power() {
  Reckoner r;
  r.name = "removal_power";
  r.science = "cutting";
  r.question = "What power does this removal rate take at the motor?";
  r.inputs = {length("width", "of cut", 0, 2), length("depth", "of cut", 0, 1),
              quantity("feed_speed", Kind::speed, "of the table", 0, 10),
              quantity("kc", Kind::pressure, "specific force at the mean chip; 1 kW per cm3/s is 1000 N/mm²", 0, 1e11),
              quantity("efficiency", Kind::fraction, "motor to tool", 0.1, 1, "85 %", "common practice")};
  r.outputs = {{"power", Kind::power, "at the motor"}, {"removal", Kind::flow, "metal per time"}};
  r.formula = "P = width x depth x feed x kc / efficiency";
  r.source = "textbook form, read";
  r.range = "kc must belong to the mean chip of this very cut";
  r.examples = {{{{"width", "80 mm"},
                  {"depth", "2 mm"},
                  {"feed_speed", "280 mm/min"},
                  {"kc", "1800 N/mm²"},
                  {"efficiency", "80 %"}},
                 {{"power", "1.68 kW"}},
                 1e-3,
                 "textbook example, read"}};
  r.answer = answer_unit;
  return r;
}

// ---- drill and tap
// ------------------------------------------------------------------------------------------------------
Outcome<ReckonerAnswer> answer_drill(const ReckonerValues& v) {
  const Drill d{chip_of(v), v["factor"], v["diameter"], v["before"], v["feed"], v["point"], 2, v["speed"] / (2 * pi)};
  const auto l = drill_load(d);
  if (!l.ok()) return l.problems();
  ReckonerAnswer a;
  a.number = {{"torque", l->torque_high},
              {"torque_low", l->torque_low},
              {"thrust", l->thrust_high},
              {"thrust_low", l->thrust_low},
              {"power", l->power}};
  a.sentence = fmt::format("Torque {} to {}, thrust {} to {} by two formulas; the larger counts.",
                           say_in(l->torque_low, Kind::torque), say_in(l->torque_high, Kind::torque),
                           say_in(l->thrust_low, Kind::force), say_in(l->thrust_high, Kind::force));
  return a;
}
Reckoner drill() {
  Reckoner r;
  r.name = "drill_load";
  r.science = "cutting";
  r.question = "What torque and thrust does this drill take in grey iron?";
  r.inputs = with(
      metal(), {quantity("factor", Kind::number,
                         "K of the drill maker: 1.00 at 177, 1.39 at 198, 1.88 at 224 HB; 0 leaves it out", 0, 10),
                length("diameter", "of the drill", 1e-4, 0.5), length("before", "hole that is there", 0, 0.5, "0 mm"),
                quantity("feed", Kind::length, "per turn", 0, 0.005),
                quantity("point", Kind::angle, "point angle", 1, pi, "140 deg", "common practice: carbide"),
                quantity("speed", Kind::rotation, "of the spindle", 0, 1e5)});
  r.outputs = {{"torque", Kind::torque, "the larger of the two formulas"},
               {"torque_low", Kind::torque, "the smaller"},
               {"thrust", Kind::force, "the larger"},
               {"thrust_low", Kind::force, "the smaller"},
               {"power", Kind::power, "at the larger torque"}};
  r.formula =
      "M = kc f D^2/8, F = kc f D/4 sin kappa; M = K D^2 (0.630 + 16.84 f)/100, F = 570 K D f^0.85 (mm, N·m, N)";
  r.source = "specific force, and a drill maker's formulas for cast iron, read";
  r.range = "grey iron, 160 to 240 HB; without breakthrough";
  r.examples = {{{{"kc11", "100 N/mm²"},
                  {"mc", "0"},
                  {"factor", "1.39"},
                  {"diameter", "10 mm"},
                  {"feed", "0.2 mm"},
                  {"speed", "800 rpm"}},
                 {{"torque", "5.557 N·m"}, {"thrust", "2017 N"}},
                 1e-3,
                 "drill maker's formulas for cast iron, read; the other formula held small"}};
  r.answer = answer_drill;
  return r;
}
Outcome<ReckonerAnswer> answer_tap(const ReckonerValues& v) {
  const Tap t{v["kc_simple"], v["kc_geometry"], v["shape"], v["wear"],
              v["diameter"],  v["pitch"],       v["drill"], v["speed"] / (2 * pi)};
  const auto l = tap_load(t);
  if (!l.ok()) return l.problems();
  ReckonerAnswer a;
  a.number = {{"torque", l->torque_high}, {"torque_low", l->torque_low}, {"power", l->power}};
  a.sentence = fmt::format("Torque {} to {} by two formulas; the larger counts.", say_in(l->torque_low, Kind::torque),
                           say_in(l->torque_high, Kind::torque));
  a.cautions = {"cut threads only: a forming tap cracks grey iron"};
  return a;
}
Reckoner tap() {
  Reckoner r;
  r.name = "tap_torque";
  r.science = "cutting";
  r.question = "What torque does this tap take?";
  r.inputs = {length("diameter", "of the thread", 1e-4, 0.2),
              length("pitch", "of the thread", 1e-5, 0.02),
              length("drill", "hole before the tap", 1e-4, 0.2),
              quantity("kc_simple", Kind::pressure, "specific force of the short formula", 0, 2e10, "1250 N/mm²",
                       "tap maker, grey iron, read"),
              quantity("kc_geometry", Kind::pressure, "specific force of the long formula", 0, 2e10, "2900 N/mm²",
                       "tap maker, GG-25 at 193 HB, read"),
              quantity("shape", Kind::number, "1.25 straight flutes, 1.05 spiral", 0.5, 3, "1.25", "tap maker, read"),
              quantity("wear", Kind::number, "of a worn tap; twice is common", 1, 5, "1", "a sharp tap"),
              quantity("speed", Kind::rotation, "of the spindle", 0, 1e5, "0 rpm")};
  r.outputs = {{"torque", Kind::torque, "the larger of the two"},
               {"torque_low", Kind::torque, "the smaller"},
               {"power", Kind::power, "at the larger torque"}};
  r.formula = "M = kc P^2 d/8; M = tan 30 deg kc K (D - Do)^2 (D + 2 Do)/24";
  r.source = "two tap makers' formulas, read";
  r.range = "cut threads";
  r.examples = {{{{"diameter", "10 mm"}, {"pitch", "1.5 mm"}, {"drill", "8.5 mm"}},
                 {{"torque", "5.298 N·m"}},
                 1e-3,
                 "tap maker's formula, GG-25 193 HB, read"},
                {{{"diameter", "8 mm"}, {"pitch", "1.25 mm"}, {"drill", "6.8 mm"}},
                 {{"torque", "2.712 N·m"}, {"torque_low", "1.953 N·m"}},
                 1e-3,
                 "tap makers' formulas, read"}};
  r.answer = answer_tap;
  return r;
}

// ---- what gives way, what stays rough
// -----------------------------------------------------------------------------------
Outcome<ReckonerAnswer> answer_bend(const ReckonerValues& v) {
  ToolBeam b;
  b.stretches = {{v["stick_out"], v["counts"] * v["diameter"], v["modulus"], 0.22}};
  b.spindle = v["spindle"];
  const double give = compliance(b, 0, 0);
  ReckonerAnswer a;
  a.number = {{"push_off", give * v["force"]}, {"stiffness", 1 / give}};
  a.sentence = fmt::format("{} at the tip: {} sideways.", say_in(v["force"], Kind::force),
                           say_in(give * v["force"], Kind::length));
  return a;
}
Reckoner bend() {
  Reckoner r;
  r.name = "tool_bend";
  r.science = "cutting";
  r.question = "How far does a force at its tip bend this tool?";
  r.inputs = {quantity("force", Kind::force, "sideways at the tip", 0, 1e6),
              length("stick_out", "from the holder", 1e-4, 2),
              length("diameter", "of the tool", 1e-4, 1),
              quantity("counts", Kind::number, "share of the diameter that counts: fluted 0.8, plain 1", 0.3, 1, "0.8",
                       "from memory"),
              quantity("modulus", Kind::pressure, "carbide 580, steel 210 GPa", 1e9, 1e12, "580 GPa",
                       "from memory: carbide rods"),
              quantity("spindle", Kind::stiffness, "sideways at the holder; 0 is rigid", 0, 1e12, "0 N/µm")};
  r.outputs = {{"push_off", Kind::length, "sideways at the tip"}, {"stiffness", Kind::stiffness, "at the tip"}};
  r.formula = "L^3/(3 E I) + L/(k G A) + 1/spindle";
  r.source = "cantilever with shear, closed form";
  r.range = "static; the holder itself rigid";
  r.examples = {{{{"force", "1000 N"}, {"stick_out", "50 mm"}, {"diameter", "16 mm"}, {"counts", "1"}},
                 {{"push_off", "0.023566 mm"}},
                 2e-3,
                 "worked by hand: L^3/(3 E I) = 22.33 µm and L/(k G A) = 1.24 µm"}};
  r.answer = answer_bend;
  return r;
}
Outcome<ReckonerAnswer> answer_finish(const ReckonerValues& v) {
  const double ra = feed_roughness(v["feed"], v["corner_radius"]);
  if (!std::isfinite(ra))
    return bad("the feed is wider than the corner", say_in(v["feed"], Kind::length), "at most twice the corner radius");
  ReckonerAnswer a;
  a.number = {{"roughness", ra}};
  unit::Style gauge;
  gauge.gauge = true;
  a.sentence =
      fmt::format("Ra {} by geometry; tearing and vibration come on top.", unit::print(ra, Kind::length, gauge));
  return a;
}
Reckoner finish() {
  Reckoner r;
  r.name = "feed_finish";
  r.science = "cutting";
  r.question = "What roughness does this feed leave?";
  r.inputs = {length("feed", "per turn", 1e-7, 0.01), length("corner_radius", "of the edge's corner", 1e-6, 0.1)};
  r.outputs = {{"roughness", Kind::length, "Ra by geometry", true}};
  r.formula = "Ra = f^2/(32 r)";
  r.source = "textbook form, exact for its parabola within 3 %";
  r.range = "feed up to twice the corner radius; the best that can be had";
  r.examples = {
      {{{"feed", "0.1 mm"}, {"corner_radius", "0.4 mm"}}, {{"roughness", "0.78125 µm"}}, 1e-6, "f^2/(32 r), exact"}};
  r.answer = answer_finish;
  return r;
}

}  // namespace

std::vector<finding::Reckoner> reckoners() { return {mill(), chip(), unit_power(), drill(), tap(), bend(), finish()}; }

}  // namespace fettle::cutting
