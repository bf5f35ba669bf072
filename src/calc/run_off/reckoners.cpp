#include "calc/run_off/reckoners.h"

#include <fmt/format.h>

#include "base/text.h"
#include "calc/run_off/run_off.h"
#include "finding/reckoner_kit.h"

namespace fettle::run_off {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerInput;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;

const char* const soulsby = "threshold: Soulsby, Dynamics of Marine Sands, 1997, read";
const char* const channel =
    "open-channel hydraulics: critical depth, momentum, energy line; friction factor 0.03 common practice";

std::string say_length(double m) { return unit::print(m, Kind::length); }
std::string say_shear(double pascal) { return base::fixed(pascal, 2) + " Pa"; }

ReckonerInput slope_input() { return quantity("slope", Kind::fraction, "fall over run of the trough", 0, 1, "0 %"); }
ReckonerInput grain_input() {
  return quantity("grain", Kind::length, "size of a swarf grain", 2e-5, 0.02, "0.5 mm",
                  "common practice: grey iron gives grains of 0.1 to 1 mm; sieve a handful");
}
ReckonerInput metal_input() {
  return quantity("metal", Kind::density, "density of the swarf's metal", 1100, 25000, "7.2 kg/dm3", "grey iron");
}
ReckonerInput friction_input() {
  return quantity("friction", Kind::number, "Darcy friction factor of the trough", 0.005, 0.5, "0.03",
                  "common practice: smooth small channels");
}

Outcome<ReckonerAnswer> answer_trough(const ReckonerValues& v) {
  Inputs in;
  in.reaches = {{"the trough", v["width"], v["depth"], v["length"], v["slope"], v["flow"]}};
  in.hole = value(v, "hole");
  in.hole_flow = in.hole > 0 ? value(v, "hole_flow", v["flow"]) : 0;
  in.grain = {v["grain"], v["metal"], v.text.at("caked") == "yes", {}};
  in.coolant.friction = v["friction"];
  const Outcome<Result> solved = solve(in);
  if (!solved.ok()) return solved.problems();
  const ReachResult& r = solved->reaches.front();
  ReckonerAnswer a;
  a.number = {{"critical", r.critical},
              {"closed_end", r.closed_end},
              {"room", r.room},
              {"speed", r.speed},
              {"shear", r.shear_feed},
              {"shear_end", r.shear_end},
              {"threshold", solved->threshold},
              {"carried", solved->carried}};
  const bool holds = r.room >= 0;
  a.sentence =
      fmt::format("{} stand at the closed end of a trough {} deep: {}. {}", say_length(r.closed_end),
                  say_length(v["depth"]), holds ? "it holds" : "it runs over",
                  solved->carried > 0 ? fmt::format("Loose grains up to {} are carried.", say_length(solved->carried))
                                      : std::string("No grains are carried."));
  if (in.hole > 0) a.notes.push_back(fmt::format("the hole needs {} of water over it", say_length(solved->hole_head)));
  const auto slope = slope_to_carry(solved->threshold, v["flow"], v["width"], in.coolant);
  a.notes.push_back(slope ? fmt::format("a slope of {} % would carry the grain", base::fixed(100 * *slope, 1))
                          : std::string("no slope carries the grain with this flow: use a jet"));
  for (const std::string& x : solved->assumed) a.notes.push_back("taken to be so: " + x);
  a.cautions = solved->cautions;
  a.beyond = solved->beyond;
  return a;
}

Reckoner trough_reckoner() {
  Reckoner r;
  r.name = "trough";
  r.science = "run_off";
  r.question = "Does this trough hold its flow, and does the coolant carry the swarf in it?";
  r.inputs = {
      quantity("flow", Kind::flow, "coolant through the trough", 1e-9, 1),
      quantity("width", Kind::length, "width of the trough", 0.5e-3, 2),
      quantity("depth", Kind::length, "depth of the trough", 0.1e-3, 1),
      quantity("length", Kind::length, "from where the coolant falls in to its end", 0, 100, "0 mm"),
      slope_input(),
      left_out(quantity("hole", Kind::length, "diameter of a hole it ends in; over an edge when left out", 1e-3, 2)),
      left_out(quantity("hole_flow", Kind::flow, "flow through that hole from all sides; as flow when left out", 0, 1)),
      grain_input(),
      metal_input(),
      friction_input(),
      choice("caked", "the swarf has dried or settled to a cake", {"yes", "no"}, "no")};
  r.outputs = {{"critical", Kind::length, "critical depth, at a free fall"},
               {"closed_end", Kind::length, "depth behind the feed, at the closed end"},
               {"room", Kind::length, "depth of the trough less that; below 0: it runs over"},
               {"speed", Kind::speed, "speed at the end"},
               {"shear", Kind::pressure, "shear on the bed just below the feed"},
               {"shear_end", Kind::pressure, "shear on the bed at the end"},
               {"threshold", Kind::pressure, "shear that moves the grain"},
               {"carried", Kind::length, "largest loose grain that is carried everywhere; 0: none"}};
  r.formula = "yc = (q^2/g)^(1/3) at the end; energy line up the trough; behind the feed y sqrt(1 + 2 q^2/(g y^3))";
  r.source = std::string(channel) + "; " + soulsby;
  r.range = "upright sides, flat bottom, coolant like water, loose grains";
  r.examples = {
      {{{"flow", "3 L/min"}, {"width", "24 mm"}, {"depth", "10 mm"}},
       {{"critical", "7.620 mm"}, {"closed_end", "13.198 mm"}, {"speed", "0.2734 m/s"}, {"shear_end", "0.2803 Pa"}},
       1e-3,
       "worked by hand: (0.002083^2 / 9.81)^(1/3), times sqrt(3)"}};
  r.answer = answer_trough;
  return r;
}

Outcome<ReckonerAnswer> answer_grain(const ReckonerValues& v) {
  Coolant c;
  c.friction = v["friction"];
  const double threshold = threshold_shear(v["grain"], v["metal"], c), speed = speed_for_shear(threshold, c);
  ReckonerAnswer a;
  a.number = {{"threshold", threshold},
              {"speed", speed},
              {"slope", slope_for_shear(threshold, v["width"], v["water"], c)},
              {"jet", jet_flow(v["nozzle"], v["distance"], speed)}};
  a.sentence = fmt::format("{} on the bed move it: a flow of {}, a slope of {} % at this depth, or a jet of {}.",
                           say_shear(threshold), unit::print(speed, Kind::speed),
                           base::fixed(100 * a.number["slope"], 1), unit::print(a.number["jet"], Kind::flow));
  a.notes = {"loose grains only: a cake that was left to dry needs far more"};
  a.cautions = {
      "A jet throws swarf and mist: guards shut, eyes covered, never towards a finished bore or a clamp's receiver."};
  return a;
}

Reckoner grain_reckoner() {
  Reckoner r;
  r.name = "grain";
  r.science = "run_off";
  r.question = "What moves a swarf grain of this size: shear, speed, slope, jet?";
  r.inputs = {grain_input(),
              metal_input(),
              quantity("width", Kind::length, "width of the trough", 0.5e-3, 2),
              quantity("water", Kind::length, "depth of the water", 0.1e-3, 1),
              friction_input(),
              quantity("nozzle", Kind::length, "diameter of a nozzle", 1e-4, 0.1, "6 mm", "common practice"),
              quantity("distance", Kind::length, "from the nozzle to the grain", 0, 10, "100 mm", "common practice")};
  r.outputs = {{"threshold", Kind::pressure, "shear on the bed at which a loose grain begins to move"},
               {"speed", Kind::speed, "speed along the bed that gives it"},
               {"slope", Kind::fraction, "slope at which water of this depth gives it"},
               {"jet", Kind::flow, "flow through the nozzle whose jet still has that speed"}};
  r.formula =
      "theta = 0.30/(1 + 1.2 D) + 0.055 (1 - exp(-0.02 D)), D = d (g (s-1)/nu^2)^(1/3); shear = theta (s-1) rho g d";
  r.source = std::string(soulsby) + "; free round jet 6.2 diameters, from memory";
  r.range = "loose grains 0.02 to 20 mm on a bed of their like, coolant like water";
  r.examples = {{{{"grain", "0.5 mm"}, {"width", "24 mm"}, {"water", "5 mm"}},
                 {{"threshold", "0.913 Pa"}, {"slope", "2.64 %"}},
                 3e-3,
                 "worked by hand"},
                {{{"grain", "1 mm"}, {"width", "24 mm"}, {"water", "5 mm"}},
                 {{"threshold", "2.2004 Pa"}, {"slope", "6.355 %"}},
                 3e-3,
                 "worked by hand"}};
  r.answer = answer_grain;
  return r;
}

Outcome<ReckonerAnswer> answer_swarf(const ReckonerValues& v) {
  Swarf s;
  s.per_part = v["before"] - v["after"];
  if (!(s.per_part >= 0)) return bad("a part cannot leave heavier than it came");
  s.per_set = v["per_set"];
  s.per_week = v["per_week"];
  s.days = v["days"];
  s.fines = v["fines"];
  s.bin = maybe(v, "bin");
  s.filter = maybe(v, "filter");
  const Outcome<SwarfResult> r = swarf(s);
  if (!r.ok()) return r.problems();
  ReckonerAnswer a;
  a.number = {{"part_mass", s.per_part},
              {"set_mass", r->set_mass},
              {"week_mass", r->week_mass},
              {"set_volume", r->set_volume},
              {"week_volume", r->week_volume}};
  a.sentence = fmt::format("{} a week, {} loose.", unit::print(r->week_mass, Kind::mass),
                           unit::print(r->week_volume, Kind::volume));
  if (r->bin_days)
    a.notes.push_back(fmt::format("the bin is full after {} working days", base::fixed(*r->bin_days, 1)));
  else a.notes.emplace_back("say bin to learn when it is full");
  if (r->filter_days)
    a.notes.push_back(fmt::format("the filter is full after {} working days", base::fixed(*r->filter_days, 1)));
  else a.notes.emplace_back("say filter (what it holds) to learn when it is full");
  a.cautions = {"Wet iron swarf rusts, heats and stinks; a full bin is heavy: lift it by truck or hoist."};
  return a;
}

Reckoner swarf_reckoner() {
  Reckoner r;
  r.name = "swarf";
  r.science = "run_off";
  r.question = "How much swarf is there, and when are the bin and the filter full?";
  r.inputs = {quantity("before", Kind::mass, "a part as it comes", 0, 1e4),
              quantity("after", Kind::mass, "a part as it leaves", 0, 1e4),
              count("per_set", "parts of a pallet set", 0, 1000000, "1"),
              count("per_week", "parts a week", 0, 10000000),
              quantity("days", Kind::number, "working days of a week", 0.1, 7, "5"),
              quantity("fines", Kind::fraction, "share so fine that it leaves with the coolant", 0, 1, "2 %",
                       "from memory; weigh what a filter caught"),
              left_out(quantity("bin", Kind::volume, "volume of the bin", 1e-6, 1000)),
              left_out(quantity("filter", Kind::mass, "fines that the filter holds", 1e-6, 1e5))};
  r.outputs = {{"part_mass", Kind::mass, "swarf of a part"},
               {"set_mass", Kind::mass, "swarf of a set"},
               {"week_mass", Kind::mass, "swarf of a week"},
               {"set_volume", Kind::volume, "loose volume of a set"},
               {"week_volume", Kind::volume, "loose volume of a week"}};
  r.formula = "mass before - after; loose volume = mass / 2000 kg/m3";
  r.source = "loose iron fines 2000 to 2880 kg/m3 (125 to 180 lb/ft3): a printed list, read";
  r.range = "broken iron chips and dust; curled chips of ductile iron lie far looser";
  r.examples = {{{{"before", "2.90 kg"}, {"after", "2.595 kg"}, {"per_set", "8"}, {"per_week", "240"}},
                 {{"set_mass", "2.44 kg"}, {"week_mass", "73.2 kg"}, {"week_volume", "36.6 L"}},
                 1e-6,
                 "worked by hand"}};
  r.answer = answer_swarf;
  return r;
}

Outcome<ReckonerAnswer> answer_puddle(const ReckonerValues& v) {
  const double film = standing_film(v["tension"], 1000, v["contact"]);
  ReckonerAnswer a;
  a.number = {{"film", film}, {"stays", film * v["area"]}};
  a.sentence = fmt::format("{} stand on a level face, {} in all.", say_length(film),
                           unit::print(a.number["stays"], Kind::volume));
  a.notes = {"hollows come on top; on a slope far less stays"};
  return a;
}

Reckoner puddle_reckoner() {
  Reckoner r;
  r.name = "puddle";
  r.science = "run_off";
  r.question = "How much coolant stays standing on a level face?";
  r.inputs = {quantity("area", Kind::area, "level area that is wet", 0, 1e4),
              quantity("tension", Kind::stiffness, "surface tension of the coolant", 0.01, 0.1, "0.035 N/m",
                       "from memory: water with emulsifier"),
              quantity("contact", Kind::angle, "contact angle on the metal", 0, 3.14159265358979323846, "45 deg",
                       "from memory: an oily face; look at a drop from the side")};
  r.outputs = {{"film", Kind::length, "thickness that stays"}, {"stays", Kind::volume, "volume that stays"}};
  r.formula = "2 sqrt(tension / (density g)) sin(contact / 2), density 1000 kg/m3";
  r.source = "capillarity: puddle on a level face, from memory";
  r.range = "puddles wider than a few centimetres, level faces";
  r.examples = {{{{"area", "1 m2"}, {"tension", "0.0728 N/m"}, {"contact", "107 deg"}},
                 {{"film", "4.38 mm"}},
                 5e-3,
                 "water on paraffin, printed 0.44 cm, from memory"}};
  r.answer = answer_puddle;
  return r;
}

}  // namespace

std::vector<finding::Reckoner> reckoners() {
  return {trough_reckoner(), grain_reckoner(), swarf_reckoner(), puddle_reckoner()};
}

}  // namespace fettle::run_off
