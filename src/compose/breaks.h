#pragma once
// Where looking for a broken tool pays.
#include "base/outcome.h"
#include "plan/plan.h"

namespace fettle::compose {

struct BreakInputs {
  double chance = 0;      // that the tool breaks in one part
  int parts = 1;          // cut one after the other before anybody looks again
  double part_cost = 0;   // what one part is worth when it is lost here
  double check_time = 0;  // s
  double hour = 0;        // cost of a machine hour, same money
};
struct BreakResult {
  double no_check = 0;     // expected loss a set, money
  double check_after = 0;  // one look after all parts: what it finds is one set late at most, and its cost
  double check_each = 0;   // a look after each part, and its cost
};
/// Expected money a set of `parts`. A break at part k of n without a look: that part and all after it in this set and
/// the whole next set are lost before somebody sees it; with a look after the set: those after it in this set; with a
/// look after each part: that part alone. First order in `chance`. Problems: chance outside 0 to 1, no parts, negative
/// costs or times. Source: expected values, job practice.
Outcome<BreakResult> break_costs(const BreakInputs& in);

struct BreakCheck {
  bool after = false, each = false;
};
/// The cheapest of the three for this tool. Chance: from memory, one edge in twenty ends by breaking, and drills and
/// taps one in ten; nothing where the plan lacks a price of the part, a rate of the machine, or the parts an edge
/// lasts.
BreakCheck break_check(const plan::Plan& plan, const plan::Operation& operation, const plan::Tool* tool, int parts);

}  // namespace fettle::compose
