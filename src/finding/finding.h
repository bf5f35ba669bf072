#pragma once
// A finding: one number with its limit, its margin, where the formula comes from, and what would move it.
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "unit/quantity.h"

namespace fettle::finding {

/// The state of a finding. Order = how much it needs a hand.
enum class State {
  outside,  ///< outside its limit at the stated values
  tight,    ///< inside at the stated values, outside somewhere in the bands of what is assumed
  beyond,   ///< outside the range where the formula holds
  open,     ///< not computed: says what is missing; never shown as good
  inside    ///< inside even at the bad end of every assumed band
};
std::string_view word(State state);

/// What a value is held against. SI.
struct Limit {
  enum class Type { none, upper, lower, between, share } type = Type::none;
  double low = 0, high = 0;
  /// For a limit of zero: the amount asked for, by which the value is divided (see margin()).
  double asked = 0;
};
Limit upper(double limit);
Limit lower(double limit, double asked_if_zero = 0);
Limit between(double low, double high);
Limit share(double largest);  ///< share outside, 0..1

/// One plain number so that unlike things sort together: 0 at the limit, positive inside, 1 = the whole limit unused.
/// upper (L-x)/|L|; lower (x-L)/|L|; between: distance to the nearer limit over half the width; a limit of zero: the
/// distance over `asked` (must be > 0, else the plain distance); share: log10(limit/x)/3, at most 1. NaN in gives
/// NaN out.
double margin(double x, const Limit& limit);
/// True only when x is a number and within the limit (NaN is never inside).
bool within(double x, const Limit& limit);

/// An input of the formula as the person sees it.
struct Input {
  std::string name;  ///< trade word
  double si = 0;
  unit::Kind kind = unit::Kind::number;
  std::string text;  ///< used instead of the number when not empty
};

/// A number that nobody measured: stated value and band; filled by sensitivity().
struct Assumption {
  std::string name;                     ///< "friction, iron on aluminium, wet"
  std::string key;                      ///< where the plan would say it: "pallet.friction"
  double value = 0, low = 0, high = 0;  ///< SI
  unit::Kind kind = unit::Kind::number;
  std::string source;
  std::string replaced_by;  ///< the cheap measurement
  double margin_at_low = 0, margin_at_high = 0;
  bool flips = false;  ///< moving this one alone puts the finding outside
};

/// What would use the margin up, or bring it back: "torque 28 → 19 N·m before it slips".
struct Lever {
  std::string name;          ///< "torque"
  std::string key;           ///< plan key it moves
  double now = 0, flip = 0;  ///< SI; flip: the value at which the margin is zero (NaN: none in range)
  unit::Kind kind = unit::Kind::number;
  std::string text;  ///< the sentence
};

struct Finding {
  std::string id;  ///< operation.feature.question[.tool][.nest], "-" for a missing part; stable between versions
  std::string operation, feature, question, tool, nest;
  std::string title;     ///< "relieved pin goes on" — short, trade words
  std::string sentence;  ///< the whole thing said aloud
  State state = State::open;
  double value = 0;  ///< SI; NaN when open
  std::string text;  ///< printed instead of the number when not empty: "< 0.02 %" where none of many tries failed
  unit::Kind kind = unit::Kind::number;
  bool gauge = false;  ///< print to gauge resolution
  Limit limit;
  bool yes_no = false;              ///< a count that is right or wrong: its margin is +1 or -1, nothing between
  double margin = 0;                ///< NaN when open or beyond without value
  std::optional<double> low, high;  ///< value's confidence interval, where there is one
  std::string confidence;           ///< what low..high means ("95 %, 2000 castings")
  std::string formula;              ///< in words or symbols
  std::string source;               ///< publication, clause; or "common practice"; or "from memory: ..."
  std::vector<Input> inputs;
  std::vector<Assumption> assumptions;
  std::vector<Lever> levers;
  std::vector<std::string> missing;   ///< open: what to give, each "plan key: what"
  std::string range;                  ///< beyond: which range was left
  std::vector<std::string> cautions;  ///< safety words, where the work can hurt
  std::string worst;                  ///< flips which way: names the assumption that turns it, empty if none
};

/// Joins the parts of an id; empty parts become "-", trailing empties are left out.
std::string make_id(std::string_view operation, std::string_view feature, std::string_view question,
                    std::string_view tool = {}, std::string_view nest = {});

/// Fills state, margin and the assumptions' effect. `value_at(v)` gives the finding's value with the assumptions at v
/// (same order as finding.assumptions); it is called at the stated values, with each alone at both ends, and with all
/// together at their worst ends (by the sign each showed alone). A value that is not a number makes the state `beyond`,
/// never inside.
void judge(Finding& finding, const std::function<double(const std::vector<double>&)>& value_at);

/// Sorts: what needs a hand first (state, then margin, then id).
void sort_by_need(std::vector<Finding>& findings);

}  // namespace fettle::finding
