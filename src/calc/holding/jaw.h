#pragma once
// Several parts side by side under one jaw: what each gets when their widths differ and the jaw turns and bends.
#include <string>
#include <vector>

#include "base/outcome.h"

namespace fettle::holding {

/// One place where the jaw is pushed, evenly over a length.
struct JawPush {
  double at = 0, width = 0;  ///< m along the jaw
  double share = 1;          ///< of the force, relative to the other pushes
};
/// The bar: a shear-flexible (Timoshenko) beam. Length 0: a rigid jaw.
struct JawBar {
  double length = 0, height = 0, thickness = 0;  ///< m; thickness in the way of the force
  double modulus = 0, poisson = 0.3;             ///< Pa
};
struct JawInputs {
  std::vector<double> at;         ///< m along the jaw, from its middle: the middle of each part
  std::vector<double> stiffness;  ///< N/m, of each part: contact, pad and body in series
  double force = 0;               ///< N, all together
  std::vector<JawPush> pushes;    ///< none: at the middle
  bool yaw_free = true;           ///< the jaw turns until the forces balance; else its ends stay level
  JawBar bar;
  double face = 0;    ///< m along the jaw, over which each part's face touches it evenly; 0: in its middle only
  int strips = 1;     ///< the face is taken as so many springs side by side
  double need = 0;    ///< N, that every part needs
  double spread = 0;  ///< m, one standard deviation of a part's width (normal)
  int draws = 0;      ///< loads drawn for the low and high forces; 0: none
  int seed = 1;
};

/// Forces for given widths.
struct JawState {
  std::vector<double> force;          ///< N on each part, never negative
  std::vector<double> gap;            ///< m, of a part that is loose
  double advance = 0, yaw = 0;        ///< m, rad, of the jaw
  double residual = 0;                ///< of the verified conditions
  std::vector<double> bend_at, bend;  ///< m: the jaw's line, bending alone, positive towards the parts
  double stress = 0;                  ///< Pa, largest bending stress in the bar; with the line only
};
/// `over`: m, by which each part is wider than the rest. Problems: bad input, and a push outside the row of parts,
/// which no pushing forces can balance.
Outcome<JawState> jaw_state(const JawInputs& in, const std::vector<double>& over, bool with_line = false);

struct JawResult {
  std::vector<double> planned;           ///< N, at equal widths
  std::vector<double> low, high;         ///< N, 5 % and 95 % over the loads drawn
  std::vector<double> loose;             ///< share of loads in which this part gets less than it needs
  double share = 0;                      ///< of loads in which any part gets less than it needs
  double share_low = 0, share_high = 0;  ///< what the share is known to: 95 %; equal to it where `exact`
  bool exact = false;                    ///< in closed form
  double mean_least = 0;                 ///< N, least force at equal widths
  double worst_residual = 0;             ///< over all solves
  int solves = 0;
};
/// Share of loads with a loose part. Three parts that touch in their middles under a free jaw leave one way in which
/// unequal widths share out: the share follows from the normal integral. Else over directions in the space of widths
/// (equally spaced for three parts, drawn for more): along each the spread at which the first part comes short is
/// searched, and the share beyond it is the tail of chi. That holds when a part that came short stays short as the
/// differences grow. When a part is short at equal widths, 2000 loads are drawn and counted.
Outcome<JawResult> jaw_loads(const JawInputs& in);

/// The largest stiffness of a pad, in series with `rest` (N/m, everything else between the jaws), at which the share
/// stays within `limit`; searched. Nothing when not even the softest of `softest` (N/m) will do; `rest` itself when no
/// pad is needed.
Outcome<double> softest_pad_needed(const JawInputs& in, double rest, double limit, double softest);

/// The short rule: k <= (F/N - need) / spread, spread the largest difference of widths.
double pad_rule(double force, int parts, double need, double difference);

/// One stiffness after another.
double in_series(const std::vector<double>& stiffness);
/// A block pressed through: E A / L.
double block_stiffness(double modulus, double area, double length);

/// Deflection at x of a shear-flexible beam on two ends under a unit load at s, m/N; x and s from the left end.
double beam_flexibility(double x, double s, double length, double bending_stiffness, double shear_stiffness);
/// Shear coefficient of a rectangle, 10 (1 + nu) / (12 + 11 nu) (Cowper 1966).
double shear_coefficient(double poisson);

}  // namespace fettle::holding
