#include "calc/timing/closed_forms.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <string>

#include "published.h"

namespace fettle::timing {
namespace {

using test::How;
using test::published;
constexpr double nan = std::numeric_limits<double>::quiet_NaN();
const char* const peck = "Peck and Hazelwood 1958, in Tompkins et al., Facilities Planning 4th ed., Table 10.37";

FiniteSource table(int machines, int servers, double x) { return *finite_source(machines, servers, 1 - x, x); }

TEST(FiniteSource, Tables) {
  struct Row {
    double x;
    int k, c;
    double d, f;
  };
  for (const Row& r : {Row{.05, 4, 1, .149, .992}, Row{.05, 5, 1, .198, .989}, Row{.05, 6, 1, .247, .985},
                       Row{.05, 6, 2, .023, .999}, Row{.05, 7, 1, .296, .981}, Row{.05, 7, 2, .034, .999}}) {
    const std::string what = "K " + std::to_string(r.k) + ", c " + std::to_string(r.c) + ", X .05: ";
    published("timing", what + "chance to wait D", peck, How::read, r.d, table(r.k, r.c, r.x).waits, 6e-4);
    published("timing", what + "efficiency F", peck, How::read, r.f, table(r.k, r.c, r.x).efficiency, 6e-4);
  }
  const double f[] = {.500, .878, .975, .995, .999};
  for (int c = 1; c <= 5; ++c)
    published("timing", "K 20, c " + std::to_string(c) + ", X .10: efficiency F", peck, How::read, f[c - 1],
              table(20, c, .1).efficiency, 6e-4);
}

TEST(FiniteSource, ManyMachinesOverflowNothing) {
  const FiniteSource r = *finite_source(1000, 3, 1, 1);
  EXPECT_NEAR(r.served, 3, 1e-9);  // always busy
  EXPECT_NEAR(r.running + r.served + r.waiting, 1000, 1e-6);
  EXPECT_NEAR(r.running, 3, 1e-6);  // as many start as are served
}

TEST(FiniteSource, CheapestNumberOfPeople) {
  const BestServers b = *best_servers(20, 45, 5, {60, 500, 200});
  published("timing", "20 machines, 45 and 5 min: best number of people", peck, How::read, 4, b.servers, 0);
  // The printed 688 uses F rounded to three digits; in full it is 690.59.
  published("timing", "the same, cost an hour with 4 people", std::string(peck) + ", recomputed with exact F",
            How::computed, 690.59, b.costs[3], 0.01);
  published("timing", "the same, cost an hour with 4 people, as printed", peck, How::read, 688,
            4 * 60 + 500 * 20 * (1 - .995) + 200 * 20 * .995 * .1, 0.5);
  published("timing", "the same, cost an hour with 2 people", std::string(peck) + ", recomputed with exact F",
            How::computed, 1690.61, b.costs[1], 0.01);
  published("timing", "the same, cost an hour with 3 people", std::string(peck) + ", recomputed with exact F",
            How::computed, 815.92, b.costs[2], 0.01);
  published("timing", "the same, cost an hour with 5 people", std::string(peck) + ", recomputed with exact F",
            How::computed, 710.31, b.costs[4], 0.01);
}

TEST(FiniteSource, Refuses) {
  EXPECT_FALSE(finite_source(0, 1, 1, 1).ok());
  EXPECT_FALSE(finite_source(1001, 1, 1, 1).ok());
  EXPECT_FALSE(finite_source(4, 0, 1, 1).ok());
  EXPECT_FALSE(finite_source(4, 1, 0, 1).ok());
  EXPECT_FALSE(finite_source(4, 1, 1, nan).ok());
  EXPECT_FALSE(best_servers(0, 1, 1, {}).ok());
  EXPECT_FALSE(best_servers(4, 1, 1, {-1, 0, 0}).ok());
  EXPECT_FALSE(best_servers(4, 1, 1, {0, -1, 0}).ok());
  EXPECT_FALSE(best_servers(4, 1, 1, {0, 0, nan}).ok());
}

TEST(Interference, Wright) {
  const double percent = *wright_interference(60, 150, 3);
  published("timing", "60 spindles, run 150, attention 3 min: interference, %",
            "Niebel and Freivalds, Methods, Standards and Work Design, in full digits (printed 1160)", How::computed,
            1158.87, percent, 0.01);
  published("timing", "the same, interference of one stop, min", "Niebel and Freivalds, as printed", How::from_memory,
            34.8, percent / 100 * 3, 0.05);
  // Few machines and long runs: the stable form agrees with the plain one.
  EXPECT_NEAR(*wright_interference(8, 100, 1), 50 * (std::sqrt(93.0 * 93 + 16) - 93), 1e-9);
  EXPECT_FALSE(wright_interference(0, 1, 1).ok());
  EXPECT_FALSE(wright_interference(6, 0, 1).ok());
  EXPECT_FALSE(wright_interference(6, 1, nan).ok());
}

TEST(Interference, Ashcroft) {
  const char* const source = "Ashcroft 1950, J. R. Statist. Soc. B 12, 145, formula recomputed";
  const std::pair<int, double> rows[] = {{2, 1.8102}, {4, 3.5791}, {6, 5.2779}, {10, 8.2100}};
  for (const auto& [n, a] : rows)
    published("timing", std::to_string(n) + " machines, p .1: Ashcroft's number", source, How::computed, a,
              *ashcroft(n, .1), 1e-4);
  // A discrete-event simulation with constant service, within its own noise.
  const std::pair<int, double> simulated[] = {{2, 1.810}, {4, 3.580}, {6, 5.280}, {10, 8.217}};
  for (const auto& [n, a] : simulated) EXPECT_NEAR(*ashcroft(n, .1), a, 0.01);
  EXPECT_NEAR(*ashcroft(1, .1), 1 / 1.1, 1e-12);  // one machine: runs, is served
  EXPECT_NEAR(*ashcroft(150, .5), 2, 1e-6);       // many machines: the person is never free
  EXPECT_FALSE(ashcroft(0, .1).ok());
  EXPECT_FALSE(ashcroft(201, .1).ok());
  EXPECT_FALSE(ashcroft(2, 0).ok());
  EXPECT_FALSE(ashcroft(2, 3.1).ok());
  EXPECT_FALSE(ashcroft(2, nan).ok());
}

TEST(Synchronous, MachinesInTurn) {
  const char* const niebel = "Niebel and Freivalds, synchronous servicing";
  const Synchronous s = *synchronous(1.41, 4.34, .08);
  published("timing", "loading 1.41, machine 4.34, walking .08 min: machines", niebel, How::from_memory, 3.859, s.exact,
            5e-4);
  EXPECT_EQ(s.whole, 3);
  published("timing", "the same, cost a part with 3 machines", niebel, How::from_memory, 2.4917,
            synchronous_cost(s.cycle_whole / 60, 3, 12, 22), 5e-5);
  published("timing", "the same, cost a part with 4 machines", niebel, How::from_memory, 2.4833,
            synchronous_cost(s.cycle_one_more / 60, 4, 12, 22), 5e-5);
  const double rows[][4] = {{2, 15, .5, 6.8}, {1.5, 8, .3, 5.28}, {3, 12, 1, 3.75}};
  const int whole[] = {6, 5, 3};
  for (int i = 0; i < 3; ++i) {
    published("timing", "machines in turn, row " + std::to_string(i + 1), "textbook exercise, synchronous servicing",
              How::read, rows[i][3], synchronous(rows[i][0], rows[i][1], rows[i][2])->exact, 0.005);
    EXPECT_EQ(synchronous(rows[i][0], rows[i][1], rows[i][2])->whole, whole[i]);
  }
  EXPECT_FALSE(synchronous(0, 1, 1).ok());
  EXPECT_FALSE(synchronous(1, -1, 1).ok());
  EXPECT_FALSE(synchronous(1, 1, nan).ok());
}

}  // namespace
}  // namespace fettle::timing
