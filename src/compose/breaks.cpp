#include "compose/breaks.h"

#include <algorithm>
#include <cmath>

#include "study/plan_times.h"

namespace fettle::compose {

Outcome<BreakResult> break_costs(const BreakInputs& in) {
  if (!(in.chance >= 0 && in.chance <= 1)) return bad("the chance of a break lies between 0 and 1");
  if (in.parts < 1) return bad("at least one part");
  if (!(in.part_cost >= 0) || !(in.check_time >= 0) || !(in.hour >= 0) ||
      !std::isfinite(in.part_cost + in.check_time + in.hour))
    return bad("costs and times are not negative");
  const double n = in.parts, rest = 0.5 * (n + 1);  // parts lost in the set of the break, on average
  const double look = in.check_time / 3600 * in.hour;
  BreakResult r;
  r.no_check = n * in.chance * (rest + n) * in.part_cost;
  r.check_after = n * in.chance * rest * in.part_cost + look;
  r.check_each = n * in.chance * in.part_cost + n * look;
  return r;
}

BreakCheck break_check(const plan::Plan& plan, const plan::Operation& o, const plan::Tool* tool, int parts) {
  constexpr double look = 6;  // s: out, a touch or a beam, and back; from memory
  BreakCheck out;
  const plan::Machine* m = study::find_machine(plan, o.machine.value);
  if (tool == nullptr || m == nullptr || !m->rate.known() || !plan.casting.price.known() ||
      !tool->parts_per_edge.known() || tool->parts_per_edge.value < 1)
    return out;
  const std::string& k = tool->kind.value;
  const double share = k == "drill" || k == "tap" ? 0.10 : 0.05;
  // A part is worth its casting and the machine time put in so far; the casting alone is the least.
  const Outcome<BreakResult> r =
      break_costs({share / tool->parts_per_edge.value, parts, plan.casting.price.si, look, m->rate.si});
  if (!r.ok()) return out;
  const double least = std::min({r->no_check, r->check_after, r->check_each});
  if (least == r->check_each && r->check_each < r->no_check) out.each = true;
  else if (least == r->check_after && r->check_after < r->no_check) out.after = true;
  return out;
}

}  // namespace fettle::compose
