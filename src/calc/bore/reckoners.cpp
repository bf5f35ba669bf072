#include "calc/bore/reckoners.h"

#include <fmt/format.h>

#include <cmath>

#include "calc/bore/gauge.h"
#include "calc/bore/reckoner_kit.h"
#include "calc/bore/risk.h"
#include "calc/bore/target.h"
#include "ref/fits.h"

namespace fettle::bore {

namespace kit {

Outcome<std::pair<double, double>> both_limits(const finding::ReckonerValues& v, const std::string& name) {
  const auto limits = ref::limits_of(v.limits.at(name));
  if (!limits.ok()) return limits.problems();
  if (!limits->lower || !limits->upper || !(*limits->upper > *limits->lower))
    return bad(name + ": a lower and a larger upper limit are needed", limits->typed, "such as \"Ø22 H5\"");
  return std::pair(*limits->lower, *limits->upper);
}

Outcome<std::vector<double>> list_of(const std::string& text, unit::Kind kind, const std::string& name) {
  std::vector<std::string> words;
  std::string word;
  for (char c : text + " ") {
    if (c != ' ' && c != '\t' && c != '\n') word += c;
    else if (!word.empty()) words.push_back(std::exchange(word, {}));
  }
  const std::string expected = fmt::format("numbers with the unit last, such as \"5.4 2.1 4.9 µm\"");
  if (words.size() < 2 || base::to_double(words.back())) return bad(name + ": no unit at the end", text, expected);
  std::vector<double> out;
  for (std::size_t i = 0; i + 1 < words.size(); ++i) {
    const auto q = unit::parse(words[i] + " " + words.back(), kind);
    if (!q.ok())
      return bad(name + ": " + q.problem().what, words[i] + " " + words.back(), expected, q.problem().nearest);
    out.push_back(q->si);
  }
  return out;
}

}  // namespace kit

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;
using namespace kit;

const char* const aim_source =
    "two costs and a spread (idea: Springer, Industrial Quality Control 8(1), 1951, from memory); accept limits ISO "
    "14253-1:2017; risks JCGM 106:2012 (from memory)";

std::vector<finding::ReckonerInput> aim_inputs() {
  return {size_limits("limits", "what the drawing asks of the bore"),
          length("scatter", "one standard deviation of the bores, gauge taken out", 1e-9, 1e-3),
          or_else(length("gauge", "standard uncertainty of one reading", 0, 1e-3), "0 µm", "a perfect gauge"),
          choice("guard", "accept limits inside the drawing's by 1.65 of the gauge's uncertainty", {"yes", "no"}, "yes",
                 "the usual one"),
          money("hone_cost", "what one hone costs"),
          money("scrap_cost", "what is lost with a part set aside"),
          or_else(money("escape_cost", "what a bad part costs that is passed"), "0"),
          or_else(length("hone_scatter", "one standard deviation of honed sizes", 0, 1e-3), "0 µm",
                  "a hone that always hits")};
}

Outcome<AimInputs> aim_of(const ReckonerValues& v) {
  const auto l = both_limits(v, "limits");
  if (!l.ok()) return l.problems();
  AimInputs in;
  in.lower = l->first;
  in.upper = l->second;
  in.s = v["scatter"];
  in.u = v["gauge"];
  in.guard = v.text.at("guard") == "yes" ? 1.65 * in.u : 0;
  in.hone_cost = v["hone_cost"];
  in.scrap_cost = v["scrap_cost"];
  in.escape_cost = v["escape_cost"];
  in.hone_s = v["hone_scatter"];
  return in;
}

Outcome<ReckonerAnswer> answer_aim(const ReckonerValues& v) {
  auto read = aim_of(v);
  if (!read.ok()) return read.problems();
  AimInputs in = *read;
  in.drift = v["drift"];
  const std::string way = v.text.at("hone");
  in.hone = way == "none" ? Hone::none : way == "all" ? Hone::all : Hone::small;
  in.hone_least = in.hone == Hone::all ? v["hone_least"] : 0;
  in.step = sensible_step(in.u, v["resolution"]);
  const auto best = best_aim(in);
  if (!best.ok()) return best.problems();
  const AimPoint& p = best->rounded;
  ReckonerAnswer a;
  a.number = {{"aim", p.aim},
              {"honed", p.honed},
              {"too_large", p.too_large},
              {"lost", p.lost()},
              {"cost", p.cost},
              {"step_costs", std::max(best->cost_smaller, best->cost_larger) - best->best.cost},
              {"passed_bad", p.passed_bad}};
  a.sentence = fmt::format("Aim at {}: {} go to the hone, {} are set aside, {} a part.", size(p.aim), percent(p.honed),
                           percent(p.lost()), base::fixed(p.cost, 3));
  if (in.step > 0) a.notes.push_back(fmt::format("said in steps of {}: the gauge cannot tell more", little(in.step)));
  const double middle = 0.5 * (in.lower + in.upper);
  const auto there = at_aim(in, middle);
  if (there.ok())
    a.notes.push_back(fmt::format("aimed at the middle it would cost {} a part", base::fixed(there->cost, 3)));
  if (p.aim > middle) a.notes.emplace_back("the aim lies above the middle: the hone costs more than what it saves");
  return a;
}

Reckoner bore_aim() {
  Reckoner r;
  r.name = "bore_aim";
  r.science = "bore";
  r.question = "Where to aim a bore that can be honed larger but never smaller?";
  r.inputs = aim_inputs();
  r.inputs.push_back(or_else(length("drift", "change of the mean between two resets of the tool", 0, 1e-3), "0 µm"));
  r.inputs.push_back(or_else(length("resolution", "smallest step the gauge shows", 0, 1e-3), "0 µm"));
  r.inputs.push_back(choice("hone", "which bores are honed: none, only the small ones, all", {"none", "small", "all"},
                            "small", "the usual one"));
  r.inputs.push_back(or_else(length("hone_least", "least that a hone takes where all are honed", 0, 1e-3), "5 µm",
                             "from memory: what cleans a bored surface"));
  r.outputs = {{"aim", Kind::length, "mean to set the tool to", true},
               {"honed", Kind::fraction, "share that goes to the hone"},
               {"too_large", Kind::fraction, "set aside before any hone"},
               {"lost", Kind::fraction, "set aside, all together"},
               {"passed_bad", Kind::fraction, "passed although outside the drawing"},
               {"cost", Kind::number, "hone, scrap and escapes, per part"},
               {"step_costs", Kind::number, "what one step off the aim adds per part, on its dearer side"}};
  r.formula =
      "least of hone_cost x share too small + scrap_cost x share set aside + escape_cost x share passed outside";
  r.source = aim_source;
  r.range = "normal scatter; the hone ends in the middle of the accept limits";
  const std::vector<std::pair<std::string, std::string>> ring = {
      {"limits", "60.000..60.019 mm"}, {"scatter", "4 µm"}, {"hone_cost", "3"}, {"scrap_cost", "40"}};
  r.examples = {{ring, {{"aim", "60.007319 mm"}}, 1e-8, "closed form (L+U)/2 - s²/(U-L) ln(40/3), worked by hand"},
                {ring,
                 {{"cost", "0.170881"}, {"honed", "3.3649 %"}, {"too_large", "0.1748 %"}},
                 3e-4,
                 "normal tails at the closed form's aim, worked by hand"}};
  r.answer = answer_aim;
  return r;
}

Outcome<ReckonerAnswer> answer_reset(const ReckonerValues& v) {
  auto aim = aim_of(v);
  if (!aim.ok()) return aim.problems();
  ResetInputs in;
  in.aim = *aim;
  in.drift_per_part = (v.text.at("bores_get") == "smaller" ? -1 : 1) * v["drift"];
  in.reset_cost = v["reset_cost"];
  in.most = static_cast<int>(v["most"]);
  const auto x = when_to_reset(in);
  if (!x.ok()) return x.problems();
  ReckonerAnswer a;
  a.number = {{"parts", static_cast<double>(x->count)}, {"first", x->first}, {"last", x->last}, {"cost", x->cost}};
  a.sentence = fmt::format("Set the tool anew every {} parts: aim the first at {}, the last will lie at {}.", x->count,
                           size(x->first), size(x->last));
  a.notes.push_back(fmt::format("at half the count {} a part, at twice {}", base::fixed(x->cost_half, 3),
                                base::fixed(x->cost_double, 3)));
  return a;
}

Reckoner tool_reset() {
  Reckoner r;
  r.name = "tool_reset";
  r.science = "bore";
  r.question = "The bore drifts as the edge wears: after how many parts to set it anew, and to what?";
  r.inputs = aim_inputs();
  r.inputs.push_back(length("drift", "change of the mean from one part to the next", 1e-10, 1e-4));
  r.inputs.push_back(choice("bores_get", "which way it drifts", {"smaller", "larger"}, "smaller", "the usual one"));
  r.inputs.push_back(money("reset_cost", "what setting it anew costs each time"));
  r.inputs.push_back(count("most", "whole parts of one edge", 1, 2000));
  r.outputs = {{"parts", Kind::number, "parts between resets"},
               {"first", Kind::length, "where to aim the first", true},
               {"last", Kind::length, "where the last will lie", true},
               {"cost", Kind::number, "per part, resets included"}};
  r.formula = "least over the count of best aim's cost with the drift of that count + reset_cost / count";
  r.source = aim_source;
  r.range = "steady drift, the same after every reset";
  r.examples = {{{{"limits", "22.000..22.009 mm"},
                  {"scatter", "2 µm"},
                  {"hone_cost", "2.05"},
                  {"scrap_cost", "20"},
                  {"drift", "0.05 µm"},
                  {"reset_cost", "3"},
                  {"most", "400"}},
                 {{"parts", "41"}, {"cost", "0.250587"}},
                 1e-4,
                 "twin in another language: every count, midpoint sums over the drift"}};
  r.answer = answer_reset;
  return r;
}

Outcome<ReckonerAnswer> answer_accept(const ReckonerValues& v) {
  const auto l = both_limits(v, "limits");
  if (!l.ok()) return l.problems();
  const auto x = accept_limits({l->first, l->second, v["gauge"], v["confidence"], false});
  if (!x.ok()) return x.problems();
  if (x->nothing) return bad("the guard bands leave nothing: this gauge proves no part good", {}, "a finer gauge");
  ReckonerAnswer a;
  a.number = {{"guard", x->guard}, {"low", *x->lower}, {"high", *x->upper}, {"zone", x->width}, {"eaten", x->eaten}};
  a.sentence = fmt::format("Pass what reads from {} to {}: {} inside each limit.", size(*x->lower), size(*x->upper),
                           little(x->guard));
  a.notes.emplace_back("one guard band, at the gauge; whoever adds another at the next gauge pays for it twice");
  return a;
}

Reckoner accept() {
  Reckoner r;
  r.name = "accept_limits";
  r.science = "bore";
  r.question = "Between which readings does this gauge prove a part good?";
  r.inputs = {size_limits("limits", "what the drawing asks"),
              length("gauge", "standard uncertainty of one reading", 0, 1e-2),
              or_else(quantity("confidence", Kind::fraction, "one-sided; 95 % is the standard's", 0.5, 0.9999), "95 %",
                      "ISO 14253-1:2017")};
  r.outputs = {{"guard", Kind::length, "how far inside each limit", true},
               {"low", Kind::length, "pass from here", true},
               {"high", Kind::length, "pass up to here", true},
               {"zone", Kind::length, "width of what is passed", true},
               {"eaten", Kind::fraction, "share of the tolerance that the guard bands take"}};
  r.formula = "limits moved inwards by 1.65 u (95 %), else by the normal quantile of the confidence";
  r.source = "ISO 14253-1:2017 (from memory)";
  r.range = "normal reading errors, guard bands smaller than half the tolerance";
  r.examples = {{{{"limits", "20.000..20.019 mm"}, {"gauge", "1.5 µm"}},
                 {{"guard", "2.475 µm"}, {"zone", "14.05 µm"}, {"eaten", "26.0526 %"}},
                 1e-5,
                 "rule of ISO 14253-1:2017 (from memory), multiplied out"}};
  r.answer = answer_accept;
  return r;
}

Outcome<ReckonerAnswer> answer_sure(const ReckonerValues& v) {
  const auto l = ref::limits_of(v.limits.at("limits"));
  if (!l.ok()) return l.problems();
  if (!l->lower && !l->upper) return bad("limits: neither a lower nor an upper limit", l->typed);
  const double p = conformance(v["reading"], v["gauge"], l->lower, l->upper);
  ReckonerAnswer a;
  a.number = {{"inside", p}};
  a.sentence = fmt::format("A part that reads {} is inside with a probability of {}.", size(v["reading"]),
                           p > 0.99995 ? "more than 99.99 %" : percent(p));
  a.notes.emplace_back("the reading alone speaks: what the process usually makes is left out");
  return a;
}

Reckoner how_sure() {
  Reckoner r;
  r.name = "how_sure";
  r.science = "bore";
  r.question = "With this reading, how sure is it that the part is inside?";
  finding::ReckonerInput l = size_limits("limits", "what the drawing asks; one limit is enough (\">= 0.8 mm\")");
  r.inputs = {l, length("reading", "what the gauge shows, at 20 °C", 0, 10),
              length("gauge", "standard uncertainty of the reading", 1e-10, 1)};
  r.outputs = {{"inside", Kind::fraction, "probability"}};
  r.formula = "1 - P(true < lower) - P(true > upper), true normal about the reading";
  r.source = "JCGM 106:2012, clause 7 (from memory)";
  r.range = "normal reading errors";
  r.examples = {{{{"limits", "12.5..16.3 mm"}, {"reading", "13.6 mm"}, {"gauge", "1.8 mm"}},
                 {{"inside", "66.263 %"}},
                 1e-5,
                 "JCGM 106:2012 clause 7 (from memory; printed 0.66), its numbers taken as mm"},
                {{{"limits", ">= 490 mm"}, {"reading", "509.7 mm"}, {"gauge", "8.6 mm"}},
                 {{"inside", "98.901 %"}},
                 1e-5,
                 "JCGM 106:2012 clause 7 (from memory; printed 0.99), its numbers taken as mm"}};
  r.answer = answer_sure;
  return r;
}

Outcome<ReckonerAnswer> answer_misjudged(const ReckonerValues& v) {
  const auto l = both_limits(v, "limits");
  if (!l.ok()) return l.problems();
  const double guard = v["guard"];
  const auto x = risks({v["mean"], v["scatter"], v["gauge"], l->first, l->second, l->first + guard, l->second - guard});
  if (!x.ok()) return x.problems();
  ReckonerAnswer a;
  a.number = {{"passed_bad", x->passed_bad},
              {"refused_good", x->refused_good},
              {"accepted", x->accepted},
              {"inside", x->inside}};
  a.sentence = fmt::format("{} of all parts are passed although outside, {} are refused although inside.",
                           percent(x->passed_bad), percent(x->refused_good));
  return a;
}

Reckoner misjudged() {
  Reckoner r;
  r.name = "misjudged";
  r.science = "bore";
  r.question = "How many bad parts does this gauge pass, and how many good ones does it refuse?";
  r.inputs = {size_limits("limits", "what the drawing asks"), length("mean", "where the process lies", 0, 10),
              length("scatter", "one standard deviation of the parts, gauge taken out", 1e-9, 0.1),
              length("gauge", "standard uncertainty of one reading", 0, 0.1),
              or_else(length("guard", "how far inside each limit parts are passed", 0, 0.1), "0 mm")};
  r.outputs = {{"passed_bad", Kind::fraction, "the customer's risk, of all parts"},
               {"refused_good", Kind::fraction, "the maker's risk, of all parts"},
               {"accepted", Kind::fraction, "share passed"},
               {"inside", Kind::fraction, "share made inside"}};
  r.formula = "integrals of the process over what the gauge passes or refuses";
  r.source = "JCGM 106:2012, clause 9 (from memory)";
  r.range = "normal process, normal reading errors";
  r.examples = {
      {{{"limits", "1499.8..1500.2 mm"}, {"mean", "1500 mm"}, {"scatter", "0.12 mm"}, {"gauge", "0.04 mm"}},
       {{"inside", "90.4419 %"}, {"accepted", "88.6154 %"}, {"passed_bad", "1.8942 %"}, {"refused_good", "3.7208 %"}},
       3e-5,
       "JCGM 106:2012 clause 9, computed independently by quadrature"}};
  r.answer = answer_misjudged;
  return r;
}

}  // namespace

std::vector<finding::Reckoner> aim_reckoners() { return {bore_aim(), tool_reset(), accept(), how_sure(), misjudged()}; }

std::vector<finding::Reckoner> reckoners() {
  std::vector<finding::Reckoner> list = aim_reckoners();
  for (finding::Reckoner& r : reading_reckoners()) list.push_back(std::move(r));
  list.push_back(plate_reckoner());
  return list;
}

}  // namespace fettle::bore
