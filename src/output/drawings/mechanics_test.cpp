#include "output/drawings/mechanics.h"

#include <gtest/gtest.h>

#include <cmath>

#include "output/drawings/sheet_checks.h"

namespace fettle::drawings {
namespace {

std::string words(const Drawing& d) { return all_text(to_svg(d, {"t", "Fettle", ""})->pages[0]); }
void expect_words(const Drawing& d, const std::vector<std::string>& all) {
  const std::string w = words(d);
  for (const std::string& part : all) EXPECT_NE(w.find(part), std::string::npos) << part << " in\n" << w;
}

SlipView slid() {
  SlipView v;
  v.title = "OP30: T11 roughs the profile, -X side";
  v.sentence = "2868 N of T11: friction alone carries 0.53 times it.";
  v.caption = "Seen from +Z.";
  v.outline = {box({0, 0}, 0.15, 0.1, 0.004), circle({0, 0}, 0.024)};
  v.contacts = {{"pad 1", {0.06, 0.02}, 0, 0.99, 300, -200, true, true},
                {"pad 2", {-0.06, 0.02}, 0, 0, 0, 0, true, false},
                {"screw 1", {0.04, 0}, 13460, 0.4, 100, 900, false, true},
                {"round pin", {0.0401, 0}, 0, NAN, 0, 0, false, true}};
  v.tool = {-0.075, -0.04};
  v.tool_x = 2000, v.tool_y = -1200, v.tool_z = 700;
  v.factor = 0.53;
  v.mechanism = "slides between +X and -Y and turns";
  v.slide = {0.4, -0.3};
  v.turn = 8;
  v.right = "X", v.up = "Y";
  v.hand = true;
  return v;
}

JawView clamped() {
  JawView v;
  v.title = "OP20: clamp force of each part under the jaw";
  v.sentence = "3 parts under one jaw at 25 kN.";
  v.cure = "pads";
  v.need = 3000;
  v.planned = {{"part 1", 8490, 6400, 10500, 0}, {"part 2", 8019, 4100, 11900, 0.018}};
  v.cured = {{"part 1", 8276, 7900, 8600, 0}, {"part 2", 8449, 7700, 9100, 0}};
  return v;
}

TEST(Slip, SaysContactsSharesAndHowItWouldGo) {
  for (const Room& room : {Room{186, 250}, Room{150, 250}}) {
    const Drawing d = slip(slid(), room);
    expect_well_kept(d);
    expect_words(d, {"OP30: T11 roughs", "pad 1", "99 %", "carries nothing", "13.46 kN", "40 %", "open", "3·4",
                     "It would go so: slides between +X and −Y and turns.", "Seen from +Z.", "Arrows: ", "X", "Y"});
  }
  SlipView inch = slid();
  inch.style.system = unit::Style::System::inch;
  expect_words(slip(inch, {190, 250}), {"lbf"});
  for (const char* metric : {"kN", " mm"})
    EXPECT_EQ(words(slip(inch, {190, 250})).find(metric), std::string::npos) << metric;
}

TEST(Slip, ArrowsAreAsLongAsTheirScaleSays) {
  // The largest sideways force is the tool's, 2332 N: 1000 N would be 13 / 2332.4 * 1000 = 5.57 mm.
  const std::string w = words(slip(slid(), {186, 250}));
  EXPECT_NE(w.find("Arrows: 1000 N is 5.6 mm long"), std::string::npos) << w;
}

TEST(Slip, NothingAndNoNumbersAreOpenAndDoNoHarm) {
  SlipView v = slid();
  v.contacts[0].at.x = NAN;
  v.contacts[2].push_x = NAN;
  v.tool.x = NAN;
  v.tool_x = INFINITY;
  v.turn = NAN;
  expect_well_kept(slip(v, {186, 250}));
  v = slid();
  v.outline.clear();
  v.slide = {}, v.turn = 0;
  expect_well_kept(slip(v, {186, 250}));
  v.contacts.clear();
  const Drawing d = slip(v, {186, 250});
  expect_well_kept(d);
  expect_words(d, {"open"});
  v = slid();
  for (int i = 0; i < 30; ++i)
    v.contacts.push_back(
        {"rest with a long name " + std::to_string(i), {0.004 * i - 0.06, 0.03}, 1000, 0.1, 1, 1, false, true});
  const Drawing many = slip(v, {186, 290});
  expect_well_kept(many);
}

TEST(Jaw, SaysForcesTheNeedAndTheCure) {
  for (const Room& room : {Room{186, 250}, Room{130, 250}}) {
    const Drawing d = jaw(clamped(), room);
    expect_well_kept(d);
    expect_words(d, {"as planned", "with pads", "8490 N, loose in none tried", "8019 N, loose in 1.8 %",
                     "what each needs, 3000 N", "clamp force of one part, kN"});
  }
  JawView v = clamped();
  v.cured.clear();
  EXPECT_EQ(words(jaw(v, {186, 250})).find("with pads"), std::string::npos);
  v.style.system = unit::Style::System::inch;
  expect_words(jaw(v, {186, 250}), {"clamp force of one part, lbf"});
}

TEST(Jaw, NothingAndNoNumbersAreOpenAndDoNoHarm) {
  JawView v = clamped();
  v.planned[0].force = NAN;
  v.planned[1].high = INFINITY;
  v.planned[1].loose = NAN;
  const Drawing d = jaw(v, {186, 250});
  expect_well_kept(d);
  expect_words(d, {"open"});
  EXPECT_EQ(words(d).find("loose in open"), std::string::npos);
  v.need = NAN;
  expect_well_kept(jaw(v, {186, 250}));
  v.planned.clear(), v.cured.clear();
  expect_words(jaw(v, {186, 250}), {"open"});
  v = clamped();
  for (JawBar& b : v.planned) b.force = b.low = b.high = 0;
  v.cured.clear(), v.need = 0;
  expect_well_kept(jaw(v, {186, 250}));
}

}  // namespace
}  // namespace fettle::drawings
