#pragma once
// The text of a TOML file: places in it, and its syntax problems in words a machinist can act on.
#include <toml++/toml.h>

#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"
#include "plan/value.h"

namespace fettle::plan {

/// Byte offset of a line and column (code points, from 1); clamped to the text. A byte order mark counts nothing.
std::size_t byte_at(std::string_view text, int line, int column);

/// The place of code point `n` (from 1) of the value of a TOML text that stands at `place`: quotes, escapes and line
/// ends are counted as they stand in the file. `place` itself when it is no text.
Place place_inside(std::string_view text, const Place& place, int n);

/// What a table of that name is, for hints: true when the schema has it as a list ([[feature]]), false when it is
/// single.
using ListTable = std::function<bool(std::string_view dotted_name)>;

/// The parsed file. `damaged`: lines with syntax problems were left out, so a missing key means nothing.
struct Parsed {
  toml::table table;
  bool damaged = false;
  bool usable = true;  ///< false: what follows the problem could not be told
};
/// Parses; problems carry line and column (file name left empty). Refuses bytes that are no UTF-8 text and nesting so
/// deep that no plan can mean it. After a problem that stays on its line the rest is still read.
Parsed parse_toml(const std::string& text, const ListTable& is_list, Problems& problems);

}  // namespace fettle::plan
