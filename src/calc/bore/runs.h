#pragma once
// Readings in the order the parts came: what chance alone does, and what does not look like chance.
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"

namespace fettle::bore {

/// Constants of control charts for subgroups of n normal values; worked out by quadrature. n from 2 to 25, else all
/// NaN.
struct ChartConstants {
  double d2 = 0, d3 = 0, c4 = 0, A2 = 0, D3 = 0, D4 = 0, A3 = 0, B3 = 0, B4 = 0;
};
ChartConstants chart_constants(int n);

/// A chart of means and ranges.
struct MeanRangeChart {
  double mean = 0, mean_range = 0;
  double mean_low = 0, mean_high = 0, range_low = 0, range_high = 0;
  double s = 0;              ///< mean range / d2
  std::vector<int> signals;  ///< subgroups (from 1) with a mean or range outside
};
/// From the means and ranges of subgroups of n. Source: ISO 7870-2; Montgomery, Introduction to Statistical Quality
/// Control. Problems: no subgroup, unequal lengths, n outside 2..25, a negative range.
Outcome<MeanRangeChart> mean_range_chart(const std::vector<double>& means, const std::vector<double>& ranges, int n);

/// A chart of single values with moving ranges of two.
struct SinglesChart {
  double mean = 0, moving_range = 0, low = 0, high = 0, range_high = 0, s = 0;
  std::vector<int> signals;  ///< values (from 1) outside low..high
};
Outcome<SinglesChart> singles_chart(const std::vector<double>& values);

/// Readings in run order. `stretch` (same length, or empty for one stretch) names the stretches between which the tool
/// was set anew or changed: each has its own level, all share one drift.
struct RunInputs {
  std::vector<double> values;
  std::vector<int> stretch;
  double family = 0.05;  ///< chance of any false alarm at all, shared out over the tests that are made
};
/// One question asked of the run.
struct RunTest {
  std::string name;     ///< "drift", "drift by ranks", "step at a reset", "one far off", "neighbours"
  double p = 1;         ///< probability that chance alone does as much
  bool signal = false;  ///< p below family / number of tests
};
struct RunAnswer {
  int n = 0, stretches = 0;
  double mean = 0;
  double s = 0;                          ///< about the levels of the stretches
  double s_low = 0, s_high = 0;          ///< its 95 % interval
  int dof = 0;                           ///< behind s
  double slope = 0, slope_se = 0;        ///< per part, common to all stretches
  double slope_chance = 0;               ///< half width of what chance explains, with the tests' share of `family`
  double slope_low = 0, slope_high = 0;  ///< 95 % interval of the slope
  double lag1 = 0;                       ///< of the deviations from the levels
  std::vector<double> levels;            ///< mean of each stretch
  std::vector<RunTest> tests;
  bool drift = false;    ///< the tool wears, or something grows
  bool step = false;     ///< stretches lie on different levels
  bool far_off = false;  ///< one value far from the others
  bool linked = false;   ///< neighbours alike (something wanders), or swinging (somebody corrects every part)
  bool any() const { return drift || step || far_off || linked; }
};
/// Up to five tests: Student's t of the common slope; Mann and Kendall's rank test summed over the stretches (Hirsch,
/// Slack and Smith, Water Resources Research 18, 1982) as the second opinion that no single value decides; Fisher's F
/// of the levels; the farthest value (Grubbs); lag-1 autocorrelation. Bonferroni keeps all together at `family`: so a
/// run without a trend is called one in at most 5 of 100 cases. Problems: fewer than 6 values, no number, `family` not
/// in (0, 0.5], all values the same.
Outcome<RunAnswer> look_at_run(const RunInputs& inputs);

/// Shall the offset be touched?
struct OffsetInputs {
  double aim = 0;      ///< where the bore should be
  double mean = 0;     ///< of the last stretch
  double s = 0;        ///< of single parts
  int n = 0;           ///< readings behind the mean
  int dof = 0;         ///< behind s; n - 1 when 0
  double step = 0;     ///< smallest sensible step of offset and gauge
  double share = 0.5;  ///< of the deviation that is taken back at once
  double confidence = 0.95;
};
struct OffsetAdvice {
  double off = 0;        ///< mean - aim
  double dead_band = 0;  ///< deviations up to this are left alone: chance, or below what can be told
  double move = 0;       ///< add to the bore (negative: smaller); 0: leave it
  bool leave = true;
};
/// Who corrects every part by its own deviation doubles the variance (Deming's funnel, rule 2). So: nothing inside the
/// dead band, else half of the deviation. Problems: n < 1, s negative, no number.
Outcome<OffsetAdvice> offset_advice(const OffsetInputs& inputs);

/// What a process can hold. Either limit may be absent, not both.
struct CapabilityInputs {
  std::optional<double> lower, upper;
  double mean = 0, s = 0;
  int n = 0;  ///< parts behind mean and s; 0: known, no interval
  double confidence = 0.95;
};
struct CapabilityAnswer {
  std::optional<double> cp, k;
  double cpk = 0;
  double below = 0, above = 0;  ///< shares of a normal process
  std::optional<double> cp_low, cp_high, cpk_low, cpk_high;
};
/// Source: NIST/SEMATECH e-Handbook 6.1.6. Problems: s not positive, limits reversed or absent, n of 1 or negative.
Outcome<CapabilityAnswer> capability_of(const CapabilityInputs& inputs);

}  // namespace fettle::bore
