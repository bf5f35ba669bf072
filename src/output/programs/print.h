#pragma once
// A composition as texts: the program, the sheet of offsets and switches, the restart table. Numbers are rounded here.
#include <string>
#include <utility>
#include <vector>

#include "base/outcome.h"
#include "compose/compose.h"
#include "output/programs/dialect.h"

namespace fettle::programs {

struct PrintOptions {
  bool inches = false;
  int number = 0;  // of the program; 0: from the operation's name
};

struct Printed {
  std::string program, offsets, restarts;
  std::vector<std::pair<std::string, int>> parameters;  // name and number
};

/// Problems: more nests than the dialect has zeros, more parameters than fit.
Outcome<Printed> print(const compose::Composition& composition, const Dialect& dialect, const PrintOptions& options);

/// Words that every control can show: ASCII, no brackets of remarks.
std::string plain_words(std::string_view text);

}  // namespace fettle::programs
