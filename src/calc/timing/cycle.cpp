#include "calc/timing/cycle.h"

#include <algorithm>
#include <cmath>

#include "calc/timing/check.h"
#include "maths/statistics.h"

namespace fettle::timing {

namespace {
constexpr double pi = 3.14159265358979323846;

/// Mean of max(fixed, X) - fixed for X normal (mean, s).
double mean_excess(double mean, double s, double fixed) {
  if (s <= 0) return std::max(0.0, mean - fixed);
  const double z = (mean - fixed) / s;
  return (mean - fixed) * maths::normal_cdf(z) + s * std::exp(-0.5 * z * z) / std::sqrt(2 * pi);
}
}  // namespace

std::string_view word(Waits w) {
  switch (w) {
    case Waits::nobody:
      return "nobody waits";
    case Waits::spindle:
      return "the spindle waits for the person";
    case Waits::person:
      return "the person waits for the spindle";
  }
  return "";
}

double machine_time_that_balances(const CycleInputs& in) { return in.load + in.other_work; }

Outcome<CycleResult> cycle(const CycleInputs& in) {
  Check check;
  check.at_least("parts", in.parts, 1);
  check.at_least("sets", in.sets, 1);
  check.more_than("machine time", in.machine, 0);
  check.between("cutting time", in.cutting, 0, in.machine);
  check.at_least("loading", in.load, 0);
  check.at_least("scatter of loading", in.load_scatter, 0);
  check.at_least("swap", in.swap, 0);
  check.at_least("work by hand in the swap", in.swap_by_hand, 0);
  check.at_least("other work", in.other_work, 0);
  if (!check.problems.empty()) return check.problems;
  const double hands = in.load + in.other_work;
  CycleResult r;
  const bool one = in.sets == 1;
  r.cycle = one ? in.machine + hands + in.swap : std::max(in.machine, hands) + in.swap;
  r.spindle_waits = one ? hands : mean_excess(hands, in.load_scatter, in.machine);
  r.cycle_scattered = in.machine + r.spindle_waits + in.swap;
  r.idle = in.swap + r.spindle_waits;
  r.idle_share = r.idle / r.cycle_scattered;
  r.spindle_use = in.machine / r.cycle_scattered;
  r.cutting_share = in.cutting / r.cycle_scattered;
  r.person_use = (hands + in.swap_by_hand) / r.cycle_scattered;
  r.person_waits = std::max(0.0, r.cycle_scattered - hands - in.swap_by_hand);
  r.parts_per_hour = in.parts / r.cycle_scattered * 3600;
  if (one || hands > in.machine) r.waits = Waits::spindle;
  else r.waits = in.machine > hands ? Waits::person : Waits::nobody;
  return r;
}

}  // namespace fettle::timing
