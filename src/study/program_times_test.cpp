// The demo's pallet operation with a program whose times can be added up by hand.
#include "study/program_times.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "published.h"
#include "study/demo_for_tests.h"

namespace fettle::study {
namespace {

using finding::Finding;
using finding::State;
using test::How;
using test::published;

const std::vector<demo::Edit> with_program = {{"id = \"OP30\"\n", "id = \"OP30\"\nprogram = \"programs/op30.nc\"\n"}};

plan::Plan plan_of(const std::vector<demo::Edit>& edits) {
  auto p = demo::read(demo::edited(demo::text_of("plan-0.toml"), edits));
  EXPECT_TRUE(p.ok()) << (p.ok() ? "" : say(p.problem()));
  return p.ok() ? std::move(p.value()) : plan::Plan{};
}
std::vector<std::string> tools_of(const plan::Plan& p) {
  std::vector<std::string> out;
  for (const plan::Cut& c : plan::find_operation(p, "OP30")->cuts)
    if (std::find(out.begin(), out.end(), c.tool.value) == out.end()) out.push_back(c.tool.value);
  return out;
}
/// Every tool cuts 100 mm at 600 mm/min in each of eight zeros.
std::string program_of(const std::vector<std::string>& tools, const std::string& feed = "600") {
  std::string out = "%\nG21 G17 G90 G94 G40 G80 G54\nG0 X100 Y0 Z50\n";
  for (const std::string& tool : tools) {
    out += tool + " M6\nS2000 M3\n";
    for (const char* zero : {"G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2"})
      out += std::string(zero) + "\nG0 X0 Y0 Z50\nG0 Z0\nG1 X100 F" + feed + "\nG0 Z50\n";
  }
  return out + "M30\n%\n";
}
// Rest to rest with 2.5 m/s2 and 20 m/s3, 30 m/min; closed forms.
const double line = 0.1 / 0.01 + 2 * std::sqrt(0.01 / 20);
const double way_100 = 0.125 + std::sqrt(0.125 * 0.125 + 4 * 0.1 / 2.5), way_50 = 4 * std::cbrt(0.05 / 40);

demo::Run run_of(const std::vector<demo::Edit>& edits, const std::string& text,
                 const Options& options = demo::quick()) {
  demo::Run r;
  r.plan = plan_of(edits);
  Data data = load_data(r.plan);
  data.not_read.erase("programs/op30.nc");
  data.files["programs/op30.nc"] = text;
  Options only = options;
  only.only = {"time and cost"};
  Memo memo;
  auto s = study::run(r.plan, data, only, memo);
  EXPECT_TRUE(s.ok());
  if (s.ok()) r.study = std::move(s.value());
  return r;
}
const finding::Input* input(const Finding& f, const std::string& name) {
  for (const finding::Input& i : f.inputs)
    if (i.name == name) return &i;
  return nullptr;
}

TEST(ProgramTimes, AddedUpByHand) {
  const plan::Plan p = plan_of(with_program);
  const std::vector<std::string> tools = tools_of(p);
  const double n = static_cast<double>(tools.size());
  const ProgramTiming t = time_program(p, *plan::find_operation(p, "OP30"), "programs/op30.nc", program_of(tools));
  ASSERT_TRUE(t.ok()) << t.missing.front();
  EXPECT_EQ(t.parts, 8);
  EXPECT_FALSE(t.parts_said);
  EXPECT_EQ(t.tools.size(), tools.size() + 1);  // and the way before the first tool
  EXPECT_EQ(t.zeros.size(), 8U);
  EXPECT_TRUE(t.not_here.empty());
  EXPECT_TRUE(t.not_there.empty());
  const std::string source = "closed forms of moves from rest to rest, added up by hand";
  published("study", "program of the pallet, in the feed, s", source, How::exact, 8 * n * line, t.motion.sum.cutting,
            1e-6);
  published("study", "program of the pallet, tool changes, s", source, How::exact, n * 4.5, t.motion.sum.change, 1e-9);
  published("study", "program of the pallet, spindle starts, s", source, How::exact, n * 1.5 * 2000 / 8000,
            t.motion.sum.spindle, 1e-6);
  const double first = t.motion.sum.rapid - 8 * n * (way_100 + 2 * way_50);
  EXPECT_GT(first, 0);  // from home to the first place
  EXPECT_LT(first, 1);
  EXPECT_NE(t.source.find("program programs/op30.nc, motion with jerk 20"), std::string::npos) << t.source;
  EXPECT_LT(t.low, 1);  // spindle start and block time are assumed with bands
  EXPECT_GT(t.high, 1);
}

TEST(ProgramTimes, TheStudyCountsThem) {
  const plan::Plan p = plan_of(with_program);
  const auto tools = tools_of(p);
  const double n = static_cast<double>(tools.size());
  const std::string text = program_of(tools);
  const demo::Run r = run_of(with_program, text);
  const Finding keep = r.at("op30.-.hands_keep_up");
  const ProgramTiming t = time_program(p, *plan::find_operation(p, "OP30"), "programs/op30.nc", text);
  // Probing is the plan's half minute: the program does not probe.
  EXPECT_NEAR(input(keep, "machine time of a set")->si, t.motion.sum.total() + 30, 1e-6);
  EXPECT_NEAR(input(keep, "of it cutting")->si, 8 * n * line, 1e-6);
  EXPECT_NEAR(input(keep, "of it tool changes")->si, n * (4.5 + 1.5 * 2000 / 8000), 1e-6);
  EXPECT_NEAR(keep.value, 1200 / (t.motion.sum.total() + 30), 1e-6);  // 20 min of hands
  const Finding f = r.at("op30.-.program_time");
  double said = 0;
  for (const plan::Cut& c : plan::find_operation(p, "OP30")->cuts) said += c.time.si;
  EXPECT_NEAR(f.value, (t.motion.sum.cutting + t.motion.sum.rapid - t.tools[0].times.rapid) / 8 / said, 1e-9);
  EXPECT_EQ(f.state, State::inside);  // far quicker than the plan's times
  EXPECT_FALSE(f.levers.empty());
  EXPECT_NE(f.sentence.find("programs/op30.nc runs"), std::string::npos) << f.sentence;
  ASSERT_EQ(f.assumptions.size(), 1U);
  EXPECT_EQ(f.assumptions[0].key, "operation.program");
  // Without it the plan's own times stand, and no finding speaks of a program.
  const demo::Run without = run_of({}, text);
  EXPECT_EQ(without.find("op30.-.program_time"), nullptr);
  EXPECT_NEAR(input(without.at("op30.-.hands_keep_up"), "of it cutting")->si, 8 * 6.895 * 60, 1e-6);
  // The week follows.
  EXPECT_LT(r.at("shop.B.hours").value, without.at("shop.B.hours").value);
}

TEST(ProgramTimes, SlowerThanThePlanIsOutside) {
  const auto tools = tools_of(plan_of(with_program));
  const demo::Run r = run_of(with_program, program_of(tools, "60"));
  EXPECT_EQ(r.at("op30.-.program_time").state, State::outside);
}

TEST(ProgramTimes, ToolsThatDoNotMatchAreNamed) {
  const plan::Plan p = plan_of(with_program);
  auto tools = tools_of(p);
  const std::string gone = tools.back();
  tools.back() = "T77";
  const demo::Run r = run_of(with_program, program_of(tools));
  const Finding f = r.at("op30.-.program_time");
  ASSERT_NE(input(f, "tools that the plan's operation has no cut for"), nullptr);
  EXPECT_EQ(input(f, "tools that the plan's operation has no cut for")->text, "T77");
  ASSERT_NE(input(f, "tools of the plan that it never loads"), nullptr);
  EXPECT_EQ(input(f, "tools of the plan that it never loads")->text.substr(0, gone.size()), gone);
  // Its time is counted all the same, and so is the plan's for the tool that is missing.
  const ProgramTiming t = time_program(p, *plan::find_operation(p, "OP30"), "programs/op30.nc", program_of(tools));
  double typed = 0;
  for (const plan::Cut& c : plan::find_operation(p, "OP30")->cuts)
    if (c.tool.value == gone) typed += c.time.si;
  EXPECT_NEAR(input(r.at("op30.-.hands_keep_up"), "machine time of a set")->si, t.motion.sum.total() + 30 + 8 * typed,
              1e-6);
}

TEST(ProgramTimes, OneRunForOnePart) {
  // As the plan says: then eight runs make a set, and tools change in each.
  const auto edits = std::vector<demo::Edit>{
      {"id = \"OP30\"\n", "id = \"OP30\"\nprogram = \"programs/op30.nc\"\nprogram_parts = 4\n"}};
  const plan::Plan p = plan_of(edits);
  const std::string text = program_of(tools_of(p));
  const ProgramTiming t = time_program(p, *plan::find_operation(p, "OP30"), "programs/op30.nc", text);
  EXPECT_EQ(t.parts, 4);
  EXPECT_TRUE(t.parts_said);
  const demo::Run r = run_of(edits, text);
  EXPECT_NEAR(input(r.at("op30.-.hands_keep_up"), "machine time of a set")->si, 2 * t.motion.sum.total() + 30, 1e-6);
}

TEST(ProgramTimes, TheCallersTimesWin) {
  Options o = demo::quick();
  o.program_times = {{"OP30", "T11", 100, "stopwatch, 12 parts"}};
  const demo::Run typed = run_of({}, "", o);
  double said = 0;
  for (const plan::Cut& c : plan::find_operation(typed.plan, "OP30")->cuts)
    if (c.tool.value == "T11") said += c.time.si;
  EXPECT_NEAR(input(typed.at("op30.-.hands_keep_up"), "of it cutting")->si, 8 * (6.895 * 60 - said + 100), 1e-6);
  const auto tools = tools_of(typed.plan);
  const demo::Run both = run_of(with_program, program_of(tools), o);
  EXPECT_NEAR(input(both.at("op30.-.hands_keep_up"), "of it cutting")->si,
              8 * (static_cast<double>(tools.size() - 1) * line + 100), 1e-6);
}

TEST(ProgramTimes, WhatIsMissingIsOpen) {
  const auto tools = tools_of(plan_of(with_program));
  const auto open = [&](const std::vector<demo::Edit>& edits, const std::string& text, const std::string& words) {
    const demo::Run r = run_of(edits, text);
    const Finding f = r.at("op30.-.program_time");
    EXPECT_EQ(f.state, State::open);
    ASSERT_FALSE(f.missing.empty()) << words;
    EXPECT_NE(f.missing.front().find(words), std::string::npos) << f.missing.front();
    // The times fall back on the plan's own.
    EXPECT_NEAR(input(r.at("op30.-.hands_keep_up"), "of it cutting")->si, 8 * 6.895 * 60, 1e-6);
  };
  open(with_program, "G1 X10 Q\n", "a program that can be read");
  open(with_program, "G21 G90 G54\nG0 X10\nM30\n", "no move in the feed");
  plan::Plan p = plan_of(with_program);
  for (plan::Machine& m : p.shop.machines) m.jerk = {};
  const ProgramTiming t = time_program(p, *plan::find_operation(p, "OP30"), "x.nc", program_of(tools));
  ASSERT_EQ(t.missing.size(), 1U);
  EXPECT_NE(t.missing[0].find("machine.jerk of B"), std::string::npos) << t.missing[0];
}

TEST(ProgramTimes, AProgramThatIsNotThereOrLeavesTheFolder) {
  const demo::Run gone = demo::demo(with_program, [] {
    Options o = demo::quick();
    o.only = {"time and cost"};
    return o;
  }());
  EXPECT_EQ(gone.at("op30.-.program_time").state, State::open);
  for (const char* path : {"../op30.nc", "/etc/hostname", "programs/../../x.nc", "c:x.nc", "..\\x.nc"})
    EXPECT_FALSE(program_stays_inside(path)) << path;
  for (const char* path : {"op30.nc", "programs/op30.nc", "programs/../op30.nc", "./op30.nc", "a..b/op30.nc"})
    EXPECT_TRUE(program_stays_inside(path)) << path;
  const plan::Plan p = plan_of({{"id = \"OP30\"\n", "id = \"OP30\"\nprogram = \"../demo/plan-0.toml\"\n"}});
  const Data d = load_data(p);
  EXPECT_EQ(d.files.count("../demo/plan-0.toml"), 0U);
  EXPECT_NE(d.not_read.at("../demo/plan-0.toml").find("plan's folder"), std::string::npos);
}

TEST(ProgramTimes, NumbersOfTools) {
  EXPECT_EQ(tool_number("T11"), 11);
  EXPECT_EQ(tool_number("11"), 11);
  EXPECT_EQ(tool_number("T011"), 11);
  for (const char* id : {"", "T", "T1a", "drill8", "T99999999999"}) EXPECT_EQ(tool_number(id), 0) << id;
}

}  // namespace
}  // namespace fettle::study
