// Every file of plans/bad says in its first lines which problems it must give and where; it must give these and no
// other.
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <regex>
#include <string>
#include <vector>

#include "base/text.h"
#include "plan/read.h"

using namespace fettle;

namespace {

struct Expected {
  std::string file;  // name below the folder of bad plans
  int line = 0, column = 0;
  std::string part;
};

std::string folder() { return std::string(FETTLE_SOURCE_DIR) + "/plans/bad"; }

/// "# expect: 6:13: message part" or "# expect in files/x.toml: 6:13: message part", one a line at the top.
std::vector<Expected> expected_of(const std::string& name, const std::string& text) {
  static const std::regex form(R"(^# expect(?: in (\S+))?: (\d+):(\d+): (.+)$)");
  std::vector<Expected> out;
  for (const std::string& line : base::split(text, '\n')) {
    std::smatch m;
    if (!std::regex_match(line, m, form)) break;
    out.push_back({m[1].matched ? m[1].str() : name, std::stoi(m[2]), std::stoi(m[3]), m[4]});
  }
  return out;
}

std::vector<std::string> plans() {
  std::vector<std::string> out;
  for (const auto& e : std::filesystem::directory_iterator(folder()))
    if (e.path().extension() == ".toml") out.push_back(e.path().filename().string());
  std::sort(out.begin(), out.end());
  return out;
}

}  // namespace

TEST(BadPlans, GiveTheExpectedMessageAtTheExpectedPlaceAndNoOther) {
  const std::vector<std::string> names = plans();
  EXPECT_GE(names.size(), 60U);
  for (const std::string& name : names) {
    const std::string path = folder() + "/" + name;
    const auto text = base::read_file(path);
    ASSERT_TRUE(text.ok()) << path;
    const std::vector<Expected> expected = expected_of(name, *text);
    EXPECT_FALSE(expected.empty()) << name << " expects nothing";
    const auto plan = plan::read_plan(path);
    ASSERT_FALSE(plan.ok()) << name << " was read without a problem";
    std::string all;
    for (const Problem& p : plan.problems()) all += "\n  " + say(p);
    EXPECT_EQ(plan.problems().size(), expected.size()) << name << all;
    for (const Expected& e : expected)
      EXPECT_TRUE(std::any_of(plan.problems().begin(), plan.problems().end(),
                              [&](const Problem& p) {
                                return p.where.file == folder() + "/" + e.file && p.where.line == e.line &&
                                       p.where.column == e.column && say(p).find(e.part) != std::string::npos;
                              }))
          << name << ": missing " << e.file << ":" << e.line << ":" << e.column << ": " << e.part << "\ngot" << all;
    for (const Problem& p : plan.problems()) {
      EXPECT_EQ(p.fault, Fault::bad_input) << say(p);
      EXPECT_FALSE(p.expected.empty() && p.nearest.empty()) << name << " does not say what is right: " << say(p);
    }
  }
}
