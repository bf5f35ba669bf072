#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "calc/bore/gauge.h"
#include "calc/bore/hone.h"
#include "calc/bore/reckoner_kit.h"
#include "calc/bore/reckoners.h"
#include "calc/bore/runs.h"
#include "calc/bore/temperature.h"

namespace fettle::bore {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;
using namespace kit;

// ---- gauges ---------------------------------------------------------------------------------------------------------

Outcome<ReckonerAnswer> answer_study(const ReckonerValues& v) {
  const auto readings = list_of(v.text.at("readings"), Kind::length, "readings");
  if (!readings.ok()) return readings.problems();
  StudyInputs in;
  in.readings = *readings;
  in.parts = static_cast<int>(v["parts"]);
  in.persons = static_cast<int>(v["people"]);
  in.trials = static_cast<int>(v["trials"]);
  in.tolerance = v["tolerance"];
  const auto x = gauge_study(in);
  if (!x.ok()) return x.problems();
  const GaugeSpread &s = x->by_variance.spread, &r = x->by_range.spread;
  ReckonerAnswer a;
  a.number = {{"repeatability", s.repeatability},
              {"between_people", std::hypot(s.reproducibility, s.interaction)},
              {"gauge", s.gauge},
              {"between_parts", s.parts},
              {"of_total", s.of_total},
              {"of_tolerance", s.of_tolerance},
              {"categories", static_cast<double>(s.categories_cut)},
              {"gauge_by_ranges", r.gauge},
              {"categories_by_ranges", static_cast<double>(r.categories_cut)}};
  a.text["verdict"] = gauge_verdict(s.of_tolerance) == GaugeVerdict::good       ? "good"
                      : gauge_verdict(s.of_tolerance) == GaugeVerdict::bearable ? "bearable"
                                                                                : "not good enough";
  a.sentence = fmt::format("One reading scatters by {}: six of it take {} of the tolerance, {}.", little(s.gauge),
                           percent(s.of_tolerance), a.text["verdict"]);
  a.notes.push_back(
      fmt::format("interaction of people and parts: p {}, {}", base::fixed(x->by_variance.p_interaction, 2),
                  x->by_variance.pooled ? "pooled with repeatability (above 0.25)" : "kept apart (up to 0.25)"));
  for (const RangeFlag& f : x->by_range.flags)
    a.notes.push_back(
        fmt::format("read part {} again: person {} has a range of {}", f.part, f.person, little(f.range)));
  const int n = readings_to_average(s, in.tolerance, 0.30);
  if (s.of_tolerance > 0.30 && n > 1)
    a.notes.push_back(fmt::format("the mean of {} readings a part brings it within 30 %", n));
  return a;
}

Reckoner study() {
  Reckoner r;
  r.name = "gauge_study";
  r.science = "bore";
  r.question = "Several people read the same parts several times: is the gauge good enough?";
  r.inputs = {text("readings", "person by person, trial by trial, part by part; the unit last"),
              count("parts", "parts read", 2, 50), count("people", "people who read", 1, 20),
              count("trials", "times each read each part", 2, 10),
              length("tolerance", "width of the drawing's tolerance", 1e-7, 1)};
  r.outputs = {{"repeatability", Kind::length, "same person, same part; one standard deviation", true},
               {"between_people", Kind::length, "people, and people who differ on some parts", true},
               {"gauge", Kind::length, "all of it", true},
               {"between_parts", Kind::length, "parts themselves", true},
               {"of_total", Kind::fraction, "gauge of all variation"},
               {"of_tolerance", Kind::fraction, "six times the gauge over the tolerance"},
               {"categories", Kind::number, "distinct categories, cut down to a whole number"},
               {"gauge_by_ranges", Kind::length, "gauge by the older way of ranges", true},
               {"categories_by_ranges", Kind::number, "distinct categories by ranges"},
               {"verdict", Kind::number, "good up to 10 %, bearable up to 30 % of the tolerance (common practice)"}};
  r.formula =
      "two-way analysis of variance; by ranges: mean range/d2, range of means/d2* less its share of repeatability";
  r.source = "Measurement Systems Analysis reference manual, 4th ed.";
  r.range = "every person reads every part every time";
  r.examples = {
      {{{"readings",
         ".29 -.56 1.34 .47 -.80 .02 .59 -.31 2.26 -1.36 .41 -.68 1.17 .50 -.92 -.11 .75 -.20 1.99 -1.25 .64 -.58 1.27 "
         ".64 -.84 -.21 .66 -.17 2.01 -1.31 .08 -.47 1.19 .01 -.56 -.20 .47 -.63 1.80 -1.68 .25 -1.22 .94 1.03 -1.20 "
         ".22 .55 .08 2.12 -1.62 .07 -.68 1.34 .20 -1.28 .06 .83 -.34 2.19 -1.50 .04 -1.38 .88 .14 -1.46 -.29 .02 -.46 "
         "1.77 -1.49 -.11 -1.13 1.09 .20 -1.07 -.67 .01 -.56 1.45 -1.77 -.15 -.96 .67 .11 -1.45 -.49 .21 -.49 1.87 "
         "-2.16 mm"},
        {"parts", "10"},
        {"people", "3"},
        {"trials", "3"},
        {"tolerance", "10 mm"}},
       {{"repeatability", "0.199933 mm"},
        {"between_people", "0.226838 mm"},
        {"gauge", "0.302373 mm"},
        {"between_parts", "1.042327 mm"},
        {"of_total", "27.86 %"},
        {"categories", "4"},
        {"gauge_by_ranges", "0.30575 mm"},
        {"categories_by_ranges", "5"},
        {"verdict", "bearable"}},
       2e-4,
       "AIAG Measurement Systems Analysis, 4th ed., reference study (from memory, its numbers taken as mm)"}};
  r.answer = answer_study;
  return r;
}

/// "25 nm dof 18; drift 9.7 nm": name, value with unit, degrees of freedom when they are known.
Outcome<std::vector<Contribution>> contributions_of(const std::string& text) {
  std::vector<Contribution> out;
  for (const std::string& piece : base::split(text, ';')) {
    std::string part(base::trim(piece));
    if (part.empty()) continue;
    Contribution c;
    if (const std::size_t dof = part.rfind("dof"); dof != std::string::npos) {
      const auto n = base::to_double(base::trim(std::string_view(part).substr(dof + 3)));
      if (!n || !(*n >= 1))
        return bad("contributions: no degrees of freedom after \"dof\"", part, "such as \"dof 18\"");
      c.dof = *n;
      part = std::string(base::trim(std::string_view(part).substr(0, dof)));
    }
    const std::size_t digit = part.find_first_of("0123456789.-+");
    if (digit == std::string::npos) return bad("contributions: no number", part, "such as \"ring 0.3 µm\"");
    c.name = std::string(base::trim(std::string_view(part).substr(0, digit)));
    if (c.name.empty()) c.name = fmt::format("no. {}", out.size() + 1);
    const auto q = unit::parse(part.substr(digit), Kind::length);
    if (!q.ok()) return bad("contributions: " + q.problem().what, part.substr(digit), "such as \"0.3 µm\"");
    if (!(q->si >= 0)) return bad("contributions: a standard uncertainty is not negative", part);
    c.u = q->si;
    out.push_back(std::move(c));
  }
  return out;
}

Outcome<ReckonerAnswer> answer_budget(const ReckonerValues& v) {
  auto list = contributions_of(v.text.at("contributions"));
  if (!list.ok()) return list.problems();
  BudgetInputs in;
  in.contributions = std::move(list.value());
  in.confidence = v["confidence"];
  if (v["step"] > 0) in.contributions.push_back({"the gauge's step", v["step"] / std::sqrt(12.0), 1, 0});
  if (v["temperature"] > 0) {
    const double k = standard_uncertainty(v["temperature"], Shape::uniform);
    in.contributions.push_back({"part and ring not alike in temperature", k, v["size"] * v["expansion"], 0});
  }
  const auto b = budget(in);
  if (!b.ok()) return b.problems();
  ReckonerAnswer a;
  a.number = {{"u", b->u}, {"expanded", b->expanded}, {"k", b->k}, {"largest", b->lines.front().share}};
  a.text["worst"] = b->lines.front().name;
  a.text["dof"] = b->dof > 0 ? base::fixed(b->dof, 2) : "without end";
  a.sentence = fmt::format("Standard uncertainty {}, expanded {} ({} at k = {}). Most comes from {}.", little(b->u),
                           little(b->expanded), percent(in.confidence), base::fixed(b->k, 2), a.text["worst"]);
  for (const BudgetLine& l : b->lines)
    a.notes.push_back(fmt::format("{}: {} ({} of the variance)", l.name, little(l.u), percent(l.share)));
  return a;
}

Reckoner gauge_budget() {
  Reckoner r;
  r.name = "gauge_budget";
  r.science = "bore";
  r.question = "What does a reading's uncertainty come to, and what makes most of it?";
  r.inputs = {text("contributions", "standard uncertainties: \"ring 0.3 µm; repeat 0.4 µm dof 9\""),
              or_else(length("step", "smallest step the gauge shows; counted as uniform", 0, 1e-2), "0 µm"),
              or_else(length("size", "size measured, for the temperature's share", 0, 10), "0 mm"),
              or_else(quantity("temperature", Kind::temperature_difference,
                               "part and ring differ by up to this, either way", 0, 50),
                      "0 K"),
              or_else(quantity("expansion", Kind::expansion, "of the part", 0, 1e-4), "10.5 µm/(m·K)", "grey iron"),
              or_else(quantity("confidence", Kind::fraction, "two-sided, for the expanded uncertainty", 0.5, 0.9999),
                      "95 %", "usual")};
  r.outputs = {{"u", Kind::length, "combined standard uncertainty", true},
               {"expanded", Kind::length, "k times it", true},
               {"k", Kind::number, "coverage factor, from Student's t"},
               {"dof", Kind::number, "effective degrees of freedom (Welch and Satterthwaite)"},
               {"worst", Kind::number, "largest contribution"},
               {"largest", Kind::fraction, "its share of the variance"}};
  r.formula = "u = root of sum of squares; dof = u^4 / sum(u_i^4 / dof_i); U = t(dof) u";
  r.source = "JCGM 100:2008 (GUM), 5.1 and G.4";
  r.range = "independent contributions, sensitivities near 1";
  r.examples = {{{{"contributions",
                   "standard 0.025 µm dof 18; difference 0.0097 µm dof 25.6; expansions 0.0029 µm dof 50; "
                   "temperatures 0.0166 µm dof 2"},
                  {"confidence", "99 %"}},
                 {{"u", "0.03166 µm"}, {"k", "2.921"}, {"worst", "standard"}, {"dof", "16.76"}},
                 1e-3,
                 "GUM annex H.1, computed again from the contributions it prints (printed 32 nm, 16, 2.92)"}};
  r.answer = answer_budget;
  return r;
}

// ---- temperature and hone -------------------------------------------------------------------------------------------

Outcome<ReckonerAnswer> answer_at_20(const ReckonerValues& v) {
  const auto x = at_20({v["shown"], v["part"], v["part_expansion"], v["gauge"], v["gauge_expansion"], v["thermometer"],
                        v["thermometer"], 0.1});
  if (!x.ok()) return x.problems();
  ReckonerAnswer a;
  a.number = {{"size", x->size}, {"correction", x->correction}, {"u", x->u}};
  a.sentence = fmt::format("At 20 °C it is {}: {} {} what the gauge shows.", size(x->size),
                           little(std::fabs(x->correction)), x->correction < 0 ? "less than" : "more than");
  return a;
}

Reckoner at_twenty() {
  Reckoner r;
  r.name = "at_20";
  r.science = "bore";
  r.question = "The gauge shows this on a warm part: what is it at 20 °C?";
  const auto temperature = [](const char* name, const char* help) {
    return quantity(name, Kind::temperature, help, 223.15, 473.15);
  };
  const auto expansion = [](const char* name, const char* help) {
    return quantity(name, Kind::expansion, help, 0, 1e-4);
  };
  r.inputs = {
      length("shown", "what the gauge shows as the size", 1e-6, 100),
      temperature("part", "temperature of the part"),
      or_else(expansion("part_expansion", "of the part"), "10.5 µm/(m·K)", "grey iron"),
      or_else(temperature("gauge", "temperature of the gauge, or of the ring it was set on"), "20 °C",
              "corrected already, or at 20"),
      or_else(expansion("gauge_expansion", "of the gauge or ring"), "11.5 µm/(m·K)", "hardened steel"),
      or_else(quantity("thermometer", Kind::temperature_difference, "standard uncertainty of each temperature", 0, 50),
              "0.5 K", "common practice: contact thermometer")};
  r.outputs = {{"size", Kind::length, "at 20 °C", true},
               {"correction", Kind::length, "add this to what the gauge shows", true},
               {"u", Kind::length, "standard uncertainty of the correction", true}};
  r.formula = "shown (1 + a_gauge (t_gauge - 20)) / (1 + a_part (t_part - 20))";
  r.source = "ISO 1; expansions within 10 %";
  r.range = "-50 to 200 °C, part and ring each at one temperature";
  r.examples = {{{{"shown", "400 mm"}, {"part", "32 °C"}},
                 {{"size", "399.949606 mm"}},
                 2e-9,
                 "L/(1 + a (t - 20)), worked by hand"},
                {{{"shown", "120 mm"}, {"part", "25 °C"}, {"part_expansion", "11.5 µm/(m·K)"}},
                 {{"size", "119.993100 mm"}, {"correction", "-6.8996 µm"}},
                 1e-5,
                 "L/(1 + a (t - 20)), worked by hand"}};
  r.answer = answer_at_20;
  return r;
}

Outcome<ReckonerAnswer> answer_hone(const ReckonerValues& v) {
  const auto l = both_limits(v, "limits");
  if (!l.ok()) return l.problems();
  HoneInputs in;
  in.readings = {v["reading"]};
  in.part_temperatures = {v["part"]};
  in.part_expansion = v["part_expansion"];
  in.gauge_temperature = v["ring"];
  in.gauge_expansion = v["ring_expansion"];
  in.lower = l->first;
  in.upper = l->second;
  in.guard = 1.65 * v["gauge"];
  in.step = sensible_step(v["gauge"], 0);
  const auto x = hone_list(in);
  if (!x.ok()) return x.problems();
  const HonePart& p = x->parts.front();
  ReckonerAnswer a;
  a.number = {{"take", p.take}, {"size", p.size}, {"hone_to", x->hone_aim}};
  a.text["verdict"] = std::string(word(p.verdict));
  a.sentence =
      p.verdict == Verdict::hone   ? fmt::format("Hone: take {} of diameter, to {}.", little(p.take), size(x->hone_aim))
      : p.verdict == Verdict::pass ? fmt::format("Pass: {} at 20 °C is proved inside.", size(p.size))
      : p.verdict == Verdict::too_large
          ? fmt::format("Too large: {} at 20 °C is proved outside, and no hone makes it smaller.", size(p.size))
          : fmt::format("Gauge it again: {} at 20 °C is too near the upper limit for one reading.", size(p.size));
  if (in.step > 0 && p.verdict == Verdict::hone)
    a.notes.push_back(fmt::format("said in steps of {}: the gauge cannot tell more", little(in.step)));
  return a;
}

Reckoner hone_off() {
  Reckoner r;
  r.name = "hone_off";
  r.science = "bore";
  r.question = "This bore reads so: pass, hone (how much), gauge again, or too large?";
  const auto temperature = [](const char* name, const char* help) {
    return or_else(quantity(name, Kind::temperature, help, 223.15, 473.15), "20 °C", "corrected already, or at 20");
  };
  r.inputs = {
      size_limits("limits", "what the drawing asks of the bore"),
      length("reading", "what the gauge shows as the size", 1e-6, 10),
      length("gauge", "standard uncertainty of the reading", 0, 1e-3),
      temperature("part", "temperature of the part"),
      or_else(quantity("part_expansion", Kind::expansion, "of the part", 0, 1e-4), "10.5 µm/(m·K)", "grey iron"),
      temperature("ring", "temperature of the ring the gauge was set on"),
      or_else(quantity("ring_expansion", Kind::expansion, "of the ring", 0, 1e-4), "11.5 µm/(m·K)", "hardened steel")};
  r.outputs = {{"verdict", Kind::number, "pass, hone, gauge again, too large"},
               {"take", Kind::length, "of diameter; 0 unless it is honed", true},
               {"size", Kind::length, "at 20 °C", true},
               {"hone_to", Kind::length, "middle of the accept limits", true}};
  r.formula =
      "size at 20 °C below L + 1.65 u: hone to the middle; above U - 1.65 u: again; above U + 1.65 u: too large";
  r.source =
      "ISO 14253-1:2017, ISO 1 (from memory); common practice: doubt below goes to the hone, doubt above is gauged "
      "again";
  r.range = "one reading, normal errors";
  r.examples = {{{{"limits", "22.000..22.009 mm"}, {"reading", "22.0022 mm"}, {"gauge", "0.6 µm"}, {"part", "26 °C"}},
                 {{"verdict", "hone"}, {"take", "3.5 µm"}, {"size", "22.000814 mm"}, {"hone_to", "22.0045 mm"}},
                 1e-7,
                 "22.0022 - 22.0022 x 10.5e-6 x 6, to 22.0045 in steps of half a micrometre, worked by hand"}};
  r.answer = answer_hone;
  return r;
}

// ---- runs -----------------------------------------------------------------------------------------------------------

Outcome<ReckonerAnswer> answer_run(const ReckonerValues& v) {
  const auto readings = list_of(v.text.at("readings"), Kind::length, "readings");
  if (!readings.ok()) return readings.problems();
  RunInputs in;
  in.values = *readings;
  const int reset = static_cast<int>(v["reset_after"]);
  if (reset >= static_cast<int>(in.values.size())) return bad("reset_after: there are not so many readings");
  for (std::size_t i = 0; i < in.values.size(); ++i)
    in.stretch.push_back(reset > 0 && static_cast<int>(i) >= reset ? 2 : 1);
  const auto x = look_at_run(in);
  if (!x.ok()) return x.problems();
  ReckonerAnswer a;
  double p = 1;
  for (const RunTest& t : x->tests) {
    if (t.name == "drift") p = t.p;
    a.notes.push_back(fmt::format("{}: chance alone does as much in {} of 100 runs{}", t.name,
                                  base::fixed(100 * t.p, 1), t.signal ? ": not chance" : ""));
  }
  a.number = {{"slope", x->slope}, {"chance", x->slope_chance}, {"p", p}, {"scatter", x->s}};
  a.text["verdict"] = x->drift     ? x->slope < 0 ? "drift: bores get smaller" : "drift: bores get larger"
                      : x->step    ? "step at the reset"
                      : x->far_off ? "one reading far off"
                      : x->linked  ? "neighbours are not independent"
                                   : "no trend";
  a.sentence = fmt::format("{}: {} a part, where chance alone explains up to {}.", a.text["verdict"], little(x->slope),
                           little(x->slope_chance));
  if (!x->any()) a.notes.emplace_back("leave the offset alone for what these readings say");
  return a;
}

Reckoner run_of_readings() {
  Reckoner r;
  r.name = "run_of_readings";
  r.science = "bore";
  r.question = "The last readings in order: is there a drift, or only chance?";
  r.inputs = {text("readings", "in the order the parts came, the unit last: \"5.4 2.1 4.9 µm\""),
              or_else(count("reset_after", "readings before the tool was set anew", 0, 1000), "0", "not set anew")};
  r.outputs = {{"verdict", Kind::number, "no trend, drift, step at the reset, one far off, neighbours linked"},
               {"slope", Kind::length, "change from one part to the next", true},
               {"chance", Kind::length, "slope that chance alone explains, either way", true},
               {"p", Kind::fraction, "how often chance alone does as much as this slope"},
               {"scatter", Kind::length, "one standard deviation about the levels, gauge included", true}};
  r.formula = "t of a slope common to the stretches, ranks, levels, farthest value, neighbours; each at 5 %/tests";
  r.source =
      "Student; Mann and Kendall summed over stretches (Hirsch, Slack and Smith 1982); Fisher; Grubbs 1950; Bonferroni";
  r.range = "six readings or more, one reset at most; any false alarm in at most 5 of 100 runs";
  r.examples = {{{{"readings",
                   "5.4 2.1 4.9 .9 3.6 2.4 3.4 3.2 3.0 3.6 .4 1.7 1.9 4.9 3.4 5.1 1.5 3.4 1.3 1.5 6.8 2.5 4.0 1.9 µm"},
                  {"reset_after", "12"}},
                 {{"slope", "-0.10979 µm"}, {"scatter", "1.61800 µm"}, {"p", "26.0520 %"}, {"verdict", "no trend"}},
                 1e-4,
                 "least squares of two levels and one slope, twin in another language"}};
  r.answer = answer_run;
  return r;
}

}  // namespace

std::vector<finding::Reckoner> reading_reckoners() {
  return {study(), gauge_budget(), at_twenty(), hone_off(), run_of_readings()};
}

}  // namespace fettle::bore
