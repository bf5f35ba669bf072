#include "app/cli/program_draw.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <iostream>
#include <set>
#include <sstream>

#include "app/cli/program_views.h"
#include "app/cli/study_text.h"
#include "base/text.h"
#include "plan/read.h"

namespace fettle::cli {
namespace {

namespace fs = std::filesystem;

std::string demo(const std::string& name) { return std::string(FETTLE_SOURCE_DIR) + "/plans/demo/" + name; }
plan::Plan demo_plan(const std::string& name = "plan-0.toml") {
  auto p = plan::read_plan(demo(name));
  EXPECT_TRUE(p.ok());
  return p.value();
}
Followed followed(const plan::Plan& p, const std::string& operation, Closely look = Closely::ways) {
  const auto text = made_program(p, operation);
  EXPECT_TRUE(text.ok()) << say(text.problem());
  auto f = follow(p, operation, text->text, text->file, look);
  EXPECT_TRUE(f.ok()) << say(f.problem());
  return f.value();
}

/// OP30 with every move proved, once for all tests here.
const Followed& proved() {
  static const Followed f = followed(demo_plan(), "OP30", Closely::walk);
  return f;
}

struct ProgramDraw : ::testing::Test {
  fs::path folder = fs::temp_directory_path() /
                    ("fettle-draw-" + std::string(::testing::UnitTest::GetInstance()->current_test_info()->name()));
  std::ostringstream said, wrong;
  std::streambuf* out = std::cout.rdbuf(said.rdbuf());
  std::streambuf* err = std::cerr.rdbuf(wrong.rdbuf());
  ProgramDraw() { fs::remove_all(folder); }
  ~ProgramDraw() override {
    std::cout.rdbuf(out), std::cerr.rdbuf(err);
    fs::remove_all(folder);
  }
  ProgramDrawArguments of(const std::string& operation) const {
    ProgramDrawArguments a;
    a.plan = demo("plan-0.toml");
    a.operation = operation;
    a.out = folder.string();
    a.quick = true;
    return a;
  }
  std::string text(const std::string& name) const {
    const auto t = base::read_file((folder / name).string());
    EXPECT_TRUE(t.ok()) << name;
    return t.ok() ? *t : "";
  }
};

TEST_F(ProgramDraw, WritesPicturesOfSaneSizesAndOnePaper) {
  ASSERT_EQ(program_draw_command(of("OP20")), 0) << wrong.str();
  for (const char* name : {"op20-paths.svg", "op20-engagement.svg"}) {
    const std::string svg = text(name);
    EXPECT_NE(svg.find("</svg>"), std::string::npos) << name;
    EXPECT_LT(svg.size(), 3U << 20U) << name;
  }
  EXPECT_EQ(text("op20-program.pdf").substr(0, 5), "%PDF-");
  EXPECT_FALSE(fs::exists(folder / "op20-coolant.svg")) << "no pallet there";
  EXPECT_NE(text("op20-paths.svg").find("quick move"), std::string::npos);
  EXPECT_NE(text("op20-engagement.svg").find("cm³/min"), std::string::npos);
  EXPECT_NE(said.str().find("not made"), std::string::npos) << "the chamfer of OP20 names no features";
  const std::string before = text("op20-program.pdf");
  ProgramDrawArguments inch = of("OP20");
  ASSERT_EQ(program_draw_command(of("OP20")), 0);
  EXPECT_EQ(text("op20-program.pdf"), before);
  inch.inches = true;
  ASSERT_EQ(program_draw_command(inch), 0) << wrong.str();
  EXPECT_NE(text("op20-engagement.svg").find("in³/min"), std::string::npos);
}

TEST_F(ProgramDraw, BadInputWritesNothing) {
  EXPECT_EQ(program_draw_command(of("OP31")), 2);
  EXPECT_NE(wrong.str().find("OP30"), std::string::npos);
  EXPECT_EQ(program_draw_command(of("")), 2);
  ProgramDrawArguments a = of("OP30");
  a.program = (folder / "none.nc").string();
  EXPECT_EQ(program_draw_command(a), 2);
  a = of("OP30");
  a.inches = a.metric = true;
  EXPECT_EQ(program_draw_command(a), 2);
  EXPECT_FALSE(fs::exists(folder));
}

TEST(ProgramFollow, ToolsStandOverTheirFeaturesAtEveryNest) {
  const plan::Plan p = demo_plan();
  const Followed f = followed(p, "OP30");
  ASSERT_EQ(f.nests.size(), 8U);
  EXPECT_EQ(f.nests[0], "1.1");
  EXPECT_EQ(f.nests[7], "2.4");
  EXPECT_TRUE(f.timed);
  // T15 cuts the groove F5 on the bore's axis, which is each nest's middle: the ring's middle is there.
  std::map<int, std::array<double, 4>> box;
  for (const Waypoint& w : f.way) {
    if (w.tool < 0 || f.tools[static_cast<std::size_t>(w.tool)].id != "T15" || w.kind != Waypoint::Kind::feed) continue;
    auto& b = box.emplace(w.nest, std::array<double, 4>{1e9, -1e9, 1e9, -1e9}).first->second;
    b = {std::min(b[0], w.to.x), std::max(b[1], w.to.x), std::min(b[2], w.to.y), std::max(b[3], w.to.y)};
  }
  ASSERT_EQ(box.size(), 8U);
  for (const auto& [nest, b] : box) {
    const frame::Vec3 at = f.set_up.nests[static_cast<std::size_t>(nest)].at;
    EXPECT_NEAR(0.5 * (b[0] + b[1]), at.x, 2e-4) << nest;
    EXPECT_NEAR(0.5 * (b[2] + b[3]), at.y, 2e-4) << nest;
  }
  double sum = 0;
  for (const FollowedTool& t : f.tools) sum += t.seconds;
  EXPECT_LE(sum, f.total + 1e-6);
  EXPECT_GT(sum, 0.99 * f.total);
}

TEST(ProgramFollow, WhatIsTurnedOverIsLeftOut) {
  const plan::Plan p = demo_plan();
  const Followed f = followed(p, "OP10a");
  EXPECT_GT(f.other_lines, 0);
  std::size_t stop = f.run.moves.size();
  for (std::size_t i = 0; i < f.run.moves.size() && stop == f.run.moves.size(); ++i)
    for (const program::Remark& r : f.run.remarks)
      if (f.run.moves[i].kind == program::Motion::stop && f.run.moves[i].line == r.line &&
          r.text.rfind("turn the parts over", 0) == 0)
        stop = i;
  ASSERT_LT(stop + 1, f.run.moves.size());
  for (const Waypoint& w : f.way) ASSERT_LE(static_cast<std::size_t>(w.move), stop);
  EXPECT_EQ(f.other_lines, f.run.moves[stop + 1].line);
}

TEST(ProgramViews, PathsNameToolsNestsAndHeights) {
  const plan::Plan p = demo_plan();
  const drawings::PathsView v = paths_view(p, proved());
  ASSERT_EQ(v.tools.size(), 9U);
  EXPECT_EQ(v.pallet.nests.size(), 4U) << "of the first pallet";
  EXPECT_NE(v.sentence.find("alike"), std::string::npos) << v.sentence;
  for (const drawings::ToolPath& t : v.tools) {
    EXPECT_FALSE(t.strokes.empty()) << t.tool;
    EXPECT_NE(t.facts.find("nests"), std::string::npos) << t.facts;
  }
  EXPECT_NE(v.tools[0].facts.find("down to Z"), std::string::npos) << v.tools[0].facts;
  // Without the proof, as on the study's paper: the same ways and places, told from the heights alone.
  const drawings::PathsView quick = paths_view(p, followed(p, "OP30"));
  ASSERT_EQ(quick.tools.size(), v.tools.size());
  for (std::size_t k = 0; k < v.tools.size(); ++k) {
    EXPECT_EQ(quick.tools[k].strokes.size(), v.tools[k].strokes.size());
    EXPECT_TRUE(std::isfinite(quick.tools[k].start.x)) << v.tools[k].tool;
  }
  const auto drill =
      std::find_if(quick.tools.begin(), quick.tools.end(), [](const auto& t) { return t.tool == "T17"; });
  ASSERT_NE(drill, quick.tools.end());
  std::set<std::pair<long, long>> holes;
  for (const drawings::Point& x : drill->plunges) holes.insert({std::lround(1e5 * x.x), std::lround(1e5 * x.y)});
  EXPECT_EQ(holes.size(), 16U) << "four holes at each of four nests";
}

TEST(ProgramViews, TheHeaviestLineIsTheProofs) {
  const plan::Plan p = demo_plan();
  const Followed& f = proved();
  const drawings::EngagementView v = engagement_view(p, f);
  EXPECT_GT(v.worst_at, 0);
  EXPECT_EQ(v.rows.size(), f.tools.size());
  // The most that T11 takes: 3.5 mm of stock at most, 18.5 mm deep; by hand no more than width x depth x feed.
  double most = 0;
  for (const drawings::EngagedPiece& e : v.pieces) {
    ASSERT_EQ(e.values.size(), v.panels.size());
    most = std::max(most, e.values[0]);
    EXPECT_LE(e.values[2], 360.5);
  }
  EXPECT_GT(most, 1);
  EXPECT_LT(most, 500);
}

TEST(ProgramViews, CoolantIsThatOfTheFinding) {
  for (const char* name : {"plan-0.toml", "plan-0-inch.toml"}) {
    const plan::Plan p = demo_plan(name);
    const auto v = pools_view(p);
    ASSERT_TRUE(v.has_value());
    ASSERT_EQ(v->plans.size(), 2U);
    EXPECT_FALSE(v->plans[1].notes.empty());
    EXPECT_NE(v->sentence.find(style_of(p).system == unit::Style::System::inch ? "in³" : "cm³"), std::string::npos)
        << v->sentence;
    // One arrow from each nest and two along the channel across.
    EXPECT_EQ(v->plans[0].flows.size(), 6U);
  }
  plan::Plan p = demo_plan();
  p.pallet.plate.size = {};
  EXPECT_FALSE(pools_view(p).has_value());
}

}  // namespace
}  // namespace fettle::cli
