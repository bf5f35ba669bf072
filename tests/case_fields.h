#pragma once
// For tests: the fields of one line of a case file; the last field is the source and may hold commas.
#include <string>
#include <vector>

namespace fettle::test {

inline std::vector<std::string> fields(const std::string& line, std::size_t count) {
  std::vector<std::string> out;
  std::size_t from = 0;
  while (out.size() + 1 < count) {
    const std::size_t comma = line.find(',', from);
    if (comma == std::string::npos) break;
    out.push_back(line.substr(from, comma - from));
    from = comma + 1;
  }
  out.push_back(line.substr(from));
  for (std::string& f : out)
    if (f.size() >= 2 && f.front() == '"' && f.back() == '"') f = f.substr(1, f.size() - 2);
  return out;
}

}  // namespace fettle::test
