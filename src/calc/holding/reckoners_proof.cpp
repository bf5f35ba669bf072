// Reckoners of the proof: clamp force by safety, slide or tip, a plate under screws.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "calc/holding/proof.h"
#include "calc/holding/reckoners.h"
#include "finding/reckoner_kit.h"

namespace fettle::holding {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerInput;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;

const char* const source = "statics with dry friction; worked cases in calc/holding/README.md";

ReckonerInput friction_input() {
  return quantity("friction", Kind::number, "low end of what can be relied on: 0.08 wet, 0.15 dry", 0.001, 2);
}
ReckonerInput newtons(std::string name, std::string help, double low, std::string fallback = {}) {
  return quantity(std::move(name), Kind::force, std::move(help), low, 1e8, std::move(fallback), "none unless said");
}
std::string said(double n) { return unit::print(n, Kind::force); }

Reckoner clamp_force() {
  Reckoner r;
  r.name = "clamp_force";
  r.science = "holding";
  r.question = "How hard must clamps press so that friction holds a sideways force?";
  r.inputs = {
      newtons("sideways", "cutting force along the seat", 0),
      newtons("upward", "cutting force away from the seat", 0, "0 N"),
      newtons("weight", "weight of the part, pressing it on", 0, "0 N"),
      friction_input(),
      quantity("safety", Kind::number, "times the sideways force", 1, 20, "2", "common practice"),
      choice("clamps", "lean with the part (screw head, swinging strap), or are held sideways (jaw, strap on posts)",
             {"lean", "held"}, "lean")};
  r.outputs = {{"force", Kind::force, "all clamps together"}};
  r.formula =
      "force = safety x sideways / friction - weight + upward; where clamps are held sideways both faces rub and "
      "half of safety x sideways / friction is enough";
  r.source = source;
  r.range = "all forces through the middle: nothing tips or turns (see slide_or_tip)";
  r.examples = {
      {{{"sideways", "1200 N"}, {"upward", "300 N"}, {"weight", "150 N"}, {"friction", "0.2"}, {"safety", "2"}},
       {{"force", "12150 N"}},
       1e-9,
       "worked by hand: 2 x 1200 / 0.2 - 150 + 300"},
      {{{"sideways", "1200 N"}, {"friction", "0.2"}, {"safety", "2"}, {"clamps", "held"}},
       {{"force", "6000 N"}},
       1e-9,
       "worked by hand: both faces resist"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    ReckonerAnswer a;
    const double need = v["safety"] * v["sideways"] / v["friction"], off = v["upward"] - v["weight"];
    const bool held = v.text.at("clamps") == "held";
    // Both faces: mu (N + N - off) = safety x sideways, and the part must stay on its seat.
    const double force = held ? std::max(0.5 * (need + off), off) : need + off;
    a.number["force"] = std::max(0.0, force);
    a.sentence = fmt::format("The clamps must press with {} together.", said(a.number["force"]));
    a.notes = {"one tool, one direction: the finding `holds` of a plan looks at every place and direction"};
    a.cautions = holding_cautions();
    return a;
  };
  return r;
}

Reckoner slide_or_tip() {
  Reckoner r;
  r.name = "slide_or_tip";
  r.science = "holding";
  r.question = "A clamped block is pushed above its seat: does it slide or tip first, and at what force?";
  r.inputs = {newtons("pressed", "clamps and weight, through the middle of the seat", 1e-3),
              length("width", "of the seat along the push", 1e-4, 100),
              length("height", "of the push above the seat", 0, 100), friction_input()};
  r.outputs = {{"force", Kind::force, "at which it moves"}, {"motion", Kind::number, "slides or tips"}};
  r.formula = "slides at friction x pressed, tips at pressed x width / (2 height)";
  r.source = source;
  r.range = "a rigid block; clamps press on with the same force whatever it does and hold nothing sideways";
  r.examples = {{{{"pressed", "800 N"}, {"width", "100 mm"}, {"height", "200 mm"}, {"friction", "0.9"}},
                 {{"force", "200 N"}, {"motion", "tips"}},
                 1e-9,
                 "closed form: 800 x 100 / 400"},
                {{{"pressed", "5000 N"}, {"width", "100 mm"}, {"height", "20 mm"}, {"friction", "0.2"}},
                 {{"force", "1000 N"}, {"motion", "slides"}},
                 1e-9,
                 "closed form: 0.2 x 5000"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    ReckonerAnswer a;
    const double slides = v["friction"] * v["pressed"];
    const bool never = !(v["height"] > 0);
    const double tips = never ? 0 : 0.5 * v["pressed"] * v["width"] / v["height"];
    const bool tip = !never && tips < slides;
    a.number["force"] = tip ? tips : slides;
    a.text["motion"] = tip ? "tips" : "slides";
    a.sentence = fmt::format("It {} at {}.", a.text["motion"], said(a.number["force"]));
    if (!never) a.notes = {fmt::format("slides at {}, tips at {}", said(slides), said(tips))};
    a.cautions = holding_cautions();
    return a;
  };
  return r;
}

Reckoner screws_hold() {
  Reckoner r;
  r.name = "screws_hold";
  r.science = "holding";
  r.question = "Two screws press a part on four pads: how many times the cutting force does friction carry?";
  r.inputs = {newtons("preload", "of each screw, low end", 1e-3),
              friction_input(),
              newtons("sideways", "cutting force across the line of the screws", 1e-3),
              newtons("upward", "cutting force away from the pads", 0, "0 N"),
              length("arm", "sideways force beside the middle, along the line of the screws", 0, 10, "0 mm"),
              length("height", "cutting force above the pads", 0, 10, "0 mm"),
              length("pads_along", "distance of the pads along the line of the screws", 1e-3, 10),
              length("pads_across", "distance of the pads across it", 1e-3, 10),
              length("screws", "distance of the screws", 1e-3, 10)};
  r.outputs = {{"factor", Kind::number, "times the cutting force; below 1 it moves"},
               {"motion", Kind::number, "how it would go"}};
  r.formula =
      "largest factor over all pad forces in their friction cones; friction counts at the pads, not again under the "
      "heads";
  r.source = "linear program over friction cones with 64 sides (Boyd & Wegbreit 2007), answer checked";
  r.range = "rigid part on point pads; the screws keep their preload";
  r.examples = {{{{"preload", "13464 N"},
                  {"friction", "0.08"},
                  {"sideways", "2400 N"},
                  {"upward", "300 N"},
                  {"pads_along", "112 mm"},
                  {"pads_across", "76 mm"},
                  {"screws", "108 mm"}},
                 {{"factor", "0.8887"}},
                 1e-4,
                 "closed form: 2 x 0.08 x 13464 / (2400 + 0.08 x 300)"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    std::vector<Contact> contacts;
    const double a = 0.5 * v["pads_along"], b = 0.5 * v["pads_across"];
    for (const auto& [x, y] : {std::pair{a, b}, {-a, b}, {-a, -b}, {a, -b}}) {
      Contact c;
      c.name = fmt::format("pad {}", contacts.size() + 1);
      c.at = {x, y, 0};
      c.normal = {0, 0, 1};
      c.friction = v["friction"];
      contacts.push_back(std::move(c));
    }
    for (const double x : {-0.5, 0.5}) {
      Contact c;
      c.name = x < 0 ? "screw 1" : "screw 2";
      c.kind = Contact::Kind::clamp;
      c.at = {x * v["screws"], 0, 0};
      c.normal = {0, 0, -1};
      c.force = v["preload"];
      contacts.push_back(std::move(c));
    }
    const Load cut{{v["arm"], 0, v["height"]}, {0, v["sideways"], v["upward"]}, {}};
    Fixture f(std::move(contacts), {}, 64);
    if (!f.refused().empty()) return bad(f.refused());
    const Carried got = f.carry(cut);
    ReckonerAnswer out;
    if (got.status != Carried::Status::limited) {
      return bad("no answer that passes its check");
    }
    out.number["factor"] = got.factor;
    out.text["motion"] = mechanism(f, got).words;
    out.sentence = fmt::format("Friction carries {} times the cutting force; past that the part {}.",
                               base::fixed(got.factor, 2), out.text["motion"]);
    out.cautions = holding_cautions();
    return out;
  };
  return r;
}

}  // namespace

std::vector<finding::Reckoner> proof_reckoners() { return {clamp_force(), slide_or_tip(), screws_hold()}; }

}  // namespace fettle::holding
