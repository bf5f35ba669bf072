#include "calc/lifting/reckoners.h"

#include <fmt/format.h>

#include <cmath>

#include "base/text.h"
#include "calc/lifting/lifting.h"
#include "finding/reckoner_kit.h"

namespace fettle::lifting {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerInput;
using finding::ReckonerOutput;
using finding::ReckonerValues;
using unit::Kind;
using namespace finding::kit;

constexpr double pi = 3.14159265358979323846;
const char* const manual =
    "revised NIOSH lifting equation: Waters, Putz-Anderson, Garg, DHHS (NIOSH) 94-110, 1994, rev. 9/2021";

ReckonerInput lifts(std::string name) {
  return quantity(std::move(name), Kind::frequency, "lifts, averaged over 15 minutes", 0, 100 / 60.0);
}
ReckonerInput duration() {
  return choice("duration", "lifting work in one stretch: 1h with as much rest after it, 2h with 0.3 of it, else 8h",
                {"1h", "2h", "8h"}, "8h");
}
Duration duration_of_word(const std::string& word) {
  return word == "1h" ? Duration::up_to_1h : word == "2h" ? Duration::up_to_2h : Duration::up_to_8h;
}
/// Numbers that are not finite stay out: `beyond` says why.
void put(ReckonerAnswer& a, const char* name, double x) {
  if (std::isfinite(x)) a.number[name] = x;
}

/// A lever's quantity as people measure it here: kg or lb, cm or in, degrees, lifts a minute.
std::string amount(Lever::What what, double si, bool inch) {
  switch (what) {
    case Lever::What::load:
      return inch ? base::fixed(si / 0.45359237, 1) + " lb" : base::fixed(si, 1) + " kg";
    case Lever::What::twist:
      return base::fixed(si * 180 / pi, 0) + " deg";
    case Lever::What::frequency:
      return base::fixed(si * 60, 1) + " a minute";
    default:
      return inch ? base::fixed(si / 0.0254, 1) + " in" : base::fixed(si * 100, 1) + " cm";
  }
}
std::vector<std::string> in_words(const std::vector<Lever>& levers, bool inch) {
  std::vector<std::string> out, no_help;
  for (const Lever& l : levers) {
    if (l.can)
      out.push_back(fmt::format("{}: {} now, index 1 at {}", l.name, amount(l.what, l.now, inch),
                                amount(l.what, l.needed, inch)));
    else no_help.push_back(l.name);
  }
  if (!no_help.empty()) out.push_back("no value of these alone brings the index to 1: " + base::join(no_help, ", "));
  return out;
}

Outcome<ReckonerAnswer> answer_lift(const ReckonerValues& v) {
  Inputs in;
  in.load = v["load"];
  in.from = {v["reach"], v["height"], v["twist"]};
  in.to = {value(v, "reach_end", v["reach"]), v["height_end"], value(v, "twist_end", v["twist"])};
  in.set_down_with_care = v.text.at("careful") == "yes";
  in.frequency = v["lifts"];
  in.duration = duration_of_word(v.text.at("duration"));
  const std::string grip = v.text.at("grip");
  in.coupling = grip == "good" ? Coupling::good : grip == "fair" ? Coupling::fair : Coupling::poor;
  in.constants = v.text.at("form") == "inch" ? Constants::inch : Constants::metric;
  in.around.people = static_cast<int>(v["people"]);
  const Outcome<Result> solved = solve(in);
  if (!solved.ok()) return solved.problems();
  const Result& r = *solved;
  unit::Style style;
  style.system = in.constants == Constants::inch ? unit::Style::System::inch : unit::Style::System::metric;

  ReckonerAnswer a;
  put(a, "index", r.index);
  put(a, "limit", r.limit);
  put(a, "limit_start", r.from.limit);
  put(a, "limit_end", r.to.limit);
  put(a, "unhurried_limit", r.destination_governs ? r.to.unhurried_limit : r.from.unhurried_limit);
  a.text["hurts"] = r.hurts.empty() ? "nothing" : fmt::format("{} (x {})", r.hurts, base::fixed(r.hurts_factor, 2));
  a.sentence = fmt::format("{} against a limit of {} at the {}: index {}. Most is lost by {}.",
                           unit::print(in.load, Kind::mass, style), unit::print(r.limit, Kind::mass, style),
                           r.destination_governs ? "end" : "start",
                           std::isfinite(r.index) ? base::fixed(r.index, 2) : "without bound", a.text["hurts"]);
  a.notes = in_words(r.levers, in.constants == Constants::inch);
  a.notes.push_back("taken to be so: " + base::join(r.assumed, ", "));
  a.cautions = r.cautions;
  a.beyond = r.beyond;
  return a;
}

Reckoner lift() {
  Reckoner r;
  r.name = "lift";
  r.science = "lifting";
  r.question = "Can one person lift this, and what would make it lighter work?";
  r.inputs = {
      quantity("load", Kind::mass, "what is really lifted, wet and with parts (see lift_mass)", 0, 1e4),
      quantity("reach", Kind::length, "ankles to hands along the floor, at the start", 0, 10),
      quantity("height", Kind::length, "hands above the floor, at the start", 0, 10),
      quantity("height_end", Kind::length, "hands above the floor, at the end", 0, 10),
      left_out(quantity("reach_end", Kind::length, "the same reach at the end; as at the start when left out", 0, 10)),
      quantity("twist", Kind::angle, "turn of the load out of the body's front, at the start", 0, pi, "0 deg"),
      left_out(quantity("twist_end", Kind::angle, "the same at the end; as at the start when left out", 0, pi)),
      choice("careful", "guided, aligned or held at the end, as on anchors: the end counts too", {"yes", "no"}, "yes"),
      lifts("lifts"),
      duration(),
      choice("grip", "good handles, fair handles or wrapped fingers, poor", {"good", "fair", "poor"}, "poor"),
      choice("form", "which of the two printed forms, with their own constants", {"metric", "inch"}, "metric"),
      count("people", "who lift together; only one is covered", 1, 100, "1")};
  r.outputs = {{"index", Kind::number, "load over limit; above 1 is a risk for some"},
               {"limit", Kind::mass, "recommended limit, smaller of the ends that count"},
               {"limit_start", Kind::mass, "recommended limit at the start"},
               {"limit_end", Kind::mass, "recommended limit at the end"},
               {"unhurried_limit", Kind::mass, "limit without the frequency multiplier, for lift_job"},
               {"hurts", Kind::number, "what takes most"}};
  r.formula = "limit = LC x HM x VM x DM x AM x FM x CM; index = load / limit";
  r.source = manual;
  r.range =
      "one standing person, both hands, at most 8 h, reach to 63 cm (25 in), hands to 175 cm (70 in), twist to 135 "
      "deg, "
      "steady load, sound floor, 19..26 °C";
  r.examples = {{{{"load", "44 lb"},
                  {"reach", "23 in"},
                  {"height", "15 in"},
                  {"height_end", "64 in"},
                  {"lifts", "0.1 1/min"},
                  {"duration", "1h"},
                  {"grip", "fair"},
                  {"form", "inch"}},
                 {{"limit_start", "16.017 lb"}, {"limit_end", "14.153 lb"}, {"index", "3.109"}},
                 1e-4,
                 "NIOSH 94-110 example 1 at full precision (printed 16.3 and 14.5 lb from a rounded table cell)"},
                {{{"load", "26 lb"},
                  {"reach", "10 in"},
                  {"reach_end", "20 in"},
                  {"height", "22 in"},
                  {"height_end", "59 in"},
                  {"lifts", "3 1/min"},
                  {"duration", "1h"},
                  {"grip", "fair"},
                  {"form", "inch"}},
                 {{"limit_start", "34.814 lb"}, {"limit_end", "15.253 lb"}},
                 1e-4,
                 "NIOSH 94-110 example 4 at full precision (printed 34.9 and 15.2 lb)"},
                {{{"load", "14 kg"},
                  {"reach", "40 cm"},
                  {"height", "80 cm"},
                  {"height_end", "95 cm"},
                  {"twist", "30 deg"},
                  {"careful", "no"},
                  {"lifts", "1 1/min"},
                  {"duration", "8h"},
                  {"grip", "fair"}},
                 {{"limit", "9.600 kg"}, {"index", "1.458"}},
                 1e-3,
                 "metric form, worked by hand"}};
  r.answer = answer_lift;
  return r;
}

Outcome<ReckonerAnswer> answer_job(const ReckonerValues& v) {
  std::vector<KnownTask> tasks;
  for (int k = 1; k <= 5; ++k) {
    const auto key = [k](const char* name) { return fmt::format("{}_{}", name, k); };
    const int given = v.has(key("load")) + v.has(key("limit")) + v.has(key("lifts"));
    if (given == 0) continue;
    if (given < 3) return bad(fmt::format("task {} needs all of load_{}, limit_{} and lifts_{}", k, k, k, k));
    const bool low = v.has(key("low")) && v.text.at(key("low")) == "yes";
    tasks.push_back({fmt::format("task {}", k), v[key("limit")], v[key("load")], v[key("load")], v[key("lifts")], low});
  }
  const Outcome<JobResult> solved = solve_job_known(tasks, duration_of_word(v.text.at("duration")));
  if (!solved.ok()) return solved.problems();
  ReckonerAnswer a;
  put(a, "index", solved->index);
  a.text["worst"] = solved->rows.front().name;
  for (const TaskRow& row : solved->rows)
    a.notes.push_back(
        fmt::format("{}: alone {}, adds {}", row.name, base::fixed(row.index, 2), base::fixed(row.adds, 2)));
  a.sentence =
      fmt::format("The job's index is {}; {} weighs most.",
                  std::isfinite(solved->index) ? base::fixed(solved->index, 2) : "without bound", a.text["worst"]);
  a.cautions = solved->cautions;
  a.beyond = solved->beyond;
  return a;
}

Reckoner lift_job() {
  Reckoner r;
  r.name = "lift_job";
  r.science = "lifting";
  r.question = "Several kinds of lift in one job: is the day as a whole too heavy?";
  for (int k = 1; k <= 5; ++k) {
    std::vector<ReckonerInput> task = {
        quantity(fmt::format("load_{}", k), Kind::mass, "load of this task", 0, 1e4),
        quantity(fmt::format("limit_{}", k), Kind::mass, "its unhurried_limit, from lift", 0, 1e4),
        lifts(fmt::format("lifts_{}", k)),
        choice(fmt::format("low_{}", k), "hands below 75 cm (30 in) at the start", {"yes", "no"}, "no")};
    for (ReckonerInput& i : task) {
      i.optional = k > 1 && i.form != ReckonerInput::Form::choice;
      r.inputs.push_back(i);
    }
  }
  r.inputs.push_back(duration());
  r.outputs = {{"index", Kind::number, "composite index of the job; above 1 is a risk for some"},
               {"worst", Kind::number, "the task that weighs most"}};
  r.formula = "worst index + sum of load/limit x (1/FM of lifts summed with this task - 1/FM before it)";
  r.source = manual;
  r.range = "as lift; lifts of all tasks together within the frequency table";
  r.examples = {{{{"load_1", "20 lb"},
                  {"limit_1", "20 lb"},
                  {"lifts_1", "2 1/min"},
                  {"load_2", "30 lb"},
                  {"limit_2", "20 lb"},
                  {"lifts_2", "1 1/min"},
                  {"load_3", "10 lb"},
                  {"limit_3", "15 lb"},
                  {"lifts_3", "4 1/min"},
                  {"duration", "1h"}},
                 {{"index", "1.8631"}, {"worst", "task 2"}},
                 1e-4,
                 "NIOSH 94-110 section 2.4.5 at full precision (printed 1.9)"}};
  r.answer = answer_job;
  return r;
}

Outcome<ReckonerAnswer> answer_mass(const ReckonerValues& v) {
  Load load;
  load.pallet = v["pallet"];
  load.parts = static_cast<int>(v["parts"]);
  load.part_before = v["part_before"];
  load.part_after = value(v, "part_after", v["part_before"]);
  load.screws = static_cast<int>(v["screws"]);
  load.screw = v["screw"];
  load.coolant_per_part = v["coolant_per_part"];
  load.coolant_on_pallet = v["coolant_on_pallet"];
  load.swarf = v["swarf"];
  const Outcome<LiftedMass> m = lifted_mass(load);
  if (!m.ok()) return m.problems();
  ReckonerAnswer a;
  a.number = {{"heaviest", m->heaviest}, {"going_in", m->going_in}, {"coming_out", m->coming_out}};
  a.sentence = fmt::format("Lift with {}: going in {}, coming out {}.", unit::print(m->heaviest, Kind::mass),
                           unit::print(m->going_in, Kind::mass), unit::print(m->coming_out, Kind::mass));
  if (load.coolant_per_part + load.coolant_on_pallet + load.swarf == 0)
    a.notes.push_back("coolant and swarf are taken as none: weigh the pallet once as it comes out");
  if (v.has("limit")) {
    const int n = parts_within(*m, v["limit"]);
    a.notes.push_back(n < 0 ? "even the empty pallet is above the limit"
                            : fmt::format("{} parts would keep it within {}", n, unit::print(v["limit"], Kind::mass)));
  }
  a.cautions = cautions();
  return a;
}

Reckoner lift_mass() {
  Reckoner r;
  r.name = "lift_mass";
  r.science = "lifting";
  r.question = "What does the pallet weigh as it is really lifted?";
  r.inputs = {quantity("pallet", Kind::mass, "empty pallet with pins and pads", 0, 1e4),
              count("parts", "parts on it", 0, 1000),
              quantity("part_before", Kind::mass, "a part as it arrives, raw", 0, 1e4),
              left_out(quantity("part_after", Kind::mass, "a part as it leaves; as it arrives when left out", 0, 1e4)),
              count("screws", "loose screws that are lifted too", 0, 10000, "0"),
              quantity("screw", Kind::mass, "one screw with washer", 0, 100, "0 kg"),
              quantity("coolant_per_part", Kind::mass, "coolant that clings to a part", 0, 1000, "0 kg"),
              quantity("coolant_on_pallet", Kind::mass, "coolant in troughs and wells", 0, 1000, "0 kg"),
              quantity("swarf", Kind::mass, "swarf left lying", 0, 1000, "0 kg"),
              left_out(quantity("limit", Kind::mass, "a limit from lift: how many parts keep it", 0, 1e4))};
  r.outputs = {{"heaviest", Kind::mass, "the heavier state: this is lifted"},
               {"going_in", Kind::mass, "dry, parts as they arrive"},
               {"coming_out", Kind::mass, "wet, parts as they leave"}};
  r.formula =
      "larger of pallet + screws + parts x before, and pallet + screws + coolant + swarf + parts x (after + coolant)";
  r.source = "addition; common practice";
  r.range = "any";
  r.examples = {{{{"pallet", "6.15 kg"}, {"parts", "4"}, {"part_before", "2.90 kg"}, {"part_after", "2.595 kg"}},
                 {{"heaviest", "17.75 kg"}, {"coming_out", "16.53 kg"}},
                 1e-9,
                 "worked by hand"}};
  r.answer = answer_mass;
  return r;
}

}  // namespace

std::vector<Reckoner> reckoners() { return {lift(), lift_job(), lift_mass()}; }

}  // namespace fettle::lifting
