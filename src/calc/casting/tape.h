#pragma once
// A table of castings measured with tape, caliper and height gauge, as text. Never guesses a unit or a decimal comma:
// what can be read two ways is refused with the reason.
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/outcome.h"

namespace fettle::casting {

/// A column that may stand in the table. `spellings` are lower case, without blanks, dots, hyphens and underscores
/// ("corex"); the usual English and German ones are in usual_columns().
struct TapeColumn {
  std::string name;
  std::vector<std::string> spellings;
  double expected = 0;  ///< size the column should hold, m (0: small or unknown); used to spot slips and guess units
  bool may_be_negative = false;
  bool required = false;
  bool text = false;  ///< words instead of a length: goes to TapeRow::texts
};
/// thick, width, length, coreD, coreX, coreY, floorZ, warp.
std::vector<TapeColumn> usual_columns();

struct TapeOptions {
  std::string file;  ///< name for messages
  std::string unit;  ///< unit of columns whose header has none ("mm", "in"); empty: not told
  std::vector<TapeColumn> columns = usual_columns();
  bool several_rows_per_casting = false;
};

struct TapeRow {
  int line = 0;                ///< in the text, from 1
  std::string casting;         ///< number or name from the first column ("no", "nr", "casting"), else the row's count
  std::vector<double> values;  ///< m, in the order of TapeTable::columns
  std::vector<std::string> texts;  ///< in the order of TapeTable::text_columns
};

struct TapeTable {
  std::vector<std::string> columns;  ///< names of TapeColumn that are there, in the text's order
  std::vector<std::string> units;    ///< unit each was read in
  std::vector<std::string> text_columns;
  char separator = ',';
  bool decimal_comma = false;
  std::vector<TapeRow> rows;
  /// Index of a column or -1.
  int column(std::string_view name) const;
};

/// Reads the table. Separator: tab, semicolon or comma, told by the header line. Units stand in the header ("thick mm",
/// "thick [mm]", "thick_mm", "thick (in)") or come from the options. Lines that are blank or start with # are skipped.
/// All problems at once, each with line and column: unknown column, missing column, wrong number of cells, empty cell,
/// no number, ambiguous comma, no unit (with a guess from a size that is known), a size far off what is expected, the
/// same casting twice.
Outcome<TapeTable> read_tape(std::string_view text, const TapeOptions& options);

}  // namespace fettle::casting
