#pragma once
// Several machines, few people: published closed forms. Times in any one unit, all the same.
#include <vector>

#include "base/outcome.h"

namespace fettle::timing {

/// K machines that run for a random time (mean `run`) and then need one of c servers for a random time (mean
/// `service`), both exponential: the exact solution of the finite-source queue M/M/c//K, as tabled by Peck and
/// Hazelwood.
struct FiniteSource {
  double waits = 0;       ///< chance that a machine that stops must wait (D of the tables)
  double efficiency = 0;  ///< 1 - mean number that wait over K (F of the tables)
  double running = 0;     ///< mean number of machines that run
  double served = 0;      ///< mean number being served
  double waiting = 0;     ///< mean number that wait
  double server_use = 0;  ///< share of time a server works
};
Outcome<FiniteSource> finite_source(int machines, int servers, double run, double service);

/// Cost an hour of so many servers: their pay, and machines that wait and are served, each at its own price an hour.
struct FiniteSourceCost {
  double server = 0, waiting = 0, service = 0;  ///< money an hour: each server, each machine waiting, each being served
};
double hourly_cost(const FiniteSource& r, int servers, const FiniteSourceCost& cost);
/// The number of servers, 1 to machines, with the least cost an hour; costs[i] is that of i + 1 servers.
struct BestServers {
  int servers = 0;
  double cost = 0;
  std::vector<double> costs;
};
Outcome<BestServers> best_servers(int machines, double run, double service, const FiniteSourceCost& cost);

/// Wright's interference in percent of attention time: 50 (sqrt((1 + X - N)^2 + 2N) - (1 + X - N)), X = run/attention.
/// Meant for more than about six machines for one person.
Outcome<double> wright_interference(double machines, double run, double attention);

/// Ashcroft's number: mean machines running of `machines` for one person, service time constant, stops at random;
/// p = service time x stops in running time. Ashcroft 1950.
Outcome<double> ashcroft(int machines, double p);

/// Machines one person can serve in turn when all times are constant: (l + m)/(l + w), l loading, m machine alone,
/// w walking. `exact` is not whole; `whole` is what never lets a machine wait.
struct Synchronous {
  double exact = 0;
  int whole = 0;
  double cycle_whole = 0;     ///< time a round with `whole` machines: l + m
  double cycle_one_more = 0;  ///< with one more: (whole + 1)(l + w)
};
Outcome<Synchronous> synchronous(double load, double machine, double walk);
/// Cost of one part by such a round, money an hour over the parts of the round; times in hours.
double synchronous_cost(double cycle_hours, int machines, double operator_rate, double machine_rate);

}  // namespace fettle::timing
