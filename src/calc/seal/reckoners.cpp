#include "calc/seal/reckoners.h"

#include <fmt/format.h>

#include "base/text.h"
#include "calc/seal/seal.h"
#include "finding/reckoner_kit.h"
#include "ref/fits.h"
#include "ref/rings.h"

namespace fettle::seal {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerInput;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;

std::string percent(double share) { return base::fixed(100 * share, 1) + " %"; }

Outcome<Limits> both(const ReckonerValues& v, const std::string& name) {
  if (v.limits.count(name) == 0) return bad(name + " is needed for this gland, with both limits");
  const auto l = ref::limits_of(v.limits.at(name));
  if (!l.ok()) return l.problems();
  if (!l->lower || !l->upper) return bad(name + " needs both limits", l->typed, "such as \"54.00 +0.08/0 mm\"");
  return Limits{*l->lower, *l->upper};
}

/// The gland: everything but the ring.
Outcome<Inputs> gland_of(const ReckonerValues& v) {
  Inputs in;
  Problems problems;
  const auto take = [&](const char* name, Limits& to) {
    const Outcome<Limits> x = both(v, name);
    if (x.ok()) to = *x;
    else problems.insert(problems.end(), x.problems().begin(), x.problems().end());
  };
  const std::string& gland = v.text.at("gland");
  in.gland = gland == "bore"         ? Gland::in_bore
             : gland == "plug"       ? Gland::on_plug
             : gland == "face_inner" ? Gland::face_pressed_from_outside
                                     : Gland::face_pressed_from_inside;
  take("groove", in.groove);
  take("width", in.width);
  if (is_face(in.gland)) {
    take("depth", in.depth);
  } else {
    take("mate", in.mate);
    take("land", in.land);
  }
  in.offset = v["offset"];
  in.moving = v.text.at("moves") == "yes";
  if (!problems.empty()) return problems;
  return in;
}

std::vector<ReckonerInput> gland_inputs() {
  return {choice("gland", "groove in a bore, on a plug, in a face with the ring on its outer or on its inner wall",
                 {"bore", "plug", "face_outer", "face_inner"}, ""),
          limits("groove", "diameter of the groove's bottom; in a face of the wall that the ring lies on", 1e-4, 3),
          limits("width", "width of the groove", 1e-4, 0.2),
          left_out(limits("mate", "diameter of the plug of a bore, of the bore of a plug; not in a face", 1e-4, 3)),
          left_out(limits("land", "diameter beside the groove; not in a face", 1e-4, 3)),
          left_out(limits("depth", "depth of a groove in a face", 1e-5, 0.05)),
          quantity("offset", Kind::length, "groove's axis off that of the land beside it", 0, 0.01, "0 mm"),
          choice("moves", "the seal slides or turns in use", {"yes", "no"}, "no")};
}

void tell(ReckonerAnswer& a, const Result& r) {
  a.notes = {"held against: " + r.guide.source,
             fmt::format("section as it lies {} to {} mm", base::fixed(r.section.low * 1e3, 3),
                         base::fixed(r.section.high * 1e3, 3)),
             fmt::format("outside of the ring against the groove: {} to {} too large", percent(r.pinch.low),
                         percent(r.pinch.high))};
  for (const std::string& s : r.slips) a.notes.push_back(s);
  a.cautions = r.cautions;
  a.beyond = r.beyond;
}

Outcome<ReckonerAnswer> answer_seal(const ReckonerValues& v) {
  Outcome<Inputs> gland = gland_of(v);
  if (!gland.ok()) return gland.problems();
  Inputs in = *gland;
  if (v.has("ring")) {
    const Outcome<ref::Ring> ring = ref::ring(v.text.at("ring"));
    if (!ring.ok()) return ring.problems();
    in.inside = {ring->inside - ring->inside_tolerance, ring->inside + ring->inside_tolerance};
    in.section = {ring->section - ring->section_tolerance, ring->section + ring->section_tolerance};
  } else {
    const Outcome<Limits> inside = both(v, "inside"), section = both(v, "section");
    if (!inside.ok() || !section.ok()) return bad("say the ring, or its inside and its section with both limits");
    in.inside = *inside;
    in.section = *section;
  }
  const Outcome<Result> solved = solve(in);
  if (!solved.ok()) return solved.problems();
  const Result& r = *solved;
  ReckonerAnswer a;
  a.number = {{"squeeze_low", r.squeeze.low}, {"squeeze", r.squeeze.middle},    {"squeeze_high", r.squeeze.high},
              {"lies_low", r.lies.low},       {"fill", r.fill.middle},          {"fill_high", r.fill.high},
              {"stretch", r.stretch.middle},  {"stretch_high", r.stretch.high}, {"gap", r.gap}};
  a.sentence = fmt::format("Squeeze {} to {}, filled to {} at most, stretched by {}: {}.", percent(r.squeeze.low),
                           percent(r.squeeze.high), percent(r.fill.high), percent(r.stretch.middle),
                           r.slips.empty() ? "inside the guide" : r.slips.front());
  tell(a, r);
  return a;
}

Reckoner seal_reckoner() {
  Reckoner r;
  r.name = "seal";
  r.science = "seal";
  r.question = "Does this O-ring seal in this groove, at both ends of all tolerances?";
  r.inputs = {left_out(text("ring", "dash size, such as AS568-135; or give inside and section")),
              left_out(limits("inside", "ring's inside diameter, free", 1e-4, 2)),
              left_out(limits("section", "ring's section, free", 1e-4, 0.05))};
  for (ReckonerInput& i : gland_inputs()) r.inputs.push_back(i);
  r.outputs = {{"squeeze_low", Kind::fraction, "least squeeze, free section, plug in the middle"},
               {"squeeze", Kind::fraction, "squeeze with all sizes in the middle"},
               {"squeeze_high", Kind::fraction, "most squeeze"},
               {"lies_low", Kind::fraction, "least squeeze, section stretched, plug leaning"},
               {"fill", Kind::fraction, "share of the groove that the ring fills, sizes in the middle"},
               {"fill_high", Kind::fraction, "the same at the bad ends"},
               {"stretch", Kind::fraction, "stretch of the inside, sizes in the middle"},
               {"stretch_high", Kind::fraction, "stretch of the smallest ring"},
               {"gap", Kind::length, "largest gap beside the groove"}};
  r.formula =
      "squeeze = (section - depth) / section; fill = pi/4 section^2 / (depth x width); stretch = round / inside - 1";
  r.source = "ISO 3601-2, from memory; a seal maker's guide, read; common practice";
  r.range =
      "rings of rubber, stretch up to a quarter, one ring without back-up rings, at room temperature, not swollen";
  r.examples = {{{{"gland", "face_outer"},
                  {"inside", "37.69 mm +0/-0"},
                  {"section", "3.53 ± 0.10 mm"},
                  {"groove", "44.75 mm +0/-0"},
                  {"depth", "2.70..2.80 mm"},
                  {"width", "5.00 mm +0.2/0"}},
                 {{"squeeze_low", "18.37 %"}, {"squeeze_high", "25.62 %"}, {"fill_high", "76.66 %"}},
                 3e-4,
                 "worked by hand from a dealer's printed groove for 3.53 mm"},
                {{{"gland", "bore"},
                  {"ring", "AS568-135"},
                  {"groove", "54.00 +0.08/0 mm"},
                  {"width", "3.70 +0.10/0 mm"},
                  {"mate", "Ø50 f7"},
                  {"land", "Ø50 H8"}},
                 {{"squeeze_low", "18.70 %"}, {"squeeze_high", "25.25 %"}, {"gap", "0.089 mm"}},
                 1e-3,
                 "worked by hand: (2.54 - 2.065) / 2.54 and (2.6924 - 2.0125) / 2.6924"}};
  r.answer = answer_seal;
  return r;
}

Outcome<ReckonerAnswer> answer_ring(const ReckonerValues& v) {
  const Outcome<Inputs> gland = gland_of(v);
  if (!gland.ok()) return gland.problems();
  std::vector<Candidate> rings;
  for (const ref::Ring& x : ref::ring_table())
    rings.push_back({x.name,
                     {x.inside - x.inside_tolerance, x.inside + x.inside_tolerance},
                     {x.section - x.section_tolerance, x.section + x.section_tolerance}});
  Inputs trial = *gland;  // says what is impossible in the gland itself
  trial.inside = rings.front().inside;
  trial.section = rings.front().section;
  const Outcome<Result> tried = solve(trial);
  if (!tried.ok()) return tried.problems();
  const std::vector<Choice> choices = choose(*gland, rings);
  if (choices.empty()) return bad("no ring of the table goes into this groove");
  const Choice& best = choices.front();
  ReckonerAnswer a;
  a.text["ring"] = best.name;
  a.number = {{"margin", best.margin},
              {"squeeze_low", best.result.squeeze.low},
              {"squeeze_high", best.result.squeeze.high},
              {"fill_high", best.result.fill.high}};
  a.sentence =
      best.margin >= 0
          ? fmt::format("{} fits: squeeze {} to {}, filled to {} at most.", best.name, percent(best.result.squeeze.low),
                        percent(best.result.squeeze.high), percent(best.result.fill.high))
          : fmt::format("No ring of the table is inside the guide; the nearest is {}.", best.name);
  tell(a, best.result);
  for (std::size_t i = 1; i < choices.size() && i < 4; ++i)
    a.notes.push_back(fmt::format("next: {}, margin {}", choices[i].name, base::fixed(choices[i].margin, 2)));
  return a;
}

Reckoner ring_reckoner() {
  Reckoner r;
  r.name = "seal_ring";
  r.science = "seal";
  r.question = "Which O-ring of the table fits this groove?";
  r.inputs = gland_inputs();
  r.outputs = {{"ring", Kind::number, "the ring with the best margin"},
               {"margin", Kind::number, "least distance from a guide; below 0: no ring fits"},
               {"squeeze_low", Kind::fraction, "its least squeeze"},
               {"squeeze_high", Kind::fraction, "its most squeeze"},
               {"fill_high", Kind::fraction, "share of the groove it fills at most"}};
  r.formula = "every ring of the table through seal; the best margin first";
  r.source = "SAE AS568 sizes, from memory, part of them confirmed; guides as in seal";
  r.range = "as seal; the table holds a part of the dash sizes only";
  r.examples = {{{{"gland", "bore"},
                  {"groove", "54.00 +0.08/0 mm"},
                  {"width", "3.70 +0.10/0 mm"},
                  {"mate", "Ø50 f7"},
                  {"land", "Ø50 H8"}},
                 {{"ring", "AS568-135"}},
                 1e-3,
                 "the drawing names this ring"}};
  r.answer = answer_ring;
  return r;
}

}  // namespace

std::vector<finding::Reckoner> reckoners() { return {seal_reckoner(), ring_reckoner()}; }

}  // namespace fettle::seal
