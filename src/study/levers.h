#pragma once
// What would move a finding, and what else would move with it: every number of the plan that people can change, and
// the structural changes (a feature cut in another operation, zero elsewhere, the other face ground last).
#include <optional>
#include <string>
#include <vector>

#include "study/study.h"

namespace fettle::study {

/// How much it takes to pull a lever; also the order in which equal gains are listed.
enum class Effort {
  setting,  ///< a number at the machine or in the program
  buying,   ///< something small: pins, a tool, a gauge, a measurement
  making,   ///< a new pallet, another pattern, another machine
  route     ///< the route itself: another operation, datum or zero
};
std::string_view word(Effort effort);

/// One change of the plan, worked out.
struct LeverRow {
  std::string name;      ///< trade words: "round pin's diameter"
  std::string key;       ///< plan key, "pallet.pin round.diameter"
  std::string from, to;  ///< as a person would type them
  Effort effort = Effort::setting;
  bool structural = false;
  std::optional<double> cost_change;  ///< money a good part, where the plan says enough
  std::vector<Moved> moved;           ///< every finding that it moves, the wanted one first, then by how much
  double gain = 0;                    ///< margin of the wanted finding, or sum over what needs a hand
  bool mends = false;                 ///< the wanted finding (or one that is outside) comes inside
  std::string inside_from;  ///< number levers: the value from which the wanted finding is inside; may be empty
  bool breaks = false;      ///< another one goes outside
};

struct LeverOptions {
  std::string finding;  ///< id; empty: all findings that are outside or tight
  int threads = 1;
  bool whole = false;  ///< a whole study for every change, also of the steps that do not read it
  std::function<bool()> stop;
  std::function<bool(const LeverRow&)> wanted;  ///< only changes it says yes to, by name, key and values; empty: all
};
struct Levers {
  Study base;                  ///< the plan as it is, without drawing
  std::string finding;         ///< id asked for; empty: all
  std::vector<LeverRow> rows;  ///< what moves the finding, best first: mends, gain against cost and effort
  std::string currency;        ///< of LeverRow::cost_change
  int tried = 0;
};

/// Tries them all on a study without drawing (linear theory for the shares). Problems: those of the study itself; a
/// finding that the plan does not have (with the nearest).
Outcome<Levers> levers(const plan::Plan& plan, const Data& data, const LeverOptions& options, Memo& memo);

/// The plan with that lever pulled; none when the plan has no such lever (any more).
std::optional<plan::Plan> with_lever(const plan::Plan& plan, const LeverRow& row);

}  // namespace fettle::study
