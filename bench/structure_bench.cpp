// Claims of speed for the plate: 24 x 28 elements, five motions a node, four anchors, four parts, 50 points at rest, 16
// modes with static residual, response at 1000 frequencies: at least 15 full plates a second on one core.
#include <benchmark/benchmark.h>

#include "calc/structure/pallet_for_tests.h"
#include "calc/structure/plate.h"
#include "plate_solid.h"

namespace {

using namespace fettle::structure;
constexpr double pi = 3.14159265358979323846;

/// The plate and what follows from it at each frequency, at one point.
double full_plate(const Inputs& in) {
  const Result r = solve(in);
  if (!r.ok) return 0;
  double largest = 0;
  for (int k = 0; k < 1000; ++k) {
    const auto h = fettle::maths::response(r.points.front(), 2 * pi * (20 + 3.98 * k));
    largest = std::max(largest, std::norm(h[8]));
  }
  return largest;
}

void plate(benchmark::State& state, bool on_parts, bool error) {
  Inputs in = test::pallet();
  if (on_parts) test::add_points_on_parts(in, 50);
  else test::add_points_on_plate(in, 50);
  in.columns = static_cast<int>(state.range(0)), in.rows = in.columns * 6 / 7;
  in.want_error = error;
  for (auto _ : state) benchmark::DoNotOptimize(full_plate(in));
  const Result r = solve(in);
  state.counters["plates/s"] = benchmark::Counter(static_cast<double>(state.iterations()), benchmark::Counter::kIsRate);
  state.counters["residual"] = r.residual;
  state.counters["first Hz"] = r.frequencies.front();
}
BENCHMARK_CAPTURE(plate, points_on_parts, true, false)->Arg(28)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(plate, points_on_plate, false, false)->Arg(28)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(plate, with_error_estimate, false, true)->Arg(28)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(plate, growth, false, false)
    ->Arg(14)
    ->Arg(28)
    ->Arg(42)
    ->Arg(56)
    ->Arg(84)
    ->Unit(benchmark::kMillisecond);

/// The same pallet as a solid of bricks, where the general finite-element program is installed: one run.
void bricks(benchmark::State& state) {
  if (!test::solid_program_is_here()) {
    state.SkipWithError("ccx is not installed");
    return;
  }
  Inputs in = test::pallet();
  in.modes = 14;
  const std::string folder = (std::filesystem::temp_directory_path() / "fettle_bricks").string();
  for (auto _ : state) {
    const test::SolidAnswer a = test::SolidPallet(in, 2).solve(folder);
    if (!a.ok) state.SkipWithError("ccx gave no modes");
    else state.counters["first Hz"] = a.modes.front().hertz;
  }
}
BENCHMARK(bricks)->Iterations(1)->UseRealTime()->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
