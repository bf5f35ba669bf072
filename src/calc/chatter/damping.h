#pragma once
// The flank rubs on the wave that it has just cut: what that damps.
#include <string>

namespace fettle::chatter {

/// C = indentation land^2/2, N/m: force of the flank per depth and slope of the wave, F = C b/v dr/dt (Wu 1989), for
/// waves long against the land. Indentation in N/m3 of metal pushed aside, land in m.
double flank_coefficient(double indentation, double land);

/// What is left of C when the wave is not long against the land: 2 (1 - cos a)/a^2 with a = 2 pi f land/v. The area
/// under a flat land of length L behind an edge that moves as y is int_0^L (y(t) - y(t - s/v)) ds; its part in step
/// with the speed of a harmonic wave, against that of a long one, is given here. 1 for long waves, 0 where a whole wave
/// fits under the land. The part in step with y itself only stiffens and is left out. Own derivation; 1 when the speed
/// is not above zero.
double wave_factor(double frequency, double land, double speed);

/// What the indentation is known to be, N/m3: remembered values scatter over more than a decade.
struct FlankBand {
  double low = 0, stated = 0, high = 0;
  std::string source;
};
/// Indentation of the iron by the flank.
FlankBand iron_indentation();

/// One mode and a turning-like cut, worst lobe, with the flank: b = 2 k z (1 + z)/Ks with z = zeta + C b/(2 v sqrt(k
/// m)).
struct RubbingInputs {
  double frequency = 0, stiffness = 0, damping = 0;  ///< Hz, N/m, ratio
  double ks = 0;                                     ///< N/m2, force along the mode per area of chip
  double coefficient = 0;                            ///< C, N/m
  double speed = 0;                                  ///< m/s
};
struct RubbingResult {
  bool ok = false;
  std::string why;
  double depth = 0;          ///< m; infinity: the flank damps faster than the depth excites
  double depth_without = 0;  ///< m
  double damping = 0;        ///< ratio at that depth, the flank's share included
  double slow_enough = 0;    ///< m/s, below which no depth is loud; 0 without flank
};
/// The smaller root of the quadratic in b; exact. None where the roots are complex or the flank outweighs the cut at
/// every depth.
RubbingResult rubbing_limit(const RubbingInputs& in);

}  // namespace fettle::chatter
