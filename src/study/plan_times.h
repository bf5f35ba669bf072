#pragma once
// How long the operations of a plan take, in closed form. Pure on the plan and well under a millisecond, so that levers
// and curves may ask again and again.
#include <optional>
#include <string>
#include <vector>

#include "calc/timing/edges.h"
#include "calc/timing/hours.h"
#include "calc/timing/operation_time.h"
#include "calc/timing/order.h"
#include "plan/plan.h"

namespace fettle::study {

/// Time of one tool of an operation as a program says it, or the caller of the study.
struct ToolProgram {
  int number = 0;       ///< as programs call it
  double per_part = 0;  ///< s: in the feed, dwelling, probing
  std::string source;
  std::string id;  ///< of the plan, where the caller gave it
};
/// What a program (whole) or the caller says of an operation's times.
struct OperationProgram {
  std::string operation;
  bool whole = false;  ///< a program of the whole operation: changes and ways are known too
  std::string source;
  double parts = 1;     ///< that one run makes
  int changes = 0;      ///< of tools, one run
  double moving = 0;    ///< s, one run: rapids and lines without motion
  double spindle = 0;   ///< s, one run: starting and stopping it
  bool probes = false;  ///< it probes itself: no probing time beside it
  double factor = 1;    ///< all its times but tool changes are multiplied by this
  std::vector<ToolProgram> tools;
};

/// One tool at work in an operation.
struct CutRow {
  std::string tool, name;  ///< id, and words
  timing::CutTime time;    ///< per part
  std::string source;      ///< where the time used comes from, when neither the plan nor its path says it
  std::optional<timing::EdgeResult> edge;
  bool wears = true;     ///< a probe does not
  bool counted = false;  ///< its edge counts here: not when an earlier operation on the machine has counted it
};

struct OperationTime {
  std::string id, kind, machine;  ///< machine: id, empty when none is named
  bool pallet = false;            ///< parts sit on pallets that swap
  bool bought = false;            ///< a price and no machine: done elsewhere
  int parts = 1;                  ///< held at once: on a pallet operation, one set
  int sets = 1;
  std::vector<CutRow> cuts;
  double cutting = 0;                            ///< s per part
  timing::OrderResult order;                     ///< tool changes; empty without cuts
  double move = 0;                               ///< s, from part to part
  bool move_worked_out = false;                  ///< from the machine's numbers, not stated
  std::string program;                           ///< source, where a program of the whole operation is counted
  timing::SetTime set;                           ///< machine time of one set
  double load = 0;                               ///< s by hand, one set: unload, clean, load
  double swap = 0, swap_by_hand = 0, probe = 0;  ///< s a cycle
  double machine_per_part = 0;                   ///< s the machine is taken
  double person_per_part = 0;                    ///< s of a person, gauging left out
  double bench_per_part = 0;                     ///< s of it away from a machine with a rate: paid on its own
  double gauging_per_part = 0;                   ///< s of a person after this operation
  double edge_changes_per_part = 0;              ///< how often an edge is changed
  double lot = 0;                                ///< parts between change-overs, 0: not said
  std::string set_up;                            ///< see timing::OperationLoad
  std::vector<std::string> missing;              ///< "operation.cut.time of T5 in OP20: ..."
  std::vector<std::string> edges_missing;        ///< of tools whose edges nobody knows; times do not need them
};

/// Share of the parts honed where neither readings nor people say it; common practice: the small ones.
constexpr double usual_hone_share = 0.2;

struct TimesOptions {
  int parts_on_set = 0;                  ///< instead of the pallet's own number; 0: as the plan says
  double hone_share = usual_hone_share;  ///< of the parts
  std::vector<OperationProgram> programs;
};
struct PlanTimes {
  std::vector<OperationTime> operations;  ///< in the plan's order
  const OperationTime* find(std::string_view id) const;
};
PlanTimes plan_times(const plan::Plan& plan, const TimesOptions& options = {});

/// Share of the parts that no [[loss]] takes; 1 without any.
double share_without_losses(const plan::Plan& plan);
/// For each operation, parts that come there for each good part at the end. Losses stand where the plan says they show;
/// what `good_share` asks for beyond them is found after the last operation.
std::vector<double> parts_per_good(const plan::Plan& plan, double good_share);

/// Hours a week of this plan, operation by operation, `edge_time` s an edge change included. Only operations whose
/// times are known count.
timing::PlanLoad plan_load(const plan::Plan& plan, const PlanTimes& times, double good_share, double edge_time);
/// The machines of the shop and what of them is there a week.
std::vector<timing::MachineThere> machines_there(const plan::Plan& plan);
/// s a week one machine or person can be used; nothing when the plan does not say.
std::optional<double> week_there(const plan::Plan& plan);

const plan::Machine* find_machine(const plan::Plan& plan, std::string_view id);
/// "EUR": the currency the plan speaks of; empty when it names no money.
std::string currency_of(const plan::Plan& plan);

}  // namespace fettle::study
