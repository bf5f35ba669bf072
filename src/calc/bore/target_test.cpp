#include "calc/bore/target.h"

#include <gtest/gtest.h>

#include <cmath>

#include "calc/bore/risk.h"
#include "maths/random.h"
#include "maths/statistics.h"
#include "published.h"

namespace fettle::bore {
namespace {

using test::How;
using test::published;
constexpr double um = 1e-6;

/// Limits and costs only: no gauge, no guard, a hone that always hits.
AimInputs plain(double lower, double upper, double s, double hone, double scrap) {
  AimInputs in;
  in.lower = lower;
  in.upper = upper;
  in.s = s;
  in.hone_cost = hone;
  in.scrap_cost = scrap;
  return in;
}

/// 22 H5 as the demo bores it.
AimInputs spool() {
  AimInputs in = plain(22.000e-3, 22.009e-3, 2 * um, 2.05, 20);
  in.u = 0.6 * um;
  in.guard = 1.65 * in.u;
  in.hone_s = 1 * um;
  in.hone_least = 2 * um;
  in.escape_cost = 40;
  in.step = 0.5 * um;
  return in;
}

TEST(Aim, TwoCosts) {
  const char* source =
      "two unit costs, closed form (idea: Springer, Industrial Quality Control 8(1), 1951); grid agrees";
  const AimInputs in = plain(0, 10, 2, 1, 4);
  published("bore", "aim between 0 and 10, s 2, costs 1 and 4", source, How::computed, 4.445482,
            two_cost_aim(0, 10, 2, 1, 4), 1e-6);
  const auto a = best_aim(in);
  ASSERT_TRUE(a.ok());
  published("bore", "the same found by search", source, How::computed, 4.445482, a->best.aim, 1e-5);
  published("bore", "its cost a part", source, How::computed, .024081, a->best.cost, 1e-6);
  published("bore", "its share too small", source, How::computed, .013117, a->best.honed, 1e-6);
  published("bore", "its share too large", source, How::computed, .002741, a->best.too_large, 1e-6);
}

TEST(Aim, BoreBeforeTheHone) {
  const char* source = "rework 3 against scrap 40, closed form; grid agrees";
  published("bore", "aim of a bore 60.000 to 60.019, s 0.004, mm", source, How::computed, 60.007319,
            two_cost_aim(60, 60.019, .004, 3, 40), 1e-6);
  const auto a = best_aim(plain(60e-3, 60.019e-3, 4 * um, 3, 40));
  published("bore", "the same found by search, mm", source, How::computed, 60.007319, a->best.aim * 1e3, 1e-6);
  published("bore", "cost a part", source, How::computed, .170881, a->best.cost, 1e-6);
  published("bore", "share to hone", source, How::computed, .033649, a->best.honed, 1e-5);
  published("bore", "share too large", source, How::computed, .001748, a->best.too_large, 1e-5);
}

TEST(Finish, FeedMarksOfARoundNose) {
  // Arcs of radius 0.4 mm at 0.1 mm a turn, mean line and mean deviation summed here point by point.
  const double f = 0.1, r = 0.4;
  double mean = 0, ra = 0;
  const int n = 200000;
  const auto height = [&](int i) {
    const double x = f * ((i + 0.5) / n - 0.5);
    return r - std::sqrt(r * r - x * x);
  };
  for (int i = 0; i < n; ++i) mean += height(i) / n;
  for (int i = 0; i < n; ++i) ra += std::fabs(height(i) - mean) / n;
  published("bore", "Ra of feed marks, 0.1 mm a turn, nose 0.4 mm, µm", "true arcs summed point by point",
            How::computed, ra * 1e3, feed_marks(f * 1e-3, r * 1e-3) * 1e6, 0.01 * ra * 1e3);
  published("bore", "the same by the shop's rule f²/(32 r), µm", "common practice", How::computed, 0.78125,
            feed_marks(1e-4, 4e-4) * 1e6, 0.03);
  EXPECT_TRUE(std::isnan(feed_marks(0, 1e-3)));
  EXPECT_TRUE(std::isnan(feed_marks(2e-3, 1e-3)));
}

TEST(Aim, GiveawayOverOneLimit) {
  const GiveawayAim g = giveaway_aim(10, 1, 15, 5, 2);
  const char* source = "Hunter and Kartha, J. Quality Technology 9(4), 1977 (model from memory), worked out";
  published("bore", "aim above one limit with giveaway", source, How::from_memory, 11.264327, g.aim, 1e-5);
  published("bore", "what it earns a part", source, How::from_memory, 11.342599, g.earned, 1e-5);
  published("bore", "share under the limit", source, How::from_memory, .10306, g.under, 1e-5);
  EXPECT_TRUE(std::isnan(giveaway_aim(10, 0, 15, 5, 2).aim));
  EXPECT_TRUE(std::isnan(giveaway_aim(10, 1, 5, 5, 2).aim));
  EXPECT_TRUE(std::isnan(giveaway_aim(10, 1, 15, 5, 0).aim));
}

TEST(Aim, SmallAndHonedNeverLarge) {
  // common practice: a bore to a few micrometres is aimed small and honed, never aimed large.
  for (double s : {0.8, 1.2, 2.0, 3.0})
    for (double scrap : {8.0, 20.0, 60.0})
      for (double drift : {0.0, 3.0}) {
        AimInputs in = spool();
        in.s = s * um;
        in.scrap_cost = scrap;
        in.drift = drift * um;
        const auto way = best_way(in, false);
        ASSERT_TRUE(way.ok());
        const double middle = 22.0045e-3;
        const AimAnswer& a = way->best == Hone::none ? way->none : way->best == Hone::small ? way->small : way->all;
        EXPECT_LE(a.best.aim, middle + 1e-9) << s << " " << scrap << " " << drift;
        // At least half of what two costs alone would shift it by.
        EXPECT_LT(way->small.best.aim, middle - 0.5 * s * s / 7.02 * std::log(scrap / 2.05) * um);
        if (s >= 2) {
          EXPECT_NE(way->best, Hone::none) << s << " " << scrap;
        }
      }
  published("bore", "aim of the demo's bore under the middle of its limits, as a sign",
            "common practice: a bore to a few micrometres is aimed small and honed, never aimed large", How::exact, -1,
            best_aim(spool())->best.aim < 22.0045e-3 ? -1 : 1, 0);
}

TEST(Aim, TheAnswerIsNotFinerThanItsStep) {
  AimInputs in = spool();
  const auto a = best_aim(in, 0.05);
  ASSERT_TRUE(a.ok());
  const double steps = (a->rounded.aim - in.lower) / in.step;
  EXPECT_NEAR(steps, std::round(steps), 1e-6);
  EXPECT_LE(std::fabs(a->rounded.aim - a->best.aim), in.step);
  EXPECT_GE(a->rounded.cost, a->best.cost);
  EXPECT_GE(a->cost_smaller, a->best.cost);
  EXPECT_GE(a->cost_larger, a->best.cost);
  EXPECT_LT(a->zone_low, a->best.aim);
  EXPECT_GT(a->zone_high, a->best.aim);
  EXPECT_NEAR(at_aim(in, a->zone_high)->cost, a->best.cost + 0.05, 1e-6);
  EXPECT_NEAR(at_aim(in, a->zone_low)->cost, a->best.cost + 0.05, 1e-6);
}

/// Parts made, gauged, honed and gauged again, one by one.
AimPoint played(const AimInputs& in, double aim, int n) {
  AimPoint p;
  const double low = in.lower + in.guard, high = in.upper - in.guard, h = 0.5 * (low + high);
  for (int i = 0; i < n; ++i) {
    std::uint32_t k = 0;
    const auto item = static_cast<std::uint64_t>(i);
    const auto z = [&] { return maths::normal(77, item, k++); };
    double x = aim + in.drift * (maths::uniform(78, item, 0) - 0.5) + in.s * z();
    bool go = true;
    const auto hone = [&] {
      p.cost += in.hone_cost;
      x = std::max(h, x + in.hone_least) + in.hone_s * z();
    };
    if (in.hone == Hone::all) {
      p.honed += 1;
      hone();
    } else {
      const double y = x + in.u * z();
      if (y > high) {
        p.too_large += 1;
        go = false;
      } else if (y < low) {
        if (in.hone == Hone::none) {
          p.too_small += 1;
          go = false;
        } else {
          p.honed += 1;
          p.cost += in.hone_cost;
          x = h + in.hone_s * z();
        }
      } else {
        if (x < in.lower || x > in.upper) p.passed_bad += 1;
        continue;
      }
    }
    while (go) {
      const double y = x + in.u * z();
      if (y > high) {
        p.lost_at_hone += 1;
        go = false;
      } else if (y >= low) {
        if (x < in.lower || x > in.upper) p.passed_bad += 1;
        break;
      } else {
        p.cost += in.hone_cost;
        x = h + in.hone_s * z();
      }
    }
  }
  p.cost += in.scrap_cost * p.lost() + in.escape_cost * p.passed_bad;
  for (double* v : {&p.cost, &p.honed, &p.too_large, &p.too_small, &p.lost_at_hone, &p.passed_bad}) *v /= n;
  return p;
}

TEST(Aim, PlayedPartByPart) {
  const int n = 200000;
  for (Hone hone : {Hone::none, Hone::small, Hone::all}) {
    AimInputs in = spool();
    in.hone = hone;
    in.drift = 2 * um;
    in.hone_s = 1.4 * um;
    const double aim = 22.0025e-3;
    const auto sum = at_aim(in, aim);
    ASSERT_TRUE(sum.ok());
    const AimPoint p = played(in, aim, n);
    SCOPED_TRACE(word(hone));
    const auto three = [&](double share) { return 3 * std::sqrt(std::max(share, 1e-5) / n) + 1e-6; };
    EXPECT_NEAR(p.honed, sum->honed, three(sum->honed));
    EXPECT_NEAR(p.too_large, sum->too_large, three(sum->too_large));
    EXPECT_NEAR(p.too_small, sum->too_small, three(sum->too_small));
    EXPECT_NEAR(p.lost_at_hone, sum->lost_at_hone, three(sum->lost_at_hone));
    EXPECT_GT(sum->passed_bad, 1e-5);
    EXPECT_NEAR(p.passed_bad, sum->passed_bad, three(sum->passed_bad));
    EXPECT_NEAR(p.cost, sum->cost, 0.02 * sum->cost);
  }
}

TEST(Aim, TheLargestAimThatKeepsAShare) {
  AimInputs in = spool();
  const auto m = aim_for_share(in, 0.001);
  ASSERT_TRUE(m.ok());
  // Without drift: U - g - z s, by hand.
  const double z = maths::normal_quantile(0.999), spread = std::hypot(2.0, 0.6);
  EXPECT_NEAR(*m * 1e6, 22009 - 0.99 - z * spread, 1e-4);
  in.hone = Hone::all;
  in.hone_s = 5 * um;  // then the hone itself loses more than that
  EXPECT_TRUE(std::isnan(*aim_for_share(in, 0.001)));
}

TEST(Way, TheFinishMayDecide) {
  AimInputs in = spool();
  const auto free = best_way(in, false);
  ASSERT_TRUE(free.ok());
  EXPECT_EQ(free->best, Hone::small);
  EXPECT_FALSE(free->finish_decides);
  const auto forced = best_way(in, true);
  EXPECT_EQ(forced->best, Hone::all);
  EXPECT_TRUE(forced->finish_decides);
  EXPECT_GT(forced->all.best.cost, forced->small.best.cost);
  // Every bore passes the hone: the aim leaves it something to take.
  EXPECT_LT(forced->all.best.aim, 22.0045e-3 - in.hone_least);
  // A hone that costs nearly nothing beside the scrap is used on most.
  in.hone_cost = 0.001;
  EXPECT_GT(best_way(in, false)->small.best.honed, 2 * free->small.best.honed);
  // A process far better than the limits needs none.
  in = spool();
  in.s = 0.4 * um;
  in.u = 0.1 * um;
  in.guard = 0.165 * um;
  const auto fine = best_way(in, false);
  EXPECT_LT(fine->none.best.cost, 1e-3);
}

TEST(Reset, CheapestCountOfParts) {
  ResetInputs in;
  in.aim = spool();
  in.drift_per_part = -0.05 * um;
  in.reset_cost = 3;
  in.most = 400;
  const auto r = when_to_reset(in);
  ASSERT_TRUE(r.ok());
  EXPECT_GT(r->count, 5);
  EXPECT_LT(r->count, 400);
  EXPECT_GT(r->first, r->last);  // bores get smaller: set on the high side, let it shrink
  EXPECT_NEAR(r->first - r->last, 0.05 * um * r->count, 1e-12);
  EXPECT_GE(r->cost_half, r->cost);
  EXPECT_GE(r->cost_double, r->cost);
  // Against every count.
  double least = 1e9;
  int best = 0;
  for (int n = 1; n <= 400; ++n) {
    AimInputs x = in.aim;
    x.drift = in.drift_per_part * n;
    const double c = best_aim(x)->best.cost + in.reset_cost / n;
    if (c < least) {
      least = c;
      best = n;
    }
  }
  EXPECT_NEAR(r->cost, least, 1e-6);
  EXPECT_NEAR(r->count, best, 1);
  // A dearer reset is done less often.
  in.reset_cost = 12;
  EXPECT_GT(when_to_reset(in)->count, r->count);
  in.drift_per_part = 0;
  EXPECT_FALSE(when_to_reset(in).ok());
  in.drift_per_part = 1 * um;
  in.most = 0;
  EXPECT_FALSE(when_to_reset(in).ok());
  in.most = 10;
  in.reset_cost = -1;
  EXPECT_FALSE(when_to_reset(in).ok());
}

TEST(Aim, RefusesOneBadValuePerBound) {
  const auto refused = [](auto&& change) {
    AimInputs in = spool();
    change(in);
    return !best_aim(in).ok() && !at_aim(in, 22.003e-3).ok() && !aim_for_share(in, 0.01).ok();
  };
  EXPECT_FALSE(refused([](AimInputs&) {}));
  EXPECT_TRUE(refused([](AimInputs& i) { i.upper = i.lower; }));
  EXPECT_TRUE(refused([](AimInputs& i) { i.lower = std::nan(""); }));
  EXPECT_TRUE(refused([](AimInputs& i) { i.s = 0; }));
  EXPECT_TRUE(refused([](AimInputs& i) { i.u = -um; }));
  EXPECT_TRUE(refused([](AimInputs& i) { i.guard = -um; }));
  EXPECT_TRUE(refused([](AimInputs& i) { i.guard = 4.5 * um; }));
  EXPECT_TRUE(refused([](AimInputs& i) { i.drift = std::nan(""); }));
  EXPECT_TRUE(refused([](AimInputs& i) { i.hone_s = -um; }));
  EXPECT_TRUE(refused([](AimInputs& i) { i.hone_aim = 22.009e-3; }));
  EXPECT_TRUE(refused([](AimInputs& i) { i.hone_least = -um; }));
  EXPECT_TRUE(refused([](AimInputs& i) { i.hone_most = -um; }));
  EXPECT_TRUE(refused([](AimInputs& i) { i.hone_cost = -1; }));
  EXPECT_TRUE(refused([](AimInputs& i) { i.hone_cost_per_m = -1; }));
  EXPECT_TRUE(refused([](AimInputs& i) { i.scrap_cost = std::nan(""); }));
  EXPECT_TRUE(refused([](AimInputs& i) { i.escape_cost = -1; }));
  EXPECT_TRUE(refused([](AimInputs& i) { i.step = -1; }));
  EXPECT_FALSE(best_aim(spool(), -1).ok());
  EXPECT_FALSE(at_aim(spool(), std::nan("")).ok());
  EXPECT_FALSE(aim_for_share(spool(), 0).ok());
  EXPECT_FALSE(aim_for_share(spool(), 1).ok());
}

}  // namespace
}  // namespace fettle::bore
