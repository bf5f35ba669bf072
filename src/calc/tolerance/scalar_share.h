#pragma once
// Inside the ledger: the share of a sum of independent errors beyond two limits, with nothing taken for normal that is
// not. Plain closed forms and fixed sums, so that it moves smoothly with every input.
#include "calc/tolerance/play.h"

namespace fettle::tolerance::inner {

/// A sum of independent parts about `mean`.
struct SumOf {
  double mean = 0, normal_s = 0;
  std::vector<double> uniform;      ///< half widths, > 0
  std::vector<double> half_normal;  ///< coefficient x s, signed; counted from where the half starts
  struct Seated {
    const Play* play = nullptr;
    SeatSum sum;
  };
  std::vector<Seated> play;
};
/// Share below `low` and above `high` (either may be infinite): the characteristic function of the sum, summed after
/// Davies 1980 (Applied Statistics 29, 323); about 1e-10 unless fewer than three bounded parts stand alone, 1e-5 then.
double share_beyond(const SumOf& sum, double low, double high);

/// Two sums in common: coefficients of each part in both.
struct PairOf {
  double mean_a = 0, mean_b = 0;
  double aa = 0, ab = 0, bb = 0;  ///< covariance of the normal parts
  struct Two {
    double a = 0, b = 0;
  };
  std::vector<Two> uniform, half_normal;
  struct Seated {
    const Play* play = nullptr;
    SeatSum a, b;
  };
  std::vector<Seated> play;
  double weight = 1;
};
/// Share of a mixture of such pairs whose length is beyond `radius`: fixed nodes for the bounded parts, the normal
/// ellipse against the circle for the rest.
double share_beyond(const std::vector<PairOf>& mixture, double radius);

}  // namespace fettle::tolerance::inner
