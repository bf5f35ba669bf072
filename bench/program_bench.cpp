// Claims: words of at least 4 million lines a second; with modal state and motion time at least 1.5 million a second on
// 10 MB; time linear in lines. A plain pass over the same bytes stands beside it.
#include <benchmark/benchmark.h>
#include <fmt/format.h>

#include <cstring>
#include <string>
#include <vector>

#include "calc/motion/motion.h"
#include "program/read.h"
#include "program/scan.h"

namespace fettle::program {
namespace {

/// Lines as a generator of tool paths writes them: short feed moves, an arc now and then, remarks, numbers of lines.
std::string text(long lines) {
  std::string t = "%\nO1 (bench)\nG21 G17 G40 G80 G90 G94 G54\nT1 M6\nS6000 M3 M8\nG0 X0. Y0. Z5.\nG1 Z-1. F400\n";
  double x = 0, y = 0, way = 0.437;
  for (long n = 0; n < lines; ++n) {
    x += way;
    if (x > 150 || x < -150) {
      way = -way;
      y += 0.731;
    }
    const double z = -1 - 0.25 * static_cast<double>(n % 17) / 17;
    if (n % 50 == 49) t += fmt::format("N{} (level {} of the pocket)\n", n % 99999, n / 50);
    else if (n % 20 == 19) t += fmt::format("G3 X{:.3f} Y{:.3f} R5. F{}\n", x, y + 0.6, 900 + n % 300);
    else if (n % 20 == 0 && n > 0) t += fmt::format("N{} G1 X{:.4f} Y{:.4f} Z{:.4f} F{}\n", n % 99999, x, y, z, 1200);
    else t += fmt::format("N{} X{:.4f} Y{:.4f} Z{:.4f}\n", n % 99999, x, y, z);
  }
  return t + "M30\n%\n";
}
long lines_of_ten_megabytes() {
  static const long lines = [] {
    const double each = static_cast<double>(text(100'000).size()) / 100'000;
    return static_cast<long>(10e6 / each);
  }();
  return lines;
}
void rate(benchmark::State& state, const std::string& t, long lines) {
  state.SetItemsProcessed(state.iterations() * lines);
  state.SetBytesProcessed(state.iterations() * static_cast<long>(t.size()));
  state.SetComplexityN(lines);
}

/// Every byte looked at once: how many ends of line, and the sum.
void plain_pass(benchmark::State& state) {
  const std::string t = text(lines_of_ten_megabytes());
  for (auto _ : state) {
    unsigned long sum = 0, ends = 0;
    for (const char c : t) {
      sum += static_cast<unsigned char>(c);
      ends += c == '\n';
    }
    benchmark::DoNotOptimize(sum);
    benchmark::DoNotOptimize(ends);
  }
  rate(state, t, lines_of_ten_megabytes());
}
void words(benchmark::State& state, long lines) {
  const std::string t = text(lines);
  for (auto _ : state) {
    Names names;
    const Text scanned = scan(t, "bench", names);
    if (!scanned.problems.empty()) state.SkipWithError(say(scanned.problems.front()).c_str());
    benchmark::DoNotOptimize(scanned.words.data());
  }
  rate(state, t, lines);
}
void modal(benchmark::State& state, long lines, bool times) {
  const std::string t = text(lines);
  Setting setting;
  setting.zeros[1] = frame::Vec3{};
  motion::Limits limits;
  limits.rapid = {0.6, 0.6, 0.6};
  limits.ramp = {5, 50};
  limits.path_tolerance = 10e-6;
  limits.tool_change = 3;
  limits.spindle_start = 2;
  limits.top_speed = 1000;
  std::size_t moves = 0;
  for (auto _ : state) {
    const auto run = read(t, "bench", setting);
    if (!run.ok()) {
      state.SkipWithError(say(run.problem()).c_str());
      break;
    }
    moves = run->moves.size();
    if (!times) continue;
    const auto time = motion::solve({run->moves, limits});
    if (!time.ok()) {
      state.SkipWithError(say(time.problem()).c_str());
      break;
    }
    benchmark::DoNotOptimize(time->sum.cutting);
  }
  rate(state, t, lines);
  state.counters["moves"] = static_cast<double>(moves);
}
void words_of_ten_megabytes(benchmark::State& s) { words(s, lines_of_ten_megabytes()); }
void moves_of_ten_megabytes(benchmark::State& s) { modal(s, lines_of_ten_megabytes(), false); }
void moves_and_times_of_ten_megabytes(benchmark::State& s) { modal(s, lines_of_ten_megabytes(), true); }
void words_by_lines(benchmark::State& s) { words(s, s.range(0)); }
void moves_by_lines(benchmark::State& s) { modal(s, s.range(0), false); }

BENCHMARK(plain_pass)->Unit(benchmark::kMillisecond);
BENCHMARK(words_of_ten_megabytes)->Unit(benchmark::kMillisecond);
BENCHMARK(moves_of_ten_megabytes)->Unit(benchmark::kMillisecond);
BENCHMARK(moves_and_times_of_ten_megabytes)->Unit(benchmark::kMillisecond);
BENCHMARK(words_by_lines)
    ->RangeMultiplier(4)
    ->Range(10'000, 640'000)
    ->Unit(benchmark::kMillisecond)
    ->Complexity(benchmark::oN);
BENCHMARK(moves_by_lines)
    ->RangeMultiplier(4)
    ->Range(10'000, 640'000)
    ->Unit(benchmark::kMillisecond)
    ->Complexity(benchmark::oN);

}  // namespace
}  // namespace fettle::program

BENCHMARK_MAIN();
