// Claims of speed for the ledger: 20 ns per contributor and part (a million parts of sixty contributors, thirty
// requirements, under 1.5 s on one core), cost linear in both; theory in under 0.3 ms a requirement.
#include <benchmark/benchmark.h>

#include "calc/tolerance/routes_for_tests.h"

namespace {

using namespace fettle::tolerance;
using namespace fettle::tolerance::test;
using Kind = Requirement::Kind;

/// Two clampings with play and growth by nest, filled up with contributors to `contributors` and thirty requirements:
/// distances at four corners, positions of patterns, coaxiality, sizes.
Ledger ledger_of(int contributors, bool pins) {
  TwoClampings t = two_clampings(0.07);
  Route& r = t.route;
  r.nests = 4;
  r.pallet_of = {0, 0, 0, 0};
  r.contributors.push_back(pallet_growth(1, 10));
  std::vector<int> faces, holes;
  for (int i = 0; i < 10; ++i) {
    faces.push_back(plane(r, "face " + std::to_string(i), {i * mm, 0, (18 + i) * mm}, {0, 0, 1}, 20 * mm, 20 * mm));
    holes.push_back(
        axis(r, "hole " + std::to_string(i), {(i * 9 - 40) * mm, 20 * mm, 30 * mm}, {0, 0, 1}, 6 * mm, 6 * mm));
    r.operations[1].makes.push_back(faces.back());
    r.operations[1].makes.push_back(holes.back());
  }
  if (!pins) {
    Operation& op = r.operations[1];
    op.pins = {};
    op.contacts = six(r, "OP30", t.a, 0).contacts;
    std::vector<Contributor> kept;
    for (const Contributor& c : r.contributors)
      if (c.effects[0].on != Effect::On::round_pin && c.effects[0].on != Effect::On::land) kept.push_back(c);
    r.contributors = kept;
  }
  for (int i = 0; static_cast<int>(r.contributors.size()) < contributors; ++i) {
    const auto at = static_cast<std::size_t>(i % 10);
    const std::string n = std::to_string(i);
    switch (i % 4) {
      case 0:
        r.contributors.push_back(zero("height " + n, 1, {0, 0, 1}, 3 * um));
        break;
      case 1:
        r.contributors.push_back(made("face " + n, 1, faces[at], {0, 0, 1}, 4 * um));
        break;
      case 2:
        r.contributors.push_back(made("hole x " + n, 1, holes[at], {1, 0, 0}, 5 * um));
        break;
      default:
        r.contributors.push_back(made("hole y " + n, 1, holes[at], {0, 1, 0}, 5 * um));
        break;
    }
  }
  for (std::size_t i = 0; i < 10; ++i) {
    r.requirements.push_back(distance("depth", faces[i], t.a, {0, 0, 1}, (18 + static_cast<double>(i)) * mm,
                                      (17.96 + static_cast<double>(i)) * mm, (18.04 + static_cast<double>(i)) * mm));
    Requirement q = zone(Kind::position, "position", {holes[i]}, 0.1 * mm);
    q.datums = {t.a, t.b, t.c};
    r.requirements.push_back(q);
    if (i >= 9) continue;
    Requirement size = zone(Kind::size, "size", {holes[i]}, 6.02 * mm);
    size.lower = 5.98 * mm;
    r.requirements.push_back(size);
  }
  return *build(r);
}

void sample_parts(benchmark::State& state) {
  const Ledger ledger = ledger_of(static_cast<int>(state.range(1)), state.range(2) != 0);
  SampleInputs in;
  in.parts = static_cast<int>(state.range(0));
  in.mending = state.range(3) != 0;
  for (auto _ : state) benchmark::DoNotOptimize(sample(ledger, in)->any_outside.hits);
  state.counters["requirements"] = static_cast<double>(ledger.route.requirements.size());
  state.counters["per_contributor_and_part"] =
      benchmark::Counter(static_cast<double>(in.parts) * static_cast<double>(ledger.route.contributors.size()),
                         benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}
BENCHMARK(sample_parts)
    ->ArgNames({"parts", "contributors", "pins", "mending"})
    ->Args({1000000, 60, 0, 0})
    ->Args({1000000, 60, 1, 0})
    ->Args({100000, 60, 1, 0})
    ->Args({100000, 120, 1, 0})
    ->Args({100000, 240, 1, 0})
    ->Args({200000, 60, 1, 0})
    ->Args({100000, 60, 1, 1})
    ->Args({100000, 120, 1, 1})
    ->Unit(benchmark::kMillisecond);

void theory(benchmark::State& state) {
  const Ledger ledger = ledger_of(60, true);
  for (auto _ : state) benchmark::DoNotOptimize(linear(ledger).size());
  state.counters["per_requirement"] =
      benchmark::Counter(static_cast<double>(ledger.route.requirements.size()),
                         benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}
BENCHMARK(theory)->Unit(benchmark::kMillisecond);

void rows(benchmark::State& state) {
  const Route route = ledger_of(60, true).route;
  for (auto _ : state) benchmark::DoNotOptimize(build(route)->columns);
}
BENCHMARK(rows)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
