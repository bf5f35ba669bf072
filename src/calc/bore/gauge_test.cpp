#include "calc/bore/gauge.h"

#include <gtest/gtest.h>

#include <cmath>

#include "published.h"

namespace fettle::bore {
namespace {

using test::How;
using test::published;

// ---- budget ---------------------------------------------------------------------------------------------------------

TEST(Budget, EndGaugeOfTheGuide) {
  const double ls = 50.000623e6, as = 11.5e-6, theta = -0.1;  // nm, 1/K, K
  BudgetInputs in;
  in.contributions = {{"standard", 25, 1, 18},
                      {"difference", std::sqrt(5.8 * 5.8 + 3.9 * 3.9 + 6.7 * 6.7), 1, 25.6},
                      {"difference of expansions", standard_uncertainty(1e-6, Shape::uniform), -ls * theta, 50},
                      {"difference of temperatures", standard_uncertainty(0.05, Shape::uniform), -ls * as, 2}};
  in.confidence = 0.99;
  const auto b = budget(in);
  ASSERT_TRUE(b.ok());
  const char* source = "JCGM 100:2008 (GUM) annex H.1, read in transcriptions";
  published("bore", "end gauge: combined standard uncertainty, nm", source, How::read, 32, b->u, 0.5);
  published("bore", "end gauge: the same to two decimals, nm", "GUM annex H.1, computed again", How::computed, 31.66,
            b->u, 5e-3);
  published("bore", "end gauge: effective degrees of freedom", source, How::computed, 16.75, b->dof, 0.02);
  published("bore", "end gauge: coverage factor for 99 %", source, How::read, 2.92, b->k, 5e-3);
  published("bore", "end gauge: expanded uncertainty, nm", source, How::read, 93, b->expanded, 0.7);
  published("bore", "end gauge: contribution of the temperatures, nm", source, How::read, 16.6, b->lines[1].u, 0.05);
  published("bore", "end gauge: contribution of the difference, nm", source, How::read, 9.7, b->lines[2].u, 0.05);
  published("bore", "end gauge: contribution of the expansions, nm", source, How::read, 2.9, b->lines[3].u, 0.05);
  // Products of two uncertainties: expansions by temperature (0.41 K), standard's expansion by difference.
  in.second_order = {ls * in.contributions[2].u * 0.41, ls * 1.2e-6 * in.contributions[3].u};
  published("bore", "end gauge: first term of second order, nm", source, How::read, 11.8, in.second_order[0], 0.05);
  published("bore", "end gauge: second term of second order, nm", source, How::read, 1.7, in.second_order[1], 0.05);
  published("bore", "end gauge: with terms of second order, nm", source, How::read, 34, budget(in)->u, 0.5);
  published("bore", "end gauge: the same to two decimals, nm", "GUM annex H.1, computed again", How::computed, 33.85,
            budget(in)->u, 0.01);
}

TEST(Budget, ShapesAndRefusals) {
  EXPECT_DOUBLE_EQ(standard_uncertainty(1, Shape::standard), 1);
  EXPECT_DOUBLE_EQ(standard_uncertainty(1, Shape::uniform), 1 / std::sqrt(3));
  EXPECT_DOUBLE_EQ(standard_uncertainty(1, Shape::triangle), 1 / std::sqrt(6));
  EXPECT_DOUBLE_EQ(standard_uncertainty(1, Shape::two_sigma), 0.5);
  EXPECT_DOUBLE_EQ(standard_uncertainty(3, Shape::three_sigma), 1);
  EXPECT_DOUBLE_EQ(standard_uncertainty(1, Shape::swinging), 1 / std::sqrt(2));
  BudgetInputs in;
  EXPECT_FALSE(budget(in).ok());
  in.contributions = {{"a", 1, 1, 0}};
  const auto known = budget(in);
  EXPECT_EQ(known->dof, 0);
  EXPECT_NEAR(known->k, 1.959964, 1e-6);
  in.contributions[0].u = -1;
  EXPECT_FALSE(budget(in).ok());
  in.contributions[0].u = 0;
  EXPECT_FALSE(budget(in).ok());
  in.contributions[0] = {"a", 1, std::nan(""), 0};
  EXPECT_FALSE(budget(in).ok());
  in.contributions[0] = {"a", 1, 1, -2};
  EXPECT_FALSE(budget(in).ok());
  in.contributions[0] = {"a", 1, 1, 0};
  for (double c : {0.0, 1.0}) {
    in.confidence = c;
    EXPECT_FALSE(budget(in).ok());
  }
}

// ---- gauge study ----------------------------------------------------------------------------------------------------

const std::vector<double> reference = {
    .29,  -.56,  1.34, .47,  -.80,  .02,  .59,  -.31, 2.26, -1.36, .41,  -.68,  1.17, .50,  -.92,
    -.11, .75,   -.20, 1.99, -1.25, .64,  -.58, 1.27, .64,  -.84,  -.21, .66,   -.17, 2.01, -1.31,  // A
    .08,  -.47,  1.19, .01,  -.56,  -.20, .47,  -.63, 1.80, -1.68, .25,  -1.22, .94,  1.03, -1.20,
    .22,  .55,   .08,  2.12, -1.62, .07,  -.68, 1.34, .20,  -1.28, .06,  .83,   -.34, 2.19, -1.50,  // B
    .04,  -1.38, .88,  .14,  -1.46, -.29, .02,  -.46, 1.77, -1.49, -.11, -1.13, 1.09, .20,  -1.07,
    -.67, .01,   -.56, 1.45, -1.77, -.15, -.96, .67,  .11,  -1.45, -.49, .21,   -.49, 1.87, -2.16};  // C

TEST(GaugeStudy, ReferenceStudyByRanges) {
  StudyInputs in;
  in.readings = reference;
  in.parts = 10;
  in.persons = in.trials = 3;
  const auto s = gauge_study(in);
  ASSERT_TRUE(s.ok());
  const ByRange& r = s->by_range;
  const char* source = "AIAG Measurement Systems Analysis, 4th ed., figs. III-B 6 and 15, read in transcriptions";
  const auto check = [&](const char* what, double expected, double got, double allowed) {
    published("bore", std::string("reference gauge study by ranges: ") + what, source, How::read, expected, got,
              allowed);
  };
  check("mean range, person A", .184, r.person_ranges[0], 5e-4);
  check("mean range, person B", .513, r.person_ranges[1], 5e-4);
  check("mean range, person C", .328, r.person_ranges[2], 5e-4);
  check("mean of all ranges", .3417, r.mean_range, 5e-5);
  check("mean, person A", .1903, r.person_means[0], 5e-5);
  check("mean, person B", .0683, r.person_means[1], 5e-5);
  check("mean, person C", -.2543, r.person_means[2], 5e-5);
  check("difference of means (printed from rounded means)", .4446, r.difference, 1e-4);
  check("range of part means", 3.511, r.part_range, 5e-4);
  check("limit of ranges (printed with D4 2.574)", .880, r.range_limit, 5e-4);
  check("repeatability", .20188, r.spread.repeatability, 5e-4);
  check("between people", .22963, r.spread.reproducibility, 5e-4);
  check("gauge", .30575, r.spread.gauge, 5e-4);
  check("between parts", 1.10456, r.spread.parts, 5e-4);
  check("total", 1.14610, r.spread.total, 5e-4);
  check("repeatability of total, %", 17.62, 100 * r.spread.repeatability / r.spread.total, 0.05);
  check("people of total, %", 20.04, 100 * r.spread.reproducibility / r.spread.total, 0.05);
  check("gauge of total, %", 26.68, 100 * r.spread.of_total, 0.05);
  check("parts of total, %", 96.38, 100 * r.spread.parts / r.spread.total, 0.05);
  check("distinct categories", 5, r.spread.categories_cut, 0);
  published("bore", "reference gauge study by ranges: categories before cutting", "the same data, computed again",
            How::computed, 5.09, r.spread.categories, 5e-3);
  ASSERT_EQ(r.flags.size(), 1u);
  EXPECT_EQ(r.flags[0].person, 2);
  EXPECT_EQ(r.flags[0].part, 4);
  EXPECT_NEAR(r.flags[0].range, 1.02, 1e-12);
}

TEST(GaugeStudy, ReferenceStudyByVariance) {
  StudyInputs in;
  in.readings = reference;
  in.parts = 10;
  in.persons = in.trials = 3;
  const auto s = gauge_study(in);
  ASSERT_TRUE(s.ok());
  const ByVariance& v = s->by_variance;
  const auto check = [&](const char* what, double expected, double got, double allowed, How how = How::computed,
                         const char* source = "AIAG MSA 4th ed. data, analysis of variance computed independently") {
    published("bore", std::string("reference gauge study by variance: ") + what, source, how, expected, got, allowed);
  };
  check("sum of squares, parts", 88.36193, v.ss_part, 5e-6);
  check("sum of squares, people", 3.16726, v.ss_person, 5e-6);
  check("sum of squares, interaction", .35898, v.ss_interaction, 5e-6);
  check("sum of squares, error", 2.75893, v.ss_error, 5e-6);
  check("sum of squares, total", 94.64711, v.ss_total, 5e-6);
  check("F of the interaction", .4337, v.f_interaction, 5e-5);
  const char* printed = "AIAG MSA 4th ed., analysis of variance as printed (from memory)";
  check("repeatability", .199933, v.spread.repeatability, 5e-6, How::from_memory, printed);
  check("between people", .226838, v.spread.reproducibility, 5e-6, How::from_memory, printed);
  check("gauge", .302373, v.spread.gauge, 5e-6, How::from_memory, printed);
  check("between parts", 1.042327, v.spread.parts, 5e-6, How::from_memory, printed);
  check("repeatability of total, %", 18.42, 100 * v.spread.repeatability / v.spread.total, 5e-3);
  check("people of total, %", 20.90, 100 * v.spread.reproducibility / v.spread.total, 5e-3);
  check("gauge of total, %", 27.86, 100 * v.spread.of_total, 5e-3);
  check("parts of total, %", 96.04, 100 * v.spread.parts / v.spread.total, 5e-3);
  check("categories", 4.86, v.spread.categories, 5e-3);
  check("categories, cut down", 4, v.spread.categories_cut, 0);
  EXPECT_EQ(v.spread.categories_rounded, 5);  // the other rule in use
  EXPECT_TRUE(v.pooled);
  EXPECT_LT(v.gauge_low, v.spread.gauge);
  EXPECT_GT(v.gauge_high, v.spread.gauge);
  EXPECT_NEAR(v.ss_part + v.ss_person + v.ss_interaction + v.ss_error, v.ss_total, 1e-10);
}

TEST(GaugeStudy, TheRuleOfPoolingIsSaidAndKept) {
  StudyInputs in;
  in.readings = reference;
  in.parts = 10;
  in.persons = in.trials = 3;
  in.pool_above = 1;  // never pooled
  const auto apart = gauge_study(in);
  EXPECT_FALSE(apart->by_variance.pooled);
  EXPECT_EQ(apart->by_variance.spread.interaction, 0);  // the interaction's mean square is below the error's
  EXPECT_NEAR(apart->by_variance.spread.repeatability, std::sqrt(2.75893 / 60), 1e-5);
}

TEST(GaugeStudy, RefusesHalfATable) {
  StudyInputs in;
  in.readings = reference;
  in.parts = 10;
  in.persons = in.trials = 3;
  in.readings.pop_back();
  EXPECT_FALSE(gauge_study(in).ok());
  in.readings.push_back(std::nan(""));
  EXPECT_FALSE(gauge_study(in).ok());
  in.readings.back() = 1;
  const auto refused = [&](auto&& change) {
    StudyInputs x = in;
    change(x);
    return !gauge_study(x).ok();
  };
  EXPECT_FALSE(refused([](StudyInputs&) {}));
  EXPECT_TRUE(refused([](StudyInputs& x) { x.parts = 1; }));
  EXPECT_TRUE(refused([](StudyInputs& x) { x.parts = 51; }));
  EXPECT_TRUE(refused([](StudyInputs& x) { x.persons = 0; }));
  EXPECT_TRUE(refused([](StudyInputs& x) { x.persons = 21; }));
  EXPECT_TRUE(refused([](StudyInputs& x) { x.trials = 1; }));
  EXPECT_TRUE(refused([](StudyInputs& x) { x.trials = 11; }));
  EXPECT_TRUE(refused([](StudyInputs& x) { x.tolerance = -1; }));
  EXPECT_TRUE(refused([](StudyInputs& x) { x.pool_above = 1.1; }));
  EXPECT_TRUE(refused([](StudyInputs& x) { x.readings.assign(90, 1.0); }));
}

TEST(Verdicts, StepsAveragesAndWords) {
  EXPECT_EQ(gauge_verdict(0.10), GaugeVerdict::good);
  EXPECT_EQ(gauge_verdict(0.30), GaugeVerdict::bearable);
  EXPECT_EQ(gauge_verdict(0.31), GaugeVerdict::not_good);
  EXPECT_EQ(gauge_verdict(std::nan("")), GaugeVerdict::not_good);
  GaugeSpread s;
  s.repeatability = 0.6;
  EXPECT_EQ(readings_to_average(s, 9, 0.30), 2);  // 6 x 0.6 = 3.6 of 9; two readings leave 2.55 of 2.7
  EXPECT_EQ(readings_to_average(s, 12, 0.30), 1);
  s.reproducibility = 0.5;
  EXPECT_EQ(readings_to_average(s, 9, 0.30), 0);
  EXPECT_TRUE(step_check(0.1, 1).fine);
  EXPECT_FALSE(step_check(0.11, 1).fine);
  EXPECT_FALSE(step_check(0, 1).fine);
  EXPECT_NEAR(step_check(0.1, 1).u, 0.0288675, 1e-7);
}

TEST(Verdicts, AnAnswerIsNeverFinerThanTheGaugeCanTell) {
  EXPECT_NEAR(sensible_step(0.6e-6, 0), 0.5e-6, 1e-15);
  EXPECT_NEAR(sensible_step(0.5e-6, 0), 0.5e-6, 1e-15);
  EXPECT_NEAR(sensible_step(2.5e-6, 0), 2e-6, 1e-15);
  EXPECT_NEAR(sensible_step(0.6e-6, 1e-6), 1e-6, 1e-15);                // the gauge's own step is coarser
  EXPECT_NEAR(sensible_step(0.6e-6, 0, 25.4e-9), 20 * 25.4e-9, 1e-15);  // 24 µin: in steps of 20 µin
  EXPECT_EQ(sensible_step(0, 1e-7), 1e-7);
}

}  // namespace
}  // namespace fettle::bore
