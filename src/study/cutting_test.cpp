#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "published.h"
#include "study/cut_model.h"
#include "study/demo_for_tests.h"

namespace fettle::study {
namespace {

using finding::State;

struct Cuts {
  plan::Plan plan;
  Data data;
  Options options;
  Memo memo;
  Study study;
  Problems problems;
  unit::Style style;
  std::vector<CutModel> all;
  Context context() { return {plan, data, options, memo, study, problems, style}; }
  const CutModel& of(const std::string& tool, std::size_t nth = 0) const {
    for (const CutModel& m : all)
      if (m.cut->tool.value == tool && nth-- == 0) return m;
    ADD_FAILURE() << tool;
    return all.front();
  }
};
std::unique_ptr<Cuts> cuts(const std::vector<demo::Edit>& edits = {}) {
  auto c = std::make_unique<Cuts>();
  auto p = demo::read(demo::edited(demo::text_of("plan-0.toml"), edits));
  EXPECT_TRUE(p.ok());
  c->plan = std::move(p.value());
  Context x = c->context();
  c->all = cut_models(x);
  return c;
}
double mean_size(const CutForces& f) {
  double s = 0;
  for (const auto& v : f.turn) s += frame::norm(v) / static_cast<double>(f.turn.size());
  return s;
}

TEST(StudyCutting, RoughingTheDemosProfile) {
  auto c = cuts();
  Context x = c->context();
  const CutModel& m = c->of("T11");
  ASSERT_TRUE(m.missing.empty());
  EXPECT_NEAR(m.hard.width, 3.9e-3, 1e-9);
  EXPECT_EQ(m.hard.hardness, 260);
  const CutForces f = cut_forces(x, m, m.hard);
  // By hand: removal 55.6 cm3/min x kc at the mean chip (1350 x 0.0332^-0.28 = 3500 N/mm2) = 3.2 kW, x wear 1.3.
  test::published("cutting", "roughing with 3.9 mm of stock at 260 HB, power, kW",
                  "removal x kc at the mean chip, by hand", test::How::computed, 3.24 * 1.3, f.power / 1000,
                  0.05 * 3.24 * 1.3);
  test::published("cutting", "the same, mean size of the force, kN", "worked by hand from the mean torque",
                  test::How::computed, 2.4, mean_size(f) / 1000, 0.12);
  EXPECT_GT(f.up_pull, 0) << "a right-hand helix lifts the part";
  EXPECT_LT(f.mean.y, 0) << "down milling presses the part away";
  EXPECT_LT(cut_forces(x, m, m.soft).power, 0.1 * f.power);
  EXPECT_EQ(m.places.size(), 32U) << "two levels, four sides at three places, four corners";
  for (const CutPlace& p : m.places) {
    EXPECT_NEAR(frame::dot(p.feed, p.out), 0, 1e-12);
    EXPECT_NEAR(frame::norm(p.feed), 1, 1e-12);
    // Milling down, the metal lies to the right of the feed.
    EXPECT_NEAR(frame::norm(frame::cross({0, 0, 1}, p.feed) - p.out), 0, 1e-12);
  }
}

TEST(StudyCutting, EdgeFeedIsTurnedIntoCentreFeed) {
  auto c = cuts();
  const CutModel& bore = c->of("T13");
  // The notes of the plan give 367 and 86.4 mm/min for the centres.
  EXPECT_NEAR(bore.feed_per_tooth * 4 * 1910, 0.367, 0.006);
  const CutModel& groove = c->of("T15");
  EXPECT_NEAR(groove.feed_per_tooth * 6 * 819, 0.0864, 0.0005);
  EXPECT_NEAR(groove.stated.depth, 2.5e-3, 1e-9);
  EXPECT_NEAR(groove.stated.width, 2e-3, 0.05e-3);
}

TEST(StudyCutting, EveryCutIsComputedOrSaysWhatIsMissing) {
  auto c = cuts();
  Context x = c->context();
  EXPECT_EQ(c->all.size(), 20U);
  for (const CutModel& m : c->all) {
    if (!m.missing.empty()) {
      EXPECT_EQ(m.words, "T19 chamfers what the plan does not name");
      continue;
    }
    const CutForces hard = cut_forces(x, m, m.hard), soft = cut_forces(x, m, m.soft);
    EXPECT_GT(hard.torque_mean, 0) << m.words;
    EXPECT_GT(hard.torque_mean, soft.torque_mean) << m.words;
    EXPECT_NEAR(hard.power, hard.torque_mean * 2 * 3.14159265358979 * m.turns, 1e-6 * hard.power) << m.words;
    EXPECT_FALSE(m.places.empty()) << m.words;
  }
}

TEST(StudyCutting, WithoutASourceNothingIsGuessed) {
  auto c = cuts({{"material = \"EN-GJL-250\"", "material = \"C45\""}});
  for (const CutModel& m : c->all) EXPECT_FALSE(m.missing.empty()) << m.words;
  auto own = cuts(
      {{"material = \"EN-GJL-250\"", "material = \"C45\"\ncutting_force = \"1700 N/mm²\"\nchip_exponent = \"0.24\""}});
  EXPECT_TRUE(own->of("T11").missing.empty());
}

TEST(StudyCutting, FindingsOfTheDemo) {
  Options o = demo::quick();
  o.only = {"cutting"};
  const demo::Run r = demo::demo({}, o);
  EXPECT_EQ(r.at("op30.F1.power.T11").state, State::inside);
  EXPECT_EQ(r.at("op30.F1.chip.T12").state, State::tight);
  EXPECT_EQ(r.at("op30.F1.push-off.T12").state, State::inside);
  // The floor that T13 cuts beside its wall: two halves of what the ledger would draw.
  const auto floor = r.at("op30.F3.push-off.T13");
  EXPECT_EQ(floor.state, State::inside);
  EXPECT_GT(floor.value, 0.2e-6);
  EXPECT_LT(floor.value, 5e-6);
  EXPECT_EQ(demo::demo({{"material = \"EN AW-5083\"\n", ""}}, o).at("op30.F3.push-off.T13").state, State::open);
  EXPECT_EQ(r.at("op30.F5.roughness.T15").state, State::tight);
  EXPECT_EQ(r.at("op20.-.power.T19").state, State::open);
  EXPECT_FALSE(r.study.forces.empty());
  EXPECT_LE(r.study.forces.size(), 4U);
  // More stock takes more power; four times the feed takes it out of the machine.
  const demo::Run fast = demo::demo({{"feed = \"770 mm/min\"", "feed = \"3080 mm/min\""}}, o);
  EXPECT_EQ(fast.at("op30.F1.power.T11").state, State::outside);
  // The lever says where: at that feed the power is just used up.
  const auto power = r.at("op30.F1.power.T11");
  ASSERT_EQ(power.levers.size(), 1U);
  EXPECT_GT(power.levers[0].flip, power.levers[0].now);
}

/// Gate 1 stands a millimetre further out: 3 mm of stock and 1 mm of stub against 3.2 mm stated.
const demo::Edit far_gate = {"at = \"-35, -48.5, 18 mm\"", "at = \"-35, -49.5, 18 mm\""};

TEST(StudyCutting, RubbingIsJudgedAtTheLeastStock) {
  Options o = demo::quick();
  o.only = {"cutting"};
  // T12 finds what nobody says: 0.1 to 0.5 mm. At 0.1 mm its chip is 4.7 µm, where 6 µm is the least.
  const auto f =
      demo::demo({{"depth = \"36.5 mm\"\nwidth = \"0.25 mm\"\n", "depth = \"36.5 mm\"\n"}}, o).at("op30.F1.chip.T12");
  EXPECT_EQ(f.state, State::outside);
  double chip = 0;
  for (const auto& i : f.inputs)
    if (i.name == "mean chip") chip = i.si;
  // By hand: feed 0.06 mm x sin of half the arc, arc of 0.1 mm on 16 mm; mean = fz (1 - cos p)/p, p = acos(1 - 2 a/d).
  const double p = std::acos(1 - 2 * 0.1 / 16);
  EXPECT_NEAR(chip, 1004e-3 / 60 / (2790.0 / 60 * 6) * (1 - std::cos(p)) / p, 0.01 * chip);
}

TEST(StudyCutting, StraightTeethPushOffIsNeverNothing) {
  auto c = cuts();
  Context x = c->context();
  const CutModel& groove = c->of("T15");
  ASSERT_TRUE(straight_teeth(groove, groove.hard.depth));
  const auto p = tool_push_off(x, groove);
  ASSERT_TRUE(p.has_value());
  EXPECT_GT(p->most, 2e-6);
  EXPECT_LT(p->most, 10e-6);
  EXPECT_FALSE(straight_teeth(c->of("T11"), c->of("T11").hard.depth));
  Options o = demo::quick();
  o.only = {"cutting"};
  const auto f = demo::demo({}, o).at("op30.F5.push-off.T15");
  EXPECT_NE(f.sentence.find("Straight teeth"), std::string::npos) << f.sentence;
}

TEST(StudyCutting, StockScattersByTheToleranceWhereNoSpreadIsSaid) {
  const auto band = [](const std::vector<demo::Edit>& edits) {
    auto c = cuts(edits);
    const CutModel& m = c->of("T13");
    return m.missing.empty() ? m.hard.width - m.soft.width : -1;
  };
  const std::string said = "raw = \"46.0 mm\"\nspread = \"0.30 mm\"\n";
  const double with = band({});
  // A sixth of 1.8 mm is 0.3 mm.
  EXPECT_NEAR(band({{said, "raw = \"46.0 mm\"\ntolerance = \"1.8 mm\"\n"}}), with, 1e-9);
  const double grade = band({{said, "raw = \"46.0 mm\"\n"}});
  const double wider = band({{said, "raw = \"46.0 mm\"\n"}, {"tolerance_grade = 9\n", "tolerance_grade = 12\n"}});
  EXPECT_GT(wider, grade) << "by the grade of the casting";
  EXPECT_EQ(band({{said, "raw = \"46.0 mm\"\n"}, {"tolerance_grade = 9\n", ""}}), -1) << "nothing says it: open";
}

TEST(StudyCutting, HardnessBeyondThePrintedRowsIsMarked) {
  const auto marked = [](const char* hardness) {
    auto c = cuts({{"hardness = \"180 to 220 HB, up to 260 HB at corners\"", hardness}});
    const CutModel& m = c->of("T11");
    return std::any_of(m.taken.begin(), m.taken.end(),
                       [](const auto& t) { return t.find("outside the printed rows") != std::string::npos; });
  };
  EXPECT_FALSE(marked("hardness = \"200 HB\""));
  EXPECT_TRUE(marked("hardness = \"180 to 220 HB, up to 290 HB at corners\""));
}

TEST(StudyCutting, AGateIsCutWithItsStubOnce) {
  auto as_drawn = cuts();
  EXPECT_EQ(as_drawn->of("T1", 1).gate_words, "gate 1, gate 2");
  EXPECT_EQ(as_drawn->of("T1", 1).gate_stock, 0) << "2 mm and the stub of 1 lie inside the 3.2 stated";
  auto c = cuts({far_gate});
  Context x = c->context();
  const CutModel &first = c->of("T1"), &second = c->of("T1", 1), &profile = c->of("T11");
  EXPECT_EQ(first.gate_words, "") << "both gates stand on the other edge";
  EXPECT_NEAR(second.gate_stock, 0.8e-3, 1e-12);
  EXPECT_EQ(second.gate_places.size(), 2U) << "one gate, both ways over the face";
  for (const CutPlace& p : second.gate_places) EXPECT_NEAR(p.at.x, -0.035, 1e-9);
  EXPECT_EQ(profile.gate_words, "") << "the edge is cut before the profile";
  // Kienzle is linear in the depth.
  EXPECT_NEAR(cut_forces(x, second, at_gate(second, second.hard)).power / cut_forces(x, second, second.hard).power,
              4.0 / 3.2, 1e-9);
  // Without the edge cut before it the profile meets the stubs: 2.5 and 1 against 2 mm stated, 3.9 at most.
  auto raw = cuts({{"over = \"F1.-y\"", "over = \"F1.+y\""}});
  const CutModel& bare = raw->of("T11");
  EXPECT_NEAR(bare.gate_stock, 1.5e-3, 1e-12);
  Context y = raw->context();
  EXPECT_NEAR(at_gate(bare, bare.hard).width, 5.4e-3, 1e-9);
  EXPECT_GT(cut_forces(y, bare, at_gate(bare, bare.hard)).power, 1.1 * cut_forces(y, bare, bare.hard).power);
  // Holding is asked at the stub with that force.
  Options o = demo::quick();
  o.only = {"holding"};
  const demo::Run before = demo::demo({}, o),
                  after = demo::demo({{"at = \"-35, -48.5, 18 mm\"", "at = \"-60, -50.5, 18 mm\""}}, o);
  EXPECT_LT(after.at("op10b.-.holds.T1").value, before.at("op10b.-.holds.T1").value);
  EXPECT_NE(after.at("op10b.-.holds.T1").sentence.find("stub of gate 1"), std::string::npos);
}

TEST(StudyCutting, AnOpeningInAFaceInterruptsTheCut) {
  // The top is milled instead of ground, over the cored counterbore.
  const std::vector<demo::Edit> milled = {
      {"kind = \"grind\"\nup = \"+z\"\nmakes = \"F11\"\nprice = \"2.40 EUR\"\nlot = 60",
       "kind = \"chuck\"\nmachine = \"A\"\nup = \"+z\"\nmakes = \"F11\"\nprice = \"2.40 EUR\"\nlot = 60"},
      {"kind = \"chuck\"\non = \"A\"\nat = [\"-50, -32, -1.9 mm\", \"50, -32, -1.9 mm\", \"0, 32, -1.9 mm\"]",
       "kind = \"chuck\"\non = \"A\"\nat = [\"-50, -32, -1.9 mm\", \"50, -32, -1.9 mm\", \"0, 32, -1.9 "
       "mm\"]\n[[operation.cut]]\ntool = \"T1\"\nfeatures = \"F11\"\nkind = \"rough and finish\"\nspeed = \"860 "
       "rpm\"\nfeed = \"774 mm/min\"\ndepth = \"2 mm\"\nwidth = \"60 mm\""}};
  auto c = cuts(milled);
  const CutModel& m = c->of("T1");
  ASSERT_EQ(m.gaps.size(), 1U);
  EXPECT_EQ(m.gap_words, "the counterbore, 46.000 mm");
  // Chord 46 of the 63 cutter.
  EXPECT_NEAR(m.gaps[0][1] - m.gaps[0][0], 2 * std::asin(46.0 / 63), 1e-12);
  Context x = c->context();
  const CutForces full = cut_forces(x, m, m.hard), open = forces_over_opening(x, m, m.hard);
  EXPECT_LT(open.torque_mean, 0.5 * full.torque_mean);
  EXPECT_GT(open.torque_peak / open.torque_mean, full.torque_peak / full.torque_mean) << "more peak than mean";
  Options o = demo::quick();
  o.only = {"cutting"};
  std::vector<demo::Edit> edits = milled;
  edits.push_back(far_gate);
  const demo::Run r = demo::demo(edits, o);
  EXPECT_NE(r.at("g10t.F11.power.T1").sentence.find("Interrupted by the counterbore"), std::string::npos);
  EXPECT_NE(r.at("op10b.E2.power.T1").sentence.find("Judged at the stub of gate 1"), std::string::npos);
  EXPECT_EQ(r.at("op10a.E1.power.T1").sentence.find("stub"), std::string::npos);
}

TEST(StudyCutting, EveryVisitIsJudgedWithItsOwnStock) {
  const std::string again =
      "time = \"0.516 min\"\n[[operation.cut]]\ntool = \"T12\"\nfeatures = \"F1\"\nkind = \"finish\"\nspeed = \"2790 "
      "rpm\"\nfeed = \"1004 mm/min\"\ndepth = \"36.5 mm\"";
  auto c = cuts({{"time = \"0.516 min\"", again}});
  Context x = c->context();
  const CutModel &first = c->of("T12"), &second = c->of("T12", 1);
  ASSERT_TRUE(second.missing.empty());
  const auto left = tool_push_off(x, first);
  ASSERT_TRUE(left.has_value());
  EXPECT_DOUBLE_EQ(second.hard.width, std::max(1e-6, left->most));
  EXPECT_LT(second.hard.width, 0.2 * first.hard.width);
  Options o = demo::quick();
  o.only = {"cutting"};
  const demo::Run one = demo::demo({}, o), two = demo::demo({{"time = \"0.516 min\"", again}}, o);
  // Power by the pass that takes most, chips by the one that takes least, the wall by the last.
  EXPECT_EQ(one.at("op30.F1.power.T12").value, two.at("op30.F1.power.T12").value);
  EXPECT_LT(two.at("op30.F1.chip.T12").value, one.at("op30.F1.chip.T12").value);
  EXPECT_LT(two.at("op30.F1.push-off.T12").value, 0.5 * one.at("op30.F1.push-off.T12").value);
  // A heavier second visit is seen.
  const demo::Run heavy = demo::demo({{"time = \"0.516 min\"", again + "\nwidth = \"1 mm\""}}, o);
  EXPECT_GT(heavy.at("op30.F1.power.T12").value, 2 * one.at("op30.F1.power.T12").value);
}

TEST(StudyCutting, ASpeedAboveTheMachinesTopIsOutside) {
  const auto told = [](const std::string& speed) {
    auto c = cuts({{"speed = \"2190 rpm\"", "speed = \"" + speed + "\""}});
    Context x = c->context();
    cutting_findings(x);
    for (const finding::Finding& f : c->study.findings)
      if (f.id == "op30.F1.power.T11") return f;
    ADD_FAILURE() << "no power of T11";
    return finding::Finding{};
  };
  EXPECT_EQ(told("2190 rpm").state, finding::State::inside);
  const finding::Finding f = told("9500 rpm");  // machine B turns at most 8000
  EXPECT_EQ(f.state, finding::State::outside);
  EXPECT_NE(f.sentence.find("8000 rpm"), std::string::npos) << f.sentence;
}

}  // namespace
}  // namespace fettle::study
