// The five public parts: nothing invented, nothing lost, and the table of docs/begin.md is what happens.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "base/text.h"
#include "begin/begin.h"
#include "solid/build.h"

namespace fettle::begin {
namespace {

using nlohmann::json;
const std::string folder = FETTLE_PARTS_DIR;

struct Part {
  std::string name, text;
  solid::Model model;
  Drawing drawing;
};

const std::vector<Part>& parts() {
  static const std::vector<Part> list = [] {
    std::vector<Part> out;
    if (!std::filesystem::exists(folder + "/truth.json")) return out;
    std::ifstream in(folder + "/truth.json");
    const json truth = json::parse(in);
    for (const auto& item : truth.items()) {
      Part p;
      p.name = item.key();
      const auto text = base::read_file(folder + "/" + p.name + ".stp");
      if (!text.ok()) continue;
      p.text = *text;
      const auto model = solid::read_step_text(p.text, p.name);
      const auto drawing = read_drawing(p.text, p.name, "");
      EXPECT_TRUE(model.ok() && drawing.ok()) << p.name;
      if (!model.ok() || !drawing.ok()) continue;
      p.model = *model;
      p.drawing = *drawing;
      out.push_back(std::move(p));
    }
    return out;
  }();
  return list;
}

Outcome<Begun> begun(const Part& p, const std::string& up = {}, const std::string& origin = {}) {
  Options o;
  o.name = p.name;
  o.model = p.name + ".stp";
  o.up = up;
  o.origin = origin;
  o.inch = p.model.unit == "in";
  return begin(p.model, p.drawing, nullptr, "", o);
}

#define NEEDS_PARTS                                                                                  \
  if (!std::filesystem::exists(folder + "/truth.json"))                                              \
    GTEST_SKIP() << "skipped: " << folder << "/truth.json is not here, so real parts are not begun"; \
  ASSERT_EQ(parts().size(), 5U)

const json* by_step(const json& list, std::uint64_t step) {
  for (const json& x : list)
    if (x["step"] == step) return &x;
  return nullptr;
}

/// Limits of a dimension as the truth file says them, mm or rad.
std::pair<double, double> limits_of(const json& d) {
  double nominal = 0, least = 0, most = 0;
  bool stated = false;
  for (const json& v : d["values"]) {
    const std::string name = v[0];
    if (name.find("lower") != std::string::npos) least = v[1], stated = true;
    else if (name.find("upper") != std::string::npos) most = v[1], stated = true;
    else nominal = v[1];
  }
  if (stated) return {least, most};
  if (!d["fit"].is_null()) {
    // ISO 286-2: G6 over 3 to 6 mm is +0.012/+0.004.
    EXPECT_EQ(d["fit"][0], "G6");
    EXPECT_EQ(nominal, 3.5);
    return {3.504, 3.512};
  }
  return {nominal + d["lower"].get<double>(), nominal + d["upper"].get<double>()};
}

TEST(BeginParts, nothing_is_invented) {
  NEEDS_PARTS;
  std::ifstream in(folder + "/truth.json");
  const json truth = json::parse(in);
  int compared = 0;
  for (const Part& p : parts()) {
    const auto b = begun(p);
    ASSERT_TRUE(b.ok()) << p.name << " " << say(b.problem());
    const Drawn& d = b->drawn;
    EXPECT_EQ(d.requirements + d.basic + d.reference + d.left_open, d.dimensions + d.tolerances) << p.name;
    EXPECT_EQ(d.dimensions, static_cast<int>(truth[p.name]["dimensions"].size()));
    EXPECT_EQ(d.tolerances, static_cast<int>(truth[p.name]["tolerances"].size()));
    EXPECT_EQ(d.datums, static_cast<int>(truth[p.name]["datums"].size()));
    std::set<std::uint64_t> entities;
    for (const plan::Requirement& r : b->plan.requirements) {
      const std::string what = p.name + " " + r.id.value;
      ASSERT_EQ(b->entity_of.count(r.id.value), 1U) << what;
      const std::uint64_t step = b->entity_of.at(r.id.value);
      entities.insert(step);
      ++compared;
      ASSERT_TRUE(r.limits.value.upper) << what;
      if (const json* t = by_step(truth[p.name]["tolerances"], step)) {
        const double want = (*t)["value_mm"];
        EXPECT_NEAR(*r.limits.value.upper * 1e3, want, 1e-6 * std::max(1.0, want)) << what;
        std::vector<std::string> frame;
        for (const json& letters : (*t)["frame"]) frame.push_back(letters);
        EXPECT_EQ(r.datums.value, frame) << what;
        continue;
      }
      const json* t = by_step(truth[p.name]["dimensions"], step);
      ASSERT_NE(t, nullptr) << what;
      const double times = r.limits.value.kind == unit::Kind::angle ? 1 : 1e3;
      const auto [least, most] = limits_of(*t);
      ASSERT_TRUE(r.limits.value.lower) << what;
      EXPECT_NEAR(*r.limits.value.lower * times, least, 1e-6 * std::max(1.0, most)) << what;
      EXPECT_NEAR(*r.limits.value.upper * times, most, 1e-6 * std::max(1.0, most)) << what;
    }
    EXPECT_EQ(static_cast<int>(entities.size()), d.requirements) << p.name;
    // Every datum letter of the drawing stands on exactly one feature.
    std::map<std::string, int> letters;
    for (const plan::Feature& f : b->plan.features)
      for (const std::string& l : base::split(f.datum.value, ' '))
        if (!l.empty() && l != "-") ++letters[l];
    EXPECT_EQ(static_cast<int>(letters.size()), d.datums) << p.name;
    for (const auto& [letter, n] : letters) EXPECT_EQ(n, 1) << p.name << " " << letter;
  }
  EXPECT_GT(compared, 100);
}

TEST(BeginParts, every_hole_of_the_truth_is_a_point_of_a_feature) {
  NEEDS_PARTS;
  std::ifstream in(folder + "/truth.json");
  const json truth = json::parse(in);
  for (const Part& p : parts()) {
    const auto b = begun(p);
    ASSERT_TRUE(b.ok());
    std::map<std::string, std::size_t> points;  // by stem: "H2a" and "H2b" are one hole
    for (const plan::Feature& f : b->plan.features) {
      const std::string& id = f.id.value;
      if (id[0] != 'H') continue;
      const std::string stem =
          id.find('t') != std::string::npos ? id : id.substr(0, id.find_first_of("abcdefghijklmnopqrsuvwxyz"));
      points[stem] = std::max(points[stem], f.at.value.size());
    }
    std::size_t holes = 0;
    for (const auto& [stem, n] : points) holes += n;
    EXPECT_EQ(holes, truth[p.name]["holes"].size()) << p.name;
  }
}

TEST(BeginParts, any_way_up_reads_back) {
  NEEDS_PARTS;
  for (const Part& p : parts())
    for (const char* up : {"+x", "-x", "+y", "-y", "+z", "-z"}) {
      const auto b = begun(p, up, "1.5, -2, 3 mm");
      ASSERT_TRUE(b.ok()) << p.name << " " << up << " " << say(b.problem());
    }
}

TEST(BeginParts, a_re_export_keeps_the_features) {
  NEEDS_PARTS;
  for (const Part& p : parts()) {
    Part bare = p;
    bare.drawing = {};
    solid::Rewrite how;
    how.shuffle = 5;
    const auto text = solid::rewrite_step(p.text, p.name, how);
    ASSERT_TRUE(text.ok()) << say(text.problem());
    const auto model = solid::read_step_text(*text, p.name);
    ASSERT_TRUE(model.ok()) << say(model.problem());
    const auto first = begun(bare);
    bare.model = *model;
    bare.model.unit = p.model.unit;
    const auto again = begun(bare);
    ASSERT_TRUE(first.ok() && again.ok());
    EXPECT_EQ(again->text, first->text) << p.name;
  }
}

TEST(BeginParts, the_table_in_the_docs_is_what_happens) {
  NEEDS_PARTS;
  const auto docs = base::read_file(std::string(FETTLE_SOURCE_DIR) + "/docs/begin.md");
  ASSERT_TRUE(docs.ok());
  for (const Part& p : parts()) {
    const auto b = begun(p);
    ASSERT_TRUE(b.ok());
    const Drawn& d = b->drawn;
    const std::string row =
        fmt::format("| {} | {} | {} | {} | {} | {} | {} | {} | {} |", p.name, d.dimensions, d.tolerances, d.datums,
                    d.requirements, d.basic, d.reference, d.left_open, b->plan.features.size());
    EXPECT_NE(docs->find(row), std::string::npos) << "docs/begin.md needs the row\n" << row;
  }
}

}  // namespace
}  // namespace fettle::begin
