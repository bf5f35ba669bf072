#include "calc/timing/unattended.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "maths/random.h"
#include "published.h"

namespace {

using namespace fettle::timing;
using fettle::test::How;
using fettle::test::published;
constexpr double pi = 3.14159265358979323846;

EdgeRisk edge(const std::string& name, double life, double scatter, int planned) {
  EdgeRisk e;
  e.name = name;
  e.life = life;
  e.scatter = scatter;
  e.planned = planned;
  return e;
}
UnattendedInputs one(const EdgeRisk& e, int loaded) {
  UnattendedInputs in;
  in.tools = {e};
  in.loaded = loaded;
  in.per_pallet = 4;
  in.part_time = 400;
  return in;
}
UnattendedResult solve(const UnattendedInputs& in) {
  fettle::Outcome<UnattendedResult> r = unattended(in);
  if (!r.ok()) {
    for (const fettle::Problem& p : r.problems()) ADD_FAILURE() << fettle::say(p);
    return {};
  }
  return std::move(r).value();
}

TEST(Unattended, ShapeOfKnownWeibulls) {
  const char* const source = "moments of the Weibull distribution";
  published("timing", "Weibull shape, scatter 1 (exponential)", source, How::exact, 1, weibull_shape(1), 1e-9);
  published("timing", "Weibull shape, scatter sqrt(4/pi - 1) (Rayleigh)", source, How::exact, 2,
            weibull_shape(std::sqrt(4 / pi - 1)), 1e-9);
  published("timing", "Weibull shape, scatter of shape 4", "G(1.5) = sqrt(pi)/2, G(1.25) = 0.9064024770554771",
            How::exact, 4, weibull_shape(std::sqrt(std::sqrt(pi) / 2 / (0.9064024770554771 * 0.9064024770554771) - 1)),
            1e-9);
  EXPECT_TRUE(std::isnan(weibull_shape(0.019)));
  EXPECT_TRUE(std::isnan(weibull_shape(1.51)));
  EXPECT_TRUE(std::isnan(weibull_shape(std::nan(""))));
  EXPECT_FALSE(std::isnan(weibull_shape(0.02)));
  EXPECT_FALSE(std::isnan(weibull_shape(1.5)));
}

TEST(Unattended, ALifeWithoutMemory) {
  // Scatter 1: exponential life, the age of the edge does not count; 1 - exp(-n/1000) <= 0.02 up to n = 20.2.
  UnattendedInputs in = one(edge("drill", 1000, 1, 5000), 100);
  UnattendedResult r = solve(in);
  published("timing", "parts until a chance of 2 %, exponential life 1000", "-1000 ln 0.98 = 20.2", How::exact, 20,
            r.parts, 0);
  EXPECT_EQ(r.limit, "risk");
  EXPECT_EQ(r.pallets, 5);
  EXPECT_NEAR(r.chance, 1 - std::exp(-0.02), 1e-9);
  EXPECT_NEAR(r.chance_loaded, 1 - std::exp(-0.1), 1e-9);
  EXPECT_DOUBLE_EQ(r.time, 20 * 400);
  in.tools[0].used = 3000;
  EXPECT_EQ(solve(in).parts, 20);
}

TEST(Unattended, AWornEdgeMayRunLess) {
  // Rayleigh: H(n) = (n/scale)^2, scale = life / G(1.5). From age a, n parts within p: n = sqrt(a^2 - scale^2 ln(1-p))
  // - a.
  const double life = 100, scale = life / (std::sqrt(pi) / 2);
  UnattendedInputs in = one(edge("end mill", life, std::sqrt(4 / pi - 1), 90), 80);
  for (int used : {0, 10, 40}) {
    in.tools[0].used = used;
    const int expected = static_cast<int>(std::sqrt(used * used - scale * scale * std::log(0.98)) - used);
    published("timing", "parts until a chance of 2 %, Rayleigh life 100, made " + std::to_string(used),
              "conditional survival of the Weibull distribution", How::exact, expected, solve(in).by_risk, 0);
  }
  EXPECT_EQ(solve(in).tools[0].parts_if_new, 16);
}

TEST(Unattended, SuddenBreaksAreGivenForThePlannedParts) {
  EdgeRisk e = edge("tap", 1e9, 0.1, 150);
  e.break_chance = 0.03;
  EXPECT_NEAR(lasts(e, 150), 0.97, 1e-9);
  EXPECT_NEAR(lasts(e, 75), std::sqrt(0.97), 1e-9);
  EXPECT_EQ(lasts(e, 0), 1);
}

TEST(Unattended, PlannedChangesEndTheStretchAndSparesLengthenIt) {
  EdgeRisk e = edge("groove", 1e6, 0.1, 26);
  e.used = 20;
  UnattendedInputs in = one(e, 64);
  in.most_risk = 0.5;
  UnattendedResult r = solve(in);
  EXPECT_EQ(r.parts, 6);
  EXPECT_EQ(r.limit, "edges");
  EXPECT_EQ(r.pallets, 1);
  EXPECT_EQ(r.tools[0].parts_if_new, 26);
  in.tools[0].spares = 1;
  EXPECT_EQ(solve(in).parts, 32);
  in.tools[0].spares = 3;
  r = solve(in);
  EXPECT_EQ(r.parts, 64);
  EXPECT_EQ(r.limit, "loaded");
  // A sister starts new: wear before and after the change adds up.
  EdgeRisk w = edge("w", 40, 0.3, 26), fresh = w;
  w.used = 20;
  w.spares = 1;
  EdgeRisk last = w;
  last.spares = 0;
  EXPECT_NEAR(lasts(w, 10), lasts(last, 6) * lasts(fresh, 4), 1e-12);
  EXPECT_LT(lasts(last, 10), lasts(w, 10)) << "without a spare the worn edge runs on";
}

TEST(Unattended, AgreesWithDrawnTools) {
  // Three tools, two with an age; drawn by inversion given that they have lasted so far.
  EdgeRisk a = edge("a", 60, 0.3, 50), b = edge("b", 45, 0.5, 40), c = edge("c", 500, 0.2, 100);
  a.used = 20;
  b.used = 10;
  c.break_chance = 0.2;
  UnattendedInputs in = one(a, 40);
  in.tools = {a, b, c};
  in.found_after = 3;
  in.gain = 10;
  in.bad_part = 30;
  in.damage = 100;
  in.most_risk = 0.99;
  const int n = 40, draws = 200000;
  double good = 0, bad = 0, result = 0, failed = 0;
  std::vector<double> shape, scales;
  for (const EdgeRisk& e : in.tools) {
    shape.push_back(weibull_shape(e.scatter));
    scales.push_back(e.life / std::tgamma(1 + 1 / shape.back()));
  }
  for (int d = 0; d < draws; ++d) {
    double fails = 1e18;
    for (std::size_t t = 0; t < 3; ++t) {
      const EdgeRisk& e = in.tools[t];
      const double k = shape[t], scale = scales[t];
      const double u = fettle::maths::uniform(5, static_cast<std::uint64_t>(d), static_cast<std::uint32_t>(2 * t));
      const double v = fettle::maths::uniform(5, static_cast<std::uint64_t>(d), static_cast<std::uint32_t>(2 * t + 1));
      fails = std::min(fails, scale * std::pow(std::pow(e.used / scale, k) - std::log(u), 1 / k) - e.used);
      if (e.break_chance > 0) fails = std::min(fails, std::log(v) / std::log1p(-e.break_chance) * e.planned);
    }
    const int whole = std::min(n, static_cast<int>(std::min(fails, 1e6)));
    const int spoilt = std::min(in.found_after, n - whole);
    good += whole;
    bad += spoilt;
    failed += whole < n ? 1 : 0;
    result += 10 * whole - 30 * spoilt - (whole < n ? 100 : 0);
  }
  in.tools[1].planned = in.tools[0].planned = 200;  // let edges and money not shorten the stretch; the breaks of c stay
  in.gain = 1e6;
  const UnattendedResult r = solve(in);
  ASSERT_EQ(r.parts, n);
  const double p = failed / draws;
  EXPECT_NEAR(r.chance, p, 3 * std::sqrt(p * (1 - p) / draws));
  EXPECT_NEAR(r.good, good / draws, 0.1);
  EXPECT_NEAR(r.bad, bad / draws, 3 * 1.5 / std::sqrt(draws));
  EXPECT_NEAR(10 * r.good - 30 * r.bad - 100 * r.chance, result / draws, 2);
  EXPECT_NEAR(r.result, 1e6 * r.good - 30 * r.bad - 100 * r.chance, 1e-3);
  EXPECT_EQ(r.tools[0].name, "b") << "largest chance first";
}

TEST(Unattended, MoneyEndsTheStretchWhereTheNextPartLosesMore) {
  // Constant hazard h, unseen failure: the next part earns gain S - bad (1 - S) - damage (S_before - S).
  UnattendedInputs in = one(edge("drill", 100, 1, 5000), 200);
  in.most_risk = 0.999;
  in.gain = 10;
  in.bad_part = 20;
  in.damage = 50;
  const UnattendedResult r = solve(in);
  int best = 0;
  double sum = 0, most = 0;
  for (int n = 1; n <= 200; ++n) {
    const double s = std::exp(-n / 100.0), before = std::exp(-(n - 1) / 100.0);
    sum += 10 * s - 20 * (1 - s) - 50 * (before - s);
    if (sum > most) {
      most = sum;
      best = n;
    }
  }
  EXPECT_EQ(r.by_money, best);
  EXPECT_EQ(r.limit, "money");
  EXPECT_NEAR(r.result, most, 1e-9);
  EXPECT_GT(best, 10);
  EXPECT_LT(best, 190);
  // A check after every part makes longer stretches pay.
  in.found_after = 1;
  EXPECT_GT(solve(in).by_money, best);
}

TEST(Unattended, NothingLoadedNothingRuns) {
  const UnattendedResult r = solve(one(edge("drill", 100, 0.3, 50), 0));
  EXPECT_EQ(r.parts, 0);
  EXPECT_EQ(r.chance, 0);
  EXPECT_EQ(r.good, 0);
}

TEST(Unattended, AnEdgeFarPastItsLifeIsTakenForLost) {
  EdgeRisk e = edge("drill", 5, 0.02, 1000000);
  e.used = 900000;  // its summed hazard is no number any more
  const UnattendedResult r = solve(one(e, 50));
  EXPECT_EQ(r.parts, 0);
  EXPECT_NEAR(r.chance_loaded, 1, 1e-12);
  EXPECT_EQ(r.tools[0].parts_if_new, 4) << "narrow scatter: an edge that lasts 5 makes 4";
}

TEST(Unattended, RefusesOneBadValuePerBound) {
  const double nan = std::nan("");
  const auto refused = [](auto change, const std::string& word) {
    UnattendedInputs in = one(edge("drill", 100, 0.3, 50), 20);
    change(in);
    const fettle::Outcome<UnattendedResult> r = unattended(in);
    ASSERT_FALSE(r.ok()) << word;
    EXPECT_NE(fettle::say(r.problem()).find(word), std::string::npos) << fettle::say(r.problem());
  };
  using In = UnattendedInputs;
  refused([](In& i) { i.tools.clear(); }, "tools");
  for (double bad : {0.0, -1.0, nan}) refused([&](In& i) { i.tools[0].life = bad; }, "lasts in the mean");
  for (double bad : {0.019, 1.51, nan}) refused([&](In& i) { i.tools[0].scatter = bad; }, "scatter");
  refused([](In& i) { i.tools[0].planned = 0; }, "is changed");
  refused([](In& i) { i.tools[0].used = -1; }, "has made");
  for (double bad : {-0.01, 1.0, nan}) refused([&](In& i) { i.tools[0].break_chance = bad; }, "break");
  for (int bad : {-1, 1001}) refused([&](In& i) { i.tools[0].spares = bad; }, "spares");
  for (double bad : {0.0, 1.0, nan}) refused([&](In& i) { i.most_risk = bad; }, "accepted");
  for (int bad : {-1, 100001}) refused([&](In& i) { i.loaded = bad; }, "loaded");
  refused([](In& i) { i.per_pallet = 0; }, "pallet");
  for (double bad : {-1.0, nan}) {
    refused([&](In& i) { i.part_time = bad; }, "time of a part");
    refused([&](In& i) { i.gain = bad; }, "gain");
    refused([&](In& i) { i.bad_part = bad; }, "bad part");
    refused([&](In& i) { i.damage = bad; }, "damage");
  }
  refused([](In& i) { i.found_after = -1; }, "found");
}

TEST(Unattended, TheCautionNamesWhoDecides) {
  const std::string c = unattended_caution();
  for (const char* word : {"local codes", "licensed practice", "fire"}) EXPECT_NE(c.find(word), std::string::npos);
}

}  // namespace
