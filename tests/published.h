#pragma once
// A check against the outside: compares, and leaves a record from which docs/validation.md is written.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <filesystem>
#include <string>

#include "places.h"

namespace fettle::test {

/// How the expected value was obtained.
enum class How { read, from_memory, computed, exact };

inline std::string escape(const std::string& s) {
  std::string out;
  for (char c : s) {
    if (c == '"' || c == '\\') out += '\\';
    out += c == '\n' ? ' ' : c;
  }
  return out;
}

/// Expects |got - expected| <= allowed (all in the unit named in `quantity`, e.g. "raw dimension, mm") and records the
/// row.
inline void published(const std::string& science, const std::string& quantity, const std::string& source, How how,
                      double expected, double got, double allowed) {
  const bool pass = std::fabs(got - expected) <= allowed;
  EXPECT_TRUE(pass) << science << ": " << quantity << ": expected " << expected << ", got " << got << ", allowed "
                    << allowed << " (" << source << ")";
  EXPECT_FALSE(source.empty());
  const char* names[] = {"read", "from memory", "computed", "exact"};
  const std::string dir = std::string(fettle::test::binary_dir) + "/records";
  std::filesystem::create_directories(dir);
  char line[4096];
  const int n = std::snprintf(
      line, sizeof line,
      "{\"science\":\"%s\",\"quantity\":\"%s\",\"source\":\"%s\",\"how\":\"%s\",\"expected\":%.17g,\"got\":%.17g,"
      "\"allowed\":%.17g,\"pass\":%s}\n",
      escape(science).c_str(), escape(quantity).c_str(), escape(source).c_str(), names[static_cast<int>(how)], expected,
      got, allowed, pass ? "true" : "false");
  if (std::FILE* f = std::fopen((dir + "/" + science + ".jsonl").c_str(), "a")) {
    std::fwrite(line, 1, static_cast<std::size_t>(n), f);
    std::fclose(f);
  }
}

}  // namespace fettle::test
