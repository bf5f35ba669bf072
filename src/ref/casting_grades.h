#pragma once
// Tolerance and allowance grades of castings. DCT is a total tolerance (use +-DCT/2), RMA one allowance per machined
// side.
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"

namespace fettle::ref {

/// One row of a grade table: sizes over `over` up to and including `up_to` (m), value of the asked grade (m).
struct GradeRow {
  double over = 0, up_to = 0;
  double value = 0;
};

/// Linear tolerance DCT (m, total width) for a raw-casting dimension (m). Grades 1..16, sizes up to 10 m.
/// ISO 8062-3:2007, Table 2. Refused: grade outside 1..16, size not in (0, 10 m], a cell the table leaves empty.
Outcome<double> dct(int grade, double raw_dimension);

/// The filled rows of one DCT grade, smallest first; empty for a grade outside 1..16.
std::vector<GradeRow> dct_rows(int grade);

/// Required machining allowance RMA (m) by grade letter "A".."K" (no "I") and the largest finished dimension of the
/// part (m, up to 10 m). ISO 8062-3:2007 (same numbers as ISO 8062:1994, Table 2; the cells are from memory).
Outcome<double> rma(std::string_view grade, double largest_finished_dimension);
/// The letters, finest first.
const std::vector<std::string>& rma_grades();

/// What a geometrical tolerance of a casting (GCT) is about.
enum class CastForm { straightness, flatness, roundness_parallelism_squareness_symmetry, coaxiality };
/// Geometrical tolerance (m) for a feature's length (m, up to 1 m). Grades 2..8. ISO 8062-3:2007, Tables 3 to 6 (from
/// memory).
Outcome<double> gct(CastForm form, int grade, double length);

/// Grades a process usually holds in grey iron, finest and coarsest.
struct ProcessGrades {
  std::string process;  ///< trade words
  int dctg_low = 0, dctg_high = 0;
  std::string rmag_low, rmag_high;
  int gctg_low = 0, gctg_high = 0;
  std::string source;
};
const std::vector<ProcessGrades>& process_grades();

extern const std::string_view dct_source, rma_source, gct_source;

}  // namespace fettle::ref
