// Time to judge all rules, and how it grows with the route.
#include <benchmark/benchmark.h>

#include <string>

#include "calc/practice/change.h"
#include "calc/practice/good_route.h"

namespace {

using namespace fettle::practice;

/// The good route n times over, as n parts of one casting: everything but the casting under names of its own.
Facts longer(int n) {
  Facts out = good::route();
  const Facts one = out;
  for (int i = 1; i < n; ++i) {
    const std::string tail = " of part " + std::to_string(i);
    const auto rename = [&](std::string& s) {
      if (!s.empty()) s += tail;
    };
    Facts f = one;
    for (Feature& x : f.features) {
      rename(x.id);
      rename(x.metal);
      for (std::string& s : x.edges_on) rename(s);
      for (std::string& s : *x.drains_into) rename(s);
      out.features.push_back(x);
    }
    for (Operation& o : f.operations) {
      rename(o.id);
      for (Cut& c : o.cuts) {
        for (std::string& s : c.features) rename(s);
        for (std::string& s : c.leaves_over) rename(s);
      }
      for (Contact& k : o.contacts) rename(k.on);
      for (Pin& p : o.pins) rename(p.in);
      out.operations.push_back(o);
    }
  }
  return out;
}

void judge_all(benchmark::State& state) {
  const Facts f = longer(static_cast<int>(state.range(0)));
  for (auto _ : state) benchmark::DoNotOptimize(judge(f));
  state.counters["features"] = static_cast<double>(f.features.size());
  state.counters["operations"] = static_cast<double>(f.operations.size());
}
BENCHMARK(judge_all)->RangeMultiplier(2)->Range(1, 16)->Unit(benchmark::kMicrosecond);

void what_a_change_voids(benchmark::State& state) {
  const std::vector<Changed> all(all_changes().begin(), all_changes().end());
  for (auto _ : state) benchmark::DoNotOptimize(voided(all));
}
BENCHMARK(what_a_change_voids)->Unit(benchmark::kMicrosecond);

}  // namespace

BENCHMARK_MAIN();
