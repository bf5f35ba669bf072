#pragma once
// Does a disturbance grow from one tooth to the next? The multipliers of a milling cut, without averaging the forces.
#include <array>
#include <complex>
#include <string>
#include <vector>

#include "calc/chatter/cutter.h"
#include "frame/frame.h"
#include "maths/modal.h"

namespace fettle::chatter {

/// What a study gives: the same responses, axes, arc, forces and teeth as for depth_at_speed() (at_speed.h), `flank` =
/// indentation land^2/2 (times wave_factor() at the frequency that sings, damping.h), and `highest` twice the frequency
/// of the stiffest mode that may sing. Worth its price where forces come in knocks: an arc shorter than the tooth
/// spacing, or uneven teeth; elsewhere the averaged limit is within a few per cent.
struct FloquetInputs {
  std::vector<maths::PointResponse> responses;                         ///< tool and part, each in its own axes
  std::array<frame::Vec3, 3> axes{{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}};  ///< feed, spindle x feed, spindle, in those axes
  Cutter cutter;
  double turns = 0;       ///< per second
  double flank = 0;       ///< N/m: C of F = C b/v dr/dt; 0: none
  double friction = 0.3;  ///< of the flank
  /// Hz: modes above only give way at once, with what they give at rest; 0: all modes swing. Fewer waves, fewer nodes.
  double highest = 0;
};
/// The multiplier of largest magnitude over one tooth period (even teeth) or one turn (uneven teeth).
struct Multiplier {
  bool ok = false;
  std::string why;
  std::complex<double> mu;
  double radius = 0;       ///< its magnitude; the cut is quiet below 1
  double per_tooth = 0;    ///< radius for the time of one tooth, so that even and uneven teeth compare
  double error = 0;        ///< of a map with fewer nodes (four fifths) against the one used, as a share of the radius
  bool converged = false;  ///< error under 0.2 % and the eigenvector's residual small
  double frequency = 0;    ///< Hz, of the motion: of all that mu allows, where the structure is softest
  int nodes = 0;
};
/// Spectral collocation of the delay equation: force on every engaged sub-arc by a polynomial through Gauss nodes, the
/// motion in closed form (Duhamel's integral, mode by mode), free flight exactly; the surface left by the tooth before
/// is met at the same nodes, so even and uneven teeth need no interpolation in time. Nodes per sub-arc: 5 to 12 and
/// 3.5 for every wave of the highest mode, sub-arcs split every six waves; checked by a quarter more nodes, and done
/// again with more when the two differ too much. Residual
/// compliance acts at once; the flank meets the modes only. Tooth places go to 1e-5 degrees.
Multiplier multiplier(const FloquetInputs& in, double depth);

/// The least depth at which the largest multiplier leaves the unit circle.
struct FirstLoss {
  bool ok = false;
  std::string why;
  double depth = 0;       ///< m; infinity: none up to the largest depth looked at
  double frequency = 0;   ///< Hz
  bool doubling = false;  ///< the motion repeats every second period
  double error = 0;       ///< share of depth, between the resolution used and one with four fifths of its nodes
  bool converged = false;
  int looked = 0;  ///< depths tried
};
/// Looks at depths from `least` upwards in steps of `step` (a share). Where three looks show a maximum that their
/// slopes could lead above 1, it is searched. An island of instability that rises and falls within one step more
/// steeply than around it is missed. The price is the number of looks: start close below the averaged limit and end
/// where more depth is of no interest. Loud already at `least`: depth = least, with `why`.
FirstLoss first_loss(const FloquetInputs& in, double least, double most, double step = 0.1);

/// Radii over speeds and depths, row by row: radius[speed * depths + depth]. The same bytes at any number of threads.
struct FloquetChart {
  bool ok = false;
  std::string why;
  std::vector<double> radius;
  /// Largest share by which a finer map differs, at every eighth speed, three depths, where the radius is under 2 (what
  /// grows faster is loud either way).
  double error = 0;
  int unsure = 0;  ///< points whose eigenvector did not settle
  int most_nodes = 0;
  bool converged = false;  ///< error under 0.5 %, none unsure
};
FloquetChart floquet_chart(const FloquetInputs& in, const std::vector<double>& turns, const std::vector<double>& depths,
                           int threads = 1);

}  // namespace fettle::chatter
