// The reckoners of depth over speed and of the rubbing flank.
#include "calc/chatter/reckoners_lobes.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <utility>

#include "base/text.h"
#include "calc/chatter/at_speed.h"
#include "calc/chatter/damping.h"
#include "calc/chatter/lobes.h"
#include "finding/reckoner_kit.h"

namespace fettle::chatter {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerInput;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;

constexpr double two_pi = 6.283185307179586;

std::string say_in(double si, Kind kind) { return unit::print(si, kind, {}); }
std::string rpm(double turns) { return base::fixed(60 * turns, 0) + " rpm"; }

/// Without the numbers that are not: `beyond` says why they are missing.
ReckonerAnswer finite(ReckonerAnswer a) {
  for (auto it = a.number.begin(); it != a.number.end();)
    it = std::isfinite(it->second) ? std::next(it) : a.number.erase(it);
  return a;
}

maths::PointResponse swaying(double frequency, double stiffness, double damping, frame::Vec3 along) {
  const double w = two_pi * frequency, s = w / std::sqrt(stiffness);
  return {{{w, damping, {s * along.x, s * along.y, s * along.z}}}, {}};
}

AtSpeedInputs cut_of(const ReckonerValues& v) {
  AtSpeedInputs in;
  const double f = v["frequency"], k = v["stiffness"], z = v["damping"];
  in.responses = {swaying(f, k, z, {1, 0, 0}), swaying(value(v, "frequency_across", f), value(v, "stiffness_across", k),
                                                       value(v, "damping_across", z), {0, 1, 0})};
  const Arc arc = side_arc(v["width"], v["diameter"], v.text.at("how") == "down");
  in.entry = arc.entry, in.exit = arc.exit;
  in.kt = v["kt"], in.kr = v["kr"];
  in.turns = v["speed"] / two_pi;
  in.tooth_angles = even_teeth(static_cast<int>(v["teeth"]));
  in.diameter = v["diameter"];
  in.highest = 1e6;
  return in;
}
LobesInputs lobes_of(const AtSpeedInputs& cut) {
  LobesInputs in;
  in.responses = cut.responses;
  in.cutter.tooth_angles = cut.tooth_angles, in.cutter.entry = cut.entry, in.cutter.exit = cut.exit;
  in.cutter.kt = cut.kt, in.cutter.kr = cut.kr, in.cutter.diameter = cut.diameter;
  in.slowest = 0.8 * cut.turns, in.fastest = 1.2 * cut.turns, in.speeds = 401;
  return in;
}

Outcome<ReckonerAnswer> answer_depth(const ReckonerValues& v) {
  if (v["width"] > v["diameter"])
    return bad("the width of cut is larger than the cutter", say_in(v["width"], Kind::length), "at most the diameter");
  const AtSpeedInputs cut = cut_of(v);
  const AtSpeedResult here = depth_at_speed(cut);
  if (!here.ok) return bad(here.why, "", "numbers as tapped");
  const LobesResult around = lobes(lobes_of(cut));
  if (!around.ok) return bad(around.why, "", "numbers as tapped");
  const auto best =
      static_cast<std::size_t>(std::max_element(around.limit.begin(), around.limit.end()) - around.limit.begin());
  ReckonerAnswer a;
  a.number = {{"depth", here.depth},
              {"frequency", here.frequency},
              {"least", around.least},
              {"better_speed", two_pi * around.turns[best]},
              {"depth_there", around.limit[best]}};
  a.cautions = {"stay within the speed printed on tool and holder, and within the machine's"};
  if (cut.exit - cut.entry < two_pi / v["teeth"])
    a.notes.push_back("teeth cut one by one: forces come in knocks, and the limit may lie lower than this mean says");
  if (!std::isfinite(here.depth) || !std::isfinite(around.limit[best])) {
    a.beyond = "no depth was found that sings: the mean of the forces says nothing there";
    a.sentence = "No depth was found that sings.";
    return finite(std::move(a));
  }
  a.sentence = fmt::format("Quiet to {} at {}; at any speed to {}. Best within a fifth: {}, quiet to {}.",
                           say_in(here.depth, Kind::length), rpm(cut.turns), say_in(around.least, Kind::length),
                           rpm(around.turns[best]), say_in(around.limit[best], Kind::length));
  return a;
}

std::vector<ReckonerInput> mode_inputs(const std::string& where) {
  return {quantity("frequency", Kind::frequency, "natural, " + where, 1, 2e4),
          quantity("stiffness", Kind::stiffness, "modal, " + where, 1e3, 1e12),
          quantity("damping", Kind::number, "ratio: 0.03 is three per cent of critical", 1e-4, 0.5)};
}

std::vector<finding::WorkedExample> depth_examples() {
  const std::string source = "zero-order method (Altintas and Budak 1995), computed by an independent script";
  return {{{{"frequency", "922 Hz"},
            {"stiffness", "1.3400496 N/µm"},
            {"damping", "0.011"},
            {"teeth", "2"},
            {"diameter", "20 mm"},
            {"width", "20 mm"},
            {"kt", "600 N/mm²"},
            {"kr", "0.3333333"},
            {"speed", "10000 rpm"}},
           {{"depth", "0.0736 mm"}, {"least", "0.04793 mm"}},
           1.2e-3,
           source},
          {{{"frequency", "600 Hz"},
            {"stiffness", "25 N/µm"},
            {"damping", "0.03"},
            {"frequency_across", "800 Hz"},
            {"stiffness_across", "40 N/µm"},
            {"teeth", "5"},
            {"diameter", "20 mm"},
            {"width", "0.938 mm"},
            {"kt", "2100 N/mm²"},
            {"kr", "0.4"},
            {"speed", "3000 rpm"}},
           {{"least", "6.357 mm"}},
           1e-3,
           source}};
}

Reckoner depth_reckoner() {
  Reckoner r;
  r.name = "chatter_depth";
  r.science = "chatter";
  r.question = "How deep may an end mill cut at this speed before it sings, and which speed nearby allows more?";
  r.inputs = mode_inputs("of the tool's tip along the feed, as tapped");
  for (const ReckonerInput& i :
       {left_out(quantity("frequency_across", Kind::frequency, "across the feed; as along it unless said", 1, 2e4)),
        left_out(quantity("stiffness_across", Kind::stiffness, "across the feed; as along it unless said", 1e3, 1e12)),
        left_out(quantity("damping_across", Kind::number, "across the feed; as along it unless said", 1e-4, 0.5)),
        count("teeth", "evenly spaced", 1, 200), length("diameter", "of the cutter", 1e-4, 2),
        length("width", "radial, of the metal", 1e-5, 2),
        quantity("kt", Kind::pressure, "tangential force per area of chip, at the chip's mean thickness", 1e6, 2e10),
        quantity("kr", Kind::number, "radial over tangential force", 0, 2),
        quantity("speed", Kind::rotation, "of the spindle", 1, 1e5),
        choice("how", "down or up milling", {"down", "up"}, "down", "common practice")})
    r.inputs.push_back(i);
  r.outputs = {{"depth", Kind::length, "axial, where it starts at this speed"},
               {"frequency", Kind::frequency, "of what starts"},
               {"least", Kind::length, "axial, quiet at every speed"},
               {"better_speed", Kind::rotation, "of those within a fifth, the one that allows most"},
               {"depth_there", Kind::length, "axial, where it starts at that speed"}};
  r.formula =
      "b = pi / (N kt Re l) with l the eigenvalues of G A over the frequency; n = w / (N (pi + 2 arg l + 2 pi j))";
  r.source = "Y. Altintas and E. Budak, CIRP Annals 44 (1995) 357 (from memory)";
  r.range =
      "square shoulder, no helix, arcs not much shorter than the tooth spacing; without the flank's rubbing, which "
      "allows more at low speed";
  r.examples = depth_examples();
  r.answer = answer_depth;
  return r;
}

Outcome<ReckonerAnswer> answer_rub(const ReckonerValues& v) {
  const RubbingResult b =
      rubbing_limit({v["frequency"], v["stiffness"], v["damping"], v["ks"], v["coefficient"], v["speed"]});
  if (!b.ok) return bad(b.why, "", "numbers above zero");
  ReckonerAnswer a;
  a.number = {{"depth", b.depth}, {"without", b.depth_without}, {"damping_there", b.damping}, {"slow", b.slow_enough}};
  if (!std::isfinite(b.depth)) {
    a.sentence = "The formula finds no depth that sings.";
    a.beyond = fmt::format("below {} the flank damps more than any depth excites: trust a recording, not this number",
                           say_in(b.slow_enough, Kind::speed));
    return finite(std::move(a));
  }
  a.sentence = fmt::format("Quiet to {} at any spindle speed near this one; without the flank to {}.",
                           say_in(b.depth, Kind::length), say_in(b.depth_without, Kind::length));
  a.notes = {"the flank's force is known to a factor of ten at best: listen to the first part"};
  return a;
}

Reckoner rub_reckoner() {
  Reckoner r;
  r.name = "rubbing_flank";
  r.science = "chatter";
  r.question = "How much deeper may one mode be cut because the flank rubs on the wave?";
  r.inputs = mode_inputs("of what sways");
  for (const ReckonerInput& i :
       {quantity("ks", Kind::pressure, "force along the swaying per area of chip", 1e6, 2e10),
        quantity("coefficient", Kind::stiffness,
                 "C: N per m of depth and unit slope of the wave; indentation x land²/2, iron with a land of 60 µm "
                 "0.007 to 0.18 N/µm (from memory)",
                 0, 1e8),
        quantity("speed", Kind::speed, "cutting speed", 1e-3, 1e3)})
    r.inputs.push_back(i);
  r.outputs = {{"depth", Kind::length, "where the worst lobe starts"},
               {"without", Kind::length, "the same without the flank"},
               {"damping_there", Kind::number, "ratio at that depth, the flank's part included"},
               {"slow", Kind::speed, "below this no depth sings, says the formula"}};
  r.formula = "b = 2 k z (1 + z) / Ks, z = damping + C b / (2 v sqrt(k m))";
  r.source = "J. Tlusty and M. Polacek 1963; flank: D. W. Wu, J. Eng. Ind. 111 (1989) 37 (from memory)";
  r.range = "one mode, one direction, waves long against the land";
  r.examples = {{{{"frequency", "600 Hz"},
                  {"stiffness", "8 N/µm"},
                  {"damping", "0.03"},
                  {"ks", "600 N/mm²"},
                  {"coefficient", "0 N/µm"},
                  {"speed", "120 m/min"}},
                 {{"depth", "0.824 mm"}, {"without", "0.824 mm"}, {"damping_there", "0.03"}},
                 1e-9,
                 "2 x 8e6 x 0.03 x 1.03 / 6e8 by hand"},
                {{{"frequency", "600 Hz"},
                  {"stiffness", "8 N/µm"},
                  {"damping", "0.03"},
                  {"ks", "600 N/mm²"},
                  {"coefficient", "0.02 N/µm"},
                  {"speed", "60 m/min"}},
                 {{"depth", "0.95124504 mm"},
                  {"without", "0.824 mm"},
                  {"damping_there", "0.03448264"},
                  {"slow", "10.64297 m/min"}},
                 1e-6,
                 "the implicit equation iterated from no depth, computed by an independent script"}};
  r.answer = answer_rub;
  return r;
}

}  // namespace

std::vector<Reckoner> lobe_reckoners() { return {depth_reckoner(), rub_reckoner()}; }

}  // namespace fettle::chatter
