#pragma once
// Curves with their bands over one common axis, a panel for each quantity: thickness of a plate, speed of a spindle.
#include <limits>
#include <string>
#include <vector>

#include "output/drawings/drawings.h"

namespace fettle::drawings {

struct PanelLine {
  std::string name;  ///< at its right end; may be empty
  std::vector<double> y;
  Dash dash = Dash::solid;
};
/// All numbers in the unit that `name` says; NaN: nothing there. Bands are hatched between low and high.
struct Panel {
  std::string name;  ///< "give to 100 N, µm"
  std::vector<PanelLine> lines;
  std::vector<double> low, high;
  bool from_zero = true;
  double most = 0;  ///< the axis ends there when some curve runs higher; 0: never
  /// A value of the plan to be held against the curves: drawn as a heavy dot at `now`.
  double point = std::numeric_limits<double>::quiet_NaN();
  std::string point_text;
};
struct PanelsView {
  std::string title, sentence, x_name;
  std::vector<double> x;     ///< rising
  std::vector<bool> marked;  ///< a tick with a ring below: can be bought; may be empty
  std::string marked_name;   ///< what the ring means
  double now = std::numeric_limits<double>::quiet_NaN();
  std::string now_text;
  double better = std::numeric_limits<double>::quiet_NaN();  ///< a second upright, dashed
  std::string better_text;
  std::vector<Panel> panels;
  double panel_height = 40;  ///< mm
};

/// The panels one above the other, as wide as the room.
Drawing panels(const PanelsView& view, const Room& room);

}  // namespace fettle::drawings
