#include "calc/holding/screws.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "published.h"
#include "ref/fits.h"
#include "ref/threads.h"

namespace fettle::holding {
namespace {

using test::How;
using test::published;
constexpr double mm = 1e-3, MPa = 1e6, kN = 1e3;

ScrewThread metric(double d, double p) {
  const double d2 = d - 0.649519 * p, d3 = d - 1.226869 * p;
  return {d * mm, p * mm, d2 * mm, d3 * mm, std::numbers::pi / 4 * std::pow((d2 + d3) / 2 * mm, 2)};
}

TEST(Screws, StrengthClassesOfTheStandard) {
  const char* source = "ISO 898-1";
  const struct {
    const char* name;
    double d, tensile, yield, proof;
  } rows[] = {{"8.8", 12, 800, 640, 580},
              {"8.8", 20, 830, 660, 600},
              {"10.9", 12, 1040, 940, 830},
              {"12.9", 12, 1220, 1100, 970}};
  for (const auto& r : rows) {
    const auto s = ref::strength(r.name, r.d * mm);
    ASSERT_TRUE(s.ok());
    published("holding", std::string("tensile strength ") + r.name + ", MPa", source, How::read, r.tensile,
              s->tensile / MPa, 0);
    published("holding", std::string("yield ") + r.name + ", MPa", source, How::read, r.yield, s->yield / MPa, 0);
    published("holding", std::string("proof stress ") + r.name + ", MPa", source, How::read, r.proof, s->proof / MPa,
              0);
  }
}

TEST(Screws, StressAreas) {
  const struct {
    double d, p, area;
  } rows[] = {{8, 1.25, 36.609}, {10, 1.5, 57.990},  {12, 1.75, 84.267}, {16, 2, 156.67},
              {8, 1, 39.167},    {10, 1.25, 61.199}, {12, 1.25, 92.072}, {16, 1.5, 167.25}};
  for (const auto& r : rows) {
    unit::Thread thread;
    thread.major = r.d * mm, thread.pitch = r.p * mm;
    const auto t = ref::thread_data(thread);
    ASSERT_TRUE(t.ok());
    published("holding", "stress area M" + std::to_string(r.d) + ", mm2", "ISO 898-1, formula of the stress area",
              How::computed, r.area, t->stress_area / (mm * mm), 1e-4 * r.area);
  }
}

TEST(Screws, AssemblyPreloadAndTorque) {
  const struct {
    double d, p, washer, hole;
  } sizes[] = {{8, 1.25, 11.63, 9}, {10, 1.5, 14.63, 11}, {12, 1.75, 16.63, 13.5}, {16, 2, 22.49, 17.5}};
  const double f[4][3] = {{19.10, 18.63, 18.13}, {30.35, 29.60, 28.82}, {44.19, 43.11, 41.98}, {82.92, 80.97, 78.92}};
  const double m[4][3] = {{21.6, 24.6, 27.3}, {42.6, 48.5, 53.9}, {73.5, 83.6, 93.1}, {180, 206, 230}};
  const double mu[] = {0.10, 0.12, 0.14};
  for (int i = 0; i < 4; ++i)
    for (int j = 0; j < 3; ++j) {
      const ScrewThread t = metric(sizes[i].d, sizes[i].p);
      const double preload = assembly_preload(t, (sizes[i].d > 16 ? 660 : 640) * MPa, mu[j]);
      published("holding", "assembly preload 8.8, M" + std::to_string(sizes[i].d) + ", kN",
                "VDI 2230 part 1, table A1, from memory", How::from_memory, f[i][j], preload / kN, 0.01 * f[i][j]);
      const double ring = (sizes[i].washer + sizes[i].hole) / 2 * mm;
      published("holding", "assembly torque 8.8, M" + std::to_string(sizes[i].d) + ", N·m",
                "VDI 2230 part 1, table A1, from memory", How::from_memory, m[i][j],
                torque_long(preload, t, mu[j], mu[j], ring), 0.01 * m[i][j]);
    }
  const double hard[4] = {32.02, 50.88, 74.09, 139.2}, torque[4] = {42.2, 83.3, 143.7, 353.9};
  for (int i = 0; i < 4; ++i) {
    const ScrewThread t = metric(sizes[i].d, sizes[i].p);
    const double preload = assembly_preload(t, 1100 * MPa, 0.12);
    published("holding", "assembly preload 12.9, kN", "VDI 2230 part 1, table A1, from memory", How::from_memory,
              hard[i], preload / kN, 0.01 * hard[i]);
    published("holding", "assembly torque 12.9, N·m", "VDI 2230 part 1, table A1, from memory", How::from_memory,
              torque[i], torque_long(preload, t, 0.12, 0.12, (sizes[i].washer + sizes[i].hole) / 2 * mm),
              0.01 * torque[i]);
  }
}

TEST(Screws, LongAndShortFormula) {
  constexpr double in = 0.0254, lbf = 4.4482216152605;
  ScrewThread t;
  t.major = 0.75 * in, t.pitch = in / 16, t.pitch_diameter = 0.70941 * in;
  const char* source = "Shigley, Mechanical Engineering Design, example 8-3 and eq. 8-26, 8-27, from memory";
  const double k = nut_factor_long(t, 0.15, 0.15, 1.25 * t.major);
  published("holding", "nut factor of 3/4-16 UNF", source, How::from_memory, 0.18939, k, 0.001 * 0.18939);
  published("holding", "torque for 25 kip, lbf·in", source, How::from_memory, 3551,
            torque_for(25000 * lbf, k, t.major) / (lbf * in), 3.551);
  published("holding", "torque for 25 kip with K 0.20, lbf·in", source, How::from_memory, 3750,
            torque_for(25000 * lbf, 0.20, t.major) / (lbf * in), 0.001);
}

TEST(Screws, ScatterOfTightening) {
  const char* source = "VDI 2230 (1986), tolerances of tightening methods";
  const double given[] = {0.17, 0.23, 0.28, 0.43}, factor[] = {1.41, 1.60, 1.78, 2.51};
  for (int i = 0; i < 4; ++i)
    published("holding", "most over least preload", source, How::computed, factor[i], tightening_factor(given[i]),
              0.005);
  const double least[] = {0.05, 0.09, 0.17, 0.23, 0.26}, most[] = {0.12, 0.23, 0.23, 0.28, 0.43};
  const auto rows = tightening_scatter();
  ASSERT_EQ(rows.size(), 5U);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    published("holding", rows[i].way + ", least", source, How::read, least[i], rows[i].least, 1e-12);
    published("holding", rows[i].way + ", most", source, How::read, most[i], rows[i].most, 1e-12);
  }
}

TEST(Screws, StrippingOfTheInternalThread) {
  const char* source = "FED-STD-H28/2 with limits of ISO 965-1, from memory";
  const struct {
    double d, p, screw, nut, area, force;
  } rows[] = {{8, 1.25, 7.760, 7.348, 16.83, 41.8},
              {10, 1.5, 9.732, 9.206, 21.48, 66.7},
              {12, 1.75, 11.701, 11.063, 26.12, 97.3}};
  for (const auto& r : rows) {
    const ScrewThread t = metric(r.d, r.p);
    const ThreadLimits l = thread_limits(t);
    published("holding", "least major diameter 6g, mm", source, How::from_memory, r.screw, l.screw_major / mm, 5e-4);
    published("holding", "most pitch diameter 6H, mm", source, How::from_memory, r.nut, l.nut_pitch / mm, 1e-3);
    published("holding", "area that strips, mm2 per mm", source, How::computed, r.area,
              stripping_area_per_length(t) / mm, 0.002 * r.area);
    published("holding", "pull-out in 6061-T6 over 1.5 d, kN", source, How::computed, r.force,
              pull_out(t, 1.5 * r.d * mm, 207 * MPa) / kN, 0.002 * r.force);
  }
  EXPECT_EQ(pull_out(metric(8, 1.25), -1 * mm, 207 * MPa), 0);
}

ScrewInputs demo() {
  ScrewInputs in;
  in.thread = metric(8, 1.25);
  in.torque = 22, in.wrench_scatter = 0.06;
  in.nut_factor = 0.15, in.nut_factor_low = 0.108, in.nut_factor_high = 0.192;
  in.head_mean = 11 * mm;
  in.proof = 970 * MPa, in.yield = 1100 * MPa;
  return in;
}

TEST(Screws, LowEndHoldsAndHighEndStresses) {
  const auto r = screw(demo());
  ASSERT_TRUE(r.ok());
  published("holding", "preload at 22 N·m, K 0.15, M8, kN", "F = T/(K d), worked by hand", How::computed, 18.3333,
            r->stated / kN, 1e-4);
  published("holding", "its low end, kN", "0.94 T/(0.192 d), worked by hand", How::computed, 13.4635, r->low / kN,
            1e-4);
  published("holding", "its high end, kN", "1.06 T/(0.108 d), worked by hand", How::computed, 26.9907, r->high / kN,
            1e-4);
  EXPECT_NEAR(r->tension_share, 26990.7407 / (970e6 * metric(8, 1.25).stress_area), 1e-6);
  EXPECT_GT(r->combined, r->high / metric(8, 1.25).stress_area);
  EXPECT_EQ(r->share, std::max(r->tension_share, r->combined_share));
  ScrewInputs twice = demo();
  twice.torque *= 2;
  EXPECT_NEAR(screw(twice)->high, 2 * r->high, 1e-6);
}

TEST(Screws, FrictionAndNutFactorAreEachOthersInverse) {
  const ScrewThread t = metric(10, 1.5);
  for (double mu : {0.05, 0.12, 0.2}) {
    const double torque = torque_long(1, t, mu, mu, 13 * mm);
    EXPECT_NEAR(friction_of(torque / t.major, t, 13 * mm), mu, 1e-12);
  }
  EXPECT_EQ(friction_of(0.001, t, 13 * mm), 0);
}

TEST(Screws, EachBoundIsRefused) {
  const auto refused = [](auto change) {
    ScrewInputs in = demo();
    change(in);
    return !screw(in).ok();
  };
  EXPECT_TRUE(refused([](ScrewInputs& i) { i.torque = 0; }));
  EXPECT_TRUE(refused([](ScrewInputs& i) { i.torque = std::nan(""); }));
  EXPECT_TRUE(refused([](ScrewInputs& i) { i.wrench_scatter = 1; }));
  EXPECT_TRUE(refused([](ScrewInputs& i) { i.wrench_scatter = -0.01; }));
  EXPECT_TRUE(refused([](ScrewInputs& i) { i.nut_factor_low = 0; }));
  EXPECT_TRUE(refused([](ScrewInputs& i) { i.nut_factor_low = 0.16; }));
  EXPECT_TRUE(refused([](ScrewInputs& i) { i.nut_factor_high = 0.14; }));
  EXPECT_TRUE(refused([](ScrewInputs& i) { i.head_mean = 0; }));
  EXPECT_TRUE(refused([](ScrewInputs& i) { i.proof = 0; }));
  EXPECT_TRUE(refused([](ScrewInputs& i) { i.yield = -1; }));
  EXPECT_TRUE(refused([](ScrewInputs& i) { i.thread.pitch = 0; }));
  EXPECT_FALSE(refused([](ScrewInputs&) {}));
}

TEST(Screws, ShoulderAndEngagement) {
  published("holding", "room between shoulder and least part, mm", "shop rule: shoulder 30 < 35.94 clamps", How::exact,
            5.94, shoulder_room(35.94 * mm, 30 * mm) / mm, 1e-9);
  EXPECT_LT(shoulder_room(29.9 * mm, 30 * mm), 0);
  const Engagement e = engagement(50 * mm, 36 * mm, 1.6 * mm, 0, 12 * mm, 25 * mm);
  EXPECT_NEAR(e.reach, 12.4 * mm, 1e-12);
  EXPECT_NEAR(e.engaged, 12 * mm, 1e-12);
  EXPECT_NEAR(e.spare, 0.4 * mm, 1e-12);
  EXPECT_NEAR(e.bottom, 12.6 * mm, 1e-12);
  EXPECT_NEAR(engagement(40 * mm, 36 * mm, 0, 0, 12 * mm, 25 * mm).engaged, 4 * mm, 1e-12);
  EXPECT_LT(engagement(50 * mm, 20 * mm, 0, 0, 12 * mm, 25 * mm).bottom, 0);
}

TEST(Screws, ShouldersOfShoulderScrews) {
  const struct {
    double d, most, least;
  } rows[] = {{8, 7.987, 7.951}, {10, 9.987, 9.951}, {16, 15.984, 15.941}, {20, 19.980, 19.928}};
  for (const auto& r : rows) {
    const auto f9 = ref::deviations(r.d * mm, {"f", 9});
    ASSERT_TRUE(f9.ok());
    const char* source = "ISO 7379 shoulder f9, limits of ISO 286, from memory";
    published("holding", "largest shoulder, mm", source, How::from_memory, r.most, r.d + f9->upper / mm, 1e-6);
    published("holding", "least shoulder, mm", source, How::from_memory, r.least, r.d + f9->lower / mm, 1e-6);
  }
}

TEST(Screws, OnlyFlakeGraphiteCarriesMoreThanItsTensileStrength) {
  published("holding", "pressure that GJL-250 carries, MPa", "VDI 2230 table of limiting pressures, from memory",
            How::from_memory, 850, pressure_limit(true, 250 * MPa) / MPa, 1e-9);
  EXPECT_NEAR(pressure_limit(false, 500 * MPa), 450 * MPa, 1) << "ductile iron, steel, aluminium";
}

TEST(Screws, SpacePracticeOfTighteningByTorque) {
  // F = (1 -+ G) T/(K d), G 0.25 lubricated and 0.35 not: what screw() does with a wrench of that scatter alone.
  for (const double g : {0.25, 0.35}) {
    ScrewInputs in = demo();
    in.wrench_scatter = g;
    in.nut_factor_low = in.nut_factor_high = in.nut_factor;
    const auto r = screw(in);
    ASSERT_TRUE(r.ok());
    const double f = 22 / (0.15 * 8 * mm);
    published("holding", "least preload by US space practice, N", "NASA-STD-5020 rule F = (1 - G) T/(K d), read",
              How::computed, (1 - g) * f, r->low, 1e-6);
    published("holding", "most preload by US space practice, N", "NASA-STD-5020 rule F = (1 + G) T/(K d), read",
              How::computed, (1 + g) * f, r->high, 1e-6);
  }
}

TEST(Screws, NutFactorsThatThePublishedTorquesImply) {
  // T/(F d) of VDI 2230's assembly torques, M8 to M16; at friction 0.10 the printed range ends with M12 (M16: 0.136).
  const struct {
    double d, p, washer, hole;
  } sizes[] = {{8, 1.25, 11.63, 9}, {10, 1.5, 14.63, 11}, {12, 1.75, 16.63, 13.5}, {16, 2, 22.49, 17.5}};
  const double mu[] = {0.10, 0.12, 0.14}, least[] = {0.139, 0.159, 0.182}, most[] = {0.142, 0.165, 0.188};
  for (int j = 0; j < 3; ++j) {
    double low = 1, high = 0;
    for (const auto& s : sizes) {
      if (j == 0 && s.d > 12) continue;
      const double k = torque_long(1, metric(s.d, s.p), mu[j], mu[j], (s.washer + s.hole) / 2 * mm) / (s.d * mm);
      low = std::min(low, k), high = std::max(high, k);
    }
    const char* source = "implied by VDI 2230 part 1, table A1";
    published("holding", "least nut factor of its sizes", source, How::computed, least[j], low, 6e-4);
    published("holding", "most nut factor of its sizes", source, How::computed, most[j], high, 6e-4);
  }
}

TEST(Screws, SettlingTakesPreload) {
  // two springs in series: 8 µm over 1/300 + 1/900 N/µm
  published("holding", "preload lost to settling, N", "springs in series, exact", How::exact, 8 * 225.0,
            embedding_loss(8e-6, 300e6, 900e6), 1e-6);
  EXPECT_NEAR(embedding_amount(6.3e-6, 2), 8.5e-6, 1e-12);
  EXPECT_GT(embedding_amount(25e-6, 2), embedding_amount(6.3e-6, 2));
  EXPECT_GT(embedding_amount(100e-6, 2), embedding_amount(25e-6, 2));
}

TEST(Screws, OrderIsFromTheMiddleOutInOppositePairs) {
  const auto pair = tightening_order({{-54 * mm, 0, 0}, {54 * mm, 0, 0}});
  EXPECT_EQ(pair.order, (std::vector<int>{0, 1}));
  EXPECT_GE(pair.rounds.size(), 2U);
  const auto row = tightening_order({{-0.2, 0, 0}, {-0.1, 0, 0}, {0, 0, 0}, {0.1, 0, 0}, {0.2, 0, 0}});
  EXPECT_EQ(row.order, (std::vector<int>{2, 1, 3, 0, 4}));
  EXPECT_EQ(tightening_order({}).order.size(), 0U);
}

TEST(Screws, OneRoundLosesWhatNeighboursTake) {
  // two screws, each loses 20 N per 100 N put on the other: the first ends with 80 %, the last with all.
  const auto left = after_one_round({0, 1}, 1000, {0, 0.2, 0.2, 0});
  EXPECT_NEAR(left[0], 1000 - 0.2 * 1200, 1e-9);  // the second had lost 200 before and gains 1200
  EXPECT_NEAR(left[1], 1000, 1e-9);
}

}  // namespace
}  // namespace fettle::holding
