// Reckoners of screws, anchors, jaws, vises, spring-back and chucks.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "calc/holding/anchors.h"
#include "calc/holding/chuck.h"
#include "calc/holding/distortion.h"
#include "calc/holding/jaw.h"
#include "calc/holding/reckoners.h"
#include "calc/holding/screws.h"
#include "calc/holding/vise.h"
#include "finding/reckoner_kit.h"
#include "ref/friction.h"
#include "ref/materials.h"
#include "ref/threads.h"

namespace fettle::holding {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerInput;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;

std::string force_words(double n) { return unit::print(n, Kind::force); }

ReckonerInput thread_input() { return text("thread", "the screw's thread, such as M8 or 3/8-16 UNC"); }
ReckonerInput condition() {
  return choice("screw", "how thread and head face are",
                {"dry", "oiled", "plain black", "zinc plated", "lubricated", "anti-seize"}, "oiled", "common practice");
}
ReckonerInput wrench() {
  return quantity("wrench", Kind::fraction, "scatter of the wrench, plus and minus", 0, 0.9, "6 %", "common practice");
}
ReckonerInput torque_input() { return quantity("torque", Kind::torque, "on the wrench", 1e-3, 1e5); }

struct Read {
  ref::ThreadData thread;
  ScrewThread sizes;
};
Outcome<Read> read_thread(const ReckonerValues& v) {
  const auto parsed = unit::parse_thread(v.text.at("thread"));
  if (!parsed.ok()) return parsed.problems();
  const auto t = ref::thread_data(*parsed);
  if (!t.ok()) return t.problems();
  return Read{*t, {t->major, t->pitch, t->pitch_diameter, t->root_diameter, t->stress_area}};
}
/// Middle of the ring that rubs: head of 1.5 d on a hole of 1.1 d.
double usual_ring(const ScrewThread& t) { return 1.3 * t.major; }

Reckoner preload_reckoner() {
  Reckoner r;
  r.name = "preload";
  r.science = "holding";
  r.question = "How hard does a screw clamp at this torque, at least and at most?";
  r.inputs = {thread_input(), torque_input(), condition(), wrench(),
              left_out(quantity("nut_factor", Kind::number, "K of T = K d F, when it was measured", 0.05, 0.6))};
  r.outputs = {{"preload", Kind::force, "as stated"},
               {"least", Kind::force, "this holds"},
               {"most", Kind::force, "this stresses"}};
  r.formula = "F = T / (K d); least and most over the band of K and the wrench";
  r.source = "nut factors: common practice and Shigley, from memory; band: VDI 2230";
  r.range = "threads of the table; steel screws tightened by hand wrench, slowly";
  r.examples = {{{{"thread", "M8"}, {"torque", "22 N·m"}, {"screw", "oiled"}, {"wrench", "6 %"}},
                 {{"preload", "18.3333 kN"}, {"least", "13.4635 kN"}, {"most", "26.9907 kN"}},
                 1e-4,
                 "worked by hand with K 0.15 (0.108 to 0.192)"},
                {{{"thread", "3/4-16 UNF"}, {"torque", "3750 lbf·in"}, {"nut_factor", "0.20"}, {"wrench", "0 %"}},
                 {{"preload", "25000 lbf"}},
                 1e-6,
                 "Shigley, Mechanical Engineering Design, example 8-3 with K 0.20, from memory"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    const auto t = read_thread(v);
    if (!t.ok()) return t.problems();
    const auto row = ref::nut_factor(v.text.at("screw"));
    if (!row.ok()) return row.problems();
    const double k = value(v, "nut_factor", row->value), w = v["wrench"], d = t->sizes.major;
    const double low = v.has("nut_factor") ? k : row->low, high = v.has("nut_factor") ? k : row->high;
    ReckonerAnswer a;
    a.number["preload"] = preload(v["torque"], k, d);
    a.number["least"] = preload(v["torque"] * (1 - w), high, d);
    a.number["most"] = preload(v["torque"] * (1 + w), low, d);
    a.sentence =
        fmt::format("{} clamps with {}: count on {}, stress with {}.", t->thread.designation,
                    force_words(a.number["preload"]), force_words(a.number["least"]), force_words(a.number["most"]));
    a.cautions = screw_cautions();
    return a;
  };
  return r;
}

Reckoner torque_reckoner() {
  Reckoner r;
  r.name = "screw_torque";
  r.science = "holding";
  r.question = "Which torque brings this preload, by thread and head friction?";
  r.inputs = {
      thread_input(), quantity("preload", Kind::force, "wanted", 1, 1e7),
      quantity("friction", Kind::number, "in the thread", 0.03, 0.5, "0.12", "VDI 2230 class B, middle"),
      left_out(quantity("head_friction", Kind::number, "under the head; as in the thread when left out", 0.03, 0.5)),
      left_out(length("ring", "mean diameter that rubs under the head; 1.3 d when left out", 1e-3, 0.2))};
  r.outputs = {{"torque", Kind::torque, "long formula"}, {"nut_factor", Kind::number, "K that it stands for"}};
  r.formula = "T = F (0.16 P + 0.58 d2 mu + mu_head D/2)";
  r.source = "VDI 2230 part 1, from memory";
  r.range = "60 degree threads of the table, friction 0.03 to 0.5";
  r.examples = {{{{"thread", "M12"}, {"preload", "41.98 kN"}, {"friction", "0.14"}, {"ring", "15.065 mm"}},
                 {{"torque", "93.1 N·m"}},
                 0.01,
                 "VDI 2230 part 1, table A1, 8.8 at 0.14, from memory"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    const auto t = read_thread(v);
    if (!t.ok()) return t.problems();
    const double ring = value(v, "ring", usual_ring(t->sizes));
    ReckonerAnswer a;
    a.number["torque"] =
        torque_long(v["preload"], t->sizes, v["friction"], value(v, "head_friction", v["friction"]), ring);
    a.number["nut_factor"] = a.number["torque"] / (v["preload"] * t->sizes.major);
    a.sentence = fmt::format("{} for {}, which is K {}.", unit::print(a.number["torque"], Kind::torque),
                             force_words(v["preload"]), base::fixed(a.number["nut_factor"], 3));
    a.cautions = screw_cautions();
    return a;
  };
  return r;
}

Reckoner stress_reckoner() {
  Reckoner r;
  r.name = "screw_stress";
  r.science = "holding";
  r.question = "How much of what the screw carries does this torque use, at the high end?";
  r.inputs = {thread_input(), text("strength", "property class: 8.8, 10.9, 12.9"), torque_input(), condition(),
              wrench()};
  r.outputs = {{"share", Kind::fraction, "the larger of tension over proof load and tension with twist over yield"},
               {"most", Kind::force, "preload at the high end"},
               {"proof_load", Kind::force, "of the screw"},
               {"torque_limit", Kind::torque, "at which the share is 1"}};
  r.formula = "F/(Sp As); sqrt(s^2 + 3 t^2)/Rp0.2, t/s = 1.5 d2/d0 (P/(pi d2) + 1.155 mu)";
  r.source = "ISO 898-1; VDI 2230 part 1, from memory";
  r.range = "threads and classes of the tables";
  r.examples = {{{{"thread", "M8"}, {"strength", "12.9"}, {"torque", "22 N·m"}, {"screw", "oiled"}, {"wrench", "6 %"}},
                 {{"most", "26.9907 kN"}, {"proof_load", "35.511 kN"}, {"share", "76.007 %"}},
                 1e-4,
                 "worked by hand: 26.9907 kN over 970 MPa x 36.609 mm2"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    const auto t = read_thread(v);
    if (!t.ok()) return t.problems();
    const auto s = ref::strength(v.text.at("strength"), t->sizes.major);
    if (!s.ok()) return s.problems();
    const auto row = ref::nut_factor(v.text.at("screw"));
    if (!row.ok()) return row.problems();
    ScrewInputs in;
    in.thread = t->sizes;
    in.torque = v["torque"], in.wrench_scatter = v["wrench"];
    in.nut_factor = row->value, in.nut_factor_low = row->low, in.nut_factor_high = row->high;
    in.head_mean = usual_ring(t->sizes);
    in.proof = s->proof, in.yield = s->yield;
    const auto x = screw(in);
    if (!x.ok()) return x.problems();
    ReckonerAnswer a;
    a.number = {{"share", x->share},
                {"most", x->high},
                {"proof_load", x->proof_load},
                {"torque_limit", v["torque"] / x->share}};
    a.sentence =
        fmt::format("Up to {} of what the screw carries; {} would use it up.", unit::print(x->share, Kind::fraction),
                    unit::print(a.number["torque_limit"], Kind::torque));
    a.cautions = screw_cautions();
    return a;
  };
  return r;
}

Reckoner pull_out_reckoner() {
  Reckoner r;
  r.name = "pull_out";
  r.science = "holding";
  r.question = "At which force does a tapped thread, or an insert, tear out of the plate?";
  r.inputs = {thread_input(), length("engaged", "thread really engaged", 1e-4, 0.5),
              quantity("shear_strength", Kind::pressure,
                       "of the plate: 0.6 of its tensile strength when nothing is known", 1e6, 1e10)};
  r.outputs = {{"force", Kind::force, "that tears it out"}, {"area", Kind::area, "that shears"}};
  r.formula = "shear strength x pi L/P d (P/2 + (d - D2)/sqrt 3), d least of the screw, D2 most of the nut";
  r.source = "FED-STD-H28/2 with limits of ISO 965-1, from memory";
  r.range =
      "screw stronger than the plate; metric limits, used as an estimate for inch threads; for an insert give its "
      "outer thread";
  r.examples = {{{{"thread", "M8"}, {"engaged", "12 mm"}, {"shear_strength", "207 MPa"}},
                 {{"force", "41.8 kN"}, {"area", "201.96 mm2"}},
                 2e-3,
                 "FED-STD-H28/2, computed"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    const auto t = read_thread(v);
    if (!t.ok()) return t.problems();
    ReckonerAnswer a;
    a.number["force"] = pull_out(t->sizes, v["engaged"], v["shear_strength"]);
    a.number["area"] = stripping_area_per_length(t->sizes) * v["engaged"];
    a.sentence = fmt::format("It tears out at {}.", force_words(a.number["force"]));
    a.cautions = screw_cautions();
    return a;
  };
  return r;
}

Reckoner engagement_reckoner() {
  Reckoner r;
  r.name = "engagement";
  r.science = "holding";
  r.question = "How much thread does this screw really engage, and does its tip have room?";
  r.inputs = {length("screw_length", "under the head", 1e-3, 1),
              length("grip", "part between head and plate", 0, 1),
              length("washer", "under the head", 0, 0.1, "0 mm"),
              length("stand_off", "pads above the plate", 0, 0.5, "0 mm"),
              length("thread", "thread that the plate offers", 0, 1),
              length("depth", "hole below the plate's top", 0, 1)};
  r.outputs = {{"engaged", Kind::length, "thread that carries"},
               {"room", Kind::length, "under the tip; negative: it bottoms"}};
  r.formula = "length - grip - washer - stand-off, at most the thread; depth - that";
  r.source = "geometry";
  r.range = "any";
  r.examples = {
      {{{"screw_length", "50 mm"}, {"grip", "36 mm"}, {"washer", "1.6 mm"}, {"thread", "12 mm"}, {"depth", "25 mm"}},
       {{"engaged", "12 mm"}, {"room", "12.6 mm"}},
       1e-9,
       "worked by hand, exact"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    const Engagement e = engagement(v["screw_length"], v["grip"], v["washer"], v["stand_off"], v["thread"], v["depth"]);
    ReckonerAnswer a;
    a.number = {{"engaged", e.engaged}, {"room", e.bottom}};
    a.sentence = e.bottom < 0 ? "The screw bottoms before it clamps."
                              : fmt::format("{} of thread carry; {} under the tip.",
                                            unit::print(e.engaged, Kind::length), unit::print(e.bottom, Kind::length));
    a.cautions = screw_cautions();
    return a;
  };
  return r;
}

Reckoner shoulder_reckoner() {
  Reckoner r;
  r.name = "shoulder";
  r.science = "holding";
  r.question = "Does a shoulder screw clamp, or does its shoulder stand on the plate?";
  r.inputs = {length("shoulder", "length of the shoulder, largest", 1e-4, 1),
              length("least_part", "thinnest part it may hold", 1e-4, 1)};
  r.outputs = {{"room", Kind::length, "above 0: it clamps"}};
  r.formula = "least part - shoulder";
  r.source = "geometry";
  r.range = "any";
  r.examples = {
      {{{"shoulder", "30 mm"}, {"least_part", "35.94 mm"}}, {{"room", "5.94 mm"}}, 1e-9, "worked by hand, exact"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    ReckonerAnswer a;
    a.number["room"] = shoulder_room(v["least_part"], v["shoulder"]);
    a.sentence = a.number["room"] > 0 ? "It clamps: the part is taller than the shoulder."
                                      : "It clamps nothing: the shoulder stands on the plate first.";
    a.cautions = screw_cautions();
    return a;
  };
  return r;
}

Reckoner chip_reckoner() {
  Reckoner r;
  r.name = "seat_chip";
  r.science = "holding";
  r.question = "What does a chip under one of four anchors do to the height at a place, and to the pull-down?";
  r.inputs = {length("chip", "thickness", 0, 0.01),
              length("span_x", "between anchors along X", 0.01, 10),
              length("span_y", "between anchors along Y", 0.01, 10),
              length("x", "place from the middle", -10, 10),
              length("y", "place from the middle", -10, 10),
              quantity("pull_down", Kind::force, "of each anchor", 0, 1e7),
              quantity("stiffness", Kind::stiffness, "of each seat", 1e3, 1e12, "150 N/µm", "from memory")};
  r.outputs = {{"rise", Kind::length, "at the place, chip under the anchor at +x +y", true},
               {"least", Kind::force, "that still presses a seat together"}};
  r.formula = "rigid pallet on springs that push only";
  r.source = "balance, exact; closed form while all seats stay closed: chip (1/4 + x/(2 X) + y/(2 Y))";
  r.range = "four anchors in a rectangle, a pallet stiff against its seats";
  r.examples = {{{{"chip", "0.05 mm"},
                  {"span_x", "210 mm"},
                  {"span_y", "150 mm"},
                  {"x", "78 mm"},
                  {"y", "57 mm"},
                  {"pull_down", "10 kN"}},
                 {{"rise", "0.0312857 mm"}, {"least", "8.125 kN"}},
                 1e-5,
                 "closed form: 0.05 (1/4 + 78/420 + 57/300), 10 kN - k c/4"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    AnchorInputs in;
    for (double sy : {-0.5, 0.5})
      for (double sx : {-0.5, 0.5})
        in.seats.push_back({sx * v["span_x"], sy * v["span_y"], v["pull_down"], v["stiffness"], 0});
    const auto before = on_anchors(in, {});
    in.seats[3].chip = v["chip"];
    const auto after = on_anchors(in, {});
    if (!before.ok()) return before.problems();
    if (!after.ok()) return after.problems();
    ReckonerAnswer a;
    a.number["rise"] = rises(*after, v["x"], v["y"]) - rises(*before, v["x"], v["y"]);
    a.number["least"] = after->least;
    unit::Style fine;
    fine.gauge = true;
    a.sentence = fmt::format("The place rises by {}; the least pressed seat keeps {}.",
                             unit::print(a.number["rise"], Kind::length, fine), force_words(after->least));
    return a;
  };
  return r;
}

const char* const jaw_words =
    "A part that the jaw does not hold is thrown by the cutter. Local rules and licensed practice decide.";

std::vector<ReckonerInput> jaw_inputs() {
  return {count("parts", "side by side under the jaw", 2, 16),
          length("pitch", "from part to part", 1e-3, 2),
          quantity("force", Kind::force, "all together", 1, 1e8),
          quantity("need", Kind::force, "that each part needs", 0, 1e8),
          length("spread", "one standard deviation of the parts' width", 0, 0.01),
          length("face", "of each part that touches the jaw; 0: in its middle", 0, 2, "0 mm"),
          length("bar_length", "of a jaw that bends; 0: a rigid jaw", 0, 5, "0 mm"),
          length("bar_height", "across the force", 0, 1, "50 mm", "a usual bar"),
          length("bar_thickness", "in the way of the force", 0, 1, "40 mm", "a usual bar"),
          length("push_at", "two pushes, each so far from the middle; 0: one in the middle", 0, 5, "0 mm"),
          length("push_width", "over which each presses evenly", 0, 5, "0 mm")};
}
JawInputs jaw_of(const ReckonerValues& v, double stiffness) {
  JawInputs in;
  const int n = static_cast<int>(v["parts"]);
  for (int i = 0; i < n; ++i) in.at.push_back((i - 0.5 * (n - 1)) * v["pitch"]);
  in.stiffness.assign(in.at.size(), stiffness);
  in.force = v["force"], in.need = v["need"], in.spread = v["spread"];
  in.face = v["face"], in.strips = 7;
  if (v["bar_length"] > 0) in.bar = {v["bar_length"], v["bar_height"], v["bar_thickness"], 210e9, 0.3};
  if (v["push_at"] > 0) in.pushes = {{-v["push_at"], v["push_width"], 1}, {v["push_at"], v["push_width"], 1}};
  return in;
}

Reckoner jaw_reckoner() {
  Reckoner r;
  r.name = "jaw_loads";
  r.science = "holding";
  r.question = "Several parts under one jaw: what does each get, and how often is one loose?";
  r.inputs = jaw_inputs();
  r.inputs.push_back(quantity("stiffness", Kind::stiffness, "of one part between the jaws, all in series", 1e3, 1e12));
  r.outputs = {{"share", Kind::fraction, "of loads in which a part gets less than it needs"},
               {"least", Kind::force, "least force at equal widths"},
               {"most", Kind::force, "most force at equal widths"}};
  r.formula = "F_i = k_i max(0, w_i - advance - yaw y_i - bending); sums of force and moment balance";
  r.source = "unilateral springs under a shear-flexible steel bar, solved exactly";
  r.range = "a jaw that turns freely; widths normal; parts alike";
  r.examples = {{{{"parts", "3"},
                  {"pitch", "158 mm"},
                  {"force", "25 kN"},
                  {"need", "3 kN"},
                  {"spread", "0.012 mm"},
                  {"stiffness", "800 kN/mm"}},
                 {{"least", "8.33333 kN"}, {"share", "33.4905 %"}},
                 2e-3,
                 "closed form, rigid jaw: Q(5333/7838) + Q(5333/3919) of the normal integral"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    const auto x = jaw_loads(jaw_of(v, v["stiffness"]));
    if (!x.ok()) return x.problems();
    ReckonerAnswer a;
    a.number["share"] = x->share;
    a.number["least"] = x->mean_least;
    a.number["most"] = *std::max_element(x->planned.begin(), x->planned.end());
    a.sentence =
        fmt::format("{} to {} at equal widths; a part is loose in {} of loads.", force_words(a.number["least"]),
                    force_words(a.number["most"]), unit::print(x->share, Kind::fraction));
    a.cautions = {jaw_words};
    return a;
  };
  return r;
}

Reckoner pad_reckoner() {
  Reckoner r;
  r.name = "pad_softness";
  r.science = "holding";
  r.question = "How soft must pads under one jaw be so that unequal parts are all held?";
  r.inputs = jaw_inputs();
  r.inputs.push_back(quantity("rest", Kind::stiffness, "of one part without its pad", 1e3, 1e12));
  r.inputs.push_back(quantity("limit", Kind::fraction, "share of loads that may have a loose part", 1e-9, 0.5, "0.1 %",
                              "common practice"));
  r.outputs = {{"pad", Kind::stiffness, "or softer"},
               {"rule", Kind::stiffness, "short rule with six spreads of width"}};
  r.formula = "searched; short rule (F/N - need) / difference of widths";
  r.source = "as jaw_loads; short rule common practice";
  r.range = "as jaw_loads; a pad that does not bottom out";
  r.examples = {{{{"parts", "3"},
                  {"pitch", "158 mm"},
                  {"force", "25 kN"},
                  {"need", "3 kN"},
                  {"spread", "0.012 mm"},
                  {"rest", "1e9 N/mm"}},
                 {{"rule", "74.0741 kN/mm"}, {"pad", "176.1 kN/mm"}},
                 2e-3,
                 "closed form, rigid jaw: 5333.3 N = 3.0902 x 2 k 0.012 mm sqrt 6/6"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    const JawInputs in = jaw_of(v, v["rest"]);
    const auto pad = softest_pad_needed(in, v["rest"], v["limit"], 1e4);
    if (!pad.ok()) return pad.problems();
    ReckonerAnswer a;
    a.number["pad"] = *pad;
    a.number["rule"] = pad_rule(v["force"], static_cast<int>(v["parts"]), v["need"], 6 * std::max(v["spread"], 1e-12));
    a.sentence = fmt::format("A pad of {} under each part, or softer; the short rule says {}.",
                             unit::print(*pad, Kind::stiffness), unit::print(a.number["rule"], Kind::stiffness));
    a.cautions = {jaw_words};
    return a;
  };
  return r;
}

Reckoner vise_reckoner() {
  Reckoner r;
  r.name = "vise_row";
  r.science = "holding";
  r.question = "Parts squeezed through each other in one vise: how far is the cut from sliding or tipping them?";
  r.inputs = {
      count("parts", "in series", 1, 1000),
      quantity("force", Kind::force, "of the vise", 1, 1e8),
      quantity("friction", Kind::number, "low end", 0.01, 2, "0.12", "low end for smooth jaws, common practice"),
      length("width", "of the squeezed face along the jaw", 1e-3, 5),
      length("held", "height of the squeezed face", 1e-3, 5),
      length("arm", "cut above the middle of the squeezed face", 0, 5),
      quantity("along_row", Kind::force, "of the cut, along the row", 0, 1e7, "0 N"),
      quantity("along_jaw", Kind::force, "of the cut, along the jaw", 0, 1e7, "0 N"),
      quantity("up", Kind::force, "of the cut, out of the vise", 0, 1e7, "0 N")};
  r.outputs = {{"slides", Kind::number, "times the cut may grow before a part slides or turns; 1e9 at most"},
               {"tips", Kind::number, "times before the stack tips; 1e9 at most"}};
  r.formula = "2 mu F against sqrt(pull^2 + turn^2) + mu x along the row; F h/2 against H z";
  r.source = "balance of forces; friction even over the face";
  r.range = "flat faces, even pressure, jaws that stay parallel";
  r.examples = {{{{"parts", "5"},
                  {"force", "20 kN"},
                  {"friction", "0.15"},
                  {"width", "132 mm"},
                  {"held", "38 mm"},
                  {"arm", "76 mm"},
                  {"along_row", "1000 N"}},
                 {{"tips", "5"}, {"slides", "40"}},
                 1e-9,
                 "worked by hand, exact: 20 kN x 19 mm / (1 kN x 76 mm); 2 F / 1 kN"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    ViseInputs in;
    in.parts = static_cast<int>(v["parts"]);
    in.force = v["force"], in.friction = v["friction"], in.width = v["width"], in.held = v["held"], in.arm = v["arm"];
    in.along_row = v["along_row"], in.along_jaw = v["along_jaw"], in.up = v["up"];
    const auto x = vise_series(in);
    if (!x.ok()) return x.problems();
    ReckonerAnswer a;
    a.number["slides"] = std::min(x->slip_factor, 1e9);
    a.number["tips"] = std::min(x->tilt_factor, 1e9);
    a.sentence = fmt::format("The cut may grow {} times before the stack {}.",
                             base::fixed(std::min(a.number["slides"], a.number["tips"]), 2),
                             x->tilt_factor < x->slip_factor ? "tips" : "slips");
    a.cautions = {jaw_words};
    return a;
  };
  return r;
}

Reckoner bore_reckoner() {
  Reckoner r;
  r.name = "squeezed_bore";
  r.science = "holding";
  r.question = "How far out of round does a bore spring that was bored in a squeezed part?";
  r.inputs = {quantity("force", Kind::force, "on the part", 0, 1e7),
              quantity("section", Kind::area, "of the part that carries it", 1e-6, 10),
              length("bore", "diameter", 1e-4, 5), quantity("elasticity", Kind::pressure, "of the part", 1e9, 1e12)};
  r.outputs = {{"out_of_round", Kind::length, "of the radius, peak to valley", true}};
  r.formula = "4 p r / E, p = force / section";
  r.source = "hole in a wide plate under even pressure, Kirsch 1898";
  r.range = "body at least four bores wide, even pressure; a thin ring gives far more";
  r.examples = {{{{"force", "10 kN"}, {"section", "1000 mm2"}, {"bore", "22 mm"}, {"elasticity", "110 GPa"}},
                 {{"out_of_round", "4 µm"}},
                 1e-9,
                 "closed form: 4 x 10 MPa x 11 mm / 110 GPa"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    ReckonerAnswer a;
    a.number["out_of_round"] = squeezed_bore(v["force"] / v["section"], v["bore"], v["elasticity"]).out_of_round;
    unit::Style fine;
    fine.gauge = true;
    a.sentence = fmt::format("It springs {} out of round when the clamp lets go.",
                             unit::print(a.number["out_of_round"], Kind::length, fine));
    return a;
  };
  return r;
}

Reckoner chuck_reckoner() {
  Reckoner r;
  r.name = "chucked_warp";
  r.science = "holding";
  r.question = "A bowed casting on a magnetic chuck: how much springs back after grinding, how much rocks?";
  r.inputs = {
      length("warp", "bow of the face that lies down", 0, 0.1),
      length("span", "over which it is bowed", 1e-3, 5),
      length("thickness", "of the casting", 1e-4, 1),
      quantity("elasticity", Kind::pressure, "of the casting", 1e9, 1e12),
      quantity("poisson", Kind::number, "of the casting", 0, 0.49, "0.26", "grey iron, from memory"),
      quantity("pull", Kind::pressure, "of the chuck", 1e3, 1e8, "0.6 MPa", "from memory: 0.3 to 1 MPa on thick iron")};
  r.outputs = {{"springs_back", Kind::length, "bow that the ground face keeps, unshimmed", true},
               {"rocks", Kind::length, "bow that stays off the chuck", true},
               {"flat_needs", Kind::pressure, "pull that would lay it flat"}};
  r.formula = "min(warp, 0.00406 p a^4 / D), D = E t^3 / (12 (1 - nu^2))";
  r.source = "Timoshenko, Plates and Shells, square plate on its edges, from memory";
  r.range = "thinner than a fifth of the span; a thicker one gives a little more by shear and rocks all the same";
  r.examples = {{{{"warp", "0.3 mm"},
                  {"span", "100 mm"},
                  {"thickness", "4 mm"},
                  {"elasticity", "110 GPa"},
                  {"poisson", "0"},
                  {"pull", "0.6 MPa"}},
                 {{"springs_back", "0.3 mm"}, {"flat_needs", "0.433498 MPa"}, {"rocks", "0 mm"}},
                 1e-5,
                 "worked by hand: D = 586.667 N·m, 0.3 mm x D / (0.00406 a^4)"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    ChuckInputs in;
    in.warp = v["warp"], in.span = v["span"], in.thickness = v["thickness"], in.modulus = v["elasticity"];
    in.poisson = v["poisson"], in.pull = v["pull"];
    const auto x = on_chuck(in);
    if (!x.ok()) return x.problems();
    ReckonerAnswer a;
    a.number = {{"springs_back", x->pulled_out}, {"rocks", x->stands_off}, {"flat_needs", x->flat_needs}};
    unit::Style fine;
    fine.gauge = true;
    a.sentence =
        fmt::format("{} of the bow springs back after grinding, {} stays off the chuck: shim the first side.",
                    unit::print(x->pulled_out, Kind::length, fine), unit::print(x->stands_off, Kind::length, fine));
    if (x->thick) a.notes.push_back("thicker than a fifth of its span: bending alone understates how it gives");
    a.cautions = {
        "A casting that rocks can be thrown by the wheel: shim and block it. Local rules and licensed practice "
        "decide."};
    return a;
  };
  return r;
}

}  // namespace

std::vector<Reckoner> screw_reckoners() {
  return {preload_reckoner(),    torque_reckoner(),   stress_reckoner(), pull_out_reckoner(),
          engagement_reckoner(), shoulder_reckoner(), chip_reckoner(),   jaw_reckoner(),
          pad_reckoner(),        vise_reckoner(),     bore_reckoner(),   chuck_reckoner()};
}

}  // namespace fettle::holding
