#pragma once
// How one control wants its programs: a table of words and patterns. A further one is a text file, no code.
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "base/outcome.h"

namespace fettle::programs {

struct Dialect {
  std::string name, words;
  std::string file_end = "nc";
  /// Patterns by what they say, each a list of lines; names in braces are filled in. See dialects.toml.
  std::map<std::string, std::vector<std::string>> lines;
  std::vector<std::string> zeros;  // words of the zeros, first nest first; or empty: the pattern `zero`
  int most_zeros = 0;
  bool jumps = true;        // conditions by IF ... GOTO; false: by blocks
  bool subs_first = false;  // subprograms stand before the main part
  int decimals_mm = 3, decimals_inch = 4;
  int first_kept = 500, first_work = 100, first_label = 9001;
  std::vector<int> probe_results;  // parameters that hold X, Y, Z of the last touch
  int longest_line = 80;           // of remarks
};

/// Reads one dialect from a TOML text. Problems: syntax, keys that mean nothing, patterns that are missing or name what
/// nothing fills in.
Outcome<Dialect> read_dialect(std::string_view toml, const std::string& file);

/// The built-in tables: "classic" (M98, M99, IF ... GOTO) and "o words" (o... sub, o... if), as TOML texts.
std::vector<std::string> dialect_names();
/// One of them by name, or a file that ends in .toml. Problems: no such dialect.
Outcome<std::string> dialect_text(const std::string& name);

}  // namespace fettle::programs
