#include "base/outcome.h"

#include <fmt/format.h>

namespace fettle {

std::string say(const Problem& p) {
  std::string s;
  if (!p.where.file.empty()) s += p.where.file + ":";
  if (p.where.line > 0) s += fmt::format("{}:{}:", p.where.line, p.where.column);
  if (!s.empty()) s += " ";
  s += p.what;
  if (!p.found.empty()) s += fmt::format("; found \"{}\"", p.found);
  if (!p.expected.empty()) s += "; expected " + p.expected;
  if (!p.nearest.empty()) s += fmt::format("; did you mean \"{}\"?", p.nearest);
  return s;
}

Problem bad(std::string what, std::string found, std::string expected, std::string nearest) {
  return {Fault::bad_input, {}, std::move(what), std::move(found), std::move(expected), std::move(nearest)};
}

Problem ours(std::string what) { return {Fault::our_fault, {}, std::move(what), {}, {}, {}}; }

}  // namespace fettle
