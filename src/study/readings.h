#pragma once
// Tables of readings that a plan names ([[reading]]): comma, semicolon or tab, decimal point or comma, the unit in the
// header or in the plan. Nothing is guessed: what can be read two ways is a problem with file, line and column.
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"
#include "unit/quantity.h"

namespace fettle::study {

/// One column as its header names it.
struct ReadingColumn {
  std::string header;  ///< as typed
  std::string name;    ///< without unit and without "above ..."
  std::string unit;    ///< "[mm]", "(mm)" or a last word that is a unit; empty: none said
  std::string above;   ///< "F4 above 22 [mm]" -> "22": the cells are differences from it; empty: none
  int column = 1;      ///< of the header, in code points
};
struct ReadingCell {
  std::string text;
  int column = 1;
};
struct ReadingRow {
  int line = 0;
  std::vector<ReadingCell> cells;  ///< as many as there are columns
};
struct ReadingTable {
  std::string file;
  char separator = ',';
  int header_line = 1;
  std::vector<ReadingColumn> columns;
  std::vector<ReadingRow> rows;
  /// Index of the column whose name is one of `words` (lower case, no blanks, dots, hyphens), or -1.
  int find(const std::vector<std::string>& words) const;
};
/// Cuts the text. Blank lines and lines that start with # are left out; cells may stand in quotes. Problems: not UTF-8,
/// empty, no rows, rows with another number of cells than the header, a column that stands twice.
Outcome<ReadingTable> cut_table(std::string_view text, const std::string& file);

/// The numbers of one column, SI; `above` of the header is added. `unit`: used when the header names none. A kind
/// without unit (number) needs none. Problems, each with its place: no unit, unknown unit, empty cell, no number,
/// decimal commas and points mixed, a comma that could part thousands.
Outcome<std::vector<double>> numbers_of(const ReadingTable& table, int column, unit::Kind kind,
                                        const std::string& unit = {});
/// The words of one column; an empty cell is a problem.
Outcome<std::vector<std::string>> words_of_column(const ReadingTable& table, int column);

}  // namespace fettle::study
