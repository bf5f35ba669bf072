// Stiffness in the study: the loaded pallet by hand, by the two models, and what is said of it.
#include <gtest/gtest.h>

#include <array>
#include <cmath>

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
  EXPECT_EQ(few.memo.computed("plate"), 0);
  EXPECT_EQ(few.memo.computed("plate by free modes"), 1);
  EXPECT_EQ(full.memo.computed("plate"), 1);
  for (std::size_t k = 0; k < 6; ++k) EXPECT_NEAR(x->frequencies[k], y->frequencies[k], 0.01 * y->frequencies[k]);
  for (std::size_t p = 0; p < at.size(); ++p)
    for (const std::size_t k : {0U, 4U, 8U}) {
      const double one = maths::static_compliance(x->at[p])[k], other = maths::static_compliance(y->at[p])[k];
      EXPECT_NEAR(one, other, 0.01 * other) << p << " " << k;
    }
  EXPECT_NE(plate_words(a).find("free modes"), std::string::npos);
  EXPECT_EQ(plate_words(b).find("free modes"), std::string::npos);
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
            23.8e-6 * 3 * 0.21 * 0.21 / (8 * 0.025), f.value, 1e-7);
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
