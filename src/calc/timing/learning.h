#pragma once
// The learning curve: each doubling of the parts made leaves the same share of the time (Wright 1936).
#include "base/outcome.h"

namespace fettle::timing {

/// Time of part n over that of the first: n^(log2 rate). rate 0.5..1, n at least 1.
Outcome<double> learning_factor(double n, double rate);
/// Sum of the first n factors, exact by adding up; n up to ten million.
Outcome<double> learning_total(int n, double rate);

struct NewOperator {
  double parts = 0;  ///< until one part takes the standard time
  double time = 0;   ///< s at work until then
  double days = 0;   ///< shifts
  double lost = 0;   ///< s more than the standard time for the same parts
};
/// A new operator whose first part takes `first` times the standard time `standard` s, in shifts of `shift` s. At a
/// rate of 1 nobody learns: with a first part above standard that is a problem.
Outcome<NewOperator> new_operator(double first, double rate, double standard, double shift);

}  // namespace fettle::timing
