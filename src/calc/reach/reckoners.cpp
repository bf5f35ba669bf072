#include "calc/reach/reckoners.h"

#include <fmt/format.h>

#include <cmath>

#include "base/text.h"
#include "calc/reach/reach.h"
#include "finding/reckoner_kit.h"

namespace fettle::reach {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerInput;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;

std::string say(double m) { return unit::print(m, Kind::length); }
const std::vector<std::string> cautions = {
    "Prove a new tool path in the air above the part first, single block and low rapid, guards shut."};

std::vector<ReckonerInput> tool_inputs(const char* cutting) {
  return {length("cutter", "diameter of what cuts", 1e-5, 2), length("cutting", cutting, 0, 2),
          length("stick_out", "tip to holder", 1e-5, 2), length("holder", "diameter of the holder", 1e-5, 2),
          left_out(length("neck_length", "length of the neck; to the holder when left out", 0, 2))};
}
Tool tool_of(const ReckonerValues& v) {
  return {v["cutter"], v["cutting"], maybe(v, "neck"), maybe(v, "neck_length"), v["stick_out"], v["holder"]};
}

Outcome<ReckonerAnswer> answer_keyseat(const ReckonerValues& v) {
  Groove g;
  g.bore = v["bore"];
  g.groove = v["groove"];
  g.width = v["width"];
  g.depth = v["depth"];
  g.open_below = !v.has("floor");
  g.floor = value(v, "floor");
  g.below = v["below"];
  g.edge_feed = v["feed"];
  g.force = v["force"];
  const Outcome<GrooveResult> solved = solve_groove(g, tool_of(v));
  if (!solved.ok()) return solved.problems();
  const GrooveResult& r = *solved;
  ReckonerAnswer a;
  a.number = {{"least", r.least},
              {"neck_room", r.neck_room},
              {"passes", static_cast<double>(r.passes)},
              {"path_radius", r.path_radius},
              {"middle_feed", r.middle_feed},
              {"engaged", r.engaged},
              {"bend", r.bend}};
  a.text["tightest"] = r.tightest;
  a.sentence = r.passes == 0 ? fmt::format("The cutter is wider than the groove by {}.", say(-r.width_room))
               : r.least >= 0
                   ? fmt::format("It reaches: {} left, {}. {} pass{}, the tool's middle on a circle of {} radius.",
                                 say(r.least), r.tightest, r.passes, r.passes == 1 ? "" : "es", say(r.path_radius))
                   : fmt::format("It does not reach: {} are missing, {}.", say(-r.least), r.tightest);
  a.notes = {fmt::format("goes down in the middle with {} all round", say(r.enters)),
             fmt::format("neck longer than needed by {}, holder clears by {}", say(r.neck_spare), say(r.holder_room)),
             "roll in and out along an arc of 90 degrees or more: a straight plunge to full depth leaves a mark",
             "measure the groove in two directions: a path that is out of round shows in one only"};
  if (g.open_below) a.notes.emplace_back("no floor was said: the bore is taken as through");
  a.cautions = cautions;
  return a;
}

Reckoner keyseat_reckoner() {
  Reckoner r;
  r.name = "keyseat";
  r.science = "reach";
  r.question = "Does this keyseat cutter reach that groove in a bore, and how is it driven?";
  r.inputs = {length("bore", "diameter of the bore, smallest", 1e-5, 2),
              length("groove", "diameter of the groove, largest", 1e-5, 4),
              length("width", "width of the groove, smallest", 1e-5, 2),
              length("depth", "from where the bore opens to the groove's far side", 1e-5, 2),
              left_out(length("floor", "from the groove's far side to the bore's floor; through when left out", 0, 2))};
  for (ReckonerInput& i : tool_inputs("width of the cutter")) r.inputs.push_back(i);
  r.inputs.push_back(length("neck", "diameter of the neck", 1e-5, 2));
  r.inputs.push_back(length("below", "what stands out under the cutter, a screw's head", 0, 2, "0 mm"));
  r.inputs.push_back(quantity("feed", Kind::speed, "feed at the cutting edge", 0, 10, "0 mm/min"));
  r.inputs.push_back(quantity("force", Kind::force, "force on the cutter, away from the wall", 0, 1e6, "0 N"));
  r.outputs = {{"least", Kind::length, "smallest room: below 0 it does not reach"},
               {"tightest", Kind::number, "where that is"},
               {"neck_room", Kind::length, "neck against the bore's edge at full depth"},
               {"passes", Kind::number, "passes along the axis; 0: the cutter is too wide"},
               {"path_radius", Kind::length, "circle of the tool's middle"},
               {"middle_feed", Kind::speed, "feed for the control, which drives the tool's middle"},
               {"engaged", Kind::angle, "arc of the cutter in metal at full depth"},
               {"bend", Kind::length, "neck under the force (carbide)"}};
  r.formula =
      "neck room = (cutter - neck)/2 - (groove - bore)/2; middle's feed = edge feed (groove - cutter)/groove; "
      "cos(half arc) = (Rb^2 - rc^2 - e^2)/(2 e rc); bend = F L^3/(3 E I)";
  r.source = "circle geometry; feed inside an arc as read in programming handbooks; cantilever";
  r.range = "round grooves square to the bore; carbide neck, holder taken stiff";
  r.examples = {{{{"bore", "50 mm"},
                  {"groove", "54 mm"},
                  {"width", "3.7 mm"},
                  {"depth", "8.85 mm"},
                  {"floor", "9.15 mm"},
                  {"cutter", "35 mm"},
                  {"cutting", "2.5 mm"},
                  {"neck", "18 mm"},
                  {"neck_length", "30 mm"},
                  {"stick_out", "45 mm"},
                  {"holder", "32 mm"},
                  {"feed", "246 mm/min"}},
                 {{"least", "6.5 mm"}, {"path_radius", "9.5 mm"}, {"middle_feed", "86.56 mm/min"}, {"passes", "2"}},
                 1e-4,
                 "worked by hand"}};
  r.answer = answer_keyseat;
  return r;
}

Outcome<ReckonerAnswer> answer_reach(const ReckonerValues& v) {
  Inputs in;
  in.tool = tool_of(v);
  const std::string& what = v.text.at("what");
  in.around = {{what, v["low"], v["high"], v["distance"], what == "wall"}};
  if (!(v["low"] <= v["high"])) return bad("low lies above high");
  const Outcome<Result> solved = solve(in);
  if (!solved.ok()) return solved.problems();
  ReckonerAnswer a;
  const bool free = solved->rooms.empty();
  a.number["room"] = free ? 0 : solved->least;
  a.text["tightest"] = free ? "nothing" : solved->rooms.front().stretch;
  if (free) {
    a.sentence = "Nothing but the cutter stands beside the wall that it cuts.";
    a.beyond = "only the cutter stands beside the wall it cuts";
  } else {
    a.sentence = solved->least >= 0
                     ? fmt::format("{} between {} and {}.", say(solved->least), a.text["tightest"], what)
                     : fmt::format("The {} runs {} into the {}.", a.text["tightest"], say(-solved->least), what);
    const auto out = stick_out_needed(in, v["clearance"]);
    a.notes.push_back(out ? fmt::format("stick-out for {} of clearance: {}", say(v["clearance"]), say(*out))
                          : "no stick-out clears it: what cuts is in the way itself");
    if (const auto thick = holder_allowed(in, v["clearance"]))
      a.notes.push_back(*thick < 1.999 ? fmt::format("holder at most {} at this stick-out", say(*thick))
                                       : "any holder clears it at this stick-out");
  }
  a.cautions = cautions;
  return a;
}

Reckoner reach_reckoner() {
  Reckoner r;
  r.name = "reach";
  r.science = "reach";
  r.question = "Do cutter, shank and holder clear a wall or a screw head beside the path?";
  r.inputs = tool_inputs("length of the flutes");
  r.inputs.push_back(
      left_out(length("neck", "diameter of the neck; the shank is as thick as the cutter without one", 1e-5, 2)));
  r.inputs.push_back(choice("what", "what stands beside the path; a wall is the one that is cut",
                            {"wall", "screw head", "clamp", "part"}, ""));
  r.inputs.push_back(length("low", "its lower end above the tool's tip", 0, 10, "0 mm"));
  r.inputs.push_back(length("high", "its upper end above the tool's tip", 0, 10));
  r.inputs.push_back(length("distance", "from the tool's axis, at the nearest", 0, 10));
  r.inputs.push_back(length("clearance", "clearance wanted", 0, 1, "1 mm", "common practice"));
  r.outputs = {{"room", Kind::length, "least room; below 0 they touch"},
               {"tightest", Kind::number, "which stretch of the tool"}};
  r.formula = "for each stretch of the tool the larger of: distance - radius, and height between it and the obstacle";
  r.source = "geometry";
  r.range = "upright tools, upright obstacles";
  r.examples = {{{{"cutter", "16 mm"},
                  {"cutting", "36.5 mm"},
                  {"stick_out", "52 mm"},
                  {"holder", "44 mm"},
                  {"what", "screw head"},
                  {"low", "36.5 mm"},
                  {"high", "46.1 mm"},
                  {"distance", "18 mm"}},
                 {{"room", "5.9 mm"}, {"tightest", "holder"}},
                 1e-6,
                 "52 - 46.1 by hand"}};
  r.answer = answer_reach;
  return r;
}

}  // namespace

std::vector<finding::Reckoner> reckoners() { return {keyseat_reckoner(), reach_reckoner()}; }

}  // namespace fettle::reach
