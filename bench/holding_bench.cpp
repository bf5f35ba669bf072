// Holding load cases per second, every answer checked: quick search warm and cold beside maths/simplex on the same
// program, and growth over contacts and facets. The counter `wrong` must be 0.
#include <benchmark/benchmark.h>

#include <cmath>

#include "calc/holding/elastic.h"
#include "calc/holding/proof.h"
#include "maths/random.h"

using namespace fettle;
using frame::Vec3;
using holding::Carried;
using holding::Contact;
using holding::Fixture;
using holding::Load;

namespace {

struct Draw {
  std::uint32_t count = 0;
  double operator()(double low, double high) { return low + (high - low) * maths::uniform(11, 3, count++); }
};

std::vector<Contact> contacts(int rests) {
  Draw draw;
  std::vector<Contact> out;
  for (int i = 0; i < rests; ++i) {
    Contact c;
    c.name = "pad";
    c.at = {draw(0.02, 0.06) * (i % 2 ? 1 : -1), draw(0.01, 0.04) * (i / 2 % 2 ? 1 : -1), 0};  // round the screws
    c.normal = {0, 0, 1};
    c.friction = draw(0.08, 0.15);
    c.stiffness = 2e8;
    out.push_back(c);
  }
  for (double x : {-0.02, 0.02}) {
    Contact c;
    c.name = "screw";
    c.kind = Contact::Kind::clamp;
    c.at = {x, 0, 0.036};
    c.normal = {0, 0, -1};
    c.force = 13000;
    out.push_back(c);
  }
  return out;
}

/// `along`: places one after another round an outline through the turn, as a cut gives them; else all over the place.
std::vector<Load> loads(bool along) {
  Draw draw;
  std::vector<Load> out;
  for (int i = 0; i < 4096; ++i) {
    Load l;
    if (along) {
      const double t = 2 * 3.14159265358979 * (i / 64) / 64, turn = 0.02 * (i % 64);
      l.at = {0.066 * std::cos(t), 0.046 * std::sin(t), 0.027};
      const double f = 900 + 300 * std::sin(40 * turn);
      l.force = {-f * std::sin(t + turn), f * std::cos(t + turn), 150 * std::cos(3 * turn)};
    } else {
      l.at = {draw(-0.066, 0.066), draw(-0.046, 0.046), draw(0.0, 0.036)};
      l.force = {draw(-1500, 1500), draw(-1500, 1500), draw(-600, 600)};
      l.moment = {0, 0, draw(-5, 5)};
    }
    out.push_back(l);
  }
  return out;
}

enum Way { along, anywhere, cold, slow };

void cases(benchmark::State& state, Way way) {
  const Load weight{{0, 0, 0.018}, {0, 0, -25}, {}};
  Fixture f(contacts(static_cast<int>(state.range(0)) - 2), weight, static_cast<int>(state.range(1)));
  const auto all = loads(way == along);
  std::size_t k = 0;
  double wrong = 0, pivots = 0, slow_ways = 0;
  for (auto _ : state) {
    const Load& load = all[k++ % all.size()];
    if (way == slow) {
      const Carried a = f.carry_slow(load);
      wrong += a.status != Carried::Status::limited && a.status != Carried::Status::unlimited;
      pivots += a.pivots;
    } else {
      const Carried& a = way == cold ? f.carry_cold(load) : f.carry(load);
      wrong +=
          a.status == Carried::Status::failed || !(a.primal_residual < 1e-9 && a.dual_residual < 1e-9 && a.gap < 1e-9);
      pivots += a.pivots;
      slow_ways += a.slow_way;
    }
  }
  state.SetItemsProcessed(state.iterations());
  state.counters["wrong"] = wrong;
  state.counters["pivots"] = pivots / static_cast<double>(state.iterations());
  state.counters["slow_ways"] = slow_ways;
}

void springs(benchmark::State& state) {
  const Load weight{{0, 0, 0.018}, {0, 0, -25}, {}};
  const holding::Springs s(contacts(static_cast<int>(state.range(0)) - 2), weight, {});
  const auto all = loads(false);
  std::vector<double> slip;
  std::size_t k = 0;
  for (auto _ : state) {
    s.first_slip(all[k++ % all.size()], slip);
    benchmark::DoNotOptimize(slip.data());
  }
  state.SetItemsProcessed(state.iterations());
}

void growth(benchmark::internal::Benchmark* b) {
  for (int n : {6, 12, 24, 48}) b->Args({n, 8});
  for (int facets : {16, 32, 64}) b->Args({12, facets});
}

}  // namespace

BENCHMARK_CAPTURE(cases, warm_along_a_cut, along)->Apply(growth);
BENCHMARK_CAPTURE(cases, warm_all_over, anywhere)->Apply(growth);
BENCHMARK_CAPTURE(cases, cold, cold)->Args({12, 8})->Args({12, 32});
BENCHMARK_CAPTURE(cases, by_maths_simplex, slow)->Args({12, 8})->Args({12, 32});
BENCHMARK(springs)->Args({12, 8});
BENCHMARK_MAIN();
