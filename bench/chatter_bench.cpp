// Claims for chatter: 4000 frequencies x 20 zero-order lobes under 2 ms on one core, with the same by a library's
// eigenvalue solver beside it; multipliers at 200 speeds x 100 depths under 0.8 s on two cores, with the plain
// semi-discretisation beside them.
#include <benchmark/benchmark.h>

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <complex>
#include <vector>

#include "calc/chatter/at_speed.h"
#include "calc/chatter/floquet_for_tests.h"
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

/// The depth at one speed with flank and uneven teeth; pairs of modes.
void at_one_speed(benchmark::State& state) {
  const LobesInputs l = cut(static_cast<int>(state.range(0)), 0, 4000, 20);
  AtSpeedInputs in;
  in.responses = l.responses, in.entry = l.cutter.entry, in.exit = l.cutter.exit;
  in.kt = l.cutter.kt, in.kr = l.cutter.kr, in.diameter = 0.016;
  in.tooth_angles = {0, 1.5, 3.2, 4.7};
  in.indentation = 1.5e13, in.land = 1e-4;
  double turns = 20;
  for (auto _ : state) {
    in.turns = turns = turns > 60 ? 20 : turns + 0.37;
    benchmark::DoNotOptimize(depth_at_speed(in));
  }
}
BENCHMARK(at_one_speed)->Arg(2)->Arg(5)->Arg(11)->Unit(benchmark::kMillisecond);

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

/// The cuts of the benchmark, two modes in all and two along each axis, slot and half immersion.
FloquetInputs benchmark_cut(std::int64_t which) {
  switch (which) {
    case 0:
      return two_modes(slot, 1);
    case 1:
      return two_modes(half_down, 1);
    case 2:
      return four_modes(half_down, 1);
    default:
      return four_modes(slot, 1);
  }
}
double rpm_at(std::int64_t which, double share) { return which < 2 ? 5000 + 20000 * share : 4000 + 10000 * share; }
std::vector<double> even_steps(double from, double to, int n) {
  std::vector<double> v;
  for (int i = 0; i < n; ++i) v.push_back(from + (to - from) * i / std::max(1, n - 1));
  return v;
}

/// cut, speeds, depths, threads
void multipliers(benchmark::State& state) {
  const FloquetInputs in = benchmark_cut(state.range(0));
  const std::vector<double> turns = even_steps(rpm_at(state.range(0), 0) / 60, rpm_at(state.range(0), 1) / 60,
                                               static_cast<int>(state.range(1))),
                            depths = even_steps(5e-5, 5e-3, static_cast<int>(state.range(2)));
  FloquetChart chart;
  for (auto _ : state) chart = floquet_chart(in, turns, depths, static_cast<int>(state.range(3)));
  state.counters["error"] = chart.error;
  state.counters["converged"] = chart.converged;
}
BENCHMARK(multipliers)
    ->Args({0, 200, 100, 2})
    ->Args({1, 200, 100, 2})
    ->Args({2, 200, 100, 2})
    ->Args({3, 200, 100, 2})
    ->Args({2, 200, 100, 1})
    ->Args({2, 100, 100, 1})
    ->Args({2, 50, 100, 1})
    ->Args({2, 200, 50, 1})
    ->MeasureProcessCPUTime()
    ->UseRealTime()
    ->Unit(benchmark::kMillisecond);

/// cut, steps a tooth: ten points of the same chart, one core; `off` is the largest share by which a radius differs.
void multipliers_plain(benchmark::State& state) {
  FloquetInputs in = benchmark_cut(state.range(0));
  double off = 0;
  for (auto _ : state) {
    off = 0;
    for (int i = 0; i < 10; ++i) {
      in.turns = rpm_at(state.range(0), i / 9.0) / 60;
      const double depth = 0.25e-3 * (i + 1);
      const double plainly = test::radius_by_semi_discretisation(plain(in, depth), static_cast<int>(state.range(1)));
      state.PauseTiming();
      off = std::max(off, std::fabs(plainly / multiplier(in, depth).radius - 1));
      state.ResumeTiming();
    }
  }
  state.counters["off"] = off;
}
BENCHMARK(multipliers_plain)
    ->Args({0, 40})
    ->Args({0, 100})
    ->Args({2, 40})
    ->Args({2, 100})
    ->Unit(benchmark::kMillisecond);

/// turns a minute, flank in N/mm: first loss of a light cut in iron, five teeth, sixteen modes up to 3 kHz.
void first_loss_in_iron(benchmark::State& state) {
  FloquetInputs in;
  in.cutter = cutter(5, side_arc(0.1, 1, true), 1.9e9, 0.8e9);
  for (int i = 0; i < 10; ++i)
    in.responses.push_back(
        mode_by_mass(400 + 2600.0 * i / 9, 5.0 + i, 0.02, {0.5 * std::cos(i), 0.5 * std::sin(i), 0.7}));
  for (double f : {900.0, 1500.0, 2000.0})
    for (const frame::Vec3& d : {frame::Vec3{1, 0, 0}, frame::Vec3{0, 1, 0}})
      in.responses.push_back(mode_by_stiffness(f, 2e7, 0.03, d));
  in.turns = static_cast<double>(state.range(0)) / 60, in.flank = static_cast<double>(state.range(1)) * 1e3;
  FirstLoss f;
  for (auto _ : state) f = first_loss(in, 1e-3, 5e-3, 0.12);
  state.counters["mm"] = f.depth * 1e3;
  state.counters["looked"] = f.looked;
}
BENCHMARK(first_loss_in_iron)
    ->Args({300, 0})
    ->Args({300, 30})
    ->Args({1000, 0})
    ->Args({1000, 30})
    ->Args({2200, 0})
    ->Args({2200, 30})
    ->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
