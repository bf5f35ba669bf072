#pragma once
// Plan files in and out. All errors of all files come in one go, each with file, line and column.
#include <functional>
#include <string>

#include "base/outcome.h"
#include "plan/plan.h"

namespace fettle::plan {

/// Reads a plan and the shop and pallet files it names (paths relative to the plan's folder; they may not leave it
/// upwards by more than the plan's own text says). Errors: TOML syntax, unknown keys (nearest word), wrong dimension,
/// out of bounds, ids used twice, references to nothing, files missing. Defaults are filled in with Origin::assumed.
Outcome<Plan> read_plan(const std::string& path);

/// The same from texts: `load(path)` gives the bytes of a named file.
using Loader = std::function<Outcome<std::string>(const std::string& path)>;
Outcome<Plan> read_plan(std::string_view text, const std::string& path, const Loader& load);

/// A reference as plans write it: "F1", "F1.+x", "F7@2".
struct Reference {
  std::string id;
  std::string side;  ///< "+x" ... or empty
  int index = 0;     ///< from 1; 0: all
};
Reference parse_reference(std::string_view text);

/// The plan as a text that reads back to the same plan (given values only, in schema order, as typed where known).
std::string write_plan(const Plan& plan);

/// The text with the value at `place` replaced by `value` (already TOML); everything else stays byte for byte.
std::string replace_value(std::string_view text, const Place& place, std::string_view value);

/// Plans below `folder` that name the file `path` as their shop or pallet.
std::vector<std::string> plans_using(const std::string& path, const std::string& folder);

/// Every given value of a plan as (path of keys with ids, typed text, place), in schema order: for diff and for edits.
struct Leaf {
  std::string path;  ///< "operation OP30 / cut T11 / speed"
  std::string
      key;  ///< "operation.OP30.cut.T11.speed"; a second cut with T11 there: "cut.T11#2"; without id or tool its number
  std::string typed;
  Place place;
  bool number = false;
  double si = 0;
  unit::Kind kind = unit::Kind::number;
};
std::vector<Leaf> leaves(const Plan& plan);

/// Every value of a shop or pallet file as it stands there, for comparing two of them; empty for a plan. Problems: TOML
/// syntax.
Outcome<std::vector<Leaf>> shared_leaves(const std::string& path);

}  // namespace fettle::plan
