#include "calc/practice/change.h"

#include <algorithm>
#include <initializer_list>
#include <iterator>

namespace fettle::practice {

namespace {

using enum Changed;

constexpr Changed all[] = {grade, foundry,      pattern, size,    requirement, route, locating, clamping, pallet,
                           tool,  cutting_data, machine, program, gauge,       room,  people,   demand};

struct Row {
  bool approval = false;
  std::string_view what, again;
  std::initializer_list<Changed> by;
};

const Row rows[] = {
    {false, "lifting", "study again: what is lifted, how heavy, by whom", {grade, pattern, size, pallet, people}},
    {false, "raw sizes", "study again: what to order", {grade, foundry, pattern, size}},
    {false,
     "locating",
     "study again: does it sit and go on",
     {grade, size, requirement, route, locating, pallet, room}},
    {false, "castings", "study again: do they clean up", {grade, foundry, pattern, size, route, locating}},
    {false,
     "cutting",
     "study again: forces and power",
     {grade, foundry, pattern, size, route, tool, cutting_data, machine}},
    {false,
     "holding",
     "study again: does it slip",
     {grade, foundry, pattern, size, route, locating, clamping, pallet, tool, cutting_data, machine}},
    {false, "stiffness", "study again: what gives", {grade, size, locating, clamping, pallet, tool, machine}},
    {false,
     "chatter",
     "study again: does it sing",
     {grade, foundry, size, route, locating, clamping, pallet, tool, cutting_data, machine}},
    {false,
     "tolerances",
     "study again: what is outside",
     {grade, size, requirement, route, locating, clamping, pallet, tool, cutting_data, machine, room}},
    {false,
     "working dimensions",
     "study again: sizes of each operation",
     {size, requirement, route, locating, machine}},
    {false,
     "bores",
     "study again: where to aim, what to hone",
     {grade, size, requirement, route, tool, machine, gauge, room}},
    {false,
     "time and cost",
     "study again: parts an hour, price",
     {grade, foundry, pattern, size, route, locating, pallet, tool, cutting_data, machine, program, gauge, people,
      demand}},
    {false,
     "practice",
     "study again: the rules of the trade",
     {grade, foundry, pattern, size, requirement, route, locating, clamping, pallet, tool, cutting_data, room}},
    {true,
     "foundry sample",
     "ask for a new sample: sizes, hardness, a cut through skin and corner",
     {grade, foundry, pattern}},
    {true, "measured castings", "tape 12 castings again", {grade, foundry, pattern}},
    {true,
     "first article",
     "one part of every nest of every pallet, measured whole",
     {grade, pattern, size, requirement, route, locating, clamping, pallet, machine, program}},
    {true,
     "capability run",
     "30 parts over all nests, without adjusting",
     {grade, foundry, size, requirement, route, locating, clamping, pallet, tool, cutting_data, machine, gauge}},
    {true, "gauge study", "ten parts, the people who gauge, two trials", {requirement, gauge, people}},
    {true, "nests as measured", "measure pins and pads of every nest again", {locating, pallet}},
    {true,
     "prove-out",
     "first nest in single block again",
     {size, route, locating, clamping, pallet, tool, cutting_data, machine, program}},
    {true, "zeros and offsets", "set again, none carried over", {locating, pallet, tool, machine, program}},
    {true,
     "proven cutting data",
     "start again from what the study allows, first part watched and listened to",
     {grade, foundry, tool, machine}},
    {true,
     "load times",
     "stop ten parts again with the people who load",
     {size, route, locating, clamping, pallet, machine, people}},
    {true, "life of the edges", "count again from half the parts", {grade, foundry, tool, cutting_data}},
    {true, "recordings of tools and pallet", "tap again", {pallet, tool, machine}},
    {true,
     "control charts",
     "start afresh; old points stay visible and out of the limits",
     {grade, foundry, requirement, route, locating, clamping, pallet, tool, machine, gauge}},
    {true,
     "load sheet and torque",
     "print again, take the old one off the machine",
     {size, locating, clamping, pallet}},
    {true, "lifting card", "print again", {grade, pattern, size, pallet, people}},
    {true, "training", "show it to everybody who runs it", {route, clamping, pallet, machine, people}},
    {true,
     "customer's approval",
     "ask before shipping: many contracts want it told",
     {grade, foundry, size, requirement, route, machine}},
    {true, "price and promise", "quote again", {grade, foundry, pattern, size, route, cutting_data, machine, demand}},
};

}  // namespace

std::span<const Changed> all_changes() { return all; }

std::string_view word(Changed c) {
  constexpr std::string_view words[] = {"grade",    "foundry",  "pattern", "size",   "requirement",  "route",
                                        "locating", "clamping", "pallet",  "tool",   "cutting data", "machine",
                                        "program",  "gauge",    "room",    "people", "demand"};
  static_assert(std::size(words) == std::size(all));
  return words[static_cast<std::size_t>(c)];
}

std::optional<Changed> changed_of(std::string_view w) {
  for (Changed c : all)
    if (word(c) == w) return c;
  return std::nullopt;
}

Voided voided(std::span<const Changed> changes) {
  Voided out;
  for (const Row& r : rows) {
    Void v{r.approval, r.what, r.again, {}};
    for (Changed c : changes)
      if (std::find(r.by.begin(), r.by.end(), c) != r.by.end() &&
          std::find(v.because.begin(), v.because.end(), c) == v.because.end())
        v.because.push_back(c);
    if (v.because.empty()) out.stays.push_back(r.what);
    else out.voided.push_back(std::move(v));
  }
  return out;
}

}  // namespace fettle::practice
