// Claim of speed: from the text of a STEP part to studied proposals on two threads in under 30 s. The demo part always;
// a larger one when FETTLE_BENCH_STEP names its file (a NIST test part of 2 MB). Growth with the shop's tools and with
// a part's holes.
#include <benchmark/benchmark.h>

#include <cstdio>
#include <cstdlib>
#include <string>

#include "base/text.h"
#include "begin/begin.h"
#include "begin/pose_model.h"
#include "begin/propose/propose.h"
#include "begin/propose/questions.h"
#include "plan/read.h"
#include "solid/build.h"
#include "solid/door.h"

namespace {

using namespace fettle;

template <class T>
T must(Outcome<T> o) {
  if (o.ok()) return std::move(o.value());
  std::fprintf(stderr, "%s\n", say(o.problem()).c_str());
  std::exit(2);
}

/// The demo's shop with its drills offered again and again under other ids, `more` of them.
std::string shop_with(int more) {
  std::string out = must(base::read_file(std::string(FETTLE_SOURCE_DIR) + "/plans/demo/shop.toml"));
  for (int i = 0; i < more; ++i)
    out += "\n[[tool]]\nid = \"extra" + std::to_string(i) + "\"\nkind = \"drill\"\ndiameter = \"" +
           base::fixed(3 + 0.1 * i, 1) +
           " mm\"\nteeth = 2\nmaterial = \"carbide\"\nparts_per_edge = 300\nprice = \"10 EUR\"\n";
  return out;
}

void propose(benchmark::State& state, const std::string& step, int more_tools, const char* per_week = "240") {
  const std::string shop = shop_with(more_tools);
  std::size_t features = 0, plans = 0;
  for (auto _ : state) {
    solid::ReadOptions read;
    read.mesh_chord = 1e-4;  // as `fettle begin --shop` reads it
    const solid::Model part = must(solid::read_step_text(step, "part", read));
    begin::Options options;
    options.name = "part", options.model = "part.step", options.origin = "bottom middle";
    options.inch = part.unit == "in";
    const begin::Begun begun =
        must(begin::begin(part, must(begin::read_drawing(step, "part", "")), nullptr, "", options));
    begin::Scene scene;
    scene.shop = must(plan::read_plan("fettle = 1\n[plan]\nname = \"x\"\nshop = \"shop.toml\"\n", "x",
                                      [&](const std::string&) -> Outcome<std::string> { return shop; }))
                     .shop;
    scene.shop_path = "shop.toml", scene.shop_text = shop;
    scene.answers = {{"material", "EN-GJL-250"}, {"per_week", per_week}};
    scene.inch = options.inch;
    const solid::Model placed = begin::posed(part, must(begin::pose_of(part, options)));
    scene.part = &placed;
    plans = must(begin::propose(scene, begun.plan, {}, 2)).best.size();
    features = begun.plan.features.size();
  }
  if (plans == 0) return state.SkipWithError("no plan is possible for this part: nothing to time");
  state.counters["features"] = static_cast<double>(features);
  state.counters["plans"] = static_cast<double>(plans);
}

void demo_part(benchmark::State& state) {
  propose(state, must(solid::demo_part()), static_cast<int>(state.range(0)));
  state.SetComplexityN(19 + state.range(0));
}
BENCHMARK(demo_part)->Arg(0)->Arg(19)->Arg(57)->Iterations(1)->UseRealTime()->Unit(benchmark::kSecond)->Complexity();

/// Growth with features: a plate with more and more holes, seats, slots and edges.
void plate_of_many(benchmark::State& state) {
  const auto step = solid::sample_solid("plate " + std::to_string(state.range(0)));
  if (!step.ok()) return state.SkipWithError(say(step.problem()).c_str());
  propose(state, *step, 0, "60");
  state.SetComplexityN(state.range(0));
}
BENCHMARK(plate_of_many)
    ->Arg(6)
    ->Arg(12)
    ->Arg(24)
    ->Iterations(1)
    ->UseRealTime()
    ->Unit(benchmark::kSecond)
    ->Complexity();

void part_of_a_file(benchmark::State& state) {
  const char* file = std::getenv("FETTLE_BENCH_STEP");
  if (file == nullptr) return state.SkipWithError("FETTLE_BENCH_STEP names no STEP file");
  propose(state, must(base::read_file(file, std::size_t{64} << 20U)), 0, "60");
}
BENCHMARK(part_of_a_file)->Iterations(1)->UseRealTime()->Unit(benchmark::kSecond);

}  // namespace

int main(int argc, char** argv) {
  if (const int code = fettle::solid::maybe_kernel_child(argc, argv); code >= 0) return code;
  benchmark::Initialize(&argc, argv);
  if (benchmark::ReportUnrecognizedArguments(argc, argv)) return 1;
  benchmark::RunSpecifiedBenchmarks();
  return 0;
}
