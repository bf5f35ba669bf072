#pragma once
// What a few measured castings prove about the lot. The average is never the proof: one-sided tolerance factors are.
#include <string>
#include <vector>

#include "base/outcome.h"

namespace fettle::casting {

struct SampleInputs {
  std::vector<double>
      values;        ///< one per measured casting: least stock of a face, m (or any size that must not fall below)
  double limit = 0;  ///< must not be below this, m
  double confidence = 0.95;
  double asked_share = 0.999;  ///< share of the lot that shall be on the good side
};
struct SampleResult {
  bool enough = false;                ///< at least 3 values
  int n = 0, below = 0;               ///< measured, and of these below the limit
  double mean = 0, s = 0, worst = 0;  ///< m; mean is for information
  double factor = 0;                  ///< one-sided tolerance factor for asked share and confidence
  double guaranteed_level = 0;        ///< mean - factor s: the asked share of the lot is above this, with confidence, m
  double share_low = 0;               ///< at least this share of the lot is good, with confidence
  double share_high = 1;  ///< at most this share, with the same confidence: share_low..share_high brackets the yield
  double share_best_guess = 0;               ///< of a normal lot with this mean and s
  double counted_low = 0, counted_high = 1;  ///< two-sided interval by counting alone (no normal lot assumed)
  double share_if_all_good = 0;              ///< what n good ones out of n prove by counting alone, one-sided
  int needed_if_all_good = 0;  ///< castings to measure, all good, to prove the asked share by counting alone
  std::string words;           ///< plain sentence
};
/// Values are taken as a sample of a normal lot. Problems: a value, limit or confidence that is not a number in its
/// range.
Outcome<SampleResult> judge_sample(const SampleInputs& in);

}  // namespace fettle::casting
