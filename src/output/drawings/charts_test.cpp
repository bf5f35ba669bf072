// The drawings with axes: distributions against limits, what mending buys, counts on a pallet, one cycle.
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "base/text.h"
#include "output/drawings/chart.h"
#include "output/drawings/drawings.h"
#include "output/drawings/figures.h"
#include "output/drawings/samples.h"
#include "output/drawings/sheet_checks.h"

namespace fettle::drawings {
namespace {

const Stamp stamp{"test", "Fettle 0.1.0", "2026-03-02"};
const Room a4{186, 258}, letter{191.9, 240.4};
const unit::Style inch{unit::Style::System::inch, false};
constexpr double nan = std::numeric_limits<double>::quiet_NaN();
const char* const accent = "rgb(72.156863%,28.235294%,10.196078%)";

std::string words_of(const Drawing& d) { return all_text(to_svg(d, stamp)->pages[0]); }
std::string words_of(const Spread& row) { return words_of(spread(row, {90, 200}, {})); }
bool warm(const Drawing& d) { return to_svg(d, stamp)->bytes.find(accent) != std::string::npos; }
Spread bore() { return samples::spreads().rows[0]; }
void expect_has(const std::string& words, const std::string& part) {
  EXPECT_NE(words.find(part), std::string::npos) << part << " in\n" << words;
}

std::vector<Drawing> every_chart(const Room& room, const unit::Style& style) {
  SpreadsView s = samples::spreads();
  MendingView m = samples::mending();
  CycleView c = samples::cycle();
  s.style = m.style = c.style = style;
  std::vector<Drawing> all{count_curve(samples::count_curve(), room), cycle(c, room)};
  for (const Drawing& d : spreads(s, room)) all.push_back(d);
  for (const Drawing& d : mending(m, room)) all.push_back(d);
  for (const Spread& row : s.rows)
    all.push_back(spread(row, room, style)), all.push_back(spread(row, {70, 200}, style));
  return all;
}

// ---- numbers --------------------------------------------------------------------------------------------------------

TEST(Chart, TicksAreRoundAndWithin) {
  EXPECT_EQ(ticks(0, 10, 6), (std::vector<double>{0, 2, 4, 6, 8, 10}));
  EXPECT_EQ(ticks(0, 61, 13), (std::vector<double>{0, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60}));
  EXPECT_EQ(ticks(0.2, 3.4, 6, true), (std::vector<double>{1, 2, 3}));
  for (double t : ticks(-0.37, 12.9, 7)) EXPECT_TRUE(t >= -0.37 && t <= 12.9) << t;
  EXPECT_LE(ticks(-0.37, 12.9, 7).size(), 7u);
  EXPECT_TRUE(ticks(1, 1, 5).empty());
  EXPECT_TRUE(ticks(2, 1, 5).empty());
  EXPECT_TRUE(ticks(0, nan, 5).empty());
  EXPECT_TRUE(ticks(0, INFINITY, 5).empty());
  EXPECT_TRUE(ticks(0, 1, 0).empty());
  EXPECT_EQ(say_tick(2.5, 2.5), "2.5");
  EXPECT_EQ(say_tick(5, 2.5), "5.0");
  EXPECT_EQ(say_tick(-3, 1), "−3");
  EXPECT_EQ(say_tick(nan, 1), "open");
}

TEST(Chart, SharesSayNoMoreThanIsKnownAndNeverHideAMiss) {
  EXPECT_EQ(say_share(0.0342), "3.4 %");
  EXPECT_EQ(say_share(0.968), "96.8 %");
  EXPECT_EQ(say_share(0.001), "0.1 %");
  EXPECT_EQ(say_share(12e-6), "12 ppm");
  EXPECT_EQ(say_share(0), "0 %");
  EXPECT_EQ(say_share(1e-14), "below 0.001 ppm");
  EXPECT_EQ(say_share(nan), "open");
  EXPECT_EQ(say_share(1), "100 %");
  EXPECT_EQ(say_share_against(0.00101, 0.001), "0.101 %");
  EXPECT_EQ(say_share_against(0.001, 0.001), "0.1 %");
  EXPECT_EQ(say_minutes(20), "0.33 min");
  EXPECT_EQ(say_minutes(3660), "61 min");
  EXPECT_EQ(say_minutes(nan), "open");
}

// ---- all of them ----------------------------------------------------------------------------------------------------

TEST(Charts, AreWellKeptOnBothPapersAndInBothUnits) {
  for (const Room& room : {a4, letter})
    for (const unit::Style& style : {unit::Style{}, inch})
      for (const Drawing& d : every_chart(room, style)) {
        expect_well_kept(d);
        EXPECT_LE(d.height, room.height + 1e-9) << d.title;
        EXPECT_EQ(to_svg(d, stamp)->pages[0].unknown_glyphs, 0) << d.title;
      }
}

TEST(Charts, SameBytes) {
  const std::vector<Drawing> one = every_chart(a4, {}), two = every_chart(a4, {});
  EXPECT_TRUE(to_pdf(one, stamp)->bytes == to_pdf(two, stamp)->bytes);
}

TEST(Charts, EmptyOnesAreOpen) {
  const Drawing all[] = {spreads({}, a4).at(0), spread({}, a4, {}), count_curve({}, a4), cycle({}, a4)};
  for (const Drawing& d : all) {
    expect_well_kept(d);
    expect_has(words_of(d), "open");
    EXPECT_FALSE(warm(d));
  }
  expect_well_kept(mending({}, a4).at(0));
  MendingView m;
  m.requirements.push_back({"id", "flat", State::tight, 0.01, 0.001, {}});
  expect_has(words_of(mending(m, a4).at(0)), "what contributes is open");
}

TEST(Charts, HostileTextsAndNumbersStayOnTheSheet) {
  std::string name;
  for (int i = 0; i < 30; ++i) name += "überlange Bezeichnung ";
  name += std::string(300, 'W') + " 弁体 \xff \x1b[31m * ` < > &";
  const double inf = std::numeric_limits<double>::infinity();
  for (double bad : {nan, inf, -inf, -1.0, 0.0, 1e300}) {
    SCOPED_TRACE(bad);
    SpreadsView s = samples::spreads();
    double Spread::*const fields[] = {&Spread::mean,      &Spread::worst_low,  &Spread::worst_high,   &Spread::share,
                                      &Spread::share_low, &Spread::share_high, &Spread::theory_share, &Spread::goal,
                                      &Spread::cp,        &Spread::cpk,        &Spread::first,        &Spread::step};
    for (double Spread::*field : fields) {
      Spread row = bore();
      row.*field = bad;
      expect_well_kept(spread(row, {90, 200}, {}));
    }
    for (Spread& row : s.rows) {
      row.title = name;
      row.lower = row.upper = bad;
      for (double& b : row.bins) b = bad;
    }
    s.title = s.sentence = name;
    for (const Drawing& d : spreads(s, a4)) expect_well_kept(d);
    MendingView m = samples::mending();
    m.title = m.sentence = name;
    for (Mending& g : m.requirements) {
      g.title = name;
      g.share = g.goal = bad;
      for (Mend& r : g.rows) r.name = r.operation = r.mend = name, r.buys = r.variance_share = bad;
    }
    for (const Drawing& d : mending(m, a4)) expect_well_kept(d);
    CountCurveView c = samples::count_curve();
    c.title = c.sentence = c.currency = name;
    for (CountPoint& p : c.points) p.machine = bad;
    expect_well_kept(count_curve(c, a4));
    for (CountPoint& p : c.points) p.cost = p.person = bad;
    expect_well_kept(count_curve(c, a4));
    CycleView y = samples::cycle();
    y.rows[0].who = y.rows[1].bars[0].what = y.title = y.sentence = name;
    y.rows[1].bars[2].from = bad;
    y.rows[1].bars[3].to = bad;
    expect_well_kept(cycle(y, a4));
    y.cycle = bad;
    expect_well_kept(cycle(y, a4));
  }
}

// ---- spread ---------------------------------------------------------------------------------------------------------

TEST(Spread, SaysLimitsMeanShareAndTheory) {
  const std::string words = words_of(bore());
  for (const char* w : {"22.0000 mm", "22.0090 mm", "mean 22.0048 mm", "worst case 21.9934 mm to 22.0162 mm",
                        "1.9 % outside (1.8 % to 2.1 %), goal 0.1 %", "Cp 0.79", "Cpk 0.74", "linear theory: 1.9 %"})
    expect_has(words, w);
  const std::string imperial = words_of(spread(bore(), {90, 200}, inch));
  unit::Style gauge = inch;
  gauge.gauge = true;
  expect_has(imperial, unit::print(0.022, unit::Kind::length, gauge));
  EXPECT_EQ(imperial.find(" mm"), std::string::npos);
}

TEST(Spread, TheShareOutsideIsHatchedAndNothingElseIs) {
  Spread good = samples::requirement("good", State::inside, 0.0, 0.001, 0.0005, 1e-5);
  EXPECT_FALSE(warm(spread(good, {90, 200}, {})));
  EXPECT_TRUE(warm(spread(bore(), {90, 200}, {})));
  // The state alone draws no distribution out: it is where the bins lie.
  Spread told = good;
  told.state = State::tight;
  EXPECT_FALSE(warm(spread(told, {90, 200}, {})));
  told.upper = 0.00052;
  EXPECT_TRUE(warm(spread(told, {90, 200}, {})));
}

TEST(Spread, WhatIsTooSmallToSeeIsDrawnHigherOrSaid) {
  Spread row = samples::requirement("depth", State::tight, -4e-5, 4e-5, 0, 1.2e-5);
  expect_has(words_of(row), "The share outside is drawn ");
  row = samples::requirement("depth", State::inside, -4.8e-5, 4.8e-5, 0, 1e-5);
  EXPECT_GT(row.share, 0);
  expect_has(words_of(row), "The share outside is too small to see.");
  row.share = 0;
  row.share_low = 0;
  row.share_high = 3e-6;
  expect_has(words_of(row), "none of the parts tried is outside (at most 3 ppm)");
  EXPECT_EQ(words_of(row).find("too small"), std::string::npos);
}

TEST(Spread, AVeryWideOneKeepsItsLimitsApartAndSaysWhatIsCutOff) {
  for (double s : {1e-3, 1e-2, 1.0}) {
    const Spread row = samples::requirement("wild", State::outside, 0.0329, 0.0331, 0.033 + 0.7 * s, s);
    const Drawing d = spread(row, {90, 200}, {});
    expect_well_kept(d);
    const std::string words = words_of(d);
    EXPECT_NE(words.find("32.900 mm"), std::string::npos) << words;
    EXPECT_NE(words.find("33.100 mm"), std::string::npos) << words;
    expect_has(words, "of the parts lie farther right.");
  }
}

TEST(Spread, AZoneStartsAtZeroAndALowerLimitAloneIsSaid) {
  const Spread zone = samples::spreads().rows[1];
  expect_has(words_of(zone), "≤ 0.050 mm");
  expect_has(words_of(zone), "\n0\n");
  Spread with_zero = zone;  // a lower limit of 0 is the same zone
  with_zero.lower = 0;
  EXPECT_EQ(words_of(with_zero), words_of(zone));
  Spread least = samples::requirement("wall", State::inside, 0.004, std::nullopt, 0.0045, 1e-4);
  expect_has(words_of(least), "≥ 4.000 mm");
  EXPECT_EQ(words_of(least).find("Cp "), std::string::npos);
  EXPECT_EQ(words_of(least).find("\n0\n"), std::string::npos);
  // A bore that may be too small, since it is honed: its axis does not start at 0.
  const Spread honed = samples::requirement("bore", State::inside, std::nullopt, 0.022009, 0.022003, 2e-6);
  expect_has(words_of(honed), "≤ 22.009 mm");
  EXPECT_EQ(words_of(honed).find("\n0\n"), std::string::npos);
  EXPECT_EQ(words_of(honed).find("too small to see"), std::string::npos);
}

TEST(Spread, ManyRunOverPagesEachOnce) {
  SpreadsView view;
  view.title = "What will come out";
  for (int i = 0; i < 31; ++i)
    view.rows.push_back(
        samples::requirement("requirement " + std::to_string(100 + i), State::inside, -4e-5, 4e-5, 0, 1e-5));
  const std::vector<Drawing> pages = spreads(view, a4, 100);
  EXPECT_GE(pages.size(), 4u);
  std::string words;
  for (std::size_t i = 0; i < pages.size(); ++i) {
    expect_well_kept(pages[i]);
    EXPECT_LE(pages[i].height, i == 0 ? 100 : a4.height);
    words += words_of(pages[i]);
  }
  for (int i = 0; i < 31; ++i) {
    const std::string title = "requirement " + std::to_string(100 + i);
    const std::size_t at = words.find(title);
    ASSERT_NE(at, std::string::npos);
    EXPECT_EQ(words.find(title, at + 1), std::string::npos);
  }
}

// ---- margins with long levers
// ----------------------------------------------------------------------------------------

TEST(Margins, LongLeversStandBelowTheirRowWithoutLosingAWord) {
  MarginsView view;
  const std::string lever =
      "moving the one feature into the other clamping brings the share to a tenth of what it is, and "
      "costs half a minute a part and one tool more";
  for (int i = 0; i < 6; ++i)
    view.rows.push_back(samples::row("OP30", "coaxial", "1.2 %", "≤ 0.1 %", State::outside, -0.3, lever));
  view.rows.push_back(samples::row("OP30", "inside", "1", "≥ 0.5", State::inside, 0.9, lever));
  const Drawing d = margins(view, a4).at(0);
  expect_well_kept(d);
  const std::string words = words_of(d);
  int n = 0;
  for (std::size_t at = words.find(lever); at != std::string::npos; at = words.find(lever, at + 1)) ++n;
  EXPECT_EQ(n, 6);
  for (FindingRow& row : view.rows) row.lever = "28 N·m";
  EXPECT_LT(margins(view, a4).at(0).height, d.height);
  expect_has(words_of(margins(view, a4).at(0)), "28 N·m");
}

// ---- mending --------------------------------------------------------------------------------------------------------

TEST(Mending, NamesWhatToDoFirstAndAddsUpTheRest) {
  const std::vector<Drawing> pages = mending(samples::mending(), a4);
  ASSERT_EQ(pages.size(), 1u);
  const std::string words = words_of(pages[0]);
  for (const char* w : {"F2 to F4, coaxial: 3.4 % outside, goal 0.1 %", "parts gained; whole length 3.4 %", "2.9 %",
                        "61 %", "cut F4 in the clamping of F2", "nothing", "and 8 more, together 6.4 % of the spread"})
    expect_has(words, w);
  // What is not known is open and never nothing.
  MendingView m = samples::mending();
  m.requirements = {{"r", "r", State::outside, 0.1, 0.001, {{"a", "", nan, nan, ""}}}};
  const std::string open = words_of(mending(m, a4)[0]);
  expect_has(open, "open");
  EXPECT_EQ(open.find("nothing"), std::string::npos);
}

TEST(Mending, ManyRunOverPages) {
  MendingView m = samples::mending();
  while (m.requirements.size() < 14) m.requirements.push_back(m.requirements[0]);
  const std::vector<Drawing> pages = mending(m, letter, 80);
  EXPECT_GE(pages.size(), 3u);
  for (const Drawing& d : pages) {
    expect_well_kept(d);
    EXPECT_LE(d.height, letter.height);
  }
}

// ---- the clock and the money ----------------------------------------------------------------------------------------

TEST(CountCurve, MarksTheNumberOfNow) {
  const std::string words = words_of(count_curve(samples::count_curve(), a4));
  for (const char* w :
       {"now 8", "machine", "person", "minutes a part", "cost of a good part, EUR", "parts on a pallet set"})
    expect_has(words, w);
  CountCurveView v = samples::count_curve();
  v.now = 0;
  EXPECT_EQ(words_of(count_curve(v, a4)).find("now"), std::string::npos);
  v.points = {v.points[3]};
  expect_well_kept(count_curve(v, a4));
  for (CountPoint& p : v.points) p.cost = nan;  // no money known: the minutes stand alone
  EXPECT_EQ(words_of(count_curve(v, a4)).find("cost"), std::string::npos);
  v = samples::count_curve();
  v.points.clear();
  for (int n = 1; n <= 60; ++n) v.points.push_back({n, 400.0 + 300.0 / n, 405.0 + 290.0 / n, 20 + 9.0 / n});
  expect_well_kept(count_curve(v, a4));
}

TEST(Cycle, EveryStretchIsNamedInItsBarOrInTheList) {
  const std::string words = words_of(cycle(samples::cycle(), a4));
  for (const char* w : {"machine B", "loader", "finisher", "T17", "gauge all bores of the set", "waits for machine B",
                        "tool change, 0.8 min in 8 stretches", "loader: swap, 0.33 min", "minutes", "without work"})
    expect_has(words, w);
}

TEST(Cycle, WaitingIsHatchedAndACycleMayBeCrowded) {
  CycleView v = samples::cycle();
  for (CycleRow& row : v.rows)
    for (CycleBar& bar : row.bars) bar.waiting = false;
  EXPECT_EQ(words_of(cycle(v, a4)).find("\nwithout work\n"), std::string::npos);
  EXPECT_NE(words_of(cycle(samples::cycle(), a4)).find("\nwithout work\n"), std::string::npos);
  v.rows[0].bars.clear();
  for (int i = 0; i < 400; ++i)
    v.rows[0].bars.push_back({"T" + std::to_string(i % 30), 9.0 * i, 9.0 * i + 8, i % 7 == 0});
  const Drawing d = cycle(v, a4);
  expect_well_kept(d);
  EXPECT_LE(d.height, a4.height);
}

}  // namespace
}  // namespace fettle::drawings
