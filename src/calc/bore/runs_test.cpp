#include "calc/bore/runs.h"

#include <gtest/gtest.h>

#include <cmath>

#include "maths/capability.h"
#include "maths/random.h"
#include "maths/statistics.h"
#include "published.h"

namespace fettle::bore {
namespace {

using test::How;
using test::published;

TEST(Charts, Constants) {
  struct Row {
    int n;
    double d2, d3, c4, A2, D3, D4, A3, B3, B4;
  };
  const Row rows[] = {{2, 1.1284, .8525, .7979, 1.880, 0, 3.267, 2.659, 0, 3.267},
                      {3, 1.6926, .8884, .8862, 1.023, 0, 2.575, 1.954, 0, 2.568},
                      {4, 2.0588, .8798, .9213, .729, 0, 2.282, 1.628, 0, 2.266},
                      {5, 2.3259, .8641, .9400, .577, 0, 2.115, 1.427, 0, 2.089},
                      {6, 2.5344, .8480, .9515, .483, 0, 2.004, 1.287, .030, 1.970},
                      {7, 2.7044, .8332, .9594, .419, .076, 1.924, 1.182, .118, 1.882},
                      {8, 2.8472, .8198, .9650, .373, .136, 1.864, 1.099, .185, 1.815},
                      {9, 2.9700, .8078, .9693, .337, .184, 1.816, 1.032, .239, 1.761},
                      {10, 3.0775, .7971, .9727, .308, .223, 1.777, .975, .284, 1.716}};
  const char* source = "ASTM and Montgomery tables of control chart constants (from memory), worked out by quadrature";
  for (const Row& r : rows) {
    const ChartConstants k = chart_constants(r.n);
    const auto check = [&](const char* name, double expected, double got, double allowed) {
      published("bore", std::string("chart constant ") + name + " for n = " + std::to_string(r.n), source,
                How::from_memory, expected, got, allowed);
    };
    check("d2", r.d2, k.d2, 5.1e-5);
    check("d3", r.d3, k.d3, 5.1e-5);
    check("c4", r.c4, k.c4, 5.1e-5);
    check("A2", r.A2, k.A2, 5.1e-4);
    check("D3", r.D3, k.D3, 5.1e-4);
    check("D4", r.D4, k.D4, 5.1e-4);
    check("A3", r.A3, k.A3, 5.1e-4);
    check("B3", r.B3, k.B3, 5.1e-4);
    check("B4", r.B4, k.B4, 5.1e-4);
  }
  EXPECT_NEAR(chart_constants(2).d2, 2 / std::sqrt(3.14159265358979323846), 1e-12);  // closed form
  EXPECT_TRUE(std::isnan(chart_constants(1).d2));
  EXPECT_TRUE(std::isnan(chart_constants(26).d2));
  EXPECT_TRUE(std::isfinite(chart_constants(25).D4));
}

const double rings[25][5] = {{74.030, 74.002, 74.019, 73.992, 74.008}, {73.995, 73.992, 74.001, 74.011, 74.004},
                             {73.988, 74.024, 74.021, 74.005, 74.002}, {74.002, 73.996, 73.993, 74.015, 74.009},
                             {73.992, 74.007, 74.015, 73.989, 74.014}, {74.009, 73.994, 73.997, 73.985, 73.993},
                             {73.995, 74.006, 73.994, 74.000, 74.005}, {73.985, 74.003, 73.993, 74.015, 73.988},
                             {74.008, 73.995, 74.009, 74.005, 74.004}, {73.998, 74.000, 73.990, 74.007, 73.995},
                             {73.994, 73.998, 73.994, 73.995, 73.990}, {74.004, 74.000, 74.007, 74.000, 73.996},
                             {73.983, 74.002, 73.998, 73.997, 74.012}, {74.006, 73.967, 73.994, 74.000, 73.984},
                             {74.012, 74.014, 73.998, 73.999, 74.007}, {74.000, 73.984, 74.005, 73.998, 73.996},
                             {73.994, 74.012, 73.986, 74.005, 74.007}, {74.006, 74.010, 74.018, 74.003, 74.000},
                             {73.984, 74.002, 74.003, 74.005, 73.997}, {74.000, 74.010, 74.013, 74.020, 74.003},
                             {73.988, 74.001, 74.009, 74.005, 73.996}, {74.004, 73.999, 73.990, 74.006, 74.009},
                             {74.010, 73.989, 73.990, 74.009, 74.014}, {74.015, 74.008, 73.993, 74.000, 74.010},
                             {73.982, 73.984, 73.995, 74.017, 74.013}};

TEST(Charts, PistonRings) {
  std::vector<double> means, ranges;
  for (const auto& row : rings) {
    double low = row[0], high = row[0], sum = 0;
    for (double x : row) {
      low = std::min(low, x);
      high = std::max(high, x);
      sum += x;
    }
    means.push_back(sum / 5);
    ranges.push_back(high - low);
  }
  const auto c = mean_range_chart(means, ranges, 5);
  ASSERT_TRUE(c.ok());
  const char* source = "Montgomery, Introduction to Statistical Quality Control, piston rings (R data set), read";
  published("bore", "piston rings: mean, mm", source, How::read, 74.001176, c->mean, 1e-6);
  published("bore", "piston rings: mean range, mm", source, How::read, 0.022760, c->mean_range, 1e-6);
  published("bore", "piston rings: lower limit of means, mm", source, How::read, 73.98805, c->mean_low, 1e-5);
  published("bore", "piston rings: upper limit of means, mm", source, How::read, 74.01430, c->mean_high, 1e-5);
  published("bore", "piston rings: upper limit of ranges, mm", source, How::read, 0.04813, c->range_high, 1e-5);
  EXPECT_EQ(c->range_low, 0);
  EXPECT_TRUE(c->signals.empty());
  published("bore", "piston rings: sigma, mm", source, How::read, .009785, c->s, 1e-6);
  CapabilityInputs in;
  in.lower = 73.95;
  in.upper = 74.05;
  in.mean = c->mean;
  in.s = c->s;
  const auto k = capability_of(in);
  published("bore", "piston rings: Cp", source, How::read, 1.703, *k->cp, 1e-3);
  published("bore", "piston rings: Cpk", source, How::read, 1.663, k->cpk, 1e-3);
  // Later means of the same set outside the limits are signals; ranges inside.
  for (double m : {74.0166, 74.0196, 74.0234}) EXPECT_GT(m, c->mean_high);
}

TEST(Charts, FromSummaryData) {
  const auto c = mean_range_chart({11.274, 11.246, 11.204, 11.294, 11.252, 11.238, 11.230, 11.276, 11.208, 11.266},
                                  {.15, .20, .33, .46, .10, .15, .20, .23, .50, .30}, 5);
  ASSERT_TRUE(c.ok());
  const char* source = "Sharma, A Textbook of Production Engineering, ex. 21.1 p. 740, read";
  published("bore", "chart from ten subgroups: mean", source, How::read, 11.2488, c->mean, 1e-9);
  published("bore", "chart from ten subgroups: mean range", source, How::read, .262, c->mean_range, 1e-9);
  // The page takes A2 as 0.577: half a digit of it times the mean range, and half a digit of the print.
  const double rounding = 0.0005 * .262 + 5e-5;
  published("bore", "chart from ten subgroups: lower limit", source, How::read, 11.0976, c->mean_low, rounding);
  published("bore", "chart from ten subgroups: upper limit", source, How::read, 11.4000, c->mean_high, rounding);
  published("bore", "chart from ten subgroups: upper limit of ranges", source, How::read, .55413, c->range_high, 2e-4);
}

TEST(Charts, SingleValues) {
  const auto c = singles_chart({49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1});
  ASSERT_TRUE(c.ok());
  const char* source = "NIST/SEMATECH e-Handbook 6.3.2.2, read in a transcription";
  published("bore", "single values: mean", source, How::read, 50.81, c->mean, 1e-9);
  published("bore", "single values: mean moving range", source, How::read, 1.8778, c->moving_range, 5e-5);
  // The page divides by 1.128; the constant to more digits moves the limits in the fourth decimal.
  published("bore", "single values: lower limit", source, How::read, 45.8159, c->low, 2e-3);
  published("bore", "single values: upper limit", source, How::read, 55.8041, c->high, 2e-3);
  published("bore", "single values: upper limit of moving ranges", source, How::read, 6.1347, c->range_high, 1e-3);
  EXPECT_FALSE(singles_chart({1}).ok());
  EXPECT_FALSE(singles_chart({1, std::nan("")}).ok());
}

TEST(Charts, RefuseWhatIsNoSubgroup) {
  EXPECT_FALSE(mean_range_chart({}, {}, 5).ok());
  EXPECT_FALSE(mean_range_chart({1}, {1, 2}, 5).ok());
  EXPECT_FALSE(mean_range_chart({1}, {1}, 1).ok());
  EXPECT_FALSE(mean_range_chart({1}, {1}, 26).ok());
  EXPECT_FALSE(mean_range_chart({1}, {-1}, 5).ok());
  EXPECT_FALSE(mean_range_chart({std::nan("")}, {1}, 5).ok());
}

TEST(Moments, CertifiedSets) {
  const char* source = "NIST StRD univariate, certified values, read";
  const auto check = [&](const std::string& name, const std::vector<double>& x, double mean, double s, double lag) {
    const auto m = maths::moments(x);
    published("bore", name + ": mean", source, How::read, mean, m.mean, 1e-12 * std::fabs(mean));
    published("bore", name + ": standard deviation", source, How::read, s, m.s, 1e-9 * s);
    published("bore", name + ": lag-1 autocorrelation", source, How::read, lag, maths::lag1(x), 1e-9);
  };
  check("NumAcc1", {10000001, 10000003, 10000002}, 10000002, 1, -0.5);
  std::vector<double> two = {1.2};
  for (int i = 0; i < 500; ++i) {
    two.push_back(1.1);
    two.push_back(1.3);
  }
  check("NumAcc2", two, 1.2, 0.1, -0.999);
  std::vector<double> michelso;
  for (int v : {85, 74, 90, 107, 93, 85, 95, 98, 98, 88, 100, 98, 93, 65, 76, 81, 100, 100, 96, 96, 96, 94, 96, 94, 88,
                80, 85, 88, 90,  84, 83, 79, 81, 88, 88, 83,  80, 79, 76, 80, 88, 88,  88,  86, 72, 72, 62, 86, 97, 95,
                88, 91, 85, 87,  84, 84, 85, 84, 84, 84, 89,  81, 81, 82, 80, 77, 76,  74,  75, 76, 91, 92, 89, 86, 88,
                72, 84, 85, 85,  78, 89, 84, 78, 81, 76, 81,  79, 81, 82, 85, 87, 87,  81,  74, 81, 94, 95, 80, 81, 87})
    michelso.push_back(299 + v / 100.0);
  check("Michelso", michelso, 299.8524, 0.0790105478190518, 0.535199668621283);
}

// ---- trends ---------------------------------------------------------------------------------------------------------

/// Readings of a demo bore, µm above 22 mm; the tool was set anew after the twelfth.
const std::vector<double> last24 = {5.4, 2.1, 4.9, .9,  3.6, 2.4, 3.4, 3.2, 3.0, 3.6, .4,  1.7,
                                    1.9, 4.9, 3.4, 5.1, 1.5, 3.4, 1.3, 1.5, 6.8, 2.5, 4.0, 1.9};
std::vector<int> two_stretches() {
  std::vector<int> s(24, 1);
  for (std::size_t i = 12; i < 24; ++i) s[i] = 2;
  return s;
}

TEST(Run, NoTrendIsCriedWhereThereIsNone) {
  const auto a = look_at_run({last24, two_stretches(), 0.05});
  ASSERT_TRUE(a.ok());
  EXPECT_FALSE(a->any());
  EXPECT_EQ(a->tests.size(), 5u);
  const char* source = "least squares of two levels and one slope, computed independently";
  published("bore", "24 readings with one reset: slope, µm a part", source, How::computed, -0.10979020979020981,
            a->slope, 1e-9);
  published("bore", "24 readings with one reset: its standard error", source, How::computed, 0.09494895902273297,
            a->slope_se, 1e-9);
  published(
      "bore", "24 readings with one reset: spread about the levels, µm", source, How::computed,
      std::sqrt((11 * 1.4819111329835557 * 1.4819111329835557 + 11 * 1.7434726753514005 * 1.7434726753514005) / 22),
      a->s, 1e-9);
  // A person who looks at the first twelve alone sees them fall.
  const auto first = look_at_run({{last24.begin(), last24.begin() + 12}, {}, 0.05});
  EXPECT_LT(first->slope, -0.15);
  EXPECT_FALSE(first->drift);
}

TEST(Run, ARealDriftIsSeenAcrossAReset) {
  // 0.4 µm a part, reset in the middle: over the whole run it looks level.
  std::vector<double> x = last24;
  for (std::size_t i = 0; i < x.size(); ++i) x[i] -= 0.4 * static_cast<double>(i % 12);
  const auto known = look_at_run({x, two_stretches(), 0.05});
  EXPECT_TRUE(known->drift);
  EXPECT_NEAR(known->slope, -0.51, 0.01);
  EXPECT_LT(known->slope_high, 0);
}

TEST(Run, FalseAlarmsStayWithinTheirFamily) {
  for (const bool reset : {false, true}) {
    int alarms = 0;
    const int tries = 4000;
    for (int k = 0; k < tries; ++k) {
      std::vector<double> x;
      for (std::uint32_t i = 0; i < 24; ++i) x.push_back(maths::normal(11, static_cast<std::uint64_t>(k), i));
      const auto a = look_at_run({x, reset ? two_stretches() : std::vector<int>{}, 0.05});
      ASSERT_TRUE(a.ok());
      alarms += a->any();
    }
    const double share = alarms / static_cast<double>(tries);
    EXPECT_LE(share, 0.05 + 3 * std::sqrt(0.05 * 0.95 / tries)) << reset;
    EXPECT_GE(share, 0.01) << "a test that never speaks is no test";
  }
}

TEST(Run, StepsFarValuesAndLinkedNeighboursAreToldApart) {
  std::vector<double> step = last24;
  for (std::size_t i = 12; i < 24; ++i) step[i] += 4;
  const auto a = look_at_run({step, two_stretches(), 0.05});
  EXPECT_TRUE(a->step);
  EXPECT_FALSE(a->drift);
  std::vector<double> far = last24;
  far[8] += 9;
  const auto b = look_at_run({far, two_stretches(), 0.05});
  EXPECT_TRUE(b->far_off);
  EXPECT_FALSE(b->step);
  std::vector<double> swing;
  for (std::uint32_t i = 0; i < 24; ++i) swing.push_back((i % 2 == 0 ? 1 : -1) + 0.3 * maths::normal(3, 1, i));
  const auto c = look_at_run({swing, {}, 0.05});
  EXPECT_TRUE(c->linked);
  EXPECT_LT(c->lag1, -0.5);
}

TEST(Run, TheFarthestValueIsGrubbs) {
  // Grubbs 1950: critical G for n = 10 at 5 % two-sided is 2.290; there the p is 0.05.
  std::vector<double> x = {0, 0, 0, 0, 0, 0, 0, 0, 0, 0};
  // Nine values with mean 0 and one at h: find h by bisection so that G = 2.290.
  const double base[] = {-1, -0.6, -0.3, -0.1, 0, 0.1, 0.3, 0.6, 1};
  double low = 0, high = 50;
  for (int k = 0; k < 100; ++k) {
    const double h = 0.5 * (low + high);
    for (std::size_t i = 0; i < 9; ++i) x[i] = base[i];
    x[9] = h;
    const auto m = maths::moments(x);
    if ((h - m.mean) / m.s < 2.290) low = h;
    else high = h;
  }
  const auto a = look_at_run({x, {}, 0.05});
  double p = 0;
  for (const RunTest& t : a->tests)
    if (t.name == "one far off") p = t.p;
  published("bore", "farthest of ten values, G 2.290: probability", "Grubbs' table, 5 % two-sided (from memory)",
            How::from_memory, 0.05, p, 5e-4);
}

TEST(Run, RefusesTooLittle) {
  EXPECT_FALSE(look_at_run({{1, 2, 3, 4, 5}, {}, 0.05}).ok());
  EXPECT_TRUE(look_at_run({{1, 2, 3, 4, 5, 5.5}, {}, 0.05}).ok());
  EXPECT_FALSE(look_at_run({{1, 2, 3, 4, 5, std::nan("")}, {}, 0.05}).ok());
  EXPECT_FALSE(look_at_run({{1, 2, 3, 4, 5, 6}, {1, 2}, 0.05}).ok());
  EXPECT_FALSE(look_at_run({{1, 2, 3, 4, 5, 6}, {1, 2, 3, 4, 5, 6}, 0.05}).ok());
  EXPECT_FALSE(look_at_run({{1, 1, 1, 1, 1, 1}, {}, 0.05}).ok());
  EXPECT_FALSE(look_at_run({{1, 2, 3, 4, 5, 6}, {}, 0}).ok());
  EXPECT_FALSE(look_at_run({{1, 2, 3, 4, 5, 6}, {}, 0.6}).ok());
}

// ---- offsets --------------------------------------------------------------------------------------------------------

TEST(Offset, ChanceIsLeftAloneAndHalfOfTheRestTakenBack) {
  OffsetInputs in;
  in.aim = 2.5;
  in.mean = 3.2;
  in.s = 1.6;
  in.n = 12;
  in.step = 0.5;
  const auto a = offset_advice(in);
  ASSERT_TRUE(a.ok());
  EXPECT_TRUE(a->leave);  // 0.7 off; chance alone does 2.2 x 1.6 / sqrt 12 = 1.0
  EXPECT_EQ(a->move, 0);
  in.mean = 4.6;
  const auto b = offset_advice(in);
  EXPECT_FALSE(b->leave);
  EXPECT_NEAR(b->move, -1.0, 1e-12);  // half of 2.1, in steps of 0.5: the bore gets smaller
  in.n = 1;
  EXPECT_TRUE(offset_advice(in)->leave) << "one reading moves nothing";
}

TEST(Offset, CorrectingEveryPartDoublesTheVariance) {
  const int n = 20000;
  double offset = 0, left_alone = 0, corrected = 0;
  for (int i = 0; i < n; ++i) {
    const double e = maths::normal(9, static_cast<std::uint64_t>(i), 0), x = e + offset;
    left_alone += e * e / n;
    corrected += x * x / n;
    offset -= x;  // rule 2 of the funnel
  }
  published("bore", "variance when every part is corrected by its deviation, over the variance when left alone",
            "Deming, Out of the Crisis, funnel rule 2 (from memory): twice", How::from_memory, 2,
            corrected / left_alone, 0.06);
  // With the advice, twelve readings at a time, a process that is on its aim keeps its spread.
  double advised = 0;
  offset = 0;
  for (int g = 0; g < n / 12; ++g) {
    std::vector<double> x;
    for (int i = 0; i < 12; ++i) x.push_back(maths::normal(9, static_cast<std::uint64_t>(g * 12 + i), 1) + offset);
    for (double v : x) advised += v * v / n;
    const auto m = maths::moments(x);
    OffsetInputs in;
    in.mean = m.mean;
    in.s = m.s;
    in.n = 12;
    offset += offset_advice(in)->move;
  }
  EXPECT_LT(advised / left_alone, 1.05);
}

TEST(Offset, RefusesOneBadValuePerBound) {
  const OffsetInputs good = [] {
    OffsetInputs i;
    i.n = 5;
    i.s = 1;
    return i;
  }();
  const auto refused = [&](auto&& change) {
    OffsetInputs i = good;
    change(i);
    return !offset_advice(i).ok();
  };
  EXPECT_FALSE(refused([](OffsetInputs&) {}));
  EXPECT_TRUE(refused([](OffsetInputs& i) { i.n = 0; }));
  EXPECT_TRUE(refused([](OffsetInputs& i) { i.s = -1; }));
  EXPECT_TRUE(refused([](OffsetInputs& i) { i.step = -1; }));
  EXPECT_TRUE(refused([](OffsetInputs& i) { i.share = 0; }));
  EXPECT_TRUE(refused([](OffsetInputs& i) { i.share = 1.1; }));
  EXPECT_TRUE(refused([](OffsetInputs& i) { i.confidence = 1; }));
  EXPECT_TRUE(refused([](OffsetInputs& i) { i.mean = std::nan(""); }));
}

// ---- capability -----------------------------------------------------------------------------------------------------

TEST(Capability, IndicesAndParts) {
  CapabilityInputs in;
  in.lower = 8;
  in.upper = 20;
  in.mean = 16;
  in.s = 2;
  const auto a = capability_of(in);
  ASSERT_TRUE(a.ok());
  const char* nist = "NIST/SEMATECH e-Handbook 6.1.6 (from memory)";
  published("bore", "Cp of 8 to 20, mean 16, s 2", nist, How::from_memory, 1.0, *a->cp, 1e-12);
  published("bore", "k of 8 to 20, mean 16, s 2", nist, How::from_memory, 0.3333, *a->k, 5e-5);
  published("bore", "Cpk of 8 to 20, mean 16, s 2", nist, How::from_memory, 0.6667, a->cpk, 5e-5);
  const double ppm[][2] = {{.50, 133614}, {.67, 44431},  {1.00, 2699.80}, {1.10, 966.85},  {1.20, 318.22},
                           {1.33, 66.07}, {1.50, 6.795}, {1.67, 0.5443},  {2.00, 0.001973}};
  for (const auto& [cp, parts] : ppm) {
    in.mean = 14;
    in.s = 12 / (6 * cp);
    const auto c = capability_of(in);
    published("bore", "Cp " + std::to_string(cp).substr(0, 4) + ": parts outside per million",
              "normal distribution, closed form", How::computed, parts, 1e6 * (c->below + c->above), 1e-3 * parts);
  }
  in.s = 1;
  in.mean = 15.5;
  const auto shifted = capability_of(in);
  published("bore", "Cp 2 shifted by 1.5 sigma: parts outside per million", "normal distribution, closed form",
            How::computed, 3.3977, 1e6 * (shifted->below + shifted->above), 3.4e-3);
}

TEST(Capability, ASmallSampleSaysLittle) {
  CapabilityInputs in;
  in.lower = 0;
  in.upper = 9;
  in.mean = 4.5;
  in.s = 1;
  in.n = 10;
  const auto a = capability_of(in);
  ASSERT_TRUE(a->cp_low && a->cpk_low);
  EXPECT_NEAR(*a->cp, 1.5, 1e-12);
  EXPECT_LT(*a->cp_low, 0.85);
  EXPECT_GT(*a->cp_high, 2.1);
  in.n = 0;
  EXPECT_FALSE(capability_of(in)->cp_low);
  in.lower.reset();
  EXPECT_FALSE(capability_of(in)->cp);
  EXPECT_NEAR(capability_of(in)->cpk, 1.5, 1e-12);
}

TEST(Capability, RefusesOneBadValuePerBound) {
  const auto refused = [](auto&& change) {
    CapabilityInputs in;
    in.lower = 0;
    in.upper = 1;
    in.mean = 0.5;
    in.s = 0.1;
    change(in);
    return !capability_of(in).ok();
  };
  EXPECT_FALSE(refused([](CapabilityInputs&) {}));
  EXPECT_TRUE(refused([](CapabilityInputs& i) { i.s = 0; }));
  EXPECT_TRUE(refused([](CapabilityInputs& i) { i.mean = std::nan(""); }));
  EXPECT_TRUE(refused([](CapabilityInputs& i) { i.upper = 0; }));
  EXPECT_TRUE(refused([](CapabilityInputs& i) { i.n = 1; }));
  EXPECT_TRUE(refused([](CapabilityInputs& i) { i.n = -1; }));
  EXPECT_TRUE(refused([](CapabilityInputs& i) { i.confidence = 0; }));
  EXPECT_TRUE(refused([](CapabilityInputs& i) {
    i.lower.reset();
    i.upper.reset();
  }));
}

}  // namespace
}  // namespace fettle::bore
