#pragma once
// A plan's shop as a cell for the simulation: what really comes out when everybody waits for everybody.
#include <optional>
#include <string>
#include <vector>

#include "calc/timing/simulate.h"
#include "plan/plan.h"
#include "study/internal.h"
#include "study/plan_times.h"

namespace fettle::study {

/// The cell of a plan: machines and benches of its operations, its people in one shift a day, losses where they show,
/// edges, batches and change-overs; castings are always there. `edge_time`: s an edge change. Machines stop at random
/// so that the plan's share of the shift is left (stops of 20 min in the mean). Weeks are simulated from the third on.
/// Nothing when an operation's time, the people or their hours are missing; `why` then says which.
std::optional<timing::SimulationInputs> cell_of_plan(const plan::Plan& plan, const PlanTimes& times, double hone_share,
                                                     double edge_time, std::vector<std::string>* why = nullptr);

/// What a spindle that does not cut waits for, in words: "machine B: no parts from OP20".
std::string words_of(const timing::WaitCause& cause);

/// Simulates the plan's week and puts what comes of it into the finding's inputs: good parts with their interval, what
/// spindles wait for, people's use, parts in process, what is cut with nobody there. Nothing when cell_of_plan gives
/// nothing.
void add_simulated_week(Context& c, finding::Finding& f, const PlanTimes& times, double hone_share, double edge_time);

}  // namespace fettle::study
