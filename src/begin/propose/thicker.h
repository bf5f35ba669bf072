#pragma once
// An end mill that is still to be bought and sings is bought thicker, where it goes round outsides only.
#include <functional>
#include <string>
#include <vector>

#include "begin/propose/propose.h"

namespace fettle::begin {

/// One size to take instead.
struct ThickerMill {
  double from = 0, to = 0;  ///< m, diameters
  bool apart = false;       ///< nests move apart with it
  /// Changes the tool, the speeds, feeds, ways and times of its cuts, and where the nests stand.
  std::function<void(plan::Plan&)> apply;
};
/// Sizes that are sold, up to twice as thick, the thinnest first; those much too slender for a cut `too_deep` times as
/// deep as stays quiet are left out: how stiff a bar is goes with the fourth power of its diameter. Where a cut on the
/// pallet is made by this tool, nests stand as much farther apart. Empty: it is not to be bought, an inner corner asks
/// for its diameter, the nests are no rows and columns, or the machine does not get round them then.
std::vector<ThickerMill> thicker_mills(const plan::Plan& plan, const std::string& tool, double too_deep, bool inch);

/// What a draft says of that tool and its cuts, built again. `before`: its plan until then.
void say_thicker(Draft& draft, const plan::Plan& before, const std::string& tool, bool inch);

}  // namespace fettle::begin
