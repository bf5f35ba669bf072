#pragma once
// O-rings: dash sizes with their tolerances, and printed groove depths and widths.
#include <span>
#include <string>
#include <string_view>

#include "base/outcome.h"

namespace fettle::ref {

/// One ring as it is sold. SI; each size is plus or minus its tolerance.
struct Ring {
  std::string name;  ///< "AS568-135"
  double inside = 0, inside_tolerance = 0;
  double section = 0, section_tolerance = 0;
  std::string source;
};
std::span<const Ring> ring_table();
/// By name; "135", "-135" and "AS568-135" are the same ring. Refuses unknown names with the nearest.
Outcome<Ring> ring(std::string_view name);

/// Depth and width of a groove for a section, as printed for rings without back-up rings. SI.
struct GrooveRow {
  double section = 0;
  double moving_depth = 0, still_depth = 0, radial_width = 0;  ///< groove round a plug or in a bore
  double face_depth = 0, face_width = 0;                       ///< groove in a face
  std::string source;
};
std::span<const GrooveRow> groove_table();
/// The row whose section is within 0.05 mm; refuses others with the sections there are.
Outcome<GrooveRow> groove(double section);

}  // namespace fettle::ref
