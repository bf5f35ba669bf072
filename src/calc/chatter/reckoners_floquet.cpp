// The reckoner of one cut from tooth to tooth.
#include "calc/chatter/reckoners_floquet.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "calc/chatter/floquet.h"
#include "finding/reckoner_kit.h"

namespace fettle::chatter {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;

constexpr double two_pi = 6.283185307179586;
constexpr double deepest = 0.2;  // m

constexpr double most_waves = 12;

FloquetInputs inputs_of(const ReckonerValues& v) {
  FloquetInputs in;
  const double omega = two_pi * v["frequency"], shape = omega / std::sqrt(v["stiffness"]);
  const std::string& along = v.text.at("along");
  if (along != "across") in.responses.push_back({{{omega, v["damping"], {shape, 0, 0}}}, {}});
  if (along != "feed") in.responses.push_back({{{omega, v["damping"], {0, shape, 0}}}, {}});
  const Arc arc = side_arc(v["width"], v["diameter"], v.text.at("way") == "down");
  in.cutter.tooth_angles = even_teeth(static_cast<int>(v["teeth"]));
  in.cutter.entry = arc.entry, in.cutter.exit = arc.exit;
  in.cutter.kt = v["force"], in.cutter.kr = v["radial"], in.cutter.diameter = v["diameter"];
  in.turns = v["speed"] / two_pi;
  in.flank = v["flank"];
  return in;
}

Outcome<ReckonerAnswer> answer_growth(const ReckonerValues& v) {
  if (v["width"] > v["diameter"])
    return bad("the cut is wider than its cutter", "width " + base::fixed(v["width"] * 1e3, 3) + " mm",
               "at most the diameter");
  const FloquetInputs in = inputs_of(v);
  ReckonerAnswer a;
  // At the bench an answer comes at once: what would take minutes is left to the averaged limit.
  const double arc = in.cutter.exit - in.cutter.entry;
  const double waves = v["frequency"] * arc / two_pi / in.turns, engaged = std::max(1.0, arc * v["teeth"] / two_pi);
  if (waves * engaged > most_waves) {
    a.beyond = fmt::format(
        "{:.0f} waves in the cut at once, over all teeth, are more than is followed here ({:.0f}): ask "
        "chatter_depth for the averaged limit",
        waves * engaged, most_waves);
    a.sentence = "It is not followed from tooth to tooth: " + a.beyond + ".";
    return a;
  }
  const Multiplier m = multiplier(in, v["depth"]);
  const FirstLoss f = m.ok ? first_loss(in, std::min(1e-5, v["depth"] / 4), deepest, 0.1) : FirstLoss{};
  if (!m.ok || !f.ok) {
    a.beyond = m.ok ? f.why : m.why;
    a.sentence = "It cannot be answered from tooth to tooth: " + a.beyond + ".";
    return a;
  }
  const bool none = !std::isfinite(f.depth);
  a.number["growth"] = m.radius;
  a.number["first_loss"] = none ? deepest : f.depth;
  a.number["hum"] = none ? m.frequency : f.frequency;
  a.sentence = fmt::format("A wave grows {} times from tooth to tooth at {} mm: {}. ", base::fixed(m.radius, 4),
                           base::fixed(v["depth"] * 1e3, 3), m.radius < 1 ? "it dies away" : "it sings") +
               (none ? "No depth up to 200 mm sings."
                     : fmt::format("It first sings at {} mm, with {} Hz.", base::fixed(f.depth * 1e3, 3),
                                   base::fixed(f.frequency, 0)));
  if (none) a.notes.push_back("quiet as deep as was looked: 200 mm stands for more");
  if (f.doubling) a.notes.push_back("the motion there repeats every second tooth");
  if (!m.converged) a.beyond = "the growth did not settle with more nodes: very deep, or very slow";
  else if (!none && !f.converged) a.beyond = f.why.empty() ? "the first loud depth did not settle" : f.why;
  a.cautions = {"how tool and part give way must be measured: one mode told wrongly turns quiet into loud"};
  return a;
}

Reckoner growth() {
  Reckoner r;
  r.name = "tooth_growth";
  r.science = "chatter";
  r.question = "Does a wave grow from one tooth to the next, and at which depth first?";
  r.inputs = {quantity("frequency", Kind::frequency, "of the mode that swings", 1, 1e5),
              quantity("stiffness", Kind::stiffness, "of the mode, at the cut", 1e3, 1e12),
              quantity("damping", Kind::number, "of the mode, as a share of critical", 0, 0.99),
              choice("along", "which way it swings: along the feed, across it, or both alike",
                     {"feed", "across", "both"}, "both", "a round tool gives way alike all round"),
              count("teeth", "teeth, evenly spaced", 1, 60),
              quantity("speed", Kind::rotation, "of the spindle", 1, 1e5),
              length("diameter", "of the cutter", 1e-4, 2),
              length("width", "radial width of the cut; the diameter for a slot", 1e-7, 2),
              choice("way", "down: the chip starts thick; up: thin", {"down", "up"}, "down", "common practice"),
              quantity("force", Kind::pressure, "tangential force per chip area", 1e6, 1e11),
              quantity("radial", Kind::number, "radial force as a share of it", -2, 5),
              length("depth", "axial depth of the cut", 1e-6, deepest),
              quantity("flank", Kind::stiffness, "force of the flank per depth and slope of the wave", 0, 1e8, "0 N/µm",
                       "none unless said")};
  r.outputs = {{"growth", Kind::number, "of a wave from tooth to tooth; below 1 it dies away"},
               {"first_loss", Kind::length, "least depth that sings"},
               {"hum", Kind::frequency, "of what sings there"}};
  r.formula =
      "x'' + 2 z w x' + w^2 x = b w^2/k sum over engaged teeth of n . f (x(t) - x(t - T)); the largest |mu| of the map "
      "over T";
  r.source =
      "model and parameters: T. Insperger, G. Stepan, Int. J. Numer. Meth. Eng. 61 (2004) 117-141 (from memory); "
      "solved "
      "by collocation, own derivation";
  r.range = "even teeth, no helix, one mode along each way; up to 12 waves of the mode in the cut, over all teeth";
  const std::vector<std::pair<std::string, std::string>> slot{{"frequency", "922 Hz"}, {"stiffness", "1.34004965 N/µm"},
                                                              {"damping", "0.011"},    {"along", "feed"},
                                                              {"teeth", "2"},          {"speed", "5000 rpm"},
                                                              {"diameter", "20 mm"},   {"width", "20 mm"},
                                                              {"force", "600 N/mm²"},  {"radial", "0.3333333333"}};
  const auto with = [&](const std::string& depth) {
    auto g = slot;
    g.emplace_back("depth", depth);
    return g;
  };
  const std::string source =
      "largest multiplier of the full slot and its first loud depth, an independent collocation of 40 to 120 nodes, "
      "computed";
  r.examples = {{with("0.5 mm"), {{"growth", "1.073976"}, {"first_loss", "0.4086 mm"}}, 2e-4, source}};
  r.answer = answer_growth;
  return r;
}

}  // namespace

std::vector<Reckoner> floquet_reckoners() { return {growth()}; }

}  // namespace fettle::chatter
