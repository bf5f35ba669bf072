// The ledger against published stacks, closed forms and sums by hand.
#include "calc/tolerance/ledger.h"

#include <gtest/gtest.h>

#include <cmath>

#include "calc/tolerance/routes_for_tests.h"
#include "maths/statistics.h"
#include "published.h"

namespace {

using namespace fettle;
using namespace fettle::tolerance;
using namespace fettle::tolerance::test;
using fettle::test::How;
using fettle::test::published;

/// A tower of blocks: each operation stands on the last face made and makes the next one.
struct Layer {
  double nominal = 0, spread = 0;  ///< mm
};
Route tower(const std::vector<Layer>& layers, bool uniform) {
  Route r;
  double z = 0;
  int last = -1;
  for (std::size_t i = 0; i < layers.size(); ++i) {
    z += layers[i].nominal;
    const int face = plane(r, "face" + std::to_string(i), {0, 0, z * mm}, {0, 0, 1});
    Operation op = six(r, "op" + std::to_string(i), last, (z - layers[i].nominal) * mm);
    op.makes = {face};
    r.operations.push_back(op);
    Contributor c = zero("cut " + std::to_string(i), static_cast<int>(i), {0, 0, 1});
    c.family = uniform ? Contributor::Family::uniform : Contributor::Family::normal;
    c.s = layers[i].spread / 3 * mm;
    c.half_width = layers[i].spread * mm;
    c.worst = layers[i].spread * mm;
    r.contributors.push_back(c);
    last = face;
  }
  return r;
}

TEST(Ledger, ShaftAndBearingStack) {  // metrology E2
  const std::vector<Layer> layers = {{-.0505, .0015}, {8.000, .008}, {-.5093, .0025}, {.400, .002},
                                     {-7.711, .006},  {.400, .002},  {-.5093, .0025}};
  Route r = tower(layers, false);
  const int bottom = plane(r, "bottom", {0, 0, 0}, {0, 0, -1});
  r.requirements.push_back(
      distance("gap", 6, bottom, {0, 0, 1}, .0199 * mm, .0199 * mm - .015 * mm, .0199 * mm + .015 * mm));
  const auto ledger = build(r);
  ASSERT_TRUE(ledger) << say(ledger.problem());
  const Linear l = linear_of(*ledger, 0);
  const char* source = "Chase & Greenwood 1988; Chase, ADCATS 99-6";
  published("tolerance", "gap of the shaft stack, mean", source, How::from_memory, 0.0199, l.mean / mm, 1e-12);
  published("tolerance", "gap of the shaft stack, worst case", source, How::from_memory, 0.0245,
            (l.worst_high - l.mean) / mm, 1e-12);
  published("tolerance", "gap of the shaft stack, root of the sum of squares", source, How::from_memory, 0.011079,
            3 * l.s / mm, 5e-7);
  EXPECT_NEAR(l.share_outside, 2 * maths::normal_cdf(-.015 / (.011079 / 3)), 1e-7);
  ASSERT_EQ(l.contributors.size(), 7u);
  EXPECT_EQ(l.contributors[0].name, "cut 1");
  EXPECT_NEAR(l.contributors[0].share, .008 * .008 / (.011079 * .011079), 1e-4);

  // Normal and one row: Monte Carlo must agree with theory.
  SampleInputs in;
  in.parts = 400000;
  in.mending = false;
  const auto s = sample(*ledger, in);
  ASSERT_TRUE(s);
  const Outcomes& o = s->requirements[0];
  const double p = 2 * maths::normal_cdf(-.015 / (.0110793 / 3));
  EXPECT_NEAR(o.outside.share, p, 4 * std::sqrt(p / in.parts));
  EXPECT_NEAR(o.mean / mm, .0199, 4 * l.s / mm / std::sqrt(in.parts));
  EXPECT_NEAR(o.s / l.s, 1, 4 / std::sqrt(2.0 * in.parts));
  EXPECT_LE(o.outside.low, o.outside.share);
  EXPECT_GE(o.outside.high, o.outside.share);
}

TEST(Ledger, FourUniforms) {  // metrology E3
  Route r = tower({{1, .1}, {1, .1}, {1, .1}, {1, .1}}, true);
  const int bottom = plane(r, "bottom", {0, 0, 0}, {0, 0, -1});
  for (const double limit : {.2, .3})
    r.requirements.push_back(distance("height", 3, bottom, {0, 0, 1}, 4 * mm, (4 - limit) * mm, (4 + limit) * mm));
  const auto ledger = build(r);
  ASSERT_TRUE(ledger) << say(ledger.problem());
  const char* source = "sum of four uniform numbers (Irwin 1927, Hall 1927)";
  const std::vector<Linear> l = linear(*ledger);
  published("tolerance", "four uniforms on +-0.1, share within 0.2, theory", source, How::exact, 0.9166667,
            1 - l[0].share_outside, 6e-8);
  published("tolerance", "four uniforms on +-0.1, share within 0.3, theory", source, How::exact, 0.9947917,
            1 - l[1].share_outside, 6e-8);
  EXPECT_GT(std::fabs(1 - l[1].share_outside - 0.99063), .004) << "the normal law must not stand in for four uniforms";
  SampleInputs in;
  in.parts = 200000;
  in.mending = false;
  const auto s = sample(*ledger, in);
  ASSERT_TRUE(s);
  for (std::size_t i = 0; i < 2; ++i) {
    const double p = i == 0 ? 0.9166667 : 0.9947917;
    published("tolerance",
              i == 0 ? "four uniforms, share within 0.2, sampled" : "four uniforms, share within 0.3, sampled", source,
              How::exact, p, 1 - s->requirements[i].outside.share, 3 * std::sqrt(p * (1 - p) / in.parts));
  }
}

/// A part on six locators as in metrology D3, each with an error of its own; a hole is cut at P.
Route three_two_one(double s_mm) {
  Route r;
  Operation op;
  op.id = "OP10";
  const auto at = [&](const char* name, Vec3 p, Vec3 n) { op.contacts.push_back({name, -1, mm * p, n}); };
  at("z1", {20, 20, 0}, {0, 0, -1});
  at("z2", {180, 20, 0}, {0, 0, -1});
  at("z3", {100, 130, 0}, {0, 0, -1});
  at("y1", {30, 0, 25}, {0, -1, 0});
  at("y2", {170, 0, 25}, {0, -1, 0});
  at("x1", {0, 75, 25}, {-1, 0, 0});
  for (const Vec3 n : {Vec3{1, 0, 0}, Vec3{0, 1, 0}, Vec3{0, 0, 1}})
    op.makes.push_back(plane(r, "P", mm * Vec3{150, 100, 40}, n));
  r.operations.push_back(op);
  for (int i = 0; i < 6; ++i) {
    Contributor c;
    c.name = op.contacts[static_cast<std::size_t>(i)].name;
    c.s = s_mm / 3 * mm;
    c.worst = s_mm * mm;
    Effect e;
    e.on = Effect::On::contact;
    e.operation = 0;
    e.index = i;
    c.effects = {e};
    r.contributors.push_back(c);
  }
  const Vec3 axes[] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
  for (int i = 0; i < 3; ++i) {
    const int raw = plane(r, "raw", {}, -axes[i]);
    r.requirements.push_back(distance("P", i, raw, axes[i], 0, -1, 1));
  }
  return r;
}

TEST(Ledger, ThreeTwoOneThroughOneOperation) {  // metrology D3
  const auto ledger = build(three_two_one(0.010));
  ASSERT_TRUE(ledger) << say(ledger.problem());
  const char* source = "linear propagation after Asada & By 1985; Cai, Hu & Yuan 1997";
  const auto coefficient = [&](int requirement, int column) {
    const Row& row = ledger->shapes[static_cast<std::size_t>(requirement)].scalar[0];
    for (std::size_t i = 0; i < row.column.size(); ++i)
      if (row.column[i] == column) return row.coefficient[i];
    return 0.0;
  };
  // A locator that stands off by d moves the part by d along -n; what is cut moves in the part the other way.
  const double z3[] = {0, -0.006818, 0.036364}, z1[] = {0.001875, 0.001364, -0.003523}, y2[] = {-0.005357, 0.025714, 0};
  const char* names[] = {"x", "y", "z"};
  for (int i = 0; i < 3; ++i) {
    const std::string axis = names[i];
    published("tolerance", "3-2-1, third z locator +0.050: movement of P in " + axis + ", mm", source, How::computed,
              z3[i], -0.050 * coefficient(i, 2), 6e-7);
    published("tolerance", "3-2-1, first z locator +0.020: movement of P in " + axis + ", mm", source, How::computed,
              z1[i], -0.020 * coefficient(i, 0), 6e-7);
    published("tolerance", "3-2-1, second y locator +0.030: movement of P in " + axis + ", mm", source, How::computed,
              y2[i], -0.030 * coefficient(i, 4), 6e-7);
  }
  const double worst[] = {0.01545, 0.01273, 0.01352}, rss[] = {0.01040, 0.00885, 0.00873};
  const std::vector<Linear> l = linear(*ledger);
  for (std::size_t i = 0; i < 3; ++i) {
    published("tolerance", std::string("3-2-1, all six +-0.010: worst of P in ") + names[i] + ", mm", source,
              How::computed, worst[i], l[i].worst_high / mm, 6e-6);
    published("tolerance", std::string("3-2-1, all six +-0.010: root of squares of P in ") + names[i] + ", mm", source,
              How::computed, rss[i], 3 * l[i].s / mm, 6e-6);
  }
}

TEST(Ledger, RoundZone) {  // metrology C6
  Route r = bored_plate();
  const auto ledger = build(r);
  ASSERT_TRUE(ledger) << say(ledger.problem());
  const char* source = "Rayleigh: 1 - exp(-T^2 / 8 s^2)";
  const Linear l = linear_of(*ledger, 0);
  published("tolerance", "share inside a round zone of 0.1 with s 0.015 in x and y, theory", source, How::exact,
            0.996134, 1 - l.share_outside, 6e-7);
  SampleInputs in;
  in.parts = 200000;
  const auto s = sample(*ledger, in);
  ASSERT_TRUE(s);
  published("tolerance", "share inside a round zone of 0.1 with s 0.015 in x and y, sampled", source, How::exact,
            0.996134, 1 - s->requirements[0].outside.share, 3 * std::sqrt(0.996134 * 0.003866 / in.parts));
  // One axis alone, as if the zone were two limits, would promise better: the zone must differ.
  EXPECT_GT(s->requirements[0].outside.share, 2 * 2 * maths::normal_cdf(-50. / 15) + .001);
}

/// A tower with errors of three kinds and three requirements, one of them after moved means and scatters.
TEST(Ledger, SharesByTheoryAreThoseOfTheMovedLedger) {
  Route r = tower({{10, .02}, {5, .03}, {7, .01}}, false);
  r.contributors[1].family = Contributor::Family::uniform;
  r.contributors[2].family = Contributor::Family::half_normal;
  const int bottom = plane(r, "bottom", {0, 0, 0}, {0, 0, -1});
  for (int face = 0; face < 3; ++face) {
    const double nominal = (face == 0 ? 10 : face == 1 ? 15 : 22) * mm;
    r.requirements.push_back(distance("height " + std::to_string(face), face, bottom, {0, 0, 1}, nominal,
                                      nominal - 0.015 * mm, nominal + 0.02 * mm));
  }
  const auto ledger = build(r);
  ASSERT_TRUE(ledger) << say(ledger.problem());
  std::vector<Contributor> moved = ledger->route.contributors;
  moved[0].s *= 1.7, moved[0].mean = 0.004 * mm, moved[1].half_width *= 0.8, moved[2].s *= 2;
  Ledger other = *ledger;
  other.route.contributors = moved;
  const auto as_built = shares_by_theory(*ledger, ledger->route.contributors, {2, 0});
  const auto after = shares_by_theory(*ledger, moved, {0, 1, 2});
  ASSERT_EQ(after.size(), 3U);
  EXPECT_EQ(as_built[0], linear_of(*ledger, 2).share_outside);
  EXPECT_EQ(as_built[1], linear_of(*ledger, 0).share_outside);
  for (int k = 0; k < 3; ++k) EXPECT_EQ(after[static_cast<std::size_t>(k)], linear_of(other, k).share_outside) << k;
  EXPECT_GT(after[0], 1.1 * as_built[1]);
}

}  // namespace
