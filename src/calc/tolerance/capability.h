#pragma once
// How a process stands against its limits, from what is known or from measured parts. The formulas are
// maths/capability.h.
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "maths/capability.h"

namespace fettle::tolerance {

struct CapabilityInputs {
  std::optional<double> lower, upper;  ///< limits, at least one
  double mean = 0, s = 0;              ///< of the process; s > 0
  int items = 0;                       ///< measured items behind mean and s; 0: known, no interval
  double confidence = 0.95;
};
struct CapabilityResult {
  double cp = 0, cpk = 0, cpl = 0, cpu = 0, k = 0;  ///< cp and k not a number for one-sided limits; an index not a
                                                    ///< number where its limit is missing
  double below = 0, above = 0;                      ///< shares outside
  double share = 0;                                 ///< both together
  double share_centred = 0;                         ///< if the mean stood in the middle (one-sided: the same share)
  double centre_by = 0;                             ///< what to add to the mean to stand in the middle; 0 for one side
  std::optional<maths::Interval> cp_between;        ///< exact for a normal process
  std::optional<maths::Interval> cpk_between;       ///< Bissell's approximation
  std::optional<double> cpk_at_least;               ///< exact one-sided bound of the nearer side's index
  std::optional<double> share_at_most;              ///< share outside the nearer limit, with the confidence: exact
};
/// Problems: no limit, limits crossed, s not positive, one item, confidence outside 0..1.
Outcome<CapabilityResult> capability_of(const CapabilityInputs& inputs);

/// From measured values: mean and s of the sample, then as above. Needs two values or more.
Outcome<CapabilityResult> capability_of_values(const std::vector<double>& values, std::optional<double> lower,
                                               std::optional<double> upper, double confidence = 0.95);

/// Largest standard deviation that keeps the share outside within `share`, mean given. NaN where no s does.
double largest_s(double lower, double upper, double mean, double share);

}  // namespace fettle::tolerance
