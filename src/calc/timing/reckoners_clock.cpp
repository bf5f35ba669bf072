// Reckoners of the clock: moves, cuts, cycles, order, edges, hours.
#include <fmt/format.h>

#include <cmath>

#include "base/text.h"
#include "calc/timing/cycle.h"
#include "calc/timing/edges.h"
#include "calc/timing/hours.h"
#include "calc/timing/operation_time.h"
#include "calc/timing/order.h"
#include "calc/timing/reckoners.h"
#include "finding/reckoner_kit.h"

namespace fettle::timing {

namespace {

using finding::Reckoner;
using finding::ReckonerAnswer;
using finding::ReckonerValues;
using unit::Kind;
namespace kit = finding::kit;

std::string say_time(double s) { return unit::print(s, Kind::time); }

Reckoner move_reckoner() {
  Reckoner r;
  r.name = "move_time";
  r.science = "timing";
  r.question = "How long does a rapid move take from rest to rest?";
  r.inputs = {kit::quantity("distance", Kind::length, "straight way", 0, 100),
              kit::quantity("rapid", Kind::speed, "rapid of the slowest axis that moves", 1e-4, 100),
              kit::quantity("acceleration", Kind::acceleration, "of that axis", 0.01, 1000),
              kit::left_out(kit::quantity("jerk", Kind::jerk, "of that axis; at once when left out", 0.01, 1e6))};
  r.outputs = {{"time", Kind::time, "from rest to rest"},
               {"full_speed_from", Kind::length, "shorter moves never reach rapid"}};
  r.formula = "long: distance/v + v/a (+ a/j); short: 2 sqrt(distance/a), or with the jerk-limited ramp";
  r.source = "kinematics of the symmetric ramp";
  r.range = "one straight move, each ramp as the machine's numbers say; a control that blends corners is quicker";
  r.examples = {{{{"distance", "200 mm"}, {"rapid", "30 m/min"}, {"acceleration", "2.5 m/s2"}},
                 {{"time", "0.6 s"}, {"full_speed_from", "100 mm"}},
                 1e-9,
                 "exact: 0.4 s at speed and one ramp of 0.2 s"},
                {{{"distance", "50 mm"}, {"rapid", "30 m/min"}, {"acceleration", "2.5 m/s2"}},
                 {{"time", "0.2828427 s"}},
                 1e-6,
                 "exact: 2 sqrt(0.05/2.5)"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    const Motion m{v["rapid"], v["acceleration"], kit::value(v, "jerk")};
    const Outcome<double> t = move_time(v["distance"], m);
    if (!t.ok()) return t.problems();
    // At full speed both ramps end to end are v times one ramp; a long move's time gives the ramp.
    const double far = 1e6, ramp = *move_time(far, m) - far / m.speed;
    ReckonerAnswer a;
    a.number = {{"time", *t}, {"full_speed_from", m.speed * ramp}};
    a.sentence = fmt::format("{} of rapid take {}{}.", unit::print(v["distance"], Kind::length), say_time(*t),
                             v["distance"] < m.speed * ramp ? "; full speed is never reached" : "");
    return a;
  };
  return r;
}

Reckoner cut_reckoner() {
  Reckoner r;
  r.name = "cut_minutes";
  r.science = "timing";
  r.question = "How long does a cut take by path and feed, and does the stated time agree?";
  r.inputs = {
      kit::quantity("length", Kind::length, "path of one pass", 0, 1000),
      kit::quantity("feed", Kind::speed, "feed along that path", 1e-6, 10),
      kit::or_else(kit::count("passes", "passes or holes", 1, 10000), "1", "one unless said"),
      kit::left_out(kit::quantity("between", Kind::length, "rapid way between passes", 0, 100)),
      kit::left_out(kit::quantity("clearance", Kind::length, "rapid down before, up after a pass", 0, 10)),
      kit::left_out(kit::quantity("rapid", Kind::speed, "rapid; moves are left out without it", 1e-4, 100)),
      kit::left_out(kit::quantity("acceleration", Kind::acceleration, "of the axes", 0.01, 1000)),
      kit::left_out(kit::quantity("wall", Kind::length, "diameter of a round wall cut from inside", 1e-4, 10)),
      kit::left_out(kit::quantity("tool", Kind::length, "tool diameter, with a wall: feed is the edge's", 1e-4, 10)),
      kit::left_out(kit::time("stated", "time on the tool list"))};
  r.outputs = {{"time", Kind::time, "by path and feed"},
               {"centre_feed", Kind::speed, "feed of the tool's centre"},
               {"off", Kind::fraction, "by path over stated, minus 1; 0 without a stated time"}};
  r.formula = "passes (length/feed + feed/a) + moves; inside a round wall centre feed = feed (wall - tool)/wall";
  r.source = "kinematics; the rule for inside arcs is common practice";
  r.range = "feed as programmed is reached; look-ahead in corners may hold it back";
  r.examples = {{{{"length", "517.7 mm"}, {"feed", "770 mm/min"}, {"passes", "2"}, {"stated", "1.345 min"}},
                 {{"time", "1.344675 min"}},
                 1e-6,
                 "by hand: 2 x 517.7/770"},
                {{{"length", "59.7 mm"}, {"feed", "246 mm/min"}, {"passes", "2"}, {"wall", "54 mm"}, {"tool", "35 mm"}},
                 {{"centre_feed", "86.5556 mm/min"}, {"time", "1.379461 min"}},
                 1e-5,
                 "by hand: 246 x 19/54 and 2 x 59.7 over it"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    if (v.has("wall") != v.has("tool")) return bad("wall and tool go together: both, or neither");
    CutPath p;
    p.length = v["length"];
    p.feed = v.has("wall") ? centre_feed(v["feed"], v["wall"], v["tool"]) : v["feed"];
    p.passes = static_cast<int>(v["passes"]);
    p.between = kit::value(v, "between");
    p.clearance = kit::value(v, "clearance");
    p.motion = {kit::value(v, "rapid"), kit::value(v, "acceleration"), 0};
    p.stated = kit::maybe(v, "stated");
    if (v.has("wall") && !(v["wall"] > v["tool"]))
      return bad("the tool does not go inside that wall", "", "a smaller tool");
    const Outcome<CutTime> t = cut_time(p);
    if (!t.ok()) return t.problems();
    ReckonerAnswer a;
    a.number = {{"time", *t->by_path}, {"centre_feed", *p.feed}, {"off", t->off}};
    a.sentence = fmt::format("{} by path and feed{}.", say_time(*t->by_path),
                             p.stated ? fmt::format(", {} stated", say_time(*p.stated)) : "");
    if (std::fabs(t->off) > 0.25)
      a.notes.emplace_back("the two differ by more than a quarter: one of them is not this cut");
    return a;
  };
  return r;
}

Reckoner cycle_reckoner() {
  Reckoner r;
  r.name = "cycle_two_sets";
  r.science = "timing";
  r.question = "Two pallet sets and one person: what is the cycle, and who waits for whom?";
  r.inputs = {
      kit::time("machine", "machine time of one set", 1e-3),
      kit::time("load", "unloading, cleaning and loading one set by hand"),
      kit::time("swap", "spindle to spindle"),
      kit::count("parts", "parts in one set", 1, 10000),
      kit::or_else(kit::count("sets", "pallet sets; 1: loaded on the machine", 1, 100), "2", "two sets unless said"),
      kit::or_else(kit::time("other", "the person's other work in a cycle, done while it cuts"), "0 s"),
      kit::or_else(kit::time("scatter", "one standard deviation of loading a set"), "0 s"),
      kit::or_else(kit::time("hands_in_swap", "of the swap that ties the person"), "0 s")};
  r.outputs = {{"cycle", Kind::time, "start of cut to start of cut"},
               {"spindle_use", Kind::fraction, "machine time over cycle"},
               {"idle_share", Kind::fraction, "swap and waiting over cycle"},
               {"person_use", Kind::fraction, "work by hand over cycle"},
               {"parts_per_hour", Kind::number, "while all goes well"},
               {"spindle_waits", Kind::time, "a cycle, for the person"},
               {"waits", Kind::number, "who waits for whom"}};
  r.formula = "cycle = max(machine, load + other) + swap; with scatter the mean of the maximum; one set: the sum";
  r.source = "two sets in turn; mean of a maximum: Clark 1961 with one term fixed";
  r.range = "one machine, one person, nothing breaks; stops and shared people need the simulation";
  r.examples = {{{{"machine", "12 min"}, {"load", "7 min"}, {"swap", "0.5 min"}, {"parts", "4"}},
                 {{"cycle", "12.5 min"},
                  {"spindle_use", "96 %"},
                  {"person_use", "56 %"},
                  {"parts_per_hour", "19.2"},
                  {"waits", "the person waits for the spindle"}},
                 1e-9,
                 "closed form, worked by hand"},
                {{{"machine", "6 min"}, {"load", "7 min"}, {"swap", "0.5 min"}, {"parts", "4"}},
                 {{"cycle", "7.5 min"},
                  {"spindle_use", "80 %"},
                  {"person_use", "0.933333"},
                  {"parts_per_hour", "32"},
                  {"waits", "the spindle waits for the person"}},
                 1e-6,
                 "closed form, worked by hand"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    CycleInputs in;
    in.parts = static_cast<int>(v["parts"]);
    in.sets = static_cast<int>(v["sets"]);
    in.machine = in.cutting = v["machine"];
    in.load = v["load"];
    in.load_scatter = v["scatter"];
    in.swap = v["swap"];
    in.swap_by_hand = v["hands_in_swap"];
    in.other_work = v["other"];
    const Outcome<CycleResult> c = cycle(in);
    if (!c.ok()) return c.problems();
    ReckonerAnswer a;
    a.number = {{"cycle", c->cycle_scattered},       {"spindle_use", c->spindle_use},
                {"idle_share", c->idle_share},       {"person_use", c->person_use},
                {"spindle_waits", c->spindle_waits}, {"parts_per_hour", c->parts_per_hour}};
    a.text["waits"] = std::string(word(c->waits));
    a.sentence = fmt::format("{} a cycle, {} parts an hour; {}. The spindle works {} of the time, the person {}.",
                             say_time(c->cycle_scattered), base::fixed(c->parts_per_hour, 1), a.text["waits"],
                             unit::print(c->spindle_use, Kind::fraction), unit::print(c->person_use, Kind::fraction));
    return a;
  };
  return r;
}

/// "3>1 4>2": cut 3 after cut 1, cut 4 after cut 2; counted from 1.
Outcome<bool> read_after(const std::string& text, OrderInputs& in) {
  for (const std::string& word : base::split(text, ' ')) {
    if (base::trim(word).empty()) continue;
    const std::vector<std::string> ends = base::split(word, '>');
    const auto number = [&](std::size_t i) {
      return ends.size() == 2 ? base::to_double(base::trim(ends[i])) : std::nullopt;
    };
    const auto later = number(0), earlier = number(1);
    const double n = static_cast<double>(in.cuts.size());
    if (!later || !earlier || !(*later >= 1 && *later <= n) || !(*earlier >= 1 && *earlier <= n) ||
        std::floor(*later) != *later || std::floor(*earlier) != *earlier)
      return bad("not two cuts of the list", word, "such as 3>1: cut 3 comes after cut 1");
    in.cuts[static_cast<std::size_t>(*later) - 1].after.push_back(static_cast<int>(*earlier) - 1);
  }
  return true;
}

Reckoner order_reckoner() {
  Reckoner r;
  r.name = "tool_changes";
  r.science = "timing";
  r.question = "Tool by tool or part by part: how many tool changes, and can another order save some?";
  r.inputs = {
      kit::text("tools", "tools of the cuts in order, with blanks between"),
      kit::left_out(kit::text("after", "what must come before, as 3>1 4>2: cut 3 after cut 1, cut 4 after cut 2")),
      kit::count("parts", "parts held at once", 1, 10000), kit::time("change", "chip to chip")};
  r.outputs = {{"tool_by_tool", Kind::number, "changes a set, each tool doing every part"},
               {"part_by_part", Kind::number, "changes a set, each part finished before the next"},
               {"least", Kind::number, "fewest of any order that keeps what must come before"},
               {"saved_per_part", Kind::time, "tool by tool against part by part"},
               {"order", Kind::number, "cuts in an order with fewest changes"}};
  r.formula = "T against N T changes; the fewest by trying every block of one tool";
  r.source = "counted; every order of blocks is tried (dynamic programming over what is done)";
  r.range = "up to 64 cuts; the change from the last tool back to the first counts";
  r.examples = {{{{"tools", "T11 T12 T13 T14 T15 T16 T17 T18 T19"}, {"parts", "8"}, {"change", "4.5 s"}},
                 {{"tool_by_tool", "9"}, {"part_by_part", "72"}, {"least", "9"}, {"saved_per_part", "35.4375 s"}},
                 1e-9,
                 "counted by hand"},
                {{{"tools", "1 2 1 3 2"}, {"after", "3>2 4>3 5>4"}, {"parts", "1"}, {"change", "4 s"}},
                 {{"tool_by_tool", "5"}, {"least", "3"}, {"order", "2 1 3 4 5"}},
                 1e-9,
                 "counted by hand"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    OrderInputs in;
    for (const std::string& t : base::split(v.text.at("tools"), ' '))
      if (!base::trim(t).empty()) in.cuts.push_back({std::string(base::trim(t)), {}});
    in.parts = static_cast<int>(v["parts"]);
    in.tool_change = v["change"];
    if (v.has("after"))
      if (const Outcome<bool> read = read_after(v.text.at("after"), in); !read.ok()) return read.problems();
    const Outcome<OrderResult> o = order(in);
    if (!o.ok()) return o.problems();
    ReckonerAnswer a;
    a.number = {{"tool_by_tool", o->tool_by_tool},
                {"part_by_part", o->part_by_part},
                {"least", o->least},
                {"saved_per_part", o->saved_per_part}};
    for (int i : o->least_order) a.text["order"] += (a.text["order"].empty() ? "" : " ") + std::to_string(i + 1);
    a.sentence = fmt::format("{} tool changes for {} parts tool by tool, {} part by part; the best order needs {}.",
                             o->tool_by_tool, in.parts, o->part_by_part, o->least);
    if (!o->proven) a.notes.emplace_back("too many cuts to try every order: the best one is what a search found");
    return a;
  };
  return r;
}

Reckoner edges_reckoner() {
  Reckoner r;
  r.name = "parts_per_edge";
  r.science = "timing";
  r.question = "How many whole parts does one edge last, and what does that cost a part?";
  r.inputs = {
      kit::time("life", "life of one edge in the cut", 1e-3),
      kit::time("cut", "in the cut with it, per part", 1e-3),
      kit::or_else(kit::time("change", "changing and setting"), "0 s"),
      kit::or_else(kit::count("set", "parts in a set; the edge is changed between sets", 1, 10000), "1", "one part"),
      kit::left_out(kit::money("price", "price of one edge")),
      kit::or_else(kit::quantity("parts_per_shift", Kind::number, "parts a shift", 0, 1e6), "0")};
  r.outputs = {{"whole_parts", Kind::number, "of one edge"},
               {"between_changes", Kind::number, "parts when it is changed between sets"},
               {"change_per_part", Kind::time, "time for changing"},
               {"cost_per_part", Kind::number, "0 without a price"},
               {"changes_per_shift", Kind::number, "edge changes"},
               {"tied_per_shift", Kind::time, "a person, the machine standing"}};
  r.formula = "whole parts = floor(life/cut); between sets: the multiple of the set below it";
  r.source = "whole parts only; common practice: change at a safe place, between sets";
  r.range = "life as stated, in this iron; skin and sand take some of it";
  r.examples = {{{{"life", "20 min"}, {"cut", "1.6 min"}, {"change", "0.25 min"}},
                 {{"whole_parts", "12"}, {"change_per_part", "1.25 s"}},
                 1e-9,
                 "exact: floor(12.5), and 15 s over 12"},
                {{{"life", "40 min"}, {"cut", "1.502 min"}, {"set", "8"}, {"price", "112"}},
                 {{"whole_parts", "26"}, {"between_changes", "24"}, {"cost_per_part", "4.666667"}},
                 1e-6,
                 "by hand: 112 over 24 parts"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    EdgeInputs in;
    in.life = v["life"];
    in.cut_per_part = v["cut"];
    in.change = v["change"];
    in.price = kit::maybe(v, "price");
    in.parts_per_set = static_cast<int>(v["set"]);
    in.parts_per_shift = v["parts_per_shift"];
    const Outcome<EdgeResult> e = edges(in);
    if (!e.ok()) return e.problems();
    ReckonerAnswer a;
    a.number = {{"whole_parts", e->whole_parts},
                {"between_changes", e->between_changes},
                {"change_per_part", e->change_per_part},
                {"cost_per_part", e->cost_per_part.value_or(0)},
                {"changes_per_shift", e->changes_per_shift},
                {"tied_per_shift", e->tied_per_shift}};
    a.sentence = fmt::format("One edge lasts {} whole parts{}.", e->whole_parts,
                             e->in_mid_set          ? ", less than one set: it must be changed within"
                             : in.parts_per_set > 1 ? fmt::format("; changed between sets, {}", e->between_changes)
                                                    : "");
    return a;
  };
  return r;
}

Reckoner hours_reckoner() {
  Reckoner r;
  r.name = "machine_hours";
  r.science = "timing";
  r.question = "How many hours a week does a machine need, change-overs included, and are they there?";
  r.inputs = {
      kit::quantity("good_per_week", Kind::number, "good parts a week", 0, 1e6),
      kit::or_else(kit::quantity("lost", Kind::fraction, "share of the parts lost later", 0, 0.95), "0 %"),
      kit::time("per_part", "machine time per part, changes and loading included"),
      kit::or_else(kit::count("set_ups", "set-ups that take turns on it", 1, 100), "1", "one set-up unless said"),
      kit::or_else(kit::count("lot", "parts between change-overs", 1, 10000000), "1", "used with two set-ups and more"),
      kit::or_else(kit::time("change_over", "from one set-up to another"), "0 s"),
      kit::time("shift", "hours a week", 1, 7 * 86400.0),
      kit::quantity("available", Kind::fraction, "share of them that it can really be used", 0.01, 1)};
  r.outputs = {{"needed", Kind::time, "a week"},
               {"there", Kind::time, "a week"},
               {"use", Kind::fraction, "needed of what is there"},
               {"changes", Kind::number, "change-overs a week"},
               {"good_possible", Kind::number, "good parts a week at full use"}};
  r.formula = "needed = parts/(1 - lost) x per part + set-ups x parts/(1 - lost)/lot x change-over";
  r.source = "added up; parts lost later are made first";
  r.range = "all plans that use the machine must be counted: fettle shop does that";
  r.examples = {{{{"good_per_week", "90"},
                  {"lost", "10 %"},
                  {"per_part", "6 min"},
                  {"set_ups", "2"},
                  {"lot", "50"},
                  {"change_over", "30 min"},
                  {"shift", "20 h"},
                  {"available", "80 %"}},
                 {{"needed", "12 h"}, {"there", "16 h"}, {"use", "75 %"}, {"changes", "4"}, {"good_possible", "120"}},
                 1e-9,
                 "by hand: 100 parts x 0.1 h and 4 x 0.5 h"}};
  r.answer = [](const ReckonerValues& v) -> Outcome<ReckonerAnswer> {
    const double parts = v["good_per_week"] / (1 - v["lost"]);
    PlanLoad plan{"plan", {}};
    for (int i = 0; i < static_cast<int>(v["set_ups"]); ++i) {
      const std::string name = "set-up " + std::to_string(i + 1);
      plan.operations.push_back({name, "machine", name, i == 0 ? v["per_part"] : 0.0, 0, parts, v["lot"]});
    }
    const auto h = machine_load({plan}, {{"machine", v["shift"] * v["available"], v["change_over"]}});
    if (!h.ok()) return h.problems();
    const MachineHours& m = h->front();
    ReckonerAnswer a;
    const double possible = m.hours > 0 ? v["good_per_week"] / m.use() : 0;
    a.number = {
        {"needed", m.hours}, {"there", m.there}, {"use", m.use()}, {"changes", m.changes}, {"good_possible", possible}};
    a.sentence = fmt::format("{} of {} a week{}.", say_time(m.hours), say_time(m.there),
                             m.use() > 1 ? ": it cannot be done" : "");
    return a;
  };
  return r;
}

}  // namespace

std::vector<finding::Reckoner> clock_reckoners() {
  return {move_reckoner(), cut_reckoner(), cycle_reckoner(), order_reckoner(), edges_reckoner(), hours_reckoner()};
}

}  // namespace fettle::timing
