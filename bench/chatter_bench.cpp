// Claims for chatter: 4000 frequencies x 20 zero-order lobes under 2 ms on one core, with the same by a library's
// eigenvalue solver beside it.
#include <benchmark/benchmark.h>

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <complex>
#include <vector>

#include "calc/chatter/lobes.h"

namespace {

using namespace fettle;
using namespace fettle::chatter;

/// Pairs of modes along feed and across it, the n-th pair a third above the one before.
std::vector<maths::PointResponse> swinging(int pairs) {
  std::vector<maths::PointResponse> r;
  for (int i = 0; i < pairs; ++i) {
    const double w = 2 * M_PI * 450 * std::pow(4.0 / 3, i), s = 1 / std::sqrt(0.9);
    r.push_back({{{w, 0.03, {s, 0, 0.1}}, {1.1 * w, 0.025, {0, s, 0.1}}}, {}});
  }
  return r;
}
LobesInputs cut(int pairs, double lead, int frequencies, int count) {
  LobesInputs in;
  in.responses = swinging(pairs);
  in.cutter.tooth_angles = even_teeth(4);
  const Arc arc = side_arc(0.6, 1, true);
  in.cutter.entry = arc.entry, in.cutter.exit = arc.exit;
  in.cutter.kt = 1.2e9, in.cutter.kr = 0.35, in.cutter.ka = 0.2, in.cutter.lead = lead;
  in.slowest = 8, in.fastest = 200;
  in.frequencies = frequencies, in.lobes = count, in.speeds = 400;
  return in;
}

/// frequencies, lobes, lead in degrees, pairs of modes
void zero_order(benchmark::State& state) {
  const LobesInputs in = cut(static_cast<int>(state.range(3)), static_cast<double>(state.range(2)) * M_PI / 180,
                             static_cast<int>(state.range(0)), static_cast<int>(state.range(1)));
  for (auto _ : state) benchmark::DoNotOptimize(lobes(in));
}
BENCHMARK(zero_order)
    ->Args({4000, 20, 0, 2})
    ->Args({4000, 20, 45, 2})
    ->Args({1000, 20, 0, 2})
    ->Args({16000, 20, 0, 2})
    ->Args({4000, 5, 0, 2})
    ->Args({4000, 80, 0, 2})
    ->Args({4000, 20, 0, 8})
    ->Unit(benchmark::kMillisecond);

/// The same work plainly: dense matrices, a library's eigenvalues, every lobe point stored, then the least per speed.
void zero_order_plain(benchmark::State& state) {
  const int frequencies = static_cast<int>(state.range(0)), count = static_cast<int>(state.range(1));
  const LobesInputs in = cut(2, static_cast<double>(state.range(2)) * M_PI / 180, frequencies, count);
  const Directions d = directions(in.cutter, 0);
  Eigen::Matrix3cd a;
  for (Eigen::Index i = 0; i < 9; ++i) a(i / 3, i % 3) = d.chip[static_cast<std::size_t>(i)];
  for (auto _ : state) {
    std::vector<double> limit(400, HUGE_VAL);
    for (int i = 0; i < frequencies; ++i) {
      const double w = 2 * M_PI * (112.5 + 2000.0 * i / frequencies);
      Eigen::Matrix3cd g = Eigen::Matrix3cd::Zero();
      for (const maths::PointResponse& p : in.responses) {
        const maths::Response3 r = maths::response(p, w);
        for (Eigen::Index k = 0; k < 9; ++k) g(k / 3, k % 3) += r[static_cast<std::size_t>(k)];
      }
      const Eigen::Vector3cd l = Eigen::ComplexEigenSolver<Eigen::Matrix3cd>(g * a, false).eigenvalues();
      for (Eigen::Index e = 0; e < 3; ++e) {
        if (!(l(e).real() > 0)) continue;
        const double b = M_PI / (4 * 1.2e9 * l(e).real());
        for (int j = 0; j < count; ++j) {
          const double n = w / (4 * (M_PI + 2 * std::arg(l(e)) + 2 * M_PI * j));
          const int at = static_cast<int>((n - 8) / 192 * 399);
          if (at >= 0 && at < 400)
            limit[static_cast<std::size_t>(at)] = std::min(limit[static_cast<std::size_t>(at)], b);
        }
      }
    }
    benchmark::DoNotOptimize(limit);
  }
}
BENCHMARK(zero_order_plain)->Args({4000, 20, 0})->Args({4000, 20, 45})->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
