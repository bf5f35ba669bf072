#pragma once
// A tool that the shop lacks, as it would be bought: the next size that is commonly sold, everything else assumed.
#include <string>
#include <vector>

#include "plan/plan.h"

namespace fettle::begin {

/// What a feature needs of a tool.
struct ToolWish {
  std::string kind;      ///< as plan::Tool::kind
  double widest = 0;     ///< m, largest diameter that fits; of drills, reamers, taps, boring tools: the diameter itself
  double reach = 0;      ///< m, how deep it goes below what its holder must stay above
  double width = 0;      ///< m, most, of a keyseat cutter
  double wall = 0;       ///< m, how deep a keyseat cutter goes into the wall
  std::string for_what;  ///< "K1"
};

/// The tool, with an id that neither list uses ("N1", ...). Why none is sold, in words, when there is none: too thin
/// for its reach, a neck that leaves nothing. `shop`: prices are in its currency; without one there is no price.
Outcome<plan::Tool> tool_to_buy(const ToolWish& wish, const std::vector<plan::Tool>& shop,
                                const std::vector<plan::Tool>& bought, bool inch);

/// How far a tool of this kind and diameter stands out at most, m, as it is sold and cuts. Common practice, from
/// memory.
double most_out(const std::string& kind, double diameter);

/// Diameters that are commonly sold, m, rising; empty: of that kind any size is. Common practice, from memory.
std::vector<double> sold_sizes(const std::string& kind, bool inch);

/// Twist drills that are kept in stock, m, rising: by 0.1 mm to 14 mm, by 0.25 mm to 32 mm, by 0.5 mm to 50 mm and the
/// tapping drills of the thread table; in inch numbers, letters and 64ths to 1 1/2 in. Common practice, from memory.
const std::vector<double>& stock_drills(bool inch);
/// The stock drill closest to `wish` within these; 0: none is sold there.
double stock_drill(double wish, double low, double high, bool inch);
/// Reamers are ground by 0.01 mm, in inch by 0.0005 in: the closest to `wish` within these; 0: none. From memory.
double stock_reamer(double wish, double low, double high, bool inch);
/// What an inch drill is called for by: "#7", "F", "27/64"; empty: by its size.
std::string drill_name(double diameter);

/// The same tool as words: "end mill Ø6 mm, 4 teeth".
std::string tool_words(const plan::Tool& tool, bool inch);
/// Its edges and neck, where they are said: ", flutes 18 mm, ground back to Ø5.7 mm for 33 mm behind them".
std::string shape_words(const plan::Tool& tool);
/// Its price, where there is one: ", price 34 EUR (half to twice)".
std::string price_words(const plan::Tool& tool);

}  // namespace fettle::begin
