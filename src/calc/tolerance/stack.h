#pragma once
// One-dimensional stacks: a gap, height or length as a signed sum of dimensions. What it can be at worst, what it is
// likely to be, who spreads it, and how tolerances may be shared out so that it holds. See README.md, "Stacks".
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "maths/statistics.h"

namespace fettle::tolerance {

/// One dimension of the stack. Any length unit, the same for all (SI inside this program).
struct StackTerm {
  std::string name;
  double sign = 1;       ///< what one unit of it adds to the sum: +1, -1, or any factor
  double nominal = 0;    ///< middle of its limits
  double tolerance = 0;  ///< half width of its limits, >= 0
  enum class Spread { normal, uniform } spread = Spread::normal;
  double sigmas = 3;   ///< normal: the tolerance is this many standard deviations
  double shift = 0;    ///< its real mean minus its nominal, where known
  double wander = 0;   ///< 0..1: the mean may wander by this share of the tolerance (0: it stays, 1: worst case)
  bool fixed = false;  ///< bought in: its tolerance is not ours to change
};
struct StackInputs {
  std::vector<StackTerm> terms;
  std::optional<double> lower, upper;  ///< limits of the sum
  long long samples = 0;               ///< Monte Carlo: 0 none
  std::uint64_t seed = 1;
  double confidence = 0.95;
};

/// What one term does to the sum.
struct StackShare {
  std::string name;
  double s = 0;         ///< its standard deviation
  double reach = 0;     ///< |sign| tolerance: what it takes of the worst case
  double variance = 0;  ///< its share of the variance, 0..1
};
/// A share with the bound of its numerical error.
struct ExactShare {
  double share = 0, error = 0;
};
struct StackResult {
  double nominal = 0, mean = 0;               ///< the mean carries the shifts
  double worst_low = 0, worst_high = 0;       ///< every term at its bad limit
  double worst = 0;                           ///< half of that width
  double rss = 0;                             ///< root of the sum of squares of the tolerances
  double wandering = 0;                       ///< sum of what wanders + root sum square of the rest
  double s = 0;                               ///< standard deviation of the sum
  std::vector<StackShare> shares;             ///< in the order of the terms
  ExactShare below, above;                    ///< shares outside the limits, from the true distribution of the sum
  double normal_below = 0, normal_above = 0;  ///< the same if the sum were normal
  long long sampled_outside = 0;              ///< of `samples`
  maths::Interval sampled;                    ///< interval of the share outside (Clopper and Pearson)
};
/// Worst case, root sum square, exact shares outside. Problems: every bad term at once (not a number, negative
/// tolerance, no sigmas, wander outside 0..1), limits crossed, no term.
Outcome<StackResult> stack(const StackInputs& inputs);

/// Share of the sum below x for sums of uniform and normal terms; the larger of two independent ways' accuracy is used:
/// the finite formula (Irwin and Hall, with a normal part smoothed in) where it loses no digits, else the inversion of
/// the characteristic function (Gil-Pelaez 1951; step and cut-off after Davies 1973). `error` bounds what is left.
ExactShare share_below(const std::vector<StackTerm>& terms, double x);
/// The two ways by themselves, for the tests; the first gives an infinite error where it has too many terms.
ExactShare share_below_by_formula(const std::vector<StackTerm>& terms, double x);
ExactShare share_below_by_inversion(const std::vector<StackTerm>& terms, double x);

/// How tolerances add up in an allocation.
enum class Adding { worst_case, root_sum_square };
/// Multiplies every tolerance that is not fixed by the same factor until the stack holds `target` (half width).
struct ScaledStack {
  double factor = 0;
  std::vector<double> tolerances;  ///< in the order of the terms
};
/// Problems: those of the terms; the fixed terms alone use up the target; nothing to scale.
Outcome<ScaledStack> allocate_in_proportion(const std::vector<StackTerm>& terms, double target, Adding adding);

/// Cost of a tolerance: base + scale / t^power.
struct ToleranceCost {
  double base = 0, scale = 0, power = 1;  ///< scale > 0, power > 0; ignored for fixed terms
  double least = 0;                       ///< smallest tolerance the process holds (0: none)
  double most = 0;                        ///< largest tolerance worth having (0: none)
};
struct CheapestStack {
  std::vector<double> tolerances;  ///< in the order of the terms
  double cost = 0;
  double price = 0;     ///< what one more unit of target (root sum square: of its square) would save
  double residual = 0;  ///< largest relative violation of the conditions of the optimum; checked, < 1e-9
};
/// Cheapest tolerances that still hold `target`. Convex, so the conditions of Karush, Kuhn and Tucker prove the answer.
/// Source: Chase and Greenwood 1988 (Lagrange multipliers). Problems: those of the terms and costs; not even the
/// smallest tolerances hold the target; fixed terms use it up.
Outcome<CheapestStack> allocate_cheapest(const std::vector<StackTerm>& terms, const std::vector<ToleranceCost>& costs,
                                         double target, Adding adding);

}  // namespace fettle::tolerance
