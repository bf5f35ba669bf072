#pragma once
// One machine, pallet sets that swap, one person: the cycle, who waits for whom, and what that leaves. Closed form.
#include <string_view>

#include "base/outcome.h"

namespace fettle::timing {

struct CycleInputs {
  int parts = 1;            ///< in one set
  int sets = 2;             ///< 1: the machine stands while its only set is loaded
  double machine = 0;       ///< s, one set: cutting, changes, moves, probing
  double cutting = 0;       ///< s of it in the cut
  double load = 0;          ///< s, one set by hand: unload, clean, load
  double load_scatter = 0;  ///< s, one standard deviation of that
  double swap = 0;          ///< s, spindle to spindle
  double swap_by_hand = 0;  ///< s of the swap, or beside it, that ties the person
  double other_work = 0;    ///< s a cycle of that person's work elsewhere (gauging, deburring), done while it cuts
};
enum class Waits { nobody, spindle, person };
std::string_view word(Waits waits);

struct CycleResult {
  double cycle = 0;            ///< s, start of cut to start of cut, at mean times
  double cycle_scattered = 0;  ///< s, mean when loading scatters: the slow sets cost more than the quick ones bring
  double spindle_waits = 0;    ///< s a cycle that the spindle stands waiting for the person, scatter included
  double idle = 0;             ///< s a cycle without machine time: swap and waiting
  double idle_share = 0;
  double spindle_use = 0;     ///< machine time over cycle
  double cutting_share = 0;   ///< time in the cut over cycle
  double person_use = 0;      ///< all of the person's work over cycle; above 1 it cannot be done
  double person_waits = 0;    ///< s a cycle left to the person
  double parts_per_hour = 0;  ///< with the scattered cycle, as long as all goes well
  Waits waits = Waits::nobody;
};
/// C = max(machine, load + other work) + swap for two sets and more; machine + load + other work + swap for one set.
/// With scatter the mean of the maximum (Clark 1961, one term fixed). More than two sets change nothing here: they only
/// let the person be late.
Outcome<CycleResult> cycle(const CycleInputs& in);

/// Machine time a set that makes loading just keep up: below it the person is what limits. s.
double machine_time_that_balances(const CycleInputs& in);

}  // namespace fettle::timing
