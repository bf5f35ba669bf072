#pragma once
// A plan's own text changed in place: comments, order and everything that is not meant stay byte for byte.
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/outcome.h"

namespace fettle::plan {

/// One change. Keys are those of Leaf::key: "operation.OP30.cut.T12.feed"; rows of a list go by id, tool or number.
struct Change {
  enum class What {
    set,     ///< the value at `key` becomes `value`; a key that is not there yet is written into its table
    remove,  ///< the key, or the row of a list with the comments right above it, goes
    add      ///< a row of the list `key`, behind the last of its kind
  } what = What::set;
  std::string key;
  std::string value;                                     ///< TOML: "\"28 N·m\"", "3", "[\"F1\", \"F2\"]"
  std::vector<std::pair<std::string, std::string>> row;  ///< for add: names and TOML values, in order
};

/// The text with all changes made, one after the other. Problems (all of them, then nothing is changed): a text that is
/// no TOML, a row that is not there (with the nearest), a key that the schema does not know there, a value that is no
/// TOML. Whether the plan still makes sense is for read_plan to say.
Outcome<std::string> edit_text(const std::string& text, const std::vector<Change>& changes);

/// A text as a TOML value.
std::string toml_quoted(std::string_view text);

}  // namespace fettle::plan
