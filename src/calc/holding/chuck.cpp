#include "calc/holding/chuck.h"

#include <algorithm>
#include <cmath>

namespace fettle::holding {

Outcome<ChuckResult> on_chuck(const ChuckInputs& in) {
  Problems wrong;
  const auto refuse = [&](bool good, const char* what) {
    if (!good) wrong.push_back(bad(what));
  };
  refuse(in.warp >= 0 && std::isfinite(in.warp), "a bow is given by its size");
  refuse(in.span > 0 && std::isfinite(in.span), "the span must be above 0");
  refuse(in.thickness > 0 && std::isfinite(in.thickness), "the thickness must be above 0");
  refuse(in.modulus > 0 && std::isfinite(in.modulus), "the modulus must be above 0");
  refuse(in.poisson >= 0 && in.poisson < 0.5, "Poisson's ratio from 0 to below 0.5");
  refuse(in.pull > 0 && std::isfinite(in.pull), "the pull must be above 0");
  if (!wrong.empty()) return wrong;
  ChuckResult r;
  r.stiffness = in.modulus * std::pow(in.thickness, 3) / (12 * (1 - in.poisson * in.poisson));
  constexpr double centre = 0.00406;  // Navier's series for the middle of the square
  const double per_pull = centre * std::pow(in.span, 4) / r.stiffness;
  r.can_pull = per_pull * in.pull;
  r.pulled_out = std::min(in.warp, r.can_pull);
  r.stands_off = in.warp - r.pulled_out;
  r.flat_needs = in.warp / per_pull;
  r.thick = in.thickness > in.span / 5;
  return r;
}

}  // namespace fettle::holding
