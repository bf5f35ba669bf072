#include "calc/practice/reckoners.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "calc/practice/change.h"
#include "calc/practice/practice.h"
#include "finding/reckoner_kit.h"

namespace fettle::practice {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;

constexpr const char* common = "common practice";

// ---- one rule -------------------------------------------------------------------------------------------------------

Outcome<ReckonerAnswer> answer_rule(const ReckonerValues& v) {
  const Rule* r = find_rule(v.text.at("rule"));
  if (r == nullptr) return ours("a rule that is offered and not known");
  ReckonerAnswer a;
  a.text["asks"] = std::string(r->question);
  a.text["reason"] = std::string(r->reason);
  a.text["mend"] = std::string(r->mend);
  a.text["weight"] = r->weight == Weight::must ? "must" : "should";
  a.text["source"] = std::string(r->source);
  a.sentence = fmt::format("{} Why: {}. What to do: {}.", r->question, r->reason, r->mend);
  return a;
}

Reckoner rule() {
  Reckoner r;
  r.name = "rule";
  r.science = "practice";
  r.question = "What does a rule of the trade ask, and why?";
  std::vector<std::string> ids;
  for (const Rule& x : rules()) ids.emplace_back(x.id);
  r.inputs = {choice("rule", "which rule", ids, "")};
  r.outputs = {{"asks", Kind::number, "the question it puts to a plan"},
               {"reason", Kind::number, "why"},
               {"mend", Kind::number, "what to do when it is broken"},
               {"weight", Kind::number, "must, or should"},
               {"source", Kind::number, "where it is from"}};
  r.formula = "looked up";
  r.source = "the list of rules in calc/practice, each with its own source; mostly common practice";
  r.range = "castings of iron";
  r.examples = {{{{"rule", "no_form_tap"}},
                 {{"weight", "must"}, {"mend", "take a cutting tap or a thread mill"}},
                 1e-9,
                 "the list of rules, common practice"}};
  r.answer = answer_rule;
  return r;
}

// ---- under the skin -------------------------------------------------------------------------------------------------

Outcome<ReckonerAnswer> answer_skin(const ReckonerValues& v) {
  const double stock = v["least_stock"], left = v["leaves"], skin = v["skin"];
  if (left > stock)
    return bad("the cut leaves more than there is", unit::print(left, Kind::length),
               "at most " + unit::print(stock, Kind::length));
  const double whole = stock - left, pass = value(v, "pass_depth", whole), taken = std::min(whole, pass);
  const double spare = taken - skin;
  const bool under = spare >= -1e-9;
  ReckonerAnswer a;
  a.number = {{"takes", taken}, {"spare", spare}};
  a.text["verdict"] = under ? "under the skin" : "in the skin";
  a.sentence = fmt::format("The first pass takes {} where there is least; the skin asks for {}: {}.",
                           unit::print(taken, Kind::length), unit::print(skin, Kind::length), a.text["verdict"]);
  if (!under && whole >= skin - 1e-9)
    a.notes.push_back(fmt::format("one pass of {} or more goes under it", unit::print(skin, Kind::length)));
  if (!under && whole < skin - 1e-9)
    a.notes.push_back(fmt::format("order {} more stock, or leave less", unit::print(skin - whole, Kind::length)));
  return a;
}

Reckoner skin_cut() {
  Reckoner r;
  r.name = "skin_cut";
  r.science = "practice";
  r.question = "Does the first cut go under the cast skin?";
  r.inputs = {length("least_stock", "stock at the bad end of the casting's tolerance", 0, 1),
              length("skin", "depth of skin and its roughness", 0, 0.1, "0.8 mm", "from memory: skin 0.5 to 1.0"),
              length("leaves", "left for a later cut", 0, 1, "0 mm"),
              left_out(length("pass_depth", "most that one pass takes; all of it when left out", 0, 1))};
  r.outputs = {{"takes", Kind::length, "what the first pass takes there"},
               {"spare", Kind::length, "depth below the skin"},
               {"verdict", Kind::number, "under the skin, or in it"}};
  r.formula = "min(least stock - leaves, pass depth) against skin";
  r.source = common;
  r.range = "sand castings; the skin is measured on one casting cut across";
  r.examples = {{{{"least_stock", "1.5 mm"}, {"leaves", "0.25 mm"}},
                 {{"takes", "1.25 mm"}, {"spare", "0.45 mm"}, {"verdict", "under the skin"}},
                 1e-9,
                 "worked by hand"},
                {{{"least_stock", "1.5 mm"}, {"pass_depth", "0.5 mm"}, {"skin", "0.8 mm"}},
                 {{"takes", "0.5 mm"}, {"spare", "-0.3 mm"}, {"verdict", "in the skin"}},
                 1e-9,
                 "worked by hand"}};
  r.answer = answer_skin;
  return r;
}

// ---- exit edge ------------------------------------------------------------------------------------------------------

Outcome<ReckonerAnswer> answer_exit(const ReckonerValues& v) {
  Facts f;
  f.casting.iron = v.text.at("iron") == "grey" ? Iron::grey : Iron::ductile;
  Operation o;
  o.id = "this cut";
  Cut c;
  c.kind = ToolKind::face_mill;
  c.pass = Pass::rough_and_finish;
  c.features = {"this face"};
  const std::string way = v.text.at("leaves");
  c.exit = way == "a sharp edge"    ? Exit::sharp
           : way == "a broken edge" ? Exit::edge_broken
           : way == "into stock"    ? Exit::into_stock
                                    : Exit::rolls_out;
  o.cuts = {c};
  f.operations = {o};
  const Answer judged = judge(f, "exit_edge");
  ReckonerAnswer a;
  a.text["verdict"] = judged.verdict == Verdict::broken ? "breaks out" : "clean";
  a.sentence = judged.verdict == Verdict::broken ? "Grey iron breaks out where the tool leaves over a sharp edge."
               : judged.verdict == Verdict::not_applicable
                   ? "Ductile iron bends and burrs there, it does not break out."
                   : "The edge stays: the tool does not leave over it sharp.";
  if (judged.verdict == Verdict::broken) a.notes.push_back(judged.mend);
  if (judged.verdict == Verdict::not_applicable) a.notes.push_back("expect a burr instead, and somebody to remove it");
  return a;
}

Reckoner exit_edge_reckoner() {
  Reckoner r;
  r.name = "exit_edge";
  r.science = "practice";
  r.question = "Does the edge break out where the mill leaves?";
  r.inputs = {choice("iron", "grey or ductile", {"grey", "ductile"}, ""),
              choice("leaves", "how the tool leaves the metal",
                     {"a sharp edge", "a broken edge", "into stock", "rolling out"}, "")};
  r.outputs = {{"verdict", Kind::number, "breaks out, or clean"}};
  r.formula = "grey iron and a sharp edge";
  r.source = common;
  r.range = "milling";
  r.examples = {{{{"iron", "grey"}, {"leaves", "a sharp edge"}}, {{"verdict", "breaks out"}}, 1e-9, "worked by hand"},
                {{{"iron", "grey"}, {"leaves", "a broken edge"}}, {{"verdict", "clean"}}, 1e-9, "worked by hand"},
                {{{"iron", "ductile"}, {"leaves", "a sharp edge"}}, {{"verdict", "clean"}}, 1e-9, "worked by hand"}};
  r.answer = answer_exit;
  return r;
}

// ---- rust -----------------------------------------------------------------------------------------------------------

Outcome<ReckonerAnswer> answer_rust(const ReckonerValues& v) {
  const double bare = v["parts"] * v["per_part"] + v["wait"], limit = v["limit"];
  ReckonerAnswer a;
  a.number["bare"] = bare;
  a.number["spare"] = limit - bare;
  const double room = (limit - v["wait"]) / v["per_part"];
  a.number["most_parts"] = room > 0 ? std::floor(room * (1 + 1e-12)) : 0;
  a.text["verdict"] = bare <= limit * (1 + 1e-12) ? "in time" : "rusts";
  a.sentence = fmt::format("The first part of the lot is bare for {} before it is oiled; {} is the limit: {}.",
                           unit::print(bare, Kind::time), unit::print(limit, Kind::time), a.text["verdict"]);
  if (bare > limit)
    a.notes.push_back(fmt::format("a lot of {} keeps it, or oil before the queue", a.number["most_parts"]));
  return a;
}

Reckoner rust_clock_reckoner() {
  Reckoner r;
  r.name = "rust_clock";
  r.science = "practice";
  r.question = "Is bare iron oiled before it rusts?";
  r.inputs = {count("parts", "parts that wait for each other between water and oil", 1, 100000),
              quantity("per_part", Kind::time, "time of each until the last one is oiled", 1e-3, 1e6),
              quantity("wait", Kind::time, "besides: in baskets, over a break", 0, 1e7, "0 min"),
              quantity("limit", Kind::time, "how long wet iron may stay bare", 60, 1e7, "4 h",
                       "common practice: hours in wet air, one half shift")};
  r.outputs = {{"bare", Kind::time, "how long the first one stays bare"},
               {"spare", Kind::time, "what is left of the limit"},
               {"most_parts", Kind::number, "largest lot that keeps it"},
               {"verdict", Kind::number, "in time, or rusts"}};
  r.formula = "parts x time of each + wait";
  r.source = common;
  r.range =
      "bare grey or ductile iron indoors; corrosion has no sharp clock: dead coolant, sweat and salt air are faster";
  r.examples = {{{{"parts", "60"}, {"per_part", "3.2 min"}, {"wait", "15 min"}},
                 {{"bare", "3.45 h"}, {"most_parts", "70"}, {"verdict", "in time"}},
                 1e-9,
                 "worked by hand"},
                {{{"parts", "60"}, {"per_part", "6.9 min"}},
                 {{"bare", "6.9 h"}, {"spare", "-2.9 h"}, {"most_parts", "34"}, {"verdict", "rusts"}},
                 1e-9,
                 "worked by hand"}};
  r.answer = answer_rust;
  return r;
}

// ---- change ---------------------------------------------------------------------------------------------------------

Outcome<ReckonerAnswer> answer_change(const ReckonerValues& v) {
  const auto change = changed_of(v.text.at("change"));
  if (!change) return ours("a change that is offered and not known");
  const Voided all = voided(std::vector{*change});
  std::vector<std::string> findings, approvals, stays;
  ReckonerAnswer a;
  for (const Void& x : all.voided) {
    (x.approval ? approvals : findings).emplace_back(x.what);
    if (x.approval) a.notes.push_back(fmt::format("{}: {}", x.what, x.again));
  }
  for (std::string_view s : all.stays) stays.emplace_back(s);
  const auto list = [](const std::vector<std::string>& x) { return x.empty() ? "nothing" : base::join(x, ", "); };
  a.number = {{"void", static_cast<double>(all.voided.size())}};
  a.text = {{"study_again", list(findings)}, {"do_again", list(approvals)}, {"stays", list(stays)}};
  a.sentence =
      fmt::format("Another {} voids {} of {} things. Study again: {}. Do again: {}.", word(*change), all.voided.size(),
                  all.voided.size() + all.stays.size(), a.text["study_again"], a.text["do_again"]);
  return a;
}

Reckoner change_voids() {
  Reckoner r;
  r.name = "change_voids";
  r.science = "practice";
  r.question = "What does a change void, and what stays?";
  std::vector<std::string> words;
  for (Changed c : all_changes()) words.emplace_back(word(c));
  r.inputs = {choice("change", "what changed", words, "")};
  r.outputs = {{"void", Kind::number, "how many findings and approvals no longer hold"},
               {"study_again", Kind::number, "steps of the study"},
               {"do_again", Kind::number, "what people did or signed"},
               {"stays", Kind::number, "what the change leaves alone"}};
  r.formula = "looked up in the table of what depends on what";
  r.source = common;
  r.range = "one change alone; contracts may ask for more";
  r.examples = {{{{"change", "demand"}},
                 {{"void", "2"}, {"study_again", "time and cost"}, {"do_again", "price and promise"}},
                 1e-9,
                 "worked by hand: only time, cost and price depend on how many"}};
  r.answer = answer_change;
  return r;
}

}  // namespace

std::vector<Reckoner> reckoners() {
  return {rule(), skin_cut(), exit_edge_reckoner(), rust_clock_reckoner(), change_voids()};
}

}  // namespace fettle::practice
