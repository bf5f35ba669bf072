#pragma once
// What the coupling of time and money shares between its files.
#include <optional>
#include <string>
#include <string_view>

#include "study/internal.h"
#include "study/plan_times.h"

namespace fettle::study {

/// Stopwatch times of loading one part.
struct LoadTimes {
  int n = 0;
  double mean = 0, s = 0;  ///< s; s is the sample's standard deviation, 0 below two readings
};
/// From a table with a column whose header says "load" (or its last column), the unit in brackets in the header or
/// `unit`; seconds when neither says. Comma, semicolon or tab between columns, decimal comma between semicolons.
/// Nothing when no number is found.
std::optional<LoadTimes> read_load_times(std::string_view text, const std::string& unit);

/// Fills the picture of one cycle of the first pallet operation, and the curve over parts on a set: with the same good
/// and honed shares as the findings.
void timing_pictures(Context& c, const PlanTimes& times, double good_share, double hone_share,
                     const std::vector<OperationProgram>& programs);

}  // namespace fettle::study
