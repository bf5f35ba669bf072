#pragma once
// Hours a week on each machine of a shop, summed over all plans that use it.
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "calc/timing/hours.h"
#include "plan/plan.h"
#include "study/study.h"

namespace fettle::study {

struct ShopPlan {
  std::string name;     ///< of the plan
  double per_week = 0;  ///< good parts
  double good_share = 1;
  std::optional<double> hone_share;  ///< of the parts, where the plan hones
  std::string hone_source;
  std::vector<std::string> missing;  ///< its hours are not all counted while something is missing
};
struct ShopLoad {
  std::string shop;  ///< name of the shop, or its file
  std::vector<ShopPlan> plans;
  std::vector<timing::MachineHours> machines;
  timing::PeopleHours people;
  double people_there = 0;           ///< s a week
  std::vector<std::string> missing;  ///< of the shop itself
  bool over = false;                 ///< some machine, or the people, need more than is there
  bool open = false;                 ///< something that is needed is missing
  std::string sentence;
};

/// All plans must stand on one shop (machines are told apart by id and compared by what is said of them): a plan with
/// other machines of the same name is a problem, and so is a list without plans. What is there a week comes from the
/// first plan that says it; plans that say something else are a problem too.
/// `weeks`: of each plan, as its study counts it.
Outcome<ShopLoad> shop_load(const std::vector<const plan::Plan*>& plans, const std::vector<CountedWeek>& weeks);
/// The week of a plan by the steps of its study that the week stands on: what is lost, what is honed, the times.
Outcome<CountedWeek> count_week(const plan::Plan& plan, const Data& data, const Options& options, Memo& memo);

}  // namespace fettle::study
