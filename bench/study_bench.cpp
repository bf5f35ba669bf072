// Claims of speed for a whole study of the demo plan, read beforehand, on one core: without virtual castings under 100
// ms at the stated values and under 1 s with the states over all bands; all levers of it on two cores under 2 s.
// Virtual castings and best poses: casting_bench.
#include <benchmark/benchmark.h>

#include <cstdio>
#include <cstdlib>
#include <string>

#include "base/text.h"
#include "plan/read.h"
#include "study/levers.h"
#include "study/study.h"

namespace {

using namespace fettle;

struct Demo {
  plan::Plan plan;
  study::Data data;
};
const std::string path = std::string(FETTLE_SOURCE_DIR) + "/plans/demo/plan-0.toml";

const Demo& demo() {
  static const Demo d = [] {
    auto p = plan::read_plan(path);
    if (!p.ok()) {
      std::fprintf(stderr, "%s\n", say(p.problem()).c_str());
      std::exit(2);
    }
    Demo x{std::move(p.value()), {}};
    x.data = study::load_data(x.plan);
    return x;
  }();
  return d;
}

/// Every call computed anew.
void study_cold(benchmark::State& state, bool bands, bool castings) {
  study::Options o;
  o.bands = bands;
  o.monte_carlo = castings;
  const Demo& d = demo();
  for (auto _ : state) {
    study::Memo memo;
    benchmark::DoNotOptimize(study::run(d.plan, d.data, o, memo)->findings.size());
  }
}
BENCHMARK_CAPTURE(study_cold, stated_values, false, false)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(study_cold, over_all_bands, true, false)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(study_cold, over_all_bands_20000_virtual_castings, true, true)->Unit(benchmark::kMillisecond);

/// A changed number: everything else is kept from the run before.
void study_after_a_change(benchmark::State& state, bool castings) {
  study::Options o;
  o.monte_carlo = castings;
  plan::Plan p = demo().plan;
  study::Memo memo;
  study::run(p, demo().data, o, memo).ok();
  const double firm = p.pallet.pins[1].land_width.si;
  int n = 0;
  for (auto _ : state) {
    p.pallet.pins[1].land_width.si = firm * (1 + 1e-6 * ++n);
    benchmark::DoNotOptimize(study::run(p, demo().data, o, memo)->findings.size());
  }
}
BENCHMARK_CAPTURE(study_after_a_change, land_of_a_pin, false)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(study_after_a_change, land_of_a_pin_with_virtual_castings, true)->Unit(benchmark::kMillisecond);

void read_the_plan(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(plan::read_plan(path).ok());
}
BENCHMARK(read_the_plan)->Unit(benchmark::kMillisecond);

/// Every number and structural change, each a study without drawing.
void all_levers(benchmark::State& state) {
  study::LeverOptions o;
  o.threads = static_cast<int>(state.range(0));
  for (auto _ : state) {
    study::Memo memo;
    benchmark::DoNotOptimize(study::levers(demo().plan, demo().data, o, memo)->rows.size());
  }
}
BENCHMARK(all_levers)->Arg(1)->Arg(2)->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace

BENCHMARK_MAIN();
