#include "ref/reckoners.h"

#include <fmt/format.h>

#include <cmath>

#include "base/text.h"
#include "finding/reckoner_kit.h"
#include "ref/fits.h"
#include "ref/threads.h"

namespace fettle::ref {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;

/// Inch when the text was written in inches.
unit::Style style_of(const std::string& symbol, bool gauge) {
  const bool inch = symbol == "in" || symbol == "thou" || symbol == "ft" || symbol == "µin";
  return {inch ? unit::Style::System::inch : unit::Style::System::metric, gauge};
}
std::string length(double si, const unit::Style& style) { return unit::print(si, Kind::length, style); }

Outcome<ReckonerAnswer> answer_fit(const ReckonerValues& v) {
  const auto l = limits_of(v.limits.at("size"));
  if (!l) return l.problems();
  if (!l->lower || !l->upper)
    return bad("one limit only; a tolerance needs two", l->typed, "limits such as Ø12 H7 or 8.000..8.015 mm");
  const unit::Style style = style_of(l->unit, true);
  ReckonerAnswer a;
  a.number = {{"lower", *l->lower},
              {"upper", *l->upper},
              {"width", *l->upper - *l->lower},
              {"middle", *l->lower + (*l->upper - *l->lower) / 2}};
  a.sentence = fmt::format("{}: {} to {}, {} wide.", l->typed, length(*l->lower, style), length(*l->upper, style),
                           length(*l->upper - *l->lower, style));
  if (l->fit && l->nominal) {
    const auto um = [&](double limit) { return std::nearbyint((limit - *l->nominal) * 1e7) / 10 + 0.0; };
    a.notes.push_back(fmt::format("deviations {:+}/{:+} µm", um(*l->upper), um(*l->lower)));
  }
  return a;
}

Reckoner fit() {
  Reckoner r;
  r.name = "fit";
  r.science = "ref";
  r.question = "Between which limits does this size lie?";
  r.inputs = {limits("size", "a size with its fit or limits: 12 H7, 8 g6, 0.6250 in +0.0004/-0")};
  r.outputs = {{"lower", Kind::length, "smallest size", true},
               {"upper", Kind::length, "largest size", true},
               {"width", Kind::length, "largest less smallest", true},
               {"middle", Kind::length, "halfway, what to aim at", true}};
  r.formula = "tabulated grade and fundamental deviation; holes K to S: ES = -ei + (IT n - IT n-1)";
  r.source = fits_source();
  r.range = "0 to 500 mm, IT1 to IT16, shafts d to s, holes D to S, js and JS";
  r.examples = {
      {{{"size", "22 H5"}}, {{"lower", "22 mm"}, {"upper", "22.009 mm"}, {"width", "9 µm"}}, 1e-9, "ISO 286-1 tables"},
      {{{"size", "60 f7"}},
       {{"lower", "59.940 mm"}, {"upper", "59.970 mm"}},
       1e-9,
       "Sharma, A Textbook of Production Engineering, Ex. 9.4 p. 378, recomputed"},
      {{{"size", "25 K7"}}, {{"lower", "24.985 mm"}, {"upper", "25.006 mm"}}, 1e-9, "ISO 286-2, from memory"},
      {{{"size", "0.6250 in +0.0004/-0"}}, {{"upper", "0.6254 in"}, {"width", "0.0004 in"}}, 1e-9, "arithmetic"}};
  r.answer = answer_fit;
  return r;
}

Outcome<ReckonerAnswer> answer_mate(const ReckonerValues& v) {
  const auto pair = fit_pair(v.limits.at("hole"), v.limits.at("shaft"));
  if (!pair) return pair.problems();
  const unit::Style style = style_of(v.limits.at("hole").unit, true);
  ReckonerAnswer a;
  a.number = {{"least", pair->least_clearance}, {"most", pair->most_clearance}};
  a.text["type"] = std::string(word(pair->type));
  const std::string least = length(std::fabs(pair->least_clearance), style),
                    most = length(std::fabs(pair->most_clearance), style);
  switch (pair->type) {
    case FitPair::Type::clearance:
      a.sentence = fmt::format("Always loose: {} to {} of clearance.", least, most);
      break;
    case FitPair::Type::interference:
      a.sentence = fmt::format("Always tight: {} to {} of interference.", most, least);
      break;
    case FitPair::Type::transition:
      a.sentence = fmt::format("Either: from {} of interference to {} of clearance.", least, most);
      break;
  }
  a.notes.push_back("both parts at the same temperature, no error of form");
  return a;
}

Reckoner mate() {
  Reckoner r;
  r.name = "mate";
  r.science = "ref";
  r.question = "Does this pin go into this hole, and with how much play?";
  r.inputs = {limits("hole", "the hole: 12 H7, 8.000..8.015 mm"),
              limits("shaft", "the pin or shaft: 12 g6, 7.986..7.995 mm")};
  r.outputs = {{"least", Kind::length, "smallest hole less largest shaft; negative is interference", true},
               {"most", Kind::length, "largest hole less smallest shaft", true},
               {"type", Kind::number, "clearance, transition or interference"}};
  r.formula = "least = hole lower - shaft upper; most = hole upper - shaft lower";
  r.source = fits_source();
  r.range = "one pin in one hole; for two pins see the locating reckoners";
  r.examples = {{{{"hole", "20 H6"}, {"shaft", "20 e7"}},
                 {{"least", "40 µm"}, {"most", "74 µm"}, {"type", "clearance"}},
                 1e-9,
                 "Bhandari, Design of Machine Elements, Ex. 3.1"},
                {{{"hole", "16 H7"}, {"shaft", "16 m6"}},
                 {{"least", "-18 µm"}, {"most", "11 µm"}, {"type", "transition"}},
                 1e-9,
                 "ISO 286-1 tables"},
                {{{"hole", "30 +0.020/0 mm"}, {"shaft", "30 -0.005/-0.018 mm"}},
                 {{"least", "5 µm"}, {"most", "38 µm"}, {"type", "clearance"}},
                 1e-9,
                 "Sharma, A Textbook of Production Engineering, Ex. 9.5"}};
  r.answer = answer_mate;
  return r;
}

Outcome<ThreadData> thread_of(const ReckonerValues& v) {
  const auto t = unit::parse_thread(v.text.at("thread"));
  if (!t) return t.problems();
  return thread_data(*t);
}

Outcome<ReckonerAnswer> answer_thread(const ReckonerValues& v) {
  const auto t = thread_of(v);
  if (!t) return t.problems();
  unit::Style style;
  if (t->system == unit::Thread::System::unified) style.system = unit::Style::System::inch;
  ReckonerAnswer a;
  a.number = {{"major", t->major},
              {"pitch", t->pitch},
              {"tapping_drill", t->tapping_drill},
              {"stress_area", t->stress_area},
              {"pitch_diameter", t->pitch_diameter},
              {"root_diameter", t->root_diameter},
              {"thread_share", t->thread_share}};
  a.text["drill"] = t->tapping_name;
  a.text["clearance"] = t->clear_close ? fmt::format("{} / {} / {}", length(*t->clear_close, style),
                                                     length(*t->clear_medium, style), length(*t->clear_loose, style))
                                       : "not in the table";
  a.sentence = fmt::format("{}: drill {} ({}), a thread of {}; stress area {}.", t->designation, t->tapping_name,
                           length(t->tapping_drill, style), unit::print(t->thread_share, Kind::fraction),
                           unit::print(t->stress_area, Kind::area, style));
  a.notes = {t->note, "from: " + t->source};
  return a;
}

Reckoner thread() {
  Reckoner r;
  r.name = "thread";
  r.science = "ref";
  r.question = "Which drill, clearance hole and stress area belong to this thread?";
  r.inputs = {text("thread", "M8, M8x1, 3/8-16 UNC, #10-32 UNF")};
  r.outputs = {{"major", Kind::length, "nominal diameter"},
               {"pitch", Kind::length, "pitch"},
               {"tapping_drill", Kind::length, "usual drill for a cut thread"},
               {"stress_area", Kind::area, "area that carries the pull"},
               {"pitch_diameter", Kind::length, "basic pitch diameter"},
               {"root_diameter", Kind::length, "basic root of the screw"},
               {"thread_share", Kind::fraction, "per cent of thread as shops count it, over 1.299 P"},
               {"drill", Kind::number, "drill as it is called for"},
               {"clearance", Kind::number, "clearance holes close / medium / loose"}};
  r.formula =
      "metric As = pi/4 ((d2 + d3)/2)^2, d2 = d - 0.649519 P, d3 = d - 1.226869 P; unified As = pi/4 (d - 0.9743 P)^2";
  r.source = "ISO 261, 724, 898-1, 2306, 273; ASME B1.1, B18.2.8 (drills and clearance holes from memory)";
  r.range = "metric M1.6 to M36 coarse and fine, UNC and UNF #4 to 1 in";
  r.examples = {
      {{{"thread", "M8"}},
       {{"stress_area", "36.6 mm²"}, {"tapping_drill", "6.8 mm"}},
       1e-3,
       "ISO 898-1 (printed area 36.6)"},
      {{{"thread", "M16x1.5"}}, {{"stress_area", "167.25 mm²"}}, 1e-4, "formula of ISO 898-1, computed independently"},
      {{{"thread", "1/2-13 UNC"}},
       {{"stress_area", "0.1419 in²"}, {"drill", "27/64"}},
       1e-3,
       "ASME B1.1 (printed area 0.1419)"}};
  r.answer = answer_thread;
  return r;
}

Outcome<ReckonerAnswer> answer_screw(const ReckonerValues& v) {
  const auto t = thread_of(v);
  if (!t) return t.problems();
  const auto s = strength(v.text.at("class"), t->major);
  if (!s) return s.problems();
  unit::Style style;
  if (t->system == unit::Thread::System::unified) style.system = unit::Style::System::inch;
  ReckonerAnswer a;
  a.number = {{"proof_force", s->proof * t->stress_area},
              {"yield_force", s->yield * t->stress_area},
              {"tensile_force", s->tensile * t->stress_area},
              {"stress_area", t->stress_area}};
  a.sentence = fmt::format("{} {}: proof {}, yields from {}, breaks from {}.", t->designation, s->name,
                           unit::print(a.number["proof_force"], Kind::force, style),
                           unit::print(a.number["yield_force"], Kind::force, style),
                           unit::print(a.number["tensile_force"], Kind::force, style));
  a.notes = {s->note, "from: " + s->source, "pure pull; tightening adds twist, which takes a fifth to a third of it"};
  a.cautions = {
      "not for lifting or for anything a person stands under: rated lifting gear and local rules decide there"};
  return a;
}

Reckoner screw() {
  Reckoner r;
  r.name = "screw";
  r.science = "ref";
  r.question = "What pull does a screw of this class carry?";
  r.inputs = {text("thread", "M8, M8x1, 3/8-16 UNC, #10-32 UNF"),
              text("class", "8.8, 10.9, 12.9, grade 5, grade 8, A574")};
  r.outputs = {{"proof_force", Kind::force, "carried without lasting stretch"},
               {"yield_force", Kind::force, "least pull at which it yields"},
               {"tensile_force", Kind::force, "least pull at which it breaks"},
               {"stress_area", Kind::area, "area that carries the pull"}};
  r.formula = "F = As times proof stress, Rp0.2 or Rm of the class, least values";
  r.source = "ISO 898-1; SAE J429 and ASTM A574 from memory";
  r.range = "sizes for which the class is printed; room temperature; steady pull";
  r.examples = {{{{"thread", "M12"}, {"class", "8.8"}},
                 {{"proof_force", "48894 N"}},
                 1e-3,
                 "ISO 898-1:1999, proof load of M12 8.8"},
                {{{"thread", "M20"}, {"class", "8.8"}},
                 {{"tensile_force", "203 kN"}},
                 2e-3,
                 "EN ISO 898-1, least tensile load of M20 8.8"},
                {{{"thread", "M8"}, {"class", "12.9"}},
                 {{"tensile_force", "44.6 kN"}},
                 3e-3,
                 "EN ISO 898-1, least tensile load of M8 12.9"}};
  r.answer = answer_screw;
  return r;
}

struct Converted {
  Kind kind = Kind::number;
  double value = 0;
  std::string text;
};

/// Ten significant digits, which is more than any of the sizes is known to.
std::string number_and_unit(double x, const std::string& symbol) {
  const std::string exact = base::shortest(x), rounded = fmt::format("{:.10g}", x);
  return fmt::format("{} {}", exact.size() <= rounded.size() ? exact : rounded, symbol);
}

Outcome<ReckonerAnswer> answer_convert(const ReckonerValues& v) {
  const std::string value = v.text.at("value"), to(base::trim(v.text.at("to")));
  std::vector<Converted> found;
  Problems first;
  bool unit_known = false;
  for (int k = 0; k <= static_cast<int>(Kind::conductivity); ++k) {
    const Kind kind = static_cast<Kind>(k);
    const auto probe = unit::parse("1 " + to, kind);
    if (kind == Kind::number || kind == Kind::money || kind == Kind::money_per_hour || !probe || probe->unit.empty())
      continue;
    unit_known = true;
    const auto q = unit::parse(value, kind);
    if (!q) {
      if (first.empty()) first = q.problems();
      continue;
    }
    const double x = unit::in_unit(q->si, probe->unit, kind);
    found.push_back({kind, x, number_and_unit(x, probe->unit)});
  }
  if (!unit_known) {
    std::vector<std::string> symbols;
    for (const unit::Unit& u : unit::units()) symbols.emplace_back(u.symbol);
    return bad("unknown unit to convert to", to, "a unit such as mm, in, N·m, lbf·ft, °F", base::nearest(to, symbols));
  }
  if (found.empty()) return first;
  ReckonerAnswer a;
  a.number["value"] = found.front().value;
  a.text["answer"] = found.front().text;
  a.sentence = fmt::format("{} = {}.", base::trim(value), found.front().text);
  for (const Converted& other : found)
    if (other.text != found.front().text)
      a.notes.push_back(fmt::format("as a {}: {}; as a {}: {}", unit::word(found.front().kind), found.front().text,
                                    unit::word(other.kind), other.text));
  return a;
}

Reckoner convert() {
  Reckoner r;
  r.name = "convert";
  r.science = "ref";
  r.question = "What is this in another unit?";
  r.inputs = {text("value", "a quantity with its unit: 35 lbf·ft, 2-1/4 in, 68 °F"),
              text("to", "the unit wanted: N·m, mm, °C")};
  r.outputs = {{"value", Kind::number, "the number in that unit"}, {"answer", Kind::number, "number and unit"}};
  r.formula = "exact factors: 1 in = 25.4 mm, 1 lb = 0.45359237 kg, 1 lbf = 4.4482216152605 N, 1 gal = 231 in³";
  r.source = "international yard and pound agreement of 1959; ISO 80000";
  r.range = "units of the same kind of quantity; money is never converted";
  r.examples = {
      {{{"value", "2-1/4 in"}, {"to", "mm"}}, {{"value", "57.15"}, {"answer", "57.15 mm"}}, 1e-12, "1 in = 25.4 mm"},
      {{{"value", "35 lbf·ft"}, {"to", "N·m"}}, {{"value", "47.4536282"}}, 1e-8, "1 lbf·ft = 1.3558179483314 N·m"},
      {{{"value", "68 °F"}, {"to", "°C"}}, {{"value", "20"}, {"answer", "20 °C"}}, 1e-12, "(F - 32) / 1.8"}};
  r.answer = answer_convert;
  return r;
}

}  // namespace

std::vector<Reckoner> reckoners() { return {fit(), mate(), thread(), screw(), convert()}; }

}  // namespace fettle::ref
