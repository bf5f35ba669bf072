#include "calc/timing/order.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <random>

#include "published.h"

namespace fettle::timing {
namespace {

using test::How;
using test::published;

OrderInputs of(const std::vector<std::string>& tools, int parts = 1) {
  OrderInputs in;
  for (const std::string& t : tools) in.cuts.push_back({t, {}});
  in.parts = parts;
  in.tool_change = 4.5;
  return in;
}

TEST(Order, ToolByToolChangesTNotNTimesT) {
  const OrderResult r = *order(of({"1", "2", "3", "4", "5", "6", "7", "8", "9"}, 8));
  published("timing", "nine tools, eight parts, changes tool by tool", "counted by hand", How::exact, 9, r.tool_by_tool,
            0);
  published("timing", "nine tools, eight parts, changes part by part", "counted by hand", How::exact, 72,
            r.part_by_part, 0);
  EXPECT_NEAR(r.saved_per_part, 63 * 4.5 / 8, 1e-12);
  EXPECT_EQ(order(of({"1", "1"}, 8))->tool_by_tool, 0);  // a single tool never changes
  EXPECT_EQ(order(of({"1"}, 8))->part_by_part, 0);
}

TEST(Order, TheRoundCloses) {
  // 1 2 1: the last tool is the first one again.
  EXPECT_EQ(order(of({"1", "2", "1"}))->tool_by_tool, 2);
}

TEST(Order, LeastKeepsWhatMustComeBefore) {
  OrderInputs in = of({"1", "2", "1", "3", "2"});
  EXPECT_EQ(order(in)->least, 3);  // nothing binds: each tool once
  in.cuts[2].after = {1};          // 1 again after 2: it can begin with the next round's 1
  EXPECT_EQ(order(in)->least, 3);
  in.cuts[4].after = {3};
  in.cuts[3].after = {2};  // 2, then 1, then 3, then 2: 1 and 2 both twice but for the round
  const OrderResult r = *order(in);
  EXPECT_EQ(r.tool_by_tool, 5);
  EXPECT_EQ(r.least, 3);  // 2 1 1 3 2, the last 2 is the first of the next round
}

/// All orders that keep what must come before, one by one.
int least_by_trying(const OrderInputs& in) {
  std::vector<int> order(in.cuts.size());
  std::iota(order.begin(), order.end(), 0);
  int best = 1 << 20;
  do {
    std::vector<std::size_t> place(order.size());
    for (std::size_t i = 0; i < order.size(); ++i) place[static_cast<std::size_t>(order[i])] = i;
    bool fits = true;
    for (std::size_t i = 0; i < in.cuts.size() && fits; ++i)
      for (int a : in.cuts[i].after) fits = fits && place[static_cast<std::size_t>(a)] < place[i];
    if (!fits) continue;
    int n = 0;
    for (std::size_t i = 0; i < order.size(); ++i) {
      const auto tool = [&](std::size_t k) { return in.cuts[static_cast<std::size_t>(order[k])].tool; };
      n += tool(i) != tool(i == 0 ? order.size() - 1 : i - 1) ? 1 : 0;
    }
    best = std::min(best, n);
  } while (std::next_permutation(order.begin(), order.end()));
  return best;
}

TEST(Order, AgreesWithTryingEveryOrder) {
  std::mt19937 random(7);
  int disagree = 0;
  for (int trial = 0; trial < 300; ++trial) {
    OrderInputs in;
    const int n = 3 + static_cast<int>(random() % 5), tools = 2 + static_cast<int>(random() % 3);
    for (int i = 0; i < n; ++i) {
      OrderCut c{std::to_string(random() % static_cast<unsigned>(tools)), {}};
      for (int a = 0; a < i; ++a)
        if (random() % 4 == 0) c.after.push_back(a);
      in.cuts.push_back(c);
    }
    const OrderResult r = *order(in);
    disagree += r.least != least_by_trying(in) ? 1 : 0;
    EXPECT_TRUE(r.proven);
    std::vector<int> sorted = r.least_order;  // each cut once
    std::sort(sorted.begin(), sorted.end());
    for (int i = 0; i < n; ++i) EXPECT_EQ(sorted[static_cast<std::size_t>(i)], i);
  }
  published("timing", "fewest tool changes, disagreements in 300 small cases", "every order tried", How::computed, 0,
            disagree, 0);
}

TEST(Order, Refuses) {
  EXPECT_FALSE(order({}).ok());
  OrderInputs in = of({"1", "2"});
  in.parts = 0;
  EXPECT_FALSE(order(in).ok());
  in = of({"1", "2"});
  in.tool_change = -1;
  EXPECT_FALSE(order(in).ok());
  for (int a : {-1, 2, 1}) {
    in = of({"1", "2"});
    in.cuts[1].after = {a};
    EXPECT_FALSE(order(in).ok()) << a;
  }
  in = of({"1", "2"});
  in.cuts[0].after = {1};  // the stated order breaks it
  EXPECT_FALSE(order(in).ok());
  EXPECT_FALSE(order(of(std::vector<std::string>(65, "1"))).ok());
}

TEST(Tour, RowsAreVisitedToAndFro) {
  // Four nests at the corners of 156 x 114: both short sides and one long one, or the other way: 2 x 114 + 156.
  const Tour t = nest_tour({{-.078, -.057, 0}, {.078, -.057, 0}, {-.078, .057, 0}, {.078, .057, 0}});
  published("timing", "way through four nests at 156 x 114 mm, m", "by hand: two short sides and a long one",
            How::exact, 2 * .114 + .156, t.length, 1e-12);
  EXPECT_TRUE(t.shortest);
  EXPECT_EQ(nest_tour({}).length, 0);
  EXPECT_EQ(nest_tour({{1, 1, 0}}).length, 0);
}

TEST(Tour, ManyPlacesGetAGoodWay) {
  std::vector<frame::Vec3> line;
  for (int i = 0; i < 20; ++i) line.push_back({0.1 * ((i * 7) % 20), 0, 0});
  const Tour t = nest_tour(line);
  EXPECT_FALSE(t.shortest);
  EXPECT_NEAR(t.length, 1.9, 1e-9);
}

}  // namespace
}  // namespace fettle::timing
