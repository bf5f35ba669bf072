#pragma once
// What the drawings with axes share: round ticks, shares as printed, words set beside marks so that none overlap.
#include <string>
#include <vector>

#include "output/drawings/pen.h"

namespace fettle::drawings {

/// Round numbers (1, 2, 2.5 or 5 times a power of ten apart) from `low` to `high`, at most `most` of them. `whole`:
/// never less than 1 apart. None for a range that is none.
std::vector<double> ticks(double low, double high, int most, bool whole = false);
/// A tick as printed, with as many decimals as its distance to the next asks for.
std::string say_tick(double value, double step);

/// A share as printed: two digits, "open" when it is none, "0 %" only for 0. Below 0.01 % in ppm.
std::string say_share(double share);
/// The same; with more digits where `other`, a different number, would print alike.
std::string say_share_against(double share, double other);

/// Minutes as printed, of seconds: "4.2 min"; two digits below 10, "open" when they are none.
std::string say_minutes(double seconds);

/// Left edge for a text of `width` centred on `x` but kept between `from` and `to`.
double centred_within(double x, double width, double from, double to);

/// A title and a sentence over a drawing; returns the height they take. `pen` null: only measures.
double heading(Pen* pen, const std::string& title, const std::string& sentence, double width);

}  // namespace fettle::drawings
