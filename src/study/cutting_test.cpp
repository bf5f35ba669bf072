#include <gtest/gtest.h>

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

}  // namespace
}  // namespace fettle::study
