// Claim: 100 000 moves of a 16 mm cutter over 330 x 250 mm at 0.25 mm in under 0.8 s, and time linear in moves.
#include <benchmark/benchmark.h>

#include <cmath>

#include "calc/removal/removal.h"

namespace fettle::removal {
namespace {

/// To and fro over the block with a step-over of 4 mm, level after level.
void moves(benchmark::State& state, double diameter, double step) {
  const auto count = state.range(0);
  for (auto _ : state) {
    Field f = *make_field(-0.165, -0.125, 0.165, 0.125, 0.25e-3, 0.04);
    const Cutter c{diameter, 0, 0, 0, 0};
    frame::Vec3 at{-0.15, -0.11, 0.038};
    double way = step, volume = 0;
    for (long i = 0; i < count; ++i) {
      frame::Vec3 next = at;
      if (next.x + way > 0.15 || next.x + way < -0.15) {
        way = -way;
        next.y += 0.0041;
        if (next.y > 0.11) next.y = -0.11, next.z -= 0.001;
      } else {
        next.x += way;
        next.y += 1e-5;
      }
      volume += cut(f, c, at, next).volume;
      at = next;
    }
    benchmark::DoNotOptimize(volume);
  }
  state.SetComplexityN(count);
}
void half_millimetre(benchmark::State& s) { moves(s, 0.016, 0.5e-3); }
void two_millimetres(benchmark::State& s) { moves(s, 0.016, 2e-3); }
void eight_millimetres(benchmark::State& s) { moves(s, 0.016, 8e-3); }
void large_cutter(benchmark::State& s) { moves(s, 0.040, 2e-3); }
BENCHMARK(half_millimetre)->RangeMultiplier(2)->Range(12500, 100000)->Unit(benchmark::kMillisecond)->Complexity();
BENCHMARK(two_millimetres)->Arg(100000)->Unit(benchmark::kMillisecond);
BENCHMARK(eight_millimetres)->Arg(100000)->Unit(benchmark::kMillisecond);
BENCHMARK(large_cutter)->Arg(100000)->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace fettle::removal

BENCHMARK_MAIN();
