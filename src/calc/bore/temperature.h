#pragma once
// A length says what it is at 20 °C (ISO 1). Part and gauge (or the ring it was set on) each have their own.
#include "base/outcome.h"

namespace fettle::bore {

/// A reading: what the gauge shows as the size. A gauge set on a ring shows the ring's certified size when it reads
/// zero; then `gauge` is the ring. Temperatures in K, expansions in 1/K.
struct ReadingAt {
  double shown = 0;                ///< m
  double part = 293.15;            ///< K
  double part_expansion = 0;       ///< 1/K
  double gauge = 293.15;           ///< K, of the gauge or ring when it was set
  double gauge_expansion = 0;      ///< 1/K
  double u_part = 0, u_gauge = 0;  ///< K, standard uncertainty of the two temperatures
  double u_expansion = 0.1;        ///< relative standard uncertainty of both expansions
};
struct At20 {
  double size = 0;        ///< m, at 20 °C
  double correction = 0;  ///< m, size - shown: add this to what the gauge shows
  double u = 0;           ///< m, standard uncertainty of the correction from temperatures and expansions
};
/// L20 = shown (1 + a_g (t_g - 20)) / (1 + a_p (t_p - 20)). Source: ISO 1; JCGM 100 for the uncertainty. Problems: size
/// not positive, temperatures outside -50..200 °C, expansions outside 0..1e-4 1/K, negative uncertainties.
Outcome<At20> at_20(const ReadingAt& reading);

/// The correction for a small difference: size times (a_g dt_g - a_p dt_p), m. What 6 K of warm iron do to a 22 mm bore
/// gauged on a cold ring: -1.4 µm.
double correction(double size, double part_kelvin_over_20, double part_expansion, double gauge_kelvin_over_20,
                  double gauge_expansion);

/// Time for a difference of temperature to shrink to `to`, s, when it shrinks to 1/e in `time_constant` s; 0 when it is
/// small enough already. NaN when an argument is not positive.
double soak_time(double from, double to, double time_constant);

}  // namespace fettle::bore
