#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "base/text.h"
#include "calc/structure/bow.h"
#include "calc/structure/plate.h"
#include "calc/structure/reckoners.h"
#include "finding/reckoner_kit.h"

namespace fettle::structure {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerInput;
using finding::ReckonerValues;
using finding::WorkedExample;
using unit::Kind;
using namespace finding::kit;

constexpr double standard_gravity = 9.80665;

/// A flat plate and its metal; defaults are those of aluminium 5083.
std::vector<ReckonerInput> plate_inputs() {
  const char* metal = "aluminium 5083, common handbook value, from memory";
  return {
      length("length", "along the longer side", 0.01, 10),
      length("width", "across", 0.01, 10),
      length("thickness", "of the plate", 1e-4, 1),
      or_else(quantity("modulus", Kind::pressure, "of the metal; grey iron 100 to 140, steel 205 GPa", 1e8, 1e12),
              "71 GPa", metal),
      or_else(quantity("poisson", Kind::number, "Poisson ratio; grey iron 0.26, steel 0.29", 0, 0.49), "0.33", metal),
      or_else(quantity("density", Kind::density, "grey iron 7200, steel 7850 kg/m3", 100, 25000), "2660 kg/m3", metal)};
}
ReckonerInput edges() {
  return choice("edges", "all four alike: free, supported (may turn), clamped", {"free", "supported", "clamped"},
                "free");
}

Inputs plate_of(const ReckonerValues& v, const std::string& edge) {
  Inputs in;
  in.plate.length = v["length"], in.plate.width = v["width"], in.plate.thickness = v["thickness"];
  in.plate.metal = {v["modulus"], v["poisson"], v["density"], 0};
  const Edge e = edge == "free" ? Edge::free : edge == "supported" ? Edge::supported : Edge::clamped;
  in.edges = {e, e, e, e};
  in.in_plane = false;
  in.want_shapes = false;
  const double longer = std::max(v["length"], v["width"]);
  in.columns = std::max(8, 2 * static_cast<int>(std::ceil(20 * v["length"] / longer)));
  in.rows = std::max(8, 2 * static_cast<int>(std::ceil(20 * v["width"] / longer)));
  return in;
}
double stiffness_of(const ReckonerValues& v) {
  return v["modulus"] * std::pow(v["thickness"], 3) / 12 / (1 - v["poisson"] * v["poisson"]);
}
/// The range where a plate is one; empty inside it.
std::string too_thick(const ReckonerValues& v) {
  const double share = v["thickness"] / std::min(v["length"], v["width"]);
  if (share <= 0.25) return {};
  return fmt::format("thickness is {} of the shorter side: a block, no plate (up to 0.25)", base::fixed(share, 2));
}

/// A strip many times longer than wide is a beam, and the mesh that fits its width would not fit its length; a thing
/// as thick as its side is a block. Neither is answered. Nothing when the sides are those of a plate.
std::optional<Problem> no_plate(const ReckonerValues& v) {
  const double longer = std::max(v["length"], v["width"]), shorter = std::min(v["length"], v["width"]);
  if (longer > 60 * shorter)
    return bad("one side is many times the other: a beam, no plate", fmt::format("{:.3g} times", longer / shorter),
               "up to 60 times");
  if (v["thickness"] > shorter)
    return bad("thicker than its shorter side: a block, no plate",
               fmt::format("{:.3g} of the shorter side", v["thickness"] / shorter), "up to 1, best up to 0.25");
  if (v["thickness"] < 1e-4 * longer)
    return bad("a foil, no plate", fmt::format("{:.3g} of the longer side", v["thickness"] / longer),
               "0.0001 and more");
  return std::nullopt;
}

Outcome<ReckonerAnswer> answer_modes(const ReckonerValues& v) {
  if (auto no = no_plate(v)) return *no;
  Inputs in = plate_of(v, v.text.at("edges"));
  in.modes = 8;
  const Result r = solve(in);
  if (!r.ok) return ours(r.why);
  const std::size_t rigid = v.text.at("edges") == "free" ? 3 : 0;
  ReckonerAnswer a;
  a.number = {{"first", r.frequencies[rigid]},
              {"second", r.frequencies[rigid + 1]},
              {"third", r.frequencies[rigid + 2]},
              {"mass", r.plate_mass},
              {"mesh_error", r.error}};
  a.text["stiffness"] = fmt::format("{} N·m", base::fixed(stiffness_of(v), 1));
  a.sentence = fmt::format("The bare plate swings at {} Hz first, then {} and {} Hz; it weighs {}.",
                           base::fixed(r.frequencies[rigid], 1), base::fixed(r.frequencies[rigid + 1], 1),
                           base::fixed(r.frequencies[rigid + 2], 1), unit::print(r.plate_mass, Kind::mass, {}));
  a.notes = {
      "a loaded pallet on its anchors swings elsewhere: parts add mass, anchors give; see the study's stiffness "
      "findings"};
  a.beyond = too_thick(v);
  return a;
}

Reckoner modes_reckoner() {
  Reckoner r;
  r.name = "plate_modes";
  r.science = "structure";
  r.question = "At which frequencies does a bare flat plate swing?";
  r.inputs = plate_inputs();
  r.inputs.push_back(edges());
  r.outputs = {{"first", Kind::frequency, "lowest bending frequency, without rigid motion"},
               {"second", Kind::frequency, "the next"},
               {"third", Kind::frequency, "and the next"},
               {"mass", Kind::mass, "of the plate"},
               {"mesh_error", Kind::fraction, "share by which the first may be off, as the mesh itself estimates"},
               {"stiffness", Kind::number, "bending stiffness E t³ / (12 (1 - nu²)), N·m"}};
  r.formula = "shear-flexible plate (shear factor 5/6), 40 four-node elements along the longer side";
  r.source = "Mindlin 1951; elements after Bathe & Dvorkin 1985; checked against Leissa 1973 and two NAFEMS benchmarks";
  r.range = "rectangular, even thickness up to a quarter of the shorter side, bending only";
  WorkedExample free_square{{{"length", "10 m"},
                             {"width", "10 m"},
                             {"thickness", "50 mm"},
                             {"modulus", "200 GPa"},
                             {"poisson", "0.3"},
                             {"density", "8000 kg/m3"},
                             {"edges", "free"}},
                            {{"first", "1.622 Hz"}, {"second", "2.36 Hz"}, {"third", "2.922 Hz"}, {"mass", "40000 kg"}},
                            0.003,
                            "NAFEMS TNSB rev. 3, 1990, test FV12, values read in an open library's example"};
  WorkedExample pallet{{{"length", "600 mm"},
                        {"width", "400 mm"},
                        {"thickness", "40 mm"},
                        {"modulus", "68.9 GPa"},
                        {"poisson", "0.33"},
                        {"density", "2700 kg/m3"},
                        {"edges", "free"}},
                       {{"first", "513.23 Hz"}, {"second", "569.23 Hz"}, {"third", "1167.6 Hz"}, {"mass", "25.92 kg"}},
                       0.005,
                       "Mindlin plate by a converged Ritz series (computed)"};
  r.examples = {free_square, pallet};
  r.answer = answer_modes;
  return r;
}

Outcome<ReckonerAnswer> answer_sag(const ReckonerValues& v) {
  if (auto no = no_plate(v)) return *no;
  BowInputs own;
  own.plate = plate_of(v, v.text.at("edges"));
  own.plate.want_error = false;
  own.gravity = standard_gravity;
  const BowResult weight = bow(own);
  own.gravity = 0;
  own.pressure = v["load"] * standard_gravity / (v["length"] * v["width"]);
  const BowResult load = bow(own);
  if (!weight.ok || !load.ok) return ours(weight.ok ? load.why : weight.why);
  ReckonerAnswer a;
  a.number = {{"own", -weight.lowest}, {"loaded", -load.lowest}, {"together", -weight.lowest - load.lowest}};
  unit::Style style;
  style.gauge = true;
  a.sentence =
      fmt::format("The middle sinks {} under the plate's own weight and {} more under the load.",
                  unit::print(-weight.lowest, Kind::length, style), unit::print(-load.lowest, Kind::length, style));
  a.beyond = too_thick(v);
  if (a.beyond.empty() && -weight.lowest - load.lowest > v["thickness"] / 2)
    a.beyond = "it sinks by more than half its thickness: the pull in the plane that then helps is not counted";
  return a;
}

Reckoner sag_reckoner() {
  Reckoner r;
  r.name = "plate_sag";
  r.science = "structure";
  r.question = "How far does a flat plate on its edges sink under its own weight and an even load?";
  r.inputs = plate_inputs();
  r.inputs.push_back(quantity("load", Kind::mass, "spread evenly over the plate", 0, 1e6));
  r.inputs.push_back(
      choice("edges", "all four alike: supported (may turn) or clamped", {"supported", "clamped"}, "supported"));
  r.outputs = {{"own", Kind::length, "sinking of the middle under the plate's own weight", true},
               {"loaded", Kind::length, "the same under the load", true},
               {"together", Kind::length, "both", true}};
  r.formula = "shear-flexible plate; thin: w = c q a⁴ / D, c = 0.00406 supported square, 0.00126 clamped square";
  r.source = "Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, 1959, tables 8 and 35, from memory";
  r.range = "rectangular, even thickness up to a quarter of the shorter side, sinking up to half the thickness";
  // q = 100 kg x 9.80665 / 1 m2, D = 200 GPa x (0.02 m)^3 / 12 / 0.91 = 146520 N m
  WorkedExample square{{{"length", "1 m"},
                        {"width", "1 m"},
                        {"thickness", "20 mm"},
                        {"modulus", "200 GPa"},
                        {"poisson", "0.3"},
                        {"density", "8000 kg/m3"},
                        {"load", "100 kg"},
                        {"edges", "supported"}},
                       {{"loaded", "27.24 um"}, {"own", "43.59 um"}},
                       0.005,
                       "Mindlin plate, h/a 0.02: Navier 0.0040624 + shear term, q a4 / D (closed form, by hand)"};
  r.examples = {square};
  r.answer = answer_sag;
  return r;
}

Outcome<ReckonerAnswer> answer_bow(const ReckonerValues& v) {
  ReckonerAnswer a;
  const double free = free_bow(v["expansion"], v["top_warmer"], v["length"], v["thickness"]);
  const double between = free_bow(v["expansion"], v["top_warmer"], v["span"], v["thickness"]);
  a.number = {{"free", free}, {"between", between}, {"growth", v["expansion"] * v["warmer"] * v["length"]}};
  unit::Style style;
  style.gauge = true;
  a.sentence = fmt::format("A free plate stands {} proud over its length and {} between the anchors; it is {} longer.",
                           unit::print(free, Kind::length, style), unit::print(between, Kind::length, style),
                           unit::print(a.number["growth"], Kind::length, style));
  a.notes = {"anchors inside the span hold it back only as far as they can pull; the free value is the upper bound",
             "coolant over the top reverses it: the plate then bows the other way"};
  if (v["span"] > v["length"]) a.beyond = "the anchors stand farther apart than the plate is long";
  return a;
}

Reckoner bow_reckoner() {
  Reckoner r;
  r.name = "plate_bow";
  r.science = "structure";
  r.question = "How far does a plate bow when its top is warmer than its bottom?";
  r.inputs = {
      length("length", "of the plate", 0.01, 10),
      length("thickness", "of the plate", 1e-4, 1),
      length("span", "between the anchors", 0, 10),
      quantity("top_warmer", Kind::temperature_difference, "top less bottom", -100, 100),
      quantity("warmer", Kind::temperature_difference, "all of it above the day it was measured on", -100, 100, "0 K"),
      or_else(quantity("expansion", Kind::expansion, "of the metal; grey iron 10.5e-6, steel 11.5e-6 1/K", 0, 1e-4),
              "23.8e-6 1/K", "aluminium 5083, common handbook value, from memory")};
  r.outputs = {{"free", Kind::length, "rise of the middle over the whole length", true},
               {"between", Kind::length, "rise of the middle over the anchors", true},
               {"growth", Kind::length, "added length", true}};
  r.formula = "expansion · top_warmer · span² / (8 · thickness); growth = expansion · warmer · length";
  r.source = "constant curvature of a free plate with a straight temperature through its thickness (closed form)";
  r.range = "even plate, temperature straight through the thickness, anchors that do not hinder it";
  WorkedExample e{{{"length", "330 mm"},
                   {"thickness", "25 mm"},
                   {"span", "210 mm"},
                   {"top_warmer", "3 K"},
                   {"warmer", "10 K"},
                   {"expansion", "24e-6 1/K"}},
                  {{"free", "39.204 um"}, {"between", "15.876 um"}, {"growth", "79.2 um"}},
                  1e-3,
                  "closed form, by hand"};
  r.examples = {e};
  r.answer = answer_bow;
  return r;
}

Outcome<ReckonerAnswer> answer_thinner(const ReckonerValues& v) {
  const double ratio = v["new"] / v["thickness"];
  ReckonerAnswer a;
  a.number = {{"stiffness", ratio * ratio * ratio},
              {"frequency", ratio},
              {"mass", ratio},
              {"give", 1 / (ratio * ratio * ratio)}};
  a.sentence = fmt::format("It keeps {} of its bending stiffness, {} of its bare frequency and {} of its mass.",
                           base::fixed(ratio * ratio * ratio, 2), base::fixed(ratio, 2), base::fixed(ratio, 2));
  a.notes = {"for the bare plate; with parts on it the frequency falls by more, since their mass stays",
             "anchors and parts give too, so a loaded pallet loses less stiffness than this"};
  return a;
}

Reckoner thinner_reckoner() {
  Reckoner r;
  r.name = "thinner_plate";
  r.science = "structure";
  r.question = "What does a plate keep when it is made thinner or thicker?";
  r.inputs = {length("thickness", "as it is", 1e-4, 1), length("new", "as it would be", 1e-4, 1)};
  r.outputs = {{"stiffness", Kind::number, "new bending stiffness over old"},
               {"frequency", Kind::number, "new bare frequency over old"},
               {"mass", Kind::number, "new mass over old"},
               {"give", Kind::number, "new bending under the same force over old"}};
  r.formula = "bending stiffness with the cube of the thickness; bare frequency and mass in proportion to it";
  r.source = "thin plate theory: D = E t³ / (12 (1 - nu²)), frequency with sqrt(D / (density t))";
  r.range = "thin plates, bare; shear and anchors soften thick ones";
  WorkedExample e{
      {{"thickness", "24 mm"}, {"new", "16 mm"}},
      {{"stiffness", "0.30"}, {"frequency", "0.667"}},
      0.013,
      "common practice: two thirds as thick keeps 0.30 of its stiffness and two thirds of its bare frequency"};
  r.examples = {e};
  r.answer = answer_thinner;
  return r;
}

}  // namespace

std::vector<Reckoner> plate_reckoners() {
  return {modes_reckoner(), sag_reckoner(), bow_reckoner(), thinner_reckoner()};
}

}  // namespace fettle::structure
