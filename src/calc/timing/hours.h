#pragma once
// Hours a week on each machine and of the people, over all plans of a shop, against what is there.
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"

namespace fettle::timing {

/// One operation of one plan on one machine (or done by people: machine empty).
struct OperationLoad {
  std::string operation, machine;
  std::string set_up;           ///< operations with one set-up follow one another without a change-over
  double machine_per_part = 0;  ///< s the machine is taken, per part started there
  double person_per_part = 0;   ///< s of a person
  double parts_per_week = 0;    ///< started there
  double lot = 0;               ///< parts between change-overs; 0: not known
};
struct PlanLoad {
  std::string plan;
  std::vector<OperationLoad> operations;
};
/// What there is.
struct MachineThere {
  std::string machine;
  double hours = 0;                   ///< s a week it can be used
  std::optional<double> change_over;  ///< s
};

struct PlanHours {
  std::string plan;
  double running = 0;   ///< s a week
  double changing = 0;  ///< s a week
  double total() const { return running + changing; }
};
struct MachineHours {
  std::string machine;
  double hours = 0, there = 0;       ///< s a week
  double changing = 0;               ///< s of `hours`
  double changes = 0;                ///< change-overs a week
  int set_ups = 0;                   ///< different ones
  std::vector<PlanHours> plans;      ///< in the order given, those that use it
  std::vector<std::string> missing;  ///< what is not known although the machine is changed over
  double use() const { return there > 0 ? hours / there : hours > 0 ? 1e9 : 0; }
};
/// A machine with one set-up is never changed over. With more, each set-up is set up once for every lot of its parts.
/// The machines come in the order of `there`; one that no plan uses is listed with zero hours. Problems: a machine that
/// is not there, a negative number.
Outcome<std::vector<MachineHours>> machine_load(const std::vector<PlanLoad>& plans,
                                                const std::vector<MachineThere>& there);

/// s a week of people over all plans: by hand, and while change-overs tie them.
struct PeopleHours {
  double by_hand = 0, changing = 0;
  std::vector<PlanHours> plans;
};
PeopleHours people_load(const std::vector<PlanLoad>& plans, const std::vector<MachineHours>& machines);

}  // namespace fettle::timing
