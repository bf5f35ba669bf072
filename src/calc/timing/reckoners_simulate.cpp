// Reckoners of the simulated cell and of the stretch with nobody there.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "calc/timing/reckoners.h"
#include "calc/timing/simulate.h"
#include "calc/timing/unattended.h"
#include "finding/reckoner_kit.h"

namespace fettle::timing {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerInput;
using finding::ReckonerOutput;
using finding::ReckonerValues;
using unit::Kind;
namespace kit = finding::kit;

constexpr double hour = 3600;
constexpr int cycles = 300, replications = 10;

std::string percent(double share) { return base::fixed(100 * share, 1) + " %"; }
ReckonerInput fraction(std::string name, std::string help, double low, double high) {
  return kit::quantity(std::move(name), Kind::fraction, std::move(help), low, high);
}

/// Equal machines, one job each, and operators who only load.
SimulationInputs cell_of(const ReckonerValues& v, double scatter) {
  const int machines = static_cast<int>(v["machines"]), operators = static_cast<int>(v["operators"]);
  CellJob job;
  job.per_pallet = static_cast<int>(v["parts"]);
  job.sets = static_cast<int>(v["sets"]);
  job.run.mean = v["spindle"];
  job.swap.mean = v["swap"];
  job.swap_by_person = v.text.at("swap_by") == "operator";
  if (v["load"] > 0) {
    HandTask load;
    load.name = "load";
    load.time = {v["load"] / job.per_pallet, scatter, TimeScatter::lognormal};
    job.put_on = {load};
  }
  SimulationInputs in;
  for (int m = 0; m < machines; ++m) {
    CellMachine machine;
    machine.name = fmt::format("machine {}", m + 1);
    machine.jobs = {job};
    in.machines.push_back(std::move(machine));
  }
  for (int p = 0; p < operators; ++p) {
    CellPerson person;
    person.name = fmt::format("operator {}", p + 1);
    in.people.push_back(std::move(person));
  }
  CellStage stage;
  stage.name = "parts";
  in.stages = {stage};
  const double by_hand = v["load"] + (job.swap_by_person ? v["swap"] : 0);
  const double alone = job.sets > 1 ? std::max(v["spindle"], v["load"]) : v["spindle"] + v["load"];
  const double cycle = std::max(alone + v["swap"], by_hand * machines / operators);
  in.warm_up = 20.123 * cycle;
  in.horizon = cycles * cycle;
  in.replications = replications;
  in.seed = static_cast<unsigned long long>(v["seed"]);
  return in;
}

/// Means over the machines; parts an hour from the cycles, so that a cycle cut off at the end costs nothing.
struct CellSum {
  double per_second = 0, low = 0, high = 0, cycle = 0, spindle = 0, people = 0;
  double swap = 0, loading = 0, waiting = 0;
  CellSum(const SimulationInputs& in, const SimulationResult& r) {
    const double n = static_cast<double>(r.machines.size()), parts = in.machines[0].jobs[0].per_pallet;
    const auto share = [](const CellMachineResult& m, SpindleState s) {
      return m.share[static_cast<std::size_t>(s)].mean;
    };
    for (const CellMachineResult& m : r.machines) {
      per_second += parts / m.cycle.mean;
      low += parts / m.cycle.high;
      high += parts / std::max(m.cycle.low, 1e-9);
      cycle += m.cycle.mean / n;
      spindle += m.use.mean / n;
      swap += share(m, SpindleState::swaps) / n;
      loading += share(m, SpindleState::handled) / n;
      waiting += share(m, SpindleState::waits_person) / n;
    }
    for (const CellPersonResult& p : r.people) people += p.use.mean / static_cast<double>(r.people.size());
  }
};

Outcome<ReckonerAnswer> answer_cell(const ReckonerValues& v) {
  const SimulationInputs in = cell_of(v, v["scatter"]);
  const Outcome<SimulationResult> r = simulate(in);
  if (!r.ok()) return r.problems();
  const CellSum sum(in, *r);
  SimulationInputs even = cell_of(v, 0);
  even.replications = 2;
  const Outcome<SimulationResult> without = simulate(even);
  if (!without.ok()) return without.problems();
  const double lost = 1 - sum.per_second / CellSum(even, *without).per_second;

  ReckonerAnswer a;
  a.number = {{"rate", sum.per_second},      {"rate_low", sum.low},
              {"rate_high", sum.high},       {"parts_made", sum.per_second * v["hours"]},
              {"cycle", sum.cycle},          {"spindle_use", sum.spindle},
              {"operator_use", sum.people},  {"idle_swap", sum.swap},
              {"idle_loading", sum.loading}, {"idle_waiting", sum.waiting},
              {"lost_to_scatter", lost}};
  const double most = std::max(sum.swap, std::max(sum.loading, sum.waiting));
  const char* const why = !(most > 1e-9)        ? "nothing"
                          : most == sum.swap    ? "the swap"
                          : most == sum.loading ? "loading that is not done"
                                                : "an operator who is busy elsewhere";
  a.sentence =
      fmt::format("{} parts an hour, spindle cutting {} and operator working {} of the time; it stands most for {}.",
                  base::fixed(sum.per_second * hour, 1), percent(sum.spindle), percent(sum.people), why);
  a.notes.push_back(
      fmt::format("mean of {} runs of about {} cycles, with the interval that holds it in 95 of 100 such "
                  "answers",
                  replications, cycles));
  if (lost > 0.005)
    a.notes.push_back(fmt::format("loading that takes its mean every time would promise {} more than there is",
                                  percent(1 / (1 - lost) - 1)));
  a.notes.push_back("stops, edge changes, breaks, and other work of the operator come on top");
  return a;
}

Reckoner cell_reckoner() {
  Reckoner r;
  r.name = "cell";
  r.science = "timing";
  r.question = "What do pallet sets and operators make an hour when loading scatters?";
  r.inputs = {
      kit::time("spindle", "cutting and probing of one set", 1, 1e5),
      kit::time("load", "all work of the operator on one set, mean", 0, 1e5),
      kit::time("swap", "spindle to spindle", 0, 1e4),
      kit::count("parts", "parts in a set", 1, 100),
      kit::or_else(kit::count("sets", "pallet sets of each machine; 1: loaded on the machine", 1, 4), "2",
                   "two sets unless said"),
      kit::or_else(fraction("scatter", "standard deviation of loading one part over its mean", 0, 1), "15 %",
                   "common practice"),
      kit::or_else(kit::count("machines", "equal machines", 1, 8), "1", "one unless said"),
      kit::or_else(kit::count("operators", "who load them", 1, 4), "1", "one unless said"),
      kit::or_else(kit::time("hours", "time whose parts are asked for", 60, 1e7), "8 h", "one shift unless said"),
      kit::or_else(kit::count("seed", "start of the random numbers", 0, 1000000), "1", "any number")};
  r.inputs.push_back(
      kit::choice("swap_by", "who swaps", {"machine", "operator"}, "machine", "the machine alone unless said"));
  r.outputs = {{"rate", Kind::frequency, "parts in a time, without stops"},
               {"rate_low", Kind::frequency, "low end of its interval"},
               {"rate_high", Kind::frequency, "high end"},
               {"parts_made", Kind::number, "parts in the hours asked for"},
               {"cycle", Kind::time, "from one start of cutting to the next"},
               {"spindle_use", Kind::fraction, "share of time cutting"},
               {"operator_use", Kind::fraction, "share of time working"},
               {"idle_swap", Kind::fraction, "spindle stands for the swap"},
               {"idle_loading", Kind::fraction, "spindle stands while its set is being loaded"},
               {"idle_waiting", Kind::fraction, "spindle stands because the operator is busy elsewhere"},
               {"lost_to_scatter", Kind::fraction, "of the rate that even loading would give"}};
  r.formula = "simulated; when nothing scatters, two sets: cycle = max(spindle, load) + swap";
  r.source =
      "discrete-event simulation, checked against Ashcroft 1950 (from memory), Peck & Hazelwood 1958 and the two-set "
      "closed form";
  r.range = "equal machines, parts always there, operators with nothing else to do; lognormal loading times";
  const std::string source = "two sets that swap, worked by hand: cycle = max(spindle, load) + swap";
  r.examples = {{{{"spindle", "12 min"}, {"load", "7 min"}, {"swap", "0.5 min"}, {"parts", "4"}, {"scatter", "0 %"}},
                 {{"rate", "19.2 1/h"}, {"cycle", "12.5 min"}, {"spindle_use", "96 %"}, {"operator_use", "56 %"}},
                 1e-9,
                 source},
                {{{"spindle", "6 min"}, {"load", "7 min"}, {"swap", "0.5 min"}, {"parts", "4"}, {"scatter", "0 %"}},
                 {{"rate", "32 1/h"}, {"cycle", "7.5 min"}, {"spindle_use", "80 %"}, {"operator_use", "93.333333 %"}},
                 1e-8,
                 source}};
  r.answer = answer_cell;
  return r;
}

Outcome<ReckonerAnswer> answer_unattended(const ReckonerValues& v) {
  EdgeRisk edge;
  edge.life = v["life"];
  edge.scatter = v["scatter"];
  edge.planned = static_cast<int>(v["planned"]);
  edge.used = static_cast<int>(v["used"]);
  edge.break_chance = v["break_chance"];
  edge.spares = static_cast<int>(v["spares"]);
  UnattendedInputs in;
  for (int t = 0; t < static_cast<int>(v["tools"]); ++t) {
    edge.name = fmt::format("tool {}", t + 1);
    in.tools.push_back(edge);
  }
  in.most_risk = v["risk"];
  in.loaded = static_cast<int>(v["loaded"]);
  in.per_pallet = static_cast<int>(v["per_pallet"]);
  in.part_time = v["part_time"];
  in.found_after = static_cast<int>(v["found_after"]);
  in.gain = v["gain"];
  in.bad_part = v["bad_part"];
  in.damage = v["damage"];
  const Outcome<UnattendedResult> solved = unattended(in);
  if (!solved.ok()) return solved.problems();
  const UnattendedResult& u = *solved;
  ReckonerAnswer a;
  a.number = {
      {"may_run", u.parts},     {"pallets", u.pallets},   {"time", u.time},     {"by_risk", u.by_risk},
      {"by_edges", u.by_edges}, {"by_money", u.by_money}, {"chance", u.chance}, {"chance_loaded", u.chance_loaded},
      {"good", u.good},         {"bad", u.bad},           {"result", u.result}};
  a.text["limit"] = u.limit;
  a.sentence = fmt::format(
      "{} parts ({} whole pallets) may run with nobody there; {} ends it. A failure within it: {}.", u.parts, u.pallets,
      u.limit == "loaded"  ? std::string("what is loaded")
      : u.limit == "edges" ? std::string("the next planned edge change")
      : u.limit == "risk"  ? "the accepted chance of " + percent(in.most_risk)
                           : std::string("the cost of a failure"),
      percent(u.chance));
  if (edge.used > 0 && u.parts < in.loaded) {
    UnattendedInputs fresh = in;
    for (EdgeRisk& t : fresh.tools) t.used = 0;
    const Outcome<UnattendedResult> changed = unattended(fresh);
    if (changed.ok() && changed->parts > u.parts)
      a.notes.push_back(fmt::format("with new edges before leaving: {} parts", changed->parts));
  }
  if (!(in.gain > 0)) a.notes.push_back("no gain given: money does not end the stretch");
  a.cautions = {unattended_caution()};
  return a;
}

Reckoner unattended_reckoner() {
  Reckoner r;
  r.name = "unattended";
  r.science = "timing";
  r.question = "How many pallets may run with nobody there?";
  r.inputs = {
      kit::quantity("life", Kind::number, "parts that an edge lasts in the mean", 1, 1e7),
      kit::or_else(fraction("scatter", "standard deviation of that over its mean", 0.02, 1.5), "30 %",
                   "common practice: 20 to 40 % for one tool and one material"),
      kit::count("planned", "whole parts after which an edge is changed", 1, 10000000),
      kit::or_else(kit::count("used", "parts that the edges have made", 0, 10000000), "0", "new edges unless said"),
      kit::or_else(fraction("break_chance", "an edge breaks suddenly within its planned parts", 0, 0.99), "0.5 %",
                   "from memory: set it by your own breaks"),
      kit::or_else(kit::count("tools", "tools like this in the program", 1, 60), "1", "one unless said"),
      kit::or_else(kit::count("spares", "sister tools of each in the magazine", 0, 100), "0", "none unless said"),
      kit::count("loaded", "parts that can run without a hand", 0, 2000),
      kit::count("per_pallet", "parts on a pallet", 1, 1000),
      kit::or_else(kit::time("part_time", "machine time of a part"), "0 s", "not asked for unless said"),
      kit::or_else(fraction("risk", "accepted chance of any failure in the whole stretch", 1e-6, 0.99), "2 %",
                   "a choice, not a rule"),
      kit::or_else(
          kit::count("found_after", "parts before a failed tool stops the machine; 0: it does not notice", 0, 10000),
          "0", "nothing notices unless said"),
      kit::or_else(kit::money("gain", "a good part that would not be made otherwise"), "0"),
      kit::or_else(kit::money("bad_part", "lost with a part made by a failed tool"), "0"),
      kit::or_else(kit::money("damage", "lost with a failure besides"), "0")};
  r.outputs = {{"may_run", Kind::number, "parts: the least of the limits"},
               {"pallets", Kind::number, "whole pallets in it"},
               {"time", Kind::time, "machine time of it"},
               {"by_risk", Kind::number, "parts within the accepted chance"},
               {"by_edges", Kind::number, "parts before a planned change"},
               {"by_money", Kind::number, "parts with the best expected result"},
               {"chance", Kind::fraction, "of any failure in the stretch"},
               {"chance_loaded", Kind::fraction, "of any failure when all that is loaded runs"},
               {"good", Kind::number, "good parts expected"},
               {"bad", Kind::number, "bad parts expected"},
               {"result", Kind::number, "gain less losses expected"}};
  r.outputs.push_back({"limit", Kind::number, "what ends it: loaded, edges, risk or money"});
  r.formula = "chance to last n = prod exp(-(((a + n)/c)^b - (a/c)^b)) (1 - break)^(n/planned); a parts made";
  r.source = "Weibull distribution, conditional on the age; constant chance of a sudden break";
  r.range = "tools fail independently, any failure ends the stretch; hard spots and bad castings are not in it";
  r.examples = {{{{"life", "1000"},
                  {"scatter", "100 %"},
                  {"planned", "5000"},
                  {"break_chance", "0 %"},
                  {"loaded", "100"},
                  {"per_pallet", "4"}},
                 {{"may_run", "20"}, {"pallets", "5"}, {"chance", "1.980133 %"}, {"limit", "risk"}},
                 1e-6,
                 "exact: exponential life, -1000 ln 0.98 = 20.2"},
                {{{"life", "1000000"},
                  {"planned", "26"},
                  {"used", "20"},
                  {"break_chance", "0 %"},
                  {"spares", "1"},
                  {"loaded", "64"},
                  {"per_pallet", "4"}},
                 {{"may_run", "32"}, {"pallets", "8"}, {"limit", "edges"}},
                 1e-9,
                 "by hand: 6 parts left and 26 of the sister tool"}};
  r.answer = answer_unattended;
  return r;
}

}  // namespace

std::vector<Reckoner> simulation_reckoners() { return {cell_reckoner(), unattended_reckoner()}; }

}  // namespace fettle::timing
