#include "calc/casting/reckoners.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "calc/casting/grades.h"
#include "finding/reckoner_kit.h"
#include "maths/statistics.h"
#include "ref/casting_grades.h"

namespace fettle::casting {
namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerInput;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;

constexpr double mm = 1e-3;
const char* const iso = "ISO 8062-3:2007 (formulas ISO 8062:1994)";
const char* const skin_source = "common practice: the first cut goes 0.5 to 1 mm under the skin of an iron casting";

ReckonerInput confidence() {
  return quantity("confidence", Kind::fraction, "how sure the statement shall be", 0.5001, 0.99999, "95 %",
                  "common practice");
}
std::string length(double m) { return unit::print(m, Kind::length); }
/// Cut, never rounded up: 99.96 % is not 100 %.
std::string cut_percent(double share) { return base::fixed(std::floor(share * 1000 + 1e-9) / 10, 1) + " %"; }

SizeKind kind_of(const std::string& word) {
  return word == "inside" ? SizeKind::internal : word == "step" ? SizeKind::step : SizeKind::external;
}

Outcome<ReckonerAnswer> answer_raw_size(const ReckonerValues& v) {
  RawSizeInputs in;
  in.finished = v["finished"];
  in.machined_sides = static_cast<int>(v["sides"]);
  in.kind = kind_of(v.text.at("kind"));
  in.dctg = static_cast<int>(v["dctg"]);
  in.rmag = v.text.at("rmag");
  in.largest_finished = v["largest"];
  const auto out = raw_size(in);
  if (!out) return out.problems();
  ReckonerAnswer a;
  a.number = {{"raw", out->raw},   {"tolerance", out->tolerance},     {"allowance", out->allowance},  {"low", out->low},
              {"high", out->high}, {"least_stock", out->least_stock}, {"most_stock", out->most_stock}};
  a.sentence = fmt::format("Order it {} (limits {} to {}, which is ± half of {}).", length(out->raw), length(out->low),
                           length(out->high), length(out->tolerance));
  if (out->two_answers)
    a.notes.push_back(
        fmt::format("two rows of the table agree with their own answer: {} and {}; the one with more metal was taken",
                    length(out->other_raw), length(out->raw)));
  if (out->between_rows)
    a.notes.emplace_back("the size falls between two rows of the table: the wider tolerance was taken");
  a.notes.emplace_back("sizes hold at the parting line: add draft, see the reckoner draft");
  if (out->allowance < 2.5 * mm && in.machined_sides > 0)
    a.notes.emplace_back("foundry practice for iron asks at least 2.5 mm on hand-moulded faces");
  return a;
}

Reckoner raw_size_reckoner() {
  Reckoner r;
  r.name = "raw_size";
  r.science = "casting";
  r.question = "How large must the casting be for this finished size?";
  r.inputs = {quantity("finished", Kind::length, "finished size", 1e-4, 10),
              count("sides", "machined ends of this size: 2, 1, or 0 when it stays as cast", 0, 2, "2"),
              choice("kind", "outside (metal between), inside (cored), or step between faces that look the same way",
                     {"outside", "inside", "step"}, "outside"),
              count("dctg", "casting tolerance grade", 1, 16),
              choice("rmag", "machining allowance grade", ref::rma_grades(), ""),
              quantity("largest", Kind::length, "largest overall size of the finished part", 1e-4, 10)};
  r.outputs = {{"raw", Kind::length, "raw size to order"},
               {"tolerance", Kind::length, "its tolerance, whole width"},
               {"allowance", Kind::length, "machining allowance per side"},
               {"low", Kind::length, "lower raw limit"},
               {"high", Kind::length, "upper raw limit"},
               {"least_stock", Kind::length, "least stock per machined side"},
               {"most_stock", Kind::length, "most stock per machined side"}};
  r.formula = "R = F + n RMA + DCT/2 outside, F - n RMA - DCT/2 inside; DCT is looked up with R itself";
  r.source = iso;
  r.range = "sizes to 10 m; grades whose table cell is filled; wall thickness takes one grade coarser";
  r.examples = {
      {{{"finished", "100 mm"}, {"dctg", "10"}, {"rmag", "F"}, {"largest", "220 mm"}},
       {{"raw", "105.8 mm"}, {"tolerance", "3.6 mm"}, {"low", "104 mm"}, {"high", "107.6 mm"}, {"least_stock", "2 mm"}},
       1e-9,
       "worked by hand from the standard's formula and tables"},
      {{{"finished", "50 mm"}, {"kind", "inside"}, {"dctg", "10"}, {"rmag", "G"}, {"largest", "220 mm"}},
       {{"raw", "43 mm"}, {"tolerance", "2.8 mm"}},
       1e-9,
       "worked by hand from the standard's formula and tables"},
      {{{"finished", "96.3 mm"}, {"sides", "1"}, {"dctg", "10"}, {"rmag", "F"}, {"largest", "220 mm"}},
       {{"raw", "100.1 mm"}},
       1e-9,
       "worked by hand: two answers agree, the larger is taken"}};
  r.answer = answer_raw_size;
  return r;
}

Outcome<ReckonerAnswer> answer_allowance(const ReckonerValues& v) {
  AllowanceInputs in;
  in.raw = v["raw"];
  in.tolerance = v["tolerance"];
  in.finished = v["finished"];
  in.machined_sides = static_cast<int>(v["sides"]);
  in.kind = kind_of(v.text.at("kind"));
  in.largest_finished = v["largest"];
  const auto out = allowance_left(in);
  if (!out) return out.problems();
  ReckonerAnswer a;
  a.number = {{"least_stock", out->least_stock}, {"most_stock", out->most_stock}};
  a.text["dctg"] = out->dctg == 0 ? "finer than DCTG 1" : fmt::format("DCTG {}", out->dctg);
  a.text["rmag"] = out->rmag.empty() ? "none" : fmt::format("RMAG {}", out->rmag);
  a.sentence = out->least_stock < 0
                   ? fmt::format("At the bad limit {} per side are missing: such a casting cannot become the part.",
                                 length(-out->least_stock))
                   : fmt::format("At the bad limit {} per side are left; the tolerance holds {}, the allowance {}.",
                                 length(out->least_stock), a.text["dctg"], a.text["rmag"]);
  return a;
}

Reckoner allowance_reckoner() {
  Reckoner r;
  r.name = "allowance_left";
  r.science = "casting";
  r.question = "The foundry offers this raw size and tolerance: what is left to machine, and which grades is that?";
  r.inputs = {quantity("raw", Kind::length, "raw size offered", 1e-4, 10),
              quantity("tolerance", Kind::length, "its tolerance, whole width (± 0.9 mm is 1.8 mm)", 0, 0.2),
              quantity("finished", Kind::length, "finished size", 1e-4, 10),
              count("sides", "machined ends of this size", 1, 2, "2"),
              choice("kind", "outside or inside (cored)", {"outside", "inside"}, "outside"),
              quantity("largest", Kind::length, "largest overall size of the finished part", 1e-4, 10)};
  r.outputs = {{"least_stock", Kind::length, "stock per side at the bad limit"},
               {"most_stock", Kind::length, "stock per side at the other limit"},
               {"dctg", Kind::number, "coarsest tolerance grade that stays within the offer"},
               {"rmag", Kind::number, "coarsest allowance grade that is covered"}};
  r.formula = "least stock = (|R - F| - T/2)/n, held against the tables";
  r.source = iso;
  r.range = "sizes to 10 m";
  r.examples = {{{{"raw", "39.9 mm"}, {"tolerance", "1.8 mm"}, {"finished", "36 mm"}, {"largest", "132 mm"}},
                 {{"least_stock", "1.5 mm"}, {"most_stock", "2.4 mm"}, {"dctg", "DCTG 9"}, {"rmag", "RMAG F"}},
                 1e-9,
                 "worked by hand from the standard's formula and tables"}};
  r.answer = answer_allowance;
  return r;
}

Reckoner draft_reckoner() {
  Reckoner r;
  r.name = "draft";
  r.science = "casting";
  r.question = "How much does draft take or add at this height?";
  r.inputs = {quantity("height", Kind::length, "height above or below the parting line", 0, 5),
              quantity("angle", Kind::angle, "draft angle", 0, 0.35)};
  r.outputs = {{"offset", Kind::length, "the wall stands this far in (or the core this far out)"}};
  r.formula = "h tan(a)";
  r.source = "plane geometry";
  r.range = "angles to 20 degrees";
  r.examples = {
      {{{"height", "18 mm"}, {"angle", "1.5 deg"}}, {{"offset", "0.471347 mm"}}, 2e-6, "18 x 0.0261859, by hand"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    ReckonerAnswer a;
    a.number["offset"] = draft_offset(v["height"], v["angle"]);
    a.sentence = fmt::format("At {} the wall is {} further in than at the parting line.", length(v["height"]),
                             length(a.number["offset"]));
    return a;
  };
  return r;
}

Reckoner core_shift_reckoner() {
  Reckoner r;
  r.name = "core_shift";
  r.science = "casting";
  r.question = "The core sits off the middle: how much stock is left round the bore?";
  r.inputs = {quantity("finished", Kind::length, "finished bore diameter", 1e-3, 5),
              quantity("cored", Kind::length, "cored diameter as measured", 0, 5),
              quantity("dx", Kind::length, "core off the bore's axis in X", -0.1, 0.1),
              quantity("dy", Kind::length, "core off the bore's axis in Y", -0.1, 0.1, "0 mm", ""),
              quantity("skin", Kind::length, "least depth of the first cut", 0, 0.02, "0.8 mm", skin_source)};
  r.outputs = {{"shift", Kind::length, "core off the axis"},
               {"least", Kind::length, "least radial stock"},
               {"most", Kind::length, "most radial stock"},
               {"reserve", Kind::length, "least radial stock less the skin"},
               {"allowed_shift", Kind::length, "the core may be off by this"}};
  r.formula = "(D - d)/2 -+ sqrt(dx^2 + dy^2)";
  r.source = "geometry of two eccentric circles";
  r.range = "round core, axes parallel";
  r.examples = {{{{"finished", "60 mm"}, {"cored", "54 mm"}, {"dx", "0.8 mm"}, {"dy", "-0.6 mm"}},
                 {{"shift", "1 mm"}, {"least", "2 mm"}, {"most", "4 mm"}},
                 1e-9,
                 "worked by hand"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    const RadialStock s = radial_stock(v["finished"], v["cored"], v["dx"], v["dy"]);
    ReckonerAnswer a;
    const double allowed = (v["finished"] - v["cored"]) / 2 - v["skin"];
    a.number = {{"shift", s.shift},
                {"least", s.least},
                {"most", s.most},
                {"reserve", s.least - v["skin"]},
                {"allowed_shift", allowed}};
    a.sentence = !(s.least - v["skin"] >= 0) ? fmt::format(
                                                   "Does not clean up: least {} of radial stock, {} are asked. Move "
                                                   "the work zero towards the core by {} or more.",
                                                   length(s.least), length(v["skin"]), length(v["skin"] - s.least))
                                             : fmt::format("Cleans up: least {} of radial stock, {} more than asked.",
                                                           length(s.least), length(s.least - v["skin"]));
    if (allowed < 0) a.sentence = "Does not clean up wherever the core sits: the cored diameter is too large.";
    return a;
  };
  return r;
}

Reckoner run_casting_reckoner() {
  Reckoner r;
  r.name = "run_casting";
  r.science = "casting";
  r.question = "This casting measures so much: does it clean up as it is held?";
  r.inputs = {
      quantity("measured", Kind::length, "raw size as measured, smallest place", 1e-3, 10),
      quantity("finished", Kind::length, "finished size", 1e-3, 10),
      choice("held", "in the middle (centring vise, probed) or against one raw side", {"middle", "one side"}, "middle"),
      left_out(quantity("near_stock", Kind::length, "held against one side: stock the program leaves for that side", 0,
                        0.1)),
      quantity("warp", Kind::length, "bow of the raw faces, by feeler", 0, 0.05, "0 mm", ""),
      quantity("draft", Kind::length, "draft over the height of the cut, see the reckoner draft", 0, 0.05, "0 mm", ""),
      quantity("skin", Kind::length, "least depth of the first cut", 0, 0.02, "0.8 mm", skin_source)};
  r.outputs = {{"least", Kind::length, "least stock on the worse side"},
               {"reserve", Kind::length, "that less the skin"},
               {"smallest", Kind::length, "smallest raw size that still cleans up when held so"}};
  r.formula =
      "middle: (R - F)/2 - warp - draft; one side: smaller of near stock and R - F - near stock, less warp and draft";
  r.source = "sum of lengths; skin: common practice";
  r.range = "outside size, both sides machined, parallel faces";
  r.examples = {{{{"measured", "95.7 mm"}, {"finished", "93 mm"}, {"draft", "0.47 mm"}},
                 {{"least", "0.88 mm"}, {"reserve", "0.08 mm"}, {"smallest", "95.54 mm"}},
                 1e-9,
                 "worked by hand"},
                {{{"measured", "95.7 mm"}, {"finished", "93 mm"}, {"held", "one side"}, {"near_stock", "2 mm"}},
                 {{"least", "0.7 mm"}, {"reserve", "-0.1 mm"}, {"smallest", "95.8 mm"}},
                 1e-9,
                 "worked by hand"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    const bool middle = v.text.at("held") == "middle";
    if (!middle && !v.has("near_stock"))
      return bad("held against one side: say the stock the program leaves there", "", "near_stock=2 mm");
    if (middle && v.has("near_stock")) return bad("near_stock belongs to held=\"one side\"");
    const double room = v["measured"] - v["finished"], lost = v["warp"] + v["draft"];
    const double near = middle ? room / 2 : v["near_stock"];
    const double least = std::min(near, room - near) - lost;
    const double need = v["skin"] + lost;
    const bool can = middle || near >= need;
    ReckonerAnswer a;
    a.number = {{"least", least},
                {"reserve", least - v["skin"]},
                {"smallest", v["finished"] + (middle ? 2 * need : std::max(near, need) + need)}};
    const double reserve = a.number["reserve"];
    a.sentence = reserve >= -1e-12
                     ? fmt::format("Run it: {} more than the skin on the worse side.", length(std::max(0.0, reserve)))
                     : fmt::format("Do not run it as it is: {} are missing on the worse side.", length(-reserve));
    if (reserve < 0 && !middle && room / 2 - lost >= v["skin"])
      a.notes.push_back(fmt::format(
          "shared out to both sides it would clean up: move the zero so that {} are left on each", length(room / 2)));
    if (!can)
      a.notes.emplace_back(
          "the side it is held on does not clean up at any raw size: the program leaves too little there");
    a.notes.emplace_back("the size alone says nothing about a core that is off the middle: see core_shift");
    return a;
  };
  return r;
}

Reckoner tolerance_factor_reckoner() {
  Reckoner r;
  r.name = "tolerance_factor";
  r.science = "casting";
  r.question = "How many standard deviations must the mean of a small sample stay away from the limit?";
  r.inputs = {count("n", "pieces measured", 2, 100000),
              quantity("share", Kind::fraction, "share of the lot that shall be good", 0.01, 0.999999, "99 %",
                       "common practice"),
              confidence()};
  r.outputs = {{"k", Kind::number, "one-sided tolerance factor"}};
  r.formula = "k = t'(confidence; n - 1, z_share sqrt n)/sqrt n, t' the non-central t";
  r.source = "one-sided normal tolerance limits: Lieberman 1958; Natrella, NBS Handbook 91";
  r.range = "a normal lot, pieces taken at random";
  r.examples = {{{{"n", "10"}, {"share", "95 %"}}, {{"k", "2.911"}}, 2e-4, "NBS Handbook 91, table A-7 (from memory)"},
                {{{"n", "5"}, {"share", "95 %"}}, {{"k", "4.203"}}, 2e-4, "NBS Handbook 91, table A-7 (from memory)"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    ReckonerAnswer a;
    const double k = maths::tolerance_factor(static_cast<int>(v["n"]), v["share"], v["confidence"]);
    a.number["k"] = k;
    a.sentence = fmt::format("With {} pieces the mean must be {} standard deviations inside the limit.",
                             static_cast<int>(v["n"]), base::fixed(k, 2));
    if (v["n"] < 3) a.notes.emplace_back("two pieces are no sample: measure at least 3, better 10");
    return a;
  };
  return r;
}

Reckoner sample_share_reckoner() {
  Reckoner r;
  r.name = "sample_share";
  r.science = "casting";
  r.question = "From a few measured pieces, how much of the lot is surely good?";
  r.inputs = {count("n", "pieces measured", 3, 100000),
              quantity("mean", Kind::length, "their mean (stock, or any size)", -10, 10),
              quantity("s", Kind::length, "their standard deviation", 1e-9, 1),
              quantity("limit", Kind::length, "must not be below this", -10, 10, "0.8 mm", skin_source), confidence()};
  r.outputs = {{"share_low", Kind::fraction, "at least this share is good"},
               {"share_high", Kind::fraction, "at most this share is good"},
               {"best_guess", Kind::fraction, "share of a normal lot with just this mean and s; no proof"}};
  r.formula = "share whose tolerance factor equals (mean - limit)/s";
  r.source = "one-sided normal tolerance limits: Lieberman 1958; Natrella, NBS Handbook 91";
  r.range = "a normal lot, pieces taken at random; at least 3 pieces";
  r.examples = {{{{"n", "10"}, {"mean", "3.711 mm"}, {"s", "1 mm"}, {"limit", "0.8 mm"}},
                 {{"share_low", "0.95"}},
                 1e-4,
                 "NBS Handbook 91, table A-7: k = 2.911 for 10 pieces, 95 % share (from memory)"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    const double distance = (v["mean"] - v["limit"]) / v["s"];
    const int n = static_cast<int>(v["n"]);
    ReckonerAnswer a;
    a.number = {{"share_low", maths::guaranteed_share(n, distance, v["confidence"])},
                {"share_high", maths::guaranteed_share(n, distance, 1 - v["confidence"])},
                {"best_guess", maths::normal_cdf(distance)}};
    a.sentence = fmt::format("With {} confidence at least {} of the lot are good.", cut_percent(v["confidence"]),
                             cut_percent(a.number["share_low"]));
    return a;
  };
  return r;
}

Reckoner count_share_reckoner() {
  Reckoner r;
  r.name = "count_share";
  r.science = "casting";
  r.question = "So many of so many failed: what is the share in the lot?";
  r.inputs = {count("fails", "pieces that failed", 0, 100000000), count("n", "pieces looked at", 1, 100000000),
              confidence()};
  r.outputs = {{"share", Kind::fraction, "share seen"},
               {"low", Kind::fraction, "lower end of the share in the lot"},
               {"high", Kind::fraction, "upper end"}};
  r.formula = "Clopper-Pearson interval: binomial tails of (1 - confidence)/2 each";
  r.source = "Clopper and Pearson, Biometrika 26, 1934";
  r.range = "pieces taken at random";
  r.examples = {
      {{{"fails", "4"}, {"n", "10"}}, {{"low", "0.1216"}, {"high", "0.7376"}}, 5e-4, "common example (from memory)"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    if (v["fails"] > v["n"])
      return bad("more pieces failed than were looked at", base::shortest(v["fails"]),
                 "at most " + base::shortest(v["n"]));
    const auto i =
        maths::clopper_pearson(static_cast<long long>(v["fails"]), static_cast<long long>(v["n"]), v["confidence"]);
    ReckonerAnswer a;
    a.number = {{"share", v["fails"] / v["n"]}, {"low", i.low}, {"high", i.high}};
    a.sentence =
        fmt::format("{} seen; the lot has between {} and {}.", unit::print(v["fails"] / v["n"], Kind::fraction),
                    unit::print(i.low, Kind::fraction), unit::print(i.high, Kind::fraction));
    return a;
  };
  return r;
}

}  // namespace

std::vector<Reckoner> reckoners() {
  return {raw_size_reckoner(),    allowance_reckoner(),        draft_reckoner(),        core_shift_reckoner(),
          run_casting_reckoner(), tolerance_factor_reckoner(), sample_share_reckoner(), count_share_reckoner()};
}

}  // namespace fettle::casting
