// One cut through its turn, and the wall it leaves: how the time grows with teeth and samples.
#include <benchmark/benchmark.h>

#include "calc/cutting/cutting.h"

namespace {

using namespace fettle::cutting;

Milling cut(int teeth, int steps) {
  Milling m;
  m.chip = {1350e6, 0.28, 1.3, 0.4};
  m.diameter = 0.016;
  m.tooth_angles = even_teeth(teeth);
  m.helix = 0.663;
  m.feed_per_tooth = 7e-5;
  m.depth = 0.0185;
  m.arc = side_arc(m.diameter, 0.0039, true);
  m.turns = 36.5;
  m.steps = steps;
  return m;
}
void through_the_turn(benchmark::State& state) {
  const Milling m = cut(static_cast<int>(state.range(0)), static_cast<int>(state.range(1)));
  for (auto _ : state) benchmark::DoNotOptimize(solve(m));
}
void wall(benchmark::State& state) {
  const Milling m = cut(static_cast<int>(state.range(0)), 180);
  for (auto _ : state)
    benchmark::DoNotOptimize(wall_error(m, true, [](double a, double b) { return 1e-8 * (1 + a + b); }));
}
BENCHMARK(through_the_turn)->Args({2, 180})->Args({5, 180})->Args({10, 180})->Args({5, 720})->Args({5, 2880});
BENCHMARK(wall)->Arg(2)->Arg(5)->Arg(10);

}  // namespace

BENCHMARK_MAIN();
