#pragma once
// Bounds of inputs, written so that a NaN fails them; all problems are collected.
#include <fmt/format.h>

#include <cmath>
#include <string_view>
#include <utility>

#include "base/outcome.h"
#include "base/text.h"

namespace fettle::timing {

struct Check {
  Problems problems;
  void at_least(std::string_view what, double x, double low) {
    if (!(x >= low) || !std::isfinite(x)) refuse(what, x, fmt::format("at least {}", base::shortest(low)));
  }
  void more_than(std::string_view what, double x, double low) {
    if (!(x > low) || !std::isfinite(x)) refuse(what, x, fmt::format("more than {}", base::shortest(low)));
  }
  void between(std::string_view what, double x, double low, double high) {
    if (!(x >= low && x <= high))
      refuse(what, x, fmt::format("between {} and {}", base::shortest(low), base::shortest(high)));
  }
  void refuse(std::string_view what, double x, std::string expected) {
    problems.push_back(bad(fmt::format("{} out of range", what),
                           std::isfinite(x) ? base::shortest(x) : "not a finite number", std::move(expected)));
  }
};

}  // namespace fettle::timing
