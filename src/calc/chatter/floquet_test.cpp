#include "calc/chatter/floquet.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <string>

#include "calc/chatter/floquet_for_tests.h"
#include "calc/chatter/reckoners_floquet.h"
#include "maths/random.h"
#include "published.h"
#include "reckoner_examples.h"

namespace {

namespace maths = fettle::maths;
using namespace fettle::chatter;
using fettle::test::growth_by_steps;
using fettle::test::How;
using fettle::test::PlainCut;
using fettle::test::published;
using fettle::test::radius_by_semi_discretisation;

TEST(Floquet, PublishedMultipliersOfAFullSlot) {
  struct Row {
    double depth, radius, printed;
  };
  for (const Row& r : {Row{0.2, 0.819743, 0.8192}, Row{0.5, 1.073976, 1.0726}, Row{0.7, 1.221556, 1.2197},
                       Row{1.0, 1.406474, 1.4040}}) {
    const Multiplier m = multiplier(one_mode(slot, 5000), r.depth * 1e-3);
    ASSERT_TRUE(m.ok) << m.why;
    EXPECT_TRUE(m.converged) << m.error;
    const std::string what = "multiplier of one mode, full slot, 5000 rpm, " + std::to_string(r.depth) + " mm";
    published("chatter", what,
              "parameters: Insperger and Stepan, Int. J. Numer. Meth. Eng. 61 (2004) 117-141; value by an independent "
              "collocation, computed",
              How::computed, r.radius, m.radius, 2e-5 * r.radius);
    published("chatter", what + " (semi-discretisation)",
              "Ding, Zhu, Zhang, Ding, IJMTM 50 (2010) 502-509, from memory", How::from_memory, r.printed, m.radius,
              0.003 * r.printed);
  }
}

TEST(Floquet, PlainSemiDiscretisationComesNearerWithFinerSteps) {
  const FloquetInputs in = one_mode(slot, 5000);
  const double good = multiplier(in, 0.5e-3).radius;
  const double coarse = std::fabs(radius_by_semi_discretisation(plain(in, 0.5e-3), 40) - good),
               fine = std::fabs(radius_by_semi_discretisation(plain(in, 0.5e-3), 100) - good);
  EXPECT_GT(coarse, 0.03);  // 40 steps are too coarse here
  EXPECT_LT(fine, coarse / 4);
  published("chatter", "multiplier, semi-discretisation with 100 steps, 0.5 mm",
            "own plain semi-discretisation, computed", How::computed,
            radius_by_semi_discretisation(plain(in, 0.5e-3), 100), good, 0.01 * good);
}

struct Limits {
  const char* words;
  FloquetInputs in;
  std::vector<double> rpm, depth;
  double allowed;
};

TEST(Floquet, FirstLossAtNamedSpeeds) {
  const std::vector<double> eight{5000, 7500, 10000, 12500, 15000, 17500, 20000, 25000},
      five{5000, 10000, 15000, 20000, 25000}, mixed{4000, 6000, 9000, 12000, 14000};
  for (const Limits& l : {
           Limits{"one mode, full slot",
                  one_mode(slot, 1),
                  eight,
                  {0.4086, 0.3206, 0.3224, 2.7070, 0.3866, 0.5076, 1.4175, 3.9399},
                  0.001},
           Limits{"one mode, half down",
                  one_mode(half_down, 1),
                  eight,
                  {0.8472, 1.6120, 2.1047, 0.6570, 2.5962, 1.0884, 0.7196, 1.0377},
                  0.001},
           Limits{"one mode, half up",
                  one_mode(half_up, 1),
                  eight,
                  {0.2603, 0.2096, 0.2135, 1.5450, 0.2589, 0.3080, 1.1853, 3.9317},
                  0.001},
           Limits{
               "two alike modes, full slot", two_modes(slot, 1), five, {0.0475, 0.0714, 0.1144, 0.0632, 0.5301}, 0.002},
           Limits{
               "two alike modes, half", two_modes(half_up, 1), five, {0.1271, 0.1810, 0.2818, 0.1762, 1.6018}, 0.002},
           Limits{"two modes along each axis, half down",
                  four_modes(half_down, 1),
                  mixed,
                  {0.9458, 1.8428, 1.0552, 0.9134, 4.9541},
                  0.001},
           Limits{"two modes along each axis, full slot",
                  four_modes(slot, 1),
                  {4000, 9000, 12000},
                  {0.5439, 0.6316, 0.5069},
                  0.001},
       }) {
    for (std::size_t i = 0; i < l.rpm.size(); ++i) {
      FloquetInputs in = l.in;
      in.turns = l.rpm[i] / 60;
      const FirstLoss f = first_loss(in, 0.02e-3, 8e-3);
      ASSERT_TRUE(f.ok) << f.why;
      EXPECT_TRUE(f.converged) << l.words << " " << l.rpm[i] << " " << f.error;
      published("chatter",
                std::string("limit by multipliers, ") + l.words + ", " + std::to_string(int(l.rpm[i])) + " rpm, mm",
                "independent collocation, two points confirmed by stepping through time, computed", How::computed,
                l.depth[i], f.depth * 1e3, std::max(l.allowed * l.depth[i], 6e-5));
    }
  }
}

/// Arc of `degrees`, so that entry and exit stand on the oracle's steps.
Arc arc_of(double degrees, bool down) {
  const double a = degrees * M_PI / 180;
  return down ? Arc{M_PI - a, M_PI} : Arc{0, a};
}
double by_steps(const FloquetInputs& in, double depth, int turns = 60) {
  return growth_by_steps(plain(in, depth), 2880, turns);
}
double per_turn(const FloquetInputs& in, const Multiplier& m) {
  return std::pow(m.per_tooth, static_cast<double>(in.cutter.tooth_angles.size()));
}

FloquetInputs uneven_slot() {
  FloquetInputs in = two_modes(slot, 6000);
  in.cutter.tooth_angles = {0, 70 * M_PI / 180, 180 * M_PI / 180, 250 * M_PI / 180};
  return in;
}
FloquetInputs uneven_side() {
  FloquetInputs in = two_modes(arc_of(60, true), 6000);
  in.cutter.tooth_angles = {0, 100 * M_PI / 180, 230 * M_PI / 180};
  return in;
}
FloquetInputs leaning() {
  FloquetInputs in = two_modes(slot, 6000);
  in.responses.push_back(mode_by_mass(700, 0.05, 0.03, {0.36, 0.48, 0.8}));
  in.cutter.tooth_angles = even_teeth(3);
  in.cutter.lead = 0.7, in.cutter.ka = 0.3;
  return in;
}
FloquetInputs rubbing(FloquetInputs in, double flank) {
  in.flank = flank;
  return in;
}

TEST(Floquet, StepsThroughTimeDecayBelowAndGrowAbove) {
  int i = 0;
  for (const FloquetInputs& in :
       {one_mode(slot, 10000), two_modes(half_down, 15000), four_modes(arc_of(37, true), 9000), uneven_slot(),
        uneven_side(), leaning(), rubbing(leaning(), 2e4), rubbing(uneven_side(), 2e4),
        rubbing(two_modes(arc_of(90, false), 4000), 3e4)}) {
    const FirstLoss f = first_loss(in, 0.02e-3, 40e-3);
    ASSERT_TRUE(f.ok && f.converged && std::isfinite(f.depth)) << f.why << " " << f.depth << " case " << i;
    EXPECT_LT(by_steps(in, 0.97 * f.depth, 120), 1) << i;
    EXPECT_GT(by_steps(in, 1.03 * f.depth, 120), 1) << i;
    ++i;
  }
}

TEST(Floquet, GrowthEqualsThatOfStepsThroughTime) {
  struct Case {
    const char* words;
    FloquetInputs in;
  };
  for (const Case& c :
       {Case{"even teeth", two_modes(half_down, 9000)}, Case{"four uneven teeth, two in the metal", uneven_slot()},
        Case{"three uneven teeth, light", uneven_side()}, Case{"lead angle, three directions", leaning()},
        Case{"flank", rubbing(two_modes(slot, 6000), 3e4)}, Case{"lead and flank", rubbing(leaning(), 2e4)},
        Case{"uneven teeth and flank", rubbing(uneven_slot(), 3e4)}})
    for (double depth : {0.1e-3, 0.25e-3, 0.6e-3}) {
      const Multiplier m = multiplier(c.in, depth);
      ASSERT_TRUE(m.ok && m.converged) << m.why << m.error;
      const double got = per_turn(c.in, m);
      published("chatter",
                std::string("growth per turn, ") + c.words + ", " + std::to_string(depth * 1e3).substr(0, 4) + " mm",
                "Runge-Kutta steps through time, computed", How::computed, by_steps(c.in, depth), got, 2e-5 * got);
    }
}

TEST(Floquet, CutsByChanceGrowAsStepsThroughTime) {
  int uneven = 0, overlapping = 0, loud = 0;
  for (std::uint64_t i = 0; i < 30; ++i) {
    struct {
      std::uint64_t item;
      std::uint32_t next = 0;
      double uniform() { return maths::uniform(11, item, next++); }
    } r{i};
    FloquetInputs in;
    const int modes = 1 + static_cast<int>(r.uniform() * 4), teeth = 2 + static_cast<int>(r.uniform() * 4);
    const bool lean = r.uniform() < 0.4;
    for (int k = 0; k < modes; ++k)
      in.responses.push_back(mode_by_mass(400 + 900 * r.uniform(), 0.03 + 0.1 * r.uniform(), 0.01 + 0.03 * r.uniform(),
                                          {r.uniform() - 0.5, r.uniform() - 0.5, r.uniform() - 0.5}));
    in.cutter = cutter(teeth, arc_of(20 + std::floor(150 * r.uniform()), r.uniform() < 0.5), 6e8, 6e8 * r.uniform());
    if (lean) in.cutter.lead = 1.2 * r.uniform(), in.cutter.ka = 0.4 * r.uniform();
    if (r.uniform() < 0.5) {  // whole degrees off their even places
      for (double& a : in.cutter.tooth_angles) {
        const double even = std::round(a * 180 / M_PI);
        a = (even + std::floor(30 * r.uniform() - 15)) * M_PI / 180;
      }
      ++uneven;
      double least = 7;
      for (double d : tooth_delays(in.cutter, 1)) least = std::min(least, 2 * M_PI * d);
      overlapping += in.cutter.exit - in.cutter.entry > least;
    } else {
      in.cutter.tooth_angles = even_teeth(teeth == 5 ? 6 : teeth);
    }
    if (r.uniform() < 0.5) in.flank = 5e4 * r.uniform(), in.friction = 0.5 * r.uniform();
    in.turns = 60 + 80 * r.uniform();
    const double depth = (0.5 + 9 * r.uniform()) * 1e-3;
    const Multiplier m = multiplier(in, depth);
    ASSERT_TRUE(m.ok && m.converged) << i << m.why << m.error;
    const double got = per_turn(in, m);
    loud += got > 1;
    EXPECT_NEAR(by_steps(in, depth, 80) / got, 1, 2e-4)
        << i << " teeth " << teeth << " lean " << lean << " flank " << in.flank;
  }
  EXPECT_GT(uneven, 8);
  EXPECT_GT(overlapping, 4);
  EXPECT_GT(loud, 8);
  EXPECT_LT(loud, 25);
}

TEST(Floquet, NoDepthLeavesTheFreeDecay) {
  const FloquetInputs in = one_mode(half_down, 8000);
  EXPECT_NEAR(multiplier(in, 0).radius, std::exp(-0.011 * 2 * M_PI * 922 * 60 / 8000 / 2), 1e-9);
}

TEST(Floquet, UpAndDownAreAlikeForAToolAlikeAllRound) {
  for (double width : {0.1, 0.3, 0.5})
    for (double depth : {0.1e-3, 0.4e-3})
      EXPECT_NEAR(multiplier(two_modes(side_arc(width, 1, true), 9000), depth).radius /
                      multiplier(two_modes(side_arc(width, 1, false), 9000), depth).radius,
                  1, 1e-6);
}

TEST(Floquet, AlmostEvenTeethAreEven) {
  for (int teeth : {4, 7})
    for (const Arc& arc :
         {slot, half_down, side_arc(0.8, 1, true), Arc{0, 4 * M_PI / 7}, Arc{0, 4 * M_PI / 7 - 5e-8}}) {
      FloquetInputs in = two_modes(arc, 7000);
      in.cutter.tooth_angles = even_teeth(teeth);
      const double even = multiplier(in, 0.1e-3).per_tooth;
      for (double off : {1e-8, 1e-7, 1.5e-6, 3e-5}) {
        FloquetInputs other = in;
        other.cutter.tooth_angles[2] += off;
        const Multiplier m = multiplier(other, 0.1e-3);
        EXPECT_TRUE(m.converged) << m.error;
        EXPECT_NEAR(m.per_tooth / even, 1, 1e-6 + 0.02 * off) << teeth << " " << arc.exit << " " << off;
      }
    }
}

TEST(Floquet, WhereTheFirstToothStandsDoesNotMatter) {
  FloquetInputs in = rubbing(uneven_slot(), 1e4);
  const double one = multiplier(in, 0.2e-3).radius;
  for (double& a : in.cutter.tooth_angles) a += a < 2 ? 1.1 : 1.1 - 2 * M_PI;
  EXPECT_NEAR(multiplier(in, 0.2e-3).radius / one, 1, 1e-6);
  std::swap(in.cutter.tooth_angles[0], in.cutter.tooth_angles[2]);
  EXPECT_NEAR(multiplier(in, 0.2e-3).radius / one, 1, 1e-6);
}

TEST(Floquet, StiffnessAndForceScaleTheLimit) {
  FloquetInputs in = four_modes(side_arc(0.2, 1, true), 9000);
  const double one = first_loss(in, 0.05e-3, 60e-3).depth;
  in.cutter.kt *= 2;
  EXPECT_NEAR(first_loss(in, 0.025e-3, 30e-3).depth / one, 0.5, 1e-4);
  in.cutter.kt /= 2;
  for (auto& r : in.responses)
    for (auto& m : r.modes) m.shape = {m.shape.x / std::sqrt(3.0), m.shape.y / std::sqrt(3.0), 0};
  EXPECT_NEAR(first_loss(in, 0.15e-3, 180e-3).depth / one, 3, 1e-3);
}

TEST(Floquet, ThinnerCutsAreQuieter) {
  double before = 0;
  for (double width : {0.5, 0.1, 0.02, 0.004, 0.0008}) {
    const double b = first_loss(two_modes(side_arc(width, 1, true), 9000), 0.02e-3, 50).depth;
    EXPECT_GT(b, 1.5 * before);
    before = b;
  }
  EXPECT_GT(before, 0.05);
}

TEST(Floquet, ResidualIsAStiffMode) {
  FloquetInputs in = two_modes(side_arc(0.3, 1, true), 9000);
  const double k = 5e6;
  in.responses[0].residual[0] = in.responses[0].residual[4] = 1 / k;
  const double rest = first_loss(in, 0.02e-3, 8e-3).depth;
  in.responses[0].residual = {};
  const double without = first_loss(in, 0.02e-3, 8e-3).depth;
  const auto stiff = [&](double hertz) {
    FloquetInputs two = in;
    two.responses.push_back(mode_by_stiffness(hertz, k, 0.1, {1, 0, 0}));
    two.responses.push_back(mode_by_stiffness(hertz, k, 0.1, {0, 1, 0}));
    EXPECT_TRUE(first_loss(two, 0.02e-3, 8e-3).converged);
    return first_loss(two, 0.02e-3, 8e-3).depth;
  };
  // The stiff mode's own damping and inertia fade as 1/frequency: twice the frequency, half the difference.
  const double at15 = stiff(15e3), at30 = stiff(30e3), at60 = stiff(60e3);
  EXPECT_NEAR((at15 - rest) / (at30 - rest), 2, 0.2);
  EXPECT_NEAR((at30 - rest) / (at60 - rest), 2, 0.2);
  EXPECT_NEAR((2 * at60 - at30) / rest, 1, 2e-4);
  EXPECT_GT(std::fabs(without / rest - 1), 0.01);
  in.highest = 2000;
  in.responses.push_back(mode_by_stiffness(30e3, k, 0.1, {1, 0, 0}));
  in.responses.push_back(mode_by_stiffness(30e3, k, 0.1, {0, 1, 0}));
  EXPECT_NEAR(first_loss(in, 0.02e-3, 8e-3).depth / rest, 1, 1e-5);
}

/// Four even teeth in a slot push alike at every angle, so averaging changes nothing: the least depth b for which
/// b kt (1 - exp(-i w T)) g(w) e = 1 with e an eigenvalue of the (constant) sum of force and chip directions.
double slot_by_hand(const FloquetInputs& in, double& hertz) {
  const maths::PointMode& m = in.responses[0].modes[0];
  const double mass = 1 / (m.shape.x * m.shape.x), period = 1 / (4 * in.turns), kr = in.cutter.kr;
  double least = 1;
  for (double sign : {1.0, -1.0}) {
    // Sum over two teeth 90 degrees apart of (-c - kr s, s - kr c)(s, c)^T = [-kr, -1; 1, -kr].
    const std::complex<double> e(-kr, sign);
    std::complex<double> last = 0;
    for (double w = 0.5 * m.omega; w < 2 * m.omega; w *= 1 + 1e-6) {
      const std::complex<double> g =
          1.0 / (mass * std::complex<double>(m.omega * m.omega - w * w, 2 * m.damping * m.omega * w));
      const std::complex<double> v = in.cutter.kt * (1.0 - std::exp(std::complex<double>(0, -w * period))) * g * e;
      if (v.real() > 0 && v.imag() * last.imag() < 0 && 1 / v.real() < least)
        least = 1 / v.real(), hertz = w / (2 * M_PI);
      last = v;
    }
  }
  return least;
}

TEST(Floquet, WhereForcesAreSteadyTheClosedFormIsMet) {
  for (double rpm : {3000, 5000, 9000, 14000}) {
    FloquetInputs in = two_modes(slot, rpm);
    in.cutter.tooth_angles = even_teeth(4);
    double hertz = 0;
    const double by_hand = slot_by_hand(in, hertz);
    const FirstLoss f = first_loss(in, 0.005e-3, 2e-3);
    published("chatter", "limit of four teeth in a slot, " + std::to_string(static_cast<int>(rpm)) + " rpm, m",
              "steady coefficients, closed form along the frequency", How::exact, by_hand, f.depth, 2e-5 * by_hand);
    EXPECT_NEAR(f.frequency / hertz, 1, 1e-4);
  }
}

TEST(Floquet, PeriodDoublingIsToldApart) {
  // Light cuts: between the lobes of a wave of its own frequency stands a lobe of half the tooth frequency.
  int doubled = 0, others = 0;
  for (double rpm = 12000; rpm < 40000; rpm += 1000) {
    const FirstLoss f = first_loss(one_mode(side_arc(0.05, 1, true), rpm), 0.05e-3, 30e-3);
    ASSERT_TRUE(f.ok) << f.why;
    if (!std::isfinite(f.depth)) continue;
    EXPECT_TRUE(f.converged);
    const double half = f.frequency / (rpm / 60);  // two teeth: odd multiples of a turn are halves of a tooth period
    if (f.doubling) {
      EXPECT_NEAR(std::fabs(std::remainder(half, 2)), 1, 1e-6) << rpm;
      ++doubled;
    } else {
      EXPECT_GT(std::fabs(std::fabs(std::remainder(half, 2)) - 1), 1e-4) << rpm;
      ++others;
    }
  }
  EXPECT_GT(doubled, 3);
  EXPECT_GT(others, 3);
}

TEST(Floquet, TheDefaultStepMissesNoIslandThatAFineOneFinds) {
  for (std::uint64_t i = 0; i < 25; ++i) {
    std::uint32_t next = 0;
    const auto u = [&] { return maths::uniform(5, i, next++); };
    FloquetInputs in;
    const int modes = 1 + static_cast<int>(u() * 4), teeth = 1 + static_cast<int>(u() * 4);
    for (int k = 0; k < modes; ++k) {
      const double a = 2 * M_PI * u();
      in.responses.push_back(
          mode_by_mass(400 + 900 * u(), 0.05 + 0.2 * u(), 0.005 + 0.03 * u(), {std::cos(a), std::sin(a), 0}));
    }
    in.cutter = cutter(teeth, side_arc(0.02 + 0.15 * u(), 1, u() < 0.6), 6e8, 3e8 * u());
    in.turns = 30 + 250 * u();
    const FirstLoss one = first_loss(in, 0.05e-3, 30e-3), fine = first_loss(in, 0.05e-3, 30e-3, 0.006);
    if (std::isfinite(fine.depth)) EXPECT_NEAR(one.depth / fine.depth, 1, 1e-4) << i;
    else EXPECT_TRUE(std::isinf(one.depth)) << i;
  }
}

TEST(Floquet, TooManyUnevenTeethAreRefused) {
  FloquetInputs in = two_modes(slot, 6000);
  in.cutter.tooth_angles = even_teeth(14);
  for (std::size_t i = 0; i < 14; ++i) in.cutter.tooth_angles[i] += 0.0013 * static_cast<double>(i * i);
  const Multiplier m = multiplier(in, 1e-4);
  EXPECT_FALSE(m.ok);
  EXPECT_NE(m.why.find("uneven"), std::string::npos);
  EXPECT_FALSE(first_loss(in, 1e-5, 1e-3).ok);
  EXPECT_FALSE(floquet_chart(in, {50, 60}, {1e-4}).ok);
  in.cutter.exit = 0.05;  // one at a time
  EXPECT_TRUE(multiplier(in, 1e-4).ok);
}

TEST(Floquet, ChartIsTheSameAtAnyNumberOfThreads) {
  std::vector<double> turns, depths;
  for (int i = 0; i < 17; ++i) turns.push_back((5000 + 1000 * i) / 60.0);
  for (int i = 0; i < 9; ++i) depths.push_back(0.4e-3 * (i + 1));
  const FloquetInputs in = four_modes(half_down, 1);
  const FloquetChart one = floquet_chart(in, turns, depths, 1), two = floquet_chart(in, turns, depths, 2),
                     five = floquet_chart(in, turns, depths, 5);
  ASSERT_TRUE(one.ok) << one.why;
  EXPECT_TRUE(one.converged) << one.error << " " << one.unsure;
  EXPECT_EQ(one.radius, two.radius);
  EXPECT_EQ(one.radius, five.radius);
  FloquetInputs at = in;
  at.turns = turns[4];
  EXPECT_NEAR(one.radius[4 * depths.size() + 3], multiplier(at, depths[3]).radius, 1e-4);
}

TEST(Floquet, SaysWhenItDidNotSettle) {
  // Two hundred millimetres deep the cut is far stiffer than the structure: no resolution tried carries that.
  const Multiplier m = multiplier(two_modes(slot, 3000), 0.2);
  EXPECT_TRUE(m.ok);
  EXPECT_FALSE(m.converged);
  EXPECT_GT(m.error, 0.002);
}

TEST(Floquet, NothingLoudIsInfinite) {
  const FirstLoss f = first_loss(two_modes(side_arc(0.02, 1, true), 9000), 0.02e-3, 0.05e-3);
  EXPECT_TRUE(f.ok);
  EXPECT_TRUE(f.converged);
  EXPECT_TRUE(std::isinf(f.depth));
}

TEST(Floquet, ItsReckonerAnswersAndRefuses) {
  const auto r = fettle::test::reckoner_named(floquet_reckoners(), "tooth_growth");
  fettle::test::Given g = r.examples[0].given;
  const auto a = fettle::test::ask(r, g);
  ASSERT_TRUE(a.ok());
  EXPECT_NEAR(a->number.at("growth"), multiplier(one_mode(slot, 5000), 0.5e-3).radius, 1e-6);
  EXPECT_NE(a->sentence.find("it sings"), std::string::npos);
  const auto with = [&](const std::string& key, const std::string& value) {
    auto other = g;
    for (auto& [k, v] : other)
      if (k == key) v = value;
    return fettle::test::ask(r, other);
  };
  EXPECT_FALSE(with("width", "20.1 mm").ok());
  EXPECT_FALSE(with("depth", "0 mm").ok());
  EXPECT_FALSE(with("damping", "1").ok());
  EXPECT_FALSE(with("teeth", "0").ok());
  EXPECT_FALSE(with("speed", "0 rpm").ok());
  EXPECT_FALSE(with("force", "0 N/mm²").ok());
  const auto slow = with("speed", "10 rpm");  // more waves than can be carried
  ASSERT_TRUE(slow.ok());
  EXPECT_FALSE(slow->beyond.empty());
  const auto thin = with("width", "0.001 mm");
  ASSERT_TRUE(thin.ok());
  EXPECT_NEAR(thin->number.at("first_loss"), 0.2, 1e-12);
  EXPECT_NE(thin->sentence.find("No depth"), std::string::npos);
}

TEST(Floquet, RefusesWhatCannotBe) {
  const auto no = [](auto change) {
    FloquetInputs in = two_modes(half_down, 9000);
    EXPECT_TRUE(multiplier(in, 1e-4).ok);
    change(in);
    const Multiplier m = multiplier(in, 1e-4);
    EXPECT_FALSE(m.ok);
    EXPECT_FALSE(m.why.empty());
    EXPECT_FALSE(first_loss(in, 1e-5, 1e-3).ok);
  };
  no([](FloquetInputs& in) { in.responses.clear(); });
  no([](FloquetInputs& in) { in.responses[0].modes[0].omega = 0; });
  no([](FloquetInputs& in) { in.responses[0].modes[0].damping = 1; });
  no([](FloquetInputs& in) { in.responses[0].modes[0].damping = -0.01; });
  no([](FloquetInputs& in) { in.turns = 0; });
  no([](FloquetInputs& in) { in.turns = NAN; });
  no([](FloquetInputs& in) { in.turns = 0.05; });  // more waves than can be carried
  no([](FloquetInputs& in) { in.flank = -1; });
  no([](FloquetInputs& in) { in.flank = 1, in.cutter.diameter = 0; });
  no([](FloquetInputs& in) { in.friction = 2; });
  no([](FloquetInputs& in) { in.cutter.kt = 0; });
  const FloquetInputs in = two_modes(half_down, 9000);
  EXPECT_FALSE(multiplier(in, -1e-6).ok);
  EXPECT_FALSE(multiplier(in, NAN).ok);
  EXPECT_FALSE(first_loss(in, 0, 1e-3).ok);
  EXPECT_FALSE(first_loss(in, 1e-3, 1e-3).ok);
  EXPECT_FALSE(first_loss(in, 1e-5, 1e-3, 1).ok);
  EXPECT_FALSE(first_loss(in, 1e-5, 1e-3, 1e-5).ok);
  EXPECT_FALSE(floquet_chart(in, {}, {1e-4}).ok);
  EXPECT_FALSE(floquet_chart(in, {100}, {}).ok);
  EXPECT_FALSE(floquet_chart(in, {100, -1}, {1e-4}).ok);
  EXPECT_FALSE(floquet_chart(in, {100}, {-1e-4}).ok);
}

}  // namespace
