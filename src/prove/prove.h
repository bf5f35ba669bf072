#pragma once
// Every move of a control program held against the plan: what it hits, cuts, leaves and forgets, with lines.
#include <map>
#include <string>
#include <vector>

#include "base/outcome.h"
#include "finding/finding.h"
#include "plan/plan.h"
#include "program/moves.h"
#include "study/study.h"

namespace fettle::prove {

struct Options {
  double cell = 0.25e-3;  ///< m, of the height field
  /// Castings that differ: each part on the table is another one, from this number on. 0: all nominal.
  int castings = 0;
  bool measured = false;          ///< numbers are rows of the plan's measured table, not draws with the plan's seed
  std::map<int, double> lengths;  ///< m, what the reader was told for each H; all different, so that a wrong H shows
  bool loads = true;              ///< worst move per tool against holding and chatter: runs these steps of the study
};

/// Where something is wrong.
struct Slip {
  std::string question, tool, nest;  ///< "rapid", "T11", "pallet 1 nest 3"
  int line = 0;
  double amount = 0;  ///< m, how deep; 0 where that says nothing
  std::string words;
  bool look = false;  ///< to be looked at, not a stop: people who know do it now and then
};

/// What one tool does to one part.
struct Work {
  std::string tool, nest;
  int first_line = 0, worst_line = 0;
  double volume = 0;           ///< m3
  double depth = 0;            ///< m, largest axial depth
  double width = 0, arc = 0;   ///< m, rad: of the worst move
  double worst_depth = 0;      ///< m, of the worst move
  double feed = 0, speed = 0;  ///< m/s, rad/s: of the worst move
  double seconds = 0;          ///< at feed, without acceleration
};
/// One move that took metal; for the picture along the program.
struct Engaged {
  int line = 0;
  std::int32_t tool = 0;
  float depth = 0, arc = 0, rate = 0;  ///< m, rad, m3/s
  float way = 0;                       ///< m at feed since the beginning of the program
  std::int32_t move = 0;               ///< its number among the moves of the run
};

struct Proof {
  std::vector<finding::Finding> findings;  ///< sorted by need
  std::map<std::string, int> line_of;      ///< line of a finding's worst place, by id; 0 or missing: none
  std::vector<Slip> slips;                 ///< all, in the order of the program
  std::vector<Work> work;                  ///< in the order of the program
  std::vector<Engaged> track;
  std::vector<std::string> notes;  ///< what was taken for want of a word
  std::vector<std::string> not_looked_at;
  int moves = 0;
};

/// Numbers of a program's tools are those of the plan's ids: "T11" is 11. Zeros stand for the nests in the order of
/// compose::set_up. Problems: an operation that is not there or has no direction up, cells that are none.
Outcome<Proof> prove(const plan::Plan& plan, const std::string& operation, const program::Run& run,
                     const Options& options);

/// 0 nothing outside, 1 something outside, 4 nothing outside but something open or beyond.
int exit_code(const Proof& proof);

}  // namespace fettle::prove
