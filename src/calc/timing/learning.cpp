#include "calc/timing/learning.h"

#include <cmath>

#include "calc/timing/check.h"

namespace fettle::timing {

namespace {
double factor(double n, double rate) { return std::pow(n, std::log2(rate)); }

/// Sum of the first n factors: added up for the first thousand, then by Euler and Maclaurin (error below 1e-12 of it).
double total(double n, double rate) {
  const double b = std::log2(rate);
  const double whole = std::min(n, 1000.0);
  double sum = 0;
  for (int i = 1; i <= static_cast<int>(whole); ++i) sum += factor(i, rate);
  if (n <= 1000) return sum;
  const double m = 1000;
  const double integral = b == -1 ? std::log(n / m) : (std::pow(n, b + 1) - std::pow(m, b + 1)) / (b + 1);
  return sum + integral + 0.5 * (factor(n, rate) - factor(m, rate)) +
         b / 12 * (std::pow(n, b - 1) - std::pow(m, b - 1));
}
}  // namespace

Outcome<double> learning_factor(double n, double rate) {
  Check check;
  check.at_least("part number", n, 1);
  check.between("learning", rate, 0.5, 1);
  if (!check.problems.empty()) return check.problems;
  return factor(n, rate);
}

Outcome<double> learning_total(int n, double rate) {
  Check check;
  check.between("number of parts", n, 1, 1e7);
  check.between("learning", rate, 0.5, 1);
  if (!check.problems.empty()) return check.problems;
  return total(n, rate);
}

Outcome<NewOperator> new_operator(double first, double rate, double standard, double shift) {
  Check check;
  check.between("first part over standard", first, 1, 100);
  check.between("learning", rate, 0.5, 1);
  check.more_than("standard time", standard, 0);
  check.more_than("shift", shift, 0);
  if (!check.problems.empty()) return check.problems;
  NewOperator r;
  if (first > 1 && !(rate < 1)) return bad("nobody learns at a rate of 1", base::shortest(rate), "less than 1");
  if (first <= 1) return r;
  r.parts = std::pow(first, -1 / std::log2(rate));
  if (!(r.parts <= 1e7))
    return bad("standard time is not reached in ten million parts", base::shortest(rate), "a lower rate");
  const double whole = std::max(1.0, std::floor(r.parts));
  r.time = standard * first * total(whole, rate);
  r.days = r.time / shift;
  r.lost = r.time - standard * whole;
  return r;
}

}  // namespace fettle::timing
