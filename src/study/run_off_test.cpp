// Seals, run-off and reach of the demo plan against sums by hand, and nothing good because nobody said it.
#include <cmath>

#include "published.h"
#include "study/coolant_pools.h"
#include "study/demo_for_tests.h"

namespace fettle::study {
namespace {

using fettle::test::How;
using fettle::test::published;
using finding::State;
constexpr double mm = 1e-3;

Options only(std::vector<std::string> steps) {
  Options o = demo::quick();
  o.only = std::move(steps);
  return o;
}
demo::Run with(const std::vector<demo::Edit>& edits = {}) {
  return demo::demo(edits, only({"seals", "run-off", "reach"}));
}
std::string missing(const finding::Finding& f) {
  std::string s;
  for (const std::string& m : f.missing) s += m + "\n";
  return s;
}
std::string levers(const finding::Finding& f) {
  std::string s;
  for (const auto& l : f.levers) s += l.text + "\n";
  return s;
}

TEST(StudySeal, DemoGroove) {
  const demo::Run r = with();
  const std::string source = "groove 54.00 to 54.08, plug 49.950 to 49.975, ring 2.540 to 2.692, by hand";
  published("study", "F5, least squeeze, %", source, How::computed, (2.54 - 2.065) / 2.54 * 100,
            r.at("op30.F5.squeeze").value * 100, 1e-3);
  published("study", "F5, most squeeze, %", source, How::computed, (2.6924 - 2.0125) / 2.6924 * 100,
            r.at("op30.F5.squeeze_most").value * 100, 1e-3);
  published("study", "F5, most fill, %", source, How::computed,
            3.14159265358979 / 4 * 2.6924 * 2.6924 / (2.0125 * 3.70) * 100, r.at("op30.F5.fill").value * 100, 1e-3);
  for (const char* q : {"squeeze", "squeeze_most", "squeeze_as_it_lies", "fill", "stretch"})
    EXPECT_EQ(r.at("op30.F5." + std::string(q)).state, State::inside) << q;
  // 2.54 (1 - 0.18) = 2.0828 of room at the most: the groove may be 2 (2.0828 - 2.065) = 0.0356 larger.
  const auto& f = r.at("op30.F5.squeeze");
  ASSERT_FALSE(f.levers.empty());
  EXPECT_NEAR((f.levers[0].flip - f.levers[0].now) / mm, 0.0356, 1e-3);
}

TEST(StudySeal, AnotherRingIsNamed) {
  const demo::Run r = with({{"AS568-135", "AS568-132"}});
  const auto f = r.at("op30.F5.stretch");
  EXPECT_EQ(f.state, State::outside);
  EXPECT_NE(levers(f).find("AS568-135"), std::string::npos) << levers(f);
}

TEST(StudySeal, OpenWhereNobodySays) {
  EXPECT_NE(missing(with({{"mate = \"Ø50 f7\"\n", ""}}).at("op30.F5.squeeze")).find("feature.F5.mate"),
            std::string::npos);
  // The name says that it is for an O-ring.
  EXPECT_NE(missing(with({{"ring = \"AS568-135\"\n", ""}}).at("op30.F5.squeeze")).find("feature.F5.ring"),
            std::string::npos);
  const auto unknown = with({{"AS568-135", "AS568-999"}}).at("op30.F5.squeeze");
  EXPECT_EQ(unknown.state, State::open);
  const demo::Run plain = with({{"ring = \"AS568-135\"\nmate = \"Ø50 f7\"\n", ""}, {"O-ring groove", "groove"}});
  EXPECT_EQ(plain.find("op30.F5.squeeze"), nullptr) << "a groove for anything";
}

TEST(StudyRunOff, TroughOfTheDemo) {
  const demo::Run r = with();
  const auto f = r.at("op30.run_off.trough_holds");
  EXPECT_EQ(f.state, State::outside);
  double critical = 0, across = 0;
  for (const auto& i : f.inputs) {
    if (i.name == "trough of a nest, critical depth") critical = i.si;
    if (i.name == "channel across, depth at the closed end") across = i.si;
  }
  published("study", "critical depth in the trough of a nest, mm", "3 L/min in 24 mm by hand", How::computed, 7.62,
            critical / mm, 0.005);
  // The trough ends in the channel, whose feed stands sqrt(3) critical depths high at the least; friction adds.
  EXPECT_GE(across, std::sqrt(3.0) * critical);
  EXPECT_LT(across, 1.15 * std::sqrt(3.0) * critical);
  EXPECT_GE(f.value, across);
  // A lever does what it says.
  for (const auto& l : f.levers)
    if (l.key == "pallet.run_off.flow") {
      EXPECT_NEAR(with({{"flow = \"3 L/min\"", "flow = \"" + base::fixed(l.flip * 6e4, 9) + " L/min\""}})
                          .at("op30.run_off.trough_holds")
                          .value /
                      mm,
                  10, 1e-3);
    }
  EXPECT_EQ(with({{"depth = \"10 mm\"\nalong", "depth = \"40 mm\"\nalong"}}).at("op30.run_off.trough_holds").state,
            State::inside);
}

TEST(StudyRunOff, GrainsOfTheDemo) {
  const demo::Run r = with();
  const auto f = r.at("op30.run_off.grains_carried");
  EXPECT_EQ(f.state, State::outside);
  double threshold = 0, week = 0;
  for (const auto& i : f.inputs) {
    if (i.name == "shear that moves the grain") threshold = i.si;
    if (i.name == "swarf of a week's good parts") week = i.si;
  }
  published("study", "shear that moves iron of 0.5 mm, Pa", "Soulsby 1997 by hand", How::computed, 0.91, threshold,
            0.005);
  published("study", "swarf of a week, kg", "masses of the demo by hand: 240 (2.90 - 2.595)", How::computed, 73.2, week,
            1e-9);
  bool caked = false;
  for (const std::string& c : f.cautions) caked = caked || c.find("cake") != std::string::npos;
  EXPECT_TRUE(caked);
  for (const auto& l : f.levers)
    if (l.key == "pallet.run_off.slope") {
      EXPECT_NEAR(
          with({{"slope = \"0 deg\"", "slope = \"" + base::fixed(l.flip * 180 / 3.14159265358979, 9) + " deg\""}})
              .at("op30.run_off.grains_carried")
              .value,
          1, 1e-3);
    }
}

TEST(StudyRunOff, WhatStays) {
  const auto f = with().at("op30.pallet.coolant_stays");
  // Two pockets 30 x 22 x 12 and four holes of 5 by 16 in each of four parts; the counterbore drains through the bore.
  const double hollows = 4 * (2 * 30 * 22 * 12 + 4 * 3.14159265358979 / 4 * 25 * 16);
  double part = 0, plate = -1;
  for (const auto& i : f.inputs) {
    if (i.name == "hollows of a part that do not drain") part = i.si;
    if (i.name == "hollows of the plate that do not drain") plate = i.si;
  }
  published("study", "coolant in the hollows of four parts, mL", "pockets and drilled holes by hand, square corners",
            How::computed, hollows * 1e-3, 4 * part * 1e6, 0.02 * hollows * 1e-3);
  EXPECT_EQ(plate, 0) << "all troughs run to the hole";
  // Without the hole the troughs stay full: nothing drains them, least area by hand is that of four troughs.
  const auto closed = with({{"exit_diameter = \"24 mm\"\n", ""}}).at("op30.pallet.coolant_stays");
  for (const auto& i : closed.inputs)
    if (i.name == "hollows of the plate that do not drain") {
      EXPECT_GT(i.si, 4 * 24e-3 * 10e-3 * 45e-3);
    }
}

TEST(StudyRunOff, FieldsOfThePictureAreThoseOfTheFinding) {
  const demo::Run r = with();
  const CoolantStays part = part_coolant(r.plan, 1), plate = plate_coolant(r.plan);
  double by_cell = 0;
  for (std::size_t i = 0; i < part.field.z.size(); ++i)
    if (std::isfinite(part.level[i])) by_cell += (part.level[i] - part.field.z[i]) * part.field.cell * part.field.cell;
  EXPECT_NEAR(by_cell, part.volume(), 1e-9) << "depth of every cell adds up to the pools";
  int seen = 0;
  const finding::Finding f = r.at("op30.pallet.coolant_stays");
  for (const finding::Input& x : f.inputs) {
    const bool of_part = x.name == "hollows of a part that do not drain";
    if (!of_part && x.name != "hollows of the plate that do not drain") continue;
    EXPECT_DOUBLE_EQ(x.si, of_part ? part.volume() : plate.volume());
    ++seen;
  }
  EXPECT_EQ(seen, 2);
  // Turned over, what was a hollow from above is one no more: other pools.
  EXPECT_NE(part_coolant(r.plan, -1).volume(), part.volume());
}

TEST(StudyRunOff, OpenWhereNobodySays) {
  const auto f = with({{"flow = \"3 L/min\"\n", ""}});
  for (const char* q : {"trough_holds", "grains_carried"}) {
    EXPECT_EQ(f.at("op30.run_off." + std::string(q)).state, State::open) << q;
    EXPECT_NE(missing(f.at("op30.run_off." + std::string(q))).find("pallet.run_off.flow"), std::string::npos) << q;
  }
}

TEST(StudyReach, DemoTools) {
  const demo::Run r = with();
  const std::string source = "drawing and tool cards of the demo by hand";
  published("study", "T15 in the groove, mm", "circles by hand: (35 - 18)/2 - (54.08 - 50)/2", How::computed, 6.46,
            r.at("op30.F5.reach.T15").value / mm, 1e-6);
  // Axis 8 outside the end at 66, screws at 54 with heads of 16 and washers: 74 - 54 - 8 - 8.
  published("study", "T12 beside the screw heads, mm", source, How::computed, 4.0, r.at("op30.F1.reach.T12").value / mm,
            1e-6);
  for (const auto& f : r.study.findings)
    if (f.question == "reach" && f.operation == "op30") {
      EXPECT_EQ(f.state, State::inside) << f.id;
    }
  // Nobody said stick-out and holder of the tools of OP20.
  const auto open = r.at("op20.-.reach");
  EXPECT_EQ(open.state, State::open);
  EXPECT_NE(missing(open).find("tool.stick_out (or operation.cut.stick_out): of T2, T3"), std::string::npos)
      << missing(open);
}

TEST(StudyReach, ShortToolsAndLargeHeadsAreSeen) {
  const auto cut = [](const std::string& stick_out) {
    return with({{"tool = \"T12\"\nfeatures = \"F1\"",
                  "tool = \"T12\"\nstick_out = \"" + stick_out + "\"\nfeatures = \"F1\""}})
        .at("op30.F1.reach.T12");
  };
  // Tip 0.5 below the part; head and washer end 36.5 + 1.6 + 8 = 46.1 above it; the holder of 44 would hit them.
  EXPECT_NEAR(cut("46 mm").value / mm, 46 - 46.1, 1e-6);
  EXPECT_EQ(cut("46 mm").state, State::outside);
  EXPECT_NEAR(cut("48 mm").value / mm, 1.9, 1e-6);
  ASSERT_FALSE(cut("46 mm").levers.empty());
  EXPECT_NEAR(cut("46 mm").levers[0].flip / mm, 47.1, 1e-3);
  // A neighbour 4 nearer: gap 152 - 74 - 68.125 = 9.875 against a cutter of 8.
  const auto near = with({{"at = \"±78, ±57 mm\"", "at = \"±76, ±57 mm\""}}).at("op30.F1.reach.T12");
  EXPECT_NEAR(near.value / mm, 1.875, 1e-6);
}

/// A block of 100 x 60 x 50 mm stepped down to 20 mm at its end, with a hole there and one in the floor of a pocket.
demo::Run stepped(const std::string& top_size, const std::string& stick_out, const std::string& shift = "0") {
  const double x = base::to_double(shift).value_or(0);
  const auto at = [&](double a, const std::string& rest) { return "at = \"" + base::shortest(x + a) + rest + "\"\n"; };
  const std::string text =
      "fettle = 1\n[plan]\nname = \"stepped\"\n[part]\nsize = \"100 x 60 x 50 mm\"\n"
      "[[feature]]\nid = \"outside\"\nkind = \"profile\"\n" +
      at(0, ", 0, 25 mm") +
      "size = \"100 x 60 mm\"\nfrom = \"0 mm\"\nto = \"50 mm\"\n"
      "[[feature]]\nid = \"top\"\nkind = \"face\"\nnormal = \"+z\"\n" +
      at(-10, ", 0, 50 mm") + top_size +
      "[[feature]]\nid = \"P1\"\nkind = \"face\"\nnormal = \"+z\"\nsize = \"20 x 60 mm\"\n" + at(40, ", 0, 20 mm") +
      "[[feature]]\nid = \"K1\"\nkind = \"pocket\"\nnormal = \"+z\"\nwidth = \"40 mm\"\nlength = \"30 mm\"\n"
      "radius = \"6 mm\"\nfrom = \"30 mm\"\nto = \"50 mm\"\n" +
      at(-10, ", 0, 30 mm") +
      "[[feature]]\nid = \"H1\"\nkind = \"hole\"\nnormal = \"+z\"\ndiameter = \"Ø10 mm\"\nfrom = \"0 mm\"\n"
      "to = \"20 mm\"\n" +
      at(50 - 3.5, ", 0, 0 mm") +
      "[[feature]]\nid = \"H2\"\nkind = \"hole\"\nnormal = \"+z\"\ndiameter = \"Ø10 mm\"\nfrom = \"0 mm\"\n"
      "to = \"30 mm\"\n" +
      at(-10, ", 5, 0 mm") +
      "[[tool]]\nid = \"T1\"\nkind = \"drill\"\ndiameter = \"10 mm\"\nholder = \"30 mm\"\nstick_out = \"" + stick_out +
      "\"\n[[operation]]\nid = \"OP10\"\nkind = \"vise\"\nup = \"+z\"\nmakes = [\"H1\", \"H2\"]\n"
      "[[operation.cut]]\ntool = \"T1\"\nfeatures = [\"H1\", \"H2\"]\n";
  return demo::run(text, only({"reach"}));
}

TEST(StudyReach, WhatStandsBesideALowMouthIsTheHigherFlatAndThePocketItsWalls) {
  const std::string size = "size = \"80 x 60 mm\"\n";
  // The top ends at x = 30 and leans out by 30 mm x tan 3 deg; the axis is at 46.5, the holder 15 thick.
  const double side = 46.5 - 30 - 30 * std::tan(3 * 3.14159265358979323846 / 180) - 15;
  const demo::Run low = stepped(size, "40 mm");
  EXPECT_NEAR(low.at("op10.H1.reach.T1").value / mm, side, 1e-6) << "the holder beside the step";
  // In the pocket the wall is 10 from the axis; tip 3 below the part, top 53 above it.
  EXPECT_NEAR(low.at("op10.H2.reach.T1").value / mm, 10 - 15, 1e-6) << low.at("op10.H2.reach.T1").sentence;
  EXPECT_EQ(low.at("op10.H2.reach.T1").state, State::outside);
  // Set out so far that the holder stays 7 above the top, the shank of 5 beside that wall is the tightest.
  EXPECT_NEAR(stepped(size, "60 mm").at("op10.H2.reach.T1").value / mm, 10 - 5, 1e-6);
  // A top that does not say how large it is may stand over the hole: the holder stays above it.
  EXPECT_NEAR(stepped("", "40 mm").at("op10.H1.reach.T1").value / mm, 5 - 15, 1e-6) << "it touches, sideways least";
  EXPECT_NEAR(stepped("", "60 mm").at("op10.H1.reach.T1").value / mm, 60 - 53, 1e-6);
  // The same with the frame beside the part.
  EXPECT_NEAR(stepped(size, "40 mm", "300").at("op10.H1.reach.T1").value / mm, side, 1e-6);
}

TEST(StudyReach, ThePartIsAsLongAsItSaysWhereverItsFrameLies) {
  // Drilled from +x: 12 deep from the end at x = 350 with the frame 300 beside the middle.
  const auto room = [](const std::string& x) {
    const double m = base::to_double(x).value_or(0);
    const std::string text =
        "fettle = 1\n[plan]\nname = \"side\"\n[part]\nsize = \"100 x 60 x 50 mm\"\n"
        "[[feature]]\nid = \"outside\"\nkind = \"profile\"\nat = \"" +
        x +
        ", 0, 25 mm\"\nsize = \"100 x 60 mm\"\n"
        "[[feature]]\nid = \"H1\"\nkind = \"hole\"\nnormal = \"+x\"\ndiameter = \"Ø10 mm\"\nat = \"" +
        x + ", 0, 25 mm\"\nfrom = \"" + base::shortest(m + 38) + " mm\"\nto = \"" + base::shortest(m + 50) +
        " mm\"\n[[tool]]\nid = \"T1\"\nkind = \"drill\"\ndiameter = \"10 mm\"\nholder = \"30 mm\"\nstick_out = \"40 "
        "mm\"\n"
        "[[operation]]\nid = \"OP10\"\nkind = \"vise\"\nup = \"+x\"\nmakes = \"H1\"\n"
        "[[operation.cut]]\ntool = \"T1\"\nfeatures = \"H1\"\n";
    return demo::run(text, only({"reach"})).at("op10.H1.reach.T1").value;
  };
  EXPECT_NEAR(room("0") / mm, 40 - 12, 1e-6);
  EXPECT_NEAR(room("300") / mm, 40 - 12, 1e-6);
}

TEST(StudyReach, FlutesAreAsked) {
  EXPECT_EQ(with().at("op30.F1.flutes.T12").state, State::open);
  EXPECT_EQ(with().find("op30.F6.flutes.T16"), nullptr) << "4 mm deep with a cutter of 10";
}

}  // namespace
}  // namespace fettle::study
