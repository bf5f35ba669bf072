#pragma once
// A control program followed move by move: which text, where its tip is on the pallet, when, and what it cuts there.
#include <map>
#include <string>
#include <vector>

#include "compose/set_up.h"
#include "plan/plan.h"
#include "program/moves.h"
#include "prove/prove.h"

namespace fettle::cli {

struct ProgramText {
  std::string text, file;
  bool made = false;                 ///< from the plan's cuts, just now; else the plan or a person named the file
  std::vector<std::string> missing;  ///< cuts that a made program leaves out, and why
};
/// The program that the plan's cuts give: dialect "classic", in the plan's units. Problems: as compose and print say.
Outcome<ProgramText> made_program(const plan::Plan& plan, const std::string& operation);

/// Where the tip is when a piece of the way ends. Arcs come in pieces of their move.
struct Waypoint {
  enum class Kind { rapid, feed, wait } kind = Kind::rapid;
  frame::Vec3 to;            ///< m, in the frame of the nest's pallet (of the middle of the row without one)
  int line = 0, move = 0;    ///< of the text, of the run
  int tool = -1, nest = -1;  ///< by index; -1: none
  int engaged = -1;          ///< in Proof::track; -1: it takes no metal
  double start = 0, seconds = 0, feed = 0;  ///< s, s, m/s
  bool probe = false;
};
struct FollowedTool {
  int number = 0;
  std::string id, words;
  double diameter = 0, stick_out = 0;  ///< m; 0: not said
  double seconds = 0;
  std::map<int, double> nests;  ///< s by nest, -1: between them
};
struct Followed {
  std::string operation, words, file;
  compose::SetUp set_up;
  program::Run run;
  prove::Proof proof;
  std::vector<std::string> nests;   ///< "3", or "2.3" for nest 3 of pallet 2
  std::vector<FollowedTool> tools;  ///< in the order of first use
  std::vector<Waypoint> way;
  double total = 0;     ///< s
  bool timed = false;   ///< with what the machine can do; else feed moves at their feed alone
  int other_lines = 0;  ///< first line behind the stop where parts are turned over for another operation; 0: none
  int unplaced = 0;     ///< moves whose place on the pallet is not known
  std::vector<std::string> notes;
};
/// How closely a program is looked at: its ways alone, with every move proved, with forces of the worst ones as well.
enum class Closely { ways, walk, loads };
/// `sag`: m, how far a piece of an arc may leave it; `sets`: "503=1". Problems: a program that cannot be read, no such
/// operation.
Outcome<Followed> follow(const plan::Plan& plan, const std::string& operation, const std::string& text,
                         const std::string& file, Closely look, double sag = 2e-4,
                         const std::vector<std::string>& sets = {});

/// "2.50 mm deep, 61° of the cutter, 12.4 cm³/min"
std::string engaged_words(const prove::Engaged& engaged, const unit::Style& style);

}  // namespace fettle::cli
