#pragma once
// What a reading proves: accept limits beside the drawing's limits, and the share of parts that a gauge misjudges.
//
//        L  L+g                        U-g  U        g: guard band
//    ----|---|==========================|---|----    accepted between the double lines
//    reject                                reject
//
// Lengths in m unless said, but any one unit serves. All gauge uncertainties are standard uncertainties (one sigma).
#include <optional>

#include "base/outcome.h"

namespace fettle::bore {

/// Accept limits. Either drawing limit may be absent, not both.
struct AcceptInputs {
  std::optional<double> lower, upper;  ///< drawing limits
  double u = 0;                        ///< standard uncertainty of one reading
  double confidence = 0.95;            ///< one-sided; 0.95 gives g = 1.65 u, as the standard has it
  bool prove_bad = false;  ///< the other way round: limits beyond which a part is proved outside (the supplier rejects)
};
struct AcceptLimits {
  double guard = 0;  ///< g, one side
  std::optional<double> lower, upper;
  double width = 0;      ///< upper - lower where both are there
  double eaten = 0;      ///< share of the drawing's tolerance that the guard bands take
  bool nothing = false;  ///< the guard bands leave no zone: no reading of this gauge proves a good part
};
/// Decision limits: L + g and U - g. For 95 % the factor is 1.65 as the standard rounds it, else the normal quantile.
/// Source: ISO 14253-1:2017. Problems: no limit, limits reversed, u negative or no number, confidence not in [0.5, 1).
Outcome<AcceptLimits> accept_limits(const AcceptInputs& inputs);

/// Probability that a part whose reading is `reading` lies within the limits, when nothing else is known of it.
/// Source: JCGM 106:2012, clause 7. NaN when u is not positive.
double conformance(double reading, double u, std::optional<double> lower, std::optional<double> upper);

/// What a normal process and a normal gauge do together.
struct RiskInputs {
  double mean = 0, s = 0;                  ///< the process: true sizes
  double u = 0;                            ///< the gauge, one reading
  double lower = 0, upper = 0;             ///< drawing limits
  double accept_low = 0, accept_high = 0;  ///< readings between these are passed
};
struct Risks {
  double inside = 0;            ///< share of parts made within the limits
  double accepted = 0;          ///< share passed by the gauge
  double passed_bad = 0;        ///< passed although outside: the customer's risk, of all parts
  double passed_bad_low = 0;    ///< of it, below the lower limit
  double refused_good = 0;      ///< refused although inside: the maker's risk, of all parts
  double bad_among_passed = 0;  ///< passed_bad / accepted
};
/// Global risks by quadrature (JCGM 106:2012, clause 9; about 1e-10 absolute). u = 0: the gauge is perfect. Problems:
/// s not positive, u negative, limits reversed.
Outcome<Risks> risks(const RiskInputs& inputs);

}  // namespace fettle::bore
