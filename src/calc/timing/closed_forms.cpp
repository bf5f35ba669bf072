#include "calc/timing/closed_forms.h"

#include <algorithm>
#include <cmath>

#include "calc/timing/check.h"

namespace fettle::timing {

Outcome<FiniteSource> finite_source(int machines, int servers, double run, double service) {
  Check check;
  check.between("machines", machines, 1, 1000);
  check.between("people", servers, 1, 1000);
  check.more_than("running time", run, 0);
  check.more_than("service time", service, 0);
  if (!check.problems.empty()) return check.problems;
  const double ratio = service / run;
  std::vector<double> p(static_cast<std::size_t>(machines) + 1);
  double log_term = 0, top = 0;  // in logarithms: 1000 machines overflow nothing
  for (int n = 0; n <= machines; ++n) {
    p[static_cast<std::size_t>(n)] = log_term;
    top = std::max(top, log_term);
    log_term += std::log((machines - n) * ratio / std::min(n + 1, servers) + 1e-300);
  }
  double sum = 0;
  for (double& x : p) sum += x = std::exp(x - top);
  FiniteSource r;
  double arrive = 0, arrive_wait = 0;
  for (int n = 0; n <= machines; ++n) {
    const double share = p[static_cast<std::size_t>(n)] / sum;
    r.running += (machines - n) * share;
    r.served += std::min(n, servers) * share;
    r.waiting += std::max(0, n - servers) * share;
    arrive += (machines - n) * share;
    if (n >= servers) arrive_wait += (machines - n) * share;
  }
  r.waits = arrive > 0 ? arrive_wait / arrive : 0;
  r.efficiency = 1 - r.waiting / machines;
  r.server_use = r.served / servers;
  return r;
}

double hourly_cost(const FiniteSource& r, int servers, const FiniteSourceCost& c) {
  return servers * c.server + r.waiting * c.waiting + r.served * c.service;
}

Outcome<BestServers> best_servers(int machines, double run, double service, const FiniteSourceCost& cost) {
  Check check;
  check.at_least("pay of a person", cost.server, 0);
  check.at_least("cost of a waiting machine", cost.waiting, 0);
  check.at_least("cost of a machine being served", cost.service, 0);
  if (!check.problems.empty()) return check.problems;
  BestServers best;
  for (int c = 1; c <= machines; ++c) {
    const Outcome<FiniteSource> r = finite_source(machines, c, run, service);
    if (!r.ok()) return r.problems();
    best.costs.push_back(hourly_cost(*r, c, cost));
    if (best.servers == 0 || best.costs.back() < best.cost) best.servers = c, best.cost = best.costs.back();
  }
  if (best.servers == 0) return finite_source(machines, 1, run, service).problems();
  return best;
}

Outcome<double> wright_interference(double machines, double run, double attention) {
  Check check;
  check.at_least("machines", machines, 1);
  check.more_than("running time", run, 0);
  check.more_than("attention time", attention, 0);
  if (!check.problems.empty()) return check.problems;
  const double a = 1 + run / attention - machines;
  // The difference of two large numbers is turned round where a is positive.
  const double root = std::sqrt(a * a + 2 * machines);
  return 50 * (a > 0 ? 2 * machines / (root + a) : root - a);
}

Outcome<double> ashcroft(int machines, double p) {
  Check check;
  check.between("machines", machines, 1, 200);
  check.more_than("service time x stops", p, 0);
  check.between("service time x stops", p, 0, 3);
  if (!check.problems.empty()) return check.problems;
  double sum = 1, term = 1;
  for (int r = 1; r < machines; ++r) {
    term *= static_cast<double>(machines - r) / r * std::expm1(r * p);
    sum += term;
  }
  if (!std::isfinite(sum)) return static_cast<double>(1 / p);  // the person is never free
  return machines * sum / (1 + machines * p * sum);
}

Outcome<Synchronous> synchronous(double load, double machine, double walk) {
  Check check;
  check.more_than("loading", load, 0);
  check.at_least("machine time", machine, 0);
  check.at_least("walking", walk, 0);
  if (!check.problems.empty()) return check.problems;
  Synchronous r;
  r.exact = (load + machine) / (load + walk);
  if (!(r.exact <= 1e6)) return bad("more machines than anybody serves", base::shortest(r.exact), "at most 1e6");
  // Walking longer than the machine runs: one machine, and nobody leaves it.
  r.whole = std::max(1, static_cast<int>(std::floor(r.exact * (1 + 1e-12))));
  r.cycle_whole = load + machine;
  r.cycle_one_more = (r.whole + 1) * (load + walk);
  return r;
}

double synchronous_cost(double cycle_hours, int machines, double operator_rate, double machine_rate) {
  return cycle_hours * (operator_rate + machines * machine_rate) / machines;
}

}  // namespace fettle::timing
