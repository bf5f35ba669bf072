#pragma once
// How the parts stand in the machine: which way up, where each nest is, what is how high.
#include <string>
#include <vector>

#include "base/outcome.h"
#include "plan/plan.h"

namespace fettle::compose {

/// One part (or one row of parts clamped in series) under one zero.
struct NestPlace {
  frame::Vec3 at;   // of its zero: on its pallet, or from the middle of the row
  double turn = 0;  // rad about Z
  int pallet = 0;   // on the table, from 0
  std::string words;
};

/// Program frame: Z to the spindle; X is the part's +X, or its +Y where X points up or down.
struct SetUp {
  frame::Pose X_NP;              // part to the frame of a nest's zero, turn 0
  std::vector<NestPlace> nests;  // all on the table at once, tool by tool over all of them
  int pallets = 0, sets = 1;     // pallets on the table; 0: none
  bool pallet = false;
  int in_series = 1;                                    // parts clamped one behind the other under one zero
  double series_pitch = 0;                              // m along Y of the program
  double top = 0;                                       // m, highest metal of a part as it comes here
  double heads = 0;                                     // m, top of screw heads, jaws; 0 none known
  double safe = 0;                                      // m, over everything that stands there
  double floor = 0;                                     // m, nothing may be cut below
  double low_x = 0, high_x = 0, low_y = 0, high_y = 0;  // finished part, from the zero
  std::vector<std::string> notes;                       // what was taken for want of a word
};

/// Problems: no operation of that name, no direction up, no nests.
Outcome<SetUp> set_up(const plan::Plan& plan, const plan::Operation& operation);

/// m beyond the finished surface `reference` that stands there before cut `cut` of `operation` (index; the number of
/// cuts: after all of them). Nothing where the plan does not say. A face cut over the surface before counts.
std::optional<double> stock_before(const plan::Plan& plan, const plan::Operation& operation, std::size_t cut,
                                   const std::string& reference);

/// True when `feature` is cut by an earlier operation, or by an earlier cut of this one.
bool made_before(const plan::Plan& plan, const plan::Operation& operation, std::size_t cut, const std::string& feature);

}  // namespace fettle::compose
