#pragma once
// What the three readers share: columns by their words, cells with units, problems with places.
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "plan/plan.h"
#include "study/readings.h"

namespace fettle::begin {

/// A column that a list may have: the key it gives, and the words that head it, folded.
struct ListColumn {
  std::string key;
  std::vector<std::string> words;
  unit::Kind kind = unit::Kind::number;
};

/// Lower case, umlauts as two letters, without blanks and marks: "Zähne" -> "zaehne", "Ø" -> "dia".
std::string folded(std::string_view word);

/// A table whose columns are known; collects problems.
class ListTable {
 public:
  /// Cuts the text and finds the columns. Rows that do not fit are problems; the others can be read still.
  ListTable(std::string_view typed, const std::string& file, const std::vector<ListColumn>& known);

  bool readable() const { return readable_; }
  bool has(const std::string& key) const { return at_.contains(key); }
  const std::vector<study::ReadingRow>& rows() const { return table_.rows; }
  /// Text of the cell, empty where the column is not there.
  std::string text(const study::ReadingRow& row, const std::string& key) const;
  Where where(const study::ReadingRow& row, const std::string& key) const;
  const study::ReadingColumn* column(const std::string& key) const;

  /// A number with its unit from the cell, the header or `unit`; nothing when the cell is empty or wrong.
  std::optional<plan::Number> number(const study::ReadingRow& row, const std::string& key, bool zero_too = false,
                                     const std::string& unit = {});
  /// A whole number within bounds; nothing when the cell is empty or wrong.
  std::optional<int> whole(const study::ReadingRow& row, const std::string& key, int low, int high);

  void problem(const Where& where, Problem p);
  Problems problems;
  std::vector<std::string> notes;

 private:
  void find_columns(const std::vector<ListColumn>& known);
  std::string point(const std::string& cell, std::size_t column) const;

  study::ReadingTable table_;
  bool readable_ = false;
  std::map<std::string, std::size_t> at_;
  std::map<std::string, unit::Kind> kind_;
};

/// Problems sorted by place.
Problems by_place(Problems problems);

}  // namespace fettle::begin
