// Faces that a tool passes over or along, and pairs of tool and feature that nobody can answer yet.
#include <cmath>

#include "published.h"
#include "study/demo_for_tests.h"

namespace fettle::study {
namespace {

using fettle::test::How;
using fettle::test::published;
using finding::State;
constexpr double mm = 1e-3;

demo::Run reach_of(const std::string& text) {
  Options o = demo::quick();
  o.only = {"reach"};
  return demo::run(text, o);
}
demo::Run second_plan(const std::vector<demo::Edit>& edits = {}) {
  return reach_of(demo::edited(demo::text_of("plan-1.toml"), edits));
}
std::string gives(const finding::Finding& f) { return base::join(f.missing, "\n"); }

TEST(StudyReachFaces, AFaceMillOverAnEdgeNeedsNoStickOut) {
  // The edge is the highest there is: down to the part's other edge 46.5 + 46.
  const auto f = second_plan().at("op10a.E1.reach.T1");
  EXPECT_EQ(f.state, State::inside);
  EXPECT_NEAR(f.value / mm, 92.5, 1e-9);
  EXPECT_NE(f.sentence.find("nothing rises above the face"), std::string::npos) << f.sentence;
}

TEST(StudyReachFaces, AMillAlongAnEndHasThePartBesideIt) {
  // Three parts at 158: axis 8 outside the roughed end at 66.25, the raw end of the next at 68.125, cutter 8 thick.
  published("study", "T11 between two parts, mm", "pitch and raw lengths of the demo by hand", How::computed,
            158 - 66.25 - 8 - 68.125 - 8, second_plan().at("op20.E3.reach.T11").value / mm, 1e-6);
  EXPECT_EQ(second_plan().at("op20.E4.reach.T11").state, State::inside);
  const auto near = second_plan({{"pitch = \"158 mm\"", "pitch = \"150 mm\""}}).at("op20.E3.reach.T11");
  EXPECT_EQ(near.state, State::outside);
  EXPECT_NEAR(near.value / mm, -0.375, 1e-6);
  EXPECT_NE(near.sentence.find("the part beside it"), std::string::npos) << near.sentence;
}

/// A block 100 x 60 x 50 with a step at 20 from x = 30 on; the top's size is said. One tool, one cut.
std::string block(const std::string& tool, const std::string& cut) {
  return "fettle = 1\n[plan]\nname = \"block\"\n[part]\nsize = \"100 x 60 x 50 mm\"\n"
         "[[feature]]\nid = \"outside\"\nkind = \"profile\"\nat = \"0, 0, 25 mm\"\nsize = \"100 x 60 mm\"\n"
         "from = \"0 mm\"\nto = \"50 mm\"\n"
         "[[feature]]\nid = \"top\"\nkind = \"face\"\nnormal = \"+z\"\nat = \"-10, 0, 50 mm\"\nsize = \"80 x 60 mm\"\n"
         "[[feature]]\nid = \"step\"\nkind = \"face\"\nnormal = \"+z\"\nat = \"40, 0, 20 mm\"\nsize = \"20 x 60 mm\"\n"
         "[[feature]]\nid = \"H\"\nkind = \"hole\"\nnormal = \"+x\"\ndiameter = \"Ø10 mm\"\nat = \"0, 0, 10 mm\"\n"
         "from = \"30 mm\"\nto = \"50 mm\"\n"
         "[[feature]]\nid = \"D\"\nkind = \"hole\"\nnormal = \"+z\"\ndiameter = \"Ø10 mm\"\nat = \"0, 0, 0 mm\"\n"
         "[[feature]]\nid = \"O\"\nkind = \"surface\"\nat = \"0, 0, 40 mm\"\n"
         "[[tool]]\nid = \"T1\"\n" +
         tool + "[[operation]]\nid = \"OP10\"\nkind = \"vise\"\nup = \"+z\"\n[[operation.cut]]\ntool = \"T1\"\n" + cut;
}
const std::string end_mill = "kind = \"end mill\"\ndiameter = \"16 mm\"\nholder = \"40 mm\"\nstick_out = ";

TEST(StudyReachFaces, AStepBelowATopAsksForRoomBesideAndAbove) {
  // The wall below the top, which leans out, is the one that the cutter runs along: it may touch it with all that is no
  // thicker. The holder, 20 thick all round, must stay above the top, 30 higher.
  const std::string cut = "features = \"step\"\nkind = \"rough\"\n";
  const auto low = reach_of(block(end_mill + "\"25 mm\"\n", cut)).at("op10.step.reach.T1");
  EXPECT_EQ(low.state, State::outside);
  EXPECT_NEAR(low.value / mm, 25 - 30, 1e-6) << low.sentence;
  const auto high = reach_of(block(end_mill + "\"40 mm\"\n", cut)).at("op10.step.reach.T1");
  EXPECT_EQ(high.state, State::inside);
  EXPECT_NEAR(high.value / mm, 40 - 30, 1e-6) << high.sentence;
  // The top itself needs no stick-out, the step does.
  const std::string bare = "kind = \"end mill\"\ndiameter = \"16 mm\"\n";
  EXPECT_EQ(reach_of(block(bare, "features = \"top\"\nkind = \"rough\"\n")).at("op10.top.reach.T1").state,
            State::inside);
  const auto open = reach_of(block(bare, cut)).at("op10.-.reach");
  EXPECT_EQ(open.state, State::open);
  EXPECT_NE(gives(open).find("tool.stick_out (or operation.cut.stick_out): of T1"), std::string::npos) << gives(open);
}

TEST(StudyReachFaces, WhatCannotBeAnsweredIsOpenAndSaysWhatToGive) {
  const std::string tool = end_mill + "\"40 mm\"\n";
  const auto asked = [&](const std::string& feature) {
    return gives(reach_of(block(tool, "features = \"" + feature + "\"\nkind = \"rough\"\n")).at("op10.-.reach"));
  };
  EXPECT_NE(asked("H").find("operation.up (it opens across the spindle"), std::string::npos) << asked("H");
  EXPECT_NE(asked("D").find("feature.from and feature.to: of D"), std::string::npos) << asked("D");
  EXPECT_NE(asked("O").find("feature of a kind with sizes"), std::string::npos) << asked("O");
  const auto no_feature = gives(reach_of(block(tool, "kind = \"rough\"\n")).at("op10.-.reach"));
  EXPECT_NE(no_feature.find("operation.cut.features: what is cut: of T1"), std::string::npos) << no_feature;
  EXPECT_NE(gives(second_plan().at("op20.-.reach")).find("operation.cut.features: what is cut: of T19"),
            std::string::npos);
}

}  // namespace
}  // namespace fettle::study
