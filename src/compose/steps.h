#pragma once
// A control program as a plain list of steps, before any dialect. SI: metres, m/s, rad/s, seconds. Nothing is rounded
// here.
//
// Places are in the frame of the active nest's zero: origin in the middle of the part, Z0 where the operation says
// (plate top, or the plane that the part rests on), Z towards the spindle.
//
// Texts of conditions and settings are written in one small neutral form, which a dialect turns into its own:
//   <name>      a parameter of the program, by its name
//   {0.0021}    a length in metres, printed in the program's unit
//   [ ] + - * / brackets and arithmetic; ABS[ ]
#include <optional>
#include <string>
#include <vector>

#include "frame/frame.h"

namespace fettle::compose {

enum class Do {
  remark,       // words
  rapid,        // x, y, z as far as given
  line,         // at feed
  arc,          // in the XY plane: end x, y (z: helix), centre, clockwise or not, at feed
  cycle,        // x, y: one hole of the cycle `cycle`
  dwell,        // seconds
  safe_start,   // everything modal into a known state, tool high
  retract,      // tool to the top of its travel
  tool_change,  // tool; words: its name
  length_on,    // length offset of the tool, together with the first move down to z
  spindle,      // speed; 0 stops
  coolant,      // count 1 on, 0 off
  zero,         // nest: the zero of this nest becomes active
  write_zero,   // nest: its zero becomes the texts x_text, y_text, z_text (machine places)
  set,          // parameter name = text
  when,         // what follows runs when `left` `compare` `right`; until otherwise or end_when
  end_when,
  again,  // what follows is repeated as long as left compare right; until end_again
  end_again,
  stop,  // the operator is asked; words
  optional_stop,
  probe,    // towards x, y or z until it touches, at feed
  call,     // sub: number of a subprogram
  skip_to,  // a place to go on from; label
  end
};
enum class Compare { equal, unequal, greater, at_least, less, at_most };
/// Cycles of a hole. z bottom, clear: plane where feed begins, count: 1 return to the start height, 0 to `clear`.
enum class Cycle { none, drill, peck, tap, bore_out_at_feed, bore_stop_out };

struct Step {
  Do what = Do::remark;
  std::optional<double> x, y, z;
  frame::Vec3 centre;
  bool clockwise = false;
  double feed = 0;
  double speed = 0;
  Cycle cycle = Cycle::none;
  double clear = 0, peck = 0, seconds = 0;
  int tool = 0, nest = 0, sub = 0, label = 0, count = 0;
  std::string words;        // of remarks, stops, tools
  std::string name;         // of a parameter
  std::string left, right;  // of a condition; left also the text of `set`, and where a probe should touch
  Compare compare = Compare::equal;
  std::string x_text, y_text, z_text;  // of write_zero, and of moves to a place that is worked out
};
using Steps = std::vector<Step>;

/// A parameter of the control that the program uses.
struct Parameter {
  std::string name, words;
  bool kept = false;  // keeps its value when the machine is switched off; set by a person or by another program
  std::optional<double> start;  // what a person should find there at first
  bool is_length = false;
};

struct Subprogram {
  int number = 0;
  std::string words;
  Steps steps;
};

}  // namespace fettle::compose
