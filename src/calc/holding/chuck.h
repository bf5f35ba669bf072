#pragma once
// A bowed casting pulled flat by a chuck, ground, and let go; and one that rocks because it is not pulled flat.
#include "base/outcome.h"

namespace fettle::holding {

struct ChuckInputs {
  double warp = 0;                     ///< m, bow over the face that lies down
  double span = 0;                     ///< m, over which it is bowed
  double thickness = 0;                ///< m, of the plate
  double modulus = 0, poisson = 0.26;  ///< Pa
  double pull = 0;                     ///< Pa, of the chuck on what lies close
};
struct ChuckResult {
  double can_pull = 0;    ///< m, deflection that the pull reaches at most: 0.00406 p a^4 / D
  double pulled_out = 0;  ///< m, of the bow that the chuck takes out: it springs back after grinding
  double stands_off = 0;  ///< m, of the bow that it cannot take out: the casting rocks by this unless shimmed
  double flat_needs = 0;  ///< Pa, pull that would lay it flat
  double stiffness = 0;   ///< N·m, E t^3 / (12 (1 - nu^2))
  bool thick = false;     ///< thicker than a fifth of its span: bending alone understates how it gives
};
/// Simply supported square plate under an even pull. Without shims the ground face keeps `pulled_out`; shimmed under
/// the bow it keeps nothing of it.
Outcome<ChuckResult> on_chuck(const ChuckInputs& in);

}  // namespace fettle::holding
