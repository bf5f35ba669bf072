// Reckoners of people and money: several machines for few people, learning, cost of a part, payback.
#include <fmt/format.h>

#include <cmath>

#include "base/text.h"
#include "calc/timing/closed_forms.h"
#include "calc/timing/cost.h"
#include "calc/timing/learning.h"
#include "calc/timing/reckoners.h"
#include "finding/reckoner_kit.h"

namespace fettle::timing {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerValues;
using unit::Kind;
namespace kit = finding::kit;

std::string percent(double share) { return unit::print(share, Kind::fraction); }

Reckoner people_reckoner() {
  Reckoner r;
  r.name = "people_for_machines";
  r.science = "timing";
  r.question = "Machines that stop at random: how much do they wait for so many people, and how many people pay?";
  r.inputs = {kit::count("machines", "alike, each needs a person now and then", 1, 200),
              kit::count("people", "who serve them", 1, 200),
              kit::time("run", "mean time between stops", 1e-3, 1e8),
              kit::time("service", "mean time a person needs", 1e-3, 1e8),
              kit::or_else(kit::money("person_rate", "one person, an hour"), "0"),
              kit::or_else(kit::money("waiting_rate", "one machine that waits, an hour"), "0"),
              kit::or_else(kit::money("service_rate", "one machine being served, an hour"), "0")};
  r.outputs = {{"waits", Kind::fraction, "chance that a machine that stops must wait"},
               {"efficiency", Kind::fraction, "1 - mean number waiting over machines"},
               {"running", Kind::number, "mean number of machines that run"},
               {"people_use", Kind::fraction, "share of time a person works"},
               {"cost", Kind::number, "an hour, with so many people"},
               {"best_people", Kind::number, "cheapest number of people"},
               {"best_cost", Kind::number, "an hour, with that number"}};
  r.formula = "finite source M/M/c//K, exact; cost = people x pay + waiting x price + served x price";
  r.source = "Peck and Hazelwood 1958; exact solution in place of their tables";
  r.range = "times at random (exponential), machines alike; constant service: see interference";
  r.examples = {
      {{{"machines", "20"},
        {"people", "4"},
        {"run", "45 min"},
        {"service", "5 min"},
        {"person_rate", "60"},
        {"waiting_rate", "500"},
        {"service_rate", "200"}},
       {{"cost", "690.59"}, {"best_people", "4"}},
       1e-5,
       "Tompkins et al., Facilities Planning 4th ed., recomputed in full (printed 688 with F of three digits)"},
      {{{"machines", "6"}, {"people", "2"}, {"run", "95 s"}, {"service", "5 s"}},
       {{"waits", "0.023"}, {"efficiency", "0.999"}},
       0.02,
       "Peck and Hazelwood 1958, table as printed, three digits"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    const int machines = static_cast<int>(v["machines"]), people = static_cast<int>(v["people"]);
    const FiniteSourceCost rates{v["person_rate"], v["waiting_rate"], v["service_rate"]};
    const Outcome<FiniteSource> f = finite_source(machines, people, v["run"], v["service"]);
    if (!f.ok()) return f.problems();
    const Outcome<BestServers> best = best_servers(machines, v["run"], v["service"], rates);
    if (!best.ok()) return best.problems();
    ReckonerAnswer a;
    a.number = {{"waits", f->waits},
                {"efficiency", f->efficiency},
                {"running", f->running},
                {"people_use", f->server_use},
                {"cost", hourly_cost(*f, people, rates)},
                {"best_people", best->servers},
                {"best_cost", best->cost}};
    a.sentence = fmt::format("{} of {} machines run; a stop must wait with a chance of {}; people work {} of the time.",
                             base::fixed(f->running, 1), machines, percent(f->waits), percent(f->server_use));
    return a;
  };
  return r;
}

Reckoner turn_reckoner() {
  Reckoner r;
  r.name = "machines_in_turn";
  r.science = "timing";
  r.question = "How many machines can one person load in turn, when every time is the same each round?";
  r.inputs = {kit::time("load", "loading one machine, it stands", 1e-3), kit::time("machine", "it runs alone"),
              kit::or_else(kit::time("walk", "to the next machine"), "0 s"),
              kit::or_else(kit::money("person_rate", "the person, an hour"), "0"),
              kit::or_else(kit::money("machine_rate", "one machine, an hour"), "0")};
  r.outputs = {{"machines", Kind::number, "not whole"},
               {"whole", Kind::number, "machines that never wait"},
               {"cost_whole", Kind::number, "of one part with that many"},
               {"cost_one_more", Kind::number, "of one part with one more: they wait, the person does not"}};
  r.formula = "(load + machine)/(load + walk); cost = round x (person + n machines)/n";
  r.source = "synchronous servicing, Niebel and Freivalds, Methods, Standards and Work Design (from memory)";
  r.range = "times do not scatter; with scatter see interference and people_for_machines";
  r.examples = {{{{"load", "1.41 min"},
                  {"machine", "4.34 min"},
                  {"walk", "0.08 min"},
                  {"person_rate", "12"},
                  {"machine_rate", "22"}},
                 {{"machines", "3.859"}, {"whole", "3"}, {"cost_whole", "2.4917"}, {"cost_one_more", "2.4833"}},
                 2e-4,
                 "Niebel and Freivalds, from memory"},
                {{{"load", "2 min"}, {"machine", "15 min"}, {"walk", "0.5 min"}},
                 {{"machines", "6.8"}, {"whole", "6"}},
                 1e-9,
                 "textbook exercise as read: (2 + 15)/(2 + 0.5)"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    const Outcome<Synchronous> s = synchronous(v["load"], v["machine"], v["walk"]);
    if (!s.ok()) return s.problems();
    ReckonerAnswer a;
    a.number = {{"machines", s->exact},
                {"whole", s->whole},
                {"cost_whole", synchronous_cost(s->cycle_whole / 3600, s->whole, v["person_rate"], v["machine_rate"])},
                {"cost_one_more",
                 synchronous_cost(s->cycle_one_more / 3600, s->whole + 1, v["person_rate"], v["machine_rate"])}};
    a.sentence = fmt::format("{} machines in turn never wait ({} by the formula).", s->whole, base::fixed(s->exact, 2));
    return a;
  };
  return r;
}

Reckoner interference_reckoner() {
  Reckoner r;
  r.name = "interference";
  r.science = "timing";
  r.question = "One person, several machines that stop at random: how much do they stand because the person is busy?";
  r.inputs = {
      kit::count("machines", "alike", 1, 200), kit::time("run", "mean running time between stops", 1e-3, 1e8),
      kit::time("attention", "a person needs at a stop", 1e-3, 1e8),
      kit::choice("by", "wright: many machines, by formula; ashcroft: constant service", {"wright", "ashcroft"}, {})};
  r.outputs = {{"running", Kind::number, "mean number of machines that run"},
               {"interference", Kind::time, "a machine stands at each stop before the person comes, in the mean"}};
  r.formula =
      "wright: 50 (sqrt((1+X-N)^2+2N) - (1+X-N)) % of attention, X = run/attention; ashcroft: N Y/(1 + N p Y), p = "
      "attention/run";
  r.source = "Wright, in Niebel and Freivalds; Ashcroft, J. R. Statist. Soc. B 12 (1950) 145 (from memory)";
  r.range = "wright from about six machines on; ashcroft p up to 3";
  r.examples = {{{{"machines", "60"}, {"run", "150 min"}, {"attention", "3 min"}, {"by", "wright"}},
                 {{"interference", "34.766 min"}},
                 1e-4,
                 "Niebel and Freivalds, computed in full (printed 34.8 min)"},
                {{{"machines", "4"}, {"run", "10 min"}, {"attention", "1 min"}, {"by", "ashcroft"}},
                 {{"running", "3.5791"}},
                 3e-5,
                 "Ashcroft 1950, formula recomputed"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    const double n = v["machines"], run = v["run"], attention = v["attention"];
    ReckonerAnswer a;
    double waits = 0, running = 0;
    if (v.text.at("by") == "wright") {
      const Outcome<double> w = wright_interference(n, run, attention);
      if (!w.ok()) return w.problems();
      waits = *w / 100 * attention;
      running = n * run / (run + attention + waits);
      if (n < 6) a.beyond = "the formula is meant for six machines and more";
    } else {
      const double p = attention / run;
      if (p > 3) {
        a.beyond = "attention is more than three times the running time";
        a.sentence = "One person cannot keep even one such machine going.";
        return a;
      }
      const Outcome<double> x = ashcroft(static_cast<int>(n), p);
      if (!x.ok()) return x.problems();
      running = *x;
      waits = std::max(0.0, n * run / running - run - attention);
    }
    a.number = {{"running", running}, {"interference", waits}};
    a.sentence = fmt::format("{} of {} machines run; each stop waits {} for the person.", base::fixed(running, 2),
                             base::fixed(n, 0), unit::print(waits, Kind::time));
    return a;
  };
  return r;
}

Reckoner learning_reckoner() {
  Reckoner r;
  r.name = "learning";
  r.science = "timing";
  r.question = "A new operator: how long until a part takes the standard time?";
  r.inputs = {
      kit::quantity("rate", Kind::fraction, "share of the time left when the parts made have doubled", 0.5, 0.999),
      kit::quantity("first", Kind::number, "first part over standard", 1, 100),
      kit::time("standard", "standard time of a part", 1e-3),
      kit::or_else(kit::time("shift", "working time of a day", 60, 86400), "7.5 h", "common practice"),
      kit::or_else(kit::count("part", "a part number to look at", 1, 10000000), "1", "the first")};
  r.outputs = {{"parts", Kind::number, "until standard time"},
               {"days", Kind::number, "shifts until then"},
               {"lost", Kind::time, "more than standard until then"},
               {"factor", Kind::number, "time of that part number over the first"},
               {"total", Kind::number, "time of all parts up to that number over the first"}};
  r.formula = "part n takes n^(log2 rate) of the first; parts to standard = first^(-1/log2 rate)";
  r.source = "Wright 1936; Heizer and Render's tables agree (from memory)";
  r.range = "no break in between; the curve flattens at the standard time";
  r.examples = {{{{"rate", "80 %"}, {"first", "1"}, {"standard", "1 min"}, {"part", "100"}},
                 {{"factor", "0.2271"}, {"total", "32.6508"}},
                 3e-4,
                 "Heizer and Render, table of the 80 % curve, from memory"},
                {{{"rate", "85 %"}, {"first", "3"}, {"standard", "1 min"}},
                 {{"parts", "108.376"}},
                 1e-4,
                 "by hand: exp(ln 3 ln 2 / -ln 0.85)"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    const Outcome<NewOperator> o = new_operator(v["first"], v["rate"], v["standard"], v["shift"]);
    if (!o.ok()) return o.problems();
    const Outcome<double> f = learning_factor(v["part"], v["rate"]),
                          t = learning_total(static_cast<int>(v["part"]), v["rate"]);
    if (!f.ok()) return f.problems();
    if (!t.ok()) return t.problems();
    ReckonerAnswer a;
    a.number = {{"parts", o->parts}, {"days", o->days}, {"lost", o->lost}, {"factor", *f}, {"total", *t}};
    a.sentence =
        fmt::format("After {} parts, {} shifts, a part takes the standard time; until then {} are lost.",
                    base::fixed(std::ceil(o->parts), 0), base::fixed(o->days, 1), unit::print(o->lost, Kind::time));
    return a;
  };
  return r;
}

Reckoner cost_reckoner() {
  Reckoner r;
  r.name = "cost_per_part";
  r.science = "timing";
  r.question = "What does a good part cost, when lost parts are valued where they are found?";
  r.inputs = {kit::money("casting", "price of one casting")};
  for (int k = 1; k <= 4; ++k) {
    const auto work = kit::money(fmt::format("work_{}", k), "put into a part in this step: machine, people, tools");
    const auto lost = kit::quantity(fmt::format("lost_{}", k), Kind::fraction, "share found bad after this step", 0, 1);
    r.inputs.push_back(k == 1 ? work : kit::left_out(work));
    r.inputs.push_back(kit::or_else(lost, "0 %"));
  }
  r.outputs = {{"cost", Kind::number, "of a good part"},
               {"put_in", Kind::number, "into a part that comes through"},
               {"lost", Kind::number, "value of what is lost, per good part"},
               {"castings", Kind::number, "bought for a good part"}};
  r.formula = "all money spent over good parts = put in + sum of lost parts x money in them where they are found";
  r.source = "added up for one casting bought";
  r.range = "steps in order; a step left out adds nothing";
  r.examples = {{{{"casting", "10"}, {"work_1", "5"}, {"work_2", "20"}, {"lost_2", "10 %"}, {"work_3", "1"}},
                 {{"cost", "39.888889"}, {"put_in", "36"}, {"lost", "3.888889"}, {"castings", "1.111111"}},
                 1e-6,
                 "by hand: 100 castings, 90 good parts"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    CostInputs in;
    in.casting = v["casting"];
    for (int k = 1; k <= 4; ++k) {
      const std::string n = std::to_string(k);
      in.steps.push_back({"step " + n, kit::value(v, "work_" + n), v["lost_" + n]});
    }
    const Outcome<CostResult> c = cost_per_good_part(in);
    if (!c.ok()) return c.problems();
    ReckonerAnswer a;
    a.number = {
        {"cost", c->per_good}, {"put_in", c->put_in}, {"lost", c->lost_value}, {"castings", c->castings_per_good}};
    a.sentence = fmt::format(
        "A good part costs {}: {} put in and {} for what is lost; at the casting's price that loss "
        "would look like {}.",
        base::fixed(c->per_good, 2), base::fixed(c->put_in, 2), base::fixed(c->lost_value, 2),
        base::fixed(c->lost_at_casting_price, 2));
    return a;
  };
  return r;
}

Reckoner payback_reckoner() {
  Reckoner r;
  r.name = "payback";
  r.science = "timing";
  r.question = "After how many parts has a fixture or pallet paid for itself?";
  const auto share = [](const char* name, const char* help) {
    return kit::or_else(kit::quantity(name, Kind::fraction, std::string(help) + ", share of the cost a year", 0, 1),
                        "0 %");
  };
  r.inputs = {
      kit::money("cost", "of the fixture"),
      share("interest", "interest"),
      share("taxes", "taxes and insurance"),
      kit::or_else(share("depreciation", "depreciation"), "100 %", "common practice: it pays within its first year"),
      share("upkeep", "upkeep"),
      kit::or_else(kit::money("setting_up", "all set-ups of a year"), "0"),
      kit::quantity("saved", Kind::number, "saved on a part, in the same currency", 1e-6, 1e9),
      kit::or_else(kit::quantity("overhead", Kind::fraction, "on top of what is saved", 0, 1), "0 %")};
  r.outputs = {{"parts", Kind::number, "a year until it has paid"}};
  r.formula = "N = (C (I + T + D + M) + S)/(a (1 + b))";
  r.source = "Sharma, Example 5.20, p. 270";
  r.range = "one year's share; depreciation 100 % asks that it pays within the year";
  r.examples = {{{{"cost", "3000"},
                  {"interest", "8 %"},
                  {"taxes", "4 %"},
                  {"depreciation", "50 %"},
                  {"upkeep", "5 %"},
                  {"setting_up", "50"},
                  {"saved", "1.5"},
                  {"overhead", "55 %"}},
                 {{"parts", "886.0"}},
                 1e-4,
                 "Sharma, Example 5.20, p. 270, as read"},
                {{{"cost", "3000"},
                  {"interest", "8 %"},
                  {"taxes", "4 %"},
                  {"depreciation", "50 %"},
                  {"upkeep", "5 %"},
                  {"setting_up", "250"},
                  {"saved", "1.5"},
                  {"overhead", "55 %"}},
                 {{"parts", "972.0"}},
                 1e-4,
                 "Sharma, Example 5.20 with five set-ups, as read"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    const Outcome<double> n = payback_parts({v["cost"], v["interest"], v["taxes"], v["depreciation"], v["upkeep"],
                                             v["setting_up"], v["saved"], v["overhead"]});
    if (!n.ok()) return n.problems();
    ReckonerAnswer a;
    a.number["parts"] = *n;
    a.sentence = fmt::format("It has paid after {} parts.", base::fixed(std::ceil(*n - 1e-9), 0));
    return a;
  };
  return r;
}

}  // namespace

std::vector<finding::Reckoner> money_reckoners() {
  return {people_reckoner(),   turn_reckoner(), interference_reckoner(),
          learning_reckoner(), cost_reckoner(), payback_reckoner()};
}

}  // namespace fettle::timing
