// What an operation makes and none of its cuts cuts is not judged.
#include <algorithm>

#include "study/demo_for_tests.h"

namespace fettle::study {
namespace {

using finding::Finding;
using finding::State;

const demo::Edit f8_left_out = {"features = \"F8\"\n", "features = \"F9\"\n"};
bool judged(const Finding& f) { return f.state == State::inside || f.state == State::tight; }
bool names(const Finding& f, const std::string& what) {
  return std::find(f.missing.begin(), f.missing.end(), what) != f.missing.end();
}

TEST(WhatCuts, AHoleThatNoCutCutsIsOpenNotInside) {
  const demo::Run whole = demo::demo(), less = demo::demo({f8_left_out});
  for (const char* id : {"op20.F8.size", "op20.F8.place"}) {
    EXPECT_TRUE(judged(whole.at(id))) << id;
    EXPECT_EQ(less.at(id).state, State::open) << id;
    EXPECT_TRUE(names(less.at(id), "operation.OP20.cut: what cuts F8")) << id << ": " << less.at(id).sentence;
  }
  EXPECT_EQ(less.at("op20.F9.place").state, whole.at("op20.F9.place").state);
}

TEST(WhatCuts, ABrokenEdgeOrAProbeMakesNoHole) {
  for (const char* kind : {"chamfer", "probe"}) {
    const demo::Run r = demo::demo(
        {{"features = \"F8\"\nkind = \"drill\"", std::string("features = \"F8\"\nkind = \"") + kind + "\""}});
    EXPECT_EQ(r.at("op20.F8.size").state, State::open) << kind;
    EXPECT_TRUE(names(r.at("op20.F8.size"), "operation.OP20.cut: what cuts F8")) << kind;
  }
}

TEST(WhatCuts, OneHoleOfAPatternLeftOutIsOpen) {
  const demo::Run r = demo::demo({{"features = \"F8\"\n", "features = \"F8@1\"\n"}});
  EXPECT_EQ(r.at("op20.F8.size").state, State::open);
}

TEST(WhatCuts, TheFloorOfABoreComesWithTheCutOfItsWall) {
  const demo::Run whole = demo::demo(), wall = demo::demo({{"features = [\"F2\", \"F3\"]\nkind = \"rough and finish\"",
                                                            "features = \"F2\"\nkind = \"rough and finish\""}});
  const Finding f = wall.at("op30.F3.height");
  EXPECT_EQ(f.state, whole.at("op30.F3.height").state) << f.sentence;
}

TEST(WhatCuts, AnOperationThatGivesNoCutsIsJudgedAsBefore) {
  std::string text = demo::text_of("plan-0.toml");
  const std::size_t op = text.find("id = \"OP20\""), end = text.find("\n[[operation]]", op);
  const std::size_t cuts = text.find("[[operation.cut]]", op);
  ASSERT_LT(cuts, end);
  text.erase(cuts, end - cuts);
  const demo::Run r = demo::run(text);
  for (const char* id : {"op20.F8.size", "op20.F8.place", "op20.F9.place"}) EXPECT_TRUE(judged(r.at(id))) << id;
}

TEST(WhatCuts, AnUncutFaceLeavesTheChartOfWorkingDimensionsOpen) {
  const demo::Run r = demo::demo(
      {{"features = [\"F2\", \"F3\"]\nkind = \"rough and finish\"", "features = \"F5\"\nkind = \"rough and finish\""},
       {"features = \"F2\"\nkind = \"finish\"", "features = \"F5\"\nkind = \"finish\""}});
  const Finding f = r.at("-.axis-z.working_dimensions");
  EXPECT_EQ(f.state, State::open);
  EXPECT_TRUE(names(f, "operation.OP30.cut: what cuts F3")) << f.sentence;
}

}  // namespace
}  // namespace fettle::study
