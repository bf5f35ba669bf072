// Claims of speed for locating: over a million exact seats of a part on its pins a second on one core; a whole pin fit
// with shares and features in a few milliseconds; the determinacy of a dozen contacts in well under a millisecond.
#include <benchmark/benchmark.h>

#include <cmath>

#include "calc/locating/locating.h"
#include "maths/random.h"

namespace {

using namespace fettle::locating;
constexpr double mm = 1e-3;

PinPair valve_body() {
  PinPair p;
  p.round_hole = p.relieved_hole = 8.0075 * mm;
  p.round_pin = 7.9905 * mm;
  p.land = 7.974 * mm;
  p.land_width = 1.6 * mm;
  p.part_span = p.pallet_span = 111.21 * mm;
  return p;
}

/// Cheap uniform numbers, so that the seats are what is timed.
struct Uniform {
  std::uint64_t state = 1;
  double operator()() {
    state += 0x9e3779b97f4a7c15ull;
    std::uint64_t z = state;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ull;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebull;
    return static_cast<double>((z ^ (z >> 31)) >> 11) * 0x1p-53;
  }
};

/// Every sample its own sizes and spans.
void vary(PinPair& p, Uniform& u) {
  p.round_hole = (8.000 + 0.015 * u()) * mm;
  p.relieved_hole = (8.000 + 0.015 * u()) * mm;
  p.pallet_span = p.part_span + 0.02 * mm * (u() - 0.5);
}

void seats_anywhere(benchmark::State& state) {
  PinPair p = valve_body();
  Uniform u;
  for (auto _ : state) {
    vary(p, u);
    benchmark::DoNotOptimize(Seats(p).anywhere(u));
  }
  state.SetItemsProcessed(state.iterations());
}
BENCHMARK(seats_anywhere);

void seats_pushed(benchmark::State& state) {
  PinPair p = valve_body();
  Uniform u;
  for (auto _ : state) {
    vary(p, u);
    const fettle::maths::Point2 push{u() - 0.5, u() - 0.5};
    benchmark::DoNotOptimize(Seats(p).pushed({40 * mm, 30 * mm}, push));
  }
  state.SetItemsProcessed(state.iterations());
}
BENCHMARK(seats_pushed);

void worst_of_one_feature(benchmark::State& state) {
  const PinPair p = valve_body();
  for (auto _ : state) benchmark::DoNotOptimize(worst_distance(p, {120 * mm, 40 * mm}));
}
BENCHMARK(worst_of_one_feature);

PinFitInputs fit_inputs() {
  const auto size = [](double low, double high) { return Size{low * mm, high * mm, {}, {}}; };
  PinFitInputs in;
  in.round_hole = in.relieved_hole = size(8.000, 8.015);
  in.round_pin = size(7.986, 7.995);
  in.land = size(7.970, 7.978);
  in.land_width = size(1.6, 1.6);
  in.part_span = size(111.195, 111.225);
  in.pallet_span = size(111.20, 111.22);
  in.relieved_at = {111.21 * mm, 0, 0};
  in.warmth = {293.15, 303.15, 293.15, 299.15, 23.8e-6, 10.5e-6, 11.8e-6};
  for (int i = 0; i < 12; ++i) in.features.push_back({"f", {10 * mm * i, 5 * mm * i, 0}, {1, 0, 0}});
  return in;
}
void whole_fit(benchmark::State& state) {
  const PinFitInputs in = fit_inputs();
  for (auto _ : state) benchmark::DoNotOptimize(pin_fit(in));
}
BENCHMARK(whole_fit)->Unit(benchmark::kMillisecond);
void fit_spare(benchmark::State& state) {
  const PinFitInputs in = fit_inputs();
  for (auto _ : state) benchmark::DoNotOptimize(least_spare(in));
}
BENCHMARK(fit_spare);

void twelve_contacts(benchmark::State& state) {
  std::vector<Contact> contacts;
  for (int i = 0; i < 12; ++i)
    contacts.push_back({"", {std::cos(i), std::sin(2.0 * i), 0.1 * i}, {0.1 * i, std::sin(i), 1}});
  for (auto _ : state) benchmark::DoNotOptimize(determinacy(contacts));
}
BENCHMARK(twelve_contacts)->Unit(benchmark::kMicrosecond);

}  // namespace

BENCHMARK_MAIN();
