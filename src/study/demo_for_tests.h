#pragma once
// The demo plan with edits, studied: for tests.
#include <gtest/gtest.h>

#include <map>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "base/text.h"
#include "plan/read.h"
#include "study/study.h"

namespace fettle::study::demo {

inline std::string folder() { return std::string(FETTLE_SOURCE_DIR) + "/plans/demo/"; }
inline std::string text_of(const std::string& name) {
  const auto t = base::read_file(folder() + name);
  EXPECT_TRUE(t.ok()) << name;
  return t.ok() ? *t : "";
}

using Edit = std::pair<std::string, std::string>;
/// The text with each edit made exactly once; a text that is not there fails the test.
inline std::string edited(std::string text, const std::vector<Edit>& edits) {
  for (const auto& [from, to] : edits) {
    const std::size_t at = text.find(from);
    EXPECT_NE(at, std::string::npos) << "not in the plan: " << from;
    if (at != std::string::npos) text.replace(at, from.size(), to);
  }
  return text;
}

inline Outcome<plan::Plan> read(const std::string& text, const std::string& name = "plan-0.toml") {
  return plan::read_plan(text, folder() + name, [](const std::string& path) { return base::read_file(path); });
}

struct Run {
  plan::Plan plan;
  Study study;
  const finding::Finding* find(const std::string& id) const {
    for (const auto& f : study.findings)
      if (f.id == id) return &f;
    return nullptr;
  }
  /// A copy of the finding; an empty one (and a failure) when there is none.
  finding::Finding at(const std::string& id) const {
    const auto* f = find(id);
    EXPECT_NE(f, nullptr) << id;
    return f != nullptr ? *f : finding::Finding{};
  }
};

inline Options quick() {
  Options o;
  o.monte_carlo = false;
  return o;
}

/// `table`: instead of castings.csv.
inline Run run(const std::string& text, const Options& options = quick(), Memo* memo = nullptr,
               const std::string& table = "", const std::string& name = "plan-0.toml") {
  Run r;
  auto p = read(text, name);
  EXPECT_TRUE(p.ok());
  if (!p.ok()) {
    for (const Problem& x : p.problems()) ADD_FAILURE() << say(x);
    return r;
  }
  r.plan = std::move(p.value());
  Data data = load_data(r.plan);
  if (!table.empty()) data.files["castings.csv"] = table;
  Memo own;
  auto s = study::run(r.plan, data, options, memo != nullptr ? *memo : own);
  EXPECT_TRUE(s.ok());
  if (!s.ok()) {
    for (const Problem& x : s.problems()) ADD_FAILURE() << say(x);
    return r;
  }
  r.study = std::move(s.value());
  return r;
}

inline Run demo(const std::vector<Edit>& edits = {}, const Options& options = quick(), Memo* memo = nullptr,
                const std::string& table = "") {
  return run(edited(text_of("plan-0.toml"), edits), options, memo, table);
}

}  // namespace fettle::study::demo
