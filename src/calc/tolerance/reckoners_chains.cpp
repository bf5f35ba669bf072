#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "base/text.h"
#include "calc/tolerance/capability.h"
#include "calc/tolerance/position.h"
#include "calc/tolerance/process.h"
#include "calc/tolerance/reckoners.h"
#include "calc/tolerance/stack.h"
#include "calc/tolerance/working.h"
#include "calc/tolerance/yield.h"
#include "finding/reckoner_kit.h"

namespace fettle::tolerance {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerInput;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;

std::string mm(double x) { return base::fixed(1e3 * x, 4) + " mm"; }

Outcome<std::array<double, 2>> both_limits(const ReckonerValues& v, const std::string& name) {
  const unit::Limits& l = v.limits.at(name);
  if (!l.lower || !l.upper) return bad(name + ": both limits are needed", l.typed, "\"1.750 ± 0.003 in\"");
  return std::array<double, 2>{*l.lower, *l.upper};
}

constexpr int kPlus = 4, kMinus = 6;

/// plus_1.., minus_1.., bought_plus.., with what the choice says about their spread.
Outcome<std::vector<StackTerm>> terms_of(const ReckonerValues& v) {
  std::vector<StackTerm> out;
  Problems problems;
  const auto add = [&](const std::string& name, double sign, bool fixed) {
    if (v.limits.count(name) == 0) return;
    const auto l = both_limits(v, name);
    if (!l.ok()) {
      problems.push_back(l.problem());
      return;
    }
    StackTerm t;
    t.name = name;
    t.sign = sign;
    t.nominal = ((*l)[0] + (*l)[1]) / 2;
    t.tolerance = ((*l)[1] - (*l)[0]) / 2;
    t.fixed = fixed;
    if (v.text.count("spread") > 0 && v.text.at("spread") == "uniform") t.spread = StackTerm::Spread::uniform;
    out.push_back(t);
  };
  for (int i = 1; i <= kPlus; ++i) add(fmt::format("plus_{}", i), 1, false);
  for (int i = 1; i <= kMinus; ++i) add(fmt::format("minus_{}", i), -1, false);
  for (int i = 1; i <= 3; ++i) {
    add(fmt::format("bought_plus_{}", i), 1, true);
    add(fmt::format("bought_minus_{}", i), -1, true);
  }
  if (!problems.empty()) return problems;
  if (out.empty()) return bad("no dimension was given", {}, "plus_1 and more");
  return out;
}
void add_dimensions(std::vector<ReckonerInput>& in) {
  in.push_back(limits("plus_1", "dimension that opens the gap"));
  for (int i = 2; i <= kPlus; ++i) in.push_back(left_out(limits(fmt::format("plus_{}", i), "another that opens it")));
  for (int i = 1; i <= kMinus; ++i)
    in.push_back(left_out(limits(fmt::format("minus_{}", i), "dimension that closes the gap")));
}

Outcome<ReckonerAnswer> answer_stack(const ReckonerValues& v) {
  const auto terms = terms_of(v);
  if (!terms.ok()) return terms.problems();
  StackInputs in;
  in.terms = *terms;
  in.lower = v["gap_least"];
  if (v.has("gap_most")) in.upper = v["gap_most"];
  const auto solved = stack(in);
  if (!solved.ok()) return solved.problems();
  const StackResult& r = *solved;
  ReckonerAnswer a;
  a.number = {{"mean", r.mean},   {"least", r.worst_low}, {"most", r.worst_high},
              {"worst", r.worst}, {"rss", r.rss},         {"outside", r.below.share + r.above.share}};
  a.sentence =
      fmt::format("Gap {} to {} at worst, {} ± {} by root sum square; {} of assemblies lie outside.", mm(r.worst_low),
                  mm(r.worst_high), mm(r.mean), mm(r.rss), unit::print(r.below.share + r.above.share, Kind::fraction));
  for (const StackShare& s : r.shares)
    a.notes.push_back(fmt::format("{} brings {} of the variance", s.name, unit::print(s.variance, Kind::fraction)));
  a.notes.push_back(v.text.at("spread") == "uniform"
                        ? "every dimension spread evenly between its limits; the share is exact, not normal"
                        : "every dimension normal about the middle of its limits, tolerance three standard deviations");
  return a;
}

Reckoner stack_reckoner() {
  Reckoner r;
  r.name = "stack";
  r.science = "tolerance";
  r.question = "How large is the gap that these dimensions leave, at worst and as a rule?";
  add_dimensions(r.inputs);
  r.inputs.push_back(choice("spread", "how the parts lie between their limits", {"normal", "uniform"}, "normal"));
  r.inputs.push_back(
      quantity("gap_least", Kind::length, "least gap that is good", -10, 10, "0 mm", "a gap closes at zero"));
  r.inputs.push_back(left_out(quantity("gap_most", Kind::length, "largest gap that is good", -10, 10)));
  r.outputs = {{"mean", Kind::length, "gap at the middle of all limits"},
               {"least", Kind::length, "every dimension at its bad limit"},
               {"most", Kind::length, "the other way round"},
               {"worst", Kind::length, "± at worst"},
               {"rss", Kind::length, "± by root sum square"},
               {"outside", Kind::fraction, "share of assemblies with a bad gap, exact for the spread said"}};
  r.formula = "gap = sum of plus - sum of minus; worst = sum of tolerances; rss = root of the sum of their squares";
  r.source =
      "Shigley's Mechanical Engineering Design, 9th ed., section 1-13; shares: Irwin and Hall 1927, "
      "Gil-Pelaez 1951; all from memory";
  r.range = "one axis, dimensions independent of each other";
  r.examples = {
      {{{"plus_1", "1.750 ± 0.003 in"},
        {"minus_1", "0.750 ± 0.001 in"},
        {"minus_2", "0.120 ± 0.005 in"},
        {"minus_3", "0.875 ± 0.001 in"}},
       {{"mean", "0.005 in"}, {"least", "-0.005 in"}, {"most", "0.015 in"}, {"worst", "0.010 in"}, {"rss", "0.006 in"}},
       1e-9,
       "Shigley's Mechanical Engineering Design, 9th ed., example 1-7 (from memory)"},
      {{{"plus_1", "10.0 ± 0.1 mm"},
        {"plus_2", "10.0 ± 0.1 mm"},
        {"minus_1", "10.0 ± 0.1 mm"},
        {"minus_2", "10.0 ± 0.1 mm"},
        {"spread", "uniform"},
        {"gap_least", "-0.3 mm"},
        {"gap_most", "0.3 mm"}},
       {{"outside", "0.520833 %"}},
       1e-5,
       "four uniforms, exact: 1/192 outside (Irwin and Hall)"}};
  r.answer = answer_stack;
  return r;
}

Outcome<ReckonerAnswer> answer_allocate(const ReckonerValues& v) {
  const auto terms = terms_of(v);
  if (!terms.ok()) return terms.problems();
  const double target = v["target"];
  const auto worst = allocate_in_proportion(*terms, target, Adding::worst_case);
  const auto rss = allocate_in_proportion(*terms, target, Adding::root_sum_square);
  if (!worst.ok()) return worst.problems();
  if (!rss.ok()) return rss.problems();
  ReckonerAnswer a;
  a.number = {{"factor_worst", worst->factor}, {"factor_rss", rss->factor}};
  std::string at_worst, as_a_rule;
  for (std::size_t i = 0; i < terms->size(); ++i) {
    if ((*terms)[i].fixed) continue;
    at_worst += fmt::format("{}{} ± {}", at_worst.empty() ? "" : ", ", (*terms)[i].name, mm(worst->tolerances[i]));
    as_a_rule += fmt::format("{}{} ± {}", as_a_rule.empty() ? "" : ", ", (*terms)[i].name, mm(rss->tolerances[i]));
  }
  a.text = {{"tolerances_worst", at_worst}, {"tolerances_rss", as_a_rule}};
  a.sentence = fmt::format("Tolerances × {} hold ± {} at worst; × {} by root sum square.",
                           base::fixed(worst->factor, 3), mm(target), base::fixed(rss->factor, 3));
  return a;
}

Reckoner allocate_reckoner() {
  Reckoner r;
  r.name = "allocate";
  r.science = "tolerance";
  r.question = "By what factor must tolerances shrink, or may they grow, so that the stack holds?";
  add_dimensions(r.inputs);
  for (int i = 1; i <= 3; ++i) {
    r.inputs.push_back(
        left_out(limits(fmt::format("bought_plus_{}", i), "bought in, its tolerance is fixed; opens the gap")));
    r.inputs.push_back(left_out(limits(fmt::format("bought_minus_{}", i), "the same, closes the gap")));
  }
  r.inputs.push_back(quantity("target", Kind::length, "± that the gap may vary", 1e-9, 1));
  r.outputs = {{"factor_worst", Kind::number, "all tolerances that are ours times this, worst case"},
               {"factor_rss", Kind::number, "the same by root sum square"},
               {"tolerances_worst", Kind::number, "what they become, worst case"},
               {"tolerances_rss", Kind::number, "what they become, root sum square"}};
  r.formula = "worst case: factor = (target - sum of fixed) / sum of ours; root sum square the same with squares";
  r.source = "Chase and Greenwood 1988, proportional scaling (from memory)";
  r.range = "one axis; what is bought in must leave room";
  r.examples = {{{{"plus_1", "8.000 ± 0.008 in"},
                  {"plus_2", "0.400 ± 0.002 in"},
                  {"plus_3", "0.400 ± 0.002 in"},
                  {"minus_1", "7.711 ± 0.006 in"},
                  {"bought_minus_1", "0.0505 ± 0.0015 in"},
                  {"bought_minus_2", "0.5093 ± 0.0025 in"},
                  {"bought_minus_3", "0.5093 ± 0.0025 in"},
                  {"target", "0.015 in"}},
                 {{"factor_worst", "0.47222"}, {"factor_rss", "1.39526"}},
                 1e-5,
                 "Chase, ADCATS 99-6, shaft and bearings (from memory)"}};
  r.answer = answer_allocate;
  return r;
}

Outcome<ReckonerAnswer> answer_position(const ReckonerValues& v) {
  const auto size = both_limits(v, "size");
  if (!size.ok()) return size.problems();
  PositionInputs in;
  in.hole = v.text.at("what") == "hole";
  const std::string& m = v.text.at("material");
  in.material = m == "maximum" ? Material::maximum : m == "least" ? Material::least : Material::regardless;
  in.least_size = (*size)[0];
  in.most_size = (*size)[1];
  in.actual_size = v["actual"];
  in.zone = v["zone"];
  in.dx = v["dx"];
  in.dy = v["dy"];
  const auto solved = position(in);
  if (!solved.ok()) return solved.problems();
  const PositionResult& r = *solved;
  ReckonerAnswer a;
  a.number = {{"found", r.found},
              {"bonus", r.bonus},
              {"allowed", r.allowed},
              {"margin", r.margin},
              {"boundary", r.virtual_size}};
  a.text["verdict"] = r.inside ? "inside" : r.size_inside ? "outside: place" : "outside: size";
  a.sentence = fmt::format("As diameters: {} found, {} allowed (bonus {}): {}.", mm(r.found), mm(r.allowed),
                           mm(r.bonus), a.text["verdict"]);
  return a;
}

Reckoner position_reckoner() {
  Reckoner r;
  r.name = "position";
  r.science = "tolerance";
  r.question = "Is this hole or pin in place, with the bonus that its size gives?";
  r.inputs = {limits("size", "limits of size"),
              quantity("actual", Kind::length, "measured size", 1e-6, 10),
              quantity("zone", Kind::length, "diameter of the position zone", 0, 1),
              quantity("dx", Kind::length, "measured minus true place in X", -1, 1),
              quantity("dy", Kind::length, "measured minus true place in Y", -1, 1),
              choice("material", "condition at which the zone holds", {"regardless", "maximum", "least"}, "regardless"),
              choice("what", "inner or outer feature", {"hole", "pin"}, "hole")};
  r.outputs = {{"found", Kind::length, "diameter 2 sqrt(dx^2 + dy^2)"},
               {"bonus", Kind::length, "added by the size, diameter"},
               {"allowed", Kind::length, "zone and bonus, diameter"},
               {"margin", Kind::length, "allowed minus found, diameter"},
               {"boundary", Kind::length, "virtual condition: the boundary that no part crosses"},
               {"verdict", Kind::number, "inside or not, and why"}};
  r.formula = "found = 2 sqrt(dx^2 + dy^2); bonus = distance of the size from its material condition";
  r.source = "ASME Y14.5, position at maximum and least material condition";
  r.range = "one feature, its datums regardless of size";
  r.examples = {{{{"size", "10.5..10.7 mm"},
                  {"actual", "10.62 mm"},
                  {"zone", "0.3 mm"},
                  {"dx", "0.12 mm"},
                  {"dy", "-0.15 mm"},
                  {"material", "maximum"}},
                 {{"found", "0.384187 mm"},
                  {"bonus", "0.12 mm"},
                  {"allowed", "0.42 mm"},
                  {"margin", "0.035813 mm"},
                  {"boundary", "10.2 mm"},
                  {"verdict", "inside"}},
                 2e-5,
                 "ASME Y14.5, worked by hand"}};
  r.answer = answer_position;
  return r;
}

Outcome<ReckonerAnswer> answer_capability(const ReckonerValues& v) {
  const auto l = both_limits(v, "limits");
  if (!l.ok()) return l.problems();
  CapabilityInputs in;
  in.lower = (*l)[0];
  in.upper = (*l)[1];
  in.mean = v["mean"];
  in.s = v["s"];
  in.items = static_cast<int>(v["items"]);
  in.confidence = v["confidence"];
  const auto solved = capability_of(in);
  if (!solved.ok()) return solved.problems();
  const CapabilityResult& r = *solved;
  ReckonerAnswer a;
  a.number = {{"cp", r.cp},
              {"cpk", r.cpk},
              {"k", r.k},
              {"below", r.below},
              {"above", r.above},
              {"outside", r.share},
              {"cpk_low", r.cpk_between->low},
              {"cpk_high", r.cpk_between->high},
              {"outside_centred", r.share_centred}};
  a.sentence = fmt::format("Cp {}, Cpk {} ({} to {} from {} parts); {} outside, {} if it stood in the middle.",
                           base::fixed(r.cp, 2), base::fixed(r.cpk, 2), base::fixed(r.cpk_between->low, 2),
                           base::fixed(r.cpk_between->high, 2), in.items, unit::print(r.share, Kind::fraction),
                           unit::print(r.share_centred, Kind::fraction));
  a.notes.push_back(fmt::format("the nearer limit's index is at least {} with this confidence (one-sided, exact)",
                                base::fixed(*r.cpk_at_least, 2)));
  if (in.items < 30) a.notes.push_back("fewer than 30 parts: the interval is rough");
  return a;
}

Reckoner capability_reckoner() {
  Reckoner r;
  r.name = "capability";
  r.science = "tolerance";
  r.question = "How capable is this process, and how sure is that from so few parts?";
  r.inputs = {limits("limits", "both limits"), quantity("mean", Kind::length, "mean of the measured parts", -100, 100),
              quantity("s", Kind::length, "their standard deviation", 1e-9, 1),
              count("items", "how many parts were measured", 2, 1000000),
              quantity("confidence", Kind::fraction, "of the interval", .5, .9999, "95 %", "common practice")};
  r.outputs = {{"cp", Kind::number, "width over six standard deviations"},
               {"cpk", Kind::number, "distance of the nearer limit over three"},
               {"k", Kind::number, "how far off the middle, over half the width"},
               {"below", Kind::fraction, "share below the lower limit"},
               {"above", Kind::fraction, "share above the upper limit"},
               {"outside", Kind::fraction, "both"},
               {"cpk_low", Kind::number, "Cpk, low end of its interval"},
               {"cpk_high", Kind::number, "Cpk, high end"},
               {"outside_centred", Kind::fraction, "share outside if the mean stood in the middle"}};
  r.formula = "Cp = (U - L)/6s; Cpk = min(U - m, m - L)/3s; interval Cpk -+ z sqrt(1/9n + Cpk^2/2(n-1))";
  r.source = "NIST/SEMATECH e-Handbook 6.1.6; Bissell 1990 (both from memory)";
  r.range = "normal process without drift; interval from about 30 parts on";
  r.examples = {{{{"limits", "8..20 mm"}, {"mean", "16 mm"}, {"s", "2 mm"}, {"items", "50"}},
                 {{"cp", "1"}, {"k", "0.33333"}, {"cpk", "0.66667"}},
                 2e-5,
                 "NIST/SEMATECH e-Handbook 6.1.6 (from memory)"},
                {{{"limits", "4.01..15.98 mm"}, {"mean", "9.995 mm"}, {"s", "1.5 mm"}, {"items", "20"}},
                 {{"cpk", "1.33"}, {"cpk_low", "0.8826"}, {"cpk_high", "1.7774"}},
                 1e-4,
                 "Bissell 1990, worked by hand"}};
  r.answer = answer_capability;
  return r;
}

Outcome<ReckonerAnswer> answer_yield(const ReckonerValues& v) {
  YieldInputs in;
  in.steps = {{"route", 0}};
  for (int i = 1; i <= 8; ++i) {
    const std::string name = fmt::format("loss_{}", i);
    if (!v.has(name)) continue;
    const double p = v[name];
    in.losses.push_back({name, p, p, p, 0, 0});
  }
  if (in.losses.empty()) return bad("no loss was given", {}, "loss_1 and more");
  const auto solved = rolled_yield(in);
  if (!solved.ok()) return solved.problems();
  ReckonerAnswer a;
  a.number = {{"yield", solved->rolled}, {"least", solved->whatever.low}, {"most", solved->whatever.high}};
  a.sentence =
      fmt::format("{} of castings become good parts ({} to {} whatever the losses have to do with each other).",
                  unit::print(solved->rolled, Kind::fraction), unit::print(solved->whatever.low, Kind::fraction),
                  unit::print(solved->whatever.high, Kind::fraction));
  return a;
}

Reckoner yield_reckoner() {
  Reckoner r;
  r.name = "rolled_yield";
  r.science = "tolerance";
  r.question = "What is left of a lot when every operation loses its share?";
  r.inputs = {quantity("loss_1", Kind::fraction, "share lost at one place, of those that come there", 0, 1)};
  for (int i = 2; i <= 8; ++i)
    r.inputs.push_back(left_out(quantity(fmt::format("loss_{}", i), Kind::fraction, "at another place", 0, 1)));
  r.outputs = {{"yield", Kind::fraction, "share of castings that become good parts, losses independent"},
               {"least", Kind::fraction, "if no part suffers from two of them"},
               {"most", Kind::fraction, "if the same parts suffer from all"}};
  r.formula = "product of (1 - loss); between 1 - sum and 1 - largest whatever they have to do with each other";
  r.source = "product rule; Boole's inequality and Frechet's bound";
  r.range = "each loss a share of the parts that come to it";
  r.examples = {{{{"loss_1", "2.5 %"}, {"loss_2", "0.1 %"}, {"loss_3", "0.2 %"}},
                 {{"yield", "97.207695 %"}, {"least", "97.2 %"}, {"most", "97.5 %"}},
                 1e-8,
                 "product, worked by hand"}};
  r.answer = answer_yield;
  return r;
}

Outcome<ReckonerAnswer> answer_order(const ReckonerValues& v) {
  OrderInputs in;
  in.good = std::llround(v["good"]);
  in.yield = v["yield"];
  in.confidence = v["confidence"];
  in.lot = std::llround(v["lot"]);
  in.least = std::llround(v["least"]);
  const auto solved = castings_to_order(in);
  if (!solved.ok()) return solved.problems();
  const OrderResult& r = *solved;
  ReckonerAnswer a;
  a.number = {{"order", static_cast<double>(r.order)},
              {"needed", static_cast<double>(r.needed)},
              {"chance", r.chance},
              {"on_average", static_cast<double>(r.on_average)},
              {"chance_on_average", r.chance_on_average}};
  a.sentence = fmt::format(
      "Order {} castings: {} good parts come out with a chance of {}. Good divided by yield, {}, would do "
      "in {} of cases.",
      r.order, in.good, unit::print(r.chance, Kind::fraction), r.on_average,
      unit::print(r.chance_on_average, Kind::fraction));
  return a;
}

Reckoner order_reckoner() {
  Reckoner r;
  r.name = "castings_to_order";
  r.science = "tolerance";
  r.question = "How many castings must be ordered so that enough good parts come out?";
  r.inputs = {count("good", "good parts wanted", 1, 1e6),
              quantity("yield", Kind::fraction, "share of castings that become good parts", .01, 1),
              quantity("confidence", Kind::fraction, "chance that it is enough", .5, .9999, "95 %", "common practice"),
              count("lot", "castings come in multiples of this", 1, 1e6, "1"),
              count("least", "least the foundry pours", 0, 1e6, "0")};
  r.inputs[3].fallback_source = r.inputs[4].fallback_source = "none unless said";
  r.outputs = {{"order", Kind::number, "castings to order"},
               {"needed", Kind::number, "fewest that do, before lots"},
               {"chance", Kind::fraction, "that the order is enough"},
               {"on_average", Kind::number, "good / yield, rounded up"},
               {"chance_on_average", Kind::fraction, "that those would be enough"}};
  r.formula = "fewest n with P(binomial(n, yield) >= good) >= confidence";
  r.source = "binomial distribution, exact";
  r.range = "castings independent of each other; a whole bad lot is not covered";
  r.examples = {{{{"good", "2"}, {"yield", "50 %"}},
                 {{"order", "8"}, {"chance", "96.484375 %"}},
                 1e-9,
                 "binomial, by hand: 1 - 9/256"}};
  r.answer = answer_order;
  return r;
}

Outcome<ReckonerAnswer> answer_zone(const ReckonerValues& v) {
  RoundZone in;
  in.zone = v["zone"];
  in.s_x = v["s_x"];
  in.s_y = value(v, "s_y", in.s_x);
  in.bias_x = v["off_x"];
  in.bias_y = v["off_y"];
  in.correlation = v["correlation"];
  const auto solved = round_zone(in);
  if (!solved.ok()) return solved.problems();
  ReckonerAnswer a;
  a.number = {{"inside", solved->inside}, {"outside", solved->outside}, {"square", square_in_round_zone(in.zone)}};
  a.sentence = fmt::format("{} lie outside Ø{}; a square of ± {} would fit into it, with {} less room.",
                           unit::print(solved->outside, Kind::fraction), mm(in.zone), mm(square_in_round_zone(in.zone)),
                           unit::print(1 - 1 / round_over_square(), Kind::fraction));
  return a;
}

Reckoner zone_reckoner() {
  Reckoner r;
  r.name = "round_zone";
  r.science = "tolerance";
  r.question = "What share of features lies inside a round zone?";
  r.inputs = {quantity("zone", Kind::length, "diameter of the zone", 1e-7, 1),
              quantity("s_x", Kind::length, "standard deviation in X", 0, .1),
              left_out(quantity("s_y", Kind::length, "the same in Y; as in X when left out", 0, .1)),
              quantity("off_x", Kind::length, "mean off its true place in X", -1, 1, "0 mm"),
              quantity("off_y", Kind::length, "mean off its true place in Y", -1, 1, "0 mm"),
              quantity("correlation", Kind::number, "of X and Y", -1, 1, "0")};
  r.outputs = {{"inside", Kind::fraction, "share inside"},
               {"outside", Kind::fraction, "share outside"},
               {"square", Kind::length, "± of the square that fits into the zone"}};
  r.formula = "round and centred: 1 - exp(-T^2 / (8 s^2)); else by quadrature over the zone";
  r.source = "Rayleigh's distribution; bivariate normal";
  r.range = "X and Y normal";
  r.examples = {{{{"zone", "0.1 mm"}, {"s_x", "0.015 mm"}},
                 {{"inside", "99.6134 %"}, {"square", "0.035355339 mm"}},
                 1e-6,
                 "Rayleigh, computed: 1 - exp(-T^2 / 8 s^2)"}};
  r.answer = answer_zone;
  return r;
}

Outcome<ReckonerAnswer> answer_process(const ReckonerValues& v) {
  const auto s = process_scatter(v.text.at("process"), v["size"]);
  if (!s.ok()) return s.problems();
  ReckonerAnswer a;
  a.number = {{"s", s->s}, {"low", s->low}, {"high", s->high}};
  a.sentence = fmt::format("Until it is measured: s {} mm, somewhere between {} and {} mm.", base::fixed(1e3 * s->s, 4),
                           base::fixed(1e3 * s->low, 4), base::fixed(1e3 * s->high, 4));
  a.notes = {s->source, "guidance only; thirty measured parts replace it"};
  return a;
}

Reckoner process_reckoner() {
  Reckoner r;
  r.name = "process_scatter";
  r.science = "tolerance";
  r.question = "What does a process usually hold, while nobody has measured?";
  std::vector<std::string> words;
  for (const ProcessGrades& g : process_grades()) words.emplace_back(g.process);
  r.inputs = {choice("process", "how the size is made", words, ""),
              quantity("size", Kind::length, "nominal size", 1e-6, .5)};
  r.outputs = {{"s", Kind::length, "standard deviation to start with", true},
               {"low", Kind::length, "in the finest shops", true},
               {"high", Kind::length, "in the coarsest", true}};
  r.formula =
      "width of the process's grade (ISO 286) over eight: to hold a grade is taken as Cpk 1.33 (common practice)";
  r.source =
      "grades by process: Narayana, Kannaiah, Reddy: Machine Drawing, fig. 15.2, and a trade chart; widths ISO 286-1";
  r.range = "sizes up to 500 mm; guidance, not a limit";
  r.examples = {{{{"process", "boring"}, {"size", "50 mm"}},
                 {{"s", "0.004875 mm"}, {"low", "0.003125 mm"}, {"high", "0.0125 mm"}},
                 1e-5,
                 "grades 8, 7 and 10 of ISO 286-1 at 50 mm: 39, 25, 100 µm over eight, worked by hand"}};
  r.answer = answer_process;
  return r;
}

/// "A > F11 39.9 ± 0.9 mm": from, direction, to, limits.
struct Leg {
  std::string from, to;
  double sign = 1;
  double lower = 0, upper = 0;
};
Outcome<Leg> leg_of(std::string_view line) {
  const std::size_t plus = line.find('>'), minus = line.find('<');
  const std::size_t at = std::min(plus, minus);
  const auto wrong = [&] {
    return bad("a dimension is written FROM > TO LIMITS (towards +) or FROM < TO LIMITS (towards -)", std::string(line),
               "\"A > F11 39.9 ± 0.9 mm\"");
  };
  if (at == std::string_view::npos) return wrong();
  Leg leg;
  leg.from = base::trim(line.substr(0, at));
  leg.sign = plus < minus ? 1 : -1;
  const std::string_view rest = base::trim(line.substr(at + 1));
  const std::size_t blank = rest.find(' ');
  if (leg.from.empty() || blank == std::string_view::npos) return wrong();
  leg.to = rest.substr(0, blank);
  const auto l = unit::parse_limits(base::trim(rest.substr(blank)));
  if (!l.ok()) return l.problems();
  if (!l->lower || !l->upper) return wrong();
  leg.lower = *l->lower;
  leg.upper = *l->upper;
  return leg;
}
struct NamedLeg {
  std::string name;
  Leg leg;
};
Outcome<std::vector<NamedLeg>> legs_of(const std::string& all) {
  std::vector<NamedLeg> out;
  Problems problems;
  for (const std::string& line : base::split(all, ';')) {
    if (base::trim(line).empty()) continue;
    const std::size_t colon = line.find(':');
    if (colon == std::string::npos) {
      problems.push_back(bad("a dimension begins with its name and a colon", line, "\"OP30: A > F3 18 ± 0.02 mm\""));
      continue;
    }
    const auto leg = leg_of(std::string_view(line).substr(colon + 1));
    if (!leg.ok()) problems.push_back(leg.problem());
    else out.push_back({std::string(base::trim(std::string_view(line).substr(0, colon))), *leg});
  }
  if (!problems.empty()) return problems;
  return out;
}

Outcome<ReckonerAnswer> answer_working(const ReckonerValues& v) {
  WorkingInputs in;
  const auto raw =
      v.text.count("raw") > 0 ? legs_of(v.text.at("raw")) : Outcome<std::vector<NamedLeg>>(std::vector<NamedLeg>{});
  const auto cuts = legs_of(v.text.at("cuts")), asked = legs_of(v.text.at("asked"));
  Problems problems;
  for (const auto* o : {&raw, &cuts, &asked})
    if (!o->ok()) problems.insert(problems.end(), o->problems().begin(), o->problems().end());
  if (!problems.empty()) return problems;
  for (const NamedLeg& x : *raw)
    in.raw.push_back(
        {x.name, x.leg.from, x.leg.to, x.leg.sign * (x.leg.lower + x.leg.upper) / 2, (x.leg.upper - x.leg.lower) / 2});
  std::map<std::string, bool> there;
  for (const RawSize& r : in.raw) there[r.from] = there[r.to] = true;
  for (const NamedLeg& x : *cuts) {
    WorkingCut k;
    k.operation = x.name;
    k.from = {x.leg.from};
    k.made = x.leg.to;
    k.about = x.leg.sign * (x.leg.lower + x.leg.upper) / 2;
    k.holds = (x.leg.upper - x.leg.lower) / 2;
    if (there.count(k.made) > 0 && v.has("stock")) {
      // Metal stands on the far side of the datum, as a dimension towards an outside face has it.
      k.side = x.leg.sign > 0 ? 1 : -1;
      k.least_stock = v["stock"];
    }
    there[k.made] = true;
    in.cuts.push_back(k);
  }
  for (const NamedLeg& x : *asked) {
    DrawingLimit d{x.name, x.leg.from, x.leg.to, x.leg.lower, x.leg.upper};
    if (x.leg.sign < 0) {
      d.lower = -x.leg.upper;
      d.upper = -x.leg.lower;
    }
    in.drawing.push_back(d);
  }
  in.statistical = v.text.at("adding") == "root sum square";
  const auto solved = working_dimensions(in);
  if (!solved.ok()) return solved.problems();
  const WorkingResult& r = *solved;
  ReckonerAnswer a;
  a.number["factor"] = r.factor;
  std::string list;
  for (const WorkingDimension& d : r.dimensions)
    list += fmt::format("{}{} {} ± {}", list.empty() ? "" : "; ", d.name, mm(std::fabs(d.mean)), mm(d.tolerance));
  a.text = {{"dimensions", list.empty() ? "none" : list}, {"clash", r.exist ? "nothing" : r.clash_sentence}};
  a.sentence =
      r.exist ? fmt::format("They exist, {} times as wide as the processes hold: {}.", base::fixed(r.factor, 3), list)
              : fmt::format("They do not exist: {}.", r.clash_sentence);
  for (const WorkingDimension& d : r.dimensions)
    if (d.free) a.notes.push_back(d.name + ": nothing asked stops it from being wider");
  return a;
}

Reckoner working_reckoner() {
  Reckoner r;
  r.name = "working_dimensions";
  r.science = "tolerance";
  r.question = "What must each operation hold so that drawing and stock come out?";
  r.inputs = {
      left_out(text("raw", "raw sizes, \"thickness: A > F11 39.9 ± 0.9 mm; ...\"")),
      text("cuts", "cuts in order, each with what its process holds: \"OP1: A > F11 38 ± 0.008 mm; ...\""),
      text("asked", "drawing dimensions, \"height: A > F11 36 ± 0.06 mm; ...\""),
      left_out(quantity("stock", Kind::length, "least that a cut of a surface already there must remove", 0, 1)),
      choice("adding", "how tolerances add", {"worst case", "root sum square"}, "worst case")};
  r.outputs = {{"factor", Kind::number, "widest common factor of what the processes hold; below 1 none exist"},
               {"dimensions", Kind::number, "working dimensions with their tolerances"},
               {"clash", Kind::number, "smallest set that cannot all hold"}};
  r.formula = "largest s with tolerances >= s x what each process holds, every signed sum within its limits";
  r.source = "tolerance chart (Wade 1967, from memory); linear programming";
  r.range = "one axis; > is towards +, < towards -; a cut removes metal on the far side of its datum";
  r.examples = {{{{"raw", "height: B > T 1.1 ± 0.02 in"},
                  {"cuts", "A: B > T 1.030 ± 0.002 in; B: T < S 0.530 ± 0.006 in; C: B > T 1.000 ± 0.002 in"},
                  {"asked", "slot: S > T 0.500 ± 0.010 in"}},
                 {{"factor", "1"}, {"clash", "nothing"}},
                 1e-7,
                 "slot in a machined block, lecture slides on tolerance stacks (read): 0.002 + 0.006 + 0.002 = 0.010"},
                {{{"cuts", "G10: A > F11 36 ± 0.008 mm; OP30: F11 < F3 18 ± 0.02 mm"},
                  {"asked", "floor: A > F3 18 ± 0.04 mm"},
                  {"raw", "thickness: A > top 40 ± 1 mm"},
                  {"adding", "root sum square"}},
                 {{"factor", "1.8569534"}},
                 1e-6,
                 "0.04 / sqrt(0.008^2 + 0.02^2), worked by hand"}};
  r.answer = answer_working;
  return r;
}

}  // namespace

std::vector<finding::Reckoner> chain_reckoners() {
  return {stack_reckoner(),      allocate_reckoner(), working_reckoner(), position_reckoner(), zone_reckoner(),
          capability_reckoner(), process_reckoner(),  yield_reckoner(),   order_reckoner()};
}

}  // namespace fettle::tolerance
