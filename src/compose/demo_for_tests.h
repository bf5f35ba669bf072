#pragma once
// The demo's plans, read once with edits: for tests.
#include <gtest/gtest.h>

#include <string>
#include <utility>
#include <vector>

#include "base/text.h"
#include "plan/read.h"

namespace fettle::compose::demo {

inline std::string folder() { return std::string(FETTLE_SOURCE_DIR) + "/plans/demo/"; }

using Edit = std::pair<std::string, std::string>;
/// The demo's plan of that name with edits, each of which must be found; the first place counts.
inline plan::Plan plan_of(const std::string& name, const std::vector<Edit>& edits = {}) {
  const Outcome<std::string> text = base::read_file(folder() + name);
  EXPECT_TRUE(text.ok());
  std::string t = text.ok() ? *text : "";
  for (const auto& [from, to] : edits) {
    const std::size_t at = t.find(from);
    EXPECT_NE(at, std::string::npos) << from;
    if (at != std::string::npos) t.replace(at, from.size(), to);
  }
  Outcome<plan::Plan> p =
      plan::read_plan(t, folder() + name, [](const std::string& path) { return base::read_file(path); });
  EXPECT_TRUE(p.ok()) << (p.ok() ? "" : say(p.problem()));
  return p.ok() ? std::move(p.value()) : plan::Plan{};
}

}  // namespace fettle::compose::demo
