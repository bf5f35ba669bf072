#pragma once
// What the drawings of the plate are given: plain values. Places in m in the frame of the plate, as in PalletView.
#include <array>
#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include "output/drawings/views.h"

namespace fettle::drawings {

/// A quantity on a grid, row by row from the lowest y, each from the lowest x. NaN: no plate there.
struct Field {
  int columns = 0, rows = 0;
  double left = 0, bottom = 0, step_x = 0, step_y = 0;  ///< m: first node, steps
  std::vector<double> value;
};

/// How far a force presses the plate down, everywhere.
struct GiveView {
  std::string title, sentence, caption;
  PalletView pallet;        ///< what stands on it; its words, notes and facts are not drawn here
  Field field;              ///< in `unit`
  std::string unit;         ///< "µm for 100 N"
  std::string short_unit;   ///< set after the figure on a line: " µm"
  std::vector<Note> notes;  ///< a place that is no number: said beside the plan, without a line
};

/// A part in a mode: turned by `turn` (small) about `at` and moved by `shift`, x, y and z.
struct ModePart {
  int nest = 0;  ///< index in PalletView::nests
  std::array<double, 3> at{}, shift{}, turn{};
};
/// One way in which the loaded plate swings; the largest motion is 1.
struct ModeView {
  std::string title, band, words;             ///< "609 Hz", "482 to 730 Hz", "rocks about Y"
  Field up;                                   ///< upright
  double slide_x = 0, slide_y = 0, spin = 0;  ///< of the plate in its plane, about its middle
  std::vector<ModePart> parts;
};
struct ModesView {
  std::string title, sentence, caption;
  PalletView pallet;
  std::vector<ModeView> modes;
};

/// How deep one tool may cut at one nest.
struct LimitMark {
  int nest = 0;  ///< index in PalletView::nests
  State state = State::open;
  double share = std::numeric_limits<double>::quiet_NaN();  ///< limit over what is asked
  std::string limit, place, soft;                           ///< "quiet to 5.2 mm", "+X side", "softest: the tool"
  Point at{NAN, NAN};                                       ///< where it cuts there; may be no number
};
struct LimitPlan {
  std::string title, asked;      ///< "T11 roughs the outside profile", "asked: 18.5 mm"
  std::vector<LimitMark> marks;  ///< a nest without one is open
};
/// The pallet tool by tool with what each nest allows.
struct LimitsView {
  std::string title, sentence, caption;
  PalletView pallet;
  std::vector<LimitPlan> plans;
};

}  // namespace fettle::drawings
