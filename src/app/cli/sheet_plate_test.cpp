// The plate's drawings as the papers get them: units, remarks, what is said of each nest.
#include "app/cli/sheet_plate.h"

#include <gtest/gtest.h>

#include <cmath>

#include "output/drawings/samples.h"
#include "output/drawings/sheet_checks.h"

namespace fettle::cli {
namespace {

using drawings::all_text;

study::Study soft() {
  study::Study s;
  study::CompliancePicture& p = s.compliance;
  p.there = true;
  p.field = {21, 17, -0.165, -0.125, 0.0165, 0.015625, {}};
  for (int j = 0; j < 17; ++j)
    for (int i = 0; i < 21; ++i) p.field.value.push_back(1e-6 * (1 + 4 * std::hypot(i / 10.0 - 1, j / 8.0 - 1.1)));
  p.softest = *std::max_element(p.field.value.begin(), p.field.value.end());
  p.softest_x = -0.165, p.softest_y = -0.125, p.softest_words = "at the -X -Y corner, by nest 1";
  p.first = 609, p.first_low = 482, p.first_high = 726;
  finding::Finding f;
  f.id = "op30.F1.give.T11", f.question = "give";
  s.findings.push_back(f);
  p.nests = {{"2", "T11 gives 31 µm", f.id, finding::State::outside, 0, 0},
             {"2", "T16: quiet to 0.7 mm", "op30.F6.chatter.T16", finding::State::outside, 0, 0}};
  study::ModePicture m;
  m.frequency = 609, m.low = 482, m.high = 930, m.words = "bows along X", m.field = p.field;
  for (double& x : m.field.value) x *= 1e5;
  s.modes = {m, m, m, m, m, m};
  study::NestLimit n;
  n.operation = "OP30", n.tool = "T11", n.nest = "2", n.words = "T11 roughs the outside profile", n.place = "+X side";
  n.limit = 5.2e-3, n.asked = 18.5e-3, n.state = finding::State::outside, n.soft = "the tool";
  s.nest_limits = {n};
  n.nest = "3", n.far = true, n.state = finding::State::inside;
  s.nest_limits.push_back(n);
  n.nest = "4", n.far = false, n.limit = NAN, n.state = finding::State::open;
  s.nest_limits.push_back(n);
  n.tool = "T14", n.width = true, n.asked = 0.24e-3, n.words = "T14 finishes the counterbore";
  s.nest_limits.push_back(n);
  return s;
}

std::string words(const drawings::Drawing& d) {
  drawings::expect_well_kept(d);
  return all_text(drawings::to_svg(d, {"t", "Fettle", ""})->pages[0]);
}
void expect_words(const std::string& text, const std::vector<std::string>& all) {
  for (const std::string& part : all) EXPECT_NE(text.find(part), std::string::npos) << part << " in\n" << text;
}

TEST(SheetPlate, GiveAndModesWithTheirUnits) {
  const auto all = bend_of(soft(), drawings::samples::pallet());
  ASSERT_EQ(all.size(), 2U);
  EXPECT_EQ(all[0].file, "give.svg");
  EXPECT_EQ(all[1].file, "modes.svg");
  const std::string give = words(all[0].drawing), modes = words(all[1].drawing);
  expect_words(give, {"How far 100 N press the pallet down", "µm for 100 N", "at the -X -Y corner, by nest 1", "nest 2",
                      "T11 gives 31 µm", "609 Hz", "482 Hz to 726 Hz", "mass alone"});
  EXPECT_EQ(give.find("quiet"), std::string::npos) << "what sings stands elsewhere";
  expect_words(modes, {"609 Hz", "482 Hz to 930 Hz", "bows along X", "at rest"});
}

TEST(SheetPlate, InchPeopleReadMillionthsForAHundredPounds) {
  drawings::PalletView pallet = drawings::samples::pallet();
  pallet.style.system = unit::Style::System::inch;
  study::Study s = soft();
  s.compliance.nests.clear();
  // 1e-6 m for 100 N is 4.448 e-6 m for 100 lbf, 175.1 millionths of an inch.
  s.compliance.field.value.assign(s.compliance.field.value.size(), 1e-6);
  s.compliance.field.value[0] = s.compliance.softest = 10e-6;
  const std::string give = words(bend_of(s, pallet)[0].drawing);
  expect_words(give, {"How far 100 lbf press the pallet down", "µin for 100 lbf", "175 µin", "1751 µin"});
  for (const char* metric : {"µm", " N ", "mm"}) EXPECT_EQ(give.find(metric), std::string::npos) << metric;
  const auto limits = limits_of(s, pallet);
  ASSERT_TRUE(limits.has_value());
  EXPECT_EQ(limits->plans[0].asked, "asked: 0.728 in deep");
  EXPECT_EQ(limits->plans[0].marks[0].limit, "quiet to 0.205 in");
}

TEST(SheetPlate, WhatEachNestAllows) {
  const auto v = limits_of(soft(), drawings::samples::pallet());
  ASSERT_TRUE(v.has_value());
  ASSERT_EQ(v->plans.size(), 2U);
  EXPECT_EQ(v->plans[0].title, "T11 roughs the outside profile in OP30");
  EXPECT_EQ(v->plans[0].asked, "asked: 18.5 mm deep");
  EXPECT_EQ(v->plans[1].asked, "asked: 0.24 mm on the radius");
  ASSERT_EQ(v->plans[0].marks.size(), 3U);
  const auto& m = v->plans[0].marks;
  EXPECT_EQ(m[0].nest, 1);
  EXPECT_EQ(m[0].limit, "quiet to 5.2 mm");
  EXPECT_EQ(m[0].soft, "softest: the tool");
  EXPECT_NEAR(m[0].share, 5.2 / 18.5, 1e-12);
  EXPECT_EQ(m[1].limit, "quiet past 10 times that");
  EXPECT_EQ(m[2].state, finding::State::open);
  EXPECT_EQ(m[2].limit, "not computed") << "open is never drawn as a depth";
  EXPECT_TRUE(std::isnan(m[2].share));
}

TEST(SheetPlate, NothingWithoutData) {
  EXPECT_TRUE(bend_of({}, drawings::samples::pallet()).empty());
  EXPECT_FALSE(limits_of({}, drawings::samples::pallet()).has_value());
}

}  // namespace
}  // namespace fettle::cli
