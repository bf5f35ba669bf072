#pragma once
// Findings as lines of print: the only place where output looks at finding::Finding.
#include <string>
#include <vector>

#include "output/drawings/views.h"

namespace fettle::drawings {

/// The figure as printed; "open" when there is no number.
std::string say(const Figure& figure, const unit::Style& style);

/// A size on a drawing: unit::print without the zeros that end a decimal fraction ("330 mm", not "330.000 mm").
std::string say_size(double metres, const unit::Style& style);

/// "≥ 1", "≤ 0.1 %", "8 mm to 8.015 mm"; empty for no limit.
std::string say_limit(const finding::Limit& limit, unit::Kind kind, bool gauge, const unit::Style& style);

/// A margin as printed: "+0.33", "−0.20"; "—" when there is none.
std::string say_margin(double margin);

/// The line for a finding: lever is the first lever's sentence, or for an open finding what to give.
FindingRow row_of(const finding::Finding& finding, const unit::Style& style);

/// Counts the rows of this step's operation (its id, upper or lower case) and names the one that needs a hand most.
/// Rows are taken in their order: the first of the worst state stands.
void count_findings(RouteStep& step, const std::vector<FindingRow>& rows, const unit::Style& style);

/// An assumption over all findings it touches, strongest effect first.
struct AssumptionRow {
  std::string name, key;
  std::string value, band;         ///< printed
  double effect = 0;               ///< largest change of a margin from moving it alone across its band
  std::string on;                  ///< title of the finding it moves most
  std::vector<std::string> flips;  ///< titles of the findings that it alone can put outside
  std::string source;
  std::string replaced_by;  ///< the cheap measurement
};
std::vector<AssumptionRow> assumptions_by_effect(const std::vector<finding::Finding>& findings,
                                                 const unit::Style& style);

}  // namespace fettle::drawings
