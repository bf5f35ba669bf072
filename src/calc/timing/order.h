#pragma once
// In which order tools and parts are visited. Tool by tool changes as often as there are tools; part by part changes
// that often for every part. See README.md.
#include <string>
#include <vector>

#include "base/outcome.h"
#include "frame/frame.h"

namespace fettle::timing {

struct OrderCut {
  std::string tool;
  std::vector<int> after;  ///< places in OrderInputs::cuts of cuts that must come before
};
struct OrderInputs {
  std::vector<OrderCut> cuts;  ///< as the plan lists them
  int parts = 1;               ///< held at once
  double tool_change = 0;      ///< s, chip to chip
};
struct OrderResult {
  int tool_by_tool = 0;            ///< changes for one set of parts, in the stated order, each tool doing every part
  int part_by_part = 0;            ///< changes when each part is finished before the next
  int least = 0;                   ///< fewest changes of any order that keeps what must come before, tool by tool
  std::vector<int> least_order;    ///< one such order, as places in `cuts`
  bool proven = true;              ///< false: too many cuts to try all; `least` is what a search found
  double saved_per_part = 0;       ///< s, tool by tool in the stated order against part by part
  double could_save_per_part = 0;  ///< s, the best order against the stated one, tool by tool
};
/// The round goes on and on: the change from the last tool back to the first counts. A single tool never changes.
/// Problems: no cut, a cut after itself, after one that is not there, or in a ring; a stated order that breaks what
/// must come before.
Outcome<OrderResult> order(const OrderInputs& in);

/// A way through all places, each once, from any of them to any other: the shortest up to 12 places, else a good one.
struct Tour {
  std::vector<int> order;  ///< places in the given list
  double length = 0;       ///< m
  bool shortest = true;
};
/// Distances in the plane. One place has a tour of length zero.
Tour nest_tour(const std::vector<frame::Vec3>& places);

}  // namespace fettle::timing
