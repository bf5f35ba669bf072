// Sampling: the same parts always, what mending buys, how sure a share is, and what is refused.
#include <gtest/gtest.h>

#include <cmath>
#include <cstring>
#include <functional>
#include <limits>

#include "base/text.h"
#include "calc/tolerance/routes_for_tests.h"
#include "calc/tolerance/scalar_share.h"
#include "maths/statistics.h"
#include "published.h"

namespace {

using namespace fettle;
using namespace fettle::tolerance;
using namespace fettle::tolerance::test;
using Kind = Requirement::Kind;

TwoClampings grown() {
  TwoClampings t = two_clampings(0.035);
  t.route.nests = 4;
  t.route.pallet_of = {0, 0, 0, 0};
  t.route.contributors.push_back(pallet_growth(1, 10));
  const int floor = plane(t.route, "F3", {0, 0, 18 * mm}, {0, 0, 1}, 20 * mm, 20 * mm);
  t.route.operations[1].makes.push_back(floor);
  t.route.contributors.push_back(zero("height", 1, {0, 0, 1}, 12 * um));
  Contributor pallet = zero("flatness of the pallet", 1, {0, 0, 1}, 6 * um);
  pallet.drawn = Drawn::pallet;
  t.route.contributors.push_back(pallet);
  t.route.requirements.push_back(distance("F3.depth", floor, t.a, {0, 0, 1}, 18 * mm, 17.97 * mm, 18.03 * mm));
  return t;
}

std::string text_of(const Share& s) {
  return std::to_string(s.hits) + "/" + std::to_string(s.of) + " " + base::hex_float(s.low) + base::hex_float(s.high);
}
std::string text_of(const std::vector<Mended>& all) {
  std::string t;
  for (const Mended& m : all)
    t += m.group + text_of(m.without) + text_of(m.halved) + base::hex_float(m.yield_gained) + "\n";
  return t;
}
std::string text_of(const SampleResult& r) {
  std::string t = text_of(r.any_outside) + text_of(r.mended) + std::to_string(r.not_on) + "\n";
  for (const Outcomes& o : r.requirements) {
    t += text_of(o.outside) + text_of(o.below) + text_of(o.above) + text_of(o.mended) + std::to_string(o.worst_part);
    for (const double x : {o.mean, o.s, o.least, o.most, o.cp, o.cpk, o.build_low, o.build_high, o.first, o.step})
      t += base::hex_float(x) + " ";
    for (const double x : o.bins) t += base::hex_float(x);
  }
  return t;
}

TEST(LedgerSample, SameBytesAtAnyNumberOfThreads) {
  const auto ledger = build(grown().route);
  ASSERT_TRUE(ledger) << say(ledger.problem());
  SampleInputs in;
  in.parts = 7003;  // not a whole number of blocks, builds or rounds
  const auto one = sample(*ledger, in);
  ASSERT_TRUE(one);
  for (const int threads : {2, 3, 4, 64}) {
    in.threads = threads;
    EXPECT_EQ(text_of(*sample(*ledger, in)), text_of(*one)) << threads;
  }
  in.seed = 2;
  EXPECT_NE(text_of(*sample(*ledger, in)), text_of(*one));
}

TEST(LedgerSample, AnyPartCanBeLookedAtAgain) {
  const auto ledger = build(grown().route);
  ASSERT_TRUE(ledger);
  SampleInputs in;
  in.parts = 5000;
  in.mending = false;
  const auto s = sample(*ledger, in);
  ASSERT_TRUE(s);
  for (std::size_t r = 0; r < 2; ++r) {
    const Outcomes& o = s->requirements[r];
    const PartHistory h = one_part(*ledger, in, o.worst_part);
    const double value = h.requirements[r].value;
    EXPECT_TRUE(value == o.most || value == o.least) << value;
    EXPECT_EQ(h.requirements[r].inside, o.outside.hits == 0);
    EXPECT_EQ(h.nest, o.worst_part % 4);
  }
  // Counting part by part gives the share.
  long long outside = 0, any = 0;
  for (int n = 0; n < 500; ++n) {
    const PartHistory h = one_part(*ledger, in, n);
    outside += !h.requirements[0].inside;
    any += !h.requirements[0].inside || !h.requirements[1].inside;
  }
  in.parts = 500;
  EXPECT_EQ(share_outside(*ledger, 0, in).hits, outside);
  const auto few = sample(*ledger, in);
  EXPECT_EQ(few->requirements[0].outside.hits, outside);
  EXPECT_EQ(few->any_outside.hits, any);
  // The history adds up: what the surfaces are in the end gives the value.
  const PartHistory h = one_part(*ledger, in, 471);
  const auto &bore = h.surfaces[1], &second = h.surfaces[4];
  double most = 0;
  for (const double z : {18 * mm, 36 * mm}) {
    const double x = second.t.x + second.w.y * (z - 27 * mm) - bore.t.x - bore.w.y * (z - 9 * mm);
    const double y = second.t.y - second.w.x * (z - 27 * mm) - bore.t.y + bore.w.x * (z - 9 * mm);
    most = std::max(most, 2 * std::hypot(x, y));
  }
  EXPECT_NEAR(h.requirements[0].value, most, 1e-15);
  EXPECT_FALSE(h.requirements[0].most_from.empty());
  ASSERT_EQ(h.steps.size(), 2u);
  EXPECT_NE(h.steps[1].seat.x, 0);
  // And the seat's play is what the pose does to the round hole.
  const Vec3 hole = mm * Vec3{-44, -34, 7.5}, moved = h.steps[1].t + frame::cross(h.steps[1].w, hole) + h.surfaces[2].t;
  const double c = 88 / std::hypot(88, 68), n = 68 / std::hypot(88, 68);
  EXPECT_NEAR(c * moved.x + n * moved.y, h.steps[1].seat.x, 1e-15);
  EXPECT_NEAR(-n * moved.x + c * moved.y, h.steps[1].seat.y, 1e-15);
}

TEST(LedgerSample, AnotherContributorLeavesTheRestAsTheyWere) {
  TwoClampings t = grown();
  const auto before = build(t.route);
  Contributor first = zero("new", 1, {1, 0, 0}, 1 * um);
  t.route.contributors.insert(t.route.contributors.begin(), first);
  const auto after = build(t.route);
  ASSERT_TRUE(before && after);
  const PartHistory a = one_part(*before, {}, 4711), b = one_part(*after, {}, 4711);
  for (std::size_t i = 0; i < a.errors.size(); ++i) EXPECT_EQ(a.errors[i].value, b.errors[i + 1].value);
  EXPECT_EQ(a.steps[1].seat.turn, b.steps[1].seat.turn);
  // Two of one name are still two.
  t.route.contributors.insert(t.route.contributors.begin(), first);
  const auto twice = build(t.route);
  ASSERT_TRUE(twice);
  const PartHistory c = one_part(*twice, {}, 4711);
  EXPECT_NE(c.errors[0].value, c.errors[1].value);
}

TEST(LedgerSample, SharedErrorsAreShared) {
  const auto ledger = build(grown().route);
  ASSERT_TRUE(ledger);
  SampleInputs in;
  in.parts_per_build = 100;
  const auto error = [&](int part, const std::string& name) {
    for (const auto& e : one_part(*ledger, in, part).errors)
      if (e.name == name) return e.value;
    return std::numeric_limits<double>::quiet_NaN();
  };
  EXPECT_EQ(error(3, "pallet pins in x"), error(7, "pallet pins in x"));    // the same nest
  EXPECT_NE(error(3, "pallet pins in x"), error(4, "pallet pins in x"));    // another nest
  EXPECT_NE(error(3, "pallet pins in x"), error(103, "pallet pins in x"));  // another set of pallets
  EXPECT_EQ(error(3, "flatness of the pallet"), error(4, "flatness of the pallet"));
  EXPECT_NE(error(3, "flatness of the pallet"), error(104, "flatness of the pallet"));
  EXPECT_NE(error(3, "machine in x"), error(7, "machine in x"));
}

TEST(LedgerSample, MendingIsWhatTheRouteWithoutItGives) {
  const TwoClampings t = grown();
  const auto ledger = build(t.route);
  SampleInputs in;
  in.parts = 20000;
  const auto s = sample(*ledger, in);
  ASSERT_TRUE(s);
  in.mending = false;
  ASSERT_FALSE(s->mended.empty());
  EXPECT_EQ(s->mended.size(), t.route.contributors.size() + 1);
  for (std::size_t c = 0; c < t.route.contributors.size(); ++c) {
    const std::string name = t.route.contributors[c].name;
    for (const double left : {0.0, 0.5}) {
      Route other = t.route;
      Contributor& who = other.contributors[c];
      who.mean *= left;
      who.s *= left;
      who.half_width *= left;
      // Sizes of pins stand about their means in pair(): what is taken away is the scatter, here as there.
      const auto without = sample(*build(other), in);
      ASSERT_TRUE(without);
      for (std::size_t r = 0; r < 2; ++r)
        for (const Mended& m : s->requirements[r].mended)
          if (m.group == name) {
            EXPECT_NEAR(static_cast<double>((left == 0 ? m.without : m.halved).hits),
                        static_cast<double>(without->requirements[r].outside.hits), 1)
                << name << " " << left;
          }
      for (const Mended& m : s->mended)
        if (m.group == name) {
          EXPECT_NEAR(static_cast<double>((left == 0 ? m.without : m.halved).hits),
                      static_cast<double>(without->any_outside.hits), 1)
              << name << " " << left;
        }
    }
  }
  // Largest first, and nothing that is taken away does harm beyond chance.
  for (const Outcomes& o : s->requirements)
    for (std::size_t i = 0; i < o.mended.size(); ++i) {
      if (i > 0) {
        EXPECT_LE(o.mended[i - 1].without.hits, o.mended[i].without.hits);
      }
      EXPECT_LE(static_cast<double>(o.mended[i].without.hits),
                static_cast<double>(o.outside.hits) + 4 * std::sqrt(static_cast<double>(o.outside.hits)) + 4)
          << o.mended[i].group;
    }
}

TEST(LedgerSample, AGroupIsMendedTogether) {
  TwoClampings t = grown();
  for (Contributor& c : t.route.contributors)
    if (c.name.rfind("pallet pins", 0) == 0) c.group = "pallet pins";
  const auto s = sample(*build(t.route), {});
  ASSERT_TRUE(s);
  int found = 0;
  for (const Mended& m : s->requirements[0].mended) found += m.group == "pallet pins";
  EXPECT_EQ(found, 1);
  Route other = t.route;
  for (Contributor& c : other.contributors)
    if (c.group == "pallet pins") c.s = 0;
  const auto without = sample(*build(other), {});
  for (const Mended& m : s->requirements[0].mended)
    if (m.group == "pallet pins") {
      EXPECT_EQ(m.without.hits, without->requirements[0].outside.hits);
    }
}

TEST(LedgerSample, GrowthDiffersByNest) {
  TwoClampings t = two_clampings(0.07);
  t.route.contributors = {pallet_growth(1, 10)};
  t.route.contributors[0].half_width = 0;
  t.route.nests = 4;
  t.route.operations[1].pins.pair = {8 * mm, 8 * mm, 8 * mm, 8 * mm, 8 * mm, .1112 * mm, .1112 * mm, 0, 0};
  t.route.operations[1].pins.pair.part_span = t.route.operations[1].pins.pair.pallet_span = std::hypot(88, 68) * mm;
  const auto ledger = build(t.route);
  ASSERT_TRUE(ledger) << say(ledger.problem());
  const double off[] = {-78, 78, -78, 78}, across[] = {-57, -57, 57, 57};
  for (int n = 0; n < 4; ++n) {
    const PartHistory h = one_part(*ledger, {}, n);
    EXPECT_NEAR(h.surfaces[4].t.x / um, -23.8e-3 * 5 * off[n], 1e-9);
    EXPECT_NEAR(h.surfaces[4].t.y / um, -23.8e-3 * 5 * across[n], 1e-9);
    EXPECT_NEAR(h.requirements[0].value / um, 2 * 23.8e-3 * 5 * std::hypot(78, 57), 1e-9);
  }
}

TEST(LedgerSample, IntervalsHoldWhatTheyPromise) {
  // Half the variance belongs to the nest: four nests a set of pallets, 500 parts each set.
  Route r;
  const int bottom = plane(r, "bottom", {}, {0, 0, -1}), top = plane(r, "top", {0, 0, 10 * mm}, {0, 0, 1});
  Operation op = six(r, "OP10", -1, 0);
  op.makes = {top};
  r.operations.push_back(op);
  r.nests = 4;
  r.contributors = {zero("machine", 0, {0, 0, 1}, 5 * um), zero("nest", 0, {0, 0, 1}, 5 * um)};
  r.contributors[1].drawn = Drawn::nest;
  r.requirements = {distance("height", top, bottom, {0, 0, 1}, 10 * mm, 10 * mm - 15 * um, 10 * mm + 15 * um)};
  const auto ledger = build(r);
  ASSERT_TRUE(ledger);
  const double truth = 2 * maths::normal_cdf(-15 / std::sqrt(50.));
  for (const int builds : {4, 20}) {
    int covered = 0, naive = 0;
    constexpr int seeds = 200;
    for (int seed = 0; seed < seeds; ++seed) {
      SampleInputs in;
      in.seed = static_cast<std::uint64_t>(seed);
      in.parts_per_build = 500;
      in.parts = 500 * builds;
      const Share s = share_outside(*ledger, 0, in);
      covered += s.low <= truth && truth <= s.high;
      const maths::Interval alone = maths::clopper_pearson(s.hits, s.of, .95);
      naive += alone.low <= truth && truth <= alone.high;
    }
    EXPECT_GE(covered, static_cast<int>(.9 * seeds)) << builds;
    EXPECT_LT(naive, static_cast<int>(.8 * seeds)) << "parts of one nest are not independent";
  }
  // Nothing shared: Clopper and Pearson, to the digit.
  r.contributors[1].drawn = Drawn::part;
  SampleInputs in;
  const Share s = share_outside(*build(r), 0, in);
  const maths::Interval alone = maths::clopper_pearson(s.hits, s.of, .95);
  EXPECT_DOUBLE_EQ(s.low, alone.low);
  EXPECT_DOUBLE_EQ(s.high, alone.high);
}

TEST(LedgerSample, MeasuringMovesTheReadingOnly) {
  TwoClampings t = grown();
  const auto before = sample(*build(t.route), {});
  Contributor gauge = zero("measuring", 0, {}, 20 * um);
  gauge.effects[0].on = Effect::On::measured;
  gauge.effects[0].index = 1;
  t.route.contributors.push_back(gauge);
  const auto ledger = build(t.route);
  const auto after = sample(*ledger, {});
  ASSERT_TRUE(before && after);
  EXPECT_EQ(before->requirements[1].outside.hits, after->requirements[1].outside.hits);
  EXPECT_EQ(before->requirements[1].read_outside.of, 0);
  EXPECT_GT(after->requirements[1].read_outside.hits, 2 * after->requirements[1].outside.hits);
  const PartHistory::Verdict v = one_part(*ledger, {}, 7).requirements[1];
  EXPECT_NE(v.reading, v.value);
}

TEST(LedgerSample, HalfNormalByTheory) {
  // |N| with s 1 beyond 2: twice the tail; with a normal s 1 beside it: by quadrature of the two.
  inner::SumOf s;
  s.half_normal = {1};
  const double infinity = std::numeric_limits<double>::infinity();
  EXPECT_NEAR(inner::share_beyond(s, -infinity, 2), 2 * maths::normal_cdf(-2), 2e-4);
  s.normal_s = 1;
  double sum = 0;
  for (int i = 0; i < 40000; ++i) {
    const double x = 10 * (i + .5) / 40000;
    sum += 2 * std::exp(-.5 * x * x) * .39894228040143267794 * maths::normal_cdf(x - 2) * (10. / 40000);
  }
  EXPECT_NEAR(inner::share_beyond(s, -infinity, 2), sum, 1e-8);
  s.half_normal = {-1};
  EXPECT_NEAR(inner::share_beyond(s, -2, infinity), sum, 1e-8);
}

/// Each bound once: the change makes a good route bad.
TEST(LedgerRefuses, OneBadValueEach) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const auto refused = [](const std::function<void(Route&)>& spoil, const std::string& word) {
    Route r = grown().route;
    spoil(r);
    const auto ledger = build(r);
    ASSERT_FALSE(ledger) << word;
    bool said = false;
    for (const Problem& p : ledger.problems()) said = said || say(p).find(word) != std::string::npos;
    EXPECT_TRUE(said) << word << ": " << say(ledger.problem());
  };
  ASSERT_TRUE(build(grown().route));
  refused([&](Route& r) { r.elements[0].p.x = nan; }, "A: a number is not finite");
  refused([](Route& r) { r.elements[0].n = {0, 0, -2}; }, "A: its direction");
  refused([](Route& r) { r.elements[0].u = {0, 0, 1}; }, "A: the direction of its extent");
  refused([](Route& r) { r.elements[1].size = -1; }, "F4: a size is negative");
  refused([](Route& r) { r.operations[1].contacts[0].n = {}; }, "OP30: pad has no place or no direction");
  refused([](Route& r) { r.operations[1].contacts[0].element = 99; }, "touches a surface that is not there");
  refused([](Route& r) { r.operations[1].pins.round_hole = 0; }, "OP30: its pins need two holes");
  refused([](Route& r) { r.operations[1].pins.pair.land = 0; }, "OP30: a size of its pins");
  refused([](Route& r) { r.operations[1].pins.seat = Pins::Seat::pushed; }, "OP30: the push");
  refused([](Route& r) { r.operations[1].makes = {-1}; }, "OP30: makes a surface");
  refused([](Route& r) { r.contributors.clear(), r.operations[1].pins.there = false; },
          "OP30: nothing holds the part against");
  refused([](Route& r) { r.operations[1].contacts.resize(2); }, "OP30: nothing holds the part against");
  refused([](Route& r) { r.operations[1].pins.relieved_hole = r.operations[1].pins.round_hole; },
          "both pins stand in the same place");
  refused([](Route& r) { r.contributors.clear(), std::swap(r.operations[0], r.operations[1]); }, "before that is made");
  refused([](Route& r) { r.contributors[0].s = -1; }, "a spread is negative");
  refused([&](Route& r) { r.contributors[0].mean = nan; }, "B in x: a number is not finite");
  refused([](Route& r) { r.contributors[0].effects[0].operation = 2; }, "acts in an operation");
  refused([](Route& r) { r.contributors[0].effects[0].index = 77; }, "acts on a surface");
  refused([](Route& r) { r.contributors[6].effects[0].operation = 0; }, "acts on pins");
  refused(
      [](Route& r) {
        r.contributors[0].effects[0].field = Effect::Field::stretch, r.contributors[0].effects[0].a = {2, 0, 0};
      },
      "direction of a stretch");
  refused([](Route& r) { r.nests = 3; }, "as many nests as it has shifts");
  refused([](Route& r) { r.nests = 0; }, "not a number of nests");
  refused([](Route& r) { r.pallet_of = {0, 0}; }, "as many pallets named");
  refused([](Route& r) { r.pallet_of = {0, 0, 0, -1}; }, "a pallet has a negative number");
  refused([](Route& r) { r.requirements[0].elements = {}; }, "F2.coaxial: is about no surface");
  refused([](Route& r) { r.requirements[0].elements = {99}; }, "F2.coaxial: is about a surface that is not there");
  refused([](Route& r) { r.requirements[0].elements = {0}; }, "F2.coaxial: coaxiality is between two axes");
  refused([](Route& r) { r.requirements[0].elements = {2}; }, "are not meant to lie on one axis");
  refused([](Route& r) { r.requirements[0].upper = {}; }, "F2.coaxial: has no limit");
  refused([](Route& r) { r.requirements[0].upper = 0; }, "F2.coaxial: a zone has an upper limit above zero");
  refused([](Route& r) { r.requirements[0].lower = 0; }, "F2.coaxial: a zone has an upper limit");
  refused([](Route& r) { r.requirements[1].lower = 19 * mm; }, "its lower limit is above");
  refused([](Route& r) { r.requirements[1].along = {0, 0, 2}; }, "the direction measured has not the length 1");
  refused([](Route& r) { r.requirements[1].along = {1, 0, 0}; }, "does not lie across the direction");
  refused([](Route& r) { r.requirements[0].modifier = Requirement::Modifier::maximum; }, "no bonus is missing");
}

TEST(LedgerRefuses, BadSampling) {
  const auto ledger = build(grown().route);
  const auto refused = [&](const std::function<void(SampleInputs&)>& spoil) {
    SampleInputs in;
    in.parts = 100;
    EXPECT_TRUE(sample(*ledger, in));
    spoil(in);
    EXPECT_FALSE(sample(*ledger, in));
  };
  refused([](SampleInputs& in) { in.parts = 0; });
  refused([](SampleInputs& in) { in.threads = 0; });
  refused([](SampleInputs& in) { in.confidence = 1; });
  refused([](SampleInputs& in) { in.confidence = 0; });
  refused([](SampleInputs& in) { in.parts_per_build = 0; });
  refused([](SampleInputs& in) { in.parts_per_set_up = 0; });
  refused([](SampleInputs& in) { in.bins = 0; });
}

}  // namespace
