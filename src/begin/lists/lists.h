#pragma once
// Lists as shops write them: tools, holders, stopwatch times. Comma, semicolon or tab, decimal comma or point, the unit
// in the header or in the cell, headers in English or German. Pure readers: text in, list or all its problems out.
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"
#include "plan/plan.h"

namespace fettle::begin {

/// One tool of a list: only what its row says is known in `tool`.
struct ListedTool {
  plan::Tool tool;
  std::string holder;  ///< name of a holder, when the cell holds a name instead of a diameter
  Where where;         ///< of the tool's id
  Where holder_at;
  std::map<std::string, Where> cells;  ///< where each value stands, by the key of the plan
};
struct ToolList {
  std::string file;
  std::vector<ListedTool> tools;
  std::vector<std::string> notes;  ///< columns that were not used, with place
};

/// One holder of a list; it is some tool's by the tool's id, or by its own name in the tool list.
struct ListedHolder {
  std::string name, tool;
  plan::Number diameter, stick_out;
  Where where;
};
struct HolderList {
  std::string file;
  std::vector<ListedHolder> holders;
  std::vector<std::string> notes;
};

/// Stopwatch values of one cut, or of a whole operation when no tool is named.
struct ListedTime {
  std::string operation, tool;
  std::vector<double> seconds;  ///< as they stand in the list
  std::vector<int> lines;
};
struct TimeList {
  std::string file;
  std::vector<ListedTime> times;  ///< in the order of their first rows
  std::vector<std::string> notes;
};

/// A tool list. Each row needs the tool's id. Problems: those of the table, unknown words, numbers without a unit or
/// out of range, an id that stands twice.
Outcome<ToolList> read_tool_list(std::string_view text, const std::string& file);
/// A holder list. Each row needs a holder's name or a tool's id, and a diameter or a stick-out.
Outcome<HolderList> read_holder_list(std::string_view text, const std::string& file);
/// A stopwatch table. Each row needs an operation and a time; rows of the same cut are readings of the same time.
Outcome<TimeList> read_time_list(std::string_view text, const std::string& file);

}  // namespace fettle::begin
