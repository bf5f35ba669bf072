// Loads under one jaw: share with a loose part, over parts and springs to a face.
#include <benchmark/benchmark.h>

#include "calc/holding/jaw.h"

namespace {

void jaw(benchmark::State& state) {
  const int parts = static_cast<int>(state.range(0));
  fettle::holding::JawInputs in;
  for (int i = 0; i < parts; ++i) in.at.push_back((i - 0.5 * (parts - 1)) * 0.158);
  in.stiffness.assign(in.at.size(), 7e8);
  in.force = 25e3 * parts / 3;
  in.pushes = {{-0.04 * parts, 0.16, 1}, {0.04 * parts, 0.16, 1}};
  in.bar = {0.158 * parts, 0.05, 0.04, 210e9, 0.3};
  in.need = 3000;
  in.spread = 12e-6;
  in.face = 0.132;
  in.strips = static_cast<int>(state.range(1));
  for (auto _ : state) benchmark::DoNotOptimize(fettle::holding::jaw_loads(in));
}
BENCHMARK(jaw)->Args({3, 1})->Args({3, 3})->Args({3, 7})->Args({3, 11})->Args({4, 3})->Args({6, 3})->Args({8, 3});

}  // namespace

BENCHMARK_MAIN();
