#pragma once
// The published cuts as the multipliers take them, and the same for the plain oracles.
#include <cmath>

#include "calc/chatter/floquet.h"
#include "calc/chatter/lobes_for_tests.h"
#include "plain_chatter.h"

namespace fettle::chatter {

inline FloquetInputs at_rpm(const KnownCut& k, double rpm) {
  FloquetInputs in;
  in.responses = k.responses, in.cutter = k.cutter, in.turns = rpm / 60;
  return in;
}
inline FloquetInputs one_mode(Arc arc, double rpm) { return at_rpm(one_mode_cut(arc), rpm); }
inline FloquetInputs two_modes(Arc arc, double rpm) { return at_rpm(two_mode_cut(arc), rpm); }
inline FloquetInputs four_modes(Arc arc, double rpm) { return at_rpm(four_mode_cut(arc), rpm); }

inline test::PlainCut plain(const FloquetInputs& in, double depth) {
  test::PlainCut c;
  for (const maths::PointResponse& r : in.responses)
    for (const maths::PointMode& m : r.modes) {
      const double s = std::hypot(m.shape.x, m.shape.y, m.shape.z);
      c.modes.push_back({m.omega / (2 * M_PI), 1 / (s * s), m.damping, {m.shape.x / s, m.shape.y / s, m.shape.z / s}});
    }
  for (double a : in.cutter.tooth_angles) c.tooth_degrees.push_back(a * 180 / M_PI);
  c.entry = in.cutter.entry, c.exit = in.cutter.exit, c.lead = in.cutter.lead;
  c.kt = in.cutter.kt, c.kn = in.cutter.kr * in.cutter.kt, c.ka = in.cutter.ka * in.cutter.kt;
  c.turns = in.turns, c.depth = depth;
  c.flank = in.flank / (M_PI * in.cutter.diameter * in.turns), c.friction = in.friction;
  return c;
}

}  // namespace fettle::chatter
