#include "calc/practice/practice.h"

#include <algorithm>
#include <array>

#include "calc/practice/hearing.h"

namespace fettle::practice {

namespace {

struct Entry {
  Rule rule;
  Judge judge;
};

constexpr std::string_view common = "common practice";
using enum Group;
using enum Weight;

constexpr Entry entries[] = {
    {{"first_cut_under_skin", casting, must, "the first cut goes under the skin",
      "Does the first cut on every cast surface go under the skin, where there is least stock too?",
      "the cast skin is hard, holds sand and is partly white iron: an edge that runs in it is gone in minutes", common,
      "take the whole stock in one pass that is deeper than the skin, or order more stock"},
     first_cut_under_skin},
    {{"no_finish_on_skin", casting, must, "no fine edge on the skin",
      "Is every cast surface opened by a rough cut before a finishing edge or a reamer touches it?",
      "a finishing cut is thin: it rubs on the skin, follows the raw surface and loses its edge", common,
      "put a rough cut under the skin before it"},
     no_finish_on_skin},
    {{"hard_corner", casting, must, "no thread in a chilled corner",
      "Are threads far enough from raw corners that may have chilled white?",
      "thin corners and flash cool fast and turn white: drills burn and taps break there", common,
      "move the thread, cut the corner off first, ask the foundry for a no-chill corner, or thread-mill it"},
     hard_corner},
    {{"clear_of_gates", casting, must, "nothing touches on a gate",
      "Do rests, stops, jaws and clamps stand clear of the gates?",
      "the stub of a gate is ground off by hand to anything up to its limit: what sits on it sits anywhere", common,
      "move the contact, or have the gate on another face"},
     clear_of_gates},
    {{"clear_of_parting", casting, should, "nothing touches on the parting ridge",
      "Do rests, stops, jaws and clamps stand clear of the parting line?",
      "mould halves are offset and leave a ridge: what sits across it rocks and sits differently every time", common,
      "move the contact above or below the ridge, all of them on the same half of the mould"},
     clear_of_parting},
    {{"shim_warped", casting, must, "a bowed casting is shimmed on the chuck",
      "Is a bowed raw casting shimmed before the magnet pulls it flat?",
      "a magnet pulls a bowed casting flat, it is ground flat and springs back when it is let go", common,
      "shim the gaps that a feeler finds before switching the magnet on; grind the other side, turn, grind again"},
     shim_warped},
    {{"raw_datum_once", route, must, "a raw surface locates once",
      "Does every raw surface locate in one operation only?",
      "a raw surface never sits twice in the same place: what is cut from it twice does not agree", common,
      "cut a surface in the first clamping and locate the next one on it"},
     raw_datum_once},
    {{"made_before_used", route, must, "what locates is there",
      "Has every hole or cut face that locates been made by then?",
      "a pin needs its hole: the order of the route is the order of the datums", common,
      "make the hole or face in an earlier operation"},
     made_before_used},
    {{"next_datum_made", route, must, "each operation makes the next one's datum",
      "Does every operation after the first sit on something that was cut before?",
      "an operation that starts from raw surfaces again throws away what the earlier ones agreed on", common,
      "cut a face in the operation before, and sit on it"},
     next_datum_made},
    {{"agree_in_one_clamping", route, should, "what must agree is cut in one clamping",
      "Are features that must agree closely cut in one clamping, or is one the datum of the other?",
      "every clamping adds its own error of place", common,
      "finish both in one clamping, or sit on the one to cut the other"},
     agree_in_one_clamping},
    {{"finish_after_skin", route, must, "critical features are finished after the last skin is off",
      "Is everything critical finished after the last rough cut through cast skin?",
      "the skin holds stress: iron moves when it comes off, and takes finished bores along", common,
      "leave stock on it and finish it after the last such cut"},
     finish_after_skin},
    {{"critical_bore_last", route, should, "a critical bore is finished after the heavy cuts",
      "Are critical bores finished after all rough cuts, those from the solid too?",
      "roughing moves, warms and shakes the part, and its clamping was set for it", common,
      "rough everything first, let the part cool, then finish the bore"},
     critical_bore_last},
    {{"threads_never_locate", route, must, "threads never locate", "Does nothing locate in a threaded hole?",
      "a thread has play, burrs and no true axis", common, "locate in a reamed hole or on a face"},
     threads_never_locate},
    {{"hole_before_tap", cuts, must, "a hole is drilled before it is tapped, reamed or finish-bored",
      "Is there a hole before a tap, a reamer or a finishing bar goes in?",
      "taps, reamers and finishing bars cut only at their rim", common, "drill or rough-bore it first"},
     hole_before_tap},
    {{"exit_edge", cuts, should, "edges are broken before a tool leaves over them",
      "Does no mill leave grey iron over a sharp finished edge?",
      "grey iron has no stretch: the last bit of the edge breaks out instead of being cut", common,
      "chamfer the edge first, enter from it, roll out, or leave stock there that is cut later"},
     exit_edge},
    {{"no_form_tap", cuts, must, "no form taps in grey iron", "Are threads in grey iron cut or milled, not formed?",
      "a form tap squeezes metal aside; grey iron does not flow, it cracks",
      "read: S. Woods, Chuck the chips, Cutting Tool Engineering, March 2013: brittle metals such as cast iron do not "
      "flow",
      "take a cutting tap or a thread mill"},
     no_form_tap},
    {{"swarf_from_bore", cuts, should, "swarf does not fall through finished bores",
      "Is nothing cut above a bore after it is finished?",
      "iron fines are abrasive: they score a finished bore and wedge under the gauge", common,
      "finish the bore after what is above it, or plug it"},
     swarf_from_bore},
    {{"one_round_pin", seats, must, "two round pins are refused", "Is there at most one full round pin in a clamping?",
      "two round pins fight over the distance between the holes: the part does not go on, or sits bent", common,
      "relieve one of them, across the line that joins them"},
     one_round_pin},
    {{"pins_short", seats, should, "pins are no longer than lifts off",
      "Can one end of the part be lifted without binding on the pins, or is it lifted evenly?",
      "a long straight land locks like a drawer when the part is lifted at one end",
      "land h binds above sqrt(L c), "
      "geometry of a tilted part on two pins, derived in calc/locating",
      "shorten the land, add a lead, or lift it off evenly with a jack screw"},
     pins_short},
    {{"shoulder_short", seats, must, "a shoulder screw's shoulder is shorter than what it clamps",
      "Is every shoulder shorter than the least thickness under the head?",
      "a shoulder that reaches the plate before the head reaches the part clamps nothing", common,
      "a shorter shoulder, or a cap screw"},
     shoulder_short},
    {{"clamp_over_support", seats, should, "clamps press over supports", "Is there a rest or pad under every clamp?",
      "a clamp over air bends the part: it is cut bent and springs back", common,
      "put a pad under it, or move the clamp over one"},
     clamp_over_support},
    {{"clean_seats", seats, must, "seats are cleaned at every loading", "Are seats cleaned at every loading?",
      "one chip of 0.05 mm under a seat tilts the part: it is scrap, and nobody sees why", common,
      "blow off and wipe seats and part at every loading; say so in the plan"},
     clean_seats},
    {{"burr_free_seat", seats, must, "a face is deburred before the part sits on it",
      "Are the burrs of a cut face gone before the part sits on it?",
      "a burr lifts the part like a chip does, and is there every time", common,
      "chamfer the edges in the same clamping, or deburr before the next one"},
     burr_free_seat},
    {{"fines_cement", seats, should, "no closed slots without fall", "Can iron fines leave the troughs of the pallet?",
      "iron fines settle in closed slots, rust and cement: the trough is full when it is needed", common,
      "open the end, give it fall, or wash it out at every swap"},
     fines_cement},
    {{"burrs_removed", after, must, "somebody removes the burrs", "Does somebody remove the burrs after the last cut?",
      "burrs on hidden edges, where holes meet, come off in the customer's hands or oil", common,
      "an operation that deburrs, with the hidden edges named and who does it"},
     burrs_removed},
    {{"pores_early", after, should, "pores are looked for before the money is spent",
      "Does somebody look for pores before most of the work is spent?",
      "pores show in the last groove, after all the money is spent", common,
      "open the sealing faces early and look there, at the machine, before the rest is cut"},
     pores_early},
    {{"rust_clock", after, must, "bare iron is oiled before it rusts", "Is wet bare iron oiled within hours?",
      "bare machined iron rusts within hours in wet air or old coolant", common,
      "oil after every wet operation, or make lots smaller than a half shift"},
     rust_clock},
    {{"demagnetise", after, must, "parts leave a magnetic chuck demagnetised",
      "Is the part demagnetised after a magnetic chuck?",
      "what is left of the magnet holds fines on seats, in bores and on gauges", common,
      "demagnetise each part before it goes on (asked of a grinder: below 3 gauss)"},
     demagnetise},
    {{"flat_off_chuck", after, should, "flatness is measured off the chuck",
      "Is the flatness of a ground face measured after the magnet lets go?", "on the chuck every face is flat", common,
      "measure it lying free, on three points"},
     flat_off_chuck},
    {{"warm_gauging", after, should, "warm iron is not gauged with a cold ring",
      "Does a fine size reach gauge temperature before it is measured?",
      "22 mm of iron that is 6 K warm reads 1.4 µm large",
      "growth = expansion x size x warmth; common practice: at most "
      "a tenth of a tolerance",
      "let it soak beside the gauge and its ring, or correct the reading by the part's temperature"},
     warm_gauging},
    {{"hone_last", after, should, "the hone comes last", "Is nothing clamped and cut after the hone?",
      "clamping moves a honed bore and swarf scores it", common, "hone after all clamping and washing"},
     hone_last},
    {{"single_block", prove_out, must, "the first nest is proved out in single block",
      "Is the first nest run in single block, with a stop after it, at prove-out?",
      "a wrong zero or height is found with one part and a hand on the feed, or with a full pallet and a crash", common,
      "say so in the plan: first nest single block, rapid down, stop before the second"},
     single_block},
};

constexpr std::size_t count = std::size(entries);

constexpr std::array<Rule, count> listed = [] {
  std::array<Rule, count> out{};
  for (std::size_t i = 0; i < count; ++i) out[i] = entries[i].rule;
  return out;
}();

constexpr FactWord asked[] = {
    {"iron", "which iron it is"},
    {"skin", "depth of the cast skin"},
    {"start", "what is there before the first cut: skin, cored or solid"},
    {"least_stock", "raw size and its tolerance, so that the least stock is known"},
    {"leaves", "stock that the cut leaves for a later one"},
    {"hardest", "hardness at corners and thin places"},
    {"edge_wall", "distance from the thread to the raw edge of the casting"},
    {"gates", "where the gates stand"},
    {"parting", "height of the parting line"},
    {"contact_at", "where it touches"},
    {"warp", "bow of the castings"},
    {"magnetic", "whether a magnet holds the part"},
    {"shims", "whether gaps under the casting are shimmed"},
    {"contacts", "what the part sits on"},
    {"critical", "which features the part lives or dies by"},
    {"features", "what the cut makes"},
    {"made_in", "which operation makes it"},
    {"forms", "whether the tap cuts or forms"},
    {"pass", "which pass it is"},
    {"drains", "where it lies, and which way is up when it is cut"},
    {"tolerance", "limits of the size that is gauged"},
    {"pin_height", "height of the cylindrical land of the pin"},
    {"pin_clearance", "limits of pin and hole"},
    {"pin_span", "distance between the pins"},
    {"grip", "thickness of what the screw clamps"},
    {"thickness", "thickness of the part under the clamp"},
    {"cleans_seats", "whether seats are cleaned at every loading"},
    {"deburrs", "whether the part is deburred here"},
    {"closed_end", "whether the trough is closed behind the bore"},
    {"slope", "fall of the trough"},
    {"looks_for_pores", "where somebody looks for pores"},
    {"part_time", "time of work on one part"},
    {"wet", "whether coolant or water comes onto bare iron"},
    {"oils", "whether the part is oiled here"},
    {"lot_time", "how long a lot takes"},
    {"demagnetises", "whether the part is demagnetised"},
    {"gauges", "whether it is gauged here, lying free"},
    {"warm", "temperature of the part as it comes off the machine"},
    {"gauge_at", "temperature where it is gauged"},
    {"expansion", "thermal expansion of the part"},
    {"soaks", "whether it lies until it is as cold as the gauge"},
    {"single_block", "how the first nest is proved out"},
    {"at_once", "how many parts it holds at once"},
    {"lifts_evenly", "whether parts are lifted off evenly"},
};

}  // namespace

std::string_view word(Group g) {
  switch (g) {
    case Group::casting:
      return "casting";
    case Group::route:
      return "route";
    case Group::cuts:
      return "cuts";
    case Group::seats:
      return "seats";
    case Group::after:
      return "after machining";
    case Group::prove_out:
      return "prove-out";
  }
  return "";
}

std::string_view word(Verdict v) {
  switch (v) {
    case Verdict::kept:
      return "kept";
    case Verdict::broken:
      return "broken";
    case Verdict::open:
      return "open";
    case Verdict::not_applicable:
      return "not applicable";
  }
  return "";
}

std::span<const Rule> rules() { return listed; }
std::span<const FactWord> facts_asked() { return asked; }

const Rule* find_rule(std::string_view id) {
  const auto it = std::find_if(listed.begin(), listed.end(), [&](const Rule& r) { return r.id == id; });
  return it == listed.end() ? nullptr : &*it;
}

Result judge(const Facts& facts) {
  const Route route(facts);
  Result out;
  for (const Entry& e : entries) {
    Hearing h;
    e.judge(route, h);
    out.answers.push_back(h.close(e.rule));
  }
  return out;
}

Answer judge(const Facts& facts, std::string_view rule) {
  for (const Entry& e : entries) {
    if (e.rule.id != rule) continue;
    Hearing h;
    e.judge(Route(facts), h);
    return h.close(e.rule);
  }
  Answer a;
  a.rule = std::string(rule);
  a.sentence = "no such rule";
  return a;
}

}  // namespace fettle::practice
