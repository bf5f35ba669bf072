// The carrier jaw and the vises of the demo plan.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "study/demo_for_tests.h"

namespace fettle::study {
namespace {

using finding::State;

demo::Run holding(const std::vector<demo::Edit>& edits = {}, bool bands = true) {
  Options o = demo::quick();
  o.only = {"holding"};
  o.bands = bands;
  return demo::demo(edits, o);
}

const finding::Lever* lever(const finding::Finding& f, const std::string& name) {
  for (const auto& l : f.levers)
    if (l.name == name) return &l;
  return nullptr;
}

constexpr const char* hard = "thing = \"hard jaw\"\nstiffness = \"hard jaw\"\n[operation.carrier]";
constexpr const char* pads = "thing = \"pads\"\nstiffness = \"pads\"\n[operation.carrier]";

TEST(Jaw, TheHardJawOfTheDemoLeavesPartsLooseAndPadsMendIt) {
  const demo::Run r = holding();
  const auto f = r.at("op20.jaw.loose_part");
  EXPECT_EQ(f.state, State::outside);
  EXPECT_GT(f.value, 0.001);
  EXPECT_LT(f.value, 0.2);
  const auto* soft = lever(f, "pads");
  ASSERT_NE(soft, nullptr);
  EXPECT_TRUE(std::isfinite(soft->flip)) << soft->text;
  const auto* force = lever(f, "clamp force");
  ASSERT_NE(force, nullptr);
  EXPECT_GT(force->flip, force->now);
  ASSERT_EQ(r.study.jaws.size(), 1U);
  const JawPicture& pic = r.study.jaws[0];
  ASSERT_EQ(pic.parts.size(), 3U);
  double sum = 0;
  for (const JawPart& p : pic.parts) {
    sum += p.force;
    EXPECT_LE(p.low, p.force);
    EXPECT_GE(p.high, p.force);
  }
  EXPECT_NEAR(sum, 25000, 1);
  EXPECT_NEAR(pic.parts[0].force, pic.parts[2].force, 0.01) << "the row is symmetric";
  EXPECT_EQ(pic.parts_cure.size(), 3U);
  EXPECT_FALSE(pic.cure.empty());
  EXPECT_EQ(pic.bend.size(), pic.bend_at.size());
  EXPECT_GT(pic.bend.size(), 10U);
}

TEST(Jaw, HowThePartsTouchIsABandAndNotASecret) {
  const auto f = holding().at("op20.jaw.loose_part");
  double middles = -1, rigid = -1;
  for (const auto& i : f.inputs) {
    if (i.name == "if the faces touched in their middles only") middles = i.si;
    if (i.name == "if the jaw did not bend") rigid = i.si;
  }
  EXPECT_GE(middles, 0);
  EXPECT_LT(middles, 1e-4);
  EXPECT_GT(rigid, 0.2);
  EXPECT_LT(middles, f.value);
  EXPECT_LT(f.value, rigid);
  const auto band = [&](const char* name) {
    for (const auto& a : f.assumptions)
      if (a.name == name) return std::pair{a.margin_at_low, a.margin_at_high};
    ADD_FAILURE() << name;
    return std::pair{0.0, 0.0};
  };
  const auto touch = band("share of a part's face that the jaw touches");
  EXPECT_GT(touch.first, 0) << "inside where they touch in the middle";
  EXPECT_LT(touch.second, 0);
  const auto backed = band("thickness with which the jaw bends, over its own");
  EXPECT_LE(backed.second, backed.first) << "a stiffer jaw levels less";
  // The cure holds over the whole band.
  EXPECT_EQ(holding({{hard, pads}}).at("op20.jaw.loose_part").state, State::inside);
}

TEST(Jaw, EachLeverHoldsWhatItSays) {
  const auto f = holding().at("op20.jaw.loose_part");
  EXPECT_EQ(holding({{hard, pads}}).at("op20.jaw.loose_part").state, State::inside);
  const auto* force = lever(f, "clamp force");
  ASSERT_NE(force, nullptr);
  const auto with_force = [](double newton) {
    return holding({{"force = \"25 kN\"", "force = \"" + std::to_string(newton) + " N\""}}, false)
        .at("op20.jaw.loose_part");
  };
  EXPECT_NE(with_force(1.01 * force->flip).state, State::outside);
  EXPECT_EQ(with_force(0.98 * force->flip).state, State::outside);
  const auto* place = lever(f, "where the vises push");
  ASSERT_NE(place, nullptr);
  EXPECT_LT(
      holding({{"pushed_at = \"±120, 0 mm\"", "pushed_at = \"±" + std::to_string(1000 * place->flip) + ", 0 mm\""}},
              false)
          .at("op20.jaw.loose_part")
          .value,
      f.value);
}

TEST(Jaw, WhatIsMissingIsOpen) {
  EXPECT_EQ(holding({{"pitch = \"158 mm\"\n", ""}}).at("op20.jaw.loose_part").state, State::open);
  EXPECT_EQ(holding({{"moves = \"E2\"\n", ""}}).at("op20.jaw.loose_part").state, State::open);
  EXPECT_EQ(holding({{"material = \"S235JR\"\n", ""}}).at("op20.jaw.loose_part").state, State::open);
}

TEST(Jaw, TheSameBytesWithoutBands) {
  const auto a = holding({}, true).at("op20.jaw.loose_part"), b = holding({}, false).at("op20.jaw.loose_part");
  EXPECT_EQ(a.value, b.value);
}

TEST(Jaw, TheSpoolBoreSpringsBackLittle) {
  const auto f = holding().at("op20.F4.springs_back");
  EXPECT_EQ(f.state, State::inside);
  // 4 p r/E with 8.33 kN on 132 x 36, 1.3 for what weakens it
  EXPECT_GT(f.value, 0.5e-6);
  EXPECT_LT(f.value, 2e-6);
}

TEST(Jaw, SeveralSpreadsOfTheWidthAddBySquares) {
  const std::string edge = "[[spread]]\nid = \"width after OP10\"";
  const auto spread = [&](const std::string& more) {
    const auto f = holding({{edge, more + edge}}, false).at("op20.jaw.loose_part");
    for (const auto& i : f.inputs)
      if (i.text.find("width after OP10") != std::string::npos) return i.si;
    ADD_FAILURE() << f.sentence;
    return 0.0;
  };
  EXPECT_NEAR(spread(""), 12e-6, 1e-12);
  EXPECT_NEAR(spread("[[spread]]\nid = \"first edge\"\nof = \"first edge\"\naxis = \"y\"\noperation = \"OP10a\"\nvalue "
                     "= \"s 0.005 mm\"\n"
                     "moves = \"E1\"\n\n"),
              13e-6, 1e-12);
}

TEST(Vise, CuttersPassAboveTheJaws) {
  // The first edge of the demo: 93 mm wide and 2 mm of skin below, so cut 95 mm over the parallel.
  const std::string id = "op10a.jaws.jaws_clear", one = "jaw_height = \"50 mm\"\n";
  const finding::Finding usual = demo::demo().at(id);
  EXPECT_EQ(usual.state, finding::State::inside) << usual.sentence;
  EXPECT_NEAR(usual.value, 0.095 - (0.050 - 0.012), 1e-9);
  ASSERT_EQ(usual.assumptions.size(), 1U);  // nobody says how high the parallel is
  EXPECT_EQ(usual.assumptions[0].key, "operation.parallel");
  const finding::Finding said = demo::demo({{one, one + "parallel = \"30 mm\"\n"}}).at(id);
  EXPECT_NEAR(said.value, 0.095 - (0.050 - 0.030), 1e-9);
  EXPECT_TRUE(said.assumptions.empty());
  const finding::Finding high = demo::demo({{one, "jaw_height = \"120 mm\"\nparallel = \"12 mm\"\n"}}).at(id);
  EXPECT_EQ(high.state, finding::State::outside);
  EXPECT_NEAR(high.value, 0.095 - 0.108, 1e-9);
  ASSERT_FALSE(high.levers.empty());
  EXPECT_NEAR(high.levers[0].flip, 0.026, 1e-9);  // one millimetre over the jaws
  // Between the ends of the band of usual parallels: 94 mm of jaw above a parallel of 12, 101 above one of 5.
  EXPECT_EQ(demo::demo({{one, "jaw_height = \"104 mm\"\n"}}).at(id).state, finding::State::tight);
  EXPECT_EQ(demo::demo({{one, ""}}).at(id).state, finding::State::open);
}
TEST(Vise, TheGangIsJudgedAtLowEnds) {
  const demo::Run r = holding();
  for (const char* id : {"op10a.vise.hold", "op10b.vise.hold"}) {
    const auto f = r.at(id);
    ASSERT_EQ(f.state, State::inside) << id;
    EXPECT_GT(f.value, 0.5) << id;
    const auto* force = lever(f, "clamp force");
    ASSERT_NE(force, nullptr);
    EXPECT_NEAR(force->flip, force->now / f.value, 1e-6 * force->now) << "both ways grow with the force";
    double sure = 0, friction = 0, slides = 0;
    for (const auto& i : f.inputs) {
      if (i.name == "of it for sure") sure = i.si;
      if (i.name == "friction, low end") friction = i.si;
      if (i.name.rfind("slides", 0) == 0) slides = i.si;
    }
    EXPECT_NEAR(sure, 18000, 1e-6) << "no band was given";
    EXPECT_NEAR(friction, 0.12, 1e-12);
    EXPECT_GE(slides, f.value);
  }
  // A band that the plan gives is taken as it is.
  const std::string clamp =
      "force = \"20 kN\"\ndirection = \"-z\"\n[[operation.cut]]\ntool = \"T1\"\nfeatures = \"E1\"";
  const auto known = holding({{clamp,
                               "force = \"20 kN (19.8..20.2 kN)\"\ndirection = \"-z\"\n[[operation.cut]]\ntool = "
                               "\"T1\"\nfeatures = \"E1\""}});
  EXPECT_NEAR(known.at("op10a.vise.hold").value / r.at("op10a.vise.hold").value, 1.1, 0.01);
  EXPECT_EQ(holding({{"force = \"20 kN\"\ndirection = \"-z\"\n[[operation.cut]]\ntool = \"T1\"\nfeatures = \"E1\"",
                      "direction = \"-z\"\n[[operation.cut]]\ntool = \"T1\"\nfeatures = \"E1\""}})
                .at("op10a.vise.hold")
                .state,
            State::open);
}

}  // namespace
}  // namespace fettle::study
