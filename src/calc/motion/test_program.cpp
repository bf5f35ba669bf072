#include <fmt/format.h>

#include "base/text.h"
#include "calc/motion/motion.h"

namespace fettle::motion {

namespace {

constexpr double feed = 6000;  ///< mm/min: well above what corners allow, below what most machines feed

std::string mm(double x) { return base::shortest(x); }

void group(std::string& out, int number, const std::string& words) {
  out += fmt::format("M0 (GROUP {}: {})\n", number, words);
}
void to_and_fro(std::string& out, double length, int times) {
  for (int k = 0; k < times; ++k) out += k % 2 == 0 ? fmt::format("G0 X{}\n", mm(length)) : std::string("G0 X0\n");
}
void squares(std::string& out, double side, int times) {
  out += fmt::format("G1 F{}\n", mm(feed));
  for (int k = 0; k < times; ++k) out += fmt::format("X{}\nY{}\nX0\nY0\n", mm(side), mm(side));
}

}  // namespace

std::string test_program() {
  std::string out =
      "%\n"
      "(TIMES A MACHINE: GROUPS OF MOVES BETWEEN STOPS)\n"
      "(NO PART, NO CLAMPS, NO TOOL NEEDED. X 0 TO 200 MM, Y 0 TO 20 MM OF G54 MUST BE FREE)\n"
      "(Z DOES NOT MOVE: STAND HIGH BEFORE THE START. SPINDLE STANDS)\n"
      "(FEED AND RAPID OVERRIDE AT 100 PERCENT, PATH CONTROL ON, NO SINGLE BLOCK)\n"
      "(AT EACH STOP: PRESS START AND THE WATCH TOGETHER, STOP THE WATCH WHEN THE AXES STAND)\n"
      "(RUN IT ONCE SLOWLY AT LOW OVERRIDE FIRST. THE RULES OF THE SHOP AND THE MACHINE'S MANUAL DECIDE)\n"
      "G21 G17 G90 G94 G40 G80 G54 G64\n"
      "G0 X0 Y0\n";
  group(out, 1, "RAPID 200 MM, 40 TIMES");
  to_and_fro(out, 200, 40);
  group(out, 2, "RAPID 20 MM, 120 TIMES");
  to_and_fro(out, 20, 120);
  group(out, 3, "RAPID 1 MM, 200 TIMES");
  to_and_fro(out, 1, 200);
  group(out, 4, "SQUARES OF 20 MM, 20 TIMES");
  squares(out, 20, 20);
  group(out, 5, "SQUARES OF 4 MM, 60 TIMES");
  squares(out, 4, 60);
  group(out, 6, "LINES OF 0.02 MM, 4000 TIMES");
  out += fmt::format("G1 F{}\n", mm(feed));
  for (int k = 1; k <= 4000; ++k) out += fmt::format("X{}\n", base::fixed(0.02 * k, 2));
  out += "M30\n%\n";
  return out;
}

std::vector<std::span<const program::Move>> groups_between_stops(std::span<const program::Move> moves) {
  std::vector<std::span<const program::Move>> out;
  std::size_t first = moves.size();  // no stop met yet
  for (std::size_t i = 0; i <= moves.size(); ++i) {
    const bool end = i == moves.size() || moves[i].kind == program::Motion::end;
    const bool stop = !end && moves[i].kind == program::Motion::stop;
    if (!end && !stop) continue;
    if (first < i) out.push_back(moves.subspan(first, i - first));
    if (end) break;
    first = i + 1;
  }
  return out;
}

}  // namespace fettle::motion
