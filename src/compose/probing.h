#pragma once
// Probing blocks: zeros again from two pins of a pallet, and the shift of one casting.
#include <string>
#include <vector>

#include "base/outcome.h"
#include "compose/set_up.h"
#include "compose/steps.h"

namespace fettle::compose {

struct Probing {
  int tool = 0;
  std::string name;
  double ball = 0;  // m, diameter of the ball; 0 not known
};

/// Parameters that the probing blocks of this operation need, behind those of the program.
void add_probe_parameters(const plan::Plan& plan, const plan::Operation& operation, const SetUp& set_up,
                          std::vector<Parameter>& parameters);

/// Two pins on each pallet on the table, four touches each: where the pallet stands, how far it is turned and how much
/// it has grown; the zero of each of its nests is written anew. The plan has no place for such pins: it is a parameter.
/// Problems: no diameter of the ball.
Outcome<Steps> probe_pins(const plan::Plan& plan, const SetUp& set_up, const Probing& probe);

/// Each casting: both raw ends give the middle of the outside; the core, where it opens towards the spindle, by four
/// touches, else as measured beforehand and typed in. The zero follows the core as far as the plan's shift allows; a
/// casting that does not clean up then is named, and left out. `notes` takes what a person must know.
Outcome<Steps> probe_castings(const plan::Plan& plan, const plan::Operation& operation, const SetUp& set_up,
                              const Probing& probe, std::vector<std::string>& notes);

}  // namespace fettle::compose
