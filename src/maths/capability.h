#pragma once
// What share of a normal process falls outside two limits, and the indices that say it. Shared by all sciences that
// judge a process. NaN for arguments outside the domain (s not positive, upper limit not above the lower one, n < 2).
#include "maths/statistics.h"

namespace fettle::maths {

/// A process against its limits: mean and standard deviation in the unit of the limits.
struct Process {
  double lower = 0, upper = 0;  ///< limits; either may be -+infinity (one-sided), not both
  double mean = 0, s = 0;
};

/// Share of a normal process below the lower and above the upper limit. s = 0 gives 0 or 1 (a value on a limit is
/// inside).
struct ShareOutside {
  double below = 0, above = 0;
  double total() const { return below + above; }
};
ShareOutside share_outside(const Process& process);

/// Cp = (U - L) / 6s; Cpl = (m - L) / 3s; Cpu = (U - m) / 3s; Cpk = the smaller of the two;
/// k = |(U + L)/2 - m| / ((U - L)/2), so Cpk = Cp (1 - k). Cp and k are NaN for one-sided limits.
/// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6.
struct Capability {
  double cp = 0, cpl = 0, cpu = 0, cpk = 0, k = 0;
};
Capability capability(const Process& process);

/// Two-sided interval of Cp estimated from n >= 2 items: Cp sqrt(chi2 / (n - 1)) at both tails (exact for a normal
/// process). Source: NIST/SEMATECH e-Handbook 6.1.6.
Interval cp_interval(double cp, int n, double confidence);

/// Two-sided interval of Cpk estimated from n >= 2 items: Cpk -+ z sqrt(1/(9 n) + Cpk^2 / (2 (n - 1))). An
/// approximation that is good from about 30 items on. Source: Bissell, Applied Statistics 39, 1990; NIST/SEMATECH
/// e-Handbook 6.1.6.
Interval cpk_interval(double cpk, int n, double confidence);

/// Lower bound of a one-sided index (Cpl or Cpu) estimated from n >= 2 items, with confidence: exact by the non-central
/// t; for limits on both sides it bounds each side's index, not the pair. From 1000 items on by the normal
/// approximation, and above 1000 for 3 sqrt(n) |index| by chi-square alone (both within 2 % of how far the bound lies
/// below).
double one_sided_index_at_least(double index, int n, double confidence);

/// Chi-square: the x below which the share p lies (dof > 0, p in (0, 1)).
double chi_square_quantile(double p, double dof);

}  // namespace fettle::maths
