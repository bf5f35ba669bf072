#include "calc/tolerance/working.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "maths/random.h"
#include "published.h"

namespace fettle::tolerance {
namespace {

using test::How;
using test::published;

constexpr double mm = 1e-3;
constexpr double nan = std::numeric_limits<double>::quiet_NaN();
const char* const slot = "lecture slides on tolerance stacks, slot in a machined block, three methods (public)";

WorkingCut cut(const char* operation, std::vector<std::string> from, const char* made, double about, double holds) {
  WorkingCut c;
  c.operation = operation;
  c.from = std::move(from);
  c.made = made;
  c.about = about;
  c.holds = holds;
  return c;
}
/// The block: bottom B, top T cut twice, slot floor S. Inches.
WorkingInputs block(double slot_holds, bool last_from_final_top) {
  WorkingInputs in;
  in.raw = {{"raw height", "B", "T", 1.1, .02}};
  in.cuts = {cut("A", {"B"}, "T", 1.03, .002)};
  if (last_from_final_top) {
    in.cuts.push_back(cut("B", {"B"}, "T", 1, .002));
    in.cuts.push_back(cut("C", {"T"}, "S", -.5, slot_holds));
  } else {
    in.cuts.push_back(cut("B", {"T"}, "S", -.53, slot_holds));
    in.cuts.push_back(cut("C", {"B"}, "T", 1, .002));
  }
  in.drawing = {{"slot depth", "S", "T", .490, .510}};
  in.widest = 1000;
  return in;
}

TEST(WorkingDimensions, SlotByThreeMethods) {
  // Slot cut from a top that is machined again: 0.002 + 0.010 + 0.002 is more than the slot's 0.010.
  const WorkingResult one = working_dimensions(block(.010, false)).value();
  EXPECT_FALSE(one.exist);
  EXPECT_TRUE(one.any);
  ASSERT_EQ(one.clash.size(), 1u);
  EXPECT_EQ(one.clash_sentence, "slot depth cannot hold with what its chain's processes hold");
  published("tolerance", "slot from a top machined again: what the processes would have to shrink to", slot, How::exact,
            10.0 / 14, one.factor, 1e-9);
  // The slides tighten the slot to ±0.006: then it just holds.
  const WorkingResult two = working_dimensions(block(.006, false)).value();
  EXPECT_TRUE(two.exist);
  published("tolerance", "slot from a top machined again, tightened to ±0.006 in, factor", slot, How::read, 1,
            two.factor, 1e-9);
  published("tolerance", "slot from a top machined again, working tolerance of the slot, in", slot, How::read, .006,
            two.dimensions[1].tolerance, 1e-10);
  EXPECT_EQ(two.dimensions[1].held_by, std::vector<std::string>{"slot depth"});
  // From the finished top it holds at ±0.010 directly, and the tops are free.
  const WorkingResult three = working_dimensions(block(.010, true)).value();
  published("tolerance", "slot from the finished top, working tolerance of the slot, in", slot, How::read, .010,
            three.dimensions[2].tolerance, 1e-10);
  EXPECT_TRUE(three.dimensions[0].free);
  EXPECT_TRUE(three.dimensions[1].free);
  EXPECT_NEAR(three.dimensions[2].mean, -.5, 1e-9);
}

/// A stepped block ground on both sides, mm: raw height, both faces, a floor from the last face.
WorkingInputs plate() {
  WorkingInputs in;
  in.raw = {{"thickness", "A", "F11", 39.9 * mm, .9 * mm}, {"floor", "A", "F3", 22.25 * mm, .85 * mm}};
  in.cuts = {cut("G10T", {"A"}, "F11", 38 * mm, .008 * mm), cut("G10A", {"F11"}, "A", -36 * mm, .008 * mm),
             cut("OP30", {"A"}, "F3", 18 * mm, .02 * mm)};
  in.cuts[0].side = 1;
  in.cuts[0].least_stock = .8 * mm;
  in.cuts[1].side = -1;
  in.cuts[1].least_stock = .8 * mm;
  in.cuts[2].side = 1;
  in.cuts[2].least_stock = .8 * mm;
  in.drawing = {{"height", "A", "F11", 35.94 * mm, 36.06 * mm}, {"floor", "A", "F3", 17.96 * mm, 18.04 * mm}};
  return in;
}

TEST(WorkingDimensions, ChainsAreTraced) {
  const WorkingResult r = working_dimensions(plate()).value();
  ASSERT_TRUE(r.exist);
  ASSERT_EQ(r.resultants.size(), 5u);
  // Stock on F3: raw floor - (first height - second height) - floor, found without being told.
  const Resultant& f3 = r.resultants[4];
  EXPECT_EQ(f3.name, "stock on F3 in OP30");
  ASSERT_EQ(f3.chain.size(), 4u);
  EXPECT_TRUE(f3.chain[0].is_raw);
  EXPECT_EQ(f3.chain[0].index, 1);
  EXPECT_EQ(f3.chain[0].sign, 1);
  EXPECT_EQ(f3.chain[1].sign, -1);  // G10T
  EXPECT_EQ(f3.chain[2].sign, -1);  // G10A: its dimension runs towards -Z
  EXPECT_EQ(f3.chain[3].sign, -1);
  // Drawing dimensions cut directly take the drawing's own tolerance.
  EXPECT_NEAR(r.dimensions[1].tolerance, .06 * mm, 1e-12);
  EXPECT_NEAR(r.dimensions[1].mean, -36 * mm, 1e-10);
  EXPECT_NEAR(r.dimensions[2].tolerance, .04 * mm, 1e-12);
  EXPECT_NEAR(r.dimensions[2].mean, 18 * mm, 1e-10);
  EXPECT_NEAR(r.factor, 2, 1e-9);
  EXPECT_TRUE(r.dimensions[0].free);
  for (const Resultant& x : r.resultants) EXPECT_GE(x.reserve, -1e-12) << x.name;
}

TEST(WorkingDimensions, OtherDatumCostsTolerance) {
  // The same floor cut from the top: floor and height now share the drawing's tolerance of the floor.
  WorkingInputs in = plate();
  in.cuts[2] = cut("OP30", {"F11"}, "F3", -18 * mm, .02 * mm);
  const WorkingResult r = working_dimensions(in).value();
  // 0.04 = s (0.02 + 0.008): exact. Height then keeps its share though its own limit would allow 0.06.
  published("tolerance", "floor from the top: widest common factor", "0.04 / (0.02 + 0.008), by hand", How::exact,
            .04 / .028, r.factor, 1e-9);
  EXPECT_NEAR(r.dimensions[2].tolerance, .04 / .028 * .02 * mm, 1e-12);
  EXPECT_NEAR(r.dimensions[1].tolerance, .04 / .028 * .008 * mm, 1e-12);
  in.statistical = true;
  const WorkingResult q = working_dimensions(in).value();
  published("tolerance", "floor from the top: widest common factor, root sum square",
            "0.04 / sqrt(0.02^2 + 0.008^2), by hand", How::exact, .04 / std::hypot(.02, .008), q.factor, 1e-8);
  EXPECT_LT(q.gap, 1e-7);
  EXPECT_LE(q.resultants[1].reach, .04 * mm * (1 + 1e-7));
}

TEST(WorkingDimensions, WhatDoesNotBindIsOpenedFurther) {
  // Three resultants over three cuts (directions all +): x + y <= 3, y + z <= 5, all hold 1.
  WorkingInputs in;
  in.raw = {{"r", "0", "q", 10, 0}};
  in.cuts = {cut("a", {"0"}, "p", 1, 1), cut("b", {"p"}, "s", 1, 1), cut("c", {"s"}, "v", 1, 1)};
  in.drawing = {{"ps", "0", "s", 2 - 3.0, 2 + 3.0}, {"pv", "p", "v", 2 - 5.0, 2 + 5.0}};
  const WorkingResult r = working_dimensions(in).value();
  EXPECT_NEAR(r.factor, 1.5, 1e-9);
  EXPECT_NEAR(r.dimensions[0].tolerance, 1.5, 1e-9);
  EXPECT_NEAR(r.dimensions[1].tolerance, 1.5, 1e-9);
  EXPECT_NEAR(r.dimensions[2].tolerance, 3.5, 1e-9);
  EXPECT_EQ(r.dimensions[2].held_by, std::vector<std::string>{"pv"});
  in.statistical = true;
  const WorkingResult q = working_dimensions(in).value();
  EXPECT_NEAR(q.factor, 3 / std::sqrt(2), 1e-7);
  EXPECT_NEAR(q.dimensions[2].tolerance, std::sqrt(25 - 4.5), 1e-6);
}

TEST(WorkingDimensions, NobodyDoesBetter) {
  // Random tolerances and means that fit never have a larger least factor (worst case and root sum square).
  for (const bool statistical : {false, true}) {
    WorkingInputs in = plate();
    in.cuts[2] = cut("OP30", {"F11"}, "F3", -18 * mm, .02 * mm);
    in.drawing.push_back({"step", "F3", "F11", 17.95 * mm, 18.09 * mm});
    in.statistical = statistical;
    const WorkingResult r = working_dimensions(in).value();
    for (std::uint64_t item = 0; item < 3000; ++item) {
      double least = 1e9;
      std::vector<double> t, d;
      for (std::uint32_t j = 0; j < 3; ++j) {
        const double f = r.factor * (.7 + .9 * maths::uniform(9, item, j));
        least = std::min(least, f);
        t.push_back(f * in.cuts[j].holds);
        d.push_back(r.dimensions[j].mean + 2e-5 * maths::normal(9, item, 10 + j));
      }
      bool fits = true;
      for (const Resultant& x : r.resultants) {
        double mean = 0, worst = 0, squares = 0;
        for (const ChainTerm& k : x.chain) {
          const auto i = static_cast<std::size_t>(k.index);
          mean += k.sign * (k.is_raw ? in.raw[i].size : d[i]);
          const double reach = std::fabs(k.sign) * (k.is_raw ? in.raw[i].tolerance : t[i]);
          worst += reach;
          squares += reach * reach;
        }
        const double reach = statistical ? std::sqrt(squares) : worst;
        fits = fits && (!x.lower || mean - reach >= *x.lower) && (!x.upper || mean + reach <= *x.upper);
      }
      EXPECT_FALSE(fits && least > r.factor * (1 + 1e-6)) << item;
    }
  }
}

TEST(WorkingDimensions, MiddleBetweenTwoRawEnds) {
  // A hole in the middle of raw ends, then both ends from the hole: each end sees half the raw length.
  WorkingInputs in;
  in.raw = {{"length", "-x", "+x", 136.25 * mm, 1.25 * mm}};
  in.cuts = {cut("OP20", {"+x", "-x"}, "hole", 0, .01 * mm), cut("OP30", {"hole"}, "-x", -66 * mm, .01 * mm),
             cut("OP30", {"-x"}, "+x", 132 * mm, .01 * mm)};
  in.cuts[1].side = -1;
  in.cuts[2].side = 1;
  in.cuts[2].within = true;
  in.cuts[1].least_stock = in.cuts[2].least_stock = .8 * mm;
  in.drawing = {{"length", "-x", "+x", 131.9 * mm, 132.1 * mm}};
  const WorkingResult r = working_dimensions(in).value();
  ASSERT_TRUE(r.exist);
  const Resultant& left = r.resultants[1];
  EXPECT_EQ(left.name, "stock on -x in OP30");
  EXPECT_NEAR(left.chain[0].sign, .5, 1e-15);
  EXPECT_GE(left.reserve, 0);
  EXPECT_NEAR(r.dimensions[2].tolerance, .1 * mm, 1e-12);
}

TEST(WorkingDimensions, OneClampingSeesTheSurfacesItWasClampedOn) {
  // Both ends roughed and a hole drilled from the middle of the raw ends: the hole does not see the roughed ends.
  WorkingInputs in;
  in.raw = {{"length", "-x", "+x", 136 * mm, 1 * mm}};
  in.cuts = {cut("OP20", {"+x", "-x"}, "+x", 66.5 * mm, .01 * mm), cut("OP20", {"+x", "-x"}, "hole", 0, .01 * mm),
             cut("OP30", {"hole"}, "+x", 66 * mm, .01 * mm)};
  in.cuts[2].side = 1;
  in.cuts[2].least_stock = 0;
  in.drawing = {{"end", "hole", "+x", 65.9 * mm, 66.1 * mm}};
  const WorkingResult r = working_dimensions(in).value();
  const Resultant& stock = r.resultants[1];
  ASSERT_EQ(stock.chain.size(), 3u);  // the raw length cancels: both came from the same middle
  for (const ChainTerm& t : stock.chain) EXPECT_FALSE(t.is_raw);
  in.cuts[1].within = true;
  EXPECT_TRUE(working_dimensions(in)->resultants[1].chain[0].is_raw);
}

TEST(WorkingDimensions, MeansThatStandAreKept) {
  WorkingInputs in = plate();
  in.means_given = true;
  const WorkingResult r = working_dimensions(in).value();
  for (std::size_t j = 0; j < 3; ++j) EXPECT_EQ(r.dimensions[j].mean, in.cuts[j].about);
  EXPECT_TRUE(r.dimensions[0].free);
  // Stock on F11: 39.9 - 0.9 - 38 - t >= 0.8, so the first height may have 0.2 once nothing else stops it.
  in.widest = 1000;
  published("tolerance", "first height at 38: widest tolerance, mm", "39.9 - 0.9 - 0.8 - 38, by hand", How::exact, .2,
            working_dimensions(in)->dimensions[0].tolerance / mm, 1e-8);
  // A mean off the middle of its limits costs tolerance; a mean outside them leaves none.
  in.cuts[2].about = 18.03 * mm;
  EXPECT_NEAR(working_dimensions(in)->factor, .5, 1e-9);
  EXPECT_EQ(working_dimensions(in)->clash_sentence, "floor cannot hold with what its chain's processes hold");
  in.cuts[2].about = 18.05 * mm;
  EXPECT_FALSE(working_dimensions(in)->any);
  in.means_given = false;
  EXPECT_TRUE(working_dimensions(in)->exist);
}

TEST(WorkingDimensions, SmallestClashIsNamed) {
  // Too little stock for both faces: the first face can be placed to suit either, not both.
  WorkingInputs in = plate();
  in.raw[0].size = 38.4 * mm;  // 38.4 - 0.9 - 36 leaves 1.5, and twice 0.8 is asked
  const WorkingResult r = working_dimensions(in).value();
  EXPECT_FALSE(r.exist);
  EXPECT_FALSE(r.any);
  EXPECT_TRUE(r.dimensions.empty());
  ASSERT_EQ(r.clash.size(), 3u) << r.clash_sentence;
  EXPECT_TRUE(r.clash_is_smallest);
  EXPECT_EQ(r.clash_sentence, "these cannot all hold: height; stock on F11 in G10T; stock on A in G10A");
  // With a little more it exists only if the grinder were better than he is.
  in.raw[0].size = 38.4 * mm + .05 * mm + .04 * mm;  // 1.59, and 1.6 - 0.06 + ... is asked
  const WorkingResult q = working_dimensions(in).value();
  // stock: raw 38.49 - 0.9 - t1 - d1 >= 0.8 and d1 - d2 - t1 - t2 >= 0.8 with d2 + ... >= 35.94 + t2:
  // 38.49 - 0.9 - 1.6 - 35.94 = 0.05 >= 2 t1 + 2 t2 at t = 0.008 s: s = 0.05 / 0.032.
  published("tolerance", "two stocks under one height: widest common factor", "0.05 / 0.032, by hand", How::exact,
            .05 / .032, q.factor, 1e-7);
  in.raw[0].size -= .03 * mm;
  const WorkingResult t = working_dimensions(in).value();
  EXPECT_NEAR(t.factor, .02 / .032, 1e-7);
  EXPECT_FALSE(t.exist);
  EXPECT_TRUE(t.any);
  EXPECT_EQ(t.clash.size(), 3u);
  EXPECT_EQ(t.dimensions.size(), 3u);
}

TEST(WorkingDimensions, SameAnswerFromAnyStart) {
  WorkingInputs in = plate();
  const WorkingResult a = working_dimensions(in).value();
  for (WorkingCut& c : in.cuts) c.about *= 1.01;
  const WorkingResult b = working_dimensions(in).value();
  EXPECT_NEAR(a.factor, b.factor, 1e-8);
  for (std::size_t j = 0; j < 3; ++j) EXPECT_NEAR(a.dimensions[j].tolerance, b.dimensions[j].tolerance, 1e-11);
}

TEST(WorkingDimensions, Refuses) {
  const auto refused = [](auto change) {
    WorkingInputs in = plate();
    change(in);
    return !working_dimensions(in).ok();
  };
  EXPECT_FALSE(refused([](WorkingInputs&) {}));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.raw[0].size = nan; }));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.raw[0].tolerance = -1e-9; }));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.raw.push_back({"again", "A", "F11", 1, 0}); }));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.raw.push_back({"none", "X", "X", 1, 0}); }));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.cuts.clear(); }));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.cuts[0].holds = 0; }));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.cuts[0].about = nan; }));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.cuts[0].side = 2; }));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.cuts[0].side = 0; }));  // stock without a side
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.cuts[0].most_stock = .8 * mm; }));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.cuts[0].least_stock = nan; }));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.cuts[0].from.clear(); }));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.cuts[0].made.clear(); }));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.cuts[1].from = {"F12"}; }));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.drawing[0].to = "F12"; }));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.drawing[0].lower = in.drawing[0].upper; }));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.drawing[0].lower = in.drawing[0].upper = {}; }));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.drawing[0].upper = nan; }));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.widest = .99; }));
  EXPECT_TRUE(refused([](WorkingInputs& in) { in.widest = nan; }));
  // A floor that nothing ties to the rest.
  EXPECT_TRUE(refused([](WorkingInputs& in) {
    in.raw[1].from = "elsewhere";
    in.cuts[2].from = {"elsewhere"};
  }));
  WorkingInputs in = plate();
  in.cuts[1].from = {"F111"};
  EXPECT_EQ(working_dimensions(in).problem().nearest, "F11");
  EXPECT_EQ(working_dimensions(in).problems().size(), 1u);
}

}  // namespace
}  // namespace fettle::tolerance
