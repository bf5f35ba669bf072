#include "calc/chatter/damping.h"

#include <cmath>

namespace fettle::chatter {

double flank_coefficient(double indentation, double land) { return indentation * land * land / 2; }

double wave_factor(double frequency, double land, double speed) {
  if (!(speed > 0) || !(land > 0)) return 1;
  const double a = 2 * M_PI * std::fabs(frequency) * land / speed;
  if (a < 1e-3) return 1 - a * a / 12;
  const double s = std::sin(a / 2);
  return 4 * s * s / (a * a);
}

FlankBand iron_indentation() {
  return {0.4e13, 1.5e13, 1e14,
          "from memory: 1e13 to 1e14 in steels and aluminium, iron rather less; a worked exercise read in public uses "
          "C = 2e4 "
          "N/m, which is 1.1e13 at a land of 60 um; none read for grey iron"};
}

RubbingResult rubbing_limit(const RubbingInputs& in) {
  RubbingResult out;
  if (!(in.frequency > 0) || !(in.stiffness > 0) || !(in.ks > 0) || !std::isfinite(in.ks) ||
      !std::isfinite(in.frequency) || !std::isfinite(in.stiffness))
    out.why = "frequency, stiffness and force must be above zero";
  else if (!(in.damping > 0) || !(in.damping < 1)) out.why = "the damping ratio must lie between 0 and 1";
  else if (!(in.coefficient >= 0) || !std::isfinite(in.coefficient))
    out.why = "the flank's coefficient must not be negative";
  else if (in.coefficient > 0 && !(in.speed > 0)) out.why = "the cutting speed must be above zero";
  if (!out.why.empty()) return out;
  out.ok = true;
  const double k = in.stiffness, z = in.damping, omega = 2 * M_PI * in.frequency;  // sqrt(k m) = k/omega
  out.depth_without = 2 * k * z * (1 + z) / in.ks;
  if (!(in.coefficient > 0)) {
    out.depth = out.depth_without, out.damping = z;
    return out;
  }
  // 2 k a^2 b^2 - (Ks - 2 k a (1 + 2 z)) b + 2 k z (1 + z) = 0, a = C omega/(2 v k).
  const double a = in.coefficient * omega / (2 * in.speed * k);
  const double slope = in.ks - 2 * k * a * (1 + 2 * z), rest = slope * slope - 16 * k * k * a * a * z * (1 + z);
  // Roots vanish at a where slope = 4 k a sqrt(z (1 + z)).
  const double most = in.ks / (2 * k * (1 + 2 * z + 2 * std::sqrt(z * (1 + z))));
  out.slow_enough = in.coefficient * omega / (2 * most * k);
  if (!(slope > 0) || !(rest >= 0)) {
    out.depth = HUGE_VAL, out.damping = HUGE_VAL;
    return out;
  }
  out.depth = 4 * k * z * (1 + z) / (slope + std::sqrt(rest));
  out.damping = z + a * out.depth;
  return out;
}

}  // namespace fettle::chatter
