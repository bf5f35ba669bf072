#pragma once
// Limits and fits after ISO 286: grades IT1..IT16, shafts d to s, holes D to S, js and JS, sizes up to 500 mm.
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"
#include "unit/quantity.h"

namespace fettle::ref {

/// Deviations from the nominal size, m.
struct Deviations {
  double lower = 0, upper = 0;
};

/// Width of tolerance of grade IT1..IT16 for a size in m (over 0 up to and including 500 mm). From the table; the
/// formula i = 0.45 D^(1/3) + 0.001 D does not always round to it. Source: fits_source().
Outcome<double> tolerance_of_grade(double size, int grade);

/// Deviations of a class such as H7 or g6 at a size in m. Refuses sizes outside 0..500 mm, letters outside d..s, and
/// classes that the tables do not fill (K above IT8 over 3 mm, j above IT8, K..S below IT3 over 3 mm).
Outcome<Deviations> deviations(double size, const unit::Fit& fit);

/// Limits with lower and upper filled in from the fit code; limits without a code come back as they are. The limits are
/// the same doubles as if they had been typed ("22 H5" gives 22.009 mm exactly).
Outcome<unit::Limits> limits_of(const unit::Limits& limits);

/// How a hole and a shaft meet; negative clearance is interference. m.
struct FitPair {
  enum class Type { clearance, transition, interference } type = Type::clearance;
  double least_clearance = 0, most_clearance = 0;
};
std::string_view word(FitPair::Type type);
/// Needs both limits of both; fit codes are resolved.
Outcome<FitPair> fit_pair(const unit::Limits& hole, const unit::Limits& shaft);

/// One row of the tables for the reference pages: "IT7", range, values.
struct FitTableRow {
  std::string name;  ///< "IT7", "g", "J6"
  double over_mm = 0, up_to_mm = 0;
  double value_um = 0;
  std::string source;
};
std::vector<FitTableRow> fit_table();
std::string_view fits_source();

}  // namespace fettle::ref
