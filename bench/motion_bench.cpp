// Reading a program and timing its motion: lines a second, growth with the length, against a plain pass over the bytes.
#include <benchmark/benchmark.h>

#include <cmath>
#include <string>

#include "calc/motion/motion.h"
#include "program/read.h"

namespace {

using namespace fettle;

/// Levels of a pocket in short lines and arcs, drilled holes, rapids between: about `bytes` of text, and its lines.
std::string text_of(std::size_t bytes, std::size_t& lines) {
  std::string out = "%\nG21 G17 G90 G94 G40 G80 G54\nT1 M6\nS3000 M3\nG0 X0 Y0 Z5\n";
  char line[96];
  int k = 0;
  while (out.size() < bytes) {
    const double a = 0.05 * k, r = 20 + 5 * std::sin(0.013 * k);
    if (k % 200 == 0)
      std::snprintf(line, sizeof line, "G0 Z5\nG0 X%.3f Y%.3f\nG1 Z-%.3f F300\n", r, 0.0, 0.1 * (k % 7));
    else if (k % 20 == 0)
      std::snprintf(line, sizeof line, "G2 X%.3f Y%.3f R60.000 F900\nG1\n", r * std::cos(a), r * std::sin(a));
    else std::snprintf(line, sizeof line, "X%.3f Y%.3f\n", r * std::cos(a), r * std::sin(a));
    out += line;
    ++k;
  }
  out += "G0 Z50\nM5\nM30\n%\n";
  lines = 0;
  for (char c : out) lines += c == '\n';
  return out;
}
motion::Limits limits() {
  motion::Limits l;
  l.rapid = {0.5, 0.5, 0.5};
  l.ramp = {2.5, 20};
  l.path_tolerance = 1e-5;
  l.tool_change = 4.5;
  l.spindle_start = 1.5;
  l.top_speed = 800;
  l.block_time = 1e-3;
  return l;
}
program::Setting setting() {
  program::Setting s;
  s.zeros.fill(frame::Vec3{});
  return s;
}
std::size_t megabytes(const benchmark::State& state) { return static_cast<std::size_t>(state.range(0)) * 1000000; }
void count(benchmark::State& state, std::size_t lines) {
  state.counters["lines/s"] =
      benchmark::Counter(static_cast<double>(lines), benchmark::Counter::kIsIterationInvariantRate);
  state.SetBytesProcessed(static_cast<std::int64_t>(state.iterations() * megabytes(state)));
  state.SetComplexityN(state.range(0));
}

void plain_pass(benchmark::State& state) {
  std::size_t lines = 0;
  const std::string text = text_of(megabytes(state), lines);
  for (auto _ : state) {
    std::size_t n = 0;
    for (char c : text) n += c == '\n';
    benchmark::DoNotOptimize(n);
  }
  count(state, lines);
}
void reading(benchmark::State& state) {
  std::size_t lines = 0;
  const std::string text = text_of(megabytes(state), lines);
  for (auto _ : state) {
    const auto run = program::read(text, "bench", setting());
    if (!run.ok()) state.SkipWithError(say(run.problem()).c_str());
    benchmark::DoNotOptimize(run);
  }
  count(state, lines);
}
void timing(benchmark::State& state) {
  std::size_t lines = 0;
  const std::string text = text_of(megabytes(state), lines);
  const auto run = program::read(text, "bench", setting());
  if (!run.ok()) return state.SkipWithError(say(run.problem()).c_str());
  for (auto _ : state) benchmark::DoNotOptimize(motion::solve({run->moves, limits()}));
  count(state, lines);
}
void reading_and_timing(benchmark::State& state) {
  std::size_t lines = 0;
  const std::string text = text_of(megabytes(state), lines);
  for (auto _ : state) {
    const auto run = program::read(text, "bench", setting());
    if (!run.ok()) return state.SkipWithError(say(run.problem()).c_str());
    benchmark::DoNotOptimize(motion::solve({run->moves, limits()}));
  }
  count(state, lines);
}
BENCHMARK(plain_pass)->Arg(10)->Unit(benchmark::kMillisecond);
BENCHMARK(reading)->Arg(10)->Unit(benchmark::kMillisecond);
BENCHMARK(timing)->Arg(1)->Arg(3)->Arg(10)->Arg(30)->Unit(benchmark::kMillisecond)->Complexity();
BENCHMARK(reading_and_timing)->Arg(1)->Arg(3)->Arg(10)->Arg(30)->Unit(benchmark::kMillisecond)->Complexity();

}  // namespace

BENCHMARK_MAIN();
