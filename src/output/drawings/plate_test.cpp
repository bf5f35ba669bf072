#include "output/drawings/plate.h"

#include <gtest/gtest.h>

#include <cmath>

#include "output/drawings/samples.h"
#include "output/drawings/sheet_checks.h"

namespace fettle::drawings {
namespace {

std::string words(const Drawing& d) { return all_text(to_svg(d, {"t", "Fettle", ""})->pages[0]); }
void expect_words(const Drawing& d, const std::vector<std::string>& all) {
  const std::string w = words(d);
  for (const std::string& part : all) EXPECT_NE(w.find(part), std::string::npos) << part << " in\n" << w;
}
std::size_t count(const std::string& text, const std::string& what) {
  std::size_t n = 0;
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1)) ++n;
  return n;
}

template <class F>
Field over_plate(const F& f) {
  Field out{21, 17, -0.165, -0.125, 0.330 / 20, 0.250 / 16, {}};
  for (int j = 0; j < 17; ++j)
    for (int i = 0; i < 21; ++i) out.value.push_back(f(out.left + i * out.step_x, out.bottom + j * out.step_y));
  return out;
}

GiveView soft_corners() {
  GiveView v;
  v.title = "How far 100 N press the pallet down";
  v.sentence = "Softest at the +X +Y corner: `6.0 µm`.";
  v.caption = "Seen from above.";
  v.pallet = samples::pallet();
  v.field =
      over_plate([](double x, double y) { return 0.6 + 5.4 * std::pow(std::hypot(x / 0.165, y / 0.125) / 1.415, 4); });
  v.unit = "µm for 100 N";
  v.short_unit = " µm";
  v.notes = {{{0.165, 0.125}, "softest", "6.0 µm for 100 N", false, {}},
             {{NAN, NAN}, "nest 3", "T11 gives 34 µm; T12 gives 8 µm", true, {}}};
  return v;
}

TEST(Give, SaysItsUnitItsBandsAndTheSoftestPlace) {
  for (const Room& room : {Room{186, 250}, Room{150, 250}, Room{186, 120}}) {
    const Drawing d = give(soft_corners(), room);
    expect_well_kept(d);
    expect_words(d, {"µm for 100 N", "to 1", "1 to 2", "4 to 5", "over 5", "softest", "6.0 µm", "nest 3", "T11 gives",
                     "Seen from above.", "scale 1:", "X", "Y"});
  }
}

TEST(Give, EveryLineOfOneValueHasItsFigure) {
  const std::string w = words(give(soft_corners(), {186, 250}));
  for (const char* figure : {"1 µm", "2 µm", "3 µm", "4 µm"})
    EXPECT_GE(count(w, std::string("\n") + figure), 1U) << figure << w;
  // The nests keep their numbers.
  for (const char* nest : {"\n1\n", "\n2\n", "\n3\n", "\n4\n"}) EXPECT_EQ(count(w, nest), 1U) << nest;
}

TEST(Give, AreasThatGiveMoreHaveMoreStrokes) {
  // The same words with an evenly stiff half: fewer bytes of strokes where less is soft.
  GiveView all = soft_corners(), half = soft_corners();
  for (std::size_t k = 0; k < half.field.value.size(); ++k)
    if (k % 21 < 10) half.field.value[k] = 0.6;
  EXPECT_LT(to_svg(give(half, {186, 250}), {"t", "Fettle", ""})->bytes.size(),
            to_svg(give(all, {186, 250}), {"t", "Fettle", ""})->bytes.size());
}

TEST(Give, NothingAndNoNumbersAreOpenAndDoNoHarm) {
  GiveView v = soft_corners();
  for (std::size_t k = 100; k < 130; ++k) v.field.value[k] = NAN;  // a hole
  expect_well_kept(give(v, {186, 250}));
  v.pallet.nests[0].at.x = NAN;
  v.pallet.nests[1].pattern = 7;
  v.pallet.anchors[0].at.y = INFINITY;
  expect_well_kept(give(v, {186, 250}));
  for (double& x : v.field.value) x = NAN;
  expect_words(give(v, {186, 250}), {"open"});
  v = soft_corners();
  for (double& x : v.field.value) x = 2;  // the same everywhere: no line to draw
  expect_words(give(v, {186, 250}), {"open"});
  v = soft_corners();
  v.field.value.pop_back();
  expect_words(give(v, {186, 250}), {"open"});
  v = soft_corners();
  v.pallet.plate = {};
  expect_words(give(v, {186, 250}), {"open"});
  v = soft_corners();
  v.pallet.nests.clear(), v.pallet.anchors.clear(), v.notes.clear(), v.pallet.holes.clear(), v.pallet.troughs.clear();
  expect_well_kept(give(v, {186, 250}));
  v = soft_corners();
  for (double& x : v.field.value) x *= 1e-7;
  expect_well_kept(give(v, {186, 250}));
  for (double& x : v.field.value) x *= 1e13;
  expect_well_kept(give(v, {186, 250}));
}

TEST(Give, AnyOutline) {
  GiveView v = soft_corners();
  v.pallet.plate = polygon({{-0.165, -0.125}, {0.165, -0.125}, {0.165, 0.05}, {0.09, 0.125}, {-0.165, 0.125}});
  const Drawing d = give(v, {186, 250});
  expect_well_kept(d);
  expect_words(d, {"2 µm"});
  // No figure stands where the corner is cut off: right of the slant from (0.165, 0.05) to (0.09, 0.125).
  const Record r = to_svg(d, {"t", "Fettle", ""})->pages[0];
  Box outer;
  for (const Placed& p : r.texts)
    if (p.text == "4") outer = p.box;  // nest 4 at (0.078, 0.057), 3 mm of plate to 1 mm of paper
  ASSERT_GT(outer.width, 0);
  const double x = outer.x + 0.5 * outer.width - 0.078 / 0.003, y = outer.y + 0.5 * outer.height + 0.057 / 0.003;
  for (const Placed& p : r.texts)
    if (p.text.find(" µm") != std::string::npos && p.text.size() < 8 && p.box.right() < x + 0.165 / 0.003) {
      const double px = (p.box.right() - x) * 0.003, py = (y - p.box.y) * 0.003;
      EXPECT_LT(px + py, 0.215 + 0.004) << p.text;
    }
}

ModesView four() {
  ModesView v;
  v.title = "How the loaded pallet swings";
  v.sentence = "Its first modes.";
  v.caption = "Arrows: how far the middle of each part's top goes.";
  v.pallet = samples::pallet();
  const auto add = [&](const std::string& hz, const std::string& said, const Field& up, double slide) {
    ModeView m{hz, "480 Hz to 730 Hz over what is assumed", said, up, slide, 0, 0, {}};
    for (int n = 0; n < 4; ++n) {
      const Point at = v.pallet.nests[static_cast<std::size_t>(n)].at;
      m.parts.push_back({n, {at.x, at.y, 0.018}, {slide, 0, 4 * at.y}, {4, 0, 0}});
    }
    v.modes.push_back(m);
  };
  add("609 Hz", "bows along X", over_plate([](double x, double) { return 40 * x * x - 0.3; }), 0);
  add("646 Hz", "rocks about X", over_plate([](double, double y) { return 8 * y; }), 0);
  add("675 Hz", "slides along X", over_plate([](double, double) { return 0.0; }), 1);
  add("853 Hz", "twists, corner against corner", over_plate([](double x, double y) { return 48 * x * y; }), 0);
  return v;
}

TEST(Modes, SayFrequencyBandAndWhatMoves) {
  for (const Room& room : {Room{186, 250}, Room{110, 400}}) {
    const Drawing d = modes(four(), room);
    expect_well_kept(d);
    expect_words(d, {"609 Hz", "853 Hz", "480 Hz to 730 Hz over what is assumed", "bows along X", "rocks about X",
                     "slides along X", "twists, corner against corner", "Arrows: how far", "X", "Y", "Z"});
    const std::string w = words(d);
    for (const char* nest : {"\n1\n", "\n2\n", "\n3\n", "\n4\n"}) EXPECT_EQ(count(w, nest), 4U) << nest;
  }
}

TEST(Modes, LargeMotionsStayOnTheSheet) {
  ModesView v = four();
  for (ModeView& m : v.modes) {
    for (double& x : m.up.value) x *= 4;
    m.slide_x = -2, m.slide_y = 3, m.spin = 5;
    for (ModePart& p : m.parts) p.shift = {2, -3, 1}, p.turn = {20, 10, -15};
  }
  expect_well_kept(modes(v, {186, 250}));
}

TEST(Modes, NothingAndNoNumbersAreOpenAndDoNoHarm) {
  ModesView v = four();
  v.modes[0].up.value[5] = NAN;
  v.modes[1].parts[2].shift[0] = NAN;
  v.modes[2].parts[0].nest = 9;
  v.modes[3].up = {};
  const Drawing d = modes(v, {186, 250});
  expect_well_kept(d);
  expect_words(d, {"open"});
  v.pallet.anchors.clear();
  v.pallet.patterns.clear();
  expect_well_kept(modes(v, {186, 250}));
  v.pallet.plate = {};
  expect_words(modes(v, {186, 250}), {"open"});
  v = four();
  v.modes.resize(1);
  expect_well_kept(modes(v, {186, 250}));
  v.modes.clear();
  expect_words(modes(v, {186, 250}), {"open"});
}

LimitsView quiet() {
  LimitsView v;
  v.title = "How deep each nest stays quiet";
  v.sentence = "Bars: the depth at which the cut starts to sing.";
  v.caption = "Dashed rings: anchors.";
  v.pallet = samples::pallet();
  const auto plan = [](const std::string& title, const std::string& asked) {
    return LimitPlan{title,
                     asked,
                     {{0,
                       State::outside,
                       0.28,
                       "quiet to 5.2 mm",
                       "+X side, towards -Y",
                       "softest: the pallet with its parts",
                       {-0.14, -0.1}},
                      {1, State::tight, 1.2, "quiet to 22.2 mm", "+Y wall", "softest: the tool", {0.14, -0.1}},
                      {2, State::inside, 9, "quiet past 10 times that", "", "softest: the tool", {-0.14, 0.1}},
                      {3, State::beyond, 0.9, "quiet to 16.7 mm", "+Y wall", "softest: the tool", {0.14, 0.1}}}};
  };
  v.plans = {plan("T11 roughs the outside profile in OP30", "asked: 18.5 mm deep"),
             plan("T13 cuts the counterbore in OP30", "asked: 9.0 mm deep"),
             plan("T16 cuts the pockets in OP30", "asked: 4.0 mm deep")};
  v.plans[2].marks.pop_back();
  return v;
}

TEST(Limits, SayStateLimitAskedAndWhatIsSoftAtEachNest) {
  for (const Room& room : {Room{186, 250}, Room{120, 250}, Room{186, 1}}) {
    const std::vector<Drawing> all = limits(quiet(), room);
    std::string w;
    for (const Drawing& d : all) {
      expect_well_kept(d);
      w += words(d);
    }
    for (const char* part : {"How deep each nest stays quiet", "T11 roughs the outside profile in OP30",
                             "asked: 18.5 mm deep", "outside", "tight", "inside", "beyond", "quiet to 5.2 mm",
                             "softest: the pallet with its parts", "Dashed rings: anchors."})
      EXPECT_NE(w.find(part), std::string::npos) << part << " in\n" << w;
    EXPECT_EQ(count(w, "outside\n"), 3U) << "once for each tool";
    EXPECT_EQ(count(w, "not looked at"), 1U) << "a nest that nobody looked at is open, never good";
    EXPECT_EQ(count(w, "How deep each nest"), 1U) << "the title stands once";
  }
  EXPECT_EQ(limits(quiet(), {186, 1}).size(), 2U) << "three tools are two rows";
}

TEST(Limits, SmallNestsAreSaidInAListBelow) {
  LimitsView v = quiet();
  v.pallet.plate = box({0, 0}, 1.6, 1.2);
  for (const Drawing& d : limits(v, {186, 400})) {
    expect_well_kept(d);
    expect_words(d, {"quiet to 5.2 mm; +X side, towards -Y; softest: the pallet with its parts", "not looked at",
                     "outside", "beyond", "open"});
  }
}

TEST(Limits, NothingAndNoNumbersAreOpenAndDoNoHarm) {
  LimitsView v = quiet();
  v.plans[0].marks[0].share = NAN;
  v.plans[0].marks[1].at = {INFINITY, 0};
  v.plans[1].marks[0].nest = 9;
  v.pallet.nests[3].at.x = NAN;
  for (const Drawing& d : limits(v, {186, 250})) expect_well_kept(d);
  v.pallet.nests.clear();
  for (const Drawing& d : limits(v, {186, 250})) expect_well_kept(d);
  v.pallet.plate = {};
  expect_words(limits(v, {186, 250})[0], {"open"});
  v = quiet();
  v.plans.clear();
  ASSERT_EQ(limits(v, {186, 250}).size(), 1U);
  expect_words(limits(v, {186, 250})[0], {"open"});
}

}  // namespace
}  // namespace fettle::drawings
