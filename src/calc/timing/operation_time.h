#pragma once
// How long a move, a cut and one set of parts take on a machine: from distance, speed and acceleration, or as stated.
// SI: m, s, m/s. See README.md.
#include <optional>
#include <string>
#include <vector>

#include "base/outcome.h"

namespace fettle::timing {

/// How fast an axis moves. Jerk 0: acceleration comes at once (trapezoid). Acceleration 0: speed comes at once.
struct Motion {
  double speed = 0;         ///< m/s, rapid
  double acceleration = 0;  ///< m/s2
  double jerk = 0;          ///< m/s3
};

/// Time of one straight move over `distance` m, from rest to rest. Exact for a symmetric profile; a move too short to
/// reach full speed, or full acceleration, never reaches it. Problems: a speed of zero or less, a negative or
/// infinite number.
Outcome<double> move_time(double distance, const Motion& motion);

/// One tool on one part: `passes` equal paths, and rapid moves in between.
struct CutPath {
  std::optional<double> length;  ///< m, path of one pass
  std::optional<double> feed;    ///< m/s, along that path
  int passes = 1;
  double between = 0;            ///< m, rapid from the end of a pass to the start of the next
  double clearance = 0;          ///< m, rapid down before and up after each pass
  Motion motion;                 ///< speed 0: rapid moves are left out
  std::optional<double> stated;  ///< s per part, as the plan says
};
struct CutTime {
  std::optional<double> by_path;  ///< s, when length and feed are known
  double feeding = 0;             ///< s of it in the feed
  double moving = 0;              ///< s of it in rapid moves
  std::optional<double> stated;   ///< s
  std::optional<double> used;     ///< s: the stated one wins; none when neither is known
  double off = 0;                 ///< by path over stated, minus 1; 0 unless both are known
};
/// The feed ramps up and down at the motion's acceleration: length/feed + feed/acceleration a pass.
Outcome<CutTime> cut_time(const CutPath& path);

/// Feed of the tool's centre when its edge follows the inside of a round wall of `wall` m diameter: edge feed times
/// (wall - tool)/wall. The edge feed itself when the tool does not fit inside. m/s.
double centre_feed(double edge_feed, double wall, double tool);

/// Machine time of one set of parts: cutting, tool changes, moves between the places of the parts, probing.
struct SetTimeInputs {
  int parts = 1;            ///< held at once
  double cut_per_part = 0;  ///< s, all cuts
  int tool_changes = 0;     ///< in one set
  double tool_change = 0;   ///< s, chip to chip
  int visits = 0;           ///< of a tool to a place, in one set
  double move = 0;          ///< s, from place to place
  double probe = 0;         ///< s, in one set
};
struct SetTime {
  double cutting = 0, changing = 0, moving = 0, probing = 0;  ///< s, one set
  double total = 0;                                           ///< s, one set
  double per_part = 0;                                        ///< s
  double not_cutting_per_part = 0;                            ///< s
};
Outcome<SetTime> set_time(const SetTimeInputs& in);

}  // namespace fettle::timing
