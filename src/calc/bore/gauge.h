#pragma once
// Is the gauge good enough? An uncertainty budget, a gauge study by ranges and by analysis of variance, and what the
// gauge leaves of the tolerance.
#include <string>
#include <vector>

#include "base/outcome.h"

namespace fettle::bore {

// ---- budget ---------------------------------------------------------------------------------------------------------

/// How a half width (or a stated +- value) becomes one standard deviation.
enum class Shape {
  standard,   ///< it is one standard deviation already
  uniform,    ///< anywhere within +- a alike: a / sqrt 3 (a digit, a room's temperature)
  triangle,   ///< the middle likelier: a / sqrt 6
  two_sigma,  ///< a certificate's U with k = 2: a / 2
  three_sigma,
  swinging  ///< mostly near the ends, as a controlled temperature: a / sqrt 2
};
double standard_uncertainty(double stated, Shape shape);

/// One contribution. `dof` 0 means without end (well known).
struct Contribution {
  std::string name;
  double u = 0;            ///< standard uncertainty of this input, in its own unit
  double sensitivity = 1;  ///< what one unit of it does to the reading
  double dof = 0;
};
struct BudgetInputs {
  std::vector<Contribution> contributions;  ///< independent of each other
  std::vector<double> second_order;         ///< further terms already in the reading's unit, without dof
  double confidence = 0.95;                 ///< two-sided, for the expanded uncertainty
};
struct BudgetLine {
  std::string name;
  double u = 0;      ///< |sensitivity| u, in the reading's unit
  double share = 0;  ///< of the combined variance
};
struct Budget {
  std::vector<BudgetLine> lines;  ///< largest first
  double u = 0;                   ///< combined standard uncertainty
  double dof = 0;                 ///< effective (Welch and Satterthwaite); 0: without end
  double k = 0;                   ///< coverage factor, from Student's t with dof cut down to a whole number
  double expanded = 0;            ///< k u
};
/// Source: JCGM 100:2008 (GUM) 5.1, G.4. Problems: no contribution, one that is negative or no number, confidence not
/// in (0, 1).
Outcome<Budget> budget(const BudgetInputs& inputs);

// ---- gauge study ----------------------------------------------------------------------------------------------------

/// Readings of `parts` parts by `persons` people, `trials` times each, person by person, trial by trial, part by part:
/// readings[(person * trials + trial) * parts + part].
struct StudyInputs {
  std::vector<double> readings;
  int parts = 0, persons = 0, trials = 0;
  double tolerance = 0;      ///< width of the drawing's tolerance; 0: none is held against it
  double pool_above = 0.25;  ///< interaction and repeatability are pooled when the interaction's p is above this
};
/// One standard deviation each, in the readings' unit.
struct GaugeSpread {
  double repeatability = 0;    ///< same person, same part (EV)
  double reproducibility = 0;  ///< between people (AV), without the interaction
  double interaction = 0;      ///< people who differ on some parts only; 0 when pooled or by ranges
  double gauge = 0;            ///< all of it (GRR)
  double parts = 0;            ///< between parts (PV)
  double total = 0;
  double of_total = 0;         ///< gauge / total
  double of_tolerance = 0;     ///< 6 gauge / tolerance; NaN without a tolerance
  double categories = 0;       ///< 1.41 parts / gauge
  int categories_cut = 0;      ///< cut down to a whole number (at least 1), the usual rule
  int categories_rounded = 0;  ///< rounded to the nearest, as some sheets do
};
struct RangeFlag {
  int person = 0, part = 0;  ///< from 1
  double range = 0;
};
struct ByRange {
  std::vector<double> person_means, person_ranges;
  double mean_range = 0;   ///< of all ranges
  double difference = 0;   ///< largest minus smallest of the people's means
  double part_range = 0;   ///< largest minus smallest of the parts' means
  double range_limit = 0;  ///< D4 mean_range: a range above it is looked at again
  std::vector<RangeFlag> flags;
  GaugeSpread spread;
};
struct ByVariance {
  double ss_part = 0, ss_person = 0, ss_interaction = 0, ss_error = 0, ss_total = 0;
  double f_interaction = 0, p_interaction = 0;
  bool pooled = false;
  double p_person = 0;  ///< probability that chance alone makes people differ so much
  GaugeSpread spread;
  double gauge_low = 0, gauge_high = 0;  ///< 95 % interval of the gauge's standard deviation (Satterthwaite)
};
struct GaugeStudy {
  ByRange by_range;
  ByVariance by_variance;
  double mean = 0;
};
/// Both ways. Constants K1, K2, K3 are worked out (1/d2, or 1/d2* where fewer than 16 ranges stand behind it). Source:
/// Measurement Systems Analysis reference manual, 4th ed.; the variance way is the two-way random model with
/// interaction. Problems: 2..50 parts, 1..20 people, 2..10 trials; wrong count; no number.
Outcome<GaugeStudy> gauge_study(const StudyInputs& inputs);

/// Customary reading of 6 gauge / tolerance (common practice): up to 10 % good, up to 30 % bearable, above not.
enum class GaugeVerdict { good, bearable, not_good };
GaugeVerdict gauge_verdict(double of_tolerance);

/// Readings to average so that 6 sigma of what is left stays within `share` of the tolerance; people's differences are
/// not averaged away. 0: no number of readings does it.
int readings_to_average(const GaugeSpread& spread, double tolerance, double share);

/// A gauge's step against the tolerance.
struct StepCheck {
  double steps = 0;   ///< steps within the tolerance
  double u = 0;       ///< step / sqrt 12
  bool fine = false;  ///< at least ten steps within the tolerance (common practice)
};
StepCheck step_check(double step, double tolerance);

/// Steps that make sense to ask for: the largest of 1, 2, 5 times a power of ten (in `unit`, m) not above the gauge's
/// standard uncertainty, and never below its own step. A target is never said finer.
double sensible_step(double u, double resolution, double unit = 1e-6);

}  // namespace fettle::bore
