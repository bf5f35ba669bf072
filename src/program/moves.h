#pragma once
// What a control program does, as plain moves. The reader makes them from text (read.h), the composer from a plan;
// motion time, proof and drawings read them. Metres, seconds, radians a second.
//
// Places: `start` and `end` are where the tool's tip is, in the frame of the active zero (program coordinates after G92
// and G52, before the zero's own origin). Machine coordinates of the tip are place + origin of the zero (Run::zeros);
// the spindle's nose stands `length_offset` higher. A move under G53 says so and has the nose in machine coordinates.
#include <array>
#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "frame/frame.h"

namespace fettle::program {

enum class Motion : std::uint8_t {
  rapid,        // G0 and the fast parts of a cycle
  feed,         // a straight line at feed
  clockwise,    // an arc seen against the plane's third axis
  counter,      // the other way round
  probe,        // G31, G38.2: straight until the probe touches
  dwell,        // no motion, `seconds` long
  tool_change,  // M6: `tool` is the new one
  spindle,      // M3, M4, M5: `spindle` is the new speed, negative for counter-clockwise, 0 stopped
  coolant,      // M7, M8, M9
  stop,         // M0, M1, M60: the operator is asked; `optional` for M1
  end,          // M2, M30
};
enum class Plane : std::uint8_t { xy, zx, yz };
/// What else holds while the move runs; one bit each.
struct Held {
  bool length_on : 1 = false;      // a tool length offset is active (G43)
  bool machine_frame : 1 = false;  // G53
  bool flood : 1 = false;          // M8 (or M7)
  bool exact_stop : 1 = false;     // G61.1, G61: rest at the end of the move
  bool radius_left : 1 = false;    // G41 noted (the places are those of the program, not of the tool's centre)
  bool radius_right : 1 = false;   // G42 noted
  bool synchronous : 1 = false;    // feed tied to the spindle's turn (tapping)
  bool optional : 1 = false;       // behind a block skip, or an optional stop
};

/// One move. `line` counts the text's lines from 1 (of the file `Run::files[file]`).
struct Move {
  Motion kind = Motion::rapid;
  Plane plane = Plane::xy;
  std::uint8_t zero = 1;  // 1 G54 … 9 G59.3; 10 and up: G54.1 P1 and on
  Held held;
  std::int32_t line = 0;
  std::int16_t cycle = 0;  // 0, or 73, 81 … 89: the cycle this move is a part of
  std::int16_t turns = 0;  // full turns of an arc beyond its end point's angle
  std::int32_t tool = 0;   // in the spindle
  frame::Vec3 start, end;
  frame::Vec3 centre;        // of an arc
  double feed = 0;           // m/s along the path; 0 when rapid
  double spindle = 0;        // rad/s, negative for counter-clockwise, 0 stopped
  double length_offset = 0;  // m, what G43 H adds
  double seconds = 0;        // of a dwell, or of a move under inverse time
  std::int16_t file = 0;     // the text the line is in: Run::files
};

/// Signed length along the path: a line, or an arc with its helix and full turns. Metres.
double length(const Move&);
/// The angle an arc sweeps, rad, positive; 0 for other moves.
double sweep(const Move&);
/// Direction of travel at the beginning and at the end, unit vectors (zero for what does not move).
frame::Vec3 heading_at_start(const Move&);
frame::Vec3 heading_at_end(const Move&);
/// The place after the share s (0 to 1) of the move's length.
frame::Vec3 place(const Move&, double s);

/// The origin of a zero, set by the program before move number `before` (of Run::moves) runs.
struct ZeroSet {
  std::size_t before = 0;
  int zero = 0;
  frame::Vec3 was, origin;  // machine coordinates
};

/// A remark the program carries ("(OP30 T11 …)"), where it stands.
struct Remark {
  std::int32_t line = 0;
  std::string text;
};

/// A whole program, run from its first line to its end.
struct Run {
  std::vector<Move> moves;
  std::vector<Remark> remarks;
  Problems notes;                          // what was noted and not followed (radius compensation, optional stops)
  std::array<frame::Vec3, 80> zeros = {};  // machine coordinates of each zero's origin at the end of the run
  std::array<bool, 80> zero_known = {};    // set by G10 or by the caller's table
  std::vector<ZeroSet> zero_sets;          // by G10 or a setting of 5221 …, in the order of the run
  std::vector<std::string> files;          // names of the texts: the program, then its further files
  std::map<int, double> parameters;        // those that the program or the caller set, at the end of the run
  bool ended = false;                      // M2, M30 or the closing % was met
  /// Machine coordinates of a zero's origin while the move of this number runs.
  frame::Vec3 origin_at(std::size_t move, int zero) const;
};
/// Where the spindle's nose is in machine coordinates at the end of the move of this number.
frame::Vec3 nose_at_end(const Run& run, std::size_t move);

}  // namespace fettle::program
