#pragma once
// The hone list: what to do with each bore that was read, and how much the hone takes.
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"
#include "calc/bore/temperature.h"

namespace fettle::bore {

struct HoneInputs {
  std::vector<std::string> names;  ///< number or mark of each part; same length as `readings`, or empty: 1, 2, 3, ...
  std::vector<double> readings;    ///< m, as shown
  std::vector<double> part_temperatures;  ///< K, same length, or empty: read at 20 °C or corrected already
  double part_expansion = 0;              ///< 1/K
  double gauge_temperature = 293.15, gauge_expansion = 0;
  double lower = 0, upper = 0;  ///< drawing limits
  double guard = 0;             ///< accept limits lie this far inside
  double hone_aim = 0;          ///< size to hone to; 0: middle of the accept limits
  double step = 0;              ///< takes are said in this step; 0: as computed
  bool hone_all = false;        ///< every bore goes to the hone
};
enum class Verdict {
  pass,         ///< proved inside
  hone,         ///< too small, or not proved large enough: take `take`
  gauge_again,  ///< near the upper limit: mean of several readings decides
  too_large     ///< proved too large: no hone brings it back
};
std::string_view word(Verdict verdict);

struct HonePart {
  std::string name;
  double size = 0;  ///< m at 20 °C
  double take = 0;  ///< m of diameter; 0 unless it is honed
  Verdict verdict = Verdict::gauge_again;
};
struct HoneList {
  std::vector<HonePart> parts;  ///< in the order read
  int pass = 0, hone = 0, again = 0, too_large = 0;
  double hone_aim = 0, accept_low = 0, accept_high = 0;
};
/// Too small can be mended, so doubt below goes to the hone; too large cannot, so doubt above is gauged again and only
/// what lies a guard band beyond the limit is set aside. Problems: no reading, lengths that differ, limits reversed,
/// guard bands that leave nothing, the hone's aim outside the accept limits, those of at_20() with the part's name.
Outcome<HoneList> hone_list(const HoneInputs& inputs);

}  // namespace fettle::bore
