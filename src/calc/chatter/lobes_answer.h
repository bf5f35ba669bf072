#pragma once
// One question about one cut, with the method that fits it: how deep is it quiet, what is soft, which speed is better.
#include <array>
#include <string>
#include <vector>

#include "calc/chatter/cutter.h"
#include "frame/frame.h"
#include "maths/modal.h"

namespace fettle::chatter {

/// Flank: C of F = C b/v dr/dt, N/m, stated and its band; 0: none.
struct ProcessDamping {
  double stated = 0, low = 0, high = 0;
  double land = 0;  ///< m; waves short against it damp less. 0: all waves are long
  double friction = 0.3;
};
struct Question {
  std::vector<maths::PointResponse> tool, plate;                       ///< either may be empty
  std::array<frame::Vec3, 3> axes{{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}};  ///< feed, spindle x feed, spindle, in those axes
  Cutter cutter;
  double turns = 0;  ///< per second
  double depth = 0;  ///< m, axial
  ProcessDamping damping;
  double slowest = 0, fastest = 0;  ///< turns per second, for a better speed; 0: a quarter below and above
  int speeds = 41;                  ///< tried between them; 0: none
  enum class Method { fitting, averaged, multipliers } method = Method::fitting;
};
struct Answer {
  bool ok = false;
  std::string why;   ///< what cannot be, or what stands behind `converged` being false
  double limit = 0;  ///< m; infinity: quiet as far as looked (`looked_to`)
  double limit_without = 0, limit_low = 0, limit_high = 0;  ///< m, without flank and at the ends of its band
  double looked_to = 0;                                     ///< m; infinity with averaged forces
  double frequency = 0;                                     ///< Hz, of what starts at the limit; 0: nothing starts
  double margin = 0;                                        ///< (limit - depth)/depth
  double growth = 0;  ///< from one tooth to the next at the plan's depth, quiet below 1; 0 with averaged forces
  double best_turns = 0, best_limit = 0;  ///< per second, m; 0: none asked
  double averaged_limit = 0;              ///< m, zero order at the same speed
  enum class Soft { tool, plate, nothing } soft = Soft::nothing;
  double tool_share = 0;  ///< of 1/limit at the averaged limit; the plate has the rest
  Question::Method used = Question::Method::averaged;
  bool doubling = false;  ///< the motion repeats every second tooth
  bool converged = false;
};
/// Fitting: averaged forces (at_speed.h) while at least one tooth is in the cut at any time, multipliers (floquet.h)
/// when the tool leaves the metal between teeth. The flank enters the multipliers with what is left of it at the
/// frequency of the averaged limit. Modes whose height in the plane of the cut is under 2 % of the highest one's count
/// at rest only.
Answer answer(const Question& q);

}  // namespace fettle::chatter
