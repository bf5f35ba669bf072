// Claims for the plate in few unknowns: at least 250 plates a second on one core (four anchors, four parts, 50 points
// at rest, 16 modes with static residual, response at 1000 frequencies), and how far it lies from the full model over
// 200 plates by chance. The full model runs beside it.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "calc/structure/plate.h"
#include "calc/structure/random_plates_for_tests.h"
#include "calc/structure/reduced.h"

namespace {

using namespace fettle::structure;
constexpr double pi = 3.14159265358979323846;

double largest_response(const Result& r) {
  double largest = 0;
  for (int k = 0; r.ok && k < 1000; ++k)
    largest = std::max(largest, std::norm(fettle::maths::response(r.points.front(), 2 * pi * (20 + 3.98 * k))[8]));
  return largest;
}

std::vector<Inputs> plates(bool on_parts) {
  std::vector<Inputs> all;
  for (std::uint64_t k = 0; k < 40; ++k) all.push_back(test::random_plate(k, on_parts));
  return all;
}

void rate(benchmark::State& state) {
  state.counters["plates/s"] = benchmark::Counter(static_cast<double>(state.iterations()), benchmark::Counter::kIsRate);
}

/// Every plate of another size: its free modes are worked out anew.
void few_new_plate(benchmark::State& state) {
  const std::vector<Inputs> all = plates(true);
  std::size_t k = 0;
  for (auto _ : state) benchmark::DoNotOptimize(largest_response(solve_reduced(all[k++ % all.size()])));
  rate(state);
}
BENCHMARK(few_new_plate)->Unit(benchmark::kMillisecond);

/// The same with the 50 points on the bare plate, each with a patch of its own.
void few_new_plate_points_on_plate(benchmark::State& state) {
  const std::vector<Inputs> all = plates(false);
  std::size_t k = 0;
  for (auto _ : state) benchmark::DoNotOptimize(largest_response(solve_reduced(all[k++ % all.size()])));
  rate(state);
}
BENCHMARK(few_new_plate_points_on_plate)->Unit(benchmark::kMillisecond);

/// One plate, its anchors and parts elsewhere every time.
void few_kept_plate(benchmark::State& state) {
  std::vector<Inputs> all = plates(true);
  for (Inputs& in : all) {
    const Plate now = in.plate, first = all.front().plate;
    for (Anchor& a : in.anchors) a.x *= first.length / now.length, a.y *= first.width / now.width;
    for (Part& p : in.parts) p.x *= first.length / now.length, p.y *= first.width / now.width;
    in.plate = first;
  }
  const Basis basis = make_basis(basis_inputs(all.front()));
  std::size_t k = 0;
  for (auto _ : state) benchmark::DoNotOptimize(largest_response(solve_reduced(basis, all[k++ % all.size()])));
  rate(state);
}
BENCHMARK(few_kept_plate)->Unit(benchmark::kMillisecond);

/// The same plates by the full model.
void full(benchmark::State& state) {
  const std::vector<Inputs> all = plates(true);
  std::size_t k = 0;
  for (auto _ : state) benchmark::DoNotOptimize(largest_response(solve(all[k++ % all.size()])));
  rate(state);
}
BENCHMARK(full)->Unit(benchmark::kMillisecond);

void error_over_200(benchmark::State& state, bool on_parts, std::uint64_t from) {
  std::vector<double> modes, give;
  for (auto _ : state) {
    modes.clear(), give.clear();
    for (std::uint64_t k = from; k < from + 200; ++k) {
      const Inputs in = test::random_plate(k, on_parts);
      const test::Apart a = test::apart(solve(in), solve_reduced(in));
      modes.push_back(a.modes), give.push_back(a.give);
    }
  }
  std::sort(modes.begin(), modes.end()), std::sort(give.begin(), give.end());
  state.counters["modes largest %"] = 100 * modes.back();
  state.counters["modes median %"] = 100 * modes[100];
  state.counters["give largest %"] = 100 * give.back();
  state.counters["give median %"] = 100 * give[100];
}
BENCHMARK_CAPTURE(error_over_200, points_on_parts, true, 0)->Iterations(1)->Unit(benchmark::kSecond);
BENCHMARK_CAPTURE(error_over_200, points_on_plate, false, 0)->Iterations(1)->Unit(benchmark::kSecond);
BENCHMARK_CAPTURE(error_over_200, other_plates_points_on_parts, true, 1000)->Iterations(1)->Unit(benchmark::kSecond);
BENCHMARK_CAPTURE(error_over_200, other_plates_points_on_plate, false, 1000)->Iterations(1)->Unit(benchmark::kSecond);

}  // namespace

BENCHMARK_MAIN();
