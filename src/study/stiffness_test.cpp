// Stiffness in the study: the loaded pallet by hand, by the two models, and what is said of it.
#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "calc/structure/bow.h"
#include "published.h"
#include "study/demo_for_tests.h"
#include "study/internal.h"
#include "study/plate_model.h"

namespace fettle::study {
namespace {

using fettle::test::How;
using fettle::test::published;

const std::string run_off =
    "[[pallet.run_off]]\nwidth = \"24 mm\"\ndepth = \"10 mm\"\nalong = \"y\"\nslope = \"0 deg\"\nclosed_end = \"14 "
    "mm\"\n"
    "exit_diameter = \"24 mm\"\nflow = \"3 L/min\"\n";

/// A plan ready to be asked about its plate.
struct Asked {
  plan::Plan plan;
  Data data;
  Options options = demo::quick();
  Memo memo;
  Study study;
  Problems problems;
  explicit Asked(const std::vector<demo::Edit>& edits) {
    auto p = demo::read(demo::edited(demo::text_of("plan-0.toml"), edits));
    EXPECT_TRUE(p.ok());
    if (p.ok()) plan = std::move(p.value());
  }
  Context context() { return {plan, data, options, memo, study, problems, {}}; }
};

Options alone() {
  Options o = demo::quick();
  o.only = {"stiffness"};
  return o;
}

double sag_of(const finding::Finding& f) {
  for (const finding::Input& i : f.inputs)
    if (i.name == "bends by weight of plate and parts") return i.si;
  return std::nan("");
}

// A plate so thick that it does not bend stands on four springs: a push at (x, y) sinks it by
// (1 + x^2/X^2 + y^2/Y^2)/(4 k), each spring spread over its patch (r^2/4 more in X^2 and Y^2).
TEST(Stiffness, AStiffPlateStandsOnItsAnchors) {
  Asked a({{run_off, ""}});
  Context c = a.context();
  PlateKnobs k = stated_knobs(c);
  k.thickness = 0.5;
  const auto r = plate_answer(c, k, {{3, {0.078, 0.057, 0}}});
  ASSERT_TRUE(r.ok());
  const double patch = 0.02 * 0.02 / 4;
  const double by_hand =
      (1 + 0.078 * 0.078 / (0.105 * 0.105 + patch) + 0.057 * 0.057 / (0.075 * 0.075 + patch)) / (4 * k.anchor_up);
  const double got = maths::static_compliance(r->at[0])[8];
  EXPECT_GT(got, by_hand);
  EXPECT_NEAR(got, by_hand, 0.02 * by_hand);
}

// A plain plate is answered by its free modes; the same plate with a scratch of a pocket by the full model.
TEST(Stiffness, BothModelsSayTheSame) {
  Asked few({{run_off, ""}}),
      full({{run_off, "[[pallet.pocket]]\nat = \"0, 0 mm\"\ndiameter = \"1 mm\"\ndepth = \"0.001 mm\"\n"}});
  Context a = few.context(), b = full.context();
  const std::vector<PlatePoint> at = {{0, {-0.14, -0.1, 0.04}}, {3, {0.078, 0.057, 0.04}}};
  const auto x = plate_answer(a, stated_knobs(a), at), y = plate_answer(b, stated_knobs(b), at);
  ASSERT_TRUE(x.ok() && y.ok());
  EXPECT_EQ(few.memo.computed("plate felt by its parts"), 0);
  EXPECT_EQ(few.memo.computed("plate by free modes"), 1);
  EXPECT_EQ(full.memo.computed("plate felt by its parts"), 1);
  for (std::size_t k = 0; k < 6; ++k) EXPECT_NEAR(x->frequencies[k], y->frequencies[k], 0.01 * y->frequencies[k]);
  for (std::size_t p = 0; p < at.size(); ++p)
    for (const std::size_t k : {0U, 4U, 8U}) {
      const double one = maths::static_compliance(x->at[p])[k], other = maths::static_compliance(y->at[p])[k];
      EXPECT_NEAR(one, other, 0.01 * other) << p << " " << k;
    }
  EXPECT_NE(plate_words(a, stated_knobs(a), at).find("free modes"), std::string::npos);
  EXPECT_EQ(plate_words(b, stated_knobs(b), at).find("free modes"), std::string::npos);
}

// Common practice, no source: a part far out on a thin plate gives most, so it chatters first.
TEST(Stiffness, APartFarOutOnAThinPlateGivesMost) {
  const auto give = [](const demo::Edit& nests, double thickness) {
    Asked a({{run_off, ""}, nests});
    Context c = a.context();
    PlateKnobs k = stated_knobs(c);
    k.thickness = thickness;
    const frame::Vec3 corner = on_pallet(a.plan, 3, {0.06, 0.04, 0.036});
    const auto r = plate_answer(c, k, {{3, corner}});
    EXPECT_TRUE(r.ok());
    const auto m = r.ok() ? maths::static_compliance(r->at[0]) : std::array<double, 9>{};
    return m[0] + m[4] + m[8];
  };
  const demo::Edit near{"at = \"±78, ±57 mm\"", "at = \"±70, ±50 mm\""}, far{near.first, "at = \"±98, ±78 mm\""};
  EXPECT_GT(give(far, 0.012), 1.2 * give(near, 0.012));
  EXPECT_GT(give(far, 0.012), 2 * give(far, 0.025));
}

TEST(Stiffness, ToolByToolAndTheirWords) {
  const auto r = demo::demo({}, alone());
  int gives = 0;
  for (const finding::Finding& f : r.study.findings) {
    if (f.question != "give") continue;
    ++gives;
    EXPECT_NE(f.state, finding::State::open) << f.id;
    EXPECT_TRUE(f.value > 0 && f.value < 1e-4) << f.id;
    EXPECT_FALSE(f.nest.empty()) << f.id;
    EXPECT_GE(f.assumptions.size(), 2U) << f.id << ": anchors and parts have a band";
    EXPECT_FALSE(f.levers.empty()) << f.id;
  }
  EXPECT_GE(gives, 3);
}

// Job sheet: 3 K across 25 mm bow an aluminium plate by 16 µm between anchors 210 mm apart.
// The full study tries anchors over the plate and ribs below it; what it names is what the model says of it.
TEST(Stiffness, WhereAnAnchorOrARibHelpsMost) {
  Options o = alone();
  o.monte_carlo = true;
  const auto r = demo::demo({{"size = \"330 x 250 x 25 mm\"", "size = \"330 x 250 x 16 mm\""}}, o);
  int anchors = 0, ribs = 0;
  for (const finding::Finding& f : r.study.findings)
    for (const finding::Lever& l : f.levers) {
      if (f.question != "give") continue;
      anchors += l.key == "pallet.anchor";
      ribs += l.key == "pallet.rib";
      EXPECT_EQ(l.text.find("nan"), std::string::npos) << l.text;
    }
  EXPECT_GT(anchors, 0);
  EXPECT_GT(ribs, 0);
  ASSERT_TRUE(r.study.thickness.there);
  for (std::size_t k = 1; k < r.study.thickness.points.size(); ++k) {
    const ThicknessPoint &a = r.study.thickness.points[k - 1], &b = r.study.thickness.points[k];
    EXPECT_GT(b.thickness, a.thickness + 1e-6);
    EXPECT_GT(b.mass, a.mass);
    EXPECT_LT(b.give, a.give);
    EXPECT_TRUE(b.first_low <= b.first && b.first <= b.first_high);
  }
  EXPECT_TRUE(r.study.compliance.there);
  EXPECT_GE(r.study.modes.size(), 4U);
}

TEST(Stiffness, BowOfAWarmTop) {
  const auto r = demo::demo({{"[pallet.plate]", "top_warmer = \"3 K\"\n[pallet.plate]"}}, alone());
  const auto f = r.at("op30.F3.plate_bow");
  published("structure", "bow of 25 mm aluminium between anchors 210 mm apart, 3 K top to bottom, m",
            "alpha dT L2/(8 t), a straight temperature profile, any text on plates", How::exact,
            23.8e-6 * 3 * 0.21 * 0.21 / (8 * 0.025), f.value - sag_of(f), 1e-9);
}

// Weight bends the plate as the science says of the same plate (bow_test.cpp holds that against a beam), and without a
// warm top that is all; parts twice as heavy bend it more.
TEST(Stiffness, BowByWeightOfPlateAndParts) {
  const demo::Edit cool{"[pallet.plate]", "top_warmer = \"0 K\"\n[pallet.plate]"};
  const auto r = demo::demo({cool}, alone());
  const auto f = r.at("op30.F3.plate_bow");
  Asked a({cool});
  Context c = a.context();
  structure::BowInputs in;
  in.plate = plate_inputs(c, stated_knobs(c), {});
  in.gravity = 9.80665;
  const structure::BowResult by_science = structure::bow(in);
  ASSERT_TRUE(by_science.ok);
  EXPECT_GT(f.value, 1e-9);
  EXPECT_NEAR(f.value, by_science.highest - by_science.lowest, 1e-15);
  EXPECT_EQ(f.value, sag_of(f));
  for (structure::Part& p : in.plate.parts) p.mass *= 2;
  const structure::BowResult heavier = structure::bow(in);
  EXPECT_GT(heavier.highest - heavier.lowest, f.value);
}

// Bands and levers come from one factored plate: the full model, factored anew for each, says the same.
TEST(Stiffness, BandsFromOneFactoredPlate) {
  Asked a({});
  Context c = a.context();
  const std::vector<PlatePoint> at = {{0, {-0.14, -0.1, 0.04}}, {3, {0.078, 0.057, 0.04}}};
  const std::vector<frame::Vec3> tried = {{0, 0.09, 0}, {0.066, 0, 0}};
  std::vector<PlateKnobs> all(6, stated_knobs(c));
  all[1].anchor_up *= 0.6, all[2].anchor_side *= 1.7, all[3].parts_bonded = true, all[3].anchor_up *= 0.6;
  all[4].thickness = 0.03, all[5].more_anchors = {tried[1]};
  for (const PlateKnobs& k : all) {
    const auto x = plate_gives(c, k, at, tried);
    const auto y = plate_answer(c, k, at);
    ASSERT_TRUE(x.ok() && y.ok());
    for (std::size_t p = 0; p < at.size(); ++p) {
      const auto full = maths::static_compliance(y->at[p]);
      for (std::size_t d = 0; d < 9; ++d)
        EXPECT_NEAR((*x)[p][d], full[d], 3e-3 * (full[0] + full[4] + full[8])) << p << " " << d;
    }
  }
  EXPECT_EQ(a.memo.computed("plate at rest"), 2) << "as stated, bonded; a thicker one moves no anchor";
}

TEST(Stiffness, WhatIsMissingIsOpen) {
  for (const demo::Edit& e :
       std::vector<demo::Edit>{{"material = \"EN AW-5083\"\n\n[[pallet.anchor]]", "\n[[pallet.anchor]]"},
                               {"size = \"330 x 250 x 25 mm\"\n", ""}}) {
    const auto r = demo::demo({e}, alone());
    int open = 0;
    for (const finding::Finding& f : r.study.findings)
      if (f.question == "give") {
        EXPECT_EQ(f.state, finding::State::open) << f.id;
        EXPECT_FALSE(f.missing.empty());
        ++open;
      }
    EXPECT_GT(open, 0);
  }
}

}  // namespace
}  // namespace fettle::study
