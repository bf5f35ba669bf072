#pragma once
// Goes through a program's moves and notes what happens. Findings are made of it in prove.cpp.
#include <map>
#include <set>

#include "prove/prove.h"
#include "prove/table.h"

namespace fettle::prove {

/// A cut of the plan at one place of one nest.
struct Done {
  int first = -1, last = -1;  ///< moves
  double lowest = 1e9;        ///< m, of the tip there
  /// Moves at this cut's own speed and feed: a tool that comes there in two cuts is told apart by them. -1: none.
  int own_first = -1, own_last = -1;
};
struct Walked {
  std::vector<Slip> slips;
  std::vector<Work> work;
  std::vector<Engaged> track;
  std::map<std::string, int> checked;                                ///< moves asked, by question
  std::map<std::array<int, 4>, Done> done;                           ///< cut, feature of the cut, place, nest
  std::map<int, int> first_line;                                     ///< of each tool's first move
  std::map<int, std::vector<std::pair<int, int>>> visits;            ///< tool -> nests in order, with line
  std::array<double, 3> low{1e9, 1e9, 1e9}, high{-1e9, -1e9, -1e9};  ///< machine places of the spindle's nose
  std::array<int, 3> low_line{}, high_line{};
  bool all_zeros_known = true, probed = false, flooded = false;
  double below = 0;  ///< m, lowest tip under the plane that parts rest on
  int below_line = 0, last_line = 0;
  std::set<int> zeros;  ///< that feed moves used
};

Walked walk(const plan::Plan& plan, const plan::Operation& o, Scene& scene, const program::Run& run,
            const Options& options);
/// Nest of a zero, from 0; -1: none.
int nest_of(int zero, const std::set<int>& zeros, std::size_t nests);
/// "pallet 1 nest 3"
std::string nest_words(const Scene& scene, int nest);
/// Rest of the check when all is cut: what was left, forgotten, or done in the wrong order.
void look_back(const plan::Plan& plan, const plan::Operation& o, const Scene& scene, const program::Run& run,
               Walked& w);
std::string millimetres(double m, int digits = 2);

}  // namespace fettle::prove
