#pragma once
// A small dense linear program: best c.x for bounded x under rows a.x <= b, a.x = b, a.x >= b. Meant for tens of
// columns and up to some thousands of rows. Plain doubles, fixed order of every sum, no library: the same bytes on
// every machine. Whatever the search says is checked again from the data as given (residual of the rows, signs of the
// reduced costs, gap of the dual; for "no solution" the proof itself): an answer that fails its check is never
// `optimal`. Method: bounded primal simplex on a dictionary (Dantzig 1963; Chvatal 1983, chapter 8), Bland's rule when
// it stalls.
#include <limits>
#include <string>
#include <vector>

namespace fettle::maths {

struct LinearRow {
  enum class Sense { at_most, equal, at_least };
  std::vector<double> a;  ///< one coefficient per column
  Sense sense = Sense::at_most;
  double b = 0;
};

struct LinearProgram {
  static constexpr double infinity = std::numeric_limits<double>::infinity();
  bool maximise = false;
  std::vector<double> cost;   ///< one per column
  std::vector<double> lower;  ///< one per column, may be -infinity; empty: all 0
  std::vector<double> upper;  ///< one per column, may be +infinity; empty: none
  std::vector<LinearRow> rows;
};

struct LinearAnswer {
  enum class Status {
    not_run,     ///< nothing was computed
    optimal,     ///< best answer, checked
    infeasible,  ///< no x meets rows and bounds; `row_price` proves it, checked
    unbounded,   ///< the cost has no end; `x` is a feasible point, `ray` a direction, checked
    refused,     ///< sizes differ, a number is not finite, or a lower bound is above its upper one
    failed       ///< the check of the answer failed or the search did not end: do not use
  };
  Status status = Status::not_run;
  std::string why;  ///< for refused and failed
  double objective = 0;
  std::vector<double> x;
  /// optimal: change of the objective per unit of b. infeasible: multipliers y such that y.(A x) cannot reach what the
  /// rows ask for any x within its bounds.
  std::vector<double> row_price;
  /// optimal: change of the objective per unit of a column's active bound (0 for columns between their bounds).
  std::vector<double> reduced_cost;
  std::vector<double> ray;
  double primal_residual = 0;  ///< largest violation of a row or bound, in the row's own unit
  double dual_residual = 0;    ///< largest wrong sign of a price or reduced cost
  double gap = 0;              ///< |objective - dual objective| (infeasible: how far the proof clears, > 0)
  int pivots = 0;
  bool ok() const { return status == Status::optimal; }
};

/// Solves the program. Residuals are held to 1e-9 of the size of the numbers in the row.
LinearAnswer solve(const LinearProgram& program);

}  // namespace fettle::maths
